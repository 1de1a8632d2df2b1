//go:build js && wasm

// Command tablet is the pages and the engine for a browser: in a service worker it answers
// as the server does, from the records that the browser took over; in a worker beside the
// bench it runs the air. It opens nothing by itself: a script hands it the records and asks.
package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"runtime/debug"
	"syscall/js"
	"time"

	"headstock/web"
)

// door is what the script that started this program can ask of it.
type door struct {
	site  *web.Site
	pages http.Handler
	bench *web.Bench
	since time.Time // the browser had its last turn
}

// How long a run goes on before the browser has a turn, which has one thread for both: what
// is asked meanwhile is answered then.
const (
	goesOn = 50 * time.Millisecond
	rests  = time.Millisecond // and it takes what it wants
)

// turn gives the browser one if it has waited long enough. Only what is answered by answer
// may rest: a call that a script waits for may not.
func (d *door) turn() {
	if time.Since(d.since) < goesOn {
		return
	}
	time.Sleep(rests)
	d.since = time.Now()
}

func main() {
	debug.SetGCPercent(200)
	d := &door{}
	js.Global().Set("headstock", js.ValueOf(map[string]any{
		"open":   said(d.open),
		"answer": js.FuncOf(d.answer),
		"bench":  said(d.startBench),
		"move":   said(d.move),
		"frame":  said(d.frame),
		"look":   said(d.look),
		"done":   said(d.done),
		"reveal": said(d.reveal),
	}))
	js.Global().Call("headstockStarted")
	select {}
}

// said is a call that gives JSON: what came of it, or under "error" what is wrong.
func said(do func(args []js.Value) (any, error)) js.Func {
	return js.FuncOf(func(_ js.Value, args []js.Value) (out any) {
		defer func() {
			if what := recover(); what != nil {
				out = `{"error":"this could not be worked out"}`
				println(fmt.Sprint(what), string(debug.Stack()))
			}
		}()
		v, err := do(args)
		if err != nil {
			v = map[string]string{"error": err.Error()}
		}
		b, err := json.Marshal(v)
		if err != nil {
			return `{"error":"this cannot be written as JSON"}`
		}
		return string(b)
	})
}

// bytesOf copies a Uint8Array.
func bytesOf(v js.Value) []byte {
	if v.IsUndefined() || v.IsNull() {
		return nil
	}
	b := make([]byte, v.Get("length").Int())
	js.CopyBytesToGo(b, v)
	return b
}

// open reads the records, the logbook where there is one, and the searches that the browser
// took over.
func (d *door) open(args []js.Value) (any, error) {
	var searched []byte // the bench needs none
	if len(args) > 2 {
		searched = bytesOf(args[2])
	}
	s, err := web.TakenOver(bytesOf(args[0]), bytesOf(args[1]), searched, time.Now, d.turn)
	if err != nil {
		return nil, err
	}
	d.site, d.pages = s, s.Handler()
	return map[string]bool{"ok": true}, nil
}

// written is an answer being written.
type written struct {
	head   http.Header
	status int
	body   bytes.Buffer
}

func (w *written) Header() http.Header { return w.head }
func (w *written) WriteHeader(code int) {
	if w.status == 0 {
		w.status = code
	}
}
func (w *written) Write(b []byte) (int, error) {
	w.WriteHeader(http.StatusOK)
	return w.body.Write(b)
}

// answer answers a request (method, address, headers as pairs, body, and a function that
// takes the answer) as the server would.
func (d *door) answer(_ js.Value, args []js.Value) any {
	method, address, body, give := args[0].String(), args[1].String(), bytesOf(args[3]), args[4]
	r, err := http.NewRequest(method, address, bytes.NewReader(body))
	if err != nil || d.pages == nil {
		give.Invoke(400, js.ValueOf([]any{}), js.Global().Get("Uint8Array").New(0), js.ValueOf(map[string]any{}))
		return nil
	}
	for i := range args[2].Length() {
		r.Header.Add(args[2].Index(i).Index(0).String(), args[2].Index(i).Index(1).String())
	}
	r.RequestURI = r.URL.RequestURI()
	go func() {
		w := &written{head: http.Header{}}
		d.pages.ServeHTTP(w, r)
		w.WriteHeader(http.StatusOK)
		var head []any
		chosen := map[string]any{}
		for name, vs := range w.head {
			for _, v := range vs {
				if name != "Set-Cookie" {
					head = append(head, []any{name, v})
				}
			}
		}
		for _, c := range (&http.Response{Header: w.head}).Cookies() {
			chosen[c.Name] = c.Value
		}
		out := js.Global().Get("Uint8Array").New(w.body.Len())
		js.CopyBytesToJS(out, w.body.Bytes())
		give.Invoke(w.status, js.ValueOf(head), out, js.ValueOf(chosen))
	}()
	return nil
}

// startBench puts a consist on the bench: the words of the bench page's address.
func (d *door) startBench(args []js.Value) (any, error) {
	if d.site == nil {
		return nil, fmt.Errorf("no records have been taken over")
	}
	b, err := d.site.OpenBench(args[0].String(), args[1].String())
	if err != nil {
		return nil, err
	}
	d.bench = b
	return b.Frame(0)
}

var errNoBench = fmt.Errorf("nothing is on the bench")

// move puts a device, named as on the page, to a position.
func (d *door) move(args []js.Value) (any, error) {
	if d.bench == nil {
		return nil, errNoBench
	}
	if err := d.bench.Move(args[0].String(), args[1].String()); err != nil {
		return nil, err
	}
	return d.bench.Frame(0)
}

// frame lets so many seconds go by and says what is shown then.
func (d *door) frame(args []js.Value) (any, error) {
	if d.bench == nil {
		return nil, errNoBench
	}
	return d.bench.Frame(args[0].Float())
}

// look says where a device stands that is sealed from sight.
func (d *door) look(args []js.Value) (any, error) {
	if d.bench == nil {
		return nil, errNoBench
	}
	return d.bench.LookAt(args[0].String())
}

// done is what was done so far, as a procedure.
func (d *door) done([]js.Value) (any, error) {
	if d.bench == nil {
		return nil, errNoBench
	}
	return d.bench.Procedure(), nil
}

// reveal opens the envelope.
func (d *door) reveal([]js.Value) (any, error) {
	if d.bench == nil {
		return nil, errNoBench
	}
	return d.bench.Reveal()
}
