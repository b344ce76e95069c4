package risk_test

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/risk"
	"fieldfare/model/unit"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.9g, want %.9g within %g", what, got, want, tolerance)
	}
}

func must[T any](t *testing.T) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// Source: EASA, Guidelines for UAS operations in the open and specific category, issue 2
// (2024), part I (quoted text): ALOS 327 CD + 20 and 490 CD + 30, DLOS 0.3 GV to 5 km.
func TestLineOfSightDistances(t *testing.T) {
	for _, c := range []struct{ dimension, rotor, fixed float64 }{{0.3, 118.1, 177}, {0.5, 183.5, 275}, {1, 347, 520}, {3, 1001, 1500}} {
		near(t, "ALOS rotorcraft", must[float64](t)(risk.AttitudeLineOfSight(risk.Rotorcraft, c.dimension)), c.rotor, 1e-9)
		near(t, "ALOS fixed wing", must[float64](t)(risk.AttitudeLineOfSight(risk.FixedWing, c.dimension)), c.fixed, 1e-9)
	}
	for _, c := range []struct{ visibility, limit float64 }{{5000, 1500}, {1000, 300}, {9999, 1500}} {
		near(t, "DLOS", must[float64](t)(risk.DetectionLineOfSight(c.visibility)), c.limit, 1e-9)
	}
	near(t, "VLOS", must[float64](t)(risk.VisualLineOfSight(risk.Rotorcraft, 1, 1000)), 300, 1e-9)
	near(t, "VLOS", must[float64](t)(risk.VisualLineOfSight(risk.Rotorcraft, 0.5, 5000)), 183.5, 1e-9)
}

// Source: worked examples of a public study set for SORA 2.5 Annex A.5 (multirotor
// 10 m/s 22.1 m; fixed wing 30 m/s 195.9 m) and values worked by hand from its formulas
// with g = 9.81.
func TestContingencyVolume(t *testing.T) {
	base := risk.Volume{SpeedMS: 15, GeographyHeightM: 100, ReactionS: 1, PitchOrBank: 45 * unit.Degree, Allowances: risk.DefaultAllowances()}
	c := must[risk.Contingency](t)(base.Contingency())
	near(t, "recovery", c.RecoveryM, 11.468, 1e-3)
	near(t, "S_CV", c.HorizontalM, 33.468, 1e-3)
	near(t, "H_CV", c.HeightM, 122.968, 1e-3)
	near(t, "stop at 30°", must[float64](t)(risk.StoppingDistance(15, 30*unit.Degree)), 19.863, 1e-3)

	slow := base
	slow.SpeedMS = 10
	near(t, "S_CV at 10 m/s", must[risk.Contingency](t)(slow.Contingency()).HorizontalM, 22.1, 0.05)

	wing := base
	wing.SpeedMS, wing.Recovery, wing.PitchOrBank = 30, risk.TurnBack, 30*unit.Degree
	near(t, "S_CV fixed wing", must[risk.Contingency](t)(wing.Contingency()).HorizontalM, 195.9, 0.05)

	steep := base
	steep.PitchOrBank = 50 * unit.Degree
	if _, err := steep.Contingency(); err == nil {
		t.Error("a pitch of 50° was taken; the source allows 45°")
	}
	hasty := base
	hasty.ReactionS = 0.5
	if _, err := hasty.Contingency(); err == nil {
		t.Error("a reaction time of 0.5 s was taken; the source asks for 1 s")
	}
}

// Source: the same study set (1:1 113.85 m, ballistic 48.77 m for 10 m/s, CD 1.5 m, H
// 113.1 m), and values worked by hand from its formulas.
func TestGroundRiskBuffer(t *testing.T) {
	near(t, "1:1", must[float64](t)(risk.OneToOneBuffer(113.1, 1.5)), 113.85, 5e-3)
	near(t, "ballistic", must[float64](t)(risk.BallisticBuffer(10, 113.1, 1.5)), 48.77, 0.05)
	near(t, "1:1", must[float64](t)(risk.OneToOneBuffer(122.968, 1)), 123.468, 1e-3)
	for _, c := range []struct{ v, h, cd, want float64 }{{15, 122.968, 1, 75.605}, {15, 100, 1, 68.229}, {20, 120, 0.5, 99.174}, {10, 50, 0.35, 32.103}} {
		near(t, "ballistic", must[float64](t)(risk.BallisticBuffer(c.v, c.h, c.cd)), c.want, 1e-3)
	}
	near(t, "parachute", must[float64](t)(risk.ParachuteBuffer(15, 2, 8, 100, 5)), 15*2+8*20, 1e-9)
	near(t, "glide", must[float64](t)(risk.GlideBuffer(8, 100)), 800, 1e-9)
}

