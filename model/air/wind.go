package air

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Wind is a mean wind and its gusts at one height above ground.
type Wind struct {
	From    unit.Angle // where it comes from, clockwise from true north
	MeanMS  float64    // 10-minute mean
	GustMS  float64    // 3-second gust; 0 when none was reported
	HeightM float64    // above ground; reports are for 10 m
}

// Vector returns the air's mean velocity in the site frame.
func (w Wind) Vector() geo.Vec3 { return Toward(w.From, w.MeanMS) }

// GustVector returns the air's velocity in a gust from the mean direction; without a
// gust it equals Vector.
func (w Wind) GustVector() geo.Vec3 { return Toward(w.From, math.Max(w.GustMS, w.MeanMS)) }

// Toward returns the velocity of air that comes from a direction at a speed.
func Toward(from unit.Angle, speedMS float64) geo.Vec3 {
	sin, cos := math.Sincos(float64(from))
	return geo.Vec3{X: -speedMS * sin, Y: -speedMS * cos}
}

// Components splits a wind over a level track: headwind against the motion (negative
// is a tailwind) and crosswind from the left (negative from the right). A track that
// has no horizontal part gives the whole wind as headwind: any heading meets it.
func Components(wind, track geo.Vec3) (headwindMS, crosswindMS float64) {
	h := math.Hypot(track.X, track.Y)
	if h < 1e-12 {
		return wind.Horizontal(), 0
	}
	ux, uy := track.X/h, track.Y/h
	return -(wind.X*ux + wind.Y*uy), wind.X*uy - wind.Y*ux
}

// Shear is how mean wind grows with height. Exactly one law is used: the power law
// when Exponent is above 0, else the logarithmic law with RoughnessM.
type Shear struct {
	RoughnessM float64 // aerodynamic roughness length z0, 0.0001 m to 3 m
	Exponent   float64 // power law, above 0 to 0.6
}

// GroundCover is a class of terrain with its roughness length in metres.
type GroundCover struct {
	Name       string
	RoughnessM float64
	About      string
}

// GroundCovers is the Davenport classification, smoothest first.
// Source: Davenport, Grimmond, Oke & Wieringa 2000; WMO-No. 8 part I chapter 5 annex.
func GroundCovers() []GroundCover {
	return []GroundCover{
		{"sea", 0.0002, "open water, snow plain, 5 km of fetch"},
		{"smooth", 0.005, "beaches, ice, bare ground without obstacles"},
		{"open", 0.03, "grass, airfield, few isolated obstacles"},
		{"roughly open", 0.10, "low crops, scattered obstacles 20 heights apart"},
		{"rough", 0.25, "high crops, scattered obstacles 15 heights apart"},
		{"very rough", 0.5, "orchards, bushes, obstacles 10 heights apart"},
		{"closed", 1.0, "forest, villages, suburbs"},
		{"chaotic", 2.0, "city centre, forest with clearings"},
	}
}

// OverGround returns the logarithmic law over a named ground cover.
func OverGround(name string) (Shear, error) {
	known := ""
	for _, g := range GroundCovers() {
		if g.Name == name {
			return Shear{RoughnessM: g.RoughnessM}, nil
		}
		known += ", " + g.Name
	}
	return Shear{}, fmt.Errorf("ground cover %q is not known: use one of %s", name, known[2:])
}

// Stability is a Pasquill class, A (very unstable) to F (very stable).
type Stability byte

// InStability returns the power law for a stability class over rural or built-up
// ground. Source: US EPA-450/2-78-027R-C / ISC3 user's guide volume II, default
// wind-profile exponents (from memory).
func InStability(class Stability, builtUp bool) (Shear, error) {
	if class < 'A' || class > 'F' {
		return Shear{}, fmt.Errorf("stability class %q is not one of A to F", string(rune(class)))
	}
	rural := [...]float64{0.07, 0.07, 0.10, 0.15, 0.35, 0.55}
	urban := [...]float64{0.15, 0.15, 0.20, 0.25, 0.30, 0.30}
	if builtUp {
		return Shear{Exponent: urban[class-'A']}, nil
	}
	return Shear{Exponent: rural[class-'A']}, nil
}

// Check reports a shear that no ground has.
func (s Shear) Check() error {
	switch {
	case s.Exponent != 0 && !(s.Exponent > 0 && s.Exponent <= 0.6):
		return fmt.Errorf("wind profile exponent %.3g is outside 0 to 0.6", s.Exponent)
	case s.Exponent == 0 && !(s.RoughnessM >= 1e-4 && s.RoughnessM <= 3):
		return fmt.Errorf("roughness length %.3g m is outside 0.0001 m to 3 m", s.RoughnessM)
	}
	return nil
}

// Factor returns mean wind at heightM over mean wind at referenceM, both above ground.
// Heights below 2 m, or below twice the roughness length, count as that height, since the law fails
// among the obstacles. Source: log law, WMO-No. 8 part I chapter 5; power law,
// IEC 61400-1.
func (s Shear) Factor(referenceM, heightM float64) float64 {
	floor := math.Max(2, 2*s.RoughnessM)
	z, ref := math.Max(heightM, floor), math.Max(referenceM, floor)
	if s.Exponent > 0 {
		return math.Pow(z/ref, s.Exponent)
	}
	return math.Log(z/s.RoughnessM) / math.Log(ref/s.RoughnessM)
}

// GustFactor returns the 3-second gust over the 10-minute mean at a height above
// ground: 1 + 3 I with turbulence intensity I = 1/ln(z/z0). Source: form from
// WMO/TD-No. 1555 (Harper, Kepert & Ginger 2010) equation 14; I and the peak factor 3
// from memory.
func (s Shear) GustFactor(heightM float64) float64 {
	z0 := s.RoughnessM
	if s.Exponent > 0 {
		// The log law's local slope d(ln u)/d(ln z) is 1/ln(z/z0), which is the exponent.
		return 1 + 3*s.Exponent
	}
	return 1 + 3/math.Log(math.Max(heightM, math.Max(2, 2*z0))/z0)
}

// At moves a wind to another height above ground. The mean follows the shear; the
// gust's excess over the mean is kept, because the standard deviation of wind hardly
// changes with height in the surface layer (sigma = 2.5 friction velocities, Panofsky
// & Dutton 1984, from memory). Without a reported gust, GustMS is an estimate from
// GustFactor and estimated is true.
func (w Wind) At(heightM float64, s Shear) (at Wind, estimated bool) {
	excess := w.GustMS - w.MeanMS
	if w.GustMS <= 0 {
		excess = w.MeanMS * (s.GustFactor(w.HeightM) - 1)
		estimated = true
	}
	mean := w.MeanMS * s.Factor(w.HeightM, heightM)
	return Wind{w.From, mean, mean + math.Max(0, excess), heightM}, estimated
}

// Beaufort returns the force (0 to 12) of a 10 m mean wind, classified on the speed
// rounded to 0.1 m/s. Source: WMO-No. 306 code table 1100.
func Beaufort(meanMS float64) int {
	v := math.Round(meanMS*10) / 10
	lower := [...]float64{0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7}
	force := 0
	for _, b := range lower {
		if v >= b {
			force++
		}
	}
	return force
}
