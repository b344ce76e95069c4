package previs_test

import (
	"image/png"
	"math"
	"os"
	"syscall"
	"testing"

	"fieldfare/desk/previs"
	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/terrain"
)

// wide makes the authority's ground over 2,000 × 2,000 nodes, or reads the heights that bench/previs.sh gave POV-Ray.
func wide(b *testing.B) (*terrain.Grid, view) {
	b.Helper()
	const n = 2000
	g, err := terrain.NewGrid(geo.Bounds{MaxX: (n - 1) * 5, MaxY: (n - 1) * 5}, 5)
	if err != nil {
		b.Fatal(err)
	}
	for j := range n {
		for i := range n {
			x, y := float64(i)*5, float64(j)*5
			z := 900 + 420*math.Sin(x/1700)*math.Cos(y/2300) + 130*math.Sin(x/410+y/530) + 45*math.Sin(x/97-y/131) + 9*math.Sin(x/23+y/31)
			g.Z[j*n+i] = float32(math.Round(z*32) / 32)
		}
	}
	v := view{Pos: [3]float64{1500, 1200, 0}, AzimuthDeg: 42, TiltDeg: -6, FocalM: 0.018, SensorWidthM: 0.0256, SensorHeight: 0.0144, SunAzimuth: 118, SunAltitude: 14}
	z, _ := g.HeightAt(v.Pos[0], v.Pos[1])
	v.Pos[2] = z + 90
	return g, v
}

// BenchmarkFrame is one frame of 1280 × 720 over 2,000 × 2,000 nodes, its shadows already known: what each further frame
// of a film costs.
func BenchmarkFrame(b *testing.B) {
	g, v := wide(b)
	scene := previs.Bare(g)
	defer processor(b)()
	for b.Loop() {
		previs.Render(scene, v.camera(1280, 720), v.pose(), v.moment(), previs.Options{})
	}
}

// BenchmarkFrameWithNewSun works out the shadows of the whole terrain for each frame.
func BenchmarkFrameWithNewSun(b *testing.B) {
	g, v := wide(b)
	scene := previs.Bare(g)
	c := v.camera(1280, 720)
	n := 0
	stop := processor(b)
	for b.Loop() {
		n++
		m := clearDay(v.SunAzimuth+0.05*float64(n), v.SunAltitude)
		previs.Render(scene, c, v.pose(), m, previs.Options{})
	}
	stop()
	if path := os.Getenv("PREVIS_FRAME"); path != "" {
		save(b, path, scene, c, v.pose(), v.moment())
	}
}

// BenchmarkFrameFromTerrain starts anew for each frame from the elevations in memory: what a single picture costs.
func BenchmarkFrameFromTerrain(b *testing.B) {
	g, v := wide(b)
	defer processor(b)()
	for b.Loop() {
		previs.Render(previs.Bare(g), v.camera(1280, 720), v.pose(), v.moment(), previs.Options{})
	}
}

// processor reports the processor time of all cores a frame, which other work on the machine disturbs less.
func processor(b *testing.B) (stop func()) {
	spent := func() float64 {
		var u syscall.Rusage
		syscall.Getrusage(syscall.RUSAGE_SELF, &u)
		return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e6
	}
	before := spent()
	return func() { b.ReportMetric((spent()-before)/float64(b.N), "cpu-ms/op") }
}

func save(tb testing.TB, path string, s *previs.Scene, c lens.Camera, pose lens.Pose, m previs.Moment) {
	tb.Helper()
	img, err := previs.Render(s, c, pose, m, previs.Options{})
	if err != nil {
		tb.Fatal(err)
	}
	f, err := os.Create(path)
	if err != nil {
		tb.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, img); err != nil {
		tb.Fatal(err)
	}
}