// Source: JARUS SORA 2.5 main body, iGRC table (two public transcriptions).
func TestGroundRiskClass(t *testing.T) {
	columns := []struct{ cd, v float64 }{{1, 25}, {3, 35}, {8, 75}, {20, 120}, {40, 200}}
	rows := []struct {
		density float64
		class   [5]int
	}{
		{risk.ControlledGround, [5]int{1, 1, 2, 3, 3}}, {4.9, [5]int{2, 3, 4, 5, 6}}, {49, [5]int{3, 4, 5, 6, 7}},
		{499, [5]int{4, 5, 6, 7, 8}}, {4999, [5]int{5, 6, 7, 8, 9}}, {49999, [5]int{6, 7, 8, 9, 10}}, {50001, [5]int{7, 8, 0, 0, 0}},
	}
	for _, row := range rows {
		for i, want := range row.class {
			got, err := risk.GroundRiskClass(10, columns[i].cd, columns[i].v, row.density)
			if got != want || (want == 0) != errors.Is(err, risk.ErrOutsideTable) {
				t.Errorf("%g people/km², %g m: class %d (%v), want %d", row.density, columns[i].cd, got, err, want)
			}
		}
	}
	for _, c := range []struct {
		mass, cd, v, density float64
		want                 int
	}{{2, 0.9, 20, 300, 4}, {2, 0.9, 30, 300, 5}, {0.25, 0.3, 25, 60000, 1}, {2, 1, 25, 5, 3}} {
		if got := must[int](t)(risk.GroundRiskClass(c.mass, c.cd, c.v, c.density)); got != c.want {
			t.Errorf("class of %+v is %d, want %d", c, got, c.want)
		}
	}
}

// Source: JARUS SORA 2.5 Annex F, π(CD/2 + 0.3 m)², from memory.
func TestSteepCriticalAreaFromMemory(t *testing.T) {
	near(t, "critical area", risk.SteepCriticalArea(1), 2.0106, 1e-4)
}

// Sources: 14 CFR 107.120(a) 11 ft·lb and 107.130(a) 25 ft·lb (section texts), in joules
// by the exact foot and pound-force; speeds worked by hand from ½ m v².
func TestKineticEnergy(t *testing.T) {
	const footPound = 0.3048 * 0.45359237 * 9.80665
	near(t, "11 ft·lb", 11*footPound, 14.914, 1e-3)
	near(t, "25 ft·lb", 25*footPound, 33.895, 1e-3)
	for _, c := range []struct{ m, v11, v25, v80 float64 }{{0.25, 10.923, 16.467, 25.298}, {0.9, 5.757, 8.679, 13.333}, {4, 2.731, 4.117, 6.325}} {
		near(t, "speed at 11 ft·lb", risk.SpeedOfEnergy(c.m, 11*footPound), c.v11, 1e-3)
		near(t, "speed at 25 ft·lb", risk.SpeedOfEnergy(c.m, 25*footPound), c.v25, 1e-3)
		near(t, "speed at 80 J", risk.SpeedOfEnergy(c.m, 80), c.v80, 1e-3)
	}
	near(t, "energy", risk.KineticEnergy(0.25, 19), 45.125, 1e-9)
	near(t, "energy", risk.KineticEnergy(2, 20), 400, 1e-9)
}

