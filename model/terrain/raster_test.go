package terrain_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/terrain"
)

func image(t testing.TB, code, w, h int) terrain.Image {
	t.Helper()
	m := terrain.Image{CRS: epsg(t, code), West: 600000, North: 5166000, CellX: 10, CellY: 10, Width: w, Height: h, Z: make([]float32, w*h)}
	if m.CRS.Geographic() {
		m.West, m.North, m.CellX, m.CellY = 10.3, 46.7, 1.0/3600, 1.0/3600
	}
	for i := range m.Z {
		m.Z[i] = float32(1500 + 400*math.Sin(float64(i%w)/40)*math.Cos(float64(i/w)/50))
	}
	m.Z[5*w+7] = float32(math.NaN())
	return m
}

func TestWriteAndRead(t *testing.T) {
	for _, code := range []int{32632, 4326, 32733} {
		m := image(t, code, 300, 270)
		var buf, again bytes.Buffer
		if err := terrain.WriteGeoTIFF(&buf, m); err != nil {
			t.Fatal(err)
		}
		if err := terrain.WriteGeoTIFF(&again, m); err != nil || !bytes.Equal(buf.Bytes(), again.Bytes()) {
			t.Fatalf("not the same bytes twice: %v", err)
		}
		r, err := terrain.ReadGeoTIFF(bytes.NewReader(buf.Bytes()), int64(buf.Len()), terrain.Options{})
		if err != nil {
			t.Fatal(err)
		}
		got := make([]float32, len(m.Z))
		if err := r.Read(0, 0, m.Width, m.Height, got); err != nil {
			t.Fatal(err)
		}
		for i := range got {
			if got[i] != m.Z[i] && !(got[i] != got[i] && m.Z[i] != m.Z[i]) {
				t.Fatalf("EPSG:%d cell %d: %v, want %v", code, i, got[i], m.Z[i])
			}
		}
		if r.CRS.Code() != code || math.Abs(r.OriginX-m.West-m.CellX/2) > 1e-9 || math.Abs(r.OriginY-m.North+m.CellY/2) > 1e-9 {
			t.Errorf("EPSG:%d came back as %v at %v, %v", code, r.CRS, r.OriginX, r.OriginY)
		}
		if r.Datum.Stated || r.Datum.Note == "" {
			t.Errorf("an unstated datum must say what is assumed: %+v", r.Datum)
		}
	}
	m := image(t, 32632, 20, 20)
	m.VerticalEPSG = 5773
	var buf bytes.Buffer
	if err := terrain.WriteGeoTIFF(&buf, m); err != nil {
		t.Fatal(err)
	}
	r, err := terrain.ReadGeoTIFF(bytes.NewReader(buf.Bytes()), int64(buf.Len()), terrain.Options{})
	if err != nil || !r.Datum.Stated || r.Datum.Name != "EGM96 height" {
		t.Errorf("%+v %v", r, err)
	}
	m.Z = m.Z[:5]
	if err := terrain.WriteGeoTIFF(io.Discard, m); err == nil {
		t.Error("too few heights accepted")
	}
}

// Resampling in blocks gives the heights of the exact road, point by point.
func TestResample(t *testing.T) {
	for _, file := range []string{"utm.tif", "fault.tif"} {
		r := open(t, file, terrain.Options{CacheBytes: 1})
		f := geo.NewFrame(r.Centre())
		b := r.SiteBounds(f)
		for _, cell := range []float64{17, 90, 400} {
			g, err := terrain.Resample(r, f, b, cell)
			if err != nil {
				t.Fatal(err)
			}
			known := 0
			for n := 0; n < len(g.Z); n += 1 + len(g.Z)/3000 {
				p, ok := g.Node(n%g.NX, n/g.NX)
				z, want, err := r.HeightAt(f.ToLatLon(p))
				if err != nil {
					t.Fatal(err)
				}
				if ok != want || ok && math.Abs(z-p.Z) > 0.002 {
					t.Errorf("%s, cell %v, node %d: %v %v, want %v %v", file, cell, n, p.Z, ok, z, want)
				}
				if ok {
					known++
				}
			}
			if known < 2000 && cell < 400 {
				t.Errorf("%s: only %d nodes known", file, known)
			}
		}
	}
}

func TestGridRefusals(t *testing.T) {
	for _, c := range []struct {
		b    geo.Bounds
		cell float64
	}{{geo.Bounds{MaxX: 1, MaxY: 1}, 0}, {geo.Bounds{MaxX: -1, MaxY: 1}, 1}, {geo.Bounds{MaxX: 1e9, MaxY: 1e9}, 1}, {geo.Bounds{MaxX: math.NaN(), MaxY: 1}, 1}, {geo.Bounds{MaxX: math.Inf(1), MaxY: 1}, 1}} {
		if _, err := terrain.NewGrid(c.b, c.cell); err == nil {
			t.Errorf("%v accepted", c)
		}
	}
}

