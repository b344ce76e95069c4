package gimbal_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/geo"
	"fieldfare/model/gimbal"
	"fieldfare/model/unit"
)

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s = %.8g, want %.8g (relative %.1e)", what, got, want, relative)
	}
}

const mm = 1e-3

// Statics: m g d (cos angle); 0.8 kg at 10 mm is 0.0784532 N m. Parallel axes:
// I = I_cm + m d², 0.002 + 0.8 x 0.05² = 0.004 kg m² (textbook mechanics, worked by hand).
func TestMomentsAndInertia(t *testing.T) {
	l := gimbal.Carried([]gimbal.Item{{Name: "camera", MassKg: 0.8, At: geo.Vec3{Y: 10 * mm}}}, gimbal.Tilt, gimbal.Shifts{})
	near(t, "level", l.HoldNM(gimbal.Tilt, 0, geo.Vec3{}), 0.0784532, 1e-12)
	near(t, "tilted 60 deg", l.HoldNM(gimbal.Tilt, 60*unit.Degree, geo.Vec3{}), 0.0392266, 1e-9)
	near(t, "worst", l.WorstNM(gimbal.Tilt), 0.0784532, 1e-12)
	// A box with y² + z² = 0.03 m² has m (y²+z²)/12 = 0.002.
	box := gimbal.Item{Name: "box", MassKg: 0.8, At: geo.Vec3{Z: 50 * mm}, Size: geo.Vec3{Y: math.Sqrt(0.015), Z: math.Sqrt(0.015)}}
	near(t, "inertia", gimbal.Carried([]gimbal.Item{box}, gimbal.Tilt, gimbal.Shifts{}).InertiaKgM2, 0.004, 1e-12)
	// Braking at 1 g tips an offset upward forward as much as one ahead pulls down.
	high := gimbal.Carried([]gimbal.Item{{Name: "high", MassKg: 0.8, At: geo.Vec3{Z: 10 * mm}}}, gimbal.Tilt, gimbal.Shifts{})
	near(t, "felt acceleration", high.HoldNM(gimbal.Tilt, 0, geo.Vec3{Y: -9.80665}), 0.0784532, 1e-12)
}

// Drag by hand: 1/2 x 1.2 x 10² x 1.2 x 0.01 m² x 0.05 m = 0.036 N m.
func TestWindTorque(t *testing.T) {
	near(t, "wind", gimbal.WindNM(1.2, 10, 1.2, 0.01, -0.05), 0.036, 1e-12)
}

func camera(lensG, lensMM float64) []gimbal.Item {
	return []gimbal.Item{
		{Name: "camera", MassKg: 0.560, At: geo.Vec3{Y: -20 * mm, Z: 3 * mm}},
		{Name: "lens", MassKg: lensG / 1000, At: geo.Vec3{Y: lensMM * mm, Z: 3 * mm}},
		{Name: "roll motor", MassKg: 0.15, At: geo.Vec3{X: 60 * mm, Y: -70 * mm}, On: gimbal.Roll},
		{Name: "pan arm", MassKg: 0.3, At: geo.Vec3{Y: -90 * mm, Z: 80 * mm}, On: gimbal.Pan, Fixed: true},
	}
}

// By hand: camera 560 g at -20 mm, lens 240 g at 55 mm: (-11200 + 13200)/800 = 2.5 mm
// front-heavy, so the camera goes back 2.5 mm; 2000 g mm x g = 19.6 N mm; 20 g at 100 mm.
func TestSettingsByHand(t *testing.T) {
	s := gimbal.Settings(camera(240, 55), 0.1)
	near(t, "moment", s[gimbal.CameraForward].MomentNM, 2e-3*9.80665, 1e-9)
	near(t, "shift", s[gimbal.CameraForward].ShiftM, -2.5*mm, 1e-9)
	near(t, "counterweight", s[gimbal.CameraForward].CounterweightKg, 0.020, 1e-9)
	near(t, "down", s[gimbal.CameraHeight].ShiftM, -3*mm, 1e-9)
	// Roll: 150 g x 60 mm over 950 g.
	near(t, "left", s[gimbal.RollSide].ShiftM, -9000.0/950*mm, 1e-9)
	// Pan, after the camera stands right: (150 x -70 + 300 x -90)/950 g that moves.
	near(t, "pan arm", s[gimbal.PanForward].ShiftM, (10500.0+27000)/950*mm, 1e-9)
}

