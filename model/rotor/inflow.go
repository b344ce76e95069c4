package rotor

import "math"

// Induced returns a rotor's ideal induced velocity in m/s from its hover value, the
// airspeed along the disc and the airspeed through it from above (positive in climb,
// negative in descent), by Glauert's relation
//
//	v_i = v_h² / sqrt(V_edge² + (V_normal + v_i)²)
//
// Source: Glauert, ARC R&M 1111 (1926); Leishman chapter 2. In descent below twice the
// hover value momentum theory fails; there the measured curve of Leishman chapter 2
// (coefficients from memory) is taken for vertical descent and faded out with the
// square of edgewise speed up to v_h (the fade is ours, no source).
func Induced(hoverMS, edgewiseMS, normalMS float64) float64 {
	if hoverMS <= 0 {
		return 0
	}
	x, m := normalMS/hoverMS, edgewiseMS/hoverMS
	if x >= 0 {
		return hoverMS * climbing(m, x)
	}
	v := descending(m, x)
	if m < 1 {
		fade := 1 - m*m
		v *= 1 + fade*(measuredDescent(x)/(-x/2+math.Sqrt(x*x/4+1))-1)
	}
	return hoverMS * v
}

// climbing solves v sqrt(m² + (x+v)²) = 1 for x >= 0. In level flight that is
// v² = 1/(m²/2 + sqrt(m⁴/4 + 1)); in a climb v is less.
func climbing(m, x float64) float64 {
	v := 1 / math.Sqrt(m*m/2+math.Sqrt(m*m*m*m/4+1))
	if x == 0 {
		return v
	}
	return newton(m, x, v)
}

// descending solves the same for x < 0 on the branch that joins hover. If the left side
// is already above 1 at v = -x, the root is below, where the left side may rise and
// fall, and is found by bisection.
func descending(m, x float64) float64 {
	if -x*m < 1 {
		return newton(m, x, 1-x)
	}
	lo, hi := 0.0, -x
	for range 50 {
		v := (lo + hi) / 2
		if v*math.Sqrt(m*m+(x+v)*(x+v)) < 1 {
			lo = v
		} else {
			hi = v
		}
	}
	return (lo + hi) / 2
}

// newton comes down to the root from above, where the left side is increasing and
// convex as long as v >= -x.
func newton(m, x, v float64) float64 {
	for range 40 {
		s := math.Sqrt(m*m + (x+v)*(x+v))
		step := (v*s - 1) / (s + v*(x+v)/s)
		v -= step
		if step < 1e-9*v {
			break // the next step would be the square of this one
		}
	}
	return v
}

// measuredDescent is v_i/v_h in vertical descent: Leishman's fit for -2 <= x <= 0 and
// the windmill branch below.
func measuredDescent(x float64) float64 {
	if x < -2 {
		return -x/2 - math.Sqrt(x*x/4-1)
	}
	return 1 + x*(-1.125+x*(-1.372+x*(-1.718-0.655*x)))
}

// VortexRing reports whether a rotor descends so steeply that it may sink into its own
// wake: descent through the disc between 0.5 and 2 times the hover induced velocity
// with less than that velocity along the disc. The bounds are on the careful side of
// those in helicopter handbooks (common practice, no source).
func VortexRing(hoverMS, edgewiseMS, normalMS float64) bool {
	return normalMS < -0.5*hoverMS && normalMS > -2*hoverMS && edgewiseMS < hoverMS
}

// SafeDescentMS is the fastest vertical descent that VortexRing does not caution.
func (f Flight) SafeDescentMS() float64 { return 0.5 * f.HoverInducedMS() }
