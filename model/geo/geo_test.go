package geo_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fieldfare/model/geo"

	"pgregory.net/rapid"
)

func TestZones(t *testing.T) {
	// Source: NIMA TM8358.2, chapter 3: zones 31-37 are redrawn in Norway and Svalbard.
	for _, c := range []struct {
		lat, lon float64
		zone     int
	}{{46.6, 10.3, 32}, {60, 5, 32}, {60, 2.9, 31}, {78, 8, 31}, {78, 10, 33}, {78, 25, 35}, {78, 40, 37},
		{0, -180, 1}, {0, 180, 1}, {0, 179.999, 60}, {71, 25, 35}, {-33, 18, 34}} {
		if got := geo.UTMZone(geo.Degrees(c.lat, c.lon)); got != c.zone {
			t.Errorf("%v, %v: zone %d, want %d", c.lat, c.lon, got, c.zone)
		}
	}
}

func TestUTMRefusals(t *testing.T) {
	for want, err := range map[string]error{
		"84° N":      second(geo.ToUTM(geo.Degrees(85, 0))),
		"latitude":   second(geo.ToUTM(geo.Degrees(91, 0))),
		"zone 61":    second(geo.ToUTMZone(geo.Degrees(40, 0), 61)),
		"within 30°": second(geo.ToUTMZone(geo.Degrees(40, 0), 50)),
		"outside":    second(geo.UTM{Zone: 32, North: true, EastingM: math.NaN()}.LatLon()),
		"swapped":    geo.Degrees(-105, 39).Validate(),
		"longitude":  geo.Degrees(39, 181).Validate(),
	} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want an error with %q, got %v", want, err)
		}
	}
}

func second[T any](_ T, err error) error { return err }

func TestFrameThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := geo.NewFrame(geo.Degrees(rapid.Float64Range(-89, 89).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")))
		p := geo.Vec3{X: rapid.Float64Range(-50e3, 50e3).Draw(t, "x"), Y: rapid.Float64Range(-50e3, 50e3).Draw(t, "y"), Z: 7}
		if back := f.ToSite(f.ToLatLon(p), 7); back.Sub(p).Norm() > 1e-6 {
			t.Fatalf("%v came back as %v", p, back)
		}
		// Scale 1 and true bearings near the origin; x²/6R² over a distance x.
		d := geo.Inverse(f.Origin(), f.ToLatLon(p))
		r := p.Horizontal()
		if math.Abs(d.DistanceM-r) > 1e-5+r*r*r/(5*geo.SemiMinorM*geo.SemiMinorM) {
			t.Fatalf("%v: geodesic %v, plane %v", p, d.DistanceM, r)
		}
	})
}

func TestFrameStaysFinite(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		any := func(name string) geo.LatLon {
			return geo.Degrees(rapid.Float64Range(-90, 90).Draw(t, name), rapid.Float64Range(-180, 180).Draw(t, name))
		}
		f := geo.NewFrame(any("origin"))
		p := f.ToSite(any("point"), 0)
		back := f.ToLatLon(p)
		for _, v := range []float64{p.X, p.Y, float64(back.Lat), float64(back.Lon), float64(f.Convergence(p))} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%v from %v", p, f.Origin())
			}
		}
	})
}

func TestGeodesicProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := func(name string) geo.LatLon {
			return geo.Degrees(rapid.Float64Range(-90, 90).Draw(t, name), rapid.Float64Range(-180, 180).Draw(t, name))
		}
		a, b := p("a"), p("b")
		g, back := geo.Inverse(a, b), geo.Inverse(b, a)
		if math.Abs(g.DistanceM-back.DistanceM) > 1e-6 || !(g.DistanceM >= 0) || g.DistanceM > math.Pi*geo.SemiMajorM {
			t.Fatalf("there %v, back %v", g, back)
		}
		end, _ := geo.Direct(a, g.AzimuthStart, g.DistanceM)
		if d := geo.Distance(end, b); !(d < 1e-5) {
			t.Fatalf("direct misses by %v m", d)
		}
	})
}

// A meridian quadrant is 10 001 965.729 m and half the equator's length π·a (NIMA
// TR8350.2, table 3.5 for the former; by definition for the latter).
func TestKnownLengths(t *testing.T) {
	near(t, "quadrant", geo.Distance(geo.Degrees(0, 20), geo.Degrees(90, 0)), 10001965.729, 0.0005)
	near(t, "equator", geo.Distance(geo.Degrees(0, -30), geo.Degrees(0, 60)), math.Pi*geo.SemiMajorM/2, 1e-6)
	near(t, "opposite points on the equator go over a pole", geo.Distance(geo.Degrees(0, 0), geo.Degrees(0, 180)), 2*10001965.729, 0.001)
}

func TestClosestApproach(t *testing.T) {
	// Two points on crossing courses, worked by hand: at t = 5 s both stand abreast 10 m apart in height.
	at, d := geo.ClosestApproach(geo.Vec3{X: -50, Z: 10}, geo.Vec3{X: 10}, geo.Vec3{Y: -50}, geo.Vec3{Y: 10}, 60)
	near(t, "time", at, 5, 1e-12)
	near(t, "distance", d, 10, 1e-12)
	at, d = geo.ClosestApproach(geo.Vec3{}, geo.Vec3{X: 1}, geo.Vec3{X: 10}, geo.Vec3{}, 4)
	near(t, "limited time", at, 4, 0)
	near(t, "limited distance", d, 6, 1e-12)
}

