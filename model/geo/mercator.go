package geo

import (
	"fmt"
	"math"

	"fieldfare/model/unit"
)

// TransverseMercator is the ellipsoidal transverse Mercator projection of WGS84.
// Make it with NewTransverseMercator.
type TransverseMercator struct {
	lat0, lon0     float64
	scale          float64
	falseE, falseN float64
	radius         float64 // scale × rectifying radius A
	northing0      float64 // northing of lat0 before falseN
}

// NewTransverseMercator returns the projection about a central meridian through
// origin, with the scale on that meridian and the easting and northing given to
// the origin. UTM is scale 0.9996, latitude of origin 0, false easting 500 000 m.
func NewTransverseMercator(origin LatLon, scale, falseEastingM, falseNorthingM float64) TransverseMercator {
	n := thirdFlat
	// Karney 2011 eq. 14.
	a := SemiMajorM / (1 + n) * (1 + n*n/4 + n*n*n*n/64 + n*n*n*n*n*n/256)
	t := TransverseMercator{
		lat0: float64(origin.Lat), lon0: float64(origin.Lon), scale: scale,
		falseE: falseEastingM, falseN: falseNorthingM, radius: scale * a,
	}
	xi, _ := krueger(conformalTan(t.lat0), 0)
	t.northing0 = t.radius * xi
	return t
}

// maxEta bounds the easting of a point that is a quarter of the Earth away
// from the central meridian, where the projection runs to infinity.
const maxEta = 4

// krueger maps the tangent of conformal latitude and the longitude from the central
// meridian to the normalised northing ξ and easting η (Karney 2011 eqs. 10, 11).
func krueger(tau, lambda float64) (xi, eta float64) {
	sinL, cosL := math.Sincos(lambda)
	xi1 := math.Atan2(tau, cosL)
	eta1 := float64(maxEta)
	if h := math.Hypot(tau, cosL); h > 1e-9 {
		eta1 = math.Asinh(sinL / h)
	}
	eta1 = math.Max(-maxEta, math.Min(maxEta, eta1))
	xi, eta = xi1, eta1
	for j, a := range alpha {
		k := float64(2 * (j + 1))
		s, c := math.Sincos(k * xi1)
		xi += a * s * math.Cosh(k*eta1)
		eta += a * c * math.Sinh(k*eta1)
	}
	return xi, eta
}

// Krüger's coefficients (Karney 2011 eqs. 35 and 36).
var alpha, beta = func() (a, b [6]float64) {
	n := thirdFlat
	p := func(c ...float64) (sum float64) { // c[0]·n + c[1]·n² + ...
		for i := len(c) - 1; i >= 0; i-- {
			sum = (sum + c[i]) * n
		}
		return sum
	}
	a = [6]float64{
		p(1./2, -2./3, 5./16, 41./180, -127./288, 7891./37800),
		p(0, 13./48, -3./5, 557./1440, 281./630, -1983433./1935360),
		p(0, 0, 61./240, -103./140, 15061./26880, 167603./181440),
		p(0, 0, 0, 49561./161280, -179./168, 6601661./7257600),
		p(0, 0, 0, 0, 34729./80640, -3418889./1995840),
		p(0, 0, 0, 0, 0, 212378941./319334400),
	}
	b = [6]float64{
		p(1./2, -2./3, 37./96, -1./360, -81./512, 96199./604800),
		p(0, 1./48, 1./15, -437./1440, 46./105, -1118711./3870720),
		p(0, 0, 17./480, -37./840, -209./4480, 5569./90720),
		p(0, 0, 0, 4397./161280, -11./504, -830251./7257600),
		p(0, 0, 0, 0, 4583./161280, -108847./3991680),
		p(0, 0, 0, 0, 0, 20648693./638668800),
	}
	return a, b
}()

var eccentricity = math.Sqrt(eccentricity2)

// conformalTan returns the tangent of the conformal latitude (Karney 2011 eqs. 7-9).
func conformalTan(lat float64) float64 {
	return conformalTau(math.Tan(lat))
}

