package air

import "testing"

// A step of a small network must not allocate.
func BenchmarkStep(b *testing.B) {
	build := NewBuilder()
	prev := build.Source("supply", 7e5)
	for range 60 {
		n := build.Volume("cell", 0.01)
		build.Pipe("pipe", prev, n, 0.032, 13, 1e-4, 1)
		build.Passage("leak", n, Atmosphere, Hole(0.5e-3, 0.8))
		prev = n
	}
	net, err := build.Compile()
	if err != nil {
		b.Fatal(err)
	}
	r := net.NewRun(Usual())
	b.ReportAllocs()
	for b.Loop() {
		if err := r.step(1); err != nil {
			b.Fatal(err)
		}
	}
}

func TestStepDoesNotAllocate(t *testing.T) {
	g := directRig(t, 8)
	r := g.net.NewRun(Usual())
	r.Set(g.led, 5e5)
	if n := testing.AllocsPerRun(200, func() {
		if err := r.step(1); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%g allocations a step", n)
	}
}
