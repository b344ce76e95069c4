package move

import (
	"errors"
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

var middle = frame.Place{X: 0.5, Y: 0.5}

// placed resolves a framing's place for a subject seen from an azimuth (subject to camera).
func placed(f *frame.Framing, had frame.Place, anchor frame.Anchor, m Motion, bearing float64) (frame.Place, frame.Anchor) {
	if f == nil {
		return had, anchor
	}
	p := had
	if f.Place != nil {
		p, anchor = *f.Place, frame.Middle
	}
	if f.Headroom != nil {
		p.Y, anchor = float64(*f.Headroom), frame.Head
	}
	if f.LeadRoom != nil {
		// The camera looks along bearing + 180°; its right is bearing − 90°.
		s, c := math.Sincos(bearing - math.Pi/2)
		if m.Vel.X*s+m.Vel.Y*c >= 0 {
			p.X = 1 - float64(*f.LeadRoom)
		} else {
			p.X = float64(*f.LeadRoom)
		}
	}
	return p, anchor
}

// begin finds the pose in which the shot starts.
func (s *solver) begin(l *leg) (state, error) {
	st := l.step
	now := state{place: middle}
	var m Motion
	if l.subject != nil {
		m, _ = l.subject.At(0)
		now.name = l.name
	}
	if l.kind == KeyFrames {
		return now, nil // its own keys say
	}
	var pose lens.Pose
	switch {
	case st.From != nil:
		pos, err := s.position(st.From, l.index, "from")
		if err != nil {
			return now, err
		}
		pose.Pos = pos
		if l.subject != nil {
			now.place, now.anchor = placed(st.Start, middle, frame.Middle, m, azimuthOf(pos.Sub(m.Box.Foot)))
			az, tilt, _ := frame.Aim(s.p.Camera, pos, s.target(m, now.anchor), now.place, 0)
			pose.Azimuth, pose.Tilt = az, tilt
			if st.Start != nil && st.Start.Horizon != nil {
				pose.Tilt = frame.HorizonTilt(s.p.Camera, *st.Start.Horizon)
			}
		} else if to := st.To; to != nil {
			if p, err := s.position(to, l.index, "to"); err == nil {
				pose.Azimuth = unit.Angle(azimuthOf(p.Sub(pos)))
			}
		} else if len(st.Through) > 0 {
			if p, err := s.position(&st.Through[0], l.index, "through[0]"); err == nil {
				pose.Azimuth = unit.Angle(azimuthOf(p.Sub(pos)))
			}
		} else if st.Direction != nil {
			pose.Azimuth = *st.Direction
		}
	case l.kind == TopDown:
		az := unit.Angle(0)
		if st.Bearing != nil {
			az = *st.Bearing + math.Pi
		} else if st.Direction != nil {
			az = *st.Direction
		}
		size, height := 0.0, float64(st.Distance)
		if st.Height != nil {
			height = float64(*st.Height)
		}
		if st.Start != nil && st.Start.Size > 0 {
			size = float64(st.Start.Size)
		}
		now.place, _ = placed(st.Start, middle, frame.Middle, m, float64(az)+math.Pi)
		var err error
		if pose, err = frame.Overhead(s.p.Camera, m.Box, az, now.place, size, height); err != nil {
			return now, &Unsolved{l.index, 0, err.Error(), "change height or start"}
		}
	default:
		bearing := 0.0
		switch {
		case l.kind == Lead:
			bearing = float64(m.Box.Facing)
		case l.kind == Follow:
			bearing = float64(m.Box.Facing) + math.Pi
		case l.kind == Parallel:
			bearing = float64(m.Box.Facing) + flank(st.Side)
		case st.Bearing != nil:
			bearing = float64(*st.Bearing)
		case st.Direction != nil:
			bearing = float64(*st.Direction) + math.Pi
		}
		now.place, now.anchor = placed(st.Start, middle, frame.Middle, m, bearing)
		w := frame.Want{Bearing: unit.Angle(bearing), Place: now.place, Anchor: now.anchor, DistanceM: float64(st.Distance)}
		if st.Start != nil {
			w.Size, w.Horizon = float64(st.Start.Size), st.Start.Horizon
		}
		if st.Height != nil {
			h := float64(*st.Height)
			w.HeightM = &h
		}
		if l.kind == Lead || l.kind == Follow || l.kind == Parallel {
			if w.Size == 0 && w.DistanceM == 0 {
				w.DistanceM = max(15, s.standOff(m)+5)
			}
			if w.HeightM == nil && w.Horizon == nil {
				h := max(m.Box.HeightM, 0.2*w.DistanceM)
				w.HeightM = &h
			}
		}
		if w.Size == 0 && w.DistanceM == 0 {
			w.DistanceM = float64(st.Radius)
			if w.HeightM != nil { // a radius is level
				w.DistanceM = math.Hypot(w.DistanceM, *w.HeightM-s.target(m, now.anchor).Sub(m.Box.Foot).Z)
			}
		}
		if w.HeightM == nil && w.Horizon == nil {
			el := 10 * unit.Degree
			w.Elevation = &el
		}
		var err error
		if pose, err = s.compose(l, 0, m, w); err != nil {
			return now, err
		}
	}
	if st.Look != nil {
		if st.Look.Azimuth != nil {
			pose.Azimuth = *st.Look.Azimuth
		}
		if st.Look.Tilt != nil {
			pose.Tilt = *st.Look.Tilt
		}
	}
	pos, err := s.clearOf(l.index, 0, pose.Pos)
	if err != nil {
		return now, err
	}
	now.pos, now.az, now.tilt = pos, float64(pose.Azimuth), float64(pose.Tilt)
	return now, nil
}

func flank(side Side) float64 {
	if side == Left {
		return -math.Pi / 2
	}
	return math.Pi / 2
}

func (s *solver) target(m Motion, a frame.Anchor) geo.Vec3 {
	if a == frame.Head {
		return m.Box.Head()
	}
	return m.Box.Centre()
}

// compose is frame.Compose; what cannot be had gives way to the nearest, with a bound.
func (s *solver) compose(l *leg, t float64, m Motion, w frame.Want) (lens.Pose, error) {
	pose, err := frame.Compose(s.p.Camera, m.Box, w)
	var cannot *frame.Error
	switch {
	case errors.As(err, &cannot) && cannot.Largest > 0:
		s.note(Bound{Limit: LimitFraming, Step: l.index, T: t, Asked: w.Size * 100, Allowed: cannot.Largest * 100, Unit: "% of the frame height", About: l.name,
			Kept: true, Nearest: Nearest{Words: cannot.Nearest}})
		w.Size, w.DistanceM = 0, cannot.NearestM
		pose, err = frame.Compose(s.p.Camera, m.Box, w)
	case errors.As(err, &cannot) && w.Size == 0:
		err = nil // the place cannot be had: the aim reports it
		if pose.Pos == (geo.Vec3{}) {
			err = cannot
		}
	}
	if err != nil {
		return pose, &Unsolved{l.index, t, err.Error(), "change the framing"}
	}
	if !l.subject.Moves() {
		return pose, nil
	}
	// The stand-off from a moving subject comes before its size.
	away := pose.Pos.Sub(m.Box.Centre())
	need := s.standOff(m) * 1.01
	if d := away.Norm(); d < need && d > 0 {
		at := m.Box.Centre().Add(away.Scale(need / d))
		b := Bound{Limit: LimitStandOff, Step: l.index, T: t, Asked: d, Allowed: need, Unit: "m", About: l.name, Kept: true, Nearest: Nearest{DistanceM: need}}
		size := w.Size
		if size == 0 {
			v := frame.Look(s.p.Camera, pose)
			if e, ok := v.Extent(m.Box); ok {
				size = e.Height()
			}
		}
		if f, err := frame.Focal(s.p.Camera, at, m.Box, w.Place, size); err == nil {
			b.Nearest.FocalM = f
		}
		s.note(b)
		pose.Pos = at
	}
	return pose, nil
}

// position resolves a camera position.
func (s *solver) position(p *Position, index int, field string) (geo.Vec3, error) {
	fail := func(format string, args ...any) (geo.Vec3, error) {
		return geo.Vec3{}, fmt.Errorf("moves[%d].%s: %s", index, field, fmt.Sprintf(format, args...))
	}
	at := geo.Vec3{X: float64(p.East), Y: float64(p.North)}
	if p.Point != "" {
		base, ok := s.p.Points[p.Point]
		if !ok {
			return fail("there is no point %q on the site", p.Point)
		}
		at = at.Add(base)
	}
	if p.Lat != nil {
		if s.p.Locate == nil {
			return fail("lat and lon need a site with an origin")
		}
		at.X, at.Y = s.p.Locate(*p.Lat, *p.Lon)
	}
	switch {
	case p.AboveSea != nil:
		at.Z = float64(*p.AboveSea)
	case p.AboveGround != nil:
		if s.p.Ground == nil {
			return fail("above_ground needs terrain: give above_sea")
		}
		z, ok := s.p.Ground.HeightAt(at.X, at.Y)
		if !ok {
			return fail("lies outside the terrain at east %.0f m, north %.0f m: are coordinates swapped?", at.X, at.Y)
		}
		at.Z = z + float64(*p.AboveGround)
	}
	if !finite(at.X) || !finite(at.Y) || !finite(at.Z) {
		return fail("is not a place on the site")
	}
	return at, nil
}
