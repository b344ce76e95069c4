package basemap

import (
	"image"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

const tileSize = 256

// lattice is how far apart, in pixels of a tile, places are worked out; between them they are linear.
const lattice = 16

// Tile draws one tile of 256 × 256 pixels; what the picture does not cover is left clear. ok is false where nothing is covered.
func (s *Sheet) Tile(z, x, y int) (tile *image.NRGBA, ok bool) {
	const n = tileSize/lattice + 1
	var at [n][n][2]float64 // column and row of the picture
	all := math.Exp2(float64(z)) * tileSize
	for j := range n {
		lat := math.Atan(math.Sinh(math.Pi * (1 - 2*float64(y*tileSize+j*lattice)/all)))
		for i := range n {
			lon := (float64(x*tileSize+i*lattice)/all*2 - 1) * math.Pi
			e, north := s.place.CRS.Forward(geo.LatLon{Lat: unit.Angle(lat), Lon: unit.Angle(lon)})
			col, row, _ := s.place.Pixel(e, north)
			at[j][i] = [2]float64{col, row}
		}
	}
	// The copy whose pixels are about as far apart as the tile's.
	step := math.Hypot(at[n/2][n/2+1][0]-at[n/2][n/2][0], at[n/2][n/2+1][1]-at[n/2][n/2][1]) / lattice
	level := int(math.Max(0, math.Min(float64(len(s.levels)-1), math.Round(math.Log2(math.Max(step, 1))))))
	from := s.levels[level]
	shrink := math.Exp2(float64(level))
	tile = image.NewNRGBA(image.Rect(0, 0, tileSize, tileSize))
	for j := range tileSize {
		v, fv := (j*2+1)/(2*lattice), (float64(j)+0.5)/lattice
		fv -= float64(v)
		for i := range tileSize {
			u, fu := (i*2+1)/(2*lattice), (float64(i)+0.5)/lattice
			fu -= float64(u)
			a, b, c, d := at[v][u], at[v][u+1], at[v+1][u], at[v+1][u+1]
			col := (a[0]*(1-fu)+b[0]*fu)*(1-fv) + (c[0]*(1-fu)+d[0]*fu)*fv
			row := (a[1]*(1-fu)+b[1]*fu)*(1-fv) + (c[1]*(1-fu)+d[1]*fu)*fv
			if !(col >= 0 && row >= 0 && col < float64(s.Width) && row < float64(s.Height)) {
				continue
			}
			k := tile.PixOffset(i, j)
			colour(from, col/shrink-0.5, row/shrink-0.5, tile.Pix[k:k+4])
			ok = ok || tile.Pix[k+3] > 0
		}
	}
	return tile, ok
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
