package reading

import (
	"strings"
	"unicode"
)

// shownAtMost is how many characters of somebody's text a message quotes.
const shownAtMost = 60

// Short is as much of a text as a message quotes: its beginning, on one line, without
// control characters, with … where something is left out.
func Short(text string) string {
	runes := []rune(visible(text, false))
	if len(runes) <= shownAtMost {
		return string(runes)
	}
	return strings.TrimRight(string(runes[:shownAtMost-1]), " ") + "…"
}

// Hint is the nearest name as the end of a message, "; nearest: …", or nothing where no
// name is near.
func Hint(word string, candidates []string) string {
	if near := Nearest(word, candidates); near != "" {
		return "; nearest: " + near
	}
	return ""
}

// Tidy makes a message fit to be shown whatever was typed: what it quotes is shortened,
// and nothing is left in it that could steer a terminal. Lines stay lines.
func Tidy(message string) string {
	var b strings.Builder
	rest := visible(message, true)
	for {
		open := strings.IndexByte(rest, '"')
		if open < 0 {
			break
		}
		end := closing(rest[open+1:])
		if end < 0 {
			break
		}
		quoted := rest[open+1 : open+1+end]
		b.WriteString(rest[:open+1])
		b.WriteString(cut(quoted))
		b.WriteByte('"')
		rest = rest[open+1+end+1:]
	}
	b.WriteString(rest)
	return b.String()
}

// closing is where a quoted text ends, or -1: at the first quotation mark that no
// backslash stands before, on the same line.
func closing(s string) int {
	for i := 0; i < len(s); i++ {
		switch s[i] {
		case '\\':
			i++
		case '"':
			return i
		case '\n':
			return -1
		}
	}
	return -1
}

// cut is Short for a text that is quoted already; no escape is left half.
func cut(quoted string) string {
	short := Short(quoted)
	if short == quoted {
		return quoted
	}
	body := strings.TrimSuffix(short, "…")
	for n := 1; n <= 10 && n <= len(body); n++ { // the longest escape is \U0010ffff
		if at := len(body) - n; body[at] == '\\' && strings.HasPrefix(quoted, body) && !whole(body[at:]) && even(body[:at]) {
			return body[:at] + "…"
		}
	}
	return short
}

// even says that a text does not end within an escape of a backslash.
func even(s string) bool {
	return (len(s)-len(strings.TrimRight(s, `\`)))%2 == 0
}

// whole says whether an escape, from its backslash on, is all there.
func whole(s string) bool {
	if len(s) < 2 {
		return false
	}
	switch s[1] {
	case 'x':
		return len(s) >= 4
	case 'u':
		return len(s) >= 6
	case 'U':
		return len(s) >= 10
	}
	return true
}

// visible leaves out what is not a character to be seen; any kind of space becomes one
// space, and a line end stays one where lines are kept.
func visible(s string, lines bool) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' && lines:
			return r
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Co, r) || r&0xfffe == 0xfffe:
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
}
