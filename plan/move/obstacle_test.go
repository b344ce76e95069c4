package move_test

import (
	"math"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/geo"
	"fieldfare/plan/move"
)

const micrometre = 1e-6

func vec(a [3]float64) geo.Vec3 { return geo.Vec3{X: a[0], Y: a[1], Z: a[2]} }

// Distances by GEOS (python3-shapely): testdata/authority/clearance.py.
func TestClearanceAgainstGEOS(t *testing.T) {
	var file struct {
		Cases []struct {
			Kind                string
			Ring                [][2]float64
			Bottom, Top         float64
			A, B, Point         [3]float64
			Sag, Radius, Height float64
			Distance            float64
		}
	}
	load(t, filepath.Join("testdata", "authority", "clearance.json"), &file)
	if len(file.Cases) < 300 {
		t.Fatalf("only %d cases", len(file.Cases))
	}
	for i, c := range file.Cases {
		var shape move.Shape
		switch c.Kind {
		case "prism":
			p := move.Prism{BottomM: c.Bottom, TopM: c.Top}
			for _, v := range c.Ring {
				p.Ring = append(p.Ring, geo.Vec2{X: v[0], Y: v[1]})
			}
			shape = p
		case "wire":
			shape = move.Wire{A: vec(c.A), B: vec(c.B), SagM: c.Sag}
		case "cylinder":
			shape = move.Cylinder{RadiusM: c.Radius, HeightM: c.Height}
		}
		got, away := shape.Distance(vec(c.Point))
		if math.Abs(got-c.Distance) > micrometre {
			t.Errorf("case %d, %s: %.7f m, GEOS has %.7f m", i, c.Kind, got, c.Distance)
		}
		if math.Abs(away.Norm()-1) > 1e-9 {
			t.Errorf("case %d: direction of length %g", i, away.Norm())
		}
		centre, radius := shape.Bounds()
		if d := vec(c.Point).Sub(centre).Norm() - radius; d > got+micrometre {
			t.Errorf("case %d: the ball is %.3f m away, the solid %.3f m", i, d, got)
		}
	}
}

// The direction is the one in which the distance grows.
func TestDistanceGrowsAway(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(low, high float64, name string) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		p := geo.Vec3{X: f(-30, 30, "x"), Y: f(-30, 30, "y"), Z: f(-10, 40, "z")}
		for _, s := range []move.Shape{
			move.Cylinder{RadiusM: 3, HeightM: 20},
			move.NewBox(geo.Vec3{X: 2, Z: 1}, 12, 7, 9, f(0, 6, "facing")),
			move.Wire{A: geo.Vec3{X: -20, Y: 3, Z: 15}, B: geo.Vec3{X: 22, Y: -4, Z: 19}, SagM: 3, RadiusM: 0.02},
		} {
			d, away := s.Distance(p)
			const h = 1e-4
			further, _ := s.Distance(p.Add(away.Scale(h)))
			if further < d-1e-9 {
				t.Fatalf("%T: %.6f m, and %.6f m a step away", s, d, further)
			}
		}
	})
}

func TestSight(t *testing.T) {
	p := valley(nil)
	p.Ground = plain{}
	p.Obstacles = []move.Obstacle{
		{Name: "barn", Kind: "building", Shape: move.NewBox(geo.Vec3{X: 50}, 10, 10, 20, 0)},
		{Name: "line", Kind: "wire", Shape: move.Wire{A: geo.Vec3{X: 20, Y: -30, Z: 5}, B: geo.Vec3{X: 20, Y: 30, Z: 5}, SagM: 2}},
	}
	for _, c := range []struct {
		a, b geo.Vec3
		want move.Answer
		by   string
	}{
		{geo.Vec3{Z: 5}, geo.Vec3{X: 100, Z: 5}, move.No, "barn"},
		{geo.Vec3{Z: 5}, geo.Vec3{X: 100, Y: 100, Z: 5}, move.Yes, ""},
		{geo.Vec3{Z: 5}, geo.Vec3{X: 50, Z: 10}, move.Yes, ""}, // the barn itself is seen
		{geo.Vec3{Z: 30}, geo.Vec3{X: 100, Z: 21}, move.Yes, ""},
		{geo.Vec3{Z: 5}, geo.Vec3{X: 0, Y: 50, Z: -20}, move.No, "ground"},
		{geo.Vec3{Z: 50}, geo.Vec3{X: 3000, Z: 50}, move.Unknown, ""},
	} {
		if got, by := move.Sight(&p, c.a, c.b); got != c.want || by != c.by {
			t.Errorf("%v to %v: %s %q, want %s %q", c.a, c.b, got, by, c.want, c.by)
		}
	}
}

// plain is level ground at 0 m, 2 km square.
type plain struct{}

func (plain) HeightAt(x, y float64) (float64, bool) {
	return 0, math.Abs(x) < 1000 && math.Abs(y) < 1000
}
