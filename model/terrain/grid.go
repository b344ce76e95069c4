package terrain

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Grid is a regular grid of heights in the site frame, held in memory. It is read by
// many goroutines at once; whoever changes Z does so before the first query.
type Grid struct {
	X0, Y0 float64   // the south-west node
	CellM  float64   // distance between nodes
	NX, NY int       // nodes eastward and northward, at least 2
	Z      []float32 // height of node (i, j) at j·NX+i; NaN for no data
	Datum  Datum

	once    sync.Once
	pyramid pyramid
}

// maxNodes bounds a grid's memory: 400 million heights are 1.6 GB.
const maxNodes = 400e6

// NewGrid returns a grid without data whose nodes cover the bounds.
func NewGrid(b geo.Bounds, cellM float64) (*Grid, error) {
	w, h := b.MaxX-b.MinX, b.MaxY-b.MinY
	if !(cellM > 0 && w > 0 && h > 0) || math.IsInf(w+h, 0) {
		return nil, fmt.Errorf("terrain grid of %g × %g m with cells of %g m: expected positive sizes", w, h, cellM)
	}
	nx, ny := math.Ceil(w/cellM-1e-9)+1, math.Ceil(h/cellM-1e-9)+1
	if nx*ny > maxNodes {
		return nil, fmt.Errorf("terrain grid of %.0f × %.0f nodes: expected at most %g; use larger cells or a smaller area", nx, ny, float64(maxNodes))
	}
	g := &Grid{X0: b.MinX, Y0: b.MinY, CellM: cellM, NX: int(nx), NY: int(ny), Datum: unstatedDatum}
	g.Z = make([]float32, g.NX*g.NY)
	g.Z[0] = float32(math.NaN())
	for done := 1; done < len(g.Z); done *= 2 {
		copy(g.Z[done:], g.Z[:done])
	}
	return g, nil
}

// Resample reads the heights inside the bounds of the site frame from src, bilinear. Where a source is
// finer than cellM, peaks between the nodes are lost: choose cellM no coarser than the source when clearance counts.
func Resample(src Source, f geo.Frame, b geo.Bounds, cellM float64) (*Grid, error) {
	g, err := NewGrid(b, cellM)
	if err != nil {
		return nil, err
	}
	if err := src.Fill(f, g); err != nil {
		return nil, err
	}
	g.Datum = src.VerticalDatum()
	return g, nil
}

func isNaN(z float32) bool { return z != z }

// Bounds returns the rectangle between the outer nodes.
func (g *Grid) Bounds() geo.Bounds {
	return geo.Bounds{MinX: g.X0, MinY: g.Y0, MaxX: g.X0 + float64(g.NX-1)*g.CellM, MaxY: g.Y0 + float64(g.NY-1)*g.CellM}
}

// Node returns the place and height of node (i, j); ok is false where it has none.
func (g *Grid) Node(i, j int) (p geo.Vec3, ok bool) {
	p = geo.Vec3{X: g.X0 + float64(i)*g.CellM, Y: g.Y0 + float64(j)*g.CellM}
	z := g.Z[j*g.NX+i]
	if isNaN(z) {
		return p, false
	}
	p.Z = float64(z)
	return p, true
}

// HeightAt returns the height of the ground at a place, bilinear between the nodes; ok is false outside the
// grid and where a node is missing.
func (g *Grid) HeightAt(x, y float64) (z float64, ok bool) {
	i, j, fx, fy, ok := g.locate(x, y)
	if !ok {
		return 0, false
	}
	n := j*g.NX + i
	h := bilinear(g.Z[n], g.Z[n+1], g.Z[n+g.NX], g.Z[n+g.NX+1], fx, fy)
	if math.IsNaN(h) {
		return 0, false
	}
	return h, true
}

// locate returns the cell that holds a place, by its south-west node, and the fractions across it.
func (g *Grid) locate(x, y float64) (i, j int, fx, fy float64, ok bool) {
	u, v := (x-g.X0)/g.CellM, (y-g.Y0)/g.CellM
	if !(u >= 0 && v >= 0 && u <= float64(g.NX-1) && v <= float64(g.NY-1)) {
		return 0, 0, 0, 0, false
	}
	i, j = min(int(u), g.NX-2), min(int(v), g.NY-2)
	return i, j, u - float64(i), v - float64(j), true
}

// Normal returns the upward unit normal of the ground, from Horn's gradient (Proc. IEEE 69, 1981) at the nodes,
// bilinear between them.
func (g *Grid) Normal(x, y float64) (n geo.Vec3, ok bool) {
	i, j, fx, fy, ok := g.locate(x, y)
	if !ok {
		return geo.Vec3{}, false
	}
	var gx, gy float64
	for k := range 4 {
		di, dj := k&1, k>>1
		w := (1 - fx + float64(di)*(2*fx-1)) * (1 - fy + float64(dj)*(2*fy-1))
		if w == 0 {
			continue
		}
		a, b := g.gradient(i+di, j+dj)
		gx += w * a
		gy += w * b
	}
	if math.IsNaN(gx + gy) {
		return geo.Vec3{}, false
	}
	return geo.Vec3{X: -gx, Y: -gy, Z: 1}.Unit(), true
}

