package sky

import "math"

const (
	deg    = math.Pi / 180
	arcsec = deg / 3600
)

// sum adds one series of the Earth's heliocentric coordinates at Julian millennia jme
// (SPA eq. 9, 10).
func sum(series []term, jme float64) float64 {
	s := 0.0
	for _, t := range series {
		s += t.a * math.Cos(t.b+t.c*jme)
	}
	return s
}

// powers adds the series as a polynomial in jme (SPA eq. 11), in units of 1e-8.
func powers(series [][]term, jme float64) float64 {
	s := 0.0
	for i := len(series) - 1; i >= 0; i-- {
		s = s*jme + sum(series[i], jme)
	}
	return s * 1e-8
}

// heliocentric returns the Earth's longitude and latitude in radians and distance in AU,
// mean equinox of date (SPA 3.2).
func heliocentric(century float64) (l, b, r float64) {
	jme := century / 10
	return powers(earthL[:], jme), powers(earthB[:], jme), powers(earthR[:], jme)
}

// fundamental returns the five arguments D, M, M', F, Ω of the nutation in degrees
// (SPA eq. 15 to 19).
func fundamental(t float64) [5]float64 {
	return [5]float64{
		297.85036 + t*(445267.111480+t*(-0.0019142+t/189474)),
		357.52772 + t*(35999.050340+t*(-0.0001603-t/300000)),
		134.96298 + t*(477198.867398+t*(0.0086972+t/56250)),
		93.27191 + t*(483202.017538+t*(-0.0036825+t/327270)),
		125.04452 + t*(-1934.136261+t*(0.0020708+t/450000)),
	}
}

// nutation returns Δψ and Δε in radians (SPA eq. 20 to 23).
func nutation(century float64) (psi, eps float64) {
	x := fundamental(century)
	for i := range x {
		x[i] = math.Mod(x[i], 360) * deg
	}
	for i := range nutationTerms {
		n := &nutationTerms[i]
		arg := x[0]*n.y[0] + x[1]*n.y[1] + x[2]*n.y[2] + x[3]*n.y[3] + x[4]*n.y[4]
		sin, cos := math.Sincos(arg)
		psi += (n.a + n.b*century) * sin
		eps += (n.c + n.d*century) * cos
	}
	return psi * 1e-4 * arcsec, eps * 1e-4 * arcsec
}

// meanObliquity returns ε0 in arcseconds (Laskar 1986; SPA eq. 24).
func meanObliquity(century float64) float64 {
	u := century / 100
	return 84381.448 + u*(-4680.93+u*(-1.55+u*(1999.25+u*(-51.38+u*(-249.67+
		u*(-39.05+u*(7.12+u*(27.87+u*(5.79+u*2.45)))))))))
}

// meanSidereal returns the mean sidereal time at Greenwich in radians, not reduced, for days
// of UT since J2000.0 (SPA eq. 28).
func meanSidereal(ut float64) float64 {
	jc := ut / 36525
	whole, part := math.Modf(ut)
	return (280.46061837 + 360*part + 0.98564736629*(whole+part) + jc*jc*(0.000387933-jc/38710000)) * deg
}

// orientation is what sun and moon share at one instant: where the true equator,
// the equinox and Greenwich stand.
type orientation struct {
	psi, eps float64 // nutation in longitude and true obliquity, rad
	sidereal float64 // apparent sidereal time at Greenwich, rad
}

func (i Instant) orientation() orientation {
	t := i.century()
	psi, de := nutation(t)
	eps := meanObliquity(t)*arcsec + de
	return orientation{psi, eps, meanSidereal(i.ut) + psi*math.Cos(eps)}
}

// equatorial is an apparent geocentric place, true equator and equinox of date.
type equatorial struct {
	ra, dec  float64 // rad
	distance float64 // in equatorial radii of the Earth
}

// rotate turns apparent ecliptic longitude and latitude into right ascension and
// declination (SPA eq. 30, 31).
func (o orientation) rotate(lon, lat, distance float64) equatorial {
	sinE, cosE := math.Sincos(o.eps)
	sinL, cosL := math.Sincos(lon)
	sinB, cosB := math.Sincos(lat)
	return equatorial{
		ra:       math.Atan2(sinL*cosE*cosB-sinB*sinE, cosL*cosB),
		dec:      math.Asin(sinB*cosE + cosB*sinE*sinL),
		distance: distance,
	}
}
