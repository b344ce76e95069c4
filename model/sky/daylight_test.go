package sky_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fieldfare/model/geo"
	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

func sunAt(altitudeDeg float64) sky.Position {
	return sky.Position{Altitude: unit.Angle(altitudeDeg) * unit.Degree, AirlessAltitude: unit.Angle(altitudeDeg) * unit.Degree, Azimuth: math.Pi}
}

// IES recommended practice 1984 (J. IES 13(4), 381) evaluated by its formulas with Kasten and
// Young's air mass, in klx at E_xt = 127.5 klx; the sky columns need no air mass.
func TestIESWorkedValues(t *testing.T) {
	const source = "IES daylight availability, 1984"
	// On 2 January the practice's distance factor is 1.034, on the day the test divides it out.
	at := instant(t, time.Date(2026, 1, 2, 12, 0, 0, 0, time.UTC))
	for _, row := range []struct{ h, dnClear, khClear, khPartly, khCloudy float64 }{
		{5, 14.642, 5.376, 4.222, 2.130},
		{10, 39.451, 7.259, 8.114, 3.947},
		{20, 69.301, 9.865, 15.691, 7.482},
		{30, 83.874, 11.760, 22.800, 10.800},
		{45, 94.772, 13.834, 32.120, 15.149},
		{60, 100.061, 15.224, 39.271, 18.487},
		{90, 103.356, 16.300, 45.300, 21.300},
	} {
		clear := at.Daylight(sunAt(row.h), sky.Clear)
		check(t, source, "clear direct normal", clear.DirectNormalLx/1034, row.dnClear, 0.001)
		check(t, source, "clear direct horizontal", clear.DirectHorizontalLx/1034, row.dnClear*math.Sin(row.h*math.Pi/180), 0.001)
		check(t, source, "clear sky", clear.SkyHorizontalLx/1000, row.khClear, 0.001)
		check(t, source, "partly cloudy sky", at.Daylight(sunAt(row.h), sky.PartlyCloudy).SkyHorizontalLx/1000, row.khPartly, 0.001)
		cloudy := at.Daylight(sunAt(row.h), sky.Overcast)
		check(t, source, "overcast sky", cloudy.SkyHorizontalLx/1000, row.khCloudy, 0.001)
		check(t, source, "overcast direct", cloudy.DirectNormalLx, 0, 0)
	}
	// The practice's partly cloudy direct light at the zenith, where both air masses are 1 to 3e-4.
	check(t, source, "partly cloudy direct normal", at.Daylight(sunAt(90), sky.PartlyCloudy).DirectNormalLx/1034, 57.289, 0.02)
	// The extraterrestrial illuminance by day of the year, through the air of a high sun.
	for day, want := range map[int]float64{2: 131.835, 80: 128.480, 172: 123.265, 183: 123.166, 355: 131.743} {
		d := instant(t, time.Date(2026, 1, day, 12, 0, 0, 0, time.UTC)).Daylight(sunAt(90), sky.Clear)
		check(t, source, "extraterrestrial", d.DirectNormalLx/1000*math.Exp(0.21*d.AirMass), want, 0.001)
	}
}

// The practice's two half skies must add to its whole sky where the sun is high (within 1 %).
func TestHalfSkies(t *testing.T) {
	at := instant(t, time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC))
	for _, c := range []sky.Class{sky.Clear, sky.PartlyCloudy, sky.Overcast} {
		d := at.Daylight(sunAt(90), c)
		check(t, "IES half skies, "+string(c), "sum over whole", (d.HalfSkyLx(0.3)+d.HalfSkyLx(-0.3))/d.SkyHorizontalLx, 1, 0.01)
	}
}

// Kasten and Young, Applied Optics 28, 4735 (1989), as quoted by open-source tests.
func TestAirMass(t *testing.T) {
	for h, want := range map[float64]float64{90: 1.000, 10: 5.586, 0.1: 36.467} {
		check(t, "Kasten and Young 1989", "air mass", sky.AirMass(unit.Angle(h)*unit.Degree), want, 0.001)
	}
}

