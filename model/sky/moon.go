package sky

import (
	"math"

	"fieldfare/model/unit"
)

// moonRadius is the moon's radius in equatorial radii of the Earth (Meeus chapter 55, k).
const moonRadius = 0.272481

// lunar returns the moon's geocentric longitude and latitude in degrees, mean equinox of date,
// light time included, and its distance in kilometres (Meeus chapter 47). It states
// 10″ in longitude and 4″ in latitude.
func lunar(t float64) (lon, lat, km float64) {
	l, b, r, lp := lunarSums(t)
	return lp + l*1e-6, b * 1e-6, 385000.56 + r*1e-3
}

// lunarSums returns Σl, Σb, Σr of Meeus chapter 47 with the additive terms, and L' in degrees.
func lunarSums(t float64) (l, b, r, lp float64) {
	lp = 218.3164477 + t*(481267.88123421+t*(-0.0015786+t*(1.0/538841-t/65194000)))
	d := 297.8501921 + t*(445267.1114034+t*(-0.0018819+t*(1.0/545868-t/113065000)))
	m := 357.5291092 + t*(35999.0502909+t*(-0.0001536+t/24490000))
	mm := 134.9633964 + t*(477198.8675055+t*(0.0087414+t*(1.0/69699-t/14712000)))
	f := 93.2720950 + t*(483202.0175233+t*(-0.0036539+t*(-1.0/3526000+t/863310000)))
	a1 := 119.75 + 131.849*t
	a2 := 53.09 + 479264.290*t
	a3 := 313.45 + 481266.484*t
	e := 1 - t*(0.002516+0.0000074*t)
	eccentricity := [3]float64{1, e, e * e} // by the multiple of M

	for _, x := range []*float64{&d, &m, &mm, &f} {
		*x = math.Mod(*x, 360) * deg
	}
	for i := range moonLongitudeDistance {
		n := &moonLongitudeDistance[i]
		sin, cos := math.Sincos(float64(n.d)*d + float64(n.m)*m + float64(n.mm)*mm + float64(n.f)*f)
		k := eccentricity[max(n.m, -n.m)]
		l += k * n.l * sin
		r += k * n.r * cos
	}
	for i := range moonLatitude {
		n := &moonLatitude[i]
		b += eccentricity[max(n.m, -n.m)] * n.b *
			math.Sin(float64(n.d)*d+float64(n.m)*m+float64(n.mm)*mm+float64(n.f)*f)
	}
	sin := func(degrees float64) float64 { return math.Sin(degrees * deg) }
	l += 3958*sin(a1) + 1962*sin(lp-f/deg) + 318*sin(a2)
	b += -2235*sin(lp) + 382*sin(a3) + 175*sin(a1-f/deg) + 175*sin(a1+f/deg) +
		127*sin(lp-mm/deg) - 115*sin(lp+mm/deg)
	return l, b, r, lp
}

// moon returns the apparent geocentric place of the moon.
func (i Instant) moon(o orientation) equatorial {
	lon, lat, km := lunar(i.century())
	return o.rotate(lon*deg+o.psi, lat*deg, km*1000/earthRadiusM)
}

// Phase is how much of the moon is lit, and which way it is going.
type Phase struct {
	IlluminatedFraction float64    // 0 new to 1 full
	Angle               unit.Angle // sun-moon-earth angle i, 0 at full, 180° at new
	BrightLimb          unit.Angle // position angle of the bright limb's middle from celestial north through east
	Waxing              bool       // the lit part grows
}

// MoonPhase returns the moon's phase as seen from the Earth's centre
// (Meeus, Astronomical Algorithms, chapter 48).
func (i Instant) MoonPhase() Phase {
	o := i.orientation()
	return phase(i.sun(o), i.moon(o))
}

func phase(s, m equatorial) Phase {
	dra := s.ra - m.ra
	sinS, cosS := math.Sincos(s.dec)
	sinM, cosM := math.Sincos(m.dec)
	cosPsi := sinS*sinM + cosS*cosM*math.Cos(dra)
	sinPsi := math.Sqrt(max(0, 1-cosPsi*cosPsi))
	angle := math.Atan2(s.distance*sinPsi, m.distance-s.distance*cosPsi) // 48.3
	limb := math.Atan2(cosS*math.Sin(dra), sinS*cosM-cosS*sinM*math.Cos(dra))
	if limb < 0 {
		limb += 2 * math.Pi
	}
	return Phase{(1 + math.Cos(angle)) / 2, unit.Angle(angle), unit.Angle(limb), limb > math.Pi}
}
