package logbook_test

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"headstock/logbook"
)

// anyEntry draws an entry with any of its fields filled, sound or not.
func anyEntry(r *rapid.T) logbook.Entry {
	text := rapid.StringOf(rapid.RuneFrom([]rune("ab \"\\\n\t{},:é—\u2028\U0001F682\x01")))
	maybe := func(name string) string {
		if rapid.Bool().Draw(r, name+"?") {
			return text.Draw(r, name)
		}
		return ""
	}
	id := func(name string) (i logbook.ID) {
		if rapid.Bool().Draw(r, name+"?") {
			copy(i[:], rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(r, name))
		}
		return i
	}
	at := func(name string) time.Time {
		return time.Unix(rapid.Int64Range(-2e9, 2e11).Draw(r, name), 0).UTC()
	}
	e := logbook.Entry{Number: rapid.IntRange(0, 1<<40).Draw(r, "number"), ID: id("id"), At: at("at"), Written: at("written"),
		Kind: logbook.Kind(maybe("kind")), Unit: maybe("unit"), Record: logbook.Record{Hash: maybe("record"), Revision: maybe("revision")},
		Who: maybe("who"), Text: maybe("text"), Device: maybe("device"), Fault: maybe("fault"), Sheet: maybe("sheet"), To: maybe("to"),
		Supersedes: id("supersedes"), Why: maybe("why"), Withdrawn: rapid.Bool().Draw(r, "withdrawn"), Closes: id("closes"), Previous: maybe("previous")}
	for range rapid.IntRange(0, 3).Draw(r, "lines") {
		l := logbook.Line{What: maybe("what"), Unit: maybe("lu"), Device: maybe("ld"), Tick: logbook.Tick(maybe("tick")), Seen: maybe("seen"), State: maybe("state"), Renewed: rapid.Bool().Draw(r, "renewed")}
		if rapid.Bool().Draw(r, "value?") {
			l.Value = &logbook.Value{Measure: "length", SI: rapid.Float64().Draw(r, "si"), Spread: math.Abs(rapid.Float64().Draw(r, "spread"))}
		}
		e.Lines = append(e.Lines, l)
	}
	for range rapid.IntRange(0, 2).Draw(r, "refs") {
		e.Refs = append(e.Refs, logbook.ID{1, byte(len(e.Refs))})
	}
	return e
}

// What is written is read back, byte for byte and field for field, and is JSON that says
// the same to any other reader.
func TestCanonicalReadsBack(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		e := anyEntry(r)
		body := e.Canonical()
		back, err := logbook.ParseCanonical(string(body))
		if err != nil {
			r.Fatalf("%s: %v", body, err)
		}
		if string(back.Canonical()) != string(body) || !reflect.DeepEqual(back, e) {
			r.Fatalf("%s\n%s\n%+v\n%+v", body, back.Canonical(), e, back)
		}
		var other map[string]any
		if err := json.Unmarshal(body, &other); err != nil {
			r.Fatalf("%s: %v", body, err)
		}
		for key, want := range map[string]string{"text": e.Text, "who": e.Who, "unit": e.Unit, "id": e.ID.String(), "at": e.At.Format(time.RFC3339)} {
			got, _ := other[key].(string)
			if got != want {
				r.Fatalf("%s: another reader finds %q, not %q", key, got, want)
			}
		}
		if n := len(e.Lines); n > 0 {
			if lines, _ := other["lines"].([]any); len(lines) != n {
				r.Fatalf("another reader finds %d lines, not %d", len(lines), n)
			}
		}
	})
}

// SHA-256 of a text that is written out here, by the system's sha256sum.
func TestHashIsOfTheText(t *testing.T) {
	// printf '%s' '{"number":1,"at":"2026-10-03T06:30:00Z","written":"2026-10-03T06:31:00Z","kind":"defect","unit":"Tern 3","text":"leak"}' | sha256sum
	e := logbook.Entry{Number: 1, At: time.Date(2026, 10, 3, 6, 30, 0, 0, time.UTC), Written: time.Date(2026, 10, 3, 6, 31, 0, 0, time.UTC), Kind: logbook.Defect, Unit: "Tern 3", Text: "leak"}
	if got := string(e.Canonical()); got != `{"number":1,"at":"2026-10-03T06:30:00Z","written":"2026-10-03T06:31:00Z","kind":"defect","unit":"Tern 3","text":"leak"}` {
		t.Error(got)
	}
	if got := logbook.HashOf(e.Canonical()); got != "d0de1de027ca3733886643111fbb26b956f7837a8f87fe5a66e45303617cfb2e" {
		t.Error(got)
	}
}

