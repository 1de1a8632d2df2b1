package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/haul"
	"headstock/internal/reading"
	"headstock/line"
	"headstock/quantity"
	"headstock/rule"
	"headstock/trial"
	"headstock/web"
)

// measure reads a flag that is a quantity of one kind.
func quantityFlag(flag, text string, kind quantity.Kind) (float64, error) {
	v, err := quantity.Parse(text)
	if err != nil || v.Kind != kind {
		unit := kind.Example()
		if kind == quantity.Length {
			unit = "m or mm"
		}
		return 0, bad("--%s %q; expected a %s in a unit such as %s", flag, reading.Short(text), kind, unit)
	}
	return v.SI, nil
}

// speedFlag reads a speed that a train can have, m/s.
func speedFlag(flag, text string) (float64, error) {
	v, err := quantityFlag(flag, text, quantity.Speed)
	if err == nil && !(v > 0 && v <= 60) {
		err = bad("--%s %q; expected a speed above 0 and up to 216 km/h", flag, reading.Short(text))
	}
	return v, err
}

// forceFlag reads a force that can only hinder, N.
func forceFlag(flag, text string) (float64, error) {
	v, err := quantityFlag(flag, text, quantity.Force)
	if err == nil && !(v >= 0 && v <= 1e7) {
		err = bad("--%s %q; expected a force from 0 to 10000 kN", flag, reading.Short(text))
	}
	return v, err
}

// gradeFlag reads a grade, above 0 where it falls ahead of the train: "1 in 45", "1 in 100
// rising", "2.2 %", "level".
func gradeFlag(text string) (float64, error) {
	t := strings.TrimSpace(strings.ToLower(text))
	if t == "level" {
		return 0, nil
	}
	sign := 1.0
	if s, ok := strings.CutSuffix(t, "rising"); ok {
		t, sign = strings.TrimSpace(s), -1
	} else if s, ok := strings.CutSuffix(t, "falling"); ok {
		t = strings.TrimSpace(s)
	}
	v, ok := line.Slope(t)
	if !ok {
		return 0, bad("--grade %q; expected level, or a falling grade such as '1 in 45' or '2.2 %%', with the word rising where it rises", reading.Short(text))
	}
	if v > 0.1 {
		return 0, bad("--grade %q; expected at most 10 %%, which is 1 in 10", reading.Short(text))
	}
	return sign * v, nil
}

// railFlag reads the state of the rail.
func railFlag(text string) (haul.Rail, error) {
	var words []string
	for _, r := range haul.Rails() {
		words = append(words, string(r))
		if string(r) == text {
			return r, nil
		}
	}
	return "", bad("--rail %q; expected one of %s%s", reading.Short(text), strings.Join(words, ", "), reading.Hint(text, words))
}

// travelled lays measured piston travels over a consist: "HX 204=230 mm".
func travelled(c *consist.Consist, travels []string) (*consist.Consist, error) {
	var over []consist.OffRecord
	for _, t := range travels {
		who, what, ok := strings.Cut(t, "=")
		if !ok {
			return nil, bad("--travel %q; expected a vehicle and its travel, such as '%s'", reading.Short(t), example("long travel"))
		}
		i, err := c.Find(strings.TrimSpace(who))
		if err != nil {
			return nil, exit{2, err.Error()}
		}
		v, err := quantityFlag("travel", strings.TrimSpace(what), quantity.Length)
		if err != nil {
			return nil, err
		}
		if v <= 0 || v > 1 {
			return nil, bad("--travel %q; expected a travel above 0 and up to 1 m", reading.Short(t))
		}
		for _, e := range c.Vehicles[i].Class.Air {
			if e.Kind == "cylinder" {
				over = append(over, consist.OffRecord{Vehicle: i, Element: e.ID, Argument: "travel", SI: v})
			}
		}
	}
	if len(over) == 0 {
		return c, nil
	}
	return c.WithFigures(over...)
}

