package terrain

import (
	"math"

	"fieldfare/model/geo"
)

// march follows a straight level line over the grid's cells. Positions are in
// cells from the south-west node; t is the line's own parameter.
type march struct {
	u0, v0, du, dv float64
	perU, perV     float64 // 1/du, 1/dv
	i, j           int     // current cell
	lastI, lastJ   int     // the grid's last cells
	t, end         float64 // where the line enters the cell and where it ends
}

// start clips the line p + t·d, t from 0 to end, to the grid; ok is false if it misses it.
func (g *Grid) start(p, d geo.Vec2, end float64) (m march, ok bool) {
	m = march{u0: (p.X - g.X0) / g.CellM, v0: (p.Y - g.Y0) / g.CellM, du: d.X / g.CellM, dv: d.Y / g.CellM}
	// A drift of less than 1 mm in 1000 km is rounding; it must not push a line along the border off the grid.
	switch {
	case math.Abs(m.du) < 1e-9*math.Abs(m.dv):
		m.du = 0
	case math.Abs(m.dv) < 1e-9*math.Abs(m.du):
		m.dv = 0
	}
	begin := 0.0
	clip := func(at, step, last float64) bool {
		if step == 0 {
			return at >= 0 && at <= last
		}
		a, b := -at/step, (last-at)/step
		if a > b {
			a, b = b, a
		}
		begin, end = math.Max(begin, a), math.Min(end, b)
		return begin <= end
	}
	if !clip(m.u0, m.du, float64(g.NX-1)) || !clip(m.v0, m.dv, float64(g.NY-1)) || math.IsNaN(begin+end) {
		return m, false
	}
	m.lastI, m.lastJ = g.NX-2, g.NY-2
	m.t, m.end, m.perU, m.perV = begin, end, 1/m.du, 1/m.dv
	m.i = cellAt(m.u0+m.du*begin, m.du, g.NX)
	m.j = cellAt(m.v0+m.dv*begin, m.dv, g.NY)
	return m, true
}

// cellAt returns the cell for a position; on a border, the one ahead.
func cellAt(at, step float64, n int) int {
	i := math.Floor(at)
	if i == at && step < 0 {
		i--
	}
	return max(0, min(n-2, int(i)))
}

// exit returns where the line leaves the block of 2^shift cells that holds the current cell, and
// the cell beyond.
func (m *march) exit(shift uint) (t float64, i, j int) {
	iLow, jLow := m.i>>shift<<shift, m.j>>shift<<shift
	iHigh, jHigh := iLow+1<<shift, jLow+1<<shift
	tx, ty := math.Inf(1), math.Inf(1)
	i, j = iLow-1, jLow-1
	if m.du > 0 {
		i = iHigh
		tx = (float64(iHigh) - m.u0) * m.perU
	} else if m.du < 0 {
		tx = (float64(iLow) - m.u0) * m.perU
	}
	if m.dv > 0 {
		j = jHigh
		ty = (float64(jHigh) - m.v0) * m.perV
	} else if m.dv < 0 {
		ty = (float64(jLow) - m.v0) * m.perV
	}
	t = tx
	if ty < tx {
		t = ty
	}
	if t < m.t {
		t = m.t
	}
	if tx > ty { // leaves across a row: the column stays within the block
		i = min(max(int(m.u0+m.du*t), iLow), iHigh-1, m.lastI)
	} else if ty > tx {
		j = min(max(int(m.v0+m.dv*t), jLow), jHigh-1, m.lastJ)
	}
	if t > m.end {
		t = m.end
	}
	return t, i, j
}

// inside reports whether the line is still over the grid and not at its end.
func (m *march) inside(g *Grid, t float64, i, j int) bool {
	return t < m.end && i >= 0 && j >= 0 && i < g.NX-1 && j < g.NY-1
}

// patch returns the ground's height along the line within the current cell as
// a + b·s + c·s² with s counted from t; ok is false where a node is missing.
func (m *march) patch(g *Grid, t float64) (a, b, c float64, ok bool) {
	n := m.j*g.NX + m.i
	z00, z10 := float64(g.Z[n]), float64(g.Z[n+1])
	z01, z11 := float64(g.Z[n+g.NX]), float64(g.Z[n+g.NX+1])
	u, v := m.u0+m.du*t-float64(m.i), m.v0+m.dv*t-float64(m.j)
	zu, zv, zuv := z10-z00, z01-z00, z11-z10-z01+z00
	a = z00 + zu*u + zv*v + zuv*u*v
	b = zu*m.du + zv*m.dv + zuv*(u*m.dv+v*m.du)
	c = zuv * m.du * m.dv
	return a, b, c, a == a && b == b && c == c
}

