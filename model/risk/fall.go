package risk

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Body is a falling aircraft or part as a point mass.
type Body struct {
	MassKg     float64 // 0.001 to 10000
	DragAreaM2 float64 // drag coefficient × frontal area, 0 to 100; 0 is a fall in vacuum
}

// Air is what a body falls through.
type Air struct {
	DensityKgM3 float64                        // 0 to 2
	WindMS      func(heightM float64) geo.Vec3 // wind at a height above sea level: the direction it blows to; nil: SteadyMS
	SteadyMS    geo.Vec3                       // the same wind at every height
}

// Impact is where and how hard a body meets the ground.
type Impact struct {
	FallS     float64  // duration of the fall
	Pos, Vel  geo.Vec3 // at the ground
	DistanceM float64  // level distance from the start
	SpeedMS   float64
	EnergyJ   float64
}

// ErrGroundUnknown is wrapped by falls that leave the known terrain.
var ErrGroundUnknown = errors.New("height of the ground is not known")

// TerminalVelocity returns the steady fall speed in m/s: √(2 m g / (ρ Cd A)).
// ok is false when the drag is zero and no such speed exists.
func (b Body) TerminalVelocity(densityKgM3 float64) (speedMS float64, ok bool) {
	drag := densityKgM3 * b.DragAreaM2
	if !(drag > 0) {
		return 0, false
	}
	return math.Sqrt(2 * b.MassKg * StandardGravityMS2 / drag), true
}

// KineticEnergy returns ½ m v² in joules.
func KineticEnergy(massKg, speedMS float64) float64 { return 0.5 * massKg * speedMS * speedMS }

// SpeedOfEnergy returns the speed in m/s at which the mass carries the energy.
// Mass above 0.
func SpeedOfEnergy(massKg, energyJ float64) float64 { return math.Sqrt(2 * energyJ / massKg) }

func (b Body) check() error {
	return cmp.Or(unit.Within("mass", b.MassKg, 0.001, 10000, "kg"), unit.Within("drag area", b.DragAreaM2, 0, 100, "m2"))
}

const (
	longestStepS = 0.04
	dragPerStep  = 0.05 // greatest share of the speed that drag takes in a step
	longestFallS = 3600
)

// Fall integrates a free fall with quadratic drag, relative to the wind, from pos at
// velocity vel until the ground. The step shortens where drag is strong. Errors: a
// value out of range, a start below the ground, terrain not known under the fall
// (ErrGroundUnknown). Source: BasisFall.
func (b Body) Fall(pos, vel geo.Vec3, air Air, ground Surface) (Impact, error) {
	err := cmp.Or(b.check(), unit.Within("air density", air.DensityKgM3, 0, 2, "kg/m3"),
		unit.Within("speed", vel.Norm(), 0, 400, "m/s"), checkPoint(pos))
	if err != nil {
		return Impact{}, err
	}
	z, ok := ground.HeightAt(pos.X, pos.Y)
	if !ok {
		return Impact{}, fmt.Errorf("fall from x %.1f y %.1f: %w", pos.X, pos.Y, ErrGroundUnknown)
	}
	if pos.Z < z {
		return Impact{}, fmt.Errorf("fall starts %.2f m below the ground; raise the path", z-pos.Z)
	}
	f := fall{k: 0.5 * air.DensityKgM3 * b.DragAreaM2 / b.MassKg, wind: air.WindMS, steady: air.SteadyMS}
	p, v, t := pos, vel, 0.0
	for t < longestFallS {
		h := longestStepS
		if rate := f.k * (v.Sub(f.windAt(p.Z)).Norm() + StandardGravityMS2*h); rate*h > dragPerStep {
			h = dragPerStep / rate
		}
		np, nv := f.step(p, v, h)
		z, ok := ground.HeightAt(np.X, np.Y)
		if !ok {
			return Impact{}, fmt.Errorf("fall reaches x %.1f y %.1f: %w", np.X, np.Y, ErrGroundUnknown)
		}
		if np.Z <= z {
			h, np, nv = f.meet(p, v, h, ground)
			return b.impact(pos, np, nv, t+h), nil
		}
		p, v, t = np, nv, t+h
	}
	return Impact{}, fmt.Errorf("fall has not ended after %d s; check mass, drag area and wind", longestFallS)
}

func (b Body) impact(start, pos, vel geo.Vec3, fallS float64) Impact {
	speed := vel.Norm()
	return Impact{FallS: fallS, Pos: pos, Vel: vel, DistanceM: pos.Sub(start).Horizontal(), SpeedMS: speed,
		EnergyJ: KineticEnergy(b.MassKg, speed)}
}

type fall struct {
	k      float64 // ½ ρ Cd A / m, 1/m
	wind   func(float64) geo.Vec3
	steady geo.Vec3
}

func (f *fall) windAt(z float64) geo.Vec3 {
	if f.wind == nil {
		return f.steady
	}
	return f.wind(z)
}

func (f *fall) acceleration(wind, v geo.Vec3) geo.Vec3 {
	r := v.Sub(wind)
	a := r.Scale(-f.k * r.Norm())
	a.Z -= StandardGravityMS2
	return a
}

// step advances by h with the classical fourth-order Runge-Kutta method.
func (f *fall) step(p, v geo.Vec3, h float64) (geo.Vec3, geo.Vec3) {
	a1 := f.acceleration(f.windAt(p.Z), v)
	v2 := v.Add(a1.Scale(h / 2))
	a2 := f.acceleration(f.windAt(p.Z+v.Z*(h/2)), v2)
	v3 := v.Add(a2.Scale(h / 2))
	a3 := f.acceleration(f.windAt(p.Z+v2.Z*(h/2)), v3)
	v4 := v.Add(a3.Scale(h))
	a4 := f.acceleration(f.windAt(p.Z+v3.Z*h), v4)
	return p.Add(v.Add(v2.Add(v3).Scale(2)).Add(v4).Scale(h / 6)),
		v.Add(a1.Add(a2.Add(a3).Scale(2)).Add(a4).Scale(h / 6))
}

