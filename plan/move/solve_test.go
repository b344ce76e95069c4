package move_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
	"fieldfare/plan/move"
)

// hills is rolling ground: 1,000 m above sea with crests of 12 m every 300 m.
type hills struct{}

func (hills) HeightAt(x, y float64) (float64, bool) {
	if math.Abs(x) > 3000 || math.Abs(y) > 3000 {
		return 0, false
	}
	return 1000 + 12*math.Sin(x/48)*math.Cos(y/61), true
}

const deg = float64(unit.Degree)

func camera() lens.Camera {
	return lens.Camera{FocalM: 0.024, SensorWidthM: 0.0236, SensorHeightM: 0.0133, PixelsW: 3840, PixelsH: 2160}
}

func threeAxis() move.Rig {
	return move.Rig{SpeedMS: 14, ClimbMS: 5, DescentMS: 3, AccelMS2: 3, Lean: 25 * unit.Degree,
		YawRate: unit.AngularRate(60 * deg), PanFrom: -300 * unit.Degree, PanTo: 300 * unit.Degree, PanRate: unit.AngularRate(90 * deg),
		TiltFrom: -95 * unit.Degree, TiltTo: 30 * unit.Degree, TiltRate: unit.AngularRate(60 * deg)}
}

func twoAxis() move.Rig {
	r := threeAxis()
	r.TwoAxis, r.SingleOperator = true, true
	r.YawRate = unit.AngularRate(40 * deg)
	return r
}

// valley is a site with a bell, a truck on a bending road, and things in the way.
func valley(steps []move.Step) move.Problem {
	ground := hills{}
	at := func(x, y, up float64) geo.Vec3 {
		z, _ := ground.HeightAt(x, y)
		return geo.Vec3{X: x, Y: y, Z: z + up}
	}
	var times []float64
	var road []geo.Vec3
	for t := 0.0; t <= 60; t += 2 {
		times = append(times, t)
		road = append(road, at(-200+6*t, 60*math.Sin(t/12), 0))
	}
	truck, err := move.NewTrack(times, road, frame.Box{WidthM: 2.4, DepthM: 6, HeightM: 2.8}, 1, 0.05)
	if err != nil {
		panic(err)
	}
	return move.Problem{
		Steps: steps,
		Subjects: map[string]move.Subject{
			"bell":  move.Still(frame.Box{Foot: at(0, 0, 0), WidthM: 3, DepthM: 3, HeightM: 6}),
			"tree":  move.Still(frame.Box{Foot: at(60, 20, 0), WidthM: 6, DepthM: 6, HeightM: 14}),
			"truck": truck,
		},
		Points: map[string]geo.Vec3{"gate": at(-40, 80, 12)},
		Camera: camera(), Rig: threeAxis(),
		Picture: move.Picture{ShutterS: 1.0 / 50, MinCrossingS: 5, MaxSmearPx: 20},
		Margins: move.Margins{ClearanceM: 4, WireClearanceM: 8, SubjectM: 8, PositionErrorM: 1, ReactionS: 1},
		Ground:  ground,
		Obstacles: []move.Obstacle{
			{Name: "barn", Kind: "building", Shape: move.NewBox(at(-60, -50, 0), 12, 8, 9, 0.4)},
			{Name: "mast", Kind: "mast", Shape: move.Cylinder{Base: at(40, -60, 0), RadiusM: 0.5, HeightM: 40}},
			{Name: "line", Kind: "wire", Shape: move.Wire{A: at(-150, 200, 18), B: at(150, 220, 18), SagM: 4}},
		},
		RateHz: 25,
	}
}

