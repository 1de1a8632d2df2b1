package main

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
)

func call(args ...string) (status int, out, complaint string) {
	var o, c bytes.Buffer
	status = run(args, &o, &c)
	return status, o.String(), c.String()
}

func TestBadInput(t *testing.T) {
	const file = "testdata/cases.json"
	for _, c := range []struct {
		args []string
		want string
	}{
		{nil, "expected one case file, got 0"},
		{[]string{"-solver", "slow", file}, `-solver is "slow", expected reference, network or both`},
		{[]string{"-cells", "3", file}, "-cells is 3, expected an even number"},
		{[]string{"-pieces", "0", file}, "-pieces is 0, expected an even number"},
		{[]string{"-case", "led,lid", file}, `no case "lid"; it has service-and-lap, restricted-feed, one-factor, led, emergency-energy`},
		{[]string{"testdata/none.json"}, "testdata/none.json"},
		{[]string{"main.go"}, "main.go:1:1: invalid character"},
	} {
		status, out, complaint := call(c.args...)
		if status != 2 || out != "" || !strings.Contains(complaint, c.want) {
			t.Errorf("%q: status %d, %q, want 2 and %q", c.args, status, complaint, c.want)
		}
	}
}

// What the network cannot express is said, and the other cases are still run.
func TestWhatCannotRunIsSaid(t *testing.T) {
	for _, c := range []struct{ id, says, value string }{
		{"led", "no end that is led to a pressure", `"value": 500000`},
		{"one-factor", "no friction factor that is the same", `"value": 601325`},
	} {
		status, out, _ := call("-case", c.id, "testdata/cases.json")
		if status != 1 || !strings.Contains(out, c.says) || !strings.Contains(out, c.value) {
			t.Errorf("%s: status %d: %s", c.id, status, out)
		}
	}
}

func reports(t *testing.T, args ...string) map[string]map[string]*float64 {
	t.Helper()
	_, out, complaint := call(args...)
	var v struct{ Reports []report }
	if err := json.Unmarshal([]byte(out), &v); err != nil {
		t.Fatalf("%v: %s", err, complaint)
	}
	m := map[string]map[string]*float64{}
	for _, r := range v.Reports {
		k := map[string]*float64{}
		for _, x := range r.Results {
			k[x.Name] = x.Got
		}
		if r.Audit != nil && !(*r.Audit < 1e-9 && *r.Audit > -1e-9) {
			t.Errorf("%s, %s: mass unaccounted for %g", r.Case, r.Solver, *r.Audit)
		}
		m[r.Case+" "+r.Solver] = k
	}
	return m
}
