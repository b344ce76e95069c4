package rotor_test

import (
	"math"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/rotor"
)

func path(seconds int, air geo.Vec3) (s []rotor.Sample) {
	for i := range seconds*10 + 1 {
		t := float64(i) / 10
		s = append(s, rotor.Sample{T: t, Pos: air.Scale(t), Air: air})
	}
	return s
}

func TestEnergyIsPowerTimesTime(t *testing.T) {
	f := flight(t, rotor.Airframe{Rotors: 4, DiameterM: 0.38, AccessoryW: 30}, 4, 1.1)
	u := f.Energy(path(60, geo.Vec3{X: 6, Y: 8}))
	near(t, "energy", u.EnergyJ, 60*f.LevelW(10), 1e-12)
	near(t, "duration", u.DurationS, 60, 1e-12)
	near(t, "hover in wind is level flight", f.Hover(60, geo.Vec3{X: -6, Y: -8}).EnergyJ, u.EnergyJ, 1e-12)
	if (f.Energy(nil) != rotor.Use{}) {
		t.Error("an empty path uses energy")
	}
	if sum := u.Then(u); sum.EnergyJ != 2*u.EnergyJ || sum.MeanW != u.MeanW {
		t.Errorf("twice: %+v", sum)
	}
}

// The navigator's radius of action: distance = time · out · back / (out + back) over
// ground, textbook dead reckoning (FAA-H-8083-25 describes the wind triangle).
func TestRadiusAgainstWind(t *testing.T) {
	f := flight(t, rotor.Airframe{Rotors: 4, DiameterM: 0.38}, 4, 1.1)
	const energy = 200e3
	wind := geo.Vec3{X: -5}
	got, err := f.Radius(geo.Vec3{X: 1}, wind, 12, energy)
	if err != nil {
		t.Fatal(err)
	}
	// Airspeed, and so power, is the same both ways: ground speeds are 7 and 17 m/s.
	near(t, "radius", got, energy/f.LevelW(12)*7*17/(7+17), 1e-9)
	if _, err := f.Radius(geo.Vec3{X: 1}, geo.Vec3{X: -13}, 12, energy); err == nil {
		t.Error("12 m/s made way against 13 m/s")
	}
	// Wind triangle across the track: ground speed sqrt(V² - w²).
	_, ground, _ := f.Leg(geo.Vec3{X: 100}, geo.Vec3{Y: 5}, 13)
	near(t, "crabbed ground speed", ground, 12, 1e-12)
	// The point of no return on the way out against the wind is the radius.
	out := path(400, geo.Vec3{X: 12})
	for i := range out {
		out[i].Pos = geo.Vec3{X: 7 * out[i].T}
	}
	at, ok, all := f.NoReturn(out, geo.Vec3{}, wind, 12, energy)
	if !ok || all || math.Abs(at*7-got) > 0.71 {
		t.Errorf("point of no return %.1f m out, radius %.1f m (%v, %v)", at*7, got, ok, all)
	}
	if _, ok, _ := f.NoReturn(out, geo.Vec3{X: -1e5}, wind, 12, energy); ok {
		t.Error("home 100 km away can be reached")
	}
}

func TestEnergyAllocatesNothing(t *testing.T) {
	f := flight(t, rotor.Airframe{Rotors: 8, DiameterM: 0.38}, 9.8, 1.0)
	s := path(10, geo.Vec3{X: 5, Z: -2})
	if n := testing.AllocsPerRun(20, func() { f.Energy(s) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func BenchmarkEnergy(b *testing.B) {
	f := flight(b, rotor.Airframe{Rotors: 8, DiameterM: 0.38}, 9.8, 1.0)
	s := path(60, geo.Vec3{X: 5, Z: 1})
	b.ReportAllocs()
	for b.Loop() {
		f.Energy(s)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(s)), "ns/sample")
}

func TestVortexTime(t *testing.T) {
	f := flight(t, rotor.Airframe{Rotors: 4, DiameterM: 0.38}, 4, 1.1)
	sink := path(10, geo.Vec3{Z: -f.HoverInducedMS()})
	near(t, "seconds in the vortex ring", f.Energy(sink).VortexS, 10, 1e-9)
	if u := f.Energy(path(10, geo.Vec3{Z: -1})); u.VortexS != 0 {
		t.Errorf("%g s at a slow descent", u.VortexS)
	}
}
