package terrain_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"fieldfare/model/terrain"
)

// exercise reads corners and middle of whatever a reader accepted.
func exercise(r *terrain.Raster) {
	var buf [16]float32
	for _, p := range [][2]int{{0, 0}, {r.Width - 2, r.Height - 2}, {r.Width / 2, r.Height / 2}, {-2, -2}} {
		_ = r.Read(p[0], p[1], 4, 4, buf[:])
	}
	_, _, _ = r.HeightAt(r.Centre())
	for _, o := range r.Overviews() {
		_ = o.Read(0, 0, 4, 4, buf[:])
	}
}

func FuzzGeoTIFF(f *testing.F) {
	files, _ := filepath.Glob("testdata/*.tif")
	for _, name := range files {
		if b, err := os.ReadFile(name); err == nil && len(b) < 12000 {
			f.Add(b)
		}
	}
	f.Add([]byte("II+\x00\x08\x00\x00\x00\xff\xff\xff\xff\xff\xff\xff\x7f"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if r, err := terrain.ReadGeoTIFF(bytes.NewReader(b), int64(len(b)), terrain.Options{CacheBytes: 1}); err == nil {
			exercise(r)
		}
	})
}

func FuzzASCIIGrid(f *testing.F) {
	b, err := os.ReadFile("testdata/piece.asc")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(b)
	f.Add([]byte("ncols 2 nrows 2 xllcenter 5e5 yllcenter 5e6 dx 1 dy 2 nodata_value nan nan 1 2 3"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if r, err := terrain.ReadASC(bytes.NewReader(b), int64(len(b)), terrain.Options{CRS: epsg(t, 32632)}); err == nil {
			exercise(r)
		}
	})
}

func FuzzHGT(f *testing.F) {
	f.Add("N46E010.hgt", int64(2*1201*1201), []byte{1, 2, 3})
	f.Add("s90w180.SRTMGL1.hgt", int64(2*3601*3601), []byte{})
	f.Fuzz(func(t *testing.T, name string, size int64, b []byte) {
		if r, err := terrain.ReadHGT(bytes.NewReader(b), size, name, terrain.Options{CacheBytes: 1}); err == nil {
			exercise(r)
		}
	})
}
