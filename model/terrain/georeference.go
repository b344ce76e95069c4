package terrain

import (
	"errors"
	"fmt"
	"io"
	"math"
)

// Georeference says where the pixels of a picture lie: column c and row r, counted from the outer corner of the first
// pixel, are at X = X0 + c·XC + r·XR, Y = Y0 + c·YC + r·YR in the units of the CRS. Unlike a Raster's, a picture's
// rows and columns may be turned against the CRS.
type Georeference struct {
	CRS                    CRS
	X0, XC, XR, Y0, YC, YR float64
}

// Pixel returns the column and row of coordinates of the CRS. ok is false where the rows and columns lie on one line.
func (g Georeference) Pixel(x, y float64) (col, row float64, ok bool) {
	det := g.XC*g.YR - g.XR*g.YC
	if det == 0 || math.IsNaN(det) || math.IsInf(det, 0) {
		return 0, 0, false
	}
	dx, dy := x-g.X0, y-g.Y0
	return (dx*g.YR - dy*g.XR) / det, (dy*g.XC - dx*g.YC) / det, true
}

// ReadGeoreference reads where the full-resolution image of a TIFF lies, whatever its pixels hold
// (OGC 19-008r4, annex B.6: tie point and scale, or a transformation matrix).
func ReadGeoreference(r io.ReaderAt, size int64, o Options) (Georeference, error) {
	dirs, err := readDirectories(r, size)
	if err != nil {
		return Georeference{}, fmt.Errorf("TIFF: %w", err)
	}
	for _, d := range dirs {
		sub, err := d.number(tagSubfile, 0)
		if err != nil {
			return Georeference{}, fmt.Errorf("TIFF: %w", err)
		}
		if sub&(subfileMask|subfileReduced) != 0 {
			continue
		}
		g, err := d.georeference(o)
		if err != nil {
			return Georeference{}, fmt.Errorf("TIFF: %w", err)
		}
		return g, nil
	}
	return Georeference{}, errors.New("TIFF: no full-resolution image in the file")
}

func (d *directory) georeference(o Options) (Georeference, error) {
	var g Georeference
	keys, err := d.geoKeys()
	if err != nil {
		return g, err
	}
	if g.CRS, err = keys.crs(o); err != nil {
		return g, err
	}
	scale, err1 := d.floats(tagPixelScale)
	tie, err2 := d.floats(tagTiepoint)
	matrix, err3 := d.floats(tagTransformation)
	if err := errors.Join(err1, err2, err3); err != nil {
		return g, err
	}
	switch {
	case len(scale) >= 2 && len(tie) >= 6:
		g.XC, g.YR = scale[0], -scale[1]
		g.X0, g.Y0 = tie[3]-tie[0]*scale[0], tie[4]+tie[1]*scale[1]
	case len(matrix) == 16:
		g.XC, g.XR, g.X0 = matrix[0], matrix[1], matrix[3]
		g.YC, g.YR, g.Y0 = matrix[4], matrix[5], matrix[7]
	default:
		return g, errors.New("the file does not say where the picture lies (no pixel scale and tie point)")
	}
	if keys.number[keyRasterType] == rasterPixelPoint { // the tie is a pixel's centre: move to its corner
		g.X0 -= (g.XC + g.XR) / 2
		g.Y0 -= (g.YC + g.YR) / 2
	}
	if _, _, ok := g.Pixel(0, 0); !ok {
		return g, errors.New("its rows and columns lie on one line")
	}
	return g, nil
}
