package move

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

// shape lays out where a leg goes and looks, from l.start on.
func (s *solver) shape(l *leg) error {
	st, from := l.step, l.start
	var m Motion
	moving := false
	if l.subject != nil {
		m, _ = l.subject.At(l.t0)
		moving = l.subject.Moves()
	}
	// What is in the frame, and what will be.
	l.aim = aim{mode: atAngles, az0: from.az, tilt0: from.tilt, az1: from.az, tilt1: from.tilt, place0: middle, place1: middle}
	if l.subject != nil {
		l.aim.subject = l.subject
		place, anchor := middle, frame.Middle
		if from.name == l.name {
			place, anchor = from.place, from.anchor
		}
		l.aim.place0 = place
		bearing := azimuthOf(from.pos.Sub(m.Box.Foot))
		l.aim.place1, l.aim.anchor = placed(st.End, place, anchor, m, bearing)
		if st.End != nil && from.name != l.name {
			l.aim.place0 = l.aim.place1
		}
	}
	toward := func() {
		if l.subject != nil {
			l.aim.mode = atSubject
		}
	}
	destination := func(field *Position, name string) (geo.Vec3, error) {
		p, err := s.position(field, l.index, name)
		if err != nil {
			return p, err
		}
		return s.clearOf(l.index, l.t0, p)
	}
	straight := func(end geo.Vec3) {
		if moving {
			l.reach = onSubject
			l.along = line(from.pos.Sub(m.Box.Foot), end.Sub(m.Box.Foot))
		} else {
			l.along = line(from.pos, end)
		}
	}
	still := func(end geo.Vec3) { l.along = line(from.pos, end) }
	// Where a framing of the subject puts the camera, from a bearing.
	framed := func(bearing float64, height *unit.Length, distance float64, elevation float64) (geo.Vec3, error) {
		w := frame.Want{Bearing: unit.Angle(bearing), Place: l.aim.place1, Anchor: l.aim.anchor, DistanceM: distance}
		el := unit.Angle(elevation)
		w.Elevation = &el
		if height != nil {
			h := float64(*height)
			w.HeightM = &h
		}
		if st.End != nil {
			w.Size, w.Horizon = float64(st.End.Size), st.End.Horizon
		}
		if w.Size == 0 && w.DistanceM == 0 {
			w.DistanceM = s.target(m, w.Anchor).Sub(from.pos).Norm()
		}
		pose, err := s.compose(l, l.t0, m, w)
		if err != nil {
			return pose.Pos, err
		}
		return s.clearOf(l.index, l.t0, pose.Pos)
	}
	var bearing, elevation, level, height float64
	if l.subject != nil {
		d := from.pos.Sub(s.target(m, l.aim.anchor))
		bearing, elevation = azimuthOf(d), math.Atan2(d.Z, d.Horizontal())
		level, height = d.Horizontal(), from.pos.Z-m.Box.Foot.Z
	}
	forward := geo.Vec3{X: math.Sin(from.az), Y: math.Cos(from.az)}
	resized := st.End != nil && (st.End.Size > 0 || st.End.Horizon != nil)
	looking := func() {
		// In the first step look is the direction at the start, in later ones at the end; a
		// pan or tilt without a sweep ends on it.
		if st.Look == nil || l.index == 0 && (st.Sweep != 0 || l.kind != Pan && l.kind != Tilt) {
			return
		}
		if st.Look.Azimuth != nil {
			l.aim.az1 = near(float64(*st.Look.Azimuth), from.az)
		}
		if st.Look.Tilt != nil {
			l.aim.tilt1 = float64(*st.Look.Tilt)
		}
	}

	switch l.kind {
	case Static:
		still(from.pos)
		if l.subject != nil && st.Look == nil {
			toward()
		}
		looking()

	case PushIn, PullOut:
		var end geo.Vec3
		var err error
		switch {
		case st.To != nil:
			if end, err = destination(st.To, "to"); err != nil {
				return err
			}
		case l.subject == nil:
			return fmt.Errorf("moves[%d].subject: a %s without to needs a subject", l.index, l.kind)
		case resized || st.EndDistance > 0:
			if end, err = framed(bearing, st.EndHeight, float64(st.EndDistance), elevation); err != nil {
				return err
			}
		default:
			dir := s.target(m, l.aim.anchor).Sub(from.pos).Unit()
			if l.kind == PullOut {
				dir = dir.Scale(-1)
			} else if d := s.target(m, l.aim.anchor).Sub(from.pos).Norm(); float64(st.Travel) > d-m.Box.RadiusM() {
				return &Unsolved{l.index, l.t0, fmt.Sprintf("a push in of %s runs into the subject %.1f m away", st.Travel, d), "travel less"}
			}
			end = from.pos.Add(dir.Scale(float64(st.Travel)))
			if st.EndHeight != nil {
				end.Z = m.Box.Foot.Z + float64(*st.EndHeight)
			}
			if end, err = s.clearOf(l.index, l.t0, end); err != nil {
				return err
			}
		}
		if l.subject != nil {
			a, b := from.pos.Sub(m.Box.Centre()).Norm(), end.Sub(m.Box.Centre()).Norm()
			if l.kind == PushIn && b > a+0.01 || l.kind == PullOut && b < a-0.01 {
				s.note(Bound{Limit: LimitFraming, Step: l.index, T: l.t0, Asked: b, Allowed: a, Unit: "m", About: l.name,
					Kept: true, Nearest: Nearest{Words: fmt.Sprintf("the %s ends on the wrong side of where it starts: swap the framings or the move's name", l.kind)}})
			}
		}
		straight(end)
		toward()
		looking()

	case Truck:
		end := from.pos
		if st.To != nil {
			var err error
			if end, err = destination(st.To, "to"); err != nil {
				return err
			}
		} else {
			way := float64(st.Travel)
			if st.Side == Left {
				way = -way
			}
			var err error
			if end, err = s.clearOf(l.index, l.t0, from.pos.Add(polar(from.az+math.Pi/2, way, 0))); err != nil {
				return err
			}
		}
		still(end)
		if st.End != nil || moving {
			toward()
		}
		looking()

	case Pedestal, Boom:
		end := from.pos.Add(geo.Vec3{Z: float64(st.Rise)})
		var err error
		switch {
		case st.To != nil:
			if end, err = destination(st.To, "to"); err != nil {
				return err
			}
		case l.kind == Boom && resized:
			h := unit.Length(height + float64(st.Rise))
			hp := &h
			if st.Rise == 0 && st.End.Horizon != nil {
				hp = nil
			}
			if end, err = framed(bearing, hp, 0, elevation); err != nil {
				return err
			}
		default:
			if l.kind == Boom && st.Travel != 0 {
				end = end.Add(forward.Scale(float64(st.Travel)))
			}
			if end, err = s.clearOf(l.index, l.t0, end); err != nil {
				return err
			}
		}
		still(end)
		if l.kind == Boom || st.End != nil || moving {
			toward()
		}
		looking()

	case Pan, Tilt:
		still(from.pos)
		if st.ToSubject != "" {
			to := s.p.Subjects[st.ToSubject]
			if to == nil {
				return fmt.Errorf("moves[%d].to_subject: there is no subject %q", l.index, st.ToSubject)
			}
			tm, _ := to.At(l.t0)
			l.aim.place1, l.aim.anchor = placed(st.End, middle, frame.Middle, tm, azimuthOf(from.pos.Sub(tm.Box.Foot)))
			l.aim.subject, l.aim.mode = to, unveiling
		} else {
			if l.kind == Pan {
				l.aim.az1 = from.az + float64(st.Sweep)
			} else {
				l.aim.tilt1 = from.tilt + float64(st.Sweep)
				if math.Abs(l.aim.tilt1) > math.Pi/2+1e-9 {
					asked := l.aim.tilt1
					l.aim.tilt1 = math.Copysign(math.Pi/2, l.aim.tilt1)
					s.note(Bound{Limit: LimitTiltTravel, Step: l.index, T: l.t0, Asked: unit.Angle(asked).Deg(), Allowed: unit.Angle(l.aim.tilt1).Deg(), Unit: "deg", Kept: true,
						Nearest: Nearest{Words: "end straight up or down"}})
				}
			}
			looking()
		}

	case Arc:
		endLevel, endHeight := level, height
		if st.EndHeight != nil {
			endHeight = float64(*st.EndHeight)
		}
		settle := 1.0 // share of the sweep over which radius and height change
		switch {
		case st.EndRadius > 0:
			endLevel = float64(st.EndRadius)
		case resized:
			h := unit.Length(endHeight)
			hp := &h
			if st.End.Horizon != nil {
				hp = nil
			}
			end, err := framed(bearing+float64(st.Sweep), hp, 0, elevation)
			if err != nil {
				return err
			}
			d := end.Sub(m.Box.Foot)
			endLevel, endHeight = d.Horizontal(), d.Z
		case st.Radius > 0:
			endLevel, settle = float64(st.Radius), 0.4
		}
		if level < 0.1 && endLevel < 0.1 {
			return &Unsolved{l.index, l.t0, "an arc of no radius", "give radius, or start beside the subject"}
		}
		sweep, b0, r0, h0 := float64(st.Sweep), bearing, level, height
		shape := func(k float64) geo.Vec3 {
			f := smooth(k / settle)
			if settle == 1 {
				f = k
			}
			return polar(b0+sweep*k, r0+(endLevel-r0)*f, h0+(endHeight-h0)*f)
		}
		if moving {
			l.reach, l.along = onSubject, shape
		} else {
			foot := m.Box.Foot
			l.along = func(k float64) geo.Vec3 { return foot.Add(shape(k)) }
		}
		toward()

	case Reveal, Flyover:
		var end geo.Vec3
		if st.To != nil {
			var err error
			if end, err = destination(st.To, "to"); err != nil {
				return err
			}
		} else {
			dir := forward
			if l.subject != nil && level > 0.1 {
				dir = polar(bearing+math.Pi, 1, 0)
			}
			if st.Direction != nil {
				dir = polar(float64(*st.Direction), 1, 0)
			}
			end = from.pos.Add(dir.Scale(float64(st.Travel))).Add(geo.Vec3{Z: float64(st.Rise)})
			var err error
			if end, err = s.clearOf(l.index, l.t0, end); err != nil {
				return err
			}
		}
		still(end)
		switch {
		case l.kind == Flyover && l.subject != nil:
			l.aim.mode = overhead
			if d := end.Sub(from.pos); d.Horizontal() > 0.1 {
				l.aim.az0 = near(azimuthOf(d), from.az)
			}
		case l.kind == Flyover:
			if d := end.Sub(from.pos); d.Horizontal() > 0.1 && st.Look == nil {
				l.aim.az1 = near(azimuthOf(d), from.az)
				if l.index == 0 {
					l.aim.az0 = l.aim.az1
				}
			}
			looking()
		case st.Look != nil && l.index == 0 || l.index > 0 && from.name != l.name:
			l.aim.mode = unveiling
		default:
			toward()
		}

	case TopDown:
		az := from.az
		size, h := 0.0, height+float64(st.Rise)
		if st.EndHeight != nil {
			h = float64(*st.EndHeight)
		}
		if st.End != nil && st.End.Size > 0 {
			size = float64(st.End.Size)
		}
		pose, err := frame.Overhead(s.p.Camera, m.Box, unit.Angle(az+float64(st.Sweep)), l.aim.place1, size, h)
		if err != nil {
			return &Unsolved{l.index, l.t0, err.Error(), "change height or end"}
		}
		end := pose.Pos
		if st.To != nil {
			if end, err = destination(st.To, "to"); err != nil {
				return err
			}
		}
		if st.Travel > 0 {
			dir := az
			if st.Direction != nil {
				dir = float64(*st.Direction)
			}
			end = end.Add(polar(dir, float64(st.Travel), 0))
		}
		if end, err = s.clearOf(l.index, l.t0, end); err != nil {
			return err
		}
		straight(end)
		l.aim.az1, l.aim.tilt1 = az+float64(st.Sweep), -math.Pi/2

	case FlyThrough:
		points := []geo.Vec3{from.pos}
		for i := range st.Through {
			p, err := destination(&st.Through[i], fmt.Sprintf("through[%d]", i))
			if err != nil {
				return err
			}
			points = append(points, p)
		}
		if st.To != nil {
			p, err := destination(st.To, "to")
			if err != nil {
				return err
			}
			points = append(points, p)
		}
		l.along, l.gates = threaded(points, len(st.Through))
		if l.subject != nil {
			toward()
		} else {
			l.aim.mode = ahead
			if l.index == 0 {
				l.start.az = azimuthOf(l.along(0.01).Sub(l.along(0)))
			}
			l.aim.tilt0 = from.tilt
			if st.Look != nil && st.Look.Tilt != nil {
				l.aim.tilt0 = float64(*st.Look.Tilt)
			}
			if st.Look != nil && st.Look.Azimuth != nil {
				l.aim.mode = atAngles
				looking()
			}
		}

	case Lead, Follow, Parallel:
		l.reach, l.timed = onHeading, true
		facing := float64(m.Box.Facing)
		nominal := 0.0
		if l.kind == Follow {
			nominal = math.Pi
		} else if l.kind == Parallel {
			nominal = flank(st.Side)
		}
		d := from.pos.Sub(m.Box.Foot)
		a0 := near(azimuthOf(d)-facing, nominal)
		d0, h0 := d.Horizontal(), d.Z
		d1, h1 := d0, h0
		if l.index > 0 {
			if st.Distance > 0 {
				d1 = float64(st.Distance)
			}
			if st.Height != nil {
				h1 = float64(*st.Height)
			}
		}
		if st.EndDistance > 0 {
			d1 = float64(st.EndDistance)
		}
		if st.EndHeight != nil {
			h1 = float64(*st.EndHeight)
		}
		if resized {
			h := unit.Length(h1)
			hp := &h
			if st.End.Horizon != nil {
				hp = nil
			}
			end, err := framed(facing+nominal, hp, 0, elevation)
			if err != nil {
				return err
			}
			e := end.Sub(m.Box.Foot)
			d1, h1 = e.Horizontal(), e.Z
		}
		l.along = func(k float64) geo.Vec3 {
			return geo.Vec3{X: a0 + (nominal-a0)*k, Y: d0 + (d1-d0)*k, Z: h0 + (h1-h0)*k}
		}
		toward()

	case KeyFrames:
		return s.shapeKeys(l)
	}
	if st.ToSubject == "" && l.aim.mode == atSubject && l.subject == nil {
		l.aim.mode = atAngles
	}
	if l.timed || moving {
		if d := float64(st.Duration); d > 0 && l.subject != nil {
			if _, ok := l.subject.At(l.t0 + d); !ok {
				end := l.t0 + d
				if tr, ok := l.subject.(interface{ Span() (float64, float64) }); ok {
					_, end = tr.Span()
				}
				s.note(Bound{Limit: LimitTrack, Step: l.index, T: max(l.t0, end), Asked: l.t0 + d, Allowed: end, Unit: "s", About: l.name,
					Nearest: Nearest{DurationS: max(0, end-l.t0)}})
			}
		}
	}
	return nil
}

