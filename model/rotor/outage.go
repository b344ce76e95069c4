package rotor

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

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
// The least greatest thrust that balances weight, roll, pitch and yaw with one rotor at
// zero is found by linear programming. Source: statics; that an alternating six cannot
// be controlled after an outage although it balances: Du, Quan & Cai, J. Guidance,
// Control and Dynamics 38(5) 2015 (from memory).
func (f Flight) RotorOut() Outage {
	n := f.airframe.Rotors
	o := Outage{Class: Holds}
	for out := range n {
		class, factor := f.airframe.outage(out)
		if class < o.Class || class == o.Class && factor > o.Factor {
			o.Class, o.Factor = class, factor
		}
	}
	if ratio, known := f.ThrustToWeight(); known {
		o.EnoughKnown, o.Enough = true, ratio >= 1.1*o.Factor && o.Class != Falls
	}
	switch {
	case o.Class == Falls:
		o.Caution = fmt.Sprintf("with one of %d rotors out no level hover is possible: plan for a fall from every point", n)
	case o.Class == Spins:
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

func (a Airframe) outage(out int) (Class, float64) {
	n := a.Rotors
	arms := n
	if a.Coaxial {
		arms = n / 2
	}
	var x, y, spin []float64
	for i := range n {
		if i == out {
			continue
		}
		arm, turn := i, i%2
		if a.Coaxial {
			arm = i / 2
		}
		sin, cos := math.Sincos(2 * math.Pi * float64(arm) / float64(arms))
		x, y, spin = append(x, sin), append(y, cos), append(spin, float64(1-2*turn))
	}
	// A six in a flat alternating ring balances on four rotors, but the moment about one
	// axis can then be made in one direction only: no control on heading.
	if share, ok := leastGreatest(x, y, spin); ok && (a.Coaxial || n != 6) {
		return Holds, share * float64(n)
	}
	if share, ok := leastGreatest(x, y); ok {
		// One rotor at zero thrust in the balance means no control about its axis; with
		// only two carrying, the aircraft balances on a line.
		return Spins, share * float64(n)
	}
	return Falls, 0
}

// leastGreatest finds thrusts T_i >= 0 with sum 1 and zero sum against each row, whose
// greatest is least, and returns that greatest.
func leastGreatest(rows ...[]float64) (greatest float64, ok bool) {
	n := len(rows[0])
	// Unknowns: n thrusts, n slacks, the greatest g. T_i + s_i - g = 0.
	columns := 2*n + 1
	a := mat.NewDense(1+len(rows)+n, columns, nil)
	b := make([]float64, 1+len(rows)+n)
	for i := range n {
		a.Set(0, i, 1)
		for r, row := range rows {
			a.Set(1+r, i, row[i])
		}
		a.Set(1+len(rows)+i, i, 1)
		a.Set(1+len(rows)+i, n+i, 1)
		a.Set(1+len(rows)+i, 2*n, -1)
	}
	b[0] = 1
	c := make([]float64, columns)
	c[2*n] = 1
	greatest, _, err := lp.Simplex(c, a, b, 1e-10, nil)
	return greatest, err == nil
}
