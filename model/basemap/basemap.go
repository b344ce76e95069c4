// Package basemap reads a map that a crew brings along: a picture of the ground with a place (a scanned sheet, an aerial
// picture), or a tile archive. It answers where the map lies, draws it wherever pixels are said to lie, and gives a
// picture's parts as map tiles.
//
// Units, axes, signs. Longitudes and latitudes are degrees on WGS84, east and north positive. Tiles are those of
// web maps: zoom z has 2^z × 2^z of them, x from 180° west, y from the north.
//
// Source. GeoTIFF: OGC 19-008r4; world files: six numbers as GDAL documents them ("World file"); tile archives:
// PMTiles specification version 3; lines and areas in one: Mapbox Vector Tile specification 2.1; the tiles' projection:
// EPSG Guidance Note 7-2, method 1024.
//
// Validity: pictures of at most 36 million pixels as GeoTIFF, TIFF, PNG or JPEG in the systems of terrain.EPSG; larger
// ones belong into an archive. Colours between pixels are bilinear on the halved copy that fits the tile's
// zoom. Places agree with GDAL's to 0.01 pixel.
//
// Not modelled: AVIF tiles, archives packed other than by gzip, names and styles of lines and areas; TIFF with JPEG or
// ZSTD compression, colour profiles, ground control points, datum shifts.
package basemap

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/draw"
	_ "image/jpeg" // pictures are also JPEG
	_ "image/png"  // and PNG
	"io"
	"io/fs"
	"math"
	"path"
	"strconv"
	"strings"

	"golang.org/x/image/tiff"

	"fieldfare/model/terrain"
)

// LargestPixels bounds what a picture takes in memory: 4 bytes a pixel and a third more.
const LargestPixels = 36_000_000

// largestFile bounds what is read of a picture's file.
const largestFile = 512 << 20

// Kinds of map.
const (
	Picture = "picture"
	Archive = "archive"
)

// Map is a base map: where it lies, and what is needed to draw it.
type Map struct {
	Name string // of its file
	Kind string // Picture or Archive
	// West, South, East and North bound the map, in degrees.
	West, South, East, North float64
	// MinZoom and MaxZoom are the zooms at which it has something to show of its own.
	MinZoom, MaxZoom int
	// Vector: an archive of lines and areas, not of pictures.
	Vector bool
	// Credit is what an archive says of whose map it is; empty where it says nothing.
	Credit string

	Width, Height int // of a picture, in pixels
	place         terrain.Georeference
}

// Covers reports whether the map holds a place, in degrees.
func (m *Map) Covers(lon, lat float64) bool {
	return lon >= m.West && lon <= m.East && lat >= m.South && lat <= m.North
}

// Read reads the head of a map's file. A picture's place is in the file (GeoTIFF) or in a world file beside it; crs is the
// system of a place that does not name its own.
func Read(files fs.FS, name string, crs terrain.CRS) (*Map, error) {
	f, err := files.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	at, ok := f.(io.ReaderAt)
	if !ok || info.IsDir() {
		return nil, errors.New("is not a file")
	}
	if strings.EqualFold(path.Ext(name), ".pmtiles") {
		return readArchive(at, name)
	}
	return readPicture(files, at, info.Size(), name, crs)
}

func readPicture(files fs.FS, at io.ReaderAt, size int64, name string, crs terrain.CRS) (*Map, error) {
	m := &Map{Name: name, Kind: Picture}
	file := io.NewSectionReader(at, 0, size)
	kind := strings.ToLower(path.Ext(name))
	var head image.Config
	var err error
	switch kind {
	case ".tif", ".tiff":
		head, err = tiff.DecodeConfig(file)
	case ".png", ".jpg", ".jpeg":
		head, _, err = image.DecodeConfig(file)
	default:
		return nil, fmt.Errorf("unknown kind of map %q: expected .pmtiles, .tif, .png or .jpg", kind)
	}
	if err != nil {
		return nil, fmt.Errorf("cannot be read as a picture: %w", err)
	}
	m.Width, m.Height = head.Width, head.Height
	if m.Width < 2 || m.Height < 2 || m.Width > LargestPixels/m.Height {
		return nil, fmt.Errorf("%d × %d pixels: expected from 2 × 2 to %d million in all; make a tile archive (PMTiles) of a larger one", m.Width, m.Height, LargestPixels/1_000_000)
	}
	if kind == ".tif" || kind == ".tiff" {
		m.place, err = terrain.ReadGeoreference(at, size, terrain.Options{CRS: crs})
	}
	if m.place.CRS.Code() == 0 || err != nil {
		world, found, worldErr := worldFile(files, name)
		switch {
		case worldErr != nil:
			return nil, worldErr
		case found:
			m.place = world
			if m.place.CRS, err = worldCRS(world, crs); err != nil {
				return nil, err
			}
		case err != nil:
			return nil, err
		default:
			return nil, fmt.Errorf("says nowhere where it lies: put a world file beside it (%s)", strings.Join(worldNames(name), " or "))
		}
	}
	return m, m.frame()
}

