package fault_test

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/consist"
	"headstock/fault"
	"headstock/fleet"
)

// A class whose wrong settings can be counted on the fingers.
const plover = `class: Plover
kind: locomotive
source: invented
cabs: 1
places:
  desk: {name: desk}
devices:
  handle: {function: automatic-handle, name: handle, kind: handle, place: desk, positions: {release: {looks: left}, service: {looks: right}, emergency: {looks: far right}}, normal: release}
  cut-out: {function: automatic-cut-out, name: cut-out, kind: cock, place: desk, positions: {in: {looks: along}, out: {looks: across}}, normal: in}
  wheel: {function: hand-brake, name: wheel, kind: wheel, place: desk, positions: {'off': {looks: chain slack}, 'on': {looks: chain tight}}, normal: 'on'}
  gauge: {function: brake-pipe-gauge, name: gauge, kind: gauge, place: desk}
  screw: {function: feed-adjuster, name: screw, kind: adjuster, place: desk, positions: {set: {looks: locked}}, normal: set}
  drain: {function: main-reservoir-drain, name: drain, kind: cock, place: desk, fitted: blanked, positions: {open: {looks: down}, closed: {looks: level}}, normal: closed}
  lamp: {function: cab-light, name: lamp, kind: switch, place: desk, only with: lamps, positions: {'on': {looks: up}, 'off': {looks: down}}, normal: 'off'}
roles:
  lead: {handle: release, cut-out: in, wheel: 'off'}
  hauled dead: {handle: service, cut-out: out, wheel: 'off'}
`

// Every wrong setting of three Plovers, counted by hand: the handle has two others, the
// cut-out and the wheel one each; a gauge and a screw with one position have none; the
// drain is blanked; only number 2 has the lamp; on number 3 the cut-out is out of use
// today and the wheel stands as it was found.
func TestSettingsCounted(t *testing.T) {
	f, cs := fleet.Read(fstest.MapFS{
		"railway.yaml":        {Data: []byte("name: Hand Count\n")},
		"units.yaml":          {Data: []byte("units:\n  Plover:\n    1: {}\n    2: {with: [lamps]}\n    3:\n      state:\n        - {device: cut-out, property: fitted, value: out of use, date: 2026-11-01, reason: seized}\n        - {device: wheel, property: position, value: 'on', date: 2026-11-01, reason: left on}\n")},
		"classes/plover.yaml": {Data: []byte(plover)},
	})
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	c, err := consist.Parse(f, "Plover 1 lead, Plover 2 hauled dead, Plover 3 hauled dead")
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"1 handle=service claim release", "1 handle=emergency claim release", "1 cut-out=out claim in", "1 wheel=on claim off",
		"2 handle=release claim service", "2 handle=emergency claim service", "2 cut-out=in claim out", "2 wheel=on claim off", "2 lamp=on claim off",
		"3 handle=release claim service", "3 handle=emergency claim service", "3 wheel=off claim on",
	}
	var got []string
	for _, s := range fault.Settings(c) {
		v := c.Vehicles[s.Change.Vehicle]
		got = append(got, strings.TrimPrefix(v.Name(), "Plover ")+" "+s.Change.Device+"="+s.Change.Position+" claim "+s.Claim)
		if _, err := c.With(s.Change); err != nil {
			t.Errorf("%+v: %v", s, err)
		}
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("%d wrong settings\n%q, counted by hand %d\n%q", len(got), got, len(want), want)
	}
}
