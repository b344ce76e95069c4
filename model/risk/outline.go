package risk

import (
	"fmt"
	"math"
	"sort"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Around returns the area within radiusM of a path seen from above, for drawing a contingency
// volume or a ground risk buffer and for testing what lies in it. A path that closes
// around a place leaves a hole there. The outline keeps within 0.5 % of the radius on paths up
// to 40 radii across, coarser on longer ones, and errs outward. Radius 0.1 m to 100 km.
//
// Method: distance to the path on a grid, and the contour at the radius by marching
// squares (Lorensen and Cline 1987, in the plane).
func Around(path []geo.Vec2, radiusM float64) ([]geo.Polygon, error) {
	if err := unit.Within("radius", radiusM, 0.1, 1e5, "m"); err != nil {
		return nil, err
	}
	if len(path) == 0 {
		return nil, fmt.Errorf("a path of no points has no surroundings; give at least one")
	}
	bounds := geo.Ring(path).Bounds()
	if w := bounds.MaxX - bounds.MinX + bounds.MaxY - bounds.MinY; math.IsNaN(w) || w > 1e6 {
		return nil, fmt.Errorf("path spans %g m; expected finite points within 1000 km", w)
	}
	f := newField(bounds, radiusM)
	if len(path) == 1 {
		f.add(path[0], path[0])
	}
	for i := 1; i < len(path); i++ {
		f.add(path[i-1], path[i])
	}
	return f.polygons(), nil
}

// field holds radius − distance to the path on a grid of nx × ny nodes.
type field struct {
	x0, y0, cell, radius float64
	nx, ny               int
	value                []float64
}

const maxNodes = 700 // along the longer side

func newField(b geo.Bounds, radiusM float64) *field {
	width, height := b.MaxX-b.MinX+2*radiusM, b.MaxY-b.MinY+2*radiusM
	f := &field{cell: math.Max(radiusM/16, math.Max(width, height)/maxNodes)}
	// A chord of the contour lies up to cell²/8r inside the true line.
	f.radius = radiusM + f.cell*f.cell/(8*radiusM)
	f.x0, f.y0 = b.MinX-radiusM-2*f.cell, b.MinY-radiusM-2*f.cell
	f.nx, f.ny = int(width/f.cell)+6, int(height/f.cell)+6
	f.value = make([]float64, f.nx*f.ny)
	for i := range f.value {
		f.value[i] = -f.cell
	}
	return f
}

// add raises the nodes near one leg.
func (f *field) add(a, b geo.Vec2) {
	reach := f.radius + 2*f.cell
	column := func(x float64) int { return min(max(int((x-f.x0)/f.cell), 0), f.nx-1) }
	row := func(y float64) int { return min(max(int((y-f.y0)/f.cell), 0), f.ny-1) }
	i0, i1 := column(min(a.X, b.X)-reach), column(max(a.X, b.X)+reach)
	for j := row(min(a.Y, b.Y) - reach); j <= row(max(a.Y, b.Y)+reach); j++ {
		for i := i0; i <= i1; i++ {
			d, _ := geo.PointSegment2(f.at(i, j), a, b)
			f.value[j*f.nx+i] = max(f.value[j*f.nx+i], f.radius-d)
		}
	}
}

func (f *field) at(i, j int) geo.Vec2 {
	return geo.Vec2{X: f.x0 + float64(i)*f.cell, Y: f.y0 + float64(j)*f.cell}
}

// Sides of a cell.
const (
	bottom = iota
	right
	top
	left
)

// turns lists, by which corners are inside (1 bottom left, 2 bottom right, 4 top right, 8
// top left), the sides between which the contour runs with the inside on its left. The two
// saddles, 5 and 10, are for a middle that is outside; with the middle inside they are each
// other's pairs reversed.
var turns = [16][][2]int{
	1: {{bottom, left}}, 2: {{right, bottom}}, 3: {{right, left}}, 4: {{top, right}},
	5: {{bottom, left}, {top, right}}, 6: {{top, bottom}}, 7: {{top, left}}, 8: {{left, top}},
	9: {{bottom, top}}, 10: {{right, bottom}, {left, top}}, 11: {{right, top}}, 12: {{left, right}},
	13: {{bottom, right}}, 14: {{left, bottom}},
}

// edge numbers the grid's edges: even ones run right from a node, odd ones up.
func (f *field) edge(i, j, side int) int {
	switch side {
	case right:
		return 2*(j*f.nx+i+1) + 1
	case top:
		return 2 * ((j+1)*f.nx + i)
	case left:
		return 2*(j*f.nx+i) + 1
	}
	return 2 * (j*f.nx + i)
}

// cross returns where the contour crosses a grid edge.
func (f *field) cross(edge int) geo.Vec2 {
	node := edge / 2
	other := node + 1
	if edge%2 == 1 {
		other = node + f.nx
	}
	a, b := f.value[node], f.value[other]
	p, q := f.at(node%f.nx, node/f.nx), f.at(other%f.nx, other/f.nx)
	// Kept off the nodes, so that no two crossings coincide.
	return p.Lerp(q, min(max(a/(a-b), 1e-3), 1-1e-3))
}

func (f *field) polygons() []geo.Polygon {
	next := make([]int, 2*len(f.value)) // edge to edge, 0: none; numbers are shifted by one
	for j := range f.ny - 1 {
		for i := range f.nx - 1 {
			n := j*f.nx + i
			corners := [4]float64{f.value[n], f.value[n+1], f.value[n+f.nx+1], f.value[n+f.nx]}
			inside := 0
			for k, v := range corners {
				if v > 0 {
					inside |= 1 << k
				}
			}
			saddle := (inside == 5 || inside == 10) && corners[0]+corners[1]+corners[2]+corners[3] > 0
			if saddle {
				for _, t := range turns[15-inside] {
					next[f.edge(i, j, t[1])] = f.edge(i, j, t[0]) + 1
				}
				continue
			}
			for _, t := range turns[inside] {
				next[f.edge(i, j, t[0])] = f.edge(i, j, t[1]) + 1
			}
		}
	}
	var outers []geo.Polygon
	var holes []geo.Ring
	for start := range next {
		if next[start] == 0 {
			continue
		}
		var ring geo.Ring
		for at := start; next[at] != 0; {
			ring = append(ring, f.cross(at))
			following := next[at] - 1
			next[at] = 0
			at = following
		}
		if ring.Area() > 0 {
			outers = append(outers, geo.Polygon{Outer: ring})
		} else {
			holes = append(holes, ring)
		}
	}
	sort.SliceStable(outers, func(i, j int) bool { return outers[i].Outer.Area() < outers[j].Outer.Area() })
	for _, h := range holes {
		for i := range outers { // the smallest that holds it
			if outers[i].Outer.Contains(h[0]) {
				outers[i].Holes = append(outers[i].Holes, h)
				break
			}
		}
	}
	return outers
}
