package main

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
	"headstock/web"
)

// usualMost is how many consists a matrix runs before it asks: some minutes' work.
const usualMost = 5000

// mostJobLine is the longest line of a job or a result that is read, bytes.
const mostJobLine = 1 << 20

// matrixAsked is what the flags of matrix say.
type matrixAsked struct {
	setup.MatrixAsk
	keep                       string
	take                       []string
	jobs, doJobs, each, settle bool
	workers, most              int
	countOnly                  bool
	f                          *fleet.Fleet
	r                          *rule.Rules
}

func (d *door) matrix() *cobra.Command {
	var a matrixAsked
	c := &cobra.Command{
		Use: "matrix [UNITS]", Args: cobra.MaximumNArgs(1),
		Short: "every way to couple two or three units of this railway: which work, which do not and why",
		Long: "Every way to put two units one behind another (or three, with UNITS 3) is counted: which unit, which way round, in which role, with\n" +
			"one of them leading; and every one is proved by a run.\n\n" +
			"With --keep the results are kept in a file as they end, and only what a changed record, unit or rule touches is run again. What was\n" +
			"cut off goes on from there. A coupling that is worse than it was is listed, and the exit status is 1, until --accept.\n\n" +
			"A run is a job by itself: --jobs prints the jobs that are to be done as lines of JSON, --run-jobs does those it reads and prints the\n" +
			"results, and --take adds such results to what is kept; so other machines can do them.\n\n" +
			"Exit status 1: a coupling is worse than kept.",
		Example: fmt.Sprintf("  headstock matrix --classes %s,%s\n  headstock matrix --keep fleet.jsonl\n  headstock matrix --each --format csv\n  headstock matrix 3 --classes %s --count\n  headstock matrix --jobs > jobs; headstock matrix --run-jobs < jobs > results; headstock matrix --keep fleet.jsonl --take results",
			example("other"), example("class"), example("class")),
		RunE: func(_ *cobra.Command, args []string) error { return d.runMatrix(&a, args) },
	}
	f := c.Flags()
	f.StringSliceVar(&a.Classes, "classes", nil, "of these classes only, with commas between")
	f.StringSliceVar(&a.Roles, "roles", nil, "in these roles only, besides lead; absent: every role the records give but alone and stabled")
	f.StringVar(&a.keep, "keep", "", "file that keeps the results; what has not changed is not run again")
	f.StringArrayVar(&a.take, "take", nil, "with --keep: file of results that --run-jobs printed (repeat)")
	f.BoolVar(&a.settle, "accept", false, "with --keep: what is worse now is what later results are held against")
	f.BoolVar(&a.jobs, "jobs", false, "print what is to be run as jobs, and run nothing")
	f.BoolVar(&a.doJobs, "run-jobs", false, "do the jobs on standard input and print their results")
	f.BoolVar(&a.each, "each", false, "a row for every way as well; always in CSV and in a workbook")
	f.BoolVar(&a.countOnly, "count", false, "count the ways and the runs, and run nothing")
	f.IntVar(&a.workers, "workers", 0, "how many run side by side; 0: as many as there are processors")
	f.IntVar(&a.most, "most", usualMost, "run at most so many consists")
	return c
}

