package sky

import "math"

const (
	earthRadiusM = 6378140.0 // equatorial, as SPA eq. 36 uses it
	flattening   = 0.99664719
	// solarParallax is the sun's equatorial horizontal parallax at 1 AU (SPA eq. 33).
	solarParallax = 8.794 * arcsec
	// aberration is the constant of aberration (SPA eq. 25).
	aberration = 20.4898 * arcsec
	// sunRadiusAtAU is the sun's angular semidiameter at 1 AU (Meeus chapter 55).
	sunRadiusAtAU = 959.63 * arcsec
)

var (
	// sunRadii is 1 AU in equatorial radii of the Earth, by the parallax above.
	sunRadii = 1 / math.Sin(solarParallax)
	// sunRadius is the sun's radius in the same unit.
	sunRadius = sunRadii * math.Sin(sunRadiusAtAU)
)

// sun returns the apparent geocentric place of the sun (SPA 3.2 to 3.10).
func (i Instant) sun(o orientation) equatorial {
	l, b, r := heliocentric(i.century())
	return o.rotate(l+math.Pi-aberration/r+o.psi, -b, r*sunRadii)
}
