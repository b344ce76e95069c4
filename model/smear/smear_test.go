package smear_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/smear"
	"fieldfare/model/unit"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.9g, want %.9g ± %g", what, got, want, tolerance)
	}
}

// camera with square pixels of the given pitch.
func camera(focal, pitch float64, w, h int) lens.Camera {
	return lens.Camera{FocalM: focal, SensorWidthM: pitch * float64(w), SensorHeightM: pitch * float64(h), PixelsW: w, PixelsH: h}
}

// blur_px = v·t·f/(d·pitch), worked by hand.
func TestBlurByHand(t *testing.T) {
	for _, c := range []struct{ v, d, f, pitch, denominator, fps, blur, perFrame, crossing float64 }{
		{12, 40, 0.025, 4.2e-6, 60, 30, 29.762, 59.524, 2.2938}, // 12·0.025/(40·4.2e-6) = 1785.7 px/s
		{5, 100, 0.012, 4.2e-6, 50, 25, 2.857, 5.714, 28.672},   // 142.86 px/s
		{8, 20, 0.050, 5e-6, 100, 50, 40, 80, 1.024},            // 4000 px/s
	} {
		r := smear.Recording{Camera: camera(c.f, c.pitch, 4096, 2160), FrameRate: c.fps, ShutterS: 1 / c.denominator}
		s := smear.Sample{VelocityMS: geo.Vec3{X: c.v}}
		m := r.Of(&s, smear.Point{At: geo.Vec3{Y: c.d}})
		near(t, "blur", m.BlurPx, c.blur, 5e-4)
		near(t, "per frame", m.PxFrame(), c.perFrame, 5e-4)
		crossing, _ := r.CrossingS(m)
		near(t, "crossing", crossing, c.crossing, 5e-4)
		if m.XPxFrame >= 0 || math.Abs(m.YPxFrame) > 1e-9 {
			t.Error("flying to the right moves the world to the left:", m)
		}
		// the same motion as a subject that flies the other way past a camera at rest
		other := r.Of(&smear.Sample{}, smear.Point{At: geo.Vec3{Y: c.d}, VelocityMS: geo.Vec3{X: -c.v}})
		near(t, "relative motion", other.XPxFrame, m.XPxFrame, 1e-9)
	}
}

// Geometry notes, section 5 (worked there in double precision): 7 s a width at 24 fps and
// 1920 px is 11.43 px/frame and 5.71 px of blur at 180°; the centre of a 36/24 picture
// panned at AOV/T runs 0.858 and its edge 1.341 times the mean.
func TestPan(t *testing.T) {
	r := smear.Recording{Camera: lens.Camera{FocalM: 0.024, SensorWidthM: 0.036, SensorHeightM: 0.02025, PixelsW: 1920, PixelsH: 1080}, FrameRate: 24, ShutterS: 1.0 / 48}
	rate := unit.AngularRate(float64(r.Camera.HFOV()) / 7)
	near(t, "deg/s", unit.Angle(rate).Deg(), 10.534, 5e-4)
	s := smear.Sample{TurnRadS: smear.Turn(lens.Pose{}, rate, 0, 0)}
	centre := r.OfDirection(&s, geo.Vec3{Y: 1})
	half := float64(r.Camera.HFOV()) / 2
	edge := r.OfDirection(&s, geo.Vec3{X: math.Sin(half), Y: math.Cos(half)})
	mean := 1920 / 7.0 / 24
	near(t, "mean", mean, 11.43, 0.005)
	near(t, "centre", centre.PxFrame()/mean, 0.858, 1e-3)
	near(t, "edge", edge.PxFrame()/mean, 1.341, 1e-3)
	near(t, "blur", centre.BlurPx, centre.PxFrame()/2, 1e-9)
	if centre.XPxFrame >= 0 {
		t.Error("a pan to the right moves the picture to the left:", centre)
	}
	near(t, "seven seconds", smear.NaturalCrossing(24), 7, 1e-12)
}

