package move

import (
	"math"

	"fieldfare/model/geo"
)

// Obstacle is a thing in the air's way.
type Obstacle struct {
	Name  string
	Kind  string // "building", "tree", "mast", "wire", "bridge", ...
	Shape Shape
}

// Shape is a solid.
type Shape interface {
	// Distance returns the distance in metres from the point to the solid, negative
	// inside, and the unit vector in which it grows fastest.
	Distance(p geo.Vec3) (distM float64, away geo.Vec3)
	// Bounds returns a ball around the solid.
	Bounds() (centre geo.Vec3, radiusM float64)
	// Opaque tells whether the solid hides what is behind it.
	Opaque() bool
}

// Cylinder is an upright cylinder: a tree, a mast, a chimney.
type Cylinder struct {
	Base    geo.Vec3 // middle of the underside
	RadiusM float64
	HeightM float64
}

// Distance implements Shape.
func (c Cylinder) Distance(p geo.Vec3) (float64, geo.Vec3) {
	dx, dy := p.X-c.Base.X, p.Y-c.Base.Y
	r := math.Hypot(dx, dy)
	out := geo.Vec3{X: 1}
	if r > 1e-9 {
		out = geo.Vec3{X: dx / r, Y: dy / r}
	}
	return extrude(r-c.RadiusM, out, p.Z, c.Base.Z, c.Base.Z+c.HeightM)
}

// Bounds implements Shape.
func (c Cylinder) Bounds() (geo.Vec3, float64) {
	return c.Base.Add(geo.Vec3{Z: c.HeightM / 2}), math.Hypot(c.RadiusM, c.HeightM/2)
}

// Opaque implements Shape.
func (Cylinder) Opaque() bool { return true }

// Prism is a solid with upright walls on a simple ring, level below and above: a building,
// a bridge deck, a wood.
type Prism struct {
	Ring    geo.Ring
	BottomM float64 // above sea
	TopM    float64
}

// NewBox returns the prism of a rectangle of the given width (across) and depth (along the
// facing).
func NewBox(foot geo.Vec3, widthM, depthM, heightM, facingRad float64) Prism {
	s, c := math.Sincos(facingRad)
	ring := make(geo.Ring, 4)
	for i, k := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		a, b := k[0]*widthM/2, k[1]*depthM/2
		ring[i] = geo.Vec2{X: foot.X + a*c + b*s, Y: foot.Y - a*s + b*c}
	}
	return Prism{ring, foot.Z, foot.Z + heightM}
}

// Distance implements Shape.
func (q Prism) Distance(p geo.Vec3) (float64, geo.Vec3) {
	at := p.XY()
	best, inside := math.Inf(1), false
	var near geo.Vec2
	for i, a := range q.Ring {
		b := q.Ring[(i+1)%len(q.Ring)]
		// One pass for the nearest edge and for the ray that tells inside from outside.
		d := b.Sub(a)
		t := 0.0
		if dd := d.Dot(d); dd > 0 {
			t = max(0, min(1, at.Sub(a).Dot(d)/dd))
		}
		foot := geo.Vec2{X: a.X + t*d.X, Y: a.Y + t*d.Y}
		ex, ey := at.X-foot.X, at.Y-foot.Y
		if e := ex*ex + ey*ey; e < best {
			best, near = e, foot
		}
		if (a.Y > at.Y) != (b.Y > at.Y) && at.X < a.X+(at.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			inside = !inside
		}
	}
	side := math.Sqrt(best)
	out := geo.Vec3{X: 1}
	if side > 1e-9 {
		out = geo.Vec3{X: (at.X - near.X) / side, Y: (at.Y - near.Y) / side}
	}
	if inside {
		side, out = -side, out.Scale(-1)
	}
	return extrude(side, out, p.Z, q.BottomM, q.TopM)
}

// Bounds implements Shape.
func (q Prism) Bounds() (geo.Vec3, float64) {
	b := q.Ring.Bounds()
	c := geo.Vec3{X: (b.MinX + b.MaxX) / 2, Y: (b.MinY + b.MaxY) / 2, Z: (q.BottomM + q.TopM) / 2}
	return c, geo.Vec3{X: b.MaxX - c.X, Y: b.MaxY - c.Y, Z: q.TopM - c.Z}.Norm()
}

// Opaque implements Shape.
func (Prism) Opaque() bool { return true }

// extrude joins a distance in plan and its direction with a range of heights.
func extrude(side float64, out geo.Vec3, z, bottom, top float64) (float64, geo.Vec3) {
	rise, up := z-top, geo.Vec3{Z: 1}
	if bottom-z > rise {
		rise, up = bottom-z, geo.Vec3{Z: -1}
	}
	switch {
	case side > 0 && rise > 0:
		d := math.Hypot(side, rise)
		return d, out.Scale(side / d).Add(up.Scale(rise / d))
	case side >= rise:
		return side, out
	default:
		return rise, up
	}
}

