package move

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

// hold keeps the camera where it is.
func (x *shaping) hold() error {
	x.still(x.from.pos)
	if x.l.subject != nil && x.step.Look == nil {
		x.toward()
	}
	x.looking()
	return nil
}

// dolly goes toward the subject or away from it.
func (x *shaping) dolly() error {
	var end geo.Vec3
	var err error
	switch {
	case x.step.To != nil:
		if end, err = x.destination(x.step.To, "to"); err != nil {
			return err
		}
	case x.l.subject == nil:
		return fmt.Errorf("moves[%d].subject: a %s without to needs a subject", x.l.index, x.l.kind)
	case x.resized || x.step.EndDistance > 0:
		if end, err = x.framed(x.bearing, x.step.EndHeight, float64(x.step.EndDistance), x.elevation); err != nil {
			return err
		}
	default:
		dir := x.s.target(x.m, x.l.aim.anchor).Sub(x.from.pos).Unit()
		if x.l.kind == PullOut {
			dir = dir.Scale(-1)
		} else if d := x.s.target(x.m, x.l.aim.anchor).Sub(x.from.pos).Norm(); float64(x.step.Travel) > d-x.m.Box.RadiusM() {
			return &Unsolved{x.l.index, x.l.t0, fmt.Sprintf("a push in of %s runs into the subject %.1f m away", x.step.Travel, d), "travel less"}
		}
		end = x.from.pos.Add(dir.Scale(float64(x.step.Travel)))
		if x.step.EndHeight != nil {
			end.Z = x.m.Box.Foot.Z + float64(*x.step.EndHeight)
		}
		if end, err = x.ending(end); err != nil {
			return err
		}
	}
	if x.l.subject != nil {
		a, b := x.from.pos.Sub(x.m.Box.Centre()).Norm(), end.Sub(x.m.Box.Centre()).Norm()
		if x.l.kind == PushIn && b > a+0.01 || x.l.kind == PullOut && b < a-0.01 {
			x.s.note(Bound{Limit: LimitFraming, Step: x.l.index, T: x.l.t0, Asked: b, Allowed: a, Unit: "m", About: x.l.name,
				Kept: true, Nearest: Nearest{Words: fmt.Sprintf("the %s ends on the wrong side of where it starts: swap the framings or the move's name", x.l.kind)}})
		}
	}
	x.straight(end)
	x.toward()
	x.looking()
	return nil
}

// truck goes sideways.
func (x *shaping) truck() error {
	var end geo.Vec3
	if x.step.To != nil {
		var err error
		if end, err = x.destination(x.step.To, "to"); err != nil {
			return err
		}
	} else {
		way := float64(x.step.Travel)
		if x.step.Side == Left {
			way = -way
		}
		var err error
		if end, err = x.ending(x.from.pos.Add(polar(x.from.az+math.Pi/2, way, 0))); err != nil {
			return err
		}
	}
	x.still(end)
	if x.step.End != nil || x.moving {
		x.toward()
	}
	x.looking()
	return nil
}

// lift rises or sinks, a boom with the subject held.
func (x *shaping) lift() error {
	end := x.from.pos.Add(geo.Vec3{Z: float64(x.step.Rise)})
	var err error
	switch {
	case x.step.To != nil:
		if end, err = x.destination(x.step.To, "to"); err != nil {
			return err
		}
	case x.l.kind == Boom && x.resized:
		h := unit.Length(x.height + float64(x.step.Rise))
		hp := &h
		if x.step.Rise == 0 && x.step.End.Horizon != nil {
			hp = nil
		}
		if end, err = x.framed(x.bearing, hp, 0, x.elevation); err != nil {
			return err
		}
	default:
		if x.l.kind == Boom && x.step.Travel != 0 {
			end = end.Add(x.forward.Scale(float64(x.step.Travel)))
		}
		if end, err = x.ending(end); err != nil {
			return err
		}
	}
	x.still(end)
	if x.l.kind == Boom || x.step.End != nil || x.moving {
		x.toward()
	}
	x.looking()
	return nil
}

