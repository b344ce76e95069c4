package previs_test

import (
	"bytes"
	"image"
	"math"
	"runtime"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/desk/previs"
	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/terrain"
	"fieldfare/plan/move"
)

// flat is level ground at 100 m.
func flat(t testing.TB) *terrain.Grid {
	t.Helper()
	g, err := terrain.NewGrid(geo.Bounds{MinX: -500, MinY: -500, MaxX: 500, MaxY: 500}, 5)
	if err != nil {
		t.Fatal(err)
	}
	for i := range g.Z {
		g.Z[i] = 100
	}
	return g
}

var still = lens.Camera{FocalM: 0.025, SensorWidthM: 0.0256, SensorHeightM: 0.0144, PixelsW: 640, PixelsH: 360}

// above looks down from 80 m over the middle, north up.
func above() lens.Pose { return lens.Pose{Pos: geo.Vec3{Z: 180}, Tilt: degrees(-90)} }

func brightness(img *image.RGBA, x, y float64) float64 {
	c := img.RGBAAt(int(x), int(y))
	return 0.2126*float64(c.R) + 0.7152*float64(c.G) + 0.0722*float64(c.B)
}

// A mast's shadow on level ground ends where trigonometry puts it: height over the tangent of the sun's altitude, straight away
// from the sun.
func TestShadowOfAMast(t *testing.T) {
	const high = 12.0
	scene := previs.Bare(flat(t))
	scene.Add(move.Obstacle{Kind: "mast", Shape: move.Cylinder{Base: geo.Vec3{Z: 100}, RadiusM: 1, HeightM: high}})
	for _, sun := range [][2]float64{{110, 30}, {200, 45}, {285, 35}} {
		m := clearDay(sun[0], sun[1])
		img, err := previs.Render(scene, still, above(), m, previs.Options{NoInk: true})
		if err != nil {
			t.Fatal(err)
		}
		long := high / math.Tan(sun[1]*math.Pi/180)
		sin, cos := math.Sincos((sun[0] + 180) * math.Pi / 180)
		at := func(k float64) float64 {
			x, y, _, _ := still.Project(above(), geo.Vec3{X: k * long * sin, Y: k * long * cos, Z: 100})
			return brightness(img, x, y)
		}
		lit := at(1.3)
		if at(0.7) > 0.75*lit || at(0.95) > 0.75*lit || at(1.15) < 0.95*lit {
			t.Errorf("sun at %v: brightness %.0f, %.0f, %.0f along the shadow, %.0f beyond", sun, at(0.7), at(0.95), at(1.15), lit)
		}
	}
}

// The aircraft's own shadow falls straight away from the sun: on the antisolar point of the picture.
func TestOwnShadowLiesOppositeTheSun(t *testing.T) {
	scene := previs.Bare(flat(t))
	m := clearDay(150, 70)
	pose := lens.Pose{Pos: geo.Vec3{Z: 125}, Tilt: degrees(-80), Azimuth: degrees(330)}
	bare, _ := previs.Render(scene, still, pose, m, previs.Options{NoInk: true})
	m.Craft = &previs.Craft{Pos: pose.Pos, SizeM: 1.6, RotorDiameterM: 0.5, Rotors: 4}
	m.Exposure = 0
	img, _ := previs.Render(scene, still, pose, m, previs.Options{NoInk: true})
	x, y, _, ok := still.Project(pose, pose.Pos.Sub(m.Sun.Direction()))
	if !ok || !still.Inside(x, y) {
		t.Fatal("the antisolar point is not in the picture")
	}
	if a, b := brightness(img, x, y), brightness(bare, x, y); a > 0.8*b {
		t.Errorf("brightness %.0f under the aircraft, %.0f without it", a, b)
	}
	if a, b := brightness(img, x+60, y), brightness(bare, x+60, y); math.Abs(a-b) > 2 {
		t.Errorf("the ground beside the shadow changed from %.0f to %.0f", b, a)
	}
}