// A longer lens of 420 g at 70 mm needs (-11200 + 29400)/980 = 18.571 mm back: 16.071 mm
// farther than the short one.
func TestSwap(t *testing.T) {
	setups := []gimbal.Setup{{"short", camera(240, 55)}, {"long", camera(420, 70)}}
	var m gimbal.Mount
	for a := range m.Axes {
		m.Axes[a] = gimbal.Limits{Present: true, From: -unit.Degree, To: unit.Degree, TorqueNM: 0.5}
	}
	swaps := m.Swaps(setups)
	if len(swaps) != 2 || swaps[0].From != "short" || swaps[1].To != "short" {
		t.Fatalf("%+v", swaps)
	}
	near(t, "shift", swaps[0].Shift[gimbal.CameraForward], -(18200.0/980-2.5)*mm, 1e-9)
	near(t, "and back", swaps[1].Shift[gimbal.CameraForward], (18200.0/980-2.5)*mm, 1e-9)
	// If nothing is moved: 980 g x 16.071 mm.
	near(t, "imbalance", swaps[0].ImbalanceNM[gimbal.Tilt], 0.98*16.0714*mm*9.80665, 1e-5)
	if swaps[0].Unaided || !swaps[0].AllowanceKnown {
		t.Errorf("0.15 N m passed an allowance of 0.05 N m: %+v", swaps[0])
	}
	// Roll 9000 g mm over 950 g, then 1130 g; pan 37500 g mm likewise.
	if got, want := swaps[0].String(), "short to long: camera back 16.1 mm, roll arm right 1.5 mm, pan arm back 6.3 mm"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	m.Axes[gimbal.Tilt].TorqueNM = 0
	if s := m.Swaps(setups)[0]; s.Unaided || s.AllowanceKnown {
		t.Error("an unknown torque passed")
	}
}

func TestEffort(t *testing.T) {
	m := gimbal.Mount{}
	m.Axes[gimbal.Tilt] = gimbal.Limits{Present: true, From: -2, To: 1, TorqueNM: 0.1}
	l := gimbal.Load{MassKg: 0.8, FirstMoment: geo.Vec3{Y: 0.8 * 2 * mm}, InertiaKgM2: 0.004}
	e := m.Effort(l, gimbal.Tilt, 0, 10, 0.036)
	near(t, "total", e.TotalNM, 0.0016*9.80665+0.04+0.036, 1e-12)
	if !e.Enough || !e.Known {
		t.Errorf("%+v", e)
	}
	if e := m.Effort(l, gimbal.Tilt, 0, 20, 0.036); e.Enough {
		t.Errorf("%+v", e)
	}
	s2, _ := m.MaxAngularS2(l, gimbal.Tilt, 0.036)
	near(t, "what is left", m.Effort(l, gimbal.Tilt, 0, s2, 0.036).TotalNM, 0.1, 1e-12)
	if e := m.Effort(l, gimbal.Roll, 0, 0, 0); e.Enough || e.Known {
		t.Error("an unknown torque was enough")
	}
}

func TestTurns(t *testing.T) {
	l := gimbal.Limits{Present: true, RateS: 1}
	if ok, known := l.Turns(-1); !ok || !known {
		t.Error("1 rad/s is within 1 rad/s")
	}
	if ok, _ := l.Turns(1.1); ok {
		t.Error("1.1 rad/s passed 1 rad/s")
	}
	if ok, known := (gimbal.Limits{Present: true}).Turns(0.1); ok || known {
		t.Error("an unknown rate passed")
	}
}

func TestReach(t *testing.T) {
	var three gimbal.Mount
	three.Axes[gimbal.Tilt] = gimbal.Limits{Present: true, From: -120 * unit.Degree, To: 30 * unit.Degree}
	three.Axes[gimbal.Roll] = gimbal.Limits{Present: true, From: -40 * unit.Degree, To: 40 * unit.Degree}
	two := three
	three.Axes[gimbal.Pan] = gimbal.Limits{Present: true}
	aim := gimbal.Aim{Pan: 90 * unit.Degree, Tilt: -20 * unit.Degree}
	if r := three.Reach(aim, 0, 0); !r.Met() || r.Yaw != 0 {
		t.Errorf("three axes: %+v", r)
	}
	if r := two.Reach(aim, 0, 0); !r.Met() || math.Abs(r.Yaw.Deg()-90) > 1e-9 || r.Joint.Pan != 0 {
		t.Errorf("two axes: %+v", r)
	}
	// Flying forward 15 deg nose down, looking forward: the joint makes up the lean.
	r := two.Reach(gimbal.Aim{Tilt: 20 * unit.Degree}, -15*unit.Degree, 0)
	if r.Met() || math.Abs(r.Short[gimbal.Tilt].Deg()-5) > 1e-9 {
		t.Errorf("lean: %+v", r)
	}
	// Looking right, a nose-down lean must be rolled out.
	r = three.Reach(aim, -15*unit.Degree, 0)
	near(t, "roll joint", r.Joint.Roll.Deg(), 15, 1e-9)
	near(t, "tilt joint", r.Joint.Tilt.Deg(), -20, 1e-9)
	// A pan with stops takes the nearer way and yaws for the rest.
	three.Axes[gimbal.Pan] = gimbal.Limits{Present: true, From: -30 * unit.Degree, To: 200 * unit.Degree}
	if r := three.Reach(gimbal.Aim{Pan: -170 * unit.Degree}, 0, 0); r.Yaw != 0 || math.Abs(r.Joint.Pan.Deg()-190) > 1e-9 {
		t.Errorf("wrap: %+v", r)
	}
	if r := three.Reach(gimbal.Aim{Pan: -50 * unit.Degree}, 0, 0); math.Abs(r.Yaw.Deg()+20) > 1e-9 {
		t.Errorf("stop: %+v", r)
	}
}

