package move

import (
	"fmt"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

// keyed is a key frame resolved: the pose, and what it frames.
type keyed struct {
	pose   lens.Pose
	name   string // of the subject, empty for none
	place  frame.Place
	anchor frame.Anchor
}

// resolve finds the pose of a key. hint is the azimuth before it, to which a camera straight above its subject keeps.
func (s *solver) resolve(l *leg, i int, hint float64) (keyed, error) {
	k := &l.step.Keys[i]
	path := fmt.Sprintf("keys[%d]", i)
	t := l.t0 + float64(k.Time)
	out := keyed{name: k.Subject, place: middle, anchor: frame.Middle}
	if out.name == "" && (k.Look == nil || k.At == nil) {
		out.name = l.step.Subject
	}
	var m Motion
	var who Subject
	if out.name != "" {
		if who = s.p.Subjects[out.name]; who == nil {
			return out, fmt.Errorf("moves[%d].%s.subject: there is no subject %q", l.index, path, out.name)
		}
		m, _ = who.At(t)
		bearing := 0.0
		if k.Bearing != nil {
			bearing = float64(*k.Bearing)
		}
		out.place, out.anchor = placed(k.Framing, middle, frame.Middle, m, bearing)
	}
	if k.At != nil {
		p, err := s.position(k.At, l.index, path+".at")
		if err != nil {
			return out, err
		}
		out.pose.Pos = p
	} else {
		w := frame.Want{Bearing: *k.Bearing, Size: float64(k.Framing.Size), Place: out.place, Anchor: out.anchor, Horizon: k.Framing.Horizon}
		if k.Height != nil {
			h := float64(*k.Height)
			w.HeightM = &h
		} else {
			el := 10 * unit.Degree
			w.Elevation = &el
		}
		was, wasName := l.subject, l.name
		l.subject, l.name = who, out.name
		p, err := s.compose(l, t, m, w)
		l.subject, l.name = was, wasName
		if err != nil {
			return out, err
		}
		out.pose = p
	}
	pos, err := s.clearOf(l.index, t, out.pose.Pos)
	if err != nil {
		return out, err
	}
	out.pose.Pos = pos
	if who != nil {
		out.pose.Azimuth, out.pose.Tilt, _ = frame.Aim(s.p.Camera, pos, s.target(m, out.anchor), out.place, unit.Angle(hint))
	}
	if k.Look != nil {
		if k.Look.Azimuth != nil {
			out.pose.Azimuth = *k.Look.Azimuth
		}
		if k.Look.Tilt != nil {
			out.pose.Tilt = *k.Look.Tilt
		}
	}
	return out, nil
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
		k, err := s.resolve(l, i, hint)
		if err != nil {
			return err
		}
		if len(times) == 0 {
			subject = k.name
			l.aim.anchor = k.anchor
		}
		if st.Keys[i].Look != nil || k.name == "" || k.name != subject || k.anchor != l.aim.anchor {
			oneSubject = false
		}
		hint = near(float64(k.pose.Azimuth), hint)
		times = append(times, float64(st.Keys[i].Time))
		places = append(places, k.pose.Pos)
		angles = append(angles, geo.Vec3{X: hint, Y: float64(k.pose.Tilt)})
		spots = append(spots, geo.Vec3{X: k.place.X, Y: k.place.Y})
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
