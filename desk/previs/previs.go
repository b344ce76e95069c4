// Package previs draws a shot before it is flown: the frame that the planned camera will see
// from the planned place at the planned minute.
//
// Units, axes, signs: the site frame (x east, y north, z up, metres), the camera model and the
// pixel axes of package lens; depth is measured along the lens axis in metres.
//
// Source: perspective is lens.View's. The ground is the bilinear surface of package
// terrain, found ray by ray over a pyramid of highest cells (S. Tevs, I. Ihrke, H.-P. Seidel,
// "Maximum mipmaps for fast, accurate, and scalable dynamic height field rendering", I3D 2008).
// Sun, sky and the balance between them are package sky's. Haze fades contrast by Koschmieder's
// law, with 2 % left at the visibility (WMO-No. 8 takes 5 %).
// Tints of ground, sky and paper are a draughtsman's choice, and so are the roofs that four-walled buildings
// and the crowns that trees get within their envelopes.
//
// Validity: what is drawn stands where the plan says, to a fraction of a pixel; skyline and shadows
// are checked against a ray tracer. The picture is exposed as an eye would, not as a camera
// card says. Equal inputs give equal bytes.
//
// Not modelled: lens distortion, depth of field, curvature of the Earth, plants, people, clouds, lamps,
// and whatever the elevation grid and the site's features do not hold. Ground that is
// not known is left as bare paper with a hatch.
package previs

