package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/internal/reading"
	"headstock/prove"
	"headstock/rule"
	"headstock/trial"
)

func (d *door) runCommand() *cobra.Command {
	var out, proc, file string
	var every float64
	c := d.onConsist(&cobra.Command{
		Use: "run CONSIST", Args: cobra.ExactArgs(1),
		Short:   "run a consist through a procedure and write its curves as CSV, or with --json all of it",
		Example: fmt.Sprintf("  headstock run '%s' --curves curves.csv", example("pair")),
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		if every <= 0 {
			return bad("--every wants a time above 0 s, found %g", every)
		}
		var p trial.Procedure
		var err error
		if file != "" {
			p, err = procedureFile(file)
		} else {
			p, err = prove.Procedure(c, r, proc)
		}
		if err != nil {
			return exit{2, err.Error()}
		}
		res, err := trial.Run(c, p, trial.Conditions{Curves: every})
		if err != nil {
			return exit{2, err.Error()}
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
			return d.printJSON(map[string]any{"caution": card.Caution, "consist": c.String(), "procedure": p, "times_s": res.Times, "curves": cs, "readings": res.Readings, "misses": res.Misses, "steps": res.Steps, "mass_audit": res.Audit})
		}
		w := d.out
		if out != "" {
			f, err := os.Create(out)
			if err != nil {
				return exit{2, err.Error()}
			}
			defer f.Close()
			w = f
		}
		cw := csv.NewWriter(w)
		head := []string{"time s"}
		for _, x := range res.Curves {
			head = append(head, c.Vehicles[x.Vehicle].Name()+" "+strings.ReplaceAll(x.Element, "-", " ")+" kPa gauge")
		}
		if err := cw.Write(head); err != nil {
			return err
		}
		for k, t := range res.Times {
			row := []string{fmt.Sprintf("%.3f", t)}
			for _, x := range res.Curves {
				row = append(row, fmt.Sprintf("%.2f", x.Values[k]/1000))
			}
			if err := cw.Write(row); err != nil {
				return err
			}
		}
		cw.Flush()
		return cw.Error()
	})
	c.Flags().StringVar(&out, "curves", "", "file for the curves; absent: standard output")
	c.Flags().StringVar(&proc, "procedure", "standing brake test", "procedure: "+strings.Join(prove.Procedures(), ", "))
	c.Flags().StringVar(&file, "file", "", "a procedure of your own as JSON, in the form that --json prints under \"procedure\"")
	c.Flags().Float64Var(&every, "every", 1, "seconds between samples")
	return c
}

func (d *door) why() *cobra.Command {
	return d.onConsist(&cobra.Command{
		Use: "why CONSIST [REQUIREMENT]", Args: cobra.RangeArgs(1, 2),
		Short:   "why a requirement is met, lost or broken: device, pipe, step, reading, rule, source",
		Example: fmt.Sprintf("  headstock why '%s' quick-release", example("pair")),
	}, func(c *consist.Consist, r *rule.Rules, args []string) error {
		p, err := prove.Prove(c, r, trial.Conditions{})
		if err != nil {
			return err
		}
		which := ""
		if len(args) == 1 {
			which = args[0]
			if _, ok := p.Finding(which); !ok {
				return bad("no requirement %q; expected one of %s; nearest: %s", which, strings.Join(prove.Requirements(), ", "), reading.Nearest(which, prove.Requirements()))
			}
		}
		a := values(c, p, nil, r)
		a.Readings, a.Misses = nil, nil
		return d.show(a, card.Why(c, p, which, r, d.u()))
	})
}

// procedureFile reads a procedure; what is wrong with it is said with file and line.
func procedureFile(name string) (trial.Procedure, error) {
	var p trial.Procedure
	b, err := os.ReadFile(name)
	if err != nil {
		return p, err
	}
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&p); err != nil {
		return p, fmt.Errorf("%s:%d: %w", name, 1+bytes.Count(b[:dec.InputOffset()], []byte("\n")), err)
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
