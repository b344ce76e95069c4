package terrain

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
)

var hgtName = regexp.MustCompile(`(?i)^([NS])(\d{2})([EW])(\d{3})`)

// ReadHGT reads an SRTM tile of 1 or 3 seconds of arc. The tile's place comes from its file
// name, for example N46E010.hgt, which names the south-west corner.
func ReadHGT(r io.ReaderAt, size int64, name string, o Options) (*Raster, error) {
	m := hgtName.FindStringSubmatch(name)
	if m == nil {
		return nil, fmt.Errorf("file name %q does not tell where the tile lies: expected a name like N46E010.hgt", name)
	}
	lat, _ := strconv.Atoi(m[2])
	lon, _ := strconv.Atoi(m[4])
	if strings.EqualFold(m[1], "S") {
		lat = -lat
	}
	if strings.EqualFold(m[3], "W") {
		lon = -lon
	}
	if lat < -90 || lat > 89 || lon < -180 || lon > 179 {
		return nil, fmt.Errorf("file name %q: no such tile on the Earth", name)
	}
	n := 0
	switch size {
	case 2 * 1201 * 1201:
		n = 1201
	case 2 * 3601 * 3601:
		n = 3601
	default:
		return nil, fmt.Errorf("SRTM tile has %d bytes: expected %d (3 seconds of arc) or %d (1 second); it may be cut off or still packed", size, 2*1201*1201, 2*3601*3601)
	}
	crs, err := EPSG(4326)
	if err != nil {
		return nil, err
	}
	step := 1 / float64(n-1)
	const rows = 16
	t := &Raster{
		Width: n, Height: n, CRS: crs, Datum: datumOf(5773),
		OriginX: float64(lon), OriginY: float64(lat + 1), StepX: step, StepY: -step,
		chunkW: n, chunkH: rows, cache: newChunkCache(o, n*rows),
	}
	t.load = func(_, cy int) ([]float32, error) {
		count := min(rows, n-cy*rows) * n
		raw := make([]byte, 2*count)
		if _, err := r.ReadAt(raw, int64(cy)*rows*int64(n)*2); err != nil && err != io.EOF {
			return nil, fmt.Errorf("SRTM tile, row %d: %w", cy*rows, err)
		}
		out := make([]float32, n*rows)
		for i := range out {
			out[i] = float32(math.NaN())
			if i < count {
				if v := int16(binary.BigEndian.Uint16(raw[2*i:])); v != -32768 {
					out[i] = float32(v)
				}
			}
		}
		return out, nil
	}
	return t, nil
}
