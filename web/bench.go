package web

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"headstock/card"
	"headstock/consist"
	"headstock/fleet"
	"headstock/quantity"
	"headstock/setup"
	"headstock/teach"
	"headstock/trial"
)

// benchShown is the page on which a consist is worked by hand. What it shows is filled in by
// its script, from the engine beside it.
type benchShown struct {
	frame
	Consist string
	Words   string // what the engine is told: the words of the address
	Empty   bool   // begins from empty
	Sealed  int    // number of the envelope; 0: none
	Stands  []benchStand
	Wagons  []benchStand // folded away
	Bench   string       // address of its script
	Worker  string       // and of the one beside it
	Strips  string       // and of its style sheet
}

// benchStand is a place with what is looked at and what is worked there.
type benchStand struct {
	Key     string
	Unit    string
	Place   string
	Looks   []benchLook
	Devices []benchDevice
}

type benchLook struct{ Key, Name, Kind string }

type benchDevice struct {
	Key, Name string
	At        string
	Positions []string
	Claim     string
	Keep      bool
	Tested    bool
	Cautions  []string
}

// key names a device of a vehicle on the bench page.
func benchKey(vehicle int, device string) string { return strconv.Itoa(vehicle) + "/" + device }

// mostActs is how much a link to a bench can hold.
const mostActs = 120

func (s *Site) benchPage(w http.ResponseWriter, r *http.Request) {
	q, err := s.ask(r, r.URL.Query(), r.Context())
	var c *consist.Consist
	if err == nil {
		c, err = q.consist()
	}
	var can []teach.Movable
	if err == nil {
		can, err = teach.Movables(c, s.rules)
	}
	if err != nil {
		asking := question{path: "bench", title: "Bench", says: "work the devices of a consist by hand and see what every gauge and piston shows", fields: []field{consistField, setField}}
		if q.get("consist") == "" {
			p := answeredPage{frame: s.frame(r, asking.title), Question: asking.path, Says: asking.says, Fields: s.form(asking, q), Open: true, Units: s.unitNames(), Classes: s.classNames()}
			s.show(w, r, http.StatusOK, "answer", p)
			return
		}
		s.failed(w, r, asking, q, err)
		return
	}
	p := benchShown{frame: s.frame(r, "Bench: "+c.String()), Consist: c.String(), Empty: q.get("start") == "empty"}
	p.Subtitle = s.fleet.Railway
	p.stand(s, "bench", q)
	if c.HasDraft() {
		p.Banner = card.Draft
	}
	p.Sealed, _ = strconv.Atoi(q.get("envelope"))
	v := url.Values{}
	for _, name := range []string{"consist", "set", "start", "envelope", "do", "at"} {
		if vs := q.all(name); len(vs) > 0 {
			v[name] = vs
		}
	}
	v.Set("units", q.units.Name())
	p.Words = v.Encode()
	p.Bench, p.Worker, p.Strips = s.scripts["bench.js"].address, s.scripts["bench-worker.js"].address, s.scripts["bench.css"].address
	claimed, err := c.Claimed()
	if err != nil {
		s.failed(w, r, question{path: "bench", title: "Bench"}, q, err)
		return
	}
	for i, v := range c.Vehicles {
		var stands []benchStand
		for _, place := range append(standPlaces(v.Class), fleet.Place{Name: "no place in the record"}) {
			st := benchStand{Key: fmt.Sprintf("%d/%s", i, place.ID), Unit: v.Name(), Place: place.Name}
			for _, d := range v.Class.Devices {
				at := d.Place
				if _, ok := v.Class.Place(at); !ok {
					at = ""
				}
				if at != place.ID {
					continue
				}
				if how, _ := v.Unit.Fitted(d); d.Reads != "" && how == "yes" && v.Unit.Carries(v.Class, d) && (d.Kind == "gauge" || d.Kind == "piston" || d.Kind == "exhaust") {
					st.Looks = append(st.Looks, benchLook{benchKey(i, d.ID), d.Name, d.Kind})
				}
				k := slices.IndexFunc(can, func(m teach.Movable) bool { return m.Vehicle == i && m.Device == d })
				if k < 0 {
					continue
				}
				m := can[k]
				x := benchDevice{Key: benchKey(i, d.ID), Name: d.Name, Positions: m.Positions, Keep: m.Keep, Tested: m.Tested, Cautions: d.Cautions}
				x.At, _ = c.Position(i, d.ID)
				x.Claim, _ = claimed.Position(i, d.ID)
				if p.Sealed > 0 {
					x.At = ""
				} else if !slices.Contains(x.Positions, x.At) {
					x.Positions = append([]string{x.At}, x.Positions...)
				}
				st.Devices = append(st.Devices, x)
			}
			if len(st.Looks)+len(st.Devices) > 0 {
				stands = append(stands, st)
			}
		}
		if v.Locomotive() {
			// where the driver stands is looked at first
			slices.SortStableFunc(stands, func(a, b benchStand) int { return driven(c, i, b) - driven(c, i, a) })
			p.Stands = append(p.Stands, stands...)
		} else {
			p.Wagons = append(p.Wagons, stands...)
		}
	}
	s.show(w, r, http.StatusOK, "bench", p)
}

