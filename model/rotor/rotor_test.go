package rotor_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/geo"
	"fieldfare/model/rotor"
)

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s = %.8g, want %.8g (relative %.1e)", what, got, want, relative)
	}
}

func flight(t testing.TB, a rotor.Airframe, massKg, density float64) rotor.Flight {
	t.Helper()
	a, _ = a.Typical(massKg)
	f, err := a.At(massKg, density)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Actuator disc in hover: Leishman, Principles of Helicopter Aerodynamics, chapter 2.
func TestHover(t *testing.T) {
	for _, row := range []struct {
		massKg   float64
		rotors   int
		diameter float64
		induced  float64
		power    float64 // at figure of merit 0.70
	}{
		{2, 4, 0.254, 6.2847, 176.091},
		{10, 4, 0.4572, 7.8072, 1093.752},
		{10, 8, 0.4572, 5.5205, 773.399},
	} {
		f := flight(t, rotor.Airframe{Rotors: row.rotors, DiameterM: row.diameter, FigureOfMerit: 0.70, DriveEfficiency: 1}, row.massKg, 1.225)
		near(t, "induced velocity", f.HoverInducedMS(), row.induced, 1e-4)
		near(t, "hover power", f.HoverW(), row.power, 1e-4)
		near(t, "the same by the path", f.Moment(geo.Vec3{}, geo.Vec3{}).InducedMS, row.induced, 1e-4)
	}
}

// Leishman's worked example of a tilt-rotor in hover (chapter 2, numbers from memory):
// 60,500 lb on two rotors of 38 ft at 0.00238 slug/ft³, v_i 74.86 ft/s, ideal power 4,117 hp a
// rotor, 5,490 hp at figure of merit 0.75. Here as four rotors of the same disc loading.
func TestTextbookHover(t *testing.T) {
	const pound, foot, horsepower = 4.4482216, 0.3048, 745.69987
	loading := 30250 * pound / (math.Pi * 19 * 19 * foot * foot)
	weight := loading * math.Pi * 0.25 * 4
	f := flight(t, rotor.Airframe{Rotors: 4, DiameterM: 1, FigureOfMerit: 0.75, DriveEfficiency: 1}, weight/9.80665, 0.00238*515.3788)
	near(t, "induced velocity", f.HoverInducedMS(), 74.86*foot, 2e-4)
	near(t, "W/N", f.HoverW()/weight, 5490*horsepower/(30250*pound), 5e-4)
}

// Glauert, ARC R&M 1111 (1926); closed forms in Leishman chapter 2.
func TestGlauert(t *testing.T) {
	for x, want := range map[float64]float64{1: 0.786151, 2: 0.485868, 3: 0.331319} {
		near(t, "edgewise", rotor.Induced(1, x, 0), want, 2e-6)
	}
	for x, want := range map[float64]float64{1: 0.618034, 2: 0.414214} {
		near(t, "climb", rotor.Induced(1, 0, x), want, 2e-6)
	}
	const hover = 6.2847
	near(t, "V=10 tilted 10 deg", rotor.Induced(hover, 10*math.Cos(10*math.Pi/180), 10*math.Sin(10*math.Pi/180)), 3.5358, 1e-4)
	near(t, "V=15", rotor.Induced(hover, 15, 0), 2.5946, 1e-4)
	// Limits: hover, and v_h²/V at high speed.
	near(t, "hover limit", rotor.Induced(hover, 0, 0), hover, 1e-12)
	near(t, "high-speed limit", rotor.Induced(hover, 200, 0), hover*hover/200, 1e-5)
	// Vertical descent: Leishman's fit and the windmill branch (from memory).
	near(t, "descent at v_h", rotor.Induced(1, 0, -1), 1.816, 1e-3)
	near(t, "windmill", rotor.Induced(1, 0, -3), 1.5-math.Sqrt(1.25), 1e-9)
}

// zeng is the aircraft of Zeng, Xu & Zhang 2019, journal parameter set: 20 N, R 0.4 m, tip speed 120 m/s, delta
// 0.012, k 0.1, s 0.05, d0 0.6. One rotor of 0.4 m radius has the swept area of four of 0.2 m.
func zeng(t testing.TB) rotor.Flight {
	const weight, density, area = 20.0, 1.225, math.Pi * 0.16
	hover := math.Sqrt(weight / (2 * density * area))
	a := rotor.Airframe{Rotors: 4, DiameterM: 0.4, FigureOfMerit: weight * hover / (79.8563 + 88.6279), InducedFactor: 1.1,
		ThrustCoefficient: weight / (density * area * 120 * 120), DriveEfficiency: 1, FlatPlateM2: 0.6 * 0.05 * area}
	f, err := a.At(weight/9.80665, density)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Zeng, Xu & Zhang, IEEE Trans. Wireless Commun. 18(4) 2019, 2329-2345: hover about
// 168 W, best endurance 10.2 m/s, best range 18.3 m/s; powers from the paper's formula
// with v0 = 4.03 m/s as printed (4.0285 exactly).
func TestPublishedRotaryWingModel(t *testing.T) {
	f := zeng(t)
	near(t, "hover", f.HoverW(), 168.484, 1e-5)
	near(t, "best endurance", f.BestEnduranceMS(), 10.212, 5e-4)
	near(t, "best range", f.BestRangeMS(0), 18.295, 5e-4)
	for v, want := range map[float64]float64{5: 143.608, 10: 126.029, 15: 138.543, 20: 178.296, 25: 248.952, 30: 356.284} {
		near(t, "power", f.LevelW(v), want, 1e-3)
	}
	near(t, "J/m at best range", f.LevelW(f.BestRangeMS(0))/f.BestRangeMS(0), 8.82873, 5e-4)

	// A second road, with the discs tilted to carry the drag: T = |m g + D|, inflow
	// resolved along and through the disc, and T·V in place of the parasite term.
	const weight, density, area, flat = 20.0, 1.225, math.Pi * 0.16, 0.6 * 0.05 * math.Pi * 0.16
	for v := 1.0; v <= 20; v++ {
		drag := 0.5 * density * flat * v * v
		thrust := math.Hypot(weight, drag)
		hover := math.Sqrt(thrust / (2 * density * area))
		through, along := v*drag/thrust, v*weight/thrust
		power := 1.1*thrust*rotor.Induced(hover, along, through) + drag*v + 79.8563*math.Pow(thrust/weight, 1.5)*(1+3*along*along/(120*120*thrust/weight))
		if r := f.LevelW(v)/power - 1; math.Abs(r) > 0.015 {
			t.Errorf("at %g m/s level discs differ from tilted ones by %.2f %%", v, r*100)
		}
	}
}

func TestRefused(t *testing.T) {
	good, _ := rotor.Airframe{Rotors: 8, DiameterM: 0.38}.Typical(9.8)
	for name, change := range map[string]func(*rotor.Airframe){
		"no rotors":     func(a *rotor.Airframe) { a.Rotors = 0 },
		"odd coaxial":   func(a *rotor.Airframe) { a.Rotors, a.Coaxial = 7, true },
		"no diameter":   func(a *rotor.Airframe) { a.DiameterM = 0 },
		"merit above 1": func(a *rotor.Airframe) { a.FigureOfMerit = 1.2 },
		"merit NaN":     func(a *rotor.Airframe) { a.FigureOfMerit = math.NaN() },
		"efficiency 2":  func(a *rotor.Airframe) { a.DriveEfficiency = 2 },
	} {
		bad := good
		change(&bad)
		if _, err := bad.At(9.8, 1.1); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	for _, m := range []float64{0, -3, math.NaN(), math.Inf(1)} {
		if _, err := good.At(m, 1.1); err == nil {
			t.Errorf("mass %g: accepted", m)
		}
	}
	if _, err := good.At(9.8, -1); err == nil {
		t.Error("density -1: accepted")
	}
}

// Statics: the tangent of the lean is drag over weight.
func TestLean(t *testing.T) {
	f := flight(t, rotor.Airframe{Rotors: 4, DiameterM: 0.381, FlatPlateM2: 0.05}, 4, 1.2)
	near(t, "lean", math.Tan(float64(f.Steady(geo.Vec3{X: 12}).Lean)), 0.5*1.2*0.05*144/(4*9.80665), 1e-9)
	near(t, "lean to accelerate", math.Tan(float64(f.Moment(geo.Vec3{}, geo.Vec3{Y: 2}).Lean)), 2/9.80665, 1e-9)
}

func TestClimbAndDescent(t *testing.T) {
	f := flight(t, rotor.Airframe{Rotors: 4, DiameterM: 0.381, DriveEfficiency: 1, FlatPlateM2: 1e-9}, 4, 1.2)
	climb := f.Steady(geo.Vec3{Z: 3})
	// Climb power over hover by momentum theory: T (V + k v_c - k v_h).
	h := f.HoverInducedMS()
	v := -1.5 + math.Sqrt(2.25+h*h)
	near(t, "climb power", climb.PowerW-f.HoverW(), f.WeightN()*(3+1.15*(v-h)), 1e-6)
	if f.Steady(geo.Vec3{Z: -0.4 * h}).Vortex || !f.Steady(geo.Vec3{Z: -h}).Vortex || f.Steady(geo.Vec3{X: 1.5 * h, Z: -h}).Vortex {
		t.Error("vortex-ring caution stands in the wrong place")
	}
	if f.Steady(geo.Vec3{Z: -0.999 * f.SafeDescentMS()}).Vortex {
		t.Error("SafeDescentMS is cautioned")
	}
}

func TestCoaxialCostsPower(t *testing.T) {
	flat := rotor.Airframe{Rotors: 8, DiameterM: 0.4, FigureOfMerit: 0.65}
	stacked := flat
	stacked.Coaxial = true
	a, b := flight(t, flat, 8, 1.2).HoverW(), flight(t, stacked, 8, 1.2).HoverW()
	// 22 % more induced power (Leishman, equal torque), the rest unchanged.
	near(t, "coaxial", b/a, 1+0.65*1.15*0.22, 1e-9)
}

func TestPowerProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rotor.Airframe{
			Rotors: rapid.SampledFrom([]int{4, 6, 8}).Draw(t, "rotors"), DiameterM: rapid.Float64Range(0.1, 0.8).Draw(t, "diameter"),
			FigureOfMerit: rapid.Float64Range(0.45, 0.8).Draw(t, "merit"), DriveEfficiency: 0.8, InducedFactor: 1.15, ThrustCoefficient: 0.01,
		}
		m := rapid.Float64Range(0.3, 20).Draw(t, "mass")
		rho := rapid.Float64Range(0.8, 1.25).Draw(t, "density")
		f, err := a.At(m, rho)
		if err != nil {
			t.Fatal(err)
		}
		twice, _ := a.At(2*m, rho)
		if r := twice.HoverW() / f.HoverW(); math.Abs(r-math.Pow(2, 1.5)) > 1e-9 {
			t.Fatalf("hover power goes with mass^1.5: ratio %g", r)
		}
		thin, _ := a.At(m, rho/2)
		if r := thin.HoverW() / f.HoverW(); math.Abs(r-math.Sqrt2) > 1e-9 {
			t.Fatalf("hover power goes with density^-0.5: ratio %g", r)
		}
		v := geo.Vec3{X: rapid.Float64Range(-25, 25).Draw(t, "x"), Y: rapid.Float64Range(-25, 25).Draw(t, "y"), Z: rapid.Float64Range(-12, 8).Draw(t, "z")}
		acc := geo.Vec3{X: rapid.Float64Range(-4, 4).Draw(t, "ax"), Z: rapid.Float64Range(-4, 4).Draw(t, "az")}
		p := f.Moment(v, acc)
		for _, n := range []float64{p.PowerW, p.ThrustN, p.InducedMS} {
			if math.IsNaN(n) || math.IsInf(n, 0) || n < 0 {
				t.Fatalf("%+v at %v", p, v)
			}
		}
		// The relation itself, in level or climbing flight.
		h := f.HoverInducedMS()
		e, n := math.Hypot(v.X, v.Y), math.Abs(v.Z)
		i := rotor.Induced(h, e, n)
		if r := i * math.Hypot(e, n+i) / (h * h); math.Abs(r-1) > 1e-9 {
			t.Fatalf("Glauert's relation is off by %g", r-1)
		}
		// The same in descent, where the measured curve does not come in.
		if e > h {
			i = rotor.Induced(h, e, -n)
			if r := i * math.Hypot(e, i-n) / (h * h); math.Abs(r-1) > 1e-9 {
				t.Fatalf("Glauert's relation is off by %g in descent", r-1)
			}
		}
		// Turning the wind and the track together changes nothing.
		if q := f.Steady(geo.Vec3{X: v.Y, Y: -v.X, Z: v.Z}); math.Abs(q.PowerW-f.Steady(v).PowerW) > 1e-9*q.PowerW {
			t.Fatalf("power depends on compass direction")
		}
		// No jump where climb becomes descent.
		up, down := f.Steady(geo.Vec3{X: v.X, Z: 1e-9}).PowerW, f.Steady(geo.Vec3{X: v.X, Z: -1e-9}).PowerW
		if math.Abs(up-down) > 1e-5*up {
			t.Fatalf("power jumps from %g to %g W at level", up, down)
		}
		if best := f.BestRangeMS(5); best <= f.BestRangeMS(0)-1e-6 {
			t.Fatalf("a headwind slowed best range")
		}
	})
}

