package move_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/plan/move"
)

var update = flag.Bool("update", false, "write the problems that testdata/authority/slsqp.py solves")

// discreteShots are the shots that a general solver is given too. Each runs into something:
// a limit, the ground, an obstacle, a moving subject, a pin.
var discreteShots = map[string]string{
	"push in over a crest":  `[{move: push in, subject: bell, from: {east: 90 m, north: -70 m, above_ground: 6 m}, end_distance: 20 m, speed: 9 m/s}]`,
	"truck past the barn":   `[{move: truck, from: {east: -90 m, north: -51 m, above_ground: 7 m}, to: {east: -30 m, north: -50 m, above_ground: 7 m}, speed: 7 m/s}]`,
	"flyover of the mast":   `[{move: flyover, from: {east: 10 m, north: -61 m, above_ground: 30 m}, to: {east: 70 m, north: -60 m, above_ground: 30 m}, speed: 8 m/s}]`,
	"under the line":        `[{move: flyover, from: {east: 5 m, north: 170 m, above_ground: 22 m}, to: {east: 0 m, north: 250 m, above_ground: 20 m}, speed: 9 m/s}]`,
	"arc into the mast":     `[{move: arc, subject: bell, bearing: 110 deg, radius: 72 m, height: 20 m, sweep: 60 deg, speed: 8 m/s}]`,
	"boom beside the barn":  `[{move: pedestal, from: {east: -60 m, north: -64 m, above_ground: 7 m}, to: {east: -58 m, north: -36 m, above_ground: 9 m}, speed: 4 m/s}]`,
	"turn at the mast":      `[{move: truck, from: {east: 10 m, north: -62 m, above_ground: 25 m}, to: {east: 36 m, north: -62 m, above_ground: 25 m}, speed: 7 m/s}, {move: truck, to: {east: 44 m, north: -20 m, above_ground: 25 m}, speed: 7 m/s}]`,
	"there and back":        `[{move: push in, subject: bell, bearing: 200 deg, distance: 60 m, height: 14 m, end_distance: 25 m, speed: 8 m/s}, {move: pull out, subject: bell, end_distance: 55 m, speed: 8 m/s}]`,
	"follow the truck":      `[{move: follow, subject: truck, distance: 14 m, height: 7 m, duration: 9 s}]`,
	"parallel, pulled wide": `[{move: parallel track, subject: truck, side: left, distance: 20 m, height: 8 m, end_distance: 34 m, duration: 8 s}]`,
	"gate by the barn":      `[{move: fly-through, from: {east: -110 m, north: -40 m, above_ground: 20 m}, through: [{east: -60 m, north: -58 m, above_ground: 11 m}], to: {east: -20 m, north: -20 m, above_ground: 15 m}, speed: 7 m/s, look: {azimuth: 90 deg}}]`,
	"keys round the bell":   `[{move: key frames, keys: [{time: 0 s, at: {east: 30 m, north: 0 m, above_ground: 10 m}, subject: bell}, {time: 5 s, at: {east: 20 m, north: 30 m, above_ground: 18 m}, subject: bell}, {time: 11 s, at: {east: -25 m, north: 30 m, above_ground: 12 m}, subject: bell}]}]`,
	"wind on the nose":      `[{move: flyover, from: {east: -60 m, north: 60 m, above_ground: 25 m}, to: {east: 30 m, north: 60 m, above_ground: 25 m}, speed: 10 m/s}]`,
}

func sorted[T any](m map[string]T) []string { return slices.Sorted(maps.Keys(m)) }

func discrete(t *testing.T) []move.Discrete {
	var out []move.Discrete
	for _, name := range sorted(discreteShots) {
		p := valley(read(t, discreteShots[name]))
		if name == "wind on the nose" {
			p.Margins.Wind = geo.Vec3{X: -7, Y: 1}
		}
		d, err := move.Discretise(name, p)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		out = append(out, d)
	}
	return out
}

