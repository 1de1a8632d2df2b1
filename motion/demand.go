package motion

import "math"

// Demand is what it takes to move each kilogram of a train.
type Demand struct {
	Running      float64 // N/kg: resistance, curves included; negative where it helps
	Slope        float64 // rise over length
	Acceleration float64 // m/s²
	Rotating     float64 // part that rotating parts add to the mass that is sped up
	Gravity      float64 // m/s²; 0: Gravity of this package
}

// PerKilogram is the force for one kilogram, N/kg.
func (d Demand) PerKilogram() float64 {
	g := d.Gravity
	if g == 0 {
		g = Gravity
	}
	return d.Running + d.Slope*g + d.Acceleration*(1+d.Rotating)
}

// Effort is the force for a mass, N.
func (d Demand) Effort(mass float64) float64 { return mass * d.PerKilogram() }

// Mass is the whole mass that an effort moves, kg.
func (d Demand) Mass(effort float64) float64 { return effort / d.PerKilogram() }

// SlopeFor is the slope on which an effort moves a mass, with the rest as it is.
func (d Demand) SlopeFor(effort, mass float64) float64 {
	g := d.Gravity
	if g == 0 {
		g = Gravity
	}
	d.Slope = 0
	return (effort/mass - d.PerKilogram()) / g
}

// AccelerationFor is the acceleration that an effort gives a mass, with the rest as it is.
func (d Demand) AccelerationFor(effort, mass float64) float64 {
	d.Acceleration = 0
	return (effort/mass - d.PerKilogram()) / (1 + d.Rotating)
}

// Trailing is the mass that locomotives of a mass move behind them with an effort, kg,
// where they and what they haul demand differently; 0 when they cannot move themselves.
func Trailing(effort, locomotives float64, own, hauled Demand) float64 {
	return math.Max(0, (effort-own.Effort(locomotives))/hauled.PerKilogram())
}

// Adhesive is the mass on driven wheels that moves a trailing mass and itself by an
// adhesion, kg; +Inf where it could not move itself.
func (d Demand) Adhesive(trailing, adhesion float64) float64 {
	g := d.Gravity
	if g == 0 {
		g = Gravity
	}
	left := adhesion*g - d.PerKilogram()
	if left <= 0 {
		return math.Inf(1)
	}
	return trailing * d.PerKilogram() / left
}

// Equated is the mass with which vehicles of any weight load a locomotive alike: mass, and
// for each vehicle a factor of mass besides.
func Equated(mass, factor float64, vehicles int) float64 { return mass + factor*float64(vehicles) }

// VelocityHead is the height that a speed is worth, m, at a gravity in m/s².
func VelocityHead(speed, rotating, gravity float64) float64 {
	return speed * speed / (2 * gravity) * (1 + rotating)
}

// SpeedOfHead is the speed that a height is worth: the inverse of VelocityHead.
func SpeedOfHead(head, rotating, gravity float64) float64 {
	return math.Sqrt(2 * gravity * math.Max(0, head) / (1 + rotating))
}

// WheelSpin is the energy of the turning of one wheel, J: its mass, radius of gyration and
// radius, at a rail speed.
func WheelSpin(mass, gyration, radius, speed float64) float64 {
	k := gyration / radius
	return mass * speed * speed / 2 * k * k
}

// ShaftTorque is the torque of each of so many motors, N m, for an effort at the rail.
func ShaftTorque(effort, wheel, gear, efficiency float64, motors int) float64 {
	return effort * wheel / 2 / (efficiency * gear) / float64(motors)
}

// RailSpeed is the speed at the rail, m/s, of an armature of a diameter whose surface runs
// at a speed, through a gear.
func RailSpeed(surface, armature, gear, wheel float64) float64 {
	return surface / armature / gear * wheel
}

// CurrentForPower is the current that a motor takes from a voltage to give a power beyond
// the heat of its own resistance, A; the lower of the two that do. NaN when none does.
func CurrentForPower(voltage, resistance, power float64) float64 {
	if resistance == 0 {
		return power / voltage
	}
	return (voltage - math.Sqrt(voltage*voltage-4*resistance*power)) / (2 * resistance)
}
