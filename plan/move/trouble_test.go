package move_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
	"fieldfare/plan/move"
)

// ridge is a hillside: a crest 90 m high along x = 40.
type ridge struct{}

func (ridge) HeightAt(x, y float64) (float64, bool) {
	return 500 + 90*math.Exp(-(x-40)*(x-40)/800), math.Hypot(x, y) < 3000
}

func solve(t *testing.T, p move.Problem) *move.Solution {
	t.Helper()
	s, err := move.Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, &p, &s.Path)
	return s
}

func bound(s *move.Solution, l move.Limit) *move.Bound {
	for i := range s.Bounds {
		if s.Bounds[i].Limit == l {
			return &s.Bounds[i]
		}
	}
	return nil
}

func unsolved(t *testing.T, p move.Problem, words string) {
	t.Helper()
	s, err := move.Solve(p)
	var no *move.Unsolved
	if !errors.As(err, &no) {
		t.Fatalf("got %v, %v", s, err)
	}
	if !strings.Contains(err.Error(), "t = ") || !strings.Contains(err.Error(), words) || no.Mend == "" {
		t.Errorf("%q does not name the moment, or %q, or a mend", err, words)
	}
}

func TestArcThroughAHillside(t *testing.T) {
	p := valley(read(t, `[{move: arc, subject: bell, bearing: 270 deg, radius: 45 m, height: 15 m, sweep: 180 deg, speed: 5 m/s}]`))
	p.Ground, p.Obstacles = ridge{}, nil
	p.Subjects = map[string]move.Subject{"bell": move.Still(frame.Box{Foot: geo.Vec3{X: -20, Z: 500}, WidthM: 3, DepthM: 3, HeightM: 6})}
	s := solve(t, p)
	if b := bound(s, move.LimitGround); b == nil || b.T <= 0 {
		t.Errorf("no bound says when the hill is in the way: %v", s.Bounds)
	}
}