// everyMove holds a shot for each move of the glossary.
var everyMove = map[string]string{
	"static":           `[{move: static, subject: bell, start: {size: 30 %, horizon: upper third}, bearing: 200 deg, duration: 6 s}]`,
	"static on moving": `[{move: static, subject: truck, from: {east: -100 m, north: -60 m, above_ground: 15 m}, duration: 12 s}]`,
	"push in":          `[{move: push in, subject: bell, start: {size: 10 %, place: "left third", horizon: upper third}, end: {size: 30 %, place: centre}, bearing: 140 deg, speed: 3 m/s}]`,
	"pull out":         `[{move: pull out, subject: bell, start: {size: 40 %}, end: {size: 6 %, place: "right third, lower third"}, bearing: 20 deg, height: 8 m, end_height: 30 m, duration: 14 s}]`,
	"truck":            `[{move: truck, subject: bell, bearing: 90 deg, distance: 30 m, height: 6 m, travel: 40 m, side: left}]`,
	"pedestal":         `[{move: pedestal, subject: bell, bearing: 90 deg, distance: 30 m, height: 6 m, rise: 30 m}]`,
	"boom":             `[{move: boom, subject: bell, bearing: 270 deg, distance: 25 m, height: 6 m, rise: 20 m, end: {place: lower third}}]`,
	"pan":              `[{move: pan, from: {east: 50 m, north: 50 m, above_ground: 20 m}, look: {azimuth: 200 deg, tilt: -8 deg}, sweep: -70 deg}]`,
	"pan to subject":   `[{move: pan, subject: tree, to_subject: bell, from: {east: 70 m, north: 70 m, above_ground: 20 m}, duration: 9 s}]`,
	"tilt":             `[{move: tilt, from: {east: 50 m, north: 50 m, above_ground: 20 m}, look: {azimuth: 200 deg, tilt: -40 deg}, sweep: 35 deg, duration: 8 s}]`,
	"arc":              `[{move: arc, subject: bell, bearing: 0 deg, radius: 25 m, height: 12 m, sweep: 200 deg, end_radius: 40 m, end_height: 25 m, speed: 5 m/s}]`,
	"orbit on truck":   `[{move: orbit, subject: truck, bearing: 180 deg, radius: 30 m, height: 14 m, sweep: -180 deg, duration: 24 s}]`,
	"reveal":           `[{move: reveal, subject: bell, from: {east: -60 m, north: -75 m, above_ground: 8 m}, rise: 25 m, travel: 10 m}]`,
	"top-down":         `[{move: top-down, subject: bell, start: {size: 20 %}, bearing: 180 deg, rise: 30 m, sweep: 60 deg}]`,
	"flyover":          `[{move: flyover, subject: bell, bearing: 200 deg, distance: 120 m, height: 40 m, travel: 200 m, speed: 8 m/s}]`,
	"fly-through":      `[{move: fly-through, from: {east: -120 m, north: 20 m, above_ground: 20 m}, through: [{point: gate}, {east: 0 m, north: 120 m, above_ground: 15 m}], to: {east: 80 m, north: 100 m, above_ground: 25 m}, speed: 6 m/s}]`,
	"lead":             `[{move: lead, subject: truck, start: {place: lower third}, distance: 25 m, height: 8 m, duration: 20 s}]`,
	"follow":           `[{move: follow, subject: truck, start: {size: 12 %}, height: 8 m, end_distance: 20 m, duration: 20 s}]`,
	"parallel track":   `[{move: parallel track, subject: truck, side: right, start: {size: 12 %, lead_room: 60 %}, height: 6 m, duration: 25 s}]`,
	"key frames": `[{move: key frames, keys: [{time: 0 s, at: {east: 30 m, north: 0 m, above_ground: 10 m}, subject: bell},
		{time: 6 s, at: {east: 20 m, north: 30 m, above_ground: 18 m}, subject: bell}, {time: 13 s, subject: bell, framing: {size: 15 %}, bearing: 300 deg}]}]`,
	"chain": `[{move: push in, subject: bell, start: {size: 8 %}, end: {size: 20 %}, bearing: 140 deg, speed: 3 m/s},
		{move: arc, subject: bell, sweep: 90 deg, end_height: 25 m, speed: 3 m/s},
		{move: pull out, subject: bell, end: {size: 6 %, place: lower third}},
		{move: static, duration: 2 s, look: {tilt: -5 deg}},
		{move: top-down, subject: tree, end_height: 60 m}]`,
}

// once passes on the first complaint of each form.
type once struct {
	tb   interface{ Errorf(string, ...any) }
	said map[string]bool
}

func (o *once) Errorf(form string, args ...any) {
	if !o.said[form] {
		o.said[form] = true
		o.tb.Errorf(form, args...)
	}
}

