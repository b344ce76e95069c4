package geo

import (
	"fmt"
	"math"
	"slices"
)

// Ring is a closed line in the plane; the last point joins the first and need not
// repeat it. Either sense of rotation will do.
type Ring []Vec2

// Polygon is an area with holes. Its boundary belongs to it, the holes' edges included.
type Polygon struct {
	Outer Ring
	Holes []Ring
}

// Contains reports whether p lies inside the ring or on it (even-odd rule, exact
// but for the rounding of coordinate differences).
func (r Ring) Contains(p Vec2) bool {
	in, edge := r.locate(p)
	return in || edge
}

func (r Ring) locate(p Vec2) (inside, onEdge bool) {
	for i, a := range r {
		b := r.after(i)
		if (a.Y > p.Y) == (b.Y > p.Y) {
			if onSegment(p, a, b) {
				return false, true
			}
			continue
		}
		side := b.Sub(a).Cross(p.Sub(a))
		if side == 0 {
			return false, true
		}
		if (side > 0) == (b.Y > a.Y) {
			inside = !inside
		}
	}
	return inside, false
}

// after returns the point that follows the i-th.
func (r Ring) after(i int) Vec2 {
	if i+1 < len(r) {
		return r[i+1]
	}
	return r[0]
}

// Distance returns the distance from p to the line of the ring, from either side.
func (r Ring) Distance(p Vec2) float64 {
	best := math.Inf(1)
	for i, a := range r {
		if d, _ := PointSegment2(p, a, r.after(i)); d < best {
			best = d
		}
	}
	return best
}

// Area returns the enclosed area in square metres, positive when the ring runs anticlockwise.
func (r Ring) Area() float64 {
	sum := 0.0
	for i := range r {
		sum += r[i].Sub(r[0]).Cross(r.after(i).Sub(r[0]))
	}
	return sum / 2
}

