package motion

import "math"

// Heating is a body that warms and cools as one: its rise goes to that of its losses with
// one time constant. Rises are in parts of the rated rise, which the continuous rating
// reaches in the end; a load is in parts of the continuous one.
type Heating struct {
	Tau      float64 // s, working
	Rest     float64 // s, at rest with poor cooling; 0: as working
	Constant float64 // losses that do not depend on the load, as a part of the load losses at the continuous load
}

// Losses are the losses at a load, in parts of those at the continuous load.
func (h Heating) Losses(load float64) float64 { return (h.Constant + load*load) / (1 + h.Constant) }

// After is the rise after a time, s, at a load from a rise at its beginning.
func (h Heating) After(rise, load, time float64) float64 {
	return h.toward(rise, h.Losses(load), time, h.Tau)
}

// Resting is the rise after a time, s, without load and without losses.
func (h Heating) Resting(rise, time float64) float64 {
	tau := h.Rest
	if tau == 0 {
		tau = h.Tau
	}
	return h.toward(rise, 0, time, tau)
}

func (h Heating) toward(rise, final, time, tau float64) float64 {
	return final + (rise-final)*math.Exp(-time/tau)
}

// Until is the time, s, at a load until a rise is reached from another; +Inf where it never
// is, 0 where it has been.
func (h Heating) Until(rise, load, limit float64) float64 {
	q := h.Losses(load)
	switch {
	case rise >= limit:
		return 0
	case q <= limit:
		return math.Inf(1)
	}
	return h.Tau * math.Log((q-rise)/(q-limit))
}

// Rating is the load that reaches the rated rise in a time, s, from cold.
func (h Heating) Rating(time float64) float64 {
	q := 1 / (1 - math.Exp(-time/h.Tau))
	return math.Sqrt(math.Max(0, q*(1+h.Constant)-h.Constant))
}

// Cycle is the highest rise, in parts of the final rise at the load, of a load that is on
// for a time and off for a time, over and over.
func (h Heating) Cycle(on, off float64) float64 {
	rest := h.Rest
	if rest == 0 {
		rest = h.Tau
	}
	return (1 - math.Exp(-on/h.Tau)) / (1 - math.Exp(-on/h.Tau-off/rest))
}

// CycleRating is the load that, on for a time and off for a time, over and over, reaches
// the rated rise.
func (h Heating) CycleRating(on, off float64) float64 {
	return math.Sqrt(math.Max(0, (1+h.Constant)/h.Cycle(on, off)-h.Constant))
}

// TimeConstant is that of a body whose rise was seen at one time and at twice that time,
// and the rise it would end at: y = (r2 - r1)/r1 is exp(-t/tau).
func TimeConstant(time, rise, riseAtTwice float64) (tau, final float64) {
	y := (riseAtTwice - rise) / rise
	return -time / math.Log(y), rise / (1 - y)
}

// RootMeanSquare is the steady load that warms as much as loads with their times.
func RootMeanSquare(loads, times []float64) float64 {
	sum, t := 0.0, 0.0
	for i := range loads {
		sum += loads[i] * loads[i] * times[i]
		t += times[i]
	}
	return math.Sqrt(sum / t)
}

// Aspiration is how an engine breathes.
type Aspiration string

// The aspirations; the empty one is not known.
const (
	Turbocharged Aspiration = "turbocharged"
	Natural      Aspiration = "natural"
)

// Derate is the part of its power that an engine keeps at a height in m and an air
// temperature in K: 1 per cent is lost for each 100 m above 305 m, or above 1000 m where it
// is turbocharged (engine-minutes-2004), and 0.5 per cent for each kelvin above 30 °C (from
// memory). Never below 0.
func Derate(a Aspiration, height, kelvin float64) float64 {
	from := 305.0
	if a == Turbocharged {
		from = 1000
	}
	k := 1 - 0.01*math.Max(0, height-from)/100
	return math.Max(0, k-0.005*math.Max(0, kelvin-303.15))
}

// DerateStandard is the part of its power by the form of ISO 3046-1 for an engine that is
// turbocharged and charge-cooled, with exponents from memory: air pressure in Pa, air and
// charge coolant in K, mechanical efficiency as a part.
func DerateStandard(pressure, air, coolant, mechanical float64) float64 {
	k := math.Pow(pressure/100e3, 0.7) * math.Pow(298.15/air, 1.2) * (298.15 / coolant)
	return k - 0.7*(1-k)*(1/mechanical-1)
}
