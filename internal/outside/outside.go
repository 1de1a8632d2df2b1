// Package outside holds what the house computes against what somebody else printed, and
// writes down how far apart they are. Tests use it; no room does.
//
// A test opens a book, holds its figures against published ones, and what was held is
// kept in testdata/outside/<test>.json beside the test. A figure outside its tolerance
// fails the test; so does a file that no longer says what was computed. With -outside the
// file is written anew, and the test of the root gathers all files in VALIDATION.md:
//
//	make validation
//
// A check counts as proof only where the house computed the figure and nothing was chosen
// to meet it: see [Kind]. A published figure that the house does not meet is kept as it is,
// with the reason, and is listed apart; its tolerance is not widened until it fits.
//
// It knows nothing of brakes.
package outside

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"headstock/source"
)

var write = flag.Bool("outside", false, "write testdata/outside anew, and VALIDATION.md")

// Writing says that the files are to be written anew.
func Writing() bool { return *write }

// Kind says what a check proves.
type Kind string

// The kinds. Only what was computed counts.
const (
	Computed   Kind = ""            // the house worked it out
	Calibrated Kind = "calibrated"  // a figure of the model was chosen to meet it
	FromMemory Kind = "from memory" // nobody read the published figure for this
	Restated   Kind = "restated"    // a published limit or definition that is kept as it is
)

// Check is one published figure and ours. Published is a number, or a band when High is
// above Low. An unbounded side is an infinity.
type Check struct {
	ID        string  // row of the collected limits, or section and case
	Source    string  // key of the bibliography
	What      string  // of what, where and when
	Unit      string  // "" for a plain number or a yes (1) and no (0)
	Low, High float64 // the published figure (equal) or band, in Unit
	Ours      float64 // in Unit
	Tolerance float64 // in Unit, beyond the figure or either end of the band
	Why       string  // the reason of the tolerance
	Kind      Kind
	Miss      string // why ours does not meet it, where it does not
}

// At is a check of a single figure.
func At(id, by, what string, published, ours float64, unit string, tolerance float64, why string) Check {
	return Check{ID: id, Source: by, What: what, Unit: unit, Low: published, High: published, Ours: ours, Tolerance: tolerance, Why: why}
}

// Within is a check of a band.
func Within(id, by, what string, low, high, ours float64, unit string, tolerance float64, why string) Check {
	return Check{ID: id, Source: by, What: what, Unit: unit, Low: low, High: high, Ours: ours, Tolerance: tolerance, Why: why}
}

// Says is a check of a published statement that is true or not, without a tolerance.
func Says(id, by, what string, ours bool) Check {
	c := Check{ID: id, Source: by, What: what, Low: 1, High: 1, Why: "a statement holds or does not", Unit: "yes"}
	if ours {
		c.Ours = 1
	}
	return c
}

// As is the check as one of another kind.
func (c Check) As(k Kind) Check { c.Kind = k; return c }

// Missed is the check as one that is known not to be met, and why.
func (c Check) Missed(why string) Check { c.Miss = why; return c }

// Deviation is how far ours lies outside the published figure or band.
func (c Check) Deviation() float64 {
	switch {
	case c.Ours < c.Low:
		return c.Ours - c.Low
	case c.Ours > c.High:
		return c.Ours - c.High
	case math.IsNaN(c.Ours):
		return math.Inf(1)
	}
	return 0
}

// Met says that ours lies within the tolerance.
func (c Check) Met() bool { return math.Abs(c.Deviation()) <= c.Tolerance }

// Line is a check as it is kept. Figures are text, cut to a tenth of the tolerance (to four
// figures where there is none), so that the last bits of a processor make no line stale.
type Line struct {
	ID        string `json:"id"`
	Source    string `json:"source"`
	What      string `json:"what"`
	Published string `json:"published"`
	Ours      string `json:"ours"`
	Unit      string `json:"unit,omitempty"`
	Off       string `json:"off"`       // ours less the published, 0 in a band
	Tolerance string `json:"tolerance"` // 0 where it must be met as it is
	Share     string `json:"share"`     // the part of the tolerance that is used up, per cent
	Why       string `json:"why"`
	Kind      Kind   `json:"kind,omitempty"`
	Miss      string `json:"miss,omitempty"`
	Statement bool   `json:"statement,omitempty"` // yes or no, not a number
}

