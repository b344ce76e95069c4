package exposure_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/exposure"
	"fieldfare/model/unit"
)

func setting(t testing.TB) exposure.Setting {
	c := chooser(t, exposure.Gear{ISOs: []float64{200}, Apertures: []float64{8, 11}, Filters: bag(t, "ND0.9")})
	s, err := c.Judge(15, 1.0/60, 200, 11, "ND0.9")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Light that loses a stop every 600 s: by hand the card, right by e at the start, is half a
// stop dark after 600·(0.5 + e) s.
func TestDriftAndChangeDue(t *testing.T) {
	falling := func(s float64) float64 { return exposure.Illuminance(15) * math.Exp2(-s/600) }
	c, err := exposure.Drift(falling, 0, 300)
	near(t, "over the take", c.Stops, -0.5, 1e-9)
	near(t, "spread", c.Spread, 0.5, 1e-9)
	if err != nil || c.GoesOut {
		t.Error(c, err)
	}
	s := setting(t)
	due, err := exposure.ChangeDue(falling, s, 0, 3600, 0.5)
	near(t, "due", due.AtS, 600*(0.5+s.ErrorStops), 0.1)
	near(t, "stops then", due.Stops, -0.5, 1e-3)
	if err != nil || due.Within {
		t.Error(due, err)
	}
	due, err = exposure.ChangeDue(falling, s, 0, 120, 0.5)
	if err != nil || !due.Within || due.AtS != 120 {
		t.Error(due, err)
	}
	// A hump is wider inside than its ends say.
	hump := func(s float64) float64 { return 1000 * math.Exp2(math.Sin(math.Pi*s/1000)) }
	c, _ = exposure.Drift(hump, 0, 1000)
	near(t, "ends", c.Stops, 0, 1e-9)
	near(t, "hump", c.Spread, 1, 1e-3)
	dark := func(s float64) float64 { return math.Max(0, 100-s) }
	c, err = exposure.Drift(dark, 0, 200)
	if err != nil || !c.GoesOut {
		t.Error(c, err)
	}
	due, err = exposure.ChangeDue(dark, s, 0, 200, 10)
	if err != nil || due.Within {
		t.Error(due, err)
	}
	if _, err := exposure.Drift(func(float64) float64 { return 0 }, 0, 10); err == nil {
		t.Error("darkness drifted")
	}
	if _, err := exposure.Drift(func(float64) float64 { return math.NaN() }, 0, 10); err == nil {
		t.Error("NaN drifted")
	}
	if _, err := exposure.ChangeDue(falling, s, 10, 5, 0.5); err == nil {
		t.Error("an interval that runs backwards passed")
	}
}

func TestPolariserOnSky(t *testing.T) {
	// Rayleigh: no polarisation towards and away from the sun, most at right angles, by
	// sin²γ/(1+cos²γ): a third of the greatest at 45° and 135°.
	near(t, "at the sun", exposure.SkyPolarisation(0), 0, 1e-12)
	near(t, "against the sun", exposure.SkyPolarisation(180*unit.Degree), 0, 1e-12)
	near(t, "45 against 90", exposure.SkyPolarisation(45*unit.Degree)/exposure.SkyPolarisation(90*unit.Degree), 1.0/3, 1e-12)
	// Common practice, no source: useful at about 60° to 120° from the sun, hardly within
	// 30°; patchy on lenses wider than a 28 mm on a 36 mm wide picture (65.5°), even on an
	// 85 mm (23.9°).
	for angle, useful := range map[float64]bool{20: false, 60: true, 90: true, 120: true, 165: false} {
		p, err := exposure.PolariserOnSky(unit.Angle(angle)*unit.Degree, 24*unit.Degree)
		if err != nil || p.Useful != useful {
			t.Errorf("%g° from the sun: %+v %v", angle, p, err)
		}
	}
	for fov, uneven := range map[float64]bool{24: false, 40: false, 66: true, 84: true} {
		p, err := exposure.PolariserOnSky(90*unit.Degree, unit.Angle(fov)*unit.Degree)
		if err != nil || p.Uneven != uneven {
			t.Errorf("%g° wide: %+v %v", fov, p, err)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		a := unit.Angle(rapid.Float64Range(0, 180).Draw(t, "angle")) * unit.Degree
		w := rapid.Float64Range(1, 100).Draw(t, "fov")
		narrow, _ := exposure.PolariserOnSky(a, unit.Angle(w)*unit.Degree)
		wide, _ := exposure.PolariserOnSky(a, unit.Angle(1.5*w)*unit.Degree)
		if wide.UnevenStops < narrow.UnevenStops-0.02 {
			t.Fatalf("wider is more even: %+v %+v", narrow, wide)
		}
	})
	if _, err := exposure.PolariserOnSky(200*unit.Degree, unit.Degree); err == nil {
		t.Error("200° from the sun passed")
	}
}

func TestGraduate(t *testing.T) {
	filters := bag(t, "GND0.3", "GND0.6", "GND0.9", "ND0.9")
	f, err := exposure.Graduate(filters, 2.4, 0.02)
	if err != nil || f.Name != "GND0.6" { // two stops; three would turn the sky darker than the ground
		t.Error(f, err)
	}
	if _, err := exposure.Graduate(filters, 2.4, 0.3); err == nil || !strings.Contains(err.Error(), "horizon travels") {
		t.Error(err)
	}
	if _, err := exposure.Graduate(bag(t, "ND0.9"), 2.4, 0); err == nil {
		t.Error("a neutral filter was used as a graduated one")
	}
	if _, err := exposure.Graduate(filters, math.NaN(), 0); err == nil {
		t.Error("NaN passed")
	}
}

func TestMargins(t *testing.T) {
	// Snow of 0.8 lies log2(0.8/0.157) = 2.35 stops above middle grey, by hand.
	c, err := exposure.ContrastOf(0.04, 0.8, 1)
	near(t, "snow", c.OverStops, 2.35, 0.005)
	near(t, "dark wood in a stop of shade", c.UnderStops, math.Log2(0.15708/0.04)+1, 1e-4)
	if err != nil {
		t.Error(err)
	}
	l := exposure.Latitude{OverStops: 4, UnderStops: 6}
	m := l.Margins(c, 0.5)
	near(t, "over", m.OverStops, 4-2.348-0.5, 1e-3)
	if !m.Known || m.UnderStops < 0 {
		t.Error(m)
	}
	if m := (exposure.Latitude{}).Margins(c, 0); m.Known {
		t.Error("a margin is known without the camera's latitude")
	}
	if _, err := exposure.ContrastOf(0, 0.8, 0); err == nil {
		t.Error("a black hole passed")
	}
}
