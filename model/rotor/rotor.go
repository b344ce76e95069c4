// Package rotor computes what a multirotor aircraft needs to stay up and to move:
// power in hover, level flight, climb and descent, energy along a path in wind, best
// speeds, thrust margin, the fit to what a crew has measured, and what is left when
// one rotor stops.
//
// Units and axes: SI; velocities are geo.Vec3 in the site frame (z up). "Airspeed" is
// the aircraft's velocity relative to the air. Power is drawn from the pack unless it
// is called shaft power.
//
// Source: momentum theory after Glauert (ARC R&M 1111, 1926) and Leishman, Principles
// of Helicopter Aerodynamics, 2nd ed. 2006, chapters 2 and 5; profile and parasite
// terms as in Zeng, Xu & Zhang, IEEE Trans. Wireless Commun. 18(4) 2019, 2329-2345.
//
// Valid for steady or gently accelerated flight out of ground effect, tip Mach number
// below 0.6. An uncalibrated aircraft is good to some 20 %; one fitted to its own
// hover to some 5 % near hover and 10 % to 15 % in forward flight (common practice,
// no source).
//
// Not modelled: ground effect, blade stall and compressibility, motor heating, the
// controller's share of thrust for attitude, lift of the body, rotor-on-rotor
// interference in forward flight, rain and ice.
package rotor