func (d *door) runMatrix(a *matrixAsked, args []string) error {
	a.MatrixAsk.Units = 2
	if len(args) == 1 {
		if args[0] != "2" && args[0] != "3" {
			return bad("expected 2 or 3 units, found %q", reading.Short(args[0]))
		}
		a.MatrixAsk.Units = int(args[0][0] - '0')
	}
	if a.workers < 0 || a.most < 1 {
		return bad("--workers wants 0 or more and --most 1 or more")
	}
	if a.keep == "" && (a.settle || len(a.take) > 0) {
		return bad("--accept and --take go with --keep")
	}
	if a.jobs && a.doJobs {
		return bad("--jobs prints jobs and --run-jobs does them; expected one of the two")
	}
	var err error
	if a.f, a.r, err = d.read(); err != nil {
		return err
	}
	if a.Program, err = programSum(); err != nil {
		return unreadable(err)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if a.doJobs {
		return d.doJobs(ctx, a, os.Stdin)
	}
	if err := a.names(); err != nil {
		return err
	}
	m, err := setup.NewMatrix(a.f, a.r, a.MatrixAsk)
	if err != nil {
		return exit{2, err.Error()}
	}
	if a.countOnly {
		return d.countMatrix(m)
	}
	fmt.Fprintf(d.err, "%s; %s\n", counted(m.Ways, "way"), counted(m.Jobs, "consist"))
	if m.Jobs > a.most && a.keep == "" && !a.jobs {
		return tooMany(m.Jobs, a.most)
	}
	ways, jobs := m.All()
	b, err := a.openKept()
	if err != nil {
		return err
	}
	defer b.close()
	for _, name := range a.take {
		if err := b.takeFrom(name, jobs); err != nil {
			return err
		}
	}
	results := make([]setup.MatrixResult, len(jobs))
	var todo []setup.MatrixJob
	var at []int
	for k, j := range jobs {
		res, ok, changed := b.kept.Take(j)
		if !ok {
			todo, at = append(todo, j), append(at, k)
			continue
		}
		results[k] = res
		if changed {
			if err := b.add(res, false); err != nil {
				return err
			}
		}
	}
	if a.jobs {
		return d.printJobs(todo)
	}
	if len(todo) > a.most {
		return tooMany(len(todo), a.most)
	}
	runs, err := d.work(ctx, a, todo, func(k int, res setup.MatrixResult) error {
		results[at[k]] = res
		return b.add(res, false)
	})
	if errors.Is(err, context.Canceled) {
		if a.keep == "" {
			return bad("cut off; with --keep it could go on from there")
		}
		return bad("cut off; the same command goes on from %s", a.keep)
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(d.err, "%s kept, %d proved anew in %s\n", counted(len(jobs)-len(todo), "consist"), len(todo), counted(runs, "run"))
	worse := b.kept.Worse(results)
	each := a.each || d.format == "csv" || d.printer.book != ""
	doc := card.Matrix(a.f, m, ways, results, worse, each, a.r, d.u())
	if d.json {
		if err := d.printer.print(doc); err != nil {
			return err
		}
		err = d.printJSON(matrixAnswer(a, m, ways, results, worse))
	} else {
		err = d.print(doc)
	}
	if err != nil {
		return err
	}
	if a.settle {
		for _, w := range worse {
			if err := b.add(w.Is, true); err != nil {
				return err
			}
		}
		return nil
	}
	if len(worse) > 0 {
		return exit{code: 1}
	}
	return nil
}

func tooMany(n, most int) error {
	return bad("%d consists would be run, and --most is %d; name fewer with --classes or --roles, or raise --most", n, most)
}

// names holds classes and roles against the records.
func (a *matrixAsked) names() error {
	var classes, roles []string
	for _, c := range a.f.Classes {
		classes = append(classes, c.Name)
		roles = append(roles, setup.RolesOf(c)...)
	}
	slices.Sort(roles)
	roles = slices.Compact(roles)
	for i, n := range a.Classes {
		c, ok := a.f.Class(strings.TrimSpace(n))
		if !ok {
			return bad("no class %q in this fleet; expected one of %s%s", reading.Short(n), strings.Join(classes, ", "), reading.Hint(n, classes))
		}
		a.Classes[i] = c.Name
	}
	var read []string
	for _, n := range a.Roles {
		n = strings.TrimSpace(n)
		// "hauled dead, all pipes" holds a comma of its own
		if k := len(read) - 1; n == "all pipes" && k >= 0 && slices.Contains(roles, read[k]+", "+n) {
			read[k] += ", " + n
			continue
		}
		n = strings.Replace(n, " all pipes", ", all pipes", 1)
		if !slices.Contains(roles, n) {
			return bad("no record gives a role %q; expected some of %s%s", reading.Short(n), strings.Join(roles, "; "), reading.Hint(n, roles))
		}
		read = append(read, n)
	}
	a.Roles = read
	return nil
}

// programSum tells this program from any other: what another one kept may be answered
// otherwise.
func programSum() (string, error) {
	name, err := os.Executable()
	if err != nil {
		return "", err
	}
	f, err := os.Open(name)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil))[:16], nil
}

