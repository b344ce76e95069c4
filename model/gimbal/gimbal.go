// Package gimbal computes how a camera mount balances, what its motors must hold, how
// far it reaches, and what of the aircraft comes into its picture.
//
// Units and axes: SI. Positions are in the mount's frame with the camera level and
// looking forward: x right, y forward along the lens, z up, origin where the axes
// meet. The axes nest: pan carries roll carries tilt. Pan is clockwise positive seen
// from above, tilt up positive, roll right side down positive.
//
// Source: statics and the parallel-axis theorem (any engineering mechanics text, such as
// Meriam & Kraige); drag as 1/2 rho v² C_D A.
//
// Exact for rigid bodies at rest in the given attitude. Inertias of items are those of
// solid boxes.
//
// Not modelled: friction and cable stiffness, motor cogging, flexing arms, the
// controller, vibration.
package gimbal

import (
	"fmt"
	"math"

	"fieldfare/model/air"
	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Axis is one of the mount's axes.
type Axis int

// Axes from the inside out.
const (
	Tilt Axis = iota // about x
	Roll             // about y
	Pan              // about z
)

func (a Axis) String() string { return [...]string{"tilt", "roll", "pan"}[a] }

// Item is one part that the mount carries.
type Item struct {
	Name   string
	MassKg float64
	At     geo.Vec3 // centre of mass
	Size   geo.Vec3 // of its box, for inertia; zero counts as a point
	On     Axis     // innermost axis that turns it: Tilt for the camera and all that is on it
	Fixed  bool     // stays when its axis's plate is moved: a counterweight, the cage
}

// Check reports the first item that cannot be.
func Check(items []Item) error {
	if len(items) == 0 {
		return fmt.Errorf("no item to balance: give at least one with mass and position")
	}
	for _, i := range items {
		switch {
		case !(i.MassKg > 0 && i.MassKg <= 100):
			return fmt.Errorf("item %q has a mass of %.4g kg: expected above 0 kg to 100 kg", i.Name, i.MassKg)
		case !(i.At.Norm() <= 3):
			return fmt.Errorf("item %q is %.4g m from the axes: expected up to 3 m", i.Name, i.At.Norm())
		case !(i.Size.X >= 0 && i.Size.Y >= 0 && i.Size.Z >= 0 && i.Size.Norm() <= 5):
			return fmt.Errorf("item %q has an impossible size", i.Name)
		case i.On < Tilt || i.On > Pan:
			return fmt.Errorf("item %q is on no axis of the mount", i.Name)
		}
	}
	return nil
}

// Load is the sum of what an axis carries.
type Load struct {
	MassKg float64
	// FirstMoment is the sum of mass times position, kg m.
	FirstMoment geo.Vec3
	// InertiaKgM2 is about the axis, with the camera level.
	InertiaKgM2 float64
}

// Carried sums the items that an axis turns, with the plates moved by shifts.
func Carried(items []Item, axis Axis, shifts Shifts) (l Load) {
	for _, i := range items {
		if i.On > axis {
			continue
		}
		s, p := i.Size, shifts.seen(i, axis)
		l.MassKg += i.MassKg
		l.FirstMoment = l.FirstMoment.Add(p.Scale(i.MassKg))
		var own, r2 float64
		switch axis {
		case Tilt:
			own, r2 = s.Y*s.Y+s.Z*s.Z, p.Y*p.Y+p.Z*p.Z
		case Roll:
			own, r2 = s.X*s.X+s.Z*s.Z, p.X*p.X+p.Z*p.Z
		case Pan:
			own, r2 = s.X*s.X+s.Y*s.Y, p.X*p.X+p.Y*p.Y
		}
		// Parallel axes: I = m (a² + b²)/12 + m r².
		l.InertiaKgM2 += i.MassKg * (own/12 + r2)
	}
	return l
}

// Centre is the centre of mass.
func (l Load) Centre() geo.Vec3 {
	if l.MassKg == 0 {
		return geo.Vec3{}
	}
	return l.FirstMoment.Scale(1 / l.MassKg)
}

// HoldNM is the static torque about an axis: tilt nose-heavy positive, at a tilt angle;
// roll right-heavy positive, at a roll angle; pan, whose axis leans by the angle toward the
// front, swinging the heavy side down. accelerationMS2 is the aircraft's, in the mount's
// frame, felt on top of gravity.
func (l Load) HoldNM(axis Axis, angle unit.Angle, acceleration geo.Vec3) float64 {
	sin, cos := math.Sincos(float64(angle))
	m, a := l.FirstMoment, acceleration
	up := air.GravityMS2 + a.Z
	switch axis {
	case Tilt:
		return (m.Y*cos-m.Z*sin)*up - (m.Y*sin+m.Z*cos)*a.Y
	case Roll:
		// Right side down: x turns toward -z.
		return (m.X*cos+m.Z*sin)*up - (-m.X*sin+m.Z*cos)*a.X
	}
	// With the pan axis leaning forward, gravity has a part along y that turns an
	// imbalance to the side.
	return m.X*(up*sin+a.Y*cos) - m.Y*a.X
}

// WorstNM is the greatest static torque at any angle of the axis, at rest: that of the
// whole offset laid level.
func (l Load) WorstNM(axis Axis) float64 {
	m := l.FirstMoment
	switch axis {
	case Tilt:
		return air.GravityMS2 * math.Hypot(m.Y, m.Z)
	case Roll:
		return air.GravityMS2 * math.Hypot(m.X, m.Z)
	}
	return air.GravityMS2 * math.Hypot(m.X, m.Y)
}

// WindNM is the torque of air on an area whose centre lies armM from an axis:
// 1/2 rho v² C_D A arm. A cylinder across the wind has C_D about 1.1, a box about 1.2 (Hoerner,
// Fluid-Dynamic Drag, from memory).
func WindNM(density, windMS, dragCoefficient, areaM2, armM float64) float64 {
	return 0.5 * density * windMS * windMS * dragCoefficient * areaM2 * math.Abs(armM)
}
