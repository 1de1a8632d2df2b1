package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/internal/reading"
	"headstock/prove"
	"headstock/rule"
	"headstock/trial"
	"headstock/web"
)

func (d *door) runCommand() *cobra.Command {
	var out, proc, file string
	var every float64
	cmd := &cobra.Command{
		Use:     "run CONSIST",
		Short:   "run a consist through a procedure and write its curves as CSV, or with --json all of it",
		Example: fmt.Sprintf("  headstock run '%s' --curves curves.csv", example("pair")),
	}
	d.onConsist(cmd, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		switch {
		case !(every >= leastEvery) || math.IsInf(every, 0):
			return bad("--every wants a time of at least %g s, found %g", leastEvery, every)
		case file != "" && cmd.Flags().Changed("procedure"):
			return bad("--procedure and --file both name a procedure; expected one of them")
		}
		var p trial.Procedure
		var err error
		if file != "" {
			p, err = procedureFile(file)
		} else {
			p, err = prove.Procedure(c, r, proc)
		}
		if err != nil {
			return err
		}
		if ms := trial.Sealed(c, p); len(ms) > 0 {
			m := ms[0]
			return bad("%s: step %q would move %s (%s) of %s, which must not be moved", p.Name, m.Step, m.Device.Name, m.Device.ID, c.Vehicles[m.Vehicle].Name())
		}
		res, err := trial.Run(c, p, trial.Conditions{Curves: every})
		if err != nil {
			// a record that does not hold enough fails in the middle of a run; the proof
			// names all that it lacks
			if proof, e := prove.Prove(c, r, trial.Conditions{}); e == nil && proof.Test == nil && proof.Verdict == prove.CannotBe {
				return d.untested(proof)
			}
			if file != "" {
				return err
			}
			return unproved(err)
		}
		if d.json {
			type curve struct {
				Unit    string    `json:"unit"`
				Element string    `json:"element"`
				KPa     []float64 `json:"gauge_pa"`
			}
			var cs []curve
			for _, x := range res.Curves {
				cs = append(cs, curve{c.Vehicles[x.Vehicle].Name(), x.Element, x.Values})
			}
			return d.printJSON(map[string]any{"caution": card.Caution, "consist": c.String(), "procedure": p, "times_s": res.Times, "curves": cs, "readings": res.Readings, "misses": res.Misses, "steps": res.Steps, "mass_audit": res.Audit, "air_model": trial.AirModel(trial.Conditions{})})
		}
		var table bytes.Buffer
		cw := csv.NewWriter(&table)
		if err := cw.Write([]string{card.Caution}); err != nil {
			return err
		}
		head := []string{"time s"}
		for _, x := range res.Curves {
			head = append(head, c.Vehicles[x.Vehicle].Name()+" "+strings.ReplaceAll(x.Element, "-", " ")+" kPa gauge")
		}
		if err := cw.Write(head); err != nil {
			return err
		}
		digits := decimals(every)
		for k, t := range res.Times {
			row := []string{fixed(t, digits)}
			for _, x := range res.Curves {
				row = append(row, fixed(x.Values[k]/1000, 2))
			}
			if err := cw.Write(row); err != nil {
				return err
			}
		}
		cw.Flush()
		if err := cw.Error(); err != nil {
			return err
		}
		if out == "" {
			_, err := d.out.Write(table.Bytes())
			return err
		}
		if err := writeFile(out, table.Bytes(), 0o644); err != nil {
			return exit{2, err.Error()}
		}
		_, err = fmt.Fprintf(d.out, "wrote %s: %s of %s\n", out, counted(len(res.Curves), "curve"), counted(len(res.Times), "sample"))
		return err
	})
	f := cmd.Flags()
	f.StringVar(&out, "curves", "", "file for the curves; absent: standard output")
	f.StringVar(&proc, "procedure", "standing brake test", "procedure: "+strings.Join(prove.Procedures(), ", "))
	f.StringVar(&file, "file", "", "a procedure of your own as JSON, in the form that --json prints under \"procedure\"")
	f.Float64Var(&every, "every", 1, "seconds between samples, which stand at whole multiples of it")
	return cmd
}

// leastEvery is the shortest time between samples, s: times are told apart by it in a
// table, and a run has a sample for each.
const leastEvery = 0.001

// decimals is how many a time needs on a grid of so many seconds.
func decimals(every float64) int {
	_, part, _ := strings.Cut(strconv.FormatFloat(every, 'f', -1, 64), ".")
	return min(len(part), 6)
}

// fixed writes a number with so many decimals, and no zero with a sign.
func fixed(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

func (d *door) why() *cobra.Command {
	return d.onConsist(&cobra.Command{
		Use:     "why CONSIST [REQUIREMENT]",
		Short:   "why a requirement is met, lost or broken: device, pipe, step, reading, rule, source",
		Example: fmt.Sprintf("  headstock why '%s' quick-release", example("pair")),
	}, func(c *consist.Consist, r *rule.Rules, args []string) error {
		which := ""
		if len(args) == 1 {
			which = args[0]
			if all := prove.Requirements(); !slices.Contains(all, which) {
				return bad("no requirement %q; expected one of %s%s", reading.Short(which), strings.Join(all, ", "), reading.Hint(which, all))
			}
		}
		p, err := prove.Prove(c, r, trial.Conditions{})
		if err != nil {
			return unproved(err)
		}
		if _, ok := p.Finding(which); which != "" && !ok && p.Test == nil {
			return d.untested(p)
		}
		a := web.Values(c, p, nil, r)
		a.Readings, a.Misses = nil, nil
		return d.show(a, card.Why(c, p, which, r, d.u()))
	})
}

// procedureFile reads a procedure; what is wrong with it is said with file and line.
func procedureFile(name string) (trial.Procedure, error) {
	var p trial.Procedure
	if err := readJSON(name, &p); err != nil {
		return p, err
	}
	if len(p.Steps) == 0 {
		return p, fmt.Errorf("%s: the procedure has no steps", name)
	}
	for _, s := range p.Steps {
		if s.For < 0 || s.AtMost < 0 || s.For > 86400 || s.AtMost > 86400 {
			return p, fmt.Errorf("%s: step %q waits outside 0 to 86400 s", name, s.ID)
		}
		if s.Until != nil && s.AtMost == 0 {
			return p, fmt.Errorf("%s: step %q waits for a condition without at_most", name, s.ID)
		}
	}
	if p.Name == "" {
		p.Name = name
	}
	return p, nil
}