// driven is 1 for a stand before whoever drives.
func driven(c *consist.Consist, vehicle int, st benchStand) int {
	for _, x := range st.Looks {
		_, id, _ := strings.Cut(x.Key, "/")
		if d, ok := c.Vehicles[vehicle].Class.Device(id); ok && c.BeforeDriver(vehicle, d) {
			return 1
		}
	}
	return 0
}

// Bench is a consist on the bench as the page beside it speaks of it: devices by their key,
// pressures in the units of whoever asks.
type Bench struct {
	b       *teach.Bench
	c       *consist.Consist // as it was put on the bench
	units   quantity.Units
	words   url.Values
	began   float64
	first   int // acts that belong to the beginning
	top     map[string]float64
	sealed  *teach.Envelope
	opened  bool
	looked  map[string]string // where a device stood when it was looked at
	lookups []string
}

// OpenBench puts a consist on the bench from the words of a bench page's address.
func (s *Site) OpenBench(words, units string) (*Bench, error) {
	v, err := url.ParseQuery(words)
	if err != nil {
		return nil, bad("the address of the bench cannot be read")
	}
	u, ok := quantity.UnitsNamed(units)
	if !ok {
		u = quantity.Metric()
	}
	q := &asked{Values: v, s: s, ctx: context.Background(), units: u}
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	b := &Bench{c: c, units: u, words: url.Values{}, top: map[string]float64{}, looked: map[string]string{}}
	for _, name := range []string{"consist", "set", "start", "envelope"} {
		if vs := q.all(name); len(vs) > 0 {
			b.words[name] = vs
		}
	}
	start := c
	if n := q.get("envelope"); n != "" {
		number, err := strconv.Atoi(n)
		if err != nil || number < 1 {
			return nil, bad("an envelope has a number from 1, found %q", n)
		}
		if b.sealed, err = teach.Seal(c, s.rules, trial.Conditions{}, number); err != nil {
			return nil, err
		}
		if start, err = c.With(b.sealed.Effect.Change); err != nil {
			return nil, err
		}
	}
	charged := q.get("start") != "empty" && b.sealed == nil
	if b.b, err = teach.NewBench(start, s.rules, trial.Conditions{}, charged); err != nil {
		return nil, err
	}
	b.began, b.first = b.b.Time(), len(b.b.Steps())
	acts := q.all("do")
	if len(acts) > mostActs {
		return nil, bad("the link holds %d acts; at most %d are done", len(acts), mostActs)
	}
	for _, a := range acts {
		at, what, _ := strings.Cut(a, " ")
		if err := b.until(at); err != nil {
			return nil, err
		}
		ch, err := b.b.Consist().ParseChange(what)
		if err == nil {
			err = b.b.Move(ch)
		}
		if err != nil {
			return nil, err
		}
	}
	if at := q.get("at"); at != "" {
		return b, b.until(at)
	}
	return b, nil
}

// longestBench is how long a link lets a bench run, s.
const longestBench = 4 * 3600

// until lets the bench run to a time after its beginning, as a link writes it.
func (b *Bench) until(text string) error {
	t, err := strconv.ParseFloat(text, 64)
	if err != nil || !(t >= 0) || t > longestBench {
		return bad("a link says when in seconds from 0 to %d, found %q", longestBench, text)
	}
	return b.b.Advance(b.began + t - b.b.Time())
}

// Frame is what a bench shows at one moment.
type Frame struct {
	Time    float64           `json:"t"` // s since the bench was begun
	Clock   string            `json:"clock"`
	Looks   []LookFrame       `json:"looks"`
	At      map[string]string `json:"at"`      // where devices stand, by key; of a sealed bench those that were looked at or moved
	Wrong   []string          `json:"wrong"`   // devices that stand otherwise than the record sets them; none of a sealed bench
	Differs int               `json:"differs"` // readings other than expected; 0 of a sealed bench
	Sealed  bool              `json:"sealed"`
}

