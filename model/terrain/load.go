package terrain

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
)

// Load reads the ground around a site from one or more elevation files into a grid: what they cover within reachM east,
// west, north and south of the frame's origin, with cells as fine as the finest file's. Where files overlap the
// first one counts.
func Load(f geo.Frame, reachM float64, o Options, paths ...string) (*Grid, error) {
	var sources Mosaic
	covered := geo.Bounds{MinX: math.Inf(1), MinY: math.Inf(1), MaxX: math.Inf(-1), MaxY: math.Inf(-1)}
	cell, nearest := math.Inf(1), math.Inf(1)
	for _, path := range paths {
		r, err := Open(path, o)
		if err != nil {
			return nil, err
		}
		defer r.Close()
		away := geo.Distance(f.Origin(), r.Centre())
		nearest = math.Min(nearest, away)
		x, y := r.SpacingM()
		if away > reachM+math.Hypot(x*float64(r.Width), y*float64(r.Height)) {
			continue // and too far for the frame's projection
		}
		b := r.SiteBounds(f)
		b = geo.Bounds{MinX: math.Max(b.MinX, -reachM), MinY: math.Max(b.MinY, -reachM), MaxX: math.Min(b.MaxX, reachM), MaxY: math.Min(b.MaxY, reachM)}
		if b.MinX >= b.MaxX || b.MinY >= b.MaxY {
			continue
		}
		sources = append(sources, r)
		covered = covered.Union(b)
		cell = math.Min(cell, math.Min(x, y))
	}
	if len(sources) == 0 {
		if len(paths) == 0 {
			return nil, fmt.Errorf("no elevation file given")
		}
		return nil, fmt.Errorf("no elevation file reaches the site at %v: the middle of the nearest is %.0f km away; check the site's coordinates", f.Origin(), nearest/1000)
	}
	return Resample(sources, f, covered, cell)
}
