package consist

import (
	"slices"
	"strconv"
	"strings"

	"headstock/fleet"
	"headstock/internal/reading"
)

// Dictation writes a consist as it is said: numbers as words, no commas, "leading" for
// "lead", the letters of a short class apart. What is said is turned into what is typed
// before it is read; every word keeps its column, so that complaints still point at it.

// joining are words between two units as spoken.
var joining = []string{"and", "then", "next", "with", "plus", "a", "an"}

// acting are roles as spoken, with what is typed for them.
var acting = map[string]string{"leads": "lead", "leading": "lead", "trails": "trail", "trailing": "trail"}

// spoken turns items as dictated into items as typed.
func spoken(f *fleet.Fleet, items []item) []item {
	isClass := func(w string) bool { _, ok := f.Class(w); return ok }
	var out []item
	for _, it := range items {
		words := figured(lettered(trimmed(it.words), isClass))
		// a unit begins with its class, or with how many of the class
		begins := func(i int) bool {
			if i < len(words) && isClass(words[i].text) {
				return i == 0 || !isNumber(words[i-1].text) || i >= 2 && isClass(words[i-2].text)
			}
			return i+1 < len(words) && isNumber(words[i].text) && isClass(words[i+1].text) && (i == 0 || !isClass(words[i-1].text))
		}
		part := item{col: it.col}
		for i, w := range words {
			if begins(i) && len(part.words) > 0 {
				out, part = append(out, part), item{col: w.col}
			}
			after := i
			for after < len(words) && slices.Contains(joining, strings.ToLower(words[after].text)) {
				after++
			}
			if after > i && begins(after) {
				continue
			}
			if typed, ok := acting[strings.ToLower(w.text)]; ok {
				w.text = typed
			}
			part.words = append(part.words, w)
		}
		out = append(out, part)
	}
	return out
}

func isNumber(w string) bool { _, err := strconv.Atoi(w); return err == nil }

// trimmed are words without the stops that dictation puts behind a sentence.
func trimmed(words []word) []word {
	var out []word
	for _, w := range words {
		if w.text = strings.TrimRight(w.text, ".;!?"); w.text != "" {
			out = append(out, w)
		}
	}
	return out
}

// lettered joins letters that were said one by one where together they name a class.
func lettered(words []word, isClass func(string) bool) []word {
	var out []word
	for i := 0; i < len(words); i++ {
		w, all := words[i], words[i].text
		if len(all) == 1 && !isClass(all) {
			for k := i + 1; k < len(words) && len(words[k].text) == 1; k++ {
				if all += words[k].text; isClass(all) {
					w.text, w.past, i = all, words[k].past, k
					break
				}
			}
		}
		out = append(out, w)
	}
	return out
}

// figured writes numbers said in words as figures.
func figured(words []word) []word {
	text := make([]string, len(words))
	for i, w := range words {
		text[i] = w.text
	}
	var out []word
	for i := 0; i < len(words); {
		n, used := reading.Number(text[i:])
		if used == 0 {
			out = append(out, words[i])
			i++
			continue
		}
		out = append(out, word{words[i].col, words[i+used-1].past, strconv.Itoa(n)})
		i += used
	}
	return out
}
