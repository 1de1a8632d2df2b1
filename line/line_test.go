package line_test

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/demo"
	"headstock/line"
)

var mark = regexp.MustCompile(`# COMPLAINT ([a-z-]+)$`)

// Each code has a file in testdata/broken whose marked lines, and no others, are
// complained of.
func TestEveryCodeHasABrokenFile(t *testing.T) {
	for _, c := range line.Codes() {
		t.Run(c.Code, func(t *testing.T) {
			if c.Meaning == "" || c.Example == "" {
				t.Error("not explained")
			}
			data, err := os.ReadFile(path.Join("testdata/broken", c.Code+".yaml"))
			if err != nil {
				t.Fatal(err)
			}
			var want []string
			for i, l := range strings.Split(string(data), "\n") {
				if m := mark.FindStringSubmatch(l); m != nil {
					want = append(want, fmt.Sprintf("%d %s", i+1, m[1]))
				}
			}
			if !slices.ContainsFunc(want, func(s string) bool { return strings.HasSuffix(s, c.Code) }) {
				t.Fatal("no line is marked")
			}
			_, cs := line.Read(fstest.MapFS{"line.yaml": {Data: data}}, "line.yaml")
			var have []string
			for _, x := range cs {
				have = append(have, fmt.Sprintf("%d %s", x.Pos.Line, x.Code))
			}
			if !slices.Equal(have, want) {
				t.Errorf("complaints %v\nmarked %v", cs, want)
			}
		})
	}
}

func railway(t testing.TB) *line.Line {
	t.Helper()
	l, cs := line.Read(demo.Railway(), "line.yaml")
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	return l
}

// The facts of the invented railway that other records rely on.
func TestDemoLine(t *testing.T) {
	l := railway(t)
	for name, km := range map[string]float64{"Port Ansell": 0, "Teal Junction": 41, "Quernhill": 88} {
		if p, ok := l.Place(name); !ok || p.At != km*1000 {
			t.Errorf("%s at %g m", name, p.At)
		}
	}
	if p, _ := l.Place("quernhill"); p.Height != 412 {
		t.Errorf("Quernhill at %g m", p.Height)
	}
	steep := 0.0
	for _, g := range l.Gradients {
		if math.Abs(g.Slope-1.0/45) < 1e-9 {
			steep += g.End - g.Start
		}
		if g.Slope > 1.0/45+1e-9 {
			t.Errorf("a gradient of %g", g.Slope)
		}
	}
	if steep != 9000 {
		t.Errorf("1 in 45 for %g m, want 9 km", steep)
	}
	sharpest := math.Inf(1)
	for _, c := range l.Curves {
		sharpest = min(sharpest, c.Radius)
	}
	if sharpest != 140 {
		t.Errorf("curves down to %g m", sharpest)
	}
}

func TestBetween(t *testing.T) {
	l := railway(t)
	up, d, err := l.Between("Saltmarsh", "Heronsford")
	if err != nil || d != 46000 || len(up) != 2 || up[0].Name() != "Saltmarsh to Teal Junction" || up[1].To != "Heronsford" {
		t.Errorf("%v, %g, %v", up, d, err)
	}
	down, d, err := l.Between("Heronsford", "Saltmarsh")
	if err != nil || d != 46000 || len(down) != 2 || down[0].Name() != "Heronsford to Teal Junction" || down[1].AxleLoad != up[0].AxleLoad {
		t.Errorf("%v, %g, %v", down, d, err)
	}
	_, _, err = l.Between("Saltmash", "Heronsford")
	var unknown *line.UnknownPlace
	if !errors.As(err, &unknown) || unknown.Nearest != "Saltmarsh" {
		t.Errorf("%v", err)
	}
	if _, _, err = l.Between("Saltmarsh", "Saltmarsh"); err == nil {
		t.Error("from a place to itself")
	}
}

func TestSlope(t *testing.T) {
	for text, want := range map[string]float64{"1 in 45": 1.0 / 45, "22 per mille": 0.022, "22 ‰": 0.022, "2.5 %": 0.025} {
		if v, ok := line.Slope(text); !ok || math.Abs(v-want) > 1e-12 {
			t.Errorf("%s: %g %v", text, v, ok)
		}
	}
	for _, text := range []string{"", "45", "1 in 0", "1 in 2", "-3 %", "1 in steep", "NaN %", "Inf ‰"} {
		if v, ok := line.Slope(text); ok {
			t.Errorf("%q is read as %g", text, v)
		}
	}
}

// Whatever the bytes, reading ends with a line or complaints.
func FuzzRead(f *testing.F) {
	data, err := os.ReadFile("../demo/railway/line.yaml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte("line: a\nsource: invented\nplaces: {A: {at: 0 km}}\nsections: [{}]\ncurves: [1, {radius: x}]\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		l, cs := line.Read(fstest.MapFS{"line.yaml": {Data: data}}, "line.yaml")
		if l == nil && len(cs) == 0 {
			t.Error("neither a line nor a complaint")
		}
	})
}
