package rotor

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
)

// Sample is one instant of a flown or planned path.
type Sample struct {
	T   float64  // s, increasing
	Pos geo.Vec3 // used only by NoReturn
	Air geo.Vec3 // airspeed: ground velocity less wind
	Acc geo.Vec3 // acceleration over the ground, m/s²
}

// Use is what a path takes from the pack and asks of the rotors.
type Use struct {
	DurationS float64
	EnergyJ   float64
	MeanW     float64
	PeakW     float64
	PeakN     float64 // greatest thrust
	VortexS   float64 // time in or near the vortex-ring state
}

// Then joins two uses flown one after the other.
func (u Use) Then(v Use) Use {
	sum := Use{DurationS: u.DurationS + v.DurationS, EnergyJ: u.EnergyJ + v.EnergyJ,
		PeakW: math.Max(u.PeakW, v.PeakW), PeakN: math.Max(u.PeakN, v.PeakN), VortexS: u.VortexS + v.VortexS}
	if sum.DurationS > 0 {
		sum.MeanW = sum.EnergyJ / sum.DurationS
	}
	return sum
}

// Energy sums power along samples by the trapezoidal rule. Fewer than two samples use
// nothing. It allocates nothing.
func (f Flight) Energy(samples []Sample) (u Use) {
	var sum summing
	for i := range samples {
		sum.add(samples[i].T, f.Moment(samples[i].Air, samples[i].Acc))
	}
	return sum.use()
}

// Flown is a path whose moments are worked out once for all that is asked of it.
type Flown struct {
	flight  Flight
	samples []Sample
	points  []Point
}

// Fly works out each moment of a path.
func (f Flight) Fly(samples []Sample) Flown {
	points := make([]Point, len(samples))
	for i := range samples {
		points[i] = f.Moment(samples[i].Air, samples[i].Acc)
	}
	return Flown{f, samples, points}
}

// Points returns the moments in order.
func (p Flown) Points() []Point { return p.points }

// Energy is Flight.Energy of the first n samples.
func (p Flown) Energy(n int) Use {
	var sum summing
	for i := range p.points[:n] {
		sum.add(p.samples[i].T, p.points[i])
	}
	return sum.use()
}

// summing is a use that grows by moments in order.
type summing struct {
	Use
	before Point
	t      float64
	begun  bool
}

func (s *summing) add(t float64, p Point) {
	s.PeakW, s.PeakN = math.Max(s.PeakW, p.PowerW), math.Max(s.PeakN, p.ThrustN)
	if s.begun {
		dt := t - s.t
		s.DurationS += dt
		s.EnergyJ += dt * (p.PowerW + s.before.PowerW) / 2
		if p.Vortex {
			s.VortexS += dt
		}
	}
	s.before, s.t, s.begun = p, t, true
}

func (s *summing) use() Use {
	if s.DurationS > 0 {
		s.MeanW = s.EnergyJ / s.DurationS
	}
	return s.Use
}

// Hover is the use of holding station for a time in a steady wind.
func (f Flight) Hover(durationS float64, wind geo.Vec3) Use {
	p := f.Moment(wind.Scale(-1), geo.Vec3{})
	return Use{durationS, p.PowerW * durationS, p.PowerW, p.PowerW, p.ThrustN, 0}
}

// Leg flies straight over the ground by a displacement, at a true airspeed, in a
// steady wind, crabbing into it. Climb and descent are spread over the leg; a leg that
// only climbs or sinks does so at the airspeed while holding against the wind. It fails
// when the airspeed cannot make way against the wind.
func (f Flight) Leg(by, wind geo.Vec3, airspeedMS float64) (u Use, groundspeedMS float64, err error) {
	if !(airspeedMS > 0) {
		return Use{}, 0, fmt.Errorf("airspeed %.4g m/s is not above 0", airspeedMS)
	}
	length := by.Norm()
	if length == 0 {
		return Use{}, 0, nil
	}
	// |s u - wind| = airspeed for ground velocity s u.
	along := by.Dot(wind) / length
	room := airspeedMS*airspeedMS - (wind.Dot(wind) - along*along)
	s := along + math.Sqrt(math.Max(0, room))
	if room < 0 || s < 0.1 {
		return Use{}, 0, fmt.Errorf("an airspeed of %.1f m/s makes no way over the ground in a wind of %.1f m/s: fly faster or choose another track", airspeedMS, wind.Norm())
	}
	p := f.Moment(by.Scale(s/length).Sub(wind), geo.Vec3{})
	u = Use{DurationS: length / s, EnergyJ: p.PowerW * length / s, MeanW: p.PowerW, PeakW: p.PowerW, PeakN: p.ThrustN}
	if p.Vortex {
		u.VortexS = u.DurationS
	}
	return u, s, nil
}

// NoReturn finds the last time on a path at which the aircraft can still turn for home
// at homeAirspeedMS and land within usableJ: the point of no return. all is true when it can
// from every sample. If it cannot even from the first, t is the first sample's time and
// ok is false. A sample from which the wind lets nothing come home counts as beyond.
func (f Flight) NoReturn(samples []Sample, home, wind geo.Vec3, homeAirspeedMS, usableJ float64) (t float64, ok, all bool) {
	return f.Fly(samples).NoReturn(home, wind, homeAirspeedMS, usableJ)
}

// NoReturn is Flight.NoReturn of the path.
func (p Flown) NoReturn(home, wind geo.Vec3, homeAirspeedMS, usableJ float64) (t float64, ok, all bool) {
	if len(p.samples) == 0 {
		return 0, false, false
	}
	used := 0.0
	for i := range p.samples {
		s := &p.samples[i]
		if i > 0 {
			used += (s.T - p.samples[i-1].T) * (p.points[i].PowerW + p.points[i-1].PowerW) / 2
		}
		back, _, err := p.flight.Leg(home.Sub(s.Pos), wind, homeAirspeedMS)
		if err != nil || !(used+back.EnergyJ <= usableJ) {
			if i == 0 {
				return s.T, false, false
			}
			return p.samples[i-1].T, true, false
		}
	}
	return p.samples[len(p.samples)-1].T, true, true
}

// Radius is the farthest distance in m, out along a level direction and back, that
// usableJ allows at a true airspeed in a steady wind: energy over the energy that
// each metre takes both ways.
func (f Flight) Radius(direction, wind geo.Vec3, airspeedMS, usableJ float64) (float64, error) {
	metre := geo.Vec3{X: direction.X, Y: direction.Y}.Unit()
	if metre == (geo.Vec3{}) {
		return 0, fmt.Errorf("the direction out has no level part")
	}
	out, _, err := f.Leg(metre, wind, airspeedMS)
	if err != nil {
		return 0, err
	}
	back, _, err := f.Leg(metre.Scale(-1), wind, airspeedMS)
	if err != nil {
		return 0, err
	}
	return math.Max(0, usableJ) / (out.EnergyJ + back.EnergyJ), nil
}
