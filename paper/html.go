package paper

import (
	"html"
	"io"
	"strconv"

	"headstock/card"
)

// HTML writes a document as one page that needs nothing from elsewhere. It reads on a
// telephone, prints in black and white, and says its marks in words to a screen
// reader. It is also well-formed XML.
func HTML(out io.Writer, doc *card.Document) error {
	if doc == nil {
		return errNoDocument
	}
	h := &sheet{writer: &writer{w: out}}
	h.document(doc)
	return h.err
}

type sheet struct {
	*writer
	level int    // of the last heading
	under string // its text
}

// esc is the only way a text reaches the page.
func esc(s string) string { return html.EscapeString(clean(s)) }

// element writes a text in a tag that carries its mark.
func (h *sheet) element(tag string, m card.Mark, text string) {
	h.put("<", tag)
	if c := class(m); c != "" {
		h.put(` class="`, c, `"`)
	}
	h.put(">", marked(m, text), "</", tag, ">\n")
}

func class(m card.Mark) string {
	switch m {
	case card.Good, card.Bad, card.Warn, card.Unknown, card.Quiet:
		return string(m)
	}
	return ""
}

// marked gives the sign to the eye and the word to the ear.
func marked(m card.Mark, text string) string {
	s, w := sign(m), word(m)
	switch s {
	case "":
		return esc(text)
	case w:
		return `<b>` + s + `</b> ` + esc(text)
	}
	return `<b aria-hidden="true">` + s + `</b> <span class="ear">` + w + `: </span>` + esc(text)
}

const look = `
:root{color-scheme:light dark;--ink:#111;--paper:#fff;--line:#767676;--good:#14591d;--bad:#a30d0d;--warn:#6b4700;--unknown:#5b2a86;--quiet:#4d4d4d}
@media (prefers-color-scheme:dark){:root{--ink:#eee;--paper:#111;--line:#8a8a8a;--good:#8fdc98;--bad:#ffa198;--warn:#f5c66b;--unknown:#d5b3ff;--quiet:#b8b8b8}}
body{margin:0 auto;padding:1rem;max-width:60rem;font:1rem/1.45 system-ui,sans-serif;color:var(--ink);background:var(--paper)}
h1{font-size:1.5rem;margin:.5rem 0}h2{font-size:1.2rem;border-bottom:1px solid var(--line);margin:1.6rem 0 .6rem}h3,h4,h5,h6{font-size:1rem;margin:1.2rem 0 .4rem}
.banner{border:3px double;padding:.3rem .6rem;font-weight:bold}
.caution{border:2px solid;padding:.4rem .6rem}
.verdict{border-left:.5rem solid;padding:.2rem .6rem;font-size:1.15rem;font-weight:bold}
.scroll{overflow-x:auto}
table{border-collapse:collapse;margin:.4rem 0}
caption{text-align:left;font-weight:bold;padding:.2rem 0}
th,td{border:1px solid var(--line);padding:.25rem .5rem;text-align:left;vertical-align:top}
th[scope=row]{font-weight:normal}
th.group{text-align:left;padding-top:.7em}
.right{text-align:right;font-variant-numeric:tabular-nums}.centre{text-align:center}
dl{display:grid;grid-template-columns:minmax(6rem,max-content) 1fr;gap:.2rem 1rem}dd{margin:0}
li p{margin:.1rem 0}
.good{color:var(--good)}.bad{color:var(--bad)}.warn{color:var(--warn)}.unknown{color:var(--unknown)}.quiet{color:var(--quiet)}
.ear{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}
@page{margin:14mm}
@media print{:root{color-scheme:light}*{color:#000!important;background:#fff!important}body{max-width:none;padding:0;font-size:10pt}.scroll{overflow:visible}thead{display:table-header-group}tr,li,dd,.caution,.verdict{break-inside:avoid}h2,h3,caption{break-after:avoid}}
`

