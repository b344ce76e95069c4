package lens_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

var small = lens.Camera{FocalM: 0.012, SensorWidthM: 0.0173, SensorHeightM: 0.0130, PixelsW: 4096, PixelsH: 3072}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.9g, want %.9g ± %g", what, got, want, tolerance)
	}
}

// Directions by definition of the site frame.
func TestProjectSigns(t *testing.T) {
	w, h := float64(small.PixelsW), float64(small.PixelsH)
	level := lens.Pose{Pos: geo.Vec3{Z: 100}}
	for _, c := range []struct {
		name           string
		at             lens.Pose
		point          geo.Vec3
		right, down, z float64 // sign of px - W/2 and py - H/2, depth
	}{
		{"straight ahead", level, geo.Vec3{Y: 50, Z: 100}, 0, 0, 50},
		{"east is right when looking north", level, geo.Vec3{X: 1, Y: 50, Z: 100}, 1, 0, 50},
		{"below is down", level, geo.Vec3{Y: 50, Z: 90}, 0, 1, 50},
		{"east of the axis looking east is ahead", lens.Pose{Azimuth: 90 * unit.Degree}, geo.Vec3{X: 50}, 0, 0, 50},
		{"south is right when looking east", lens.Pose{Azimuth: 90 * unit.Degree}, geo.Vec3{X: 50, Y: -1}, 1, 0, 50},
		{"tilted up, the level point falls low", lens.Pose{Tilt: 10 * unit.Degree}, geo.Vec3{Y: 50}, 0, 1, 50 * math.Cos(10*math.Pi/180)},
		{"top down, north is up", lens.Pose{Pos: geo.Vec3{Z: 30}, Tilt: -90 * unit.Degree}, geo.Vec3{Y: 1}, 0, -1, 30},
		{"right side down lifts what is to the right", lens.Pose{Roll: 10 * unit.Degree}, geo.Vec3{X: 5, Y: 50}, 1, -1, 50},
	} {
		px, py, depth, ok := small.Project(c.at, c.point)
		if !ok || math.Abs(depth-c.z) > 1e-9 || sign(px-w/2) != c.right || sign(py-h/2) != c.down {
			t.Errorf("%s: %.3f %.3f depth %g ok %v", c.name, px-w/2, py-h/2, depth, ok)
		}
	}
	if _, _, _, ok := small.Project(level, geo.Vec3{Y: -1, Z: 100}); ok {
		t.Error("a point behind the camera was projected")
	}
}

func sign(v float64) float64 {
	switch {
	case v > 1e-6:
		return 1
	case v < -1e-6:
		return -1
	}
	return 0
}

func TestProjectRayRoundTrip(t *testing.T) {
	angle := func(low, high float64) *rapid.Generator[unit.Angle] {
		return rapid.Map(rapid.Float64Range(low, high), func(d float64) unit.Angle { return unit.Angle(d) * unit.Degree })
	}
	rapid.Check(t, func(t *rapid.T) {
		c := small
		c.FocalM = rapid.Float64Range(0.004, 0.4).Draw(t, "focal")
		c.Squeeze = rapid.Float64Range(1, 2).Draw(t, "squeeze")
		coordinate := rapid.Float64Range(-5000, 5000)
		at := lens.Pose{
			Pos:     geo.Vec3{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y"), Z: coordinate.Draw(t, "z")},
			Azimuth: angle(-360, 720).Draw(t, "azimuth"), Tilt: angle(-90, 90).Draw(t, "tilt"), Roll: angle(-180, 180).Draw(t, "roll"),
		}
		px := rapid.Float64Range(0, float64(c.PixelsW)).Draw(t, "px")
		py := rapid.Float64Range(0, float64(c.PixelsH)).Draw(t, "py")
		ray := c.Ray(at, px, py)
		if math.Abs(ray.Norm()-1) > 1e-12 {
			t.Fatalf("ray of length %g", ray.Norm())
		}
		distance := rapid.Float64Range(1, 3000).Draw(t, "distance")
		qx, qy, depth, ok := c.Project(at, at.Pos.Add(ray.Scale(distance)))
		if !ok || math.Hypot(qx-px, qy-py) > 1e-5 || depth > distance*(1+1e-12) {
			t.Fatalf("(%g, %g) came back as (%g, %g) depth %g ok %v", px, py, qx, qy, depth, ok)
		}
	})
}

// Textbook geometry, 2·atan(d/2f); values recomputed by hand for 36/24, 17.3/12.
func TestFieldOfView(t *testing.T) {
	full := lens.Camera{FocalM: 0.024, SensorWidthM: 0.036, SensorHeightM: 0.024, PixelsW: 3, PixelsH: 2}
	near(t, "36 mm at 24 mm", full.HFOV().Deg(), 73.740, 5e-4)
	near(t, "17.3 mm at 12 mm", small.HFOV().Deg(), 71.571, 5e-4)
	full.FocalM = 0.050
	near(t, "36 mm at 50 mm", full.HFOV().Deg(), 39.598, 5e-4)
	near(t, "24 mm at 50 mm", full.VFOV().Deg(), 26.991, 5e-4)
	near(t, "diagonal at 50 mm", full.DFOV().Deg(), 46.793, 5e-4)
	full.Squeeze = 2 // a 2× anamorphic 50 sees as wide as a spherical 25
	near(t, "squeezed", full.HFOV().Deg(), 2*math.Atan(36.0/50)*180/math.Pi, 1e-9)
}

func TestEdgeOfPictureIsEdgeOfView(t *testing.T) {
	c := small
	c.Squeeze = 1.33
	half := float64(c.HFOV()) / 2
	px, _, _, _ := c.Project(lens.Pose{}, geo.Vec3{X: math.Sin(half), Y: math.Cos(half)})
	near(t, "right edge", px, float64(c.PixelsW), 1e-9)
	if !c.Inside(px-1e-6, 1) || c.Inside(px+1e-6, 1) {
		t.Error("the edge is not the border of Inside")
	}
}

func TestCameraCheck(t *testing.T) {
	if err := small.Check(); err != nil {
		t.Error(err)
	}
	for name, change := range map[string]func(*lens.Camera){
		"no focal length": func(c *lens.Camera) { c.FocalM = 0 },
		"NaN sensor":      func(c *lens.Camera) { c.SensorWidthM = math.NaN() },
		"metres for mm":   func(c *lens.Camera) { c.SensorHeightM = 13 },
		"no pixels":       func(c *lens.Camera) { c.PixelsW = 0 },
		"squeeze":         func(c *lens.Camera) { c.Squeeze = 0.5 },
	} {
		c := small
		change(&c)
		if c.Check() == nil {
			t.Errorf("%s passed", name)
		}
	}
}

func TestProjectAllocatesNothing(t *testing.T) {
	if n := testing.AllocsPerRun(100, func() {
		px, py, _, _ := small.Project(lens.Pose{Tilt: -0.3}, geo.Vec3{X: 3, Y: 40, Z: -5})
		small.Ray(lens.Pose{Tilt: -0.3}, px, py)
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func BenchmarkProject(b *testing.B) {
	v := small.View(lens.Pose{Tilt: -0.3})
	for b.Loop() {
		v.Project(geo.Vec3{X: 3, Y: 40, Z: -5})
	}
}
