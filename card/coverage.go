package card

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
)

// mostGroups keeps the groups of what looks alike to the largest; the JSON has all.
const mostGroups = 15

// Coverage says what the prescribed brake test does not show, what added to it would show
// it, and what cannot be told apart by it.
func Coverage(c *consist.Consist, cv *setup.Coverage, base *prove.Proof, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "What the brake test shows: " + c.String(), Subtitle: c.Fleet.Railway}
	if c.HasDraft() {
		d.Banner = Draft
	}
	d.Verdict = &Verdict{Mark: Warn, Text: fmt.Sprintf("The prescribed test does not show %d of the %s looked at here, and each of those breaks a requirement.", len(cv.Hidden), count(len(cv.Rows), "case"))}
	if len(cv.Hidden) == 0 {
		d.Verdict = &Verdict{Mark: Good, Text: fmt.Sprintf("The prescribed test shows all of the %s looked at here that break a requirement.", count(len(cv.Rows), "case"))}
	}
	if base.Verdict != prove.Works && base.Verdict != prove.WithLoss {
		d.Paragraph(Warn, "As it stands this set-up "+base.Verdict+" already; what follows is held against that.")
	}
	d.Paragraph(None, "A case is one thing wrong that came about at one time. It is shown where a reading that the test takes differs, whichever way the gauge errs: those that a rule bounds, and those before the driver. The rest of the sheet is there to be looked at, but nobody is asked to.")
	d.Facts(
		Fact{Name: "shown by rule", Text: count(cv.Counts[setup.ByRule], "case")},
		Fact{Name: "only unusual", Text: count(cv.Counts[setup.Unusual], "case") + ", inside what the rules allow or where they say nothing", Mark: Warn},
		Fact{Name: "not shown, and something is broken", Text: count(len(cv.Hidden), "case"), Mark: Bad},
		Fact{Name: "not shown, and nothing is broken", Text: count(cv.Harmless, "case"), Mark: Quiet})
	hiddenTable(d, cv)
	addedTable(d, cv)
	d.Heading(1, "What looks alike")
	d.Paragraph(None, fmt.Sprintf("%s are shown by readings that no other gives. %s look alike to the test:", capital(count(cv.Alone, "cause")), capital(count(len(cv.Ambiguous), "group"))))
	var items []Item
	for k, g := range cv.Ambiguous {
		if k == mostGroups {
			items = append(items, Item{Text: fmt.Sprintf("and %s more, each smaller or as small", count(len(cv.Ambiguous)-k, "group")), Mark: Quiet})
			break
		}
		l := cv.Looks[g.Tells[0].Look]
		items = append(items, Item{Text: fmt.Sprintf("%s, first at step %s by %s of %s", count(len(g.Causes), "cause"), l.Step, l.Name, l.Unit), Detail: []string{listed(g.Causes, 8)}})
	}
	d.Bullets(items...)
	pairsEscape(d, cv)
	footer(d, c, r, base)
	d.Footer = append(d.Footer, fmt.Sprintf("%d further runs for what is added.", cv.Runs))
	return d
}

// listed names the first few of a list.
func listed(list []string, most int) string {
	if len(list) <= most {
		return strings.Join(list, "; ")
	}
	return strings.Join(list[:most], "; ") + fmt.Sprintf("; and %d more", len(list)-most)
}

// hiddenTable lists what is not shown, one row a cause, with the times at which it is not.
func hiddenTable(d *Document, cv *setup.Coverage) {
	d.Heading(1, "Not shown")
	if len(cv.Hidden) == 0 {
		d.Paragraph(Good, "None.")
		return
	}
	t := Table{Caption: "Not shown by the prescribed test though something is broken, the gravest first", Columns: []Column{{Title: "what is wrong"}, {Title: "since"}, {Title: "what is broken"}, {Title: "why it is not shown"}}}
	at := map[string]int{}
	grade := setup.Grade(-1)
	for _, n := range cv.Hidden {
		x := cv.Rows[n]
		if x.Grade != grade {
			grade = x.Grade
			t.Rows = append(t.Rows, []Cell{Marked(gradeMark(grade), x.Danger)})
		}
		key := x.Cause.Key + "\x00" + x.Why + "\x00" + x.Danger
		if k, ok := at[key]; ok {
			t.Rows[k][1].Text += ", " + x.When
			continue
		}
		at[key] = len(t.Rows)
		why := x.Why
		if x.Why == setup.WhyAway {
			l := cv.Looks[x.Away[0].Look]
			why += fmt.Sprintf(": step %s, %s, %s at %s", l.Step, l.Unit, l.Name, l.Place)
		}
		t.Rows = append(t.Rows, []Cell{Text(x.Cause.Says), Text(x.When), Text(listed(x.Worse, 3)), Text(why)})
	}
	d.Table(t)
}

// minutes words a time spent, rounded up to half a minute.
func minutes(s float64) string {
	return strings.TrimSuffix(fmt.Sprintf("%.1f", math.Ceil(s/30-1e-6)/2), ".0") + " min"
}

