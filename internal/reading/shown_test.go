package reading

import (
	"fmt"
	"strings"
	"testing"
	"unicode"
)

func TestShort(t *testing.T) {
	long := strings.Repeat("ä", 200)
	for in, want := range map[string]string{
		"":                          "",
		"Tern 33":                   "Tern 33",
		"a\x1b[31mred\x07\nb\tc":    "a[31mred b c",
		"\u202eabc\ufeff":           "abc",
		"\xff":                      "\ufffd",
		strings.Repeat("a", 60):     strings.Repeat("a", 60),
		long:                        long[:2*59] + "…",
		strings.Repeat("four ", 20): strings.TrimRight(strings.Repeat("four ", 20)[:59], " ") + "…",
	} {
		if got := Short(in); got != want {
			t.Errorf("Short(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestTidy(t *testing.T) {
	long := strings.Repeat("x", 500)
	for _, c := range []struct{ in, want string }{
		{`no class "Tren"; expected one of Kite, Tern`, `no class "Tren"; expected one of Kite, Tern`},
		{fmt.Sprintf("no class %q; nearest: Tern", long), `no class "` + long[:59] + `…"; nearest: Tern`},
		{fmt.Sprintf("%q and %q", long, long), `"` + long[:59] + `…" and "` + long[:59] + `…"`},
		{"open \x1b]0;x\x07f: no such file", "open ]0;xf: no such file"},
		{"first\nsecond", "first\nsecond"},
		{`a lone " stays`, `a lone " stays`},
		{`"a \" b" c`, `"a \" b" c`},
		{fmt.Sprintf("%q.", strings.Repeat("x", 57)+"\x01\x01"), `"` + strings.Repeat("x", 57) + `…".`},
		{fmt.Sprintf("%q.", strings.Repeat("x", 57)+`\\\`), `"` + strings.Repeat("x", 57) + `\\…".`},
	} {
		if got := Tidy(c.in); got != c.want {
			t.Errorf("Tidy(%q)\n got %q\nwant %q", c.in, got, c.want)
		}
	}
}

func TestHint(t *testing.T) {
	if got := Hint("laed", []string{"lead", "trail"}); got != "; nearest: lead" {
		t.Errorf("%q", got)
	}
	if got := Hint("zebra", []string{"lead", "trail"}); got != "" {
		t.Errorf("%q, want nothing", got)
	}
}

// Whatever was typed, a message shows only what can be seen, and no long quotation.
func FuzzTidy(f *testing.F) {
	for _, s := range []string{"", "Tern 3", `"`, `\`, "\x1b[2J", strings.Repeat(`\"`, 100), strings.Repeat("\x00", 100)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := Tidy(fmt.Sprintf("no %q here", s))
		if n := len([]rune(got)); n > shownAtMost+len(`no "" here`) {
			t.Errorf("%d characters: %q", n, got)
		}
		for _, r := range Tidy(s) + got {
			if unicode.IsControl(r) && r != '\n' {
				t.Errorf("%q in %q", r, got)
			}
		}
	})
}
