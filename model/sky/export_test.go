package sky

import (
	"math"

	"fieldfare/model/unit"
)

// Intermediates are the inner values of the SPA paper's table A5.1, for its test.
type Intermediates struct {
	JD, JDE, JC, JCE, JME      float64
	L, B, R                    []float64 // series sums, 1e-8
	Lon, Lat, Radius           float64
	X                          [5]float64
	Psi, Eps, Eps0, Obliquity  float64
	Aberration, Apparent       float64
	MeanSidereal, Sidereal     float64
	RA, Dec                    float64
	HourAngle, TopoRA, TopoDec float64
	TopoHourAngle              float64
}

func wrap(degrees float64) float64 { return math.Mod(math.Mod(degrees, 360)+360, 360) }

// IntermediatesOf works through the algorithm and keeps everything on the way.
func IntermediatesOf(p Place, at Instant) Intermediates {
	t := at.century()
	l, b, r := heliocentric(t)
	o := at.orientation()
	s := at.sun(o)
	v := Intermediates{
		JD: at.JulianDay(), JDE: at.JulianDay() + at.deltaT/86400, JC: at.ut / 36525, JCE: t, JME: t / 10,
		Lon: wrap(l / deg), Lat: b / deg, Radius: r, X: fundamental(t),
		Eps0: meanObliquity(t), Obliquity: o.eps / deg, Aberration: -aberration / r / deg,
		Apparent:     wrap((l+math.Pi-aberration/r+o.psi)/deg + 0),
		MeanSidereal: wrap(meanSidereal(at.ut) / deg), Sidereal: wrap(o.sidereal / deg),
		RA: wrap(s.ra / deg), Dec: s.dec / deg,
	}
	psi, eps := nutation(t)
	v.Psi, v.Eps = psi/deg, eps/deg
	for _, x := range earthL {
		v.L = append(v.L, sum(x, t/10))
	}
	for _, x := range earthB {
		v.B = append(v.B, sum(x, t/10))
	}
	for _, x := range earthR {
		v.R = append(v.R, sum(x, t/10))
	}
	ob := newObserver(p)
	v.HourAngle = wrap((o.sidereal + ob.longitude - s.ra) / deg)
	h := v.HourAngle * deg
	m := s.distance*math.Cos(s.dec)*math.Cos(h) - ob.equator
	e := -s.distance * math.Cos(s.dec) * math.Sin(h)
	z := s.distance*math.Sin(s.dec) - ob.axis
	v.TopoHourAngle = math.Atan2(-e, m) / deg
	v.TopoRA = v.RA + v.HourAngle - v.TopoHourAngle
	v.TopoDec = math.Atan2(z, math.Hypot(m, e)) / deg
	return v
}

// Lunar returns the inner values of Meeus example 47.a.
func Lunar(at Instant) (l, b, r, lon, lat, km, psi, eps, ra, dec, parallax float64) {
	t := at.century()
	l, b, r, _ = lunarSums(t)
	lon, lat, km = lunar(t)
	o := at.orientation()
	m := at.moon(o)
	return l, b, r, wrap(lon), lat, km, o.psi / deg, o.eps / deg, wrap(m.ra / deg), m.dec / deg,
		math.Asin(1/m.distance) / deg
}

// SunApparent returns the sun's apparent right ascension and declination in degrees.
func SunApparent(at Instant) (ra, dec, radius float64) {
	s := at.sun(at.orientation())
	return wrap(s.ra / deg), s.dec / deg, s.distance / sunRadii
}

// MeanSidereal returns Greenwich mean sidereal time in degrees.
func MeanSidereal(at Instant) float64 { return wrap(meanSidereal(at.ut) / deg) }

// LevelOfStar turns an apparent place at a great distance, in degrees, into azimuth and altitude.
func LevelOfStar(latitude, longitude, ra, dec float64, at Instant) (azimuth, altitude float64) {
	p := Place{Latitude: unit.Angle(latitude * deg), Longitude: unit.Angle(longitude * deg)}
	far := equatorial{ra * deg, dec * deg, 1e12}
	v := newObserver(p).see(far, at.orientation().sidereal).position(&p, 0)
	return v.Azimuth.Deg(), v.AirlessAltitude.Deg()
}
