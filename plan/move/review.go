package move

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

const (
	placeTolerance = 0.05 // of the frame
	wayTolerance   = 0.12 // of the distance to the subject
)

// excess is the most by which something passes what is asked, and when.
type excess struct {
	by, t         float64
	asked, allows float64
}

// exceed keeps the greater of two.
func (e *excess) exceed(by, t, asked, allows float64) {
	if by > e.by {
		*e = excess{by, t, asked, allows}
	}
}

// strain is by how much a leg's part of the path falls short of the wish.
type strain struct {
	framing excess // aim off its place, in shares of the frame
	way     excess // place off the way asked, in shares of the distance to the subject
	tilt    excess // wanted tilt past the travel, rad
	smear   excess // of the subject, px
	work    excess // controls at once, for more than a second
	behind  bool   // the subject was behind the camera
	behindT float64
}

// review compares the path with the wish and with the limits that no reference shows.
func (s *solver) review(path *Path) {
	for i, x := range s.strains(path) {
		s.reviewLeg(&s.legs[i], &x, path)
	}
	s.reviewEnds(path)
	s.reviewStandOffs(path)
	s.reviewGround(path)
}

// strains looks along the whole path once, leg by leg.
func (s *solver) strains(path *Path) []strain {
	all := make([]strain, len(s.legs))
	var lastPlace frame.Place // of the subject in the picture, one sample before
	var lastLeg *leg          // that lastPlace belongs to, nil where it was not seen
	busy := 0.0
	hint := s.legs[0].start.az
	for i := range path.Samples {
		q := &path.Samples[i]
		l := s.at(q.T)
		x := &all[l.index]
		view := frame.Look(s.p.Camera, q.Pose())
		wantAz, wantTilt := s.wanted(q.T, q.Pos, hint)
		hint = wantAz
		if over := max(float64(s.p.Rig.TiltFrom)-wantTilt, wantTilt-float64(s.p.Rig.TiltTo)); over > 0.005 {
			allowed := s.p.Rig.TiltTo
			if wantTilt < 0 {
				allowed = s.p.Rig.TiltFrom
			}
			x.tilt.exceed(over, q.T, unit.Angle(wantTilt).Deg(), allowed.Deg())
		}
		// Off from where the camera should point, in shares of the frame.
		ray := geo.Vec3{X: math.Sin(wantAz) * math.Cos(wantTilt), Y: math.Cos(wantAz) * math.Cos(wantTilt), Z: math.Sin(wantTilt)}
		off := 1.0
		if at, _, ok := view.Direction(ray); ok {
			off = math.Max(math.Abs(at.X-0.5), math.Abs(at.Y-0.5))
		}
		x.framing.exceed(off, q.T, off*100, placeTolerance*100)
		ref := l.place(min(q.T, s.duration()))
		dist := 30.0
		if l.subject != nil {
			m, _ := l.subject.At(q.T)
			dist = max(3, m.Box.Centre().Sub(ref).Norm())
			at, _, ahead := view.Point(m.Box.Centre())
			if !ahead && l.aim.mode != overhead && !x.behind {
				x.behind, x.behindT = true, q.T
			}
			if most := s.p.Picture.MaxSmearPx; most > 0 && s.p.Picture.ShutterS > 0 {
				if ahead && lastLeg == l && i > 0 && at.X > 0 && at.X < 1 && at.Y > 0 && at.Y < 1 {
					px := math.Hypot((at.X-lastPlace.X)*float64(s.p.Camera.PixelsW), (at.Y-lastPlace.Y)*float64(s.p.Camera.PixelsH)) *
						path.RateHz * s.p.Picture.ShutterS
					x.smear.exceed(px, q.T, px, most)
				}
				lastPlace = at
				if lastLeg = l; !ahead {
					lastLeg = nil
				}
			}
		}
		e := q.Pos.Sub(ref).Norm() / dist
		x.way.exceed(e, q.T, e*100, wayTolerance*100)
		if s.p.Rig.SingleOperator && i > 0 {
			most := s.p.Rig.Workload
			if most == 0 {
				most = 4
			}
			if c := Controls(&path.Samples[i-1], q, s.p.Rig.TwoAxis); c > most {
				busy += 1 / path.RateHz
				if busy > 1 {
					x.work.exceed(float64(c), q.T, float64(c), float64(most))
				}
			} else {
				busy = 0
			}
		}
	}
	return all
}

