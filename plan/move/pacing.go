package move

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

// time sets a leg's pace.
func (s *solver) time(l *leg) error {
	st := l.step
	l.asked = st.Speed > 0 || st.Duration > 0
	slow := s.stretch[l.index]
	rig := s.p.Rig
	if l.timed {
		if l.keys == nil {
			l.pace = pace{duration: float64(st.Duration)}
		}
		l.asked = true
		if l.keys == nil && l.way > 0 {
			// Getting into place takes its time.
			l.settle = max(l.pace.duration, 1.875*l.way/(0.5*rig.SpeedMS), math.Sqrt(5.7735*l.way/(0.5*rig.accel())))
			if l.settle > 1.01*l.pace.duration {
				s.note(Bound{Limit: LimitSpeed, Step: l.index, T: l.t1(), Asked: l.pace.duration, Allowed: l.settle, Unit: "s to get into place",
					About: l.name, Kept: true, Nearest: Nearest{DurationS: l.settle}})
			}
		}
		return nil
	}
	first, last := l.index == 0, l.index == len(s.p.Steps)-1
	speed := 0.0
	if l.way > 0 {
		l.pace = pace{way: l.way, accel: 0.6 * rig.accel(), shortRamp: 0.8}
		if st.Duration > 0 { // there may be no time for gentle ramps
			l.pace.accel = 0.94 * rig.accel()
		}
		if speed = float64(st.Speed); speed == 0 {
			// Left to the solver: some fifteen seconds, at a pace that reads on screen.
			speed = min(max(1, l.way/15), 0.6*rig.SpeedMS)
		}
	} else {
		turn, tilt := s.swing(l)
		if angle := math.Hypot(turn, tilt); angle > 1e-4 {
			rate := rig.turnRate() * 0.8
			l.pace = pace{way: angle, accel: 0.5 * min(rig.turnAccel(), rig.tiltAccel()), shortRamp: 0.8}
			l.turns = true
			rate = min(rate, 0.8*float64(rig.TiltRate))
			speed = rate
			if s.p.Picture.MinCrossingS > 0 {
				speed = min(speed, float64(s.p.Camera.HFOV())/s.p.Picture.MinCrossingS)
			}
			if st.Speed > 0 {
				return fmt.Errorf("moves[%d].speed: a %s on the spot has no speed over ground: give duration", l.index, st.Move)
			}
		} else {
			if st.Duration == 0 {
				for _, b := range s.bounds {
					if math.Abs(float64(st.Rise))+float64(st.Travel) > 0.05 && b.Step == l.index && (b.Limit == LimitGround || b.Limit == LimitObstacle) {
						return &Unsolved{l.index, l.t0, fmt.Sprintf("nothing is left of the %s: its end is no clearer of ground and obstacles than its start", st.Move),
							"let it end elsewhere: " + b.String()}
					}
				}
				return &Unsolved{l.index, l.t0, fmt.Sprintf("a %s of zero length", st.Move), "make it a static with a duration, or give it somewhere to go"}
			}
			l.pace = pace{duration: float64(st.Duration)}
			return nil
		}
	}
	speed /= slow
	if !l.turns {
		switch {
		case first && !st.Easing.among(EaseOut, EaseNone), st.Easing.among(EaseBoth, EaseIn):
			l.pace.in = 0
		case first:
			l.pace.in = speed
		default:
			l.pace.in = s.joint[l.index]
		}
		switch {
		case last && !st.Easing.among(EaseIn, EaseNone), st.Easing.among(EaseBoth, EaseOut):
			l.pace.out = 0
		case last:
			l.pace.out = speed
		default:
			l.pace.out = s.joint[l.index+1]
		}
	}
	if st.Duration > 0 {
		least := 0.0
		if !l.turns && l.pace.in == 0 && l.pace.out == 0 && l.reach == onSite {
			least = FastestTime(l.polyline(), rig)
		}
		l.pace.atDuration(max(float64(st.Duration)*slow, least))
		if first && l.pace.in > 0 {
			l.pace.in = l.pace.cruise
			l.pace.atDuration(l.pace.duration)
		}
		if last && l.pace.out > 0 && st.Easing.among(EaseIn, EaseNone) {
			l.pace.out = l.pace.cruise
			l.pace.atDuration(l.pace.duration)
		}
	} else {
		l.pace.atSpeed(speed)
	}
	if !finite(l.pace.duration) {
		return &Unsolved{l.index, l.t0, "the step takes for ever", "give it a speed or a duration"}
	}
	return nil
}

