package move

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// standOff is the distance kept from the middle of a moving subject. Where a subject comes
// nearer than the aircraft can get out of its way, part of it is given up and reported.
func (s *solver) standOff(m Motion) float64 {
	g := s.p.Margins
	if g.SubjectM == 0 {
		return 0
	}
	return (g.SubjectM + m.SpreadM + m.Box.RadiusM() + g.error()) * (1 - s.yield)
}

// clearOf moves a place off the ground and obstacles, with a bound where it had to.
func (s *solver) clearOf(index int, t float64, pos geo.Vec3) (geo.Vec3, error) {
	was := pos
	var about string
	worst := 0.0
	limit := LimitGround
	for range 200 {
		push, by, name := geo.Vec3{}, 1e-3, ""
		if s.hazards.ground != nil {
			if over, _, ok := s.hazards.overGround(pos); ok && -over > by {
				push, by, name = geo.Vec3{Z: 1}, -over, ""
			}
		}
		for i := range s.hazards.all {
			h := &s.hazards.all[i]
			if d := pos.Sub(h.centre); d.Norm() > h.radius+h.need {
				continue
			}
			if d, away := h.shape.Distance(pos); h.need-d > by {
				push, by, name = away, h.need-d, h.name
			}
		}
		if by <= 1e-3 {
			break
		}
		if by > worst {
			worst, about = by, name
			if limit = LimitGround; name != "" {
				limit = LimitObstacle
			}
		}
		pos = pos.Add(push.Scale(by + 2e-3))
	}
	d := pos.Sub(was)
	if d.Norm() < 1e-3 {
		return pos, nil
	}
	what := "ground"
	if about != "" {
		what = about
	}
	if d.Norm() > 300 {
		return pos, &Unsolved{index, t, fmt.Sprintf("the camera would be %.0f m inside %s", worst, what), "place it elsewhere"}
	}
	need := s.hazards.ball
	for i := range s.hazards.all {
		if s.hazards.all[i].name == about {
			need = s.hazards.all[i].need
		}
	}
	b := Bound{Limit: limit, Step: index, T: t, Asked: need - worst, Allowed: need, Unit: "m", About: about, Kept: true}
	if d.Z > 0.7*d.Norm() {
		b.Nearest.RaiseM = d.Z
	} else {
		b.Nearest.Words = fmt.Sprintf("stand %.1f m farther off, at azimuth %.0f deg from there", d.Norm(), unit.Angle(azimuthOf(d)).Wrapped().Deg())
	}
	s.note(b)
	// No path through rock: what is left inside after all pushes has no way out.
	if s.hazards.ground != nil {
		if over, _, ok := s.hazards.overGround(pos); ok && over < -0.05 {
			return pos, &Unsolved{index, t, "no place near there keeps clear of " + what, "place the camera elsewhere"}
		}
	}
	for i := range s.hazards.all {
		h := &s.hazards.all[i]
		if dist, _ := h.shape.Distance(pos); dist < h.need-0.05 {
			return pos, &Unsolved{index, t, fmt.Sprintf("no place near there keeps clear of %s and %s", what, h.name), "place the camera elsewhere"}
		}
	}
	return pos, nil
}

// threatened tells whether a moving subject is about at a time.
func (s *solver) threatened(t float64) bool {
	for _, x := range s.route.shells {
		q := &s.route.points[x.point]
		if math.Abs(q.t-t) < 4 && s.route.curve.value(&q.b, 0).Sub(x.centre).Norm() < 1.3*x.radius {
			return true
		}
	}
	return false
}

// inside is by how much a place is nearer to something than it may be.
func (s *solver) inside(t float64, pos geo.Vec3) (by float64, what string) {
	if s.hazards.ground != nil {
		if over, _, ok := s.hazards.overGround(pos); ok && -over > by {
			by, what = -over, "the ground"
		}
	}
	for i := range s.hazards.all {
		h := &s.hazards.all[i]
		if d, _ := h.shape.Distance(pos); h.need-d > by {
			by, what = h.need-d, h.name
		}
	}
	for _, name := range s.moving {
		m, _ := s.p.Subjects[name].At(t)
		if d := pos.Sub(m.Box.Centre()).Norm(); s.standOff(m)-d > by {
			by, what = s.standOff(m)-d, name
		}
	}
	return by, what
}

// free is where a leg should be at a time, moved off whatever it is too near to.
func (s *solver) free(l *leg, t float64) geo.Vec3 {
	pos := l.place(t)
	for range 60 {
		push := geo.Vec3{}
		by := 1e-3
		if s.hazards.ground != nil {
			if over, ok := s.hazards.heightOver(pos); ok && -over > by {
				push, by = geo.Vec3{Z: 1}, -over
			}
		}
		for i := range s.hazards.all {
			h := &s.hazards.all[i]
			if d := pos.Sub(h.centre); d.Norm() > h.radius+h.need {
				continue
			}
			if d, away := h.shape.Distance(pos); h.need-d > by {
				push, by = away, h.need-d
			}
		}
		for _, name := range s.moving {
			m, _ := s.p.Subjects[name].At(t)
			away := pos.Sub(m.Box.Centre())
			if d := away.Norm(); s.standOff(m)*1.02-d > by {
				push, by = geo.Vec3{Z: 1}, s.standOff(m)*1.02-d
				if d > 0.1 {
					push = away.Scale(1 / d)
				}
			}
		}
		if by <= 1e-3 {
			break
		}
		pos = pos.Add(push.Scale(by + 2e-3))
	}
	return pos
}