// reviewLeg says in which limits a leg's strain shows, and the nearest that would keep them.
func (s *solver) reviewLeg(l *leg, x *strain, path *Path) {
	bound := func(limit Limit, e excess, symbol string) Bound {
		return Bound{Limit: limit, Step: l.index, T: e.t, Asked: e.asked, Allowed: e.allows, Unit: symbol, About: l.name}
	}
	if x.behind {
		s.note(Bound{Limit: LimitFraming, Step: l.index, T: x.behindT, About: l.name, Nearest: Nearest{Words: "the subject is behind the camera: turn look toward it, or name no subject"}})
	}
	if e := x.tilt; e.by > 0 {
		b := bound(LimitTiltTravel, e, "deg")
		b.Kept = true
		if l.subject != nil {
			q := path.At(e.t)
			m, _ := l.subject.At(e.t)
			drop := q.Pos.Z - m.Box.Centre().Z
			if a := math.Abs(e.allows) * float64(unit.Degree); a > 0.02 && a < 1.5 {
				b.Nearest.DistanceM = math.Abs(drop) / math.Sin(a)
			}
			b.Nearest.Words = "bring the camera nearer to the subject's height"
		} else {
			b.Nearest.Words = fmt.Sprintf("tilt to %.0f deg", e.allows)
		}
		s.note(b)
	} else if e := x.framing; e.by > placeTolerance && e.t > 0 {
		limit := LimitPanRate
		if s.p.Rig.TwoAxis {
			limit = LimitYaw
		}
		b := bound(limit, e, "% of the frame off its place")
		b.Kept = true
		if c := l.pace.cruise; c > 0 && !l.turns {
			b.Nearest.SpeedMS = c * placeTolerance / e.by
		} else {
			b.Nearest.Words = "keep farther from the subject, or take a wider lens"
		}
		s.note(b)
	}
	if e := x.way; e.by > wayTolerance {
		b := bound(LimitFraming, e, "% of the distance off the way asked")
		b.Kept = true
		if by, what := s.nearestHazard(path.At(e.t).Pos); by < 1 {
			b.Limit, b.About = LimitObstacle, what
			b.Nearest.Words = "the path goes round it"
			if what == "ground" {
				b.Limit = LimitGround
				b.Nearest.RaiseM = s.sunk(l)
			}
		} else {
			b.Nearest.Words = "the aircraft cannot follow so tight a way: go slower, or wider"
		}
		s.note(b)
	}
	if e := x.smear; e.by > s.p.Picture.MaxSmearPx && s.p.Picture.MaxSmearPx > 0 {
		b := bound(LimitSmear, e, "px")
		if l.pace.cruise > 0 && !l.turns {
			b.Nearest.SpeedMS = l.pace.cruise * e.allows / e.asked
		} else if l.pace.duration > 0 {
			b.Nearest.DurationS = l.pace.duration * e.asked / e.allows
		}
		s.note(b)
	}
	if e := x.work; e.by > 0 {
		b := bound(LimitWorkload, e, "controls at once")
		b.About = ""
		b.Nearest.Words = "fly it with two people, or let fewer things change at once"
		s.note(b)
	}
}

// reviewEnds looks at the run-up to a start at speed and at the way to stop after the end.
func (s *solver) reviewEnds(path *Path) {
	first, last := &path.Samples[0], &path.Samples[len(path.Samples)-1]
	if m, free := s.runUp(first); free == No {
		s.note(Bound{Limit: LimitStart, Nearest: Nearest{Words: fmt.Sprintf("the shot starts at %.1f m/s and its run-up of %.0f m is not free: let it start from rest, or elsewhere", first.Vel.Norm(), m)}})
	}
	if stop, _ := s.escape(last, 0); stop == No {
		s.note(Bound{Limit: LimitEnd, Step: len(s.legs) - 1, T: last.T, Nearest: Nearest{Words: fmt.Sprintf("the shot ends at %.1f m/s and the way to stop is not free: let it end at rest, or elsewhere", last.Vel.Norm())}})
	}
}

