package exposure

import (
	"errors"
	"math"

	"fieldfare/model/unit"
)

// skyPolarisation is the greatest degree of polarisation of a clear sky; Rayleigh's 1 falls
// to 0.7 to 0.8 by multiple scattering and haze (Coulson, Polarization and Intensity of
// Light in the Atmosphere, 1988; figure from memory).
const skyPolarisation = 0.75

// SkyPolarisation returns the degree of polarisation (0 to 1) of clear sky at an angle from
// the sun: Rayleigh's sin²γ/(1+cos²γ), scaled to what skies reach.
func SkyPolarisation(fromSun unit.Angle) float64 {
	sin, cos := math.Sincos(float64(fromSun))
	return skyPolarisation * sin * sin / (1 + cos*cos)
}

// Polarising is what a polariser does to the sky in a picture.
type Polarising struct {
	DarkenStops float64 // the sky in the middle of the picture, filter turned to the darkest
	UnevenStops float64 // between the least and the most darkened sky across the picture
	Useful      bool    // darkens by half a stop or more
	Uneven      bool    // the sky would show a dark patch
}

// A polariser is worth its light when it darkens the sky by half a stop, and shows a patch
// when the darkening varies by a stop across the picture (common practice, no source: crews
// use it at about 60° to 120° from the sun and not on lenses wider than 28 mm on a
// 36 mm wide picture).
const (
	worthStops = 0.5
	patchStops = 1.0
)

// PolariserOnSky returns the effect on clear sky in a picture whose axis lies at an angle
// from the sun (0 to 180°) with a horizontal angle of view, at worst with the sun in the
// plane of the picture's long side. The darkening is that of a perfect polariser against
// the same filter on unpolarised light, -log2(1 - p).
func PolariserOnSky(fromSun, hfov unit.Angle) (Polarising, error) {
	if err := errors.Join(unit.Within("angle from the sun", fromSun.Deg(), 0, 180, "deg"), unit.Within("angle of view", hfov.Deg(), 0.1, 179, "deg")); err != nil {
		return Polarising{}, err
	}
	darkening := func(a unit.Angle) float64 { return -math.Log2(1 - SkyPolarisation(a)) }
	p := Polarising{DarkenStops: darkening(fromSun)}
	low, high := p.DarkenStops, p.DarkenStops
	const steps = 32
	for i := range steps + 1 {
		d := darkening(fromSun + hfov*unit.Angle(float64(i)/steps-0.5))
		low, high = math.Min(low, d), math.Max(high, d)
	}
	p.UnevenStops = high - low
	p.Useful = p.DarkenStops >= worthStops
	p.Uneven = p.UnevenStops >= patchStops
	return p, nil
}
