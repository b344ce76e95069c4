package assess_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"fieldfare/model/geo"
	"fieldfare/plan/assess"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
	"fieldfare/plan/standin"
)

// laid is a changed copy of the demo, ready to be changed further.
type laid struct {
	dir string
	*assess.Assessor
	*assess.Take
}

// oneMove is the demo with slate 1A alone, flown by other moves, and more changes beside.
func oneMove(t *testing.T, moves string, more ...string) *laid {
	t.Helper()
	return lay(t, "1A", func(text string) string {
		at := strings.Index(text, "      - {move: static, subject: chapel")
		if at < 0 {
			t.Fatal("the test is out of date: 1A is no static")
		}
		text = text[:at] + "      - " + moves + "\n" // and no other slates
		for i := 0; i < len(more); i += 2 {
			text = swap(t, text, more[i], more[i+1])
		}
		return text
	})
}

func swap(t *testing.T, text, from, to string) string {
	t.Helper()
	if !strings.Contains(text, from) {
		t.Fatalf("the test is out of date: no %q", from)
	}
	return strings.Replace(text, from, to, 1)
}

func lay(t *testing.T, slate string, change func(string) string) *laid {
	t.Helper()
	x := &laid{dir: standin.Copy(t)}
	x.edit(t, shoot.FileName, change)
	x.assess(t, slate)
	return x
}

func (x *laid) edit(t *testing.T, name string, change func(string) string) {
	t.Helper()
	standin.Put(t, x.dir, name, change(standin.Text(t, x.dir, name)))
}

func (x *laid) assess(t *testing.T, slate string) {
	t.Helper()
	x.Assessor = standin.Assess(t, x.dir)
	x.Take = x.Assessor.Take(slate)
}

// found are the findings at noon of the first date.
func (x *laid) found() []assess.Finding {
	s := x.Shoot
	return x.Take.At(s.Dates[0].Midnight(s.Location()).Add(12 * time.Hour)).Findings
}

func first(all []assess.Finding, what string) *assess.Finding {
	for i := range all {
		if strings.Contains(all[i].What, what) {
			return &all[i]
		}
	}
	return nil
}

// sane checks that no path goes through rock or walls, and that no number is none.
func sane(t *testing.T, x *laid) {
	t.Helper()
	if x.Unsolved != nil {
		return
	}
	for i := range x.Path.Samples {
		q := &x.Path.Samples[i]
		for _, v := range []float64{q.Pos.X, q.Pos.Y, q.Pos.Z, q.Vel.Norm(), q.Acc.Norm(), float64(q.Yaw), float64(q.Pan), float64(q.Tilt), q.FocusM} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("t = %.2f s: a number is none", q.T)
			}
		}
		if z, ok := x.Assessor.Shoot.Ground().HeightAt(q.Pos.X, q.Pos.Y); ok && q.Pos.Z < z {
			t.Fatalf("t = %.2f s: %.1f m under ground", q.T, z-q.Pos.Z)
		}
		for _, o := range x.Obstacles() {
			if d, _ := o.Shape.Distance(q.Pos); d < 0 {
				t.Fatalf("t = %.2f s: inside %s", q.T, o.Name)
			}
		}
	}
}