// worldNames are what a picture's world file may be called: first and last letter of the extension with a w
// (pgw, jgw, tfw), the whole extension with a w, or wld.
func worldNames(name string) []string {
	ext := path.Ext(name)
	stem := strings.TrimSuffix(name, ext)
	letters := strings.TrimPrefix(ext, ".")
	return []string{stem + "." + letters[:1] + letters[len(letters)-1:] + "w", name + "w", stem + ".wld"}
}

func worldFile(files fs.FS, name string) (terrain.Georeference, bool, error) {
	var g terrain.Georeference
	for _, beside := range worldNames(name) {
		text, err := fs.ReadFile(files, beside)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return g, false, err
		}
		g, err = ParseWorldFile(text)
		if err != nil {
			return g, false, fmt.Errorf("%s: %w", path.Base(beside), err)
		}
		return g, true, nil
	}
	return g, false, nil
}

// ParseWorldFile reads the six numbers of a world file: X and Y of a step to the next column, then to the next row - in the
// file's order A, D, B, E - and the place of the first pixel's centre, C and F. It names no coordinate system.
func ParseWorldFile(text []byte) (terrain.Georeference, error) {
	var g terrain.Georeference
	words := strings.Fields(string(bytes.TrimPrefix(text, []byte("\ufeff"))))
	if len(words) != 6 {
		return g, fmt.Errorf("world file with %d numbers: expected 6, one a line", len(words))
	}
	var v [6]float64
	for i, w := range words {
		n, err := strconv.ParseFloat(w, 64)
		if err != nil || math.IsNaN(n) || math.IsInf(n, 0) {
			return g, fmt.Errorf("world file, line %d: %q is not a number", i+1, w)
		}
		v[i] = n
	}
	g.XC, g.YC, g.XR, g.YR = v[0], v[1], v[2], v[3]
	g.X0, g.Y0 = v[4]-(g.XC+g.XR)/2, v[5]-(g.YC+g.YR)/2
	if _, _, ok := g.Pixel(0, 0); !ok {
		return g, errors.New("world file: rows and columns lie on one line")
	}
	return g, nil
}

// worldCRS is the stated system, or degrees where the numbers can be nothing else.
func worldCRS(g terrain.Georeference, stated terrain.CRS) (terrain.CRS, error) {
	if stated.Code() != 0 {
		return stated, nil
	}
	if math.Abs(g.X0) <= 360 && math.Abs(g.Y0) <= 90 && math.Abs(g.XC)+math.Abs(g.XR) < 1 {
		return terrain.EPSG(4326)
	}
	return terrain.CRS{}, errors.New("its world file is in metres and names no coordinate system: state it with map_crs, for example EPSG:32632")
}

// frame works out what the picture covers and at which zooms its pixels are about as large as a tile's.
func (m *Map) frame() error {
	m.West, m.South, m.East, m.North = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	const steps = 8
	for i := range steps + 1 {
		u, v := float64(i)/steps*float64(m.Width), float64(i)/steps*float64(m.Height)
		for _, p := range [4][2]float64{{u, 0}, {u, float64(m.Height)}, {0, v}, {float64(m.Width), v}} {
			lon, lat := m.lonLat(p[0], p[1])
			m.West, m.East = min(m.West, lon), max(m.East, lon)
			m.South, m.North = min(m.South, lat), max(m.North, lat)
		}
	}
	if !(m.South >= -90 && m.North <= 90 && m.East-m.West < 180) {
		return fmt.Errorf("lies from %.4g to %.4g east and %.4g to %.4g north: check its place and its coordinate system", m.West, m.East, m.South, m.North)
	}
	wide := (m.East - m.West) / float64(max(m.Width, m.Height)) // degrees a pixel, about
	fit := math.Log2(360 / tileSize / max(wide, 1e-9))
	m.MaxZoom = int(math.Ceil(math.Max(1, math.Min(20, fit))))
	m.MinZoom = max(0, m.MaxZoom-8)
	return nil
}

