package paper

import (
	"fmt"
	"strings"

	goqr "github.com/piglig/go-qr"
)

// maxCode is the most bytes a code carries: version 16 of ISO/IEC 18004, 81 modules a
// side, holds 586 at the lowest correction.
const maxCode = 586

// encode makes a code of a text; one that is too long for a code that can be read off
// paper is cut at a line.
func encode(text string) ([][]bool, error) {
	for len(text) > maxCode {
		i := strings.LastIndexByte(text[:maxCode], '\n')
		if i < 0 {
			return nil, nil
		}
		text = text[:i]
	}
	if text == "" {
		return nil, nil
	}
	q, err := goqr.EncodeText(text, goqr.Low)
	if err != nil {
		return nil, fmt.Errorf("code: %w", err)
	}
	out := make([][]bool, q.Size())
	for y := range out {
		out[y] = make([]bool, q.Size())
		for x := range out[y] {
			out[y][x] = q.Module(x, y)
		}
	}
	return out, nil
}

// Code is the square code of a text (ISO/IEC 18004) as an SVG element, black on white with
// four modules of quiet all round; "" where the text is too long for one that can be read
// off paper. The label is for whoever does not see it.
func Code(text, label string) (string, error) {
	code, err := encode(text)
	if err != nil || code == nil {
		return "", err
	}
	var b strings.Builder
	n := len(code) + 8
	fmt.Fprintf(&b, `<svg class="code" viewBox="0 0 %d %d" role="img" aria-label="%s" shape-rendering="crispEdges"><path fill="#fff" d="M0 0h%dv%dH0z"/><path fill="#000" d="`, n, n, esc(label), n, n)
	for y, row := range code {
		for x := 0; x < len(row); {
			long := 0
			for x+long < len(row) && row[x+long] {
				long++
			}
			if long > 0 {
				fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", x+4, y+4, long, long)
			}
			x += max(long, 1)
		}
	}
	b.WriteString(`"/></svg>`)
	return b.String(), nil
}
