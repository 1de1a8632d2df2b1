package reference

import "math"

// What is joined to the pipe. Each side of a split face is seen from the face: its speed
// v is away from the face, into the pipe. The wave it sends turns its state into one of
// the pressure p that is sought; side says with what speed and density.

func (p *Pipe) side(s state, pr float64) (v, rho float64) {
	if !p.euler {
		return s.u + soundIso*isoWave(pr/s.p), pr / (soundIso * soundIso)
	}
	du, rho := wave(s.rho, s.p, pr)
	return s.u + du, rho
}

func (p *Pipe) sound(s state) float64 {
	if !p.euler {
		return soundIso
	}
	return math.Sqrt(gamma * s.p / s.rho)
}

// sonic is the pressure at which air leaves the pipe at the speed of sound.
func (p *Pipe) sonic(s state) float64 {
	if !p.euler {
		return s.p * math.Exp(min(0, -1-s.u/soundIso))
	}
	a := math.Sqrt(gamma * s.p / s.rho)
	return s.p * math.Pow(min(1, (5*a-s.u)/(6*a)), 7)
}

// inlet is the density of air of total enthalpy h that moves at v under pressure pr.
func inlet(h, v, pr float64) float64 {
	return pr * heatP / (gasConstant * max(h-v*v/2, h/10))
}

func rowAt(rows []Row, t float64) int {
	k := 0
	for i := range rows {
		if rows[i].T <= t+1e-12 {
			k = i
		}
	}
	return k
}

// ramp is how far a ramp that began at t0 has come, 0 to 1.
func ramp(t, t0, length float64) float64 {
	if t >= t0+length {
		return 1
	}
	return max(0, (t-t0)/length)
}

// endFlux is the flux at an end, toward the tail. sign is 1 at the head and -1 at the
// tail: it turns the speed of the cell's state into one away from the end.
func (p *Pipe) endFlux(x *split, row *Row, t float64, s state, sign float64) flux {
	s.u *= sign
	var v, rho, mass, h float64 // into the pipe
	low := p.sonic(s)
	total := func(v, rho, pr float64) float64 { return heatP*pr/(gasConstant*rho) + v*v/2 }
	switch row.Mode {
	case "pressure":
		from, to := row.Pressure, row.PressureEnd
		if from == 0 {
			from = p.spec.Start
		}
		if to == 0 {
			to = from
		}
		x.p = max(low, from+(to-from)*ramp(t, row.T, row.Ramp))
		v, rho = p.side(s, x.p)
		h = total(v, rho, x.p)
		if p.euler && v > 0 {
			h = heatP * temperature
			rho = inlet(h, v, x.p)
		}
		mass = rho * v
	default:
		area, outer := 0.0, atmosphere
		if row.Mode != "closed" {
			a0, a1 := hole(row.DiameterStart, row.Cd), hole(row.Diameter, row.Cd)
			area = a0 + (a1-a0)*ramp(t, row.T, row.Ramp)
			if row.Mode == "feed" {
				outer = row.Pressure
			}
		}
		enter := func(pr float64) (through, v, rho, h float64) {
			v, rho = p.side(s, pr)
			if !p.euler {
				return opening(area, row.CriticalRatio, outer, temperature, pr, temperature), v, rho, 0
			}
			if v > 0 {
				h = heatP * temperature
				return opening(area, row.CriticalRatio, outer, temperature, pr, pr/(gasConstant*rho)), v, inlet(h, v, pr), h
			}
			h = total(v, rho, pr)
			temp := pr / (gasConstant * rho)
			return opening(area, row.CriticalRatio, outer, temperature, pr*math.Pow(h/(heatP*temp), 3.5), h/heatP), v, rho, h
		}
		excess := func(pr float64) float64 {
			through, v, rho, _ := enter(pr)
			return p.area*rho*v - through
		}
		if excess(low) >= 0 { // wider than the pipe: sound holds it
			x.p = low
			_, v, rho, h = enter(low)
			mass = rho * v
		} else {
			x.p = root(excess, x.p, low, 100*max(s.p, outer))
			mass, v, rho, h = enter(x.p)
			mass /= p.area
		}
	}
	if v > p.sound(state{rho, v, x.p}) {
		p.fast = x
	}
	return flux{sign * mass, mass*v + x.p, sign * mass * h}
}

// ventArea is the effective area of a triggered vent at t.
func (p *Pipe) ventArea(x *split, t float64) float64 {
	if !x.vent || t < x.openAt {
		return 0
	}
	return hole(p.spec.Vent.Diameter, p.spec.Vent.Cd) * ramp(t, x.openAt, p.spec.Vent.Ramp)
}

// junctionFlux is the flux before and behind a branch. A vent whose trigger is passed
// between the beginning of the step and now opens at the moment of passing.
func (p *Pipe) junctionFlux(x *split, r *rates, t float64, first bool, l, s state) (before, behind flux) {
	before, behind, out, tank := p.meet(x, t, l, s)
	if x.vent && math.IsInf(x.openAt, 1) && x.p < p.spec.Vent.Trigger {
		x.openAt = t
		if x.before > x.p {
			k := min(1, max(0, (x.before-p.spec.Vent.Trigger)/(x.before-x.p)))
			x.openAt = x.when + k*(t-x.when)
		}
		before, behind, out, tank = p.meet(x, t, l, s)
	}
	if first {
		x.before, x.when = x.p, t
	}
	if x.tank >= 0 {
		r.tank[x.tank] = tank
	}
	r.out += out
	r.outE += (before.energy - behind.energy) * p.area
	return before, behind
}