// number prints v to a tenth of the tolerance.
func number(v, tolerance float64) string {
	if math.IsInf(v, 0) {
		return "no bound"
	}
	if tolerance == 0 {
		if v == math.Trunc(v) {
			return strconv.FormatFloat(v, 'f', 0, 64)
		}
		return strconv.FormatFloat(v, 'g', 4, 64)
	}
	places := max(0, 1-int(math.Floor(math.Log10(tolerance))))
	if places > 8 && v != 0 { // small in SI units
		return strconv.FormatFloat(v, 'g', max(1, places+1+int(math.Floor(math.Log10(math.Abs(v))))), 64)
	}
	s := strconv.FormatFloat(v, 'f', places, 64)
	if strings.ContainsRune(s, '.') {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	return s
}

func (c Check) line() Line {
	plain := func(v float64) string { return strconv.FormatFloat(v, 'g', 8, 64) }
	l := Line{ID: c.ID, Source: c.Source, What: c.What, Ours: number(c.Ours, c.Tolerance), Unit: c.Unit,
		Off: number(c.Deviation(), c.Tolerance), Tolerance: strconv.FormatFloat(c.Tolerance, 'g', 2, 64), Why: c.Why, Kind: c.Kind, Miss: c.Miss}
	switch {
	case c.Low == c.High:
		l.Published = plain(c.Low)
	case math.IsInf(c.Low, -1):
		l.Published = "at most " + plain(c.High)
	case math.IsInf(c.High, 1):
		l.Published = "at least " + plain(c.Low)
	default:
		l.Published = plain(c.Low) + " to " + plain(c.High)
	}
	if c.Unit == "yes" {
		word := func(v float64) string {
			if v == 1 {
				return "yes"
			}
			return "no"
		}
		l.Published, l.Ours, l.Off, l.Unit, l.Statement = word(c.Low), word(c.Ours), "0", "", true
	}
	l.Share = "0"
	if c.Tolerance > 0 {
		l.Share = strconv.FormatFloat(100*math.Abs(c.Deviation())/c.Tolerance, 'f', 0, 64)
	}
	return l
}

// Book is what one test holds against the outside.
type Book struct {
	t     testing.TB
	lines []Line
}

// Open starts the book of a test; it is closed when the test ends.
func Open(t testing.TB) *Book {
	t.Helper()
	b := &Book{t: t}
	t.Cleanup(b.close)
	return b
}

// Hold fails the test if a figure lies outside its tolerance, and if one that is said to be
// missed is met after all. It keeps a line of each.
func (b *Book) Hold(checks ...Check) {
	b.t.Helper()
	for _, c := range checks {
		if _, ok := source.Lookup(c.Source); !ok {
			b.t.Errorf("%s: no source %q in the bibliography; nearest: %s", c.ID, c.Source, source.Nearest(c.Source))
		}
		if c.ID == "" || c.What == "" || c.Why == "" || c.Low > c.High || c.Tolerance < 0 {
			b.t.Errorf("%+v: a check names its row, what it is, its tolerance and the reason of it", c)
		}
		switch {
		case c.Miss == "" && !c.Met():
			b.t.Errorf("%s, %s: %.6g %s, published %s ± %.2g (%s)", c.ID, c.What, c.Ours, c.Unit, c.line().Published, c.Tolerance, c.Source)
		case c.Miss != "" && c.Met():
			b.t.Errorf("%s, %s: %.6g %s meets %s; it is no longer missed", c.ID, c.What, c.Ours, c.Unit, c.line().Published)
		}
		b.lines = append(b.lines, c.line())
	}
}

// close compares the lines with the file of the test, or writes it. What failed is not
// written.
func (b *Book) close() {
	path := filepath.Join("testdata", "outside", strings.ReplaceAll(b.t.Name(), "/", "-")+".json")
	if b.t.Failed() || b.t.Skipped() {
		return
	}
	var out strings.Builder
	out.WriteString("[\n")
	for i, l := range b.lines {
		var one strings.Builder
		e := json.NewEncoder(&one)
		e.SetEscapeHTML(false)
		if err := e.Encode(l); err != nil {
			b.t.Fatal(err)
		}
		out.WriteString("  " + strings.TrimSpace(one.String()))
		if i+1 < len(b.lines) {
			out.WriteByte(',')
		}
		out.WriteByte('\n')
	}
	out.WriteString("]\n")
	if *write {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			b.t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(out.String()), 0o644); err != nil {
			b.t.Fatal(err)
		}
		return
	}
	have, err := os.ReadFile(path)
	if err != nil {
		b.t.Errorf("%v: make validation", err)
		return
	}
	if string(have) != out.String() {
		b.t.Errorf("%s is stale: make validation; first difference: %s", path, difference(string(have), out.String()))
	}
}

func difference(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range y {
		if i >= len(x) || x[i] != y[i] {
			return fmt.Sprintf("line %d is now %s", i+1, y[i])
		}
	}
	return "it is longer"
}