func conformalTau(tau float64) float64 {
	h := math.Hypot(1, tau)
	sigma := math.Sinh(eccentricity * math.Atanh(eccentricity*tau/h))
	return tau*math.Hypot(1, sigma) - sigma*h
}

// geodeticTan inverts conformalTau by Newton's method (Karney 2011 eqs. 19-21).
func geodeticTan(conformal float64) float64 {
	tau := conformal / (1 - eccentricity2)
	if math.Abs(conformal) > 70 {
		tau = conformal * math.Exp(eccentricity*math.Atanh(eccentricity))
	}
	for range 8 {
		got := conformalTau(tau)
		step := (conformal - got) / math.Hypot(1, got) *
			(1 + (1-eccentricity2)*tau*tau) / ((1 - eccentricity2) * math.Hypot(1, tau))
		tau += step
		if math.Abs(step) <= 1e-16*math.Max(1, math.Abs(tau)) {
			break
		}
	}
	return tau
}

// Forward projects p. Points within 60° of the central meridian are good to a
// micrometre; beyond 85° the easting is clamped, so the result stays finite.
func (t TransverseMercator) Forward(p LatLon) (eastingM, northingM float64) {
	xi, eta := krueger(conformalTan(float64(p.Lat)), float64((p.Lon - unit.Angle(t.lon0)).Signed()))
	return t.falseE + t.radius*eta, t.falseN + t.radius*xi - t.northing0
}

// Inverse returns the position of a projected point.
func (t TransverseMercator) Inverse(eastingM, northingM float64) LatLon {
	xi, eta, _, _ := t.unproject(eastingM, northingM)
	sin, cos := math.Sincos(xi)
	sinh := math.Sinh(eta)
	r := math.Hypot(sinh, cos)
	if r < 1e-16 { // a pole, where any longitude will do
		return LatLon{unit.Angle(math.Copysign(math.Pi/2, sin)), unit.Angle(t.lon0).Signed()}
	}
	return LatLon{
		unit.Angle(math.Atan(geodeticTan(sin / r))),
		unit.Angle(t.lon0 + math.Atan2(sinh, cos)).Signed(),
	}
}

// Convergence returns grid convergence at a projected point: the azimuth of grid
// north, clockwise from true north. True azimuth = grid azimuth + convergence.
func (t TransverseMercator) Convergence(eastingM, northingM float64) unit.Angle {
	xi, eta, p, q := t.unproject(eastingM, northingM)
	sin, cos := math.Sincos(xi)
	return unit.Angle(math.Atan2(sin*math.Tanh(eta), cos) + math.Atan2(q, p)) // Karney 2011 eqs. 26-28
}

// unproject returns northing and easting on the conformal sphere and the real and
// imaginary part of the derivative of that step (Karney 2011 eqs. 15, 11, 24).
func (t TransverseMercator) unproject(eastingM, northingM float64) (xi1, eta1, p, q float64) {
	xi := (northingM - t.falseN + t.northing0) / t.radius
	eta := math.Max(-maxEta, math.Min(maxEta, (eastingM-t.falseE)/t.radius))
	xi1, eta1, p = xi, eta, 1
	for j, b := range beta {
		k := float64(2 * (j + 1))
		s, c := math.Sincos(k * xi)
		sh, ch := math.Sinh(k*eta), math.Cosh(k*eta)
		xi1 -= b * s * ch
		eta1 -= b * c * sh
		p -= k * b * c * ch
		q += k * b * s * sh
	}
	return xi1, eta1, p, q
}

// UTM is a position in the Universal Transverse Mercator system on WGS84.
type UTM struct {
	Zone      int  // 1 to 60
	North     bool // northern hemisphere: northing counts from the equator; else 10 000 km is added
	EastingM  float64
	NorthingM float64
}

// String writes the zone, hemisphere, easting and northing in metres.
func (u UTM) String() string {
	h := "S"
	if u.North {
		h = "N"
	}
	return fmt.Sprintf("%d%s %.2f m E %.2f m N", u.Zone, h, u.EastingM, u.NorthingM)
}