func (l *leg) polyline() []geo.Vec3 {
	out := make([]geo.Vec3, 129)
	for i := range out {
		out[i] = l.along(l.parameter(float64(i) / 128))
	}
	return out
}

// swing is how far the camera turns and tilts during a leg on the spot.
func (s *solver) swing(l *leg) (turn, tilt float64) {
	a := &l.aim
	switch a.mode {
	case atAngles:
		return (a.az1 - a.az0) * math.Cos((a.tilt0+a.tilt1)/2), a.tilt1 - a.tilt0
	case unveiling:
		m, _ := a.subject.At(l.t0)
		az, t, _ := frame.Aim(s.p.Camera, l.start.pos, s.target(m, a.anchor), a.place1, unit.Angle(a.az0))
		return near(float64(az), a.az0) - a.az0, float64(t) - a.tilt0
	case atSubject:
		h, v := s.p.Camera.HFOV(), s.p.Camera.VFOV()
		return (a.place1.X - a.place0.X) * float64(h), (a.place1.Y - a.place0.Y) * float64(v)
	}
	return 0, 0
}

// paced lays the legs out and slows them until the wish itself keeps the limits.
func (s *solver) paced() error {
	for round := range 40 {
		s.bounds = s.bounds[:0]
		if err := s.layout(); err != nil {
			return err
		}
		moved := s.join()
		if moved && round < 3 {
			continue
		}
		if !s.slow() && !moved {
			break
		}
	}
	for i := range s.bounds {
		if b := &s.bounds[i]; b.end {
			b.T = s.legs[b.Step].t1()
		}
	}
	for i, b := range s.binding {
		l := &s.legs[i]
		if b.Limit == "" || s.stretch[i] < 1.01 {
			continue
		}
		if !l.asked {
			continue // nothing was asked of the pace: the solver chose a slower one
		}
		b.Kept = true
		if v := float64(l.step.Speed); v > 0 {
			b.Asked, b.Allowed, b.Unit = v, v/s.stretch[i], "m/s"
			b.Nearest.SpeedMS = b.Allowed
		} else {
			b.Asked, b.Allowed, b.Unit = float64(l.step.Duration), l.pace.duration, "s"
			if l.keys != nil {
				b.Asked = l.pace.duration / s.stretch[i]
			}
			b.Nearest.DurationS = b.Allowed
		}
		s.note(b)
	}
	return nil
}

// join sets the speeds at which legs flow into each other.
func (s *solver) join() (moved bool) {
	for i := 1; i < len(s.legs); i++ {
		a, b := &s.legs[i-1], &s.legs[i]
		v := 0.0
		if a.way > 0 && b.way > 0 && !a.turns && !b.turns && !a.timed && !b.timed &&
			!a.step.Easing.among(EaseBoth, EaseOut) && !b.step.Easing.among(EaseBoth, EaseIn) {
			leave := a.along(1).Sub(a.along(0.98)).Unit()
			enter := b.along(0.02).Sub(b.along(0)).Unit()
			if cos := leave.Dot(enter); cos > 0 {
				v = min(a.pace.cruise, b.pace.cruise) * cos
			}
		}
		if math.Abs(v-s.joint[i]) > 0.02*(0.1+s.joint[i]) {
			s.joint[i], moved = v, true
		}
	}
	return moved
}