// hgt writes an SRTM tile whose height at column c, row r is f(c, r).
func hgt(t testing.TB, dir, name string, n int, f func(c, r int) int16) string {
	t.Helper()
	b := make([]byte, 2*n*n)
	for r := range n {
		for c := range n {
			binary.BigEndian.PutUint16(b[2*(r*n+c):], uint16(f(c, r)))
		}
	}
	path := filepath.Join(dir, name)
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// Source of the layout: SRTM Collection User Guide: rows from the north, big-endian, -32768 void,
// name of the south-west corner.
func TestHGT(t *testing.T) {
	dir := t.TempDir()
	ramp := func(c, r int) int16 {
		if c == 600 && r == 600 {
			return -32768
		}
		return int16(c + 2*(1200-r))
	}
	west, err := terrain.Open(hgt(t, dir, "S01W001.hgt", 1201, ramp), terrain.Options{CacheBytes: 1})
	if err != nil {
		t.Fatal(err)
	}
	east, err := terrain.Open(hgt(t, dir, "S01E000.hgt", 1201, func(c, r int) int16 { return int16(1200 + c + 2*(1200-r)) }), terrain.Options{})
	if err != nil {
		t.Fatal(err)
	}
	both := terrain.Mosaic{west, east}
	for _, c := range []struct{ lat, lon, z float64 }{{-1, -1, 0}, {-0.5, -0.25, 900 + 1200}, {-0.25, 0.5, 1800 + 1800}, {0, 1, 2400 + 2400}, {-0.7503, -0.1, 1080 + 2400*0.2497}, {-0.3, 0, 1200 + 1680}} {
		z, ok, err := both.HeightAt(geo.Degrees(c.lat, c.lon))
		if err != nil || !ok || math.Abs(z-c.z) > 1e-3 {
			t.Errorf("%v: %v %v %v", c, z, ok, err)
		}
	}
	for _, p := range []geo.LatLon{geo.Degrees(-0.5, -0.5), geo.Degrees(-0.5001, -0.5001), geo.Degrees(0.1, 0.5), geo.Degrees(-0.5, 1.5)} {
		if z, ok, err := both.HeightAt(p); ok || err != nil {
			t.Errorf("%v: %v %v %v", p, z, ok, err)
		}
	}
	f := geo.NewFrame(geo.Degrees(-0.5, 0))
	g, err := terrain.Resample(both, f, geo.Bounds{MinX: -5000, MinY: -5000, MaxX: 5000, MaxY: 5000}, 50)
	if err != nil || !g.Complete() {
		t.Fatalf("a seam between tiles left holes: %v", err)
	}
	if !both.VerticalDatum().Stated {
		t.Errorf("SRTM heights have a datum: %+v", both.VerticalDatum())
	}
	for name, want := range map[string]string{"valley.hgt": "N46E010", "N95E010.hgt": "no such tile"} {
		if _, err := terrain.Open(hgt(t, dir, name, 2, ramp), terrain.Options{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := terrain.Open(hgt(t, dir, "N46E010.hgt", 1200, ramp), terrain.Options{}); err == nil || !strings.Contains(err.Error(), "cut off") {
		t.Errorf("short tile: %v", err)
	}
}

func TestMosaicSaysWhenDatumsMix(t *testing.T) {
	tile, err := terrain.ReadHGT(bytes.NewReader(nil), 2*1201*1201, "N36W085.hgt", terrain.Options{})
	if err != nil {
		t.Fatal(err)
	}
	d := terrain.Mosaic{tile, open(t, "fault.tif", terrain.Options{})}.VerticalDatum()
	if d.Stated || !strings.Contains(d.Name, "mixed") || d.Note == "" {
		t.Errorf("%+v", d)
	}
}

func TestASCIIGridFaults(t *testing.T) {
	o := terrain.Options{CRS: epsg(t, 32632)}
	head := "ncols 3\nnrows 2\nxllcorner 600000\nyllcorner 5160000\ncellsize 10\nNODATA_value -9999\n"
	r, err := terrain.ReadASC(strings.NewReader(head+"1 2 3\n4 -9999 6\n"), 500, o)
	if err != nil {
		t.Fatal(err)
	}
	if r.OriginX != 600005 || r.OriginY != 5160015 {
		t.Errorf("first cell at %v, %v", r.OriginX, r.OriginY)
	}
	if z, ok, _ := r.HeightAt(r.CRS.Inverse(600005, 5160015)); !ok || math.Abs(z-1) > 1e-6 {
		t.Errorf("north-west cell %v %v", z, ok)
	}
	if _, ok, _ := r.HeightAt(r.CRS.Inverse(600016, 5160006)); ok {
		t.Error("height beside a hole")
	}
	for text, want := range map[string]string{
		head + "1 2 3\n4 5":                    "5 heights, expected 6",
		head:                                   "0 heights",
		head + "1 2 3\n4 x 6":                  "height 5 is \"x\"",
		"ncols 3\nnrows 2\n1 2 3 4 5 6":        "cell size",
		"ncols 3\nnrows":                       "no value after",
		"ncols 30000\nnrows 20000\n1":          "cut off",
		"ncols 3\nnrows 2\ncellsize 10\n1 2 3": "llcorner",
		strings.Replace(head, "600000", "6e9", 1) + "1 2 3 4 5 6": "outside UTM",
	} {
		if _, err := terrain.ReadASC(strings.NewReader(text), int64(len(text)), o); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want an error with %q, got %v", want, err)
		}
	}
}

// Every cut of a good file must end in an error or in the same heights, never in a panic.
func TestTruncatedTIFF(t *testing.T) {
	whole, err := os.ReadFile("testdata/layout_f32_deflate3.tif")
	if err != nil {
		t.Fatal(err)
	}
	for n := 0; n < len(whole); n += 7 {
		r, err := terrain.ReadGeoTIFF(bytes.NewReader(whole[:n]), int64(n), terrain.Options{})
		if err != nil {
			continue
		}
		if err := r.Read(0, 0, r.Width, r.Height, make([]float32, r.Width*r.Height)); err == nil {
			t.Errorf("%d of %d bytes read without an error", n, len(whole))
		}
	}
}

// sparse is a file that holds only its first bytes and reads as zeros after them.
type sparse struct {
	head []byte
	size int64
}

func (s sparse) ReadAt(p []byte, at int64) (int, error) {
	clear(p)
	if at < int64(len(s.head)) {
		copy(p, s.head[at:])
	}
	if at+int64(len(p)) > s.size {
		return int(s.size - at), io.EOF
	}
	return len(p), nil
}

// A grid of 10 000 × 10 000 opens at once and is read with little memory.
func TestLargeGrid(t *testing.T) {
	const n = 10000
	head := bytes.NewBufferString("II*\x00\x08\x00\x00\x00")
	le := binary.LittleEndian
	keys := []uint16{1, 1, 0, 2, 1024, 0, 1, 1, 3072, 0, 1, 32632}
	type tag struct {
		tag, kind uint16
		n, value  uint32
	}
	const extra = 8 + 2 + 11*12 + 4
	tags := []tag{{256, 4, 1, n}, {257, 4, 1, n}, {258, 3, 1, 32}, {259, 3, 1, 1}, {273, 4, 1, 4096}, {277, 3, 1, 1}, {278, 4, 1, n}, {279, 4, 1, 4 * n * n},
		{339, 3, 1, 3}, {34264, 12, 16, extra}, {34735, 3, 12, extra + 128}}
	_ = binary.Write(head, le, uint16(len(tags)))
	_ = binary.Write(head, le, tags)
	_ = binary.Write(head, le, uint32(0))
	_ = binary.Write(head, le, [16]float64{0: 10, 3: 500000, 5: -10, 7: 5200000, 15: 1})
	_ = binary.Write(head, le, keys)
	r, err := terrain.ReadGeoTIFF(sparse{head.Bytes(), 4096 + 4*n*n}, 4096+4*n*n, terrain.Options{})
	if err != nil {
		t.Fatal(err)
	}
	allocated := testing.Benchmark(func(b *testing.B) {
		b.ReportAllocs()
		for range b.N {
			if z, ok, err := r.HeightAt(r.Centre()); !ok || err != nil || z != 0 {
				b.Fatal(z, ok, err)
			}
		}
	}).AllocedBytesPerOp()
	if allocated > 4<<20 {
		t.Errorf("one height took %d bytes", allocated)
	}
}

func TestParseCRS(t *testing.T) {
	if c, err := terrain.ParseCRS("epsg:32632"); err != nil || c.Code() != 32632 || c.Geographic() {
		t.Errorf("%v %v", c, err)
	}
	for _, bad := range []string{"", "32632", "EPSG:", "EPSG:3035", "EPSG:32661"} {
		if _, err := terrain.ParseCRS(bad); err == nil {
			t.Errorf("%q accepted", bad)
		}
	}
}

func ExampleResample() {
	r, err := terrain.Open("testdata/utm.tif", terrain.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer r.Close()
	frame := geo.NewFrame(r.Centre())
	grid, err := terrain.Resample(r, frame, geo.Bounds{MinX: -5000, MinY: -5000, MaxX: 5000, MaxY: 5000}, 90)
	if err != nil {
		fmt.Println(err)
		return
	}
	z, ok := grid.HeightAt(0, 0)
	fmt.Printf("%.1f m %v, %s\n", z, ok, grid.Datum.Name)
	// Output: 837.0 m true, not stated, taken as mean sea level
}
