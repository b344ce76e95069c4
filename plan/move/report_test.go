package move_test

import (
	"math"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
	"fieldfare/plan/move"
)

// level is a problem on the plain with a still subject of 2 m × 2 m × 6 m at the origin.
func level(t *testing.T, shot string, obstacles ...move.Obstacle) move.Problem {
	p := valley(read(t, shot))
	p.Ground, p.Obstacles = plain{}, obstacles
	p.Subjects = map[string]move.Subject{"bell": move.Still(frame.Box{WidthM: 2, DepthM: 2, HeightM: 6})}
	return p
}

func inspect(t *testing.T, p move.Problem, scene move.Scene) move.Report {
	t.Helper()
	s := solve(t, p)
	return move.Inspect(&p, &s.Path, scene)
}

const aside = `[{move: truck, from: {east: -30 m, north: -40 m, above_ground: 20 m}, look: {azimuth: 0 deg, tilt: -20 deg}, to: {east: 30 m, north: -40 m, above_ground: 20 m}, subject: bell, duration: 14 s}]`

func TestReportOfAPass(t *testing.T) {
	wall := move.Obstacle{Name: "barn", Kind: "building", Shape: move.NewBox(geo.Vec3{Y: -20}, 6, 4, 30, 0)}
	p := level(t, aside, wall)
	pilot := geo.Vec3{X: 0, Y: -100, Z: 1.7}
	r := inspect(t, p, move.Scene{
		Pilot: &pilot,
		Sun:   geo.Vec3{Y: -1, Z: 1}.Unit(),
		Things: []frame.Thing{
			{Name: "house", Kind: "home", Box: frame.Box{Foot: geo.Vec3{X: 10, Y: 60}, WidthM: 8, DepthM: 8, HeightM: 5}},
			{Name: "crew", Kind: "crew", Box: frame.Box{Foot: geo.Vec3{Y: -90}, HeightM: 2}},
		},
		Intrusion: func(_, tilt unit.Angle) string {
			if tilt > -10*unit.Degree {
				return "landing gear"
			}
			return ""
		},
		Axis: &[2]geo.Vec3{{X: -10}, {X: 10}},
	})
	if len(r.Seconds) != 15 {
		t.Fatalf("%d seconds of a shot of 14 s", len(r.Seconds))
	}
	if math.Abs(r.LeastGroundM-20) > 0.05 || r.GroundKnown != move.Yes {
		t.Errorf("%.3f m over level ground, flown at 20 m", r.LeastGroundM)
	}
	// The barn's near wall is at y = -22, the way at y = -40.
	if r.Least != "barn" || math.Abs(r.LeastM-18) > 0.1 || math.Abs(r.LeastT-7) > 0.6 {
		t.Errorf("nearest %s, %.2f m at %.1f s", r.Least, r.LeastM, r.LeastT)
	}
	middle, first := r.Seconds[7], r.Seconds[0]
	if middle.Seen != move.No || middle.Hiding != "barn" || first.Seen != move.Yes {
		t.Errorf("behind the barn: %s, %q; beside it: %s", middle.Seen, middle.Hiding, first.Seen)
	}
	if r.HiddenS < 1 || r.HiddenS > 8 {
		t.Errorf("hidden for %.0f s", r.HiddenS)
	}
	if middle.PilotSees != move.Yes || math.Abs(middle.PilotM-math.Hypot(60, 18.3)) > 0.5 {
		t.Errorf("pilot: %s from %.1f m", middle.PilotSees, middle.PilotM)
	}
	if middle.Stop != move.Yes || middle.ClimbOut != move.Yes {
		t.Errorf("in the open: stop %s, climb out %s", middle.Stop, middle.ClimbOut)
	}
	if r.Side != move.Right || len(r.AxisCrossedT) != 0 {
		t.Errorf("side %q, crossed at %v", r.Side, r.AxisCrossedT)
	}
	names := map[string]bool{}
	for _, c := range middle.Contents {
		names[c.Name] = true
	}
	// Sun from the south at 45°: the shadow falls 20 m north of the aircraft, in view of a camera
	// that looks north and 20° down? It stands 45° down: below the frame.
	if !names["house"] || names["crew"] || names["sun"] || names["own shadow"] {
		t.Errorf("in the frame: %v", names)
	}
	if middle.Intrudes != "" || !middle.HorizonKnown {
		t.Errorf("%q in the frame, horizon known %v", middle.Intrudes, middle.HorizonKnown)
	}
	if r.Rung != move.WideAndOpen {
		t.Errorf("%s: %s", r.Rung, r.RungWhy)
	}
}

