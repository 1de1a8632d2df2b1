package trial

import (
	"fmt"
	"strconv"

	"headstock/consist"
)

// Live is a consist on its bench that somebody works by hand: devices are moved, time goes
// on, readings are taken, in any order. It is the same run as that of a procedure, cut into
// pieces, and what was done can be had as a procedure.
type Live struct {
	bench *Bench
	mark  *Mark // nil: empty, and nothing has been done
	at    *consist.Consist
	steps []Step
	shown []Reading
}

// Live begins with a consist of the bench's units, from empty or from the mark of a run.
func (b *Bench) Live(c *consist.Consist, from *Mark) (*Live, error) {
	l := &Live{bench: b, mark: from, at: c}
	return l, l.run(Step{Read: true})
}

// run goes on by one step.
func (l *Live) run(s Step) error {
	s.ID, s.Read = "live", true
	res, err := l.bench.Run(l.at, Procedure{Name: "by hand", Steps: []Step{s}}, l.mark)
	if err != nil {
		return err
	}
	l.mark, l.shown = &res.Marks[0], res.Readings
	l.at = l.mark.At
	return nil
}

// Do does an act, at once. An act on a device that must not be moved is refused.
func (l *Live) Do(a Act, say string) error {
	if ms := Sealed(l.at, Procedure{Steps: []Step{{Do: []Act{a}}}}); len(ms) > 0 {
		return fmt.Errorf("%s of %s must not be moved", ms[0].Device.Name, l.at.Vehicles[ms[0].Vehicle].Name())
	}
	if err := l.run(Step{Do: []Act{a}}); err != nil {
		return err
	}
	l.steps = append(l.steps, Step{ID: strconv.Itoa(len(l.steps) + 1), Say: say, Do: []Act{a}, Read: true})
	return nil
}

// Advance lets so many seconds go by; none or fewer is nothing. An error is air that the
// run lost; its readings then say nothing.
func (l *Live) Advance(seconds float64) error {
	if !(seconds > 0) {
		return nil
	}
	if err := l.run(Step{For: seconds}); err != nil {
		return err
	}
	if len(l.steps) == 0 {
		l.steps = append(l.steps, Step{ID: "1", Say: "Wait", Read: true})
	}
	l.steps[len(l.steps)-1].For += seconds
	return nil
}

// Readings are what is shown now. An exhaust says whether it blows at this moment; how long
// it has blown is that of the last Advance alone.
func (l *Live) Readings() []Reading { return l.shown }

// Consist is the consist with every device where it stands now.
func (l *Live) Consist() *consist.Consist { return l.at }

// Time is how long the run has been going, s, counted from empty.
func (l *Live) Time() float64 { return l.mark.Time }

// Gauge is the gauge pressure of an air element of a vehicle now, Pa.
func (l *Live) Gauge(vehicle int, element string) (float64, bool) {
	n, ok := l.bench.Plant.Node(vehicle, element)
	if !ok {
		return 0, false
	}
	return l.mark.Run.Gauge(n), true
}

// Clone is another that goes on from here by itself.
func (l *Live) Clone() *Live {
	out := *l
	out.steps = append([]Step(nil), l.steps...)
	return &out
}

// Procedure is what was done since the beginning, with the time that went by after each
// act, as a procedure that can be run again.
func (l *Live) Procedure(name, title string) Procedure {
	return Procedure{Name: name, Title: title, Steps: append([]Step{}, l.steps...)}
}