func addedTable(d *Document, cv *setup.Coverage) {
	if len(cv.Hidden) == 0 {
		return
	}
	d.Heading(1, "What could be added to the test")
	d.Paragraph(None, "Nothing of the prescribed test is left out for it. Each walk is counted there and back from the driver, so several on one round take less; an act is run from the end of the test and counts its waits and charging again.")
	if cv.Cheapest < 0 {
		d.Paragraph(Unknown, "Nothing that this program can run or count the way to shows any of it.")
		return
	}
	one := func(title string, k int) Fact {
		a := cv.Added[k]
		return Fact{Name: title, Text: fmt.Sprintf("%s (%s, shows %d of %d)", a.Say, minutes(a.Seconds), len(a.Shows), len(cv.Hidden))}
	}
	d.Facts(one("shows most", cv.Cheapest), one("shows most for its time", cv.Best))
	l := cv.Least
	if l.Proved {
		d.Paragraph(None, fmt.Sprintf("The least that shows all of it that can be shown: %s, %s together. Proved least: %d branches were looked at and none is cheaper.", count(len(l.Chosen), "addition"), minutes(l.Seconds), l.Nodes))
	} else {
		d.Paragraph(Warn, fmt.Sprintf("The least found that shows all of it that can be shown: %s, %s together. Bounded, not exhausted: after %d branches, no set can take less than %s.", count(len(l.Chosen), "addition"), minutes(l.Seconds), l.Nodes, minutes(l.Lower)))
	}
	t := Table{Caption: "The least that is added, and what nothing else of it shows", Columns: []Column{{Title: "do"}, {Title: "takes", Align: Right}, {Title: "shows", Align: Right}, {Title: "needed for"}, {Title: "needs, and mind"}}}
	for _, k := range l.Chosen {
		a := cv.Added[k]
		var only []string
		for h, by := range l.By {
			if len(by) == 1 && by[0] == k {
				if key := cv.Rows[cv.Hidden[h]].Cause.Key; !slices.Contains(only, key) {
					only = append(only, key)
				}
			}
		}
		t.Rows = append(t.Rows, []Cell{Text(a.Say), Text(minutes(a.Seconds)), Text(fmt.Sprint(len(a.Shows))), Text(listed(only, 3)), mind(append(slices.Clone(a.Needs), a.Cautions...))})
	}
	d.Table(t)
	var never []string
	for _, h := range l.Never {
		x := cv.Rows[cv.Hidden[h]]
		if s := x.Cause.Says + ", " + x.When; !slices.Contains(never, s) {
			never = append(never, s)
		}
	}
	d.Heading(2, "Still hidden")
	if len(never) == 0 {
		d.Paragraph(Good, "Nothing: each is shown by something that is added.")
		return
	}
	d.Paragraph(Bad, fmt.Sprintf("%s that nothing of the catalogue shows:", capital(count(len(never), "case"))))
	var items []Item
	for _, s := range never {
		items = append(items, Item{Text: s, Mark: Bad})
	}
	d.Bullets(items...)
}

// mind is what is needed and minded, marked where there is anything.
func mind(list []string) Cell {
	if len(list) == 0 {
		return Text("")
	}
	return Marked(Warn, strings.Join(list, "; "))
}

func pairsEscape(d *Document, cv *setup.Coverage) {
	d.Heading(1, "Pairs that escape")
	if cv.PairsSeen == 0 {
		d.Paragraph(Unknown, "Pairs of wrong settings were not looked at here; the command headstock coverage does so with --pairs. That every single one is shown does not say that every pair is.")
		return
	}
	if len(cv.Pairs) == 0 {
		d.Paragraph(Good, fmt.Sprintf("None of %d pairs escapes the test with the least that is added, other than by a half that is hidden by itself.", cv.PairsSeen))
		return
	}
	d.Paragraph(Bad, fmt.Sprintf("Of %d pairs, those of %s escape the test and the least that is added, though neither half is hidden by itself:", cv.PairsSeen, count(len(cv.Pairs), "network")))
	var items []Item
	for _, p := range cv.Pairs {
		items = append(items, Item{Text: p.Cause.Says, Mark: gradeMark(p.Grade), Detail: []string{"breaks: " + listed(p.Worse, 3), p.Why}})
	}
	d.Bullets(items...)
}

// CoverageMatrix is every case across the steps of the test: which step shows it, by which
// gauge or piston first, seen from where and by whom.
func CoverageMatrix(c *consist.Consist, cv *setup.Coverage, base *prove.Proof, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "Cases by steps of the brake test: " + c.String(), Subtitle: c.Fleet.Railway}
	if c.HasDraft() {
		d.Banner = Draft
	}
	t := Table{Caption: "R: outside what a rule allows; u: unusual only; a: where nobody is asked to look; a blank: not shown",
		Columns: []Column{{Title: "what is wrong"}, {Title: "since"}, {Title: "shown"}, {Title: "first at step"}, {Title: "look at"}, {Title: "where"}, {Title: "by whom"}}}
	for _, s := range cv.Steps {
		t.Columns = append(t.Columns, Column{Title: s, Align: Centre})
	}
	for _, x := range cv.Rows {
		row := []Cell{Text(x.Cause.Key), Text(x.When), Text(x.Shown)}
		if x.First >= 0 {
			l := &cv.Looks[x.First]
			row = append(row, Text(l.Step), Text(l.Unit+", "+l.Name), Text(l.Place), Text(l.By()))
		} else {
			row = append(row, Text(""), Text(x.Why), Text(""), Text(""))
		}
		how, letters := cv.ByStep(x), map[string]string{"rule": "R", "unusual": "u", "aside": "a"}
		for _, s := range cv.Steps {
			row = append(row, Text(letters[how[s]]))
		}
		t.Rows = append(t.Rows, row)
	}
	d.Table(t)
	footer(d, c, r, base)
	return d
}
