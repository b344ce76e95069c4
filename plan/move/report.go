package move

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

// Scene is what a report looks at beyond the problem itself.
type Scene struct {
	// Pilot is where the pilot's eyes are; nil: unknown.
	Pilot *geo.Vec3
	// Sun is the unit vector toward the sun; zero: unknown or down.
	Sun geo.Vec3
	// Things may stand in the picture: crew, homes, launch spots.
	Things []frame.Thing
	// Intrusion names what of the aircraft the camera sees at a pan and tilt ("landing
	// gear"), or nothing; nil: unknown.
	Intrusion func(pan, tilt unit.Angle) string
	// Axis is the line of action between two people or along a road; nil: along the way of
	// a moving subject.
	Axis *[2]geo.Vec3
	// ClimbOutM is how high a climb-out must be free; 0: 30 m.
	ClimbOutM float64
}

// Second is the state of things at a whole second of the path.
type Second struct {
	T        float64
	SpeedMS  float64 // level
	ClimbMS  float64
	HeightM  float64 // above the ground beneath; 0 and GroundKnown false where there is no data
	GroundM  float64 // to the nearest ground
	Ground   Answer  // whether the two above are known
	NearestM float64 // to the nearest obstacle; 0 without Nearest
	Nearest  string
	UnderM   float64 // clearance to a wire overhead, 0 when under none
	Under    string

	// To the nearest moving subject, from its box's ball.
	SubjectM  float64
	Subject   string
	ClosingMS float64 // speed at which the distance shrinks
	NeededM   float64 // stand-off that reaction and braking ask at that closing speed

	InFrame frame.Extent // of the step's subject
	Share   float64      // of the subject's box inside the frame
	Cover   float64      // share of the frame that the box's extent takes
	Seen    Answer       // not hidden by ground or obstacle
	Visible float64      // share of the points tried on the subject that are seen
	Hiding  string       // what hides it

	HorizonLeft, HorizonRight frame.Level
	HorizonKnown              bool

	PilotSees Answer
	PilotBy   string  // what stands between
	PilotM    float64 // distance from the pilot

	Stop     Answer // straight ahead, after the reaction time, free
	ClimbOut Answer // straight up while stopping, free
	Contents []frame.Seen
	Intrudes string
	Side     Side // of the axis of action on which the camera is; empty: no axis, or on it
}

// Framed tells whether the subject is in the frame: half of it, or a quarter of the frame full of it.
// Common practice, no source.
func (c *Second) Framed() bool { return c.Share >= 0.5 || c.Cover >= 0.25 }

// Rung is a step of the rehearsal ladder.
type Rung string

// Rungs, in rising difficulty.
const (
	WideAndOpen         Rung = "wide and open"
	NearObjects         Rung = "near objects"
	BetweenObjects      Rung = "between objects"
	CloseToMovingThings Rung = "close to moving subjects"
)

// Rungs lists them in order.
var Rungs = []Rung{WideAndOpen, NearObjects, BetweenObjects, CloseToMovingThings}

// What makes a shot near, between or close: common practice, no source.
const (
	nearM    = 15 // to an obstacle, or to ground ahead
	lowM     = 8  // to the ground
	movingM  = 30 // to a moving subject, less what neither place is sure of
	closing  = 5  // m/s toward a moving subject within twice that distance
	climbOut = 30 // metres
)

// Report is what a path passes, sees and is seen by.
type Report struct {
	Seconds []Second

	LeastGroundM  float64 // over all samples
	LeastGroundT  float64
	GroundKnown   Answer
	LeastM        float64 // to an obstacle
	LeastT        float64
	Least         string
	LeastSubjectM float64
	LeastSubjectT float64
	LeastSubject  string
	MaxClosingMS  float64
	// RunUpM is the straight way before a start at speed in which the aircraft gathers it;
	// RunUp tells whether it is free. The stop after the end is that of the last second.
	RunUpM       float64
	RunUp        Answer
	HiddenS      float64 // seconds during which the subject is hidden
	OutOfFrameS  float64 // seconds during which the subject is out of the frame, see Second.Framed
	PilotBlindS  float64
	NoStopS      float64
	NoClimbOutS  float64
	Side         Side // at the start
	AxisCrossedT []float64
	Rung         Rung
	RungWhy      string
	// Pictured is what else is in the frame, in the order in which it comes in.
	Pictured []Pictured
	// SmallestShare and LargestShare are of the subject's height in the frame.
	SmallestShare, LargestShare float64
}

