package consist

import (
	"errors"
	"strings"
	"testing"

	"headstock/demo"
	"headstock/fleet"
)

func marram(t *testing.T) *fleet.Fleet {
	t.Helper()
	f, complaints := fleet.Read(demo.Railway())
	for _, c := range complaints {
		t.Error(c)
	}
	return f
}

// A complaint points at the word that is wrong, or at where one is missing.
func TestErrorColumns(t *testing.T) {
	f := marram(t)
	for _, c := range []struct {
		text string
		col  int
		says string
	}{
		{"", 1, "expected a unit"},
		{"Tern 3 lead,, GV", 13, "expected a unit"},
		{"Tern 3 lead, ", 14, "expected a unit"},
		{"Tren 3 lead", 1, `no class "Tren"`},
		{"  Tern 3 lead,  Kitte 11 trail", 17, `no class "Kitte"`},
		{"Tern 33 lead", 6, "no unit Tern 33"},
		{"Tern 3 laed", 8, `found "laed"`},
		{"Tern 3 lead, Kite 11  trail reversd", 29, `found "reversd"`},
		{"Tern 3 lead trail", 13, "two roles"},
		{"Tern 3 hauled dead, all pipes trail, GV", 31, "two roles"},
		{"Kite 11 lead cab 7", 18, "expected a cab"},
		{"Kite 11 lead cab", 17, "expected a cab"},
		{"Tern 3 lead, Kite 11 trail cab 2", 28, "a unit that is trail is driven from no cab"},
		{"Tern 3 lead, Kite 11 cab 2 trail", 22, "driven from no cab"},
		{"Tern 3 lead, Kite 11 hauled dead cab 2", 34, "driven from no cab"},
		{"Tern 3 lead, Kite 11 stabled cab 1", 30, "only with lead, alone or assisting"},
		{"Tern 3 lead, GV cab 1", 17, "has no cab"},
		{"Tern 3", 7, "expected a role for Tern"},
		{"Tern 3 , GV", 7, "expected a role for Tern"},
		{"Tern 3 lead, 301 HX", 14, "expected a count"},
		{"Tern 3 lead, 20", 16, "expected a class after the count"},
		{"Tern 3 lead, 20 Zebra", 17, `no class "Zebra"`},
		{"Tern 3 lead, 300 HX", 14, "free units: 60"},
		{"Tern 3 lead, HX 201 lead", 21, "is a wagon"},
		{"Tern 3 lead, GV loaded", 17, "no loaded mass"},
		{"Tern 3 lead, Tern 3 trail", 14, "already, at column 1"},
		{"Tèrn 3 lead", 1, "no class"},
		{"Tern\t3\nlöad", 8, `found "löad"`},
	} {
		_, err := Parse(f, c.text)
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if e.Col != c.col || !strings.Contains(e.Message, c.says) {
			t.Errorf("%q: column %d, %s; want column %d, %q", c.text, e.Col, e.Message, c.col, c.says)
		}
	}
}

// What a consist says of itself can be typed again.
func TestTypedAgain(t *testing.T) {
	f := marram(t)
	for _, text := range []string{"Tern 3 lead, Tern 4 hauled dead, all pipes reversed, Kite 11 hauled dead", "Tern 3 lead, 20 HX loaded, GV", "Kite 11 lead cab 2 reversed", "Kite 11 cab 2 assisting, Tern 3 lead"} {
		c, err := Parse(f, text)
		if err != nil {
			t.Fatal(err)
		}
		again, err := Parse(f, c.String())
		if err != nil || again.String() != c.String() {
			t.Errorf("%q says %q: %v", text, c.String(), err)
		}
	}
}

// However odd what was typed, a complaint is of one short line.
func TestErrorsAreShort(t *testing.T) {
	f := marram(t)
	c, err := Parse(f, "Tern 3 lead, Kite 11 trail")
	if err != nil {
		t.Fatal(err)
	}
	long := strings.Repeat("x", 2000)
	var errs []error
	for _, text := range []string{long, "Tern 3 " + long, "Kite 11 lead cab " + long, "Tern 3 \x1b[31m"} {
		_, err := Parse(f, text)
		errs = append(errs, err)
	}
	for _, text := range []string{long, long + ".a=b", "lead." + long + "=b", "lead.automatic-cut-out=" + long, "lead.automatic-handle=" + long} {
		_, err := c.ParseChange(text)
		errs = append(errs, err)
	}
	for _, err := range errs {
		if err == nil || len(err.Error()) > 300 || strings.ContainsAny(err.Error(), "\x1b\n") {
			t.Errorf("%v", err)
		}
	}
}

// A device is found by what people call it where only one device of the unit is called
// so; a name of two is refused with both.
func TestChangeByNickname(t *testing.T) {
	f := marram(t)
	c, err := Parse(f, "Tern 3 lead, Kite 11 trail")
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		"Tern 3.cut-off tap=out":            "automatic-cut-out",
		"lead.Cut-Off Tap=out":              "automatic-cut-out",
		"lead.automatic-cut-out=out":        "automatic-cut-out",
		"Tern 3.Automatic valve cut-out=in": "automatic-cut-out",
	} {
		ch, err := c.ParseChange(text)
		if err != nil || ch.Device != want {
			t.Errorf("%q: %q, %v; want %q", text, ch.Device, err, want)
		}
	}
	for text, want := range map[string]string{
		"Kite 11.short handle=full": `"short handle" could be 2 devices of Kite 11; expected one of cab-1-independent-handle, cab-2-independent-handle`,
		"Tern 3.cut-of tap=out":     `Tern 3 has no device or function "cut-of tap"; nearest: cut-off tap`,
		"Tern 3.zebra=out":          `Tern 3 has no device or function "zebra"`,
		"Zebra 1.zebra=out":         `no "Zebra 1" in this consist; expected one of Tern 3, Kite 11`,
	} {
		if _, err := c.ParseChange(text); err == nil || err.Error() != want {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
}
