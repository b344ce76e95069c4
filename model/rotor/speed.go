package rotor

import "math"

// searchTopMS bounds the search for best speeds.
const searchTopMS = 80

// BestEnduranceMS is the level airspeed that takes the least power.
func (f Flight) BestEnduranceMS() float64 {
	return least(f.LevelW, 0, searchTopMS)
}

// BestRangeMS is the level airspeed that takes the least energy over each metre of
// ground against a headwind (negative for a tailwind). With a headwind of 0 it is the
// classical best-range speed.
func (f Flight) BestRangeMS(headwindMS float64) float64 {
	from := math.Max(0, headwindMS) + 0.05
	return least(func(v float64) float64 { return f.LevelW(v) / (v - headwindMS) }, from, from+searchTopMS)
}

// least minimises a function that falls and then rises: a coarse scan, then golden
// section to 1e-6.
func least(cost func(float64) float64, from, to float64) float64 {
	const steps = 160
	best, bestCost := from, math.Inf(1)
	width := (to - from) / steps
	for i := range steps + 1 {
		if c := cost(from + float64(i)*width); c < bestCost {
			best, bestCost = from+float64(i)*width, c
		}
	}
	a, b := math.Max(from, best-width), math.Min(to, best+width)
	const golden = 0.6180339887498949
	c, d := b-golden*(b-a), a+golden*(b-a)
	yc, yd := cost(c), cost(d)
	for b-a > 1e-6 {
		if yc < yd {
			b, d, yd = d, c, yc
			c = b - golden*(b-a)
			yc = cost(c)
		} else {
			a, c, yc = c, d, yd
			d = a + golden*(b-a)
			yd = cost(d)
		}
	}
	return (a + b) / 2
}

// MaxThrustN is the greatest thrust of all rotors in this air, taken as proportional
// to density (rotors held by their speed, not their torque); known is false when the
// airframe does not state it.
func (f Flight) MaxThrustN() (n float64, known bool) { return f.maxThrust, f.maxThrust > 0 }

// ThrustToWeight is the greatest thrust over weight; known as for MaxThrustN.
func (f Flight) ThrustToWeight() (ratio float64, known bool) {
	return f.maxThrust / f.WeightN(), f.maxThrust > 0
}

// MaxMassKg is the mass at which ThrustToWeight falls to the ratio that the crew keeps
// (2 is common practice for filming, no source).
func (f Flight) MaxMassKg(ratio float64) (kg float64, known bool) {
	if !(ratio >= 1) || f.maxThrust == 0 {
		return 0, false
	}
	return f.maxThrust / ratio / (f.WeightN() / f.massKg), true
}

// MaxLevelMS is the level airspeed at which drag and weight take all the thrust that
// share (0 to 1) of the greatest thrust gives; known as for MaxThrustN. It is 0 when
// hover already takes more.
func (f Flight) MaxLevelMS(share float64) (ms float64, known bool) {
	if f.maxThrust == 0 {
		return 0, false
	}
	t, w := share*f.maxThrust, f.WeightN()
	if t <= w || f.halfRhoF == 0 {
		return 0, t <= w
	}
	return math.Sqrt(math.Sqrt(t*t-w*w) / f.halfRhoF), true
}
