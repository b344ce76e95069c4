package lens_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

// A ray tracer's pictures of a calibrated grid (testdata/authority/grid.sh): wide, long,
// tilted, rolled, straight down and anamorphic.
func TestProjectAgainstRayTracer(t *testing.T) {
	f, err := os.Open("testdata/authority/grid.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) != 1+7*30 {
		t.Fatal(len(rows), err)
	}
	const tolerancePx = 0.1
	worst := 0.0
	for _, row := range rows[1:] {
		v := make([]float64, len(row))
		for i := range row[1:] {
			if v[i+1], err = strconv.ParseFloat(row[i+1], 64); err != nil {
				t.Fatal(err)
			}
		}
		c := lens.Camera{FocalM: v[1] / 1000, Squeeze: v[2], SensorWidthM: v[3] / 1000, SensorHeightM: v[4] / 1000, PixelsW: int(v[5]), PixelsH: int(v[6])}
		at := lens.Pose{Pos: geo.Vec3{X: v[7], Y: v[8], Z: v[9]},
			Azimuth: unit.Angle(v[10]) * unit.Degree, Tilt: unit.Angle(v[11]) * unit.Degree, Roll: unit.Angle(v[12]) * unit.Degree}
		px, py, _, ok := c.Project(at, geo.Vec3{X: v[13], Y: v[14], Z: v[15]})
		miss := math.Hypot(px-v[16], py-v[17])
		worst = math.Max(worst, miss)
		if !ok || miss > tolerancePx {
			t.Errorf("%s (%s, %s, %s): %.3f %.3f, the ray tracer has %s %s", row[0], row[13], row[14], row[15], px, py, row[16], row[17])
		}
	}
	t.Logf("worst of %d: %.3f px", len(rows)-1, worst)
}

// A ray tracer's thin-lens camera out of focus (testdata/authority/blur.sh): the blur disc
// that depth of field is built on, over lenses, apertures, focus and distance.
func TestDefocusBlurAgainstRayTracer(t *testing.T) {
	f, err := os.Open("testdata/authority/blur.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) != 1+8 {
		t.Fatal(len(rows), err)
	}
	const tolerance = 0.01 // of the blur; the tracer's pupil is a grid of 400 samples
	for _, row := range rows[1:] {
		var v [5]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(row[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		near(t, "blur um of "+row[0]+" mm", lens.DefocusBlur(v[0]/1000, v[1], v[2], v[3])*1e6/v[4], 1, tolerance)
	}
}