// turn turns on the spot.
func (x *shaping) turn() error {
	x.still(x.from.pos)
	if x.step.ToSubject != "" {
		to := x.s.p.Subjects[x.step.ToSubject]
		if to == nil {
			return fmt.Errorf("moves[%d].to_subject: there is no subject %q", x.l.index, x.step.ToSubject)
		}
		tm, _ := to.At(x.l.t0)
		x.l.aim.place1, x.l.aim.anchor = placed(x.step.End, middle, frame.Middle, tm, azimuthOf(x.from.pos.Sub(tm.Box.Foot)))
		x.l.aim.subject, x.l.aim.mode = to, unveiling
	} else {
		if x.l.kind == Pan {
			x.l.aim.az1 = x.from.az + float64(x.step.Sweep)
		} else {
			x.l.aim.tilt1 = x.from.tilt + float64(x.step.Sweep)
			if math.Abs(x.l.aim.tilt1) > math.Pi/2+1e-9 {
				asked := x.l.aim.tilt1
				x.l.aim.tilt1 = math.Copysign(math.Pi/2, x.l.aim.tilt1)
				x.s.note(Bound{Limit: LimitTiltTravel, Step: x.l.index, T: x.l.t0, Asked: unit.Angle(asked).Deg(), Allowed: unit.Angle(x.l.aim.tilt1).Deg(), Unit: "deg", Kept: true,
					Nearest: Nearest{Words: "end straight up or down"}})
			}
		}
		x.looking()
	}
	return nil
}

// arc goes round the subject.
func (x *shaping) arc() error {
	endLevel, endHeight := x.level, x.height
	if x.step.EndHeight != nil {
		endHeight = float64(*x.step.EndHeight)
	}
	settle := 1.0 // share of the sweep over which radius and x.height change
	switch {
	case x.step.EndRadius > 0:
		endLevel = float64(x.step.EndRadius)
	case x.resized:
		h := unit.Length(endHeight)
		hp := &h
		if x.step.End.Horizon != nil {
			hp = nil
		}
		end, err := x.framed(x.bearing+float64(x.step.Sweep), hp, 0, x.elevation)
		if err != nil {
			return err
		}
		d := end.Sub(x.m.Box.Foot)
		endLevel, endHeight = d.Horizontal(), d.Z
	case x.step.Radius > 0:
		endLevel, settle = float64(x.step.Radius), 0.4
	}
	if x.level < 0.1 && endLevel < 0.1 {
		return &Unsolved{x.l.index, x.l.t0, "an arc of no radius", "give radius, or start beside the subject"}
	}
	sweep, b0, r0, h0 := float64(x.step.Sweep), x.bearing, x.level, x.height
	shape := func(k float64) geo.Vec3 {
		f := smooth(k / settle)
		if settle == 1 {
			f = k
		}
		return polar(b0+sweep*k, r0+(endLevel-r0)*f, h0+(endHeight-h0)*f)
	}
	if x.moving {
		x.l.reach, x.l.along = onSubject, shape
	} else {
		foot := x.m.Box.Foot
		x.l.along = func(k float64) geo.Vec3 { return foot.Add(shape(k)) }
	}
	x.toward()
	return nil
}

// pass rises or goes forward until the subject shows, or over it.
func (x *shaping) pass() error {
	var end geo.Vec3
	if x.step.To != nil {
		var err error
		if end, err = x.destination(x.step.To, "to"); err != nil {
			return err
		}
	} else {
		dir := x.forward
		if x.l.subject != nil && x.level > 0.1 {
			dir = polar(x.bearing+math.Pi, 1, 0)
		}
		if x.step.Direction != nil {
			dir = polar(float64(*x.step.Direction), 1, 0)
		}
		end = x.from.pos.Add(dir.Scale(float64(x.step.Travel))).Add(geo.Vec3{Z: float64(x.step.Rise)})
		var err error
		if end, err = x.ending(end); err != nil {
			return err
		}
	}
	x.still(end)
	switch {
	case x.l.kind == Flyover && x.l.subject != nil:
		x.l.aim.mode = overhead
		if d := end.Sub(x.from.pos); d.Horizontal() > 0.1 {
			x.l.aim.az0 = near(azimuthOf(d), x.from.az)
		}
	case x.l.kind == Flyover:
		if d := end.Sub(x.from.pos); d.Horizontal() > 0.1 && x.step.Look == nil {
			x.l.aim.az1 = near(azimuthOf(d), x.from.az)
			if x.l.index == 0 {
				x.l.aim.az0 = x.l.aim.az1
			}
		}
		x.looking()
	case x.step.Look != nil && x.l.index == 0 || x.l.index > 0 && x.from.name != x.l.name:
		x.l.aim.mode = unveiling
	default:
		x.toward()
	}
	return nil
}