func TestInFrame(t *testing.T) {
	parts := []gimbal.Part{
		{Name: "front right rotor", A: geo.Vec3{X: 0.3, Y: 0.3, Z: 0.35}, RadiusM: 0.19},
		{Name: "left leg", A: geo.Vec3{X: -0.25, Z: 0.1}, B: geo.Vec3{X: -0.35, Z: -0.25}},
	}
	v := gimbal.View{Horizontal: 74 * unit.Degree, Vertical: 46 * unit.Degree}
	if got := gimbal.InFrame(parts, v); len(got) != 0 {
		t.Errorf("level ahead sees %v", got)
	}
	// By hand: the rotor's far rim ahead is at (0.3, 0.49, 0.35): 36 deg up over the lens's
	// plane, 31 deg to the right; half the picture is 23 deg, so tilting up 20 deg brings it in.
	v.Aim.Tilt = 20 * unit.Degree
	if got := gimbal.InFrame(parts, v); len(got) != 1 || got[0] != "front right rotor" {
		t.Errorf("tilted up sees %v", got)
	}
	v.Aim = gimbal.Aim{Pan: -90 * unit.Degree}
	if got := gimbal.InFrame(parts, v); len(got) != 1 || got[0] != "left leg" {
		t.Errorf("panned left sees %v", got)
	}
	// Nose down 25 deg, camera level: the rotor comes down into the picture.
	v.Aim, v.Pitch = gimbal.Aim{}, -25*unit.Degree
	if got := gimbal.InFrame(parts, v); len(got) != 1 {
		t.Errorf("nose down sees %v", got)
	}
	v.Pitch = 0
	tilt, ok := gimbal.ClearTilt(parts, v, -90*unit.Degree, 30*unit.Degree)
	if v.Aim.Tilt = tilt; !ok || len(gimbal.InFrame(parts, v)) != 0 {
		t.Errorf("clear to %v", tilt)
	}
	if v.Aim.Tilt += unit.Degree / 5; len(gimbal.InFrame(parts, v)) == 0 {
		t.Errorf("still clear at %v", v.Aim.Tilt)
	}
}

func TestBalanceProperties(t *testing.T) {
	item := rapid.Custom(func(t *rapid.T) gimbal.Item {
		return gimbal.Item{Name: "part", MassKg: rapid.Float64Range(0.01, 3).Draw(t, "kg"),
			At: geo.Vec3{X: rapid.Float64Range(-0.3, 0.3).Draw(t, "x"), Y: rapid.Float64Range(-0.3, 0.3).Draw(t, "y"), Z: rapid.Float64Range(-0.3, 0.3).Draw(t, "z")},
			On: rapid.SampledFrom([]gimbal.Axis{gimbal.Tilt, gimbal.Roll, gimbal.Pan}).Draw(t, "on"), Fixed: rapid.Bool().Draw(t, "fixed")}
	})
	rapid.Check(t, func(t *rapid.T) {
		items := append(rapid.SliceOfN(item, 0, 8).Draw(t, "items"), gimbal.Item{Name: "camera", MassKg: 0.6, At: geo.Vec3{Y: 0.02}})
		if err := gimbal.Check(items); err != nil {
			t.Fatal(err)
		}
		shifts := gimbal.Balance(items)
		tilt, roll, pan := gimbal.Carried(items, gimbal.Tilt, shifts), gimbal.Carried(items, gimbal.Roll, shifts), gimbal.Carried(items, gimbal.Pan, shifts)
		// Each plate leaves nothing where it works, whatever is set after it.
		for what, m := range map[string]float64{"tilt forward": tilt.FirstMoment.Y, "roll side": roll.FirstMoment.X, "tilt height": tilt.FirstMoment.Z, "pan forward": pan.FirstMoment.Y} {
			if math.Abs(m) > 1e-9 {
				t.Fatalf("%s is left with %g kg m", what, m)
			}
		}
		for _, i := range items {
			l := gimbal.Carried([]gimbal.Item{i}, i.On, gimbal.Shifts{})
			if l.InertiaKgM2 < 0 || l.WorstNM(i.On) > i.MassKg*9.80665*i.At.Norm()+1e-12 {
				t.Fatalf("%+v of %+v", l, i)
			}
		}
	})
}