// A solid shows where its corners project: inside its outline it hides the ground, outside not.
func TestSolidsStandWhereTheyAre(t *testing.T) {
	scene := previs.Bare(flat(t))
	box := move.NewBox(geo.Vec3{X: 10, Y: 60, Z: 100}, 16, 9, 7, 0.4)
	scene.Add(move.Obstacle{Kind: "bridge", Shape: box})
	pose := lens.Pose{Pos: geo.Vec3{X: -12, Z: 112}, Azimuth: degrees(18), Tilt: degrees(-5)}
	_, depth := previs.Survey(scene, still, pose, clearDay(180, 40))
	_, clear := previs.Survey(previs.Bare(flat(t)), still, pose, clearDay(180, 40))
	left, right, top, bottom := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, p := range box.Ring {
		for _, z := range []float64{box.BottomM, box.TopM} {
			x, y, _, _ := still.Project(pose, p.At(z))
			left, right, top, bottom = min(left, x), max(right, x), min(top, y), max(bottom, y)
		}
	}
	l, r, u, d := 1e9, -1e9, 1e9, -1e9
	for k := range depth {
		if depth[k] != clear[k] {
			x, y := float64(k%still.PixelsW), float64(k/still.PixelsW)
			l, r, u, d = min(l, x), max(r, x+1), min(u, y), max(d, y+1)
		}
	}
	for _, v := range [][2]float64{{l, left}, {r, right}, {u, top}, {d, bottom}} {
		if math.Abs(v[0]-v[1]) > 1 {
			t.Fatalf("drawn from %g to %g and %g to %g; it projects from %.1f to %.1f and %.1f to %.1f", l, r, u, d, left, right, top, bottom)
		}
	}
}

// Ground that is not known is never drawn as ground.
func TestUnknownGroundIsPaper(t *testing.T) {
	g := flat(t)
	for j := 96; j < 105; j++ {
		for i := 96; i < 105; i++ {
			g.Z[j*g.NX+i] = float32(math.NaN())
		}
	}
	kind, _ := previs.Survey(previs.Bare(g), still, above(), clearDay(180, 40))
	if kind[180*640+320] != previs.Sky || kind[180*640+5] == previs.Sky {
		t.Error("the hole in the ground is drawn as ground, or the ground as a hole")
	}
}

// A ray that starts where the pixel below it met the ground misses none: over spikes, pits and holes, from any pose, it
// finds what a ray from the eye finds.
func TestNoGroundIsSkipped(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, err := terrain.NewGrid(geo.Bounds{MaxX: 400, MaxY: 400}, 10)
		if err != nil {
			t.Fatal(err)
		}
		rough := rapid.Float64Range(0, 60).Draw(t, "roughness")
		seed := rapid.Uint32().Draw(t, "seed")
		for k := range g.Z {
			seed = seed*1664525 + 1013904223
			g.Z[k] = float32(rough * float64(seed>>8) / (1 << 24))
			if seed>>8%97 == 0 && k%3 == 0 {
				g.Z[k] = float32(math.NaN())
			}
		}
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		pose := lens.Pose{Pos: geo.Vec3{X: draw("x", -50, 450), Y: draw("y", -50, 450), Z: draw("z", 1, 150)},
			Azimuth: degrees(draw("azimuth", 0, 360)), Tilt: degrees(draw("tilt", -90, 30)), Roll: degrees(draw("roll", -60, 60))}
		if z, ok := g.HeightAt(pose.Pos.X, pose.Pos.Y); ok {
			pose.Pos.Z = max(pose.Pos.Z, z+0.5) // no camera is under ground
		}
		c := still
		c.PixelsW, c.PixelsH = 64, 36
		drawn, alone := previs.Depths(previs.Bare(g), c, pose, clearDay(180, 40))
		for k := range drawn {
			if math.Abs(drawn[k]-alone[k]) > 1e-4*alone[k] {
				t.Fatalf("pixel %d, %d: drawn %g m away, a ray from the eye meets ground at %g m", k%64, k/64, drawn[k], alone[k])
			}
		}
	})
}

func TestSameBytesOnAnyCores(t *testing.T) {
	g, views := authority(t)
	draw := func() []byte {
		scene := previs.Bare(g)
		scene.Add(move.Obstacle{Kind: "building", Shape: move.NewBox(geo.Vec3{X: 1700, Y: 5200, Z: 480}, 40, 30, 90, 0.3)})
		img, err := previs.Render(scene, views[0].camera(320, 180), views[0].pose(), views[0].moment(), previs.Options{Thirds: true, SafeArea: true, Band: "x",
			Burn: &previs.Burn{Slate: "4B", Title: "Äh, ça va?", Timecode: "00:00:01:00", Note: "25 mm"}})
		if err != nil {
			t.Fatal(err)
		}
		return img.Pix
	}
	many := draw()
	was := runtime.GOMAXPROCS(1)
	one := draw()
	runtime.GOMAXPROCS(was)
	if !bytes.Equal(one, many) {
		t.Error("one core draws another picture than several")
	}
}

