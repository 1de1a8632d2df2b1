package card_test

import (
	"encoding/json"
	"reflect"
	"testing"

	"headstock/card"
)

// A document survives being written as JSON, and its names are those that programs
// were promised.
func TestDocumentJSON(t *testing.T) {
	d := &card.Document{Title: "t", Verdict: &card.Verdict{Mark: card.Unknown, Text: "cannot say"}, Footer: []string{"f"}}
	d.Heading(1, "h")
	d.Paragraph(card.Quiet, "p")
	d.Bullets(card.Item{Text: "b"})
	d.Steps(card.Item{Text: "s", Detail: []string{"d"}})
	d.Steps()
	d.Table(card.Table{Caption: "c", Columns: []card.Column{{Title: "x", Align: card.Right}}, Rows: [][]card.Cell{{card.Marked(card.Bad, "1")}}})
	d.Facts(card.Fact{Name: "n", Text: "v"})
	text, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	want := `{"title":"t","verdict":{"mark":"unknown","text":"cannot say"},"blocks":[{"heading":{"level":1,"text":"h"}},` +
		`{"paragraph":{"text":"p","mark":"quiet"}},{"list":{"items":[{"text":"b"}]}},{"list":{"numbered":true,"items":[{"text":"s","detail":["d"]}]}},` +
		`{"table":{"caption":"c","columns":[{"title":"x","align":"right"}],"rows":[[{"text":"1","mark":"bad"}]]}},` +
		`{"facts":{"facts":[{"name":"n","text":"v"}]}}],"footer":["f"]}`
	if string(text) != want {
		t.Errorf("got  %s\nwant %s", text, want)
	}
	var back card.Document
	if err := json.Unmarshal(text, &back); err != nil || !reflect.DeepEqual(&back, d) {
		t.Errorf("read back (%v): %+v", err, back)
	}
}
