package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"headstock/calendar"
	"headstock/calibrate"
	"headstock/card"
	"headstock/consist"
	"headstock/internal/reading"
	"headstock/logbook"
	"headstock/prove"
	"headstock/quantity"
	"headstock/trial"
	"headstock/web"
)

func (d *door) calibrate() *cobra.Command {
	var in, proc, file, setUp, step, errText, on, out string
	var changes, fit, hold []string
	cmd := &cobra.Command{
		Use: "calibrate UNIT CURVES...",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) < 2 {
				return bad("expected headstock calibrate UNIT CURVES..., found %s; a unit stands in quotes: headstock calibrate '%s' curves.csv --procedure leakage", counted(len(args), "word"), example("unit"))
			}
			return nil
		},
		Short: "fit chokes, leaks and piston travel of one unit to measured curves, and say what they cannot tell",
		Long: "The curves are CSV, one pressure a row,\n\n" +
			"  time s, place, pressure kPa\n" +
			"  0.5, brake-pipe, 498.2\n\n" +
			"or with a column for each place, as run --curves writes them. A place is an air element of the unit or the gauge that reads it; of\n" +
			"another unit with its name before it. Pressures are gauge, with the unit in the head or in the cell. Times are seconds from the\n" +
			"beginning of the procedure, or of the step that a column step or --step names; a row of a step without a time was read at its end.\n\n" +
			"The procedure is the one that was gone through when the curves were taken, from an empty train. Without --fit, the figures that are\n" +
			"fitted are the chokes with a written spread, every leak and every piston travel. Bounds are the written spreads; where there is\n" +
			"none, " + calibrate.Bounds + "; or those given with --fit.\n\n" +
			"What is told goes out as lines for units.yaml (--overlay writes them to a file). Exit status 3: no figure is told, or the curves are\n" +
			"not met.",
		Example: fmt.Sprintf("  headstock calibrate '%s' curves.csv --procedure 'service and release' --step reduction\n"+
			"  headstock calibrate '%s' curves.csv --procedure leakage --fit 'brake-pipe-leak.bore = 0.05 mm .. 0.6 mm' --error '0.5 kPa' --overlay lines.yaml",
			example("unit"), example("unit")),
		RunE: func(cmd *cobra.Command, args []string) error {
			if (proc == "") == (file == "") {
				return bad("expected --procedure or --file, to say what was done while the curves were taken; procedures are %s", strings.Join(prove.Procedures(), ", "))
			}
			f, _, err := d.read()
			if err != nil {
				return err
			}
			u, class, err := logbook.Unit(f, args[0])
			if err != nil {
				return exit{2, err.Error()}
			}
			if in == "" {
				in = u.Name() + " alone"
				if class.Kind != "locomotive" {
					return bad("%s leads no train; expected --consist, the train in which its curves were taken", u.Name())
				}
			}
			c, r, err := d.consist(in, changes, setUp)
			if err != nil {
				return err
			}
			unit := slices.IndexFunc(c.Vehicles, func(v *consist.Vehicle) bool { return v.Name() == u.Name() })
			if unit < 0 {
				return bad("%s is not in %s; expected a consist with it", u.Name(), c)
			}
			var p trial.Procedure
			if file != "" {
				p, err = procedureFile(file)
			} else {
				p, err = prove.Procedure(c, r, proc)
			}
			if err != nil {
				return err
			}
			if ms := trial.Sealed(c, p); len(ms) > 0 {
				m := ms[0]
				return bad("%s: step %q would move %s (%s) of %s, which must not be moved", p.Name, m.Step, m.Device.Name, m.Device.ID, c.Vehicles[m.Vehicle].Name())
			}
			if steps := stepIDs(p); step != "" && !slices.Contains(steps, step) {
				return bad("%s has no step %q; expected one of %s%s", p.Name, reading.Short(step), strings.Join(steps, ", "), reading.Hint(step, steps))
			}
			q := calibrate.Inquiry{Consist: c, Unit: unit, Procedure: p}
			if errText != "" {
				v, err := quantity.Parse(errText)
				if err != nil || v.Kind != quantity.Pressure || v.SI <= 0 {
					return bad("--error wants the standard error of a pressure, such as '0.5 kPa', found %q", reading.Short(errText))
				}
				q.Error = v.SI
			}
			day := calendar.On(time.Now())
			if on != "" {
				if day, err = calendar.Parse(on); err != nil {
					return bad("--date: %v", err)
				}
			}
			var names []string
			for _, name := range args[1:] {
				b, err := readFile(name)
				if err != nil {
					return err
				}
				s, err := calibrate.Read(c, unit, name, b, step)
				if err != nil {
					return exit{2, err.Error()}
				}
				q.Samples = append(q.Samples, s...)
				names = append(names, filepath.Base(name))
			}
			if err := figures(&q, fit, hold); err != nil {
				return err
			}
			done := d.progress("fitting " + counted(len(q.Parameters), "figure") + " of " + u.Name())
			answer, err := q.Run()
			done()
			var malformed *calibrate.Malformed
			switch {
			case errors.As(err, &malformed):
				return exit{2, err.Error()}
			case err != nil:
				return unproved(err)
			}
			overlay := answer.Overlay(day.String(), strings.Join(names, ", "))
			if out != "" && overlay != "" {
				if err := writeNew(out, []byte("# "+card.Caution+"\n"+overlay)); err != nil {
					return err
				}
			}
			if d.json {
				err = d.printJSON(struct {
					Caution string         `json:"caution"`
					Fit     *calibrate.Fit `json:"fit"`
					Overlay string         `json:"overlay"`
					Records []web.Record   `json:"records"`
				}{card.Caution, answer, overlay, web.Records(c)})
			} else {
				err = d.print(card.Calibration(c, unit, answer, overlay, d.u()))
			}
			if err != nil {
				return err
			}
			if overlay == "" || !answer.Met {
				return exit{code: 3}
			}
			return nil
		},
	}
	f := cmd.Flags()
	f.StringVar(&in, "consist", "", "the consist in which the curves were taken; absent: the unit by itself, leading")
	f.StringVar(&proc, "procedure", "", "what was done: "+strings.Join(prove.Procedures(), ", "))
	f.StringVar(&file, "file", "", "what was done, as a procedure of your own in the form that run --json prints")
	f.StringVar(&step, "step", "", "the step at whose beginning the times are 0; absent: the beginning of the procedure")
	f.StringArrayVar(&fit, "fit", nil, "a figure to fit: 'element.argument', or 'element.argument = 1 mm .. 2 mm' with its bounds (repeat)")
	f.StringArrayVar(&hold, "hold", nil, "a figure that is known to be as written: 'element.argument' (repeat)")
	f.StringVar(&errText, "error", "", "standard error of a measured pressure, '0.5 kPa'; absent: what the fit leaves")
	f.StringVar(&on, "date", "", "the day on which the curves were taken, 2026-10-03; absent: today")
	f.StringVar(&out, "overlay", "", "file for the lines of units.yaml; one that is there is never written over")
	f.StringArrayVar(&changes, "set", nil, "a device as it stood: unit.device=position (repeat)")
	f.StringVar(&setUp, "set-up", "", "file of such lines")
	return cmd
}

