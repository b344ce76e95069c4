package move

import (
	"fmt"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

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
