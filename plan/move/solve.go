package move

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

// Solution is a solved shot.
type Solution struct {
	Path   Path
	Bounds []Bound
	// Steps counts the Newton steps taken.
	Steps int

	solver *solver
}

// keep is the share of each limit that the solver uses; the rest covers what may happen
// between the moments it looks at.
const keep = 0.985

type solver struct {
	p       *Problem
	legs    []leg
	bounds  []Bound
	hazards hazards
	moving  []string // names of moving subjects, sorted

	joint   []float64 // speed at the start of each leg, and at the end
	stretch []float64 // how much slower than asked each leg is flown
	binding []Bound   // the limit that stretched each leg
	upOnly  bool      // go over obstacles, not round them
	loose   bool      // pins and the end are left open
	yield   float64   // share of the stand-off given up, 0 to 1
	keep    float64   // share of the speed and acceleration limits used; 0: keep

	position1 program
	aim1      program
	steps     int
	pieces    []piece
}

// Solve turns the steps into a path that keeps every limit, and says which limits the wish
// ran into. The error is an *Unsolved when no path can be had, or joins what Validate found.
func Solve(p Problem) (*Solution, error) { return (&Solution{}).Resolve(p) }

// Resolve solves a problem that differs little from the one of this solution, starting from
// its path.
func (was *Solution) Resolve(p Problem) (*Solution, error) {
	if errs := Validate(p.Steps); len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	if err := p.Check(); err != nil {
		return nil, err
	}
	s := &solver{p: &p}
	if was.solver != nil {
		s.position1, s.aim1 = was.solver.position1.again(), was.solver.aim1.again()
	}
	s.enter()
	if err := s.paced(); err != nil {
		return nil, err
	}
	if err := s.place(); err != nil {
		return nil, err
	}
	s.point()
	out := &Solution{solver: s}
	out.Path = s.sample()
	s.review(&out.Path)
	sortBounds(s.bounds)
	out.Bounds = s.bounds
	out.Steps = s.steps
	return out, nil
}

func (s *solver) note(b Bound) { s.bounds = append(s.bounds, b) }

