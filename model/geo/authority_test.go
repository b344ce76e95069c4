package geo_test

import (
	"bufio"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

const (
	micrometre = 1e-6
	nanodegree = 1e-9 // about 0.1 mm on the ground
)

// rows reads a table of numbers under testdata/authority; the file's header names the tool.
func rows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("testdata/authority/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out [][]string
	for s := bufio.NewScanner(f); s.Scan(); {
		if !strings.HasPrefix(s.Text(), "#") {
			out = append(out, strings.Fields(s.Text()))
		}
	}
	if len(out) < 50 {
		t.Fatalf("%s: only %d rows", name, len(out))
	}
	return out
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func numbers(t *testing.T, f []string) []float64 {
	v := make([]float64, len(f))
	for i := range f {
		v[i] = number(t, f[i])
	}
	return v
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.12g, want %.12g ± %g", what, got, want, tol)
	}
}

func nearAngle(t *testing.T, what string, got unit.Angle, wantDeg, tolDeg float64) {
	t.Helper()
	if d := (got - unit.Angle(wantDeg)*unit.Degree).Signed().Deg(); !(math.Abs(d) <= tolDeg) {
		t.Errorf("%s: got %.12g°, want %.12g° ± %g", what, got.Deg(), wantDeg, tolDeg)
	}
}

// Source: GeographicLib GeoConvert, testdata/authority/utm.txt.
func TestUTMAgainstGeographicLib(t *testing.T) {
	for _, r := range rows(t, "utm.txt") {
		p := geo.Degrees(number(t, r[0]), number(t, r[1]))
		zone, _ := strconv.Atoi(r[2])
		want := geo.UTM{Zone: zone, North: r[3] == "n", EastingM: number(t, r[4]), NorthingM: number(t, r[5])}
		got, err := geo.ToUTMZone(p, zone)
		if err != nil {
			t.Fatal(err)
		}
		if got.North != want.North {
			t.Errorf("%v: north %v, want %v", p, got.North, want.North)
		}
		near(t, p.String()+" easting", got.EastingM, want.EastingM, micrometre)
		near(t, p.String()+" northing", got.NorthingM, want.NorthingM, micrometre)
		back, err := want.LatLon()
		if err != nil {
			t.Fatal(err)
		}
		nearAngle(t, "latitude back", back.Lat, number(t, r[0]), 1e-11)
		nearAngle(t, "longitude back", back.Lon, number(t, r[1]), 1e-10)
	}
}

// Source: PROJ cs2cs, testdata/authority/utm32_proj.txt.
func TestUTMAgainstPROJ(t *testing.T) {
	for _, r := range rows(t, "utm32_proj.txt") {
		v := numbers(t, r)
		got, err := geo.ToUTMZone(geo.Degrees(v[0], v[1]), 32)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "easting", got.EastingM, v[2], 2*micrometre)
		near(t, "northing", got.NorthingM, v[3], 2*micrometre)
	}
}

// Source: GeographicLib TransverseMercatorProj, testdata/authority/frame.txt.
func TestFrameAgainstGeographicLib(t *testing.T) {
	for _, r := range rows(t, "frame.txt") {
		v := numbers(t, r)
		f := geo.NewFrame(geo.Degrees(v[0], v[1]))
		got := f.ToSite(geo.Degrees(v[2], v[3]), 1234)
		near(t, "x", got.X, v[4], micrometre)
		near(t, "y", got.Y, v[5], micrometre)
		near(t, "z", got.Z, 1234, 0)
		if math.Abs(v[2]) < 90 { // at a pole north has no direction
			nearAngle(t, "convergence", f.Convergence(got), v[6], 1e-9)
		}
		back := f.ToLatLon(got)
		nearAngle(t, "latitude back", back.Lat, v[2], 1e-11)
		if math.Abs(v[2]) < 89.999 {
			nearAngle(t, "longitude back", back.Lon, v[3], nanodegree)
		}
	}
}