func TestTroubleIsNamed(t *testing.T) {
	p := valley(read(t, everyMove["static"]))
	p.Subjects["bell"] = move.Still(frame.Box{Foot: geo.Vec3{Z: 700}, WidthM: 3, DepthM: 3, HeightM: 6})
	unsolved(t, p, "under ground")

	truck := p.Subjects["truck"]
	sunk, err := move.NewTrack([]float64{0, 10, 20}, []geo.Vec3{{X: -200, Z: 1030}, {X: -140, Z: 1010}, {X: -80, Z: 900}}, frame.Box{HeightM: 3, DepthM: 6, WidthM: 2}, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	p = valley(read(t, everyMove["follow"]))
	p.Subjects["truck"] = sunk
	unsolved(t, p, "under ground")

	p = valley(read(t, `[{move: truck, subject: bell, bearing: 90 deg, distance: 30 m, height: 9 m, travel: 0.0000001 m, side: left}]`))
	unsolved(t, p, "zero length")

	p = valley(read(t, `[{move: static, subject: bell, bearing: 90 deg, distance: 30 m, height: 9 m, duration: 3 s}, {move: push in, subject: bell, travel: 60 m}]`))
	unsolved(t, p, "runs into the subject")

	// A wall 5 km high across the whole site: over it takes more than any pack has, but the
	// path must not pass through.
	p = valley(read(t, `[{move: flyover, from: {east: -100 m, north: 0 m, above_ground: 20 m}, to: {east: 100 m, north: 0 m, above_ground: 20 m}, speed: 8 m/s}]`))
	p.Obstacles = []move.Obstacle{{Name: "wall", Kind: "building", Shape: move.Prism{Ring: geo.Ring{{X: -5, Y: -3000}, {X: 5, Y: -3000}, {X: 5, Y: 3000}, {X: -5, Y: 3000}}, BottomM: 900, TopM: 6000}}}
	unsolved(t, p, "wall")

	// A track that ends before the shot.
	p = valley(read(t, `[{move: follow, subject: truck, distance: 30 m, height: 8 m, duration: 75 s}]`))
	p.Subjects["truck"] = truck
	s := solve(t, p)
	if b := bound(s, move.LimitTrack); b == nil || math.Abs(b.T-60) > 0.1 || math.Abs(b.Nearest.DurationS-60) > 0.1 {
		t.Errorf("track that ends at 60 s: %v", s.Bounds)
	}

	// A subject behind the camera.
	p = valley(read(t, `[{move: static, subject: bell, from: {east: 0 m, north: 50 m, above_ground: 20 m}, look: {azimuth: 10 deg, tilt: 0 deg}, duration: 3 s}]`))
	s = solve(t, p)
	if b := bound(s, move.LimitFraming); b == nil || !strings.Contains(b.String(), "behind the camera") || !strings.Contains(b.String(), "t = 0.0 s") {
		t.Errorf("subject behind the camera: %v", s.Bounds)
	}

	for name, words := range map[string]string{
		`[{move: static, subject: bells, bearing: 3 deg, distance: 20 m, duration: 3 s}]`:                  "no subject",
		`[{move: static, from: {point: nowhere}, duration: 3 s}]`:                                          "no point",
		`[{move: static, from: {east: 9000 m, above_ground: 20 m}, duration: 3 s}]`:                        "outside the terrain",
		`[{move: static, from: {lat: 46 deg, lon: 10 deg, above_ground: 20 m}, duration: 3 s}]`:            "origin",
		`[{move: pan, subject: bell, bearing: 3 deg, distance: 20 m, to_subject: bells}]`:                  "no subject",
		`[{move: pan, subject: bell, bearing: 3 deg, distance: 20 m, sweep: 20 deg, speed: 3 m/s}]`:        "no speed over ground",
		`[{move: push in, subject: bell, bearing: 3 deg, distance: 20 m, travel: 5 m, speed: 0.0001 m/s}]`: "hour",
	} {
		if _, err := move.Solve(valley(read(t, name))); err == nil || !strings.Contains(err.Error(), words) || !strings.Contains(err.Error(), "moves[0]") {
			t.Errorf("%s: %v, want %q", name, err, words)
		}
	}
	p = valley(read(t, everyMove["static"]))
	p.Margins.Wind = geo.Vec3{X: 20}
	if _, err := move.Solve(p); err == nil || !strings.Contains(err.Error(), "wind") {
		t.Errorf("a gale: %v", err)
	}
	p = valley(read(t, everyMove["static"]))
	p.RateHz = 0
	if _, err := move.Solve(p); err == nil {
		t.Error("no sample rate, no complaint")
	}
	p = valley(read(t, everyMove["static"]))
	p.Rig.SpeedMS = math.NaN()
	if _, err := move.Solve(p); err == nil {
		t.Error("a speed that is no number, no complaint")
	}
}

func TestNearestMoves(t *testing.T) {
	// Too fast for the rig: the speed that it can.
	s := solve(t, valley(read(t, `[{move: flyover, from: {east: -250 m, north: 120 m, above_ground: 30 m}, to: {east: 250 m, north: 120 m, above_ground: 30 m}, speed: 20 m/s}]`)))
	b := bound(s, move.LimitSpeed)
	if b == nil || b.Asked != 20 || !(b.Nearest.SpeedMS > 12.5 && b.Nearest.SpeedMS <= 14) || !b.Kept {
		t.Errorf("20 m/s on a rig of 14 m/s: %v", s.Bounds)
	}
	// Too tight an arc for that speed.
	s = solve(t, valley(read(t, `[{move: arc, subject: bell, bearing: 0 deg, radius: 20 m, height: 14 m, sweep: 180 deg, speed: 12 m/s}]`)))
	if b = bound(s, move.LimitAccel); b == nil || !(b.Nearest.SpeedMS > 6 && b.Nearest.SpeedMS < math.Sqrt(3*20)) {
		t.Errorf("12 m/s on 20 m: v²/r is more than 3 m/s² above %.1f m/s: %v", math.Sqrt(60), s.Bounds)
	}
	// Too near a moving subject: the longer lens from the stand-off.
	p := valley(read(t, `[{move: parallel track, subject: truck, side: left, start: {size: 45 %}, height: 4 m, duration: 8 s}]`))
	s = solve(t, p)
	b = bound(s, move.LimitStandOff)
	if b == nil || !(b.Nearest.FocalM > p.Camera.FocalM) || !(b.Nearest.DistanceM > b.Asked) || !strings.Contains(b.String(), "same framing with") {
		t.Fatalf("45 %% of a truck with 24 mm: %v", s.Bounds)
	}
	// And with that lens it is had.
	p.Camera.FocalM = b.Nearest.FocalM
	s = solve(t, p)
	m, _ := p.Subjects["truck"].At(0)
	v := frame.Look(p.Camera, s.Path.Samples[0].Pose())
	if e, ok := v.Extent(m.Box); !ok || math.Abs(e.Height()-0.45) > 0.03 {
		t.Errorf("with %.0f mm the truck fills %.1f %%: %v", p.Camera.FocalM*1000, e.Height()*100, s.Bounds)
	}
	// Looking up farther than the mount can.
	p = valley(read(t, `[{move: static, subject: tree, bearing: 90 deg, distance: 9 m, height: 7 m, start: {place: "centre, lower third"}, duration: 3 s}]`))
	p.Rig.TiltTo = -2 * unit.Degree
	p.Rig.TiltFrom = -40 * unit.Degree
	s = solve(t, p)
	if b = bound(s, move.LimitTiltTravel); b == nil || b.Asked <= b.Allowed {
		t.Errorf("no bound on tilt travel: %v", s.Bounds)
	}
	// A two-axis mount yaws slowly: an arc close by is flown slower.
	p = valley(read(t, `[{move: arc, subject: bell, bearing: 0 deg, radius: 12 m, height: 14 m, sweep: 180 deg, speed: 5 m/s}]`))
	p.Rig = twoAxis()
	p.Rig.YawRate = unit.AngularRate(10 * deg)
	s = solve(t, p)
	if b = bound(s, move.LimitYaw); b == nil || math.Abs(b.Nearest.SpeedMS-10*deg*12) > 0.3 {
		t.Errorf("10 deg/s at 12 m is %.2f m/s: %v", 10*deg*12, s.Bounds)
	}
	// The picture: a pan no faster than the frame may be crossed.
	p = valley(read(t, `[{move: pan, from: {east: 50 m, north: 50 m, above_ground: 20 m}, look: {azimuth: 200 deg, tilt: -8 deg}, sweep: 90 deg, duration: 6 s}]`))
	s = solve(t, p)
	if b = bound(s, move.LimitCrossing); b == nil || !(b.Nearest.DurationS > 90*deg/(float64(p.Camera.HFOV())/p.Picture.MinCrossingS)) {
		t.Errorf("90 deg in 6 s: %v", s.Bounds)
	}
}

// A subject that the camera passes without following it smears: the pass is flown slower.
func TestSmearSlowsAPass(t *testing.T) {
	p := valley(read(t, `[{move: truck, subject: bell, bearing: 90 deg, distance: 25 m, height: 18 m, travel: 30 m, side: left, speed: 8 m/s}]`))
	p.Picture.MaxSmearPx = 10
	s := solve(t, p)
	b := bound(s, move.LimitSmear)
	if b == nil || !b.Kept || !(b.Nearest.SpeedMS < 8) {
		t.Fatalf("8 m/s at 25 m: %v", s.Bounds)
	}
	// The picture of a thing at a depth z moves by f·v/z: 10 px in 1/50 s at about 25 m.
	fx, _ := p.Camera.FocalPixels()
	if want := 10 * 50 * 25 / fx; math.Abs(b.Nearest.SpeedMS/want-1) > 0.25 {
		t.Errorf("%.2f m/s, want about %.2f", b.Nearest.SpeedMS, want)
	}
}

// What is asked is what is seen: framings at the start and the end of a shot.
func TestFramingsAreMet(t *testing.T) {
	p := valley(read(t, `[{move: pull out, subject: bell, bearing: 60 deg, start: {size: 25 %, place: "left third, lower third"}, height: 12 m, end: {size: 9 %, place: "right third, middle", horizon: upper third}}]`))
	s := solve(t, p)
	m, _ := p.Subjects["bell"].At(0)
	for _, c := range []struct {
		q          *move.Sample
		size, x, y float64
	}{
		{&s.Path.Samples[0], 0.25, 1.0 / 3, 2.0 / 3},
		{&s.Path.Samples[len(s.Path.Samples)-1], 0.09, 2.0 / 3, 0.5},
	} {
		v := frame.Look(p.Camera, c.q.Pose())
		at, _, _ := v.Point(m.Box.Centre())
		e, ok := v.Extent(m.Box)
		if !ok || math.Abs(e.Height()-c.size) > 0.01 || math.Abs(at.X-c.x) > 0.01 || math.Abs(at.Y-c.y) > 0.01 {
			t.Errorf("t = %.1f s: %.1f %% at %v, want %.0f %% at %.3f, %.3f", c.q.T, e.Height()*100, at, c.size*100, c.x, c.y)
		}
	}
	last := s.Path.Samples[len(s.Path.Samples)-1]
	v := frame.Look(p.Camera, last.Pose())
	if left, _, ok := v.Horizon(); !ok || math.Abs(float64(left)-1.0/3) > 0.01 {
		t.Errorf("horizon at %v", left)
	}
}

func TestResolveGivesTheSamePath(t *testing.T) {
	p := longShot(9)
	first := solve(t, p)
	again, err := first.Resolve(p)
	if err != nil {
		t.Fatal(err)
	}
	for i := range first.Path.Samples {
		if d := first.Path.Samples[i].Pos.Sub(again.Path.Samples[i].Pos).Norm(); d > 1 {
			t.Fatalf("t = %.2f s: %.2f m apart", first.Path.Samples[i].T, d)
		}
	}
	other := longShot(9.3)
	warm, err := first.Resolve(other)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, &other, &warm.Path)
	once, twice := solve(t, p), solve(t, p)
	for i := range once.Path.Samples {
		if once.Path.Samples[i] != twice.Path.Samples[i] {
			t.Fatalf("two solutions of one problem differ at sample %d", i)
		}
	}
}
