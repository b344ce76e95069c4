package lens

import (
	"errors"
	"fmt"
	"math"

	"fieldfare/model/unit"
)

// Scale lists the apertures engraved on lenses in third stops, f/0.7 to f/64 (ISO 517
// rounds the series 2^(k/6); the intermediate marks are the usual ones).
var Scale = []float64{0.7, 0.8, 0.9, 1, 1.1, 1.2, 1.4, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3.2, 3.5, 4, 4.5, 5, 5.6,
	6.3, 7.1, 8, 9, 10, 11, 13, 14, 16, 18, 20, 22, 25, 29, 32, 36, 40, 45, 51, 57, 64}

// scaleStart is the aperture value of Scale[0]: f/0.7 stands for 2^-0.5.
const scaleStart = -1.0

// ApertureValue returns Av = log2 N² for an engraved aperture. An engraved mark stands for
// the exact third of a stop (f/5.6 is 2^2.5 = 5.657, Av 5), any other number for itself.
func ApertureValue(marked float64) float64 {
	for i, m := range Scale {
		if math.Abs(m-marked) < 1e-9 {
			return scaleStart + float64(i)/3
		}
	}
	return 2 * math.Log2(marked)
}

// Stops returns the engraved apertures from the widest to the narrowest, ends included
// even when they lie between marks.
func Stops(widest, narrowest float64) ([]float64, error) {
	if err := errors.Join(unit.Within("widest aperture f/", widest, 0.5, 64, ""), unit.Within("narrowest aperture f/", narrowest, 0.5, 64, "")); err != nil {
		return nil, err
	}
	if widest > narrowest {
		return nil, fmt.Errorf("apertures f/%g to f/%g: write the wide one, with the small number, first", widest, narrowest)
	}
	stops := []float64{widest}
	for _, m := range Scale {
		if m > widest+1e-9 && m < narrowest-1e-9 {
			stops = append(stops, m)
		}
	}
	if narrowest > widest {
		stops = append(stops, narrowest)
	}
	return stops, nil
}

// Sharpness says what an aperture does to fine detail.
type Sharpness string

// The bounds between the grades (0.65 and 0.5 of the contrast at half the sensor's Nyquist
// frequency) are ours, set so that the grades agree with what crews say of a sensor of
// 4 µm pitch: best to f/8, f/11 acceptable, f/16 visibly soft (common practice, no source).
const (
	Sharp      Sharpness = "sharp"
	Acceptable Sharpness = "acceptable"
	Soft       Sharpness = "soft"
)

// Grade names the contrast left at half the Nyquist frequency.
func Grade(contrast float64) Sharpness {
	switch {
	case contrast >= 0.65:
		return Sharp
	case contrast >= 0.5:
		return Acceptable
	}
	return Soft
}

// DiffractionGrade grades an aperture for a pixel pitch by diffraction alone.
func DiffractionGrade(aperture, pitchM float64) (contrast float64, grade Sharpness) {
	contrast = DiffractionMTF(judged(pitchM) / DiffractionCutoff(aperture, Wavelength))
	return contrast, Grade(contrast)
}

// judged is the spatial frequency at which apertures are compared: half of Nyquist.
func judged(pitchM float64) float64 { return 1 / (4 * pitchM) }

// Need is the picture that an aperture has to serve.
type Need struct {
	FocalM      float64
	PitchM      float64 // of a recorded pixel
	FocusM      float64 // focus distance, +Inf allowed
	NearM, FarM float64 // what must be sharp, FarM +Inf allowed; both 0: the focused distance alone
}

// Choice is an aperture and the contrast it leaves at half the Nyquist frequency on the
// worst distance of the need.
type Choice struct {
	Aperture float64
	Contrast float64
	Grade    Sharpness
	Limit    string // what costs most: "diffraction", "depth of field"
}

// BestAperture returns the aperture of the list, which should be the lens's own good range,
// that leaves the highest contrast on the worst distance of the need: diffraction times
// defocus. Equal contrasts go to the wider aperture.
func BestAperture(apertures []float64, need Need) (Choice, error) {
	err := errors.Join(unit.Within("focal length", need.FocalM, 1e-3, 5, "m"), unit.Within("pixel pitch", need.PitchM, 1e-7, 1e-3, "m"))
	if err != nil {
		return Choice{}, err
	}
	if !(need.FocusM > need.FocalM) {
		return Choice{}, fmt.Errorf("focus distance %g m: more than the focal length of %g m is expected", need.FocusM, need.FocalM)
	}
	if need.NearM == 0 && need.FarM == 0 {
		need.NearM, need.FarM = need.FocusM, need.FocusM
	}
	if !(need.NearM > 0 && need.FarM >= need.NearM) {
		return Choice{}, fmt.Errorf("range to keep sharp %g m to %g m: two distances in order are expected", need.NearM, need.FarM)
	}
	if len(apertures) == 0 {
		return Choice{}, errors.New("no aperture to choose from: state the lens's good range")
	}
	nu := judged(need.PitchM)
	var best Choice
	for _, n := range apertures {
		if err := unit.Within("aperture f/", n, 0.5, 64, ""); err != nil {
			return Choice{}, err
		}
		diffraction := DiffractionMTF(nu / DiffractionCutoff(n, Wavelength))
		defocus := math.Min(DefocusMTF(DefocusBlur(need.FocalM, n, need.FocusM, need.NearM), nu),
			DefocusMTF(DefocusBlur(need.FocalM, n, need.FocusM, need.FarM), nu))
		c := Choice{Aperture: n, Contrast: diffraction * defocus, Limit: "diffraction"}
		if defocus < diffraction {
			c.Limit = "depth of field"
		}
		better := c.Contrast > best.Contrast+1e-12
		if best.Aperture == 0 || better || c.Contrast == 0 && best.Contrast == 0 && n > best.Aperture {
			best = c
		}
	}
	best.Grade = Grade(best.Contrast)
	return best, nil
}
