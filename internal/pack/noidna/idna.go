// Package idna stands in for the release's own in the program for the browser, which
// resolves no names: the browser does that. It takes names in ASCII as they are, and no
// others. With it the tables of Unicode's normal forms are left out.
package idna

import "errors"

var errNotASCII = errors.New("idna: names other than in ASCII are left to the browser")

// Profile is the one way in which names are taken here.
type Profile struct{}

// The profiles that net/http names.
var (
	Lookup   = &Profile{}
	Punycode = &Profile{}
)

// ToASCII is the name itself; an error where it is not in ASCII.
func (*Profile) ToASCII(s string) (string, error) { return ToASCII(s) }

// ToASCII is the name itself; an error where it is not in ASCII.
func ToASCII(s string) (string, error) {
	for i := range len(s) {
		if s[i] >= 0x80 {
			return "", errNotASCII
		}
	}
	return s, nil
}
