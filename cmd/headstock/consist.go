package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/internal/reading"
	"headstock/prove"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
	"headstock/web"
)

func (d *door) printJSON(v any) error {
	e := json.NewEncoder(d.out)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// consist reads a consist and the changes to it.
func (d *door) consist(text string, changes []string, file string) (*consist.Consist, *rule.Rules, error) {
	f, r, err := d.read()
	if err != nil {
		return nil, nil, err
	}
	c, err := consist.Parse(f, text)
	if err != nil {
		return nil, nil, err
	}
	if file != "" {
		b, err := readFile(file)
		if err != nil {
			return nil, nil, err
		}
		for n, l := range strings.Split(string(b), "\n") {
			l = strings.TrimSpace(l)
			if l == "" || l[0] == '#' {
				continue
			}
			ch, err := c.ParseChange(l)
			if err != nil {
				return nil, nil, bad("%s:%d: %v", file, n+1, err)
			}
			if c, err = c.With(ch); err != nil {
				return nil, nil, bad("%s:%d: %v", file, n+1, err)
			}
		}
	}
	for _, t := range changes {
		ch, err := c.ParseChange(t)
		if err != nil {
			return nil, nil, err
		}
		if c, err = c.With(ch); err != nil {
			return nil, nil, err
		}
	}
	return c, r, nil
}

// unproved is the error of a proof or a run that could not be made. The consist and its
// changes have been read by then, so what is missing is missing in a record.
func unproved(err error) error {
	var unsaid *consist.CannotSay
	if errors.As(err, &unsaid) {
		return err
	}
	return exit{3, "cannot say: " + err.Error()}
}

// untested is the error of a proof without a brake test: what the records lack, or that
// no unit leads.
func (d *door) untested(p *prove.Proof) error {
	var why []string
	for _, f := range p.Findings {
		for _, r := range f.Reasons {
			why = append(why, card.Sentence(r, d.u()))
		}
	}
	text := strings.Join(why, "; ")
	if p.Verdict == prove.CannotBe {
		return exit{3, "cannot say: there is no brake test to go by: " + text}
	}
	return bad("there is no brake test to go by: %s", text)
}

// status turns a verdict into an exit status.
func status(p *prove.Proof) error {
	switch p.Verdict {
	case prove.DoesNot:
		return exit{code: 1}
	case prove.CannotBe:
		return exit{code: 3}
	}
	return nil
}

// onConsist completes a command whose first argument is a consist: it adds the flags that
// say how devices stand, and reads both. What else the command takes is read off its Use: a
// word in brackets may be left out.
func (d *door) onConsist(cmd *cobra.Command, do func(c *consist.Consist, r *rule.Rules, args []string) error) *cobra.Command {
	var changes []string
	var file string
	cmd.Flags().StringArrayVar(&changes, "set", nil, "a device as it stands: unit.device=position (repeat)")
	cmd.Flags().StringVar(&file, "set-up", "", "file of such lines")
	words := strings.Fields(cmd.Use)[1:]
	least := len(words)
	for _, w := range words {
		if w[0] == '[' {
			least--
		}
	}
	cmd.Args = func(_ *cobra.Command, args []string) error {
		switch n := len(args); {
		case n < least:
			return bad("expected headstock %s, found %s after %s; a consist stands in quotes: headstock %s '%s'", cmd.Use, counted(n, "word"), cmd.Name(), cmd.Name(), example("pair"))
		case n > len(words):
			// all but what the command takes besides must have been the consist
			after := least - 1
			if least < len(words) && slices.Contains(prove.Requirements(), args[n-1]) {
				after++
			}
			quoted := append([]string{"headstock", cmd.Name(), "'" + reading.Short(strings.Join(args[:n-after], " ")) + "'"}, args[n-after:]...)
			return bad("expected headstock %s, found %s after %s; put the consist in quotes: %s", cmd.Use, counted(n, "word"), cmd.Name(), strings.Join(quoted, " "))
		}
		return nil
	}
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		c, r, err := d.consist(args[0], changes, file)
		var typed *consist.Error
		if errors.As(err, &typed) && len(args) > 1 && len(strings.Fields(args[0])) == 1 {
			return bad("%v; a consist of several words stands in quotes", err)
		}
		if err != nil {
			return err
		}
		return do(c, r, args[1:])
	}
	return cmd
}

// show prints the values as JSON, or the document.
func (d *door) show(a web.Answer, doc *card.Document) error {
	if d.json {
		if err := d.printer.print(doc); err != nil {
			return err
		}
		return d.printJSON(a)
	}
	return d.print(doc)
}