func stepIDs(p trial.Procedure) []string {
	var out []string
	for _, s := range p.Steps {
		out = append(out, s.ID)
	}
	return out
}

// figures are those that are asked for, or the usual ones, but those that are known.
func figures(q *calibrate.Inquiry, fit, hold []string) error {
	q.Parameters = calibrate.Usual(q.Consist, q.Unit)
	if len(fit) > 0 {
		q.Parameters = nil
	}
	for _, text := range fit {
		p, err := calibrate.Named(q.Consist, q.Unit, text)
		if err != nil {
			return bad("--fit: %v", err)
		}
		if slices.ContainsFunc(q.Parameters, func(o calibrate.Parameter) bool { return o.Name() == p.Name() }) {
			return bad("--fit: %s is asked for twice", p.Name())
		}
		q.Parameters = append(q.Parameters, p)
	}
	for _, text := range hold {
		p, err := calibrate.Named(q.Consist, q.Unit, text)
		if err != nil {
			return bad("--hold: %v", err)
		}
		q.Known = append(q.Known, p)
		q.Parameters = slices.DeleteFunc(q.Parameters, func(o calibrate.Parameter) bool { return o.Name() == p.Name() })
	}
	if len(q.Parameters) == 0 {
		return bad("no figure is left to fit; expected one named with --fit, as %s has no choke with a written spread, leak or cylinder", q.Consist.Vehicles[q.Unit].Name())
	}
	return nil
}
