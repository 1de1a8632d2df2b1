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
	"headstock/trial"
	"headstock/web"
)

func (d *door) coverage() *cobra.Command {
	var opt setup.Options
	var matrix bool
	var results string
	var sp study
	cmd := d.onConsist(&cobra.Command{
		Use:   "coverage CONSIST",
		Short: "what the prescribed brake test shows of all that can be wrong, what it does not, and the least added to it that would",
		Long: "Every wrong setting is run through the prescribed test, set up wrong and moved since; with --failures every part that can fail, with --pairs every two wrong settings. " +
			"What no reading that the test takes shows is listed with the reason; then what could be added, the cheapest that shows most and the least set that shows all. The prescribed test is never shortened.\n\n" +
			"With --results the runs are kept in a file, which search can use too.",
		Example: fmt.Sprintf("  headstock coverage '%s'\n  headstock coverage '%s' --failures --results runs.jsonl\n  headstock coverage '%s' --matrix --format csv", example("pair"), example("pair"), example("pair")),
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		base, err := setup.NewBase(c, r, trial.Conditions{})
		if err != nil {
			return unproved(err)
		}
		if base.Proof().Test == nil {
			return d.untested(base.Proof())
		}
		if err := d.study(base.Proof(), sp); err != nil {
			return err
		}
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
		defer stop()
		if results != "" {
			f, before, err := resultsFile(results)
			if err != nil {
				return err
			}
			defer f.Close()
			defer before.Close()
			opt.Before, opt.After = before, f
		}
		done := d.progress("running " + c.String() + " with each thing wrong in turn")
		defer done()
		found, err := base.Search(ctx, opt)
		var cv *setup.Coverage
		if err == nil {
			cv, err = base.Cover(ctx, found, opt.Workers)
		}
		if errors.Is(err, context.Canceled) {
			return bad("cut off; with --results it goes on from there")
		}
		if err != nil {
			return unproved(err)
		}
		doc := card.Coverage(c, cv, base.Proof(), r, d.u())
		if matrix {
			doc = card.CoverageMatrix(c, cv, base.Proof(), r, d.u())
		}
		if d.json {
			if err := d.printer.print(doc); err != nil {
				return err
			}
			return d.printJSON(struct {
				Caution string `json:"caution"`
				*setup.Coverage
				Records []web.Record `json:"records"`
				Rules   string       `json:"rules"`
			}{card.Caution, cv, web.Records(c), r.Title})
		}
		return d.print(doc)
	})
	f := cmd.Flags()
	f.BoolVar(&opt.Failures, "failures", false, "every part that can fail too; takes minutes")
	f.BoolVar(&opt.Pairs, "pairs", false, "every two wrong settings too; takes minutes")
	f.BoolVar(&matrix, "matrix", false, "every case by every step as a table instead")
	f.StringVar(&results, "results", "", "file that keeps the runs; one that was cut off goes on from it")
	sp.flags(cmd)
	return cmd
}