// enter collects what is in the way.
func (s *solver) enter() {
	p := s.p
	n := len(p.Steps)
	s.joint = make([]float64, n+1)
	s.stretch = make([]float64, n)
	s.binding = make([]Bound, n)
	for i := range s.stretch {
		s.stretch[i] = 1
	}
	s.hazards.ground = p.Ground
	s.hazards.ball = (p.Margins.ClearanceM + p.Margins.error()) * 1.01
	for _, o := range p.Obstacles {
		need := p.Margins.ClearanceM
		if o.Kind == "wire" && p.Margins.WireClearanceM > 0 {
			need = p.Margins.WireClearanceM
		}
		h := hazard{name: o.Name, kind: o.Kind, shape: o.Shape, opaque: o.Shape.Opaque(), asked: need + p.Margins.error(), need: (need+p.Margins.error())*1.01 + 0.02}
		h.centre, h.radius = o.Shape.Bounds()
		s.hazards.all = append(s.hazards.all, h)
	}
	for name, subject := range p.Subjects {
		if subject.Moves() {
			s.moving = append(s.moving, name)
		}
	}
	sort.Strings(s.moving)
}

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
	soft := func(e Easing, words ...Easing) bool {
		for _, w := range words {
			if e == w {
				return true
			}
		}
		return false
	}
	if !l.turns {
		switch {
		case first && !soft(st.Easing, EaseOut, EaseNone), soft(st.Easing, EaseBoth, EaseIn):
			l.pace.in = 0
		case first:
			l.pace.in = speed
		default:
			l.pace.in = s.joint[l.index]
		}
		switch {
		case last && !soft(st.Easing, EaseIn, EaseNone), soft(st.Easing, EaseBoth, EaseOut):
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
		if last && l.pace.out > 0 && soft(st.Easing, EaseIn, EaseNone) {
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
		stops := func(e Easing, words ...Easing) bool {
			for _, w := range words {
				if e == w {
					return true
				}
			}
			return false
		}
		if a.way > 0 && b.way > 0 && !a.turns && !b.turns && !a.timed && !b.timed &&
			!stops(a.step.Easing, EaseBoth, EaseOut) && !stops(b.step.Easing, EaseBoth, EaseIn) {
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
			az, tilt, _ := l.look(s, t, p, vel, hint)
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

// at returns the leg flown at a time.
func (s *solver) at(t float64) *leg {
	i := sort.Search(len(s.legs), func(i int) bool { return s.legs[i].t1() > t })
	return &s.legs[min(i, len(s.legs)-1)]
}

func (s *solver) duration() float64 { return s.legs[len(s.legs)-1].t1() }

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
		t := s.position1.points[worst].t
		l := s.at(t)
		deep, what := s.inside(t, s.position1.curve.value(&s.position1.points[worst].b, 0))
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
		s.position1 = program{}
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

// threatened tells whether a moving subject is about at a time.
func (s *solver) threatened(t float64) bool {
	for _, x := range s.position1.shells {
		q := &s.position1.points[x.point]
		if math.Abs(q.t-t) < 4 && s.position1.curve.value(&q.b, 0).Sub(x.centre).Norm() < 1.3*x.radius {
			return true
		}
	}
	return false
}

// moments is how many moments of a curve are checked after it is solved.
func (s *solver) moments(c *spline) int {
	return max(c.spans*pointsIn*4, min(40_000, int(c.duration()*s.p.RateHz)))
}

// overshoot is how far the path passes a limit between the moments the optimiser looked
// at, as a share of the limit, and short by how many metres it is less clear than asked.
func (s *solver) overshoot() (over, short float64) {
	c := &s.position1.curve
	rig := s.p.Rig
	accel := rig.accel()
	n := s.moments(c)
	s.pieces = c.pieces(s.pieces)
	asked := s.p.Margins.ClearanceM + s.p.Margins.error()
	for i := 0; i <= n; i++ {
		r := c.sampleAt(s.pieces, c.duration()*float64(i)/float64(n))
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
	}
	return over * 1.002, short
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

// fly solves the position program for the legs as they are.
func (s *solver) fly() (violation float64, worst int) {
	g := &s.position1
	T := s.duration()
	spans := int(max(10, min(240, math.Ceil(T/0.5))))
	if n := g.curve.spans; g.warm && math.Abs(float64(n-spans)) < 0.15*float64(spans) {
		spans = n // a small change keeps the shape of the problem, and so its solution as a start
	}
	fresh := g.curve.spans != spans || len(g.curve.ctrl) == 0
	if fresh || math.Abs(g.curve.duration()-T) > 1e-9 {
		ctrl := g.curve.ctrl
		g.curve = newSpline(5, spans, T)
		if !fresh {
			copy(g.curve.ctrl, ctrl)
		}
		g.energy = nil
		g.points = g.points[:0]
	}
	if len(g.points) == 0 {
		g.spread(spans*pointsIn + 1)
	}
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

// wanted is the azimuth and tilt wanted at a time for a camera at pos, blended over joins.
func (s *solver) wanted(t float64, pos, vel geo.Vec3, hint float64) (az, tilt float64) {
	l := s.at(t)
	az, tilt, _ = l.look(s, t, pos, vel, hint)
	if l.index == 0 {
		return az, tilt
	}
	before := &s.legs[l.index-1]
	if l.aim.mode == before.aim.mode && l.aim.subject == before.aim.subject && l.aim.place0 == before.aim.place1 && l.aim.anchor == before.aim.anchor && l.aim.mode == atSubject {
		return az, tilt
	}
	oldAz, oldTilt, _ := before.look(s, t, pos, vel, hint)
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
	g := &s.aim1
	rig := s.p.Rig
	T := s.duration()
	spans := int(max(12, min(320, math.Ceil(T/0.3))))
	if n := g.curve.spans; g.warm && math.Abs(float64(n-spans)) < 0.15*float64(spans) {
		spans = n
	}
	fresh := g.curve.spans != spans || len(g.curve.ctrl) == 0
	if fresh || math.Abs(g.curve.duration()-T) > 1e-9 {
		ctrl := g.curve.ctrl
		g.curve = newSpline(5, spans, T)
		if !fresh {
			copy(g.curve.ctrl, ctrl)
		}
		g.energy = nil
		g.points = g.points[:0]
	}
	if len(g.points) == 0 {
		g.spread(spans*pointsIn + 1)
	}
	hint := s.legs[0].start.az
	var b basis
	for k := range g.points {
		q := &g.points[k]
		s.position1.curve.at(q.t, 1, &b)
		az, tilt := s.wanted(q.t, s.position1.curve.value(&b, 0), s.position1.curve.value(&b, 1), hint)
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
		d := g.points[0].ref.X - near(g.curve.ctrl[0].X, g.points[0].ref.X) + (near(g.curve.ctrl[0].X, g.points[0].ref.X) - g.curve.ctrl[0].X)
		turns := 2 * math.Pi * math.Round(d/(2*math.Pi))
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
	g := &s.aim1
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
	c := &s.aim1.curve
	rig := s.p.Rig
	n := s.moments(c)
	s.pieces = c.pieces(s.pieces)
	for i := 0; i <= n; i++ {
		r := c.sampleAt(s.pieces, c.duration()*float64(i)/float64(n))
		at, rate := r[0], r[1]
		over = max(over, math.Abs(rate.Y)/float64(rig.TiltRate))
		if rig.TwoAxis {
			over = max(over, math.Abs(rate.X)/float64(rig.YawRate))
			continue
		}
		over = max(over, math.Abs(rate.Z)/float64(rig.YawRate), math.Abs(rate.X-rate.Z)/float64(rig.PanRate))
		if pan := at.X - at.Z; pan > float64(rig.PanTo) || pan < float64(rig.PanFrom) {
			over = max(over, 1.01)
		}
	}
	return over * 1.002
}

// sample evaluates the splines at the sample rate.
func (s *solver) sample() Path {
	T := s.duration()
	n := int(math.Floor(T*s.p.RateHz+1e-9)) + 1
	path := Path{RateHz: s.p.RateHz, Samples: make([]Sample, n)}
	place, aim := s.position1.curve.pieces(nil), s.aim1.curve.pieces(s.pieces)
	for i := range path.Samples {
		q := &path.Samples[i]
		q.T = float64(i) / s.p.RateHz
		t := min(q.T, T)
		r := s.position1.curve.sampleAt(place, t)
		q.Pos, q.Vel, q.Acc, q.Jerk = r[0], r[1], r[2], r[3]
		look := s.aim1.curve.sampleAt(aim, t)[0]
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
