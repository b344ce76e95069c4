package move

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

// leg is one step laid out: where the camera should be and look, before any limit.
type leg struct {
	step  *Step
	index int
	kind  Kind

	t0    float64
	pace  pace
	turns bool // the way is an angle, in radians
	timed bool // the clock is a moving subject's or the keys': it cannot be stretched
	asked bool // the step names speed or duration

	reach   reach
	along   func(k float64) geo.Vec3 // by share of the parameter
	table   []float64                // share of the way at equal steps of the parameter
	way     float64
	subject Subject
	name    string
	aim     aim
	settle  float64   // seconds that a change of place beside a moving subject takes
	gates   []float64 // shares of the way where a fly-through must be exact
	keys    *Track    // of key frames, times from the leg's start

	start, end state
}

// reach says what the places of a leg count from.
type reach int

const (
	onSite    reach = iota // the site
	onSubject              // the subject's foot
	onHeading              // the subject's foot and heading: azimuth from its front, distance, height
)

type state struct {
	pos      geo.Vec3
	az, tilt float64
	place    frame.Place
	anchor   frame.Anchor
	name     string // subject in the frame
}

// aim says where the camera points during a leg.
type aim struct {
	mode           aimMode
	subject        Subject
	anchor         frame.Anchor
	place0, place1 frame.Place
	az0, tilt0     float64
	az1, tilt1     float64
	keys           *Track // azimuth and tilt, or places, in X and Y
}

type aimMode int

const (
	atSubject aimMode = iota
	atAngles          // from az0, tilt0 to az1, tilt1
	ahead             // along the way, tilted by tilt0
	overhead          // azimuth held, the tilt follows the subject down to straight below
	unveiling         // from az0, tilt0 to the subject
	keyAngles
	keyPlaces
)

func smooth(u float64) float64 {
	way, _, _, _ := MinimumJerk(u)
	return way
}

func (l *leg) t1() float64 { return l.t0 + l.pace.duration }

// progress is the share of the way at a time.
func (l *leg) progress(t float64) float64 {
	if l.way <= 0 || l.timed {
		if l.pace.duration <= 0 {
			return 1
		}
		return smooth((t - l.t0) / max(l.settle, l.pace.duration))
	}
	return l.pace.progress(t - l.t0)
}

// parameter turns a share of the way into the parameter of along.
func (l *leg) parameter(share float64) float64 {
	n := len(l.table) - 1
	if n < 1 {
		return share
	}
	low, high := 0, n
	for high-low > 1 {
		if mid := (low + high) / 2; l.table[mid] <= share {
			low = mid
		} else {
			high = mid
		}
	}
	d := l.table[high] - l.table[low]
	u := 0.0
	if d > 0 {
		u = max(0, min(1, (share-l.table[low])/d))
	}
	return (float64(low) + u) / float64(n)
}

// place is where the camera should be at a time.
func (l *leg) place(t float64) geo.Vec3 {
	if l.keys != nil {
		p, _ := l.keys.run(max(0, min(l.pace.duration, t-l.t0)))
		return p
	}
	p := l.along(l.parameter(l.progress(t)))
	if l.reach == onSite {
		return p
	}
	m, _ := l.subject.At(t)
	if l.reach == onSubject {
		return m.Box.Foot.Add(p)
	}
	return m.Box.Foot.Add(polar(float64(m.Box.Facing)+p.X, p.Y, p.Z))
}

// polar is the offset at an azimuth, level distance and height.
func polar(azimuth, level, height float64) geo.Vec3 {
	s, c := math.Sincos(azimuth)
	return geo.Vec3{X: s * level, Y: c * level, Z: height}
}

func azimuthOf(v geo.Vec3) float64 { return math.Atan2(v.X, v.Y) }

// measure fills the table of way against parameter.
func (l *leg) measure() {
	if l.keys != nil || l.along == nil {
		return
	}
	const n = 256
	table := make([]float64, n+1)
	flat := l.along
	if l.reach == onHeading {
		flat = func(k float64) geo.Vec3 { p := l.along(k); return polar(p.X, p.Y, p.Z) }
	}
	last := flat(0)
	for i := 1; i <= n; i++ {
		p := flat(float64(i) / n)
		table[i] = table[i-1] + p.Sub(last).Norm()
		last = p
	}
	l.way = table[n]
	if l.way > 1e-6 {
		for i := range table {
			table[i] /= l.way
		}
		l.table = table
	} else {
		l.way = 0
	}
}

func line(a, b geo.Vec3) func(float64) geo.Vec3 {
	return func(k float64) geo.Vec3 { return a.Lerp(b, k) }
}