// slow compares what the laid-out wish demands with the limits and stretches the legs that
// pass them. It reports whether it changed anything.
func (s *solver) slow() (changed bool) {
	rig := s.p.Rig
	wind := s.p.Margins.Wind
	for i := range s.legs {
		l := &s.legs[i]
		if l.timed && l.keys == nil || l.pace.way == 0 {
			continue
		}
		factor := 1.0
		var what Bound
		demand := func(limit Limit, t, ratio float64) {
			if ratio > factor {
				factor, what = ratio, Bound{Limit: limit, Step: i, T: t}
			}
		}
		T := l.pace.duration
		n := int(max(24, min(400, T*8)))
		const use = 0.96 // the optimiser rounds the corners, which needs some room
		tx := math.Tan(float64(s.p.Camera.HFOV()) / 2)
		ty := math.Tan(float64(s.p.Camera.VFOV()) / 2)
		d := min(0.25, T/8)
		var prevVel geo.Vec3
		var lastAt frame.Place // of the subject in the picture
		seen := false
		var prevAz, prevTilt float64
		hint := l.start.az
		for k := 0; k <= n; k++ {
			t := l.t0 + T*float64(k)/float64(n)
			p := l.place(t)
			a, b := max(l.t0, t-d), min(l.t1(), t+d)
			vel := l.place(b).Sub(l.place(a)).Scale(1 / (b - a))
			az, tilt := l.look(s, t, p, hint)
			hint = az
			dt := T / float64(n)
			if !l.turns {
				rel := vel.Sub(wind)
				demand(LimitSpeed, t, rel.Horizontal()/(rig.SpeedMS*use))
				demand(LimitClimb, t, vel.Z/(rig.ClimbMS*use))
				demand(LimitDescent, t, -vel.Z/(rig.DescentMS*use))
				if k > 0 {
					acc := vel.Sub(prevVel).Norm() / dt
					demand(LimitAccel, t, math.Sqrt(acc/(rig.accel()*use)))
				}
			}
			if k > 0 {
				turn, dip := math.Abs(az-prevAz)/dt, math.Abs(tilt-prevTilt)/dt
				// Straight above its subject a camera cannot keep its azimuth at any speed.
				if math.Abs(tilt) > 1.3 {
					turn = 0
				}
				if rig.TwoAxis {
					demand(LimitYaw, t, turn/(rig.turnRate()*use))
				} else {
					demand(LimitPanRate, t, turn/(min(rig.turnRate(), float64(rig.YawRate))*use))
				}
				demand(LimitTiltRate, t, dip/(float64(rig.TiltRate)*use))
				if c := s.p.Picture.MinCrossingS; c > 0 && l.aim.mode != atSubject && l.aim.mode != overhead && l.aim.mode != keyPlaces {
					demand(LimitCrossing, t, turn*math.Cos(tilt)*c/(2*tx)/use)
					demand(LimitCrossing, t, dip*c/(2*ty)/use)
				}
			}
			if most := s.p.Picture.MaxSmearPx; most > 0 && l.subject != nil && l.aim.mode != atSubject && l.aim.mode != keyPlaces {
				m, _ := l.subject.At(t)
				view := frame.Look(s.p.Camera, lens.Pose{Pos: p, Azimuth: unit.Angle(az), Tilt: unit.Angle(tilt)})
				at, _, ok := view.Point(m.Box.Centre())
				if ok = ok && at.X > 0 && at.X < 1 && at.Y > 0 && at.Y < 1; ok && seen {
					px := math.Hypot((at.X-lastAt.X)*float64(s.p.Camera.PixelsW), (at.Y-lastAt.Y)*float64(s.p.Camera.PixelsH))
					demand(LimitSmear, t, px/dt*s.p.Picture.ShutterS/(most*0.9)) // the smoothed path peaks elsewhere
				}
				lastAt, seen = at, ok
			}
			prevVel, prevAz, prevTilt = vel, az, tilt
		}
		if factor > 1.004 && s.stretch[i] < 50 {
			s.stretch[i] *= min(math.Pow(factor, 0.6)*1.002, 4) // a way that runs at its limit for part of the time only needs less than the factor
			if s.binding[i].Limit == "" || factor > 1.05 {
				s.binding[i] = what
			}
			changed = true
		}
	}
	return changed
}
