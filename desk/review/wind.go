package review

import (
	"fmt"
	"math"

	"fieldfare/desk/lesson"
	"fieldfare/model/unit"
)

// Wind is a mean wind estimated from how the speed over ground differs with course.
type Wind struct {
	SpeedMS    float64    `json:"speed_ms"`
	SE         float64    `json:"speed_se_ms"`
	From       unit.Angle `json:"-"`
	FromDeg    float64    `json:"from_deg"` // direction it blows from, true
	AirspeedMS float64    `json:"airspeed_ms"`
	Note       string     `json:"note"`
}

// EstimateWind fits a circle to the ground velocities (Kåsa 1976): flown at one airspeed on
// all courses, they lie on a circle about the wind. It needs three quarters of the
// compass and a nearly steady airspeed, else it says why it cannot tell.
func EstimateWind(f []Fix) (*Wind, string) {
	var x [][]float64
	var y []float64
	var quarter [4]int
	for i := range f {
		v := f[i].Vel
		if v.Horizontal() < 2 || math.Abs(v.Z) > 1 {
			continue
		}
		x, y = append(x, []float64{1, v.X, v.Y}), append(y, v.X*v.X+v.Y*v.Y)
		az := math.Mod(math.Atan2(v.X, v.Y)+2*math.Pi, 2*math.Pi)
		quarter[int(az/(math.Pi/2))%4]++
	}
	covered := 0
	for _, n := range quarter {
		if n*20 > len(y) {
			covered++
		}
	}
	if len(y) < 30 || covered < 3 {
		return nil, "too little level flight on differing courses"
	}
	fit, err := lesson.Regress(x, y)
	if err != nil {
		return nil, "the courses flown do not differ enough"
	}
	wx, wy := fit.Coef[1]/2, fit.Coef[2]/2
	r2 := fit.Coef[0] + wx*wx + wy*wy
	if r2 <= 0 {
		return nil, "the speeds do not fit any one airspeed"
	}
	air := math.Sqrt(r2)
	if spread := fit.ResidualSD / (2 * air); spread > 0.15*air {
		return nil, fmt.Sprintf("the airspeed was not steady (it would have varied by %.1f m/s)", spread)
	}
	w := &Wind{SpeedMS: math.Hypot(wx, wy), SE: math.Hypot(fit.SE[1], fit.SE[2]) / 2, AirspeedMS: air,
		Note: "true only if the airspeed was held; a flight that holds its speed over ground shows less wind than blew"}
	w.From = unit.Angle(math.Mod(math.Atan2(-wx, -wy)+2*math.Pi, 2*math.Pi))
	w.FromDeg = w.From.Deg()
	return w, ""
}
