package radio

import (
	"cmp"
	"math"

	"fieldfare/model/unit"
)

// FreeSpaceLoss returns the basic transmission loss in dB over free space:
// 20·log10(4π d f / c). Frequency 1 MHz to 1 THz, distance above 0 to 1e7 m; within a few
// wavelengths the formula does not hold and the loss is never below 0.
// Source: BasisFreeSpace.
func FreeSpaceLoss(frequencyHz, distanceM float64) (float64, error) {
	if err := cmp.Or(checkFrequency(frequencyHz), unit.Within("distance", distanceM, 1e-3, 1e7, "m")); err != nil {
		return 0, err
	}
	return math.Max(0, 20*math.Log10(4*math.Pi*distanceM*frequencyHz/SpeedOfLightMS)), nil
}

// FresnelRadius returns the radius in metres of the n-th Fresnel ellipsoid, n from 1, at
// d1 from one end and d2 from the other: √(n λ d1 d2/(d1+d2)). Source: BasisFresnel.
func FresnelRadius(n int, frequencyHz, d1M, d2M float64) (float64, error) {
	err := cmp.Or(checkFrequency(frequencyHz), unit.Within("Fresnel zone", float64(n), 1, 1000, ""),
		unit.Within("distance", d1M, 0, 1e7, "m"), unit.Within("distance", d2M, 0, 1e7, "m"))
	if err != nil {
		return 0, err
	}
	if d1M == 0 || d2M == 0 {
		return 0, nil
	}
	return math.Sqrt(float64(n) * SpeedOfLightMS / frequencyHz * d1M * d2M / (d1M + d2M)), nil
}

// NoiseFloor returns the receiver's noise in dBm: 10·log10(k·T·B) + 30 + noise figure.
// Bandwidth 1 Hz to 100 GHz; temperature 290 K is the reference of noise figures.
// Source: BasisNoise.
func NoiseFloor(bandwidthHz, temperatureK, noiseFigureDB float64) (float64, error) {
	err := cmp.Or(unit.Within("bandwidth", bandwidthHz, 1, 1e11, "Hz"), unit.Within("temperature", temperatureK, 1, 10000, "K"),
		unit.Within("noise figure", noiseFigureDB, 0, 60, "dB"))
	if err != nil {
		return 0, err
	}
	return 10*math.Log10(boltzmannJK*temperatureK*bandwidthHz) + 30 + noiseFigureDB, nil
}
