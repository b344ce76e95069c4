package lens

import "math"

// airyZero is the first zero of J1 divided by π: the dark ring's angular radius in λ/D.
const airyZero = 1.2196698912665045

// AiryDiameter returns the diameter in metres of the first dark ring that an ideal lens at
// aperture N draws of a point, 2·1.21967·λ·N (Born & Wolf, 8.5.2).
func AiryDiameter(aperture, wavelengthM float64) float64 {
	return 2 * airyZero * wavelengthM * aperture
}

// DiffractionCutoff returns the spatial frequency on the sensor, in cycles per metre, above
// which an ideal lens shows nothing: 1/(λ·N), incoherent light.
func DiffractionCutoff(aperture, wavelengthM float64) float64 { return 1 / (wavelengthM * aperture) }

// DiffractionMTF returns the contrast left by an ideal circular lens at a spatial frequency
// of ratio times the cutoff: (2/π)(acos v - v√(1-v²)), 0 from v = 1 on.
func DiffractionMTF(ratio float64) float64 {
	v := math.Abs(ratio)
	if !(v < 1) {
		return 0
	}
	return 2 / math.Pi * (math.Acos(v) - v*math.Sqrt(1-v*v))
}

// DefocusMTF returns the contrast left by a uniform blur disc of diameterM at a spatial
// frequency in cycles per metre: |2·J1(x)/x|, x = π·c·ν (geometrical optics, Hopkins 1955).
// Beyond the first zero detail is lost or reversed, and 0 is returned.
func DefocusMTF(diameterM, frequency float64) float64 {
	x := math.Pi * math.Abs(diameterM*frequency)
	if x < 1e-6 {
		return 1
	}
	if !(x < math.Pi*airyZero) {
		return 0
	}
	return 2 * math.J1(x) / x
}

// DefocusBlur returns the diameter in metres of the blur disc on the sensor of a point at
// distanceM (+Inf allowed) when the lens is focused at focusM: (f/N)·f/(s-f)·|d-s|/d.
func DefocusBlur(focalM, aperture, focusM, distanceM float64) float64 {
	pupil := focalM / aperture
	if math.IsInf(focusM, 1) {
		if math.IsInf(distanceM, 1) {
			return 0
		}
		return pupil * focalM / distanceM
	}
	away := 1.0
	if !math.IsInf(distanceM, 1) {
		away = math.Abs(distanceM-focusM) / distanceM
	}
	return pupil * focalM / (focusM - focalM) * away
}
