package cutset

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"headstock/internal/outside"
)

// tree builds functions of named events.
type tree struct {
	*Diagram
	names []string
}

func (t *tree) e(name string) Func {
	k := slices.Index(t.names, name)
	if k < 0 {
		k = len(t.names)
		t.names = append(t.names, name)
	}
	return t.Var(k)
}

func (t *tree) sets(f Func) []string {
	var out []string
	for _, s := range t.MinimalSets(f) {
		var ns []string
		for _, v := range s {
			ns = append(ns, t.names[v])
		}
		slices.Sort(ns)
		out = append(out, strings.Join(ns, " "))
	}
	return out
}

const whole, digits = "whole numbers", "as printed, to its last digit"

// The bridge of five parts with the paths {1,4}, {2,5}, {1,3,5}, {2,3,4} (shared check case
// 8.4, a textbook case).
func TestBridge(t *testing.T) {
	book := outside.Open(t)
	const by = "relay-textbooks"
	d := &tree{Diagram: New()}
	path := func(parts string) Func {
		r := Always
		for _, p := range parts {
			r = d.And(r, d.e(string(p)))
		}
		return r
	}
	for _, p := range "12345" {
		d.e(string(p))
	}
	works := d.Or(path("14"), path("25"), path("135"), path("234"))
	// what fails: the dual, with a part that has failed as the variable
	fails := d.And(d.Or(d.e("1"), d.e("4")), d.Or(d.e("2"), d.e("5")), d.Or(d.e("1"), d.e("3"), d.e("5")), d.Or(d.e("2"), d.e("3"), d.e("4")))
	book.Hold(outside.Says("8.4", by, "cut sets {1,2}, {4,5}, {1,3,5}, {2,3,4} and no other", slices.Equal(d.sets(fails), []string{"1 2", "4 5", "1 3 5", "2 3 4"})),
		outside.At("8.4", by, "working states of 32", 16, d.Working(works, 5), "", 0, whole))
	book.Hold(outside.At("8.4", by, "reliability at 0.9", 0.97848, d.Chance(works, slices.Repeat([]float64{0.9}, 5)), "", 5e-6, digits))
	book.Hold(outside.At("8.4", by, "reliability at 0.99", 0.9997980498, d.Chance(works, slices.Repeat([]float64{0.99}, 5)), "", 5e-11, digits))
}

// The relay scheme of three motors, the tree as printed in shared check case 8.6.
func TestThreeMotors(t *testing.T) {
	book := outside.Open(t)
	const by = "three-motor-tree"
	d := &tree{Diagram: New()}
	or := func(names ...string) Func {
		r := Never
		for _, n := range names {
			r = d.Or(r, d.e(n))
		}
		return r
	}
	tE1 := d.Or(or("K1", "S1", "T1inc"), d.And(or("KT1inc", "T2inc"), or("KT2inc", "T3inc"), or("KT3inc", "T4inc")))
	e6 := or("T2", "K5")
	e4 := d.And(tE1, e6)
	top := d.Or(d.e("K5"), e4)
	sets := d.sets(top)
	want := []string{"K5", "K1 T2", "S1 T2", "T1inc T2"}
	for _, a := range []string{"KT1inc", "T2inc"} {
		for _, b := range []string{"KT2inc", "T3inc"} {
			for _, c := range []string{"KT3inc", "T4inc"} {
				s := []string{"T2", a, b, c}
				slices.Sort(s)
				want = append(want, strings.Join(s, " "))
			}
		}
	}
	p := slices.Repeat([]float64{0.02}, len(d.names))
	rare := 0.0
	for _, s := range d.MinimalSets(top) {
		x := 1.0
		for range s {
			x *= 0.02
		}
		rare += x
	}
	book.Hold(outside.At("8.6", by, "minimal cut sets", 12, float64(len(sets)), "", 0, whole),
		outside.Says("8.6", by, "they are the expected ones", same(sets, want)),
		outside.At("8.6", by, "chance of the top event, every event at 0.02", 0.0211538, d.Chance(top, p), "", 5e-8, digits),
		outside.At("8.6", by, "sum over the cut sets", 0.0212013, rare, "", 5e-8, digits))
}

func same(a, b []string) bool {
	a, b = slices.Clone(a), slices.Clone(b)
	slices.Sort(a)
	slices.Sort(b)
	return slices.Equal(a, b)
}

// The two small trees of shared check case 8.8. The larger ones there are given by their
// counts alone, and cannot be built from that.
func TestSmallTrees(t *testing.T) {
	book := outside.Open(t)
	const by = "fault-tree-set"
	d := &tree{Diagram: New()}
	power := d.And(d.e("mains"), d.Or(d.e("generator"), d.e("relay")))
	book.Hold(outside.At("8.8", by, "loss of power: mains and (generator or relay)", 0.00207, d.Chance(power, []float64{0.03, 0.02, 0.05}), "", 5e-9, digits),
		outside.At("8.8", by, "its minimal cut sets", 2, float64(len(d.MinimalSets(power))), "", 0, whole))
	d = &tree{Diagram: New()}
	for _, n := range "CBDFGHI" {
		d.e(string(n))
	}
	// from its sets, deliberately with some that are not minimal
	want := []string{"C", "B D", "D F", "D G", "B H I", "F H I", "G H I"}
	f := Never
	for _, s := range append([]string{"C D", "B D H"}, want...) {
		one := Always
		for _, n := range strings.Fields(s) {
			one = d.And(one, d.e(n))
		}
		f = d.Or(f, one)
	}
	book.Hold(outside.At("8.8", by, "the tree of seven events", 0.662208, d.Chance(f, []float64{.3, .1, .5, .7, .2, .4, .8}), "", 5e-7, digits),
		outside.Says("8.8", by, fmt.Sprintf("its minimal cut sets are the %d printed", len(want)), same(d.sets(f), want)))
}
