package terrain

import (
	"math"
	"runtime"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Shadow is the light on each node of a grid.
type Shadow struct {
	NX, NY int
	Nodes  []Light // node (i, j) at j·NX+i, as in the grid
}

// Shadow returns which nodes lie in the terrain's own shadow for a body at an azimuth and apparent altitude, as
// seen from the middle of the grid at sea level; over a curved Earth its altitude changes by 0.54' per kilometre
// toward it. Nodes are settled by LightAt's exact rule wherever the fast sweep along the light leaves doubt.
func (g *Grid) Shadow(azimuth, altitude unit.Angle, refraction float64) *Shadow {
	out := &Shadow{g.NX, g.NY, make([]Light, g.NX*g.NY)}
	if math.IsNaN(float64(azimuth+altitude)) || math.IsInf(float64(azimuth), 0) {
		for i := range out.Nodes {
			out.Nodes[i] = Unknown
		}
		return out
	}
	if altitude < -2*unit.Degree { // below any horizon of a site
		for i := range out.Nodes {
			out.Nodes[i] = Shaded
		}
		return out
	}
	g.prepare()
	w := newShadowSweep(g, azimuth, altitude, refraction, out)
	// Lines are independent, but neighbours share one: each batch computes its first line again.
	const batch = 64
	total := w.last - w.first
	parallel((total+batch-1)/batch, runtime.GOMAXPROCS(0), func(_, k int) {
		w.lines(w.first+k*batch, min(w.first+(k+1)*batch, w.last))
	})
	return out
}

// shadowSweep walks lines parallel to the light, away from the sun, over the grid. Along the major axis a line takes
// whole steps; across, it shifts by a fraction of a cell per step. In a frame flattened by the
// Earth's curvature the rays of a far body are straight and parallel.
type shadowSweep struct {
	g           *Grid
	out         *Shadow
	toSun       geo.Vec2
	tan, bend   float64
	major       int     // index step along the major axis, away from the sun
	minor       int     // index step along the minor axis, rising
	origin      int     // index of the first node on the sunward side
	steps, wide int     // nodes along and across
	shift, drop float64 // across and down per step
	first, last int     // lines first … last: line k starts k cells across
	x0, y0      float64 // middle of the grid in cells
	alongY      bool
}

func newShadowSweep(g *Grid, azimuth, altitude unit.Angle, refraction float64, out *Shadow) *shadowSweep {
	sin, cos := math.Sincos(float64(azimuth))
	w := &shadowSweep{g: g, out: out, toSun: geo.Vec2{X: sin, Y: cos}, tan: math.Tan(float64(altitude)), bend: curvature(refraction),
		x0: float64(g.NX-1) / 2, y0: float64(g.NY-1) / 2}
	along, across := -sin, -cos
	w.major, w.minor, w.steps, w.wide = 1, g.NX, g.NX, g.NY
	if w.alongY = math.Abs(cos) >= math.Abs(sin); w.alongY {
		along, across = -cos, -sin
		w.major, w.minor, w.steps, w.wide = g.NX, 1, g.NY, g.NX
	}
	w.shift = across / math.Abs(along)
	w.drop = g.CellM / math.Abs(along) * w.tan
	if along < 0 {
		w.origin, w.major = (w.steps-1)*w.major, -w.major
	}
	reach := w.shift * float64(w.steps-1)
	w.first = int(math.Floor(math.Min(0, -reach))) - 1
	w.last = int(math.Ceil(float64(w.wide-1)+math.Max(0, -reach))) + 1
	return w
}

// nowhere is the height of the shadow where no ground stands sunward.
const nowhere = -1e9

// trace follows one line: over[r] is how far the shadow lies above the line's own ground at step r
// and top the shadow's height, both in the flattened frame. A slanting line looks at
// the ground half-way between the steps too, where a bilinear cell may bulge.
func (w *shadowSweep) trace(k int, over, top []float64) {
	h := float64(nowhere)
	last := math.NaN() // ground at the step before
	half := math.Abs(w.shift) > 1e-6
	for r := range w.steps {
		q := float64(k) + w.shift*float64(r)
		z, ok := w.ground(r, q)
		if half && ok && last == last {
			h = math.Max(h-w.drop/2, w.middle(r, q-w.shift/2)) - w.drop/2
		} else {
			h -= w.drop
		}
		last = z
		if !ok {
			top[r], over[r] = nowhere, nowhere
			continue
		}
		top[r], over[r] = h, h-z
		if z > h {
			h = z
		}
	}
}

// ground returns the height in the flattened frame at step r and q cells across; ok is false
// outside the grid. It is NaN where a node is missing.
func (w *shadowSweep) ground(r int, q float64) (z float64, ok bool) {
	i := int(math.Floor(q))
	f := q - float64(i)
	if i < 0 || i >= w.wide || i == w.wide-1 && f > 0 {
		return math.NaN(), false
	}
	n := w.origin + r*w.major + i*w.minor
	z = float64(w.g.Z[n])
	if f > 0 {
		z += f * (float64(w.g.Z[n+w.minor]) - z)
	}
	return z - w.fall(float64(r), q), true
}

// middle returns the ground half a step before r and q cells across.
func (w *shadowSweep) middle(r int, q float64) float64 {
	i := int(math.Floor(q))
	if i < 0 || i >= w.wide-1 {
		return nowhere
	}
	n, f := w.origin+r*w.major+i*w.minor, q-float64(i)
	z0 := float64(w.g.Z[n]) + float64(w.g.Z[n-w.major])
	z1 := float64(w.g.Z[n+w.minor]) + float64(w.g.Z[n+w.minor-w.major])
	z := (z0+f*(z1-z0))/2 - w.fall(float64(r)-0.5, q)
	if z != z {
		return nowhere
	}
	return z
}

// fall returns how far the curved Earth lies below the flat one at step r and q cells across.
func (w *shadowSweep) fall(r, q float64) float64 {
	x, y := w.place(r, q)
	return w.bend * (x*x + y*y)
}

// place returns metres from the middle of the grid.
func (w *shadowSweep) place(r, q float64) (x, y float64) {
	s := r
	if w.major < 0 {
		s = float64(w.steps-1) - r
	}
	if w.alongY {
		return (q - w.x0) * w.g.CellM, (s - w.y0) * w.g.CellM
	}
	return (s - w.x0) * w.g.CellM, (q - w.y0) * w.g.CellM
}

// lines settles the nodes between the lines from k0 to k1.
func (w *shadowSweep) lines(k0, k1 int) {
	over, top := make([]float64, w.steps), make([]float64, w.steps)
	nextOver, nextTop := make([]float64, w.steps), make([]float64, w.steps)
	w.trace(k0, over, top)
	sure := w.g.CellM / 50
	for k := k0; k < k1; k++ {
		w.trace(k+1, nextOver, nextTop)
		for r := range w.steps {
			q := float64(k) + w.shift*float64(r)
			i := int(math.Ceil(q))
			if i < 0 || i >= w.wide || float64(i) >= q+1 {
				continue
			}
			n := w.origin + r*w.major + i*w.minor
			z := w.g.Z[n]
			if isNaN(z) {
				w.out.Nodes[n] = Unknown
				continue
			}
			f := float64(i) - q
			shadow := top[r] + f*(nextTop[r]-top[r])
			own := shadow - (float64(z) - w.fall(float64(r), float64(i)))
			switch {
			case w.g.pyramid.void:
			case over[r] > sure && nextOver[r] > sure && own > sure:
				w.out.Nodes[n] = Shaded
				continue
			case over[r] < -sure && nextOver[r] < -sure && own < -sure:
				continue // lit
			}
			w.out.Nodes[n] = w.exact(r, i, float64(z))
		}
		over, nextOver, top, nextTop = nextOver, over, nextTop, top
	}
}

// exact follows the ray from one node.
func (w *shadowSweep) exact(r, i int, z float64) Light {
	x, y := w.place(float64(r), float64(i))
	tilt := 2 * w.bend * (x*w.toSun.X + y*w.toSun.Y) // the horizon's, against that of the middle
	p := geo.Vec3{X: w.g.X0 + w.x0*w.g.CellM + x, Y: w.g.Y0 + w.y0*w.g.CellM + y, Z: z}
	return w.g.light(p, w.toSun, curve{z, w.tan + tilt, w.bend})
}