// unmoved is the error of an answer on a moving or standing train that could not be made.
func unmoved(err error) error {
	var lacks *haul.CannotSay
	if errors.As(err, &lacks) {
		return exit{3, err.Error()}
	}
	var lead *haul.NotLed
	if errors.As(err, &lead) {
		return exit{2, err.Error()}
	}
	return unproved(err)
}

// hauled prints an answer of haul: its values as JSON, or the document.
func (d *door) hauled(c *consist.Consist, r *rule.Rules, values any, doc *card.Document) error {
	if d.json {
		if err := d.printer.print(doc); err != nil {
			return err
		}
		return d.printJSON(struct {
			Caution string       `json:"caution"`
			Answer  any          `json:"answer"`
			Records []web.Record `json:"records"`
			Rules   string       `json:"rules"`
		}{card.Caution, values, web.Records(c), r.Title})
	}
	return d.print(doc)
}

func (d *door) stop() *cobra.Command {
	var speed, grade, rail, reaction string
	var travels []string
	var emergency bool
	var samples int
	var seed uint64
	cmd := d.onConsist(&cobra.Command{
		Use:   "stop CONSIST",
		Short: "in what distance does this train stop, from which speed, on which grade, and what limits it?",
		Example: fmt.Sprintf("  headstock stop '%s' --from-speed '40 km/h' --grade '1 in 45' --emergency\n  headstock stop '%s' --from-speed '25 km/h' --set '%s' --travel '%s'",
			example("main"), example("main"), example("cut wagon"), example("long travel")),
		Long: "Charges the train by the trial, makes the application, and carries the train on from the pressure in every cylinder. Isolated vehicles, wrong cocks and long travels (--set, --travel) " +
			"are run like anything else.\n\nExit status: 0 it stops, 1 it does not, 2 bad input, 3 cannot say.",
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		q := haul.StopAsk{Emergency: emergency, Samples: samples, Seed: seed}
		var err error
		if q.Speed, err = speedFlag("from-speed", speed); err != nil {
			return err
		}
		if q.Falling, err = gradeFlag(grade); err != nil {
			return err
		}
		if q.Rail, err = railFlag(rail); err != nil {
			return err
		}
		if q.Reaction, err = quantityFlag("reaction", reaction, quantity.Time); err != nil {
			return err
		}
		if !(q.Reaction >= 0 && q.Reaction <= 600) {
			return bad("--reaction %q; expected a time from 0 to 600 s", reading.Short(reaction))
		}
		if samples < 0 || samples > 1e6 {
			return bad("--samples %d; expected 0 to 1000000", samples)
		}
		if c, err = travelled(c, travels); err != nil {
			return err
		}
		done := d.progress("charging " + c.String() + " and applying its brake")
		a, err := haul.Stop(c, r, q, trial.Conditions{})
		done()
		if err != nil {
			return unmoved(err)
		}
		if err := d.hauled(c, r, a, card.Stop(c, a, r, d.u())); err != nil {
			return err
		}
		if !a.Stops || len(a.Uncharged) > 0 {
			return exit{code: 1}
		}
		return nil
	})
	f := cmd.Flags()
	f.StringVar(&speed, "from-speed", "40 km/h", "speed from which it stops")
	f.StringVar(&grade, "grade", "level", "grade, falling unless it says rising: level, 1 in 45, 2.2 %")
	f.StringVar(&rail, "rail", "dry", "dry, wet or greasy")
	f.StringVar(&reaction, "reaction", "3 s", "time from what is seen until the handle is moved")
	f.BoolVar(&emergency, "emergency", false, "emergency instead of a full service application")
	f.StringArrayVar(&travels, "travel", nil, "a piston travel as measured: vehicle=length (repeat)")
	f.IntVar(&samples, "samples", 0, "so many stops drawn within the usual spread of friction and mass")
	f.Uint64Var(&seed, "seed", 1, "what the draw hangs on")
	return cmd
}
