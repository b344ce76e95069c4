package previs

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/plan/frame"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

// form is how a solid is bounded.
type form uint8

const (
	prism form = iota // upright walls on a ring
	tube              // upright cylinder
	crown             // ellipsoid that fills a cylinder
	hull              // convex body between planes
)

// stuff is what a solid is made of, for its tint.
type stuff uint8

const (
	plaster stuff = iota
	stone
	leaf
	bark
	steel
	painted // a moving subject
	plain   // any other subject
)

// solid is one body with its bounding box.
type solid struct {
	form      form
	stuff     stuff
	low, high geo.Vec3
	ring      geo.Ring // of a prism
	planes    []plane  // of a hull
	facing    geo.Vec2 // of a subject: where its front looks
}

// plane bounds the half-space n·p ≤ d.
type plane struct {
	n geo.Vec3
	d float64
}

// thread is a hanging wire, drawn as a line.
type thread struct {
	a, b geo.Vec3
	sag  float64
}

// solidsOf shapes an obstacle. A tree keeps within its cylinder: a crown over a trunk. Wires are threads.
func solidsOf(o move.Obstacle) []solid {
	switch shape := o.Shape.(type) {
	case move.Prism:
		switch o.Kind {
		case shoot.Building:
			return []solid{roofed(upright(shape, plaster))}
		case shoot.Bridge:
			return []solid{upright(shape, stone)}
		case shoot.Tree:
			return []solid{upright(shape, leaf)}
		}
		return []solid{upright(shape, plain)}
	case move.Cylinder:
		if o.Kind != shoot.Tree {
			return []solid{cylinder(tube, steel, shape.Base, shape.RadiusM, shape.HeightM)}
		}
		clear := 0.14 * shape.HeightM
		return []solid{
			cylinder(tube, bark, shape.Base, math.Max(0.12, 0.06*shape.RadiusM), 0.4*shape.HeightM),
			cylinder(crown, leaf, shape.Base.Add(geo.Vec3{Z: clear}), shape.RadiusM, shape.HeightM-clear),
		}
	}
	return nil
}

func upright(p move.Prism, made stuff) solid {
	b := p.Ring.Bounds()
	return solid{form: prism, stuff: made, ring: p.Ring,
		low: geo.Vec3{X: b.MinX, Y: b.MinY, Z: p.BottomM}, high: geo.Vec3{X: b.MaxX, Y: b.MaxY, Z: p.TopM}}
}

// Roofs of four-walled buildings: how steep, and how much of the height they take at most (a
// draughtsman's choice; the building keeps within its upright envelope and reaches its top).
const (
	roofTan   = 0.85
	roofShare = 0.42
)

// roofed gives a building on four right-angled walls a roof within its envelope: a ridge along
// the longer walls, a point over a square tower. Other buildings stay as they are.
func roofed(s solid) solid {
	if len(s.ring) != 4 {
		return s
	}
	ring := s.ring
	if ring.Area() < 0 {
		ring = geo.Ring{ring[3], ring[2], ring[1], ring[0]}
	}
	u, v := ring[1].Sub(ring[0]), ring[2].Sub(ring[1])
	if math.Abs(u.Dot(v)) > 0.1*u.Norm()*v.Norm() {
		return s
	}
	if u.Norm() < v.Norm() { // u along the ridge
		ring = geo.Ring{ring[1], ring[2], ring[3], ring[0]}
		u, v = v, u
	}
	height := s.high.Z - s.low.Z
	middle := ring[0].Add(ring[2]).Scale(0.5)
	out := s
	out.form, out.planes = hull, []plane{{geo.Vec3{Z: -1}, -s.low.Z}}
	hip := u.Norm() < 1.3*v.Norm() && height > 1.8*u.Norm()
	steep := roofTan
	if hip {
		steep = 1.5
	}
	rise := math.Min(steep*v.Norm()/2, roofShare*height)
	for i, a := range ring {
		b := ring[(i+1)%4]
		e := b.Sub(a)
		n := geo.Vec2{X: e.Y / e.Norm(), Y: -e.X / e.Norm()}
		out.planes = append(out.planes, plane{n.At(0), n.Dot(a)})
		if hip || i%2 == 0 { // the pitch over this wall meets the top above the middle
			run := n.Dot(a.Sub(middle))
			m := geo.Vec3{X: n.X * rise, Y: n.Y * rise, Z: run}.Unit()
			out.planes = append(out.planes, plane{m, m.Dot(middle.At(s.high.Z))})
		}
	}
	return out
}

