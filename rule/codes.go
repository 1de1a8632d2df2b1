package rule

import "headstock/internal/reading"

// The codes of the complaints about rules.
const (
	CodeKey       = "rule-key"
	CodeShape     = "rule-shape"
	CodeWord      = "rule-word"
	CodeQuantity  = "rule-quantity"
	CodeSource    = "rule-source"
	CodeFitEmpty  = "rule-says-nothing"
	CodeRuleClass = "rule-class"
	CodeLimit     = "rule-limit"
	CodeBound     = "rule-bound"
)

// Codes explains the complaints about rules.
func Codes() []reading.Code {
	return []reading.Code{
		{Code: CodeKey, Meaning: "A rule has a key that no rule has; what it says would be lost.", Example: "thn: may not lead"},
		{Code: CodeShape, Meaning: "A word, a list or a map stands where another of them belongs.", Example: "vigilance-out: may not lead"},
		{Code: CodeWord, Meaning: "A word is not in the list from which it must come.", Example: "then: may not leed"},
		{Code: CodeQuantity, Meaning: "A figure of a rule is no quantity, of the wrong kind, or not in its range.", Example: "speed: 40 t"},
		{Code: CodeSource, Meaning: "A rule cites a source that is not in the bibliography.", Example: "by: my-uncle"},
		{Code: CodeFitEmpty, Meaning: "A rule lacks what it is about, or what follows from it; a limit lacks its figure.", Example: "{what: horn failed, function: horn, kind: failed}"},
		{Code: CodeLimit, Meaning: "A limit has the id of none that is shipped, so nothing would ask for it.", Example: "leekage: {at most: 20 kPa}"},
		{Code: CodeBound, Meaning: "A limit is given a bound that the shipped one has not, or its bounds leave nothing between them. What asks for the limit would not find its bound, and the test would be off.", Example: "cylinder-minimum: {at most: 60 kPa}"},
		{Code: CodeRuleClass, Meaning: "A rule of placing is about a class that has no record.", Example: "of: {class: Ploverr}"},
	}
}
