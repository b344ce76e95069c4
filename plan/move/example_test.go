package move_test

import (
	"fmt"

	"fieldfare/model/geo"
	"fieldfare/plan/frame"
	"fieldfare/plan/move"
)

// A bell is circled faster than the rig can hold the curve.
func ExampleSolve() {
	s, err := move.Solve(move.Problem{
		Steps:    steps(`[{move: arc, subject: bell, bearing: 90 deg, radius: 20 m, height: 12 m, sweep: 180 deg, speed: 12 m/s}]`),
		Subjects: map[string]move.Subject{"bell": move.Still(frame.Box{Foot: geo.Vec3{Z: 1500}, WidthM: 3, DepthM: 3, HeightM: 6})},
		Camera:   camera(), Rig: threeAxis(), Ground: plateau{}, RateHz: 25,
		Margins: move.Margins{ClearanceM: 5},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f s\n", s.Path.DurationS())
	for _, b := range s.Bounds {
		fmt.Println(b.Limit, b.Nearest)
	}
	// Output:
	// 16 s
	// acceleration same framing at 7.6 m/s
}

// plateau is level ground at 1,500 m.
type plateau struct{}

func (plateau) HeightAt(_, _ float64) (float64, bool) { return 1500, true }