// Statics: thrust falls with density; at the greatest level speed weight, drag and
// thrust close a right-angled triangle.
func TestThrust(t *testing.T) {
	a := rotor.Airframe{Rotors: 4, DiameterM: 0.38, MaxThrustN: 100, FlatPlateM2: 0.05}
	f := flight(t, a, 4, 1.225/2)
	ratio, known := f.ThrustToWeight()
	if near(t, "thrust to weight", ratio, 50/(4*9.80665), 1e-12); !known {
		t.Error("a stated thrust is not known")
	}
	v, _ := f.MaxLevelMS(0.9)
	near(t, "thrust at the greatest speed", f.Steady(geo.Vec3{X: v}).ThrustN, 45, 1e-9)
	kg, _ := f.MaxMassKg(2)
	near(t, "mass at 2:1", kg, 25/9.80665, 1e-12)
	a.MaxThrustN = 0
	f = flight(t, a, 4, 1.2)
	if _, known := f.ThrustToWeight(); known {
		t.Error("a thrust that is not stated is known")
	}
	if _, known := f.MaxLevelMS(1); known {
		t.Error("a thrust that is not stated gives a speed")
	}
	if _, known := f.MaxMassKg(2); known {
		t.Error("a thrust that is not stated gives a mass")
	}
	if v, known := flight(t, rotor.Airframe{Rotors: 4, DiameterM: 0.38, MaxThrustN: 30}, 4, 1.2).MaxLevelMS(1); v != 0 || !known {
		t.Errorf("too heavy to hover, yet %g m/s (%v)", v, known)
	}
}