func (m *Map) lonLat(col, row float64) (lon, lat float64) {
	g := m.place
	p := g.CRS.Inverse(g.X0+col*g.XC+row*g.XR, g.Y0+col*g.YC+row*g.YR)
	return p.Lon.Deg(), p.Lat.Deg()
}

// Sheet is a picture in memory, with copies of half, a quarter … its size.
type Sheet struct {
	*Map
	levels []*image.NRGBA
}

// Open reads a picture whole.
func Open(files fs.FS, m *Map) (*Sheet, error) {
	f, err := files.Open(m.Name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	src, err := io.ReadAll(io.LimitReader(f, largestFile+1))
	if err != nil {
		return nil, err
	}
	if len(src) > largestFile {
		return nil, fmt.Errorf("%s is larger than %d MB: make a tile archive (PMTiles) of it", m.Name, largestFile>>20)
	}
	decode := func(r io.Reader) (image.Image, error) {
		img, _, err := image.Decode(r)
		return img, err
	}
	if strings.HasPrefix(strings.ToLower(path.Ext(m.Name)), ".tif") {
		decode = tiff.Decode
	}
	img, err := decode(bytes.NewReader(src))
	if err != nil {
		return nil, fmt.Errorf("%s: %w; convert it, for example with gdal_translate -of PNG -co WORLDFILE=YES", m.Name, err)
	}
	if b := img.Bounds(); b.Dx() != m.Width || b.Dy() != m.Height {
		return nil, fmt.Errorf("%s changed while it was read", m.Name)
	}
	whole := image.NewNRGBA(image.Rect(0, 0, m.Width, m.Height))
	draw.Draw(whole, whole.Bounds(), img, img.Bounds().Min, draw.Src)
	return &Sheet{m, copies(whole)}, nil
}

// copies are a picture and its copies of half, a quarter … its size.
func copies(whole *image.NRGBA) []*image.NRGBA {
	levels := []*image.NRGBA{whole}
	for last := whole; min(last.Rect.Dx(), last.Rect.Dy()) > tileSize; {
		last = halved(last)
		levels = append(levels, last)
	}
	return levels
}

// Draw draws a map into w × h pixels that lie where place says; what it does not cover is left clear. An archive is drawn
// from the zoom whose pixels are about as large. The error says what of the map cannot be read.
func Draw(files fs.FS, m *Map, w, h int, place Place) (*image.NRGBA, error) {
	if m.Kind == Archive {
		return drawArchive(files, m, w, h, place)
	}
	sheet, err := Open(files, m)
	if err != nil {
		return nil, err
	}
	return sheet.Warp(w, h, place), nil
}

// halved averages four pixels into one, each by its opacity.
func halved(img *image.NRGBA) *image.NRGBA {
	w, h := img.Rect.Dx()/2, img.Rect.Dy()/2
	out := image.NewNRGBA(image.Rect(0, 0, w, h))
	for j := range h {
		for i := range w {
			var sum [3]uint32
			var alpha uint32
			for _, k := range [4]int{img.PixOffset(2*i, 2*j), img.PixOffset(2*i+1, 2*j), img.PixOffset(2*i, 2*j+1), img.PixOffset(2*i+1, 2*j+1)} {
				a := uint32(img.Pix[k+3])
				alpha += a
				for c := range 3 {
					sum[c] += a * uint32(img.Pix[k+c])
				}
			}
			k := out.PixOffset(i, j)
			for c := range 3 {
				if alpha > 0 {
					out.Pix[k+c] = uint8((sum[c] + alpha/2) / alpha)
				}
			}
			out.Pix[k+3] = uint8((alpha + 2) / 4)
		}
	}
	return out
}