func TestOwnShadowAndSun(t *testing.T) {
	p := level(t, `[{move: static, from: {east: 0 m, north: 0 m, above_ground: 20 m}, look: {azimuth: 0 deg, tilt: -45 deg}, duration: 3 s}]`)
	r := inspect(t, p, move.Scene{Sun: geo.Vec3{Y: -1, Z: 1}.Unit()})
	c := r.Seconds[1].Contents
	if len(c) != 1 || c[0].Kind != "own shadow" || math.Abs(c[0].Extent.Left-0.5) > 1e-6 || math.Abs(c[0].Extent.Top-0.5) > 1e-6 {
		t.Errorf("the shadow lies on the lens axis: %+v", c)
	}
	p = level(t, `[{move: static, from: {east: 0 m, north: 0 m, above_ground: 20 m}, look: {azimuth: 180 deg, tilt: 10 deg}, duration: 3 s}]`)
	r = inspect(t, p, move.Scene{Sun: geo.Vec3{Y: -1, Z: 0.2}.Unit()})
	if c = r.Seconds[1].Contents; len(c) != 1 || c[0].Kind != "sun" || c[0].Hidden {
		t.Errorf("into the sun: %+v", c)
	}
}

func TestEscapeIsBlocked(t *testing.T) {
	roof := move.Obstacle{Name: "deck", Kind: "bridge", Shape: move.Prism{Ring: geo.Ring{{X: -60, Y: -60}, {X: 60, Y: -60}, {X: 60, Y: 60}, {X: -60, Y: 60}}, BottomM: 35, TopM: 37}}
	p := level(t, `[{move: flyover, from: {east: -20 m, north: 0 m, above_ground: 15 m}, to: {east: 20 m, north: 0 m, above_ground: 15 m}, speed: 4 m/s}]`, roof)
	r := inspect(t, p, move.Scene{})
	if c := r.Seconds[3]; c.ClimbOut != move.No || c.Stop != move.Yes {
		t.Errorf("under a deck: climb out %s, stop %s", c.ClimbOut, c.Stop)
	}
	if r.Seconds[3].PilotSees != move.Unknown {
		t.Error("no pilot, yet the pilot's sight is known")
	}
	p.Ground = nil
	for i := range p.Steps {
		up := unit.Length(15)
		p.Steps[i].From.AboveGround, p.Steps[i].To.AboveGround = nil, nil
		p.Steps[i].From.AboveSea, p.Steps[i].To.AboveSea = &up, &up
	}
	s, err := move.Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	r = move.Inspect(&p, &s.Path, move.Scene{})
	if r.GroundKnown != move.Unknown || r.Seconds[1].Stop != move.Unknown || r.Seconds[1].Ground != move.Unknown {
		t.Errorf("without terrain: ground %s, stop %s", r.GroundKnown, r.Seconds[1].Stop)
	}
	if bound(s, move.LimitTerrain) == nil {
		t.Error("no bound says that there is no terrain")
	}
}

func TestRehearsalLadder(t *testing.T) {
	tree := func(x, y float64) move.Obstacle {
		return move.Obstacle{Name: "tree", Kind: "tree", Shape: move.Cylinder{Base: geo.Vec3{X: x, Y: y}, RadiusM: 2, HeightM: 30}}
	}
	pass := `[{move: flyover, from: {east: -40 m, north: 0 m, above_ground: 20 m}, to: {east: 40 m, north: 0 m, above_ground: 20 m}, speed: 5 m/s}]`
	for _, c := range []struct {
		name string
		p    move.Problem
		want move.Rung
	}{
		{"open", level(t, pass), move.WideAndOpen},
		{"one tree", level(t, pass, tree(0, 12)), move.NearObjects},
		{"two trees", level(t, pass, tree(0, 12), tree(0, -12)), move.BetweenObjects},
		{"truck", valley(read(t, everyMove["lead"])), move.CloseToMovingThings},
	} {
		s := solve(t, c.p)
		if r := move.Inspect(&c.p, &s.Path, move.Scene{}); r.Rung != c.want || r.RungWhy == "" {
			t.Errorf("%s: %s (%s), want %s", c.name, r.Rung, r.RungWhy, c.want)
		}
	}
	alone := level(t, pass, tree(0, 12))
	alone.Rig = twoAxis()
	s := solve(t, alone)
	if r := move.Inspect(&alone, &s.Path, move.Scene{}); r.Rung != move.BetweenObjects {
		t.Errorf("flown and framed alone: %s", r.Rung)
	}
}

