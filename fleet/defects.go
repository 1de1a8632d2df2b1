package fleet

import "strings"

// Says is the defect in one line: what it is about, what kind it is, and what was entered.
func (d Defect) Says(c *Class) string {
	var parts []string
	if dev, ok := c.Device(d.Device); ok {
		parts = append(parts, dev.Name)
	} else if d.Function != "" {
		parts = append(parts, strings.ReplaceAll(d.Function, "-", " "))
	}
	if d.Kind != "" {
		parts = append(parts, d.Kind)
	}
	if d.Position != "" {
		parts = append(parts, "stands "+d.Position)
	}
	if len(parts) == 0 {
		return d.Text
	}
	return strings.Join(parts, ", ") + ": " + d.Text
}

// DefectKind is one word for what is wrong with a device, and what it means. Rules of
// fitness are written for a function and such a word.
type DefectKind struct{ Word, Meaning string }

// DefectKinds is the defined list.
func DefectKinds() []DefectKind {
	return []DefectKind{
		{"failed", "it does not do what it is for"},
		{"isolated", "it has been cut out, by a cock, a switch or a tag"},
		{"out of use", "it is fitted and does nothing, by decision of the railway"},
		{"blanked", "it is there and closed off for good"},
		{"missing", "it is not there"},
		{"broken", "a part has come apart or off"},
		{"cracked", "a crack has been seen"},
		{"loose", "it is not held as it should be"},
		{"bent", "it has another shape than it should have"},
		{"stuck", "it does not move, or an axle does not turn"},
		{"blocked", "nothing passes through it"},
		{"leaking", "air, oil, water or fuel comes out of it"},
		{"worn", "it is used up, and no measurement was taken"},
		{"empty", "nothing is left in it"},
		{"hot", "it is or was hotter than it should be"},
		{"tripped", "it has acted and has not been reset"},
		{"outside limit", "it was measured, and the measurement is outside its limit"},
		{"out of date", "its test or its filling is past its day"},
		{"seal broken", "its seal is not whole"},
	}
}

func defectWords() []string {
	var out []string
	for _, k := range DefectKinds() {
		out = append(out, k.Word)
	}
	return out
}
