package unit_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/unit"
)

// Conversion factors: NIST SP 811 (2008), appendix B.8; the foot, pound, nautical mile and
// inch are exact by definition.
func TestPublishedFactors(t *testing.T) {
	near := func(name string, got, want float64) {
		if math.Abs(got-want) > 1e-9*math.Abs(want) {
			t.Errorf("%s = %.12g, want %.12g", name, got, want)
		}
	}
	length := func(s string) float64 { v, err := unit.ParseLength(s); check(t, err); return float64(v) }
	speed := func(s string) float64 { v, err := unit.ParseSpeed(s); check(t, err); return float64(v) }
	mass := func(s string) float64 { v, err := unit.ParseMass(s); check(t, err); return float64(v) }
	pressure := func(s string) float64 { v, err := unit.ParsePressure(s); check(t, err); return float64(v) }
	temperature := func(s string) float64 { v, err := unit.ParseTemperature(s); check(t, err); return float64(v) }
	near("400 ft", length("400 ft"), 121.92)
	near("1 NM", length("1 NM"), 1852)
	near("1 mi", length("1mi"), 1609.344)
	near("1 in", length("1 in"), 0.0254)
	near("1 kt", speed("1 kt"), 1852.0/3600)
	near("100 mph", speed("100 mph"), 44.704)
	near("36 km/h", speed("36 km/h"), 10)
	near("1 lb", mass("1 lb"), 0.45359237)
	near("29.92 inHg", pressure("29.92 inHg"), 29.92*3386.389)
	near("11 C", temperature("11C"), 284.15)
	near("32 F", temperature("32 F"), 273.15)
	near("-40 F", temperature("-40 F"), 233.15)
}

func check(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func TestBareNumbersAreRefused(t *testing.T) {
	for name, parse := range map[string]func(string) error{
		"length":   func(s string) error { _, err := unit.ParseLength(s); return err },
		"speed":    func(s string) error { _, err := unit.ParseSpeed(s); return err },
		"mass":     func(s string) error { _, err := unit.ParseMass(s); return err },
		"angle":    func(s string) error { _, err := unit.ParseAngle(s); return err },
		"shutter":  func(s string) error { _, err := unit.ParseShutter(s); return err },
		"aperture": func(s string) error { _, err := unit.ParseFNumber(s); return err },
		"iso":      func(s string) error { _, err := unit.ParseISO(s); return err },
		"rate":     func(s string) error { _, err := unit.ParseFrameRate(s); return err },
	} {
		for _, bare := range []string{"35", "", "NaN m", "1e999 m", "m", "3 furlong"} {
			if err := parse(bare); err == nil {
				t.Errorf("%s took %q", name, bare)
			} else if !strings.Contains(err.Error(), "write") {
				t.Errorf("%s of %q does not say what to write: %v", name, bare, err)
			}
		}
	}
}

func TestCameraNotation(t *testing.T) {
	n, err := unit.ParseFNumber("f/5.6")
	check(t, err)
	s, err := unit.ParseShutter("1/60 s")
	check(t, err)
	i, err := unit.ParseISO("ISO 200")
	check(t, err)
	r, err := unit.ParseFrameRate("24000/1001 fps")
	check(t, err)
	if n != 5.6 || math.Abs(float64(s)-1.0/60) > 1e-15 || i != 200 || math.Abs(float64(r)-23.976023976) > 1e-9 {
		t.Errorf("read %v %v %v %v", n, s, i, r)
	}
	if s.String() != "1/60 s" || n.String() != "f/5.6" || i.String() != "ISO 200" {
		t.Errorf("wrote %v %v %v", s, n, i)
	}
}

// Whatever is written can be read again, to the six digits that are written.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := unit.Length(rapid.Float64Range(-1e7, 1e7).Draw(t, "v"))
		symbol := rapid.SampledFrom([]string{"m", "km", "mm", "ft", "in", "NM", "mi"}).Draw(t, "symbol")
		back, err := unit.ParseLength(v.Text(symbol))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(back-v)) > 1e-5*math.Abs(float64(v))+1e-12 {
			t.Fatalf("%v in %s came back as %v", float64(v), symbol, float64(back))
		}
	})
}

func TestAngles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := unit.Angle(rapid.Float64Range(-1000, 1000).Draw(t, "a"))
		w, s := a.Wrapped(), a.Signed()
		if w < 0 || w >= 2*math.Pi || s < -math.Pi-1e-12 || s >= math.Pi+1e-12 {
			t.Fatalf("wrapped %v, signed %v", w, s)
		}
		if math.Abs(math.Sin(float64(w))-math.Sin(float64(a))) > 1e-9 || math.Abs(math.Cos(float64(s))-math.Cos(float64(a))) > 1e-9 {
			t.Fatalf("%v turned into %v and %v", a, w, s)
		}
	})
}

func FuzzParseLength(f *testing.F) {
	for _, s := range []string{"35 mm", "400 ft", "1/60 m", "-", "1e", "9e9e9 m", "1/0 m"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if v, err := unit.ParseLength(s); err == nil && (math.IsNaN(float64(v)) || math.IsInf(float64(v), 0)) {
			t.Fatalf("%q became %v", s, v)
		}
	})
}

func TestWithin(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), -1, 2.0001} {
		if unit.Within("mass", v, 0, 2, "kg") == nil {
			t.Errorf("%g kg passed 0 to 2 kg", v)
		}
	}
	for _, v := range []float64{0, 1, 2} {
		if err := unit.Within("mass", v, 0, 2, "kg"); err != nil {
			t.Error(err)
		}
	}
	for symbol, want := range map[string]string{"kg": "mass is 3 kg: 0 to 2 kg is expected", "": "mass is 3: 0 to 2 is expected"} {
		if got := unit.Within("mass", 3, 0, 2, symbol).Error(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
