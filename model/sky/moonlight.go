package sky

import "math"

// Moonlight is the direct light of the moon under a clear sky.
type Moonlight struct {
	NormalLx     float64 // on a plane that faces the moon
	HorizontalLx float64
	// LowLx and HighLx bound HorizontalLx: hazy against mountain air, and up to a third
	// more within 7° of full, where the moon's surface brightens.
	LowLx, HighLx float64
	Unknown       string // why there is no number
}

const (
	// footcandle in lux.
	footcandle = 1 / (0.3048 * 0.3048)
	// Extinction in magnitudes per air mass: 0.172 is the paper's mountain site; 0.23 is the same
	// c = 0.21 as the IES clear sky.
	moonClear, moonMountain, moonHazy = 0.23, 0.172, 0.4
	// meanMoonM is the distance to which the moon's magnitude refers.
	meanMoonM = 384400e3
)

// Moonlight returns the moon's direct illuminance (K. Krisciunas, B. E. Schaefer, Publ. Astron.
// Soc. Pacific 103, 1033, 1991, eq. 3, 20 and 8 after Allen's magnitude), scaled with its
// distance. Light that the sky scatters is left out. Under cloud, and with the moon down, it is
// unknown or nothing.
func (m Position) Moonlight(phase Phase, c Class) Moonlight {
	if m.Altitude <= 0 {
		return Moonlight{}
	}
	if c != Clear {
		return Moonlight{Unknown: "moonlight is modelled for a clear sky only"}
	}
	alpha := phase.Angle.Deg()
	magnitude := 3.84 + 0.026*alpha + 4e-9*math.Pow(alpha, 4)
	near := meanMoonM / m.DistanceM
	above := footcandle * math.Pow(10, -0.4*magnitude) * near * near
	through := func(k float64) float64 { return above * math.Pow(10, -0.4*k*AirMass(m.Altitude)) }
	surge := 1.0
	if alpha < 7 {
		surge = 1.35
	}
	sin := math.Sin(float64(m.Altitude))
	return Moonlight{
		NormalLx: through(moonClear), HorizontalLx: through(moonClear) * sin,
		LowLx: through(moonHazy) * sin, HighLx: through(moonMountain) * sin * surge,
	}
}
