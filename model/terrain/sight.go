package terrain

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Raycast returns where a ray from origin first meets the ground within maxM metres; dir need not have
// length 1. A ray that starts below the ground hits at once. One that comes in below it from missing data or from
// outside the grid met the ground where that is not known: it has no hit.
// The Earth is flat for it, which over 1 km is 8 cm off.
func (g *Grid) Raycast(origin, dir geo.Vec3, maxM float64) (hit geo.Vec3, ok bool) {
	d := dir.Unit()
	m, ok := g.start(origin.XY(), d.XY(), math.Min(maxM, 1e7))
	if !ok {
		return geo.Vec3{}, false
	}
	f := g.firstBelow(m, curve{a: origin.Z, b: d.Z}, 0)
	if !f.hit || f.beneath {
		return geo.Vec3{}, false
	}
	return origin.Add(d.Scale(f.t)), true
}

// Clearance is how far a line stays above the ground, measured straight down.
type Clearance struct {
	LeastM float64  // smallest height above ground; negative below it
	At     geo.Vec3 // the line's point there
	// Segment is the index of the segment, counted from 0, on which it lies, and Fraction how far along.
	Segment  int
	Fraction float64
	// Known is false where the line runs partly outside the grid or over missing data; LeastM then
	// speaks for the rest.
	Known bool
	// Any is false if no ground at all is known under the line; LeastM is then 0 and means nothing.
	Any bool
}

// Clearance returns the least height above ground along the path through the points,
// exact for the bilinear ground and straight segments. A single point is a path too.
func (g *Grid) Clearance(path ...geo.Vec3) Clearance {
	c := Clearance{LeastM: math.Inf(1), Known: len(path) > 0}
	for k := range max(1, len(path)-1) {
		if k < len(path) {
			g.clearance(path[k], path[min(k+1, len(path)-1)], k, 0, &c)
		}
	}
	return c.settled()
}

// settled replaces the infinite clearance that stands for no ground.
func (c Clearance) settled() Clearance {
	if c.Any = !math.IsInf(c.LeastM, 1); !c.Any {
		c.LeastM = 0
	}
	return c
}

// clearance lowers c to the least gap on the segment a-b; the ground is raised by bulge·t·(1-t).
func (g *Grid) clearance(a, b geo.Vec3, segment int, bulge float64, c *Clearance) {
	d := b.Sub(a)
	m, ok := g.start(a.XY(), d.XY(), 1)
	if !ok {
		c.Known = false
		return
	}
	if m.t > 1e-9 || m.end < 1-1e-9 {
		c.Known = false
	}
	q := curve{a.Z, d.Z - bulge, bulge}
	for {
		t1, i, j := m.exit(0)
		ga, gb, gc, ok := m.patch(g, m.t)
		switch {
		case ok:
			s, gap := least(q.at(m.t)-ga, q.b+2*q.c*m.t-gb, q.c-gc, t1-m.t)
			if gap < c.LeastM {
				c.LeastM, c.Segment, c.Fraction = gap, segment, m.t+s
				c.At = a.Lerp(b, c.Fraction)
			}
		default:
			c.Known = false
		}
		if !m.inside(g, t1, i, j) {
			return
		}
		m.t, m.i, m.j = t1, i, j
	}
}

// least returns where in [0, last] a + b·s + c·s² is smallest, and its value.
func least(a, b, c, last float64) (s, value float64) {
	value = a
	if end := a + last*(b+last*c); end < value {
		s, value = last, end
	}
	if c > 0 {
		if v := -b / (2 * c); v > 0 && v < last {
			if low := a + v*(b+v*c); low < value {
				s, value = v, low
			}
		}
	}
	return s, value
}

// Sight is what lies between two points.
type Sight struct {
	Clear bool // nothing known stands in the way
	Known bool // all of the ground between is known
	// MarginM is how far the line passes above the known ground where it is closest, negative when
	// blocked, 0 when no ground is known; At is the point of the line there.
	MarginM float64
	At      geo.Vec3
}

// touchM is how far a line may dip into the ground and still count as clear: points on the ground
// are in sight of each other in spite of rounding.
const touchM = 1e-6

// LineOfSight tells whether the straight line from a to b clears the ground on an Earth curved with the
// refraction coefficient.
func (g *Grid) LineOfSight(a, b geo.Vec3, refraction float64) Sight {
	c := Clearance{LeastM: math.Inf(1), Known: true}
	d := b.Sub(a).Horizontal()
	g.clearance(a, b, 0, curvature(refraction)*d*d, &c)
	c = c.settled()
	return Sight{Clear: c.LeastM >= -touchM, Known: c.Known, MarginM: c.LeastM, At: c.At}
}

// Light says whether the sun reaches a place past the terrain of the grid.
type Light uint8

// The states of a place.
const (
	Lit     Light = iota
	Shaded        // the ground stands between it and the sun
	Unknown       // no data at the place, or missing data on the way
)

// String returns the state in a word.
func (l Light) String() string { return [...]string{"lit", "shaded", "unknown"}[min(l, Unknown)] }

// LightAt tells whether a point is in the shadow of the terrain for a body at the azimuth and (apparent) altitude at
// that point. What lies beyond the grid is not considered: let the grid reach past the ridges that matter.
func (g *Grid) LightAt(p geo.Vec3, azimuth, altitude unit.Angle, refraction float64) Light {
	sin, cos := math.Sincos(float64(azimuth))
	return g.light(p, geo.Vec2{X: sin, Y: cos}, curve{p.Z, math.Tan(float64(altitude)), curvature(refraction)})
}

func (g *Grid) light(p geo.Vec3, toSun geo.Vec2, q curve) Light {
	m, ok := g.start(p.XY(), toSun, math.Inf(1))
	if !ok || math.IsNaN(q.a+q.b+q.c) {
		return Unknown
	}
	f := g.firstBelow(m, q, 1e-3)
	switch {
	case f.hit:
		return Shaded
	case f.void:
		return Unknown
	}
	return Lit
}
