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
	const file = "testdata/constant.json"
	for _, c := range []struct {
		args []string
		want string
	}{
		{nil, "expected one case file, got 0"},
		{[]string{"-solver", "slow", file}, `-solver is "slow", expected reference, network or both`},
		{[]string{"-cells", "3", file}, "-cells is 3, expected an even number"},
		{[]string{"-pieces", "0", file}, "-pieces is 0, expected an even number"},
		{[]string{"-case", "led,lid", file}, `no case "lid"; it has constant-service, restricted-feed, led`},
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
	status, out, _ := call("-case", "led", "testdata/constant.json")
	if status != 1 || !strings.Contains(out, "no end that is led to a pressure") || !strings.Contains(out, `"value": 500000`) {
		t.Errorf("status %d: %s", status, out)
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
