package move

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
)

const (
	smoothS  = 0.5 // seconds over which a kink of the wish is rounded
	pointsIn = 3   // moments looked at in one span of the spline
)

// place finds the path of the camera. What cannot be had as laid out gives way in this
// order: the way round an obstacle, part of the stand-off from a subject that comes too near,
// the pace, and last the places of key frames and of the end.
func (s *solver) place() error {
	refined := 0
	for round := 0; ; round++ {
		violation, worst := s.fly()
		if violation < 8*tolerance {
			over, short := s.overshoot()
			if over <= 1 && short <= 0 {
				return nil
			}
			if refined++; refined < 12 {
				s.refine(over, short)
				continue
			}
		}
		t := s.route.points[worst].t
		l := s.at(t)
		deep, what := s.inside(t, s.route.curve.value(&s.route.points[worst].b, 0))
		if s.steps > mostSteps {
			return &Unsolved{l.index, t, "no path was found within the work allowed", "shorten the shot, or move it away from " + orGround(what)}
		}
		switch {
		case deep > 0 && !s.upOnly:
			s.upOnly = true
		case s.yield < 1 && s.threatened(t):
			s.yield = min(1, s.yield+0.34)
			round--
		case round < 7 && (!l.timed || l.keys != nil) && l.pace.way > 0 && !l.turns:
			s.stretch[l.index] *= 1.25
			if s.binding[l.index].Limit == "" {
				s.binding[l.index] = Bound{Limit: LimitAccel, Step: l.index, T: t}
			}
			if err := s.paced(); err != nil {
				return err
			}
		case !s.loose:
			s.loose = true
		case deep > 0.02:
			return &Unsolved{l.index, t, fmt.Sprintf("no way keeps clear of %s: %.1f m too near", what, deep),
				"move start or end away from it, lower the clearance asked, or fly above it"}
		default:
			return &Unsolved{l.index, t, "the aircraft cannot fly this within its limits", "give it more time, a wider way, or a subject that turns less"}
		}
		s.route = program{}
	}
}

// mostSteps bounds the work on one shot, in steps of Newton's method.
const mostSteps = 6000

func orGround(what string) string {
	if what == "" {
		return "ground and obstacles"
	}
	return what
}

// refine tightens what the optimiser is given after the path passed a limit between the
// moments looked at.
func (s *solver) refine(over, short float64) {
	if over > 1 {
		if s.keep == 0 {
			s.keep = keep
		}
		s.keep = max(0.7, s.keep*0.995/over)
	}
	if short > 0 {
		s.hazards.ball += 1.5*short + 0.01
		for i := range s.hazards.all {
			s.hazards.all[i].need += 1.5*short + 0.01
		}
	}
}

// moments are the times at which a curve is checked after it is solved: every sample, and where
// samples are far apart for the curve, some between.
func (s *solver) moments(c *spline, check func(t float64)) {
	between := math.Ceil(4 * pointsIn / (c.width * s.p.RateHz))
	step := 1 / (between * s.p.RateHz)
	for i := 0; float64(i)*step < c.duration(); i++ {
		check(float64(i) * step)
	}
	check(c.duration())
}

// overshoot is how far the path passes a limit between the moments the optimiser looked
// at, as a share of the limit, and short by how many metres it is less clear than asked.
func (s *solver) overshoot() (over, short float64) {
	c := &s.route.curve
	rig := s.p.Rig
	accel := rig.accel()
	s.pieces = c.pieces(s.pieces)
	asked := s.p.Margins.ClearanceM + s.p.Margins.error()
	s.moments(c, func(t float64) {
		r := c.sampleAt(s.pieces, t)
		pos, v, a := r[0], r[1], r[2]
		over = max(over, v.Sub(s.p.Margins.Wind).Horizontal()/rig.SpeedMS, v.Z/rig.ClimbMS, -v.Z/rig.DescentMS, a.Norm()/accel)
		if s.hazards.ground != nil {
			if z, ok := s.hazards.ground.HeightAt(pos.X, pos.Y); ok {
				short = max(short, z+asked-pos.Z)
			}
		}
		for k := range s.hazards.all {
			h := &s.hazards.all[k]
			d := pos.Sub(h.centre)
			if far := h.radius + h.asked; d.Dot(d) > far*far {
				continue
			}
			d2, _ := h.shape.Distance(pos)
			short = max(short, h.asked-d2)
		}
	})
	return over * 1.002, short
}

