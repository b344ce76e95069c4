package frame_test

import (
	"math"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

// Distances from a box, worked by hand.
func TestBoxDistance(t *testing.T) {
	b := frame.Box{Foot: geo.Vec3{X: 10, Y: 20, Z: 100}, WidthM: 4, DepthM: 10, HeightM: 6, Facing: 90 * unit.Degree} // long side east-west
	for _, tc := range []struct {
		at   geo.Vec3
		want float64
	}{
		{geo.Vec3{X: 10, Y: 20, Z: 103}, 0},
		{geo.Vec3{X: 10, Y: 20, Z: 191}, 85},
		{geo.Vec3{X: 25, Y: 20, Z: 103}, 10},
		{geo.Vec3{X: 10, Y: 32, Z: 103}, 10},
		{geo.Vec3{X: 18, Y: 26, Z: 103}, 5},
	} {
		if got := b.DistanceM(tc.at); math.Abs(got-tc.want) > 1e-9 {
			t.Errorf("from %v: %g m, want %g m", tc.at, got, tc.want)
		}
	}
}
