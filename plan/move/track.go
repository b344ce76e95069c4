package move

import (
	"fmt"
	"math"
	"sort"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

// Track is a subject that moves along timed places, as read from the shoot file, a GPX or
// a CSV table. Between them it runs on cubic curves through the places.
type Track struct {
	times   []float64
	places  []geo.Vec3
	speeds  []geo.Vec3
	size    frame.Box
	spreadM float64
	growMS  float64
}

// NewTrack returns a track. Times are seconds of the take, rising; places are where the
// subject's foot is. The size's foot and facing are ignored: the subject faces where it goes.
// SpreadM is how far off it may be at time 0, growMS how fast that grows.
func NewTrack(times []float64, places []geo.Vec3, size frame.Box, spreadM, growMS float64) (*Track, error) {
	if len(times) != len(places) || len(times) < 2 {
		return nil, fmt.Errorf("track of %d times and %d places: at least two of each, and as many, are expected", len(times), len(places))
	}
	for i := range times {
		if !finite(times[i]) || !finite(places[i].X) || !finite(places[i].Y) || !finite(places[i].Z) {
			return nil, fmt.Errorf("track: point %d is not a finite number", i+1)
		}
		if i > 0 && times[i] <= times[i-1] {
			return nil, fmt.Errorf("track: point %d at %g s is not after the one before it at %g s", i+1, times[i], times[i-1])
		}
	}
	t := &Track{times: times, places: places, size: size, spreadM: spreadM, growMS: growMS, speeds: make([]geo.Vec3, len(times))}
	// Speeds at the places weigh the neighbouring legs by nearness: parabolic blending.
	n := len(times)
	leg := func(i int) geo.Vec3 { return places[i+1].Sub(places[i]).Scale(1 / (times[i+1] - times[i])) }
	for i := range n {
		switch i {
		case 0:
			t.speeds[i] = leg(0)
		case n - 1:
			t.speeds[i] = leg(n - 2)
		default:
			before, after := times[i]-times[i-1], times[i+1]-times[i]
			t.speeds[i] = leg(i - 1).Scale(after / (before + after)).Add(leg(i).Scale(before / (before + after)))
		}
	}
	return t, nil
}

// Span returns when the track starts and ends.
func (t *Track) Span() (from, to float64) { return t.times[0], t.times[len(t.times)-1] }

// Moves implements Subject.
func (t *Track) Moves() bool { return true }

// At implements Subject.
func (t *Track) At(at float64) (Motion, bool) {
	from, to := t.Span()
	ok := at >= from-1e-9 && at <= to+1e-9
	clamped := max(from, min(to, at))
	pos, vel := t.run(clamped)
	m := Motion{Box: t.size, Vel: vel, SpreadM: t.spreadM + t.growMS*max(0, at)}
	m.Box.Foot = pos
	m.Box.Facing = t.facing(clamped)
	if !ok {
		m.Vel = geo.Vec3{}
	}
	return m, ok
}

func (t *Track) run(at float64) (pos, vel geo.Vec3) {
	i := sort.SearchFloat64s(t.times, at)
	i = max(0, min(len(t.times)-2, i-1))
	h := t.times[i+1] - t.times[i]
	u := (at - t.times[i]) / h
	a, b, va, vb := t.places[i], t.places[i+1], t.speeds[i].Scale(h), t.speeds[i+1].Scale(h)
	u2, u3 := u*u, u*u*u
	pos = a.Scale(2*u3 - 3*u2 + 1).Add(va.Scale(u3 - 2*u2 + u)).Add(b.Scale(3*u2 - 2*u3)).Add(vb.Scale(u3 - u2))
	vel = a.Scale(6*u2 - 6*u).Add(va.Scale(3*u2 - 4*u + 1)).Add(b.Scale(6*u - 6*u2)).Add(vb.Scale(3*u2 - 2*u)).Scale(1 / h)
	return pos, vel
}

// facing is the azimuth of the way covered around a time, so that it turns smoothly and
// outlasts a stop.
func (t *Track) facing(at float64) unit.Angle {
	from, to := t.Span()
	for _, reach := range []float64{1, 4, 20, to - from} {
		a, _ := t.run(max(from, at-reach))
		b, _ := t.run(min(to, at+reach))
		if d := b.Sub(a); d.Horizontal() > 0.2 {
			return unit.Angle(math.Atan2(d.X, d.Y)).Wrapped()
		}
	}
	return t.size.Facing
}
