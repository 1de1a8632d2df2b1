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
	"headstock/diagnose"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
	"headstock/web"
)

func (d *door) diagnose() *cobra.Command {
	var opt diagnose.Options
	var saw []string
	var file string
	var sp study
	cmd := d.onConsist(&cobra.Command{
		Use:   "diagnose CONSIST",
		Short: "from what was seen at any step of the brake test: what could be the matter, where to look next, and what putting it right would show",
		Long: "What was seen is written step/unit.device=value, as judge takes them: a pressure, in or out for a piston, quiet or blows for an exhaust, or not looked at. " +
			"Without a step it says how a device was found to stand. A filled-in form of the brake test is read with --readings.\n\n" +
			"Exit status: 0 nothing wrong was seen, 1 something fits, 2 bad input, 3 nothing looked at fits.",
		Example: fmt.Sprintf("  headstock diagnose '%s' --saw '%s'\n  headstock diagnose '%s' --readings readings.csv --failures", example("pair"), example("saw"), example("pair")),
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		base, err := setup.NewBase(c, r, trial.Conditions{})
		if err != nil {
			return unproved(err)
		}
		if base.Proof().Test == nil {
			return d.untested(base.Proof())
		}
		var saws []diagnose.Saw
		if file != "" {
			entries, err := everyRow(file)
			if err != nil {
				return err
			}
			for _, e := range entries {
				s, err := diagnose.Read(base, e)
				if err != nil {
					return bad("%s: %v", file, err)
				}
				saws = append(saws, s)
			}
		}
		for _, t := range saw {
			s, err := diagnose.Parse(base, t)
			if err != nil {
				return bad("--saw %q: %v", t, err)
			}
			saws = append(saws, s)
		}
		if len(saws) == 0 {
			return bad("nothing that was seen is entered; expected --saw '%s' or --readings FILE", example("saw"))
		}
		if err := d.study(base.Proof(), sp); err != nil {
			return err
		}
		opt.Gauge = func(pa float64) string { return d.u().Gauge(quantity.Gauge(pa)) }
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
		defer stop()
		done := d.progress("running " + c.String() + " with each thing wrong in turn")
		defer done()
		a, err := diagnose.Find(ctx, base, saws, opt)
		if errors.Is(err, context.Canceled) {
			return bad("cut off")
		}
		if err != nil {
			return bad("%v", err)
		}
		doc := card.Diagnosis(base, a, r, d.u())
		if d.json {
			if err := d.printer.print(doc); err != nil {
				return err
			}
			err = d.printJSON(struct {
				Caution string `json:"caution"`
				*diagnose.Answer
				Records []web.Record `json:"records"`
				Rules   string       `json:"rules"`
			}{card.Caution, a, web.Records(c), r.Title})
		} else {
			err = d.print(doc)
		}
		switch {
		case err != nil || a.Nothing:
			return err
		case len(a.Fits) == 0:
			return exit{code: 3}
		}
		return exit{code: 1}
	})
	f := cmd.Flags()
	f.StringArrayVar(&saw, "saw", nil, "what was seen: step/unit.device=value, or unit.device=position (repeat)")
	f.StringVar(&file, "readings", "", "file of readings as judge takes it; a row without a value was not looked at")
	f.BoolVar(&opt.Failures, "failures", false, "every part that can fail too")
	f.BoolVar(&opt.Pairs, "pairs", false, "pairs of wrong settings even where one cause is enough; they are looked at by themselves where none is")
	f.BoolVar(&opt.Secured, "secured", false, "the train is held by hand brakes or chocks: steps that let brakes go may be proposed")
	sp.flags(cmd)
	return cmd
}
