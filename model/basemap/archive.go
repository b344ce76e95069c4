package basemap

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

// The head of a tile archive (PMTiles specification version 3, section 3: 127 bytes, little-endian).
const (
	archiveMagic   = "PMTiles"
	archiveVersion = 3
	headBytes      = 127
	tilesVector    = 1 // Mapbox Vector Tiles
	tilesLast      = 5 // PNG, JPEG, WebP, AVIF
)

func readArchive(r io.ReaderAt, name string) (*Map, error) {
	head := make([]byte, headBytes)
	if _, err := r.ReadAt(head, 0); err != nil {
		if errors.Is(err, io.EOF) {
			return nil, errors.New("is too short for a tile archive: it may be cut off")
		}
		return nil, err
	}
	if string(head[:7]) != archiveMagic {
		return nil, errors.New("does not begin like a PMTiles archive")
	}
	if head[7] != archiveVersion {
		return nil, fmt.Errorf("is a PMTiles archive of version %d: expected %d", head[7], archiveVersion)
	}
	kind := head[99]
	if kind < tilesVector || kind > tilesLast {
		return nil, fmt.Errorf("holds tiles of kind %d: expected vector tiles, PNG, JPEG, WebP or AVIF", kind)
	}
	degrees := func(at int) float64 { return float64(int32(binary.LittleEndian.Uint32(head[at:]))) / 1e7 }
	m := &Map{Name: name, Kind: Archive, Vector: kind == tilesVector, MinZoom: int(head[100]), MaxZoom: int(head[101]),
		West: degrees(102), South: degrees(106), East: degrees(110), North: degrees(114)}
	if m.MinZoom > m.MaxZoom || m.MaxZoom > 30 {
		return nil, fmt.Errorf("holds zooms %d to %d", m.MinZoom, m.MaxZoom)
	}
	if !(m.West <= m.East && m.South <= m.North && m.West >= -180 && m.East <= 180 && m.South >= -90 && m.North <= 90) {
		return nil, fmt.Errorf("lies from %.7g to %.7g east and %.7g to %.7g north", m.West, m.East, m.South, m.North)
	}
	return m, nil
}