// TestBadMoves: what cannot be flown or framed is a finding that names the moment and the mend.
func TestBadMoves(t *testing.T) {
	for _, c := range []struct {
		name, moves string
		more        []string
		severity    assess.Severity
		what, says  string // of the finding: in its name, and in value, limit or mend
		at          float64
		unsolved    bool
	}{
		{name: "subject under ground", moves: "{move: static, subject: chapel, bearing: 215 deg, height: 16 m, distance: 60 m, duration: 12 s}",
			more:     []string{"width: 14 m, depth: 8 m, height: 10 m, facing: 188 deg}", "elevation: 1500 m, width: 14 m, depth: 8 m, height: 10 m, facing: 188 deg}"},
			severity: assess.Stop, what: "the move", says: "under ground", unsolved: true},
		{name: "arc through a hillside", moves: "{move: arc, subject: chapel, bearing: 215 deg, radius: 420 m, height: 12 m, sweep: 170 deg, speed: 8 m/s}",
			severity: assess.Caution, what: "clearance from ground", says: "raise the camera by", at: -1},
		{name: "zero-length move", moves: "{move: truck, subject: chapel, bearing: 90 deg, distance: 60 m, height: 20 m, travel: 0.0000001 m, side: left}",
			severity: assess.Stop, what: "the move", says: "zero length", unsolved: true},
		{name: "subject behind the camera", moves: "{move: static, subject: chapel, from: {point: chapel, east: 60 m, above_ground: 20 m}, look: {azimuth: 90 deg, tilt: -5 deg}, duration: 8 s}",
			severity: assess.Stop, what: "framing", says: "behind the camera"},
	} {
		t.Run(c.name, func(t *testing.T) {
			x := oneMove(t, c.moves, c.more...)
			sane(t, x)
			if (x.Unsolved != nil) != c.unsolved {
				t.Errorf("unsolved: %v", x.Unsolved)
			}
			f := first(x.found(), c.what)
			if f == nil {
				t.Fatalf("no finding %q in %+v", c.what, x.found())
			}
			if f.Severity != c.severity || !strings.Contains(f.Value+f.Limit+f.Mend+f.What, c.says) || f.Mend == "" {
				t.Errorf("%+v", *f)
			}
			switch {
			case f.AtS == nil || c.at >= 0 && math.Abs(*f.AtS-c.at) > 0.05:
				t.Errorf("moment %v, want %g s", f.AtS, c.at)
			}
		})
	}
}

// TestTrackEndsBeforeTheShot: the demo's truck, followed for longer than its track lasts.
func TestTrackEndsBeforeTheShot(t *testing.T) {
	x := lay(t, "4B", func(text string) string {
		return swap(t, text, "{move: follow, subject: truck, distance: 36 m, height: 15 m, duration: 24 s}", "{move: follow, subject: truck, distance: 36 m, height: 15 m, duration: 400 s}")
	})
	way := x.Shoot.Way("truck")
	end := way[len(way)-1].TimeS
	if end >= 400 {
		t.Fatal("the test is out of date: the track is longer")
	}
	sane(t, x)
	f := first(x.found(), string(move.LimitTrack))
	if x.Unsolved != nil {
		f = first(x.found(), "the move")
	}
	if f == nil || f.Severity != assess.Stop || f.Mend == "" {
		t.Fatalf("%+v", x.found())
	}
	if x.Unsolved == nil && (f.AtS == nil || math.Abs(*f.AtS-end) > 0.1) {
		t.Errorf("moment %v, the track ends at %g s", f.AtS, end)
	}
}

// TestHiddenSubject: a barn of 30 m between camera and chapel hides it, and the finding says when.
func TestHiddenSubject(t *testing.T) {
	x := withFeature(t, "{move: static, subject: chapel, from: {point: chapel, east: 90 m, above_ground: 12 m}, duration: 8 s}",
		`{"type":"Feature","properties":{"kind":"building","name":"tall barn","height":"30 m"},"geometry":{"type":"Polygon","coordinates":[[%s]]}}`, geo.Vec2{X: 45}, 15)
	sane(t, x)
	f := first(x.found(), "chapel hidden")
	if f == nil || f.AtS == nil || *f.AtS != 0 || !strings.Contains(f.Value, "tall barn") || !strings.Contains(f.Value, "8.0 s") {
		t.Fatalf("%+v", x.found())
	}
	if n := x.MoveNumbers(); n.HiddenS < 8 {
		t.Errorf("hidden for %.0f s", n.HiddenS)
	}
}

// TestNeighbours: a home 40 m beyond the chapel in the frame is a question of privacy, by name and time.
func TestNeighbours(t *testing.T) {
	const shot = "{move: static, subject: chapel, from: {point: chapel, east: -90 m, above_ground: 30 m}, duration: 8 s}"
	home := `{"type":"Feature","properties":{"kind":"home","name":"mill cottage"},"geometry":{"type":"Polygon","coordinates":[[%s]]}}`
	x := withFeature(t, shot, home, geo.Vec2{X: 30, Y: -12}, 4)
	f := first(x.found(), "privacy")
	if f == nil || f.Severity != assess.Caution || !strings.Contains(f.Value, "mill cottage from t = 0.0 s to 8.0 s") {
		t.Fatalf("%+v", x.found())
	}
	x = withFeature(t, shot, home, geo.Vec2{X: -300, Y: 0}, 4) // behind the camera
	if f := first(x.found(), "privacy"); f != nil {
		t.Errorf("%+v", *f)
	}
}

