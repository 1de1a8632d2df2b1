package haul_test

import (
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/haul"
	"headstock/line"
)

func railway(t testing.TB) (*fleet.Fleet, *line.Line) {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	l, cs := line.Read(demo.Railway(), "line.yaml")
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	return f, l
}

func train(t testing.TB, f *fleet.Fleet, text string) *haul.Train {
	t.Helper()
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	return haul.Of(c)
}