// threaded is a smooth curve through the points (centripetal Catmull-Rom), and the
// parameters of the first gates after the start.
//
// Source: P. Barry and R. Goldman, "A recursive evaluation algorithm for a class of
// Catmull-Rom splines", SIGGRAPH 1988.
func threaded(points []geo.Vec3, gates int) (func(float64) geo.Vec3, []float64) {
	var p []geo.Vec3
	for _, q := range points {
		if len(p) == 0 || q.Sub(p[len(p)-1]).Norm() > 1e-6 {
			p = append(p, q)
		}
	}
	n := len(p)
	if n == 1 {
		return line(p[0], p[0]), nil
	}
	first := p[0].Add(p[0].Sub(p[1]))
	last := p[n-1].Add(p[n-1].Sub(p[n-2]))
	at := func(i int) geo.Vec3 {
		switch {
		case i < 0:
			return first
		case i >= n:
			return last
		}
		return p[i]
	}
	curve := func(k float64) geo.Vec3 {
		x := k * float64(n-1)
		i := max(0, min(n-2, int(x)))
		p0, p1, p2, p3 := at(i-1), at(i), at(i+1), at(i+2)
		t0 := 0.0
		t1 := t0 + math.Sqrt(p1.Sub(p0).Norm())
		t2 := t1 + math.Sqrt(p2.Sub(p1).Norm())
		t3 := t2 + math.Sqrt(p3.Sub(p2).Norm())
		t := t1 + (x-float64(i))*(t2-t1)
		mix := func(a, b geo.Vec3, ta, tb float64) geo.Vec3 { return a.Lerp(b, (t-ta)/(tb-ta)) }
		a1, a2, a3 := mix(p0, p1, t0, t1), mix(p1, p2, t1, t2), mix(p2, p3, t2, t3)
		return mix(mix(a1, a2, t0, t2), mix(a2, a3, t1, t3), t1, t2)
	}
	var at2 []float64
	for i := 1; i <= gates && i < n; i++ {
		at2 = append(at2, float64(i)/float64(n-1))
	}
	return curve, at2
}