func TestOtherFormsAreRefused(t *testing.T) {
	good := `{"number":1,"at":"2026-10-03T06:30:00Z","written":"2026-10-03T06:31:00Z","kind":"defect","unit":"Tern 3","text":"leak"}`
	if _, err := logbook.ParseCanonical(good); err != nil {
		t.Fatal(err)
	}
	for _, change := range [][2]string{
		{`"number":1`, `"number":01`}, {`"number":1`, `"number": 1`}, {`,"kind"`, `, "kind"`}, {`"unit":"Tern 3"`, `"unit":""`},
		{`"kind":"defect","unit":"Tern 3"`, `"unit":"Tern 3","kind":"defect"`}, {`leak"`, `leak","text":"x"`}, {`leak"`, `leak\u0061"`}, {`leak"`, `leak\/"`},
		{`06:30:00Z`, `06:30:00+00:00`}, {`06:30:00Z`, `06:30:00.5Z`}, {`leak`, "leak\n"}, {`leak"}`, `leak"`}, {`leak"}`, `leak"} `}, {`leak`, "le\xffak"},
		{`"text":"leak"`, `"lines":[]`}, {`"text":"leak"`, `"lines":[{"measure":"length","si":1.0}]`}, {`"text":"leak"`, `"lines":[{"measure":"length"}]`},
		{`"text":"leak"`, `"lines":[{"measure":"length","si":1,"spread":0}]`}, {`"text":"leak"`, `"withdrawn":false`}, {`"text":"leak"`, `"closes":"00000000000000000000000000000000"`},
		{`"text":"leak"`, `"closes":"AA000000000000000000000000000000"`}, {good, ""}, {good, "{"}, {good, "null"},
	} {
		if _, err := logbook.ParseCanonical(strings.Replace(good, change[0], change[1], 1)); err == nil {
			t.Errorf("%s for %s was read", change[1], change[0])
		}
	}
}

func FuzzParseCanonical(f *testing.F) {
	f.Add(`{"number":1,"at":"2026-10-03T06:30:00Z","written":"2026-10-03T06:31:00Z","kind":"defect","unit":"Tern 3","text":"le\"ak\n"}`)
	f.Add(`{"number":2,"id":"000102030405060708090a0b0c0d0e0f","at":"2026-10-03T06:30:00Z","written":"2026-10-03T06:31:00Z","lines":[{"what":"x","measure":"length","si":-0.5,"renewed":true},{"tick":"right"}],"refs":["000102030405060708090a0b0c0d0e0f"]}`)
	f.Fuzz(func(t *testing.T, body string) {
		e, err := logbook.ParseCanonical(body)
		if err != nil {
			return
		}
		if got := string(e.Canonical()); got != body {
			t.Errorf("read %q, written %q", body, got)
		}
		if !json.Valid([]byte(body)) {
			t.Errorf("%q was read and is no JSON", body)
		}
	})
}

// A chain is whole as it was made, and nothing can be changed, taken out, put twice or
// swapped without it being said.
func TestChainNotices(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		type row struct {
			number     int
			body, hash string
		}
		var rows []row
		previous := ""
		for i := range rapid.IntRange(3, 12).Draw(r, "n") {
			e := anyEntry(r)
			sealed, body := logbook.Seal(e, i, previous)
			rows = append(rows, row{sealed.Number, string(body), sealed.Hash})
			previous = sealed.Hash
		}
		follow := func() logbook.Chain {
			var c logbook.Chain
			for _, x := range rows {
				c.Follow(x.number, x.body, x.hash)
			}
			return c
		}
		if c := follow(); len(c.Breaks) > 0 || c.Head != previous || c.Number != len(rows) {
			r.Fatalf("%+v", c)
		}
		i := rapid.IntRange(0, len(rows)-2).Draw(r, "where")
		switch act := rapid.IntRange(0, 4).Draw(r, "act"); act {
		case 0:
			at := rapid.IntRange(0, len(rows[i].body)-1).Draw(r, "byte")
			b := []byte(rows[i].body)
			b[at] ^= 1
			rows[i].body = string(b)
		case 1:
			rows = append(rows[:i], rows[i+1:]...)
		case 2:
			rows = append(rows[:i+1], rows[i:]...)
		case 3:
			rows[i], rows[i+1] = rows[i+1], rows[i]
		case 4: // changed, and its own hash made anew
			e, err := logbook.ParseCanonical(rows[i].body)
			if err != nil {
				r.Fatal(err)
			}
			e.Text += "x"
			rows[i].body = string(e.Canonical())
			rows[i].hash = logbook.HashOf(e.Canonical())
		}
		if c := follow(); len(c.Breaks) == 0 {
			r.Fatal("nothing was noticed")
		}
	})
}

func ExampleEntry_Canonical() {
	e := logbook.Entry{Number: 7, ID: logbook.ID{1, 2}, At: time.Date(2026, 10, 3, 6, 30, 0, 0, time.UTC), Written: time.Date(2026, 10, 3, 6, 31, 0, 0, time.UTC),
		Kind: logbook.Measurement, Unit: "Tern 3", Who: "A. Reader", Lines: []logbook.Line{{What: "piston travel", Device: "bogie-1-piston", State: "applied", Value: &logbook.Value{Measure: "length", SI: 0.092}}}}
	fmt.Println(string(e.Canonical()))
	// Output: {"number":7,"id":"01020000000000000000000000000000","at":"2026-10-03T06:30:00Z","written":"2026-10-03T06:31:00Z","kind":"measurement","unit":"Tern 3","who":"A. Reader","lines":[{"what":"piston travel","device":"bogie-1-piston","measure":"length","si":0.092,"state":"applied"}]}
}
