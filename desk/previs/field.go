package previs

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"fieldfare/model/terrain"
)

// field is the ground as rays see it. Horizontal places are counted in cells from the
// grid's south-west node, heights in metres.
type field struct {
	x0, y0, cell float64
	nx, ny       int
	z            []float32 // NaN where unknown
	levels       []level   // highest ground in blocks of 2, 4, 8, ... cells a side
	low, high    float64
	steepest     float64 // bound of the slope anywhere, as a tangent
	holed        bool    // some ground is unknown
}

type level struct {
	nx, ny int
	top    []float32
	holes  []bool // which blocks have ground that is unknown; nil where none has
}

func newField(g *terrain.Grid) *field {
	f := &field{x0: g.X0, y0: g.Y0, cell: g.CellM, nx: g.NX, ny: g.NY, z: g.Z}
	f.low, f.high, _ = g.MinMax()
	f.holed = !g.Complete()
	first := level{nx: g.NX / 2, ny: g.NY / 2} // cells are one fewer than nodes
	first.top = make([]float32, first.nx*first.ny)
	steps := make([][2]float32, first.ny)
	parallel(first.ny, func(j int) {
		row := func(v int) []float32 { return g.Z[min(v, g.NY-1)*g.NX:][:g.NX] }
		steps[j] = blocks(first.top[j*first.nx:][:first.nx], row(2*j), row(2*j+1), row(2*j+2))
	})
	if f.holed {
		first.holes = make([]bool, len(first.top))
		for k, z := range g.Z {
			if i, j := k%g.NX, k/g.NX; z != z {
				for _, at := range [4][2]int{{i / 2, j / 2}, {(i - 1) / 2, j / 2}, {i / 2, (j - 1) / 2}, {(i - 1) / 2, (j - 1) / 2}} {
					first.holes[min(at[1], first.ny-1)*first.nx+min(at[0], first.nx-1)] = true
				}
			}
		}
	}
	var east, north float32
	for _, s := range steps {
		east, north = max(east, s[0]), max(north, s[1])
	}
	f.steepest = math.Hypot(float64(east), float64(north)) / f.cell // no bilinear cell is steeper than its steepest edges
	for l := first; ; l = l.above() {
		f.levels = append(f.levels, l)
		if l.nx <= 1 && l.ny <= 1 {
			return f
		}
	}
}

// blocks finds the highest of each block of 3 x 3 nodes in three rows, neighbours sharing a column, and the greatest steps
// between two nodes to the east and to the north. NaN counts for nothing.
func blocks(top, a, b, c []float32) (steps [2]float32) {
	var east, north float32
	for i := range top {
		u := 2 * i
		w := min(u+2, len(a)-1)
		high := float32(math.Inf(-1))
		for _, r := range [3][]float32{a, b, c} {
			z0, z1, z2 := r[u], r[u+1], r[w]
			if z0 > high {
				high = z0
			}
			if z1 > high {
				high = z1
			}
			if z2 > high {
				high = z2
			}
			if d := abs(z1 - z0); d > east {
				east = d
			}
			if d := abs(z2 - z1); d > east {
				east = d
			}
		}
		for _, k := range [3]int{u, u + 1, w} {
			if d := abs(b[k] - a[k]); d > north {
				north = d
			}
			if d := abs(c[k] - b[k]); d > north {
				north = d
			}
		}
		top[i] = high
	}
	return [2]float32{east, north}
}

func abs(v float32) float32 { return math.Float32frombits(math.Float32bits(v) &^ (1 << 31)) }

// above is the level of blocks twice as wide.
func (l *level) above() level {
	c := level{nx: (l.nx + 1) / 2, ny: (l.ny + 1) / 2}
	c.top = make([]float32, c.nx*c.ny)
	for j := range c.ny {
		a, b := l.top[2*j*l.nx:][:l.nx], l.top[min(2*j+1, l.ny-1)*l.nx:][:l.nx]
		for i := range c.nx {
			u, w := 2*i, min(2*i+1, l.nx-1)
			c.top[j*c.nx+i] = max(a[u], a[w], b[u], b[w])
		}
	}
	if l.holes != nil {
		c.holes = make([]bool, len(c.top))
		for k, hole := range l.holes {
			if hole {
				c.holes[k/l.nx/2*c.nx+k%l.nx/2] = true
			}
		}
	}
	return c
}

// ray runs from an eye; what its parameter measures is the caller's choice.
type ray struct {
	u, v, z    float64 // the eye, cells and metres
	du, dv, dz float64 // per unit of the parameter
	iu, iv     float64 // 1/du and 1/dv
}

