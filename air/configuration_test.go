package air

import (
	"regexp"
	"testing"
)

// The sum moves with every condition and figure that it is of, and with nothing else.
func TestConfiguration(t *testing.T) {
	usual := Configuration(Usual())
	if !regexp.MustCompile(`^[0-9a-f]{8}$`).MatchString(usual) {
		t.Fatalf("%q is not eight hexadecimal digits", usual)
	}
	seen := map[string]string{usual: "the defaults"}
	for _, w := range []struct {
		what   string
		change func(*Conditions)
	}{
		{"atmosphere", func(c *Conditions) { c.Atmosphere = 84e3 }},
		{"temperature", func(c *Conditions) { c.Temperature += 1 }},
		{"air", func(c *Conditions) { c.Air = PipeTemperatures }},
		{"tolerance", func(c *Conditions) { c.Tolerance = 99 }},
		{"shortest step", func(c *Conditions) { c.MinStep = 3e-4 }},
		{"longest step", func(c *Conditions) { c.MaxStep = 1 }},
		{"event", func(c *Conditions) { c.EventStep = 1e-4 }},
		{"restart", func(c *Conditions) { c.Restart = 1e-3 }},
	} {
		c := Usual()
		w.change(&c)
		sum := Configuration(c)
		if was, ok := seen[sum]; ok {
			t.Errorf("%s leaves the sum as %s has it", w.what, was)
		}
		seen[sum] = w.what
	}
	c := Usual()
	c.Tolerance, c.MinStep, c.MaxStep, c.EventStep, c.Restart = 100, 2e-4, 2, 2e-4, 2e-3
	if Configuration(c) != usual {
		t.Error("the defaults written out have another sum")
	}
	if Configuration(Usual(), 1) == usual || Configuration(Usual(), 1) == Configuration(Usual(), 2) {
		t.Error("a figure of the caller's leaves the sum as it is")
	}
}
