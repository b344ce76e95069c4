package terrain

import (
	"container/list"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"

	"fieldfare/model/geo"
)

// Source is anything that knows heights by geographic position.
type Source interface {
	// HeightAt returns the height at p in metres; ok is false where there is no data.
	HeightAt(p geo.LatLon) (z float64, ok bool, err error)
	// Fill gives a height to each node of g that has none and that the source covers.
	Fill(f geo.Frame, g *Grid) error
	// VerticalDatum says what heights are measured from.
	VerticalDatum() Datum
}

// Options tell a reader what a file does not say.
type Options struct {
	// CRS is used for files without a coordinate system (and in place of one
	// that a TIFF describes without an EPSG code).
	CRS CRS
	// CacheBytes bounds the memory for decoded tiles; 0 means 64 MiB. At least
	// four tiles are kept.
	CacheBytes int64
}

// Raster is an elevation file, read piece by piece as needed. It is safe for
// concurrent use.
type Raster struct {
	Width, Height int // columns and rows
	CRS           CRS
	Datum         Datum
	// OriginX and OriginY are the coordinates of the centre of the first cell; StepX and StepY
	// lead to the next column and row (StepY is negative when rows run south).
	OriginX, OriginY, StepX, StepY float64

	chunkW, chunkH int
	load           func(cx, cy int) ([]float32, error) // chunkW × chunkH heights, NaN for none
	cache          chunkCache
	overviews      []*Raster
	closer         io.Closer
}

var _ Source = (*Raster)(nil)