func (r *ray) point(du, dv, dz float64) {
	r.du, r.dv, r.dz, r.iu, r.iv = du, dv, dz, 1/du, 1/dv
}

// clip returns the parameters between which the ray is over the grid and not above all ground.
func (f *field) clip(r *ray, from, to float64) (t0, t1 float64, ok bool) {
	t0, t1 = from, to
	if r.du != 0 {
		k := r.iu
		a, b := -r.u*k, (float64(f.nx-1)-r.u)*k
		if a > b {
			a, b = b, a
		}
		if a > t0 {
			t0 = a
		}
		if b < t1 {
			t1 = b
		}
	} else if r.u < 0 || r.u > float64(f.nx-1) {
		return t0, t1, false
	}
	if r.dv != 0 {
		k := r.iv
		a, b := -r.v*k, (float64(f.ny-1)-r.v)*k
		if a > b {
			a, b = b, a
		}
		if a > t0 {
			t0 = a
		}
		if b < t1 {
			t1 = b
		}
	} else if r.v < 0 || r.v > float64(f.ny-1) {
		return t0, t1, false
	}
	over := f.high - r.z
	switch {
	case r.dz < 0:
		t0 = math.Max(t0, over/r.dz)
	case r.dz > 0:
		t1 = math.Min(t1, over/r.dz)
	case over < 0:
		t1 = math.Inf(-1)
	}
	return t0, t1, t0 < t1
}

// hit is where a ray meets the ground.
type hit struct {
	t      float64
	sure   float64 // parameter up to which the ray has passed over known ground alone
	i, j   int
	fu, fv float64 // fractions across the cell
}

// farthestM bounds every ray, m.
const farthestM = 1e6

// march follows a ray from one parameter to another up to the first ground that it meets; without one, the hit
// says only how far the ray is known to be clear.
func (f *field) march(r *ray, from, to float64, h *hit) (ok bool) {
	t, end := from, to
	u, v := r.u+r.du*t, r.v+r.dv*t
	if !(u >= 0 && v >= 0 && u <= float64(f.nx-1) && v <= float64(f.ny-1)) {
		if t, end, ok = f.clip(r, t, end); !ok {
			h.t, h.sure = from, from
			return false
		}
		u, v = r.u+r.du*t, r.v+r.dv*t
	}
	i, j := max(0, min(f.nx-2, int(u))), max(0, min(f.ny-2, int(v)))
	// Ahead is the border that the ray leaves a block by: its high one or its low one.
	iu, iv, aheadU, aheadV := r.iu, r.iv, 1, 1
	if r.du < 0 {
		aheadU = 0
	}
	if r.dv < 0 {
		aheadV = 0
	}
	z := r.z + r.dz*t
	lv, void, sure := uint(0), false, math.Inf(1)
	for {
		iLow, jLow := i>>lv<<lv, j>>lv<<lv
		iNext, jNext := iLow+aheadU<<lv, jLow+aheadV<<lv
		tx, ty := (float64(iNext)-r.u)*iu, (float64(jNext)-r.v)*iv
		t1 := end
		if tx < t1 {
			t1 = tx
		}
		if ty < t1 {
			t1 = ty
		}
		if t1 < t {
			t1 = t
		}
		z1 := r.z + r.dz*t1
		lowest := z
		if z1 < z {
			lowest = z1
		}
		if lv > 0 {
			l := &f.levels[lv-1]
			block := (j>>lv)*l.nx + i>>lv
			if lowest <= float64(l.top[block]) {
				lv--
				continue
			}
			if l.holes != nil && l.holes[block] {
				sure = min(sure, t)
			}
		} else {
			n := j*f.nx + i
			z00, z10, z01, z11 := f.z[n], f.z[n+1], f.z[n+f.nx], f.z[n+f.nx+1]
			if w := float32(lowest); !(w > z00 && w > z10 && w > z01 && w > z11) {
				a0, a1, a2 := float64(z00), float64(z10)-float64(z00), float64(z01)-float64(z00)
				a3 := float64(z11) - float64(z10) - float64(z01) + float64(z00)
				u, v := r.u+r.du*t-float64(i), r.v+r.dv*t-float64(j)
				a := z - (a0 + a1*u + a2*v + a3*u*v)
				b := r.dz - (a1*r.du + a2*r.dv + a3*(u*r.dv+v*r.du))
				c := -a3 * r.du * r.dv
				if a != a {
					void, sure = true, min(sure, t)
				} else if void && a < 0 {
					h.t, h.sure = 0, 0
					return false // it went down where the ground is not known
				} else if s, found := firstRoot(a, b, c, t1-t); found {
					h.t, h.sure, h.i, h.j, h.fu, h.fv = t+s, min(sure, t+s), i, j, u+r.du*s, v+r.dv*s
					return true
				}
			}
		}
		if t1 >= end {
			h.t, h.sure = t1, min(sure, t1)
			return false
		}
		side, iWas, jWas := 1<<lv, i, j
		if tx <= ty {
			i = iNext - 1 + aheadU
			if ty <= tx {
				j = jNext - 1 + aheadV
			} else if lv > 0 {
				j = max(jLow, min(jLow+side-1, int(r.v+r.dv*t1)))
			}
		} else {
			j = jNext - 1 + aheadV
			if lv > 0 {
				i = max(iLow, min(iLow+side-1, int(r.u+r.du*t1)))
			}
		}
		if uint(i) >= uint(f.nx-1) || uint(j) >= uint(f.ny-1) {
			h.t, h.sure = t1, min(sure, t1)
			return false
		}
		t, z = t1, z1
		// A wider block is worth a look only where the ray enters one.
		if up := lv + 1; up <= uint(len(f.levels)) && (i>>up != iWas>>up || j>>up != jWas>>up) {
			lv = up
		}
	}
}

