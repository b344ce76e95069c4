package airspace

import (
	"fmt"
	"math"
	"slices"

	"fieldfare/model/geo"
)

// Point is a point of a path in the site frame.
type Point struct {
	TimeS float64
	Pos   geo.Vec3
}

// Reach is how far from the path the aircraft may come to be: a contingency volume, or
// that and a ground risk buffer. The zero value is the path itself.
type Reach struct {
	HorizontalM float64
	UpM, DownM  float64
}

// Crossing is a stretch of a path that lies in a zone, or within reach of it.
type Crossing struct {
	FromS, ToS float64
	From, To   geo.Vec3 // on the path
	// Possible marks a stretch that crosses only if an unknown height says so: it lies over
	// or under the area, and the ground or the altimeter setting is not known.
	Possible bool
}

// Crossings returns the stretches of the path within reach of the zone, in order of time.
// Path times must not fall. A path of one point is a hover.
func (z *Zone) Crossings(path []Point, reach Reach, setting Setting) ([]Crossing, error) {
	if setting.StepM == 0 {
		setting.StepM = 10
	}
	if !(setting.StepM >= 0.1) {
		return nil, fmt.Errorf("sampling step of %g m; expected 0.1 m or more", setting.StepM)
	}
	for _, v := range []float64{reach.HorizontalM, reach.UpM, reach.DownM} {
		if !(v >= 0 && v < 1e6) {
			return nil, fmt.Errorf("reach of %g m; expected 0 or more", v)
		}
	}
	for i, p := range path {
		if s := p.Pos.X + p.Pos.Y + p.Pos.Z + p.TimeS; math.IsNaN(s) || math.IsInf(s, 0) {
			return nil, fmt.Errorf("point %d of the path is not finite", i+1)
		}
		if i > 0 && p.TimeS < path[i-1].TimeS {
			return nil, fmt.Errorf("point %d of the path at %g s comes before the point ahead of it at %g s", i+1, p.TimeS, path[i-1].TimeS)
		}
	}
	c := finder{zone: z, reach: reach, setting: &setting}
	if len(path) == 1 {
		c.leg(path[0], path[0])
	}
	for i := 1; i < len(path); i++ {
		c.leg(path[i-1], path[i])
	}
	return c.found, nil
}

type finder struct {
	zone    *Zone
	reach   Reach
	setting *Setting
	found   []Crossing
	within  []geo.Interval // scratch
	cuts    []float64
}

// leg adds the crossings of one straight leg, cut to where the ground is sampled.
func (c *finder) leg(a, b Point) {
	box := geo.Bounds{MinX: min(a.Pos.X, b.Pos.X), MinY: min(a.Pos.Y, b.Pos.Y), MaxX: max(a.Pos.X, b.Pos.X), MaxY: max(a.Pos.Y, b.Pos.Y)}
	if !box.Grow(c.reach.HorizontalM).Overlaps(c.zone.bounds) {
		return
	}
	n := 1
	if c.zone.Floor.Reference == AboveGround || c.zone.Ceil.Reference == AboveGround && !c.zone.Ceil.Unlimited {
		n = int(math.Ceil(b.Pos.Sub(a.Pos).Horizontal() / c.setting.StepM))
		n = max(1, min(n, 1e6))
	}
	for i := range n {
		c.piece(a, b, float64(i)/float64(n), float64(i+1)/float64(n))
	}
}