// withFeature is oneMove with a square feature about a place that counts from the chapel's.
func withFeature(t *testing.T, moves, feature string, at geo.Vec2, half float64) *laid {
	t.Helper()
	var ring []geo.Vec2
	for _, c := range []geo.Vec2{{X: -half, Y: -half}, {X: half, Y: -half}, {X: half, Y: half}, {X: -half, Y: half}, {X: -half, Y: -half}} {
		ring = append(ring, geo.Vec2{X: at.X + c.X, Y: at.Y + c.Y})
	}
	return withRing(t, moves, feature, ring...)
}

// withRing is oneMove with a feature through places that count from the chapel's.
func withRing(t *testing.T, moves, feature string, places ...geo.Vec2) *laid {
	t.Helper()
	x := oneMove(t, moves)
	s := x.Shoot
	foot, ok := s.Foot(s.Subject("chapel"))
	if !ok {
		t.Fatal("no chapel")
	}
	var ring []string
	for _, c := range places {
		q := s.Frame().ToLatLon(geo.Vec3{X: foot.X + c.X, Y: foot.Y + c.Y})
		ring = append(ring, fmt.Sprintf("[%.8f,%.8f]", q.Lon.Deg(), q.Lat.Deg()))
	}
	x.edit(t, "site.geojson", func(text string) string {
		return swap(t, text, `"features":[`, `"features":[`+fmt.Sprintf(feature, strings.Join(ring, ","))+",")
	})
	x.assess(t, "1A")
	return x
}

// TestLineOfAction: two shots of one scene from both sides of a line between chapel and bridge.
func TestLineOfAction(t *testing.T) {
	both := func(bearing, more string) *laid {
		return lay(t, "1B", func(text string) string {
			text = swap(t, text, "- slate: 1A\n", "- slate: 1A\n    axis: [chapel, bridge]\n")
			text = swap(t, text, "- slate: 1B\n", "- slate: 1B\n    axis: [chapel, bridge]\n"+more)
			return swap(t, text, "{move: pan, subject: chapel, bearing: 250 deg, distance: 90 m, height: 30 m, to_subject: hamlet, duration: 14 s}",
				"{move: static, subject: chapel, bearing: "+bearing+", distance: 90 m, height: 30 m, duration: 8 s}")
		})
	}
	// The bridge lies east of the chapel: bearing 215° is right of the line, 0° left.
	x := both("0 deg", "")
	f := first(x.found(), "line of action across the cut from 1A")
	if f == nil || f.Severity != assess.Caution || !strings.Contains(f.Value, "left") || !strings.Contains(f.Limit, "right") || f.Mend == "" {
		t.Errorf("%+v", x.found())
	}
	if x.MoveNumbers().AxisSide != "left" {
		t.Errorf("side %q", x.MoveNumbers().AxisSide)
	}
	if f := first(both("0 deg", "    cross_axis: true\n").found(), "line of action"); f != nil {
		t.Errorf("crossed on purpose: %+v", *f)
	}
	if f := first(both("190 deg", "").found(), "line of action"); f != nil {
		t.Errorf("from one side: %+v", *f)
	}
	y := oneMove(t, "{move: arc, subject: chapel, bearing: 135 deg, radius: 150 m, height: 50 m, sweep: -90 deg, speed: 6 m/s}", "- slate: 1A\n", "- slate: 1A\n    axis: [chapel, bridge]\n")
	if f := first(y.found(), "line of action"); f == nil || f.AtS == nil || *f.AtS < 5 {
		t.Errorf("an arc across the line: %+v", y.found())
	}
	if _, err := shoot.Load(lay(t, "1A", func(s string) string { return s }).broken(t, "- slate: 1A\n", "- slate: 1A\n    axis: [chapel, bridje]\n")); err == nil || !strings.Contains(err.Error(), "bridje") {
		t.Errorf("an axis to nothing: %v", err)
	}
}

// broken changes the shoot file and returns the folder.
func (x *laid) broken(t *testing.T, from, to string) string {
	x.edit(t, shoot.FileName, func(s string) string { return swap(t, s, from, to) })
	return x.dir
}

