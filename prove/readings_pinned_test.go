package prove_test

import (
	"crypto/sha256"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"headstock/prove"
	"headstock/trial"
)

var write = flag.Bool("write", false, "pin testdata/readings.txt anew")

// Readings are the same to the last bit on every build. The pin moves with the demo
// records, the standing test and the solver, and proves nothing of them; after a change
// that is meant to move it:
//
//	go test ./prove -run Readings_pinned -write
func TestReadings_pinned(t *testing.T) {
	f, r := railway(t)
	var out strings.Builder
	out.WriteString("# SHA-256 of all readings of the standing brake test, to the bit; see readings_pinned_test.go\n")
	for _, text := range []string{
		"Tern 3 lead, Kite 11 trail",
		"Kite 11 lead, Tern 3 trail, Kite 13 trail",
		"Tern 3 lead, Kite 11 trail reversed, 2 HX loaded, GV",
		"Tern 3 lead, Brant 2 hauled dead",
		"Scoter 1 alone",
	} {
		c := set(t, f, text, "")
		res, err := trial.Run(c, prove.StandingTest(c, r), trial.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		h := sha256.New()
		for _, x := range res.Readings {
			fmt.Fprintf(h, "%s|%d|%s|%s|%016x|%t|%s\n", x.Step, x.Vehicle, x.Device, x.Kind, math.Float64bits(x.Value), x.Out, x.Fitted)
		}
		fmt.Fprintf(&out, "%x | %d readings | %s\n", h.Sum(nil), len(res.Readings), text)
	}
	const name = "testdata/readings.txt"
	if *write {
		if err := os.WriteFile(name, []byte(out.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if got := out.String(); got != string(want) {
		t.Errorf("readings moved (see the comment of this test):\n%swere\n%s", got, want)
	}
}

// The pin holds where the compiler has fused multiply and add to hand, and in another
// machine altogether.
func TestReadingsOnOtherBuilds_cross(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the package again")
	}
	tool, err := exec.LookPath("go")
	if err != nil {
		t.Skip("go is not on the path")
	}
	again := func(t *testing.T, args []string, env ...string) string {
		cmd := exec.Command(tool, append(append([]string{"test", "-vet=off", "-run", "^TestReadings_pinned$"}, args...), ".")...)
		cmd.Env = append(os.Environ(), env...)
		out, err := cmd.CombinedOutput()
		if s := string(out); err != nil && !strings.Contains(s, "can only be run on") {
			t.Errorf("%v\n%s", err, s)
		}
		return string(out)
	}
	t.Run("amd64 v3", func(t *testing.T) {
		if runtime.GOARCH != "amd64" {
			t.Skip("this is no amd64")
		}
		if out := again(t, nil, "GOAMD64=v3"); strings.Contains(out, "can only be run on") {
			t.Skip("this processor has no fused multiply and add")
		}
	})
	t.Run("wasm", func(t *testing.T) {
		if _, err := exec.LookPath("node"); err != nil {
			t.Skip("node is not on the path")
		}
		root, err := exec.Command(tool, "env", "GOROOT").Output()
		if err != nil {
			t.Fatal(err)
		}
		run := filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "go_js_wasm_exec")
		if _, err := os.Stat(run); err != nil {
			t.Skip("this Go brings no go_js_wasm_exec")
		}
		again(t, []string{"-exec", run}, "GOOS=js", "GOARCH=wasm")
	})
}
