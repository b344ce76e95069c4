package frame_test

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

func camera(focal float64) lens.Camera {
	return lens.Camera{FocalM: focal, SensorWidthM: 0.0236, SensorHeightM: 0.0133, PixelsW: 3840, PixelsH: 2160}
}

const tenthPixel = 0.1

// Poses and pixels come from the published pinhole model x ~ K[R|−RC]X (R. Hartley and
// A. Zisserman, "Multiple View Geometry", 2nd ed. (2004), equation 6.8), in the axes of the
// calibration toolboxes, solved for size, place and horizon by scipy's fsolve:
// testdata/authority/pinhole.py.
func TestComposeAgainstPublishedPinhole(t *testing.T) {
	text, err := os.ReadFile("testdata/authority/pinhole.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Cases []struct {
			Camera struct{ Focal, Width, Height float64 }
			Box    struct {
				Foot                         [3]float64
				Width, Depth, Height, Facing float64
			}
			Want struct {
				Bearing, Size, X, Y        float64
				Horizon, Height, Elevation *float64
			}
			Pose    [5]float64
			Pixels  [][2]float64
			Corners [][3]float64
		}
	}
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Cases) < 50 {
		t.Fatalf("only %d cases", len(file.Cases))
	}
	worst := 0.0
	for i, c := range file.Cases {
		cam := lens.Camera{FocalM: c.Camera.Focal, SensorWidthM: c.Camera.Width, SensorHeightM: c.Camera.Height, PixelsW: 3840, PixelsH: 2160}
		box := frame.Box{Foot: geo.Vec3{X: c.Box.Foot[0], Y: c.Box.Foot[1], Z: c.Box.Foot[2]},
			WidthM: c.Box.Width, DepthM: c.Box.Depth, HeightM: c.Box.Height, Facing: unit.Angle(c.Box.Facing)}
		w := frame.Want{Bearing: unit.Angle(c.Want.Bearing), Size: c.Want.Size, Place: frame.Place{X: c.Want.X, Y: c.Want.Y}, HeightM: c.Want.Height}
		if h := c.Want.Horizon; h != nil {
			l := frame.Level(*h)
			w.Horizon = &l
		}
		if e := c.Want.Elevation; e != nil {
			a := unit.Angle(*e)
			w.Elevation = &a
		}
		pose, err := frame.Compose(cam, box, w)
		if err != nil {
			t.Errorf("case %d: %v", i, err)
			continue
		}
		view := frame.Look(cam, pose)
		for k, x := range c.Corners {
			at, _, ok := view.Point(geo.Vec3{X: x[0], Y: x[1], Z: x[2]})
			off := math.Hypot(at.X*3840-c.Pixels[k][0], at.Y*2160-c.Pixels[k][1])
			worst = math.Max(worst, off)
			if !ok || off > tenthPixel {
				t.Errorf("case %d corner %d: %.3f, %.3f px, want %.3f, %.3f", i, k, at.X*3840, at.Y*2160, c.Pixels[k][0], c.Pixels[k][1])
			}
		}
		if d := pose.Pos.Sub(geo.Vec3{X: c.Pose[0], Y: c.Pose[1], Z: c.Pose[2]}).Norm(); d > 1e-4 {
			t.Errorf("case %d: camera is %.6f m from where the reference has it", i, d)
		}
	}
	t.Logf("worst corner %.2g px", worst)
}

