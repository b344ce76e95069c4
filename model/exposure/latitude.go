package exposure

import (
	"errors"
	"math"

	"fieldfare/model/unit"
)

// Latitude is how many stops above and below middle grey a camera in its picture profile
// still separates; zero is not known.
type Latitude struct{ OverStops, UnderStops float64 }

// Contrast is how far the scene reaches above and below what was metered, in stops.
type Contrast struct{ OverStops, UnderStops float64 }

// ContrastOf returns the contrast of a scene whose reflectances run from darkest to
// brightest, with shade darker than the light metered by shadeStops (0 for none): snow of
// 0.8 lies 2.3 stops above middle grey.
func ContrastOf(darkest, brightest, shadeStops float64) (Contrast, error) {
	err := errors.Join(unit.Within("darkest reflectance", darkest, 0.005, 1, ""), unit.Within("brightest reflectance", brightest, darkest, 1, ""),
		unit.Within("shade below the light metered", shadeStops, 0, 20, "stops"))
	if err != nil {
		return Contrast{}, err
	}
	return Contrast{
		OverStops:  math.Max(0, math.Log2(brightest/MiddleGrey)),
		UnderStops: math.Max(0, math.Log2(MiddleGrey/darkest)) + shadeStops,
	}, nil
}

// Margin is what is left at both ends; negative burns out or blocks up.
type Margin struct {
	OverStops, UnderStops float64
	Known                 bool // false: the camera's latitude was not given
}

// Margins returns what the camera has left for a scene at an exposure error in stops.
func (l Latitude) Margins(scene Contrast, errorStops float64) Margin {
	if !(l.OverStops > 0 && l.UnderStops > 0) {
		return Margin{}
	}
	return Margin{l.OverStops - scene.OverStops - errorStops, l.UnderStops - scene.UnderStops + errorStops, true}
}