// firstRoot returns the first s in [0, last] at which a + b·s + c·s² < 0. NaN finds none.
func firstRoot(a, b, c, last float64) (float64, bool) {
	if a < 0 {
		return 0, true
	}
	end := a + last*(b+c*last)
	if c <= 0 || b >= 0 {
		// Falls once at most before the end: a sign change tells all.
		if !(end < 0) {
			return 0, false
		}
	}
	if c == 0 {
		return math.Min(last, -a/b), true
	}
	disc := b*b - 4*a*c
	if !(disc >= 0) {
		return 0, false
	}
	// The form without cancellation (Numerical Recipes 5.6).
	var s float64
	if root := math.Sqrt(disc); b <= 0 {
		s = 2 * a / (root - b)
	} else {
		s = -(b + root) / (2 * c)
	}
	if !(s <= last) {
		return last, end < 0
	}
	return s, true
}

func bilinear(z []float32, nx, i, j int, fu, fv float64) float64 {
	n := j*nx + i
	a, b, c, d := float64(z[n]), float64(z[n+1]), float64(z[n+nx]), float64(z[n+nx+1])
	a += fu * (b - a)
	c += fu * (d - c)
	return a + fv*(c-a)
}

// gradient returns the slope of the ground toward east and north at a hit, from central differences
// over s cells at the four nodes, bilinear between them.
func (f *field) gradient(h *hit, s int) (gx, gy float64) {
	if s == 1 && h.i > 0 && h.j > 0 && h.i+2 < f.nx && h.j+2 < f.ny {
		n := h.j*f.nx + h.i
		r0, r1, r2, r3 := f.z[n-f.nx:n-f.nx+3], f.z[n-1:n+3], f.z[n+f.nx-1:n+f.nx+3], f.z[n+2*f.nx:n+2*f.nx+3]
		fu, fv := float32(h.fu), float32(h.fv)
		east0 := (r1[2] - r1[0]) + fu*((r1[3]-r1[1])-(r1[2]-r1[0]))
		east1 := (r2[2] - r2[0]) + fu*((r2[3]-r2[1])-(r2[2]-r2[0]))
		north0 := (r2[1] - r0[0]) + fu*((r2[2]-r0[1])-(r2[1]-r0[0]))
		north1 := (r3[0] - r1[1]) + fu*((r3[1]-r1[2])-(r3[0]-r1[1]))
		k := 1 / (2 * f.cell)
		gx, gy = float64(east0+fv*(east1-east0))*k, float64(north0+fv*(north1-north0))*k
	} else {
		i, j := h.i, h.j
		if h.fu > 0.5 {
			i++
		}
		if h.fv > 0.5 {
			j++
		}
		i0, i1, j0, j1 := max(0, i-s), min(f.nx-1, i+s), max(0, j-s), min(f.ny-1, j+s)
		gx = float64(f.z[j*f.nx+i1]-f.z[j*f.nx+i0]) / (float64(i1-i0) * f.cell)
		gy = float64(f.z[j1*f.nx+i]-f.z[j0*f.nx+i]) / (float64(j1-j0) * f.cell)
	}
	if gx != gx || gy != gy {
		return 0, 0
	}
	return gx, gy
}

func clamp01(v float64) float64 { return max(0, min(1, v)) }

// parallel runs f for 0 to n-1 on every core.
func parallel(n int, f func(i int)) {
	workers := min(n, runtime.GOMAXPROCS(0))
	if workers <= 1 {
		for i := range n {
			f(i)
		}
		return
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range workers {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				f(i)
			}
		}()
	}
	wg.Wait()
}
