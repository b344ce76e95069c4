package risk_test

import (
	"math"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/risk"

	"pgregory.net/rapid"
)

// Source: closed forms (geometry): disc πr², stadium πr² + 2rL, ring 2πR·2r.
func TestAroundHasTheAreaOfGeometry(t *testing.T) {
	var circle []geo.Vec2
	for i := range 361 {
		sin, cos := math.Sincos(float64(i%360) * math.Pi / 180)
		circle = append(circle, geo.Vec2{X: 100 * cos, Y: 100 * sin})
	}
	for _, c := range []struct {
		what  string
		path  []geo.Vec2
		r     float64
		area  float64
		holes int
	}{
		{"disc", []geo.Vec2{{X: 5, Y: 7}}, 30, math.Pi * 900, 0},
		{"stadium", []geo.Vec2{{X: -40}, {X: 60, Y: 0}}, 20, math.Pi*400 + 2*20*100, 0},
		{"ring", circle, 12, 2 * math.Pi * 100 * 24, 1},
	} {
		all, err := risk.Around(c.path, c.r)
		if err != nil || len(all) != 1 || len(all[0].Holes) != c.holes {
			t.Errorf("%s: %d parts (%v)", c.what, len(all), err)
			continue
		}
		if err := all[0].Validate(); err != nil {
			t.Errorf("%s: %v", c.what, err)
		}
		near(t, c.what, all[0].Area(), c.area, 4e-3*c.area)
	}
	if _, err := risk.Around(nil, 3); err == nil {
		t.Error("an empty path was taken")
	}
	if _, err := risk.Around([]geo.Vec2{{X: math.NaN()}}, 3); err == nil {
		t.Error("a path of no number was taken")
	}
}

// A point is in the outline if and only if it lies within the radius of the path.
func TestAroundAgreesWithDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coordinate := rapid.Float64Range(-120, 120)
		var path []geo.Vec2
		for range rapid.IntRange(1, 9).Draw(t, "n") {
			path = append(path, geo.Vec2{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y")})
		}
		r := rapid.Float64Range(3, 60).Draw(t, "r")
		all, err := risk.Around(path, r)
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range all {
			if err := g.Validate(); err != nil {
				t.Fatal(err)
			}
		}
		for range 60 {
			p := geo.Vec2{X: coordinate.Draw(t, "px") * 1.5, Y: coordinate.Draw(t, "py") * 1.5}
			d := math.Inf(1)
			for i := range path {
				e, _ := geo.PointSegment2(p, path[max(i-1, 0)], path[i])
				d = math.Min(d, e)
			}
			inside := false
			for _, g := range all {
				inside = inside || g.Contains(p)
			}
			if math.Abs(d-r) > 5e-3*r && inside != (d < r) {
				t.Fatalf("a point %g m from the path, radius %g m, is inside: %v", d, r, inside)
			}
		}
	})
}

func BenchmarkAround(b *testing.B) {
	path := make([]geo.Vec2, 600)
	for i := range path {
		sin, cos := math.Sincos(float64(i) / 95)
		path[i] = geo.Vec2{X: 150 * cos, Y: 150 * sin}
	}
	for b.Loop() {
		if _, err := risk.Around(path, 40); err != nil {
			b.Fatal(err)
		}
	}
}
