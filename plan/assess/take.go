package assess

import (
	"context"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"fieldfare/model/air"
	"fieldfare/model/geo"
	"fieldfare/model/gimbal"
	"fieldfare/model/rotor"
	"fieldfare/model/terrain"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
	"fieldfare/plan/move"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

type viewer = frame.View

func inside(p frame.Place, margin float64) bool {
	return p.X > -margin && p.X < 1+margin && p.Y > -margin && p.Y < 1+margin
}

// Take is one slate made ready: its path is solved and everything that does not depend on
// the hour is worked out.
type Take struct {
	Slate *shoot.Slate
	Rig   *shoot.Rig
	Path  move.Path
	// Bounds are the limits that the path ran into.
	Bounds []move.Bound
	// Unsolved says why there is no path; the other numbers are then those of the start.
	Unsolved error

	asked    question // that the path answers
	around   *surroundings
	shoot    *shoot.Shoot
	airframe *shoot.Airframe
	outfit   *outfit // nil for a trainer
	subject  *shoot.Subject
	still    []Finding // findings that no hour changes

	launch     geo.Vec3
	pilot      geo.Vec3
	packs      []*shoot.Pack
	massKg     float64
	rotors     rotor.Airframe
	fit        rotor.Fitted
	rotorErr   error
	shear      air.Shear
	driftM     float64     // how far gusts may carry it, kept in all clearances
	driftKnown bool        // whether the house or the forecast says how hard they blow
	report     move.Report // what the path passes, sees and is seen by
	siteSeaM   float64     // ground at the launch spot
	midSeaM    float64     // mean height of the take above sea
	midGroundM float64     // and above ground
	nearM      float64
	farM       float64

	nearestSubjectM float64
	horizonSeen     bool
	horizonSpan     float64           // of the picture's height
	sceneK          float64           // the scene's white balance, 0: not known
	skylines        []terrain.Skyline // around the subject, at three moments where it moves
	face            geo.Vec3          // outward normal of what is lit and seen
	looks           []look
	bare            []gimbal.Item   // camera with the lens of the slate, nil where it cannot be balanced
	turns           [3]float64      // rad/s, greatest of tilt, roll and pan
	swing           [3]float64      // rad/s², greatest of tilt, roll and pan
	midAzimuth      unit.Angle      // of the camera at mid take
	azimuths        []unit.Angle    // of the camera over the take, those that differ
	samples         []rotor.Sample  // the path for the power model, still air
	numbers         Numbers         // those that no hour changes
	facts           rule.Facts      // likewise, for the rules
	hourly          []*rule.Profile // rules that the hour can break
	asks            map[string]bool // quantities that those look at
	stops           stops           // those that bar the take
	verdict         atomic.Pointer[verdict]
	care            care // safety, worked out once
	gates           []gate
	lights          int  // how many of the gates, from the first, are the light's
	framed          bool // whether one of them asks where the sun stands in the picture

	mu      sync.Mutex
	flights *flights
}

// prepare solves the slate's path and works out all that the hour does not change.
func (a *Assessor) prepare(ctx context.Context, slate *shoot.Slate, was *Assessor) (*Take, error) {
	s := a.Shoot
	t := &Take{Slate: slate, Rig: s.Rig(slate.Rig), around: a.surroundings, shoot: s, facts: rule.Facts{}, asks: maps.Clone(everyHour), flights: newFlights()}
	t.airframe = s.Kit().Airframe(t.Rig.Airframe)
	t.subject = s.Subject(slate.Subject)
	spot := s.Launch(slate.Launch)
	if spot == nil {
		return nil, fmt.Errorf("no launch spot %q", slate.Launch)
	}
	t.launch = spot.Places[0]
	t.pilot = t.launch
	if slate.Pilot != nil {
		t.pilot = s.Frame().ToSite(geo.LatLon(*slate.Pilot), 0)
		t.pilot.Z, _ = s.Ground().HeightAt(t.pilot.X, t.pilot.Y)
	}
	t.pilot.Z += eyeM
	t.siteSeaM = t.launch.Z
	var err error
	if t.outfit, err = newOutfit(s, slate, t.Rig); err != nil {
		return nil, err
	}
	if t.shear, err = shear(s.Site); err != nil {
		return nil, err
	}
	if err := t.solve(ctx, was); err != nil {
		return nil, err
	}
	if before := was.take(slate.Slate); before != nil && a.fliesAlike && reflect.DeepEqual(before.Slate, slate) &&
		before.Path.RateHz == t.Path.RateHz && slices.Equal(before.Path.Samples, t.Path.Samples) {
		t.flights = before.flights.next()
	}
	t.measure()
	t.lift()
	t.picture()
	t.movement()
	t.streak()
	t.safety()
	t.radio()
	t.balance()
	t.crew()
	t.sound()
	t.weigh()
	t.rules()
	t.gates = t.makeGates()
	return t, ctx.Err()
}

// eyeM is a standing person's eye above ground.
const eyeM = 1.6

// shear is the power law of the stated stability, else the logarithmic law of the ground cover.
func shear(site shoot.Site) (air.Shear, error) {
	if site.Stability == "" {
		return air.OverGround(coverOr(site.GroundCover))
	}
	builtUp := site.GroundCover == "closed" || site.GroundCover == "chaotic"
	return air.InStability(air.Stability(site.Stability[0]), builtUp)
}

// coverOr takes open ground where the site does not say; a finding reports it.
func coverOr(cover string) string {
	if cover == "" {
		return "open"
	}
	return cover
}

// Zone returns the site's time zone.
func (t *Take) Zone() *time.Location { return t.shoot.Location() }

// Camera-side limits of the picture where the house does not set its own.
const defaultCrossingS = 7.0 // common practice, no source

// problem puts the slate in the solver's terms.
func (t *Take) problem() move.Problem {
	s, f, h := t.shoot, t.airframe, t.shoot.House
	p := move.Problem{
		Steps: t.Slate.Moves, Subjects: t.around.subjects, Points: t.around.points,
		Locate: func(lat, lon unit.Angle) (x, y float64) {
			v := s.Frame().ToSite(geo.LatLon{Lat: lat, Lon: lon}, 0)
			return v.X, v.Y
		},
		Camera: t.outfit.camera,
		Rig: move.Rig{SpeedMS: float64(f.LevelSpeed), ClimbMS: float64(f.ClimbSpeed), DescentMS: float64(f.DescentSpeed),
			AccelMS2: float64(f.Acceleration), Lean: f.TiltLimit, YawRate: f.YawRate, SingleOperator: t.Rig.Operator == ""},
		Picture: move.Picture{ShutterS: float64(t.Slate.Angle.Deg()) / 360 / float64(t.Slate.Rate), MinCrossingS: float64(h.CrossingTime), MaxSmearPx: h.Smear},
		Margins: move.Margins{ClearanceM: float64(h.Clearance), WireClearanceM: float64(h.WireClearance), SubjectM: float64(h.SubjectDistance),
			PositionErrorM: float64(h.PositionError), DriftM: t.driftM, ReactionS: float64(h.ReactionTime)},
		Ground: s.Ground(), Obstacles: t.around.obstacles, RateHz: float64(t.Slate.Rate),
	}
	if p.Picture.ShutterS == 0 {
		p.Picture.ShutterS = 0.5 / float64(t.Slate.Rate)
	}
	if p.Picture.MinCrossingS == 0 {
		p.Picture.MinCrossingS = defaultCrossingS
	}
	if g := s.Kit().Gimbal(t.Rig.Gimbal); g != nil {
		p.Rig.TwoAxis = g.Axes == 2
		p.Rig.PanFrom, p.Rig.PanTo, p.Rig.PanRate = g.PanFrom, g.PanTo, g.PanRate
		p.Rig.TiltFrom, p.Rig.TiltTo, p.Rig.TiltRate = g.TiltFrom, g.TiltTo, g.TiltRate
	}
	return p
}

// question is a problem of package move, in the site frame of an origin.
type question struct {
	problem move.Problem
	origin  geo.LatLon
}

// solve finds the path, or takes that of the version before if it was asked the same. A slate that cannot be
// flown keeps a take with Unsolved set, so that the check can say so beside all other slates.
func (t *Take) solve(ctx context.Context, was *Assessor) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	t.driftM, t.driftKnown = t.gustDrift()
	t.asked = question{t.problem(), t.shoot.Frame().Origin()}
	if before := was.take(t.Slate.Slate); before != nil && before.asked.same(&t.asked) {
		t.Path, t.Bounds, t.Unsolved = before.Path, before.Bounds, before.Unsolved
		if t.Unsolved != nil {
			t.Path = t.hold()
		}
		return nil
	}
	solution, err := move.Solve(t.asked.problem)
	if t.Unsolved = err; err != nil {
		t.Path = t.hold()
		return nil
	}
	t.Path, t.Bounds = solution.Path, solution.Bounds
	return nil
}

