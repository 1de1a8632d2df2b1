package reference

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
)

// Row is one row of the programme of a pipe end: from time T (s) on the end is closed,
// a vent (opening to the atmosphere), a feed (opening from a constant pressure), or led
// to a pressure.
type Row struct {
	T             float64 `json:"t"`
	Mode          string  `json:"mode"`
	Diameter      float64 `json:"diameter_m,omitempty"`
	DiameterStart float64 `json:"diameter_start_m,omitempty"`
	Cd            float64 `json:"Cd,omitempty"`
	CriticalRatio float64 `json:"critical_ratio,omitempty"` // of ISO 6358, with the choked flow of the nozzle; absent: the nozzle
	Ramp          float64 `json:"ramp_s,omitempty"`
	Pressure      float64 `json:"pressure_Pa,omitempty"`     // absolute; of the feed, or at the start of a ramp (absent: p_init_Pa)
	PressureEnd   float64 `json:"pressure_end_Pa,omitempty"` // absolute (absent: held)
}

// Hole is an opening to the atmosphere at the middle of vehicles: all, or those listed
// (counted from 0).
type Hole struct {
	Diameter float64 `json:"diameter_m"`
	Cd       float64 `json:"Cd"`
	Vehicles []int   `json:"vehicles,omitempty"`
}

// Vent is a hole that opens for good, its area growing evenly over Ramp seconds, from
// the moment when the pressure at it first falls below Trigger (Pa absolute).
type Vent struct {
	Hole
	Trigger float64 `json:"trigger_Pa"`
	Ramp    float64 `json:"ramp_s"`
}

// Branch is a reservoir at one temperature behind a choke at the middle of vehicles.
type Branch struct {
	Volume   float64 `json:"volume_m3"`
	Choke    float64 `json:"choke_m"`
	Cd       float64 `json:"Cd"`
	Check    bool    `json:"check,omitempty"` // air passes into the reservoir only
	Start    float64 `json:"p_init_Pa"`       // absolute
	Vehicles []int   `json:"vehicles,omitempty"`
}

// Restriction is an opening in the line of the pipe behind a vehicle (counted from 0).
type Restriction struct {
	Diameter float64 `json:"diameter_m"`
	Cd       float64 `json:"Cd"`
	After    int     `json:"after_vehicle"`
}

// Spec describes a pipe and what is done with it; pressures absolute, SI.
type Spec struct {
	Bore        float64      `json:"diameter_m"`
	Roughness   float64      `json:"roughness_m"`
	Friction    string       `json:"friction"`                  // colebrook, constant or none
	Factor      float64      `json:"friction_factor,omitempty"` // Darcy, of constant friction
	Model       string       `json:"model,omitempty"`           // iso (default) or euler
	Insulated   bool         `json:"insulated,omitempty"`       // euler without heat through the wall
	VehiclePipe float64      `json:"vehicle_pipe_length_m"`
	Vehicles    int          `json:"vehicles"`
	Start       float64      `json:"p_init_Pa"`
	End         float64      `json:"t_end_s"`
	K           float64      `json:"K_per_vehicle,omitempty"` // loss coefficient, spread over the vehicle
	Head        []Row        `json:"head"`
	Tail        []Row        `json:"tail"`
	Branch      *Branch      `json:"branch,omitempty"`
	Leak        *Hole        `json:"leak,omitempty"`
	Vent        *Vent        `json:"vent,omitempty"`
	Restriction *Restriction `json:"restriction,omitempty"`
}

// Expected is one result that a case asks for and, mostly, states.
type Expected struct {
	Name  string
	Value float64 // NaN where it is only asked for
	Limit float64 // Value carried on to cells of no length; Value itself where none is given
	U     float64 // numerical uncertainty of Value; 0 where none is given
}

// Case is one case of a file.
type Case struct {
	ID       string
	Title    string
	Spec     Spec
	Cells    []int // cells a vehicle of the grids that Value was found on
	Expected []Expected
}

