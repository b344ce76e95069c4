package terrain

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/klauspost/compress/zlib"
	"github.com/klauspost/compress/zstd"
	"golang.org/x/image/tiff/lzw"
)

// layout says how an image's cells are stored.
type layout struct {
	file          *tiffFile
	offsets       []uint64
	counts        []uint64
	across        int // tiles per row of tiles
	width, rows   int // of a tile or strip
	lastRows      int // of the last strip; tiles are always whole
	size          int // bytes per cell
	format        uint64
	compression   uint64
	predictor     uint64
	nodata        float64
	hasNodata     bool
	scale, offset float64
}

// readable tells whether cells of this format and size are read.
func readable(format, bitsPer uint64) bool {
	switch format {
	case formatFloat:
		return bitsPer == 32 || bitsPer == 64
	case formatSigned, formatUnsigned:
		return bitsPer == 8 || bitsPer == 16 || bitsPer == 32
	}
	return false
}

// pixels reads how the cells are stored and returns a raster without a place.
func (d *directory) pixels(o Options) (*Raster, error) {
	var err error
	number := func(tag uint16, otherwise uint64) uint64 {
		v, e := d.number(tag, otherwise)
		if e != nil && err == nil {
			err = e
		}
		return v
	}
	w, h := number(tagWidth, 0), number(tagHeight, 0)
	samples, bitsPer, format := number(tagSamples, 1), number(tagBits, 1), number(tagSampleFormat, formatUnsigned)
	l := layout{file: d.file, format: format, size: int(bitsPer / 8), compression: number(tagCompression, compressionNone), predictor: number(tagPredictor, 1)}
	if err != nil {
		return nil, err
	}
	const maxSide = 1 << 20
	switch {
	case w < 2 || h < 2 || w > maxSide || h > maxSide:
		return nil, fmt.Errorf("image of %d × %d cells: expected 2 to %d each way", w, h, maxSide)
	case samples != 1:
		return nil, fmt.Errorf("%d bands: expected one band of heights; pick it, for example with gdal_translate -b 1", samples)
	case !readable(format, bitsPer):
		return nil, fmt.Errorf("cells of %d bits in sample format %d: expected 8, 16 or 32-bit integers or 32 or 64-bit floats", bitsPer, format)
	case l.predictor < 1 || l.predictor > predictorFloat:
		return nil, fmt.Errorf("predictor %d: expected 1, 2 or 3", l.predictor)
	case l.predictor == predictorFloat && format != formatFloat:
		return nil, errors.New("floating-point predictor on integer cells")
	}
	switch l.compression {
	case compressionNone, compressionLZW, compressionZlib, compressionZlib2, compressionZSTD:
	default:
		return nil, fmt.Errorf("compression %d: expected none, LZW, Deflate or ZSTD; rewrite the file, for example with gdal_translate -co COMPRESS=DEFLATE", l.compression)
	}
	offsetTag, countTag := uint16(tagStripOffsets), uint16(tagStripCounts)
	l.across, l.width = 1, int(w)
	down := 0
	if _, tiled := d.entries[tagTileOffsets]; tiled {
		offsetTag, countTag = tagTileOffsets, tagTileCounts
		tw, th := number(tagTileWidth, 0), number(tagTileHeight, 0)
		if err != nil {
			return nil, err
		}
		if tw == 0 || th == 0 || tw > maxSide || th > maxSide {
			return nil, fmt.Errorf("tiles of %d × %d cells", tw, th)
		}
		l.width, l.rows, l.lastRows = int(tw), int(th), int(th)
		l.across = (int(w) + l.width - 1) / l.width
		down = (int(h) + l.rows - 1) / l.rows
	} else {
		rps := number(tagRowsPerStrip, h)
		if err != nil {
			return nil, err
		}
		if rps == 0 {
			return nil, errors.New("strips of no rows")
		}
		l.rows = int(min(rps, h))
		down = (int(h) + l.rows - 1) / l.rows
		l.lastRows = int(h) - (down-1)*l.rows
	}
	if l.offsets, err = d.integers(offsetTag); err != nil {
		return nil, err
	}
	if l.counts, err = d.integers(countTag); err != nil {
		return nil, err
	}
	if n := l.across * down; len(l.offsets) != n || len(l.counts) != n {
		return nil, fmt.Errorf("%d × %d cells need %d tiles or strips: the file lists %d offsets and %d sizes", w, h, n, len(l.offsets), len(l.counts))
	}
	if text, err := d.text(tagNodata); err != nil {
		return nil, err
	} else if text != "" {
		if l.nodata, err = strconv.ParseFloat(text, 64); err != nil {
			return nil, fmt.Errorf("no-data value %q is not a number", text)
		}
		l.hasNodata = true
	}
	if l.scale, l.offset, err = d.verticalScale(); err != nil {
		return nil, err
	}
	if l.compression == compressionNone && l.predictor == 1 && l.across == 1 && l.width == int(w) {
		l.split(int(h))
	}
	if cells := l.width * l.rows; cells > maxChunkBytes/max(4, l.size) {
		return nil, fmt.Errorf("compressed tiles or strips of %d × %d cells are too large to decode; rewrite the file, for example with gdal_translate -co TILED=YES -co COMPRESS=DEFLATE", l.width, l.rows)
	}
	return &Raster{
		Width: int(w), Height: int(h), chunkW: l.width, chunkH: l.rows,
		load: l.load, cache: newChunkCache(o, l.width*l.rows),
	}, nil
}

