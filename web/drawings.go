package web

import (
	"bytes"
	"fmt"
	"html/template"

	"headstock/card"
	"headstock/consist"
	"headstock/fleet"
	"headstock/internal/drawing"
)

// drawn is a drawing as a part of a page; its texts are escaped where it is written.
func drawn(d *drawing.Drawing) template.HTML {
	if d == nil {
		return ""
	}
	var b bytes.Buffer
	b.WriteString(`<div class="drawing" role="group" tabindex="0" aria-label="drawing">`)
	if err := drawing.SVG(&b, d); err != nil {
		return ""
	}
	b.WriteString("</div>")
	return template.HTML(b.String())
}

// stringOf is a consist drawn from the front down.
func (s *Site) stringOf(c *consist.Consist) template.HTML { return drawn(card.StringDrawing(c)) }

// classDrawing is a class from the side and from above, each stand leading to its devices.
func (s *Site) classDrawing(c *fleet.Class) template.HTML {
	return drawn(card.ClassDrawing(c, standPlaces(c), func(n int) string { return fmt.Sprintf("#stand-%d", n) }))
}
