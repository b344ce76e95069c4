package geo

import (
	"math"

	"fieldfare/model/unit"
)

// Geodesic is the shortest path between two positions on the ellipsoid.
type Geodesic struct {
	DistanceM    float64
	AzimuthStart unit.Angle // direction of travel at the start, [0, 2π)
	AzimuthEnd   unit.Angle // direction of travel at the end, [0, 2π)
}

// Distance returns the length of the geodesic from a to b in metres.
func Distance(a, b LatLon) float64 { return Inverse(a, b).DistanceM }

// Bearing returns the true azimuth in which b lies from a along the geodesic.
func Bearing(a, b LatLon) unit.Angle { return Inverse(a, b).AzimuthStart }

// Inverse returns the geodesic from a to b. Between exactly opposite points,
// where many geodesics are equally short, one of them is given; between equal
// points the azimuth is due south or north as the limit of approach has it.
func Inverse(a, b LatLon) Geodesic {
	lat1, lat2 := float64(a.Lat), float64(b.Lat)
	lon12 := float64((b.Lon - a.Lon).Signed())
	// Bring the problem to 0 ≤ λ12 ≤ π and β1 ≤ 0, |β2| ≤ -β1 (Karney 2013, eq. 44).
	lonSign, swap, latSign := 1.0, 1.0, 1.0
	if math.Signbit(lon12) {
		lonSign, lon12 = -1, -lon12
	}
	if math.Abs(lat1) < math.Abs(lat2) {
		swap, lonSign = -1, -lonSign
		lat1, lat2 = lat2, lat1
	}
	if lat1 > 0 {
		latSign, lat1, lat2 = -1, -lat1, -lat2
	}
	g := geodesicPair{lambda: lon12}
	g.sinB1, g.cosB1 = reduced(lat1)
	g.sinB2, g.cosB2 = reduced(lat2)

	arc := g.solve()
	sin1, cos1, sin2, cos2 := arc.sinA1, arc.cosA1, arc.sinA2, arc.cosA2
	if swap < 0 {
		sin1, cos1, sin2, cos2 = sin2, cos2, sin1, cos1
	}
	return Geodesic{
		DistanceM:    SemiMinorM * arc.integrate(distanceIntegrand),
		AzimuthStart: unit.Angle(math.Atan2(sin1*swap*lonSign, cos1*swap*latSign)).Wrapped(),
		AzimuthEnd:   unit.Angle(math.Atan2(sin2*swap*lonSign, cos2*swap*latSign)).Wrapped(),
	}
}

// Direct returns the position reached from a by following a geodesic that leaves
// at the azimuth for distanceM metres (negative: backwards), and the azimuth
// of travel there.
func Direct(a LatLon, azimuth unit.Angle, distanceM float64) (LatLon, unit.Angle) {
	sinB1, cosB1 := reduced(float64(a.Lat))
	sinA1, cosA1 := math.Sincos(float64(azimuth))
	sinA0, cosA0 := sinA1*cosB1, math.Hypot(cosA1, sinA1*sinB1) // eq. 10
	arc := arc{sinA0: sinA0, k2: secondEcc2 * cosA0 * cosA0}
	arc.sigma1 = math.Atan2(sinB1, cosA1*cosB1) // eq. 11
	if sinB1 == 0 && cosA1 == 0 {
		arc.sigma1 = 0
	}
	target := distanceM / SemiMinorM
	arc.sigma12 = target / (1 + arc.k2/4)
	for range 20 {
		step := (target - arc.integrate(distanceIntegrand)) / distanceIntegrand(arc.k2, arc.sigma1+arc.sigma12)
		arc.sigma12 += step
		if math.Abs(step) < 1e-15 {
			break
		}
	}
	sin2, cos2 := math.Sincos(arc.sigma1 + arc.sigma12)
	sinB2, cosB2 := cosA0*sin2, math.Hypot(sinA0, cosA0*cos2)
	omega12 := math.Atan2(sinA0*sin2, cos2) - math.Atan2(sinA0*sinB1, cosA1*cosB1) // eq. 12
	lambda12 := omega12 - Flattening*sinA0*arc.integrate(longitudeIntegrand)
	return LatLon{
		unit.Angle(math.Atan2(sinB2, (1-Flattening)*cosB2)),
		(a.Lon + unit.Angle(lambda12)).Signed(),
	}, unit.Angle(math.Atan2(sinA0, cosA0*cos2)).Wrapped()
}

// reduced returns sine and cosine of the reduced latitude (eq. 6), the cosine kept off zero.
func reduced(lat float64) (sin, cos float64) {
	s, c := math.Sincos(lat)
	s *= 1 - Flattening
	if math.Abs(s) < 1e-30 { // far below a nanometre
		s = 0
	}
	h := math.Hypot(s, c)
	return s / h, math.Max(c/h, 1e-150)
}

