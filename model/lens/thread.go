package lens

import (
	"errors"
	"fmt"
	"math"

	"fieldfare/model/unit"
)

// StepRing joins two filter threads, either way round being another ring: LensSideM screws
// into the lens (or the ring behind), FilterSideM takes the filter.
type StepRing struct {
	Name                   string
	LensSideM, FilterSideM float64
}

// Fit is how a filter is mounted.
type Fit struct {
	Rings    []StepRing // from the lens outward, empty when the filter screws straight in
	StepDown bool       // some ring is narrower than the lens's thread: the corners may darken
}

// sameThread is the tolerance within which two thread diameters are the same size.
const sameThread = 1e-5

// FitFilter returns the fewest rings that mount a filter of filterM on a lens of lensM
// thread diameter, of equally many the ones that never go below the lens's thread.
// Diameters run from 10 mm to 200 mm.
func FitFilter(lensM, filterM float64, rings []StepRing) (Fit, error) {
	if err := errors.Join(unit.Within("lens thread", lensM, 0.01, 0.2, "m"), unit.Within("filter thread", filterM, 0.01, 0.2, "m")); err != nil {
		return Fit{}, err
	}
	type mount struct {
		size float64
		used []StepRing
		down bool
	}
	same := func(a, b float64) bool { return math.Abs(a-b) < sameThread }
	for _, upward := range []bool{true, false} {
		reached := []mount{{size: lensM}}
		seen := []float64{lensM}
		for len(reached) > 0 {
			here := reached[0]
			reached = reached[1:]
			if same(here.size, filterM) {
				return Fit{Rings: here.used, StepDown: here.down}, nil
			}
			for _, r := range rings {
				narrow := r.FilterSideM < lensM-sameThread
				if !same(r.LensSideM, here.size) || upward && narrow || contains(seen, r.FilterSideM, same) {
					continue
				}
				seen = append(seen, r.FilterSideM)
				used := append(append([]StepRing(nil), here.used...), r)
				reached = append(reached, mount{r.FilterSideM, used, here.down || narrow})
			}
		}
	}
	return Fit{}, fmt.Errorf("a filter of %.4g mm does not fit a lens of %.4g mm with the %d step rings carried: pack a ring from %.4g mm to %.4g mm",
		filterM*1000, lensM*1000, len(rings), lensM*1000, filterM*1000)
}

func contains(sizes []float64, size float64, same func(a, b float64) bool) bool {
	for _, s := range sizes {
		if same(s, size) {
			return true
		}
	}
	return false
}

// Corner-to-corner angles of view past which filters tend to darken the corners, for one
// filter and for each more (common practice, no source: crews speak of lenses wider than
// a 24 mm, and of a 28 mm for two filters, on a 36 × 24 mm picture).
const (
	WideForOneFilter  = 84 * unit.Degree
	WideForTwoFilters = 75 * unit.Degree
)

// Vignettes reports whether a number of stacked filters calls for a look at the corners:
// the angle of view from corner to corner is past the limit that holds for so many.
func Vignettes(dfov unit.Angle, filters int) (limit unit.Angle, caution bool) {
	switch {
	case filters <= 0:
		return 0, false
	case filters == 1:
		limit = WideForOneFilter
	default:
		limit = WideForTwoFilters - unit.Angle(filters-2)*10*unit.Degree
	}
	return limit, dfov > limit
}

// ClearDiameter returns the free opening in metres that a filter needs so that no corner
// darkens: the entrance pupil widened by the corner ray over the distance from the pupil to
// the filter's front rim. Use it where the lens's pupil depth is known.
func ClearDiameter(dfov unit.Angle, pupilM, depthM float64) float64 {
	return pupilM + 2*depthM*math.Tan(float64(dfov)/2)
}
