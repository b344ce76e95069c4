package move

import (
	"fmt"
	"math"

	"fieldfare/model/unit"
)

// sample evaluates the splines at the sample rate.
func (s *solver) sample() Path {
	T := s.duration()
	n := int(math.Floor(T*s.p.RateHz+1e-9)) + 1
	path := Path{RateHz: s.p.RateHz, Samples: make([]Sample, n)}
	place, aim := s.route.curve.pieces(nil), s.gaze.curve.pieces(s.pieces)
	for i := range path.Samples {
		q := &path.Samples[i]
		q.T = float64(i) / s.p.RateHz
		t := min(q.T, T)
		r := s.route.curve.sampleAt(place, t)
		q.Pos, q.Vel, q.Acc, q.Jerk = r[0], r[1], r[2], r[3]
		look := s.gaze.curve.sampleAt(aim, t)[0]
		yaw := look.Z
		if s.p.Rig.TwoAxis {
			yaw = look.X
		}
		q.Yaw = unit.Angle(yaw).Wrapped()
		if q.Pan = unit.Angle(look.X - yaw); !s.p.Rig.TwoAxis {
			q.Pan = max(s.p.Rig.PanFrom, min(s.p.Rig.PanTo, q.Pan))
		}
		q.Tilt = unit.Angle(max(float64(s.p.Rig.TiltFrom), min(float64(s.p.Rig.TiltTo), look.Y)))
		q.FocalM = s.p.Camera.FocalM
		q.FocusM = s.focus(t, q)
	}
	for i := range s.legs {
		l := &s.legs[i]
		span := Span{Step: i, Move: l.step.Move, From: l.t0, To: l.t1(), LengthM: l.way}
		if l.pace.way > 0 && !l.turns {
			span.CruiseMS = l.pace.cruise
		}
		if span.LengthM == 0 { // placed by the subject's track: as long as what is flown
			for k := 1; k < n; k++ {
				if a, b := &path.Samples[k-1], &path.Samples[k]; a.T >= span.From-1e-9 && b.T <= span.To+1e-9 {
					span.LengthM += b.Pos.Sub(a.Pos).Norm()
				}
			}
		}
		path.Spans = append(path.Spans, span)
		path.Keys = append(path.Keys, KeyPose{l.t0, fmt.Sprintf("start of %s", l.step.Move), path.At(l.t0).Pose()})
		if l.keys != nil {
			for k, at := range l.keys.times {
				if at > 0.4 && at < l.pace.duration-0.4 {
					path.Keys = append(path.Keys, KeyPose{l.t0 + at, fmt.Sprintf("key %d", k+1), path.At(l.t0 + at).Pose()})
				}
			}
		}
	}
	path.Keys = append(path.Keys, KeyPose{T, "end", path.At(T).Pose()})
	return path
}

const farFocus = 10e3

// focusPull is how long the pull from one subject to the next takes, in seconds.
const focusPull = 1.5

// focus is the depth of what the frame is about, pulled smoothly (in dioptres) after a join.
func (s *solver) focus(t float64, q *Sample) float64 {
	l := s.at(t)
	d := s.depth(l, t, q)
	if pull := min(focusPull, l.pace.duration); l.index > 0 && t < l.t0+pull {
		f := smooth((t - l.t0) / pull)
		d = 1 / (f/d + (1-f)/s.depth(&s.legs[l.index-1], t, q))
	}
	return d
}

// depth is the distance along the lens axis of what a leg's frame is about.
func (s *solver) depth(l *leg, t float64, q *Sample) float64 {
	var who Subject
	switch {
	case l.aim.subject != nil && l.aim.mode != atAngles:
		who = l.aim.subject
	case l.subject != nil:
		who = l.subject
	default:
		return farFocus
	}
	m, _ := who.At(t)
	_, _, forward := q.Pose().Axes()
	d := m.Box.Centre().Sub(q.Pos).Dot(forward)
	if !(d > 0.1) {
		return farFocus
	}
	return min(d, farFocus)
}
