// Package exposure computes the card that a camera operator sets on the ground: shutter,
// sensitivity, aperture and filters for a light, why, and when they stop being right.
//
// Units and signs: illuminance in lux on the plane that faces the camera's subject as an
// incident meter reads it, luminance in cd/m², times in seconds, stops as base-2 logarithms.
// An error in stops is positive when the picture comes out hot (too bright) and negative
// when it comes out dark. Apertures are engraved marks (5.6) and count as the exact stops
// they stand for; filter densities are ISO 5 densities.
//
// Source: ISO 2720:1974 meter constants K = 12.5 and C = 250; APEX (ASA PH2.5-1960, Exif
// annex C); density to stops by definition, D/log10 2; sky polarisation by Rayleigh's law
// (Bohren & Huffman, Absorption and Scattering of Light by Small Particles). Limits that
// come from the trade alone are marked common practice, no source.
//
// Validity and accuracy: the constants allowed by ISO 2720 differ by half a stop between
// meters, so nothing here is surer than that until a meter on location confirms it.
//
// Not modelled: lens transmission (T-stops), the camera's own rating error, uneven light
// within the picture beyond a stated contrast, passing cloud.
package exposure

import (
	"errors"
	"fmt"
	"math"

	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

// Meter calibration constants of ISO 2720:1974, in the ranges that it allows (K 10.6 to
// 13.4, C 240 to 400 for a flat receptor).
const (
	K = 12.5 // cd·s·ISO/m², reflected light
	C = 250  // lx·s·ISO, incident light, flat receptor
)

// MiddleGrey is the reflectance at which the two constants agree, π·K/C = 0.157.
const MiddleGrey = math.Pi * K / C

// stop is log10 2, the density that halves the light.
const stop = 0.30102999566398119521

// EV100 returns the exposure value at ISO 100 of an illuminance, log2(E·100/C).
func EV100(illuminanceLx float64) (float64, error) {
	if illuminanceLx == 0 {
		return 0, errors.New("illuminance is 0 lx: without light there is no exposure; wait, or light the scene")
	}
	if err := unit.Within("illuminance", illuminanceLx, 1e-4, 1e6, "lx"); err != nil {
		return 0, err
	}
	return math.Log2(illuminanceLx * 100 / C), nil
}

// EV100Reflected returns the exposure value at ISO 100 of a surface that reflects a part
// (0 to 1) of an illuminance evenly in all directions: log2(L·100/K) with L = E·ρ/π. It is
// what a spot meter reads, and renders that surface as middle grey.
func EV100Reflected(illuminanceLx, reflectance float64) (float64, error) {
	if !(reflectance >= 0.005 && reflectance <= 1) {
		return 0, fmt.Errorf("reflectance is %g: 0.005 (soot) to 1 (all the light) is expected", reflectance)
	}
	if _, err := EV100(illuminanceLx); err != nil {
		return 0, err
	}
	return EV100Luminance(illuminanceLx * reflectance / math.Pi)
}

// EV100Luminance returns the exposure value at ISO 100 of a luminance, log2(L·100/K).
func EV100Luminance(luminanceCdM2 float64) (float64, error) {
	if err := unit.Within("luminance", luminanceCdM2, 1e-7, 1e7, "cd/m²"); err != nil {
		return 0, err
	}
	return math.Log2(luminanceCdM2 * 100 / K), nil
}

// Illuminance is the inverse of EV100, in lux.
func Illuminance(ev100 float64) float64 { return C / 100.0 * math.Exp2(ev100) }

// ErrorStops returns how hot (above 0) or dark (below 0) a scene comes out, in stops: APEX
// with a filter, EV100 + log2(ISO/100) - Av - Tv - attenuation.
func ErrorStops(ev100, shutterS, iso, aperture, attenuationStops float64) float64 {
	return ev100 + math.Log2(iso/100) - lens.ApertureValue(aperture) + math.Log2(shutterS) - attenuationStops
}

// StopsFromDensity returns how many stops a neutral density takes: D/log10 2, so that 0.3
// is 0.9966 of a stop.
func StopsFromDensity(density float64) float64 { return density / stop }
