package card

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"headstock/fleet"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
)

// mostWorse keeps the head of a matrix to what a person reads; the part under it has all.
const mostWorse = 5

// Matrix is the fleet matrix in counted sentences: for each order of classes how many ways
// there are to put them so, what becomes of them, and why. Each adds a table with every
// way. Worse are the couplings that were better before.
func Matrix(f *fleet.Fleet, m *setup.Matrix, ways []setup.Way, results []setup.MatrixResult, worse []setup.Worsened, each bool, r *rule.Rules, u quantity.Units) *Document {
	units := map[int]string{2: "two", 3: "three"}[m.Units] + " units"
	d := &Document{Title: "Fleet matrix: every way to couple " + units, Subtitle: f.Railway}
	of := map[string]int{}
	for _, w := range ways {
		of[results[w.Job].Outcome]++
	}
	d.Verdict = &Verdict{Text: fmt.Sprintf("Of %s to couple %s with one of them leading, %s.", count(m.Ways, "way"), units, outcomes(of))}
	if m.Ways == 0 {
		d.Verdict.Text = "There is no way to couple " + units + " of these classes in these roles with one of them leading."
	}
	if len(worse) > 0 {
		d.Verdict.Mark = Bad
		was := fmt.Sprintf("%s run worse than before", count(len(worse), "consist"))
		if len(worse) == 1 {
			was = "1 consist runs worse than before"
		}
		d.Verdict.Reasons = append(d.Verdict.Reasons, was)
		d.Heading(1, "Worse than before")
		var items []Item
		for i, w := range worse {
			s := fmt.Sprintf("%s: was %s, now %s", w.Is.Consist, spoken(w.Was.Outcome), spoken(w.Is.Outcome))
			if i < mostWorse {
				d.Verdict.Reasons = append(d.Verdict.Reasons, s)
			}
			items = append(items, Item{Text: s, Mark: Bad, Detail: resultWhy(w.Is, u, 3)})
		}
		if n := len(worse) - mostWorse; n > 0 {
			d.Verdict.Reasons = append(d.Verdict.Reasons, fmt.Sprintf("… and %d more, under Worse than before", n))
		}
		d.Bullets(items...)
	}
	tallies := m.Tallies(ways, results)
	lead := ""
	var items []Item
	told := map[int]bool{}
	for k, t := range tallies {
		if told[k] {
			continue
		}
		if name := t.Classes[t.Lead]; name != lead {
			d.Bullets(items...)
			items = nil
			lead = name
			d.Heading(1, lead+" leads")
		}
		it := tally(t, m)
		if n := turnedTally(tallies, t); n > k {
			told[n] = true
			it.Text += " The same of as many to put " + inOrder(tallies[n]) + "."
		}
		items = append(items, it)
	}
	d.Bullets(items...)
	counted(d, m)
	if each {
		tallyTable(d, tallies)
		everyWay(d, ways, results, u)
	}
	var classes []*fleet.Class
	for _, x := range m.Roles {
		if c, ok := f.Class(x.Class); ok {
			classes = append(classes, c)
		}
	}
	d.rests(classes...)
	d.Footer = append(d.Footer, "Rules: "+r.Title+". Local rules come first.",
		"Computed from "+count(len(results), "consist")+" at 20 °C and sea level. The tool proves the record; only the test proves the locomotive.")
	d.Rests = append(d.Rests, "from "+count(len(results), "consist"))
	return d
}

// outcomes counts what became of ways.
func outcomes(of map[string]int) string {
	var parts []string
	for _, o := range setup.Outcomes() {
		if of[o] > 0 {
			parts = append(parts, becomes(of[o], o))
		}
	}
	return andLast(parts)
}

// becomes is a number with its outcome: "1 works", "12 work with losses".
func becomes(n int, outcome string) string {
	many := map[string]string{prove.Works: "work", prove.WithLoss: "work with losses", prove.DoesNot: "do not work", prove.CannotBe: "cannot be said", setup.Uncoupled: "cannot be coupled"}
	if n == 1 && outcome != prove.CannotBe {
		return "1 " + outcome
	}
	return fmt.Sprintf("%d %s", n, many[outcome])
}

