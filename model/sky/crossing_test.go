package sky_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/sky"
)

// A polynomial with known roots must give back each of them, in order, with its direction; also
// two that lie closer together than a step.
func TestCrossingsOfKnownRoots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const step, tol = 1.0, 1e-6
		first := rapid.Float64Range(2, 20).Draw(t, "first")
		close := rapid.Float64Range(0.01, 0.9).Draw(t, "gap of the close pair")
		third := first + close + rapid.Float64Range(6, 30).Draw(t, "gap to the third")
		roots := []float64{first, first + close, third}
		f := func(x float64) float64 { return (x - roots[0]) * (x - roots[1]) * (x - roots[2]) }
		got := sky.Crossings(f, 0, third+10, step, tol)
		if len(got) != 3 {
			t.Fatalf("found %v, want %v", got, roots)
		}
		for i, c := range got {
			if math.Abs(c.At-roots[i]) > tol || c.Rising != (i%2 == 0) {
				t.Fatalf("crossing %d is %+v, want %g", i, c, roots[i])
			}
		}
		spans := sky.Spans(f, 0, third+10, step, tol)
		if len(spans) != 2 || spans[1].To != third+10 || math.Abs(spans[0].From-roots[0]) > tol || math.Abs(spans[0].To-roots[1]) > tol {
			t.Fatalf("spans %v of roots %v", spans, roots)
		}
	})
}

func TestCrossingsAtTheEdges(t *testing.T) {
	up := func(x float64) float64 { return x - 5 }
	for _, row := range []struct {
		what                string
		f                   func(float64) float64
		from, to, step, tol float64
		want                int
	}{
		{"never", func(float64) float64 { return 1 }, 0, 10, 1, 1e-3, 0},
		{"a jump", func(x float64) float64 { return math.Copysign(1, up(x)) }, 0, 10, 3, 1e-3, 1},
		{"in the last short step", up, 0, 5.5, 2, 1e-3, 1},
		{"a step longer than the span", up, 0, 10, 100, 1e-3, 1},
		{"touching without crossing", func(x float64) float64 { return up(x) * up(x) }, 0, 10, 0.7, 1e-6, 0},
		{"an empty span", up, 6, 6, 1, 1e-3, 0},
		{"a reversed span", up, 10, 0, 1, 1e-3, 0},
		{"no step", up, 0, 10, 0, 1e-3, 0},
		{"no tolerance", up, 0, 10, 1, 0, 0},
	} {
		if got := sky.Crossings(row.f, row.from, row.to, row.step, row.tol); len(got) != row.want {
			t.Errorf("%s: %v, want %d", row.what, got, row.want)
		}
	}
}

func TestTurning(t *testing.T) {
	at, value := sky.Turning(func(x float64) float64 { return math.Sin(x) }, 0, 3, 1e-7, false)
	if math.Abs(at-math.Pi/2) > 1e-6 || math.Abs(value-1) > 1e-12 {
		t.Errorf("top of the sine at %g is %g", at, value)
	}
	at, value = sky.Turning(func(x float64) float64 { return (x-2)*(x-2) - 3 }, 0, 3, 1e-7, true)
	if math.Abs(at-2) > 1e-6 || math.Abs(value+3) > 1e-12 {
		t.Errorf("bottom of the parabola at %g is %g", at, value)
	}
}