// LookFrame is one reading at one moment.
type LookFrame struct {
	Key     string  `json:"k"`
	Share   float64 `json:"v"`  // height on the strip, 0 to 1
	Low     float64 `json:"lo"` // the expected band on it
	High    float64 `json:"hi"`
	Is      string  `json:"x"`
	Expect  string  `json:"e"`
	Differs bool    `json:"d"`
	Pascals float64 `json:"p"` // of a gauge, for its curve, and its band
	PLow    float64 `json:"pl"`
	PHigh   float64 `json:"ph"`
	Top     string  `json:"top"`
}

// The heights of strips, Pa gauge, and where the marks of a piston and an exhaust stand.
const (
	shortStrip = 600e3
	tallStrip  = 1200e3
	markRest   = 0.04
	markOut    = 0.9
	markHalf   = 0.5
)

// Frame lets so many seconds go by and says what is shown then.
func (b *Bench) Frame(seconds float64) (*Frame, error) {
	if math.IsNaN(seconds) || seconds > longestBench || b.b.Time()-b.began > longestBench {
		return nil, bad("the bench stands: it runs for %d s at most", longestBench)
	}
	if err := b.b.Advance(seconds); err != nil {
		return nil, err
	}
	hidden := b.sealed != nil && !b.opened
	t := b.b.Time() - b.began
	f := &Frame{Time: t, Clock: clock(t), At: map[string]string{}, Wrong: []string{}, Sealed: hidden}
	for _, s := range b.b.Looks() {
		if s.Fitted != "" {
			continue
		}
		x := LookFrame{Key: benchKey(s.Vehicle, s.Device), Differs: s.Differs}
		x.Is, x.Expect = card.OnBench(s, b.units)
		if s.Kind == "gauge" {
			top := max(b.top[x.Key], shortStrip)
			if max(s.Value, s.Expected.High) > top {
				top = tallStrip
			}
			b.top[x.Key] = top
			x.Pascals, x.PLow, x.PHigh = s.Value, s.Expected.Low, s.Expected.High
			x.Share, x.Low, x.High = min(1, s.Value/top), min(1, s.Expected.Low/top), min(1, s.Expected.High/top)
			x.Top = b.units.Gauge(quantity.Gauge(top))
		} else {
			x.Share, x.Low, x.High = markRest, 0, markHalf
			if s.Out {
				x.Share = markOut
			}
			if s.ExpectOut {
				x.Low, x.High = markHalf, 1
			}
		}
		if x.Differs {
			f.Differs++
		}
		f.Looks = append(f.Looks, x)
	}
	if hidden {
		// what is wrong is to be found by looking: nothing else tells
		f.Differs = 0
		for i := range f.Looks {
			f.Looks[i].Differs, f.Looks[i].Expect, f.Looks[i].Low, f.Looks[i].High, f.Looks[i].PLow, f.Looks[i].PHigh = false, "", 0, 0, 0, 0
		}
		for k, at := range b.looked {
			f.At[k] = at
		}
		return f, nil
	}
	now := b.b.Consist()
	claimed, err := b.c.Claimed()
	if err != nil {
		return nil, err
	}
	for _, m := range b.b.Movables() {
		at, _ := now.Position(m.Vehicle, m.Device.ID)
		f.At[benchKey(m.Vehicle, m.Device.ID)] = at
		if was, _ := claimed.Position(m.Vehicle, m.Device.ID); was != at && !m.Tested {
			f.Wrong = append(f.Wrong, fmt.Sprintf("%s, %s: %s; the record says %s", now.Vehicles[m.Vehicle].Name(), m.Device.Name, at, was))
		}
	}
	return f, nil
}

// clock words a time on the bench.
func clock(t float64) string {
	s := int(t)
	return fmt.Sprintf("%d:%02d.%d", s/60, s%60, int(t*10)%10)
}

// which is the device that a key names.
func (b *Bench) which(key string) (teach.Movable, error) {
	for _, m := range b.b.Movables() {
		if benchKey(m.Vehicle, m.Device.ID) == key {
			return m, nil
		}
	}
	return teach.Movable{}, bad("no device of the bench has the key %q", key)
}

