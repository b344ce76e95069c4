package basemap_test

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
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

// lines are those of a file of authority/archive.mjs that are not remarks.
func lines(t *testing.T, file string) (all []string) {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for s := bufio.NewScanner(f); s.Scan(); {
		if !strings.HasPrefix(s.Text(), "#") {
			all = append(all, s.Text())
		}
	}
	return all
}

// TestTileIDs compares with the pmtiles library's numbers.
func TestTileIDs(t *testing.T) {
	n := 0
	for _, l := range lines(t, "testdata/authority/tileids.txt") {
		var z, x, y int
		var want uint64
		if _, err := fmt.Sscan(l, &z, &x, &y, &want); err != nil {
			t.Fatal(err)
		}
		if got := basemap.TileID(z, x, y); got != want {
			t.Errorf("%d/%d/%d: %d, want %d", z, x, y, got, want)
		}
		n++
	}
	if n != 11 {
		t.Fatalf("%d numbers", n)
	}
}

// inTile is where points of a drawing lie that shows a tile of the web's map, or a part of it, side pixels wide
// (EPSG Guidance Note 7-2, method 1024).
func inTile(z int, x, y, share, side float64) basemap.Place {
	n := math.Exp2(float64(z))
	return func(px, py float64) geo.LatLon {
		u, v := (x+px/side*share)/n, (y+py/side*share)/n
		return geo.Degrees(math.Atan(math.Sinh(math.Pi*(1-2*v)))*180/math.Pi, u*360-180)
	}
}