// split cuts large plain strips into pieces of about 1 MB, which can be read alone.
func (l *layout) split(h int) {
	row := l.width * l.size
	rows := max(1, (1<<20)/row)
	if l.rows <= rows {
		return
	}
	// Pieces must tile the strips evenly, so that all but the last have the same height.
	for l.rows%rows != 0 && len(l.offsets) > 1 {
		rows--
	}
	down := (h + rows - 1) / rows
	offsets, counts := make([]uint64, down), make([]uint64, down)
	for i := range down {
		strip := i * rows / l.rows
		skip := uint64(i*rows-strip*l.rows) * uint64(row)
		n := uint64(min(rows, h-i*rows)) * uint64(row)
		offsets[i], counts[i] = l.offsets[strip]+skip, n
		switch {
		case l.counts[strip] == 0: // sparse
			counts[i] = 0
		case skip+n > l.counts[strip]: // too short: reported when it is read
			counts[i] = 1
		}
	}
	l.offsets, l.counts, l.rows, l.lastRows = offsets, counts, rows, h-(down-1)*rows
}

// load decodes one tile or strip.
func (l *layout) load(cx, cy int) ([]float32, error) {
	n := cy*l.across + cx
	rows := l.rows
	if n == len(l.offsets)-1 {
		rows = l.lastRows
	}
	var data []byte
	if l.counts[n] > 0 { // else sparse: never written
		var err error
		if data, err = l.decode(n, l.width*rows*l.size); err != nil {
			return nil, fmt.Errorf("TIFF tile or strip %d: %w", n, err)
		}
		l.unpredict(data, rows)
	}
	out := make([]float32, l.width*l.rows)
	for i := range out {
		out[i] = float32(math.NaN())
	}
	l.heights(data, out)
	return out, nil
}

func (l *layout) decode(n, want int) ([]byte, error) {
	if l.offsets[n] > math.MaxInt64 {
		return nil, errors.New("offset outside the file")
	}
	raw, err := l.file.bytes(int64(l.offsets[n]), l.counts[n])
	if err != nil {
		return nil, err
	}
	var src io.Reader = bytes.NewReader(raw)
	switch l.compression {
	case compressionNone:
		if len(raw) < want {
			return nil, fmt.Errorf("%d bytes, expected %d", len(raw), want)
		}
		return raw[:want], nil
	case compressionLZW:
		z := lzw.NewReader(src, lzw.MSB, 8)
		defer z.Close()
		src = z
	case compressionZlib, compressionZlib2:
		z, err := zlib.NewReader(src)
		if err != nil {
			return nil, err
		}
		defer z.Close()
		src = z
	case compressionZSTD:
		z, err := zstd.NewReader(src, zstd.WithDecoderConcurrency(1), zstd.WithDecoderMaxMemory(2*maxChunkBytes), zstd.WithDecoderLowmem(true))
		if err != nil {
			return nil, err
		}
		defer z.Close()
		src = z
	}
	// Grow with what really comes, so that a false size costs no memory.
	buf := bytes.NewBuffer(make([]byte, 0, min(want, 16*len(raw)+4096)))
	if _, err := io.Copy(buf, io.LimitReader(src, int64(want))); err != nil && buf.Len() < want {
		return nil, fmt.Errorf("damaged data: %w", err)
	}
	if buf.Len() < want {
		return nil, fmt.Errorf("%d bytes, expected %d", buf.Len(), want)
	}
	return buf.Bytes(), nil
}

