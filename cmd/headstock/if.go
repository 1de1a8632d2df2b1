package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
)

func (d *door) ifMoved() *cobra.Command {
	return d.onConsist(&cobra.Command{
		Use:     "if CONSIST UNIT.DEVICE[=POSITION]",
		Short:   "what happens if this device is moved: what is lost or broken, where it shows and where not",
		Example: fmt.Sprintf("  headstock if '%s' '%s'\n  headstock if '%s' 'lead.dead-engine-cock'", example("pair"), example("wrong"), example("pair")),
	}, func(c *consist.Consist, r *rule.Rules, args []string) error {
		done := d.progress("running " + c.String() + " with and without the move")
		defer done()
		base, err := setup.NewBase(c, r, trial.Conditions{})
		if err != nil {
			return unproved(err)
		}
		moves, err := base.Moving(args[0])
		if err != nil {
			return err
		}
		var es []*setup.Effect
		worst := setup.NoHarm
		for _, m := range moves {
			e, err := base.Effect(m)
			if err != nil {
				return err
			}
			worst = max(worst, e.Grade)
			es = append(es, e)
		}
		if d.json {
			err = d.printJSON(struct {
				Caution string          `json:"caution"`
				Consist string          `json:"consist"`
				Effects []*setup.Effect `json:"effects"`
				Air     string          `json:"air_model"`
			}{card.Caution, c.String(), es, base.Proof().AirModel})
		} else {
			err = d.print(card.Effects(c, base.Proof(), es, r, d.u()))
		}
		if err == nil && worst > setup.LossOf {
			err = exit{code: 1}
		}
		return err
	})
}