func TestBadCameras(t *testing.T) {
	scene := previs.Bare(flat(t))
	for _, c := range []lens.Camera{{}, {FocalM: math.NaN(), SensorWidthM: 0.02, SensorHeightM: 0.01, PixelsW: 10, PixelsH: 10}} {
		if _, err := previs.Render(scene, c, above(), clearDay(180, 40), previs.Options{}); err == nil {
			t.Errorf("%v was drawn with", c)
		}
	}
}

// A film's frames share one exposure, a smeared frame of a still camera equals the sharp one, and a slate that is not cleared
// says so on every frame.
func TestShots(t *testing.T) {
	shot := demoShot(t, "1A", "10:00", 320)
	shot.Options.Band = ""
	sharp, err := shot.At(2)
	if err != nil {
		t.Fatal(err)
	}
	shot.SmearS = 0.02
	smeared, err := shot.At(2)
	if err != nil {
		t.Fatal(err)
	}
	off := 0
	for k := range sharp.Pix {
		off = max(off, int(math.Abs(float64(sharp.Pix[k])-float64(smeared.Pix[k]))))
	}
	if off > 3 {
		t.Errorf("a camera that holds smears by %d levels", off)
	}
	a, _ := demo()
	for _, night := range []string{"02:00"} {
		dark := demoShot(t, "1A", night, 64)
		stops := 0
		for _, f := range a.Take("1A").At(dark.Start).Findings {
			if f.Severity == "stop" {
				stops++
			}
		}
		if stops == 0 || dark.Options.Band == "" {
			t.Errorf("at %s: %d stops, band %q", night, stops, dark.Options.Band)
		}
	}
	if _, err := previs.NewShot(shot.Scene, a, "9Z", shot.Start, 100); err == nil {
		t.Error("a slate that is not in the shoot was drawn")
	}
	first, middle, last, err := shot.Scene.Storyboard(a, "2C", shot.Start, 160)
	if err != nil || first.Bounds() != last.Bounds() || middle.Bounds().Dx() != 160 {
		t.Errorf("storyboard: %v, %v, %v, %v", first, middle, last, err)
	}
}

// A pan smears an upright edge over shutter × rate × focal length in pixels, at the middle of the frame.
func TestSmearOfAPan(t *testing.T) {
	shot := demoShot(t, "1B", "10:00", 640)
	fastest, at := 0.0, 0.0
	samples := shot.Path.Samples
	for i := 1; i < len(samples); i++ {
		if w := math.Abs(float64((samples[i].Azimuth() - samples[i-1].Azimuth()).Signed())) * shot.Path.RateHz; w > fastest {
			fastest, at = w, samples[i].T
		}
	}
	if fastest < 0.02 {
		t.Fatalf("the slate pans at %g rad/s at most: choose another", fastest)
	}
	shot.Options = previs.Options{NoInk: true}
	shot.SmearS = 0.4 // longer than any shutter, so that the smear is long
	fx, _ := shot.Camera.FocalPixels()
	want := fastest * shot.SmearS * fx
	smeared, err := shot.At(at)
	if err != nil {
		t.Fatal(err)
	}
	shot.SmearS = 0
	sharp, err := shot.At(at)
	if err != nil {
		t.Fatal(err)
	}
	// Averaging over a row of n pixels takes fine detail away and leaves the mean: neighbours part by about 1/n of what they did.
	step := func(img *image.RGBA) (sum float64) {
		w, h := img.Rect.Dx(), img.Rect.Dy()
		for y := h / 3; y < 2*h/3; y++ {
			for x := w / 3; x < 2*w/3; x++ {
				sum = max(sum, math.Abs(brightness(img, float64(x+1), float64(y))-brightness(img, float64(x), float64(y))))
			}
		}
		return sum
	}
	if a, b := step(sharp), step(smeared); !(b < a/(want/4)) {
		t.Errorf("the sharpest step is %.1f levels, smeared over %.0f px %.1f", a, want, b)
	}
}