// Source: textbook v = √(2mg/(ρ S Cd)), values worked by hand.
func TestTerminalVelocity(t *testing.T) {
	for _, c := range []struct{ m, area, want float64 }{{0.9, 0.03, 21.916}, {2, 0.06, 23.102}, {10, 0.25, 25.307}} {
		v, ok := risk.Body{MassKg: c.m, DragAreaM2: c.area}.TerminalVelocity(1.225)
		if !ok {
			t.Fatal("no terminal velocity")
		}
		near(t, "terminal velocity", v, c.want, 1e-3)
	}
	if _, ok := (risk.Body{MassKg: 1}).TerminalVelocity(1.225); ok {
		t.Error("a body without drag was given a terminal velocity")
	}
}

// Source: closed form of the free fall (textbook): t = √(2h/g), range v·t.
func TestFallWithoutDrag(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(0.1, 3000).Draw(t, "h")
		v := rapid.Float64Range(0, 60).Draw(t, "v")
		got, err := risk.Body{MassKg: 3}.Fall(geo.Vec3{Z: h + 250}, geo.Vec3{X: v}, risk.Air{DensityKgM3: 1.2, SteadyMS: geo.Vec3{Y: 9}}, risk.Level(250))
		if err != nil {
			t.Fatal(err)
		}
		fall := math.Sqrt(2 * h / risk.StandardGravityMS2)
		if math.Abs(got.FallS-fall) > 1e-7*fall+1e-9 || math.Abs(got.DistanceM-v*fall) > 1e-6*(1+v*fall) {
			t.Fatalf("fell %g s and %g m, want %g s and %g m", got.FallS, got.DistanceM, fall, v*fall)
		}
		if want := math.Sqrt(v*v + 2*risk.StandardGravityMS2*h); math.Abs(got.SpeedMS-want) > 1e-7*want {
			t.Fatalf("impact at %g m/s, want %g", got.SpeedMS, want)
		}
	})
}

// Source: closed form of the vertical fall with quadratic drag (textbook):
// v = v_t·tanh(g t/v_t), h = v_t²/g·ln cosh(g t/v_t), so v = v_t·√(1 − e^(−2gh/v_t²)).
func TestFallWithDragFollowsTanhLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := risk.Body{MassKg: rapid.Float64Range(0.1, 40).Draw(t, "m"), DragAreaM2: rapid.Float64Range(0.001, 3).Draw(t, "cda")}
		h := rapid.Float64Range(0.5, 500).Draw(t, "h")
		got, err := b.Fall(geo.Vec3{Z: h}, geo.Vec3{}, risk.Air{DensityKgM3: 1.225}, risk.Level(0))
		if err != nil {
			t.Fatal(err)
		}
		vt, _ := b.TerminalVelocity(1.225)
		g := risk.StandardGravityMS2
		speed := vt * math.Sqrt(-math.Expm1(-2*g*h/(vt*vt)))
		if math.Abs(got.SpeedMS-speed) > 1e-6*speed {
			t.Fatalf("impact at %.9g m/s, want %.9g", got.SpeedMS, speed)
		}
		if back := vt * math.Tanh(g*got.FallS/vt); math.Abs(back-speed) > 1e-5*speed {
			t.Fatalf("after %g s v_t·tanh gives %g m/s, want %g", got.FallS, back, speed)
		}
	})
}