func cylinder(f form, made stuff, base geo.Vec3, radius, height float64) solid {
	return solid{form: f, stuff: made, low: base.Add(geo.Vec3{X: -radius, Y: -radius}), high: base.Add(geo.Vec3{X: radius, Y: radius, Z: height})}
}

// asBox is a subject as a solid.
func asBox(b frame.Box) solid {
	s := upright(move.NewBox(b.Foot, b.WidthM, b.DepthM, b.HeightM, float64(b.Facing)), plain)
	sin, cos := math.Sincos(float64(b.Facing))
	s.facing = geo.Vec2{X: sin, Y: cos}
	return s
}

// meet returns where a ray first enters the solid between two parameters, the outward normal there and a number of
// the face.
func (s *solid) meet(o, d geo.Vec3, from, to float64) (t float64, n geo.Vec3, face int, ok bool) {
	switch s.form {
	case prism:
		return s.meetPrism(o, d, from, to)
	case tube:
		return s.meetTube(o, d, from, to)
	case hull:
		return s.meetHull(o, d, from, to)
	}
	return s.meetCrown(o, d, from, to)
}

func (s *solid) meetPrism(o, d geo.Vec3, from, to float64) (t float64, n geo.Vec3, face int, ok bool) {
	t = to
	if !s.near(o, d, from, to) {
		return t, n, 0, false
	}
	for i, a := range s.ring {
		b := s.ring[(i+1)%len(s.ring)]
		ex, ey := b.X-a.X, b.Y-a.Y
		across := d.X*ey - d.Y*ex
		if across == 0 {
			continue
		}
		ax, ay := a.X-o.X, a.Y-o.Y
		k := (ax*ey - ay*ex) / across
		if !(k >= from && k < t) {
			continue
		}
		if along := (ax*d.Y - ay*d.X) / across; along < 0 || along > 1 {
			continue
		}
		if z := o.Z + k*d.Z; z < s.low.Z || z > s.high.Z {
			continue
		}
		m := math.Copysign(1/math.Hypot(ex, ey), -across)
		t, n, face, ok = k, geo.Vec3{X: ey * m, Y: -ex * m}, 2+i, true
	}
	cap := func(z float64, up float64, f int) {
		k := (z - o.Z) / d.Z
		if k >= from && k < t && s.ring.Contains(geo.Vec2{X: o.X + k*d.X, Y: o.Y + k*d.Y}) {
			t, n, face, ok = k, geo.Vec3{Z: up}, f, true
		}
	}
	if d.Z < 0 && o.Z > s.high.Z {
		cap(s.high.Z, 1, 0)
	} else if d.Z > 0 && o.Z < s.low.Z {
		cap(s.low.Z, -1, 1)
	}
	return t, n, face, ok
}

// near reports whether a ray passes through the bounding box.
func (s *solid) near(o, d geo.Vec3, from, to float64) bool {
	slab := func(o, d, low, high float64) {
		if d == 0 {
			if o < low || o > high {
				to = math.Inf(-1)
			}
			return
		}
		a, b := (low-o)/d, (high-o)/d
		from, to = max(from, min(a, b)), min(to, max(a, b))
	}
	slab(o.X, d.X, s.low.X, s.high.X)
	slab(o.Y, d.Y, s.low.Y, s.high.Y)
	slab(o.Z, d.Z, s.low.Z, s.high.Z)
	return from <= to
}

func (s *solid) meetTube(o, d geo.Vec3, from, to float64) (t float64, n geo.Vec3, face int, ok bool) {
	r := (s.high.X - s.low.X) / 2
	cx, cy := o.X-(s.low.X+r), o.Y-(s.low.Y+r)
	t = to
	a, b, c := d.X*d.X+d.Y*d.Y, cx*d.X+cy*d.Y, cx*cx+cy*cy-r*r
	if disc := b*b - a*c; a > 0 && disc >= 0 {
		k := (-b - math.Sqrt(disc)) / a
		if z := o.Z + k*d.Z; k >= from && k < t && z >= s.low.Z && z <= s.high.Z {
			t, n, face, ok = k, geo.Vec3{X: (cx + k*d.X) / r, Y: (cy + k*d.Y) / r}, 2, true
		}
	}
	if d.Z < 0 && o.Z > s.high.Z {
		k := (s.high.Z - o.Z) / d.Z
		if x, y := cx+k*d.X, cy+k*d.Y; k >= from && k < t && x*x+y*y <= r*r {
			t, n, face, ok = k, geo.Vec3{Z: 1}, 0, true
		}
	}
	return t, n, face, ok
}