func (h *sheet) document(doc *card.Document) {
	title := doc.Title
	if clean(title) == "" {
		title = "headstock"
	}
	h.put("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n",
		`<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'"/>`, "\n",
		`<meta name="viewport" content="width=device-width, initial-scale=1"/>`, "\n<title>", esc(title), "</title>\n<style>", look, "</style>\n</head>\n<body>\n<header>\n")
	if clean(doc.Banner) != "" {
		h.put(`<p class="banner">`, esc(doc.Banner), "</p>\n")
	}
	h.put("<h1>", esc(title), "</h1>\n")
	h.level, h.under = 1, title
	if clean(doc.Subtitle) != "" {
		h.put("<p>", esc(doc.Subtitle), "</p>\n")
	}
	h.put(`<p class="caution">`, esc(card.Caution), "</p>\n")
	for _, s := range cleanAll(doc.Cautions) {
		h.element("p", card.Warn, s)
	}
	h.put("</header>\n<main>\n")
	if v := doc.Verdict; v != nil {
		h.put(`<p class="verdict `, class(v.Mark), `">`, marked(v.Mark, v.Text), "</p>\n")
		if reasons := cleanAll(v.Reasons); len(reasons) > 0 {
			h.put("<ul>\n")
			for _, s := range reasons {
				h.element("li", card.None, s)
			}
			h.put("</ul>\n")
		}
	}
	for _, b := range doc.Blocks {
		h.block(b)
	}
	h.put("</main>\n<footer>\n")
	for _, s := range cleanAll(doc.Footer) {
		h.element("p", card.Quiet, s)
	}
	h.put(`<p class="caution">`, esc(card.Caution), "</p>\n")
	if clean(doc.Banner) != "" {
		h.put(`<p class="banner">`, esc(doc.Banner), "</p>\n")
	}
	h.put("</footer>\n</body>\n</html>\n")
}

func (h *sheet) block(b card.Block) {
	switch {
	case b.Heading != nil:
		// A page may not skip a level, whatever the document says.
		h.level = min(max(b.Heading.Level, 1)+1, h.level+1, 6)
		h.under = b.Heading.Text
		h.element("h"+strconv.Itoa(h.level), card.None, b.Heading.Text)
	case b.Paragraph != nil:
		h.element("p", b.Paragraph.Mark, b.Paragraph.Text)
	case b.List != nil:
		h.list(b.List)
	case b.Table != nil:
		h.table(squared(b.Table))
	case b.Facts != nil && len(b.Facts.Facts) > 0:
		h.put("<dl>\n")
		for _, f := range b.Facts.Facts {
			h.element("dt", card.None, f.Name)
			h.element("dd", f.Mark, f.Text)
		}
		h.put("</dl>\n")
	}
}

func (h *sheet) list(l *card.List) {
	if len(l.Items) == 0 {
		return
	}
	tag := "ul"
	if l.Numbered {
		tag = "ol"
	}
	h.put("<", tag, ">\n")
	for _, item := range l.Items {
		h.put("<li>")
		h.element("p", item.Mark, item.Text)
		for _, s := range cleanAll(item.Detail) {
			h.element("p", card.None, s)
		}
		h.put("</li>\n")
	}
	h.put("</", tag, ">\n")
}

// table names each row by its first cell.
func (h *sheet) table(g grid) {
	if len(g.columns) == 0 {
		return
	}
	// A table without a caption of its own takes the heading over it, for the ear.
	caption, ear := g.caption, ""
	if caption == "" {
		caption, ear = h.under, ` class="ear"`
	}
	h.put(`<div class="scroll" role="region" tabindex="0" aria-label="`, esc(caption), "\">\n<table>\n<caption><span", ear, ">", esc(caption), "</span></caption>\n<thead>\n<tr>")
	for _, c := range g.columns {
		if c.Title == "" {
			h.put("<td></td>")
			continue
		}
		h.put(`<th scope="col"`, attr(side(c.Align), ""), ">", esc(c.Title), "</th>")
	}
	h.put("</tr>\n</thead>\n<tbody>\n")
	for r, row := range g.rows {
		if g.group[r] {
			h.put("<tr><th scope=\"colgroup\" colspan=\"", strconv.Itoa(len(g.columns)), "\"", attr("group", class(row[0].Mark)), ">", marked(row[0].Mark, row[0].Text), "</th></tr>\n")
			continue
		}
		h.put("<tr>")
		for i, c := range row {
			tag, scope := "td", ""
			if i == 0 && len(row) > 1 && c.Text != "" {
				tag, scope = "th", ` scope="row"`
			}
			h.put("<", tag, scope, attr(side(g.columns[i].Align), class(c.Mark)), ">", marked(c.Mark, c.Text), "</", tag, ">")
		}
		h.put("</tr>\n")
	}
	h.put("</tbody>\n</table>\n</div>\n")
}

func side(a card.Align) string {
	switch a {
	case card.Right, card.Centre:
		return string(a)
	}
	return ""
}

// attr writes a class attribute of up to two names.
func attr(a, b string) string {
	switch {
	case a == "" && b == "":
		return ""
	case a == "" || b == "":
		return ` class="` + a + b + `"`
	}
	return ` class="` + a + " " + b + `"`
}
