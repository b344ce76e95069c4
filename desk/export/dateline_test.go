package export

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// RFC 7946 section 3.1.9: what crosses 180 degrees is cut there; no part crosses it, and nothing is lost.
func TestLineIsCutAtTheDateLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 20).Draw(t, "n")
		var line [][]float64
		for range n {
			lon := 180 + rapid.Float64Range(-0.5, 0.5).Draw(t, "lon")
			if lon > 180 {
				lon -= 360
			}
			line = append(line, []float64{lon, rapid.Float64Range(-1, 1).Draw(t, "lat"), 100})
		}
		length := func(l [][]float64) (sum float64) {
			for i := 1; i < len(l); i++ {
				d := math.Remainder(l[i][0]-l[i-1][0], 360)
				sum += math.Hypot(d, l[i][1]-l[i-1][1])
			}
			return sum
		}
		total := 0.0
		for _, part := range cutLine(line) {
			for i := 1; i < len(part); i++ {
				if math.Abs(part[i][0]-part[i-1][0]) > 180 {
					t.Fatalf("a part still crosses: %v", part)
				}
			}
			total += length(part)
		}
		if math.Abs(total-length(line)) > 1e-9 {
			t.Fatalf("length %v became %v", length(line), total)
		}
	})
}

func TestAreaIsCutAtTheDateLine(t *testing.T) {
	square := [][]float64{{179.9, -0.1}, {-179.9, -0.1}, {-179.9, 0.1}, {179.9, 0.1}, {179.9, -0.1}}
	hole := [][]float64{{179.95, -0.05}, {179.95, 0.05}, {-179.95, 0.05}, {-179.95, -0.05}, {179.95, -0.05}}
	area := func(r [][]float64) (sum float64) {
		for i := 1; i < len(r); i++ {
			sum += (r[i-1][0]*r[i][1] - r[i][0]*r[i-1][1]) / 2
		}
		return sum
	}
	parts := cutArea([][][]float64{square, hole})
	if len(parts) != 2 {
		t.Fatalf("%d parts, want 2", len(parts))
	}
	outer, inner := 0.0, 0.0
	for _, p := range parts {
		if len(p) != 2 {
			t.Fatalf("a part has %d rings, want outer and hole", len(p))
		}
		outer += area(p[0])
		inner += area(p[1])
		for _, r := range p {
			for i := 1; i < len(r); i++ {
				if math.Abs(r[i][0]-r[i-1][0]) > 180 || math.Abs(r[i][0]) > 180 {
					t.Fatalf("a ring still crosses: %v", r)
				}
			}
		}
	}
	if math.Abs(outer-0.04) > 1e-9 || math.Abs(inner+0.01) > 1e-9 {
		t.Errorf("areas %v and %v, want 0.04 and -0.01", outer, inner)
	}
	far := [][]float64{{10, 46}, {10.1, 46}, {10.1, 46.1}, {10, 46}}
	if got := cutArea([][][]float64{far}); len(got) != 1 || len(got[0]) != 1 {
		t.Errorf("an area away from the date line was cut: %v", got)
	}
}
