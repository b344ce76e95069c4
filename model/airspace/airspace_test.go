package airspace_test

import (
	"bufio"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"fieldfare/model/airspace"
	"fieldfare/model/geo"
	"fieldfare/model/unit"

	"pgregory.net/rapid"
)

var frame = geo.NewFrame(geo.Degrees(47, 11))

// area draws an area from site coordinates.
func area(f geo.Frame, floor, ceiling airspace.Level, outer ...geo.Vec2) airspace.Area {
	a := airspace.Area{Name: "test", Floor: floor, Ceil: ceiling}
	for _, p := range outer {
		a.Outer = append(a.Outer, f.ToLatLon(p.At(0)))
	}
	return a
}

func sea(m float64) airspace.Level { return airspace.Level{HeightM: m} }
func agl(m float64) airspace.Level {
	return airspace.Level{HeightM: m, Reference: airspace.AboveGround}
}

func square(half float64) []geo.Vec2 {
	return []geo.Vec2{{X: -half, Y: -half}, {X: half, Y: -half}, {X: half, Y: half}, {X: -half, Y: half}}
}

func place(t testing.TB, a airspace.Area) airspace.Zone {
	t.Helper()
	z, err := a.Place(frame)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func crossings(t testing.TB, z airspace.Zone, reach airspace.Reach, setting airspace.Setting, pos ...geo.Vec3) []airspace.Crossing {
	t.Helper()
	var path []airspace.Point
	for i, p := range pos {
		path = append(path, airspace.Point{TimeS: float64(i), Pos: p})
	}
	c, err := z.Crossings(path, reach, setting)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// geosCase is one case of testdata/authority/crossings.py with the zone and path it draws.
type geosCase struct {
	Outer          geo.Ring
	Holes          []geo.Ring
	Floor, Ceiling float64
	Reach          [3]float64
	Path           [][3]float64
	Hit            bool
	Seconds        float64

	zone  airspace.Zone
	path  []airspace.Point
	reach airspace.Reach
}

func geosCases(t testing.TB) []geosCase {
	t.Helper()
	f, err := os.Open("testdata/authority/crossings.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var cases []geosCase
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		if strings.HasPrefix(lines.Text(), "#") {
			continue
		}
		var c geosCase
		raw := struct {
			*geosCase
			Outer [][2]float64
			Holes [][][2]float64
		}{geosCase: &c}
		if err := json.Unmarshal(lines.Bytes(), &raw); err != nil {
			t.Fatal(err)
		}
		ring := func(points [][2]float64) (r geo.Ring) {
			for _, p := range points {
				r = append(r, geo.Vec2{X: p[0], Y: p[1]})
			}
			return r
		}
		// The polygon is laid in the plane directly: a detour over latitude and longitude
		// would lift touching lines off each other by rounding.
		c.zone = airspace.Zone{Area: &airspace.Area{Floor: sea(c.Floor), Ceil: sea(c.Ceiling)}}
		c.zone.Polygon.Outer = ring(raw.Outer)
		for _, h := range raw.Holes {
			c.zone.Polygon.Holes = append(c.zone.Polygon.Holes, ring(h))
		}
		c.zone.Bound()
		for i, p := range c.Path {
			c.path = append(c.path, airspace.Point{TimeS: float64(i), Pos: geo.Vec3{X: p[0], Y: p[1], Z: p[2]}})
		}
		c.reach = airspace.Reach{HorizontalM: c.Reach[0], UpM: c.Reach[1], DownM: c.Reach[2]}
		cases = append(cases, c)
	}
	return cases
}

// Source: testdata/authority/crossings.py, GEOS through Shapely, 1,000 random cases with
// holes, touching, edges run along, and buffers.
func TestCrossingsAgainstGEOS(t *testing.T) {
	cases := geosCases(t)
	hits, worst := 0, 0.0
	for i, c := range cases {
		got, err := c.zone.Crossings(c.path, c.reach, airspace.Setting{})
		if err != nil {
			t.Fatal(err)
		}
		seconds := 0.0
		for _, x := range got {
			seconds += x.ToS - x.FromS
		}
		if c.Hit {
			hits++
		}
		if (len(got) > 0) != c.Hit {
			t.Errorf("case %d: hit %v, GEOS %v", i, len(got) > 0, c.Hit)
		}
		// GEOS grows the area by a buffer of 720 chords a quarter circle: 2e-5 m at 33 m.
		if e := math.Abs(seconds - c.Seconds); e > 1e-5 {
			t.Errorf("case %d: %.9f s within reach, GEOS %.9f s", i, seconds, c.Seconds)
		} else {
			worst = math.Max(worst, e)
		}
	}
	t.Logf("%d cases, %d hits, worst difference %.2g s", len(cases), hits, worst)
	if len(cases) != 1000 || hits < 200 || hits > 950 {
		t.Errorf("%d cases with %d hits do not test much", len(cases), hits)
	}
}

// BenchmarkGEOSCases stands beside bench/safety.sh, which times GEOS on the same cases.
func BenchmarkGEOSCases(b *testing.B) {
	cases := geosCases(b)
	for b.Loop() {
		for i := range cases {
			if _, err := cases[i].zone.Crossings(cases[i].path, cases[i].reach, airspace.Setting{}); err != nil {
				b.Fatal(err)
			}
		}
	}
}

func TestFloorsAndCeilings(t *testing.T) {
	shelf := place(t, area(frame, sea(100), sea(200), square(100)...))
	if c := crossings(t, shelf, airspace.Reach{}, airspace.Setting{}, geo.Vec3{X: -200, Z: 60}, geo.Vec3{X: 200, Z: 60}); len(c) != 0 {
		t.Errorf("a path below the floor crosses: %+v", c)
	}
	// Climbing from 50 m to 150 m over 400 m: at the floor halfway, at x = 0.
	c := crossings(t, shelf, airspace.Reach{}, airspace.Setting{}, geo.Vec3{X: -200, Z: 50}, geo.Vec3{X: 200, Z: 150})
	if len(c) != 1 || math.Abs(c[0].From.X) > 1e-6 || math.Abs(c[0].To.X-100) > 1e-3 || math.Abs(c[0].FromS-0.5) > 1e-6 || c[0].Possible {
		t.Errorf("climb through the floor: %+v", c)
	}
	if c := crossings(t, shelf, airspace.Reach{UpM: 45}, airspace.Setting{}, geo.Vec3{X: -200, Z: 60}, geo.Vec3{X: 200, Z: 60}); len(c) != 1 {
		t.Errorf("contingency height reaches into the floor: %+v", c)
	}
	if c := crossings(t, shelf, airspace.Reach{HorizontalM: 30}, airspace.Setting{}, geo.Vec3{X: -120, Y: -50, Z: 150}); len(c) != 1 {
		t.Errorf("a hover 20 m from the side with a reach of 30 m: %+v", c)
	}
}

type hill struct{}

func (hill) HeightAt(x, y float64) (float64, bool) { return 50 - x/4, math.Abs(x) < 500 }

func TestLevelsAboveGroundFollowTheGround(t *testing.T) {
	z := place(t, area(frame, agl(40), agl(120), square(150)...))
	setting := airspace.Setting{Ground: hill{}}
	// Level at 90 m: above ground 40 m at x = 0, more to the east.
	c := crossings(t, z, airspace.Reach{}, setting, geo.Vec3{X: -150, Z: 90}, geo.Vec3{X: 150, Z: 90})
	if len(c) != 1 || math.Abs(c[0].From.X) > 0.1 || math.Abs(c[0].To.X-150) > 0.01 {
		t.Errorf("floor above ground: %+v", c)
	}
	c = crossings(t, z, airspace.Reach{}, airspace.Setting{}, geo.Vec3{X: -150, Z: 90}, geo.Vec3{X: 150, Z: 90})
	if len(c) != 1 || !c[0].Possible {
		t.Errorf("unknown ground must leave the crossing possible: %+v", c)
	}
}

// Source: ISO 2533 and the definition of QNH: on a day of 1013.25 hPa FL 10 is 1000 ft
// above sea level; each hectopascal less lowers it by about 27 ft (ICAO Doc 7488 lapse).
func TestFlightLevels(t *testing.T) {
	z := place(t, area(frame, airspace.Level{HeightM: 304.8, Reference: airspace.FlightLevel}, airspace.Unlimited, square(100)...))
	at := func(qnh, height float64) bool {
		c := crossings(t, z, airspace.Reach{}, airspace.Setting{QNHPa: qnh}, geo.Vec3{Z: height})
		return len(c) == 1 && !c[0].Possible
	}
	if !at(101325, 304.9) || at(101325, 304.7) {
		t.Error("FL 10 is not 304.8 m on a standard day")
	}
	lowered := 304.8 - 10*27.3*0.3048
	if !at(100325, lowered+3) || at(100325, lowered-3) {
		t.Errorf("FL 10 at 1003.25 hPa is not near %.0f m", lowered)
	}
	if c := crossings(t, z, airspace.Reach{}, airspace.Setting{}, geo.Vec3{Z: 10}); len(c) != 1 || !c[0].Possible {
		t.Errorf("unknown altimeter setting must leave the crossing possible: %+v", c)
	}
}

func TestVolumeMeetsZone(t *testing.T) {
	z := place(t, area(frame, agl(40), sea(300), square(100)...))
	v := airspace.Prism{Polygon: geo.Polygon{Outer: geo.Ring{{X: 120, Y: -10}, {X: 160, Y: -10}, {X: 160, Y: 10}, {X: 120, Y: 10}}}, FloorM: 20, CeilingM: 100}
	setting := airspace.Setting{Ground: hill{}}
	for _, c := range []struct {
		grown, ceiling float64
		setting        airspace.Setting
		want           airspace.Meeting
	}{
		{19, 100, setting, airspace.Apart},
		{21, 100, setting, airspace.Meet}, // lowest ground near the volume about 10 m, floor 50 m
		{21, 30, setting, airspace.Apart},
		{21, 30, airspace.Setting{}, airspace.MeetingPossible},
	} {
		v.HorizontalM, v.CeilingM = c.grown, c.ceiling
		if got, err := z.Meets(v, c.setting); err != nil || got != c.want {
			t.Errorf("grown %g m, ceiling %g m: %v (%v), want %v", c.grown, c.ceiling, got, err, c.want)
		}
	}
}

// An area across the 180th meridian and one at 70° north work like any other. The circle
// is checked by geodesic distance (see model/geo against GeographicLib).
func TestFarPlaces(t *testing.T) {
	for _, centre := range []geo.LatLon{geo.Degrees(-17, 179.98), geo.Degrees(-17, -179.99), geo.Degrees(70, 25), geo.Degrees(70, 180), geo.Degrees(0, 0)} {
		a := airspace.Area{Name: "circle", Floor: airspace.Ground, Ceil: sea(3000)}
		for i := range 72 {
			p, _ := geo.Direct(centre, unit.Angle(i*5)*unit.Degree, 5000)
			a.Outer = append(a.Outer, p)
		}
		if err := a.Validate(); err != nil {
			t.Errorf("at %s: %v", centre, err)
			continue
		}
		site, _ := geo.Direct(centre, 1, 8000)
		f := geo.NewFrame(site)
		z, err := a.Place(f)
		if err != nil {
			t.Errorf("at %s: %v", centre, err)
			continue
		}
		for _, distance := range []float64{4950, 5050} {
			p, _ := geo.Direct(centre, 0.7, distance)
			c, err := z.Crossings([]airspace.Point{{Pos: f.ToSite(p, 100)}}, airspace.Reach{}, airspace.Setting{Ground: flat(0)})
			if err != nil || (len(c) > 0) != (distance < 5000) {
				t.Errorf("at %s, %g m from the centre: %+v (%v)", centre, distance, c, err)
			}
		}
	}
}

func TestBadAreasAreRefusedWithReasons(t *testing.T) {
	bow := area(frame, airspace.Ground, sea(100), geo.Vec2{}, geo.Vec2{X: 10, Y: 10}, geo.Vec2{X: 10}, geo.Vec2{Y: 10})
	swapped := area(frame, sea(200), sea(100), square(50)...)
	outside := area(frame, sea(0), sea(100), square(50)...)
	outside.Holes = [][]geo.LatLon{area(frame, sea(0), sea(1), geo.Vec2{X: 40}, geo.Vec2{X: 70}, geo.Vec2{X: 40, Y: 10}).Outer}
	far := area(frame, sea(0), sea(100), square(50)...)
	far.Outer[2] = geo.Degrees(-47, 100)
	two := area(frame, sea(0), sea(100), geo.Vec2{}, geo.Vec2{X: 1})
	nan := area(frame, sea(0), sea(math.NaN()), square(50)...)
	backward := area(frame, sea(0), sea(100), square(50)...)
	day := time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC)
	backward.Valid = []airspace.Period{{day, day.Add(-time.Hour)}}
	for _, c := range []struct {
		area airspace.Area
		want string
	}{
		{bow, "crosses itself"}, {swapped, "not above its floor"}, {outside, "hole 1"}, {far, "km away"}, {two, "2 points"},
		{nan, "level of NaN"}, {backward, "must come after"}, {airspace.Area{Name: "empty"}, "no points"},
		{area(frame, airspace.Unlimited, sea(100), square(50)...), "no floor"}, {area(frame, sea(0), airspace.Ground, square(50)...), "swapped"},
	} {
		if err := c.area.Validate(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
}

func TestActive(t *testing.T) {
	day := time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC)
	a := airspace.Area{Valid: []airspace.Period{{day, day.Add(2 * time.Hour)}}}
	for _, c := range []struct {
		from, to time.Duration
		want     bool
	}{{-2 * time.Hour, -time.Hour, false}, {-time.Hour, 0, true}, {time.Hour, time.Hour, true}, {2 * time.Hour, 3 * time.Hour, false}} {
		if got := a.Active(day.Add(c.from), day.Add(c.to)); got != c.want {
			t.Errorf("%v to %v: %v", c.from, c.to, got)
		}
	}
	if !(&airspace.Area{}).Active(day, day) {
		t.Error("an area without times is not always active")
	}
}

// A larger reach never loses a crossing, and points sampled inside agree with it.
func TestReachIsMonotonic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coordinate := rapid.Float64Range(-300, 300)
		z := airspace.Zone{Area: &airspace.Area{Floor: sea(30), Ceil: sea(90)}}
		for i := range rapid.IntRange(3, 9).Draw(t, "n") {
			a := float64(i) * 0.69
			r := rapid.Float64Range(20, 200).Draw(t, "r")
			z.Polygon.Outer = append(z.Polygon.Outer, geo.Vec2{X: r * math.Cos(a), Y: r * math.Sin(a)})
		}
		z.Bound()
		a := geo.Vec3{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y"), Z: rapid.Float64Range(0, 120).Draw(t, "z")}
		b := geo.Vec3{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y"), Z: rapid.Float64Range(0, 120).Draw(t, "z")}
		path := []airspace.Point{{0, a}, {1, b}}
		small := airspace.Reach{HorizontalM: rapid.Float64Range(0, 30).Draw(t, "h"), UpM: 5, DownM: 5}
		large := airspace.Reach{HorizontalM: small.HorizontalM + 10, UpM: 9, DownM: 9}
		few, err := z.Crossings(path, small, airspace.Setting{})
		if err != nil {
			t.Fatal(err)
		}
		many, _ := z.Crossings(path, large, airspace.Setting{})
		within := func(list []airspace.Crossing, s float64) bool {
			for _, c := range list {
				if s >= c.FromS-1e-9 && s <= c.ToS+1e-9 {
					return true
				}
			}
			return false
		}
		for i := range 101 {
			s := float64(i) / 100
			p := a.Lerp(b, s)
			truth := p.Z >= 25 && p.Z <= 95 && z.Polygon.Distance(p.XY()) <= small.HorizontalM
			if edge := math.Min(math.Abs(p.Z-25), math.Min(math.Abs(p.Z-95), math.Abs(z.Polygon.Distance(p.XY())-small.HorizontalM))); edge > 1e-6 && truth != within(few, s) {
				t.Fatalf("at %g: by distance %v, by crossing %v (%+v)", s, truth, within(few, s), few)
			}
			if within(few, s) && !within(many, s) {
				t.Fatalf("at %g: a larger reach lost the crossing", s)
			}
		}
	})
}

func BenchmarkCrossings(b *testing.B) {
	a := area(frame, sea(30), sea(90))
	for i := range 200 {
		a.Outer = append(a.Outer, frame.ToLatLon(geo.Vec3{X: 500 * math.Cos(float64(i)/200*2*math.Pi), Y: 500 * math.Sin(float64(i)/200*2*math.Pi)}))
	}
	z := place(b, a)
	path := make([]airspace.Point, 600)
	for i := range path {
		path[i] = airspace.Point{TimeS: float64(i), Pos: geo.Vec3{X: float64(i)*2 - 600, Y: 30, Z: 60}}
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := z.Crossings(path, airspace.Reach{HorizontalM: 20, UpM: 10, DownM: 10}, airspace.Setting{}); err != nil {
			b.Fatal(err)
		}
	}
}
