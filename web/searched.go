package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"

	"headstock/consist"
	"headstock/setup"
)

// Running everything that can be wrong takes from seconds to many minutes, so it is done
// behind the pages: begun when a consist is opened, one consist at a time, the one that was
// opened last before the others. What has been run so far is kept by a sum over all that it
// rests on, so that a search that has to make room, or a server that is started again, goes
// on from there. First come the wrong settings, then, with what they came to shown already,
// the parts that can fail.

// Results keep the runs of searches, each under a name that is a sum in letters and figures.
// What is written is whole lines, and a line that is cut off is as if it were not there.
type Results interface {
	// Open gives what is kept under a name, nil where nothing is, and where more goes.
	Open(name string) (before io.ReadCloser, after io.WriteCloser, err error)
}

// inMemory keeps the runs of a few searches for as long as the site lives.
type inMemory struct {
	lock  sync.Mutex
	kept  map[string]*[]byte
	order []string // the longest unopened first
	most  int      // bytes
}

// InMemory are results that are kept up to so many bytes, those that were opened last.
func InMemory(most int) Results { return &inMemory{kept: map[string]*[]byte{}, most: most} }

func (m *inMemory) Open(name string) (io.ReadCloser, io.WriteCloser, error) {
	m.lock.Lock()
	defer m.lock.Unlock()
	b, ok := m.kept[name]
	if !ok {
		b = &[]byte{}
		m.kept[name] = b
	}
	m.order = append(slices.DeleteFunc(m.order, func(n string) bool { return n == name }), name)
	w := memoryLines{m, name, b}
	if !ok || len(*b) == 0 {
		return nil, w, nil
	}
	return io.NopCloser(bytes.NewReader(*b)), w, nil
}

type memoryLines struct {
	m    *inMemory
	name string
	b    *[]byte
}

func (l memoryLines) Write(p []byte) (int, error) {
	l.m.lock.Lock()
	defer l.m.lock.Unlock()
	*l.b = append(*l.b, p...)
	all := 0
	for _, b := range l.m.kept {
		all += len(*b)
	}
	for all > l.m.most && len(l.m.order) > 1 && l.m.order[0] != l.name {
		all -= len(*l.m.kept[l.m.order[0]])
		delete(l.m.kept, l.m.order[0])
		l.m.order = l.m.order[1:]
	}
	return len(p), nil
}

func (memoryLines) Close() error { return nil }

// The bounds of what is kept and of what may wait.
const (
	mostSearched   = 12       // consists whose search is kept ready
	mostToSearch   = 8        // that wait; of more the one opened longest ago is not searched
	mostInMemory   = 96 << 20 // bytes of runs, where there is no other place for them
	mostMatrixRuns = 5000
)

// searching says that a consist is still being searched; it is a kind of errRunning.
type searching struct {
	done, of int // proofs; of 0: not begun
	ahead    int // consists that are searched before it
	failures bool
}

func (e *searching) Error() string {
	what := "what can be set wrong here"
	if e.failures {
		what = "what can fail here"
	}
	switch {
	case e.of > 0:
		return fmt.Sprintf("%s is still being searched: %d of %d done", what, e.done, e.of)
	case e.ahead > 0:
		return fmt.Sprintf("%s is still to be searched: another consist is searched first", what)
	}
	return what + " is still being searched: its runs are about to begin"
}

func (e *searching) Is(target error) bool { return target == errRunning }

// searchesHere is whether this program searches at all; in a browser it takes too long.
const searchesHere = !inBrowser

// errUnsearched is where nothing is searched.
var errUnsearched = &unsaid{"not searched yet: that needs the server, and takes it from some seconds to many minutes"}

// searched is what a search of a consist has come to so far.
type searched struct {
	base     *setup.Base
	found    *setup.Found // nil while the wrong settings are still being run, and where it was carried over
	brief    *setup.Brief // the same without the runs
	failures bool         // and the parts that can fail
	pending  *searching   // what is still going on; nil when all is done
	err      error
}

