package card

import (
	"fmt"

	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
)

// Judged is a sheet of entered readings with what each was held against, and how many
// there are of the total that the test asks for.
func Judged(p *prove.Proof, js []prove.Judged, r *rule.Rules, u quantity.Units) *Document {
	c := p.Test.Consist
	total := 0
	for _, rd := range p.Test.Readings {
		if rd.Fitted == "" {
			total++
		}
	}
	d := &Document{Title: "Readings judged: " + c.String(), Subtitle: c.Fleet.Railway}
	of := fmt.Sprintf(" %d of the test's %d readings entered.", len(js), total)
	v := &Verdict{Mark: Good, Text: "Tested: every reading entered is as expected." + of}
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
		m := Good
		switch j.Status {
		case prove.Outside:
			m = Bad
			v.Mark, v.Text = Bad, "Tested: a reading lies outside what the rules allow."+of
		case prove.Unusual:
			m = Warn
			if v.Mark == Good {
				v.Mark, v.Text = Warn, "Tested: inside what the rules allow, but a reading is unusual. Look."+of
			}
		case prove.NoBand:
			m = Unknown
		}
		t.Rows = append(t.Rows, []Cell{Text(j.Step), Text(j.Unit), Text(j.Name), Text(j.Entered.Value), Text(want), Text(allow), Marked(m, j.Status), Text(j.Rule)})
	}
	d.Verdict = v
	d.Table(t)
	footer(d, c, r, p)
	return d
}

// band words an allowed band.
func band(b quantity.Range, u quantity.Units) string {
	g := func(x float64) string { return u.Gauge(quantity.Gauge(x)) }
	switch {
	case b.Low < 0:
		return "at most " + g(b.High)
	case b.High >= prove.Unbounded:
		return "at least " + g(b.Low)
	}
	return g(b.Low) + " to " + g(b.High)
}
