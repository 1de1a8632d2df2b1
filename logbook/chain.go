package logbook

import "fmt"

// Seal gives an entry its place behind the last one of a store: its number, the hash of
// the entry before it, and its own. It returns the canonical form too.
func Seal(e Entry, last int, previous string) (Entry, []byte) {
	e.Number = last + 1
	e.Previous = previous
	body := e.Canonical()
	e.Hash = HashOf(body)
	return e, body
}

// Chain follows the entries of a store one after the other and says where they do not
// hold together. The zero value stands before the first entry.
type Chain struct {
	Number int      // entries followed
	Head   string   // hash of the last
	Breaks []string // what was found wrong, in order
}

// Follow takes the next row as it is kept: its number, canonical form and stored hash.
func (c *Chain) Follow(number int, body, hash string) (Entry, bool) {
	whole := true
	broken := func(format string, args ...any) {
		whole = false
		c.Breaks = append(c.Breaks, fmt.Sprintf(format, args...))
	}
	if number != c.Number+1 {
		if number == c.Number+2 {
			broken("entry %d is missing", c.Number+1)
		} else {
			broken("entries %d to %d are missing", c.Number+1, number-1)
		}
	}
	e, err := ParseCanonical(body)
	switch own := HashOf([]byte(body)); {
	case own != hash:
		broken("entry %d was changed: its content has the hash %.12s…, %.12s… was kept", number, own, hash)
	case err != nil:
		broken("entry %d cannot be read: %v", number, err)
	case e.Number != number:
		broken("entry %d calls itself %d", number, e.Number)
	case e.Previous != c.Head && number == c.Number+1:
		broken("entry %d follows %s, but the entry before it has %s", number, hashWord(e.Previous), hashWord(c.Head))
	}
	e.Hash = hash
	c.Number, c.Head = number, hash
	return e, whole && err == nil
}

func hashWord(h string) string {
	if h == "" {
		return "no entry"
	}
	return fmt.Sprintf("the hash %.12s…", h)
}
