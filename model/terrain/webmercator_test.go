package terrain_test

import (
	"math"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/terrain"
)

// TestWebMercator: the worked example of EPSG Guidance Note 7-2, method 1024, numbers from memory; PROJ 9.1.1 gives the same (cs2cs EPSG:4326 EPSG:3857).
func TestWebMercator(t *testing.T) {
	c, err := terrain.EPSG(3857)
	if err != nil || c.Geographic() {
		t.Fatal(c, err)
	}
	p := geo.Degrees(24+22.0/60+54.433/3600, -(100 + 20.0/60))
	x, y := c.Forward(p)
	if math.Abs(x+11169055.58) > 0.01 || math.Abs(y-2800000.00) > 0.01 {
		t.Errorf("%.3f, %.3f", x, y)
	}
	if q := c.Inverse(x, y); geo.Distance(p, q) > 1e-6 {
		t.Errorf("%v comes back as %v", p, q)
	}
}
