package terrain

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"

	"fieldfare/model/geo"
)

// Visibility says whether a node can be seen.
type Visibility uint8

// The states of a node.
const (
	Hidden     Visibility = iota // the ground stands in the way
	Visible                      // in sight
	OutOfRange                   // farther than the range asked for
	Unseen                       // unknown: no data there or on the way
)

// Viewshed is the visibility of each node of a grid from one of them.
type Viewshed struct {
	NX, NY int
	I, J   int          // the observer's node
	Cells  []Visibility // node (i, j) at j·NX+i, as in the grid
}

// View describes what is looked for in a viewshed.
type View struct {
	EyeM       float64 // height of the eye above the ground
	TargetM    float64 // height above ground of what is to be seen
	RangeM     float64 // 0: as far as the grid goes
	Refraction float64
	// Exact follows the sight line to every node instead of the quick sweep.
	Exact bool
}

// Viewshed returns which nodes can be seen from the node nearest to a place. Unless Exact is set it is the
// method of Wang, Robinson and White (2000) with the two nodes of the ring before each node, as in
// gdal_viewshed 3.6, and gives the same raster. Like that program it takes the eight nodes around the observer to be
// no lower than the ground he stands on: on a summit it hides some of the slopes below (6 % of the cells in the test), elsewhere it
// agrees with the exact lines of sight in about 99.5 % of the cells.
func (g *Grid) Viewshed(at geo.Vec2, v View) (*Viewshed, error) {
	u, w := math.Round((at.X-g.X0)/g.CellM), math.Round((at.Y-g.Y0)/g.CellM)
	if !(u >= 0 && w >= 0 && u < float64(g.NX) && w < float64(g.NY)) {
		return nil, fmt.Errorf("viewshed from x %.1f m, y %.1f m: outside the terrain", at.X, at.Y)
	}
	s := sweep{
		g: g, i0: int(u), j0: int(w), target: v.TargetM, bend: curvature(v.Refraction),
		far2: math.Inf(1), voids: slices.ContainsFunc(g.Z, isNaN),
		out: &Viewshed{NX: g.NX, NY: g.NY, I: int(u), J: int(w), Cells: make([]Visibility, g.NX*g.NY)},
	}
	ground := float64(g.Z[s.j0*g.NX+s.i0])
	if math.IsNaN(ground) {
		return nil, fmt.Errorf("viewshed from x %.1f m, y %.1f m: the terrain has no data there", at.X, at.Y)
	}
	if v.RangeM > 0 {
		s.far2 = v.RangeM * v.RangeM
	}
	s.eye = ground + v.EyeM
	if v.Exact {
		s.exact(v.Refraction)
	} else {
		s.run()
	}
	return s.out, nil
}

// sweep works outward from the observer's row, upward and downward at once.
type sweep struct {
	g       *Grid
	i0, j0  int
	eye     float64
	target  float64
	bend    float64
	far2    float64
	voids   bool
	out     *Viewshed
	fall    []float64 // of the Earth's surface across the columns
	inverse []float64 // 1/(k-1)
}

// line is a row of the reference surface: the least heights that can be seen.
type line struct {
	z    []float64
	void []bool // the height hangs on missing data; nil if the grid has none
}

func (s *sweep) newLine() line {
	l := line{z: make([]float64, s.g.NX)}
	if s.voids {
		l.void = make([]bool, s.g.NX)
	}
	return l
}

func (s *sweep) run() {
	s.fall, s.inverse = make([]float64, s.g.NX), make([]float64, s.g.NX+1)
	for i := range s.fall {
		x := float64(i-s.i0) * s.g.CellM
		s.fall[i], s.inverse[i+1] = s.bend*x*x, 1/float64(i)
	}
	first := s.newLine()
	s.loadRow(first, s.j0)
	row := s.out.Cells[s.j0*s.g.NX:][:s.g.NX]
	row[s.i0] = Visible
	for _, d := range [2]int{-1, 1} {
		for i := s.i0 + d; i >= 0 && i < s.g.NX; i += d {
			n := (i - s.i0) * d
			if n == 1 {
				row[i] = s.settle(first, i, math.Inf(-1), false, s.distance2(n, 0))
				continue
			}
			row[i] = s.settle(first, i, ahead(n, first.z[i-d], s.eye), s.voids && first.void[i-d], s.distance2(n, 0))
		}
	}
	var wg sync.WaitGroup
	for _, d := range [2]int{-1, 1} {
		wg.Go(func() {
			last, this := s.newLine(), s.newLine()
			copy(last.z, first.z)
			copy(last.void, first.void)
			for j := s.j0 + d; j >= 0 && j < s.g.NY; j += d {
				s.row(last, this, j, (j-s.j0)*d)
				last, this = this, last
			}
		})
	}
	wg.Wait()
}