// The derivative against two projections a moment apart.
func TestMotionIsTheDerivativeOfTheProjection(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		vector := func(name string, size float64) geo.Vec3 {
			return geo.Vec3{X: number(name+" x", -size, size), Y: number(name+" y", -size, size), Z: number(name+" z", -size, size)}
		}
		r := smear.Recording{Camera: camera(number("focal", 0.008, 0.1), 4.2e-6, 4096, 2160), FrameRate: 25, ShutterS: 0.02}
		pose := lens.Pose{Pos: vector("pos", 100), Azimuth: unit.Angle(number("az", 0, 6.28)), Tilt: unit.Angle(number("tilt", -1.4, 1.4)), Roll: unit.Angle(number("roll", -1, 1))}
		azimuth, tilt, roll := number("az rate", -0.5, 0.5), number("tilt rate", -0.5, 0.5), number("roll rate", -0.5, 0.5)
		velocity, own := vector("v", 15), vector("own", 10)
		point := pose.Pos.Add(r.Camera.Ray(pose, number("px", 0, 4096), number("py", 0, 2160)).Scale(number("distance", 10, 500)))
		s := smear.Sample{Pose: pose, VelocityMS: velocity, TurnRadS: smear.Turn(pose, unit.AngularRate(azimuth), unit.AngularRate(tilt), unit.AngularRate(roll))}
		m := r.Of(&s, smear.Point{At: point, VelocityMS: own})
		at := func(dt float64) (lens.Pose, float64, float64) {
			p := lens.Pose{Pos: pose.Pos.Add(velocity.Scale(dt)), Azimuth: pose.Azimuth + unit.Angle(azimuth*dt), Tilt: pose.Tilt + unit.Angle(tilt*dt), Roll: pose.Roll + unit.Angle(roll*dt)}
			x, y, _, _ := r.Camera.Project(p, point.Add(own.Scale(dt)))
			return p, x, y
		}
		const h = 1e-5
		before, x0, y0 := at(-h)
		after, x1, y1 := at(h)
		dx, dy := (x1-x0)/(2*h)/25, (y1-y0)/(2*h)/25
		if tolerance := 1e-4 * (1 + math.Hypot(dx, dy)); math.Hypot(m.XPxFrame-dx, m.YPxFrame-dy) > tolerance {
			t.Fatalf("derivative (%g, %g), difference (%g, %g)", m.XPxFrame, m.YPxFrame, dx, dy)
		}
		if d := smear.TurnBetween(before, after, 2*h).Sub(s.TurnRadS).Norm(); d > 1e-6 {
			t.Fatalf("mean turn is off by %g", d)
		}
	})
}

func TestLook(t *testing.T) {
	r := smear.Recording{Camera: camera(0.012, 4.2e-6, 4096, 2160), FrameRate: 25, ShutterS: 0.02}
	s := smear.Sample{Pose: lens.Pose{Pos: geo.Vec3{Z: 30}, Tilt: -10 * unit.Degree}, VelocityMS: geo.Vec3{Y: 8},
		Subject: smear.Point{At: geo.Vec3{Y: 50}, VelocityMS: geo.Vec3{Y: 8}}, HasSubject: true, HasGround: true}
	look := r.Look(&s)
	near(t, "a subject led at its own speed", look.Subject.PxFrame(), 0, 1e-9)
	near(t, "the horizon without turning", look.Horizon.PxFrame(), 0, 1e-9)
	if !look.Horizon.Seen || !look.Ground.Seen || look.Ground.YPxFrame <= 0 || look.Fastest.PxFrame() <= look.Ground.PxFrame() {
		t.Errorf("%+v", look)
	}
	// Straight down the whole ground runs alike: v·f/(h·pitch), 8·0.012/(30·4.2e-6)/25 px.
	s.Pose.Tilt = -90 * unit.Degree
	look = r.Look(&s)
	near(t, "top down", look.Ground.PxFrame(), 8*0.012/(30*4.2e-6)/25, 1e-9)
	near(t, "top down, anywhere", look.Fastest.PxFrame(), look.Ground.PxFrame(), 1e-9)
	if look.Horizon.Seen {
		t.Error("a horizon in a top-down picture")
	}
	s.HasGround, s.HasSubject = false, false
	if look = r.Look(&s); look.Ground.Seen || look.Subject.Seen || look.Fastest.Seen {
		t.Errorf("what was not given is seen: %+v", look)
	}
	s.HasSubject, s.Subject = true, smear.Point{At: geo.Vec3{Z: 60}}
	if look = r.Look(&s); look.Subject.Seen {
		t.Error("a subject behind the camera is seen")
	}
}