func authority(t testing.TB, name string) [][]float64 {
	t.Helper()
	f, err := os.Open("testdata/authority/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]float64
	for _, record := range records[1:] {
		row := make([]float64, len(record))
		for i, cell := range record {
			if row[i], err = strconv.ParseFloat(cell, 64); err != nil {
				t.Fatal(err)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// Source: testdata/authority/fall.py, SciPy's DOP853 on the same equations of motion.
func TestFallAgainstSciPy(t *testing.T) {
	for i, r := range authority(t, "fall.csv") {
		b := risk.Body{MassKg: r[0], DragAreaM2: r[1]}
		air := risk.Air{DensityKgM3: r[2], SteadyMS: geo.Vec3{X: r[9], Y: r[10]}}
		got := must[risk.Impact](t)(b.Fall(geo.Vec3{X: r[3], Y: r[4], Z: r[5]}, geo.Vec3{X: r[6], Y: r[7], Z: r[8]}, air, risk.Level(0)))
		if e := got.Pos.Sub(geo.Vec3{X: r[12], Y: r[13]}).Norm(); e > 1e-4 {
			t.Errorf("case %d lands %g m away", i, e)
		}
		if e := got.Vel.Sub(geo.Vec3{X: r[14], Y: r[15], Z: r[16]}).Norm(); e > 1e-4 {
			t.Errorf("case %d is %g m/s off", i, e)
		}
		near(t, "duration", got.FallS, r[11], 1e-5)
	}
}

type slope struct{ rise float64 }

func (s slope) HeightAt(x, y float64) (float64, bool) { return s.rise * x, x < 1000 }

func TestFallOverTerrain(t *testing.T) {
	// Closed form: z = 100 − g t²/2 meets 0.2·x = 0.2·20·t.
	g := risk.StandardGravityMS2
	want := (-4 + math.Sqrt(16+2*g*100)) / g
	got := must[risk.Impact](t)(risk.Body{MassKg: 1}.Fall(geo.Vec3{Z: 100}, geo.Vec3{X: 20}, risk.Air{}, slope{0.2}))
	near(t, "fall onto a slope", got.FallS, want, 1e-7)
	_, err := risk.Body{MassKg: 1}.Fall(geo.Vec3{X: 990, Z: 400}, geo.Vec3{X: 20}, risk.Air{}, slope{0.2})
	if !errors.Is(err, risk.ErrGroundUnknown) {
		t.Errorf("fall off the terrain gave %v", err)
	}
	if _, err := (risk.Body{MassKg: 1}).Fall(geo.Vec3{Z: -5}, geo.Vec3{}, risk.Air{}, risk.Level(0)); err == nil {
		t.Error("a start below the ground was taken")
	}
	for _, bad := range []risk.Body{{MassKg: math.NaN()}, {MassKg: 1, DragAreaM2: math.Inf(1)}, {}} {
		if _, err := bad.Fall(geo.Vec3{Z: 5}, geo.Vec3{}, risk.Air{}, risk.Level(0)); err == nil {
			t.Errorf("body %+v was taken", bad)
		}
	}
}

// Drag takes energy and time is finite: less energy than in vacuum, and the worst of the
// drags is at least any of them.
func TestDragShortensAndWindCarries(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(1, 300).Draw(t, "h")
		vel := geo.Vec3{X: rapid.Float64Range(0, 30).Draw(t, "v")}
		cda := rapid.Float64Range(0.001, 2).Draw(t, "cda")
		at := geo.Vec3{Z: h}
		calm := risk.Air{DensityKgM3: 1.2}
		windy := risk.Air{DensityKgM3: 1.2, SteadyMS: geo.Vec3{X: 40}}
		vacuum, _ := risk.Body{MassKg: 5}.Fall(at, vel, calm, risk.Level(0))
		still, err := risk.Body{MassKg: 5, DragAreaM2: cda}.Fall(at, vel, calm, risk.Level(0))
		if err != nil {
			t.Fatal(err)
		}
		carried, _ := risk.Body{MassKg: 5, DragAreaM2: cda}.Fall(at, vel, windy, risk.Level(0))
		if still.EnergyJ > vacuum.EnergyJ*(1+1e-9) || still.FallS < vacuum.FallS*(1-1e-9) {
			t.Fatalf("drag added energy or shortened the fall: %+v against %+v", still, vacuum)
		}
		if carried.DistanceM < still.DistanceM {
			t.Fatalf("a tail wind shortened the fall: %g < %g", carried.DistanceM, still.DistanceM)
		}
		far, hard, err := risk.WorstFall(5, 2, at, vel, calm, risk.Level(0))
		if err != nil || far.DistanceM < still.DistanceM-1e-6 || hard.EnergyJ < still.EnergyJ-1e-6 {
			t.Fatalf("worst fall %g m %g J is milder than %g m %g J (%v)", far.DistanceM, hard.EnergyJ, still.DistanceM, still.EnergyJ, err)
		}
	})
}

// Source: closed form: free fall for the opening time, then steady sink in steady wind.
func TestParachuteDrift(t *testing.T) {
	c := risk.Parachute{OpenS: 2, SinkMS: 5}
	air := risk.Air{DensityKgM3: 1.2, SteadyMS: geo.Vec3{X: 8}}
	got := must[risk.Impact](t)(c.Drift(risk.Body{MassKg: 8}, geo.Vec3{Z: 120}, geo.Vec3{X: 15}, air, risk.Level(0)))
	left := 120 - 0.5*risk.StandardGravityMS2*4
	near(t, "time", got.FallS, 2+left/5, 1e-6)
	near(t, "drift", got.DistanceM, 30+8*left/5, 1e-6)
	near(t, "sink", got.Vel.Z, -5, 1e-9)
	low := must[risk.Impact](t)(c.Drift(risk.Body{MassKg: 8}, geo.Vec3{Z: 10}, geo.Vec3{}, air, risk.Level(0)))
	near(t, "too low to open", low.SpeedMS, math.Sqrt(2*risk.StandardGravityMS2*10), 1e-6)
}

type ridge struct{}

func (ridge) HeightAt(x, y float64) (float64, bool) {
	return 80 * math.Max(0, 1-math.Abs(x-200)/20), x > -1000
}

func TestLineOfSightOverARidge(t *testing.T) {
	eye := geo.Vec3{Z: 1.7}
	for _, c := range []struct {
		target geo.Vec3
		want   risk.Sight
	}{
		{geo.Vec3{X: 400, Z: 100}, risk.SightBlocked}, // at x 200 the line is at 50.85 m, the ridge at 80
		{geo.Vec3{X: 400, Z: 170}, risk.SightClear},   // 85.85 m
		{geo.Vec3{X: -1200, Z: 170}, risk.SightUnknown},
	} {
		if got, err := risk.LineOfSight(ridge{}, eye, c.target, 1); err != nil || got != c.want {
			t.Errorf("sight to %v is %v (%v), want %v", c.target, got, err, c.want)
		}
	}
	path := []geo.Vec3{{X: 100, Z: 60}, {X: 400, Z: 60}, {X: 420, Z: 60}}
	watch := must[risk.Watch](t)(risk.StandSpotters(ridge{}, []risk.Watcher{{"pilot", eye}, {"far side", geo.Vec3{X: 380, Z: 1.7}}}, path, 350, 1))
	if watch.Unseen != 0 || len(watch.Keepers) != 2 || watch.SeenBy[0] != 0 || watch.SeenBy[2] != 1 {
		t.Errorf("spotters: %+v", watch)
	}
}

func TestSunSeparation(t *testing.T) {
	at := geo.Vec3{Y: 100}
	near(t, "toward the sun", risk.SunSeparation(geo.Vec3{}, at, 0, 0).Deg(), 0, 1e-9)
	near(t, "above", risk.SunSeparation(geo.Vec3{}, at, 0, 30*unit.Degree).Deg(), 30, 1e-9)
	near(t, "east", risk.SunSeparation(geo.Vec3{}, at, 90*unit.Degree, 0).Deg(), 90, 1e-9)
	near(t, "behind", risk.SunSeparation(geo.Vec3{}, at, 180*unit.Degree, 0).Deg(), 180, 1e-9)
}

func TestLostLinkHeight(t *testing.T) {
	from, home := geo.Vec3{X: 400, Z: 30}, geo.Vec3{Z: 0}
	h := must[float64](t)(risk.LostLinkHeight(ridge{}, []geo.Vec3{from, home}, 20, 0, 1))
	near(t, "lost-link height", h, 100, 1e-9)
	c := must[risk.Clearance](t)(risk.RouteClearance(ridge{}, risk.ReturnRoute(from, home, h), 0, 1))
	near(t, "clearance", c.LeastM, 20, 1e-9)
	low := must[risk.Clearance](t)(risk.RouteClearance(ridge{}, []geo.Vec3{from, {Z: 30}}, 0, 1))
	near(t, "straight escape", low.LeastM, -50, 1e-9)
	if _, err := risk.LostLinkHeight(ridge{}, []geo.Vec3{from, {X: -1200}}, 20, 0, 1); !errors.Is(err, risk.ErrGroundUnknown) {
		t.Errorf("unknown ground gave %v", err)
	}
}

// Source: wind triangle (textbook): 3-4-5.
func TestLandingReach(t *testing.T) {
	d := risk.Diversion{AirspeedMS: 5, PowerW: 1000, DescentMS: 2, DescentPowerW: 800, ClimbMS: 2, ClimbPowerW: 1500,
		WindMS: geo.Vec3{Y: 3}, ReserveJ: 20000}
	spots := []risk.Spot{{"east", geo.Vec3{X: 40}}, {"into wind", geo.Vec3{Y: -200}}}
	table := must[[][]risk.Reach](t)(d.LandingReach([]risk.Charge{{TimeS: 0, Pos: geo.Vec3{Z: 20}, LeftJ: 40000}}, spots))
	r := table[0][0]
	near(t, "travel", r.TravelS, 10+10, 1e-9) // 40 m at 4 m/s, 20 m down at 2 m/s
	near(t, "needed", r.NeededJ, 1000*10+800*10, 1e-9)
	near(t, "left", r.LeftJ, 22000, 1e-9)
	if !r.Reachable || table[0][1].Reachable {
		t.Errorf("reach: %+v", table)
	}
	best, ok := risk.NearestReachable(table[0])
	if !ok || best.Spot != 0 {
		t.Errorf("nearest: %+v %v", best, ok)
	}
	d.WindMS = geo.Vec3{Y: 6}
	table = must[[][]risk.Reach](t)(d.LandingReach([]risk.Charge{{LeftJ: 1e9}}, spots))
	if !table[0][0].Headwind || !table[0][1].Headwind {
		t.Errorf("6 m/s of wind against 5 m/s of airspeed was beaten: %+v", table)
	}
}

// Wind by height that is the same at every height is steady wind.
func TestWindByHeight(t *testing.T) {
	wind := geo.Vec3{X: 4, Y: -3}
	body, from, speed := risk.Body{MassKg: 5, DragAreaM2: 0.3}, geo.Vec3{Z: 90}, geo.Vec3{X: 8, Z: 2}
	steady, err := body.Fall(from, speed, risk.Air{DensityKgM3: 1.1, SteadyMS: wind}, risk.Level(0))
	if err != nil {
		t.Fatal(err)
	}
	byHeight, err := body.Fall(from, speed, risk.Air{DensityKgM3: 1.1, WindMS: func(float64) geo.Vec3 { return wind }}, risk.Level(0))
	if err != nil || byHeight != steady {
		t.Errorf("%+v, steady %+v (%v)", byHeight, steady, err)
	}
	shear, err := body.Fall(from, speed, risk.Air{DensityKgM3: 1.1, WindMS: func(z float64) geo.Vec3 { return wind.Scale(z / 90) }}, risk.Level(0))
	if err != nil || !(shear.DistanceM < steady.DistanceM) {
		t.Errorf("with less wind below it drifts %v m, in steady wind %v m (%v)", shear.DistanceM, steady.DistanceM, err)
	}
}

func BenchmarkFall(b *testing.B) {
	body := risk.Body{MassKg: 9.8, DragAreaM2: 0.2}
	air := risk.Air{DensityKgM3: 1.2, SteadyMS: geo.Vec3{X: 6}}
	var ground risk.Surface = risk.Level(0)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := body.Fall(geo.Vec3{Z: 60}, geo.Vec3{X: 10}, air, ground); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkSciPyCases stands beside bench/safety.sh, which times SciPy on the same falls.
func BenchmarkSciPyCases(b *testing.B) {
	rows := authority(b, "fall.csv")
	for b.Loop() {
		for _, r := range rows {
			air := risk.Air{DensityKgM3: r[2], SteadyMS: geo.Vec3{X: r[9], Y: r[10]}}
			if _, err := (risk.Body{MassKg: r[0], DragAreaM2: r[1]}).Fall(geo.Vec3{X: r[3], Y: r[4], Z: r[5]}, geo.Vec3{X: r[6], Y: r[7], Z: r[8]}, air, risk.Level(0)); err != nil {
				b.Fatal(err)
			}
		}
	}
}
