package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/haul"
	"headstock/internal/drawing"
	"headstock/internal/reading"
	"headstock/line"
	"headstock/motion"
	"headstock/quantity"
	"headstock/rule"
	"headstock/trial"
)

// pullingRails reads states of the rail; none is the usual three.
func pullingRails(names []string) ([]motion.Rail, error) {
	if len(names) == 0 {
		names = []string{"dry sanded", "dry", "wet"}
	}
	var out []motion.Rail
	for _, n := range names {
		r, ok := motion.RailNamed(n)
		if !ok {
			return nil, bad("--rail %q; expected one of %s%s", reading.Short(n), strings.Join(motion.RailNames(), ", "), reading.Hint(n, motion.RailNames()))
		}
		out = append(out, r)
	}
	return out, nil
}

// readLine reads the line file of a way.
func (d *door) readLine(w way) (*line.Line, error) {
	if w.file == "" {
		w.file = lineFile
	}
	if err := d.there(); err != nil {
		return nil, err
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
	return l, nil
}

// hauls is the error of an answer of haul on a line.
func hauls(err error) error {
	var lacks *haul.CannotSay
	if errors.As(err, &lacks) {
		return exit{3, err.Error()}
	}
	return exit{2, err.Error()}
}

// picture writes a drawing where one was asked for.
func picture(name string, draw *drawing.Drawing) error {
	if name == "" {
		return nil
	}
	var b bytes.Buffer
	if err := drawing.Page(&b, draw); err != nil {
		return err
	}
	if err := writeFile(name, b.Bytes(), 0o644); err != nil {
		return exit{2, err.Error()}
	}
	return nil
}

// air is the height and the heat that an engine breathes.
type breathes struct{ height, heat string }

func (b *breathes) flags(c *cobra.Command) {
	c.Flags().StringVar(&b.height, "height", "", "height above the sea at which the engines work (where a line is named, its highest point)")
	c.Flags().StringVar(&b.heat, "temperature", "15 °C", "temperature of the air that the engines breathe")
}

func (b *breathes) read() (haul.Weather, error) {
	w := haul.Weather{}
	var err error
	if w.Air, err = quantityFlag("temperature", b.heat, quantity.Temperature); err != nil {
		return w, err
	}
	if w.Air < 200 || w.Air > 340 {
		return w, bad("--temperature %q; expected a temperature of the air between -70 and 65 °C", b.heat)
	}
	if b.height != "" {
		if w.Height, err = quantityFlag("height", b.height, quantity.Length); err != nil {
			return w, err
		}
		if w.Height < -500 || w.Height > 6000 {
			return w, bad("--height %q; expected between -500 and 6000 m", b.height)
		}
	}
	return w, nil
}

// usualGrades are those of a load table for which none is named, one in so many.
func usualGrades() []float64 { return []float64{400, 250, 200, 150, 120, 100, 80, 66, 55, 50, 45, 40} }

func (d *door) load() *cobra.Command {
	var w way
	var air breathes
	var grades, rails []string
	var curve, loop, slowest, within, length string
	var down bool
	c := d.onConsist(&cobra.Command{
		Use:   "load CONSIST",
		Short: "what may this consist take up a grade or over a line, and which limit holds it?",
		Example: fmt.Sprintf("  headstock load '%s'\n  headstock load '%s' --grade '1 in 45' --curve '140 m' --down\n  headstock load '%s' %s --rail wet",
			example("main"), example("main"), example("main"), example("way")),
		Long: "Reckons how many wagons like those of the consist may be taken: the least of running at the continuous rating, starting, drawgear, loop length and securing on hand brakes; with --down of coming down and with --within of stopping as well, each also with the brake of one bogie cut out, the one that costs most. Units in the consist that give no power are load; motors cut out (--set) are out.\n\nExit status: 0 its wagons may be taken everywhere, 1 not everywhere, 2 bad input, 3 cannot say.",
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		t := haul.Of(c)
		a := haul.Ask{}
		var err error
		if a.Rails, err = pullingRails(rails); err != nil {
			return err
		}
		if a.Weather, err = air.read(); err != nil {
			return err
		}
		if slowest != "" {
			if a.Slowest, err = quantityFlag("slowest", slowest, quantity.Speed); err != nil {
				return err
			}
			if a.Slowest <= 0 {
				return bad("--slowest %q; expected a speed above 0", slowest)
			}
		}
		var radius, room, far float64
		for _, f := range []struct {
			flag, text string
			to         *float64
		}{{"curve", curve, &radius}, {"loop", loop, &room}, {"within", within, &far}} {
			if f.text == "" {
				continue
			}
			if *f.to, err = quantityFlag(f.flag, f.text, quantity.Length); err != nil {
				return err
			}
			if *f.to <= 0 {
				return bad("--%s %q; expected a length above 0", f.flag, f.text)
			}
		}
		switch {
		case w.from != "" || w.to != "":
			if w.from == "" || w.to == "" {
				return bad("a line wants both --from PLACE and --to PLACE")
			}
			if len(grades) > 0 {
				return bad("--grade and --from both say where; expected one of them")
			}
			l, err := d.readLine(w)
			if err != nil {
				return err
			}
			if a.Places, err = haul.Spots(l, w.from, w.to, motion.CurveFormFor(t.Gauge)); err != nil {
				return hauls(err)
			}
			if a.Weather.Height == 0 {
				if _, _, a.Weather.Height, err = haul.PathOf(l, w.from, w.to); err != nil {
					return hauls(err)
				}
			}
		case len(grades) > 0:
			for _, g := range grades {
				s, ok := line.Slope(strings.TrimSpace(g))
				if !ok {
					return bad("--grade %q; expected a grade such as '1 in 45' or '2.2 %%'", reading.Short(g))
				}
				a.Places = append(a.Places, haul.Spot{Slope: s, Radius: radius})
			}
		default:
			for _, n := range usualGrades() {
				a.Places = append(a.Places, haul.Spot{Slope: 1 / n, Radius: radius})
			}
		}
		for i := range a.Places {
			if room > 0 {
				a.Places[i].Loop = room
			}
		}
		q := haul.Braked{Rail: haul.BrakingRail(a.Rails[0]), Down: down, Within: far}
		if q.Length, err = quantityFlag("length", length, quantity.Length); err != nil {
			return err
		}
		done := d.progress("reckoning loads of " + c.String())
		a.Brake(c, r, q, trial.Conditions{})
		l, err := t.Load(a)
		done()
		if err != nil {
			return hauls(err)
		}
		if err := d.hauled(c, r, l, card.LoadTable(l, d.u())); err != nil {
			return err
		}
		for _, e := range l.Entries {
			if !e.Takes {
				return exit{code: 1}
			}
		}
		return nil
	})
	w.flags(c)
	air.flags(c)
	f := c.Flags()
	f.StringArrayVar(&grades, "grade", nil, "a grade to be climbed, such as '1 in 45' (repeat); without one, a table of usual grades")
	f.StringVar(&curve, "curve", "", "radius of a curve on the grade")
	f.StringVar(&loop, "loop", "", "length of the loop in which the train must stand")
	f.StringArrayVar(&rails, "rail", nil, "state of the rail (repeat): "+strings.Join(motion.RailNames(), ", ")+"; without one, dry sanded, dry and wet")
	f.StringVar(&slowest, "slowest", "", "lowest speed to be held on the grade; without it, the continuous rating")
	f.BoolVar(&down, "down", false, "examine as well how it comes down the same grade (runs the air)")
	f.StringVar(&length, "length", "5 km", "length of the grade, for coming down")
	f.StringVar(&within, "within", "", "distance in which it must stop coming down the grade at the speed limit of the line (runs the air)")
	return c
}

func (d *door) pull() *cobra.Command {
	var air breathes
	var rails []string
	var svg, who string
	c := d.onConsist(&cobra.Command{
		Use:     "pull CONSIST",
		Short:   "what does a locomotive pull at each speed, and what does its ammeter show against what its motors carry?",
		Example: fmt.Sprintf("  headstock pull '%s'\n  headstock pull '%s' --unit '%s' --svg pull.svg", example("main"), example("pair"), example("unit")),
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		at, _ := c.Lead()
		if who != "" {
			i, err := c.Find(who)
			if err != nil {
				return exit{2, err.Error()}
			}
			at = i
		}
		if at < 0 {
			return bad("no unit of this consist leads; name one with --unit")
		}
		rs, err := pullingRails(rails)
		if err != nil {
			return err
		}
		weather, err := air.read()
		if err != nil {
			return err
		}
		e, err := haul.EngineOf(c, at, weather)
		if err != nil {
			return hauls(err)
		}
		rows, err := e.PullTable()
		if err != nil {
			return hauls(&haul.CannotSay{Needs: []string{err.Error()}})
		}
		if err := picture(svg, card.PullChart(e, rs, d.u()).Draw()); err != nil {
			return err
		}
		slips, _ := e.Slipping(rs[0].Adhesion, c.Vehicles[at].Reversed)
		return d.hauled(c, r, struct {
			Engine *haul.Engine   `json:"engine"`
			Rows   []haul.PullRow `json:"rows"`
			Slips  []motion.Slip  `json:"slips"`
		}{e, rows, slips}, card.Pulls(c.Fleet.Railway, e, rows, rs, c.Vehicles[at].Reversed, haul.Of(c), d.u()))
	})
	air.flags(c)
	c.Flags().StringArrayVar(&rails, "rail", nil, "state of the rail (repeat): "+strings.Join(motion.RailNames(), ", "))
	c.Flags().StringVar(&who, "unit", "", "locomotive of the consist; without it, the one that leads")
	c.Flags().StringVar(&svg, "svg", "", "also write the effort over the speed as an SVG file")
	return c
}

func (d *door) moveOff() *cobra.Command {
	var air breathes
	var grade, rail, curve string
	c := d.onConsist(&cobra.Command{
		Use:     "move-off CONSIST",
		Short:   "can this train start here, and does it run back between release and pull?",
		Example: fmt.Sprintf("  headstock move-off '%s' --grade '1 in 45'\n  headstock move-off '%s' --grade '1 in 45' --curve '140 m' --rail wet", example("main"), example("main")),
		Long: "Holds the pull at a stand against grade, curve and resistance, and runs the release of the train's brake from a full service application: once with every brake let off and once with the " +
			"locomotive brake left on.\n\nExit status: 0 it starts, 1 it does not or does not stand on its air brake, 2 bad input, 3 cannot say.",
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		q := haul.MoveOffAsk{}
		falling, err := gradeFlag(grade)
		if err != nil {
			return err
		}
		// at a start the grade ahead is meant: rising unless it says falling
		q.Rising = falling
		if strings.HasSuffix(strings.TrimSpace(strings.ToLower(grade)), "falling") {
			q.Rising = -falling
		} else if falling < 0 {
			q.Rising = -falling
		}
		rs, err := pullingRails([]string{rail})
		if err != nil {
			return err
		}
		q.Rail = rs[0]
		if q.Weather, err = air.read(); err != nil {
			return err
		}
		if curve != "" {
			if q.Radius, err = quantityFlag("curve", curve, quantity.Length); err != nil {
				return err
			}
			if q.Radius <= 0 {
				return bad("--curve %q; expected a length above 0", curve)
			}
		}
		done := d.progress("charging " + c.String() + ", applying and releasing it")
		a, err := haul.MoveOff(c, r, q, trial.Conditions{})
		done()
		if err != nil {
			return unmoved(err)
		}
		if err := d.hauled(c, r, a, card.MoveOff(c, a, r, d.u())); err != nil {
			return err
		}
		if !a.Starts || q.Rising > 0 && !a.Holds {
			return exit{code: 1}
		}
		return nil
	})
	air.flags(c)
	f := c.Flags()
	f.StringVar(&grade, "grade", "level", "grade, rising ahead unless it says falling: level, 1 in 45, 2.2 %")
	f.StringVar(&rail, "rail", "dry sanded", "state of the rail: "+strings.Join(motion.RailNames(), ", "))
	f.StringVar(&curve, "curve", "", "radius of a curve under the train")
	return c
}

func (d *door) journey() *cobra.Command {
	var w way
	var air breathes
	var rail, svg, heat, against string
	var hot float64
	var through bool
	c := d.onConsist(&cobra.Command{
		Use:     "journey CONSIST",
		Short:   "how does this consist run over a line: speed, time, pull, fuel, sand, motor heat, and does it stall?",
		Example: fmt.Sprintf("  headstock journey '%s' %s --svg run.svg", example("main"), example("way")),
		Long:    "Runs the train over the line with all the power it has up to the limits, and reckons it twice, in steps of time and of distance.\n\nExit status: 0 it arrives, 1 it stalls, 2 bad input, 3 cannot say.",
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		if w.from == "" || w.to == "" {
			return bad("journey wants --from PLACE and --to PLACE")
		}
		l, err := d.readLine(w)
		if err != nil {
			return err
		}
		j := haul.Journey{Line: l, From: w.from, To: w.to, Through: through, Hot: hot / 100}
		rs, err := pullingRails([]string{rail})
		if err != nil {
			return err
		}
		j.Rail = rs[0]
		if j.Weather, err = air.read(); err != nil {
			return err
		}
		if against != "" {
			if j.Against, err = forceFlag("against", against); err != nil {
				return err
			}
		}
		if !(hot >= 0 && hot <= 200) {
			return bad("--hot %g; expected per cent of the rated rise from 0 to 200", hot)
		}
		ran, err := haul.Of(c).Run(j)
		if err != nil {
			return hauls(err)
		}
		if err := picture(svg, card.JourneyChart(ran, d.u()).Draw()); err != nil {
			return err
		}
		if err := picture(heat, card.HeatChart(ran).Draw()); err != nil {
			return err
		}
		if err := d.hauled(c, r, ran, card.Journey(ran, d.u())); err != nil {
			return err
		}
		if ran.Stalled {
			return exit{code: 1}
		}
		return nil
	})
	w.flags(c)
	air.flags(c)
	f := c.Flags()
	f.StringVar(&rail, "rail", "dry sanded", "state of the rail: "+strings.Join(motion.RailNames(), ", "))
	f.BoolVar(&through, "through", false, "does not stop at the end")
	f.Float64Var(&hot, "hot", 0, "motors at the start, per cent of their rated rise")
	f.StringVar(&against, "against", "", "a further force that holds the train back, such as '5 kN'")
	f.StringVar(&svg, "svg", "", "also write speed, pull and heat over the profile as an SVG file")
	f.StringVar(&heat, "heat-svg", "", "also write the motor heat over time as an SVG file")
	return c
}

func (d *door) runIn() *cobra.Command {
	var speed, grade, rail, svg string
	var emergency, bunched bool
	c := d.onConsist(&cobra.Command{
		Use:     "run-in CONSIST",
		Short:   "what forces does a brake application make between the vehicles, and does any pass what its record allows?",
		Example: fmt.Sprintf("  headstock run-in '%s' --from-speed '40 km/h' --emergency --svg forces.svg", example("main")),
		Long:    "Charges the train by the trial, makes the application, and lets the vehicles run in on their slack and draft gear under the pressure in every cylinder.\n\nExit status: 0 within what the records allow, 1 beyond it, 2 bad input, 3 cannot say.",
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		q := haul.RunInAsk{Emergency: emergency, Bunched: bunched}
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
		done := d.progress("braking " + c.String())
		a, err := haul.RunIn(c, r, q, trial.Conditions{})
		done()
		if err != nil {
			return unmoved(err)
		}
		if err := picture(svg, card.RunInChart(a, d.u()).Draw()); err != nil {
			return err
		}
		if err := d.hauled(c, r, a, card.RunIn(c, a, r, d.u())); err != nil {
			return err
		}
		over, unstated := a.Broken()
		switch {
		case len(over) > 0:
			return exit{code: 1}
		case unstated:
			return exit{code: 3}
		}
		return nil
	})
	f := c.Flags()
	f.StringVar(&speed, "from-speed", "40 km/h", "speed when the handle is moved")
	f.StringVar(&grade, "grade", "level", "falling grade, such as '1 in 45'; with the word rising where it rises")
	f.StringVar(&rail, "rail", "dry", "state of the rail")
	f.BoolVar(&emergency, "emergency", false, "emergency; without it, full service")
	f.BoolVar(&bunched, "bunched", false, "the slack is in at first; without it, the train is stretched")
	f.StringVar(&svg, "svg", "", "also write the forces over time as an SVG file")
	return c
}

func (d *door) profile() *cobra.Command {
	var file string
	c := &cobra.Command{
		Use: "profile", Args: cobra.NoArgs,
		Short:   "the profile of a line as an SVG drawing, or with its tables: heights, places, speed limits and curves",
		Example: "  headstock profile > line.svg\n  headstock profile --pdf line.pdf",
		Long:    "Writes the drawing as SVG; with --pdf, --xlsx, --json or --format the drawing or what it shows as tables.",
		RunE: func(*cobra.Command, []string) error {
			l, err := d.readLine(way{file: file})
			if err != nil {
				return err
			}
			if len(l.Gradients) == 0 || len(l.Places) < 2 {
				return exit{3, "cannot say: needs gradients and two places in the line file"}
			}
			if d.printer.asked() || d.format != "text" || d.json {
				f, _, err := d.read()
				if err != nil {
					return err
				}
				return d.print(card.Profile(f.Railway, l, d.u()))
			}
			return drawing.Page(d.out, card.ProfileChart(l, d.u()).Draw())
		},
	}
	c.Flags().StringVar(&file, "line", "", "line file in the railway's folder (line.yaml)")
	return c
}
