//go:build !js

package paper

import (
	"math"
	"strings"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
)

// face is the typeface of the printed page in its two weights: what it can draw and how
// wide it is. The typeface is carried in every document that is printed with it.
type face struct {
	pdf   *fpdf.Fpdf
	font  *sfnt.Font
	buf   sfnt.Buffer
	wide  [2]map[rune]int // thousandths of the size, plain and bold
	drawn map[rune]bool
}

const family = "go"

func newFace(pdf *fpdf.Fpdf) (*face, error) {
	font, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		return nil, err
	}
	pdf.AddUTF8FontFromBytes(family, "", goregular.TTF)
	pdf.AddUTF8FontFromBytes(family, "B", gobold.TTF)
	return &face{pdf: pdf, font: font, wide: [2]map[rune]int{{}, {}}, drawn: map[rune]bool{}}, pdf.Error()
}

func weight(bold bool) (style string, index int) {
	if bold {
		return "B", 1
	}
	return "", 0
}

// width is how wide a text is, in hundredths of a millimetre. Each letter is rounded up,
// so that no text is wider on paper than it was taken to be, and a text is as wide as its
// parts.
func (f *face) width(text string, size float64, bold bool) int {
	const step = 25.4 / 72 / 10 // hundredths of a millimetre in a thousandth of a point
	style, i := weight(bold)
	sum := 0
	for _, r := range text {
		w, ok := f.wide[i][r]
		if !ok {
			f.pdf.SetFont(family, style, 10)
			w = f.pdf.GetStringSymbolWidth(string(r))
			f.wide[i][r] = w
		}
		sum += int(math.Ceil(float64(w) * size * step))
	}
	return sum
}

// instead are plain signs for those that the typeface has not.
var instead = map[rune]string{'✗': "×", '✘': "×", '✓': "ok", '✔': "ok", '☐': "□", '☑': "[ok]", '‐': "-", '‑': "-", '⚠': "!", '″': `"`, '′': "'"}

// plain makes a text drawable: what the typeface has not becomes a plain sign where one
// is known, and else an empty box, so that a gap is seen to be a gap.
func (f *face) plain(s string) string {
	var b strings.Builder
	for _, r := range s {
		ok, known := f.drawn[r]
		if !known {
			g, err := f.font.GlyphIndex(&f.buf, r)
			ok = err == nil && (g != 0 || r == '\u00a0')
			f.drawn[r] = ok
		}
		switch other, has := instead[r]; {
		case ok:
			b.WriteRune(r)
		case has:
			b.WriteString(other)
		case b.Len() > 0 && unicode.In(r, unicode.Mn, unicode.Me):
		default:
			b.WriteRune('□')
		}
	}
	return b.String()
}

// ruler measures a text of this size and weight for the line breaker.
func (f *face) ruler(size float64, bold bool) ruler {
	em := int(size * 25.4 / 72 * 100)
	return ruler{of: func(s string) int { return f.width(s, size, bold) }, gap: em * 4 / 5, enough: em * 7, least: em}
}
