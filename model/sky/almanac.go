package sky

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// nodes is how many times a day the full algorithm is asked for one day's polynomial.
const nodes = 6

// siderealRate is how far the Earth turns in one day of UT, in radians (SPA eq. 28).
const siderealRate = 360.98564736629 * deg

// Almanac answers for one place and a span of days at the speed of a dense scan. For each day
// it keeps a polynomial of the apparent place of sun and moon in a frame that turns with the
// mean equinox, so that only the Earth's spin, the parallax and the refraction are left to
// compute. It agrees with Place.Sun and Place.Moon to 1e-5°; outside its span it calls them.
// Its methods allocate nothing and may be called at once from several goroutines.
type Almanac struct {
	place    Place
	observer observer
	first    Instant // start of the first day
	days     []day
}

// day holds both bodies over one UT day as polynomials in x from -1 to 1.
type day struct {
	spin      float64 // mean sidereal time at the place at mid-day, rad
	sun, moon track
}

type track [3][nodes]float64

// NewAlmanac prepares the days from from to to, both included. It costs about 40 µs a day.
func NewAlmanac(p Place, from, to Instant) (*Almanac, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	first, last := math.Floor(from.ut), math.Floor(to.ut)
	if !(last >= first && last-first < 366*(LastYear-FirstYear+1)) {
		return nil, fmt.Errorf("almanac from %s to %s: the end must follow the start within %d years",
			from.Time().Format("2006-01-02"), to.Time().Format("2006-01-02"), LastYear-FirstYear)
	}
	a := &Almanac{
		place: p, observer: newObserver(p), first: Instant{first, from.deltaT},
		days: make([]day, int(last-first)+1),
	}
	for i := range a.days {
		a.days[i] = a.fit(Instant{first + float64(i) + 0.5, from.deltaT})
	}
	return a, nil
}

// fit interpolates both bodies at the Chebyshev nodes of the day around mid.
func (a *Almanac) fit(mid Instant) day {
	d := day{spin: math.Mod(meanSidereal(mid.ut)+a.observer.longitude, 2*math.Pi)}
	var sun, moon track
	for k, x := range chebyshevNodes {
		at := Instant{mid.ut + x/2, mid.deltaT}
		o := at.orientation()
		// What the apparent sidereal time adds to a steady turn goes into the body's place.
		slow := math.Remainder(o.sidereal+a.observer.longitude-d.spin-siderealRate*x/2, 2*math.Pi)
		s, m := at.sun(o).vector(slow), at.moon(o).vector(slow)
		for axis := range 3 {
			sun[axis][k], moon[axis][k] = s[axis], m[axis]
		}
	}
	for axis := range 3 {
		d.sun[axis] = monomials(sun[axis])
		d.moon[axis] = monomials(moon[axis])
	}
	return d
}

// vector returns the geocentric place in Earth radii with its right ascension lessened by
// slow.
func (b equatorial) vector(slow float64) [3]float64 {
	sinA, cosA := math.Sincos(b.ra - slow)
	sinD, cosD := math.Sincos(b.dec)
	return [3]float64{b.distance * cosD * cosA, b.distance * cosD * sinA, b.distance * sinD}
}

var chebyshevNodes = func() (x [nodes]float64) {
	for k := range x {
		x[k] = math.Cos(math.Pi * (float64(k) + 0.5) / nodes)
	}
	return x
}()

// monomials turns values at the Chebyshev nodes into the coefficients of x⁰ to x⁵ of the
// polynomial through them (Newton's divided differences).
func monomials(values [nodes]float64) (c [nodes]float64) {
	x := chebyshevNodes
	for order := 1; order < nodes; order++ {
		for k := nodes - 1; k >= order; k-- {
			values[k] = (values[k] - values[k-1]) / (x[k] - x[k-order])
		}
	}
	for k := nodes - 1; k >= 0; k-- {
		for i := nodes - 1; i > 0; i-- {
			c[i] = c[i-1] - x[k]*c[i]
		}
		c[0] = values[k] - x[k]*c[0]
	}
	return c
}

// Covers reports whether the instant lies in the days prepared.
func (a *Almanac) Covers(at Instant) bool {
	n := at.ut - a.first.ut
	return n >= 0 && n < float64(len(a.days))
}

// Place returns the place the almanac was made for.
func (a *Almanac) Place() Place { return a.place }

// Sun returns the sun's position, as Place.Sun does.
func (a *Almanac) Sun(at Instant) Position { return a.sunSight(at).position(&a.place, sunRadius) }

// Moon returns the moon's position, as Place.Moon does.
func (a *Almanac) Moon(at Instant) Position { return a.moonSight(at).position(&a.place, moonRadius) }

// SunDirection returns the unit vector toward the sun without refraction, the quickest
// answer here: no inverse trigonometry is needed.
func (a *Almanac) SunDirection(at Instant) geo.Vec3 { return a.sunSight(at).direction() }

// MoonDirection returns the unit vector toward the moon without refraction.
func (a *Almanac) MoonDirection(at Instant) geo.Vec3 { return a.moonSight(at).direction() }

func (a *Almanac) sunSight(at Instant) sight {
	if !a.Covers(at) {
		o := at.orientation()
		return a.observer.see(at.sun(o), o.sidereal)
	}
	d, x := a.day(at)
	return a.observer.turn(&d.sun, d.spin, x)
}

func (a *Almanac) moonSight(at Instant) sight {
	if !a.Covers(at) {
		o := at.orientation()
		return a.observer.see(at.moon(o), o.sidereal)
	}
	d, x := a.day(at)
	return a.observer.turn(&d.moon, d.spin, x)
}

func (a *Almanac) day(at Instant) (d *day, x float64) {
	n := at.ut - a.first.ut
	i := int(n)
	return &a.days[i], 2*(n-float64(i)) - 1
}

// turn spins the body's place by the hour x of the day and looks at it from the place.
func (o *observer) turn(t *track, spin, x float64) sight {
	px, py, pz := t.at(x)
	sin, cos := math.Sincos(spin + siderealRate/2*x)
	return o.level(px*cos+py*sin, py*cos-px*sin, pz)
}

func (t *track) at(x float64) (px, py, pz float64) {
	a, b, c := &t[0], &t[1], &t[2]
	px = a[0] + x*(a[1]+x*(a[2]+x*(a[3]+x*(a[4]+x*a[5]))))
	py = b[0] + x*(b[1]+x*(b[2]+x*(b[3]+x*(b[4]+x*b[5]))))
	pz = c[0] + x*(c[1]+x*(c[2]+x*(c[3]+x*(c[4]+x*c[5]))))
	return px, py, pz
}

func (s sight) altitude() unit.Angle {
	return unit.Angle(math.Asin(max(-1, min(1, s.up/s.distance()))))
}
