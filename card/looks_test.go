package card

import (
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/haul"
	"headstock/internal/drawing"
	"headstock/line"
	"headstock/motion"
	"headstock/quantity"
	"headstock/rule"
	"headstock/trial"
)

// Every word of the class of every mark that is drawn has a look, so that no mark falls back
// on black on a page and on nothing in print.
func TestEveryMarkHasALook(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	r, _ := rule.Read(demo.Railway())
	l, cs := line.Read(demo.Railway(), "line.yaml")
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	c, err := consist.Parse(f, "Tern 3 lead, Kite 11 trail, 4 HX loaded, GV")
	if err != nil {
		t.Fatal(err)
	}
	drawings := map[string]*drawing.Drawing{"string": StringDrawing(c)}
	for _, k := range f.Classes {
		drawings["class "+k.Name] = ClassDrawing(k, k.Places, func(int) string { return "#" })
	}
	u := quantity.Imperial()
	charts := map[string]drawing.Chart{"profile": ProfileChart(l, u)}
	x := haul.Of(c)
	rail := motion.Rails()[0]
	ran, err := x.Run(haul.Journey{Line: l, From: "Port Ansell", To: "Saltmarsh", Rail: rail})
	if err != nil {
		t.Fatal(err)
	}
	charts["journey"], charts["heat"] = JourneyChart(ran, u), HeatChart(ran)
	e, err := haul.EngineOf(c, 0, haul.Mild())
	if err != nil {
		t.Fatal(err)
	}
	charts["pull"] = PullChart(e, motion.Rails()[:3], u)
	s, err := haul.Stop(c, r, haul.StopAsk{Speed: 10, Rail: haul.Dry}, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	charts["stop"] = StopChart(s, u)
	m, err := haul.MoveOff(c, r, haul.MoveOffAsk{Rising: 0.02, Rail: rail}, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	charts["roll-back"] = RollBackChart(m, u)
	for name, k := range charts {
		drawings[name], drawings[name+" narrow"] = k.Bare(chartWide), k.Bare(chartNarrow)
	}
	var hold func(name string, d *drawing.Drawing, m drawing.Mark)
	hold = func(name string, d *drawing.Drawing, m drawing.Mark) {
		if _, known := drawing.LookOf(m); !known {
			t.Errorf("%s: a mark of class %q has no look", name, m.Class)
		}
		for _, p := range append(append([]drawing.Point(nil), m.Line...), m.Area...) {
			if p.X < -1 || p.X > d.Width+1 || p.Y < -1 || p.Y > d.Height+1 {
				t.Errorf("%s: %q leaves the sheet at %v", name, m.Class, p)
			}
		}
		for _, w := range m.With {
			hold(name, d, w)
		}
	}
	for name, d := range drawings {
		if d == nil {
			continue
		}
		for _, m := range d.Marks {
			hold(name, d, m)
		}
	}
	if _, known := drawing.LookOf(drawing.Mark{Class: "curve nonsense", Line: []drawing.Point{{}, {}}}); known {
		t.Error("a class that has no look is not noticed")
	}
}
