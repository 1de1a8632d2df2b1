package paper

import "unicode"

// columnsOf is how many columns of a terminal a clean text takes.
func columnsOf(s string) int {
	n := 0
	for _, r := range s {
		n += columnOf(r)
	}
	return n
}

// columnOf is none for a mark set on the letter before it, two for the wide scripts
// and pictures, one for everything else. Where terminals disagree it takes the wider.
func columnOf(r rune) int {
	switch {
	case r < 0x300:
		return 1
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	case r >= 0x1100 && r <= 0x115f, r >= 0x2e80 && r <= 0x303e, r >= 0x3041 && r <= 0xa4cf,
		r >= 0xa960 && r <= 0xa97f, r >= 0xac00 && r <= 0xd7a3, r >= 0xf900 && r <= 0xfaff,
		r >= 0xfe10 && r <= 0xfe6f, r >= 0xff01 && r <= 0xff60, r >= 0xffe0 && r <= 0xffe6,
		r >= 0x1f000 && r <= 0x1faff, r >= 0x20000 && r <= 0x3fffd:
		return 2
	}
	return 1
}
