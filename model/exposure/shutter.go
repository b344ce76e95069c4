package exposure

import (
	"errors"
	"fmt"
	"math"

	"fieldfare/model/unit"
)

// ShutterTime returns the exposure time in seconds of a shutter angle at a frame rate:
// angle/(360°·fps) (B. Brown, Cinematography: Theory and Practice, table 10.6).
func ShutterTime(frameRate float64, angle unit.Angle) float64 {
	return float64(angle) / (2 * math.Pi * frameRate)
}

// ShutterAngle is the inverse of ShutterTime.
func ShutterAngle(frameRate, shutterS float64) unit.Angle {
	return unit.Angle(2 * math.Pi * frameRate * shutterS)
}

// Shutter is a shutter time chosen, with what it does to motion and to lamps.
type Shutter struct {
	TimeS   float64
	Angle   unit.Angle // the angle that the time amounts to
	Motion  Motion
	Flicker float64 // depth of the flicker of a fully modulated lamp, 0 to 1; 0 without mains
}

// Motion says how a shutter renders movement.
type Motion string

// The bounds (130° to 240°) are common practice, no source: about twice the frame rate,
// so that at 30 fps 1/50 s and 1/60 s both pass, 1/125 s looks jittery and 1/30 s smeared.
const (
	Natural Motion = "natural"
	Jittery Motion = "jittery" // short: every frame is crisp, movement strobes
	Smeared Motion = "smeared" // long: detail runs
)

const (
	shortestNatural = 130 * unit.Degree
	longestNatural  = 240 * unit.Degree
)

// MotionOf says how a shutter angle renders movement.
func MotionOf(angle unit.Angle) Motion {
	switch {
	case angle < shortestNatural:
		return Jittery
	case angle > longestNatural:
		return Smeared
	}
	return Natural
}

// FlickerDepth returns how far, from 0 to 1, the exposures of successive frames or rows can
// part from their mean under a fully modulated lamp on mains of the given frequency: the
// lamp pulses at twice the mains, and a shutter open for t keeps |sin(πx)/πx| of the pulse,
// x = 2·mains·t. It vanishes when the shutter spans whole pulses: 1/100, 1/50, 1/25 s on
// 50 Hz, 1/120, 1/60, 1/30 s on 60 Hz.
func FlickerDepth(shutterS, mainsHz float64) float64 {
	x := math.Pi * 2 * mainsHz * shutterS
	if math.Abs(x) < 1e-9 {
		return 1
	}
	return math.Abs(math.Sin(x) / x)
}

// steadyLamp is the flicker depth below which lamps look steady (common practice, no
// source; one part in fifty is below the smallest step a grader sees in a moving picture).
const steadyLamp = 0.02

// FlickerSafe lists the shutter times in seconds, longest first, that hold lamps steady at
// a frame rate: whole pulses of the mains' double frequency, none longer than the frame.
func FlickerSafe(frameRate, mainsHz float64) []float64 {
	pulse := 1 / (2 * mainsHz)
	var safe []float64
	for n := math.Floor(1/(frameRate*pulse) + 1e-9); n >= 1; n-- {
		safe = append(safe, n*pulse)
	}
	return safe
}

// ChooseShutter returns the shutter nearest in stops to an angle, out of the camera's list
// (an empty list allows any time) and not longer than the frame; with mains (50 or 60 Hz,
// 0 for no lamps in the picture) a time that holds lamps steady is preferred.
func ChooseShutter(frameRate float64, angle unit.Angle, list []float64, mainsHz float64) (Shutter, error) {
	if err := errors.Join(unit.Within("frame rate", frameRate, 1, 1000, "fps"), unit.Within("shutter angle", angle.Deg(), 1, 360, "deg"), checkMains(mainsHz)); err != nil {
		return Shutter{}, err
	}
	want := ShutterTime(frameRate, angle)
	best, bestCost := 0.0, math.Inf(1)
	try := func(t float64) {
		if t > 1/frameRate*(1+1e-6) {
			return
		}
		cost := math.Abs(math.Log2(t / want))
		if mainsHz > 0 && FlickerDepth(t, mainsHz) > steadyLamp {
			cost += 2
		}
		if cost < bestCost {
			best, bestCost = t, cost
		}
	}
	if len(list) == 0 {
		try(want)
		if mainsHz > 0 {
			pulse := 1 / (2 * mainsHz)
			try(math.Max(1, math.Floor(want/pulse)) * pulse)
			try(math.Ceil(want/pulse) * pulse)
		}
	}
	for _, t := range list {
		if err := unit.Within("shutter of the camera's list", t, 1e-6, 3600, "s"); err != nil {
			return Shutter{}, err
		}
		try(t)
	}
	if best == 0 {
		return Shutter{}, fmt.Errorf("no shutter of the camera is as short as a frame at %g fps (%s): choose a slower frame rate", frameRate, unit.Shutter(1/frameRate))
	}
	return describeShutter(frameRate, best, mainsHz), nil
}

func describeShutter(frameRate, shutterS, mainsHz float64) Shutter {
	s := Shutter{TimeS: shutterS, Angle: ShutterAngle(frameRate, shutterS)}
	s.Motion = MotionOf(s.Angle)
	if mainsHz > 0 {
		s.Flicker = FlickerDepth(shutterS, mainsHz)
	}
	return s
}

func checkMains(hz float64) error {
	if hz == 0 {
		return nil
	}
	return unit.Within("mains frequency", hz, 10, 100, "Hz")
}
