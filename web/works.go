package web

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"sync"
)

// errRunning says that an answer is being worked out; ask again.
var errRunning = errors.New("the runs for this answer are being made")

// errBusy says that too much is being worked out already.
var errBusy = errors.New("too many questions are being worked out; ask again in a minute")

// works keeps answers by their question, each worked out once, a few at a time. What was
// asked longest ago is forgotten first.
type works struct {
	lock    sync.Mutex
	kept    map[string]*work
	order   []string // the longest unasked first
	waiting int
	turn    chan struct{}
	fault   func(question string, what any, stack []byte)
}

type work struct {
	done  chan struct{}
	value any
	err   error
}

// The bounds of what is kept and what may wait for its turn.
const (
	mostKept    = 64
	mostWaiting = 24
)

func newWorks(atOnce int, fault func(string, any, []byte)) *works {
	return &works{kept: map[string]*work{}, turn: make(chan struct{}, max(atOnce, 1)), fault: fault}
}

// get gives the answer to a question, worked out by do unless it is kept. It waits until
// the context ends and then gives errRunning; the work goes on and is kept.
func (w *works) get(ctx context.Context, question string, do func() (any, error)) (any, error) {
	w.lock.Lock()
	x, ok := w.kept[question]
	if ok {
		w.touch(question)
	} else {
		if w.waiting >= mostWaiting {
			w.lock.Unlock()
			return nil, errBusy
		}
		x = &work{done: make(chan struct{})}
		w.kept[question] = x
		w.order = append(w.order, question)
		w.waiting++
		w.forget()
		go w.do(question, x, do)
	}
	w.lock.Unlock()
	select {
	case <-x.done:
		return x.value, x.err
	default:
	}
	select {
	case <-x.done:
		return x.value, x.err
	case <-ctx.Done():
		return nil, errRunning
	}
}

// do works one answer out when its turn has come.
func (w *works) do(question string, x *work, do func() (any, error)) {
	w.turn <- struct{}{}
	defer func() {
		if what := recover(); what != nil {
			x.err = fmt.Errorf("this question could not be worked out; it has been noted")
			w.fault(question, what, debug.Stack())
		}
		<-w.turn
		w.lock.Lock()
		w.waiting--
		w.lock.Unlock()
		close(x.done)
	}()
	x.value, x.err = do()
}

// touch puts a question last to be forgotten.
func (w *works) touch(question string) {
	for i, q := range w.order {
		if q == question {
			w.order = append(append(w.order[:i:i], w.order[i+1:]...), question)
			return
		}
	}
}

// forget drops what is over the bound, but nothing that is being worked out.
func (w *works) forget() {
	for i := 0; len(w.order) > mostKept && i < len(w.order); {
		q := w.order[i]
		select {
		case <-w.kept[q].done:
			delete(w.kept, q)
			w.order = append(w.order[:i:i], w.order[i+1:]...)
		default:
			i++
		}
	}
}

// worked is get for an answer of a known kind.
func worked[T any](ctx context.Context, w *works, question string, do func() (T, error)) (T, error) {
	v, err := w.get(ctx, question, func() (any, error) { return do() })
	if err != nil {
		var none T
		return none, err
	}
	return v.(T), nil
}
