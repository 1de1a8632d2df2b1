package card

import (
	"fmt"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
)

// Judged is a sheet of entered readings with what each was held against. The word "tested"
// is only for a sheet with every reading that a rule bounds; before that it says what is
// still missing.
func Judged(p *prove.Proof, js []prove.Judged, cover prove.Coverage, r *rule.Rules, u quantity.Units) *Document {
	c := p.Test.Consist
	d := &Document{Title: "Readings judged: " + c.String(), Subtitle: c.Fleet.Railway}
	count := map[string]int{}
	for _, j := range js {
		count[j.Status]++
	}
	v := &Verdict{}
	switch {
	case count[prove.Outside] > 0:
		v.Mark, v.Text = Bad, numbered(count[prove.Outside])+" outside what the rules allow."
	case count[prove.NoBand] > 0:
		v.Mark, v.Text = Unknown, "Cannot say: "+numbered(count[prove.NoBand])+" of a device that is not there today."
	case count[prove.Unusual] > 0:
		v.Mark, v.Text = Warn, "Inside what the rules allow, but "+numbered(count[prove.Unusual])+" unusual. Look."
	case !cover.Complete():
		v.Mark, v.Text = Warn, "As expected so far."
	default:
		v.Mark, v.Text = Good, "Every reading entered is as expected."
	}
	if cover.Complete() {
		if v.Mark != Unknown {
			v.Text = "Tested: " + strings.ToLower(v.Text[:1]) + v.Text[1:]
		}
		v.Text += fmt.Sprintf(" All %d readings that the rules bound are entered.", cover.Bounded)
	} else {
		is := "are"
		if len(cover.Missing) == 1 {
			is = "is"
		}
		v.Text += fmt.Sprintf(" The test is not complete: %d of the %d readings that the rules bound %s missing.", len(cover.Missing), cover.Bounded, is)
		for k, m := range cover.Missing {
			if k == fewMissing {
				v.Reasons = append(v.Reasons, fmt.Sprintf("and %d more, listed below by step", len(cover.Missing)-k))
				break
			}
			v.Reasons = append(v.Reasons, fmt.Sprintf("missing at step %s: %s, %s", m.Step, m.Unit, m.Name))
		}
	}
	t := Table{Caption: "Readings as entered", Columns: []Column{{Title: "step"}, {Title: "unit"}, {Title: "device"}, {Title: "read", Align: Right}, {Title: "expected"}, {Title: "allowed"}, {Title: "result"}, {Title: "rule"}}}
	g := func(x float64) string { return u.Gauge(quantity.Gauge(x)) }
	for _, j := range js {
		want, allow := j.Says, ""
		if j.Kind == "gauge" {
			want = g(max(0, j.Expected.Low)) + " to " + g(j.Expected.High)
			if j.Allowed != nil {
				allow = band(*j.Allowed, u)
			}
		}
		m := map[string]Mark{prove.Outside: Bad, prove.Unusual: Warn, prove.NoBand: Unknown, prove.AsExpected: Good}[j.Status]
		t.Rows = append(t.Rows, []Cell{Text(j.Step), Text(j.Unit), Text(j.Name), Text(j.Entered.Value), Text(want), Text(allow), Marked(m, j.Status), Text(j.Rule)})
	}
	d.Verdict = v
	d.Table(t)
	d.stillToRead(c, cover)
	spreads(d, p, u, func(x *prove.Spread) bool {
		return slices.ContainsFunc(js, func(j prove.Judged) bool {
			i, err := c.Find(j.Unit)
			dev, ok := c.Device(max(i, 0), j.Device)
			return err == nil && ok && i == x.Vehicle && dev.ID == x.Device && j.Step == x.Step
		})
	})
	footer(d, c, r, p)
	return d
}

// fewMissing is how many missing readings a verdict names.
const fewMissing = 3

// numbered counts readings as the beginning of a sentence about them.
func numbered(n int) string {
	if n == 1 {
		return "1 reading is"
	}
	return fmt.Sprintf("%d readings are", n)
}

// stillToRead lists what no reading was entered of, step by step and unit by unit; wagons
// in a row that lack the same are drawn together.
func (d *Document) stillToRead(c *consist.Consist, cover prove.Coverage) {
	if cover.Complete() {
		return
	}
	t := Table{Caption: "Still to be read and entered: what the rules bound", Columns: []Column{{Title: "step"}, {Title: "missing", Align: Right}, {Title: "unit"}, {Title: "device"}}}
	for _, s := range cover.Steps {
		step, of := s.Step, fmt.Sprintf("%d of %d", s.Missing, s.Bounded)
		for i := 0; i < len(c.Vehicles); i++ {
			names := missingAt(cover, s.Step, c.Vehicles[i])
			if len(names) == 0 {
				continue
			}
			unit, k := c.Vehicles[i].Name(), i
			for next(c, k) && slices.Equal(missingAt(cover, s.Step, c.Vehicles[k+1]), names) {
				k++
				unit = fmt.Sprintf("%s to %d, each", c.Vehicles[i].Name(), c.Vehicles[k].Unit.Number)
			}
			i = k
			t.Rows = append(t.Rows, []Cell{Text(step), Text(of), Text(unit), Text(strings.Join(names, "; "))})
			step, of = "", ""
		}
	}
	d.Table(t)
}

// missingAt are the devices of a unit with no reading at a step.
func missingAt(cover prove.Coverage, step string, v *consist.Vehicle) []string {
	var out []string
	for _, m := range cover.Missing {
		if m.Step == step && m.Unit == v.Name() {
			out = append(out, m.Name)
		}
	}
	return out
}

// band words an allowed band, rounded so that what is shown is never the easier one.
func band(b quantity.Range, u quantity.Units) string {
	low, high := quantity.Gauge(b.Low), quantity.Gauge(b.High)
	switch {
	case b.Low < 0:
		return "at most " + u.GaugeRounded(high, quantity.Down)
	case b.High >= prove.Unbounded:
		return "at least " + u.GaugeRounded(low, quantity.Up)
	}
	return u.GaugeBand(low, high)
}