// unpredict undoes the predictor and leaves cells in the file's byte order (TIFF 6.0 section 14;
// Adobe technical note 3: the floating-point predictor stores the highest bytes of a row first).
func (l *layout) unpredict(data []byte, rows int) {
	stride := l.width * l.size
	var tmp []byte
	little := l.file.order == binary.ByteOrder(binary.LittleEndian)
	for y := range rows {
		row := data[y*stride : (y+1)*stride]
		switch l.predictor {
		case predictorInteger:
			l.integrate(row)
		case predictorFloat:
			for i := 1; i < stride; i++ {
				row[i] += row[i-1]
			}
			tmp = append(tmp[:0], row...)
			for b := range l.size {
				plane, at := tmp[b*l.width:][:l.width], b
				if little {
					at = l.size - 1 - b
				}
				for i, v := range plane {
					row[i*l.size+at] = v
				}
			}
		}
	}
}

func (l *layout) integrate(row []byte) {
	o := l.file.order
	switch l.size {
	case 1:
		for i := 1; i < len(row); i++ {
			row[i] += row[i-1]
		}
	case 2:
		for i := 2; i < len(row); i += 2 {
			o.PutUint16(row[i:], o.Uint16(row[i:])+o.Uint16(row[i-2:]))
		}
	case 4:
		for i := 4; i < len(row); i += 4 {
			o.PutUint32(row[i:], o.Uint32(row[i:])+o.Uint32(row[i-4:]))
		}
	case 8:
		for i := 8; i < len(row); i += 8 {
			o.PutUint64(row[i:], o.Uint64(row[i:])+o.Uint64(row[i-8:]))
		}
	}
}

// heights turns stored cells into metres.
func (l *layout) heights(data []byte, out []float32) {
	o := l.file.order
	if l.size == 4 && l.format == formatFloat && l.scale == 1 && l.offset == 0 && o == binary.ByteOrder(binary.LittleEndian) {
		l.plainHeights(data, out)
		return
	}
	for i := range len(data) / l.size {
		c := data[i*l.size:]
		var v float64
		switch {
		case l.size == 1 && l.format == formatSigned:
			v = float64(int8(c[0]))
		case l.size == 1:
			v = float64(c[0])
		case l.size == 2 && l.format == formatSigned:
			v = float64(int16(o.Uint16(c)))
		case l.size == 2:
			v = float64(o.Uint16(c))
		case l.size == 4:
			u := o.Uint32(c)
			switch l.format {
			case formatFloat:
				v = float64(math.Float32frombits(u))
			case formatSigned:
				v = float64(int32(u))
			default:
				v = float64(u)
			}
		default:
			v = math.Float64frombits(o.Uint64(c))
		}
		if l.hasNodata && (v == l.nodata || l.format == formatFloat && float32(v) == float32(l.nodata)) || math.IsInf(v, 0) {
			continue // stays NaN
		}
		if v = v*l.scale + l.offset; math.Abs(v) <= 1e6 { // no height on Earth
			out[i] = float32(v)
		}
	}
}

// plainHeights is heights for the commonest kind of file: 32-bit floats in metres.
func (l *layout) plainHeights(data []byte, out []float32) {
	nodata := float32(math.NaN())
	if l.hasNodata {
		nodata = float32(l.nodata)
	}
	for i := range len(data) / 4 {
		v := math.Float32frombits(binary.LittleEndian.Uint32(data[4*i:]))
		if v != nodata && v >= -1e6 && v <= 1e6 {
			out[i] = v
		}
	}
}
