package move

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

// shaping is a leg being laid out from where the one before left the camera.
type shaping struct {
	s    *solver
	l    *leg
	step *Step
	from state

	m      Motion // of the subject at the leg's start
	moving bool
	// The camera seen from the subject at the start.
	bearing, elevation float64
	level, height      float64 // distance from its middle, height above its foot
	forward            geo.Vec3
	resized            bool // the end framing asks for another place of the camera
}

// shape lays out where a leg goes and looks, from l.start on.
func (s *solver) shape(l *leg) error {
	x := &shaping{s: s, l: l, step: l.step, from: l.start}
	x.frame()
	x.forward = geo.Vec3{X: math.Sin(x.from.az), Y: math.Cos(x.from.az)}
	x.resized = x.step.End != nil && (x.step.End.Size > 0 || x.step.End.Horizon != nil)
	if err := x.layout(); err != nil {
		return err
	}
	x.outlast()
	return nil
}

func (x *shaping) layout() error {
	switch x.l.kind {
	case PushIn, PullOut:
		return x.dolly()
	case Truck:
		return x.truck()
	case Pedestal, Boom:
		return x.lift()
	case Pan, Tilt:
		return x.turn()
	case Arc:
		return x.arc()
	case Reveal, Flyover:
		return x.pass()
	case TopDown:
		return x.overhead()
	case FlyThrough:
		return x.thread()
	case Lead, Follow, Parallel:
		return x.beside()
	case KeyFrames:
		return x.s.shapeKeys(x.l)
	}
	return x.hold()
}

// frame settles what is in the frame, and where it will be.
func (x *shaping) frame() {
	l, from := x.l, x.from
	l.aim = aim{mode: atAngles, az0: from.az, tilt0: from.tilt, az1: from.az, tilt1: from.tilt, place0: middle, place1: middle}
	if l.subject == nil {
		return
	}
	x.m, _ = l.subject.At(l.t0)
	x.moving = l.subject.Moves()
	l.aim.subject = l.subject
	place, anchor := middle, frame.Middle
	if from.name == l.name {
		place, anchor = from.place, from.anchor
	}
	l.aim.place0 = place
	l.aim.place1, l.aim.anchor = placed(x.step.End, place, anchor, x.m, azimuthOf(from.pos.Sub(x.m.Box.Foot)))
	if x.step.End != nil && from.name != l.name {
		l.aim.place0 = l.aim.place1
	}
	d := from.pos.Sub(x.s.target(x.m, l.aim.anchor))
	x.bearing, x.elevation = azimuthOf(d), math.Atan2(d.Z, d.Horizontal())
	x.level, x.height = d.Horizontal(), from.pos.Z-x.m.Box.Foot.Z
}

// toward keeps the subject in its place, if there is one.
func (x *shaping) toward() {
	if x.l.subject != nil {
		x.l.aim.mode = atSubject
	}
}

// looking takes the direction that the step names: in the first step it is that of the start, in
// later ones of the end; a pan or tilt without a sweep ends on it.
func (x *shaping) looking() {
	look := x.step.Look
	if look == nil || x.l.index == 0 && (x.step.Sweep != 0 || x.l.kind != Pan && x.l.kind != Tilt) {
		return
	}
	if look.Azimuth != nil {
		x.l.aim.az1 = near(float64(*look.Azimuth), x.from.az)
	}
	if look.Tilt != nil {
		x.l.aim.tilt1 = float64(*look.Tilt)
	}
}

// destination is a position of the step, clear of what is in the way.
func (x *shaping) destination(field *Position, name string) (geo.Vec3, error) {
	p, err := x.s.position(field, x.l.index, name)
	if err != nil {
		return p, err
	}
	if name == "to" {
		return x.ending(p)
	}
	return x.s.clearOf(x.l.index, x.l.t0, p)
}

// straight goes to an end that moves with the subject.
func (x *shaping) straight(end geo.Vec3) {
	if !x.moving {
		x.still(end)
		return
	}
	x.l.reach = onSubject
	x.l.along = line(x.from.pos.Sub(x.m.Box.Foot), end.Sub(x.m.Box.Foot))
}

// still goes to an end that stays on the site.
func (x *shaping) still(end geo.Vec3) { x.l.along = line(x.from.pos, end) }

// framed is where the end framing puts the camera, from a bearing.
func (x *shaping) framed(bearing float64, height *unit.Length, distance, elevation float64) (geo.Vec3, error) {
	l := x.l
	el := unit.Angle(elevation)
	w := frame.Want{Bearing: unit.Angle(bearing), Place: l.aim.place1, Anchor: l.aim.anchor, DistanceM: distance, Elevation: &el}
	if height != nil {
		h := float64(*height)
		w.HeightM = &h
	}
	if x.step.End != nil {
		w.Size, w.Horizon = float64(x.step.End.Size), x.step.End.Horizon
	}
	if w.Size == 0 && w.DistanceM == 0 {
		w.DistanceM = x.s.target(x.m, w.Anchor).Sub(x.from.pos).Norm()
	}
	from := len(x.s.bounds)
	pose, err := x.s.compose(l, l.t0, x.m, w)
	if err != nil {
		return pose.Pos, err
	}
	x.ends(from)
	return x.ending(pose.Pos)
}

// ending is where the step ends, clear of what is in the way.
func (x *shaping) ending(pos geo.Vec3) (geo.Vec3, error) {
	from := len(x.s.bounds)
	pos, err := x.s.clearOf(x.l.index, x.l.t0, pos)
	x.ends(from)
	return pos, err
}

// ends says that the bounds noted from one on are of where the step ends.
func (x *shaping) ends(from int) {
	for i := range x.s.bounds[from:] {
		x.s.bounds[from+i].end = true
	}
}

// outlast notes a track that ends before its leg.
func (x *shaping) outlast() {
	l := x.l
	d := float64(x.step.Duration)
	if !x.moving || d <= 0 {
		return
	}
	if _, ok := l.subject.At(l.t0 + d); ok {
		return
	}
	end := l.t0 + d
	if track, ok := l.subject.(interface{ Span() (from, to float64) }); ok {
		_, end = track.Span()
	}
	x.s.note(Bound{Limit: LimitTrack, Step: l.index, T: max(l.t0, end), Asked: l.t0 + d, Allowed: end, Unit: "s", About: l.name,
		Nearest: Nearest{DurationS: max(0, end-l.t0)}})
}