// searches are the searches of a site.
type searches struct {
	lock    sync.Mutex
	s       *Site
	workers int
	results Results
	kept    map[string]*search
	order   []string  // of kept: the longest unasked first
	queue   []*search // the last goes first
	busy    *search
	cut     context.CancelFunc // ends the search that is being made
	ctx     context.Context
	going   bool
}

type search struct {
	key string
	c   *consist.Consist
	now searched
	// changed is closed and made anew whenever there is more than before
	changed  chan struct{}
	done, of int
	stage    int // 0: settings, 1: failures, 2: all is done
}

func newSearches(s *Site, workers int, results Results) *searches {
	if results == nil {
		results = InMemory(mostInMemory)
	}
	ctx, stop := context.WithCancel(context.Background())
	s.closers = append(s.closers, stop)
	return &searches{s: s, workers: workers, results: results, kept: map[string]*search{}, ctx: ctx}
}

// sum is over all that a search of a consist rests on: what is searched, the records, and
// with the readings and findings as it stands the rules and the program.
func sum(base *setup.Base) string {
	c := base.Consist()
	h := sha256.New()
	fmt.Fprintf(h, "%q\n", key("search", c))
	for _, v := range c.Vehicles {
		fmt.Fprintf(h, "%q %q\n", v.Class.Name, v.Class.Content)
	}
	for _, v := range []any{base.Proof().Findings, base.Proof().Test.Readings} {
		b, err := json.Marshal(v)
		fmt.Fprintf(h, "%s %v\n", b, err)
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// of is what there is of a consist's search; it is begun where it was not.
func (x *searches) of(c *consist.Consist) (searched, <-chan struct{}) {
	x.lock.Lock()
	defer x.lock.Unlock()
	k := key("search", c)
	y, ok := x.kept[k]
	if !ok {
		if b, ok := x.s.carried[c.String()]; ok && len(c.Changed) == 0 {
			return searched{brief: b, failures: b.Failures}, nil
		}
		if !searchesHere || x.workers < 1 {
			return searched{err: errUnsearched}, nil
		}
		y = &search{key: k, c: c, changed: make(chan struct{})}
		x.kept[k] = y
		x.queue = append(x.queue, y)
		for len(x.queue) > mostToSearch {
			x.drop(x.queue[0])
		}
		if x.busy != nil {
			x.cut() // it goes on afterwards from what it has run
		}
		if !x.going {
			x.going = true
			go x.work()
		}
	}
	x.order = append(slices.DeleteFunc(x.order, func(n string) bool { return n == k }), k)
	for i := 0; len(x.order) > mostSearched && i < len(x.order); {
		if old := x.kept[x.order[i]]; old != y && old.stage > 1 {
			x.drop(old)
		} else {
			i++
		}
	}
	out := y.now
	if out.err == nil && y.stage < 2 {
		p := &searching{done: y.done, of: y.of, failures: y.stage == 1}
		if x.busy != y {
			p.of, p.ahead = 0, 1
		}
		out.pending = p
	}
	return out, y.changed
}

// ready is what a consist's search has come to; nil where it has not, and none is begun.
func (x *searches) ready(c *consist.Consist) *setup.Brief {
	x.lock.Lock()
	defer x.lock.Unlock()
	if y, ok := x.kept[key("search", c)]; ok {
		return y.now.brief
	}
	return nil
}

// drop forgets a search; what it has run stays among the results.
func (x *searches) drop(y *search) {
	delete(x.kept, y.key)
	x.queue = slices.DeleteFunc(x.queue, func(o *search) bool { return o == y })
	x.order = slices.DeleteFunc(x.order, func(n string) bool { return n == y.key })
}

// work makes the searches that wait, one at a time, until there are none.
func (x *searches) work() {
	for {
		x.lock.Lock()
		if len(x.queue) == 0 || x.ctx.Err() != nil {
			x.going = false
			x.lock.Unlock()
			return
		}
		// whoever waits for wrong settings goes before what can fail
		k := len(x.queue) - 1
		for i, y := range x.queue {
			if y.stage < x.queue[k].stage || y.stage == x.queue[k].stage && i > k {
				k = i
			}
		}
		y := x.queue[k]
		ctx, cut := context.WithCancel(x.ctx)
		x.busy, x.cut = y, cut
		y.done, y.of = 0, 0
		x.lock.Unlock()

		got, err := x.make(ctx, y)
		cut()

		x.lock.Lock()
		x.busy = nil
		if errors.Is(err, context.Canceled) {
			x.lock.Unlock()
			continue
		}
		if err != nil {
			x.s.log.Error("a search could not be made", "consist", y.c.String(), "error", err)
			got.err = err
			y.stage = 2
		} else {
			y.stage++
		}
		y.now, y.of, y.done = got, 0, 0
		if y.stage > 1 {
			x.queue = slices.DeleteFunc(x.queue, func(o *search) bool { return o == y })
		}
		close(y.changed)
		y.changed = make(chan struct{})
		x.lock.Unlock()
	}
}

// make makes one stage of a search.
func (x *searches) make(ctx context.Context, y *search) (out searched, err error) {
	defer func() {
		if what := recover(); what != nil {
			x.s.works.fault(y.key, what, nil)
			err = errors.New("this could not be worked out; it has been noted")
		}
	}()
	out = y.now
	if out.base == nil {
		if out.base, err = setup.NewBase(y.c, x.s.rules, x.s.conditions()); err != nil {
			return out, unproved(err)
		}
		if out.base.Proof().Test == nil {
			return out, &unsaid{"cannot say: there is no brake test to go by; this set-up " + out.base.Proof().Verdict}
		}
	}
	opt := setup.Options{Failures: y.stage == 1, Workers: x.workers, Progress: func(done, of int) {
		x.lock.Lock()
		y.done, y.of = done, of
		x.lock.Unlock()
	}}
	before, after, err := x.results.Open(sum(out.base))
	if err != nil {
		x.s.log.Error("the runs of a search cannot be kept", "error", err)
	} else {
		defer after.Close()
		opt.After = after
		if before != nil {
			defer before.Close()
			opt.Before = before
		}
	}
	found, err := out.base.Search(ctx, opt)
	if errors.Is(err, setup.ErrResults) { // kept by something else: it is done without
		x.s.log.Error("what was kept of a search is not used", "error", err)
		opt.Before, opt.After = nil, nil
		found, err = out.base.Search(ctx, opt)
	}
	if err != nil {
		if ctx.Err() != nil {
			return out, context.Canceled
		}
		return out, unproved(err)
	}
	out.found, out.brief, out.failures = found, found.Brief(), opt.Failures
	return out, nil
}

// searched is what a consist's search came to, with its wrong settings at least. While
// these are run it waits until the question's context ends, and then gives a searching.
func (q *asked) searched(c *consist.Consist, failures bool) (searched, error) {
	for {
		got, changed := q.s.searches.of(c)
		switch {
		case got.err != nil:
			return got, got.err
		case got.pending == nil || got.brief != nil && (got.failures || !failures):
			return got, nil
		}
		select {
		case <-changed:
		case <-q.ctx.Done():
			got, _ = q.s.searches.of(c)
			if got.pending == nil || got.err != nil {
				continue
			}
			return got, got.pending
		}
	}
}

// Close ends what goes on behind the pages. What has been run is kept.
func (s *Site) Close() {
	for _, stop := range s.closers {
		stop()
	}
}

// covered is what the brake test shows of all that was searched, and what could be added.
func (q *asked) covered(c *consist.Consist, failures bool) (*setup.Coverage, searched, error) {
	got, err := q.searched(c, failures)
	if err != nil {
		return nil, got, err
	}
	if !searchesHere || got.found == nil {
		return nil, got, errUnsearched
	}
	cv, err := worked(q.ctx, q.s.works, key(strings.Join([]string{"coverage", fmt.Sprint(got.failures)}, "\x00"), c), func() (*setup.Coverage, error) {
		cv, err := got.base.Cover(q.s.searches.ctx, got.found, q.s.searches.workers)
		return cv, unproved(err)
	})
	return cv, got, err
}
