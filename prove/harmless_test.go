package prove_test

import (
	"os"
	"path"
	"slices"
	"strings"
	"sync"
	"testing"

	"headstock/consist"
	"headstock/fault"
	"headstock/prove"
	"headstock/trial"
)

// Every single wrong setting of a pair that reaches the air: those judged to work are
// written down beside why a railwayman calls them harmless.
func TestHarmless(t *testing.T) {
	if testing.Short() {
		t.Skip("runs the proof of every wrong setting of a pair")
	}
	text, err := os.ReadFile("testdata/harmless.txt")
	if err != nil {
		t.Fatal(err)
	}
	var patterns []string
	for line := range strings.Lines(string(text)) {
		p, why, ok := strings.Cut(strings.TrimSpace(line), " | ")
		if line[0] == '#' {
			continue
		}
		if !ok || why == "" {
			t.Fatalf("%q says no reason", line)
		}
		patterns = append(patterns, p)
	}
	f, r := railway(t)
	c, err := consist.Parse(f, "Tern 3 lead, Kite 11 trail")
	if err != nil {
		t.Fatal(err)
	}
	b, err := trial.NewBench(c, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	base := b.Plant.Settings(c)
	var tried, works int
	used := map[string]bool{}
	var mu sync.Mutex
	var wait sync.WaitGroup
	slots := make(chan bool, 2)
	for _, s := range fault.Settings(c) {
		with, err := c.With(s.Change)
		if err != nil {
			t.Fatal(err)
		}
		if slices.Equal(b.Plant.Settings(with), base) {
			continue // the same network is the same run
		}
		tried++
		slots <- true
		wait.Go(func() {
			defer func() { <-slots }()
			p, err := prove.Prove(with, r, trial.Conditions{})
			mu.Lock()
			defer mu.Unlock()
			if err != nil {
				t.Error(err)
				return
			}
			if p.Verdict != prove.Works && p.Verdict != prove.WithLoss {
				return
			}
			works++
			name := c.Vehicles[s.Change.Vehicle].Name() + "." + s.Change.Device + "=" + s.Change.Position
			for _, pat := range patterns {
				if ok, _ := path.Match(pat, name); ok {
					used[pat] = true
					return
				}
			}
			t.Errorf("%s is judged to work, and nothing says why it is harmless", name)
		})
	}
	wait.Wait()
	t.Logf("%d settings reach the air, %d of them judged to work", tried, works)
	for _, p := range patterns {
		if !used[p] {
			t.Errorf("no setting that is judged to work is %s", p)
		}
	}
	if tried < 90 {
		t.Errorf("only %d settings reach the air", tried)
	}
}
