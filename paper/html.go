package paper

import (
	"encoding/base64"
	"html"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"headstock/card"
	"headstock/internal/drawing"
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
	part  bool   // of a page whose style is elsewhere: no style of its own
	base  int    // level of the heading over it
}

// Part writes a document as a part of a larger page: its verdict, cautions, blocks and
// what it rests on, below a heading of the given level (1 to 5) that the page has made. It
// holds no style, so that a page may forbid any that is not its own; a cell says in data-c
// which column it is of, and a row with only its last cell, such as a caution on the row
// over it, is one cell. The usual caution and the banner are left to the page.
func Part(out io.Writer, doc *card.Document, level int) error {
	if doc == nil {
		return errNoDocument
	}
	h := &sheet{writer: &writer{w: out}, part: true, base: min(max(level, 1), 5) - 1}
	h.level, h.under = h.base+1, doc.Title
	for _, s := range cleanAll(doc.Cautions) {
		h.put(`<p class="caution warn">`, marked(card.Warn, s), "</p>\n")
	}
	h.body(doc)
	if foot := cleanAll(doc.Footer); len(foot) > 0 {
		h.put("<div class=\"rests\">\n")
		for _, s := range foot {
			h.element("p", card.Quiet, s)
		}
		h.put("</div>\n")
	}
	return h.err
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

// A table of four to nine columns is stacked on a narrow screen, a row a block, so that
// no column that somebody acts on lies out of sight; its head then stands before each
// cell, out of the table's own --c variables. A name that holds for several rows is
// seen again wherever the row it came from may be out of sight: stacked and in print.
// In print the caption moves into the head of the table, with the heading it is under,
// so that each sheet of a long table says which unit it is of.
const look = `
:root{color-scheme:light dark;--ink:#111;--paper:#fff;--band:#e6e9ed;--line:#767676;--good:#14591d;--bad:#a30d0d;--warn:#6b4700;--unknown:#5b2a86;--quiet:#4d4d4d}
@media (prefers-color-scheme:dark){:root{--ink:#eee;--paper:#111;--band:#262b30;--line:#8a8a8a;--good:#8fdc98;--bad:#ffa198;--warn:#f5c66b;--unknown:#d5b3ff;--quiet:#b8b8b8}}
body{margin:0 auto;padding:1rem;max-width:60rem;font:1rem/1.45 system-ui,sans-serif;color:var(--ink);background:var(--paper);overflow-wrap:break-word;-webkit-text-size-adjust:100%;text-size-adjust:100%}
h1{font-size:1.5rem;line-height:1.25;margin:.5rem 0}h2{font-size:1.2rem;border-bottom:1px solid var(--line);margin:2rem 0 .6rem}h3,h4,h5,h6{font-size:1rem;margin:1.2rem 0 .4rem}
h1,h2,h3,h4,h5,h6,caption{text-wrap:balance}
.banner{border:3px double;padding:.3rem .6rem;font-weight:bold}
.caution{border:3px solid;padding:.5rem .75rem;font-weight:bold}
main>p.warn,main>p.bad,li>p.warn,li>p.bad{border-left:.3rem solid;padding-left:.6rem;font-weight:bold}
main>p.verdict{border-left:.6rem solid;padding:.2rem .6rem;font-size:1.15rem;font-weight:bold}
.warn>b,.bad>b,.unknown>b{display:inline-block;min-width:1em;padding:0 .2em;border:2px solid;line-height:1.1;text-align:center}
.scroll{overflow-x:auto;position:relative;margin:1rem 0}
table{border-collapse:collapse}
caption{text-align:left;font-weight:bold;padding:.2rem 0}
th,td{border:1px solid var(--line);padding:.3rem .5rem;text-align:left;vertical-align:top}
thead th,thead td{border-bottom:2px solid var(--ink)}
th[scope=row]{font-weight:normal}
th.group{text-align:left;padding-top:.7em;border-top:2px solid var(--line)}
.again{color:var(--quiet)}.running{display:none}
.right{text-align:right;font-variant-numeric:tabular-nums}.centre{text-align:center}
dl{display:grid;grid-template-columns:fit-content(40%) minmax(0,1fr);gap:.3rem 1rem}dt{color:var(--quiet)}dt,dd{margin:0;min-width:0;overflow-wrap:anywhere}
ul,ol{padding-left:1.6rem}li{margin:.4rem 0}li p{margin:.1rem 0}
figure{margin:1rem 0;break-inside:avoid}figcaption{font-weight:bold}
.drawing{overflow-x:auto;margin:.5rem 0}.drawing.narrow{display:none}
img{max-width:100%;max-height:24rem;width:auto;height:auto}
footer{margin-top:2rem;border-top:1px solid var(--line)}
.good{color:var(--good)}.bad{color:var(--bad)}.warn{color:var(--warn)}.unknown{color:var(--unknown)}.quiet{color:var(--quiet)}
.ear{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}
@media screen and (min-width:44rem){.whole{white-space:nowrap}.again>span{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}}
@media screen and (min-width:64rem){.scroll{overflow:visible}thead th,thead td{position:sticky;top:0;background:var(--paper);border-bottom-width:1px;box-shadow:inset 0 1px var(--line),inset 0 -1px var(--ink)}}
@media screen and (max-width:43.99rem){
.drawing.wide{display:none}.drawing.narrow{display:block}
.stack,.stack>caption,.stack>tbody,.stack>tbody>tr,.stack th,.stack td{display:block}
.stack>thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.stack>tbody>tr{border:1px solid var(--line);border-top:2px solid var(--ink);margin-bottom:.4rem;padding:.2rem 0}
.stack>tbody th,.stack>tbody td{border:0;padding:.1rem .5rem;text-align:left}
.stack th[scope=row]{font-weight:bold}
.stack td:not(:first-child){display:flow-root;padding-left:7.5rem}
.stack td:not(:first-child)::before{float:left;width:6.5rem;margin-left:-7rem;color:var(--quiet);font-weight:normal;overflow-wrap:anywhere}
.stack td:nth-child(2)::before{content:var(--c2)}.stack td:nth-child(3)::before{content:var(--c3)}.stack td:nth-child(4)::before{content:var(--c4)}.stack td:nth-child(5)::before{content:var(--c5)}
.stack td:nth-child(6)::before{content:var(--c6)}.stack td:nth-child(7)::before{content:var(--c7)}.stack td:nth-child(8)::before{content:var(--c8)}.stack td:nth-child(9)::before{content:var(--c9)}
.stack tbody td:not(:first-child):empty,.stack td:first-child:empty{display:none}
}
@media print{:root{color-scheme:light;--ink:#000;--paper:#fff;--band:#e6e9ed;--line:#000}*{color:#000!important;background:#fff!important}body{max-width:none;padding:0;font-size:10pt}.scroll,.drawing{overflow:visible}.drawing svg{max-width:100%;height:auto}.whole{white-space:nowrap}thead{display:table-header-group}.running{display:table-row}caption{display:none}tbody:has(>.heads),.few{break-inside:avoid}tr,li,dd,.caution,.verdict{break-inside:avoid}h1,h2,h3,h4,h5,h6,caption,dt,.heads{break-after:avoid}}
`

// loose is a sheet of a printed page that has come away from the others: it still says
// what it is of, whether it may be used, and the caution.
func loose(title, banner string) string {
	head := title
	if banner = clean(banner); banner != "" {
		head = banner + " – " + title
	}
	return "@page{margin:20mm 14mm 26mm;@top-left{content:" + quoted(head) + ";width:100%;font:bold 8pt/1.3 sans-serif;vertical-align:bottom;padding-bottom:3mm}" +
		"@bottom-left{content:" + quoted(card.Caution) + ";width:82%;font:bold 8pt/1.3 sans-serif;vertical-align:top;padding-top:3mm}" +
		"@bottom-right{content:counter(page) ' of ' counter(pages);font:8pt/1.3 sans-serif;vertical-align:top;padding-top:3mm}}\n"
}

// quoted is a text as a style sheet writes it, with nothing left in it that could end
// the string, the sheet or an attribute.
func quoted(s string) string {
	var b strings.Builder
	b.WriteByte('\'')
	for _, r := range clean(s) {
		switch {
		case r == ' ', '0' <= r && r <= '9', 'A' <= r && r <= 'Z', 'a' <= r && r <= 'z', r >= 0x80:
			b.WriteRune(r)
		default:
			b.WriteString(`\` + strconv.FormatInt(int64(r), 16) + " ")
		}
	}
	b.WriteByte('\'')
	return b.String()
}

func (h *sheet) document(doc *card.Document) {
	title := doc.Title
	if clean(title) == "" {
		title = "headstock"
	}
	h.put("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n",
		`<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:"/>`, "\n",
		`<meta name="viewport" content="width=device-width, initial-scale=1"/>`, "\n<title>", esc(title), "</title>\n<style>", look, drawing.Style(), loose(title, doc.Banner), "</style>\n</head>\n<body>\n<header>\n")
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
		h.put(`<p class="caution warn">`, marked(card.Warn, s), "</p>\n")
	}
	h.put("</header>\n<main>\n")
	h.body(doc)
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

// body is the verdict and the blocks.
func (h *sheet) body(doc *card.Document) {
	if v := doc.Verdict; v != nil {
		h.put("<p", attr("verdict", class(v.Mark)), ">", marked(v.Mark, v.Text), "</p>\n")
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
}

func (h *sheet) block(b card.Block) {
	switch {
	case b.Heading != nil:
		// A page may not skip a level, whatever the document says.
		h.level = min(max(b.Heading.Level, 1)+1+h.base, h.level+1, 6)
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
	case b.Picture != nil:
		h.picture(b.Picture)
	case b.Figure != nil && b.Figure.Drawing != nil:
		h.figure(b.Figure)
	}
}

// picture is carried in the page itself, as everything else is.
func (h *sheet) picture(p *card.Picture) {
	h.put("<figure>")
	if kind := p.Kind; len(p.Data) > 0 && (kind == "image/jpeg" || kind == "image/png") {
		dx, dy := seen(p)
		h.put(`<img src="data:`, kind, ";base64,", base64.StdEncoding.EncodeToString(p.Data), `" width="`, strconv.Itoa(dx), `" height="`, strconv.Itoa(dy), `" alt="`, esc(p.Caption), `"/>`)
	}
	h.put("<figcaption>", esc(pictured(p)), "</figcaption></figure>\n")
}

// figure stands in the page as marks. Where there is a narrow form, the style of the page
// shows one of the two by the width of the screen. A drawing that is wider than the screen
// is moved sideways in its own box.
func (h *sheet) figure(f *card.Figure) {
	h.put("<figure><figcaption>", esc(f.Title), "</figcaption>\n")
	draw := func(x *drawing.Drawing, class string) {
		y := *x
		y.Title, y.Says = clean(x.Title), clean(x.Says)
		h.put(`<div class="`, class, `" role="group" tabindex="0" aria-label="drawing: `, esc(f.Title), "\">\n")
		if h.err == nil {
			h.err = drawing.SVG(h.writer.w, &y)
		}
		h.put("</div>\n")
	}
	if f.Narrow == nil {
		draw(f.Drawing, "drawing")
	} else {
		draw(f.Drawing, "drawing wide")
		draw(f.Narrow, "drawing narrow")
	}
	h.put("</figure>\n")
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

// table names each row by its first cell; a row without a name is still of the one
// over it.
func (h *sheet) table(g grid) {
	if len(g.columns) == 0 {
		return
	}
	// A table without a caption of its own takes the heading over it, for the ear; so
	// does one that only says the heading again.
	under := clean(h.under)
	caption, label, ear := g.caption, g.caption, ""
	switch {
	case caption == "" || caption == under:
		caption, label, ear = under, under, ` class="ear"`
	case under != "" && h.level > 1: // the title is on every sheet anyway
		label = titled(under, caption)
	}
	h.put(`<div class="scroll" role="group" tabindex="0" aria-label="`, esc(label), "\">\n<table", g.looks(h.part), ">\n<caption><span", ear, ">", esc(caption), "</span></caption>\n<thead>\n<tr class=\"running\"><th colspan=\"", strconv.Itoa(len(g.columns)), "\">", esc(label), "</th></tr>\n<tr>")
	for _, c := range g.columns {
		if c.Title == "" {
			h.put("<td></td>")
			continue
		}
		h.put(`<th scope="col"`, attr(side(c.Align)), ">", esc(c.Title), "</th>")
	}
	h.put("</tr>\n</thead>\n<tbody>\n")
	name := "" // of the last row that had one
	for r, row := range g.rows {
		if g.group[r] {
			if r > 0 {
				h.put("</tbody>\n<tbody>\n")
			}
			h.put("<tr class=\"heads\"><th scope=\"rowgroup\" colspan=\"", strconv.Itoa(len(g.columns)), "\"", attr("group", class(row[0].Mark)), ">", marked(row[0].Mark, row[0].Text), "</th></tr>\n")
			name = ""
			continue
		}
		if last := len(row) - 1; h.part && last > 0 && name != "" && empty(row[:last]) && row[last].Text != "" {
			h.put("<tr><td colspan=\"", strconv.Itoa(len(row)), "\"", attr("under", class(row[last].Mark)), ">", marked(row[last].Mark, row[last].Text), "</td></tr>\n")
			continue
		}
		h.put("<tr>")
		for i, c := range row {
			tag, scope, whole := "td", "", ""
			switch {
			case i == 0 && len(row) > 1 && c.Text != "":
				tag, scope, name = "th", ` scope="row"`, c.Text
			case i == 0 && len(row) > 1 && name != "" && c.Mark == card.None:
				h.put(`<th scope="row" class="again"><span>`, esc(name), "</span></th>")
				continue
			case i > 0 && len(row) <= 5 && short(c.Text) && side(g.columns[i].Align) == "":
				whole = "whole"
			}
			of := ""
			if h.part && i > 0 {
				of = ` data-c="` + esc(g.columns[i].Title) + `"`
			}
			h.put("<", tag, scope, of, attr(side(g.columns[i].Align), class(c.Mark), whole), ">", marked(c.Mark, c.Text), "</", tag, ">")
		}
		h.put("</tr>\n")
	}
	h.put("</tbody>\n</table>\n</div>\n")
}

// empty reports whether nothing stands in any of the cells.
func empty(cells []card.Cell) bool {
	for _, c := range cells {
		if c.Text != "" || c.Mark != card.None {
			return false
		}
	}
	return true
}

// looks is what a table says of itself: that it is to be stacked on a narrow screen,
// and that its few rows stay together in print.
func (g grid) looks(part bool) string {
	few := ""
	if len(g.rows) <= 12 {
		few = "few"
	}
	least := 4
	if part {
		least = 3 // a page on a telephone has a table in its text, not alone
	}
	if len(g.columns) < least || len(g.columns) > 9 {
		return attr(few)
	}
	if part {
		return attr("stack", few)
	}
	var heads []string
	for i, c := range g.columns[1:] {
		heads = append(heads, "--c"+strconv.Itoa(i+2)+":"+quoted(c.Title))
	}
	return attr("stack", few) + ` style="` + html.EscapeString(strings.Join(heads, ";")) + `"`
}

// short is a text that a line does not break where there is room: a figure stays with
// its unit and its band.
func short(s string) bool {
	return utf8.RuneCountInString(s) <= 20 && strings.ContainsAny(s, "0123456789")
}

func side(a card.Align) string {
	switch a {
	case card.Right, card.Centre:
		return string(a)
	}
	return ""
}

// attr writes a class attribute of those names that are not empty.
func attr(names ...string) string {
	var list []string
	for _, n := range names {
		if n != "" {
			list = append(list, n)
		}
	}
	if len(list) == 0 {
		return ""
	}
	return ` class="` + strings.Join(list, " ") + `"`
}
