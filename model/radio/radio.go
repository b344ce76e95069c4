// Package radio computes control, telemetry and video links: loss over free space and
// over terrain, clearance of the Fresnel zone, the receiver's noise floor, and the
// margin along a path.
//
// Units are SI; levels are decibels: dB for losses and gains, dBi for antennas (over
// isotropic), dBm for power (over 1 mW). Losses are positive. Points are geo.Vec3 in the
// site frame: x east, y north, z up above sea level.
//
// Sources: ITU-R P.525-5 (2024) for free space; ITU-R P.526 for Fresnel zones, the knife
// edge and the Bullington construction; J. Deygout, IEEE Trans. Antennas Propag. 14
// (1966) for several edges; the textbook k·T·B for noise. The Basis… constants say how
// far each was confirmed.
//
// Validity and accuracy: knife-edge approximation within 0.15 dB of the Fresnel integrals
// for v above -0.7; free space exact; terrain losses of real ground differ from any edge
// construction by several decibels, so a plan wants a margin of 10 dB and more (common
// practice, no source).
//
// Not modelled: multipath over flat ground or water, foliage, rain, buildings that are not
// in the surface given, interference from other transmitters, and the antenna patterns of
// real aircraft.
package radio

import (
	"math"

	"fieldfare/model/unit"
)

// SpeedOfLightMS is the speed of light in vacuum (SI, exact).
const SpeedOfLightMS = 299792458

// boltzmannJK is the Boltzmann constant (SI, exact).
const boltzmannJK = 1.380649e-23

// Where each result comes from, and how far that was confirmed.
const (
	BasisFreeSpace  = "ITU-R P.525-5 (2024), exact form; quoted text seen"
	BasisFresnel    = "ITU-R P.526, equation 2; text of edition 8 seen"
	BasisKnifeEdge  = "ITU-R P.526, single knife edge, approximation; quoted text seen"
	BasisBullington = "ITU-R P.526-15, section 4.5.1, Bullington part; from memory"
	BasisDeygout    = "J. Deygout, IEEE Trans. Antennas Propag. 14 (1966); from memory"
	BasisNoise      = "k·T·B at 290 K and noise figure (textbook)"
	BasisBlocking   = "allowance chosen by the crew; common practice, no source"
)

// MilliwattsDB returns a power in dBm. Power above 0 W.
func MilliwattsDB(powerW float64) float64 { return 10*math.Log10(powerW) + 30 }

// Watts returns the power in watts of a level in dBm.
func Watts(dbm float64) float64 { return math.Pow(10, (dbm-30)/10) }

// EIRP returns the equivalent isotropic radiated power in dBm of a transmitter with an
// antenna gain in dBi and the loss of its feeder in dB.
func EIRP(powerW, gainDBi, feederLossDB float64) float64 {
	return MilliwattsDB(powerW) + gainDBi - feederLossDB
}

func checkFrequency(hz float64) error { return unit.Within("frequency", hz, 1e6, 1e12, "Hz") }
