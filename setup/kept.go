package setup

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
)

// Results of a matrix are kept as lines of JSON, each one result, in a file that is only
// added to. Of several lines on one consist the last says what it is now. What it is held
// against is what stood before: a result that is worse is reported, every time, until
// somebody accepts it; a crash between the run and the report loses no report.

// KeptHead is the first line of such a file.
const KeptHead = `{"kept":"fleet matrix","form":1}`

// ErrKept says that a file is not one of kept results.
var ErrKept = errors.New("this is no file of kept results of a matrix")

// Kept is what a file of results says.
type Kept struct {
	Entries int // lines read
	last    map[string]MatrixResult
	stood   map[string]MatrixResult // what each consist is held against
	shapes  map[string][]string     // consists that differ in numbers alone, in the order of the lines
	forAll  map[string][][]int      // by consist and place: every unit it has ever stood for
}

// keptLine is a line: a result, or that one was accepted.
type keptLine struct {
	MatrixResult
	Accepted bool `json:"accepted,omitempty"`
}

// ReadKept reads results; what a cut has left of a last line is passed over. An empty
// file is one without results. An error names the first line that is no result.
func ReadKept(r io.Reader) (*Kept, error) {
	k := &Kept{last: map[string]MatrixResult{}, stood: map[string]MatrixResult{}, shapes: map[string][]string{}, forAll: map[string][][]int{}}
	in := bufio.NewReader(r)
	for n := 1; ; n++ {
		line, err := in.ReadBytes('\n')
		if err == io.EOF {
			if n == 1 && len(line) > 0 {
				return nil, ErrKept
			}
			return k, nil
		}
		if err != nil {
			return nil, err
		}
		if n == 1 {
			if string(line) != KeptHead+"\n" {
				return nil, ErrKept
			}
			continue
		}
		var x keptLine
		if err := json.Unmarshal(line, &x); err != nil || x.Consist == "" || !slices.Contains(Outcomes(), x.Outcome) {
			return nil, fmt.Errorf("line %d is no result: expected a line of JSON with consist, sum and outcome", n)
		}
		k.Entries++
		k.add(x)
	}
}

func (k *Kept) add(x keptLine) {
	was, ok := k.before(x.Consist)
	if !ok || x.Accepted || !worseOutcome(was.Outcome, x.Outcome) {
		was = x.MatrixResult
	}
	k.last[x.Consist], k.stood[x.Consist] = x.MatrixResult, was
	s := shape(x.Consist)
	if !slices.Contains(k.shapes[s], x.Consist) {
		k.shapes[s] = append(k.shapes[s], x.Consist)
		k.forAll[x.Consist] = make([][]int, len(x.For))
	}
	for i := range min(len(x.For), len(k.forAll[x.Consist])) {
		for _, n := range x.For[i] {
			k.forAll[x.Consist][i] = once(k.forAll[x.Consist][i], n)
		}
	}
}

// before is what a consist is held against: its own result, or that of a consist that
// stood for it while its units were still like others.
func (k *Kept) before(consist string) (MatrixResult, bool) {
	if was, ok := k.stood[consist]; ok {
		return was, true
	}
	numbers := unitNumbers(consist)
	for _, other := range slices.Backward(k.shapes[shape(consist)]) {
		stood := k.forAll[other]
		stands := len(stood) == len(numbers)
		for i := 0; stands && i < len(numbers); i++ {
			stands = slices.Contains(stood[i], numbers[i])
		}
		if stands {
			return k.stood[other], true
		}
	}
	return MatrixResult{}, false
}

// items are the units of a consist as a matrix writes them, each in words.
func items(consist string) [][]string {
	var out [][]string
	for _, x := range strings.Split(strings.ReplaceAll(consist, ", all pipes", " all pipes"), ", ") {
		out = append(out, strings.Fields(x))
	}
	return out
}

// shape is a consist without the numbers of its units.
func shape(consist string) string {
	var out []string
	for _, w := range items(consist) {
		if len(w) > 1 {
			w = slices.Delete(w, 1, 2)
		}
		out = append(out, strings.Join(w, " "))
	}
	return strings.Join(out, ", ")
}

func unitNumbers(consist string) []int {
	var out []int
	for _, w := range items(consist) {
		n := 0
		if len(w) > 1 {
			n, _ = strconv.Atoi(w[1])
		}
		out = append(out, n)
	}
	return out
}

// Take is the kept result of a job, where nothing that it rests on has changed. Changed
// says that it stands for other units than it did, so that it is to be kept anew.
func (k *Kept) Take(j MatrixJob) (r MatrixResult, ok, changed bool) {
	r, ok = k.last[j.Consist]
	if !ok || r.Sum != j.Sum {
		return MatrixResult{}, false, false
	}
	changed = !slices.EqualFunc(r.For, j.For, slices.Equal[[]int])
	r.For = j.For
	return r, true, changed
}

// Line writes a result as a line to be kept, and takes it in.
func (k *Kept) Line(r MatrixResult, accepted bool) ([]byte, error) {
	k.add(keptLine{r, accepted})
	b, err := json.Marshal(keptLine{r, accepted})
	return append(b, '\n'), err
}

// Worsened is a consist that was better before.
type Worsened struct {
	Was MatrixResult `json:"was"`
	Is  MatrixResult `json:"is"`
}

// Worse are the results that are worse than what stood before, in their order.
func (k *Kept) Worse(results []MatrixResult) []Worsened {
	var out []Worsened
	for _, r := range results {
		if was, ok := k.stood[r.Consist]; ok && worseOutcome(was.Outcome, r.Outcome) {
			out = append(out, Worsened{was, r})
		}
	}
	return out
}

// worseOutcome reports whether an outcome is worse than another.
func worseOutcome(was, is string) bool {
	return slices.Index(Outcomes(), is) > slices.Index(Outcomes(), was)
}
