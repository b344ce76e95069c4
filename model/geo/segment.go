package geo

import "math"

// PointSegment returns the distance from p to the segment a-b in space and the
// fraction t, 0 at a and 1 at b, of the nearest point.
func PointSegment(p, a, b Vec3) (distM, t float64) {
	d := b.Sub(a)
	t = fraction(p.Sub(a).Dot(d), d.Dot(d))
	return p.Sub(a.Add(d.Scale(t))).Norm(), t
}

// PointSegment2 is PointSegment in the plane.
func PointSegment2(p, a, b Vec2) (distM, t float64) {
	d := b.Sub(a)
	t = fraction(p.Sub(a).Dot(d), d.Dot(d))
	return p.Sub(a.Add(d.Scale(t))).Norm(), t
}

// fraction returns num/den held within 0 and 1, and 0 for a segment without length.
func fraction(num, den float64) float64 {
	if den <= 0 || num <= 0 {
		return 0
	}
	return math.Min(1, num/den)
}

// SegmentSegment2 returns the smallest distance between the segments a-b and c-d in the
// plane, zero where they cross, and the fractions s along a-b and t along c-d where it is
// met. Of pairs that are equally near one is given.
func SegmentSegment2(a, b, c, d Vec2) (distM, s, t float64) {
	if s, t, ok := SegmentsCross(a, b, c, d); ok {
		return 0, s, t
	}
	distM, t = PointSegment2(a, c, d)
	s = 0
	if dist, f := PointSegment2(b, c, d); dist < distM {
		distM, s, t = dist, 1, f
	}
	if dist, f := PointSegment2(c, a, b); dist < distM {
		distM, s, t = dist, f, 0
	}
	if dist, f := PointSegment2(d, a, b); dist < distM {
		distM, s, t = dist, f, 1
	}
	return distM, s, t
}

// SegmentsCross reports whether the segments a-b and c-d share a point and the
// fractions along each where they do. Touching counts. Of an overlap of parallel
// segments the point first met from a is given.
func SegmentsCross(a, b, c, d Vec2) (s, t float64, ok bool) {
	u, v, w := b.Sub(a), d.Sub(c), c.Sub(a)
	det := u.Cross(v)
	if det == 0 {
		return parallelCross(a, b, c, d)
	}
	s, t = w.Cross(v)/det, w.Cross(u)/det
	return s, t, s >= 0 && s <= 1 && t >= 0 && t <= 1
}

func parallelCross(a, b, c, d Vec2) (s, t float64, ok bool) {
	if onSegment(a, c, d) {
		_, t = PointSegment2(a, c, d)
		return 0, t, true
	}
	sc, sd := math.Inf(1), math.Inf(1)
	if onSegment(c, a, b) {
		_, sc = PointSegment2(c, a, b)
	}
	if onSegment(d, a, b) {
		_, sd = PointSegment2(d, a, b)
	}
	if sc <= sd && !math.IsInf(sc, 1) {
		return sc, 0, true
	}
	if !math.IsInf(sd, 1) {
		return sd, 1, true
	}
	return 0, 0, false
}

// onSegment reports whether p lies exactly on a-b.
func onSegment(p, a, b Vec2) bool {
	return b.Sub(a).Cross(p.Sub(a)) == 0 &&
		p.X >= math.Min(a.X, b.X) && p.X <= math.Max(a.X, b.X) &&
		p.Y >= math.Min(a.Y, b.Y) && p.Y <= math.Max(a.Y, b.Y)
}