func (d *door) countMatrix(m *setup.Matrix) error {
	if d.json {
		return d.printJSON(struct {
			Caution string `json:"caution"`
			*setup.Matrix
		}{card.Caution, m})
	}
	_, err := fmt.Fprintf(d.out, "%s\n%s to prove\n%s that are another one seen from its other end\n%s not counted: more units of a kind would be needed than there are\n%s",
		counted(m.Ways, "way"), counted(m.Jobs, "consist"), counted(m.Turned, "way"), counted(m.Short, "way"), wrapped(card.Caution, d.width))
	return err
}

// work does jobs and says on a terminal how far it is.
func (d *door) work(ctx context.Context, a *matrixAsked, jobs []setup.MatrixJob, took func(int, setup.MatrixResult) error) (runs int, err error) {
	f, ok := d.err.(*os.File)
	show := ok && isTerminal(f)
	began := time.Now()
	_, err = setup.Work(ctx, a.f, a.r, jobs, trial.Conditions{}, a.workers, func(k int, res setup.MatrixResult) error {
		runs += res.Runs
		if n := k + 1; show && (n == len(jobs) || n%10 == 0) {
			fmt.Fprintf(d.err, "\r%d of %d consists, %d s ", n, len(jobs), int(time.Since(began).Seconds()))
		}
		return took(k, res)
	})
	if show && len(jobs) > 0 {
		fmt.Fprintln(d.err)
	}
	return runs, err
}

func (d *door) printJobs(jobs []setup.MatrixJob) error {
	w := bufio.NewWriter(d.out)
	e := json.NewEncoder(w)
	for _, j := range jobs {
		if err := e.Encode(j); err != nil {
			return err
		}
	}
	return w.Flush()
}

// doJobs does the jobs it reads. A job that was made from other records, rules or another
// program is not done: its answer would be put to the wrong question.
func (d *door) doJobs(ctx context.Context, a *matrixAsked, in io.Reader) error {
	var jobs []setup.MatrixJob
	err := eachLine(in, func(n int, line []byte) error {
		var j setup.MatrixJob
		if err := json.Unmarshal(line, &j); err != nil || j.Consist == "" {
			return bad("line %d is no job: expected a line as --jobs prints them", n)
		}
		mine, err := j.Again(a.f, a.r, a.Program)
		if err != nil {
			return bad("line %d: %v", n, err)
		}
		if mine.Sum != j.Sum {
			return bad("line %d: %s was asked of other %s than are here; give this machine the same ones", n, reading.Short(j.Consist), otherThan(j, mine))
		}
		jobs = append(jobs, j)
		return nil
	})
	if err != nil {
		return err
	}
	e := json.NewEncoder(d.out)
	_, err = d.work(ctx, a, jobs, func(_ int, res setup.MatrixResult) error { return e.Encode(res) })
	if errors.Is(err, context.Canceled) {
		return bad("cut off; the results that were printed hold")
	}
	return err
}

// otherThan names in what a job differs from the same job made here.
func otherThan(j, mine setup.MatrixJob) string {
	var out []string
	for _, x := range []struct {
		what      string
		here, its map[string]string
	}{{"record of class", mine.Records, j.Records}, {"units", mine.Units, j.Units}} {
		var names []string
		for k, v := range x.here {
			if x.its[k] != v {
				names = append(names, k)
			}
		}
		if slices.Sort(names); len(names) > 0 {
			out = append(out, x.what+" "+strings.Join(names, ", "))
		}
	}
	if mine.Rules != j.Rules {
		out = append(out, "rules")
	}
	if mine.Program != j.Program {
		out = append(out, "program")
	}
	if len(out) == 0 {
		return "words"
	}
	return strings.Join(out, ", ")
}

// eachLine reads lines that are not empty.
func eachLine(in io.Reader, do func(n int, line []byte) error) error {
	s := bufio.NewScanner(in)
	s.Buffer(nil, mostJobLine)
	for n := 1; s.Scan(); n++ {
		if line := s.Bytes(); len(strings.TrimSpace(string(line))) > 0 {
			if err := do(n, line); err != nil {
				return err
			}
		}
	}
	return s.Err()
}