// Sunny 16: f/16 at 1/ISO in full sun is EV 15 (14.64 as written) at ISO 100; with an incident
// constant of 250 (ISO 2720) EV100 = log2(E·100/250). A high clear sun must come within half a
// stop.
func TestSunnySixteen(t *testing.T) {
	at := instant(t, time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC))
	for _, h := range []float64{45, 60} {
		d := at.Daylight(sunAt(h), sky.Clear)
		ev := math.Log2(d.On(geo.Vec3{Z: 1}, false, 0).TotalLx() * 100 / 250)
		check(t, "sunny 16 rule (common practice)", "EV at ISO 100", ev, 15, 0.5)
	}
}

// AMS Glossary of Meteorology, civil, nautical and astronomical twilight: clear evening
// illuminance.
func TestTwilight(t *testing.T) {
	at := instant(t, time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC))
	for _, row := range []struct{ h, low, high float64 }{
		{-0.8333, 410, 585}, {-6, 2, 3.5}, {-12, 0.004, 0.016}, {-18, 3e-4, 1.2e-3},
	} {
		d := at.Daylight(sunAt(row.h), sky.Clear)
		if d.Unknown != "" || d.SkyHorizontalLx < row.low || d.SkyHorizontalLx > row.high {
			t.Errorf("AMS Glossary: at %g deg %g lx %q, published %g to %g lx", row.h, d.SkyHorizontalLx, d.Unknown, row.low, row.high)
		}
	}
	for _, row := range []struct {
		h float64
		c sky.Class
	}{{-3, sky.Overcast}, {-3, sky.PartlyCloudy}, {-25, sky.Clear}} {
		if d := at.Daylight(sunAt(row.h), row.c); d.Unknown == "" || d.SkyHorizontalLx != 0 {
			t.Errorf("%s at %g deg must be unknown, got %+v", row.c, row.h, d)
		}
	}
}

func TestSurfaceLight(t *testing.T) {
	at := instant(t, time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC))
	up := geo.Vec3{Z: 1}
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(0.5, 90).Draw(t, "altitude")
		c := rapid.SampledFrom([]sky.Class{sky.Clear, sky.PartlyCloudy, sky.Overcast}).Draw(t, "sky")
		slope := unit.Angle(rapid.Float64Range(0, 180).Draw(t, "slope")) * unit.Degree
		facing := unit.Angle(rapid.Float64Range(0, 360).Draw(t, "facing")) * unit.Degree
		d := at.Daylight(sunAt(h), c)
		level := d.On(up, false, 0.2)
		if math.Abs(level.DirectLx-d.DirectHorizontalLx) > 1e-6*d.DirectHorizontalLx+1e-9 || math.Abs(level.SkyLx-d.SkyHorizontalLx) > 1e-9*d.SkyHorizontalLx || level.GroundLx != 0 {
			t.Fatalf("a level surface must get the horizontal values: %+v of %+v", level, d)
		}
		n := sky.Surface(slope, facing)
		lit, shaded := d.On(n, false, 0.2), d.On(n, true, 0.2)
		if shaded.DirectLx != 0 || shaded.SkyLx != lit.SkyLx || shaded.GroundLx != lit.GroundLx {
			t.Fatalf("shade must take the direct light and nothing else: %+v and %+v", lit, shaded)
		}
		if lit.DirectLx > d.DirectNormalLx*(1+1e-12) || lit.SkyLx < -1e-9 || lit.SkyLx > 2*d.SkyHorizontalLx || lit.GroundLx < 0 {
			t.Fatalf("light out of range: %+v of %+v", lit, d)
		}
		if d.DirectNormalLx > 0 {
			if facing := d.On(d.ToSun, false, 0).DirectLx; math.Abs(facing-d.DirectNormalLx) > 1e-9*d.DirectNormalLx {
				t.Fatalf("a surface that faces the sun gets %g of %g lx", facing, d.DirectNormalLx)
			}
		}
	})
	// Under an overcast sky the IES half sky is the same all round: a wall gets half.
	d := at.Daylight(sunAt(40), sky.Overcast)
	check(t, "IES overcast", "wall over level", d.On(sky.Surface(90*unit.Degree, 0), false, 0).SkyLx/d.SkyHorizontalLx, 0.5, 1e-12)
}