func (d *door) cardCommand() *cobra.Command {
	var w way
	var sp study
	c := d.onConsist(&cobra.Command{
		Use:     "card CONSIST",
		Short:   "set-up card of a consist: what is set and joined, what is lost, whether it works",
		Example: fmt.Sprintf("  headstock card '%s'\n  headstock card '%s' --set '%s'\n  headstock card '%s' %s\n  headstock card '%s' --spread %d", example("main"), example("pair"), example("wrong"), example("main"), example("way"), example("pair"), prove.UsualSamples),
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		route, err := d.over(c, r, w)
		if err != nil {
			return err
		}
		done := d.progress("proving " + c.String())
		ck, err := setup.Check(c, r, trial.Conditions{})
		done()
		if err != nil {
			return unproved(err)
		}
		if err := d.study(ck.Proof, sp); err != nil {
			return err
		}
		a := web.Values(c, ck.Proof, ck.Plan, r)
		a.Refuted, a.Route = ck.Refuted, route
		if ck.Proof.Study != nil {
			a.Readings, a.Spread = ck.Proof.Test.Readings, ck.Proof.Study
		}
		doc := card.Coupling(c, ck, r, d.u())
		if route != nil {
			card.AddRoute(doc, route, d.u())
		}
		if err := d.show(a, doc); err != nil {
			return err
		}
		return worse(status(ck.Proof), routeStatus(route))
	})
	w.flags(c)
	sp.flags(c)
	return c
}

// beside checks a set-up and runs what can be left wrong at its couplings.
func (d *door) beside(c *consist.Consist, r *rule.Rules) (*setup.Checked, *setup.Slips, error) {
	done := d.progress("proving " + c.String())
	defer done()
	ck, err := setup.Check(c, r, trial.Conditions{})
	if err != nil {
		return nil, nil, unproved(err)
	}
	slips, err := setup.AtCoupling(ck.Proof, r, trial.Conditions{})
	if err != nil {
		return nil, nil, unproved(err)
	}
	return ck, slips, nil
}

func (d *door) coupling() *cobra.Command {
	return d.onConsist(&cobra.Command{
		Use:     "coupling CONSIST",
		Short:   "the one page at the coupling: hoses, dummies, cocks, cabinet, what is lost, the one step that shows it is right",
		Example: fmt.Sprintf("  headstock coupling '%s'\n  headstock coupling '%s' --set '%s'", example("pair"), example("pair"), example("wrong")),
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		ck, slips, err := d.beside(c, r)
		if err != nil {
			return err
		}
		doc := card.Beside(c, ck.Plan, ck.Proof, slips, r, d.u())
		if d.json {
			if err := d.printer.print(doc); err != nil {
				return err
			}
			err = d.printJSON(struct {
				web.Answer
				Slips *setup.Slips `json:"slips"`
			}{web.Values(c, ck.Proof, ck.Plan, r), slips})
		} else {
			err = d.print(doc)
		}
		if err != nil {
			return err
		}
		return status(ck.Proof)
	})
}

func (d *door) test() *cobra.Command {
	var form string
	var sp study
	cmd := d.onConsist(&cobra.Command{
		Use:     "test CONSIST",
		Short:   "brake test of a consist with the reading expected at each step, place and gauge",
		Example: fmt.Sprintf("  headstock test '%s'\n  headstock test '%s' --form readings.csv\n  headstock test '%s' --spread %d", example("pair"), example("pair"), example("pair"), prove.UsualSamples),
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		done := d.progress("running the brake test of " + c.String())
		p, err := prove.Prove(c, r, trial.Conditions{})
		done()
		if err != nil {
			return unproved(err)
		}
		if err := d.study(p, sp); err != nil {
			return err
		}
		if form != "" {
			if err := writeForm(form, p); err != nil {
				return err
			}
		}
		if err := d.show(web.Values(c, p, nil, r), card.Sheet(c, p, r, d.u())); err != nil {
			return err
		}
		return status(p)
	})
	cmd.Flags().StringVar(&form, "form", "", "also write a file to fill in with what is read, for judge; one that is there is never written over")
	sp.flags(cmd)
	return cmd
}

func (d *door) demo() *cobra.Command {
	var page bool
	cmd := &cobra.Command{
		Use: "demo", Args: cobra.NoArgs,
		Short:   "set-up card and brake test of the demo railway's example consist",
		Example: "  headstock demo\n  headstock demo --units imperial\n  headstock demo --page",
		RunE: func(cmd *cobra.Command, _ []string) error {
			c, r, err := d.consist(example("main"), nil, "")
			if err != nil {
				return err
			}
			done := d.progress("proving " + c.String())
			ck, err := setup.Check(c, r, trial.Conditions{})
			done()
			if err != nil {
				return unproved(err)
			}
			if err := d.printAll([]*card.Document{card.Coupling(c, ck, r, d.u()), card.Sheet(c, ck.Proof, r, d.u())}); err != nil {
				return err
			}
			if page {
				return errors.Join(d.shown(cmd.Context()), status(ck.Proof))
			}
			return status(ck.Proof)
		},
	}
	cmd.Flags().BoolVar(&page, "page", false, "then the same on a page: served until Ctrl-C on a terminal; elsewhere it is said how")
	return cmd
}

// shown serves the pages after the demo where somebody is there to stop it, and elsewhere
// says how.
func (d *door) shown(ctx context.Context) error {
	where := "\nThe same on a page: "
	if !d.terminal {
		fmt.Fprintf(d.out, "%sheadstock serve (make serve), then http://%s/\n", where, usualAddr)
		return nil
	}
	fmt.Fprint(d.out, where)
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM)
	defer stop()
	return d.serveUntil(ctx, server{addr: usualAddr})
}

// progress says on standard error, on a terminal only, what is being done.
func (d *door) progress(what string) func() {
	if !d.colour {
		return func() {}
	}
	fmt.Fprintf(d.err, "%s …\n", what)
	return func() {}
}
