package basemap

import (
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	"image/draw"
	"math"
	"regexp"

	"golang.org/x/image/vector"
)

// Inks of lines and areas, which are drawn plainly and without names: water is told by its layer's.
var (
	ground    = color.NRGBA{255, 255, 255, 255}
	land      = color.NRGBA{228, 226, 220, 255}
	water     = color.NRGBA{176, 205, 226, 255}
	line      = color.NRGBA{120, 116, 108, 255}
	waterline = color.NRGBA{96, 150, 190, 255}

	watery = regexp.MustCompile(`water|river|lake|sea|stream`)
)

// lineWidth is that of a line in pixels.
const lineWidth = 1.4

// Kinds of geometry, commands of one (Mapbox Vector Tile specification 2.1, sections 4.3.4 and 4.3.3).
const (
	shapePoint, shapeLine, shapeArea = 1, 2, 3
	moveTo, lineTo, closePath        = 1, 2, 7
)

var errVector = errors.New("holds a tile of lines and areas that is damaged")

// fields calls each with the fields of a protocol buffer's message: value holds a number's value, data a piece's bytes.
func fields(message []byte, each func(field int, value uint64, data []byte) error) error {
	for len(message) > 0 {
		key, n := binary.Uvarint(message)
		if n <= 0 {
			return errVector
		}
		message = message[n:]
		var value uint64
		var data []byte
		switch key & 7 {
		case 0:
			if value, n = binary.Uvarint(message); n <= 0 {
				return errVector
			}
		case 1:
			n = 8
		case 2:
			length, k := binary.Uvarint(message)
			if k <= 0 || length > uint64(len(message)-k) {
				return errVector
			}
			n = k + int(length)
			data = message[k:n]
		case 5:
			n = 4
		default:
			return errVector
		}
		if n > len(message) {
			return errVector
		}
		message = message[n:]
		if err := each(int(key>>3), value, data); err != nil {
			return err
		}
	}
	return nil
}

// shape is the geometry of one thing in a tile, in shares of its side.
type shape struct {
	kind  uint64
	water bool
	parts [][][2]float64
}

// shapes reads the geometry of a vector tile.
func shapes(tile []byte) (all []shape, err error) {
	err = fields(tile, func(field int, _ uint64, layer []byte) error {
		if field != 3 {
			return nil
		}
		name, extent := "", uint64(4096)
		var features [][]byte
		if err := fields(layer, func(field int, value uint64, data []byte) error {
			switch field {
			case 1:
				name = string(data)
			case 2:
				features = append(features, data)
			case 5:
				extent = value
			}
			return nil
		}); err != nil {
			return err
		}
		if extent == 0 {
			return errVector
		}
		for _, f := range features {
			x := shape{water: watery.MatchString(name)}
			var geometry []byte
			if err := fields(f, func(field int, value uint64, data []byte) error {
				switch field {
				case 3:
					x.kind = value
				case 4:
					geometry = data
				}
				return nil
			}); err != nil {
				return err
			}
			if x.parts, err = ways(geometry, float64(extent)); err != nil {
				return err
			}
			all = append(all, x)
		}
		return nil
	})
	return all, err
}

// ways follows the commands of a geometry.
func ways(geometry []byte, extent float64) (all [][][2]float64, err error) {
	next := func() uint64 {
		v, n := binary.Uvarint(geometry)
		if n <= 0 {
			err = errVector
			geometry = nil
			return 0
		}
		geometry = geometry[n:]
		return v
	}
	step := func() float64 { v := uint32(next()); return float64(int32(v>>1) ^ -int32(v&1)) }
	x, y := 0.0, 0.0
	for len(geometry) > 0 {
		command := next()
		count := command >> 3
		switch command & 7 {
		case closePath:
			if k := len(all) - 1; k >= 0 && len(all[k]) > 0 {
				all[k] = append(all[k], all[k][0])
			}
			continue
		case moveTo, lineTo:
		default:
			return nil, errVector
		}
		if count > uint64(len(geometry)) {
			return nil, errVector
		}
		for range count {
			x += step()
			y += step()
			at := [2]float64{x / extent, y / extent}
			if command&7 == moveTo {
				all = append(all, nil)
			}
			if len(all) == 0 {
				return nil, errVector
			}
			all[len(all)-1] = append(all[len(all)-1], at)
		}
	}
	return all, err
}

// drawVector draws a tile of lines and areas: areas first, then lines, then points.
func drawVector(tile []byte, side int) (*image.NRGBA, error) {
	all, err := shapes(tile)
	if err != nil {
		return nil, err
	}
	out := image.NewNRGBA(image.Rect(0, 0, side, side))
	draw.Draw(out, out.Bounds(), image.NewUniform(ground), image.Point{}, draw.Src)
	pen, size := vector.NewRasterizer(side, side), float64(side)
	ring := func(at ...[2]float64) {
		pen.MoveTo(float32(at[0][0]), float32(at[0][1]))
		for _, p := range at[1:] {
			pen.LineTo(float32(p[0]), float32(p[1]))
		}
		pen.ClosePath()
	}
	for _, coat := range []struct {
		kind  uint64
		water bool
		ink   color.NRGBA
	}{{shapeArea, false, land}, {shapeArea, true, water}, {shapeLine, false, line}, {shapeLine, true, waterline}, {shapePoint, false, line}, {shapePoint, true, waterline}} {
		pen.Reset(side, side)
		for _, x := range all {
			if x.kind != coat.kind || x.water != coat.water {
				continue
			}
			for _, part := range x.parts {
				at := make([][2]float64, len(part))
				for i, p := range part {
					at[i] = [2]float64{p[0] * size, p[1] * size}
				}
				switch {
				case coat.kind == shapeArea && len(at) > 2:
					ring(at...)
				case coat.kind == shapeLine:
					for i := 1; i < len(at); i++ {
						stroke(ring, at[i-1], at[i])
					}
				case coat.kind == shapePoint:
					const r = lineWidth
					for _, p := range at {
						ring([2]float64{p[0] - r, p[1] - r}, [2]float64{p[0] + r, p[1] - r}, [2]float64{p[0] + r, p[1] + r}, [2]float64{p[0] - r, p[1] + r})
					}
				}
			}
		}
		pen.Draw(out, out.Bounds(), image.NewUniform(coat.ink), image.Point{})
	}
	return out, nil
}

// stroke draws a piece of a line, a little longer than it is so that the next one joins.
func stroke(ring func(at ...[2]float64), a, b [2]float64) {
	dx, dy := b[0]-a[0], b[1]-a[1]
	long := math.Hypot(dx, dy)
	if long == 0 {
		return
	}
	dx, dy = dx/long*lineWidth/2, dy/long*lineWidth/2
	a, b = [2]float64{a[0] - dx/2, a[1] - dy/2}, [2]float64{b[0] + dx/2, b[1] + dy/2}
	ring([2]float64{a[0] - dy, a[1] + dx}, [2]float64{b[0] - dy, b[1] + dx}, [2]float64{b[0] + dy, b[1] - dx}, [2]float64{a[0] + dy, a[1] - dx})
}
