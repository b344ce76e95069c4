package exposure

import (
	"errors"
	"fmt"
	"math"

	"fieldfare/model/unit"
)

// Light is illuminance in lux as a function of time in seconds from any origin.
type Light func(tS float64) (illuminanceLx float64)

// Change is how far the light moves over an interval.
type Change struct {
	Stops   float64 // at the end against the start: above 0 it grows lighter
	Spread  float64 // between the darkest and the brightest moment, stops
	GoesOut bool    // some moment has no light at all; Stops and Spread leave it out
}

const mostSamples = 2000

// samples divides an interval into steps of about ten seconds, at least twenty.
func samples(fromS, toS float64) int {
	return int(math.Min(mostSamples, math.Max(20, math.Ceil((toS-fromS)/10))))
}

func checkInterval(light Light, fromS, toS float64) error {
	if light == nil {
		return errors.New("no light is given as a function of time")
	}
	if !(toS > fromS) || math.IsInf(toS-fromS, 0) {
		return fmt.Errorf("interval from %g s to %g s: an end after the start is expected", fromS, toS)
	}
	return nil
}

// Drift returns how far the light moves from fromS to toS: over a take the crew cannot
// correct it, over a window a filter change answers it.
func Drift(light Light, fromS, toS float64) (Change, error) {
	if err := checkInterval(light, fromS, toS); err != nil {
		return Change{}, err
	}
	var c Change
	low, high := math.Inf(1), math.Inf(-1)
	first, last := math.NaN(), math.NaN()
	n := samples(fromS, toS)
	for i := range n + 1 {
		lx := light(fromS + (toS-fromS)*float64(i)/float64(n))
		if math.IsNaN(lx) || math.IsInf(lx, 0) || lx < 0 {
			return Change{}, fmt.Errorf("illuminance %g lx at %g s: a finite number is expected", lx, fromS+(toS-fromS)*float64(i)/float64(n))
		}
		if lx == 0 {
			c.GoesOut = true
			continue
		}
		ev := math.Log2(lx)
		low, high = math.Min(low, ev), math.Max(high, ev)
		if math.IsNaN(first) {
			first = ev
		}
		last = ev
	}
	if math.IsInf(low, 1) {
		return Change{}, errors.New("illuminance is 0 lx all the time: without light there is no exposure")
	}
	c.Stops, c.Spread = last-first, high-low
	return c, nil
}

// Due is when a card stops being right.
type Due struct {
	Within bool    // it stays right to the end of the interval; AtS is the end
	AtS    float64 // the first moment at which it is not
	Stops  float64 // the error at that moment, above 0 hot
}

// ChangeDue returns the first moment from fromS to toS at which a setting's exposure error
// passes toleranceStops either way, to a tenth of a second: that is when another filter is
// due.
func ChangeDue(light Light, s Setting, fromS, toS, toleranceStops float64) (Due, error) {
	err := errors.Join(checkInterval(light, fromS, toS), unit.Within("tolerance", toleranceStops, 0.01, 10, "stops"))
	if s.Stack == nil {
		err = errors.Join(err, errors.New("no card is set: choose one first"))
	}
	if err != nil {
		return Due{}, err
	}
	off := func(t float64) float64 {
		lx := math.Max(light(t), 1e-9) // no light: as dark as can be said
		return ErrorStops(math.Log2(lx*100/C), s.ShutterS, s.ISO, s.Aperture, s.Stack.LossStops)
	}
	n := samples(fromS, toS)
	step := (toS - fromS) / float64(n)
	for i := range n + 1 {
		t := fromS + step*float64(i)
		e := off(t)
		if math.IsNaN(e) || math.IsInf(e, 0) {
			return Due{}, fmt.Errorf("illuminance %g lx at %g s: a finite number is expected", light(t), t)
		}
		if math.Abs(e) <= toleranceStops {
			continue
		}
		if i == 0 {
			return Due{AtS: t, Stops: e}, nil
		}
		low, high := t-step, t
		for high-low > 0.05 {
			if mid := (low + high) / 2; math.Abs(off(mid)) > toleranceStops {
				high = mid
			} else {
				low = mid
			}
		}
		return Due{AtS: high, Stops: off(high)}, nil
	}
	return Due{Within: true, AtS: toS, Stops: off(toS)}, nil
}
