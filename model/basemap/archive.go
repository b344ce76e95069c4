package basemap

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"html"
	"image"
	"image/draw"
	"io"
	"io/fs"
	"math"
	"regexp"
	"sort"
	"strings"

	"golang.org/x/image/webp"
)

// The head of a tile archive (PMTiles specification version 3, section 3: 127 bytes, little-endian).
const (
	archiveMagic   = "PMTiles"
	archiveVersion = 3
	headBytes      = 127
	tilesVector    = 1 // Mapbox Vector Tiles
	tilesWebP      = 4
	tilesAVIF      = 5
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
	if kind < tilesVector || kind > tilesAVIF {
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
	m.Credit = credit(r, head)
	return m, nil
}

// most bytes of one part of an archive, packed and unpacked.
const largestPart = 32 << 20

// Ways of packing (section 3.4).
const (
	packedPlain = 1
	packedGzip  = 2
)

// part reads and unpacks a piece of an archive.
func part(r io.ReaderAt, offset, length uint64, packed byte) ([]byte, error) {
	if length > largestPart || offset > math.MaxInt64-largestPart {
		return nil, fmt.Errorf("has a part of %d bytes at byte %d: at most %d MB are read", length, offset, largestPart>>20)
	}
	var from io.Reader = io.NewSectionReader(r, int64(offset), int64(length))
	switch packed {
	case packedPlain:
	case packedGzip:
		unpacked, err := gzip.NewReader(from)
		if err != nil {
			return nil, fmt.Errorf("is damaged at byte %d: %w", offset, err)
		}
		from = unpacked
	default:
		return nil, fmt.Errorf("is packed in way %d: expected plain or gzip; pack it anew", packed)
	}
	data, err := io.ReadAll(io.LimitReader(from, largestPart+1))
	switch {
	case err != nil:
		return nil, fmt.Errorf("is damaged at byte %d: %w", offset, err)
	case len(data) > largestPart:
		return nil, fmt.Errorf("has a part of more than %d MB at byte %d", largestPart>>20, offset)
	case packed == packedPlain && uint64(len(data)) < length:
		return nil, fmt.Errorf("is cut off: a part of %d bytes at byte %d is not whole", length, offset)
	}
	return data, nil
}

var markup = regexp.MustCompile(`<[^>]*>`)

// credit is the metadata's attribution as plain words; empty where there is none that can be read.
func credit(r io.ReaderAt, head []byte) string {
	at := func(k int) uint64 { return binary.LittleEndian.Uint64(head[k:]) }
	var told struct{ Attribution string }
	data, err := part(r, at(24), at(32), head[97])
	if err != nil || json.Unmarshal(data, &told) != nil {
		return ""
	}
	return strings.Join(strings.Fields(html.UnescapeString(markup.ReplaceAllString(told.Attribution, ""))), " ")
}

// entry of a directory (section 4): run tiles from an id on are the same piece; run 0 is a directory of its own.
type entry struct{ id, run, length, offset uint64 }

// archive is an open tile archive.
type archive struct {
	r             io.ReaderAt
	root          []entry
	leaves, tiles uint64 // where the sections begin
	inner, outer  byte   // how directories and tiles are packed
	kind          byte
	known         map[uint64][]entry // directories read before
}

func openArchive(r io.ReaderAt) (*archive, error) {
	head := make([]byte, headBytes)
	if _, err := r.ReadAt(head, 0); err != nil {
		return nil, err
	}
	at := func(k int) uint64 { return binary.LittleEndian.Uint64(head[k:]) }
	a := &archive{r: r, leaves: at(40), tiles: at(56), inner: head[97], outer: head[98], kind: head[99], known: map[uint64][]entry{}}
	data, err := part(r, at(8), at(16), a.inner)
	if err != nil {
		return nil, err
	}
	a.root, err = directory(data)
	return a, err
}

// directory reads four rows of numbers: steps of the ids, runs, lengths, and offsets, of which 0 is "right behind".
func directory(data []byte) ([]entry, error) {
	broken := false
	next := func() uint64 {
		v, n := binary.Uvarint(data)
		if n <= 0 {
			broken = true
			return 0
		}
		data = data[n:]
		return v
	}
	n := next()
	if broken || n > uint64(len(data))/4 {
		return nil, errors.New("has a broken directory")
	}
	all, id := make([]entry, n), uint64(0)
	for i := range all {
		id += next()
		all[i].id = id
	}
	for i := range all {
		all[i].run = next()
	}
	for i := range all {
		all[i].length = next()
	}
	for i := range all {
		switch v := next(); {
		case v > 0:
			all[i].offset = v - 1
		case i > 0:
			all[i].offset = all[i-1].offset + all[i-1].length
		default:
			broken = true
		}
	}
	if broken {
		return nil, errors.New("has a broken directory")
	}
	return all, nil
}

// tileID numbers the tiles of all zooms along Hilbert curves (section 4.1).
func tileID(z, x, y int) uint64 {
	id := (uint64(1)<<(2*z) - 1) / 3
	n := 1 << z
	for s := n / 2; s > 0; s /= 2 {
		rx, ry := 0, 0
		if x&s > 0 {
			rx = 1
		}
		if y&s > 0 {
			ry = 1
		}
		id += uint64(s) * uint64(s) * uint64((3*rx)^ry)
		if ry == 0 {
			if rx == 1 {
				x, y = n-1-x, n-1-y
			}
			x, y = y, x
		}
	}
	return id
}

// deepest is how many directories lead to a tile at most; writers make two.
const deepest = 4

// tile is a tile's bytes, nil where the archive has none.
func (a *archive) tile(z, x, y int) ([]byte, error) {
	id, in := tileID(z, x, y), a.root
	for range deepest {
		k := sort.Search(len(in), func(i int) bool { return in[i].id > id }) - 1
		switch {
		case k < 0:
			return nil, nil
		case in[k].run > 0:
			if id-in[k].id >= in[k].run {
				return nil, nil
			}
			return part(a.r, a.tiles+in[k].offset, in[k].length, a.outer)
		}
		leaf, ok := a.known[in[k].offset]
		if !ok {
			data, err := part(a.r, a.leaves+in[k].offset, in[k].length, a.inner)
			if err != nil {
				return nil, err
			}
			if leaf, err = directory(data); err != nil {
				return nil, err
			}
			a.known[in[k].offset] = leaf
		}
		in = leaf
	}
	return nil, errors.New("has directories within directories without end")
}

// decode turns a tile into pixels; side is the wish of one drawn from lines and areas.
func (a *archive) decode(data []byte, side int) (*image.NRGBA, error) {
	if a.kind == tilesVector {
		return drawVector(data, side)
	}
	if a.kind == tilesAVIF {
		return nil, errors.New("holds AVIF tiles, which are not read here: expected PNG, JPEG, WebP, or lines and areas")
	}
	decodeHead, decode := image.DecodeConfig, image.Decode
	if a.kind == tilesWebP {
		decodeHead = func(r io.Reader) (image.Config, string, error) { c, err := webp.DecodeConfig(r); return c, "webp", err }
		decode = func(r io.Reader) (image.Image, string, error) { i, err := webp.Decode(r); return i, "webp", err }
	}
	head, _, err := decodeHead(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("holds a tile that is not a picture of its kind: %w", err)
	}
	if head.Width != head.Height || head.Width < 2 || head.Width > largestTile {
		return nil, fmt.Errorf("holds a tile of %d × %d pixels: expected a square of 2 to %d", head.Width, head.Height, largestTile)
	}
	img, _, err := decode(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("holds a damaged tile: %w", err)
	}
	out := image.NewNRGBA(image.Rect(0, 0, head.Width, head.Height))
	draw.Draw(out, out.Bounds(), img, img.Bounds().Min, draw.Src)
	return out, nil
}

// largestTile is the side of the largest tile in pixels.
const largestTile = 4096

// drawArchive lays the tiles that a drawing needs side by side and draws from there.
func drawArchive(files fs.FS, m *Map, w, h int, place Place) (*image.NRGBA, error) {
	f, err := files.Open(m.Name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	r, ok := f.(io.ReaderAt)
	if !ok {
		return nil, errors.New("is not a file")
	}
	a, err := openArchive(r)
	if err != nil {
		return nil, err
	}
	// What the drawing spans of the web map's square, and how many pixels it would have across all of that.
	left, top, right, bottom := 1.0, 1.0, 0.0, 0.0
	for y := 0; y < h+lattice; y += lattice {
		for x := 0; x < w+lattice; x += lattice {
			u, v := mercator(place(float64(x), float64(y)))
			left, top, right, bottom = min(left, u), min(top, v), max(right, u), max(bottom, v)
		}
	}
	u0, v0 := mercator(place(float64(w)/2, float64(h)/2))
	u1, v1 := mercator(place(float64(w)/2+1, float64(h)/2))
	want := math.Log2(1 / (tileSize * math.Hypot(u1-u0, v1-v0))) // the zoom whose pixels are as large as the drawing's
	z := int(math.Max(float64(m.MinZoom), math.Min(float64(m.MaxZoom), math.Round(want))))
	n := 1 << z
	cell := func(t float64) int { return max(0, min(n-1, int(math.Floor(t*float64(n))))) }
	x0, x1, y0, y1 := cell(left), cell(right), cell(top), cell(bottom)
	side := tileSize
	for k := float64(z); k < want-0.5 && side < largestTile/2 && a.kind == tilesVector; k++ {
		side *= 2 // lines are drawn as fine as the drawing is
	}
	room := func() bool { return (x1-x0+1)*(y1-y0+1) <= LargestPixels/(side*side) }
	for a.kind == tilesVector && side > tileSize && !room() {
		side /= 2
	}
	out := image.NewNRGBA(image.Rect(0, 0, w, h))
	var whole *image.NRGBA
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			data, err := a.tile(z, x, y)
			if err != nil {
				return nil, err
			}
			if data == nil {
				continue
			}
			tile, err := a.decode(data, side)
			if err != nil {
				return nil, err
			}
			if whole == nil {
				if side = tile.Rect.Dx(); !room() {
					return nil, fmt.Errorf("has no zoom below %d: too many tiles for a drawing of this size", z)
				}
				whole = image.NewNRGBA(image.Rect(0, 0, (x1-x0+1)*side, (y1-y0+1)*side))
			}
			if tile.Rect.Dx() != side {
				return nil, fmt.Errorf("holds tiles of %d and of %d pixels at zoom %d", side, tile.Rect.Dx(), z)
			}
			draw.Draw(whole, image.Rect((x-x0)*side, (y-y0)*side, (x-x0+1)*side, (y-y0+1)*side), tile, image.Point{}, draw.Src)
		}
	}
	if whole == nil {
		return out, nil
	}
	return warp(copies(whole), w, h, func(x, y float64) (col, row float64) {
		u, v := mercator(place(x, y))
		return (u*float64(n) - float64(x0)) * float64(side), (v*float64(n) - float64(y0)) * float64(side)
	}), nil
}