// look returns the azimuth (near the hint, unwrapped) and tilt that the leg wants at a time
// for a camera that is at pos, or the nearest that can be had from there: the report says how the picture then is.
func (l *leg) look(s *solver, t float64, pos geo.Vec3, hint float64) (az, tilt float64) {
	a := &l.aim
	k := l.progress(t)
	subject := func(place frame.Place) (float64, float64) {
		m, _ := a.subject.At(t)
		target := m.Box.Centre()
		if a.anchor == frame.Head {
			target = m.Box.Head()
		}
		u, v, _ := frame.Aim(s.p.Camera, pos, target, place, unit.Angle(hint))
		return float64(u), float64(v)
	}
	switch a.mode {
	case atSubject:
		az, tilt = subject(frame.Place{X: a.place0.X + (a.place1.X-a.place0.X)*k, Y: a.place0.Y + (a.place1.Y-a.place0.Y)*k})
	case atAngles:
		return a.az0 + (a.az1-a.az0)*k, a.tilt0 + (a.tilt1-a.tilt0)*k
	case ahead:
		az, tilt = hint, a.tilt0
		at := l.parameter(k)
		if d := l.along(min(1, at+0.01)).Sub(l.along(max(0, at-0.01))); d.Horizontal() > 0 {
			az = azimuthOf(d)
		}
	case overhead:
		m, _ := a.subject.At(t)
		d := m.Box.Centre().Sub(pos)
		sn, cs := math.Sincos(a.az0)
		el := math.Atan2(d.Z, d.X*sn+d.Y*cs)
		if el > math.Pi/2 {
			el -= 2 * math.Pi
		}
		return a.az0, max(el, -math.Pi/2, float64(s.p.Rig.TiltFrom))
	case unveiling:
		u, v := subject(a.place1)
		f := smooth(k)
		return a.az0 + f*near(u, a.az0) - f*a.az0, a.tilt0 + f*(v-a.tilt0)
	case keyAngles:
		p, _ := a.keys.run(max(0, min(l.pace.duration, t-l.t0)))
		return p.X, p.Y
	case keyPlaces:
		p, _ := a.keys.run(max(0, min(l.pace.duration, t-l.t0)))
		az, tilt = subject(frame.Place{X: p.X, Y: p.Y})
	}
	return near(az, hint), tilt
}

// near returns the angle plus the whole turns that bring it closest to another.
func near(angle, to float64) float64 {
	return angle + 2*math.Pi*math.Round((to-angle)/(2*math.Pi))
}

// layout lays out all steps. Paces come from what the steps ask, slowed by s.stretch.
func (s *solver) layout() error {
	s.legs = s.legs[:0]
	t := 0.0
	var now state
	for i := range s.p.Steps {
		l := leg{step: &s.p.Steps[i], index: i, kind: s.p.Steps[i].Move, t0: t}
		if l.kind == Orbit {
			l.kind = Arc
		}
		if name := l.step.Subject; name != "" {
			l.subject, l.name = s.p.Subjects[name], name
			if l.subject == nil {
				return fmt.Errorf("moves[%d].subject: there is no subject %q", i, name)
			}
			if err := s.watch(&l, t); err != nil {
				return err
			}
		}
		if i == 0 {
			var err error
			if now, err = s.begin(&l); err != nil {
				return err
			}
		}
		l.start = now
		if err := s.shape(&l); err != nil {
			return err
		}
		l.measure()
		if err := s.time(&l); err != nil {
			return err
		}
		t = l.t1()
		if t > 3600 {
			return &Unsolved{i, l.t0, "the shot lasts more than an hour", "check units of lengths and speeds"}
		}
		s.legs = append(s.legs, l)
		now = s.finish(&s.legs[len(s.legs)-1])
		s.legs[len(s.legs)-1].end = now
	}
	return nil
}

// watch notes a subject that is off its track at a time, and refuses one under ground.
func (s *solver) watch(l *leg, t float64) error {
	if _, ok := l.subject.At(t); !ok {
		s.note(Bound{Limit: LimitTrack, Step: l.index, T: t, About: l.name,
			Nearest: Nearest{Words: "the track of the subject does not cover this moment: lengthen it or cue it otherwise"}})
	}
	if s.p.Ground == nil {
		return nil
	}
	last := t
	if l.subject.Moves() {
		last += float64(l.step.Duration)
	}
	for ; t <= last; t++ {
		m, _ := l.subject.At(t)
		head := m.Box.Head()
		if z, ok := s.p.Ground.HeightAt(head.X, head.Y); ok && head.Z < z-0.01 {
			return &Unsolved{l.index, t, fmt.Sprintf("subject %q lies %.1f m under ground", l.name, z-m.Box.Foot.Z), "give it the ground's height there"}
		}
	}
	return nil
}

// finish is the state in which a leg leaves the camera.
func (s *solver) finish(l *leg) state {
	t := l.t1()
	pos := l.place(t)
	az, tilt := l.look(s, t, pos, l.start.az)
	e := state{pos: pos, az: az, tilt: tilt, place: l.aim.place1, anchor: l.aim.anchor}
	if l.aim.mode == atSubject || l.aim.mode == unveiling || l.aim.mode == keyPlaces {
		e.name = l.name
		if l.step.ToSubject != "" {
			e.name = l.step.ToSubject
		}
	}
	return e
}
