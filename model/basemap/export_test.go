package basemap

import "bytes"

// LonLat is where a pixel's corner lies.
func LonLat(m *Map, col, row float64) (lon, lat float64) { return m.lonLat(col, row) }

// TileID numbers a tile.
var TileID = tileID

// Shape is the geometry of a thing in a vector tile.
type Shape struct {
	Kind  uint64
	Parts [][][2]float64
}

// Shapes reads the vector tile z/x/y of an archive.
func Shapes(archive []byte, z, x, y int) (all []Shape, err error) {
	a, err := openArchive(bytes.NewReader(archive))
	if err != nil {
		return nil, err
	}
	tile, err := a.tile(z, x, y)
	if err != nil {
		return nil, err
	}
	found, err := shapes(tile)
	for _, s := range found {
		all = append(all, Shape{s.kind, s.parts})
	}
	return all, err
}