// sound fails the test when a path breaks a limit, jumps, or holds a number that is none.
func sound(tb interface{ Errorf(string, ...any) }, p *move.Problem, path *move.Path) {
	t := &once{tb: tb, said: map[string]bool{}}
	r := p.Rig
	h := 1 / path.RateHz
	most := math.Min(r.AccelMS2, 9.80665*math.Tan(float64(r.Lean)))
	for i := range path.Samples {
		q := &path.Samples[i]
		for _, v := range []float64{q.Pos.X, q.Pos.Y, q.Pos.Z, q.Vel.Norm(), q.Acc.Norm(), q.Jerk.Norm(), float64(q.Yaw), float64(q.Pan), float64(q.Tilt), q.FocusM} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Errorf("t = %.2f s: %+v is not finite", q.T, q)
				return
			}
		}
		rel := q.Vel.Sub(p.Margins.Wind)
		if v := rel.Horizontal(); v > r.SpeedMS {
			t.Errorf("t = %.2f s: level speed %.3f > %.3f m/s", q.T, v, r.SpeedMS)
		}
		if q.Vel.Z > r.ClimbMS || -q.Vel.Z > r.DescentMS {
			t.Errorf("t = %.2f s: vertical speed %.3f m/s", q.T, q.Vel.Z)
		}
		if a := q.Acc.Norm(); a > most {
			t.Errorf("t = %.2f s: acceleration %.3f > %.3f m/s2", q.T, a, most)
		}
		if q.Tilt < r.TiltFrom || q.Tilt > r.TiltTo || !r.TwoAxis && (q.Pan < r.PanFrom || q.Pan > r.PanTo) || r.TwoAxis && math.Abs(float64(q.Pan)) > 1e-12 {
			t.Errorf("t = %.2f s: tilt %.2f deg, pan %.2f deg out of travel", q.T, q.Tilt.Deg(), q.Pan.Deg())
		}
		if p.Ground != nil {
			if z, ok := p.Ground.HeightAt(q.Pos.X, q.Pos.Y); ok && q.Pos.Z-z < p.Margins.ClearanceM+p.Margins.PositionErrorM-1e-6 {
				t.Errorf("t = %.2f s: %.2f m over ground", q.T, q.Pos.Z-z)
			}
		}
		for _, o := range p.Obstacles {
			need := p.Margins.ClearanceM
			if o.Kind == "wire" && p.Margins.WireClearanceM > 0 {
				need = p.Margins.WireClearanceM
			}
			if d, _ := o.Shape.Distance(q.Pos); d < need+p.Margins.PositionErrorM-1e-6 {
				t.Errorf("t = %.2f s: %.2f m from %s", q.T, d, o.Name)
			}
		}
		if i == 0 {
			continue
		}
		a := &path.Samples[i-1]
		turn := math.Abs(float64((q.Yaw - a.Yaw).Signed())) / h
		if turn > float64(r.YawRate) {
			t.Errorf("t = %.2f s: yaw rate %.2f > %.2f deg/s", q.T, turn/deg, float64(r.YawRate)/deg)
		}
		if v := math.Abs(float64(q.Tilt-a.Tilt)) / h; v > float64(r.TiltRate) {
			t.Errorf("t = %.2f s: tilt rate %.2f deg/s", q.T, v/deg)
		}
		if v := math.Abs(float64(q.Pan-a.Pan)) / h; !r.TwoAxis && v > float64(r.PanRate) {
			t.Errorf("t = %.2f s: pan rate %.2f deg/s", q.T, v/deg)
		}
		// Acceleration is continuous: over a sample it changes by no more than the jerk explains.
		jerk := math.Max(a.Jerk.Norm(), q.Jerk.Norm())
		if d := q.Acc.Sub(a.Acc).Norm(); d > h*jerk*1.5+1e-6+h*h*200 {
			t.Errorf("t = %.2f s: acceleration jumps by %.3f m/s2", q.T, d)
		}
	}
}

