package terrain

import (
	"encoding/binary"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// TIFF tags (TIFF 6.0; BigTIFF; OGC 19-008r4 annex; GDAL's private tags).
const (
	tagSubfile        = 254
	tagWidth          = 256
	tagHeight         = 257
	tagBits           = 258
	tagCompression    = 259
	tagStripOffsets   = 273
	tagSamples        = 277
	tagRowsPerStrip   = 278
	tagStripCounts    = 279
	tagPredictor      = 317
	tagTileWidth      = 322
	tagTileHeight     = 323
	tagTileOffsets    = 324
	tagTileCounts     = 325
	tagSampleFormat   = 339
	tagPixelScale     = 33550
	tagTiepoint       = 33922
	tagTransformation = 34264
	tagGeoKeys        = 34735
	tagGeoASCII       = 34737
	tagMetadata       = 42112
	tagNodata         = 42113
)

// GeoKeys (OGC 19-008r4, annex B) and their values.
const (
	keyModelType     = 1024
	modelProjected   = 1
	modelGeographic  = 2
	keyRasterType    = 1025
	rasterPixelPoint = 2
	keyCitation      = 1026
	keyGeographic    = 2048
	keyAngularUnits  = 2054
	keyProjected     = 3072
	keyProjCitation  = 3073
	keyLinearUnits   = 3076
	keyVertical      = 4096
	keyVerticalUnits = 4099
	userDefined      = 32767

	epsgMetre       = 9001
	epsgFoot        = 9002
	epsgUSFoot      = 9003
	epsgDegree      = 9102
	epsgWGS84       = 4326
	epsgEllipsoidal = 4979 // WGS84 with heights above the ellipsoid
)

// Values of tags.
const (
	subfileReduced   = 1
	subfileMask      = 4
	predictorInteger = 2
	predictorFloat   = 3
	formatUnsigned   = 1
	formatSigned     = 2
	formatFloat      = 3
	compressionNone  = 1
	compressionLZW   = 5
	compressionZlib  = 8
	compressionZlib2 = 32946
	compressionZSTD  = 50000
)

// Limits that keep a hostile file from taking memory.
const (
	maxEntries     = 4096
	maxDirectories = 64
	maxChunkBytes  = 64 << 20
	maxTagBytes    = 64 << 20
)

// tiffFile is the file under a directory.
type tiffFile struct {
	r     io.ReaderAt
	size  int64
	order binary.ByteOrder
	big   bool
}

// directory is one image of a TIFF file.
type directory struct {
	file    *tiffFile
	entries map[uint16]entry
}

type entry struct {
	kind  uint16
	count uint64
	at    int64 // where the values lie in the file
}

var kindSize = map[uint16]uint64{1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8}

// ReadGeoTIFF reads an elevation GeoTIFF or BigTIFF: one band of 8, 16 or 32-bit integers or 32 or 64-bit
// floats, in strips or tiles, plain, LZW, Deflate or ZSTD, with predictors 1 to 3. Heights in feet
// are turned into metres.
func ReadGeoTIFF(r io.ReaderAt, size int64, o Options) (*Raster, error) {
	dirs, err := readDirectories(r, size)
	if err != nil {
		return nil, fmt.Errorf("TIFF: %w", err)
	}
	var base *Raster
	for _, d := range dirs {
		sub, err := d.number(tagSubfile, 0)
		if err != nil {
			return nil, fmt.Errorf("TIFF: %w", err)
		}
		switch {
		case sub&subfileMask != 0:
		case base == nil && sub&subfileReduced == 0:
			if base, err = d.raster(o); err != nil {
				return nil, fmt.Errorf("TIFF: %w", err)
			}
		case base != nil && sub&subfileReduced != 0:
			over, err := d.overview(base, o)
			if err != nil {
				return nil, fmt.Errorf("TIFF overview: %w", err)
			}
			base.overviews = append(base.overviews, over)
		}
	}
	if base == nil {
		return nil, errors.New("TIFF: no full-resolution image in the file")
	}
	return base, nil
}

func readDirectories(r io.ReaderAt, size int64) ([]*directory, error) {
	f := &tiffFile{r: r, size: size, order: binary.LittleEndian}
	head, err := f.bytes(0, 8)
	if err != nil {
		return nil, err
	}
	switch string(head[:2]) {
	case "II":
	case "MM":
		f.order = binary.BigEndian
	default:
		return nil, errors.New("the file does not begin like a TIFF")
	}
	next := int64(f.order.Uint32(head[4:]))
	switch v := f.order.Uint16(head[2:]); v {
	case 42:
	case 43:
		f.big = true
		b, err := f.bytes(4, 12)
		if err != nil {
			return nil, err
		}
		if f.order.Uint16(b) != 8 {
			return nil, fmt.Errorf("BigTIFF offsets of %d bytes: expected 8", f.order.Uint16(b))
		}
		next = int64(f.order.Uint64(b[4:]))
	default:
		return nil, fmt.Errorf("version %d: expected 42 (TIFF) or 43 (BigTIFF)", v)
	}
	var dirs []*directory
	seen := map[int64]bool{}
	for next != 0 {
		if seen[next] || len(dirs) == maxDirectories {
			return nil, errors.New("the chain of image directories does not end")
		}
		seen[next] = true
		d, after, err := f.directory(next)
		if err != nil {
			return nil, err
		}
		dirs = append(dirs, d)
		next = after
	}
	return dirs, nil
}

// bytes reads n bytes at an offset; it allocates no more than the file holds.
func (f *tiffFile) bytes(at int64, n uint64) ([]byte, error) {
	if at < 0 || at > f.size || n > uint64(f.size-at) {
		return nil, fmt.Errorf("%d bytes at offset %d are outside the file of %d bytes; it may be cut off", n, at, f.size)
	}
	b := make([]byte, n)
	if _, err := f.r.ReadAt(b, at); err != nil && err != io.EOF {
		return nil, err
	}
	return b, nil
}

func (f *tiffFile) directory(at int64) (*directory, int64, error) {
	countSize, entrySize, inline := 2, 12, uint64(4)
	if f.big {
		countSize, entrySize, inline = 8, 20, 8
	}
	b, err := f.bytes(at, uint64(countSize))
	if err != nil {
		return nil, 0, err
	}
	n := uint64(f.order.Uint16(b))
	if f.big {
		n = f.order.Uint64(b)
	}
	if n > maxEntries {
		return nil, 0, fmt.Errorf("image directory with %d entries: expected at most %d", n, maxEntries)
	}
	at += int64(countSize)
	b, err = f.bytes(at, n*uint64(entrySize)+inline)
	if err != nil {
		return nil, 0, err
	}
	d := &directory{f, make(map[uint16]entry, n)}
	for i := range int(n) {
		e := b[i*entrySize:]
		tag, kind := f.order.Uint16(e), f.order.Uint16(e[2:])
		size, known := kindSize[kind]
		if !known {
			continue
		}
		var count uint64
		var value []byte
		if f.big {
			count, value = f.order.Uint64(e[4:]), e[12:20]
		} else {
			count, value = uint64(f.order.Uint32(e[4:])), e[8:12]
		}
		if count > maxTagBytes/size {
			return nil, 0, fmt.Errorf("tag %d claims %d values", tag, count)
		}
		where := at + int64(i*entrySize) + int64(entrySize) - int64(inline)
		if count*size > inline {
			where = f.offset(value)
		}
		d.entries[tag] = entry{kind, count, where}
	}
	return d, f.offset(b[int(n)*entrySize:]), nil
}

func (f *tiffFile) offset(b []byte) int64 {
	if f.big {
		return int64(f.order.Uint64(b))
	}
	return int64(f.order.Uint32(b))
}

// raw returns the bytes of a tag's values, nil if the tag is absent.
func (d *directory) raw(tag uint16) ([]byte, entry, error) {
	e, ok := d.entries[tag]
	if !ok {
		return nil, e, nil
	}
	b, err := d.file.bytes(e.at, e.count*kindSize[e.kind])
	if err != nil {
		return nil, e, fmt.Errorf("tag %d: %w", tag, err)
	}
	return b, e, nil
}

// integers returns a tag's values.
func (d *directory) integers(tag uint16) ([]uint64, error) {
	b, e, err := d.raw(tag)
	if err != nil || b == nil {
		return nil, err
	}
	out := make([]uint64, e.count)
	for i := range out {
		switch e.kind {
		case 1:
			out[i] = uint64(b[i])
		case 3:
			out[i] = uint64(d.file.order.Uint16(b[2*i:]))
		case 4, 13:
			out[i] = uint64(d.file.order.Uint32(b[4*i:]))
		case 16, 18:
			out[i] = d.file.order.Uint64(b[8*i:])
		default:
			return nil, fmt.Errorf("tag %d has values of kind %d: expected whole numbers", tag, e.kind)
		}
	}
	return out, nil
}

// number returns a tag's first value, or the default if it is absent.
func (d *directory) number(tag uint16, otherwise uint64) (uint64, error) {
	v, err := d.integers(tag)
	if err != nil {
		return 0, err
	}
	if len(v) == 0 {
		return otherwise, nil
	}
	return v[0], nil
}

// floats returns a tag's values of kind double.
func (d *directory) floats(tag uint16) ([]float64, error) {
	b, e, err := d.raw(tag)
	if err != nil || b == nil {
		return nil, err
	}
	if e.kind != 12 {
		return nil, fmt.Errorf("tag %d has values of kind %d: expected doubles", tag, e.kind)
	}
	out := make([]float64, e.count)
	for i := range out {
		out[i] = math.Float64frombits(d.file.order.Uint64(b[8*i:]))
		if math.IsNaN(out[i]) || math.IsInf(out[i], 0) {
			return nil, fmt.Errorf("tag %d: value %d is not a finite number", tag, i+1)
		}
	}
	return out, nil
}

func (d *directory) text(tag uint16) (string, error) {
	b, _, err := d.raw(tag)
	return strings.TrimRight(string(b), "\x00 \n"), err
}

// raster builds the full-resolution image.
func (d *directory) raster(o Options) (*Raster, error) {
	r, err := d.pixels(o)
	if err != nil {
		return nil, err
	}
	keys, err := d.geoKeys()
	if err != nil {
		return nil, err
	}
	if r.CRS, err = keys.crs(o); err != nil {
		return nil, err
	}
	r.Datum = datumOf(keys.number[keyVertical])
	if keys.number[keyGeographic] == epsgEllipsoidal && !r.Datum.Stated {
		r.Datum = datumOf(epsgEllipsoidal)
	}
	if err := d.place(r, keys.number[keyRasterType] == rasterPixelPoint); err != nil {
		return nil, err
	}
	return r, r.check()
}

// overview builds a coarser copy, which covers the same ground as the base.
func (d *directory) overview(base *Raster, o Options) (*Raster, error) {
	r, err := d.pixels(o)
	if err != nil {
		return nil, err
	}
	r.CRS, r.Datum = base.CRS, base.Datum
	r.StepX = base.StepX * float64(base.Width) / float64(r.Width)
	r.StepY = base.StepY * float64(base.Height) / float64(r.Height)
	r.OriginX = base.OriginX - base.StepX/2 + r.StepX/2
	r.OriginY = base.OriginY - base.StepY/2 + r.StepY/2
	return r, r.check()
}

// place reads where the cells lie.
func (d *directory) place(r *Raster, point bool) error {
	scale, err := d.floats(tagPixelScale)
	if err != nil {
		return err
	}
	tie, err := d.floats(tagTiepoint)
	if err != nil {
		return err
	}
	matrix, err := d.floats(tagTransformation)
	if err != nil {
		return err
	}
	switch {
	case len(scale) >= 2 && len(tie) >= 6:
		r.StepX, r.StepY = scale[0], -scale[1]
		r.OriginX, r.OriginY = tie[3]-tie[0]*scale[0], tie[4]+tie[1]*scale[1]
	case len(matrix) == 16:
		if matrix[1] != 0 || matrix[4] != 0 {
			return errors.New("the grid is turned against its coordinate system; straighten it, for example with gdalwarp -r bilinear")
		}
		r.StepX, r.StepY, r.OriginX, r.OriginY = matrix[0], matrix[5], matrix[3], matrix[7]
	default:
		return errors.New("the file does not say where the grid lies (no pixel scale and tie point)")
	}
	if !point { // the tie is the corner of a cell: move to its centre
		r.OriginX += r.StepX / 2
		r.OriginY += r.StepY / 2
	}
	return nil
}

type geoKeys struct {
	number map[uint16]int
	text   map[uint16]string
}

func (d *directory) geoKeys() (geoKeys, error) {
	k := geoKeys{map[uint16]int{}, map[uint16]string{}}
	v, err := d.integers(tagGeoKeys)
	if err != nil || len(v) < 4 {
		return k, err
	}
	ascii, err := d.text(tagGeoASCII)
	if err != nil {
		return k, err
	}
	for i := 4; i+3 < len(v); i += 4 {
		key, where, n, at := uint16(v[i]), v[i+1], v[i+2], v[i+3]
		switch where {
		case 0:
			k.number[key] = int(uint16(at))
		case tagGeoASCII:
			if at <= uint64(len(ascii)) && n <= uint64(len(ascii))-at {
				k.text[key] = strings.TrimRight(ascii[at:at+n], "|")
			}
		}
	}
	return k, nil
}

func (k geoKeys) crs(o Options) (CRS, error) {
	code := 0
	switch k.number[keyModelType] {
	case modelGeographic:
		if code = k.number[keyGeographic]; code == epsgEllipsoidal {
			code = epsgWGS84
		}
		if u, ok := k.number[keyAngularUnits]; ok && u != epsgDegree {
			return CRS{}, fmt.Errorf("angles in unit EPSG %d: expected degrees (9102)", u)
		}
	case modelProjected:
		code = k.number[keyProjected]
		if u, ok := k.number[keyLinearUnits]; ok && u != epsgMetre {
			return CRS{}, fmt.Errorf("coordinates in unit EPSG %d: expected metres (9001); convert the file, for example with gdalwarp -t_srs EPSG:4326", u)
		}
	}
	if code == 0 || code == userDefined {
		if o.CRS.code != 0 {
			return o.CRS, nil
		}
		name := k.text[keyProjCitation]
		if name == "" {
			name = k.text[keyCitation]
		}
		if code == 0 && name == "" {
			return CRS{}, errors.New("the file names no coordinate system: state it, for example EPSG:32632")
		}
		return CRS{}, fmt.Errorf("the coordinate system %q has no EPSG code: state it, for example EPSG:32632", name)
	}
	return EPSG(code)
}

// verticalScale returns how stored values become metres.
func (d *directory) verticalScale() (scale, offset float64, err error) {
	scale = 1
	text, err := d.text(tagMetadata)
	if err != nil {
		return 0, 0, err
	}
	var meta struct {
		Items []struct {
			Role string `xml:"role,attr"`
			Text string `xml:",chardata"`
		} `xml:"Item"`
	}
	if text != "" && xml.Unmarshal([]byte(text), &meta) == nil {
		for _, i := range meta.Items {
			v, err := strconv.ParseFloat(strings.TrimSpace(i.Text), 64)
			switch {
			case i.Role != "scale" && i.Role != "offset":
			case err != nil || math.IsNaN(v) || math.IsInf(v, 0):
				return 0, 0, fmt.Errorf("vertical %s %q is not a number", i.Role, i.Text)
			case i.Role == "scale":
				scale = v
			default:
				offset = v
			}
		}
	}
	keys, err := d.geoKeys()
	if err != nil {
		return 0, 0, err
	}
	// With a vertical system the third pixel scale and tie point place the heights too (OGC 19-008r4, section 7.6).
	pixel, err := d.floats(tagPixelScale)
	if err != nil {
		return 0, 0, err
	}
	tie, err := d.floats(tagTiepoint)
	if err != nil {
		return 0, 0, err
	}
	if keys.number[keyVertical] != 0 && len(pixel) >= 3 && len(tie) >= 6 && pixel[2] != 0 && scale == 1 && offset == 0 {
		scale, offset = pixel[2], tie[5]-tie[2]*pixel[2]
	}
	unit, u := 1.0, keys.number[keyVerticalUnits]
	switch keys.number[keyVertical] {
	case epsgNAVD88USFeet:
		u = epsgUSFoot
	case epsgNAVD88Feet:
		u = epsgFoot
	}
	switch u {
	case 0, epsgMetre, userDefined:
	case epsgFoot:
		unit = 0.3048
	case epsgUSFoot:
		unit = 1200.0 / 3937
	default:
		return 0, 0, fmt.Errorf("heights in unit EPSG %d: expected metres (9001) or feet (9002, 9003)", u)
	}
	return scale * unit, offset * unit, nil
}