func TestClosingSpeedAndAxisOfATruck(t *testing.T) {
	p := valley(read(t, `[{move: static, subject: truck, from: {east: 60 m, north: 20 m, above_ground: 12 m}, duration: 25 s}]`))
	road := []geo.Vec3{{X: -100, Z: 0}, {X: 0, Z: 0}, {X: 100, Z: 0}}
	truck, err := move.NewTrack([]float64{0, 10, 20}, road, frame.Box{WidthM: 2, DepthM: 6, HeightM: 3}, 0.5, 0.1)
	if err != nil {
		t.Fatal(err)
	}
	p.Ground, p.Obstacles = plain{}, nil
	p.Subjects = map[string]move.Subject{"truck": truck}
	s, err := move.Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	r := move.Inspect(&p, &s.Path, move.Scene{})
	// At 10 m/s along y = 0 past a camera at x = 60, y = 20 and z = 12: nearest at 16 s.
	if math.Abs(r.LeastSubjectT-16) > 0.3 || math.Abs(r.LeastSubjectM-(math.Hypot(20, 10.5)-frame.Box{WidthM: 2, DepthM: 6, HeightM: 3}.RadiusM())) > 0.1 {
		t.Errorf("nearest %.2f m at %.1f s", r.LeastSubjectM, r.LeastSubjectT)
	}
	at := r.Seconds[8]
	d := geo.Vec3{X: 80, Y: 20, Z: 10.5}
	want := 10 * d.Unit().X
	if math.Abs(at.ClosingMS-want) > 0.05 {
		t.Errorf("closing at %.3f m/s, want %.3f", at.ClosingMS, want)
	}
	needed := 8 + 0.5 + 0.1*8 + 1 + want*1 + want*want/(2*3)
	if math.Abs(at.NeededM-needed) > 0.1 {
		t.Errorf("needs %.2f m, want %.2f", at.NeededM, needed)
	}
	if at.Side != move.Left {
		t.Errorf("north of a truck that goes east: %q", at.Side)
	}
}

func TestRunUpAndRunOut(t *testing.T) {
	pass := `[{move: flyover, from: {east: -40 m, north: 0 m, above_ground: 20 m}, to: {east: 40 m, north: 0 m, above_ground: 20 m}, speed: 9 m/s, easing: none}]`
	p := level(t, pass)
	s := solve(t, p)
	r := move.Inspect(&p, &s.Path, move.Scene{})
	if math.Abs(r.RunUpM-81.0/6) > 0.5 || r.RunUp != move.Yes {
		t.Errorf("9 m/s at 3 m/s² takes %.2f m, got %.2f m (%s)", 81.0/6, r.RunUpM, r.RunUp)
	}
	wall := func(x float64) move.Obstacle {
		return move.Obstacle{Name: "wall", Kind: "building", Shape: move.NewBox(geo.Vec3{X: x}, 30, 2, 30, math.Pi/2)}
	}
	s = solve(t, level(t, pass, wall(-50)))
	if b := bound(s, move.LimitStart); b == nil || b.Kept || b.T != 0 {
		t.Errorf("a wall 10 m behind the start: %v", s.Bounds)
	}
	s = solve(t, level(t, pass, wall(52)))
	if b := bound(s, move.LimitEnd); b == nil || b.Kept || b.T < 5 {
		t.Errorf("a wall 12 m beyond the end: %v", s.Bounds)
	}
}

func TestContinuityAndPictured(t *testing.T) {
	axis := &[2]geo.Vec3{{X: -10}, {X: 10}}
	shot := func(from, to string) move.Report {
		p := level(t, `[{move: truck, from: {east: -20 m, north: `+from+`, above_ground: 12 m}, look: {azimuth: 90 deg, tilt: -10 deg}, to: {east: 0 m, north: `+to+`, above_ground: 12 m}, speed: 4 m/s}]`)
		return inspect(t, p, move.Scene{Axis: axis, Things: []frame.Thing{
			{Name: "house", Kind: "home", Box: frame.Box{Foot: geo.Vec3{X: 100, Y: -20}, WidthM: 9, DepthM: 9, HeightM: 6}},
			{Name: "hut", Kind: "home", Box: frame.Box{Foot: geo.Vec3{X: -100, Y: -20}, WidthM: 9, DepthM: 9, HeightM: 6}},
		}})
	}
	south, north, across := shot("-30 m", "-20 m"), shot("30 m", "20 m"), shot("-15 m", "15 m")
	if a := move.Continuous(&south, &south); a != move.Yes {
		t.Errorf("south to south: %s", a)
	}
	if a := move.Continuous(&south, &north); a != move.No {
		t.Errorf("south to north: %s", a)
	}
	if len(across.AxisCrossedT) != 1 || move.Continuous(&across, &north) != move.No {
		t.Errorf("across the axis: crossed at %v", across.AxisCrossedT)
	}
	if a := move.Continuous(&south, &move.Report{}); a != move.Unknown {
		t.Errorf("no axis: %s", a)
	}
	if len(south.Pictured) != 1 || south.Pictured[0].Name != "house" || south.Pictured[0].FromS != 0 || !(south.Pictured[0].LargestShare > 0.05) {
		t.Errorf("in the picture: %+v", south.Pictured)
	}
}