// top returns the highest ground in the block of the level that holds the cell.
func (p *pyramid) top(level, i, j int) float64 {
	b := &p.levels[level-1]
	shift := uint(2 * level)
	return float64(b.top[(j>>shift)*b.nx+i>>shift])
}

// gap reports whether a node is missing in the block of the level that holds the cell.
func (p *pyramid) gap(level, i, j int) bool {
	b := &p.levels[level-1]
	shift := uint(2 * level)
	return p.void && b.gap[(j>>shift)*b.nx+i>>shift]
}

// curve is the height of a line of sight above its own level track: a + b·t + c·t², c ≥ 0.
type curve struct{ a, b, c float64 }

func (q curve) at(t float64) float64 { return q.a + t*(q.b+t*q.c) }

// least returns the curve's lowest height between two parameters.
func (q curve) least(t0, t1 float64) float64 {
	if q.c > 0 {
		if t := -q.b / (2 * q.c); t > t0 && t < t1 {
			return q.at(t)
		}
	}
	return math.Min(q.at(t0), q.at(t1))
}

// meeting is where a curve first lies below the ground.
type meeting struct {
	t       float64
	hit     bool
	beneath bool // it was below already where known ground begins: it met the ground in missing data or outside the grid
	void    bool // cells without data were passed over
}

// firstBelow follows the curve to the first parameter at which it lies below the ground by more than slackM.
func (g *Grid) firstBelow(m march, q curve, slackM float64) (f meeting) {
	g.prepare()
	p := &g.pyramid
	q.a += slackM
	from := m.t
	for level := 1; ; {
		if level > 0 {
			t1, i, j := m.exit(uint(2 * level))
			if q.least(m.t, t1) > p.top(level, m.i, m.j) {
				f.void = f.void || p.gap(level, m.i, m.j) && g.voidAlong(m, t1)
				if !m.inside(g, t1, i, j) {
					return f
				}
				m.t, m.i, m.j = t1, i, j
				level = min(level+1, len(p.levels))
			} else {
				level--
			}
			continue
		}
		// Within a block that the curve may touch, go cell by cell to its end.
		bi, bj := m.i>>2, m.j>>2
		for m.i>>2 == bi && m.j>>2 == bj {
			t1, i, j := m.exit(0)
			a, b, c, ok := m.patch(g, m.t)
			if !ok {
				f.void = true
			} else {
				over := q.at(m.t) - a
				if s, found := firstRoot(over, q.b+2*q.c*m.t-b, q.c-c, t1-m.t); found {
					f.t, f.hit = m.t+s, true
					f.beneath = over < -touchM && (m.t > from || from > 0)
					return f
				}
			}
			if !m.inside(g, t1, i, j) {
				return f
			}
			m.t, m.i, m.j = t1, i, j
		}
		level = 1
	}
}

// voidAlong reports whether a node is missing in the cells from m to the parameter t1.
func (g *Grid) voidAlong(m march, t1 float64) bool {
	for {
		t, i, j := m.exit(0)
		if _, _, _, ok := m.patch(g, m.t); !ok {
			return true
		}
		if t >= t1 || !m.inside(g, t, i, j) {
			return false
		}
		m.t, m.i, m.j = t, i, j
	}
}

// firstRoot returns the first s in [0, last] with a + b·s + c·s² < 0.
func firstRoot(a, b, c, last float64) (float64, bool) {
	if a < 0 {
		return 0, true
	}
	if c == 0 {
		if a+b*last < 0 {
			return math.Min(last, -a/b), true
		}
		return 0, false
	}
	disc := b*b - 4*a*c
	if disc <= 0 {
		return 0, false
	}
	// Numerical Recipes 5.6: both roots without cancellation.
	w := -0.5 * (b + math.Copysign(math.Sqrt(disc), b))
	r1, r2 := w/c, a/w
	if w == 0 {
		r2 = r1
	}
	if r1 > r2 {
		r1, r2 = r2, r1
	}
	if c > 0 { // below between the roots
		if r2 > 0 && r1 < last {
			return math.Max(0, r1), true
		}
		return 0, false
	}
	if r2 < last { // a ≥ 0: we stand between the roots, below beyond the second
		return math.Max(0, r2), true
	}
	return 0, false
}
