package main

import (
	"errors"
	"fmt"
	"io/fs"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/line"
	"headstock/prepare"
	"headstock/rule"
	"headstock/web"
)

// lineFile is the line file of a railway that names no other.
const lineFile = "line.yaml"

// way is where a consist runs: a line file of the railway's folder and two places.
type way struct{ file, from, to string }

func (w *way) flags(c *cobra.Command) {
	c.Flags().StringVar(&w.from, "from", "", "place of the line where the consist starts")
	c.Flags().StringVar(&w.to, "to", "", "place of the line where it ends")
	c.Flags().StringVar(&w.file, "line", "", "line file in the railway's folder (line.yaml)")
}

// over holds a consist against a way; nil when none was asked for.
func (d *door) over(c *consist.Consist, r *rule.Rules, w way) (*prepare.RouteAnswer, error) {
	if w == (way{}) {
		return nil, nil
	}
	if w.from == "" || w.to == "" {
		return nil, bad("a route wants both --from PLACE and --to PLACE")
	}
	if w.file == "" {
		w.file = lineFile
	}
	if _, err := fs.Stat(d.files(), w.file); err != nil {
		if w.file == lineFile {
			return nil, exit{3, "cannot say: needs a line file, line.yaml, in the railway's folder"}
		}
		return nil, bad("no line file %q in the railway's folder", w.file)
	}
	l, cs := line.Read(d.files(), w.file)
	if len(cs) > 0 {
		d.complain(cs)
		return nil, exit{2, counted(len(cs), "complaint") + " about the line"}
	}
	a, err := prepare.Route(c, l, w.from, w.to, r)
	if err != nil {
		return nil, exit{2, err.Error()}
	}
	return a, nil
}

// routeStatus is the exit status of a route; none is 0.
func routeStatus(a *prepare.RouteAnswer) error {
	switch {
	case a == nil || a.Fit == prepare.Fits:
		return nil
	case a.Fit == prepare.DoesNot:
		return exit{code: 1}
	}
	return exit{code: 3}
}

// worse is the worse of two statuses: does not, before cannot say, before works.
func worse(a, b error) error {
	var x, y exit
	if !errors.As(a, &x) {
		return b
	}
	if errors.As(b, &y) && y.code == 1 {
		return b
	}
	return a
}

func (d *door) route() *cobra.Command {
	var w way
	c := d.onConsist(&cobra.Command{
		Use:     "route CONSIST",
		Short:   "does this consist fit the line: axle loads, curves, couplers, and where each vehicle may stand",
		Example: fmt.Sprintf("  headstock route '%s' %s", example("main"), example("way")),
		Long:    "Holds every vehicle of a consist against the sections of a line and every joint against its sharpest curve, and the order of the train against the rules of placing.\n\nExit status: 0 fits, 1 does not fit, 2 bad input, 3 cannot say.",
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		if w.from == "" || w.to == "" {
			return bad("route wants --from PLACE and --to PLACE")
		}
		a, err := d.over(c, r, w)
		if err != nil {
			return err
		}
		if d.json {
			if err := d.printJSON(struct {
				Caution string `json:"caution"`
				*prepare.RouteAnswer
				Records []web.Record `json:"records"`
				Rules   string       `json:"rules"`
			}{card.Caution, a, web.Records(c), r.Title}); err != nil {
				return err
			}
		} else {
			doc := card.Route(c.Fleet.Railway, a, r, d.u())
			if c.HasDraft() {
				doc.Banner = "DRAFT – NOT FOR USE"
			}
			if err := d.print(doc); err != nil {
				return err
			}
		}
		return routeStatus(a)
	})
	w.flags(c)
	return c
}
