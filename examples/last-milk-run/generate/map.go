package main

import (
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"strings"

	"fieldfare/model/geo"
)

// The demo's base map: what grows and lies on the invented valley, as a commune's field sheet would have it.
const (
	sheetM      = 4.0 // a pixel
	sheetWest   = -1500.0
	sheetSouth  = -900.0
	sheetWidth  = 3000.0
	sheetHeight = 2400.0
)

// What lies on the ground, by its place in the palette.
const (
	pasture = iota
	hay
	mown
	barley
	hedge
	wood
	crown
	scree
	stone
	gravel
	water
	casing
	track
	footpath
	house
)

var sheetInks = color.Palette{
	color.NRGBA{0xd9, 0xde, 0xb4, 255}, color.NRGBA{0xc9, 0xd8, 0x9a, 255}, color.NRGBA{0xdf, 0xe0, 0xa6, 255}, color.NRGBA{0xea, 0xdc, 0xa0, 255},
	color.NRGBA{0x93, 0xa8, 0x70, 255}, color.NRGBA{0xa9, 0xc0, 0x8a, 255}, color.NRGBA{0x7c, 0x9a, 0x66, 255}, color.NRGBA{0xdd, 0xd3, 0xbf, 255},
	color.NRGBA{0xb9, 0xae, 0x9a, 255}, color.NRGBA{0xe6, 0xdf, 0xd0, 255}, color.NRGBA{0x7f, 0xaa, 0xc4, 255}, color.NRGBA{0x86, 0x76, 0x58, 255},
	color.NRGBA{0xfb, 0xf6, 0xe6, 255}, color.NRGBA{0x9a, 0x6c, 0x3c, 255}, color.NRGBA{0x5a, 0x4a, 0x42, 255},
}

