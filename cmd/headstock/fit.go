package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/fleet"
	"headstock/prepare"
	"headstock/prove"
	"headstock/rule"
	"headstock/trial"
	"headstock/web"
)

func (d *door) fit() *cobra.Command {
	var defects, measures []string
	var date, as, in, logFile string
	var end int
	var price bool
	c := &cobra.Command{
		Use: "fit UNIT", Args: cobra.ExactArgs(1),
		Short:   "may this unit lead, trail, be hauled, or must it not move: by its open defects, cut-outs and measurements",
		Example: fmt.Sprintf("  headstock fit '%s'\n  headstock fit '%s' --defect '%s'\n  headstock fit '%s' --defect '%s' --price", example("unfit"), example("unit"), example("defect"), example("unit"), example("cut-out")),
		Long: "Says what a unit may do with the defects of its record and those given with --defect (device=kind or device=position, by the device's id or function), " +
			"and measurements given with --measure (device:what=value, the value ? when it is not known).\n\nKinds of defect:\n" + kindsOfDefect() + "\n" +
			"Exit status, for the duty asked for with --as: 0 it may, limits included; 1 it may not, or must not move; 2 bad input; 3 cannot say.",
		RunE: func(_ *cobra.Command, args []string) error {
			f, r, err := d.read()
			if err != nil {
				return err
			}
			c, u, err := unitOrClass(f, args[0])
			if err != nil {
				return err
			}
			if u == nil {
				return bad("fit wants a unit, such as %q; %q is a class", example("unit"), args[0])
			}
			if u, err = d.withLog(c, u, logFile); err != nil {
				return err
			}
			if date == "" {
				date = time.Now().Format("2006-01-02")
			}
			if _, ok := rule.Day(date); !ok {
				return bad("--date %q is no day; expected year-month-day, like 2026-03-01", date)
			}
			if as != "lead" && as != "trail" && as != "hauled" {
				return bad("--as %q; expected lead, trail or hauled", as)
			}
			if end < 0 || end > 2 {
				return bad("--end %d; expected 1 or 2, the headstock in front", end)
			}
			var ds []fleet.Defect
			for _, t := range defects {
				x, err := prepare.ParseDefect(c, t, date)
				if err != nil {
					return exit{2, err.Error()}
				}
				ds = append(ds, x)
			}
			var ms []prepare.Measurement
			for _, t := range measures {
				m, err := prepare.ParseMeasurement(c, r, t, date)
				if err != nil {
					return exit{2, err.Error()}
				}
				ms = append(ms, m)
			}
			a := prepare.Fitness(c, u, ds, ms, r, date)
			var p *prepare.Price
			if (price || in != "") && len(a.CutOuts) > 0 {
				if p, err = d.price(f, u, a, r, in); err != nil {
					return err
				}
			}
			if d.json {
				if err := d.printJSON(struct {
					Caution string `json:"caution"`
					*prepare.Answer
					Price  *prepare.Price `json:"price,omitempty"`
					Record web.Record     `json:"record"`
					Rules  string         `json:"rules"`
				}{card.Caution, a, p, web.Record{Class: c.Name, Revision: c.Revision.State, Date: c.Revision.Date, Hash: c.Hash}, r.Title}); err != nil {
					return err
				}
			} else if err := d.print(card.Fitness(f, c, a, p, r, d.u())); err != nil {
				return err
			}
			return fitStatus(a, as, end)
		},
	}
	c.Flags().StringArrayVar(&defects, "defect", nil, "a defect beside those of the record: device=kind or device=position (repeat)")
	c.Flags().StringArrayVar(&measures, "measure", nil, "a measurement: device:what=value (repeat)")
	logFlag(c, &logFile)
	c.Flags().StringVar(&date, "date", "", "the day asked for, like 2026-03-01; absent: today")
	c.Flags().StringVar(&as, "as", "lead", "the duty that the exit status answers: lead, trail or hauled")
	c.Flags().IntVar(&end, "end", 0, "with --as lead: the headstock in front, 1 or 2; absent: either")
	c.Flags().BoolVar(&price, "price", false, "run the brake test with and without what is cut out, and count the cylinders lost")
	c.Flags().StringVar(&in, "in", "", "the consist in which --price runs the unit; absent: a locomotive alone")
	return c
}

// kindsOfDefect lists the words that --defect takes.
func kindsOfDefect() string {
	s := ""
	for _, k := range fleet.DefectKinds() {
		s += fmt.Sprintf("  %-14s %s\n", k.Word, k.Meaning)
	}
	return s
}

// price runs the cut-outs of a unit alone, or in its consist.
func (d *door) price(f *fleet.Fleet, u *fleet.Unit, a *prepare.Answer, r *rule.Rules, in string) (*prepare.Price, error) {
	if in == "" {
		if c, ok := f.Class(u.Class); ok && c.Kind == "wagon" {
			return &prepare.Price{Unit: a.Unit, CutOuts: a.CutOuts, CannotSay: "a consist to run a wagon in; name it with --in"}, nil
		}
		in = a.Unit + " alone"
	}
	c, _, err := d.consist(in, nil, "")
	if err != nil {
		return nil, err
	}
	i, err := c.Find(a.Unit)
	if err != nil {
		return nil, bad("%s does not stand in the consist %s", a.Unit, c.String())
	}
	if _, n := c.Lead(); n != 1 {
		return nil, bad("the consist %s has no unit that leads, or several", c.String())
	}
	done := d.progress("running the brake test of " + c.String() + " with and without the cut-out")
	defer done()
	return prepare.BrakePrice(c, i, a.CutOuts, prove.StandingTest(c, r), prove.StepService, trial.Conditions{})
}

// fitStatus is the exit status for the duty asked for.
func fitStatus(a *prepare.Answer, as string, end int) error {
	s := a.Lead()
	switch {
	case as == "trail":
		s = a.For(rule.Trail).Standing
	case as == "hauled":
		s = a.For(rule.Hauled).Standing
	case end == 1:
		s = a.For(rule.Lead1).Standing
	case end == 2:
		s = a.For(rule.Lead2).Standing
	}
	switch s {
	case prepare.May:
		return nil
	case prepare.CannotSay:
		return exit{code: 3}
	}
	return exit{code: 1}
}
