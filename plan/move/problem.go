package move

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

// Problem is all that a path depends on. It holds no documents: the caller has looked up
// every name.
type Problem struct {
	Steps    []Step
	Subjects map[string]Subject
	Points   map[string]geo.Vec3 // named points of the site, Z on the ground or at the thing's height
	// Locate turns geographic coordinates into the site frame; nil when no step uses them.
	Locate func(lat, lon unit.Angle) (x, y float64)

	Camera  lens.Camera
	Rig     Rig
	Picture Picture
	Margins Margins

	Ground    Terrain // nil: unknown, and reported so
	Obstacles []Obstacle
	RateHz    float64 // samples per second, usually the frame rate
}

// Terrain is the ground in the site frame; ok is false where there is no data.
type Terrain interface {
	HeightAt(x, y float64) (z float64, ok bool)
}

// Motion is a subject at a moment.
type Motion struct {
	Box frame.Box
	Vel geo.Vec3
	// SpreadM is how far off the subject may be from where it is foretold.
	SpreadM float64
}

// Subject is what a frame is about.
type Subject interface {
	// At returns the subject at a time of the take in seconds; ok is false before a track
	// starts and after it ends, when its nearest end is returned.
	At(t float64) (m Motion, ok bool)
	// Moves tells whether it ever moves.
	Moves() bool
}

// Still is a subject that stays: a point or a box.
type Still frame.Box

// At implements Subject.
func (s Still) At(float64) (Motion, bool) { return Motion{Box: frame.Box(s)}, true }

// Moves implements Subject.
func (Still) Moves() bool { return false }

// Rig is what airframe, gimbal and crew can do. Zero values are unlimited only where said so.
type Rig struct {
	SpeedMS   float64    // level, through the air
	ClimbMS   float64    // up
	DescentMS float64    // down, as a positive number
	AccelMS2  float64    // any way
	Lean      unit.Angle // largest tilt of the airframe
	YawRate   unit.AngularRate
	YawAccel  float64 // rad/s²; 0: reached in half a second

	TwoAxis            bool // the mount cannot pan: the aircraft yaws to compose
	PanFrom, PanTo     unit.Angle
	TiltFrom, TiltTo   unit.Angle
	PanRate, TiltRate  unit.AngularRate
	PanAccel, TiltAcel float64 // rad/s²; 0: reached in a quarter of a second

	// SingleOperator flies and frames alone: Workload limits what may move at once.
	SingleOperator bool
	Workload       int // most controls moving at once; 0: 4 alone (common practice, no source)
}

// accel is the largest acceleration, by the airframe's own limit and by its lean.
func (r Rig) accel() float64 {
	a := r.AccelMS2
	if r.Lean > 0 {
		a = min(a, 9.80665*math.Tan(float64(r.Lean)))
	}
	return a
}

func (r Rig) yawAccel() float64 {
	if r.YawAccel > 0 {
		return r.YawAccel
	}
	return 2 * float64(r.YawRate)
}

func (r Rig) tiltAccel() float64 {
	if r.TiltAcel > 0 {
		return r.TiltAcel
	}
	return 4 * float64(r.TiltRate)
}

func (r Rig) panAccel() float64 {
	if r.PanAccel > 0 {
		return r.PanAccel
	}
	return 4 * float64(r.PanRate)
}

// turnRate is the fastest turn of the camera about the upright axis.
func (r Rig) turnRate() float64 {
	if r.TwoAxis {
		return float64(r.YawRate)
	}
	return float64(r.PanRate)
}

func (r Rig) turnAccel() float64 {
	if r.TwoAxis {
		return r.yawAccel()
	}
	return r.panAccel()
}

// Check returns what is missing or absurd in the rig.
func (r Rig) Check() error {
	for _, v := range []struct {
		what string
		v    float64
		most float64
	}{{"level speed", r.SpeedMS, 150}, {"climb speed", r.ClimbMS, 60}, {"descent speed", r.DescentMS, 60},
		{"acceleration", r.AccelMS2, 100}, {"yaw rate", float64(r.YawRate), 50}, {"tilt rate of the gimbal", float64(r.TiltRate), 50}} {
		if !(v.v > 0 && v.v <= v.most) {
			return fmt.Errorf("rig: %s is %g: more than 0 and at most %g is expected", v.what, v.v, v.most)
		}
	}
	if !(r.TiltFrom < r.TiltTo) || math.Abs(float64(r.TiltFrom)) > math.Pi || math.Abs(float64(r.TiltTo)) > math.Pi {
		return fmt.Errorf("rig: tilt travel from %s to %s: the first must be the lower", r.TiltFrom, r.TiltTo)
	}
	if !r.TwoAxis && (!(r.PanFrom < r.PanTo) || !(r.PanRate > 0)) {
		return fmt.Errorf("rig: pan travel from %s to %s at %s: a mount that pans needs travel and rate; else it is a two-axis mount", r.PanFrom, r.PanTo, r.PanRate)
	}
	return nil
}

// Picture is what the picture bears. Zero values are not checked.
type Picture struct {
	ShutterS float64
	// MinCrossingS is the least time in which a far thing may cross the whole frame when
	// the camera turns; 7 s is common practice, no source.
	MinCrossingS float64
	// MaxSmearPx is the most that the subject may smear while the shutter is open.
	MaxSmearPx float64
}

// Margins are kept at all times.
type Margins struct {
	ClearanceM     float64 // from ground and obstacles
	WireClearanceM float64 // from wires; 0: ClearanceM
	SubjectM       float64 // stand-off from a moving subject's box
	PositionErrorM float64 // how far off the aircraft may be
	DriftM         float64 // how far a gust may carry it before it is caught
	ReactionS      float64 // pilot's reaction time
	Wind           geo.Vec3
}

func (m Margins) error() float64 { return m.PositionErrorM + m.DriftM }

// Check returns what is wrong with the problem before any step is looked at.
func (p *Problem) Check() error {
	if err := p.Camera.Check(); err != nil {
		return fmt.Errorf("camera: %w", err)
	}
	if err := p.Rig.Check(); err != nil {
		return err
	}
	if !(p.RateHz >= 1 && p.RateHz <= 1000) {
		return fmt.Errorf("sample rate %g Hz: 1 to 1000 Hz is expected", p.RateHz)
	}
	for _, v := range []struct {
		what string
		v    float64
	}{{"clearance", p.Margins.ClearanceM}, {"wire clearance", p.Margins.WireClearanceM}, {"stand-off", p.Margins.SubjectM},
		{"position error", p.Margins.PositionErrorM}, {"drift", p.Margins.DriftM}, {"reaction time", p.Margins.ReactionS},
		{"shutter", p.Picture.ShutterS}, {"crossing time", p.Picture.MinCrossingS}, {"smear", p.Picture.MaxSmearPx}} {
		if !(v.v >= 0 && v.v < 1e4) {
			return fmt.Errorf("%s %g: 0 or more is expected", v.what, v.v)
		}
	}
	w := p.Margins.Wind
	if n := w.Horizontal(); !(n < p.Rig.SpeedMS) {
		return fmt.Errorf("wind of %.1f m/s at flying height: the rig makes %.1f m/s through the air and cannot hold its place", n, p.Rig.SpeedMS)
	}
	return nil
}