func TestAlong(t *testing.T) {
	r := smear.Recording{Camera: camera(0.025, 4.2e-6, 4096, 2160), FrameRate: 25, ShutterS: 0.02}
	path := make([]smear.Sample, 500)
	for i := range path {
		x := -100 + 0.4*float64(i) // passes the subject at sample 250
		path[i] = smear.Sample{TimeS: float64(i) / 25, Pose: lens.Pose{Pos: geo.Vec3{X: x, Z: 20}}, VelocityMS: geo.Vec3{X: 10},
			Subject: smear.Point{At: geo.Vec3{Y: 40, Z: 20}}, HasSubject: true, HasGround: true}
	}
	peaks, err := r.Along(path)
	if err != nil || !peaks.Subject.Motion.Seen || !peaks.Ground.Motion.Seen {
		t.Fatal(peaks, err)
	}
	// At any moment of a straight pass the offset across is the same, so the motion is even.
	near(t, "even pass", peaks.Subject.Motion.PxFrame(), 10*0.025/(40*4.2e-6)/25, 1e-9)
	path[77].TurnRadS = smear.Turn(path[77].Pose, -1, 0, 0)
	peaks, err = r.Along(path)
	if err != nil || peaks.Horizon.Sample != 77 || peaks.Horizon.TimeS != 77.0/25 {
		t.Error(peaks.Horizon, err)
	}
	path[3].VelocityMS.X = math.NaN()
	if _, err := r.Along(path); err == nil || !strings.Contains(err.Error(), "t = 0.12 s") {
		t.Error(err)
	}
	if _, err := r.Along(nil); err == nil {
		t.Error("an empty path passed")
	}
	if n := testing.AllocsPerRun(20, func() { r.Look(&path[100]) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func TestJudge(t *testing.T) {
	r := smear.Recording{Camera: camera(0.025, 4.2e-6, 4096, 2160), FrameRate: 30, ShutterS: 1.0 / 60}
	fastest, err := r.FastestSpeed(40)
	near(t, "fastest by hand", fastest, 4096*4.2e-6/0.025*40/5.6, 1e-9) // 7 s × 24/30
	if err != nil {
		t.Error(err)
	}
	at := func(speed float64) smear.Verdict {
		return r.Judge(r.Of(&smear.Sample{VelocityMS: geo.Vec3{X: speed}}, smear.Point{At: geo.Vec3{Y: 40}}))
	}
	if v := at(fastest); !v.Natural || v.Slower != 1 {
		t.Errorf("at the limit: %+v", v)
	}
	v := at(12)
	if v.Natural || !strings.Contains(v.Basis, "common practice, no source") {
		t.Errorf("12 m/s: %+v", v)
	}
	near(t, "slower by", v.Slower*12, fastest, 1e-9)
	turn, _ := r.FastestTurn()
	s := smear.Sample{TurnRadS: smear.Turn(lens.Pose{}, turn, 0, 0)}
	crossing, _ := r.CrossingS(r.OfDirection(&s, geo.Vec3{Y: 1}))
	near(t, "fastest turn", crossing, 5.6, 1e-9)
	r.ShutterS = 1.0 / 125
	if v := at(1); v.Natural || !strings.Contains(v.Why, "jittery") {
		t.Errorf("1/125 s: %+v", v)
	}
	if v := at(0); !v.Natural {
		t.Errorf("at rest: %+v", v)
	}
	// TM-84352's line through its own limits: 30 Hz at rest, 6 Hz more per deg/s.
	near(t, "smooth rate", smear.SmoothRate(unit.AngularRate(5*unit.Degree), 30, 6), 60, 1e-9)
}

func TestBlurMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, d, v := rapid.Float64Range(0.01, 0.1).Draw(t, "f"), rapid.Float64Range(5, 500).Draw(t, "d"), rapid.Float64Range(0.1, 25).Draw(t, "v")
		shutter := rapid.Float64Range(0.001, 0.03).Draw(t, "t")
		blur := func(f, d, v, shutter float64) float64 {
			r := smear.Recording{Camera: camera(f, 4e-6, 4000, 2000), FrameRate: 25, ShutterS: shutter}
			return r.Of(&smear.Sample{VelocityMS: geo.Vec3{X: v}}, smear.Point{At: geo.Vec3{Y: d}}).BlurPx
		}
		b := blur(f, d, v, shutter)
		if blur(f*1.1, d, v, shutter) <= b || blur(f, d*1.1, v, shutter) >= b || blur(f, d, v*1.1, shutter) <= b || blur(f, d, v, shutter*1.1) <= b {
			t.Fatal("blur does not grow with lens, speed and shutter and shrink with distance")
		}
	})
}