// The same discretised problems are solved by scipy's SLSQP (D. Kraft, "A software package
// for sequential quadratic programming", DFVLR-FB 88-28, 1988), which evaluates them with
// scipy's own splines and its own distances: testdata/authority/slsqp.py.
func TestNoBetterPathIsFoundByAGeneralSolver(t *testing.T) {
	problems := filepath.Join("testdata", "authority", "problems.json")
	now := discrete(t)
	if *update {
		var lines [][]byte // one problem a line
		for i := range now {
			line, err := json.Marshal(&now[i])
			if err != nil {
				t.Fatal(err)
			}
			lines = append(lines, line)
		}
		text := "[\n" + string(bytes.Join(lines, []byte(",\n"))) + "\n]\n"
		if err := os.WriteFile(problems, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	var kept []move.Discrete
	load(t, problems, &kept)
	var answers struct {
		Tool    string
		Results map[string]struct {
			Cost      float64 `json:"cost"`
			Violation float64 `json:"violation"`
			Seconds   float64 `json:"seconds"`
		}
	}
	load(t, filepath.Join("testdata", "authority", "slsqp.json"), &answers)
	if len(answers.Results) < 10 {
		t.Fatalf("only %d answers", len(answers.Results))
	}
	for i, d := range now {
		k := kept[i]
		if d.Name != k.Name || d.Spans != k.Spans || math.Abs(d.DurationS-k.DurationS) > 1e-6 || math.Abs(d.Jerk-k.Jerk) > 1e-9*k.Jerk {
			t.Fatalf("%s: the problem is not the one that was solved: run go test ./plan/move -run General -update, then testdata/authority/slsqp.py", d.Name)
		}
		for j := range d.Ref {
			for a := range 3 {
				if math.Abs(d.Ref[j][a]-k.Ref[j][a]) > 1e-6 {
					t.Fatalf("%s: the reference at %.2f s is not the one that was solved", d.Name, d.Times[j])
				}
			}
		}
		r, ok := answers.Results[d.Name]
		if !ok {
			t.Errorf("%s: no answer", d.Name)
			continue
		}
		if d.Violation > 1e-3 {
			t.Errorf("%s: a constraint is missed by %.2g", d.Name, d.Violation)
		}
		if r.Violation > 1e-5 {
			t.Errorf("%s: the general solver misses a constraint by %.2g", d.Name, r.Violation)
		}
		t.Logf("%-26s ours %.6f, theirs %.6f (%+.3f %%)", d.Name, d.Cost, r.Cost, 100*(d.Cost/r.Cost-1))
		if d.Cost > r.Cost*1.01+1e-9 {
			t.Errorf("%s: objective %.6f, a general solver reaches %.6f", d.Name, d.Cost, r.Cost)
		}
	}
}

func load(t *testing.T, file string, into any) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err == nil {
		err = json.Unmarshal(text, into)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// Rest to rest, the smoothest runs are polynomials known in closed form:
// minimum jerk 10τ³ − 15τ⁴ + 6τ⁵ (T. Flash and N. Hogan, J. Neurosci. 5 (1985), equation 2) and
// minimum snap 35τ⁴ − 84τ⁵ + 70τ⁶ − 20τ⁷ (the one-segment case of D. Mellinger and V. Kumar,
// "Minimum snap trajectory generation and control for quadrotors", ICRA 2011).
func TestClosedForms(t *testing.T) {
	times := []float64{0, 0.4, 1.1, 2.5, 3.3, 4.9, 5}
	for _, c := range []struct {
		name               string
		degree, derivative int
		form               func(u float64) float64
	}{
		{"minimum jerk", 5, 3, func(u float64) float64 { return u * u * u * (10 + u*(-15+6*u)) }},
		{"minimum snap", 7, 4, func(u float64) float64 { return u * u * u * u * (35 + u*(-84+u*(70-20*u))) }},
	} {
		got := move.Smoothest(c.degree, c.derivative, 12, 5, times)
		for i, at := range times {
			if want := c.form(at / 5); math.Abs(got[3*i]-want) > 1e-6 || math.Abs(got[3*i+1]) > 1e-6 || math.Abs(got[3*i+2]) > 1e-6 {
				t.Errorf("%s at %.1f s: %.9f, %.2g, %.2g, want %.9f, 0, 0", c.name, at, got[3*i], got[3*i+1], got[3*i+2], want)
			}
		}
	}
	for _, u := range []float64{0, 0.2, 0.5, 0.9, 1} {
		way, speed, accel, jerk := move.MinimumJerk(u)
		want := [4]float64{u * u * u * (10 + u*(-15+6*u)), 30*u*u - 60*u*u*u + 30*u*u*u*u, 60*u - 180*u*u + 120*u*u*u, 60 - 360*u + 360*u*u}
		for i, v := range [4]float64{way, speed, accel, jerk} {
			if math.Abs(v-want[i]) > 1e-12 {
				t.Errorf("minimum jerk at %.1f: derivative %d is %g, want %g", u, i, v, want[i])
			}
		}
	}
}

// The double integrator with bounds on acceleration and speed takes 2√(L/a) where it never
// reaches its top speed v, else L/v + v/a (bang-bang, and bang-cruise-bang: M. Athans and
// P. Falb, "Optimal Control", 1966, section 7-2).
func TestFastestTimeIsBangBang(t *testing.T) {
	r := threeAxis()
	for _, c := range []struct{ length, want float64 }{
		{10, 2 * math.Sqrt(10/r.AccelMS2)},
		{60, 2 * math.Sqrt(60/r.AccelMS2)},
		{65.3, 2 * math.Sqrt(65.3/r.AccelMS2)},
		{200, 200/r.SpeedMS + r.SpeedMS/r.AccelMS2},
		{1000, 1000/r.SpeedMS + r.SpeedMS/r.AccelMS2},
	} {
		line := make([]geo.Vec3, 400)
		for i := range line {
			line[i] = geo.Vec3{X: 0.6, Y: 0.8}.Scale(c.length * float64(i) / float64(len(line)-1))
		}
		if got := move.FastestTime(line, r); math.Abs(got/c.want-1) > 0.01 {
			t.Errorf("%g m: %.4f s, want %.4f s", c.length, got, c.want)
		}
	}
	// A full circle at a steady pace is bound by v² / r = a.
	ring := make([]geo.Vec3, 4000)
	for i := range ring {
		s, c := math.Sincos(2 * math.Pi * 20 * float64(i) / float64(len(ring)-1))
		ring[i] = geo.Vec3{X: 10 * s, Y: 10 * c}
	}
	steady := 2 * math.Pi * 10 * 20 / math.Sqrt(10*r.AccelMS2)
	if got := move.FastestTime(ring, r); got < steady || got > steady*1.03 {
		t.Errorf("twenty rings: %.3f s, want a little more than %.3f s", got, steady)
	}
}
