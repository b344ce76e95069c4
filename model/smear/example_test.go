package smear_test

import (
	"fmt"

	"fieldfare/model/geo"
	"fieldfare/model/smear"
)

// Flying at 12 m/s past a wall 40 m away with a 25 mm lens.
func Example() {
	r := smear.Recording{Camera: camera(0.025, 4.2e-6, 4096, 2160), FrameRate: 30, ShutterS: 1.0 / 60}
	m := r.Of(&smear.Sample{VelocityMS: geo.Vec3{X: 12}}, smear.Point{At: geo.Vec3{Y: 40}})
	v := r.Judge(m)
	fmt.Printf("blur %.1f px; %s\n", m.BlurPx, v.Why)
	fmt.Printf("natural at %.1f m/s\n", 12*v.Slower)
	// Output:
	// blur 29.8 px; crosses the picture in 2.3 s, faster than the natural 5.6 s: it strobes
	// natural at 4.9 m/s
}
