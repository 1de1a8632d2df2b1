package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/haul"
	"headstock/internal/reading"
	"headstock/quantity"
	"headstock/rule"
	"headstock/trial"
)

func (d *door) hold() *cobra.Command {
	var grade, rail, leak, wind string
	var not []string
	var air bool
	cmd := d.onConsist(&cobra.Command{
		Use:     "hold CONSIST",
		Short:   "which hand brakes hold this train on a grade, with a margin, and what else is needed where they do not?",
		Example: fmt.Sprintf("  headstock hold '%s' --grade '1 in 250' --not '%s'\n  headstock hold '%s' --grade '1 in 45' --air", example("stood"), example("weak hand"), example("main")),
		Long: "Adds up what each hand brake is good for against the grade, with no rolling resistance credited, a margin, and the best of them not effective. --air runs the train and follows " +
			"the air left in its cylinders.\n\nExit status: 0 held, 1 not held, 2 bad input, 3 cannot say.",
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		q := haul.HoldAsk{Not: not, Air: air}
		var err error
		if q.Falling, err = gradeFlag(grade); err != nil {
			return err
		}
		if q.Rail, err = railFlag(rail); err != nil {
			return err
		}
		if leak != "" {
			if q.AirLeak, err = quantityFlag("leak", leak, quantity.Rate); err != nil {
				return err
			}
			if q.AirLeak < 0 {
				return bad("--leak %q; expected a loss from 0 on", reading.Short(leak))
			}
			q.Air = true
		}
		if wind != "" {
			if q.Wind, err = forceFlag("wind", wind); err != nil {
				return err
			}
		}
		for _, n := range not {
			if _, err := c.Find(n); err != nil {
				return exit{2, err.Error()}
			}
		}
		done := func() {}
		if q.Air {
			done = d.progress("charging " + c.String() + " and leaving it on its air")
		}
		a, err := haul.Hold(c, r, q, trial.Conditions{})
		done()
		if err != nil {
			return unmoved(err)
		}
		if err := d.hauled(c, r, a, card.Hold(c, a, r, d.u())); err != nil {
			return err
		}
		switch {
		case a.Held:
			return nil
		case len(a.Lacks) > 0:
			return exit{code: 3}
		}
		return exit{code: 1}
	})
	f := cmd.Flags()
	f.StringVar(&grade, "grade", "level", "grade, falling ahead unless it says rising: level, 1 in 45, 2.2 %")
	f.StringVar(&rail, "rail", "wet", "dry, wet or greasy: what braked wheels can hold on")
	f.StringArrayVar(&not, "not", nil, "a vehicle whose hand brake does not work (repeat)")
	f.BoolVar(&air, "air", false, "follow the air left in the cylinders after a full service application")
	f.StringVar(&leak, "leak", "", "what a cylinder was measured to lose, such as '10 kPa/min'")
	f.StringVar(&wind, "wind", "", "force of the wind beside the grade, such as '5 kN'")
	return cmd
}
