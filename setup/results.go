package setup

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// A results file is lines of JSON: first what was searched, then one line a proof, in the
// order in which they ended. A line that is cut off is as if it had not been written. What
// was searched is the consist, the records it rests on, and every reading of its own test
// to the last bit, so that neither another record nor another engine goes on with it.

type fingerprint struct {
	Search  string   `json:"search"`
	Records []string `json:"records"`
	Test    string   `json:"test"` // sum of the readings of the consist as it stands
}

// ErrResults is in every error of a results file: it cannot be read or written, or is of
// another search.
var ErrResults = errors.New("results file")

// maxLine is more than the longest line of a results file.
const maxLine = 64 << 20

func (s *search) print() fingerprint {
	f := fingerprint{Search: s.c.String()}
	for _, ch := range s.c.Changed {
		f.Search += fmt.Sprintf("; %d.%s=%s", ch.Vehicle, ch.Device, ch.Position)
	}
	seen := map[string]bool{}
	for _, v := range s.c.Vehicles {
		if r := v.Class.Name + " " + v.Class.Hash; !seen[r] {
			seen[r] = true
			f.Records = append(f.Records, r)
		}
	}
	sum := sha256.New()
	for _, t := range [][]byte{pack(s.b.proof.Test.Readings), pack(s.b.still.Readings)} {
		sum.Write(t)
	}
	said, _ := json.Marshal(s.b.proof.Findings) // the rules that judged
	sum.Write(said)
	f.Test = hex.EncodeToString(sum.Sum(nil))
	return f
}

// kept reads what an earlier search left, and begins a file where there was none.
func (s *search) kept() error {
	s.before = map[string]*ran{}
	s.was = s.print()
	if s.opt.Before != nil {
		r := bufio.NewReaderSize(s.opt.Before, 1<<16)
		first := true
		for {
			line, err := r.ReadBytes('\n')
			if err != nil && !errors.Is(err, io.EOF) {
				return fmt.Errorf("%w: reading what an earlier search left: %w", ErrResults, err)
			}
			if err != nil || len(line) > maxLine { // no whole line
				break
			}
			if first {
				first = false
				var was fingerprint
				if json.Unmarshal(line, &was) != nil || was.Search == "" {
					return fmt.Errorf("%w: this is no results file of a search", ErrResults)
				}
				if !same(was, s.was) {
					return fmt.Errorf("%w: it is of another search: %s", ErrResults, was.String())
				}
				continue
			}
			var x ran
			if json.Unmarshal(line, &x) != nil || len(x.Values) != 9*len(s.b.template(x.When)) {
				continue
			}
			s.before[x.Group+"\x00"+x.When] = &x
		}
		if !first {
			return nil
		}
	}
	return s.write(s.was)
}

func (f fingerprint) String() string {
	return f.Search + ", or of other records, other rules or another engine"
}

func same(a, b fingerprint) bool {
	x, _ := json.Marshal(a)
	y, _ := json.Marshal(b)
	return bytes.Equal(x, y)
}

func (s *search) keep(r *ran) error { return s.write(r) }

func (s *search) write(v any) error {
	if s.opt.After == nil {
		return nil
	}
	line, err := json.Marshal(v)
	if err != nil {
		return err
	}
	if _, err = s.opt.After.Write(append(line, '\n')); err != nil {
		return fmt.Errorf("%w: %w", ErrResults, err)
	}
	return nil
}
