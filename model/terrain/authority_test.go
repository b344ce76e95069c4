package terrain_test

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/terrain"
)

// rows reads a table under testdata/authority; its header names the tool and version.
func rows(t testing.TB, name string, atLeast int) [][]float64 {
	t.Helper()
	f, err := os.Open("testdata/authority/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out [][]float64
	for s := bufio.NewScanner(f); s.Scan(); {
		if strings.HasPrefix(s.Text(), "#") {
			continue
		}
		var row []float64
		for _, w := range strings.Fields(s.Text()) {
			v, err := strconv.ParseFloat(w, 64)
			if err != nil {
				t.Fatal(err)
			}
			row = append(row, v)
		}
		out = append(out, row)
	}
	if len(out) < atLeast {
		t.Fatalf("%s: only %d rows", name, len(out))
	}
	return out
}

func open(t testing.TB, name string, o terrain.Options) *terrain.Raster {
	t.Helper()
	r, err := terrain.Open("testdata/"+name, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	return r
}

func epsg(t testing.TB, code int) terrain.CRS {
	t.Helper()
	c, err := terrain.EPSG(code)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// wholeGrid copies a UTM raster cell by cell, so that grid and raster share nodes.
func wholeGrid(t testing.TB, r *terrain.Raster) *terrain.Grid {
	t.Helper()
	g, err := terrain.NewGrid(geo.Bounds{MaxX: float64(r.Width-1) * r.StepX, MaxY: float64(r.Height-1) * r.StepX}, r.StepX)
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for half := range 2 {
		wg.Go(func() {
			for j := half * r.Height / 2; j < (half+1)*r.Height/2; j++ { // rows run south in the file, north in the grid
				if err := r.Read(0, r.Height-1-j, r.Width, 1, g.Z[j*r.Width:][:r.Width]); err != nil {
					t.Error(err)
					return
				}
			}
		})
	}
	wg.Wait()
	return g
}

// Source: GDAL's bilinear warp at 200 random points each, testdata/authority/heights_*.txt.
func TestHeightsAgainstGDAL(t *testing.T) {
	const centimetre = 0.01
	for _, c := range []struct{ file, table string }{{"fault.tif", "heights_degrees.txt"}, {"utm.tif", "heights_utm.txt"}} {
		r := open(t, c.file, terrain.Options{})
		worst := 0.0
		for _, row := range rows(t, c.table, 200) {
			z, ok, err := r.HeightAt(r.CRS.Inverse(row[0], row[1]))
			if err != nil || !ok {
				t.Fatalf("%s at %v: %v %v", c.file, row, ok, err)
			}
			worst = math.Max(worst, math.Abs(z-row[2]))
		}
		t.Logf("%s: worst difference %.6f m", c.file, worst)
		if worst > centimetre {
			t.Errorf("%s: worst difference %g m", c.file, worst)
		}
	}
}

// Source: the heights as GDAL read them back, testdata/authority/cells.txt.
func TestLayouts(t *testing.T) {
	want := rows(t, "cells.txt", 61)
	files, err := filepath.Glob("testdata/layout_*.tif")
	if err != nil || len(files) < 19 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, file := range files {
		name := filepath.Base(file)
		r := open(t, name, terrain.Options{})
		if r.Width != 71 || r.Height != 61 {
			t.Fatalf("%s: %d × %d", name, r.Width, r.Height)
		}
		got := make([]float32, 71*61)
		if err := r.Read(0, 0, 71, 61, got); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for j := range 61 {
			for i := range 71 {
				w := want[j][i]
				switch kind := strings.Split(name, "_")[1]; {
				case kind[0] == 'f':
					w += 0.25
				case kind == "u8":
					w = math.Mod(w, 251)
				}
				hole := strings.Contains(name, "nodata") && j >= 20 && j < 25 && i >= 30 && i < 40
				v := float64(got[j*71+i])
				if hole != math.IsNaN(v) || !hole && v != w {
					t.Fatalf("%s: cell %d, %d is %v, want %v (hole %v)", name, i, j, v, w, hole)
				}
			}
		}
		p := r.CRS.Inverse(r.OriginX+10*r.StepX, r.OriginY+10*r.StepY)
		if z, ok, err := r.HeightAt(p); !ok || err != nil || math.Abs(z-float64(got[10*71+10])) > 1e-3 {
			t.Errorf("%s: height at a cell's centre %v %v %v", name, z, ok, err)
		}
	}
	// The centre of the first cell is where gdal_translate was told to put it, whether the file says area or point.
	area, point := open(t, "layout_f32_strips.tif", terrain.Options{}), open(t, "layout_f32_point.tif", terrain.Options{})
	if math.Abs(area.OriginX-point.OriginX) > 1e-12 || math.Abs(area.OriginY-point.OriginY) > 1e-12 {
		t.Errorf("area %v, %v; point %v, %v", area.OriginX, area.OriginY, point.OriginX, point.OriginY)
	}
}

// Source: the heights and scales that gdal.py wrote; US survey foot 1200/3937 m (NIST SP 811, appendix B).
func TestHeightsNotStoredAsMetres(t *testing.T) {
	want := rows(t, "cells.txt", 61)
	for name, metres := range map[string]func(v float64) float64{
		"scaled.tif":     func(v float64) float64 { return v*0.1 + 100 },
		"scaled_tie.tif": func(v float64) float64 { return v*0.1 + 100 },
		"feet.tif":       func(v float64) float64 { return v * 1200 / 3937 },
	} {
		r := open(t, name, terrain.Options{})
		got := make([]float32, 71*61)
		if err := r.Read(0, 0, 71, 61, got); err != nil {
			t.Fatal(err)
		}
		for i, z := range got {
			if w := metres(want[i/71][i%71]); math.Abs(float64(z)-w) > 1e-4 {
				t.Fatalf("%s: cell %d is %v, want %v", name, i, z, w)
			}
		}
		if r.Datum.Stated != (name != "scaled.tif") {
			t.Errorf("%s: %+v", name, r.Datum)
		}
	}
}

// Source: GDAL's own overview of the cloud-optimised file.
func TestOverview(t *testing.T) {
	r := open(t, "cog.tif", terrain.Options{})
	if r.Width != 300 || len(r.Overviews()) == 0 {
		t.Fatalf("%d wide, %d overviews", r.Width, len(r.Overviews()))
	}
	o := r.Overviews()[0]
	if o.Width != 150 || math.Abs(o.StepX-2*r.StepX) > 1e-15 {
		t.Errorf("overview %d wide, step %g", o.Width, o.StepX)
	}
	got := make([]float32, 40*40)
	if err := o.Read(0, 0, 40, 40, got); err != nil {
		t.Fatal(err)
	}
	for j, row := range rows(t, "cog_overview.txt", 40) {
		for i, w := range row {
			if float64(got[j*40+i]) != w {
				t.Fatalf("cell %d, %d is %v, want %v", i, j, got[j*40+i], w)
			}
		}
	}
}

// Source: GDAL's ASCII writer, from utm.tif.
func TestASCIIGrid(t *testing.T) {
	r, whole := open(t, "piece.asc", terrain.Options{CRS: epsg(t, 32616)}), open(t, "utm.tif", terrain.Options{})
	got, want := make([]float32, 30*25), make([]float32, 30*25)
	if err := r.Read(0, 0, 30, 25, got); err != nil {
		t.Fatal(err)
	}
	if err := whole.Read(100, 100, 30, 25, want); err != nil {
		t.Fatal(err)
	}
	for i := range got {
		if got[i] != want[i] {
			t.Fatalf("height %d is %v, want %v", i, got[i], want[i])
		}
	}
	p := whole.CRS.Inverse(whole.OriginX+110*whole.StepX, whole.OriginY+110*whole.StepY)
	a, _, _ := r.HeightAt(p)
	b, _, _ := whole.HeightAt(p)
	if math.Abs(a-b) > 1e-3 {
		t.Errorf("same place, %v and %v", a, b)
	}
}

// Source: gdal_viewshed, testdata/authority/viewshed.txt and viewshed_*.tif.
func TestViewshedAgainstGDAL(t *testing.T) {
	utm := open(t, "utm.tif", terrain.Options{})
	g := wholeGrid(t, utm)
	for _, row := range rows(t, "viewshed.txt", 6) {
		col, line := int(row[1]), int(row[2])
		at, _ := g.Node(col, g.NY-1-line)
		v, err := g.Viewshed(at.XY(), terrain.View{EyeM: row[3], TargetM: row[4], RangeM: row[5], Refraction: 1 - row[6]})
		if err != nil {
			t.Fatal(err)
		}
		raster := open(t, "viewshed_"+strconv.Itoa(int(row[0]))+".tif", terrain.Options{})
		// gdal_viewshed crops its raster to the range.
		c0 := int(math.Round((raster.OriginX - utm.OriginX) / utm.StepX))
		r0 := int(math.Round((raster.OriginY - utm.OriginY) / utm.StepY))
		same, cells := 0, 0
		buf := make([]float32, raster.Width)
		seen := 0
		for r := range raster.Height {
			if err := raster.Read(0, r, raster.Width, 1, buf); err != nil {
				t.Fatal(err)
			}
			for c, value := range buf {
				want := map[float32]terrain.Visibility{255: terrain.Visible, 0: terrain.Hidden, 100: terrain.OutOfRange}[value]
				got := v.Cells[(g.NY-1-r0-r)*g.NX+c0+c]
				cells++
				if got == want {
					same++
				}
				if got == terrain.Visible {
					seen++
				}
			}
		}
		share := float64(same) / float64(cells)
		t.Logf("view %v: %d cells, %.3f %% the same, %d seen", row[0], cells, 100*share, seen)
		if share < 0.995 {
			t.Errorf("view %v: only %.3f %% of %d cells agree", row[0], 100*share, cells)
		}
	}
}

// Source: gdaldem slope (Horn), testdata/authority/slope.txt.
func TestSlopeAgainstGDAL(t *testing.T) {
	g := wholeGrid(t, open(t, "utm.tif", terrain.Options{}))
	for _, row := range rows(t, "slope.txt", 200) {
		p, _ := g.Node(int(row[0]), g.NY-1-int(row[1]))
		s, ok := g.Slope(p.X, p.Y)
		if !ok || math.Abs(s.Deg()-row[2]) > 0.001 {
			t.Errorf("slope at %v: %v, want %v", row[:2], s.Deg(), row[2])
		}
	}
}

func TestRefusals(t *testing.T) {
	for file, want := range map[string]string{
		"refuse_lambert.tif": "EPSG:3035 is not supported",
		"refuse_nocrs.tif":   "coordinate system",
		"refuse_turned.tif":  "turned",
		"refuse_bands.tif":   "3 bands",
		"refuse_jpeg.tif":    "compression 7",
		"piece.asc":          "state it",
		"piece.xyz":          "no such file",
	} {
		_, err := terrain.Open("testdata/"+file, terrain.Options{})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: want an error with %q, got %v", file, want, err)
		}
	}
}