func TestShadow(t *testing.T) {
	p := sunAt(45)
	s, ok := p.Shadow()
	if !ok || math.Abs(s.LengthRatio-1) > 1e-12 || s.Azimuth.Deg() > 1e-9 && s.Azimuth.Deg() < 360-1e-9 {
		t.Errorf("the sun in the south at 45° gives %+v, %v: want a shadow as long as the thing, to the north", s, ok)
	}
	if _, ok := sunAt(-1).Shadow(); ok {
		t.Error("a sun below the horizon casts no shadow")
	}
}

// A full moon at the zenith gives about 0.25 lx (0.2 to 0.3 in tables of illuminance, Allen,
// Astrophysical Quantities: from memory); the magnitude above the air is Krisciunas and
// Schaefer's, I* = 10^(-0.4·3.84) footcandles.
func TestMoonlight(t *testing.T) {
	up := sky.Position{Altitude: math.Pi / 2, DistanceM: 384400e3}
	m := up.Moonlight(sky.Phase{IlluminatedFraction: 1}, sky.Clear)
	check(t, "Allen (from memory)", "full moon overhead", m.HorizontalLx, 0.25, 0.05)
	check(t, "Krisciunas and Schaefer 1991, eq. 20", "above the air", m.NormalLx*math.Pow(10, 0.4*0.23*sky.AirMass(math.Pi/2)), 10.7639*math.Pow(10, -0.4*3.84), 1e-5)
	if !(m.LowLx < m.HorizontalLx && m.HorizontalLx < m.HighLx) {
		t.Errorf("spread %g to %g does not hold %g", m.LowLx, m.HighLx, m.HorizontalLx)
	}
	quarter := up.Moonlight(sky.Phase{IlluminatedFraction: 0.5, Angle: math.Pi / 2}, sky.Clear)
	if r := m.HorizontalLx / quarter.HorizontalLx; r < 9 || r > 13 {
		// A quarter moon is about a tenth to a twelfth of the full one (Allen's magnitudes).
		t.Errorf("full over quarter moon is %.1f, want about 11", r)
	}
	if up.Moonlight(sky.Phase{}, sky.Overcast).Unknown == "" {
		t.Error("moonlight under cloud must be unknown")
	}
	if down := (sky.Position{Altitude: -0.1}).Moonlight(sky.Phase{}, sky.Clear); down != (sky.Moonlight{}) {
		t.Errorf("a moon below the horizon gives %+v", down)
	}
}

// From day into night the clear sky must dim without a step or a bump, whatever the air.
func TestDuskIsSmooth(t *testing.T) {
	at := instant(t, time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC))
	for _, pressure := range []float64{0, 60000, 101325} {
		last := math.Inf(1)
		for h := 4.0; h > -17.99; h -= 0.01 {
			airless := unit.Angle(h) * unit.Degree
			p := sky.Position{AirlessAltitude: airless, Altitude: airless + sky.Refraction(airless, pressure, 280)}
			lx := at.Daylight(p, sky.Clear).SkyHorizontalLx
			if lx > last || lx < 0.75*last && last < math.Inf(1) {
				t.Errorf("at %.2f deg and %g Pa the sky steps from %g to %g lx", h, pressure, last, lx)
			}
			last = lx
		}
	}
}

func BenchmarkDaylightColour(b *testing.B) {
	at := instant(b, time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC))
	for b.Loop() {
		d := at.Daylight(sunAt(12), sky.Clear)
		colour = d.Colour(d.On(geo.Vec3{Z: 1}, false, 0.2))
	}
}

var colour sky.Colour
