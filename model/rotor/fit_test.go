package rotor_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/rotor"
)

func TestFitReturnsTheHover(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, _ := rotor.Airframe{Rotors: rapid.SampledFrom([]int{4, 8}).Draw(t, "rotors"), DiameterM: 0.4, Coaxial: rapid.Bool().Draw(t, "coaxial"), AccessoryW: 20}.Typical(6)
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

// Statics by hand. Three rotors of four: the pair that is left opposite carries all and
// cannot balance yaw: 2 x. Six: the pair off, four carry, 1.5 x. Coaxial eight: the arm
// with one rotor and the arm across carry t each, the other two arms s, 2t + 2s = W; the greatest of t and
// s/2 is least at t = s/2 = W/6, which is 8/6 x.
func TestRotorOut(t *testing.T) {
	for _, row := range []struct {
		rotors  int
		coaxial bool
		class   rotor.Class
		factor  float64
	}{
		{4, false, rotor.Spins, 2},
		{6, false, rotor.Spins, 1.5},
		{8, true, rotor.Holds, 8.0 / 6},
	} {
		o := flight(t, rotor.Airframe{Rotors: row.rotors, DiameterM: 0.4, Coaxial: row.coaxial}, 6, 1.2).RotorOut()
		if o.Class != row.class || math.Abs(o.Factor-row.factor) > 1e-6 || o.EnoughKnown {
			t.Errorf("%d rotors, coaxial %v: %v, factor %.6f, want %v, %g", row.rotors, row.coaxial, o.Class, o.Factor, row.class, row.factor)
		}
	}
	o := flight(t, rotor.Airframe{Rotors: 8, DiameterM: 0.4, MaxThrustN: 100}, 6, 1.2).RotorOut()
	if o.Class != rotor.Holds || !(o.Factor > 1 && o.Factor < 2) || !o.EnoughKnown {
		t.Errorf("flat eight: %+v", o)
	}
}
