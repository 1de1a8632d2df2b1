// Command pipecase runs a file of pipe cases through the reference solver, the network
// of package air, or both, and prints what each gives and how far it is from what the
// case states, as JSON:
//
//	go run ./internal/pipecase air/reference/testdata/pipe_cases.json
//	go run ./internal/pipecase -case R01,R13 -solver reference -cells 8 cases.json
//
// The format of a file is that of air/reference/testdata/pipe_cases.json; package air
// says how to add a case. A result that a case names without a value is printed and
// compared with nothing.
//
// It is a tool for whoever works on the air; nothing that a crew acts on comes out of it.
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strings"

	"headstock/air/reference"
)

// result is one figure of a case.
type result struct {
	Name     string   `json:"name"`
	Got      *float64 `json:"got"`       // null: the moment never came
	Value    *float64 `json:"value"`     // null: the case only asks
	Off      *float64 `json:"off"`       // got less value
	OffLimit *float64 `json:"off_limit"` // got less what the value tends to on finer grids
	U        float64  `json:"u"`         // numerical uncertainty of value
}

// report is one case through one solver.
type report struct {
	Case    string   `json:"case"`
	Title   string   `json:"title"`
	Model   string   `json:"model"`
	Solver  string   `json:"solver"`
	Cells   int      `json:"cells_per_vehicle"`
	Steps   int      `json:"steps,omitempty"`
	Audit   *float64 `json:"mass_unaccounted,omitempty"` // share of the mass at the start
	Note    string   `json:"note,omitempty"`
	Error   string   `json:"error,omitempty"`
	WorstPa *float64 `json:"worst_off_limit_Pa,omitempty"` // of pressures
	WorstS  *float64 `json:"worst_off_limit_s,omitempty"`  // of moments
	Results []result `json:"results,omitempty"`
}

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

// run returns 0 when every case ran, 1 when a solver could not run one, 2 on bad input.
func run(args []string, out, complain io.Writer) int {
	f := flag.NewFlagSet("pipecase", flag.ContinueOnError)
	f.SetOutput(complain)
	solver := f.String("solver", "both", "reference, network or both")
	cells := f.Int("cells", 4, "cells of the reference to a vehicle, an even number")
	pieces := f.Int("pieces", 2, "pieces of pipe of the network to a vehicle, an even number")
	only := f.String("case", "", "ids of the cases to run, with commas between; empty: all")
	f.Usage = func() {
		fmt.Fprintln(complain, "usage: pipecase [flags] file.json")
		f.PrintDefaults()
	}
	if err := f.Parse(args); err != nil {
		if err == flag.ErrHelp {
			return 0
		}
		return 2
	}
	bad := func(format string, a ...any) int {
		fmt.Fprintf(complain, format+"\n", a...)
		return 2
	}
	if f.NArg() != 1 {
		return bad("pipecase: expected one case file, got %d", f.NArg())
	}
	var solvers []string
	switch *solver {
	case "both":
		solvers = []string{"reference", "network"}
	case "reference", "network":
		solvers = []string{*solver}
	default:
		return bad("pipecase: -solver is %q, expected reference, network or both", *solver)
	}
	for _, g := range []struct {
		flag string
		n    int
	}{{"cells", *cells}, {"pieces", *pieces}} {
		if g.n < 2 || g.n%2 != 0 || g.n > 4096 {
			return bad("pipecase: -%s is %d, expected an even number from 2 to 4096", g.flag, g.n)
		}
	}
	file, err := os.Open(f.Arg(0))
	if err != nil {
		return bad("pipecase: %v", err)
	}
	defer file.Close()
	list, err := reference.Read(file, f.Arg(0))
	if err != nil {
		return bad("%v", err)
	}
	if *only != "" {
		want := strings.Split(*only, ",")
		var ids []string
		for _, c := range list {
			ids = append(ids, c.ID)
		}
		for _, id := range want {
			if !slices.Contains(ids, id) {
				return bad("%s: no case %q; it has %s", f.Arg(0), id, strings.Join(ids, ", "))
			}
		}
		list = slices.DeleteFunc(list, func(c reference.Case) bool { return !slices.Contains(want, c.ID) })
	}
	status := 0
	reports := []report{}
	for _, c := range list {
		for _, s := range solvers {
			r := report{Case: c.ID, Title: c.Title, Model: c.Spec.Model, Solver: s}
			if s == "reference" {
				r.Cells = *cells
			} else {
				r.Cells = *pieces
			}
			if err := r.fill(c); err != nil {
				r.Error = err.Error()
				status = 1
			}
			reports = append(reports, r)
		}
	}
	e := json.NewEncoder(out)
	e.SetIndent("", " ")
	if err := e.Encode(map[string]any{"reports": reports}); err != nil {
		return bad("pipecase: %v", err)
	}
	return status
}

// number is nil for what JSON cannot say.
func number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// fill runs the case of a report.
func (r *report) fill(c reference.Case) error {
	var names []string
	for _, e := range c.Expected {
		names = append(names, e.Name)
	}
	var figures []reference.Figure
	if r.Solver == "reference" {
		o, err := reference.Run(c.Spec, r.Cells, names)
		if err != nil {
			return err
		}
		figures, r.Steps, r.Audit = o.Figures, o.Steps, number(o.Audit)
	} else {
		w, err := newNetwork(c.Spec, r.Cells)
		if err != nil {
			return err
		}
		if figures, err = reference.Observe(c.Spec, w, names); err != nil {
			return err
		}
		r.Steps, r.Audit = w.run.Steps(), number(w.run.Audit())
	}
	worstP, worstT := math.NaN(), math.NaN()
	for i, e := range c.Expected {
		got := figures[i].Value
		off := got - e.Limit
		r.Results = append(r.Results, result{Name: e.Name, Got: number(got), Value: number(e.Value), Off: number(got - e.Value), OffLimit: number(off), U: e.U})
		switch off = math.Abs(off); {
		case math.IsNaN(off):
		case strings.HasSuffix(e.Name, "_Pa"):
			if !(off <= worstP) {
				worstP = off
			}
		case strings.HasPrefix(e.Name, "t_"):
			if !(off <= worstT) {
				worstT = off
			}
		}
	}
	r.WorstPa, r.WorstS = number(worstP), number(worstT)
	return nil
}
