package review_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"fieldfare/desk/review"
	"fieldfare/desk/track"
	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.6g, want %.6g within %g", what, got, want, tol)
	}
}

// Source: scipy 1.10.1's savgol_filter (Debian); authority/savgol.py.
func TestSmoothingAgainstSavitzkyGolay(t *testing.T) {
	var a struct{ X, V []float64 }
	data, err := os.ReadFile("testdata/authority/savgol.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &a); err != nil {
		t.Fatal(err)
	}
	f := make([]review.Fix, len(a.X))
	for i := range f {
		f[i] = review.Fix{UnixS: 1.78e9 + float64(i)/10, Pos: geo.Vec3{X: a.X[i], Z: 1500}, Has: track.Timed | track.Height}
	}
	review.Smooth(f)
	for i := 5; i < len(f)-5; i++ { // the ends are fitted otherwise there
		near(t, fmt.Sprint("velocity at ", i), f[i].Vel.X, a.V[i], 1e-4) // times of 1.78e9 s hold 2e-7 s
	}
}

var cue = time.Date(2026, 6, 21, 10, 0, 0, 0, time.UTC)

// planned is a bent path of 40 s: north, then turning east while climbing.
func planned() []review.Planned {
	var p []review.Planned
	for i := range 401 {
		t := float64(i) / 10
		a := max(0, t-15) * 0.06 // course bends from 15 s on
		v := geo.Vec3{X: 5 * math.Sin(a), Y: 5 * math.Cos(a), Z: 0.2}
		s := review.Planned{T: t, Vel: v, Yaw: unit.Angle(a), Tilt: -10 * unit.Degree, Pos: geo.Vec3{Z: 1520}}
		if i > 0 {
			s.Pos = p[i-1].Pos.Add(p[i-1].Vel.Add(v).Scale(0.05))
		}
		p = append(p, s)
	}
	return p
}

// flown repeats a path from a start in Unix seconds, moved by d, with still flight around it.
func flown(path []review.Planned, start float64, d geo.Vec3, hz float64) []review.Fix {
	var f []review.Fix
	last := path[len(path)-1].T
	for u := -60.0; u <= last+60; u += 1 / hz {
		i := min(max(int(math.Round(u*10)), 0), len(path)-1)
		p := path[i]
		f = append(f, review.Fix{UnixS: start + u, Pos: p.Pos.Add(d), Yaw: p.Yaw, Pan: p.Pan, Tilt: p.Tilt, VoltageV: 22.2, CurrentA: 20,
			Has: track.Timed | track.Height | track.Yaw | track.Pan | track.Tilt | track.Voltage | track.Current})
	}
	review.Smooth(f)
	return f
}

type plane float64

func (p plane) HeightAt(x, y float64) (float64, bool) { return float64(p), true }

func unixS(t time.Time) float64 { return float64(t.UnixMilli()) / 1000 }

func TestClockOffsetIsFound(t *testing.T) {
	for _, off := range []float64{0, 7.3, -7200, 5400.25} {
		f := flown(planned(), unixS(cue)-off, geo.Vec3{X: 0.5}, 10)
		o, err := review.ClockOffset([]review.Timed{{Cue: cue, Path: planned()}}, f)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "offset", o.S, off, 0.1)
		near(t, "left over", o.RMSM, 0.5, 0.05)
		zone := map[float64]string{-7200: "-2 h", 5400.25: "+1.5 h"}[off]
		if o.Ambiguous || o.Zone != zone {
			t.Errorf("%+v, want zone %q", o, zone)
		}
	}
	// Two takes of the same move: each alone fits twice, together only once.
	one := flown(planned(), unixS(cue), geo.Vec3{}, 5)
	two := flown(planned(), unixS(cue)+300, geo.Vec3{}, 5)
	both := append(one, two...)
	o, err := review.ClockOffset([]review.Timed{{cue.Add(20 * time.Second), planned()}}, both)
	if err != nil || !o.Ambiguous {
		t.Errorf("one take of two alike: %+v %v", o, err)
	}
	o, err = review.ClockOffset([]review.Timed{{cue.Add(20 * time.Second), planned()}, {cue.Add(320 * time.Second), planned()}}, both)
	if err != nil || o.Ambiguous {
		t.Errorf("both takes: %+v %v", o, err)
	}
	near(t, "offset from both", o.S, 20, 0.2)
	if _, err := review.ClockOffset([]review.Timed{{cue, planned()}}, flown(planned(), unixS(cue), geo.Vec3{X: 900}, 10)); err == nil || !strings.Contains(err.Error(), "another sortie") {
		t.Error(err)
	}
}