// TestStandOff: a camera that stands in the truck's way is told by its closing speed.
func TestStandOff(t *testing.T) {
	x := lay(t, "4A", func(text string) string { return text })
	way := x.Shoot.Way("truck")
	at := way[len(way)/3]
	q := x.Assessor.Shoot.Frame().ToLatLon(at.Pos)
	y := lay(t, "4A", func(text string) string {
		return swap(t, text, "{move: lead, subject: truck, distance: 35 m, height: 14 m, duration: 20 s}",
			fmt.Sprintf("{move: static, subject: truck, from: {lat: %.7f deg, lon: %.7f deg, above_ground: 16 m}, duration: %.0f s}", q.Lat.Deg(), q.Lon.Deg(), at.TimeS+5))
	})
	sane(t, y)
	f := first(y.found(), "stand-off from truck, closing at")
	if f == nil || f.Severity != assess.Stop || f.AtS == nil || *f.AtS > at.TimeS || f.Mend == "" {
		t.Fatalf("%+v (%v)", y.found(), y.Unsolved)
	}
	if n := y.MoveNumbers(); n.Class != "close to moving subjects" || n.ClosingMS == nil || *n.ClosingMS < 1 {
		t.Errorf("class %q, closing %v", n.Class, n.ClosingMS)
	}
	if f := first(x.found(), "stand-off from truck"); f != nil {
		t.Errorf("4A as it stands: %+v", *f)
	}
}

// TestRungAgrees: the class of the report is the one that the pilot's rung is held against.
func TestRungAgrees(t *testing.T) {
	x := lay(t, "4A", func(text string) string { return swap(t, text, "rung: close to moving subjects", "rung: near objects") })
	for _, take := range x.Takes() {
		y := &laid{Assessor: x.Assessor, Take: take}
		n := take.MoveNumbers()
		f := first(y.found(), "rung of Ines Aldrow")
		over := n.Class == "between objects" || n.Class == "close to moving subjects"
		if (f != nil) != over || f != nil && (f.Severity != assess.Stop || f.Limit != n.Class) {
			t.Errorf("%s is %q (%s), the rung's finding %+v", take.Slate.Slate, n.Class, n.ClassWhy, f)
		}
		if n.ClassWhy == "" {
			t.Errorf("%s: no reason for %q", take.Slate.Slate, n.Class)
		}
	}
	if got := x.MoveNumbers().Class; got != "close to moving subjects" {
		t.Errorf("ahead of a truck at 35 m: %q", got)
	}
}

// TestMarginsOfTheHouse: gusts and smear reach the solver, a step without a subject has the slate's.
func TestMarginsOfTheHouse(t *testing.T) {
	calm := oneMove(t, "{move: push in, bearing: 215 deg, distance: 90 m, height: 16 m, end_distance: 60 m, speed: 3 m/s}", "gust: 11 m/s", "gust: 8 m/s")
	if calm.Unsolved != nil {
		t.Fatal(calm.Unsolved)
	}
	if n := calm.MoveNumbers(); n.SubjectStartPct == nil || n.LeastSubjectM == nil || *n.LeastSubjectM > 62 {
		t.Errorf("without a subject of its own: %+v", n)
	}
	rough := oneMove(t, "{move: push in, bearing: 215 deg, distance: 90 m, height: 16 m, end_distance: 60 m, speed: 3 m/s}", "gust: 11 m/s", "gust: 15 m/s", "wind: 8 m/s", "wind: 9 m/s")
	a, b := calm.MoveNumbers().DriftM, rough.MoveNumbers().DriftM
	if a == nil || b == nil || !(*a >= 0 && *a < *b && *b < 10) {
		t.Errorf("drift %v in gusts to 8 m/s, %v in gusts to 15 m/s", a, b)
	}
	unknown := oneMove(t, "{move: push in, bearing: 215 deg, distance: 90 m, height: 16 m, end_distance: 60 m, speed: 3 m/s}", "  gust: 11 m/s\n", "", "forecast: forecast.csv\n", "")
	if f := first(unknown.found(), "drift in gusts"); f == nil || f.Severity != assess.Unknown || unknown.MoveNumbers().DriftM != nil {
		t.Errorf("no word of gusts: %+v", f)
	}
	const fast = "{move: truck, subject: chapel, bearing: 215 deg, distance: 40 m, height: 20 m, side: right, travel: 60 m, look: {azimuth: 35 deg, tilt: -20 deg}, speed: 7 m/s}"
	if f := first(oneMove(t, fast).found(), string(move.LimitSmear)); f != nil {
		t.Errorf("no limit is set: %+v", *f)
	}
	f := first(oneMove(t, fast, "crossing_time: 5 s", "crossing_time: 5 s\n  smear_px: 2").found(), string(move.LimitSmear))
	if f == nil || f.AtS == nil || f.Basis != "house rule" || !strings.Contains(f.Limit, "2 px") || !strings.Contains(f.Mend, "m/s") {
		t.Errorf("7 m/s past the chapel: %+v", f)
	}
}