// expectations keeps the order of the file.
type expectations []Expected

func (e *expectations) UnmarshalJSON(text []byte) error {
	d := json.NewDecoder(bytes.NewReader(text))
	if _, err := d.Token(); err != nil {
		return err
	}
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return err
		}
		var v struct{ Value, Extrapolated, U *float64 }
		if err := d.Decode(&v); err != nil {
			return err
		}
		x := Expected{Name: name.(string)}
		x.Value = math.NaN()
		if v.Value != nil {
			x.Value = *v.Value
		}
		x.Limit = x.Value
		if v.Extrapolated != nil {
			x.Limit = *v.Extrapolated
		}
		if v.U != nil {
			x.U = *v.U
		}
		*e = append(*e, x)
	}
	return nil
}

// Read reads a case file: an object with "cases", each with an id, a title, a model, a
// spec and results. name is used in complaints.
func Read(r io.Reader, name string) ([]Case, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	var file struct {
		Cases []struct {
			ID      string          `json:"id"`
			Title   string          `json:"title"`
			Model   string          `json:"model"`
			Spec    json.RawMessage `json:"spec"`
			Cells   []int           `json:"grids_cells_per_vehicle"`
			Results expectations    `json:"results"`
		} `json:"cases"`
	}
	if err := json.Unmarshal(text, &file); err != nil {
		return nil, fmt.Errorf("%s: %w", at(name, text, err), err)
	}
	if len(file.Cases) == 0 {
		return nil, fmt.Errorf("%s: expected a list \"cases\"", name)
	}
	var out []Case
	for _, c := range file.Cases {
		k := Case{ID: c.ID, Title: c.Title, Cells: c.Cells, Expected: c.Results}
		d := json.NewDecoder(bytes.NewReader(c.Spec))
		d.DisallowUnknownFields()
		if err := d.Decode(&k.Spec); err != nil {
			return nil, fmt.Errorf("%s: case %q: spec: %w", name, c.ID, err)
		}
		if k.Spec.Model == "" {
			k.Spec.Model = c.Model
		}
		if c.Model != "" && c.Model != k.Spec.Model {
			return nil, fmt.Errorf("%s: case %q: model is %q, in its spec %q", name, c.ID, c.Model, k.Spec.Model)
		}
		if err := k.Spec.check(); err != nil {
			return nil, fmt.Errorf("%s: case %q: %w", name, c.ID, err)
		}
		for _, e := range k.Expected {
			f, err := parseFigure(e.Name, &k.Spec)
			if err == nil && (f.what == "p" || f.what == "leak") && !(f.at > 0 && f.at <= k.Spec.End) {
				err = fmt.Errorf("result %q is read outside the run, which ends after %g s", e.Name, k.Spec.End)
			}
			if err != nil {
				return nil, fmt.Errorf("%s: case %q: %w", name, c.ID, err)
			}
		}
		out = append(out, k)
	}
	return out, nil
}

// at is the place of a JSON complaint: file:line:column where it is known.
func at(name string, text []byte, err error) string {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	var offset int64
	switch {
	case errors.As(err, &syntax):
		offset = syntax.Offset
	case errors.As(err, &kind):
		offset = kind.Offset
	default:
		return name
	}
	before := text[:min(max(offset-1, 0), int64(len(text)))]
	return fmt.Sprintf("%s:%d:%d", name, 1+bytes.Count(before, []byte("\n")), len(before)-bytes.LastIndexByte(before, '\n'))
}

// mostVehicles says how large a case may be, so that a slip of the pen does not fill the memory.
const mostVehicles = 10000