func readArchive(t *testing.T, name string) *basemap.Map {
	t.Helper()
	m, err := basemap.Read(os.DirFS("testdata"), name, terrain.CRS{})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// TestPicturesOfAnArchive: an archive that the pmtiles library reads gives GDAL's tiles back, dot by dot, and shows the
// ground where the picture itself does.
func TestPicturesOfAnArchive(t *testing.T) {
	m := readArchive(t, "pictures.pmtiles")
	if m.Credit != "© Ombriva commune, invented" {
		t.Errorf("credit %q", m.Credit)
	}
	same := func(name string, x, y int) {
		t.Helper()
		f, err := os.Open("testdata/authority/" + name)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		src, err := png.Decode(f)
		if err != nil {
			t.Fatal(err)
		}
		want := image.NewNRGBA(src.Bounds())
		draw.Draw(want, want.Bounds(), src, image.Point{}, draw.Src)
		got, err := basemap.Draw(os.DirFS("testdata"), m, 256, 256, inTile(15, float64(x), float64(y), 1, 256))
		if err != nil {
			t.Fatal(err)
		}
		seen := 0
		for k := 0; k < len(want.Pix); k += 4 {
			if got.Pix[k+3] != want.Pix[k+3] || want.Pix[k+3] > 0 && !bytes.Equal(got.Pix[k:k+3], want.Pix[k:k+3]) {
				t.Fatalf("%s: dot %d is %v, want %v", name, k/4, got.Pix[k:k+4], want.Pix[k:k+4])
			}
			if want.Pix[k+3] > 0 {
				seen++
			}
		}
		if seen < 3000 {
			t.Fatalf("%s shows %d dots", name, seen)
		}
	}
	same("utm_15_17322_11577.png", 17322, 11577)
	same("degrees_15_17321_11578.png", 17321, 11578)
	same("web_15_17321_11576.png", 17321, 11576)
	twice := 0
	for x := 17310; x < 17330; x++ {
		for y := 11570; y < 11585; y++ {
			if basemap.TileID(15, x, y) == basemap.TileID(15, 17321, 11576)+1 {
				same("web_15_17321_11576.png", x, y) // one entry stands for two tiles
				twice++
			}
		}
	}
	if twice != 1 {
		t.Error("the tile behind was not found")
	}

	// Between the dots, at another scale: as the picture that GDAL made the tile from.
	p := readArchive(t, "utm.tif")
	place := inTile(15, 17322.1, 11577.1, 0.8, 300)
	a, err1 := basemap.Draw(os.DirFS("testdata"), m, 300, 300, place)
	b, err2 := basemap.Draw(os.DirFS("testdata"), p, 300, 300, place)
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	sum, n := 0.0, 0
	for k := range a.Pix {
		if k%4 < 3 && a.Pix[k|3] == 255 && b.Pix[k|3] == 255 {
			sum, n = sum+math.Abs(float64(a.Pix[k])-float64(b.Pix[k])), n+1
		}
	}
	if n < 20000 || sum/float64(n) > 2 {
		t.Errorf("%d dots of both, %.2f of 255 apart in the mean", n, sum/float64(n))
	}
	far, err := basemap.Draw(os.DirFS("testdata"), m, 64, 64, inTile(15, 100, 100, 1, 64))
	if err != nil || !bytes.Equal(far.Pix, make([]byte, len(far.Pix))) {
		t.Errorf("far away it shows something: %v", err)
	}
}

// TestLinesOfAnArchive compares geometry with the vector-tile library's, and looks at what is drawn of it.
func TestLinesOfAnArchive(t *testing.T) {
	m := readArchive(t, "lines.pmtiles")
	data, err := os.ReadFile("testdata/lines.pmtiles")
	if err != nil {
		t.Fatal(err)
	}
	got, err := basemap.Shapes(data, 14, 8661, 5788)
	if err != nil {
		t.Fatal(err)
	}
	want := lines(t, "testdata/authority/shapes.txt")
	if len(got) != len(want) || len(want) != 4 {
		t.Fatalf("%d shapes, want %d", len(got), len(want))
	}
	for i, s := range got {
		var parts []string
		for _, part := range s.Parts {
			var dots []string
			for _, p := range part {
				dots = append(dots, fmt.Sprintf("%.0f,%.0f", p[0]*4096, p[1]*4096))
			}
			parts = append(parts, strings.Join(dots, " "))
		}
		_, rest, _ := strings.Cut(want[i], " ")
		if text := fmt.Sprintf("%d %s", s.Kind, strings.Join(parts, " | ")); text != rest {
			t.Errorf("shape %d: %s\nwant %s", i, text, rest)
		}
	}
	for _, side := range []float64{200, 1500} { // finer than the archive is, too
		img, err := basemap.Draw(os.DirFS("testdata"), m, int(side), int(side), inTile(14, 8661, 5788, 1, side))
		if err != nil {
			t.Fatal(err)
		}
		blue := func(c color.NRGBA) bool { return c.B > c.R+30 && c.A == 255 }
		pale := func(c color.NRGBA) bool { return c.R > 250 && c.B > 250 && c.A == 255 }
		grey := func(c color.NRGBA) bool { return c.R < 225 && c.R >= c.B && c.A == 255 }
		for what, x := range map[string]struct {
			u, v float64
			is   func(color.NRGBA) bool
		}{
			"lake": {0.3, 0.3, blue}, "lake at its edge": {0.79, 0.5, blue}, "island": {0.5, 0.5, pale}, "meadow": {0.1, 0.5, pale}, "stream": {0.5, 0.9, blue},
			"path": {0.25, 0.1, grey}, "spring": {0.1, 0.9, grey}, "beside the path": {0.25, 0.13, pale},
		} {
			found := false // lines are thin: within a dot and a half
			for dx := -1.0; dx <= 1; dx++ {
				for dy := -1.0; dy <= 1; dy++ {
					found = found || x.is(img.NRGBAAt(int(x.u*side+dx), int(x.v*side+dy)))
				}
			}
			if !found {
				t.Errorf("%s at %.0f dots: %v", what, side, img.NRGBAAt(int(x.u*side), int(x.v*side)))
			}
		}
	}
}

// TestBrokenArchives: what cannot be read is said; nothing crashes or hangs.
func TestBrokenArchives(t *testing.T) {
	for _, name := range []string{"pictures.pmtiles", "lines.pmtiles"} {
		whole, err := os.ReadFile("testdata/" + name)
		if err != nil {
			t.Fatal(err)
		}
		place := inTile(15, 17321, 11576, 3, 64)
		if name == "lines.pmtiles" {
			place = inTile(14, 8661, 5788, 1, 64)
		}
		try := func(change func(b []byte) []byte) error {
			files := fstest.MapFS{"m.pmtiles": {Data: change(bytes.Clone(whole))}}
			m, err := basemap.Read(files, "m.pmtiles", terrain.CRS{})
			if err == nil {
				_, err = basemap.Draw(files, m, 64, 64, place)
			}
			return err
		}
		if err := try(func(b []byte) []byte { return b }); err != nil {
			t.Fatal(err)
		}
		for n := 127; n < len(whole); n += 1 + len(whole)/97 {
			if err := try(func(b []byte) []byte { return b[:n] }); err == nil {
				t.Errorf("%s: cut off at %d and drawn", name, n)
			}
		}
		for what, x := range map[string]struct {
			change func(b []byte)
			want   string
		}{
			"packed in an unknown way": {func(b []byte) { b[97] = 4 }, "expected plain or gzip"},
			"tiles packed unknown":     {func(b []byte) { b[98] = 3 }, "expected plain or gzip"},
			"AVIF":                     {func(b []byte) { b[99] = 5 }, "AVIF"},
			"a huge directory":         {func(b []byte) { binary.LittleEndian.PutUint64(b[16:], 1<<60) }, "at most 32 MB"},
			"far beyond the end":       {func(b []byte) { binary.LittleEndian.PutUint64(b[8:], math.MaxUint64) }, "at most 32 MB"},
		} {
			if err := try(func(b []byte) []byte { x.change(b); return b }); err == nil || !strings.Contains(err.Error(), x.want) {
				t.Errorf("%s, %s: %v", name, what, err)
			}
		}
	}
	// A leaf that is its own leaf.
	loop := make([]byte, 127)
	copy(loop, "PMTiles\x03")
	for at, v := range map[int]uint64{8: 127, 16: 5, 40: 127, 48: 5} {
		binary.LittleEndian.PutUint64(loop[at:], v)
	}
	loop[97], loop[98], loop[99], loop[100], loop[101] = 1, 1, 2, 3, 3
	files := fstest.MapFS{"m.pmtiles": {Data: append(loop, 1, 0, 0, 5, 1)}}
	m, err := basemap.Read(files, "m.pmtiles", terrain.CRS{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := basemap.Draw(files, m, 32, 32, inTile(3, 4, 2, 1, 32)); err == nil || !strings.Contains(err.Error(), "without end") {
		t.Errorf("a directory in itself: %v", err)
	}
}

func FuzzArchive(f *testing.F) {
	for _, name := range []string{"pictures.pmtiles", "lines.pmtiles"} {
		whole, err := os.ReadFile("testdata/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(whole)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		files := fstest.MapFS{"m.pmtiles": {Data: data}}
		m, err := basemap.Read(files, "m.pmtiles", terrain.CRS{})
		if err == nil {
			_, _ = basemap.Draw(files, m, 40, 40, inTile(14, 8661, 5788, 1, 40))
		}
	})
}