// reviewStandOffs notes where each moving subject is nearest, if that is nearer than asked.
// All of the stand-off counts, whatever part of it the solver gave up on the way.
func (s *solver) reviewStandOffs(path *Path) {
	s.yield = 0
	for _, name := range s.moving {
		least := Bound{Limit: LimitStandOff, About: name, Unit: "m"}
		for i := range path.Samples {
			q := &path.Samples[i]
			m, ok := s.p.Subjects[name].At(q.T)
			if !ok {
				continue
			}
			d, need := q.Pos.Sub(m.Box.Centre()).Norm(), s.standOff(m)
			if d < need-0.01 && (least.Allowed == 0 || need-d > least.Allowed-least.Asked) {
				least.Step, least.T, least.Asked, least.Allowed = s.at(q.T).index, q.T, d, need
			}
		}
		if least.Allowed > 0 {
			least.Nearest = Nearest{Words: fmt.Sprintf("%s comes this near: place the camera farther from its way", name)}
			s.note(least)
		}
	}
}

// reviewGround notes from where on the height of the ground is not known.
func (s *solver) reviewGround(path *Path) {
	if s.p.Ground == nil {
		s.note(Bound{Limit: LimitTerrain, Nearest: Nearest{Words: "there is no terrain: clearance from ground is unknown"}})
		return
	}
	for i := range path.Samples {
		q := &path.Samples[i]
		if _, ok := s.p.Ground.HeightAt(q.Pos.X, q.Pos.Y); !ok {
			s.note(Bound{Limit: LimitTerrain, Step: s.at(q.T).index, T: q.T, Nearest: Nearest{Words: "no terrain data there: clearance from ground is unknown"}})
			return
		}
	}
}

// sunk is by how much the way that a leg asks lies too low over the ground, at its worst.
func (s *solver) sunk(l *leg) (deep float64) {
	for t := l.t0; t <= min(l.t1(), s.duration()); t += 0.2 {
		if over, _, ok := s.hazards.overGround(l.place(t)); ok {
			deep = max(deep, -over)
		}
	}
	return deep
}

// nearestHazard is how much more than asked a place is clear by.
func (s *solver) nearestHazard(pos geo.Vec3) (spare float64, what string) {
	spare = math.Inf(1)
	if s.hazards.ground != nil {
		if over, _, ok := s.hazards.overGround(pos); ok {
			spare, what = over, "ground"
		}
	}
	for i := range s.hazards.all {
		h := &s.hazards.all[i]
		if d, _ := h.shape.Distance(pos); d-h.need < spare {
			spare, what = d-h.need, h.name
		}
	}
	return spare, what
}

// Controls counts what an operator moves at once between two samples: along, across, up,
// turn, tilt, pan of the mount and focus. A control counts from a rate that a hand must
// hold: 0.3 m/s, 2 deg/s, 0.5 m/s of focus. Common practice, no source.
func Controls(a, b *Sample, twoAxis bool) int {
	dt := b.T - a.T
	if dt <= 0 {
		return 0
	}
	s, c := math.Sincos(float64(b.Yaw))
	n := 0
	count := func(rate, least float64) {
		if math.Abs(rate) > least {
			n++
		}
	}
	count(b.Vel.X*s+b.Vel.Y*c, 0.3)
	count(b.Vel.X*c-b.Vel.Y*s, 0.3)
	count(b.Vel.Z, 0.3)
	count(float64((b.Yaw-a.Yaw).Signed())/dt, 2*float64(unit.Degree))
	count(float64(b.Tilt-a.Tilt)/dt, 2*float64(unit.Degree))
	if !twoAxis {
		count(float64(b.Pan-a.Pan)/dt, 2*float64(unit.Degree))
	}
	count((b.FocusM-a.FocusM)/dt, 0.5)
	return n
}