func TestCheckRefuses(t *testing.T) {
	for name, i := range map[string]gimbal.Item{"negative": {MassKg: -1}, "weightless": {}, "far": {MassKg: 1, At: geo.Vec3{X: 5}}, "NaN": {MassKg: math.NaN()}, "NaN place": {MassKg: 1, At: geo.Vec3{Z: math.NaN()}}} {
		if gimbal.Check([]gimbal.Item{i}) == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	if gimbal.Check(nil) == nil {
		t.Error("nothing to balance was accepted")
	}
	m := gimbal.Mount{}
	m.Axes[0] = gimbal.Limits{Present: true, From: 1, To: -1}
	if m.Check() == nil {
		t.Error("travel backwards was accepted")
	}
}

// Roll: an offset upward, pushed to the right at 1 g, falls to the left as an offset to
// the left would.
func TestHoldOnRollAndPan(t *testing.T) {
	high := gimbal.Load{MassKg: 0.8, FirstMoment: geo.Vec3{Z: 0.008}}
	near(t, "roll", high.HoldNM(gimbal.Roll, 0, geo.Vec3{X: 9.80665}), -0.0784532, 1e-6)
	near(t, "roll, leaning right", high.HoldNM(gimbal.Roll, 30*unit.Degree, geo.Vec3{}), 0.0392266, 1e-6)
	side := gimbal.Load{MassKg: 0.8, FirstMoment: geo.Vec3{X: 0.008}}
	near(t, "pan axis leaning 30 deg", side.HoldNM(gimbal.Pan, 30*unit.Degree, geo.Vec3{}), 0.0392266, 1e-6)
	if got := side.HoldNM(gimbal.Pan, 0, geo.Vec3{}); got != 0 {
		t.Errorf("an upright pan axis holds %g N m", got)
	}
	near(t, "pan under acceleration", side.HoldNM(gimbal.Pan, 0, geo.Vec3{Y: 9.80665}), 0.0784532, 1e-6)
}

// Looking right with the right side down, the joint tilts up to hold the horizon; rolled right
// side down, what stands above the middle of the picture moves to its left.
func TestBankAndRoll(t *testing.T) {
	var m gimbal.Mount
	m.Axes[gimbal.Tilt] = gimbal.Limits{Present: true, From: -2, To: 2}
	m.Axes[gimbal.Roll] = gimbal.Limits{Present: true, From: -2, To: 2}
	m.Axes[gimbal.Pan] = gimbal.Limits{Present: true}
	r := m.Reach(gimbal.Aim{Pan: 90 * unit.Degree}, 0, 10*unit.Degree)
	near(t, "tilt joint", r.Joint.Tilt.Deg(), 10, 1e-9)
	r = m.Reach(gimbal.Aim{}, 0, 10*unit.Degree)
	near(t, "roll joint", r.Joint.Roll.Deg(), -10, 1e-9)

	above := []gimbal.Part{{Name: "above", A: geo.Vec3{X: -0.001, Y: 1, Z: 0.35}, B: geo.Vec3{X: 0.001, Y: 1, Z: 0.35}}}
	v := gimbal.View{Horizontal: 74 * unit.Degree, Vertical: 30 * unit.Degree}
	if got := gimbal.InFrame(above, v); len(got) != 0 {
		t.Errorf("19 deg up is outside 15 deg, yet %v", got)
	}
	// Rolled by 90 deg the long side of the picture stands upright.
	if v.Aim.Roll = 90 * unit.Degree; len(gimbal.InFrame(above, v)) != 1 {
		t.Error("the long side stands upright, yet nothing is seen")
	}
	// A part at upper left, 25 deg out along the diagonal, comes in when the camera rolls
	// its right side down by 45 deg (it then lies to the left), not when it rolls the other way.
	d := 0.47 / math.Sqrt2
	left := []gimbal.Part{{Name: "upper left", A: geo.Vec3{X: -d, Y: 1, Z: d}, B: geo.Vec3{X: -d, Y: 1, Z: d + 1e-3}}}
	v.Aim.Roll = -45 * unit.Degree
	wrong := len(gimbal.InFrame(left, v))
	v.Aim.Roll = 45 * unit.Degree
	if right := len(gimbal.InFrame(left, v)); right != 1 || wrong != 0 {
		t.Errorf("right side down sees %d, left side down sees %d", right, wrong)
	}
	if v.Horizontal = 40 * unit.Degree; len(gimbal.InFrame(left, v)) != 0 {
		t.Error("25 deg to the left is outside 20 deg, yet it is seen")
	}
}