// fly solves the position program for the legs as they are.
func (s *solver) fly() (violation float64, worst int) {
	g := &s.route
	T := s.duration()
	fresh := g.stretch(T, 0.5, 10, 240)
	g.hazards = &s.hazards
	g.shells = g.shells[:0]
	tight := s.keep
	if tight == 0 {
		tight = keep
	}
	rig := s.p.Rig
	g.limits = []limit{
		{name: string(LimitSpeed), derivative: 1, round: true, along: geo.Vec3{X: 1, Y: 1}, centre: s.p.Margins.Wind, most: tight * rig.SpeedMS},
		{name: string(LimitClimb), derivative: 1, along: geo.Vec3{Z: 1}, low: -tight * rig.DescentMS, high: tight * rig.ClimbMS},
		{name: string(LimitAccel), derivative: 2, round: true, along: geo.Vec3{X: 1, Y: 1, Z: 1}, most: tight * rig.accel()},
	}
	mean := 0.0
	var gates []float64
	for i := range s.legs {
		for _, k := range s.legs[i].gates {
			gates = append(gates, s.legs[i].whenAt(k))
		}
	}
	for k := range g.points {
		q := &g.points[k]
		l := s.at(q.t)
		q.ref = l.place(q.t)
		w := 0.1
		if l.subject != nil {
			m, _ := l.subject.At(q.t)
			d := max(5, m.Box.Centre().Sub(q.ref).Norm())
			w = max(0.05, min(4, 100/(d*d)))
		}
		mean += w / float64(len(g.points))
		for _, t := range gates {
			if math.Abs(t-q.t) < 0.3 {
				w *= 40
			}
		}
		q.weight = geo.Vec3{X: w, Y: w, Z: w}
		for _, name := range s.moving {
			m, _ := s.p.Subjects[name].At(q.t)
			if need := s.standOff(m); need > 0 {
				g.shells = append(g.shells, shell{point: k, centre: m.Box.Centre(), radius: need * 1.01})
			}
		}
	}
	j := mean * math.Pow(smoothS, 6)
	g.jerk = geo.Vec3{X: j, Y: j, Z: j}
	g.pins = g.pins[:0]
	for i := range s.legs {
		l := &s.legs[i]
		if l.keys == nil || s.loose {
			continue
		}
		for k, at := range l.keys.times {
			t := l.t0 + at
			if t < 0.4 || t > T-0.4 {
				continue
			}
			n := pin{at: l.keys.places[k]}
			g.curve.at(t, 0, &n.b)
			g.pins = append(g.pins, n)
		}
	}
	// Greville's points put the curve near the reference. A warm start keeps the old path's
	// departures from its own reference; a fresh one is led round what is in the way.
	var round []detour
	if fresh {
		round = s.detours(g.points, s.upOnly)
		g.base = make([]geo.Vec3, len(g.curve.ctrl))
	}
	for i := range g.curve.ctrl {
		t := g.curve.greville(i)
		p := s.at(t).place(t)
		if fresh {
			g.curve.ctrl[i] = p
			for k := range round {
				g.curve.ctrl[i] = g.curve.ctrl[i].Add(round[k].at(t))
			}
		} else {
			g.curve.ctrl[i] = g.curve.ctrl[i].Add(p.Sub(g.base[i]))
		}
		g.base[i] = p
	}
	a, b := &s.legs[0], &s.legs[len(s.legs)-1]
	if g.looseStart = s.loose; !g.looseStart {
		g.curve.clampStart(3, s.free(a, 0), s.speedAt(a, 0))
	}
	// A moving subject may be out of reach at the end: how near the path comes is left open.
	if g.looseEnd = b.reach == onHeading || s.loose; !g.looseEnd {
		g.curve.clampEnd(3, s.free(b, T), s.speedAt(b, T))
	}
	violation, worst, steps := g.optimise()
	s.steps += steps
	return violation, worst
}

// speedAt is the velocity with which a path starts or ends, within the limits.
func (s *solver) speedAt(l *leg, t float64) geo.Vec3 {
	if l.keys != nil {
		return geo.Vec3{}
	}
	const d = 0.02
	a, b := max(l.t0, t-d), min(l.t1(), t+d)
	v := l.place(b).Sub(l.place(a)).Scale(1 / (b - a))
	if !l.timed && l.reach == onSite && (t == 0 && l.pace.in == 0 || t > 0 && l.pace.out == 0) {
		return geo.Vec3{}
	}
	rig := s.p.Rig
	rel := v.Sub(s.p.Margins.Wind)
	if h := rel.Horizontal(); h > 0.95*rig.SpeedMS {
		k := 0.95 * rig.SpeedMS / h
		v.X, v.Y = rel.X*k+s.p.Margins.Wind.X, rel.Y*k+s.p.Margins.Wind.Y
	}
	v.Z = max(-0.95*rig.DescentMS, min(0.95*rig.ClimbMS, v.Z))
	return v
}

// whenAt is the time at which the parameter of along is met.
func (l *leg) whenAt(k float64) float64 {
	low, high := l.t0, l.t1()
	for range 40 {
		if mid := (low + high) / 2; l.parameter(l.progress(mid)) < k {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}
