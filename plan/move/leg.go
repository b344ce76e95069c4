package move

import (
	"errors"
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
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
// for a camera that is at pos. ok is false when the framing cannot be had from there.
func (l *leg) look(s *solver, t float64, pos, vel geo.Vec3, hint float64) (az, tilt float64, ok bool) {
	a := &l.aim
	k := l.progress(t)
	ok = true
	subject := func(place frame.Place) (float64, float64) {
		m, _ := a.subject.At(t)
		target := m.Box.Centre()
		if a.anchor == frame.Head {
			target = m.Box.Head()
		}
		u, v, fine := frame.Aim(s.p.Camera, pos, target, place, unit.Angle(hint))
		ok = fine
		return float64(u), float64(v)
	}
	switch a.mode {
	case atSubject:
		az, tilt = subject(frame.Place{X: a.place0.X + (a.place1.X-a.place0.X)*k, Y: a.place0.Y + (a.place1.Y-a.place0.Y)*k})
	case atAngles:
		return a.az0 + (a.az1-a.az0)*k, a.tilt0 + (a.tilt1-a.tilt0)*k, true
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
		return a.az0, max(el, -math.Pi/2, float64(s.p.Rig.TiltFrom)), true
	case unveiling:
		u, v := subject(a.place1)
		f := smooth(k)
		return a.az0 + f*near(u, a.az0) - f*a.az0, a.tilt0 + f*(v-a.tilt0), ok
	case keyAngles:
		p, _ := a.keys.run(max(0, min(l.pace.duration, t-l.t0)))
		return p.X, p.Y, true
	case keyPlaces:
		p, _ := a.keys.run(max(0, min(l.pace.duration, t-l.t0)))
		az, tilt = subject(frame.Place{X: p.X, Y: p.Y})
	}
	return near(az, hint), tilt, ok
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
	before := l.place(t - 0.05)
	az, tilt, _ := l.look(s, t, pos, pos.Sub(before), l.start.az)
	e := state{pos: pos, az: az, tilt: tilt, place: l.aim.place1, anchor: l.aim.anchor}
	if l.aim.mode == atSubject || l.aim.mode == unveiling || l.aim.mode == keyPlaces {
		e.name = l.name
		if l.step.ToSubject != "" {
			e.name = l.step.ToSubject
		}
	}
	return e
}

var middle = frame.Place{X: 0.5, Y: 0.5}

// placed resolves a framing's place for a subject seen from an azimuth (subject to camera).
func placed(f *frame.Framing, had frame.Place, anchor frame.Anchor, m Motion, bearing float64) (frame.Place, frame.Anchor) {
	if f == nil {
		return had, anchor
	}
	p := had
	if f.Place != nil {
		p, anchor = *f.Place, frame.Middle
	}
	if f.Headroom != nil {
		p.Y, anchor = float64(*f.Headroom), frame.Head
	}
	if f.LeadRoom != nil {
		// The camera looks along bearing + 180°; its right is bearing − 90°.
		s, c := math.Sincos(bearing - math.Pi/2)
		if m.Vel.X*s+m.Vel.Y*c >= 0 {
			p.X = 1 - float64(*f.LeadRoom)
		} else {
			p.X = float64(*f.LeadRoom)
		}
	}
	return p, anchor
}

// begin finds the pose in which the shot starts.
func (s *solver) begin(l *leg) (state, error) {
	st := l.step
	now := state{place: middle}
	var m Motion
	if l.subject != nil {
		m, _ = l.subject.At(0)
		now.name = l.name
	}
	if l.kind == KeyFrames {
		return now, nil // its own keys say
	}
	var pose lens.Pose
	switch {
	case st.From != nil:
		pos, err := s.position(st.From, l.index, "from")
		if err != nil {
			return now, err
		}
		pose.Pos = pos
		if l.subject != nil {
			now.place, now.anchor = placed(st.Start, middle, frame.Middle, m, azimuthOf(pos.Sub(m.Box.Foot)))
			az, tilt, _ := frame.Aim(s.p.Camera, pos, s.target(m, now.anchor), now.place, 0)
			pose.Azimuth, pose.Tilt = az, tilt
			if st.Start != nil && st.Start.Horizon != nil {
				pose.Tilt = frame.HorizonTilt(s.p.Camera, *st.Start.Horizon)
			}
		} else if to := st.To; to != nil {
			if p, err := s.position(to, l.index, "to"); err == nil {
				pose.Azimuth = unit.Angle(azimuthOf(p.Sub(pos)))
			}
		} else if len(st.Through) > 0 {
			if p, err := s.position(&st.Through[0], l.index, "through[0]"); err == nil {
				pose.Azimuth = unit.Angle(azimuthOf(p.Sub(pos)))
			}
		} else if st.Direction != nil {
			pose.Azimuth = *st.Direction
		}
	case l.kind == TopDown:
		az := unit.Angle(0)
		if st.Bearing != nil {
			az = *st.Bearing + math.Pi
		} else if st.Direction != nil {
			az = *st.Direction
		}
		size, height := 0.0, float64(st.Distance)
		if st.Height != nil {
			height = float64(*st.Height)
		}
		if st.Start != nil && st.Start.Size > 0 {
			size = float64(st.Start.Size)
		}
		now.place, _ = placed(st.Start, middle, frame.Middle, m, float64(az)+math.Pi)
		var err error
		if pose, err = frame.Overhead(s.p.Camera, m.Box, az, now.place, size, height); err != nil {
			return now, &Unsolved{l.index, 0, err.Error(), "change height or start"}
		}
	default:
		bearing := 0.0
		switch {
		case l.kind == Lead:
			bearing = float64(m.Box.Facing)
		case l.kind == Follow:
			bearing = float64(m.Box.Facing) + math.Pi
		case l.kind == Parallel:
			bearing = float64(m.Box.Facing) + flank(st.Side)
		case st.Bearing != nil:
			bearing = float64(*st.Bearing)
		case st.Direction != nil:
			bearing = float64(*st.Direction) + math.Pi
		}
		now.place, now.anchor = placed(st.Start, middle, frame.Middle, m, bearing)
		w := frame.Want{Bearing: unit.Angle(bearing), Place: now.place, Anchor: now.anchor, DistanceM: float64(st.Distance)}
		if st.Start != nil {
			w.Size, w.Horizon = float64(st.Start.Size), st.Start.Horizon
		}
		if st.Height != nil {
			h := float64(*st.Height)
			w.HeightM = &h
		}
		if l.kind == Lead || l.kind == Follow || l.kind == Parallel {
			if w.Size == 0 && w.DistanceM == 0 {
				w.DistanceM = max(15, s.standOff(m)+5)
			}
			if w.HeightM == nil && w.Horizon == nil {
				h := max(m.Box.HeightM, 0.2*w.DistanceM)
				w.HeightM = &h
			}
		}
		if w.Size == 0 && w.DistanceM == 0 {
			w.DistanceM = float64(st.Radius)
			if w.HeightM != nil { // a radius is level
				w.DistanceM = math.Hypot(w.DistanceM, *w.HeightM-s.target(m, now.anchor).Sub(m.Box.Foot).Z)
			}
		}
		if w.HeightM == nil && w.Horizon == nil {
			el := 10 * unit.Degree
			w.Elevation = &el
		}
		var err error
		if pose, err = s.compose(l, 0, m, w); err != nil {
			return now, err
		}
	}
	if st.Look != nil {
		if st.Look.Azimuth != nil {
			pose.Azimuth = *st.Look.Azimuth
		}
		if st.Look.Tilt != nil {
			pose.Tilt = *st.Look.Tilt
		}
	}
	pos, err := s.clearOf(l.index, 0, pose.Pos)
	if err != nil {
		return now, err
	}
	now.pos, now.az, now.tilt = pos, float64(pose.Azimuth), float64(pose.Tilt)
	return now, nil
}

func flank(side Side) float64 {
	if side == Left {
		return -math.Pi / 2
	}
	return math.Pi / 2
}

func (s *solver) target(m Motion, a frame.Anchor) geo.Vec3 {
	if a == frame.Head {
		return m.Box.Head()
	}
	return m.Box.Centre()
}

// compose is frame.Compose; what cannot be had gives way to the nearest, with a bound.
func (s *solver) compose(l *leg, t float64, m Motion, w frame.Want) (lens.Pose, error) {
	pose, err := frame.Compose(s.p.Camera, m.Box, w)
	var cannot *frame.Error
	switch {
	case errors.As(err, &cannot) && cannot.Largest > 0:
		s.note(Bound{Limit: LimitFraming, Step: l.index, T: t, Asked: w.Size * 100, Allowed: cannot.Largest * 100, Unit: "% of the frame height", About: l.name,
			Kept: true, Nearest: Nearest{Words: cannot.Nearest}})
		w.Size, w.DistanceM = 0, cannot.NearestM
		pose, err = frame.Compose(s.p.Camera, m.Box, w)
	case errors.As(err, &cannot) && w.Size == 0:
		err = nil // the place cannot be had: the aim reports it
		if pose.Pos == (geo.Vec3{}) {
			err = cannot
		}
	}
	if err != nil {
		return pose, &Unsolved{l.index, t, err.Error(), "change the framing"}
	}
	if !l.subject.Moves() {
		return pose, nil
	}
	// The stand-off from a moving subject comes before its size.
	away := pose.Pos.Sub(m.Box.Centre())
	need := s.standOff(m) * 1.01
	if d := away.Norm(); d < need && d > 0 {
		at := m.Box.Centre().Add(away.Scale(need / d))
		b := Bound{Limit: LimitStandOff, Step: l.index, T: t, Asked: d, Allowed: need, Unit: "m", About: l.name, Kept: true, Nearest: Nearest{DistanceM: need}}
		size := w.Size
		if size == 0 {
			v := frame.Look(s.p.Camera, pose)
			if e, ok := v.Extent(m.Box); ok {
				size = e.Height()
			}
		}
		if f, err := frame.Focal(s.p.Camera, at, m.Box, w.Place, size); err == nil {
			b.Nearest.FocalM = f
		}
		s.note(b)
		pose.Pos = at
	}
	return pose, nil
}

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

// shapeKeys lays out key frames.
func (s *solver) shapeKeys(l *leg) error {
	st := l.step
	var times []float64
	var places, angles, spots []geo.Vec3
	oneSubject := true
	subject := ""
	if l.index > 0 {
		times = append(times, 0)
		places = append(places, l.start.pos)
		angles = append(angles, geo.Vec3{X: l.start.az, Y: l.start.tilt})
		spots = append(spots, geo.Vec3{X: l.start.place.X, Y: l.start.place.Y})
		subject = l.start.name
	}
	hint := l.start.az
	for i := range st.Keys {
		k := &st.Keys[i]
		path := fmt.Sprintf("keys[%d]", i)
		name := k.Subject
		if name == "" && k.Look == nil {
			name = st.Subject
		}
		place := middle
		anchor := frame.Middle
		var m Motion
		var who Subject
		if name != "" {
			if who = s.p.Subjects[name]; who == nil {
				return fmt.Errorf("moves[%d].%s.subject: there is no subject %q", l.index, path, name)
			}
			m, _ = who.At(l.t0 + float64(k.Time))
			bearing := 0.0
			if k.Bearing != nil {
				bearing = float64(*k.Bearing)
			}
			place, anchor = placed(k.Framing, middle, anchor, m, bearing)
		}
		var pose lens.Pose
		if k.At != nil {
			p, err := s.position(k.At, l.index, path+".at")
			if err != nil {
				return err
			}
			pose.Pos = p
		} else {
			w := frame.Want{Bearing: *k.Bearing, Size: float64(k.Framing.Size), Place: place, Anchor: anchor, Horizon: k.Framing.Horizon}
			if k.Height != nil {
				h := float64(*k.Height)
				w.HeightM = &h
			} else {
				el := 10 * unit.Degree
				w.Elevation = &el
			}
			was, wasName := l.subject, l.name
			l.subject, l.name = who, name
			p, err := s.compose(l, l.t0+float64(k.Time), m, w)
			l.subject, l.name = was, wasName
			if err != nil {
				return err
			}
			pose = p
		}
		pos, err := s.clearOf(l.index, l.t0+float64(k.Time), pose.Pos)
		if err != nil {
			return err
		}
		pose.Pos = pos
		if who != nil {
			pose.Azimuth, pose.Tilt, _ = frame.Aim(s.p.Camera, pos, s.target(m, anchor), place, unit.Angle(hint))
		}
		if k.Look != nil {
			if k.Look.Azimuth != nil {
				pose.Azimuth = *k.Look.Azimuth
			}
			if k.Look.Tilt != nil {
				pose.Tilt = *k.Look.Tilt
			}
			oneSubject = false
		}
		if len(times) == 0 {
			subject = name
			l.aim.anchor = anchor
		}
		if name == "" || name != subject || anchor != l.aim.anchor {
			oneSubject = false
		}
		hint = near(float64(pose.Azimuth), hint)
		times = append(times, float64(k.Time))
		places = append(places, pos)
		angles = append(angles, geo.Vec3{X: hint, Y: float64(pose.Tilt)})
		spots = append(spots, geo.Vec3{X: place.X, Y: place.Y})
	}
	l.timed = true
	for i := range times {
		times[i] *= s.stretch[l.index]
	}
	curve := func(p []geo.Vec3) *Track {
		t, err := NewTrack(times, p, frame.Box{}, 0, 0)
		if err != nil {
			return nil
		}
		t.speeds[0], t.speeds[len(times)-1] = geo.Vec3{}, geo.Vec3{}
		return t
	}
	l.keys = curve(places)
	if l.keys == nil {
		return fmt.Errorf("moves[%d].keys: times and places do not make a way", l.index)
	}
	l.aim.place0, l.aim.place1 = middle, middle
	if oneSubject {
		l.aim.mode, l.aim.subject, l.aim.keys = keyPlaces, s.p.Subjects[subject], curve(spots)
		l.subject, l.name = l.aim.subject, subject
		l.aim.place1 = frame.Place{X: spots[len(spots)-1].X, Y: spots[len(spots)-1].Y}
	} else {
		l.aim.mode, l.aim.keys = keyAngles, curve(angles)
	}
	last := times[len(times)-1]
	l.pace = pace{duration: last}
	for i := 1; i < len(places); i++ {
		l.pace.way += places[i].Sub(places[i-1]).Norm()
	}
	l.way = l.pace.way
	if l.index == 0 {
		l.start.pos, l.start.az, l.start.tilt = places[0], angles[0].X, angles[0].Y
	}
	return nil
}

// position resolves a camera position.
func (s *solver) position(p *Position, index int, field string) (geo.Vec3, error) {
	fail := func(format string, args ...any) (geo.Vec3, error) {
		return geo.Vec3{}, fmt.Errorf("moves[%d].%s: %s", index, field, fmt.Sprintf(format, args...))
	}
	at := geo.Vec3{X: float64(p.East), Y: float64(p.North)}
	if p.Point != "" {
		base, ok := s.p.Points[p.Point]
		if !ok {
			return fail("there is no point %q on the site", p.Point)
		}
		at = at.Add(base)
	}
	if p.Lat != nil {
		if s.p.Locate == nil {
			return fail("lat and lon need a site with an origin")
		}
		at.X, at.Y = s.p.Locate(*p.Lat, *p.Lon)
	}
	switch {
	case p.AboveSea != nil:
		at.Z = float64(*p.AboveSea)
	case p.AboveGround != nil:
		if s.p.Ground == nil {
			return fail("above_ground needs terrain: give above_sea")
		}
		z, ok := s.p.Ground.HeightAt(at.X, at.Y)
		if !ok {
			return fail("lies outside the terrain at east %.0f m, north %.0f m: are coordinates swapped?", at.X, at.Y)
		}
		at.Z = z + float64(*p.AboveGround)
	}
	if !finite(at.X) || !finite(at.Y) || !finite(at.Z) {
		return fail("is not a place on the site")
	}
	return at, nil
}
