package card

import (
	"strings"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/prepare"
)

// What a start can come to, each in its words.
func TestStartInWords(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs[0])
	}
	c, err := consist.Parse(f, "Tern 3 lead")
	if err != nil {
		t.Fatal(err)
	}
	k := c.Vehicles[0].Class
	dev, _ := k.Device("low-water-trip")
	reached := prepare.Stage{Name: "control live", Result: prepare.Reached}
	for _, x := range []struct {
		what string
		a    prepare.Attempt
		mark Mark
		want []string
		not  []string
	}{
		{"a race", prepare.Attempt{Result: prepare.NotKnown, Stages: []prepare.Stage{reached, {Name: "cranks", Result: prepare.NotKnown}},
			Loops: []prepare.Loop{{Kind: "races", Things: []string{"one relay", "other relay"}}, {Kind: "oscillates", Things: []string{"buzzer"}}}}, Unknown,
			[]string{"cannot say whether it gets as far as “cranks”", "Which of “one relay”, “other relay” moves first decides", "“buzzer” never come to rest"}, nil},
		{"a short", prepare.Attempt{Result: prepare.NotKnown, Short: true, Stages: []prepare.Stage{{Name: "control live", Result: prepare.NotKnown}}}, Unknown,
			[]string{"plus and minus of the battery are joined"}, nil},
		{"not the crew's", prepare.Attempt{Result: prepare.NotReached, Stages: []prepare.Stage{reached, {Name: "cranks", Result: prepare.NotReached}},
			Held: []prepare.Remedy{{Device: dev, ID: dev.ID, Name: dev.Name, Place: dev.Place, From: "tripped", To: "set", Withheld: "must not be moved"}}}, Bad,
			[]string{"it does not crank", "not yours to move", "must not be moved: report it"}, []string{"reset Low water"}},
		{"forbidden", prepare.Attempt{Result: prepare.NotReached, Stages: []prepare.Stage{reached, {Name: "cranks", Result: prepare.NotReached}},
			Never:   []prepare.Forbidden{{Device: dev, ID: dev.ID, Name: dev.Name, Never: "by the crew"}},
			Singles: []prepare.Remedy{{Device: dev, ID: dev.ID, Name: dev.Name, From: "tripped", To: "set"}}}, Bad,
			[]string{"Do not reset, do not start.", "never by the crew"}, []string{"then reset"}},
		{"nothing found", prepare.Attempt{Result: prepare.NotReached, Stages: []prepare.Stage{reached, {Name: "cranks", Result: prepare.NotReached}}}, Bad,
			[]string{"leave it to the fitter"}, nil},
	} {
		d := Crank(c, 0, []*prepare.Attempt{&x.a})
		var text strings.Builder
		text.WriteString(d.Verdict.Text + "\n" + strings.Join(d.Verdict.Reasons, "\n") + "\n")
		for _, b := range d.Blocks {
			switch {
			case b.Heading != nil:
				text.WriteString(b.Heading.Text + "\n")
			case b.Paragraph != nil:
				text.WriteString(b.Paragraph.Text + "\n")
			case b.List != nil:
				for _, i := range b.List.Items {
					text.WriteString(i.Text + "\n" + strings.Join(i.Detail, "\n") + "\n")
				}
			}
		}
		if d.Verdict.Mark != x.mark {
			t.Errorf("%s: mark %q", x.what, d.Verdict.Mark)
		}
		for _, w := range x.want {
			if !strings.Contains(text.String(), w) {
				t.Errorf("%s: no %q in\n%s", x.what, w, text.String())
			}
		}
		for _, w := range x.not {
			if strings.Contains(text.String(), w) {
				t.Errorf("%s: %q in\n%s", x.what, w, text.String())
			}
		}
	}
}
