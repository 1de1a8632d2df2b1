package reading

import (
	"slices"
	"strconv"
	"strings"
)

var ones = []string{"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"}
var tens = []string{"twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"}

// Number is the number that words begin with where it is said in words, 0 to 999 ("forty
// two", "forty-two", "two hundred and five"), and how many of the words say it; 0 of them
// where they begin with none. Figures are no words.
func Number(words []string) (n, used int) {
	at := func(i int) string {
		if i < len(words) {
			return strings.ToLower(words[i])
		}
		return ""
	}
	below := func(i int) (n, used int) {
		first, second, hyphen := strings.Cut(at(i), "-")
		k := slices.Index(tens, first)
		switch {
		case k < 0 && hyphen:
			return 0, 0
		case k < 0:
			if n = slices.Index(ones, first); n < 0 {
				return 0, 0
			}
			return n, 1
		case !hyphen:
			second = at(i + 1)
		}
		u := slices.Index(ones[:10], second)
		switch {
		case hyphen && u <= 0:
			return 0, 0
		case hyphen:
			return 20 + 10*k + u, 1
		case u > 0:
			return 20 + 10*k + u, 2
		}
		return 20 + 10*k, 1
	}
	n, used = below(0)
	if used != 1 || n == 0 || n > 9 || at(1) != "hundred" {
		return n, used
	}
	rest := 2
	if at(rest) == "and" {
		rest++
	}
	if m, k := below(rest); k > 0 && m > 0 {
		return n*100 + m, rest + k
	}
	return n * 100, 2
}

// Figures is a text with the numbers that it says in words written as figures.
func Figures(text string) string {
	words := strings.Fields(text)
	for i := range words {
		if n, used := Number(words[i:]); used > 0 {
			words = slices.Replace(words, i, i+used, strconv.Itoa(n))
			return strings.Join(append(words[:i+1:i+1], strings.Fields(Figures(strings.Join(words[i+1:], " ")))...), " ")
		}
	}
	return text
}