// overhead looks straight down.
func (x *shaping) overhead() error {
	az := x.from.az
	size, h := 0.0, x.height+float64(x.step.Rise)
	if x.step.EndHeight != nil {
		h = float64(*x.step.EndHeight)
	}
	if x.step.End != nil && x.step.End.Size > 0 {
		size = float64(x.step.End.Size)
	}
	pose, err := frame.Overhead(x.s.p.Camera, x.m.Box, unit.Angle(az+float64(x.step.Sweep)), x.l.aim.place1, size, h)
	if err != nil {
		return &Unsolved{x.l.index, x.l.t0, err.Error(), "change height or end"}
	}
	end := pose.Pos
	if x.step.To != nil {
		if end, err = x.destination(x.step.To, "to"); err != nil {
			return err
		}
	}
	if x.step.Travel > 0 {
		dir := az
		if x.step.Direction != nil {
			dir = float64(*x.step.Direction)
		}
		end = end.Add(polar(dir, float64(x.step.Travel), 0))
	}
	if end, err = x.ending(end); err != nil {
		return err
	}
	x.straight(end)
	x.l.aim.az1, x.l.aim.tilt1 = az+float64(x.step.Sweep), -math.Pi/2
	return nil
}

// thread goes through gaps.
func (x *shaping) thread() error {
	points := []geo.Vec3{x.from.pos}
	for i := range x.step.Through {
		p, err := x.destination(&x.step.Through[i], fmt.Sprintf("through[%d]", i))
		if err != nil {
			return err
		}
		points = append(points, p)
	}
	if x.step.To != nil {
		p, err := x.destination(x.step.To, "to")
		if err != nil {
			return err
		}
		points = append(points, p)
	}
	x.l.along, x.l.gates = threaded(points, len(x.step.Through))
	if x.l.subject != nil {
		x.toward()
	} else {
		x.l.aim.mode = ahead
		if x.l.index == 0 {
			x.l.start.az = azimuthOf(x.l.along(0.01).Sub(x.l.along(0)))
		}
		x.l.aim.tilt0 = x.from.tilt
		if x.step.Look != nil && x.step.Look.Tilt != nil {
			x.l.aim.tilt0 = float64(*x.step.Look.Tilt)
		}
		if x.step.Look != nil && x.step.Look.Azimuth != nil {
			x.l.aim.mode = atAngles
			x.looking()
		}
	}
	return nil
}

// beside goes with a moving subject.
func (x *shaping) beside() error {
	x.l.reach, x.l.timed = onHeading, true
	facing := float64(x.m.Box.Facing)
	nominal := 0.0
	switch x.l.kind {
	case Follow:
		nominal = math.Pi
	case Parallel:
		nominal = flank(x.step.Side)
	}
	d := x.from.pos.Sub(x.m.Box.Foot)
	a0 := near(azimuthOf(d)-facing, nominal)
	d0, h0 := d.Horizontal(), d.Z
	d1, h1 := d0, h0
	if x.l.index > 0 {
		if x.step.Distance > 0 {
			d1 = float64(x.step.Distance)
		}
		if x.step.Height != nil {
			h1 = float64(*x.step.Height)
		}
	}
	if x.step.EndDistance > 0 {
		d1 = float64(x.step.EndDistance)
	}
	if x.step.EndHeight != nil {
		h1 = float64(*x.step.EndHeight)
	}
	if x.resized {
		h := unit.Length(h1)
		hp := &h
		if x.step.End.Horizon != nil {
			hp = nil
		}
		end, err := x.framed(facing+nominal, hp, 0, x.elevation)
		if err != nil {
			return err
		}
		e := end.Sub(x.m.Box.Foot)
		d1, h1 = e.Horizontal(), e.Z
	}
	x.l.along = func(k float64) geo.Vec3 {
		return geo.Vec3{X: a0 + (nominal-a0)*k, Y: d0 + (d1-d0)*k, Z: h0 + (h1-h0)*k}
	}
	x.toward()
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