// Common practice, no source: telephoto work only in calm wind. The gimbal is invented; the
// check is that the longest lens shrinks as the wind grows, and by hand that at the longest
// focal length the blur is the limit.
func TestHold(t *testing.T) {
	gimbal := smear.Gimbal{{WindMS: 10, Rate: unit.AngularRate(0.5 * unit.Degree)}, {WindMS: 2, Rate: unit.AngularRate(0.05 * unit.Degree)}}
	r := smear.Recording{Camera: camera(0.1, 4.2e-6, 4096, 2160), FrameRate: 25, ShutterS: 0.02}
	h, err := r.Hold(gimbal, 2)
	near(t, "0.05°/s for 1/50 s at 100 mm by hand", h.BlurPx, 0.1*0.05*math.Pi/180*0.02/4.2e-6, 1e-9)
	if err != nil || h.Severity != "" {
		t.Errorf("calm: %+v %v", h, err)
	}
	last := math.Inf(1)
	words := ""
	for wind := 0.0; wind <= 10; wind += 0.5 {
		h, err := r.Hold(gimbal, wind)
		if err != nil || h.LongestFocalM > last {
			t.Fatal("more wind allows a longer lens", h, err)
		}
		last = h.LongestFocalM
		if !strings.HasSuffix(words, h.Severity+" ") {
			words += h.Severity + " "
		}
		at := r
		at.Camera.FocalM = h.LongestFocalM
		if edge, err := at.Hold(gimbal, wind); err == nil {
			near(t, "blur at the longest focal length", edge.BlurPx, smear.CautionPx, 1e-9)
		}
	}
	if words != " caution stop " {
		t.Errorf("severities as the wind grows: %q", words)
	}
	if h, _ := r.Hold(gimbal, 11); h.Severity != "unknown" || h.LongestFocalM != 0 {
		t.Errorf("past the measurements: %+v", h)
	}
	if h, _ := r.Hold(nil, 3); h.Severity != "unknown" {
		t.Errorf("no measurement: %+v", h)
	}
	if _, err := r.Hold(gimbal, math.NaN()); err == nil {
		t.Error("NaN wind passed")
	}
	// A fast vibration cannot sweep more than from peak to peak, rate/(π·frequency).
	fast := smear.Gimbal{{WindMS: 10, Rate: 0.01, FrequencyHz: 80}}
	h, _ = r.Hold(fast, 5)
	near(t, "peak to peak", h.BlurPx, 0.1*0.01/(math.Pi*80)/4.2e-6, 1e-9)
}

func TestRecordingCheck(t *testing.T) {
	good := smear.Recording{Camera: camera(0.025, 4.2e-6, 4096, 2160), FrameRate: 25, ShutterS: 0.02}
	if err := good.Check(); err != nil {
		t.Error(err)
	}
	for name, change := range map[string]func(*smear.Recording){
		"shutter over frame": func(r *smear.Recording) { r.ShutterS = 0.05 },
		"NaN shutter":        func(r *smear.Recording) { r.ShutterS = math.NaN() },
		"no frame rate":      func(r *smear.Recording) { r.FrameRate = 0 },
		"no lens":            func(r *smear.Recording) { r.Camera.FocalM = 0 },
	} {
		r := good
		change(&r)
		if r.Check() == nil {
			t.Errorf("%s passed", name)
		}
	}
}

func BenchmarkLook(b *testing.B) {
	r := smear.Recording{Camera: camera(0.025, 4.2e-6, 4096, 2160), FrameRate: 25, ShutterS: 0.02}
	s := smear.Sample{Pose: lens.Pose{Pos: geo.Vec3{Z: 30}, Tilt: -0.2}, VelocityMS: geo.Vec3{Y: 8}, HasSubject: true, Subject: smear.Point{At: geo.Vec3{Y: 60}}, HasGround: true}
	for b.Loop() {
		r.Look(&s)
	}
}