// Inspect looks along a path, which may be a solved one or one that was really flown.
func Inspect(p *Problem, path *Path, scene Scene) Report {
	s := &solver{p: p}
	s.enter()
	r := Report{LeastGroundM: math.Inf(1), LeastM: math.Inf(1), LeastSubjectM: math.Inf(1), GroundKnown: Yes, Rung: WideAndOpen, RungWhy: "nothing near",
		SmallestShare: math.Inf(1)}
	if len(path.Samples) == 0 {
		return Report{GroundKnown: Unknown}
	}
	if s.hazards.ground == nil {
		r.GroundKnown = Unknown
	}
	near := s.nearest(path, &r)
	every := max(1, int(math.Round(path.RateHz)))
	for i := 0; i < len(path.Samples); i += every {
		r.Seconds = append(r.Seconds, s.second(path, i, &scene))
	}
	r.count()
	r.Pictured = pictured(r.Seconds)
	r.RunUpM, r.RunUp = s.runUp(&path.Samples[0])
	s.rung(&r, near)
	r.finish()
	return r
}

// nearness is what the ladder asks beyond the report's own numbers.
type nearness struct {
	between bool    // obstacles near on opposite sides
	surestM float64 // nearest that a moving subject may be, both places as wrong as they may be
}

// nearest looks for the least distances to ground, obstacles and moving subjects, ten times a second.
func (s *solver) nearest(path *Path, r *Report) nearness {
	near := nearness{surestM: math.Inf(1)}
	tenth := max(1, int(math.Round(path.RateHz))/10)
	for i := range path.Samples {
		if i%tenth != 0 && i != len(path.Samples)-1 {
			continue
		}
		q := &path.Samples[i]
		if h, _, ok := s.hazards.overGroundM(q.Pos); ok && h < r.LeastGroundM {
			r.LeastGroundM, r.LeastGroundT = h, q.T
		} else if !ok {
			r.GroundKnown = Unknown
		}
		var toward [2]geo.Vec3
		count := 0
		for k := range s.hazards.all {
			h := &s.hazards.all[k]
			c := q.Pos.Sub(h.centre)
			if far := h.radius + max(nearM, r.LeastM); c.Dot(c) > far*far {
				continue
			}
			d, away := h.shape.Distance(q.Pos)
			if d < r.LeastM {
				r.LeastM, r.LeastT, r.Least = d, q.T, h.name
			}
			if d < nearM && away.Horizontal() > 0.5 {
				for j := range count {
					if toward[j].Dot(away) < -0.2 {
						near.between = true
					}
				}
				if count < len(toward) {
					toward[count] = away
					count++
				}
			}
		}
		for _, name := range s.moving {
			m, ok := s.p.Subjects[name].At(q.T)
			if !ok {
				continue
			}
			away := q.Pos.Sub(m.Box.Centre())
			d := away.Norm() - m.Box.RadiusM()
			if d < r.LeastSubjectM {
				r.LeastSubjectM, r.LeastSubjectT, r.LeastSubject = d, q.T, name
			}
			near.surestM = min(near.surestM, d-m.SpreadM-s.p.Margins.error())
			if d < 2*movingM {
				r.MaxClosingMS = max(r.MaxClosingMS, -q.Vel.Sub(m.Vel).Dot(away.Unit()))
			}
		}
	}
	return near
}

// count adds up the seconds.
func (r *Report) count() {
	side := Side("")
	for i := range r.Seconds {
		c := &r.Seconds[i]
		if c.Seen == No {
			r.HiddenS++
		}
		if c.Seen != "" {
			if !c.Framed() {
				r.OutOfFrameS++
			}
			r.SmallestShare, r.LargestShare = min(r.SmallestShare, c.InFrame.Height()), max(r.LargestShare, c.InFrame.Height())
		}
		if c.PilotSees == No {
			r.PilotBlindS++
		}
		if c.Stop == No {
			r.NoStopS++
		}
		if c.ClimbOut == No {
			r.NoClimbOutS++
		}
		if c.Side != "" {
			if r.Side == "" {
				r.Side = c.Side
			} else if side != c.Side {
				r.AxisCrossedT = append(r.AxisCrossedT, c.T)
			}
			side = c.Side
		}
	}
}

