package export

import "math"

// crosses reports whether the short way between two longitudes passes 180 degrees.
func crosses(a, b float64) bool { return math.Abs(a-b) > 180 }

// cutLine cuts a line at 180 degrees of longitude: each part stays on its side.
func cutLine(line [][]float64) (parts [][][]float64) {
	part := [][]float64{}
	for i, p := range line {
		if i > 0 && crosses(line[i-1][0], p[0]) {
			a := line[i-1]
			side := math.Copysign(180, a[0])
			b := p[0] + math.Copysign(360, a[0]) // p as seen from a's side
			t := (side - a[0]) / (b - a[0])
			edge := make([]float64, len(p))
			for k := 1; k < len(p); k++ {
				edge[k] = a[k] + t*(p[k]-a[k])
			}
			edge[0] = side
			far := append([]float64(nil), edge...)
			far[0] = -side
			parts, part = append(parts, append(part, edge)), [][]float64{far}
		}
		part = append(part, p)
	}
	return append(parts, part)
}

// cutArea cuts a polygon at 180 degrees into the piece on each side, by clipping each ring against
// the meridian (Sutherland and Hodgman 1974). Rings are closed and keep their direction.
func cutArea(rings [][][]float64) [][][][]float64 {
	whole := true
	for _, r := range rings {
		for i := 1; i < len(r); i++ {
			whole = whole && !crosses(r[i-1][0], r[i][0])
		}
	}
	if whole {
		return [][][][]float64{rings}
	}
	var east, west [][][]float64
	for _, r := range rings {
		open := make([][]float64, len(r)-1)
		for i := range open { // one sheet of longitudes from 0 to 360
			open[i] = []float64{math.Mod(r[i][0]+360, 360), r[i][1]}
		}
		if e := clip(open, func(lon float64) bool { return lon <= 180 }); len(e) >= 4 {
			east = append(east, e)
		}
		if w := clip(open, func(lon float64) bool { return lon >= 180 }); len(w) >= 4 {
			for _, p := range w {
				p[0] -= 360
			}
			west = append(west, w)
		}
	}
	var out [][][][]float64
	for _, side := range [][][][]float64{east, west} {
		if len(side) > 0 {
			out = append(out, side)
		}
	}
	return out
}

// clip keeps the part of an open ring for which keep holds, and closes it.
func clip(ring [][]float64, keep func(lon float64) bool) (out [][]float64) {
	for i, b := range ring {
		a := ring[(i+len(ring)-1)%len(ring)]
		if keep(a[0]) != keep(b[0]) {
			t := (180 - a[0]) / (b[0] - a[0])
			out = append(out, []float64{180, a[1] + t*(b[1]-a[1])})
		}
		if keep(b[0]) {
			out = append(out, append([]float64(nil), b...))
		}
	}
	if len(out) > 0 {
		out = append(out, append([]float64(nil), out[0]...))
	}
	return out
}