// A second road: dense sampling never finds a nearer pair, and the fractions give the distance.
func TestSegmentSegmentAgainstSampling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := func(name string) geo.Vec3 {
			c := rapid.IntRange(-4, 4) // small whole numbers give parallel and touching cases
			return geo.Vec3{X: float64(c.Draw(t, name)), Y: float64(c.Draw(t, name)), Z: float64(c.Draw(t, name))}
		}
		a, b, c, d := p("a"), p("b"), p("c"), p("d")
		dist, s, u := geo.SegmentSegment(a, b, c, d)
		if got := a.Lerp(b, s).Sub(c.Lerp(d, u)).Norm(); math.Abs(got-dist) > 1e-9 {
			t.Fatalf("fractions give %v, distance %v", got, dist)
		}
		for i := 0.0; i <= 1; i += 0.05 {
			if got, _ := geo.PointSegment(a.Lerp(b, i), c, d); got < dist-1e-9 {
				t.Fatalf("nearer pair at %v: %v < %v", i, got, dist)
			}
		}
	})
}

func TestPolygonFaults(t *testing.T) {
	square := geo.Ring{{X: 0, Y: 0}, {X: 10, Y: 0}, {X: 10, Y: 10}, {X: 0, Y: 10}}
	if err := (geo.Polygon{Outer: append(square[:4:4], square[0])}).Validate(); err != nil {
		t.Errorf("a closed ring is fine: %v", err)
	}
	for want, g := range map[string]geo.Polygon{
		"crosses itself near (5.00, 5.00)": {Outer: geo.Ring{{X: 0, Y: 0}, {X: 10, Y: 10}, {X: 10, Y: 0}, {X: 0, Y: 10}}},
		"at least 3":                       {Outer: square[:2]},
		"not a finite":                     {Outer: geo.Ring{{X: math.NaN()}, {X: 1}, {Y: 1}}},
		"the same":                         {Outer: geo.Ring{{X: 0, Y: 0}, {X: 0, Y: 0}, {X: 1, Y: 0}, {X: 1, Y: 1}}},
		"crosses the outer":                {Outer: square, Holes: []geo.Ring{{{X: 5, Y: 5}, {X: 20, Y: 5}, {X: 5, Y: 6}}}},
		"outside the outer":                {Outer: square, Holes: []geo.Ring{{{X: 15, Y: 5}, {X: 20, Y: 5}, {X: 15, Y: 6}}}},
	} {
		if err := g.Validate(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want an error with %q, got %v", want, err)
		}
	}
}

func TestPolygonEdgesBelong(t *testing.T) {
	g := geo.Polygon{Outer: geo.Ring{{X: 0, Y: 0}, {X: 10, Y: 0}, {X: 10, Y: 10}, {X: 0, Y: 10}},
		Holes: []geo.Ring{{{X: 4, Y: 4}, {X: 6, Y: 4}, {X: 6, Y: 6}, {X: 4, Y: 6}}}}
	for _, p := range []geo.Vec2{{X: 0, Y: 0}, {X: 5, Y: 0}, {X: 10, Y: 7}, {X: 4, Y: 5}, {X: 6, Y: 6}, {X: 1, Y: 1}} {
		if !g.Contains(p) {
			t.Errorf("%v belongs", p)
		}
	}
	for _, p := range []geo.Vec2{{X: 5, Y: 5}, {X: -1, Y: 0}, {X: 11, Y: 10}, {X: 5, Y: 10.0001}} {
		if g.Contains(p) {
			t.Errorf("%v does not belong", p)
		}
	}
	got := g.Inside(geo.Vec2{X: -10, Y: 5}, geo.Vec2{X: 20, Y: 5}, nil, nil)
	if len(got) != 2 || math.Abs(got[0].To-14./30) > 1e-12 || math.Abs(got[1].From-16./30) > 1e-12 {
		t.Errorf("through the hole: %v", got)
	}
	if got := g.Inside(geo.Vec2{X: -5, Y: 0}, geo.Vec2{X: 15, Y: 0}, nil, nil); len(got) != 1 || got[0] != (geo.Interval{From: 0.25, To: 0.75}) {
		t.Errorf("along an edge: %v", got)
	}
}

func TestInnerLoopsDoNotAllocate(t *testing.T) {
	f := geo.NewFrame(geo.Degrees(46.6, 10.3))
	g := geo.Polygon{Outer: geo.Ring{{X: 0, Y: 0}, {X: 10, Y: 0}, {X: 10, Y: 10}}}
	cuts, parts := make([]float64, 0, 16), make([]geo.Interval, 0, 16)
	if n := testing.AllocsPerRun(100, func() {
		p := f.ToSite(geo.Degrees(46.61, 10.31), 0)
		f.ToLatLon(p)
		geo.Distance(f.Origin(), geo.Degrees(46.61, 10.31))
		g.Distance(p.XY())
		g.SegmentDistance(p.XY(), geo.Vec2{})
		g.Inside(p.XY(), geo.Vec2{}, parts[:0], cuts)
		geo.SegmentSegment(p, geo.Vec3{}, geo.Vec3{X: 1}, geo.Vec3{Y: 1})
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkToSite(b *testing.B) {
	f, p := geo.NewFrame(geo.Degrees(46.6, 10.3)), geo.Degrees(46.61, 10.31)
	for b.Loop() {
		f.ToSite(p, 0)
	}
}

func BenchmarkGeodesicInverse(b *testing.B) {
	p, q := geo.Degrees(46.6, 10.3), geo.Degrees(46.61, 10.31)
	for b.Loop() {
		geo.Inverse(p, q)
	}
}

func ExampleFrame() {
	f := geo.NewFrame(geo.Degrees(46.6, 10.3))
	p := f.ToLatLon(geo.Vec3{X: 1000, Y: 2000})
	fmt.Println(p)
	fmt.Printf("%.3f m\n", geo.Distance(f.Origin(), p))
	// Output:
	// 46.6179908, 10.3130554
	// 2236.068 m
}