// finish replaces what was never found by zero.
func (r *Report) finish() {
	for _, v := range []*float64{&r.LeastGroundM, &r.LeastM, &r.LeastSubjectM, &r.SmallestShare} {
		if math.IsInf(*v, 0) {
			*v = 0
		}
	}
}

// rung places the shot on the ladder, before finish: what was never found is still far away.
func (s *solver) rung(r *Report, near nearness) {
	up := func(to Rung, why string) {
		r.Rung, r.RungWhy = to, why
	}
	if r.LeastGroundM < lowM { // where it is known; unknown ground elsewhere makes it no higher
		up(NearObjects, "low over ground")
	}
	if r.Least != "" && r.LeastM < nearM {
		up(NearObjects, "near "+r.Least)
	}
	if near.between {
		up(BetweenObjects, "obstacles on both sides")
	}
	if s.p.Rig.SingleOperator && r.Rung == NearObjects {
		up(BetweenObjects, r.RungWhy+", flown and framed alone")
	}
	if r.LeastSubject != "" && (near.surestM < movingM || near.surestM < 2*movingM && r.MaxClosingMS > closing) {
		up(CloseToMovingThings, "close to "+r.LeastSubject)
	}
}

// second looks at one sample in full.
func (s *solver) second(path *Path, i int, scene *Scene) Second {
	q := &path.Samples[i]
	out := Second{T: q.T, SpeedMS: q.Vel.Horizontal(), ClimbMS: q.Vel.Z, Ground: Unknown, PilotSees: Unknown}
	if h, d, ok := s.hazards.overGroundM(q.Pos); ok {
		out.HeightM, out.GroundM, out.Ground = h, d, Yes
	}
	s.beside(q, &out)
	pose := q.Pose()
	view := frame.Look(s.p.Camera, pose)
	out.HorizonLeft, out.HorizonRight, out.HorizonKnown = view.Horizon()
	if subject := s.subjectAt(path, q.T); subject != nil {
		m, _ := subject.At(q.T)
		s.seen(q, view, &m, &out)
		if scene.Axis == nil && m.Vel.Horizontal() > 0.3 {
			out.Side = sideOf(m.Box.Foot, m.Vel, q.Pos)
		}
	}
	if a := scene.Axis; a != nil {
		out.Side = sideOf(a[0], a[1].Sub(a[0]), q.Pos)
	}
	if scene.Pilot != nil {
		out.PilotM = q.Pos.Sub(*scene.Pilot).Norm()
		out.PilotSees, out.PilotBy = s.hazards.sight(*scene.Pilot, q.Pos)
	}
	out.Stop, out.ClimbOut = s.escape(q, scene.ClimbOutM)
	out.Contents = s.contents(q, pose, scene)
	if scene.Intrusion != nil {
		out.Intrudes = scene.Intrusion(q.Pan, q.Tilt)
	}
	return out
}

// beside finds the nearest obstacle, a wire overhead, and the nearest moving subject.
func (s *solver) beside(q *Sample, out *Second) {
	best := math.Inf(1)
	for k := range s.hazards.all {
		h := &s.hazards.all[k]
		c := q.Pos.Sub(h.centre)
		if far := h.radius + best; c.Dot(c) > far*far {
			continue
		}
		d, away := h.shape.Distance(q.Pos)
		if d < best {
			best, out.NearestM, out.Nearest = d, d, h.name
		}
		if h.kind == "wire" && away.Z < -0.5 && d < 60 && (out.Under == "" || d < out.UnderM) {
			out.Under, out.UnderM = h.name, d
		}
	}
	closest := math.Inf(1)
	for _, name := range s.moving {
		m, ok := s.p.Subjects[name].At(q.T)
		if !ok {
			continue
		}
		if d, v, need := s.p.StandOff(q, m); d < closest {
			closest = d
			out.SubjectM, out.Subject, out.ClosingMS, out.NeededM = d, name, v, need
		}
	}
}

