package terrain_test

import (
	"math"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/terrain"
	"fieldfare/model/unit"
)

// bigGrid is 4000 × 4000 nodes of 10 m, or the file named by TERRAIN_TIF (bench/terrain.sh
// gives both programs the same one).
func bigGrid(b *testing.B) *terrain.Grid {
	b.Helper()
	name := os.Getenv("TERRAIN_TIF")
	if name == "" {
		g := hills(b, 4000, 4000, 10)
		for i := range g.Z { // without the roughness
			x, y := float64(i%g.NX)*10, float64(i/g.NX)*10
			g.Z[i] = float32(1500 + 300*math.Sin(x/900)*math.Cos(y/700) + 60*math.Sin(x/130+y/90))
		}
		return g
	}
	r, err := terrain.Open(name, terrain.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer r.Close()
	g := wholeGrid(b, r)
	g.MinMax()
	return g
}

func middle(g *terrain.Grid, up float64) geo.Vec3 {
	p, _ := g.Node(g.NX/2, g.NY/2)
	p.Z += up
	return p
}

func BenchmarkSkyline720(b *testing.B) {
	g := bigGrid(b)
	eye := middle(g, 1.7)
	for b.Loop() {
		if _, err := g.Skyline(eye, 720, terrain.RefractionGDAL); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkViewshed(b *testing.B) {
	g := bigGrid(b)
	at := middle(g, 0).XY()
	for b.Loop() {
		if _, err := g.Viewshed(at, terrain.View{EyeM: 1.7, Refraction: terrain.RefractionGDAL}); err != nil {
			b.Fatal(err)
		}
	}
}

// From the file to a file, as a program would be timed; agreement with gdal_viewshed's raster if it is given.
func BenchmarkViewshedFile(b *testing.B) {
	name := os.Getenv("TERRAIN_TIF")
	if name == "" {
		b.Skip("TERRAIN_TIF is not set")
	}
	var v *terrain.Viewshed
	var before, after syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &before)
	for b.Loop() {
		r, err := terrain.Open(name, terrain.Options{})
		if err != nil {
			b.Fatal(err)
		}
		g := wholeGrid(b, r)
		r.Close()
		if v, err = g.Viewshed(middle(g, 0).XY(), terrain.View{EyeM: 1.7, Refraction: terrain.RefractionGDAL}); err != nil {
			b.Fatal(err)
		}
		out := make([]byte, len(v.Cells))
		for i, c := range v.Cells {
			out[i] = byte(c)
		}
		if err := os.WriteFile(filepath.Join(b.TempDir(), "out"), out, 0o600); err != nil {
			b.Fatal(err)
		}
	}
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &after)
	spent := after.Utime.Nano() + after.Stime.Nano() - before.Utime.Nano() - before.Stime.Nano()
	b.ReportMetric(float64(spent)/float64(b.N)/1e6, "cpu-ms/op")
	if peer := os.Getenv("TERRAIN_VIEWSHED"); peer != "" {
		r, err := terrain.Open(peer, terrain.Options{})
		if err != nil {
			b.Fatal(err)
		}
		defer r.Close()
		row, same := make([]float32, r.Width), 0
		for j := range v.NY {
			if err := r.Read(0, v.NY-1-j, r.Width, 1, row); err != nil {
				b.Fatal(err)
			}
			for i, c := range row {
				if (c == 255) == (v.Cells[j*v.NX+i] == terrain.Visible) {
					same++
				}
			}
		}
		b.ReportMetric(100*float64(same)/float64(len(v.Cells)), "%same")
	}
}

func BenchmarkViewshedExact(b *testing.B) {
	g := hills(b, 600, 600, 10)
	at := middle(g, 0).XY()
	for b.Loop() {
		if _, err := g.Viewshed(at, terrain.View{EyeM: 1.7, Exact: true, Refraction: terrain.RefractionGDAL}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkShadow(b *testing.B) {
	g := bigGrid(b)
	for b.Loop() {
		g.Shadow(140*unit.Degree, 12*unit.Degree, terrain.RefractionLight)
	}
}

func BenchmarkRaycast(b *testing.B) {
	g := bigGrid(b)
	eye := middle(g, 80)
	i := 0
	for b.Loop() {
		i++
		g.Raycast(eye, geo.Vec3{X: float64(i%41) - 20, Y: float64(i%37) - 18, Z: -float64(i % 7)}, 20e3)
	}
}

func BenchmarkLineOfSight1km(b *testing.B) {
	g := bigGrid(b)
	eye := middle(g, 80)
	for b.Loop() {
		g.LineOfSight(eye, eye.Add(geo.Vec3{X: 800, Y: 600}), terrain.RefractionLight)
	}
}

func BenchmarkHeightAt(b *testing.B) {
	g := bigGrid(b)
	eye := middle(g, 80)
	for b.Loop() {
		g.HeightAt(eye.X+3, eye.Y+4)
	}
}

func BenchmarkOpenAndResample(b *testing.B) {
	for b.Loop() {
		r, err := terrain.Open("testdata/utm.tif", terrain.Options{})
		if err != nil {
			b.Fatal(err)
		}
		f := geo.NewFrame(r.Centre())
		if _, err := terrain.Resample(r, f, geo.Bounds{MinX: -3000, MinY: -3000, MaxX: 3000, MaxY: 3000}, 10); err != nil {
			b.Fatal(err)
		}
		r.Close()
	}
}
