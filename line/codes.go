package line

import "headstock/internal/reading"

// The codes of the complaints about line files.
const (
	CodeKey      = "line-key"
	CodeShape    = "line-shape"
	CodeMissing  = "line-missing"
	CodeSource   = "line-source"
	CodeQuantity = "line-quantity"
	CodePlace    = "line-place"
	CodeOrder    = "line-order"
	CodeGap      = "line-gap"
	CodeHeight   = "line-height"
	CodeCurve    = "line-curve"
)

// Codes explains the complaints about line files; each has a broken file in
// testdata/broken.
func Codes() []reading.Code {
	return []reading.Code{
		{Code: CodeKey, Meaning: "A line file has a key that is not in its table; what it says would be lost.", Example: "radius: 140 m in a section"},
		{Code: CodeShape, Meaning: "A word, a list or a map stands where another of them belongs.", Example: "places: [Harbour]"},
		{Code: CodeMissing, Meaning: "A line file lacks something that its place needs.", Example: "a curve without radius"},
		{Code: CodeSource, Meaning: "A line file has a source that is not in the bibliography.", Example: "source: my-uncle"},
		{Code: CodeQuantity, Meaning: "A figure of a line file is no quantity, of another kind, or out of its range.", Example: "axle load: 140 m"},
		{Code: CodePlace, Meaning: "A section names a place that the line has not.", Example: "from: Harbor"},
		{Code: CodeOrder, Meaning: "Places or stretches do not stand in the order of their distance, or lie over each other.", Example: "from: 12 km, to: 9 km"},
		{Code: CodeGap, Meaning: "A part of the line between two sections or gradients is not described.", Example: "to: 9 km, then from: 11 km"},
		{Code: CodeHeight, Meaning: "The gradients between two places do not add up to the difference of their heights.", Example: "level: yes between 0 m and 40 m"},
		{Code: CodeCurve, Meaning: "A curve is sharper than what its section calls its sharpest.", Example: "radius: 120 m where sharpest curve: 140 m"},
	}
}