// meet finds the pressure of a junction and what then flows: out to the atmosphere and
// into the tank, kg/s.
func (p *Pipe) meet(x *split, t float64, l, s state) (before, behind flux, out, tank float64) {
	l.u = -l.u
	free := x.leak + p.ventArea(x, t)
	choke, stored := 0.0, 0.0
	if x.tank >= 0 {
		choke, stored = hole(p.spec.Branch.Choke, p.spec.Branch.Cd), p.tank[x.tank]*p.tankP
	}
	var ml, ms, hl, hs, vl, vs float64 // from the face, kg/s; total enthalpies; speeds
	flows := func(pr float64) float64 {
		var rl, rs float64
		vl, rl = p.side(l, pr)
		vs, rs = p.side(s, pr)
		temp, h := temperature, 0.0
		if p.euler {
			// air that comes to the face mixes, and leaves it mixed
			hl, hs = heatP*pr/(gasConstant*rl)+vl*vl/2, heatP*pr/(gasConstant*rs)+vs*vs/2
			il, is := max(0, -rl*vl*p.area), max(0, -rs*vs*p.area)
			cold := max(0, -opening(free, 0, pr, temp, atmosphere, temp))
			if choke > 0 && !p.spec.Branch.Check {
				cold += max(0, -opening(choke, 0, pr, temp, stored, temp))
			}
			h = (hl + hs) / 2
			if sum := il + is + cold; sum > 0 {
				h = (il*hl + is*hs + cold*heatP*temperature) / sum
			}
			if vl > 0 {
				hl, rl = h, inlet(h, vl, pr)
			}
			if vs > 0 {
				hs, rs = h, inlet(h, vs, pr)
			}
			temp = h / heatP
		}
		ml, ms = rl*vl*p.area, rs*vs*p.area
		out = opening(free, 0, pr, temp, atmosphere, temperature)
		tank = 0
		if choke > 0 && !(p.spec.Branch.Check && stored >= pr) {
			tank = opening(choke, 0, pr, temp, stored, temperature)
		}
		return ml + ms + out + tank
	}
	x.p = root(flows, x.p, max(p.sonic(l), p.sonic(s)), 100*max(l.p, s.p, stored, atmosphere))
	flows(x.p)
	ms = -ml - out - tank // so that no air is lost to the root's last digit
	before = flux{-ml / p.area, ml/p.area*vl + x.p, -ml / p.area * hl}
	behind = flux{ms / p.area, ms/p.area*vs + x.p, ms / p.area * hs}
	return before, behind, out, tank
}

// restrictionFlux is the flux before and behind an opening in the line: the pressure of
// the head side is sought; it says what flows, which says the pressure of the tail side.
func (p *Pipe) restrictionFlux(x *split, l, s state) (before, behind flux) {
	l.u = -l.u
	area := hole(p.spec.Restriction.Diameter, p.spec.Restriction.Cd)
	var m, vl, vs, h, far float64 // m toward the tail
	far = s.p
	stagnation := func(v, rho, pr float64) (p0, t0 float64) {
		if !p.euler {
			return pr, temperature
		}
		temp := pr / (gasConstant * rho)
		t0 = temp + v*v/(2*heatP)
		return pr * math.Pow(t0/temp, 3.5), t0
	}
	flows := func(pr float64) float64 {
		var rl, rs float64
		vl, rl = p.side(l, pr)
		p1, t1 := stagnation(vl, rl, pr)
		away := vl < 0 // from the head side to the tail side
		ahead := func(q float64) (v, rho float64) {
			v, rho = p.side(s, q)
			if p.euler && away && v > 0 {
				rho = inlet(heatP*t1, v, q)
			}
			return v, rho
		}
		if away || !p.euler {
			m = -rl * vl * p.area
			h = heatP * t1
			far = root(func(q float64) float64 { v, rho := ahead(q); return rho*v*p.area - m }, far, p.sonic(s), 100*max(l.p, s.p))
			vs, rs = ahead(far)
		} else {
			// air comes from the tail side: its enthalpy is found with its pressure
			far = root(func(q float64) float64 {
				v, rho := p.side(s, q)
				_, t2 := stagnation(v, rho, q)
				return rho*v + inlet(heatP*t2, vl, pr)*vl
			}, far, p.sonic(s), 100*max(l.p, s.p))
			vs, rs = p.side(s, far)
			m = rs * vs * p.area
		}
		p2, t2 := stagnation(vs, rs, far)
		if m >= 0 {
			p2 = far
		} else {
			p1, h = pr, heatP*t2
		}
		return opening(area, 0, p1, t1, p2, t2) - m
	}
	x.p = root(flows, x.p, p.sonic(l), 100*max(l.p, s.p))
	flows(x.p)
	g := m / p.area
	return flux{g, -g*vl + x.p, g * h}, flux{g, g*vs + far, g * h}
}
