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

// SegmentSegment returns the smallest distance between the segments a-b and c-d in
// space, and the fractions s along a-b and t along c-d where it is met. For parallel segments one
// of the equally near pairs is given.
func SegmentSegment(a, b, c, d Vec3) (distM, s, t float64) {
	// C. Ericson, "Real-Time Collision Detection" (2005), section 5.1.9, then the
	// four ends are tried as well, which settles nearly parallel segments.
	u, v, w := b.Sub(a), d.Sub(c), a.Sub(c)
	uu, vv, uv := u.Dot(u), v.Dot(v), u.Dot(v)
	distM = math.Inf(1)
	if det := uu*vv - uv*uv; det > 1e-14*uu*vv {
		s = fraction(uv*v.Dot(w)-u.Dot(w)*vv, det)
		t = fraction(v.Dot(w)+uv*s, vv)
		s = fraction(uv*t-u.Dot(w), uu)
		distM = w.Add(u.Scale(s)).Sub(v.Scale(t)).Norm()
	}
	if dist, f := PointSegment(a, c, d); dist < distM {
		distM, s, t = dist, 0, f
	}
	if dist, f := PointSegment(b, c, d); dist < distM {
		distM, s, t = dist, 1, f
	}
	if dist, f := PointSegment(c, a, b); dist < distM {
		distM, s, t = dist, f, 0
	}
	if dist, f := PointSegment(d, a, b); dist < distM {
		distM, s, t = dist, f, 1
	}
	return distM, s, t
}

// SegmentSegment2 is SegmentSegment in the plane; crossing segments have distance zero.
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

// ClosestApproach returns when, within the next withinS seconds, two points that
// move at steady velocities are nearest, and how near.
func ClosestApproach(pos1, vel1, pos2, vel2 Vec3, withinS float64) (timeS, distM float64) {
	r, v := pos2.Sub(pos1), vel2.Sub(vel1)
	if vv := v.Dot(v); vv > 0 {
		timeS = math.Max(0, math.Min(withinS, -r.Dot(v)/vv))
	}
	return timeS, r.Add(v.Scale(timeS)).Norm()
}