// piece adds the crossings of the part of a leg between fractions s0 and s1, along which
// floor and ceiling are taken as straight.
func (c *finder) piece(a, b Point, s0, s1 float64) {
	p, q := a.Pos.Lerp(b.Pos, s0), a.Pos.Lerp(b.Pos, s1)
	low, high, possible := 0.0, 1.0, false
	// Above the floor: p.Z + up − floor ≥ 0; below the ceiling: ceiling − p.Z + down ≥ 0.
	f0, ok0 := c.zone.Floor.height(p.XY(), c.setting)
	f1, ok1 := c.zone.Floor.height(q.XY(), c.setting)
	if ok0 && ok1 {
		low, high = keep(low, high, p.Z+c.reach.UpM-f0, q.Z+c.reach.UpM-f1)
	} else {
		possible = true
	}
	c0, ok0 := c.zone.Ceil.height(p.XY(), c.setting)
	c1, ok1 := c.zone.Ceil.height(q.XY(), c.setting)
	if ok0 && ok1 {
		low, high = keep(low, high, c0-p.Z+c.reach.DownM, c1-q.Z+c.reach.DownM)
	} else {
		possible = true
	}
	if low > high {
		return
	}
	from, to := p.Lerp(q, low), p.Lerp(q, high)
	c.within = c.zone.within(from.XY(), to.XY(), c.reach.HorizontalM, c.within[:0], &c.cuts)
	for _, w := range c.within {
		t0 := s0 + (s1-s0)*(low+(high-low)*w.From)
		t1 := s0 + (s1-s0)*(low+(high-low)*w.To)
		c.add(Crossing{
			FromS: a.TimeS + (b.TimeS-a.TimeS)*t0, ToS: a.TimeS + (b.TimeS-a.TimeS)*t1,
			From: a.Pos.Lerp(b.Pos, t0), To: a.Pos.Lerp(b.Pos, t1), Possible: possible,
		})
	}
}

// add joins a crossing to the one before it when they touch.
func (c *finder) add(x Crossing) {
	if n := len(c.found); n > 0 {
		last := &c.found[n-1]
		if last.Possible == x.Possible && x.FromS-last.ToS <= 1e-9 && x.From.Sub(last.To).Norm() < 1e-6 {
			last.ToS, last.To = x.ToS, x.To
			return
		}
	}
	c.found = append(c.found, x)
}

// keep narrows [low, high] to where a value that goes straight from v0 at 0 to v1 at 1 is
// not negative; low > high when it is nowhere.
func keep(low, high, v0, v1 float64) (float64, float64) {
	switch {
	case v0 < 0 && v1 < 0:
		return 1, 0
	case v0 < 0:
		low = max(low, v0/(v0-v1))
	case v1 < 0:
		high = min(high, v0/(v0-v1))
	}
	return low, high
}

// within appends the stretches of a-b that come within r of the polygon.
func (z *Zone) within(a, b geo.Vec2, r float64, dst []geo.Interval, cuts *[]float64) []geo.Interval {
	if cap(*cuts) < 16 {
		*cuts = make([]float64, 0, 64)
	}
	dst = z.Polygon.Inside(a, b, dst, *cuts)
	if r == 0 {
		return dst
	}
	box := geo.Bounds{MinX: min(a.X, b.X) - r, MinY: min(a.Y, b.Y) - r, MaxX: max(a.X, b.X) + r, MaxY: max(a.Y, b.Y) + r}
	for h := -1; h < len(z.Polygon.Holes); h++ {
		ring := z.Polygon.Outer
		if h >= 0 {
			ring = z.Polygon.Holes[h]
		}
		c := ring[len(ring)-1]
		for _, d := range ring {
			if min(c.X, d.X) <= box.MaxX && max(c.X, d.X) >= box.MinX && min(c.Y, d.Y) <= box.MaxY && max(c.Y, d.Y) >= box.MinY {
				if w, ok := nearEdge(a, b, c, d, r); ok {
					dst = append(dst, w)
				}
			}
			c = d
		}
	}
	slices.SortFunc(dst, func(x, y geo.Interval) int {
		switch {
		case x.From < y.From:
			return -1
		case x.From > y.From:
			return 1
		}
		return 0
	})
	joined := dst[:0]
	for _, w := range dst {
		if n := len(joined); n > 0 && w.From <= joined[n-1].To {
			joined[n-1].To = max(joined[n-1].To, w.To)
			continue
		}
		joined = append(joined, w)
	}
	return joined
}