// TestEscape: under a wire along the whole way there is no climb-out, though a straight stop is free.
func TestEscape(t *testing.T) {
	const shot = "{move: truck, subject: chapel, from: {point: chapel, east: -140 m, north: -60 m, above_ground: 25 m}, look: {azimuth: 0 deg, tilt: -10 deg}, to: {point: chapel, east: -90 m, north: -60 m, above_ground: 25 m}, speed: 6 m/s}"
	open := oneMove(t, shot)
	if open.Unsolved != nil {
		t.Fatal(open.Unsolved)
	}
	if n := open.MoveNumbers(); n.EscapeFreePct == nil || *n.EscapeFreePct != 100 {
		t.Errorf("in the open: %v", n.EscapeFreePct)
	}
	if f := first(open.found(), "straight stop"); f != nil {
		t.Errorf("in the open: %+v", *f)
	}
	under := withRing(t, strings.ReplaceAll(shot, "above_ground: 25 m", "above_ground: 38 m"),
		`{"type":"Feature","properties":{"kind":"wire","name":"cableway","height":"60 m","sag":"0 m"},"geometry":{"type":"LineString","coordinates":[%s]}}`,
		geo.Vec2{X: -200, Y: -60}, geo.Vec2{X: -30, Y: -60})
	sane(t, under)
	f := first(under.found(), "climb-out")
	if f == nil || f.Severity != assess.Caution || f.AtS == nil || !strings.Contains(f.Value, "a straight stop is") {
		t.Errorf("under a wire: %+v (%v)", under.found(), under.Unsolved)
	}
	blind := oneMove(t, shot, "  reaction_time: 1.5 s\n", "")
	if f := first(blind.found(), "way to stop"); f == nil || f.Severity != assess.Unknown {
		t.Errorf("no reaction time: %+v", blind.found())
	}
}

// TestAlone: what two people share is too much for one, and the class says that it is flown and framed alone.
func TestAlone(t *testing.T) {
	const shot = "{move: arc, subject: chapel, bearing: 215 deg, radius: 60 m, height: 16 m, sweep: 140 deg, end_radius: 30 m, end_height: 40 m, speed: 5 m/s}"
	two := oneMove(t, shot)
	one := oneMove(t, shot, "    operator: Tomas Quell\n", "")
	if f := first(two.found(), string(move.LimitWorkload)); f != nil {
		t.Errorf("with an operator: %+v", *f)
	}
	f := first(one.found(), string(move.LimitWorkload))
	if f == nil || f.AtS == nil || f.Limit != "4" || !strings.Contains(f.Value, "controls at once") || !strings.Contains(f.Mend, "two people") {
		t.Fatalf("alone: %+v", one.found())
	}
	if n := one.MoveNumbers(); n.MostControls < 5 {
		t.Errorf("%d controls at once", n.MostControls)
	}
}

// A wire nearer than anything else is not the name under which another obstacle's distance stands.
func TestObstacleBesideAWireKeepsItsName(t *testing.T) {
	const shot = "{move: static, subject: chapel, from: {point: chapel, east: -90 m, above_ground: 30 m}, duration: 8 s}"
	wire := `{"type":"Feature","properties":{"kind":"wire","height":"10 m","name":"feeder line"},"geometry":{"type":"LineString","coordinates":[%s]}}`
	x := withFeature(t, shot, wire, geo.Vec2{X: -90, Y: 0}, 4)
	x.edit(t, shoot.FileName, func(text string) string { return swap(t, text, "  clearance: 5 m", "  clearance: 0 m") })
	x.assess(t, "1A")
	if n := x.MoveNumbers().NearestObstacle; n != "feeder line" {
		t.Fatalf("nearest is %q: the test is out of date", n)
	}
	if first(x.found(), "clearance from chapel tower") == nil || first(x.found(), "clearance from feeder line") != nil {
		t.Errorf("%+v", x.found())
	}
}