// spoken is an outcome of one consist.
func spoken(outcome string) string {
	if outcome == prove.CannotBe {
		return "nothing that can be said"
	}
	return outcome
}

// andLast joins with commas and a last "and".
func andLast(parts []string) string {
	switch n := len(parts); n {
	case 0:
		return ""
	case 1:
		return parts[0]
	default:
		return strings.Join(parts[:n-1], ", ") + " and " + parts[n-1]
	}
}

// oneOf is a class with its article; one spelt in capitals is said letter by letter.
func oneOf(class string) string {
	sounds := "AEIOU"
	if class == strings.ToUpper(class) {
		sounds = "AEFHILMNORSX"
	}
	if strings.ContainsAny(class[:1], sounds) {
		return "an " + class
	}
	return "a " + class
}

// inOrder words which classes stand where, and which leads.
func inOrder(t setup.Tally) string {
	leading := "a leading " + t.Classes[t.Lead]
	other := func(list []string) string {
		var parts []string
		for _, c := range list {
			parts = append(parts, oneOf(c))
		}
		return strings.Join(parts, " and behind that ")
	}
	front, rear := t.Classes[:t.Lead], t.Classes[t.Lead+1:]
	switch {
	case len(front) == 0:
		return other(rear) + " behind " + leading
	case len(rear) == 0:
		return other(front) + " in front of " + leading
	}
	return other(front) + " in front of and " + other(rear) + " behind " + leading
}

// turnedTally is the tally of the same classes in the opposite order, where the same
// becomes of its ways for the same reasons; -1 where there is none.
func turnedTally(all []setup.Tally, t setup.Tally) int {
	classes := slices.Clone(t.Classes)
	slices.Reverse(classes)
	return slices.IndexFunc(all, func(o setup.Tally) bool {
		return slices.Equal(o.Classes, classes) && o.Lead == len(classes)-1-t.Lead && o.Ways == t.Ways && maps.Equal(o.Of, t.Of) &&
			slices.EqualFunc(o.Groups, t.Groups, func(a, b setup.TallyGroup) bool {
				among := slices.Clone(b.Among)
				slices.Reverse(among)
				return a.Outcome == b.Outcome && a.Ways == b.Ways && a.Whole == b.Whole && slices.Equal(a.Reasons, b.Reasons) &&
					slices.EqualFunc(a.Among, among, func(x, y setup.TallyAmong) bool {
						return slices.Equal(x.Units, y.Units) && slices.Equal(x.Roles, y.Roles) && slices.Equal(x.Facings, y.Facings)
					})
			})
	})
}

func tally(t setup.Tally, m *setup.Matrix) Item {
	it := Item{Text: fmt.Sprintf("Of %s to put %s, %s.", count(t.Ways, "way"), inOrder(t), outcomes(t.Of))}
	if t.Of[prove.Works] == t.Ways {
		it.Mark = Good
		if t.Ways > 1 {
			it.Text = fmt.Sprintf("Of %s to put %s, all work.", count(t.Ways, "way"), inOrder(t))
		}
	}
	for _, g := range t.Groups {
		s := becomes(g.Ways, g.Outcome)
		s = strings.ToUpper(s[:1]) + s[1:] + ": " + groupWhy(g)
		if among := groupAmong(t, g, m); among != "" {
			s += ". " + among
		}
		it.Detail = append(it.Detail, s+". Run as "+g.Example+".")
	}
	return it
}

// groupWhy words the reasons of a group; what is said of several requirements is said once.
func groupWhy(g setup.TallyGroup) string {
	var said []string
	of := map[string][]string{}
	for _, w := range g.Reasons {
		requirement := part(w.Requirement)
		var s string
		switch {
		case w.Requirement == "":
			s = w.Because
		case w.Lacks != "":
			s = w.Whose + " needs " + w.Lacks
		case w.Because != "" && g.Outcome == prove.WithLoss:
			s = requirement + " lost on " + w.Whose + ", because " + w.Because
			requirement = ""
		case w.Kind == "out of use":
			s = w.Because + ", on " + w.Whose
		default:
			s = kindWords(w.Kind, w.Whose)
			if w.Because != "" {
				s += ": " + w.Because
			}
		}
		if _, ok := of[s]; !ok {
			said = append(said, s)
			of[s] = nil
		}
		if requirement != "" {
			of[s] = append(of[s], requirement)
		}
	}
	for i, s := range said {
		if names := of[s]; len(names) > 0 {
			said[i] = s + " (" + strings.Join(names, ", ") + ")"
		}
	}
	return strings.Join(said, "; ")
}