// Source: GeographicLib GeodSolve, testdata/authority/geodesic.txt: 300 pairs anywhere, 300
// within 10 km, 200 nearly antipodal, and poles, equator and 180°.
func TestGeodesicAgainstGeographicLib(t *testing.T) {
	for _, r := range rows(t, "geodesic.txt") {
		v := numbers(t, r)
		a, b := geo.Degrees(v[0], v[1]), geo.Degrees(v[3], v[4])
		got := geo.Inverse(a, b)
		name := a.String() + " to " + b.String()
		near(t, name+" distance", got.DistanceM, v[6], micrometre)
		if v[6] > 1 && v[6] < 19.9e6 { // near the antipode azimuths hang on the last digit of the input
			tol := math.Max(nanodegree, 1e-6/v[6]*57.3) // the input's own 12 decimals
			nearAngle(t, name+" azimuth", got.AzimuthStart, v[2], tol)
			nearAngle(t, name+" end azimuth", got.AzimuthEnd, v[5], tol)
		}
		end, azi2 := geo.Direct(a, unit.Angle(v[2])*unit.Degree, v[6])
		near(t, name+" direct", geo.Distance(end, b), 0, 10*micrometre)
		if math.Abs(v[3]) < 89.9999 && math.Abs(v[0]) < 89.9999 {
			nearAngle(t, name+" direct azimuth", azi2, v[5], 1e-7)
		}
	}
}

type planarCase struct {
	Outer                     [][2]float64
	Holes                     [][][2]float64
	P, A, B                   [2]float64
	Other                     [][2]float64
	Contains                  bool
	Distance, Boundary, Area  float64
	Segment, Inside, Polygons float64
}

func vec(p [2]float64) geo.Vec2 { return geo.Vec2{X: p[0], Y: p[1]} }

func ring(ps [][2]float64) geo.Ring {
	r := make(geo.Ring, len(ps))
	for i, p := range ps {
		r[i] = vec(p)
	}
	return r
}

// Source: GEOS by way of shapely, testdata/authority/planar.json.
func TestPlanarAgainstGEOS(t *testing.T) {
	text, err := os.ReadFile("testdata/authority/planar.json")
	if err != nil {
		t.Fatal(err)
	}
	var table struct {
		Cases []planarCase
		Rings []struct {
			Ring   [][2]float64
			Simple bool
		}
	}
	if err := json.Unmarshal(text, &table); err != nil {
		t.Fatal(err)
	}
	if len(table.Cases) < 900 || len(table.Rings) < 300 {
		t.Fatalf("%d cases, %d rings", len(table.Cases), len(table.Rings))
	}
	const tol = 1e-9
	for _, c := range table.Cases {
		g := geo.Polygon{Outer: ring(c.Outer)}
		for _, h := range c.Holes {
			g.Holes = append(g.Holes, ring(h))
		}
		if err := g.Validate(); err != nil {
			t.Errorf("%v: %v", c, err)
		}
		if got := g.Contains(vec(c.P)); got != c.Contains {
			t.Errorf("contains %v: %v", c.P, got)
		}
		near(t, "distance", g.Distance(vec(c.P)), c.Distance, tol)
		near(t, "boundary", g.BoundaryDistance(vec(c.P)), c.Boundary, tol)
		near(t, "area", g.Area(), c.Area, tol*1e4)
		d, at := g.SegmentDistance(vec(c.A), vec(c.B))
		near(t, "segment", d, c.Segment, tol)
		near(t, "where the segment is nearest", g.Distance(vec(c.A).Lerp(vec(c.B), at)), c.Segment, tol)
		length := 0.0
		for _, iv := range g.Inside(vec(c.A), vec(c.B), nil, nil) {
			length += (iv.To - iv.From) * vec(c.B).Sub(vec(c.A)).Norm()
		}
		near(t, "length inside", length, c.Inside, tol*100)
		other := geo.Polygon{Outer: ring(c.Other)}
		near(t, "polygons", geo.PolygonDistance(g, other), c.Polygons, tol)
		near(t, "polygons, other way", geo.PolygonDistance(other, g), c.Polygons, tol)
	}
	for _, c := range table.Rings {
		if x, crosses := ring(c.Ring).SelfCrossing(); crosses == c.Simple {
			t.Errorf("ring %v: crossing %v %v, GEOS says simple %v", c.Ring, crosses, x, c.Simple)
		}
	}
}