// seen is how the framed subject lies in the picture, and whether something hides it.
func (s *solver) seen(q *Sample, view frame.View, m *Motion, out *Second) {
	if e, ok := view.Extent(m.Box); ok {
		out.InFrame, out.Share = e, e.Inside()
		out.Cover = overlap(e.Left, e.Right) * overlap(e.Top, e.Bottom)
	} else if at, _, ahead := view.Point(m.Box.Centre()); ahead && at.X >= 0 && at.X <= 1 && at.Y >= 0 && at.Y <= 1 {
		out.Share, out.Cover = 1, 1 // so near that it reaches beside the camera
	}
	points := [3]geo.Vec3{m.Box.Centre(), m.Box.Foot.Add(geo.Vec3{Z: 0.85 * m.Box.HeightM}), m.Box.Foot.Add(geo.Vec3{Z: 0.15*m.Box.HeightM + 0.1})}
	out.Seen = Yes
	for _, point := range points {
		switch seen, by := s.hazards.sightOf(q.Pos, point, &m.Box); seen {
		case Yes:
			out.Visible += 1.0 / 3
		case Unknown:
			out.Seen = Unknown
		default:
			out.Hiding = by
		}
	}
	if out.Seen == Yes {
		out.Seen = answer(out.Visible > 0.5)
	}
}

// contents is what else is in the picture: the scene's things, the sun and the own shadow.
func (s *solver) contents(q *Sample, pose lens.Pose, scene *Scene) []frame.Seen {
	all := frame.Contents(nil, s.p.Camera, pose, scene.Things)
	if scene.Sun != (geo.Vec3{}) {
		sky := []frame.Thing{{Name: "sun", Kind: "sun", Far: true, Box: frame.Box{Foot: scene.Sun}}}
		if at, ok := frame.Shadow(q.Pos, scene.Sun, s.p.Ground); ok {
			sky = append(sky, frame.Thing{Name: "own shadow", Kind: "own shadow", Box: frame.Box{Foot: at}})
		}
		all = frame.Contents(all, s.p.Camera, pose, sky)
	}
	for k := range all {
		c := &all[k]
		if c.Kind == "sun" {
			far := q.Pos.Add(scene.Sun.Scale(3000))
			seen, _ := s.hazards.sight(q.Pos, far)
			c.Hidden = seen == No
			continue
		}
		for _, t := range scene.Things {
			if t.Name == c.Name && t.Kind == c.Kind {
				seen, _ := s.hazards.sight(q.Pos, t.Box.Head().Add(geo.Vec3{Z: 0.1}))
				c.Hidden = seen == No
			}
		}
	}
	return all
}

// subjectAt is the subject of the step flown at a time.
func (s *solver) subjectAt(path *Path, t float64) Subject {
	name := ""
	for _, span := range path.Spans {
		if t >= span.From-1e-9 && span.Step < len(s.p.Steps) {
			st := &s.p.Steps[span.Step]
			name = st.Subject
			if st.ToSubject != "" && t > (span.From+span.To)/2 {
				name = st.ToSubject
			}
			if st.Move == KeyFrames && name == "" && len(st.Keys) > 0 {
				name = st.Keys[0].Subject
			}
		}
	}
	return s.p.Subjects[name]
}

// StandOff returns, at a sample, the distance from a subject's ball, the speed at which it shrinks,
// and the distance that the house's stand-off, what neither place is sure of, reaction and
// braking ask at that speed.
func (p *Problem) StandOff(q *Sample, m Motion) (distM, closingMS, neededM float64) {
	away := q.Pos.Sub(m.Box.Centre())
	closingMS = -q.Vel.Sub(m.Vel).Dot(away.Unit())
	v := max(0, closingMS)
	return away.Norm() - m.Box.RadiusM(), closingMS, p.Margins.SubjectM + m.SpreadM + p.Margins.error() + v*p.Margins.ReactionS + v*v/(2*p.Rig.accel())
}

// overlap is how much of 0 to 1 lies between two numbers.
func overlap(from, to float64) float64 { return max(0, min(1, to)-max(0, from)) }

// neutral is the sine of 10°: so near the axis a view belongs to neither side (common practice, no source).
const neutral = 0.1736

// sideOf is the side of a directed line on which a place lies, empty for one on the line itself.
func sideOf(from, along, at geo.Vec3) Side {
	d := at.Sub(from)
	across := along.X*d.Y - along.Y*d.X
	if math.Abs(across) < neutral*along.Horizontal()*d.Horizontal() {
		return ""
	}
	if across > 0 {
		return Left
	}
	return Right
}

