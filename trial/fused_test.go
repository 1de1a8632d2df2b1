package trial_test

import (
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"
)

// A product and a sum that the compiler makes one instruction of are rounded once instead
// of twice, and a reading would hang on the machine. No such instruction is in the rooms a
// trial runs through, on the machines that have one.
func TestNothingIsFused(t *testing.T) {
	tool, err := exec.LookPath("go")
	if err != nil {
		t.Skip("go is not on the path")
	}
	line := regexp.MustCompile(`\(([^()]*\.go:\d+)\)\s+(V?FN?M(?:ADD|SUB)\w*)`)
	for _, machine := range [][2]string{{"arm64", ""}, {"amd64", "v3"}} {
		t.Run(machine[0]+machine[1], func(t *testing.T) {
			cmd := exec.Command(tool, "build", "-gcflags=headstock/...=-S", "../air", "../rigging", "../fleet", "../consist", ".")
			cmd.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS=linux", "GOARCH="+machine[0], "GOAMD64="+machine[1])
			out, err := cmd.CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			listing := string(out)
			for _, name := range []string{"headstock/air.(*Run).step", "headstock/rigging.Cylinder.Stroke", "headstock/trial.(*runner).read", "headstock/consist.(*Plant).settings"} {
				if !strings.Contains(listing, name+" STEXT") {
					t.Fatalf("the listing has no %s: nothing is proved by it", name)
				}
			}
			for _, m := range line.FindAllStringSubmatch(listing, -1) {
				if !strings.Contains(m[1], "/quantity/") && !strings.Contains(m[1], "/motion/") { // words for people, and trains that move: not of a run of air
					t.Errorf("%s: %s; write float64(a*b) + c", m[1], m[2])
				}
			}
		})
	}
}
