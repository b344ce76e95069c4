package terrain

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"sort"

	"github.com/klauspost/compress/zlib"
)

// Image is a grid of heights to be written in a coordinate system of its own.
type Image struct {
	CRS CRS
	// West and North are the outer corner of the first cell; CellX and CellY its size, both
	// positive, in the units of the CRS.
	West, North, CellX, CellY float64
	Width, Height             int
	Z                         []float32 // rows from the north; NaN for no data
	VerticalEPSG              int       // for example 5773; 0 leaves the vertical datum unstated
}

// WriteGeoTIFF writes heights as a GeoTIFF of 32-bit floats in 256 × 256 tiles, Deflate with the
// floating-point predictor, no data as NaN. The same heights give the same bytes.
func WriteGeoTIFF(w io.Writer, m Image) error {
	const tile = 256
	if m.Width < 2 || m.Height < 2 || len(m.Z) != m.Width*m.Height {
		return fmt.Errorf("GeoTIFF of %d × %d cells with %d heights", m.Width, m.Height, len(m.Z))
	}
	if m.CRS.code == 0 || !(m.CellX > 0 && m.CellY > 0) {
		return fmt.Errorf("GeoTIFF in %v with cells of %g × %g: expected a coordinate system and positive cells", m.CRS, m.CellX, m.CellY)
	}
	var body bytes.Buffer
	var offsets, counts []uint32
	const headerLen = 8
	for y := 0; y < m.Height; y += tile {
		for x := 0; x < m.Width; x += tile {
			offsets = append(offsets, uint32(headerLen+body.Len()))
			before := body.Len()
			z, err := zlib.NewWriterLevel(&body, 6)
			if err != nil {
				return err
			}
			if _, err := z.Write(m.tile(x, y, tile)); err != nil {
				return err
			}
			if err := z.Close(); err != nil {
				return err
			}
			counts = append(counts, uint32(body.Len()-before))
			if body.Len() > math.MaxInt32 {
				return fmt.Errorf("GeoTIFF of %d × %d cells is too large for a classic TIFF", m.Width, m.Height)
			}
		}
	}
	if body.Len()%2 == 1 {
		body.WriteByte(0)
	}
	keys := []uint16{1, 1, 0, 0, keyRasterType, 0, 1, 1}
	if m.CRS.Geographic() {
		keys = append(keys, keyModelType, 0, 1, modelGeographic, keyGeographic, 0, 1, uint16(m.CRS.code), keyAngularUnits, 0, 1, epsgDegree)
	} else {
		keys = append(keys, keyModelType, 0, 1, modelProjected, keyProjected, 0, 1, uint16(m.CRS.code), keyLinearUnits, 0, 1, epsgMetre)
	}
	if m.VerticalEPSG != 0 {
		keys = append(keys, keyVertical, 0, 1, uint16(m.VerticalEPSG), keyVerticalUnits, 0, 1, epsgMetre)
	}
	sortKeys(keys)
	keys[3] = uint16(len(keys)/4 - 1)
	dir := ifd{
		{tagWidth, []uint32{uint32(m.Width)}}, {tagHeight, []uint32{uint32(m.Height)}}, {tagBits, []uint16{32}},
		{tagCompression, []uint16{compressionZlib}}, {262, []uint16{1}}, {tagSamples, []uint16{1}}, {284, []uint16{1}},
		{tagPredictor, []uint16{predictorFloat}}, {tagTileWidth, []uint16{tile}}, {tagTileHeight, []uint16{tile}},
		{tagTileOffsets, offsets}, {tagTileCounts, counts}, {tagSampleFormat, []uint16{formatFloat}},
		{tagPixelScale, []float64{m.CellX, m.CellY, 0}}, {tagTiepoint, []float64{0, 0, 0, m.West, m.North, 0}},
		{tagGeoKeys, keys}, {tagNodata, []byte("nan\x00")},
	}
	header := append([]byte("II*\x00"), 0, 0, 0, 0)
	binary.LittleEndian.PutUint32(header[4:], uint32(headerLen+body.Len()))
	for _, part := range [][]byte{header, body.Bytes(), dir.encode(uint32(headerLen + body.Len()))} {
		if _, err := w.Write(part); err != nil {
			return err
		}
	}
	return nil
}

// sortKeys orders the keys after the first four words by number, as the standard wants.
func sortKeys(keys []uint16) {
	var q [][4]uint16
	for i := 4; i < len(keys); i += 4 {
		q = append(q, [4]uint16(keys[i:i+4]))
	}
	sort.Slice(q, func(i, j int) bool { return q[i][0] < q[j][0] })
	for i := range q {
		copy(keys[4+4*i:], q[i][:])
	}
}

// tile returns a tile's bytes with the floating-point predictor applied; cells past the edge repeat it.
func (m Image) tile(x0, y0, side int) []byte {
	out := make([]byte, side*side*4)
	for y := range side {
		row := out[y*side*4:][:side*4]
		for x := range side {
			u := math.Float32bits(m.Z[min(y0+y, m.Height-1)*m.Width+min(x0+x, m.Width-1)])
			for b := range 4 {
				row[b*side+x] = byte(u >> (24 - 8*b))
			}
		}
		for i := len(row) - 1; i > 0; i-- {
			row[i] -= row[i-1]
		}
	}
	return out
}

// ifd is a list of tags in rising order with their values.
type ifd []struct {
	tag    uint16
	values any
}

func (d ifd) encode(at uint32) []byte {
	le := binary.LittleEndian
	var dir, data bytes.Buffer
	dataAt := at + 2 + uint32(len(d))*12 + 4
	put := func(v any) { _ = binary.Write(&dir, le, v) } // a bytes.Buffer never fails
	put(uint16(len(d)))
	for _, e := range d {
		kind, n, size := uint16(0), 0, 0
		switch v := e.values.(type) {
		case []byte:
			kind, n, size = 2, len(v), 1
		case []uint16:
			kind, n, size = 3, len(v), 2
		case []uint32:
			kind, n, size = 4, len(v), 4
		case []float64:
			kind, n, size = 12, len(v), 8
		}
		put(e.tag)
		put(kind)
		put(uint32(n))
		if n*size <= 4 {
			start := dir.Len()
			put(e.values)
			for dir.Len() < start+4 {
				dir.WriteByte(0)
			}
			continue
		}
		put(dataAt + uint32(data.Len()))
		_ = binary.Write(&data, le, e.values)
	}
	put(uint32(0))
	return append(dir.Bytes(), data.Bytes()...)
}