// There and back: what Compose finds, Look shows as asked.
func TestComposeShowsWhatIsWanted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(low, high float64, name string) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		cam := camera(f(0.01, 0.1, "focal"))
		box := frame.Box{Foot: geo.Vec3{X: f(-1e3, 1e3, "x"), Y: f(-1e3, 1e3, "y"), Z: f(0, 3e3, "z")},
			WidthM: f(0.1, 10, "width"), DepthM: f(0.1, 10, "depth"), HeightM: f(0.3, 30, "height"), Facing: unit.Angle(f(0, 6.3, "facing"))}
		el := unit.Angle(f(-0.3, 1.2, "elevation"))
		w := frame.Want{Bearing: unit.Angle(f(0, 6.3, "bearing")), Size: f(0.02, 0.5, "size"), Place: frame.Place{X: f(0.2, 0.8, "px"), Y: f(0.2, 0.8, "py")}, Elevation: &el}
		pose, err := frame.Compose(cam, box, w)
		if err != nil {
			var e *frame.Error
			if !errors.As(err, &e) || e.Nearest == "" {
				t.Fatalf("%v has no mend", err)
			}
			return
		}
		v := frame.Look(cam, pose)
		at, _, _ := v.Point(box.Centre())
		e, ok := v.Extent(box)
		if !ok || math.Abs(at.X-w.Place.X) > 1e-9 || math.Abs(at.Y-w.Place.Y) > 1e-9 || math.Abs(e.Height()-w.Size) > 1e-9 {
			t.Fatalf("asked %+v, seen at %v, %.12f of the frame", w, at, e.Height())
		}
		d := pose.Pos.Sub(box.Centre())
		if got := math.Atan2(d.Z, d.Horizontal()); math.Abs(got-float64(el)) > 1e-9 {
			t.Fatalf("elevation %.9f, asked %.9f", got, el)
		}
		// The same framing from 1.7 times the distance.
		far := box.Centre().Add(d.Scale(1.7))
		focal, err := frame.Focal(cam, far, box, w.Place, w.Size)
		if err != nil {
			t.Fatal(err)
		}
		cam.FocalM = focal
		az, tilt, _ := frame.Aim(cam, far, box.Centre(), w.Place, 0)
		v = frame.Look(cam, lens.Pose{Pos: far, Azimuth: az, Tilt: tilt})
		if e, ok := v.Extent(box); !ok || math.Abs(e.Height()-w.Size) > 1e-6 {
			t.Fatalf("with %.1f mm: %.9f of the frame", focal*1000, e.Height())
		}
	})
}

func TestHorizon(t *testing.T) {
	cam := camera(0.024)
	for _, want := range []frame.Level{0.1, 1.0 / 3, 0.5, 0.8, 1.4} {
		v := frame.Look(cam, lens.Pose{Azimuth: 1, Tilt: frame.HorizonTilt(cam, want)})
		left, right, ok := v.Horizon()
		if !ok || math.Abs(float64(left-want)) > 1e-12 || math.Abs(float64(right-want)) > 1e-12 {
			t.Errorf("horizon at %v and %v, want %v", left, right, want)
		}
		// A level direction lands on it.
		if at, _, ok := v.Direction(geo.Vec3{X: math.Sin(1.2), Y: math.Cos(1.2)}); !ok || math.Abs(at.Y-float64(want)) > 1e-12 {
			t.Errorf("level direction at %v, want %v", at.Y, want)
		}
	}
	v := frame.Look(cam, lens.Pose{Tilt: -math.Pi / 2})
	if _, _, ok := v.Horizon(); ok {
		t.Error("a horizon straight below")
	}
	// Right side down: the horizon is seen higher on the right.
	v = frame.Look(cam, lens.Pose{Roll: 10 * unit.Degree})
	if left, right, _ := v.Horizon(); left <= right {
		t.Errorf("right side down, the horizon runs from %v to %v", left, right)
	}
}

func TestOverhead(t *testing.T) {
	cam := camera(0.024)
	box := frame.Box{Foot: geo.Vec3{Z: 100}, WidthM: 4, DepthM: 6, HeightM: 2}
	pose, err := frame.Overhead(cam, box, 0, frame.Place{X: 0.3, Y: 0.6}, 0.25, 0)
	if err != nil {
		t.Fatal(err)
	}
	v := frame.Look(cam, pose)
	at, _, _ := v.Point(box.Centre())
	e, _ := v.Extent(box)
	if math.Abs(at.X-0.3) > 1e-9 || math.Abs(at.Y-0.6) > 1e-9 || math.Abs(e.Height()-0.25) > 1e-9 || pose.Pos.Z < 102 {
		t.Errorf("from %v seen at %v, %.6f of the frame", pose.Pos, at, e.Height())
	}
	if _, err := frame.Overhead(cam, frame.Box{HeightM: 2}, 0, frame.Place{X: 0.5, Y: 0.5}, 0.25, 0); err == nil {
		t.Error("a pole filled a quarter of the frame from above")
	}
}