// exact settles each node by its own line of sight.
func (s *sweep) exact(refraction float64) {
	g, c := s.g, curvature(refraction)
	eye, _ := g.Node(s.i0, s.j0)
	eye.Z = s.eye
	parallel(g.NY, runtime.GOMAXPROCS(0), func(_, j int) {
		for i := range g.NX {
			out := &s.out.Cells[j*g.NX+i]
			p, ok := g.Node(i, j)
			d := p.Sub(eye)
			d2 := d.X*d.X + d.Y*d.Y
			switch {
			case d2 > s.far2:
				*out = OutOfRange
				continue
			case !ok:
				*out = Unseen
				continue
			case d2 == 0:
				*out = Visible
				continue
			}
			m, _ := g.start(eye.XY(), d.XY(), 1)
			bulge := c * d2
			f := g.firstBelow(m, curve{eye.Z, d.Z + s.target - bulge, bulge}, touchM)
			switch {
			case f.hit:
				*out = Hidden
			case f.void:
				*out = Unseen
			default:
				*out = Visible
			}
		}
	})
}

func (s *sweep) distance2(di, dj int) float64 {
	return float64(di*di+dj*dj) * s.g.CellM * s.g.CellM
}

// loadRow copies a row of the grid, lowered by the Earth's curvature.
func (s *sweep) loadRow(l line, j int) {
	y := float64(j-s.j0) * s.g.CellM
	fall := s.bend * y * y
	row := s.g.Z[j*s.g.NX:][:s.g.NX]
	across := s.fall[:len(row)]
	to := l.z[:len(row)]
	for i, z := range row {
		to[i] = float64(z) - (fall + across[i])
	}
	if s.voids {
		for i, z := range row {
			l.void[i] = isNaN(z)
		}
	}
}

// settle compares a node's height with the least height that can be seen there, keeps the
// larger as the reference surface, and returns the node's visibility.
func (s *sweep) settle(l line, i int, least float64, void bool, d2 float64) Visibility {
	if s.voids {
		missing := l.void[i]
		l.void[i] = missing || void
		if missing {
			l.z[i] = least
		}
	}
	state := Visible
	if l.z[i]+s.target < least {
		l.z[i] = least
		state = Hidden
	}
	switch {
	case d2 > s.far2:
		return OutOfRange
	case s.voids && l.void[i] && state == Visible:
		return Unseen
	}
	return state
}

// ahead continues the line of sight over the node before, in line with the observer.
func ahead(n int, za, eye float64) float64 { return (za-eye)/float64(n-1) + za }

// between continues the line of sight over the segment between the nodes diagonal (za) and
// straight (zb) behind, for a node i off the axis and n along it, i < n.
func between(i, n, za, zb, eye float64) float64 {
	return ((za-eye)*i+(zb-eye)*(n-i))/(n-1) + eye
}

// row settles the row n rows from the observer's, given the one before it.
func (s *sweep) row(last, this line, j, n int) {
	s.loadRow(this, j)
	out := s.out.Cells[j*s.g.NX:][:s.g.NX]
	least := last.z[s.i0]
	if n > 1 {
		least = ahead(n, last.z[s.i0], s.eye)
	}
	out[s.i0] = s.settle(this, s.i0, least, s.voids && last.void[s.i0], s.distance2(0, n))
	for _, d := range [2]int{-1, 1} {
		if s.voids || !math.IsInf(s.far2, 1) {
			s.side(last, this, out, n, d)
		} else {
			s.plainSide(last.z, this.z, out, n, d)
		}
	}
}

// side settles one half of a row, d = -1 or 1 from the observer's column.
func (s *sweep) side(last, this line, out []Visibility, n, d int) {
	for i, k := s.i0+d, 1; i >= 0 && i < s.g.NX; i, k = i+d, k+1 {
		p := i - d // the node nearer to the observer's column
		var least float64
		void := s.voids && last.void[p]
		switch {
		case k == n && n == 1:
			least = last.z[p]
		case k == n:
			least = ahead(n, last.z[p], s.eye)
		case k > n:
			least = between(float64(n), float64(k), last.z[p], this.z[p], s.eye)
			void = void || s.voids && this.void[p]
		default:
			least = between(float64(k), float64(n), last.z[p], last.z[i], s.eye)
			void = void || s.voids && last.void[i]
		}
		out[i] = s.settle(this, i, least, void, s.distance2(k, n))
	}
}

// plainSide is side for a grid without missing data and a view without limit, where nearly all the time goes.
func (s *sweep) plainSide(last, this []float64, out []Visibility, n, d int) {
	settle := func(i int, least float64) {
		v := Visible
		if z := this[i]; z+s.target < least {
			this[i] = least
			v = Hidden
		}
		out[i] = v
	}
	count := s.i0 // nodes on this side
	if d > 0 {
		count = s.g.NX - 1 - s.i0
	}
	i, eye := s.i0+d, s.eye
	per, fn := 1/float64(n-1), float64(n)
	near := last[s.i0] - eye
	for k := 1; k < min(n, count+1); k, i = k+1, i+d {
		straight := last[i] - eye
		settle(i, (near*float64(k)+straight*(fn-float64(k)))*per+eye)
		near = straight
	}
	if n <= count {
		if n == 1 {
			settle(i, last[i-d])
		} else {
			settle(i, ahead(n, last[i-d], eye))
		}
		i += d
	}
	for k := n + 1; k <= count; k, i = k+1, i+d {
		settle(i, ((last[i-d]-eye)*fn+(this[i-d]-eye)*float64(k-n))*s.inverse[k]+eye)
	}
}