import (
	"fmt"
	"math"

	"fieldfare/model/air"
	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Airframe is what decides an aircraft's power, mass apart.
type Airframe struct {
	Rotors            int     // driven rotors, 3 to 16; a coaxial pair counts as two
	DiameterM         float64 // of one rotor
	Coaxial           bool    // rotors stand in pairs over one another
	FigureOfMerit     float64 // of one rotor alone in hover: ideal over shaft power, 0.3 to 0.85
	InducedFactor     float64 // induced power over ideal, 1 to 1.3
	ThrustCoefficient float64 // T/(rho A tip speed squared) in hover, 0.001 to 0.03: sets the tip speed
	DriveEfficiency   float64 // shaft power over pack power: motor, controller, wiring
	AccessoryW        float64 // autopilot, gimbal, camera, radio
	FlatPlateM2       float64 // equivalent flat-plate area of everything that is not a blade
	MaxThrustN        float64 // all rotors together at 1.225 kg/m³; 0 when not known
}

// Coaxial pairs of equal torque, one rotor in the other's contracted wake, use 1.22
// times the induced power of the same rotors apart. Source: Leishman, section 2.15
// (from memory).
const coaxialInterference = 1.22

// Typical fills every zero field except Rotors, DiameterM and MaxThrustN with a usual
// value for an aircraft of the given mass and names what it filled, so that it can be
// shown as assumed. The values are common practice, no source: figure of merit 0.60,
// induced factor 1.15 (Leishman), thrust coefficient 0.010, drive efficiency 0.80,
// flat-plate area 0.02 m² at 1 kg growing with mass^(2/3). AccessoryW stays 0.
func (a Airframe) Typical(massKg float64) (filled Airframe, assumed []string) {
	set := func(field *float64, value float64, name string) {
		if *field == 0 {
			*field = value
			assumed = append(assumed, fmt.Sprintf("%s %.3g", name, value))
		}
	}
	set(&a.FigureOfMerit, 0.60, "figure of merit")
	set(&a.InducedFactor, 1.15, "induced power factor")
	set(&a.ThrustCoefficient, 0.010, "thrust coefficient")
	set(&a.DriveEfficiency, 0.80, "drive efficiency")
	set(&a.FlatPlateM2, 0.02*math.Pow(math.Max(massKg, 0), 2.0/3), "flat-plate area in m2")
	return a, assumed
}

// Check reports the first value that no such aircraft has.
func (a Airframe) Check() error {
	bad := func(what string, v float64, want string) error {
		return fmt.Errorf("%s %.4g is not possible: expected %s", what, v, want)
	}
	switch {
	case a.Rotors < 3 || a.Rotors > 16:
		return bad("number of rotors", float64(a.Rotors), "3 to 16")
	case a.Coaxial && (a.Rotors%2 != 0 || a.Rotors < 6):
		return bad("number of coaxial rotors", float64(a.Rotors), "an even number from 6: pairs on at least three arms")
	case !(a.DiameterM >= 0.03 && a.DiameterM <= 5):
		return bad("rotor diameter in m", a.DiameterM, "0.03 to 5")
	case !(a.InducedFactor >= 1 && a.InducedFactor <= 1.3):
		return bad("induced power factor", a.InducedFactor, "1 to 1.3")
	case !(a.FigureOfMerit >= 0.3 && a.FigureOfMerit <= 0.85 && a.FigureOfMerit < 1/a.InducedFactor):
		return bad("figure of merit", a.FigureOfMerit, fmt.Sprintf("0.3 to 0.85 and below %.3g, the inverse of the induced power factor", 1/a.InducedFactor))
	case !(a.ThrustCoefficient >= 0.001 && a.ThrustCoefficient <= 0.03):
		return bad("thrust coefficient", a.ThrustCoefficient, "0.001 to 0.03")
	case !(a.DriveEfficiency >= 0.3 && a.DriveEfficiency <= 1):
		return bad("drive efficiency", a.DriveEfficiency, "0.3 to 1")
	case !(a.AccessoryW >= 0 && a.AccessoryW <= 2000):
		return bad("accessory power in W", a.AccessoryW, "0 to 2000")
	case !(a.FlatPlateM2 >= 0 && a.FlatPlateM2 <= 5):
		return bad("flat-plate area in m2", a.FlatPlateM2, "0 to 5")
	case !(a.MaxThrustN >= 0 && a.MaxThrustN <= 1e5):
		return bad("greatest thrust in N", a.MaxThrustN, "0 (not known) to 100000")
	}
	return nil
}

// DiscAreaM2 is the swept area of all rotors, each counted in full.
func (a Airframe) DiscAreaM2() float64 {
	return float64(a.Rotors) * math.Pi / 4 * a.DiameterM * a.DiameterM
}

// Flight is an airframe at a mass in air of a density: everything that stays the same
// along a path. Build it with Airframe.At.
type Flight struct {
	airframe  Airframe
	massKg    float64
	density   float64
	induced   float64 // induced factor with interference
	profile   float64 // profile power in hover over ideal power
	twoRhoA   float64
	halfRhoF  float64 // parasite
	maxThrust float64 // at this density; 0 unknown
}

// At loads the airframe to a mass in kg, in air of a density in kg/m³.
func (a Airframe) At(massKg, density float64) (Flight, error) {
	if err := a.Check(); err != nil {
		return Flight{}, err
	}
	if !(massKg >= 0.05 && massKg <= 1000) {
		return Flight{}, fmt.Errorf("mass %.4g kg is not possible: expected 0.05 kg to 1000 kg", massKg)
	}
	if !(density >= 0.3 && density <= 2) {
		return Flight{}, fmt.Errorf("air density %.4g kg/m3 is not possible: expected 0.3 to 2", density)
	}
	f := Flight{airframe: a, massKg: massKg, density: density,
		induced:   a.InducedFactor,
		profile:   1/a.FigureOfMerit - a.InducedFactor,
		twoRhoA:   2 * density * a.DiscAreaM2(),
		halfRhoF:  0.5 * density * a.FlatPlateM2,
		maxThrust: a.MaxThrustN * density / air.StandardDensity,
	}
	if a.Coaxial {
		f.induced *= coaxialInterference
	}
	return f, nil
}

// MassKg is the mass that the flight was built with.
func (f Flight) MassKg() float64 { return f.massKg }

// Density is the air density that the flight was built with, in kg/m³.
func (f Flight) Density() float64 { return f.density }

// WeightN is the aircraft's weight.
func (f Flight) WeightN() float64 { return f.massKg * air.GravityMS2 }

// DiscLoadingNM2 is weight over the swept area of all rotors.
func (f Flight) DiscLoadingNM2() float64 { return f.WeightN() / f.airframe.DiscAreaM2() }

// HoverInducedMS is the ideal induced velocity in hover, sqrt(T/(2 rho A)).
// Source: Leishman equation 2.14 (number from memory).
func (f Flight) HoverInducedMS() float64 { return math.Sqrt(f.WeightN() / f.twoRhoA) }

// Point is one moment of flight.
type Point struct {
	PowerW    float64    // from the pack
	ShaftW    float64    // at the rotors
	ThrustN   float64    // all rotors, drag carried
	Lean      unit.Angle // of the thrust, and so of the airframe, from the vertical
	InducedMS float64
	Vortex    bool // in or near the vortex-ring state
}

// Steady returns the moment at a constant airspeed.
func (f Flight) Steady(airspeed geo.Vec3) Point { return f.Moment(airspeed, geo.Vec3{}) }

// HoverW is the power from the pack to hover in still air.
func (f Flight) HoverW() float64 { return f.Steady(geo.Vec3{}).PowerW }

// LevelW is the power from the pack in level flight at a true airspeed in m/s.
func (f Flight) LevelW(airspeedMS float64) float64 { return f.Steady(geo.Vec3{X: airspeedMS}).PowerW }

// Lean is Moment's alone: how far the thrust leans from the vertical.
func (f Flight) Lean(airspeed, acceleration geo.Vec3) unit.Angle {
	thrust := f.lift(acceleration).Add(airspeed.Scale(f.halfRhoF * airspeed.Norm()))
	return unit.Angle(math.Atan2(thrust.Horizontal(), thrust.Z))
}

// lift is what carries the weight and accelerates it.
func (f Flight) lift(acceleration geo.Vec3) geo.Vec3 {
	return geo.Vec3{X: f.massKg * acceleration.X, Y: f.massKg * acceleration.Y, Z: f.massKg * (air.GravityMS2 + acceleration.Z)}
}

// Moment returns power and thrust at an airspeed and an acceleration:
//
//	P = induced factor · T v_i + profile (1 + 3 (V_level/tip speed)²) + m (g + a)·V + 1/2 rho f V³
//
// with T = m |g + a| and the discs held level, as in Zeng, Xu & Zhang, here with climb
// and acceleration added. Tilting the discs to carry the drag would change power by less than
// 1.5 % up to best-range speed. ThrustN does carry the drag. In hover the sum is T v_h / figure of merit.
// Regeneration is not credited: shaft power is never below 0. It allocates nothing.
func (f Flight) Moment(airspeed, acceleration geo.Vec3) Point {
	lift := f.lift(acceleration)
	t := lift.Norm()
	speed := airspeed.Norm()
	drag := f.halfRhoF * speed
	thrust := lift.Add(airspeed.Scale(drag))
	p := Point{ThrustN: thrust.Norm(), Lean: unit.Angle(math.Atan2(thrust.Horizontal(), thrust.Z))}
	if t > 1e-9 {
		edgewise := airspeed.Horizontal()
		hover := math.Sqrt(t / f.twoRhoA)
		p.InducedMS = Induced(hover, edgewise, airspeed.Z)
		p.Vortex = VortexRing(hover, edgewise, airspeed.Z)
		// Tip speed squared follows from the thrust coefficient: T = C_T rho A tip².
		tip2 := 2 * t / (f.twoRhoA * f.airframe.ThrustCoefficient)
		p.ShaftW = f.induced*t*p.InducedMS + f.profile*t*hover*(1+3*edgewise*edgewise/tip2)
	}
	p.ShaftW = math.Max(0, p.ShaftW+lift.Dot(airspeed)+drag*speed*speed)
	p.PowerW = p.ShaftW/f.airframe.DriveEfficiency + f.airframe.AccessoryW
	return p
}