// keptBook is the file of kept results, open to be added to; without a name it keeps
// nothing.
type keptBook struct {
	kept *setup.Kept
	file *os.File
}

// openKept reads what is kept and opens the file to be added to. What a cut left of a last
// line is taken off, so that the next begins on its own.
func (a *matrixAsked) openKept() (*keptBook, error) {
	b := &keptBook{}
	var err error
	if a.keep == "" {
		b.kept, err = setup.ReadKept(strings.NewReader(""))
		return b, err
	}
	data, err := os.ReadFile(a.keep)
	if errors.Is(err, fs.ErrNotExist) || err == nil && len(data) == 0 {
		data = []byte(setup.KeptHead + "\n")
		err = writeFile(a.keep, data, 0o644)
	}
	if err != nil {
		return nil, unreadable(err)
	}
	if b.kept, err = setup.ReadKept(strings.NewReader(string(data))); err != nil {
		return nil, bad("%s: %v", a.keep, err)
	}
	if b.file, err = os.OpenFile(a.keep, os.O_WRONLY|os.O_APPEND, 0o644); err != nil {
		return nil, unreadable(err)
	}
	if whole := strings.LastIndexByte(string(data), '\n') + 1; whole < len(data) {
		if err := b.file.Truncate(int64(whole)); err != nil {
			b.close()
			return nil, unreadable(err)
		}
	}
	return b, nil
}

// add keeps a result: it is on the disk when add returns.
func (b *keptBook) add(res setup.MatrixResult, accepted bool) error {
	line, err := b.kept.Line(res, accepted)
	if err != nil || b.file == nil {
		return err
	}
	if _, err := b.file.Write(line); err != nil {
		return unreadable(err)
	}
	if err := b.file.Sync(); err != nil {
		return unreadable(err)
	}
	return nil
}

// takeFrom keeps results that were run elsewhere; those of another record, rule or program
// than are asked for here are refused.
func (b *keptBook) takeFrom(name string, jobs []setup.MatrixJob) error {
	f, err := os.Open(name)
	if err != nil {
		return unreadable(err)
	}
	defer f.Close()
	asked := map[string]setup.MatrixJob{}
	for _, j := range jobs {
		asked[j.Consist] = j
	}
	return eachLine(f, func(n int, line []byte) error {
		var res setup.MatrixResult
		if err := json.Unmarshal(line, &res); err != nil || !slices.Contains(setup.Outcomes(), res.Outcome) {
			return bad("%s:%d: no result: expected a line as --run-jobs prints them", name, n)
		}
		j, ok := asked[res.Consist]
		if !ok || j.Sum != res.Sum {
			return bad("%s:%d: %s is no result of what is asked here", name, n, reading.Short(res.Consist))
		}
		if _, ok, changed := b.kept.Take(j); ok && !changed {
			return nil
		}
		res.For = j.For
		return b.add(res, false)
	})
}

func (b *keptBook) close() {
	if b.file != nil {
		b.file.Close()
	}
}

func matrixAnswer(a *matrixAsked, m *setup.Matrix, ways []setup.Way, results []setup.MatrixResult, worse []setup.Worsened) any {
	var recs []web.Record
	for _, x := range m.Roles {
		if c, ok := a.f.Class(x.Class); ok {
			recs = append(recs, web.RecordOf(c))
		}
	}
	if worse == nil {
		worse = []setup.Worsened{}
	}
	return struct {
		Caution string `json:"caution"`
		*setup.Matrix
		Tallies []setup.Tally        `json:"tallies"`
		Worse   []setup.Worsened     `json:"worse"`
		Of      []setup.Way          `json:"every_way"`
		Results []setup.MatrixResult `json:"results"`
		Records []web.Record         `json:"records"`
		Rules   string               `json:"rules_title"`
	}{card.Caution, m, m.Tallies(ways, results), worse, ways, results, recs, a.r.Title}
}