func (s *Spec) check() error {
	positive := func(what string, v float64) error {
		if !(v > 0) || math.IsInf(v, 0) {
			return fmt.Errorf("%s is %g, expected more than 0", what, v)
		}
		return nil
	}
	for _, f := range []struct {
		what string
		v    float64
	}{{"diameter_m", s.Bore}, {"vehicle_pipe_length_m", s.VehiclePipe}, {"p_init_Pa", s.Start}, {"t_end_s", s.End}} {
		if err := positive(f.what, f.v); err != nil {
			return err
		}
	}
	if s.Vehicles < 1 || s.Vehicles > mostVehicles {
		return fmt.Errorf("vehicles is %d, expected 1 to %d", s.Vehicles, mostVehicles)
	}
	if s.Model != "iso" && s.Model != "euler" {
		return fmt.Errorf("model is %q, expected iso or euler", s.Model)
	}
	if s.K < 0 || s.Roughness < 0 || s.Factor < 0 {
		return errors.New("K_per_vehicle, roughness_m and friction_factor are not negative")
	}
	switch s.Friction {
	case "colebrook", "constant", "none":
	default:
		return fmt.Errorf("friction is %q, expected colebrook, constant or none", s.Friction)
	}
	for _, end := range []struct {
		what string
		rows []Row
	}{{"head", s.Head}, {"tail", s.Tail}} {
		if len(end.rows) == 0 || end.rows[0].T != 0 {
			return fmt.Errorf("%s: the first row begins at t 0", end.what)
		}
		for i, r := range end.rows {
			if i > 0 && !(r.T > end.rows[i-1].T) {
				return fmt.Errorf("%s: row %d does not begin after the one before", end.what, i+1)
			}
			var err error
			switch r.Mode {
			case "closed":
			case "feed":
				if err = positive("pressure_Pa", r.Pressure); err == nil {
					err = positive("Cd", r.Cd)
				}
			case "vent":
				err = positive("Cd", r.Cd)
			case "pressure":
				if r.Pressure < 0 || r.PressureEnd < 0 {
					err = errors.New("pressure_Pa and pressure_end_Pa are not negative")
				}
			default:
				err = fmt.Errorf("mode is %q, expected closed, vent, feed or pressure", r.Mode)
			}
			if err == nil && !(r.CriticalRatio >= 0 && r.CriticalRatio < 1) {
				err = fmt.Errorf("critical_ratio is %g, expected 0 to below 1", r.CriticalRatio)
			}
			if err == nil && (r.Diameter < 0 || r.DiameterStart < 0 || r.Ramp < 0) {
				err = errors.New("diameters and ramp_s are not negative")
			}
			if err != nil {
				return fmt.Errorf("%s: row %d: %w", end.what, i+1, err)
			}
		}
	}
	vehicles := func(what string, list []int) error {
		for _, v := range list {
			if v < 0 || v >= s.Vehicles {
				return fmt.Errorf("%s: vehicle %d, expected 0 to %d", what, v, s.Vehicles-1)
			}
		}
		return nil
	}
	if b := s.Branch; b != nil {
		if err := errors.Join(positive("branch: volume_m3", b.Volume), positive("branch: p_init_Pa", b.Start), vehicles("branch", b.Vehicles)); err != nil {
			return err
		}
		if b.Choke < 0 || b.Cd < 0 {
			return errors.New("branch: choke_m and Cd are not negative")
		}
	}
	hole := func(what string, h *Hole) error {
		if h.Diameter < 0 || h.Cd < 0 {
			return fmt.Errorf("%s: diameter_m and Cd are not negative", what)
		}
		return vehicles(what, h.Vehicles)
	}
	if s.Leak != nil {
		if err := hole("leak", s.Leak); err != nil {
			return err
		}
	}
	if s.Vent != nil {
		if err := hole("vent", &s.Vent.Hole); err != nil {
			return err
		}
		if s.Vent.Ramp < 0 {
			return errors.New("vent: ramp_s is not negative")
		}
	}
	if r := s.Restriction; r != nil {
		if r.After < 0 || r.After >= s.Vehicles-1 {
			return fmt.Errorf("restriction: after_vehicle is %d, expected 0 to %d", r.After, s.Vehicles-2)
		}
		return errors.Join(positive("restriction: diameter_m", r.Diameter), positive("restriction: Cd", r.Cd))
	}
	return nil
}
