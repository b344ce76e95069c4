package rotor_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/rotor"
)

func TestFitReturnsTheHover(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, _ := rotor.Airframe{Rotors: rapid.SampledFrom([]int{6, 8}).Draw(t, "rotors"), DiameterM: 0.4, Coaxial: rapid.Bool().Draw(t, "coaxial"), AccessoryW: 20}.Typical(6)
		truth := a
		truth.FigureOfMerit = rapid.Float64Range(0.4, 0.7).Draw(t, "merit")
		truth.AccessoryW = rapid.Float64Range(0, 80).Draw(t, "accessory")
		var hovers []rotor.Hovering
		for _, m := range []float64{5, 9} {
			f, err := truth.At(m, 1.15)
			if err != nil {
				t.Fatal(err)
			}
			hovers = append(hovers, rotor.Hovering{MassKg: m, Density: 1.15, DurationS: 600, EnergyJ: 600 * f.HoverW()})
		}
		// Two hovers of different mass give both numbers back.
		got, fit, err := a.Fit(hovers)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(fit.AccessoryW-truth.AccessoryW) > 1e-6 || math.Abs(got.FigureOfMerit/truth.FigureOfMerit-1) > 1e-6 || fit.Spread > 1e-9 {
			t.Fatalf("fitted %+v from %+v", fit, truth)
		}
		// One hover is met exactly.
		one, _, err := a.Fit(hovers[:1])
		if err != nil {
			t.Fatal(err)
		}
		f, _ := one.At(5, 1.15)
		if math.Abs(f.HoverW()/(hovers[0].EnergyJ/600)-1) > 1e-9 {
			t.Fatalf("hover power %g W after the fit, measured %g W", f.HoverW(), hovers[0].EnergyJ/600)
		}
	})
}

func TestFitRefuses(t *testing.T) {
	a, _ := rotor.Airframe{Rotors: 4, DiameterM: 0.38}.Typical(4)
	for name, hovers := range map[string][]rotor.Hovering{
		"none":              nil,
		"negative mass":     {{MassKg: -4, Density: 1.2, DurationS: 900, EnergyJ: 4e5}},
		"better than ideal": {{MassKg: 4, Density: 1.2, DurationS: 9000, EnergyJ: 4e5}},
		"no duration":       {{MassKg: 4, Density: 1.2, EnergyJ: 4e5}},
		"hopeless":          {{MassKg: 4, Density: 1.2, DurationS: 60, EnergyJ: 4e6}},
		"NaN":               {{MassKg: 4, Density: 1.2, DurationS: 900, EnergyJ: math.NaN()}},
	} {
		if _, _, err := a.Fit(hovers); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