func TestWhatCannotBeFramed(t *testing.T) {
	cam := camera(0.024)
	man := frame.Box{WidthM: 0.5, DepthM: 0.3, HeightM: 1.8}
	high := 60.0
	_, err := frame.Compose(cam, man, frame.Want{Size: 0.4, Place: frame.Place{X: 0.5, Y: 0.5}, HeightM: &high})
	var e *frame.Error
	if !errors.As(err, &e) || !(e.Largest > 0 && e.Largest < 0.4) || !(e.NearestM > 0) {
		t.Errorf("a man at 40 %% from 60 m up: %v", err)
	}
	if _, err := frame.Compose(cam, frame.Box{}, frame.Want{Size: 0.4}); err == nil || !strings.Contains(err.Error(), "point") {
		t.Errorf("a point at 40 %%: %v", err)
	}
	if _, err := frame.Compose(lens.Camera{}, man, frame.Want{Size: 0.4}); err == nil {
		t.Error("no camera, no complaint")
	}
	if _, _, ok := frame.Aim(cam, geo.Vec3{Z: 50}, geo.Vec3{}, frame.Place{X: 0.2, Y: 0.5}, 1); ok {
		t.Error("a subject straight below sits off the middle line")
	}
	if az, tilt, ok := frame.Aim(cam, geo.Vec3{Z: 50}, geo.Vec3{}, frame.Place{X: 0.5, Y: 0.5}, 1); !ok || az != 1 || math.Abs(float64(tilt)+math.Pi/2) > 1e-9 {
		t.Errorf("straight below: azimuth %v tilt %v ok %v", az, tilt, ok)
	}
	if _, _, ok := frame.Aim(cam, geo.Vec3{}, geo.Vec3{}, frame.Place{}, 2); ok {
		t.Error("a camera inside its target")
	}
}

type flat struct{}

func (flat) HeightAt(x, y float64) (float64, bool) { return 10, math.Abs(x) < 500 }

func TestContentsAndShadow(t *testing.T) {
	cam := camera(0.024)
	sun := geo.Vec3{X: 1, Z: 1}.Unit()
	at, ok := frame.Shadow(geo.Vec3{Z: 60}, sun, flat{})
	if !ok || at.Sub(geo.Vec3{X: -50, Z: 10}).Norm() > 1e-6 {
		t.Errorf("shadow at %v", at)
	}
	if _, ok := frame.Shadow(geo.Vec3{Z: 60}, geo.Vec3{X: 1}, flat{}); ok {
		t.Error("a shadow with the sun on the horizon")
	}
	if _, ok := frame.Shadow(geo.Vec3{X: -490, Z: 60}, sun, flat{}); ok {
		t.Error("a shadow where there is no ground")
	}
	things := []frame.Thing{
		{Name: "own shadow", Box: frame.Box{Foot: at}},
		{Name: "crew", Box: frame.Box{Foot: geo.Vec3{X: 100}, HeightM: 2}},
		{Name: "sun", Far: true, Box: frame.Box{Foot: sun}},
	}
	seen := frame.Contents(nil, cam, lens.Pose{Pos: geo.Vec3{Z: 60}, Azimuth: 270 * unit.Degree, Tilt: -40 * unit.Degree}, things)
	if len(seen) != 1 || seen[0].Name != "own shadow" || seen[0].Share != 1 {
		t.Errorf("looking down sun: %+v", seen)
	}
	seen = frame.Contents(nil, cam, lens.Pose{Pos: geo.Vec3{Z: 60}, Azimuth: 90 * unit.Degree, Tilt: 40 * unit.Degree}, things)
	if len(seen) != 1 || seen[0].Name != "sun" {
		t.Errorf("looking into the sun: %+v", seen)
	}
}

func FuzzParsePlace(f *testing.F) {
	for _, s := range []string{"centre", "left third, upper third", "40 %, 55 %", "", ",", "1,2", "NaN %, 3 %", "left third, left third"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, err := frame.ParsePlace(s)
		if err != nil {
			return
		}
		back, err := frame.ParsePlace(p.String())
		if err != nil || math.Abs(back.X-p.X) > 1e-4 || math.Abs(back.Y-p.Y) > 1e-4 {
			t.Errorf("%q reads as %v and back as %v, %v", s, p, back, err)
		}
		if _, err := frame.ParseLevel(s); err == nil && strings.Contains(s, ",") {
			t.Errorf("%q is a level", s)
		}
	})
}