// UTMZone returns the standard zone of p, with the exceptions of south-west Norway
// and Svalbard (NIMA TM8358.2, chapter 3).
func UTMZone(p LatLon) int {
	lat, lon := p.Lat.Deg(), p.Lon.Signed().Deg()
	zone := int(math.Floor((lon+180)/6))%60 + 1 // 180° opens zone 1
	switch {
	case lat >= 56 && lat < 64 && zone == 31 && lon >= 3:
		return 32
	case lat >= 72 && lat < 84 && lon >= 0 && lon < 42:
		switch {
		case lon < 9:
			return 31
		case lon < 21:
			return 33
		case lon < 33:
			return 35
		}
		return 37
	}
	return zone
}

// UTMProjection returns the projection of a UTM zone and hemisphere.
func UTMProjection(zone int, north bool) (TransverseMercator, error) {
	if zone < 1 || zone > 60 {
		return TransverseMercator{}, fmt.Errorf("UTM zone %d: expected 1 to 60", zone)
	}
	falseN := 10e6
	if north {
		falseN = 0
	}
	return NewTransverseMercator(Degrees(0, float64(6*zone-183)), 0.9996, 500e3, falseN), nil
}

// ToUTM converts p to its standard zone. UTM is defined from 80° S to 84° N.
func ToUTM(p LatLon) (UTM, error) { return ToUTMZone(p, UTMZone(p)) }

// ToUTMZone converts p to the named zone, which may be a neighbour of its own;
// the result is refused beyond 30° from the zone's central meridian.
func ToUTMZone(p LatLon, zone int) (UTM, error) {
	if err := p.Validate(); err != nil {
		return UTM{}, err
	}
	if lat := p.Lat.Deg(); lat < -80 || lat > 84 {
		return UTM{}, fmt.Errorf("latitude %.6g°: UTM is defined from 80° S to 84° N", lat)
	}
	t, err := UTMProjection(zone, p.Lat >= 0)
	if err != nil {
		return UTM{}, err
	}
	if off := math.Abs((p.Lon - unit.Angle(t.lon0)).Signed().Deg()); off > 30 {
		return UTM{}, fmt.Errorf("longitude %.6g° is %.3g° from the middle of UTM zone %d: expected within 30°", p.Lon.Deg(), off, zone)
	}
	e, n := t.Forward(p)
	return UTM{zone, p.Lat >= 0, e, n}, nil
}

// LatLon returns the position of u.
func (u UTM) LatLon() (LatLon, error) {
	t, err := UTMProjection(u.Zone, u.North)
	if err != nil {
		return LatLon{}, err
	}
	if !(math.Abs(u.EastingM-500e3) < 4e6) || !(math.Abs(u.NorthingM) < 2e7) {
		return LatLon{}, fmt.Errorf("easting %g m, northing %g m: outside UTM", u.EastingM, u.NorthingM)
	}
	return t.Inverse(u.EastingM, u.NorthingM), nil
}

// Frame is a site's local metric frame: transverse Mercator centred on the site's
// origin with scale 1 there, X east and Y north. It works at any longitude and
// at the poles (where north is along the origin's own meridian).
type Frame struct {
	origin LatLon
	tm     TransverseMercator
}

// NewFrame returns the site frame about origin.
func NewFrame(origin LatLon) Frame { return Frame{origin, NewTransverseMercator(origin, 1, 0, 0)} }

// Origin returns the position where X and Y are zero.
func (f Frame) Origin() LatLon { return f.origin }

// ToSite returns the site coordinates of p at height z above sea level.
func (f Frame) ToSite(p LatLon, z float64) Vec3 {
	e, n := f.tm.Forward(p)
	return Vec3{e, n, z}
}

// ToLatLon returns the position of a point of the site frame.
func (f Frame) ToLatLon(p Vec3) LatLon { return f.tm.Inverse(p.X, p.Y) }

// Convergence returns the azimuth of the frame's Y axis at p, clockwise from true
// north: zero on the origin's meridian, about x·tan(latitude)/R beside it. True
// azimuth = azimuth in the frame + convergence.
func (f Frame) Convergence(p Vec3) unit.Angle { return f.tm.Convergence(p.X, p.Y) }