func TestEveryMoveIsSolved(t *testing.T) {
	for _, name := range sorted(everyMove) {
		for rigName, rig := range map[string]move.Rig{"three axes": threeAxis(), "two axes": twoAxis()} {
			t.Run(name+"/"+rigName, func(t *testing.T) {
				p := valley(read(t, everyMove[name]))
				p.Rig = rig
				if errs := move.Validate(p.Steps); len(errs) > 0 {
					t.Fatal(errs)
				}
				s, err := move.Solve(p)
				if err != nil {
					t.Fatal(err)
				}
				sound(t, &p, &s.Path)
				if testing.Verbose() {
					fmt.Printf("%-18s %-10s %5.1f s %6.1f m %3d steps\n", name, rigName, s.Path.DurationS(), s.Path.LengthM(), s.Steps)
					for _, b := range s.Bounds {
						fmt.Printf("    %v kept=%v\n", b, b.Kept)
					}
				}
			})
		}
	}
}

var _ = errors.As

// TestResolve: a path that starts from a neighbour's is as good as one from nothing. Neither solve ends in one
// point, since the ground is of flat facets and the objective even near its least; so the one from nothing is given two
// more turns, and half a per cent.
func TestResolve(t *testing.T) {
	was, err := move.Solve(longShot(9))
	if err != nil {
		t.Fatal(err)
	}
	var near []move.Problem
	for _, v := range []unit.Speed{8.5, 8.8, 9, 9.1, 9.3, 9.6} {
		near = append(near, longShot(v))
	}
	for _, focalM := range []float64{0.0235, 0.0245, 0.025, 0.0255, 0.026} {
		p := longShot(9)
		p.Camera.FocalM = focalM
		near = append(near, p)
	}
	for i, p := range near {
		again, err := was.Resolve(p)
		if err != nil {
			t.Fatal(err)
		}
		cold, err := move.Solve(p)
		for range 2 {
			if err == nil {
				cold, err = cold.Resolve(p)
			}
		}
		if err != nil {
			t.Fatal(err)
		}
		if off := move.Cost(again)/move.Cost(cold) - 1; off > 0.005 {
			t.Errorf("problem %d: %.2f %% worse than from nothing", i, 100*off)
		}
		if len(again.Path.Samples) != len(cold.Path.Samples) || again.Steps > cold.Steps+100 {
			t.Errorf("problem %d: %d samples after %d steps, from nothing %d", i, len(again.Path.Samples), again.Steps, len(cold.Path.Samples))
		}
		for _, x := range again.Path.Samples {
			for _, o := range p.Obstacles {
				need := p.Margins.ClearanceM
				if o.Kind == "wire" {
					need = p.Margins.WireClearanceM
				}
				if d, _ := o.Shape.Distance(x.Pos); d < need+p.Margins.PositionErrorM-1e-6 {
					t.Fatalf("problem %d: %.3f m from a %s at t = %.1f s", i, d, o.Name, x.T)
				}
			}
			if z, ok := p.Ground.HeightAt(x.Pos.X, x.Pos.Y); ok && x.Pos.Z-z < p.Margins.ClearanceM+p.Margins.PositionErrorM-1e-6 {
				t.Fatalf("problem %d: %.3f m above ground at t = %.1f s", i, x.Pos.Z-z, x.T)
			}
		}
	}
}

// The factor of a banded matrix is that of the full one.
func TestBandedFactor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, half := rapid.IntRange(1, 30).Draw(t, "n"), rapid.IntRange(0, 9).Draw(t, "half")
		full := make([][]float64, n)
		for i := range full {
			full[i] = make([]float64, n)
			for j := max(0, i-half); j < i; j++ {
				full[i][j] = rapid.Float64Range(-1, 1).Draw(t, "a")
			}
			full[i][i] = 1 + float64(2*half) + rapid.Float64Range(0, 3).Draw(t, "d")
		}
		b := make([]float64, n)
		for i := range b {
			b[i] = rapid.Float64Range(-5, 5).Draw(t, "b")
		}
		x, ok := move.SolveBanded(full, half, b)
		if !ok {
			t.Fatal("a diagonally dominant matrix is positive definite")
		}
		for i := range n {
			sum := -b[i]
			for j := range n {
				sum += full[max(i, j)][min(i, j)] * x[j]
			}
			if math.Abs(sum) > 1e-9 {
				t.Fatalf("row %d is off by %g", i, sum)
			}
		}
		full[n-1][n-1] = -1
		if _, ok := move.SolveBanded(full, half, b); ok {
			t.Fatal("a matrix with a negative diagonal is not positive definite")
		}
	})
}