func flight(f []review.Fix) review.Flight {
	limit := func(v float64) *review.Limit { return &review.Limit{Value: v, Basis: "house rule"} }
	wh := 30.0
	return review.Flight{Sortie: "2026-06-21/1", Fixes: f, Ground: plane(1500),
		Clearance: func(p geo.Vec3) (float64, bool) { return 40, true },
		People: func(p geo.Vec3, _ time.Time) (float64, bool) {
			return p.Sub(geo.Vec3{X: -60, Z: 1500}).Horizontal(), true
		},
		Limits:          review.Limits{MaxSpeedMS: limit(6), MaxAboveGroundM: limit(120), MinClearanceM: limit(10), MinPeopleM: limit(50)},
		EnergyPlannedWh: &wh,
		Takes: []review.Take{{Slate: "4B", Take: 1, Cue: cue, Path: planned(), PlannedAt: cue.Add(-time.Hour),
			Light: func(at time.Time) (review.Light, bool) {
				return review.Light{IlluminanceLx: 50000 + 10*at.Sub(cue).Seconds()}, true
			}}},
	}
}

func has(r *review.Report, severity, what string) bool {
	for _, f := range r.Findings {
		if f.Severity == severity && strings.Contains(f.What, what) {
			return true
		}
	}
	return false
}

// Every number here follows from the way the flight was made: 2 m right of a path that
// is straight for 15 s, 1.5 m above it, begun 3 s after the cue.
func TestTakeIsMeasured(t *testing.T) {
	straight := planned()[:151]
	f := flight(flown(straight, unixS(cue)+3, geo.Vec3{X: 2, Z: 1.5}, 10))
	f.Takes[0].Path = straight
	r, err := review.Review(f)
	if err != nil {
		t.Fatal(err)
	}
	k := r.Takes[0]
	near(t, "after cue", *k.AfterCueS, 3, 0.05)
	near(t, "across", k.Across.Mean, 2, 0.01)
	near(t, "up", k.Up.Mean, 1.5, 0.02)
	near(t, "along", k.Along.RMS, 0, 0.3)
	near(t, "distance", k.DistanceM.RMS, 2.5, 0.05) // 2 and 1.5: a 3-4-5 triangle
	near(t, "aim", k.AimDeg.RMS, 0, 1e-6)
	near(t, "above ground", *r.MaxAboveM, 20+15*0.2+1.5, 1e-6)
	near(t, "clearance", *r.MinClearM, 40, 0)
	near(t, "people", *r.MinPeopleM, 62, 1e-6)
	near(t, "energy", *r.EnergyUsedWh, 22.2*20*(f.Fixes[len(f.Fixes)-1].UnixS-f.Fixes[0].UnixS)/3600, 1e-6)
	near(t, "light", *k.LightRatio, 50030.0/14000, 0.001)
	advice := strings.Join(r.Change, "\n")
	for _, want := range []string{"1.5 m above", "2.0 m to the right"} {
		if !strings.Contains(advice, want) {
			t.Errorf("advice lacks %q:\n%s", want, advice)
		}
	}
	if !has(r, "unknown", "wind from drift") || len(r.Events) != 0 {
		t.Errorf("%v %v", r.Findings, r.Events)
	}
}

func TestFramingDeviation(t *testing.T) {
	path := planned()
	fx := flown(path, unixS(cue), geo.Vec3{}, 10)
	for i := range fx {
		fx[i].Tilt -= 4 * unit.Degree
	}
	f := flight(fx)
	r, err := review.Review(f)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "camera axis 4° low", r.Takes[0].AimDeg.RMS, 4, 0.05)
	// The subject 100 m ahead on the axis: flown 20 m nearer it is a quarter larger.
	hold := []review.Planned{}
	for i := range 101 {
		hold = append(hold, review.Planned{T: float64(i) / 10, Pos: geo.Vec3{X: math.Sin(float64(i) / 10), Z: 1520}})
	}
	g := flight(flown(hold, unixS(cue), geo.Vec3{Y: 20}, 10))
	g.Takes[0].Path = hold
	g.Takes[0].Subject = func(float64) (geo.Vec3, bool) { return geo.Vec3{Y: 100, Z: 1520}, true }
	if r, err = review.Review(g); err != nil {
		t.Fatal(err)
	}
	near(t, "size", r.Takes[0].Size.Mean, 0.25, 0.01)
	near(t, "aim moves by the smaller distance only", r.Takes[0].AimDeg.RMS, 0, 0.2)
}