import (
	"math"
	"sync"
	"time"

	"fieldfare/model/geo"
	"fieldfare/model/sky"
	"fieldfare/model/terrain"
	"fieldfare/plan/assess"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

// Scene is a site ready to be drawn. It is safe for concurrent use.
type Scene struct {
	ground   *field
	solids   []solid
	threads  []thread
	subjects map[string]move.Subject
	movers   []mover
	marks    *marks // roads, rails and water

	mu     sync.Mutex
	shades []*shade // oldest first
}

// mover is a subject that may change its place during a take.
type mover struct {
	name    string
	subject move.Subject
}

// NewScene takes the site's ground, obstacles, roads, water and subjects from a shoot made ready.
func NewScene(a *assess.Assessor) *Scene {
	s := Bare(a.Shoot.Ground())
	s.marks = newMarks(s.ground, a.Shoot.Features())
	for _, o := range a.Obstacles() {
		s.Add(o)
	}
	subjects := a.Subjects()
	s.subjects = subjects
	for i := range a.Shoot.Subjects { // in the order of the file
		x := &a.Shoot.Subjects[i]
		subject := subjects[x.Name]
		if subject == nil {
			continue
		}
		if subject.Moves() {
			s.movers = append(s.movers, mover{x.Name, subject})
			continue
		}
		m, _ := subject.At(0)
		if box := asBox(m.Box); s.free(&box) {
			s.solids = append(s.solids, box)
		}
	}
	return s
}

// Bare is a scene of ground alone.
func Bare(ground *terrain.Grid) *Scene {
	return &Scene{ground: newField(ground)}
}

// Add stands a solid on the scene. It must not be called while the scene is drawn.
func (s *Scene) Add(o move.Obstacle) {
	if w, ok := o.Shape.(move.Wire); ok {
		s.threads = append(s.threads, thread{w.A, w.B, w.SagM})
	}
	s.solids = append(s.solids, solidsOf(o)...)
}

// free reports whether a still subject is a thing of its own: it stands apart from every obstacle
// and is not just a stretch of ground.
func (s *Scene) free(box *solid) bool {
	if box.high.Z-box.low.Z < (box.high.X-box.low.X)/8 {
		return false
	}
	for i := range s.solids {
		o := &s.solids[i]
		if box.low.X < o.high.X && o.low.X < box.high.X && box.low.Y < o.high.Y && o.low.Y < box.high.Y {
			return false
		}
	}
	return true
}

// Moment is the light and the time of the take for which a frame is drawn.
type Moment struct {
	Sun      sky.Position
	Daylight sky.Daylight
	// VisibilityM is the meteorological range for haze; 0 stands for defaultVisibilityM.
	VisibilityM float64
	// TakeS is the time of the take in seconds, for subjects that move.
	TakeS float64
	// Cued names the moving subjects that are on their way in this take; others are not drawn, for nobody knows
	// where they are.
	Cued []string
	// Exposure is a fixed gain, so that the frames of one take match; 0 exposes each frame for itself.
	Exposure float64
	// Craft is the aircraft, for its shadow; nil draws none.
	Craft *Craft
}

// Craft is what of an aircraft throws a shadow.
type Craft struct {
	Pos            geo.Vec3
	Heading        float64 // rad
	SizeM          float64 // largest dimension, rotors included
	RotorDiameterM float64
	Rotors         int
}

const defaultVisibilityM = 45000.0

// MomentOf returns the moment of a take at an instant, takeS seconds into it. Cloud follows the forecast only
// where cloudy asks for it; a clear sky shows what the terrain does to the light.
func MomentOf(a *assess.Assessor, t *assess.Take, at time.Time, takeS float64, cloudy bool) (Moment, error) {
	instant, err := sky.At(at)
	if err != nil {
		return Moment{}, err
	}
	m := Moment{Sun: a.Almanac().Sun(instant), TakeS: takeS}
	class := sky.Clear
	if w, ok := a.Shoot.WeatherAt(at); ok {
		// 10 km stands for "10 km or more" in reports: it says nothing of haze.
		if w.VisibilityM.Known && w.VisibilityM.Value < 9999 {
			m.VisibilityM = w.VisibilityM.Value
		}
		if cloudy && w.CloudOktas.Known {
			class = sky.ClassOfCover(w.CloudOktas.Value / 8)
		}
	}
	m.Daylight = instant.Daylight(m.Sun, class)
	if t != nil {
		s := poseAt(&t.Path, takeS)
		m.Craft = craftOf(t.Airframe(), s)
		m.Cued = cued(t)
	}
	return m, nil
}

// cued names every subject that a slate's frame or moves are about.
func cued(t *assess.Take) []string {
	names := []string{t.Slate.Subject}
	for i := range t.Slate.Moves {
		step := &t.Slate.Moves[i]
		names = append(names, step.Subject, step.ToSubject)
		for k := range step.Keys {
			names = append(names, step.Keys[k].Subject)
		}
	}
	return names
}

func craftOf(f *shoot.Airframe, s move.Sample) *Craft {
	if f == nil {
		return nil
	}
	rotors := f.Rotors
	if f.Coaxial {
		rotors /= 2
	}
	return &Craft{Pos: s.Pos, Heading: float64(s.Yaw), SizeM: float64(f.Size), RotorDiameterM: float64(f.RotorDiameter), Rotors: max(1, rotors)}
}

// poseAt is the path at a time, straight between two samples.
func poseAt(p *move.Path, t float64) move.Sample {
	n := len(p.Samples)
	if n == 1 {
		return p.Samples[0]
	}
	at := math.Max(0, math.Min(float64(n-1), t*p.RateHz))
	i := min(int(at), n-2)
	f := at - float64(i)
	a, b := p.Samples[i], p.Samples[i+1]
	turn := func(x, y float64) float64 { return x + f*math.Remainder(y-x, 2*math.Pi) }
	out := a
	out.T = t
	out.Pos = a.Pos.Lerp(b.Pos, f)
	out.Yaw = angle(turn(float64(a.Yaw), float64(b.Yaw)))
	out.Pan = angle(turn(float64(a.Pan), float64(b.Pan)))
	out.Tilt = angle(turn(float64(a.Tilt), float64(b.Tilt)))
	out.Roll = angle(turn(float64(a.Roll), float64(b.Roll)))
	out.FocalM = a.FocalM + f*(b.FocalM-a.FocalM)
	return out
}
