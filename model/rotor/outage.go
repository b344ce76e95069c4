package rotor

import "fmt"

// Outage is what statics says of an aircraft whose one rotor has stopped. It is a
// caution class and promises nothing: whether an aircraft stays up depends on its
// controller, its reserve of thrust and the moment.
type Outage struct {
	Class Class
	// Factor is how many times its hover thrust the busiest rotor must then give, held
	// level and on heading when Class is Holds, else held level while spinning.
	Factor float64
	// Enough is whether MaxThrust covers Factor with a tenth to spare for control;
	// EnoughKnown is false when MaxThrust is not known.
	Enough, EnoughKnown bool
	Caution             string
}

// Class grades a rotor outage.
type Class int

// Classes of outage, worst first.
const (
	Falls Class = iota // no level hover: treat as a fall
	Spins              // level hover only while turning about the vertical, if the controller can do it
	Holds              // level hover on heading is possible in statics
)

func (c Class) String() string { return [...]string{"falls", "spins", "holds"}[c] }

// RotorOut gives the worst single outage. Rotors stand evenly on a circle and turn in
// alternate directions; coaxial rotors stand in counter-turning pairs on an even circle.
// Factor is the least greatest thrust that balances weight, roll, pitch and yaw with one
// rotor at zero; the tests work it out by linear programming. Source: statics; that an
// alternating six cannot be controlled after an outage although it balances: Du, Quan &
// Cai, J. Guidance, Control and Dynamics 38(5) 2015 (from memory).
func (f Flight) RotorOut() Outage {
	n := f.airframe.Rotors
	var o Outage
	ring := flatRing
	if f.airframe.Coaxial {
		ring = coaxialRing
	}
	o.Class, o.Factor = ring[n].class, ring[n].factor
	if ratio, known := f.ThrustToWeight(); known {
		o.EnoughKnown, o.Enough = true, ratio >= 1.1*o.Factor && o.Class != Falls
	}
	switch o.Class {
	case Falls:
		o.Caution = fmt.Sprintf("with one of %d rotors out no level hover is possible: plan for a fall from every point", n)
	case Spins:
		o.Caution = fmt.Sprintf("with one of %d rotors out the aircraft holds no heading; level flight while it spins asks %.2f times hover thrust of a rotor and a controller made for it: plan for a fall", n, o.Factor)
	default:
		o.Caution = fmt.Sprintf("with one of %d rotors out, level flight on heading asks %.2f times hover thrust of a rotor; this is statics, not a promise: land at once", n, o.Factor)
	}
	if o.Class != Falls && o.EnoughKnown && !o.Enough {
		o.Caution += "; at this mass and density the thrust does not cover that: plan for a fall"
	}
	if o.Class != Falls && !o.EnoughKnown {
		o.Caution += "; the greatest thrust is unknown, so this must not be counted on"
	}
	return o
}

type outage struct {
	class  Class
	factor float64
}

// flatRing is indexed by the number of rotors. The six balances on four of its rotors, but
// can then turn about the vertical in one direction only.
var flatRing = [17]outage{
	3: {Falls, 0}, 4: {Spins, 2}, 5: {Spins, 1.809017}, 6: {Spins, 1.5}, 7: {Holds, 2.068532}, 8: {Holds, 1.414214},
	9: {Holds, 1.5}, 10: {Holds, 1.25}, 11: {Holds, 1.375}, 12: {Holds, 1.217482}, 13: {Holds, 1.3}, 14: {Holds, 1.166667},
	15: {Holds, 1.25}, 16: {Holds, 1.149354},
}

// coaxialRing is indexed by the number of rotors, two on each arm.
var coaxialRing = [17]outage{
	6: {Holds, 2}, 8: {Holds, 1.333333}, 10: {Holds, 1.288007}, 12: {Holds, 1.2}, 14: {Holds, 1.177452}, 16: {Holds, 1.142857},
}