// arc is a stretch of a geodesic on the auxiliary sphere.
type arc struct {
	sinA1, cosA1, sinA2, cosA2 float64
	sinA0                      float64 // sine of the azimuth at the equator
	k2                         float64 // eq. 9
	sigma1, sigma12            float64 // spherical arc from the equator, and its length
}

// distanceIntegrand is ds/dσ / b (eq. 7).
func distanceIntegrand(k2, sigma float64) float64 {
	s := math.Sin(sigma)
	return math.Sqrt(1 + k2*s*s)
}

// longitudeIntegrand is the integrand of eq. 8.
func longitudeIntegrand(k2, sigma float64) float64 {
	s := math.Sin(sigma)
	return (2 - Flattening) / (1 + (1-Flattening)*math.Sqrt(1+k2*s*s))
}

// reducedLengthIntegrand is the integrand of J(σ) (eq. 39 and 40).
func reducedLengthIntegrand(k2, sigma float64) float64 {
	s := math.Sin(sigma)
	return k2 * s * s / math.Sqrt(1+k2*s*s)
}

// integrate sums f over the arc by ten-point Gauss-Legendre quadrature on pieces of at most
// a quarter turn. The integrands differ from a constant by e'² ≈ 1/150 times
// smooth powers of sin²σ, so the rule is exact to the last bits.
func (a *arc) integrate(f func(k2, sigma float64) float64) float64 {
	pieces := math.Max(1, math.Ceil(math.Abs(a.sigma12)/(math.Pi/2)))
	half := a.sigma12 / pieces / 2
	sum := 0.0
	for i := 0.0; i < pieces; i++ {
		mid := a.sigma1 + (2*i+1)*half
		for j, x := range gaussNode {
			sum += gaussWeight[j] * (f(a.k2, mid-half*x) + f(a.k2, mid+half*x))
		}
	}
	return sum * half
}

// Positive nodes and weights of the ten-point rule (Abramowitz & Stegun, table 25.4).
var (
	gaussNode   = [5]float64{0.1488743389816312, 0.4333953941292472, 0.6794095682990244, 0.8650633666889845, 0.9739065285171717}
	gaussWeight = [5]float64{0.2955242247147529, 0.2692667193099963, 0.2190863625159820, 0.1494513491505806, 0.0666713443086881}
)

// geodesicPair is the inverse problem in canonical form.
type geodesicPair struct {
	sinB1, cosB1, sinB2, cosB2 float64
	lambda                     float64
}

func (g *geodesicPair) solve() arc {
	sinL, cosL := math.Sincos(g.lambda)
	if g.lambda == 0 || g.lambda == math.Pi || g.cosB1 <= 1e-150 { // along a meridian
		m := arc{sinA1: sinL, cosA1: cosL, sinA2: 0, cosA2: 1, k2: secondEcc2}
		if g.lambda == math.Pi {
			m.sinA1, m.cosA1 = 0, -1
		}
		if g.cosB1 > 1e-150 {
			m.setArc(g.sinB1, m.cosA1*g.cosB1, g.sinB2, g.cosB2)
		} else {
			m.setArc(g.sinB1, 0, g.sinB2, g.cosB2)
		}
		if m.sigma12 < 1 || m.reducedLength() >= 0 {
			return m
		}
	}
	if g.sinB1 == 0 && g.lambda <= (1-Flattening)*math.Pi { // along the equator
		// With k = 0 the distance is b·σ, so σ = aλ/b.
		return arc{sinA1: 1, sinA2: 1, sinA0: 1, sigma12: g.lambda / (1 - Flattening)}
	}
	return g.search()
}

// heading is an azimuth as sine and cosine, which keeps its last bits near due east.
type heading struct{ sin, cos float64 }

func (h heading) unit() heading {
	n := math.Hypot(h.sin, h.cos)
	return heading{h.sin / n, h.cos / n}
}