// gradient returns Horn's slope components at a node; at the border the missing neighbours
// are extrapolated along the row or column.
func (g *Grid) gradient(i, j int) (dx, dy float64) {
	at := func(i, j int) float64 {
		ci, cj := min(max(i, 0), g.NX-1), min(max(j, 0), g.NY-1)
		z := float64(g.Z[cj*g.NX+ci])
		if ci != i { // z(edge) + (z(edge) - z(one in))
			z += z - float64(g.Z[cj*g.NX+2*ci-i])
		}
		if cj != j {
			z += float64(g.Z[cj*g.NX+ci]) - float64(g.Z[(2*cj-j)*g.NX+ci])
		}
		return z
	}
	e := at(i+1, j-1) + 2*at(i+1, j) + at(i+1, j+1)
	w := at(i-1, j-1) + 2*at(i-1, j) + at(i-1, j+1)
	n := at(i-1, j+1) + 2*at(i, j+1) + at(i+1, j+1)
	s := at(i-1, j-1) + 2*at(i, j-1) + at(i+1, j-1)
	return (e - w) / (8 * g.CellM), (n - s) / (8 * g.CellM)
}

// Slope returns how steep the ground is: the angle between the normal and the vertical.
func (g *Grid) Slope(x, y float64) (unit.Angle, bool) {
	n, ok := g.Normal(x, y)
	return unit.Angle(math.Acos(math.Min(1, n.Z))), ok
}

// MinMax returns the lowest and highest node; ok is false for a grid without data.
func (g *Grid) MinMax() (lo, hi float64, ok bool) {
	g.prepare()
	if g.pyramid.lo > g.pyramid.hi {
		return 0, 0, false
	}
	return g.pyramid.lo, g.pyramid.hi, true
}

// Complete reports whether every node has a height.
func (g *Grid) Complete() bool {
	g.prepare()
	return !g.pyramid.void
}

// changed makes the next query look at Z afresh.
func (g *Grid) changed() { g.once = sync.Once{} }

func (g *Grid) prepare() { g.once.Do(func() { g.pyramid = buildPyramid(g) }) }

// pyramid holds the highest ground in blocks of 4, 16, 64, ... cells a side, so that
// a ray well above can leap over them. A cell is the square between four nodes.
type pyramid struct {
	levels []blocks
	lo, hi float64
	void   bool // a node is missing
}

type blocks struct {
	nx, ny int
	top    []float32 // -Inf for a block without data
	gap    []bool    // a node is missing; nil if the grid has them all
}

func buildPyramid(g *Grid) pyramid {
	p := pyramid{lo: math.Inf(1), hi: math.Inf(-1)}
	low := float32(math.Inf(-1))
	first := blocks{nx: (g.NX + 2) / 4, ny: (g.NY + 2) / 4}
	first.top = make([]float32, first.nx*first.ny)
	for i := range first.top {
		first.top[i] = low
	}
	if slices.ContainsFunc(g.Z, isNaN) {
		p.void, first.gap = true, make([]bool, len(first.top))
	}
	lo, hi := float32(math.Inf(1)), low
	for j := range g.NY {
		row := g.Z[j*g.NX:][:g.NX]
		// A node on a block's border belongs to both sides.
		b1 := min(j/4, first.ny-1)
		b0 := b1
		if j%4 == 0 && j > 0 {
			b0 = min(j/4-1, first.ny-1)
		}
		for b := b0; b <= b1; b++ {
			top := first.top[b*first.nx:][:first.nx]
			for i := range top {
				m := top[i]
				part := row[4*i : min(4*i+5, g.NX)]
				for _, z := range part {
					if z > m {
						m = z
					}
				}
				top[i] = m
				if p.void && slices.ContainsFunc(part, isNaN) {
					first.gap[b*first.nx+i] = true
				}
			}
		}
		for _, z := range row {
			if !isNaN(z) {
				lo, hi = min(lo, z), max(hi, z)
			}
		}
	}
	p.lo, p.hi = float64(lo), float64(hi)
	for p.levels = []blocks{first}; ; {
		fine := p.levels[len(p.levels)-1]
		if fine.nx <= 1 && fine.ny <= 1 {
			return p
		}
		c := blocks{nx: (fine.nx + 3) / 4, ny: (fine.ny + 3) / 4}
		c.top = make([]float32, c.nx*c.ny)
		for i := range c.top {
			c.top[i] = low
		}
		if p.void {
			c.gap = make([]bool, len(c.top))
		}
		for j := range fine.ny {
			for i := range fine.nx {
				n := j/4*c.nx + i/4
				c.top[n] = max(c.top[n], fine.top[j*fine.nx+i])
				if p.void && fine.gap[j*fine.nx+i] {
					c.gap[n] = true
				}
			}
		}
		p.levels = append(p.levels, c)
	}
}
