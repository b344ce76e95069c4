package basemap

import (
	"image"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

const tileSize = 256

// lattice is how far apart, in pixels of a drawing, places are worked out; between them they are linear.
const lattice = 16

// Place tells where a point of a drawing lies; x runs right and y down from its upper left corner, in pixels.
type Place func(x, y float64) geo.LatLon

// Tile draws one tile of 256 × 256 pixels; what the picture does not cover is left clear. ok is false where nothing is covered.
func (s *Sheet) Tile(z, x, y int) (tile *image.NRGBA, ok bool) {
	all := math.Exp2(float64(z)) * tileSize
	tile = s.Warp(tileSize, tileSize, func(px, py float64) geo.LatLon {
		return unmercator((float64(x*tileSize)+px)/all, (float64(y*tileSize)+py)/all)
	})
	for k := 3; k < len(tile.Pix) && !ok; k += 4 {
		ok = tile.Pix[k] > 0
	}
	return tile, ok
}

// Warp draws the picture into w × h pixels that lie where place says; what it does not cover is left clear.
func (s *Sheet) Warp(w, h int, place Place) *image.NRGBA {
	return warp(s.levels, w, h, func(x, y float64) (col, row float64) {
		e, north := s.place.CRS.Forward(place(x, y))
		col, row, _ = s.place.Pixel(e, north)
		return col, row
	})
}

// unmercator is where a point of the web map's square lies; u and v run from 0 to 1, right from 180° west and down from
// the north (EPSG Guidance Note 7-2, method 1024).
func unmercator(u, v float64) geo.LatLon {
	return geo.LatLon{Lat: unit.Angle(math.Atan(math.Sinh(math.Pi * (1 - 2*v)))), Lon: unit.Angle((u*2 - 1) * math.Pi)}
}

// mercator is the other way.
func mercator(p geo.LatLon) (u, v float64) {
	return (float64(p.Lon)/math.Pi + 1) / 2, (1 - math.Asinh(math.Tan(float64(p.Lat)))/math.Pi) / 2
}

// warp draws a picture, given with copies of half, a quarter … its size, into w × h pixels; from tells which column and
// row of the picture belong to a point of the drawing.
func warp(levels []*image.NRGBA, w, h int, from func(x, y float64) (col, row float64)) *image.NRGBA {
	nx, ny := (w+lattice-1)/lattice+1, (h+lattice-1)/lattice+1
	at := make([][2]float64, nx*ny)
	for j := range ny {
		for i := range nx {
			at[j*nx+i][0], at[j*nx+i][1] = from(float64(i*lattice), float64(j*lattice))
		}
	}
	// The copy whose pixels are about as far apart as the drawing's.
	mid := ny/2*nx + (nx-1)/2
	step := math.Hypot(at[mid+1][0]-at[mid][0], at[mid+1][1]-at[mid][1]) / lattice
	level := int(math.Max(0, math.Min(float64(len(levels)-1), math.Round(math.Log2(math.Max(step, 1))))))
	source := levels[level]
	shrink := math.Exp2(float64(level))
	width, height := float64(levels[0].Rect.Dx()), float64(levels[0].Rect.Dy())
	out := image.NewNRGBA(image.Rect(0, 0, w, h))
	for j := range h {
		v, fv := (j*2+1)/(2*lattice), (float64(j)+0.5)/lattice
		fv -= float64(v)
		for i := range w {
			u, fu := (i*2+1)/(2*lattice), (float64(i)+0.5)/lattice
			fu -= float64(u)
			a, b, c, d := at[v*nx+u], at[v*nx+u+1], at[(v+1)*nx+u], at[(v+1)*nx+u+1]
			col := (a[0]*(1-fu)+b[0]*fu)*(1-fv) + (c[0]*(1-fu)+d[0]*fu)*fv
			row := (a[1]*(1-fu)+b[1]*fu)*(1-fv) + (c[1]*(1-fu)+d[1]*fu)*fv
			if !(col >= 0 && row >= 0 && col < width && row < height) {
				continue
			}
			k := out.PixOffset(i, j)
			colour(source, col/shrink-0.5, row/shrink-0.5, out.Pix[k:k+4])
		}
	}
	return out
}

// colour writes the colour between four pixels' centres, each weighed by its opacity.
func colour(img *image.NRGBA, x, y float64, out []byte) {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	x, y = math.Max(0, math.Min(float64(w-1), x)), math.Max(0, math.Min(float64(h-1), y))
	i, j := min(int(x), w-2), min(int(y), h-2)
	fx, fy := x-float64(i), y-float64(j)
	var sum [3]float64
	alpha := 0.0
	for k, weight := range [4]float64{(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy} {
		p := img.Pix[img.PixOffset(i+k%2, j+k/2):]
		a := weight * float64(p[3])
		alpha += a
		for c := range 3 {
			sum[c] += a * float64(p[c])
		}
	}
	if alpha > 0 {
		for c := range 3 {
			out[c] = uint8(sum[c]/alpha + 0.5)
		}
	}
	out[3] = uint8(alpha + 0.5)
}