// hold is the path of a slate without one: the aircraft above its launch spot, so that the
// light and the rig can still be looked at. Its findings begin with a stop.
func (t *Take) hold() move.Path {
	at := t.launch.Add(geo.Vec3{Z: 20})
	target, _ := t.around.subjects[t.Slate.Subject]
	yaw, tilt := unit.Angle(0), unit.Angle(0)
	if target != nil {
		m, _ := target.At(0)
		d := m.Box.Centre().Sub(at)
		yaw, tilt = unit.Angle(math.Atan2(d.X, d.Y)).Wrapped(), unit.Angle(math.Atan2(d.Z, d.Horizontal()))
	}
	sample := move.Sample{Pos: at, Yaw: yaw, Tilt: tilt, FocalM: t.outfit.camera.FocalM, FocusM: 100}
	later := sample
	later.T = 1
	return move.Path{RateHz: 1, Samples: []move.Sample{sample, later}}
}

// azimuthStep is by how much the camera must have turned to count as looking elsewhere.
const azimuthStep = 0.5 * unit.Degree

// looksPerTake is at how many moments of a take sun and shadow are compared with the frame.
const looksPerTake = 24

// measure takes what light and power need from the path.
func (t *Take) measure() {
	n := len(t.Path.Samples)
	ground := t.shoot.Ground()
	sea, above, counted := 0.0, 0.0, 0
	stride := max(1, n/200)
	for i := 0; i < n; i += stride {
		p := t.Path.Samples[i]
		t.samples = append(t.samples, rotor.Sample{T: p.T, Pos: p.Pos, Air: p.Vel, Acc: p.Acc})
		sea += p.Pos.Z
		if z, ok := ground.HeightAt(p.Pos.X, p.Pos.Y); ok {
			above += p.Pos.Z - z
			counted++
		}
	}
	t.midSeaM = sea / float64(len(t.samples))
	if counted > 0 {
		t.midGroundM = above / float64(counted)
	}
	step := max(1, (n-1)/(looksPerTake-1))
	for i := 0; i < n; i += step {
		p := &t.Path.Samples[i]
		pose := p.Pose()
		camera := t.outfit.camera
		camera.FocalM = p.FocalM
		axis := camera.Ray(pose, float64(camera.PixelsW)/2, float64(camera.PixelsH)/2)
		t.looks = append(t.looks, look{t: p.T, pos: p.Pos, axis: axis, view: frame.Look(camera, pose)})
	}
	axis := t.looks[len(t.looks)/2].axis
	t.midAzimuth = unit.Angle(math.Atan2(axis.X, axis.Y)).Wrapped()
	for i := range t.looks {
		azimuth := unit.Angle(math.Atan2(t.looks[i].axis.X, t.looks[i].axis.Y)).Wrapped()
		if k := len(t.azimuths); k == 0 || math.Abs(float64((azimuth-t.azimuths[k-1]).Signed())) > float64(azimuthStep) {
			t.azimuths = append(t.azimuths, azimuth)
		}
	}
	mid := t.Path.Samples[n/2]
	centre := mid.Pos.Add(t.looks[len(t.looks)/2].axis.Scale(100))
	if target := t.around.subjects[t.Slate.Subject]; target != nil {
		at := []float64{mid.T}
		if target.Moves() {
			at = []float64{mid.T, 0, t.Path.DurationS()}
		}
		for i, s := range at {
			m, _ := target.At(s)
			if i == 0 {
				centre = m.Box.Centre()
			}
			t.skylines = append(t.skylines, t.around.Skyline(m.Box.Centre()))
		}
	} else {
		t.skylines = append(t.skylines, t.around.Skyline(centre))
	}
	t.skylines = slices.DeleteFunc(t.skylines, func(line terrain.Skyline) bool { return len(line.Points) == 0 })
	toward := mid.Pos.Sub(centre)
	if toward.Horizontal() < 0.5*math.Abs(toward.Z) {
		t.face = geo.Vec3{Z: 1} // seen from above: level ground
	} else {
		t.face = geo.Vec3{X: toward.X, Y: toward.Y}.Unit()
	}
}

func (t *Take) find(s Severity, topic Topic, what, value, limit, basis, mend string) {
	t.still = append(t.still, Finding{Severity: s, Slate: t.Slate.Slate, Topic: topic, What: what, Value: value, Limit: limit, Basis: basis, Mend: mend})
}

func (t *Take) findAt(at float64, s Severity, topic Topic, what, value, limit, basis, mend string) {
	t.find(s, topic, what, value, limit, basis, mend)
	t.still[len(t.still)-1].AtS = &at
}
