package main

import (
	"bytes"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/paper"
	"headstock/rule"
)

func (d *door) takeaway() *cobra.Command {
	var file, at string
	c := d.onConsist(&cobra.Command{
		Use:     "takeaway CONSIST",
		Short:   "one HTML file with the page at the coupling, the set-up card, its drawings and the brake test, that opens by itself",
		Example: fmt.Sprintf("  headstock takeaway '%s' --to pair.html\n  headstock takeaway '%s' > pair.html\n  headstock takeaway '%s' --pdf pair.pdf", example("pair"), example("pair"), example("pair")),
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		made := time.Now().UTC()
		if at != "" {
			var err error
			if made, err = time.Parse("2006-01-02 15:04", at); err != nil {
				return bad("--made %q; expected a day and a time in UTC, such as '2026-11-25 02:00'", at)
			}
		}
		ck, slips, err := d.beside(c, r)
		if err != nil {
			return err
		}
		doc := card.TakeAway(c, made.Format("2006-01-02 15:04")+" UTC",
			card.Beside(c, ck.Plan, ck.Proof, slips, r, d.u()), card.Coupling(c, ck, r, d.u()), card.Sheet(c, ck.Proof, r, d.u()))
		switch {
		case d.json || d.printer.asked():
			err = d.print(doc)
		case file == "":
			err = paper.HTML(d.out, doc)
		default:
			var b bytes.Buffer
			if err = paper.HTML(&b, doc); err == nil {
				if err = writeFile(file, b.Bytes(), 0o644); err != nil {
					return exit{2, err.Error()}
				}
				fmt.Fprintln(d.out, "wrote "+file)
				fmt.Fprintln(d.out, card.Caution)
			}
		}
		if err != nil {
			return err
		}
		return status(ck.Proof)
	})
	c.Flags().StringVar(&file, "to", "", "write to this file; without it, to the standard output")
	c.Flags().StringVar(&at, "made", "", "day and time that stand on it, in UTC: 2026-11-25 02:00; without it, now")
	return c
}