// Move puts a device, by its key, to a position.
func (b *Bench) Move(key, position string) error {
	m, err := b.which(key)
	if err != nil {
		return err
	}
	if err := b.b.Move(consist.Change{Vehicle: m.Vehicle, Device: m.Device.ID, Position: position}); err != nil {
		return err
	}
	if b.sealed != nil {
		b.looked[key] = position
	}
	return nil
}

// Looked is what a look at a device tells.
type Looked struct {
	Key   string `json:"k"`
	At    string `json:"at"`
	Looks string `json:"looks"`
}

// LookAt looks at a device, by its key: where it stands and how that looks.
func (b *Bench) LookAt(key string) (*Looked, error) {
	m, err := b.which(key)
	if err != nil {
		return nil, err
	}
	c := b.b.Consist()
	out := &Looked{Key: key}
	out.At, _ = c.Position(m.Vehicle, m.Device.ID)
	if p, ok := m.Device.Position(out.At); ok {
		out.Looks = p.Looks
	}
	b.looked[key] = out.At
	b.lookups = append(b.lookups, c.Vehicles[m.Vehicle].Name()+", "+m.Device.Name)
	return out, nil
}

// Done is what was done on the bench: a procedure that can be run again, and the address
// of a bench on which it has been done.
type Done struct {
	Procedure *trial.Procedure `json:"procedure,omitempty"` // none while an envelope is sealed
	Consist   string           `json:"consist"`
	Address   string           `json:"address"`
}

// Procedure is what was done so far.
func (b *Bench) Procedure() Done {
	p := b.b.Procedure()
	v := url.Values{}
	for k, x := range b.words {
		v[k] = x
	}
	t := 0.0
	for i, s := range b.b.Steps() {
		if i >= b.first {
			for _, a := range s.Do {
				v.Add("do", fmt.Sprintf("%.2f %s.%s=%s", t, a.Who, a.What, a.To))
			}
		}
		t += s.For
	}
	if t > 0 {
		v.Set("at", fmt.Sprintf("%.2f", t))
	}
	out := Done{Consist: b.c.String(), Address: "/bench?" + v.Encode()}
	if b.sealed == nil || b.opened {
		out.Procedure = &p
	}
	return out
}

// Revealed is what was in an envelope, and how it was looked for.
type Revealed struct {
	Was   string   `json:"was"`   // what stood wrong
	Found bool     `json:"found"` // it was looked at
	Look  string   `json:"look"`  // which look of the brake test tells first
	Cab   string   `json:"cab"`   // and which from the driving cab; "" where none does
	Looks []string `json:"looks"` // what was looked at, in order
	More  string   `json:"more"`  // address of the whole of it
}

// Reveal opens the envelope.
func (b *Bench) Reveal() (*Revealed, error) {
	if b.sealed == nil {
		return nil, bad("there is no envelope on this bench")
	}
	b.opened = true
	e := b.sealed.Effect
	out := &Revealed{Was: fmt.Sprintf("%s, %s: %s instead of %s", e.Unit, e.Name, e.To, e.Was), Looks: b.lookups,
		More: address("/envelope", "consist", b.words.Get("consist"), "number", strconv.Itoa(b.sealed.Number))}
	_, out.Found = b.looked[benchKey(e.Change.Vehicle, e.Change.Device)]
	tell := func(s setup.Seen) string {
		return fmt.Sprintf("at step “%s” of the brake test: %s, %s", s.Step, s.Unit, s.Device)
	}
	out.Look = tell(e.Seen[0])
	if i := slices.IndexFunc(e.Seen, func(s setup.Seen) bool { return s.InCab }); i >= 0 {
		out.Cab = tell(e.Seen[i])
	}
	return out, nil
}

// sealedEnvelope is the envelope of a number, for whoever teaches.
func sealedEnvelope(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	n, err := strconv.Atoi(q.get("number"))
	if err != nil || n < 1 {
		return nil, bad("an envelope has a number from 1, found %q", q.get("number"))
	}
	got, err := q.searched(c, false)
	if err != nil && !errors.Is(err, errUnsearched) {
		return nil, err
	}
	e, err := worked(q.ctx, q.s.works, key(fmt.Sprintf("envelope %d %v", n, got.found != nil), c), func() (*teach.Envelope, error) {
		if !searchesHere || got.found == nil { // nothing is searched here
			return teach.Seal(c, q.s.rules, q.s.conditions(), n)
		}
		return teach.SealFrom(got.base, got.found, n)
	})
	if err != nil {
		return nil, err
	}
	return document(card.Envelope(c, e, q.s.rules, q.units)), nil
}
