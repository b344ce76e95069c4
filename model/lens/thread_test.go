package lens_test

import (
	"math"
	"strings"
	"testing"

	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

func TestFitFilter(t *testing.T) {
	ring := func(a, b float64) lens.StepRing { return lens.StepRing{LensSideM: a / 1000, FilterSideM: b / 1000} }
	rings := []lens.StepRing{ring(46, 58), ring(58, 77), ring(46, 40.5), ring(40.5, 52), ring(49, 58)}
	for _, c := range []struct {
		lens, filter float64
		rings        int
		down         bool
	}{
		{58, 58, 0, false}, {46, 58, 1, false}, {46, 77, 2, false}, {46, 40.5, 1, true}, {46, 52, 2, true},
	} {
		fit, err := lens.FitFilter(c.lens/1000, c.filter/1000, rings)
		if err != nil || len(fit.Rings) != c.rings || fit.StepDown != c.down {
			t.Errorf("%g on %g: %+v %v", c.filter, c.lens, fit, err)
		}
	}
	_, err := lens.FitFilter(0.058, 0.046, rings) // a ring works one way round only
	if err == nil || !strings.Contains(err.Error(), "58 mm to 46 mm") {
		t.Error(err)
	}
	if _, err := lens.FitFilter(58, 0.058, nil); err == nil {
		t.Error("a lens thread of 58 m passed")
	}
}

func TestVignettes(t *testing.T) {
	// 2·atan(43.27/(2·24)) = 84.1° and 2·atan(43.27/(2·35)) = 63.4° by hand.
	wide, normal := 84.1*unit.Degree, 63.4*unit.Degree
	if _, c := lens.Vignettes(wide, 1); !c {
		t.Error("a filter on a 24 mm raised no caution")
	}
	if _, c := lens.Vignettes(wide, 0); c {
		t.Error("no filter raised a caution")
	}
	if _, c := lens.Vignettes(normal, 2); c {
		t.Error("two filters on a 35 mm raised a caution")
	}
	// A 90° cone from a pupil 4 mm wide, 20 mm behind the rim: 4 + 2·20 by hand.
	near(t, "clear diameter", lens.ClearDiameter(90*unit.Degree, 0.004, 0.020), 0.044, 1e-12)
}

func TestHorizonRow(t *testing.T) {
	v := small.View(lens.Pose{Tilt: -10 * unit.Degree, Azimuth: 70 * unit.Degree, Roll: 5 * unit.Degree})
	row, ok := v.HorizonRow()
	ray := v.Ray(float64(small.PixelsW)/2, row)
	if !ok || math.Abs(ray.Z) > 1e-12 || row > float64(small.PixelsH)/2 {
		t.Error(row, ok, ray)
	}
	v = small.View(lens.Pose{Tilt: -90 * unit.Degree})
	if row, ok := v.HorizonRow(); ok && small.Inside(100, row) {
		t.Error("a horizon in a top-down picture at", row)
	}
}