// Open reads the header of an elevation file: GeoTIFF (.tif, .tiff), SRTM (.hgt) or
// ESRI ASCII grid (.asc).
func Open(path string, o Options) (*Raster, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	r, err := openFile(f, path, o)
	if err != nil {
		_ = f.Close() // only read
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	r.closer = f
	return r, nil
}

func openFile(f *os.File, path string, o Options) (*Raster, error) {
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	switch strings.ToLower(filepath.Ext(path)) {
	case ".tif", ".tiff":
		return ReadGeoTIFF(f, info.Size(), o)
	case ".hgt":
		return ReadHGT(f, info.Size(), filepath.Base(path), o)
	case ".asc":
		return ReadASC(f, info.Size(), o)
	}
	return nil, fmt.Errorf("unknown kind of elevation file: expected .tif, .hgt or .asc")
}

// Close closes the file under the raster.
func (r *Raster) Close() error {
	if r.closer == nil {
		return nil
	}
	return r.closer.Close()
}

// VerticalDatum implements Source.
func (r *Raster) VerticalDatum() Datum { return r.Datum }

// Overviews returns the coarser copies that the file carries, finest first. They are
// averages or samples, so peaks may be lost: for a preview, not for clearance.
func (r *Raster) Overviews() []*Raster { return r.overviews }

// SpacingM returns about how far neighbouring columns and rows are apart, in metres, at the middle.
func (r *Raster) SpacingM() (x, y float64) {
	mid := func(dx, dy float64) geo.LatLon {
		return r.CRS.Inverse(r.OriginX+(float64(r.Width-1)/2+dx)*r.StepX, r.OriginY+(float64(r.Height-1)/2+dy)*r.StepY)
	}
	return geo.Distance(mid(0, 0), mid(1, 0)), geo.Distance(mid(0, 0), mid(0, 1))
}

// Centre returns the position of the middle of the raster.
func (r *Raster) Centre() geo.LatLon {
	return r.CRS.Inverse(r.OriginX+float64(r.Width-1)/2*r.StepX, r.OriginY+float64(r.Height-1)/2*r.StepY)
}

// SiteBounds returns a rectangle of the site frame around all of the raster.
func (r *Raster) SiteBounds(f geo.Frame) geo.Bounds {
	b := geo.Bounds{MinX: math.Inf(1), MinY: math.Inf(1), MaxX: math.Inf(-1), MaxY: math.Inf(-1)}
	const steps = 16
	for i := range steps + 1 {
		along := func(n int) float64 { return float64(i) / steps * float64(n-1) }
		for _, p := range [4][2]float64{{along(r.Width), 0}, {along(r.Width), float64(r.Height - 1)}, {0, along(r.Height)}, {float64(r.Width - 1), along(r.Height)}} {
			q := f.ToSite(r.CRS.Inverse(r.OriginX+p[0]*r.StepX, r.OriginY+p[1]*r.StepY), 0)
			b = b.Union(geo.Bounds{MinX: q.X, MinY: q.Y, MaxX: q.X, MaxY: q.Y})
		}
	}
	return b
}

// pixel returns where p lies in columns and rows, whole numbers at cell centres.
func (r *Raster) pixel(p geo.LatLon) (col, row float64) {
	x, y := r.CRS.Forward(p)
	col, row = (x-r.OriginX)/r.StepX, (y-r.OriginY)/r.StepY
	if r.CRS.Geographic() { // bring the longitude to the raster's side of 180°
		turn := 360 / math.Abs(r.StepX)
		middle := float64(r.Width-1) / 2
		col -= turn * math.Round((col-middle)/turn)
	}
	return col, row
}

// HeightAt implements Source: bilinear between cell centres, constant over the outer half cell.
func (r *Raster) HeightAt(p geo.LatLon) (z float64, ok bool, err error) {
	col, row := r.pixel(p)
	i, fx, inX := bracket(col, r.Width)
	j, fy, inY := bracket(row, r.Height)
	if !inX || !inY {
		return 0, false, nil
	}
	var v [4]float32
	if err := r.Read(i, j, 2, 2, v[:]); err != nil {
		return 0, false, err
	}
	if z = bilinear(v[0], v[1], v[2], v[3], fx, fy); math.IsNaN(z) {
		return 0, false, nil
	}
	return z, true, nil
}

// bracket returns the cell before a position among n centres and the fraction beyond it.
func bracket(at float64, n int) (i int, f float64, ok bool) {
	last := float64(n - 1)
	if !(at >= -0.5-1e-9 && at <= last+0.5+1e-9) {
		return 0, 0, false
	}
	at = math.Max(0, math.Min(last, at))
	i = int(at)
	return i, at - float64(i), true
}

// bilinear interpolates; a corner with weight zero may be NaN.
func bilinear(z00, z10, z01, z11 float32, fx, fy float64) float64 {
	if fx == 0 {
		z10, z11 = z00, z01
	}
	if fy == 0 {
		z01, z11 = z00, z10
	}
	a := float64(z00) + fx*(float64(z10)-float64(z00))
	b := float64(z01) + fx*(float64(z11)-float64(z01))
	return a + fy*(b-a)
}

// Read copies a window of heights into dst, row by row; NaN where there is no data or
// outside the raster.
func (r *Raster) Read(col, row, w, h int, dst []float32) error {
	if len(dst) < w*h {
		return fmt.Errorf("window of %d × %d heights needs %d numbers, got %d", w, h, w*h, len(dst))
	}
	if row < 0 || col < 0 || row+h > r.Height || col+w > r.Width {
		nan := float32(math.NaN())
		for j := range h {
			for i := range w {
				if y, x := row+j, col+i; y < 0 || x < 0 || y >= r.Height || x >= r.Width {
					dst[j*w+i] = nan
				}
			}
		}
	}
	x0, y0 := max(col, 0), max(row, 0)
	x1, y1 := min(col+w, r.Width), min(row+h, r.Height)
	if x0 >= x1 || y0 >= y1 {
		return nil
	}
	for cy := y0 / r.chunkH; cy <= (y1-1)/r.chunkH; cy++ {
		for cx := x0 / r.chunkW; cx <= (x1-1)/r.chunkW; cx++ {
			c, err := r.chunk(cx, cy)
			if err != nil {
				return err
			}
			fx, tx := max(x0, cx*r.chunkW), min(x1, (cx+1)*r.chunkW)
			for y := max(y0, cy*r.chunkH); y < min(y1, (cy+1)*r.chunkH); y++ {
				from := (y-cy*r.chunkH)*r.chunkW + fx - cx*r.chunkW
				copy(dst[(y-row)*w+fx-col:], c[from:from+tx-fx])
			}
		}
	}
	return nil
}

func (r *Raster) chunk(cx, cy int) ([]float32, error) {
	key := [2]int{cx, cy}
	if c := r.cache.get(key); c != nil {
		return c, nil
	}
	c, err := r.load(cx, cy)
	if err != nil {
		return nil, err
	}
	r.cache.put(key, c)
	return c, nil
}

// chunkCache keeps the chunks that were used last.
type chunkCache struct {
	mu     sync.Mutex
	limit  int
	order  *list.List // front: used last
	chunks map[[2]int]*list.Element
}

type cached struct {
	key     [2]int
	heights []float32
}

func newChunkCache(o Options, chunkCells int) chunkCache {
	bytes := o.CacheBytes
	if bytes <= 0 {
		bytes = 64 << 20
	}
	return chunkCache{limit: int(max(4, bytes/int64(4*chunkCells))), order: list.New(), chunks: map[[2]int]*list.Element{}}
}

func (c *chunkCache) get(key [2]int) []float32 {
	c.mu.Lock()
	defer c.mu.Unlock()
	e := c.chunks[key]
	if e == nil {
		return nil
	}
	c.order.MoveToFront(e)
	return e.Value.(cached).heights
}

func (c *chunkCache) put(key [2]int, heights []float32) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.chunks[key] != nil {
		return
	}
	c.chunks[key] = c.order.PushFront(cached{key, heights})
	for c.order.Len() > c.limit {
		last := c.order.Back()
		delete(c.chunks, last.Value.(cached).key)
		c.order.Remove(last)
	}
}

// Fill implements Source. Blocks of the grid are filled in parallel.
func (r *Raster) Fill(f geo.Frame, g *Grid) error {
	const block = 128
	var todo [][4]int
	for j := 0; j < g.NY; j += block {
		for i := 0; i < g.NX; i += block {
			todo = append(todo, [4]int{i, j, min(i+block, g.NX), min(j+block, g.NY)})
		}
	}
	errs := make([]error, runtime.GOMAXPROCS(0))
	parallel(len(todo), len(errs), func(worker, n int) {
		if errs[worker] == nil {
			b := todo[n]
			errs[worker] = r.fillBlock(f, g, b[0], b[1], b[2], b[3])
		}
	})
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	g.changed()
	return nil
}

