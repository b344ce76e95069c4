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

// review compares the path with the wish and with the limits that no reference shows.
func (s *solver) review(path *Path) {
	type worst struct {
		by, t         float64
		asked, allows float64
	}
	n := len(s.legs)
	framing := make([]worst, n)
	way := make([]worst, n)
	travel := make([]worst, n)
	smear := make([]worst, n)
	work := make([]worst, n)
	behind := make([]float64, n)
	for i := range behind {
		behind[i] = -1
	}
	var lastPlace frame.Place
	var lastLeg *leg
	busy := 0.0
	hint := s.legs[0].start.az
	for i := range path.Samples {
		q := &path.Samples[i]
		l := s.at(q.T)
		view := frame.Look(s.p.Camera, q.Pose())
		wantAz, wantTilt := s.wanted(q.T, q.Pos, hint)
		hint = wantAz
		if over := max(float64(s.p.Rig.TiltFrom)-wantTilt, wantTilt-float64(s.p.Rig.TiltTo)); over > travel[l.index].by && over > 0.005 {
			allowed := s.p.Rig.TiltTo
			if wantTilt < 0 {
				allowed = s.p.Rig.TiltFrom
			}
			travel[l.index] = worst{over, q.T, unit.Angle(wantTilt).Deg(), allowed.Deg()}
		}
		// Off from where the camera should point, in shares of the frame.
		ray := geo.Vec3{X: math.Sin(wantAz) * math.Cos(wantTilt), Y: math.Cos(wantAz) * math.Cos(wantTilt), Z: math.Sin(wantTilt)}
		off := 1.0
		if at, _, ok := view.Direction(ray); ok {
			off = math.Max(math.Abs(at.X-0.5), math.Abs(at.Y-0.5))
		}
		if off > framing[l.index].by {
			framing[l.index] = worst{off, q.T, off * 100, placeTolerance * 100}
		}
		ref := l.place(min(q.T, s.duration()))
		dist := 30.0
		if l.subject != nil {
			m, _ := l.subject.At(q.T)
			dist = max(3, m.Box.Centre().Sub(ref).Norm())
		}
		if e := q.Pos.Sub(ref).Norm() / dist; e > way[l.index].by {
			way[l.index] = worst{e, q.T, e * 100, wayTolerance * 100}
		}
		if l.subject != nil && l.aim.mode != overhead && behind[l.index] < 0 {
			m, _ := l.subject.At(q.T)
			if _, _, ok := view.Point(m.Box.Centre()); !ok {
				behind[l.index] = q.T
			}
		}
		if l.subject != nil && s.p.Picture.MaxSmearPx > 0 && s.p.Picture.ShutterS > 0 {
			m, _ := l.subject.At(q.T)
			at, _, ok := view.Point(m.Box.Centre())
			if ok && lastLeg == l && i > 0 && at.X > 0 && at.X < 1 && at.Y > 0 && at.Y < 1 {
				px := math.Hypot((at.X-lastPlace.X)*float64(s.p.Camera.PixelsW), (at.Y-lastPlace.Y)*float64(s.p.Camera.PixelsH)) *
					path.RateHz * s.p.Picture.ShutterS
				if px > smear[l.index].by {
					smear[l.index] = worst{px, q.T, px, s.p.Picture.MaxSmearPx}
				}
			}
			lastPlace = at
			if lastLeg = l; !ok {
				lastLeg = nil
			}
		}
		if s.p.Rig.SingleOperator && i > 0 {
			most := s.p.Rig.Workload
			if most == 0 {
				most = 4
			}
			if c := Controls(&path.Samples[i-1], q, s.p.Rig.TwoAxis); c > most {
				busy += 1 / path.RateHz
				if busy > 1 && float64(c) > work[l.index].by {
					work[l.index] = worst{float64(c), q.T, float64(c), float64(most)}
				}
			} else {
				busy = 0
			}
		}
	}
	for i := range s.legs {
		l := &s.legs[i]
		about := l.name
		if t := behind[i]; t >= 0 {
			s.note(Bound{Limit: LimitFraming, Step: i, T: t, About: about, Nearest: Nearest{Words: "the subject is behind the camera: turn look toward it, or name no subject"}})
		}
		if w := travel[i]; w.by > 0 {
			b := Bound{Limit: LimitTiltTravel, Step: i, T: w.t, Asked: w.asked, Allowed: w.allows, Unit: "deg", About: about, Kept: true}
			if l.subject != nil {
				q := path.At(w.t)
				m, _ := l.subject.At(w.t)
				drop := q.Pos.Z - m.Box.Centre().Z
				if a := math.Abs(w.allows) * float64(unit.Degree); a > 0.02 && a < 1.5 {
					b.Nearest.DistanceM = math.Abs(drop) / math.Sin(a)
				}
				b.Nearest.Words = "bring the camera nearer to the subject's height"
			} else {
				b.Nearest.Words = fmt.Sprintf("tilt to %.0f deg", w.allows)
			}
			s.note(b)
		} else if w := framing[i]; w.by > placeTolerance && w.t > 0 {
			limit := LimitPanRate
			if s.p.Rig.TwoAxis {
				limit = LimitYaw
			}
			b := Bound{Limit: limit, Step: i, T: w.t, Asked: w.asked, Allowed: w.allows, Unit: "% of the frame off its place", About: about, Kept: true}
			if c := l.pace.cruise; c > 0 && !l.turns {
				b.Nearest.SpeedMS = c * placeTolerance / w.by
			} else {
				b.Nearest.Words = "keep farther from the subject, or take a wider lens"
			}
			s.note(b)
		}
		if w := way[i]; w.by > wayTolerance {
			b := Bound{Limit: LimitFraming, Step: i, T: w.t, Asked: w.asked, Allowed: w.allows, Unit: "% of the distance off the way asked", About: about, Kept: true}
			q := path.At(w.t)
			if by, what := s.nearestHazard(q.Pos); by < 1 {
				b.Limit, b.About = LimitObstacle, what
				if what == "ground" {
					b.Limit = LimitGround
				}
				b.Nearest.Words = "the path goes round it"
				if what == "ground" {
					b.Nearest.RaiseM = s.sunk(l)
				}
			} else {
				b.Nearest.Words = "the aircraft cannot follow so tight a way: go slower, or wider"
			}
			s.note(b)
		}
		if w := smear[i]; w.by > s.p.Picture.MaxSmearPx && s.p.Picture.MaxSmearPx > 0 {
			b := Bound{Limit: LimitSmear, Step: i, T: w.t, Asked: w.asked, Allowed: w.allows, Unit: "px", About: about}
			if l.pace.cruise > 0 && !l.turns {
				b.Nearest.SpeedMS = l.pace.cruise * w.allows / w.asked
			} else if l.pace.duration > 0 {
				b.Nearest.DurationS = l.pace.duration * w.asked / w.allows
			}
			s.note(b)
		}
		if w := work[i]; w.by > 0 {
			s.note(Bound{Limit: LimitWorkload, Step: i, T: w.t, Asked: w.asked, Allowed: w.allows, Unit: "controls at once",
				Nearest: Nearest{Words: "fly it with two people, or let fewer things change at once"}})
		}
	}
	if m, free := s.runUp(&path.Samples[0]); free == No {
		s.note(Bound{Limit: LimitStart, Nearest: Nearest{Words: fmt.Sprintf("the shot starts at %.1f m/s and its run-up of %.0f m is not free: let it start from rest, or elsewhere", path.Samples[0].Vel.Norm(), m)}})
	}
	if stop, _ := s.escape(&path.Samples[len(path.Samples)-1], 0); stop == No {
		q := &path.Samples[len(path.Samples)-1]
		s.note(Bound{Limit: LimitEnd, Step: n - 1, T: q.T, Nearest: Nearest{Words: fmt.Sprintf("the shot ends at %.1f m/s and the way to stop is not free: let it end at rest, or elsewhere", q.Vel.Norm())}})
	}
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
	if s.p.Ground == nil {
		s.note(Bound{Limit: LimitTerrain, Nearest: Nearest{Words: "there is no terrain: clearance from ground is unknown"}})
	} else {
		for i := range path.Samples {
			q := &path.Samples[i]
			if _, ok := s.p.Ground.HeightAt(q.Pos.X, q.Pos.Y); !ok {
				s.note(Bound{Limit: LimitTerrain, Step: s.at(q.T).index, T: q.T, Nearest: Nearest{Words: "no terrain data there: clearance from ground is unknown"}})
				break
			}
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
