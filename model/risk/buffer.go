package risk

import (
	"cmp"
	"math"

	"fieldfare/model/unit"
)

// OneToOneBuffer returns the ground risk buffer in metres by the 1:1 rule: the height of
// the contingency volume plus half the characteristic dimension.
// Source: BasisGroundRiskBuffer.
func OneToOneBuffer(contingencyHeightM, characteristicDimensionM float64) (float64, error) {
	return contingencyHeightM + characteristicDimensionM/2, checkBuffer(0, contingencyHeightM, characteristicDimensionM)
}

// BallisticBuffer returns the ground risk buffer in metres of a multirotor that falls
// from the contingency height at its ground speed: V·√(2H/g) + CD/2. It knows neither
// wind nor drag: wind can carry a body farther, drag shortens the fall; see Fall.
// Source: BasisGroundRiskBuffer.
func BallisticBuffer(speedMS, contingencyHeightM, characteristicDimensionM float64) (float64, error) {
	if err := checkBuffer(speedMS, contingencyHeightM, characteristicDimensionM); err != nil {
		return 0, err
	}
	return speedMS*math.Sqrt(2*contingencyHeightM/tableGravityMS2) + characteristicDimensionM/2, nil
}

// ParachuteBuffer returns the ground risk buffer in metres of an aircraft under a
// parachute: V·t_open + V_wind·H/V_sink. Sink speed above 0.1 m/s.
// Source: BasisGroundRiskBuffer.
func ParachuteBuffer(speedMS, openS, windMS, contingencyHeightM, sinkMS float64) (float64, error) {
	err := cmp.Or(checkBuffer(speedMS, contingencyHeightM, 0), unit.Within("time for the parachute to open", openS, 0, 60, "s"),
		unit.Within("wind", windMS, 0, 100, "m/s"), unit.Within("sink speed", sinkMS, 0.1, 100, "m/s"))
	if err != nil {
		return 0, err
	}
	return speedMS*openS + windMS*contingencyHeightM/sinkMS, nil
}

// GlideBuffer returns the ground risk buffer in metres of a gliding aircraft: the glide
// ratio (level distance per height lost, 0 to 100) times the contingency height.
// Source: BasisGroundRiskBuffer.
func GlideBuffer(glideRatio, contingencyHeightM float64) (float64, error) {
	if err := cmp.Or(unit.Within("glide ratio", glideRatio, 0, 100, ""), checkBuffer(0, contingencyHeightM, 0)); err != nil {
		return 0, err
	}
	return glideRatio * contingencyHeightM, nil
}

func checkBuffer(speedMS, heightM, dimensionM float64) error {
	return cmp.Or(unit.Within("speed", speedMS, 0, 200, "m/s"), unit.Within("contingency height", heightM, 0, 20000, "m"),
		unit.Within("characteristic dimension", dimensionM, 0, 40, "m"))
}