// parallel calls do(worker, 0..n-1) from several goroutines, each index once.
func parallel(n, workers int, do func(worker, i int)) {
	var wg sync.WaitGroup
	next := make(chan int, n)
	for i := range n {
		next <- i
	}
	close(next)
	for w := range min(workers, n) {
		wg.Go(func() {
			for i := range next {
				do(w, i)
			}
		})
	}
	wg.Wait()
}

// maxWindow is the most cells read at once for one block of a grid.
const maxWindow = 4 << 20

func (r *Raster) fillBlock(f geo.Frame, g *Grid, i0, j0, i1, j1 int) error {
	// Project exactly on a coarse lattice of at most 160 m and interpolate between:
	// the error is d²·tan(latitude)/8R, under 1 mm up to 60°.
	step := max(1, min(16, int(160/g.CellM)))
	nx, ny := (i1-i0-1)/step+2, (j1-j0-1)/step+2
	lattice := make([][2]float64, nx*ny)
	lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for j := range ny {
		for i := range nx {
			p := f.ToLatLon(geo.Vec3{X: g.X0 + float64(i0+i*step)*g.CellM, Y: g.Y0 + float64(j0+j*step)*g.CellM})
			c, w := r.pixel(p)
			lattice[j*nx+i] = [2]float64{c, w}
			lo = [2]float64{math.Min(lo[0], c), math.Min(lo[1], w)}
			hi = [2]float64{math.Max(hi[0], c), math.Max(hi[1], w)}
		}
	}
	if hi[0] < -1 || hi[1] < -1 || lo[0] > float64(r.Width) || lo[1] > float64(r.Height) {
		return nil
	}
	c0, r0 := int(math.Floor(math.Max(lo[0], 0))), int(math.Floor(math.Max(lo[1], 0)))
	w, h := int(math.Min(hi[0], float64(r.Width)))+2-c0, int(math.Min(hi[1], float64(r.Height)))+2-r0
	if w*h > maxWindow && i1-i0 > 1 {
		im, jm := (i0+i1+1)/2, (j0+j1+1)/2
		for _, q := range [4][4]int{{i0, j0, im, jm}, {im, j0, i1, jm}, {i0, jm, im, j1}, {im, jm, i1, j1}} {
			if q[0] < q[2] && q[1] < q[3] {
				if err := r.fillBlock(f, g, q[0], q[1], q[2], q[3]); err != nil {
					return err
				}
			}
		}
		return nil
	}
	window := make([]float32, w*h)
	if err := r.Read(c0, r0, w, h, window); err != nil {
		return err
	}
	for j := j0; j < j1; j++ {
		lj, fj := (j-j0)/step, float64((j-j0)%step)/float64(step)
		for i := i0; i < i1; i++ {
			at := j*g.NX + i
			if !isNaN(g.Z[at]) {
				continue
			}
			li, fi := (i-i0)/step, float64((i-i0)%step)/float64(step)
			var pos [2]float64
			for k := range 2 {
				q := lattice[lj*nx+li:]
				top := q[0][k] + fi*(q[1][k]-q[0][k])
				bottom := q[nx][k] + fi*(q[nx+1][k]-q[nx][k])
				pos[k] = top + fj*(bottom-top)
			}
			ci, fx, inX := bracket(pos[0], r.Width)
			ri, fy, inY := bracket(pos[1], r.Height)
			if !inX || !inY {
				continue
			}
			n := (ri-r0)*w + ci - c0
			g.Z[at] = float32(bilinear(window[n], window[n+1], window[n+w], window[n+w+1], fx, fy))
		}
	}
	return nil
}

// Mosaic is several sources side by side; where they overlap the first one with data counts.
type Mosaic []Source

var _ Source = Mosaic(nil)

// HeightAt implements Source.
func (m Mosaic) HeightAt(p geo.LatLon) (z float64, ok bool, err error) {
	for _, s := range m {
		if z, ok, err = s.HeightAt(p); ok || err != nil {
			return z, ok, err
		}
	}
	return 0, false, nil
}

// Fill implements Source.
func (m Mosaic) Fill(f geo.Frame, g *Grid) error {
	for _, s := range m {
		if err := s.Fill(f, g); err != nil {
			return err
		}
	}
	return nil
}

// VerticalDatum implements Source; sources that differ are named in the note.
func (m Mosaic) VerticalDatum() Datum {
	if len(m) == 0 {
		return unstatedDatum
	}
	d := m[0].VerticalDatum()
	for _, s := range m[1:] {
		if o := s.VerticalDatum(); o.Name != d.Name {
			return Datum{Name: "mixed: " + d.Name + "; " + o.Name, Note: "steps where the files meet; " + geoidNote}
		}
	}
	return d
}
