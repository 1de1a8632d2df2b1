package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/rule"
	"headstock/setup"
	"headstock/teach"
	"headstock/trial"
)

func (d *door) envelope() *cobra.Command {
	var number int
	var quick bool
	c := d.onConsist(&cobra.Command{
		Use:   "envelope CONSIST",
		Short: "for whoever teaches: one device set wrong, picked by a number; what it does, and which look finds it",
		Long: "The envelope is picked from everything that can be set wrong here, each run through the brake test; that search takes from seconds to many\n" +
			"minutes for a long train, and --quick leaves it and what looks alike out. The same number gives the same envelope either way.",
		Example: fmt.Sprintf("  headstock envelope '%s' --number 7 --pdf envelope.pdf --paper A6", example("pair")),
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		if number < 1 {
			return bad("--number wants a number from 1, found %d", number)
		}
		done := d.progress("running " + c.String() + " with each thing wrong in turn")
		defer done()
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
		defer stop()
		e, err := seal(ctx, c, r, number, quick)
		if errors.Is(err, context.Canceled) {
			return bad("cut off; with --quick it is picked at once, without what looks alike")
		}
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
	c.Flags().BoolVar(&quick, "quick", false, "the same envelope at once, without the search that tells what looks alike")
	c.Flags().IntVar(&number, "number", 1, "number of the envelope; the same gives the same")
	return c
}

// seal picks an envelope; unless it is to be quick, from a search of the consist.
func seal(ctx context.Context, c *consist.Consist, r *rule.Rules, number int, quick bool) (*teach.Envelope, error) {
	if quick {
		return teach.Seal(c, r, trial.Conditions{}, number)
	}
	base, err := setup.NewBase(c, r, trial.Conditions{})
	if err != nil {
		return nil, err
	}
	found, err := base.Search(ctx, setup.Options{})
	if err != nil {
		return nil, err
	}
	return teach.SealFrom(base, found, number)
}
