package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/rule"
	"headstock/teach"
	"headstock/trial"
)

func (d *door) envelope() *cobra.Command {
	var number int
	c := d.onConsist(&cobra.Command{
		Use:     "envelope CONSIST",
		Short:   "for whoever teaches: one device set wrong, picked by a number; what it does, and which look finds it",
		Example: fmt.Sprintf("  headstock envelope '%s' --number 7 --pdf envelope.pdf --paper A6", example("pair")),
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		if number < 1 {
			return bad("--number wants a number from 1, found %d", number)
		}
		done := d.progress("looking for a wrong setting that a look tells")
		defer done()
		e, err := teach.Seal(c, r, trial.Conditions{}, number)
		if errors.Is(err, teach.ErrNothingToSeal) {
			return exit{3, "cannot say: " + err.Error()}
		}
		if err != nil {
			return unproved(err)
		}
		if d.json {
			return d.printJSON(struct {
				Caution  string          `json:"caution"`
				Consist  string          `json:"consist"`
				Envelope *teach.Envelope `json:"envelope"`
			}{card.Caution, c.String(), e})
		}
		return d.print(card.Envelope(c, e, r, d.u()))
	})
	c.Flags().IntVar(&number, "number", 1, "number of the envelope; the same gives the same")
	return c
}