func TestEventsAndUnknowns(t *testing.T) {
	fx := flown(planned(), unixS(cue), geo.Vec3{}, 10)
	f := flight(fx)
	f.Limits.MaxSpeedMS = &review.Limit{Value: 4.5, Basis: "house rule"}
	f.Limits.MinPeopleM = &review.Limit{Value: 59.5 + 2, Basis: "permit 7"}
	f.Limits.MinClearanceM = nil
	f.Ground = nil
	r, err := review.Review(f)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Events) < 2 || r.Events[0].What != "distance to people" || r.Events[1].What != "speed over ground" { // in order of time
		t.Fatalf("%+v", r.Events)
	}
	e := r.Events[1]
	near(t, "begins with the take", e.From.Sub(cue).Seconds(), 0, 0.6)
	near(t, "ends with the take", e.To.Sub(cue).Seconds(), 40, 0.6)
	near(t, "worst", e.Worst, math.Hypot(5, 0.2), 0.02)
	if !has(r, "stop", "speed over ground passed its limit") || !has(r, "stop", "distance to people passed its limit") ||
		!has(r, "unknown", "no limit is given for clearance") || !has(r, "unknown", "height above ground is not known") {
		t.Errorf("%+v", r.Findings)
	}
	if r.Caution == "" || r.MaxAboveM != nil {
		t.Error("unknown must not become a number")
	}
	f.Fixes = fx[:5]
	if _, err := review.Review(f); err == nil {
		t.Error("five fixes were reviewed")
	}
}

// A gap over a take is unknown, not flown well.
func TestGapIsUnknown(t *testing.T) {
	fx := flown(planned(), unixS(cue), geo.Vec3{}, 10)
	var holed []review.Fix
	for _, x := range fx {
		if d := x.UnixS - unixS(cue); d < 10 || d > 16 {
			holed = append(holed, x)
		}
	}
	r, err := review.Review(flight(holed))
	if err != nil {
		t.Fatal(err)
	}
	if k := r.Takes[0]; k.Missing < 55 || k.Missing > 65 || !has(r, "unknown", "lie in gaps") {
		t.Errorf("%d missing, %v", k.Missing, r.Findings)
	}
}

// Ground velocities made from an airspeed and a wind give them back: the circle is exact.
func TestWindFromCircle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		air := rapid.Float64Range(5, 20).Draw(t, "air")
		speed := rapid.Float64Range(0, 0.5).Draw(t, "share") * air
		from := rapid.Float64Range(0, 2*math.Pi).Draw(t, "from")
		var f []review.Fix
		for i := range 200 {
			s, c := math.Sincos(float64(i) / 200 * 2 * math.Pi)
			f = append(f, review.Fix{UnixS: float64(i), Vel: geo.Vec3{X: air*s - speed*math.Sin(from), Y: air*c - speed*math.Cos(from)}})
		}
		w, why := review.EstimateWind(f)
		if w == nil {
			t.Fatal(why)
		}
		if math.Abs(w.SpeedMS-speed) > 1e-6 || math.Abs(w.AirspeedMS-air) > 1e-6 {
			t.Fatal(w)
		}
		if d := math.Abs(math.Remainder(float64(w.From)-from, 2*math.Pi)); speed > 0.1 && d > 1e-6 {
			t.Fatal(w.FromDeg, from)
		}
	})
	var straight []review.Fix
	for i := range 100 {
		straight = append(straight, review.Fix{UnixS: float64(i), Vel: geo.Vec3{X: 10}})
	}
	if w, why := review.EstimateWind(straight); w != nil || why == "" {
		t.Error("wind from one course")
	}
}

func TestFixesFromTrack(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,lat,lon,above ground (m)\n")
	for i := range 20 {
		fmt.Fprintf(&b, "2026-06-21T10:00:%02dZ,%.7f,10.3,30\n", i, 46.6+float64(i)*5/111166.0) // about 5 m/s north
	}
	c, _ := track.ParseColumns("time=time:iso,lat=lat,lon=lon,above_ground=above ground (m):m")
	tr, err := track.Read(t.Context(), []byte(b.String()), track.Options{Columns: c})
	if err != nil {
		t.Fatal(err)
	}
	f := review.Fixes(tr, geo.NewFrame(geo.Degrees(46.6, 10.3)), 3, plane(1500))
	near(t, "height from the ground", f[7].Pos.Z, 1530, 0)
	near(t, "clock", f[0].UnixS, unixS(cue)+3, 1e-6)
	want := geo.Distance(geo.Degrees(46.6, 10.3), geo.Degrees(46.6+5/111166.0, 10.3))
	near(t, "speed", f[10].Vel.Y, want, 1e-3)
}

func BenchmarkClockOffsetTwoHours10Hz(b *testing.B) {
	one := flown(planned(), unixS(cue), geo.Vec3{}, 10)
	var f []review.Fix
	for i := range 45 {
		for _, x := range one {
			x.UnixS += float64(i) * 161
			x.Pos.X += float64(i * 10)
			f = append(f, x)
		}
	}
	for b.Loop() {
		if _, err := review.ClockOffset([]review.Timed{{cue, planned()}}, f); err != nil {
			b.Fatal(err)
		}
	}
}
