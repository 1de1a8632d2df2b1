package main

import (
	"fmt"
	"io/fs"
	"slices"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/haul"
	"headstock/internal/reading"
	"headstock/line"
	"headstock/quantity"
	"headstock/rule"
	"headstock/trial"
)

// legs cuts the way between two places of a line where its gradients and places lie.
func (d *door) legs(w way) ([]haul.Leg, error) {
	if w.from == "" || w.to == "" {
		return nil, bad("a way down wants both --from PLACE and --to PLACE, or --grade and --length")
	}
	if w.file == "" {
		w.file = lineFile
	}
	if _, err := fs.Stat(d.files(), w.file); err != nil {
		return nil, exit{3, "cannot say: needs a line file, " + w.file + ", in the railway's folder"}
	}
	l, cs := line.Read(d.files(), w.file)
	if len(cs) > 0 {
		d.complain(cs)
		return nil, exit{2, counted(len(cs), "complaint") + " about the line"}
	}
	return haul.Way(l, w.from, w.to)
}

func (d *door) descend() *cobra.Command {
	var speed, down, grade, length, rail, against string
	var travels []string
	var w way
	cmd := d.onConsist(&cobra.Command{
		Use:   "descend CONSIST",
		Short: "how does this train come down a grade without dynamic brake: speed, heat, releases, retainers, cooling?",
		Example: fmt.Sprintf("  headstock descend '%s' --grade '1 in 45' --length '9 km'\n  headstock descend '%s' --from Quernhill --to 'Ruddle Loop' --speed '20 km/h'",
			example("main"), example("main")),
		Long: "Runs deeper and deeper reductions of this consist, and an application with its release, and from them says what balances the grade, how hot the wheels become, and whether a release can be " +
			"charged again before the speed is lost.\n\nExit status: 0 it can be held, 1 it cannot, 2 bad input, 3 cannot say.",
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		q := haul.DescendAsk{Load: true}
		var err error
		switch {
		case w != (way{}) && grade != "":
			return bad("--grade and --from both say the way; expected one of them")
		case w != (way{}):
			if q.Legs, err = d.legs(w); err != nil {
				return err
			}
			if !slices.ContainsFunc(q.Legs, func(l haul.Leg) bool { return l.Falling > 0 }) {
				return bad("nothing falls from %s to %s", w.from, w.to)
			}
		default:
			if grade == "" {
				return bad("descend wants --grade and --length, or --from and --to")
			}
			g, err := gradeFlag(grade)
			if err != nil {
				return err
			}
			m, err := quantityFlag("length", length, quantity.Length)
			if err != nil {
				return err
			}
			if g <= 0 {
				return bad("--grade %q; expected a grade that falls, such as '1 in 45'", reading.Short(grade))
			}
			if !(m > 0 && m <= 1e6) {
				return bad("--length %q; expected a length above 0 and up to 1000 km", reading.Short(length))
			}
			q.Legs = []haul.Leg{{Length: m, Falling: g}}
		}
		for _, x := range []struct {
			flag, text string
			to         *float64
			kind       quantity.Kind
		}{{"speed", speed, &q.Speed, quantity.Speed}, {"down-to", down, &q.Down, quantity.Speed}, {"against", against, &q.Outside, quantity.Force}} {
			if x.text == "" {
				continue
			}
			read := forceFlag
			if x.kind == quantity.Speed {
				read = speedFlag
			}
			if *x.to, err = read(x.flag, x.text); err != nil {
				return err
			}
			if x.kind == quantity.Speed && *x.to < 0.1 {
				return bad("--%s %q; expected a speed from 0.36 to 216 km/h", x.flag, reading.Short(x.text))
			}
		}
		if q.Rail, err = railFlag(rail); err != nil {
			return err
		}
		if c, err = travelled(c, travels); err != nil {
			return err
		}
		done := d.progress("charging " + c.String() + ", applying and releasing it")
		a, err := haul.Descend(c, r, q, trial.Conditions{})
		done()
		if err != nil {
			return unmoved(err)
		}
		if err := d.hauled(c, r, a, card.Descend(c, a, r, d.u())); err != nil {
			return err
		}
		if !a.Safe {
			return exit{code: 1}
		}
		return nil
	})
	f := cmd.Flags()
	f.StringVar(&grade, "grade", "", "falling grade, with --length: 1 in 45, 2.2 %")
	f.StringVar(&length, "length", "5 km", "length of the grade")
	f.StringVar(&speed, "speed", "", "speed at which it is to be held; absent: the greatest that is safe")
	f.StringVar(&down, "down-to", "", "speed at which a brake is let off; absent: three fifths of the speed")
	f.StringVar(&rail, "rail", "dry", "dry, wet or greasy")
	f.StringVar(&against, "against", "", "a further force that holds the train back, such as '50 kN'")
	f.StringArrayVar(&travels, "travel", nil, "a piston travel as measured: vehicle=length (repeat)")
	w.flags(cmd)
	return cmd
}