// Wire is one span of a line between two supports. The wire may hang anywhere between the
// straight chord and SagM below it: the solid is that whole curtain, as thick as RadiusM.
type Wire struct {
	A, B    geo.Vec3
	SagM    float64
	RadiusM float64
}

// Distance implements Shape.
func (w Wire) Distance(p geo.Vec3) (float64, geo.Vec3) {
	u := w.B.Sub(w.A)
	best := math.Inf(1)
	var near geo.Vec3
	try := func(q geo.Vec3) {
		if d := p.Sub(q).Norm(); d < best {
			best, near = d, q
		}
	}
	// Within the curtain's plane: straight across where the foot falls between chord and sag.
	if h := u.Horizontal(); h > 1e-9 {
		t := ((p.X-w.A.X)*u.X + (p.Y-w.A.Y)*u.Y) / (h * h)
		if t >= 0 && t <= 1 {
			q := w.A.Lerp(w.B, t)
			q.Z = max(q.Z-w.SagM, min(q.Z, p.Z))
			try(q)
		}
	}
	drop := geo.Vec3{Z: w.SagM}
	try(nearestOn(p, w.A, w.B))
	try(nearestOn(p, w.A.Sub(drop), w.B.Sub(drop)))
	try(nearestOn(p, w.A, w.A.Sub(drop)))
	try(nearestOn(p, w.B, w.B.Sub(drop)))
	if best < 1e-9 {
		return -w.RadiusM, geo.Vec3{Z: 1}
	}
	return best - w.RadiusM, p.Sub(near).Scale(1 / best)
}

func nearestOn(p, a, b geo.Vec3) geo.Vec3 {
	d := b.Sub(a)
	if dd := d.Dot(d); dd > 0 {
		return a.Add(d.Scale(max(0, min(1, p.Sub(a).Dot(d)/dd))))
	}
	return a
}

// Bounds implements Shape.
func (w Wire) Bounds() (geo.Vec3, float64) {
	c := w.A.Lerp(w.B, 0.5)
	c.Z -= w.SagM / 2
	return c, w.B.Sub(w.A).Norm()/2 + w.SagM/2 + w.RadiusM
}

// Opaque implements Shape.
func (Wire) Opaque() bool { return false }

// hazards holds the obstacles with what is asked of each, and the ground.
type hazards struct {
	all    []hazard
	ground Terrain
	// ball is the clearance from the ground in metres, with the offsets at which it is tried.
	ball float64
}

type hazard struct {
	name, kind string
	shape      Shape
	opaque     bool
	centre     geo.Vec3
	radius     float64
	asked      float64 // clearance asked
	need       float64 // clearance aimed at, a little more
}

// groundRing is where the ball of clearance touches a slope: the middle and eight points
// at 0.7 of its radius.
var groundRing = func() (r [9][3]float64) {
	r[0] = [3]float64{0, 0, 1}
	for i := range 8 {
		s, c := math.Sincos(float64(i) * math.Pi / 4)
		r[i+1] = [3]float64{0.7 * s, 0.7 * c, math.Sqrt(1 - 0.49)}
	}
	return r
}()

// heightOver is overGround without the direction.
func (h *hazards) heightOver(p geo.Vec3) (over float64, ok bool) {
	worst := math.Inf(-1)
	for _, k := range groundRing {
		z, have := h.ground.HeightAt(p.X+k[0]*h.ball, p.Y+k[1]*h.ball)
		if have && z+k[2]*h.ball > worst {
			worst, ok = z+k[2]*h.ball, true
		}
	}
	if !ok {
		return 0, false
	}
	return p.Z - worst, true
}

// overGround returns how far a point is above the least height that keeps a ball of the
// asked radius off the ground, and the direction in which that grows. ok is false where the
// terrain has no data.
func (h *hazards) overGround(p geo.Vec3) (over float64, grad geo.Vec3, ok bool) {
	worst := math.Inf(-1)
	var at [3]float64
	for _, k := range groundRing {
		z, have := h.ground.HeightAt(p.X+k[0]*h.ball, p.Y+k[1]*h.ball)
		if have && z+k[2]*h.ball > worst {
			worst, at, ok = z+k[2]*h.ball, k, true
		}
	}
	if !ok {
		return 0, geo.Vec3{}, false
	}
	const step = 1.0
	x, y := p.X+at[0]*h.ball, p.Y+at[1]*h.ball
	slope := func(dx, dy float64) float64 {
		a, okA := h.ground.HeightAt(x+dx, y+dy)
		b, okB := h.ground.HeightAt(x-dx, y-dy)
		if !okA || !okB {
			return 0
		}
		return (a - b) / (2 * step)
	}
	return p.Z - worst, geo.Vec3{X: -slope(step, 0), Y: -slope(0, step), Z: 1}, true
}