// escape tells whether a straight stop ahead, and a climb while stopping, stay free of
// ground and obstacles by the aircraft's position error.
func (s *solver) escape(q *Sample, height float64) (stop, climb Answer) {
	if height <= 0 {
		height = climbOut
	}
	rig := s.p.Rig
	speed := q.Vel.Norm()
	lag := speed * s.p.Margins.ReactionS
	brake := speed * speed / (2 * rig.accel())
	grace := s.p.Margins.error() + 0.5
	stop, climb = Yes, Yes
	along := q.Vel.Unit()
	for d := 0.0; d <= lag+brake; d += 1.5 {
		stop = worse(stop, s.clearAt(q.Pos.Add(along.Scale(d)), grace))
	}
	// Climbing: on at speed for the reaction time, then level braking while rising.
	level := geo.Vec3{X: q.Vel.X, Y: q.Vel.Y}
	v := level.Norm()
	stopping := v / rig.accel()
	for rise := 0.0; rise <= height; rise += 1.5 {
		t := rise / rig.ClimbMS
		b := min(t, stopping)
		pos := q.Pos.Add(q.Vel.Scale(s.p.Margins.ReactionS))
		if v > 0 {
			pos = pos.Add(level.Scale((v*b - rig.accel()*b*b/2) / v))
		}
		pos.Z += rise
		climb = worse(climb, s.clearAt(pos, grace))
	}
	for t := 0.0; t < s.p.Margins.ReactionS; t += 0.2 {
		climb = worse(climb, s.clearAt(q.Pos.Add(q.Vel.Scale(t)), grace))
	}
	return stop, climb
}

func worse(a, b Answer) Answer {
	if a == No || b == No {
		return No
	}
	if a == Unknown || b == Unknown {
		return Unknown
	}
	return Yes
}

// clearAt tells whether a place is farther from ground and obstacles than the grace.
func (s *solver) clearAt(pos geo.Vec3, grace float64) Answer {
	if s.hazards.ground == nil {
		return Unknown
	}
	z, ok := s.hazards.ground.HeightAt(pos.X, pos.Y)
	if !ok {
		return Unknown
	}
	if pos.Z-z < grace {
		return No
	}
	for i := range s.hazards.all {
		h := &s.hazards.all[i]
		c := pos.Sub(h.centre)
		if far := h.radius + grace; c.Dot(c) > far*far {
			continue
		}
		if d, _ := h.shape.Distance(pos); d < grace {
			return No
		}
	}
	return Yes
}

// runUp is the straight way behind a start at speed in which the aircraft gathers that speed, and
// whether it is clear of ground and obstacles.
func (s *solver) runUp(q *Sample) (lengthM float64, free Answer) {
	v := q.Vel.Norm()
	lengthM = v * v / (2 * s.p.Rig.accel())
	free = Yes
	if lengthM < 0.5 {
		return lengthM, Yes
	}
	for d := 0.0; d <= lengthM; d += 1.5 {
		free = worse(free, s.clearAt(q.Pos.Sub(q.Vel.Scale(d/v)), s.p.Margins.error()+0.5))
	}
	return lengthM, free
}

// Pictured is a thing beside the subject that is seen in the frame: crew, a neighbour's home, the
// sun, the aircraft's own shadow.
type Pictured struct {
	Name, Kind   string
	FromS, ToS   float64 // first and last whole second in the frame
	Seconds      float64 // in the frame and not hidden
	LargestShare float64 // of the frame height
	NearestM     float64 // from the camera, while in the frame
}

func pictured(seconds []Second) (all []Pictured) {
	for i := range seconds {
		for _, c := range seconds[i].Contents {
			if c.Hidden {
				continue
			}
			at := -1
			for k := range all {
				if all[k].Name == c.Name && all[k].Kind == c.Kind {
					at = k
				}
			}
			if at < 0 {
				at = len(all)
				all = append(all, Pictured{Name: c.Name, Kind: c.Kind, FromS: seconds[i].T, NearestM: c.DistM})
			}
			x := &all[at]
			x.ToS = seconds[i].T
			x.Seconds++
			x.LargestShare, x.NearestM = max(x.LargestShare, c.Extent.Height()), min(x.NearestM, c.DistM)
		}
	}
	return all
}

// Continuous tells whether two shots that are cut together keep to one side of the axis of
// action: the end of the first and the start of the second lie on the same side, and neither
// crosses. It is unknown where a shot has no axis.
func Continuous(first, second *Report) Answer {
	if first.Side == "" || second.Side == "" {
		return Unknown
	}
	return answer(first.Side == second.Side && len(first.AxisCrossedT) == 0 && len(second.AxisCrossedT) == 0)
}