// kindWords says a kind of reason of a unit, without figures: those differ from way to
// way.
func kindWords(kind, whose string) string {
	words := map[string]string{
		"does not apply": "%s does not brake", "no penalty": "the vigilance penalty of %s does not brake every vehicle", "drags": "%s still brakes after the bail-off",
		"independent does not apply": "%s does not brake with the independent", "independent does not release": "%s keeps the independent on",
		"not charged": "%s does not charge its brake pipe", "on when charged": "%s stands braked with the train charged",
		"first reduction": "%s does not answer the first reduction", "pipe not empty": "%s keeps air in its brake pipe in emergency", "pipe does not follow": "the brake pipe of %s does not follow the lead's",
		"no reserve": "%s has too little air left", "hand brake": "a hand brake of %s is not off", "dead not charged": "%s, hauled dead, is not charged",
		"dead too hard": "%s, hauled dead, brakes too hard", "over rating": "a reservoir of %s stands above its rating", "blows": "air blows at %s", "feeds": "%s feeds the brake pipe",
		"overcharged": "the brake pipe of %s is overcharged", "no command": "the lead's command does not reach %s", "needs circuits": "the record of %s does not say what its control jumper carries",
		"brakes less": "%s brakes with less than it should", "not shared": "the main reservoir pipe of %s is not open through", "did not happen": "%s is not up and steady in time",
		"leaks": "the brake pipe of %s leaks", "rises": "the brake pipe of %s rises with the lead's valve cut out",
	}
	if w, ok := words[kind]; ok {
		return fmt.Sprintf(w, whose)
	}
	return strings.TrimSpace(whose + " " + kind)
}

// groupAmong says which of the ways a group is.
func groupAmong(t setup.Tally, g setup.TallyGroup, m *setup.Matrix) string {
	var parts []string
	for i, a := range g.Among {
		var s []string
		if len(a.Units) > 0 {
			s = append(s, t.Classes[i]+" "+numbersOf(a.Units))
		}
		if len(a.Roles) > 0 {
			s = append(s, "as "+strings.Join(a.Roles, " or "))
		}
		if len(a.Facings) == 1 {
			s = append(s, map[string]string{"normal": "headstock 1 forward", "reversed": "headstock 2 forward"}[a.Facings[0]])
		}
		if len(s) == 0 {
			continue
		}
		what := strings.Join(s, ", ")
		if len(a.Units) == 0 {
			who := "the " + t.Classes[i]
			if i == t.Lead {
				who = "the leading " + t.Classes[i]
			} else if len(t.Classes) > 2 {
				who += fmt.Sprintf(" in place %d", i+1)
			}
			what = who + " " + what
		} else if i == t.Lead {
			what = "leading " + what
		} else if len(t.Classes) > 2 {
			what += fmt.Sprintf(" in place %d", i+1)
		}
		parts = append(parts, what)
	}
	if len(parts) == 0 {
		return ""
	}
	s := "With " + strings.Join(parts, "; ")
	if !g.Whole {
		s = "Some of those with " + strings.Join(parts, "; ")
	}
	return s
}

// Numbers writes unit numbers, those in a row drawn together.
func Numbers(numbers []int) string { return numbersOf(numbers) }

// numbersOf writes unit numbers, those in a row drawn together.
func numbersOf(numbers []int) string {
	var parts []string
	for i := 0; i < len(numbers); i++ {
		k := i
		for k+1 < len(numbers) && numbers[k+1] == numbers[k]+1 {
			k++
		}
		switch {
		case k == i:
			parts = append(parts, fmt.Sprint(numbers[i]))
		default:
			parts = append(parts, fmt.Sprintf("%d–%d", numbers[i], numbers[k]))
		}
		i = k
	}
	return strings.Join(parts, ", ")
}

