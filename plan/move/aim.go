package move

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// wanted is the azimuth and tilt wanted at a time for a camera at pos, blended over joins.
func (s *solver) wanted(t float64, pos geo.Vec3, hint float64) (az, tilt float64) {
	l := s.at(t)
	az, tilt = l.look(s, t, pos, hint)
	if l.index == 0 {
		return az, tilt
	}
	before := &s.legs[l.index-1]
	if l.aim.mode == before.aim.mode && l.aim.subject == before.aim.subject && l.aim.place0 == before.aim.place1 && l.aim.anchor == before.aim.anchor && l.aim.mode == atSubject {
		return az, tilt
	}
	oldAz, oldTilt := before.look(s, t, pos, hint)
	gap := math.Hypot(az-near(oldAz, az), tilt-oldTilt)
	if gap < 1e-3 {
		return az, tilt
	}
	rate := 0.5 * min(s.p.Rig.turnRate(), float64(s.p.Rig.TiltRate))
	if c := s.p.Picture.MinCrossingS; c > 0 {
		rate = min(rate, float64(s.p.Camera.HFOV())/c)
	}
	window := max(1, min(1.875*gap/rate, 0.9*l.pace.duration))
	f := smooth((t - l.t0) / window)
	oldAz = near(oldAz, az)
	return oldAz + (az-oldAz)*f, oldTilt + (tilt-oldTilt)*f
}

// point finds azimuth, tilt and yaw along the solved path.
func (s *solver) point() {
	g := &s.gaze
	rig := s.p.Rig
	T := s.duration()
	fresh := g.stretch(T, 0.3, 12, 320)
	hint := s.legs[0].start.az
	var b basis
	for k := range g.points {
		q := &g.points[k]
		s.route.curve.at(q.t, 0, &b)
		az, tilt := s.wanted(q.t, s.route.curve.value(&b, 0), hint)
		tilt = max(float64(rig.TiltFrom), min(float64(rig.TiltTo), tilt))
		hint = az
		q.ref = geo.Vec3{X: az, Y: tilt, Z: az}
		// Steeply down, an error of azimuth moves the picture less.
		level := max(0.1, math.Cos(tilt))
		q.weight = geo.Vec3{X: aimWeight * level * level, Y: aimWeight, Z: yawWeight * level * level}
	}
	if fresh {
		for i := range g.curve.ctrl {
			at := int(g.curve.greville(i) / T * float64(len(g.points)))
			g.curve.ctrl[i] = g.points[max(0, min(len(g.points)-1, at))].ref
		}
	} else {
		// A warm start may be whole turns away.
		turns := near(0, g.points[0].ref.X-g.curve.ctrl[0].X)
		for i := range g.curve.ctrl {
			g.curve.ctrl[i].X += turns
			g.curve.ctrl[i].Z += turns
		}
	}
	g.looseStart, g.looseEnd = true, true
	// Where the camera cannot follow, it follows more softly until every limit holds.
	use, soft := keep, 1.0
	for range 12 {
		s.aimLimits(use, soft)
		_, _, steps := g.optimise()
		s.steps += steps
		over := s.aimOvershoot()
		if over <= 1 {
			break
		}
		use = max(0.6, use*0.99/over)
		soft *= 8
	}
}

const (
	aimWeight, yawWeight = 1000.0, 30.0 // of a radian squared, for a second
	smoothAim, smoothYaw = 0.2, 1.2     // seconds
)

// aimLimits sets what holds for azimuth, tilt and yaw (X, Y and Z of the aim's curve).
func (s *solver) aimLimits(use, soft float64) {
	g := &s.gaze
	rig := s.p.Rig
	j := soft * aimWeight * math.Pow(smoothAim, 6)
	g.jerk = geo.Vec3{X: j, Y: j, Z: soft * yawWeight * math.Pow(smoothYaw, 6)}
	within := func(name Limit, d int, along geo.Vec3, most float64) limit {
		return limit{name: string(name), derivative: d, along: along, low: -use * most, high: use * most}
	}
	slack := 0.2 * float64(unit.Degree)
	g.limits = append(g.limits[:0],
		limit{name: string(LimitTiltTravel), along: geo.Vec3{Y: 1}, low: float64(rig.TiltFrom) - slack/4, high: float64(rig.TiltTo) + slack/4},
		within(LimitTiltRate, 1, geo.Vec3{Y: 1}, float64(rig.TiltRate)),
		within(LimitTiltRate, 2, geo.Vec3{Y: 1}, rig.tiltAccel()))
	turn := geo.Vec3{X: 1}
	if !rig.TwoAxis {
		turn = geo.Vec3{Z: 1}
		pan := geo.Vec3{X: 1, Z: -1}
		g.limits = append(g.limits,
			limit{name: string(LimitPanTravel), along: pan, low: float64(rig.PanFrom) + slack, high: float64(rig.PanTo) - slack},
			within(LimitPanRate, 1, pan, float64(rig.PanRate)),
			within(LimitPanRate, 2, pan, rig.panAccel()))
	}
	g.limits = append(g.limits,
		within(LimitYaw, 1, turn, float64(rig.YawRate)),
		within(LimitYaw, 2, turn, rig.yawAccel()))
}

// aimOvershoot is how far the aim passes a rate or the pan its travel, as a share.
func (s *solver) aimOvershoot() (over float64) {
	c := &s.gaze.curve
	rig := s.p.Rig
	s.pieces = c.pieces(s.pieces)
	s.moments(c, func(t float64) {
		r := c.sampleAt(s.pieces, t)
		at, rate := r[0], r[1]
		over = max(over, math.Abs(rate.Y)/float64(rig.TiltRate))
		if rig.TwoAxis {
			over = max(over, math.Abs(rate.X)/float64(rig.YawRate))
			return
		}
		over = max(over, math.Abs(rate.Z)/float64(rig.YawRate), math.Abs(rate.X-rate.Z)/float64(rig.PanRate))
		if pan := at.X - at.Z; pan > float64(rig.PanTo) || pan < float64(rig.PanFrom) {
			over = max(over, 1.01)
		}
	})
	return over * 1.002
}
