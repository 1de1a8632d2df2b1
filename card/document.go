// Package card composes answers into documents: what is done, read and known, in the
// order in which a person needs it, with what it rests on.
//
// A document is plain values. This package decides the words and their order; it
// computes no figure, and it does not know whether its documents end on a terminal,
// on a page or in a table file.
package card

import "headstock/internal/drawing"

// Caution is the usual caution in one line. Paper prints it at the head and at the
// foot of every document; no document can be made without it.
const Caution = "Advice only: local rules, the maker's instructions and licensed practice come first. " +
	"Treat a stationary vehicle as if it may move; secure it before going between; " +
	"vent and isolate before work on air; stop and isolate the engine before reaching in."

// Document is an answer ready to be put on paper: plain values, nothing computed
// later. The order of everything in it is the order in which it is read.
type Document struct {
	Title    string   `json:"title"`
	Subtitle string   `json:"subtitle,omitempty"`
	Banner   string   `json:"banner,omitempty"` // stands above all else, e.g. that the record is a draft
	Verdict  *Verdict `json:"verdict,omitempty"`
	Cautions []string `json:"cautions,omitempty"` // beyond the usual one
	Blocks   []Block  `json:"blocks,omitempty"`
	Footer   []string `json:"footer,omitempty"` // record revisions, hashes, assumptions
	Rests    []string `json:"rests,omitempty"`  // the same in a few words, for the foot of every sheet and for a code
}

// Verdict is the answer in one line with the reasons that decide it.
type Verdict struct {
	Mark    Mark     `json:"mark,omitempty"`
	Text    string   `json:"text"`
	Reasons []string `json:"reasons,omitempty"`
}

// Mark says how a text is to be taken. Paper shows it as a word or a sign, and only
// besides that in colour.
type Mark string

// The marks. Quiet is for what may be skipped, and says nothing about right or wrong.
const (
	None    Mark = ""
	Good    Mark = "good"
	Bad     Mark = "bad"
	Warn    Mark = "warn"
	Unknown Mark = "unknown"
	Quiet   Mark = "quiet"
)

// Block is one part of a document. Exactly one of its fields is filled.
type Block struct {
	Heading   *Heading   `json:"heading,omitempty"`
	Paragraph *Paragraph `json:"paragraph,omitempty"`
	List      *List      `json:"list,omitempty"`
	Table     *Table     `json:"table,omitempty"`
	Facts     *Facts     `json:"facts,omitempty"`
	Picture   *Picture   `json:"picture,omitempty"`
	Figure    *Figure    `json:"figure,omitempty"`
}

// Heading opens a part. Level 1 is a part of the document, 2 a part of that part.
type Heading struct {
	Level int    `json:"level"`
	Text  string `json:"text"`
}

// Paragraph is running text.
type Paragraph struct {
	Text string `json:"text"`
	Mark Mark   `json:"mark,omitempty"`
}

// List is a run of items, numbered when their order matters.
type List struct {
	Numbered bool   `json:"numbered,omitempty"`
	Items    []Item `json:"items"`
}

// Item is one entry of a list, with lines of detail under it.
type Item struct {
	Text   string   `json:"text"`
	Mark   Mark     `json:"mark,omitempty"`
	Detail []string `json:"detail,omitempty"`
}

// Table is rows under titled columns. The first column names the row. A row of one cell
// heads the rows under it; a blank first cell means "of the row above".
type Table struct {
	Caption string   `json:"caption,omitempty"`
	Columns []Column `json:"columns"`
	Rows    [][]Cell `json:"rows"`
}

// Column is the head of a table's column.
type Column struct {
	Title string `json:"title"`
	Align Align  `json:"align,omitempty"`
}

// Align is the side of a column its cells stand on.
type Align string

// The sides. Figures that are compared down a column stand right.
const (
	Left   Align = ""
	Right  Align = "right"
	Centre Align = "centre"
)

// Cell is one place of a table.
type Cell struct {
	Text string `json:"text"`
	Mark Mark   `json:"mark,omitempty"`
}

// Facts is a run of names, each with its value.
type Facts struct {
	Facts []Fact `json:"facts"`
}

// Fact is a name and its value.
type Fact struct {
	Name string `json:"name"`
	Text string `json:"text"`
	Mark Mark   `json:"mark,omitempty"`
}

// Picture is a photograph as its file holds it.
type Picture struct {
	Caption string `json:"caption,omitempty"`
	File    string `json:"file"` // as the record names it
	Kind    string `json:"kind"` // image/jpeg or image/png
	Width   int    `json:"width"`
	Height  int    `json:"height"`
	Data    []byte `json:"-"`
}

// Figure is a drawing. What it shows stands in a table or a text of the same document as
// well, for whoever cannot see it and for paper that draws nothing.
type Figure struct {
	Title   string           `json:"title"`
	Says    string           `json:"says"`
	Drawing *drawing.Drawing `json:"-"`
	Narrow  *drawing.Drawing `json:"-"` // the same for a narrow screen or sheet; nil: there is none
}

// Text returns a cell without a mark.
func Text(text string) Cell { return Cell{Text: text} }

// Marked returns a cell with a mark.
func Marked(mark Mark, text string) Cell { return Cell{Text: text, Mark: mark} }

// Heading adds a heading; level 1 is a part of the document, 2 a part of that part.
func (d *Document) Heading(level int, text string) {
	d.Blocks = append(d.Blocks, Block{Heading: &Heading{Level: level, Text: text}})
}

// Paragraph adds running text.
func (d *Document) Paragraph(mark Mark, text string) {
	d.Blocks = append(d.Blocks, Block{Paragraph: &Paragraph{Text: text, Mark: mark}})
}

// Bullets adds a list whose order does not matter; an empty one adds nothing.
func (d *Document) Bullets(items ...Item) { d.list(false, items) }

// Steps adds a numbered list; an empty one adds nothing.
func (d *Document) Steps(items ...Item) { d.list(true, items) }

func (d *Document) list(numbered bool, items []Item) {
	if len(items) > 0 {
		d.Blocks = append(d.Blocks, Block{List: &List{Numbered: numbered, Items: items}})
	}
}

// Table adds a table.
func (d *Document) Table(t Table) { d.Blocks = append(d.Blocks, Block{Table: &t}) }

// Picture adds a photograph.
func (d *Document) Picture(p Picture) { d.Blocks = append(d.Blocks, Block{Picture: &p}) }

// Figure adds a drawing; none adds nothing.
func (d *Document) Figure(x *drawing.Drawing) {
	if x != nil {
		d.Blocks = append(d.Blocks, Block{Figure: &Figure{Title: x.Title, Says: x.Says, Drawing: x}})
	}
}

// The widths of a chart in a document, px: on a screen or sheet of the usual width, and on
// a narrow one.
const (
	chartWide   = 860
	chartNarrow = 328
)

// Chart adds a chart, for wide sheets and for narrow ones.
func (d *Document) Chart(c drawing.Chart) {
	f := Figure{Title: c.Title, Says: c.Says, Drawing: c.Bare(chartWide)}
	f.Drawing.ID += "-wide"
	f.Narrow = c.Bare(chartNarrow)
	d.Blocks = append(d.Blocks, Block{Figure: &f})
}

// Facts adds names with their values; none adds nothing.
func (d *Document) Facts(facts ...Fact) {
	if len(facts) > 0 {
		d.Blocks = append(d.Blocks, Block{Facts: &Facts{Facts: facts}})
	}
}
