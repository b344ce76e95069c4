package terrain

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// ReadASC reads an ESRI ASCII grid of at most size bytes into memory. The format does not name its
// coordinate system: give it in the options.
func ReadASC(r io.Reader, size int64, o Options) (*Raster, error) {
	if o.CRS.code == 0 {
		return nil, errors.New("an ASCII grid does not name its coordinate system: state it, as in terrain_crs: EPSG:32632")
	}
	words := bufio.NewScanner(io.LimitReader(r, size))
	words.Buffer(make([]byte, 64<<10), 1<<20)
	words.Split(bufio.ScanWords)
	head := map[string]float64{}
	var first string
	for words.Scan() {
		key := strings.ToLower(words.Text())
		if c := key[0]; c != 'n' && c != 'x' && c != 'y' && c != 'c' && c != 'd' || key == "nan" {
			first = words.Text()
			break
		}
		if !words.Scan() {
			return nil, fmt.Errorf("ASCII grid: no value after %q", key)
		}
		v, err := strconv.ParseFloat(words.Text(), 64)
		if err != nil || math.IsInf(v, 0) || math.IsNaN(v) && key != "nodata_value" {
			return nil, fmt.Errorf("ASCII grid: %s is %q, expected a number", key, words.Text())
		}
		head[key] = v
	}
	cols, rows := head["ncols"], head["nrows"]
	if !(cols >= 2 && rows >= 2 && cols == math.Trunc(cols) && rows == math.Trunc(rows)) {
		return nil, fmt.Errorf("ASCII grid: ncols %g and nrows %g: expected whole numbers of at least 2", cols, rows)
	}
	if cols*rows > float64(size)/2+1 {
		return nil, fmt.Errorf("ASCII grid: %g × %g cells cannot fit in %d bytes; the file may be cut off", cols, rows, size)
	}
	dx, dy := head["cellsize"], head["cellsize"]
	if v, ok := head["dx"]; ok {
		dx = v
	}
	if v, ok := head["dy"]; ok {
		dy = v
	}
	if !(dx > 0 && dy > 0) {
		return nil, fmt.Errorf("ASCII grid: cell size %g × %g: expected a positive cellsize", dx, dy)
	}
	t := &Raster{Width: int(cols), Height: int(rows), CRS: o.CRS, Datum: unstatedDatum, StepX: dx, StepY: -dy}
	corner := func(axis string, cell float64) (float64, error) {
		if v, ok := head[axis+"llcenter"]; ok {
			return v, nil
		}
		if v, ok := head[axis+"llcorner"]; ok {
			return v + cell/2, nil
		}
		return 0, fmt.Errorf("ASCII grid: neither %sllcorner nor %sllcenter is given", axis, axis)
	}
	var err error
	if t.OriginX, err = corner("x", dx); err != nil {
		return nil, err
	}
	south, err := corner("y", dy)
	if err != nil {
		return nil, err
	}
	t.OriginY = south + float64(t.Height-1)*dy
	nodata, hasNodata := head["nodata_value"]
	if !hasNodata {
		nodata = -9999 // the format's default
	}
	var heights []float32
	for text := first; len(heights) < t.Width*t.Height; text = words.Text() {
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			if text == "" {
				return nil, fmt.Errorf("ASCII grid: %d heights, expected %d; the file is cut off", len(heights), t.Width*t.Height)
			}
			return nil, fmt.Errorf("ASCII grid: height %d is %q, expected a number", len(heights)+1, text)
		}
		heights = append(heights, height(v, nodata))
		if len(heights) < t.Width*t.Height && !words.Scan() {
			if err := words.Err(); err != nil {
				return nil, fmt.Errorf("ASCII grid: %w", err)
			}
			return nil, fmt.Errorf("ASCII grid: %d heights, expected %d; the file is cut off", len(heights), t.Width*t.Height)
		}
	}
	t.chunkW, t.chunkH = t.Width, t.Height
	t.load = func(int, int) ([]float32, error) { return heights, nil }
	t.cache = newChunkCache(o, len(heights))
	return t, t.check()
}

// height turns a stored value into a height, NaN for no data.
func height(v, nodata float64) float32 {
	if v == nodata || float32(v) == float32(nodata) || math.IsInf(v, 0) || math.Abs(v) > 1e6 {
		return float32(math.NaN())
	}
	return float32(v)
}

// check refuses a raster that does not lie on the Earth.
func (r *Raster) check() error {
	last := [2]float64{r.OriginX + float64(r.Width-1)*r.StepX, r.OriginY + float64(r.Height-1)*r.StepY}
	for _, v := range []float64{r.OriginX, r.OriginY, last[0], last[1]} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return errors.New("the grid's place is not a finite number")
		}
	}
	if r.StepX == 0 || r.StepY == 0 {
		return errors.New("the grid's cell size is zero")
	}
	if r.CRS.Geographic() {
		if math.Abs(r.OriginY) > 91 || math.Abs(last[1]) > 91 || math.Abs(r.OriginX) > 540 || math.Abs(last[0]) > 540 {
			return fmt.Errorf("corners %.6g, %.6g and %.6g, %.6g are not degrees of longitude and latitude; is the coordinate system right?", r.OriginX, r.OriginY, last[0], last[1])
		}
	} else if math.Abs(r.OriginX) > 2e6 || math.Abs(last[0]) > 2e6 || math.Abs(r.OriginY) > 2e7 || math.Abs(last[1]) > 2e7 {
		return fmt.Errorf("corners %.8g, %.8g and %.8g, %.8g lie outside UTM; is the coordinate system right?", r.OriginX, r.OriginY, last[0], last[1])
	}
	return nil
}
