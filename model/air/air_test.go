package air_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/air"
)

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s = %.8g, want %.8g (relative %.1e)", what, got, want, relative)
	}
}

// ISO 2533:1975 / ICAO Doc 7488/3, by geopotential height.
func TestStandardAtmosphere(t *testing.T) {
	for _, row := range []struct{ h, temperatureK, hPa, density float64 }{
		{0, 288.150, 1013.250, 1.22500},
		{500, 284.900, 954.608, 1.16727},
		{1000, 281.650, 898.746, 1.11164},
		{1500, 278.400, 845.560, 1.05807},
		{2000, 275.150, 794.952, 1.00649},
		{3000, 268.650, 701.085, 0.90912},
	} {
		s := air.Standard(row.h)
		near(t, "temperature", s.TemperatureK, row.temperatureK, 5e-6)
		near(t, "pressure", s.PressurePa/100, row.hPa, 5e-6)
		near(t, "density", s.Density(), row.density, 5e-6)
	}
	// The same table by geometric height.
	for _, row := range []struct{ z, temperatureK, hPa, density float64 }{
		{1000, 281.651, 898.763, 1.11166}, {2000, 275.154, 795.014, 1.00655}, {3000, 268.659, 701.211, 0.90925},
	} {
		s := air.Standard(air.Geopotential(row.z))
		near(t, "temperature", s.TemperatureK, row.temperatureK, 5e-6)
		near(t, "pressure", s.PressurePa/100, row.hPa, 5e-6)
		near(t, "density", s.Density(), row.density, 6e-6)
	}
}

// The US National Weather Service's form of the same quantity, with the pressure in
// inches of mercury and the temperature in Fahrenheit (coefficients from memory), and
// the pilots' rule of 120 ft for each degree above standard.
func TestDensityAltitude(t *testing.T) {
	// Pressure altitude 5,000 ft, 30 C, dry.
	s := air.Standard(5000 * 0.3048)
	s.TemperatureK = 303.15
	da := air.DensityAltitude(s.Density()) / 0.3048
	near(t, "density altitude ft", da, 7800.7, 0.5/7800)
	nws := 145366 * (1 - math.Pow(17.326*s.PressurePa/3386.389/(459.67+86), 0.235))
	if math.Abs(da-nws) > 30 {
		t.Errorf("density altitude %.0f ft, National Weather Service form %.0f ft", da, nws)
	}
	if rule := 5000 + 120*(30-5.1); math.Abs(da-rule) > 250 {
		t.Errorf("density altitude %.0f ft, pilots' rule %.0f ft", da, rule)
	}
	s = air.Standard(2000)
	s.TemperatureK = 303.15
	near(t, "density altitude m", air.DensityAltitude(s.Density()), 2953.0, 0.1/2953)
}

// cipm2007 is the metrologists' formula for moist air: Picard, Davis, Glaser & Fujii,
// Metrologia 45 (2008) 149-155, at 400 ppm of carbon dioxide.
func cipm2007(t, p, h float64) float64 {
	T := t + 273.15
	psv := math.Exp(1.2378847e-5*T*T - 1.9121316e-2*T + 33.93711047 - 6343.1645/T)
	x := h * (1.00062 + 3.14e-8*p + 5.6e-7*t*t) * psv / p
	z := 1 - p/T*(1.58123e-6-2.9331e-8*t+1.1043e-10*t*t+(5.707e-6-2.051e-8*t)*x+(1.9898e-4-2.376e-6*t)*x*x) +
		p*p/T/T*(1.83e-11-0.765e-8*x*x)
	return p * 28.96546e-3 / (z * 8.314472 * T) * (1 - x*(1-18.01528/28.96546))
}

func TestMoistDensity(t *testing.T) {
	near(t, "CIPM-2007 itself", cipm2007(20, 101325, 0.5), 1.1993139, 1e-6)
	near(t, "CIPM-2007 itself", cipm2007(30, 101325, 0.8), 1.1500117, 1e-6)
	// Sonntag 1990 / WMO-No. 8.
	for c, hPa := range map[float64]float64{-10: 2.8703, 0: 6.1120, 10: 12.2603, 20: 23.3260, 25: 31.6006, 30: 42.3372, 40: 73.6746} {
		near(t, "saturation pressure", air.SaturationPressure(c+273.15)/100, hPa, 2e-5)
	}
	// The published value has 287.05 J/(kg K) for dry air, 1e-5 below ICAO's.
	near(t, "25 C 50 %", air.State{TemperatureK: 298.15, PressurePa: 101325, Humidity: 0.5}.Density(), 1.176947, 2e-5)
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Float64Range(0, 40).Draw(t, "celsius")
		p := rapid.Float64Range(60000, 105000).Draw(t, "pascal")
		h := rapid.Float64Range(0, 1).Draw(t, "humidity")
		got, want := air.State{TemperatureK: c + 273.15, PressurePa: p, Humidity: h}.Density(), cipm2007(c, p, h)
		if math.Abs(got/want-1) > 8e-4 {
			t.Fatalf("density %.6f, CIPM-2007 %.6f", got, want)
		}
	})
}

func TestStationPressureAndDay(t *testing.T) {
	near(t, "station pressure", air.StationPressure(101325, 2000)/100, 794.952, 5e-6)
	day, err := air.NewDay(2000, 298.15, 101325, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "density", day.Ground.Density(), (79495.2-0.5*3160.06)/(287.05287*298.15)+0.5*3160.06/(461.495*298.15), 1e-5)
	standard, _ := air.NewDay(500, air.Standard(500).TemperatureK, 101325, 0)
	near(t, "a standard day is the standard atmosphere", standard.At(1500).Density(), 1.05807, 5e-6)
	for _, bad := range [][4]float64{{9000, 288, 101325, 0}, {500, 20, 101325, 0}, {500, 288, 1013.25, 0}, {500, 288, 101325, 50}, {math.NaN(), 288, 101325, 0}} {
		if _, err := air.NewDay(bad[0], bad[1], bad[2], bad[3]); err == nil {
			t.Errorf("NewDay(%v) was accepted", bad)
		}
	}
}

func TestDensityProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(-1000, 9000).Draw(t, "height")
		if got := air.DensityAltitude(air.Standard(h).Density()); math.Abs(got-h) > 1e-3 {
			t.Fatalf("density altitude of the standard atmosphere at %g m is %g m", h, got)
		}
		if got := air.PressureAltitude(air.Standard(h).PressurePa); math.Abs(got-h) > 1e-3 {
			t.Fatalf("pressure altitude of the standard atmosphere at %g m is %g m", h, got)
		}
		s := air.State{TemperatureK: rapid.Float64Range(253, 318).Draw(t, "kelvin"), PressurePa: 90000}
		wet := s
		wet.Humidity = rapid.Float64Range(0.01, 1).Draw(t, "humidity")
		if !(wet.Density() < s.Density()) {
			t.Fatalf("moist air %.6f is not lighter than dry %.6f", wet.Density(), s.Density())
		}
	})
}
