package basemap_test

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"math"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"fieldfare/model/basemap"
	"fieldfare/model/geo"
	"fieldfare/model/terrain"
)

// TestPlaces compares where pixels lie with GDAL's gdaltransform (testdata/authority/gdal.sh).
func TestPlaces(t *testing.T) {
	f, err := os.Open("testdata/authority/places.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	maps := map[string]*basemap.Map{}
	n := 0
	for s := bufio.NewScanner(f); s.Scan(); {
		if strings.HasPrefix(s.Text(), "#") {
			continue
		}
		var name string
		var col, row, lon, lat float64
		if _, err := fmt.Sscan(s.Text(), &name, &col, &row, &lon, &lat); err != nil {
			t.Fatal(s.Text(), err)
		}
		m := maps[name]
		if m == nil {
			if m, err = basemap.Read(os.DirFS("testdata"), name, terrain.CRS{}); err != nil {
				t.Fatal(name, err)
			}
			maps[name] = m
		}
		gotLon, gotLat := basemap.LonLat(m, col, row)
		if off := geo.Distance(geo.Degrees(lat, lon), geo.Degrees(gotLat, gotLon)); off > 0.02 {
			t.Errorf("%s column %g row %g: %.3f m off GDAL's place", name, col, row, off)
		}
		if !(lon >= m.West-1e-9 && lon <= m.East+1e-9 && lat >= m.South-1e-9 && lat <= m.North+1e-9) {
			t.Errorf("%s: %g, %g lies outside its bounds %+v", name, lon, lat, m)
		}
		n++
	}
	if n != 20 {
		t.Fatalf("%d places compared, want 20", n)
	}
}

// TestTiles compares tiles with GDAL's bilinear warp into web map tiles.
func TestTiles(t *testing.T) {
	for _, x := range []struct {
		name    string
		z, x, y int
	}{{"utm.tif", 15, 17322, 11577}, {"web.tif", 15, 17321, 11576}, {"turned.tif", 15, 17322, 11577}, {"degrees.png", 15, 17321, 11578}} {
		m, err := basemap.Read(os.DirFS("testdata"), x.name, terrain.CRS{})
		if err != nil {
			t.Fatal(err)
		}
		s, err := basemap.Open(os.DirFS("testdata"), m)
		if err != nil {
			t.Fatal(err)
		}
		got, ok := s.Tile(x.z, x.x, x.y)
		if !ok {
			t.Fatalf("%s: an empty tile", x.name)
		}
		stem := x.name[:strings.Index(x.name, ".")]
		f, err := os.Open(fmt.Sprintf("testdata/authority/%s_%d_%d_%d.png", stem, x.z, x.x, x.y))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		img, err := png.Decode(f)
		if err != nil {
			t.Fatal(err)
		}
		want := image.NewNRGBA(img.Bounds())
		draw.Draw(want, want.Bounds(), img, img.Bounds().Min, draw.Src)
		both, worst, sum, edge := 0, 0, 0, 0
		for k := 0; k < len(want.Pix); k += 4 {
			if (want.Pix[k+3] > 127) != (got.Pix[k+3] > 127) {
				edge++
				continue
			}
			if want.Pix[k+3] < 255 || got.Pix[k+3] < 255 {
				continue
			}
			both++
			for c := range 3 {
				d := int(math.Abs(float64(want.Pix[k+c]) - float64(got.Pix[k+c])))
				worst, sum = max(worst, d), sum+d
			}
		}
		if mean := float64(sum) / float64(3*both); both < 3000 || mean > 0.6 || worst > 12 || edge > 700 {
			t.Errorf("%s: %d pixels of both, mean difference %.2f of 255, worst %d, %d at the edges covered by one alone", x.name, both, mean, worst, edge)
		}
		if _, ok := s.Tile(x.z, x.x+40, x.y); ok {
			t.Errorf("%s: a tile far away shows something", x.name)
		}
	}
}

// TestCoarse: a tile that holds the whole picture many times smaller shows its mean colour, not single pixels.
func TestCoarse(t *testing.T) {
	const n = 512
	img := image.NewGray(image.Rect(0, 0, n, n))
	for k := range img.Pix {
		img.Pix[k] = uint8(255 * ((k + k/n) % 2)) // a board of single pixels
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	files := fstest.MapFS{"a.png": {Data: b.Bytes()}, "a.wld": {Data: []byte("0.0001\n0\n0\n-0.0001\n10\n46\n")}}
	m, err := basemap.Read(files, "a.png", terrain.CRS{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := basemap.Open(files, m)
	if err != nil {
		t.Fatal(err)
	}
	z := m.MaxZoom - 3
	side := math.Exp2(float64(z))
	lat := 45.98 * math.Pi / 180
	tile, ok := s.Tile(z, int(190.02/360*side), int((1-math.Asinh(math.Tan(lat))/math.Pi)/2*side))
	if !ok {
		t.Fatal("nothing to see")
	}
	seen := 0
	for k := 0; k < len(tile.Pix); k += 4 {
		if tile.Pix[k+3] == 255 {
			seen++
			if v := tile.Pix[k]; v < 120 || v > 136 {
				t.Fatalf("grey %d, want about 128", v)
			}
		}
	}
	if seen < 100 {
		t.Errorf("%d pixels seen", seen)
	}
}

func picture(t *testing.T) []byte {
	t.Helper()
	src, err := os.ReadFile("testdata/degrees.png")
	if err != nil {
		t.Fatal(err)
	}
	return src
}

func TestRefusals(t *testing.T) {
	src := picture(t)
	metres := []byte("10\n0\n0\n-10\n600000\n5160000\n")
	for name, x := range map[string]struct {
		file  string
		files fstest.MapFS
		want  string
	}{
		"no world file":        {"a.png", fstest.MapFS{"a.png": {Data: src}}, "a.pgw or a.pngw or a.wld"},
		"metres of no system":  {"a.png", fstest.MapFS{"a.png": {Data: src}, "a.pgw": {Data: metres}}, "map_crs"},
		"five numbers":         {"a.png", fstest.MapFS{"a.png": {Data: src}, "a.pgw": {Data: []byte("1 0 0 -1 10")}}, "5 numbers"},
		"a word":               {"a.png", fstest.MapFS{"a.png": {Data: src}, "a.pgw": {Data: []byte("1 0 0 x 10 46")}}, "line 4"},
		"rows along columns":   {"a.png", fstest.MapFS{"a.png": {Data: src}, "a.pgw": {Data: []byte("1 1 1 1 10 46")}}, "one line"},
		"no picture":           {"a.png", fstest.MapFS{"a.png": {Data: []byte("hello")}}, "picture"},
		"unknown kind":         {"a.bmp", fstest.MapFS{"a.bmp": {Data: src}}, ".pmtiles"},
		"a folder":             {"a", fstest.MapFS{"a/b.png": {Data: src}}, "not a file"},
		"a short archive":      {"a.pmtiles", fstest.MapFS{"a.pmtiles": {Data: []byte("PMTiles\x03")}}, "cut off"},
		"no archive":           {"a.pmtiles", fstest.MapFS{"a.pmtiles": {Data: bytes.Repeat([]byte("x"), 200)}}, "PMTiles archive"},
		"an archive of old":    {"a.pmtiles", fstest.MapFS{"a.pmtiles": {Data: append([]byte("PMTiles\x02"), make([]byte, 200)...)}}, "version 2"},
		"an archive of what":   {"a.pmtiles", fstest.MapFS{"a.pmtiles": {Data: append([]byte("PMTiles\x03"), make([]byte, 200)...)}}, "kind 0"},
		"an unplaced GeoTIFF?": {"a.tif", fstest.MapFS{"a.tif": {Data: []byte("II*\x00\x08\x00\x00\x00\x00\x00\x00\x00\x00\x00")}}, "picture"},
	} {
		if _, err := basemap.Read(x.files, x.file, terrain.CRS{}); err == nil || !strings.Contains(err.Error(), x.want) {
			t.Errorf("%s: %v, want %q in it", name, err, x.want)
		}
	}
	utm, err := terrain.EPSG(32632)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := basemap.Read(fstest.MapFS{"a.png": {Data: src}, "a.pgw": {Data: metres}}, "a.png", utm); err != nil {
		t.Errorf("metres of a stated system: %v", err)
	}
}

// head is that of an archive as the PMTiles specification (version 3, section 3) lays it out.
func head(kind byte, zooms [2]byte, bounds [4]int32) []byte {
	b := make([]byte, 127)
	copy(b, "PMTiles\x03")
	b[99], b[100], b[101] = kind, zooms[0], zooms[1]
	for i, v := range bounds {
		binary.LittleEndian.PutUint32(b[102+4*i:], uint32(v))
	}
	return b
}

func TestArchive(t *testing.T) {
	read := func(b []byte) (*basemap.Map, error) {
		return basemap.Read(fstest.MapFS{"m.pmtiles": {Data: b}}, "m.pmtiles", terrain.CRS{})
	}
	m, err := read(head(2, [2]byte{3, 15}, [4]int32{102000000, 465000000, 104000000, -467000000 + 934000000}))
	if err != nil || m.Kind != basemap.Archive || m.Vector || m.MinZoom != 3 || m.MaxZoom != 15 || !m.Covers(10.3, 46.6) || m.Covers(10.5, 46.6) {
		t.Errorf("%+v %v", m, err)
	}
	if m, err := read(head(1, [2]byte{0, 14}, [4]int32{-1800000000, -850000000, 1800000000, 850000000})); err != nil || !m.Vector {
		t.Errorf("%+v %v", m, err)
	}
	for name, b := range map[string][]byte{
		"east of itself":   head(2, [2]byte{0, 9}, [4]int32{5, 0, 4, 1}),
		"zooms backwards":  head(2, [2]byte{9, 3}, [4]int32{0, 0, 4, 1}),
		"beyond the pole":  head(2, [2]byte{0, 9}, [4]int32{0, 0, 4, 950000000}),
		"an unknown kind":  head(9, [2]byte{0, 9}, [4]int32{0, 0, 4, 1}),
		"a hundred zooms?": head(2, [2]byte{0, 100}, [4]int32{0, 0, 4, 1}),
	} {
		if m, err := read(b); err == nil {
			t.Errorf("%s: %+v", name, m)
		}
	}
}

func FuzzWorldFile(f *testing.F) {
	f.Add([]byte("0.0001\n0\n0\n-0.0001\n10\n46\n"))
	f.Add([]byte("\ufeff1e300 0 0 -1e300 nan 46"))
	f.Fuzz(func(t *testing.T, text []byte) {
		g, err := basemap.ParseWorldFile(text)
		if err == nil && (math.IsNaN(g.X0) || g.XC*g.YR == g.XR*g.YC) {
			t.Errorf("%q: %+v", text, g)
		}
	})
}

func FuzzRead(f *testing.F) {
	f.Add("m.pmtiles", head(2, [2]byte{3, 15}, [4]int32{1, 2, 3, 4}), []byte("1 0 0 -1 10 46"))
	f.Add("m.png", []byte("\x89PNG\r\n\x1a\n"), []byte("1 0 0 -1 10 46"))
	f.Add("m.tif", []byte("II*\x00\x08\x00\x00\x00"), []byte(""))
	f.Fuzz(func(t *testing.T, name string, src, world []byte) {
		files := fstest.MapFS{name: {Data: src}, "m.wld": {Data: world}}
		m, err := basemap.Read(files, name, terrain.CRS{})
		if err != nil || m.Kind == basemap.Archive {
			return
		}
		if m.Width*m.Height > 1<<20 {
			return
		}
		if s, err := basemap.Open(files, m); err == nil {
			s.Tile(m.MaxZoom, 1, 1)
		}
	})
}

func BenchmarkTile(b *testing.B) {
	m, err := basemap.Read(os.DirFS("testdata"), "utm.tif", terrain.CRS{})
	if err != nil {
		b.Fatal(err)
	}
	s, err := basemap.Open(os.DirFS("testdata"), m)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s.Tile(15, 17322, 11577)
	}
}
