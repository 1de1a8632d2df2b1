package air

import (
	"math"
	"slices"
	"testing"
)

// stepped advances a run with parts at rest left out, or with everything in every step, and
// says how many of the nodes were left out at most.
func stepped(t *testing.T, r *Run, seconds float64, whole bool) int {
	t.Helper()
	most := 0
	for end := r.Time() + seconds; r.Time() < end-1e-9; {
		if err := r.step(end - r.Time()); err != nil {
			t.Fatal(err)
		}
		if whole {
			r.look = math.MaxInt
		}
		n := 0
		for _, x := range r.rests {
			if x {
				n++
			}
		}
		most = max(most, n)
	}
	return most
}

// two vehicles' brakes on one pipe, the second behind a cock, and a store that a check parts
// from the pipe.
func restRig(t *testing.T) (g rig, cock Slot, store Node) {
	return directRigWith(t, 8, func(b *Builder) {
		far := b.Volume("far pipe", 0.013)
		cock = b.Slot(0)
		b.Guard(b.Passage("cock", Node(1), far, Hole(20e-3, 0.8)), cock)
		store = b.Volume("store", 0.02)
		b.Check("check", far, store, Hole(3e-3, 0.8), 2e3)
	}), cock, store
}

// What is left out of the steps ends where it does with everything in every step, wakes when
// a cock opens to it, and its air is accounted for.
func TestPartsAtRest(t *testing.T) {
	var cock Slot
	var store Node
	run := func(whole bool) (*Run, rig, int) {
		g, c, s := restRig(t)
		cock, store = c, s
		r, most := g.net.NewRun(Usual()), 0
		for _, act := range []struct {
			slot  Slot
			to    float64
			after float64
		}{{g.led, 5e5, 300}, {cock, 1, 300}, {cock, 0, 60}, {g.led, 4e5, 120}, {g.led, 5e5, 300}} {
			r.Set(act.slot, act.to)
			most = max(most, stepped(t, r, act.after, whole))
		}
		return r, g, most
	}
	r, g, most := run(false)
	w, _, none := run(true)
	if most < 3 || none != 0 {
		t.Errorf("%d nodes were left out of the one and %d of the other", most, none)
	}
	if p := r.Gauge(store); p < 4.9e5 {
		t.Errorf("the store stands at %.0f Pa: it did not wake", p)
	}
	for i := range r.p {
		if d := math.Abs(r.p[i] - w.p[i]); d > 20 {
			t.Errorf("%s stands %.1f Pa from where it does with everything in every step", g.net.nodes[i].name, d)
		}
	}
	for _, x := range []*Run{r, w} {
		if a := x.Audit(); a > 1e-12 {
			t.Errorf("audit %g", a)
		}
	}
}

// A copy of a run in which parts rest goes on as the run itself does, to the bit, whatever
// the copy's memory held before.
func TestCopyAtRest_exact(t *testing.T) {
	g, cock, _ := restRig(t)
	r := g.net.NewRun(Usual())
	r.Set(g.led, 5e5)
	if stepped(t, r, 200, false) == 0 {
		t.Fatal("nothing rests")
	}
	fresh, used := r.Clone(), g.net.NewRun(Usual())
	used.Set(cock, 1)
	used.Set(g.led, 3e5)
	stepped(t, used, 40, false)
	used.CopyFrom(r)
	for _, act := range []struct {
		slot Slot
		to   float64
	}{{g.led, 4.2e5}, {cock, 1}, {g.led, 5e5}} {
		for _, x := range []*Run{r, fresh, used} {
			x.Set(act.slot, act.to)
			stepped(t, x, 30, false)
		}
		for _, x := range []*Run{fresh, used} {
			if x.steps != r.steps || x.time != r.time || !slices.Equal(x.kept, r.kept) || !slices.Equal(x.rests, r.rests) {
				t.Fatal("a copy goes another way than the run it was taken from")
			}
		}
	}
}

// A run goes on in a network that has more ways and slots behind all of its own: with those
// shut, to the bit as in its own, set pressures, flows and memories included.
func TestCopyIntoMore_exact(t *testing.T) {
	build := func(more bool) (net *Network, handle Slot) {
		b := NewBuilder()
		supply, pipe, line := b.Source("supply", 9e5), b.PipeVolume("pipe", 0.03, 15, 1e-4), b.Volume("line", 2e-3)
		far := b.PipeVolume("far", 0.03, 15, 1e-4)
		b.Pipe("between", pipe, far, 0.03, 15, 1e-4, 1)
		handle = b.Slot(0)
		b.Regulator(RegulatorSpec{Name: "feed", Supply: supply, Output: pipe, Slot: handle, Control: -1, SupplyO: Hole(6e-3, 0.8), ExhO: Hole(6e-3, 0.8), Band: 4e3})
		b.Regulator(RegulatorSpec{Name: "limited", Supply: far, Output: line, Slot: b.Slot(1.7e5), Control: -1, SupplyO: Hole(2e-3, 0.8), ExhO: Hole(2e-3, 0.8), Band: 4e3})
		b.VentValve("vent", far, Hole(20e-3, 0.8), 90e3, 30e3, 30e3)
		if more {
			for _, n := range []Node{pipe, line} {
				b.Guard(b.Passage("further", n, Atmosphere, Hole(3e-3, 0.8)), b.Slot(0))
			}
		}
		net, err := b.Compile()
		if err != nil {
			t.Fatal(err)
		}
		return net, handle
	}
	net, handle := build(false)
	larger, _ := build(true)
	r, w := net.NewRun(Usual()), larger.NewRun(Usual())
	r.Set(handle, 5e5)
	stepped(t, r, 30, false)
	r.Set(handle, 4.4e5)
	stepped(t, r, 2, false) // in the midst of a fall
	w.CopyFrom(r)
	for _, x := range []*Run{r, w} {
		stepped(t, x, 20, false)
		x.Set(handle, 5e5)
		stepped(t, x, 60, false)
	}
	if r.steps != w.steps || !slices.Equal(r.p, w.p) || !slices.Equal(r.mem, w.mem) || !slices.Equal(r.flow, w.flow[:len(r.flow)]) {
		t.Error("in the larger network the run goes another way")
	}
}