// Bounds returns the smallest upright rectangle around the ring.
func (r Ring) Bounds() Bounds {
	b := Bounds{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, p := range r {
		b = b.Union(Bounds{p.X, p.Y, p.X, p.Y})
	}
	return b
}

// Crossing is a place where two edges of rings meet that should not.
type Crossing struct {
	EdgeA, EdgeB int // index of each edge's first point
	At           Vec2
}

// SelfCrossing returns the first place where the ring crosses, touches or doubles back
// on itself.
func (r Ring) SelfCrossing() (Crossing, bool) {
	r = r.open()
	n := len(r)
	for i := range n {
		a, b := r[i], r.after(i)
		for j := i + 1; j < n; j++ {
			c, d := r[j], r.after(j)
			next, last := j == i+1, i == 0 && j == n-1
			switch {
			case next && last: // a ring of two edges is its own overlap
				return Crossing{i, j, a}, true
			case next: // neighbours share b; more than that is a spike
				if b.Sub(a).Cross(d.Sub(c)) == 0 && b.Sub(a).Dot(d.Sub(c)) <= 0 {
					return Crossing{i, j, b}, true
				}
			case last:
				if d.Sub(c).Cross(b.Sub(a)) == 0 && d.Sub(c).Dot(b.Sub(a)) <= 0 {
					return Crossing{i, j, a}, true
				}
			default:
				if s, _, ok := SegmentsCross(a, b, c, d); ok {
					return Crossing{i, j, a.Lerp(b, s)}, true
				}
			}
		}
	}
	return Crossing{}, false
}

// Validate says what is wrong with a polygon that a file gave: too few points, a point that
// is not a number, a ring that crosses itself, a hole that is not inside.
func (g Polygon) Validate() error {
	if err := g.Outer.validate("outer ring"); err != nil {
		return err
	}
	for h, hole := range g.Holes {
		name := fmt.Sprintf("hole %d", h+1)
		if err := hole.validate(name); err != nil {
			return err
		}
		for i, a := range hole {
			if !g.Outer.Contains(a) {
				return fmt.Errorf("%s: point %d (%.2f, %.2f) is outside the outer ring", name, i+1, a.X, a.Y)
			}
			for j, c := range g.Outer {
				if at, ok := properCross(a, hole.after(i), c, g.Outer.after(j)); ok {
					return fmt.Errorf("%s crosses the outer ring near (%.2f, %.2f)", name, at.X, at.Y)
				}
			}
		}
	}
	return nil
}

func (r Ring) validate(name string) error {
	for i, p := range r {
		if s := p.X + p.Y; math.IsNaN(s) || math.IsInf(s, 0) {
			return fmt.Errorf("%s: point %d is not a finite number", name, i+1)
		}
	}
	r = r.open()
	if len(r) < 3 {
		return fmt.Errorf("%s has %d distinct points: expected at least 3", name, len(r))
	}
	for i, p := range r {
		if p == r.after(i) {
			return fmt.Errorf("%s: points %d and %d are the same; remove one", name, i+1, (i+1)%len(r)+1)
		}
	}
	if x, bad := r.SelfCrossing(); bad {
		return fmt.Errorf("%s crosses itself near (%.2f, %.2f), edges %d and %d; reorder its points or split it", name, x.At.X, x.At.Y, x.EdgeA+1, x.EdgeB+1)
	}
	return nil
}

// open drops a last point that repeats the first.
func (r Ring) open() Ring {
	if n := len(r); n > 1 && r[0] == r[n-1] {
		return r[:n-1]
	}
	return r
}

// properCross is SegmentsCross without mere touching.
func properCross(a, b, c, d Vec2) (Vec2, bool) {
	s, t, ok := SegmentsCross(a, b, c, d)
	return a.Lerp(b, s), ok && s > 0 && s < 1 && t > 0 && t < 1
}

// Contains reports whether p lies in the area or on its boundary.
func (g Polygon) Contains(p Vec2) bool {
	in, edge := g.Outer.locate(p)
	if edge {
		return true
	}
	if !in {
		return false
	}
	for _, h := range g.Holes {
		if in, edge := h.locate(p); in && !edge {
			return false
		}
	}
	return true
}

// Bounds returns the smallest upright rectangle around the area.
func (g Polygon) Bounds() Bounds { return g.Outer.Bounds() }

// Area returns the area in square metres without the holes.
func (g Polygon) Area() float64 {
	a := math.Abs(g.Outer.Area())
	for _, h := range g.Holes {
		a -= math.Abs(h.Area())
	}
	return a
}

// BoundaryDistance returns the distance from p to the nearest edge, from either side.
func (g Polygon) BoundaryDistance(p Vec2) float64 {
	d := g.Outer.Distance(p)
	for _, h := range g.Holes {
		d = math.Min(d, h.Distance(p))
	}
	return d
}

// Distance returns how far p is from the area: zero inside.
func (g Polygon) Distance(p Vec2) float64 {
	if g.Contains(p) {
		return 0
	}
	return g.BoundaryDistance(p)
}

// SegmentDistance returns how near the segment a-b comes to the area: zero when it
// enters or touches, and the fraction along it where it is first nearest among its
// own ends and the area's corners.
func (g Polygon) SegmentDistance(a, b Vec2) (distM, t float64) {
	if g.Contains(a) {
		return 0, 0
	}
	distM, t = math.Inf(1), 0
	for h := -1; h < len(g.Holes); h++ {
		r := g.ring(h)
		for i, c := range r {
			d, s, _ := SegmentSegment2(a, b, c, r.after(i))
			if d < distM || d == distM && s < t {
				distM, t = d, s
			}
		}
	}
	return distM, t
}

// PolygonDistance returns the smallest distance between two areas: zero when they share
// a point.
func PolygonDistance(g, h Polygon) float64 {
	if len(g.Outer) == 0 || len(h.Outer) == 0 {
		return math.Inf(1)
	}
	best := math.Inf(1)
	for k := -1; k < len(g.Holes); k++ {
		r := g.ring(k)
		for i, a := range r {
			d, _ := h.SegmentDistance(a, r.after(i))
			best = math.Min(best, d)
		}
	}
	if best > 0 && g.Contains(h.Outer[0]) {
		return 0
	}
	return best
}

// ring returns the outer ring for -1, else a hole.
func (g Polygon) ring(h int) Ring {
	if h < 0 {
		return g.Outer
	}
	return g.Holes[h]
}

// Crossings appends to dst, in rising order, the fractions along a-b where it meets the
// boundary; an edge that it runs along gives both its ends. A crossing at a corner
// may be listed twice.
func (g Polygon) Crossings(a, b Vec2, dst []float64) []float64 {
	start := len(dst)
	for h := -1; h < len(g.Holes); h++ {
		r := g.ring(h)
		for i, c := range r {
			d := r.after(i)
			if b.Sub(a).Cross(d.Sub(c)) == 0 { // parallel: both ends, if on the segment
				if onSegment(c, a, b) {
					_, t := PointSegment2(c, a, b)
					dst = append(dst, t)
				}
				if onSegment(d, a, b) {
					_, t := PointSegment2(d, a, b)
					dst = append(dst, t)
				}
				continue
			}
			if s, _, ok := SegmentsCross(a, b, c, d); ok {
				dst = append(dst, s)
			}
		}
	}
	slices.Sort(dst[start:])
	return dst
}

// Interval is a stretch of a segment: fractions From to To, 0 ≤ From ≤ To ≤ 1.
type Interval struct{ From, To float64 }

// Inside appends to dst the stretches of a-b that lie in the area, in order. scratch is
// for the crossings and may be nil; a single touch gives an interval without length.
func (g Polygon) Inside(a, b Vec2, dst []Interval, scratch []float64) []Interval {
	cuts := append(scratch[:0], 0)
	cuts = g.Crossings(a, b, cuts)
	cuts = append(cuts, 1)
	start := len(dst)
	add := func(from, to float64) {
		if n := len(dst); n > start && dst[n-1].To >= from {
			dst[n-1].To = math.Max(dst[n-1].To, to)
			return
		}
		dst = append(dst, Interval{from, to})
	}
	for i, t := range cuts {
		// A crossing lies on the boundary, an end may not.
		if 0 < i && i < len(cuts)-1 || g.Contains(a.Lerp(b, t)) {
			add(t, t)
		}
		if i+1 < len(cuts) && cuts[i+1] > t && g.Contains(a.Lerp(b, (t+cuts[i+1])/2)) {
			add(t, cuts[i+1])
		}
	}
	return dst
}