// counted says what the ways are and which were put together.
func counted(d *Document, m *setup.Matrix) {
	d.Heading(1, "How it is counted")
	t := Table{Caption: "Units alike in all that reaches the air or the claim stand for one another", Columns: []Column{{Title: "class"}, {Title: "alike"}, {Title: "roles"}}}
	for _, cr := range m.Roles {
		roles := slices.Clone(cr.Roles)
		if cr.Leads {
			roles = append([]string{"lead"}, roles...)
		}
		name, said := cr.Class, strings.Join(roles, "; ")
		for _, v := range m.Variants {
			if v.Class == cr.Class {
				t.Rows = append(t.Rows, []Cell{Text(name), Text(numbersOf(v.Units)), Text(said)})
				name, said = "", ""
			}
		}
	}
	d.Table(t)
	var items []Item
	items = append(items, Item{Text: "A way is which unit stands where, which of its headstocks is forward, and in which role, front first, with exactly one lead. A unit that is driven is driven from the cab that faces forward, or its only one."})
	if m.Turned > 0 {
		items = append(items, Item{Text: fmt.Sprintf("%s another one seen from its other end, with every unit driven from the same cab: the same train, run once.", isAre(m.Turned, "way"))})
	}
	if m.Short > 0 {
		items = append(items, Item{Text: fmt.Sprintf("%s not counted: more units of a kind would be needed than there are.", isAre(m.Short, "more way"))})
	}
	items = append(items, Item{Text: "Roles are those that each record gives; every outcome but cannot be coupled comes from a run, or from what a run would lack."})
	d.Bullets(items...)
}

func isAre(n int, thing string) string {
	if n == 1 {
		return "1 " + thing + " is"
	}
	return count(n, thing) + " are"
}

// tallyTable is the counts of the sentences as a table.
func tallyTable(d *Document, tallies []setup.Tally) {
	d.Heading(1, "Counts")
	t := Table{Caption: "From the front; the lead is marked", Columns: []Column{{Title: "classes"}, {Title: "ways", Align: Right}}}
	for _, o := range setup.Outcomes() {
		t.Columns = append(t.Columns, Column{Title: o, Align: Right})
	}
	for _, x := range tallies {
		classes := slices.Clone(x.Classes)
		classes[x.Lead] += " lead"
		row := []Cell{Text(strings.Join(classes, ", ")), Text(fmt.Sprint(x.Ways))}
		for _, o := range setup.Outcomes() {
			row = append(row, Text(fmt.Sprint(x.Of[o])))
		}
		t.Rows = append(t.Rows, row)
	}
	d.Table(t)
}

// everyWay is a table with a row for each way.
func everyWay(d *Document, ways []setup.Way, results []setup.MatrixResult, u quantity.Units) {
	d.Heading(1, "Every way")
	t := Table{Caption: "Front first", Columns: []Column{{Title: "consist"}, {Title: "outcome"}, {Title: "why"}, {Title: "run as"}}}
	marks := map[string]Mark{prove.Works: Good, prove.WithLoss: Warn, prove.DoesNot: Bad, prove.CannotBe: Unknown, setup.Uncoupled: Quiet}
	for _, w := range ways {
		res := results[w.Job]
		as := ""
		if w.Turned {
			as = res.Consist
		}
		t.Rows = append(t.Rows, []Cell{Text(w.Consist), Marked(marks[res.Outcome], res.Outcome), Text(strings.Join(resultWhy(res, u, 3), "; ")), Text(as)})
	}
	d.Table(t)
}

// resultWhy words why a result is what it is, at most so many sentences.
func resultWhy(res setup.MatrixResult, u quantity.Units, most int) []string {
	if res.Because != "" {
		return []string{res.Because}
	}
	var out []string
	for _, f := range res.Why {
		for _, x := range merge(f.Reasons) {
			out = append(out, Sentence(x, u))
		}
		if len(f.Reasons) == 0 {
			out = append(out, f.Says)
		}
	}
	if n := len(out) - most; n > 0 {
		out = append(out[:most], fmt.Sprintf("… and %d more", n))
	}
	return out
}
