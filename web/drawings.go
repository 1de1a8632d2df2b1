package web

import (
	"html/template"

	"headstock/consist"
	"headstock/fleet"
)

func (s *Site) stringOf(c *consist.Consist) template.HTML  { return "" }
func (s *Site) classDrawing(c *fleet.Class) template.HTML { return "" }