// meet finds the part of the last step at which the ground is met: by false position,
// halving the interval where that is slow.
func (f *fall) meet(p, v geo.Vec3, h float64, ground Surface) (float64, geo.Vec3, geo.Vec3) {
	height := func(s float64) (float64, geo.Vec3, geo.Vec3) {
		np, nv := f.step(p, v, s)
		z, _ := ground.HeightAt(np.X, np.Y)
		return np.Z - z, np, nv
	}
	z0, _ := ground.HeightAt(p.X, p.Y)
	low, high, above := 0.0, h, p.Z-z0
	below, np, nv := height(h)
	for i := range 40 {
		if below > -1e-9 || high-low < 1e-12 {
			break
		}
		mid := low + (high-low)*above/(above-below)
		if i%3 == 2 {
			mid = (low + high) / 2
		}
		switch z, mp, mv := height(mid); {
		case z > 0:
			low, above = mid, z
		default:
			high, below, np, nv = mid, z, mp, mv
		}
	}
	return high, np, nv
}

// Moment is the aircraft at one time of a path.
type Moment struct {
	TimeS    float64
	Pos, Vel geo.Vec3
}

// FallAlong lets the body fall from each moment of a path and returns one impact for
// each: the fall footprint. The first fall that cannot be computed ends it with an error
// that names the time.
func (b Body) FallAlong(path []Moment, air Air, ground Surface) ([]Impact, error) {
	impacts := make([]Impact, len(path))
	for i, m := range path {
		impact, err := b.Fall(m.Pos, m.Vel, air, ground)
		if err != nil {
			return nil, fmt.Errorf("at %.1f s: %w", m.TimeS, err)
		}
		impacts[i] = impact
	}
	return impacts, nil
}

// WorstFall returns the impact with the greatest distance and the one with the greatest
// energy among drag areas from 0 to maxDragAreaM2, for a body whose drag is not known.
// The two come from different drags: little drag hits hard, much drag drifts far.
func WorstFall(massKg, maxDragAreaM2 float64, pos, vel geo.Vec3, air Air, ground Surface) (farthest, hardest Impact, err error) {
	const steps = 16
	for i := range steps + 1 {
		share := float64(i) / steps
		body := Body{MassKg: massKg, DragAreaM2: maxDragAreaM2 * share * share * share}
		impact, err := body.Fall(pos, vel, air, ground)
		if err != nil {
			return Impact{}, Impact{}, err
		}
		if i == 0 || impact.DistanceM > farthest.DistanceM {
			farthest = impact
		}
		if i == 0 || impact.EnergyJ > hardest.EnergyJ {
			hardest = impact
		}
	}
	return farthest, hardest, nil
}

// Parachute is a recovery parachute.
type Parachute struct {
	OpenS  float64 // time from release until it carries, 0 to 60; the fall is free until then
	SinkMS float64 // steady sink speed, 0.1 to 100
}

// Drift integrates a fall that is free for OpenS and then sinks at SinkMS, carried by the
// wind. A body that meets the ground before the parachute opens is returned as that
// fall. Errors as for Body.Fall.
func (c Parachute) Drift(b Body, pos, vel geo.Vec3, air Air, ground Surface) (Impact, error) {
	err := cmp.Or(b.check(), unit.Within("air density", air.DensityKgM3, 0, 2, "kg/m3"), unit.Within("speed", vel.Norm(), 0, 400, "m/s"),
		checkPoint(pos), unit.Within("time for the parachute to open", c.OpenS, 0, 60, "s"), unit.Within("sink speed", c.SinkMS, 0.1, 100, "m/s"))
	if err != nil {
		return Impact{}, err
	}
	f := fall{k: 0.5 * air.DensityKgM3 * b.DragAreaM2 / b.MassKg, wind: air.WindMS, steady: air.SteadyMS}
	p, v, t := pos, vel, 0.0
	for t < longestFallS {
		z, ok := ground.HeightAt(p.X, p.Y)
		if !ok {
			return Impact{}, fmt.Errorf("drift reaches x %.1f y %.1f: %w", p.X, p.Y, ErrGroundUnknown)
		}
		if p.Z <= z {
			return b.impact(pos, p, v, t), nil
		}
		h := longestStepS
		switch {
		case t+1e-12 < c.OpenS:
			h = math.Min(h, c.OpenS-t)
			if rate := f.k * (v.Sub(f.windAt(p.Z)).Norm() + StandardGravityMS2*h); rate*h > dragPerStep {
				h = dragPerStep / rate
			}
			np, nv := f.step(p, v, h)
			if z, ok := ground.HeightAt(np.X, np.Y); ok && np.Z <= z {
				h, np, nv = f.meet(p, v, h, ground)
				return b.impact(pos, np, nv, t+h), nil
			}
			p, v = np, nv
		default:
			v = f.windAt(p.Z)
			v.Z -= c.SinkMS
			h = math.Min(2*h, math.Max((p.Z-z)/c.SinkMS, 1e-3))
			p = p.Add(v.Scale(h))
		}
		t += h
	}
	return Impact{}, fmt.Errorf("drift has not ended after %d s; check the sink speed and wind", longestFallS)
}

func checkPoint(p geo.Vec3) error {
	return cmp.Or(unit.Within("x", p.X, -1e7, 1e7, "m"), unit.Within("y", p.Y, -1e7, 1e7, "m"), unit.Within("height above sea level", p.Z, -500, 1e5, "m"))
}
