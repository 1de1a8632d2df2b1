package teach

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"

	"headstock/consist"
	"headstock/fault"
	"headstock/prove"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
)

// Envelope is one device that a lesson sets wrong, picked from all that could be, with what
// comes of it and which looks tell of it.
type Envelope struct {
	Number int           `json:"number"`
	Effect *setup.Effect `json:"effect"`
	Of     int           `json:"of"`     // wrong settings that it was picked from
	Passed int           `json:"passed"` // so many picks were passed over, as they harm nobody or no look tells of them
	Proof  *prove.Proof  `json:"-"`      // of the consist as it stands without

	// From a search of everything that can be wrong: what else gives the same by every look
	// that the brake test takes. Nil without one.
	Alike    []setup.Cause `json:"looks_alike,omitempty"`
	Searched int           `json:"searched,omitempty"` // causes that it was held against
}

// ErrNothingToSeal says that no wrong setting of the consist is told by a look.
var ErrNothingToSeal = errors.New("no wrong setting that was tried is told by a look at the brake test")

// mostTried is how many picks are run before giving up.
const mostTried = 24

// Seal picks the wrong setting of an envelope. The same number, consist and records give
// the same one. A device that must not be moved is never picked, nor one that stands
// blanked; a kind of device is picked first, then on which unit, so that many wagons do not
// hide the locomotives. What harms nobody, or what no reading of the brake test tells, is
// passed over. Each pick is run; where a search has been made, SealFrom runs none and tells
// what looks alike.
func Seal(c *consist.Consist, r *rule.Rules, cond trial.Conditions, number int) (*Envelope, error) {
	base, err := setup.NewBase(c, r, cond)
	if err != nil {
		return nil, err
	}
	return pick(base, number, func(ch consist.Change) (bool, error) {
		e, err := base.Effect(ch)
		return err == nil && len(e.Seen) > 0 && e.Grade > setup.LossOf, err
	})
}

// SealFrom is Seal with what a search of the same consist found: the same number gives the
// same envelope, and it says what looks alike.
func SealFrom(base *setup.Base, f *setup.Found, number int) (*Envelope, error) {
	of := map[string]*setup.Member{}
	for k := range f.Members {
		of[f.Members[k].Key] = &f.Members[k]
	}
	c := base.Consist()
	e, err := pick(base, number, func(ch consist.Change) (bool, error) {
		m, ok := of[fault.Key(c, ch)]
		return ok && m.Outcomes[0].When == setup.SetWrong && len(m.Outcomes[0].Seen) > 0 && m.Grade > setup.LossOf, nil
	})
	if err != nil {
		return nil, err
	}
	e.Alike, e.Searched = base.Alike(f, fault.Key(c, e.Effect.Change), setup.SetWrong), len(f.Members)
	return e, nil
}

// pick tries the wrong settings in the order that a number gives.
func pick(base *setup.Base, number int, fits func(consist.Change) (bool, error)) (*Envelope, error) {
	c := base.Consist()
	type kind struct {
		name string
		of   []consist.Change
	}
	var kinds []*kind
	by := map[string]*kind{}
	n := 0
	for _, s := range fault.Settings(c) {
		v := c.Vehicles[s.Change.Vehicle]
		d, ok := v.Class.Device(s.Change.Device)
		if !ok || d.MustNotMove || !base.Reaches(s.Change) {
			continue
		}
		n++
		name := v.Class.Name + "\x00" + v.Role + "\x00" + s.Change.Device + "\x00" + s.Change.Position
		if by[name] == nil {
			by[name] = &kind{name: name}
			kinds = append(kinds, by[name])
		}
		by[name].of = append(by[name].of, s.Change)
	}
	slices.SortStableFunc(kinds, func(a, b *kind) int { return cmp.Compare(draw(number, a.name), draw(number, b.name)) })
	for k, x := range kinds {
		if k == mostTried {
			break
		}
		ch := x.of[draw(number, "unit\x00"+x.name)%uint64(len(x.of))]
		ok, err := fits(ch)
		if err != nil {
			return nil, err
		}
		if !ok {
			continue
		}
		e, err := base.Effect(ch)
		if err != nil {
			return nil, err
		}
		return &Envelope{Number: number, Effect: e, Of: n, Passed: k, Proof: base.Proof()}, nil
	}
	return nil, ErrNothingToSeal
}

// draw is a number that hangs on nothing but its words.
func draw(number int, name string) uint64 {
	sum := sha256.Sum256(fmt.Appendf(nil, "%d\x00%s", number, name))
	return binary.BigEndian.Uint64(sum[:8])
}