func (s *solid) meetHull(o, d geo.Vec3, from, to float64) (t float64, n geo.Vec3, face int, ok bool) {
	t = math.Inf(-1)
	last := to
	for i := range s.planes {
		p := &s.planes[i]
		gap, speed := p.d-p.n.Dot(o), p.n.Dot(d)
		switch {
		case speed < 0:
			if k := gap / speed; k > t {
				t, n, face = k, p.n, i
			}
		case speed > 0:
			last = min(last, gap/speed)
		case gap < 0:
			return to, n, 0, false
		}
	}
	return t, n, face, t >= from && t < last
}

func (s *solid) meetCrown(o, d geo.Vec3, from, to float64) (t float64, n geo.Vec3, face int, ok bool) {
	r, h := (s.high.X-s.low.X)/2, (s.high.Z-s.low.Z)/2
	p := geo.Vec3{X: (o.X - s.low.X - r) / r, Y: (o.Y - s.low.Y - r) / r, Z: (o.Z - s.low.Z - h) / h}
	q := geo.Vec3{X: d.X / r, Y: d.Y / r, Z: d.Z / h}
	a, b, c := q.Dot(q), p.Dot(q), p.Dot(p)-1
	disc := b*b - a*c
	if disc < 0 {
		return to, n, 0, false
	}
	k := (-b - math.Sqrt(disc)) / a
	if !(k >= from && k < to) {
		return to, n, 0, false
	}
	m := p.Add(q.Scale(k))
	return k, geo.Vec3{X: m.X / r, Y: m.Y / r, Z: m.Z / h}.Unit(), 2, true
}

// casters finds the solids whose shadow may fall on a place.
type casters struct {
	solids       []solid
	sun          geo.Vec3
	x0, y0, cell float64
	nx, ny       int
	at           [][]int32
}

const casterCellM = 24.0

// newCasters sweeps each solid's bounding circle down the light over a plan grid.
func newCasters(f *field, solids []solid, sun geo.Vec3) *casters {
	c := &casters{solids: solids, sun: sun, x0: f.x0, y0: f.y0, cell: casterCellM}
	if len(solids) == 0 || sun.Z <= 1e-3 {
		return nil
	}
	w, h := float64(f.nx-1)*f.cell, float64(f.ny-1)*f.cell
	for w*h/(c.cell*c.cell) > 1e6 {
		c.cell *= 2
	}
	c.nx, c.ny = int(w/c.cell)+1, int(h/c.cell)+1
	c.at = make([][]int32, c.nx*c.ny)
	stepX, stepY := -sun.X/sun.Z, -sun.Y/sun.Z // of the shadow per metre of fall
	for k := range solids {
		s := &solids[k]
		r := math.Hypot(s.high.X-s.low.X, s.high.Y-s.low.Y)/2 + c.cell*math.Sqrt2/2
		mx, my := (s.low.X+s.high.X)/2, (s.low.Y+s.high.Y)/2
		fall := s.high.Z - f.low
		long := min(math.Hypot(stepX, stepY)*fall, w+h)
		n := int(math.Ceil(long/(c.cell/2))) + 1
		for i := range n + 1 {
			q := float64(i) / float64(n) * long / max(1e-9, math.Hypot(stepX, stepY))
			x, y := mx+stepX*q, my+stepY*q
			if !c.stamp(x, y, r, int32(k)) && i > 0 {
				break
			}
		}
	}
	return c
}

// stamp notes a solid in the cells around a place; inside is false off the grid.
func (c *casters) stamp(x, y, r float64, k int32) (inside bool) {
	i0, i1 := max(0, int((x-r-c.x0)/c.cell)), min(c.nx-1, int((x+r-c.x0)/c.cell))
	j0, j1 := max(0, int((y-r-c.y0)/c.cell)), min(c.ny-1, int((y+r-c.y0)/c.cell))
	for j := j0; j <= j1; j++ {
		for i := i0; i <= i1; i++ {
			list := &c.at[j*c.nx+i]
			if n := len(*list); n == 0 || (*list)[n-1] != k {
				*list = append(*list, k)
			}
			inside = true
		}
	}
	return inside
}

// block reports whether a solid stands between a place and the sun.
func (c *casters) block(p geo.Vec3) bool {
	if c == nil {
		return false
	}
	i, j := int((p.X-c.x0)/c.cell), int((p.Y-c.y0)/c.cell)
	if p.X < c.x0 || p.Y < c.y0 || i >= c.nx || j >= c.ny {
		return false
	}
	for _, k := range c.at[j*c.nx+i] {
		s := &c.solids[k]
		if p.Z < s.high.Z && s.near(p, c.sun, 0.05, 1e5) {
			if _, _, _, ok := s.meet(p, c.sun, 0.05, 1e5); ok {
				return true
			}
		}
	}
	return false
}
