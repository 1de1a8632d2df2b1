package reference

import (
	"os"
	"strings"
	"testing"
)

const small = `{"cases":[{"id":"A","title":"small","model":"iso","spec":{"diameter_m":0.032,"roughness_m":5e-05,"friction":"colebrook",
"vehicle_pipe_length_m":16,"vehicles":2,"p_init_Pa":601325,"t_end_s":1,"head":[{"t":0,"mode":"vent","diameter_m":0.008,"Cd":0.8}],
"tail":[{"t":0,"mode":"closed"}]},"results":{"p_head_1s_Pa":{"value":0}}}]}`

func TestReadSaysWhatIsWrong(t *testing.T) {
	if _, err := Read(strings.NewReader(small), "a.json"); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ old, put, want string }{
		{`"title":"small",`, `"title":"small"`, "a.json:1:"},
		{`"vehicles":2`, `"vehicles":0`, "vehicles is 0, expected 1 to"},
		{`"vehicles":2`, `"vehicels":2`, `unknown field "vehicels"`},
		{`"mode":"closed"`, `"mode":"shut"`, `tail: row 1: mode is "shut", expected closed, vent, feed or pressure`},
		{`"model":"iso"`, `"model":"cold"`, `model is "cold", expected iso or euler`},
		{`"colebrook"`, `"smooth"`, `friction is "smooth", expected`},
		{`"t":0,"mode":"vent"`, `"t":1,"mode":"vent"`, "head: the first row begins at t 0"},
		{`"Cd":0.8`, `"Cd":0`, "head: row 1: Cd is 0, expected more than 0"},
		{`"Cd":0.8`, `"Cd":0.8,"critical_ratio":1`, "critical_ratio is 1, expected 0 to below 1"},
		{`p_head_1s_Pa`, `p_hat_1s_Pa`, `result "p_hat_1s_Pa" is not one that a case can state`},
		{`p_head_1s_Pa`, `tank_last_1s_Pa`, `result "tank_last_1s_Pa" is not one that a case can state`},
		{`p_head_1s_Pa`, `p_head_9s_Pa`, `result "p_head_9s_Pa" is read outside the run, which ends after 1 s`},
		{`p_head_1s_Pa`, `leak_second_minute_kPa_min`, "is read outside the run"},
		{`"value":0`, `"value":"0"`, "a.json"},
		{`"t_end_s":1,`, `"t_end_s":1,"leak":{"diameter_m":0.001,"Cd":0.8,"vehicles":[2]},`, "leak: vehicle 2, expected 0 to 1"},
		{`"t_end_s":1,`, `"t_end_s":1,"restriction":{"diameter_m":0.01,"Cd":0.8,"after_vehicle":1},`, "after_vehicle is 1, expected 0 to 0"},
		{`"cases"`, `"case"`, `expected a list "cases"`},
	} {
		text := strings.Replace(small, c.old, c.put, 1)
		if text == small {
			t.Fatalf("%q is not in the text", c.old)
		}
		if _, err := Read(strings.NewReader(text), "a.json"); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.put, err, c.want)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(small)
	if text, err := os.ReadFile("testdata/pipe_cases.json"); err == nil {
		f.Add(string(text))
	}
	f.Fuzz(func(t *testing.T, text string) {
		list, err := Read(strings.NewReader(text), "f.json")
		if err != nil && !strings.HasPrefix(err.Error(), "f.json") {
			t.Errorf("%q does not begin with the file", err)
		}
		for _, c := range list {
			if c.Spec.Vehicles < 1 {
				t.Error("a case without a vehicle was read")
			}
		}
	})
}

func TestCellsMustBeEven(t *testing.T) {
	s := bare("iso", 10, 0.03, 6e5)
	for _, n := range []int{-2, 0, 1, 3} {
		if _, err := New(s, n); err == nil {
			t.Errorf("%d cells were taken", n)
		}
	}
}

// A moment that never comes is not a number, and no run is stopped by it.
func TestMomentThatNeverComes(t *testing.T) {
	s := bare("iso", 10, 0.03, 6e5)
	o, err := Run(s, 2, []string{"t_tail_drop5kPa_s", "p_tail_1s_Pa"})
	if err != nil {
		t.Fatal(err)
	}
	if v := o.Figures[0].Value; v == v {
		t.Errorf("a closed pipe dropped after %g s", v)
	}
	near(t, "tail", o.Figures[1].Value, 6e5, 1e-6)
}