// writeSheet draws the map and its world file, in the UTM zone of the terrain.
func writeSheet(path string) error {
	corner, err := geo.ToUTM(frame.Origin())
	if err != nil {
		return err
	}
	utm, err := geo.UTMProjection(corner.Zone, true)
	if err != nil {
		return err
	}
	west, north := math.Round(corner.EastingM)+sheetWest, math.Round(corner.NorthingM)+sheetSouth+sheetHeight
	img := image.NewPaletted(image.Rect(0, 0, int(sheetWidth/sheetM), int(sheetHeight/sheetM)), sheetInks)
	site := func(col, row float64) (x, y float64) {
		p := frame.ToSite(utm.Inverse(west+col*sheetM, north-row*sheetM), 0)
		return p.X, p.Y
	}
	for row := range img.Rect.Dy() {
		for col := range img.Rect.Dx() {
			x, y := site(float64(col)+0.5, float64(row)+0.5)
			img.SetColorIndex(col, row, cover(x, y))
		}
	}
	s := sheet{img, func(x, y float64) (col, row float64) {
		e, n := utm.Forward(frame.ToLatLon(geo.Vec3{X: x, Y: y}))
		return (e - west) / sheetM, (north - n) / sheetM
	}}
	s.stroke([][2]float64{{chapelX - 30, stream(chapelX) + 42}, {chapelX - 60, 120}, {chapelX - 20, 170}, {chapelX, chapelY - 8}}, 3, footpath, 10)
	s.stroke([][2]float64{{668, 885}, {820, 1010}, {760, 1150}, {900, 1290}, {980, 1420}}, 3, footpath, 10)
	s.stroke(road(), 11, casing, 0)
	s.stroke(road(), 6, track, 0)
	s.stroke([][2]float64{{bridgeX, stream(bridgeX) - 24}, {bridgeX, stream(bridgeX) + 42}}, 6, track, 0)
	s.stroke([][2]float64{{bridgeX, stream(bridgeX) - 24}, {140, -140}, {-120, -210}, {-420, -330}, {-700, -420}}, 3, footpath, 10)
	for _, h := range [][2]float64{{0, 70}, {28, 92}, {55, 74}, {78, 108}, {20, 128}, {52, 140}, {chapelX, chapelY}, {chapelX - 9, chapelY - 1}, {dairyX, dairyY}, {dairyX + 34, dairyY - 12}} {
		s.stroke([][2]float64{{h[0] - 5, h[1]}, {h[0] + 5, h[1]}}, 11, house, 0)
	}
	if err := save(path, func(f *os.File) error { return (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(f, img) }); err != nil {
		return err
	}
	world := fmt.Sprintf("%g\n0\n0\n%g\n%.1f\n%.1f\n", sheetM, -sheetM, west+sheetM/2, north-sheetM/2)
	return os.WriteFile(strings.TrimSuffix(path, ".png")+".pgw", []byte(world), 0o644)
}

// cover is what lies at a place.
func cover(x, y float64) uint8 {
	across := y - stream(x)
	d := math.Abs(across)
	bank := 22 + 10*noise(x/60, y/60, 11)
	switch {
	case d < 4.5:
		return water
	case d < bank:
		return gravel
	}
	z := height(x, y)
	steep := math.Hypot(height(x+8, y)-height(x-8, y), height(x, y+8)-height(x, y-8)) / 16
	if d < 210+40*noise(x/200, 3, 12) && steep < 0.5 {
		return field(x, across)
	}
	grown := noise(x/170, y/170, 13) + 0.45*noise(x/48, y/48, 14) - math.Abs(z-1700)/520 + 0.3
	switch {
	case steep > 0.95 && noise(x/40, y/40, 15) > -0.2:
		return stone
	case steep > 0.75 && noise(x/90, y/90, 16) > 0:
		return scree
	case grown > 0:
		return tree(x, y)
	}
	return pasture
}

// field is one of the hay meadows along the stream: strips of uneven width between hedges.
func field(x, across float64) uint8 {
	u := x + 0.35*across + 26*noise(x/300, across/300, 17)
	i := math.Floor(u / 118)
	side := math.Floor(across / 96)
	if u-i*118 < 5 || across-side*96 < 5 {
		return hedge
	}
	switch v := lattice(int64(i), int64(side), 18); {
	case v < -0.35:
		return hay
	case v < 0.2:
		return mown
	case v < 0.45:
		return barley
	}
	return pasture
}

// tree is wood: crowns that stand unevenly, one to a square of 14 m.
func tree(x, y float64) uint8 {
	i, j := math.Floor(x/14), math.Floor(y/14)
	cx, cy := (i+0.5+0.3*lattice(int64(i), int64(j), 19))*14, (j+0.5+0.3*lattice(int64(i), int64(j), 20))*14
	if math.Hypot(x-cx, y-cy) < 4.6 {
		return crown
	}
	return wood
}

type sheet struct {
	img   *image.Paletted
	pixel func(x, y float64) (col, row float64)
}

// stroke draws a line of a width in metres, in dashes of a length unless that is 0.
func (s sheet) stroke(way [][2]float64, width float64, ink uint8, dash float64) {
	along := 0.0
	for i := 0; i+1 < len(way); i++ {
		a, b := way[i], way[i+1]
		long := math.Hypot(b[0]-a[0], b[1]-a[1])
		for d := 0.0; d <= long; d += sheetM / 2 {
			if dash > 0 && math.Mod(along+d, 2*dash) > dash {
				continue
			}
			col, row := s.pixel(a[0]+(b[0]-a[0])*d/long, a[1]+(b[1]-a[1])*d/long)
			r := width / 2 / sheetM
			for y := math.Floor(row - r); y <= row+r; y++ {
				for x := math.Floor(col - r); x <= col+r; x++ {
					if math.Hypot(x+0.5-col, y+0.5-row) <= max(r, 0.71) && (image.Point{int(x), int(y)}).In(s.img.Rect) {
						s.img.SetColorIndex(int(x), int(y), ink)
					}
				}
			}
		}
		along += long
	}
}