// nearEdge returns the stretch of a-b within r of the edge c-d. That region is convex (a
// disc drawn along the edge), so the stretch is one: the hull of what the two end discs
// and the rectangle between them cut out.
func nearEdge(a, b, c, d geo.Vec2, r float64) (geo.Interval, bool) {
	w := geo.Interval{From: math.Inf(1), To: math.Inf(-1)}
	hull := func(from, to float64) {
		from, to = max(from, 0), min(to, 1)
		if from <= to {
			w.From, w.To = min(w.From, from), max(w.To, to)
		}
	}
	way := b.Sub(a)
	for _, centre := range [2]geo.Vec2{c, d} {
		m := a.Sub(centre)
		qa, qb, qc := way.Dot(way), m.Dot(way), m.Dot(m)-r*r
		if qa == 0 {
			if qc <= 0 {
				hull(0, 1)
			}
			continue
		}
		if disc := qb*qb - qa*qc; disc >= 0 {
			root := math.Sqrt(disc)
			hull((-qb-root)/qa, (-qb+root)/qa)
		}
	}
	edge := d.Sub(c)
	if length := edge.Norm(); length > 0 {
		along := edge.Scale(1 / length)
		across := geo.Vec2{X: -along.Y, Y: along.X}
		u0, u1 := a.Sub(c).Dot(along), b.Sub(c).Dot(along)
		v0, v1 := a.Sub(c).Dot(across), b.Sub(c).Dot(across)
		low, high := keep(0, 1, u0, u1)
		low, high = keep(low, high, length-u0, length-u1)
		low, high = keep(low, high, r-v0, r-v1)
		low, high = keep(low, high, r+v0, r+v1)
		hull(low, high)
	}
	return w, w.From <= w.To
}

// Prism is an upright volume over a polygon in the site frame, its floor and ceiling above
// sea level: a flight geography or a contingency volume.
type Prism struct {
	Polygon          geo.Polygon
	FloorM, CeilingM float64
	HorizontalM      float64 // grown by this on every side
}

// Meeting says how a volume and a zone lie.
type Meeting int

// The meetings; MeetingPossible hangs on an unknown height.
const (
	Apart Meeting = iota
	MeetingPossible
	Meet
)

func (m Meeting) String() string { return [...]string{"apart", "possible", "meet"}[m] }

// Meets says whether the volume and the zone share a point. Levels above ground are taken
// over the extremes of the ground below the volume, sampled every StepM, so the answer
// errs toward meeting.
func (z *Zone) Meets(v Prism, setting Setting) (Meeting, error) {
	if err := v.Polygon.Validate(); err != nil {
		return Apart, fmt.Errorf("volume: %w", err)
	}
	if !(v.CeilingM > v.FloorM) || !(v.HorizontalM >= 0) {
		return Apart, fmt.Errorf("volume from %g m to %g m, grown by %g m; expected a ceiling above the floor and no negative growth", v.FloorM, v.CeilingM, v.HorizontalM)
	}
	if geo.PolygonDistance(z.Polygon, v.Polygon) > v.HorizontalM {
		return Apart, nil
	}
	if setting.StepM == 0 {
		setting.StepM = 10
	}
	meeting := Meet
	floor, _, ok := z.extremes(z.Floor, v, &setting)
	if !ok {
		meeting = MeetingPossible
	} else if floor > v.CeilingM {
		return Apart, nil
	}
	_, ceiling, ok := z.extremes(z.Ceil, v, &setting)
	if !ok {
		meeting = MeetingPossible
	} else if ceiling < v.FloorM {
		return Apart, nil
	}
	return meeting, nil
}

// extremes returns the least and greatest height of a level below the volume.
func (z *Zone) extremes(l Level, v Prism, setting *Setting) (least, greatest float64, ok bool) {
	b := v.Polygon.Bounds().Grow(v.HorizontalM)
	if l.Unlimited || l.Reference != AboveGround {
		h, ok := l.height(geo.Vec2{X: b.MinX, Y: b.MinY}, setting)
		return h, h, ok
	}
	least, greatest = math.Inf(1), math.Inf(-1)
	nx := min(2000, int(math.Ceil((b.MaxX-b.MinX)/setting.StepM)))
	ny := min(2000, int(math.Ceil((b.MaxY-b.MinY)/setting.StepM)))
	for i := range nx + 1 {
		for j := range ny + 1 {
			p := geo.Vec2{X: b.MinX + (b.MaxX-b.MinX)*float64(i)/float64(max(nx, 1)), Y: b.MinY + (b.MaxY-b.MinY)*float64(j)/float64(max(ny, 1))}
			if v.Polygon.Distance(p) > v.HorizontalM+setting.StepM {
				continue
			}
			h, ok := l.height(p, setting)
			if !ok {
				return 0, 0, false
			}
			least, greatest = min(least, h), max(greatest, h)
		}
	}
	return least, greatest, least <= greatest
}