// search finds the azimuth at the first point for which the geodesic meets the
// second point's longitude: Newton's method inside a shrinking bracket (Karney 2013, section 4).
// The longitude rises with the azimuth, so the bracket always closes.
func (g *geodesicPair) search() arc {
	lo, hi := heading{1e-150, 1}, heading{1e-150, -1}
	// Start on the auxiliary sphere with λ for ω (eqs. 48-51 without the correction).
	sinL, cosL := math.Sincos(g.lambda)
	north := g.sinB2*g.cosB1 - g.cosB2*g.sinB1 // sin(β2-β1)
	if cosL >= 0 {
		north += g.cosB2 * g.sinB1 * sinL * sinL / (1 + cosL)
	} else {
		north = g.cosB1*g.sinB2 - g.sinB1*g.cosB2*cosL
	}
	h := heading{math.Max(1e-150, g.cosB2*sinL), north}.unit()
	var best arc
	for range 200 {
		a, lambda := g.hybrid(h)
		best = a
		miss := lambda - g.lambda
		if math.Abs(miss) <= 1e-16 {
			break
		}
		if miss > 0 {
			if h.cos/h.sin > hi.cos/hi.sin {
				hi = h
			}
		} else if h.cos/h.sin < lo.cos/lo.sin {
			lo = h
		}
		next := heading{}
		if step := -miss / g.slope(&a); math.Abs(step) < 1 {
			s, c := math.Sincos(step)
			next = heading{h.sin*c + h.cos*s, h.cos*c - h.sin*s}.unit()
		}
		if next == h && math.Abs(miss) < 1e-14 {
			break
		}
		if !(next != h && next.sin > 0 && next.cos/next.sin < lo.cos/lo.sin && next.cos/next.sin > hi.cos/hi.sin) {
			next = heading{(lo.sin + hi.sin) / 2, (lo.cos + hi.cos) / 2}
			if math.Hypot(next.sin, next.cos) < 1e-9 { // opposite ends
				next = heading{1, 0}
			}
			next = next.unit()
			if next == h || next == lo || next == hi {
				break
			}
		}
		h = next
	}
	return best
}

// hybrid follows the geodesic that leaves the first point at the azimuth until it meets
// the second latitude heading north, and returns it and its longitude difference.
func (g *geodesicPair) hybrid(h heading) (arc, float64) {
	a := arc{sinA1: h.sin, cosA1: h.cos}
	sinB1 := g.sinB1
	if sinB1 == 0 {
		sinB1 = -1e-150
	}
	if a.cosA1 == 0 {
		a.cosA1 = -1e-150
	}
	a.sinA0 = a.sinA1 * g.cosB1                           // eq. 5
	cosA0 := math.Hypot(a.cosA1, a.sinA1*sinB1)           // eq. 10
	a.k2 = secondEcc2 * cosA0 * cosA0                     // eq. 9
	a.sinA2, a.cosA2 = a.sinA0/g.cosB2, math.Abs(a.cosA1) // eq. 5
	if g.cosB2 != g.cosB1 || math.Abs(g.sinB2) != -g.sinB1 {
		diff := (g.sinB1 - g.sinB2) * (g.sinB1 + g.sinB2)
		if g.cosB1 < -g.sinB1 {
			diff = (g.cosB2 - g.cosB1) * (g.cosB1 + g.cosB2)
		}
		c := a.cosA1 * g.cosB1
		a.cosA2 = math.Sqrt(math.Max(0, c*c+diff)) / g.cosB2 // eq. 45
	}
	a.setArc(sinB1, a.cosA1*g.cosB1, g.sinB2, a.cosA2*g.cosB2)
	sin1, cos1 := a.sinA0*sinB1, a.cosA1*g.cosB1
	sin2, cos2 := a.sinA0*g.sinB2, a.cosA2*g.cosB2
	omega12 := math.Atan2(math.Max(0, cos1*sin2-sin1*cos2), cos1*cos2+sin1*sin2) // eq. 12
	return a, omega12 - Flattening*a.sinA0*a.integrate(longitudeIntegrand)       // eq. 8
}

// setArc sets σ1 and σ12 from vectors along σ1 and σ2 (eq. 11).
func (a *arc) setArc(sin1, cos1, sin2, cos2 float64) {
	a.sigma1 = math.Atan2(sin1, cos1)
	a.sigma12 = math.Atan2(math.Max(0, cos1*sin2-sin1*cos2), cos1*cos2+sin1*sin2)
}

// reducedLength returns m12/b (eq. 38).
func (a *arc) reducedLength() float64 {
	s1, c1 := math.Sincos(a.sigma1)
	s2, c2 := math.Sincos(a.sigma1 + a.sigma12)
	return math.Sqrt(1+a.k2*s2*s2)*c1*s2 - math.Sqrt(1+a.k2*s1*s1)*s1*c2 - c1*c2*a.integrate(reducedLengthIntegrand)
}

// slope returns dλ12/dα1 (eq. 46).
func (g *geodesicPair) slope(a *arc) float64 {
	if a.cosA2 == 0 {
		return 0 // no Newton step: the caller bisects
	}
	return a.reducedLength() * (1 - Flattening) / (a.cosA2 * g.cosB2)
}
