package risk

import (
	"cmp"
	"fmt"
	"math"

	"fieldfare/model/unit"
)

// Recovery is the manoeuvre that ends an upset inside the contingency volume.
type Recovery int

// The recoveries.
const (
	StopInAir     Recovery = iota // a multirotor pitches up and stops
	TurnBack                      // a fixed wing turns through 180°
	OpenParachute                 // flight is terminated under a parachute
)

// HeightSource is what the aircraft measures its height with.
type HeightSource int

// The height sources, with their allowances of 1 m and 4 m.
const (
	Barometric HeightSource = iota
	SatelliteNavigation
)

// Volume describes the flight from which the contingency volume follows. The
// allowances are usually those of DefaultAllowances.
type Volume struct {
	SpeedMS          float64      // greatest ground speed, 0 to 200
	GeographyHeightM float64      // top of the flight geography above ground
	ReactionS        float64      // pilot's reaction time, at least 1
	Recovery         Recovery     //
	PitchOrBank      unit.Angle   // StopInAir: pitch up to 45°; TurnBack: bank up to 30°
	ParachuteOpenS   float64      // OpenParachute: time to open
	Height           HeightSource //
	Allowances       Allowances   //
}

// Allowances are the fixed distances of the contingency volume.
type Allowances struct {
	NavigationM float64 // error of satellite navigation
	PositionM   float64 // error in holding position
	MapM        float64 // error of the map
}

// DefaultAllowances are 3 m, 3 m and 1 m. Source: BasisContingencyVolume.
func DefaultAllowances() Allowances { return Allowances{NavigationM: 3, PositionM: 3, MapM: 1} }

// Contingency is the room around the flight geography in which an upset ends, with the
// parts it is made of.
type Contingency struct {
	HorizontalM      float64 // added on every side of the flight geography
	HeightM          float64 // top of the contingency volume above ground
	ReactionM        float64 // flown during the reaction time
	RecoveryM        float64 // flown during the recovery
	FixedAllowancesM float64 // navigation, position and map
	HeightAllowanceM float64
	ReactionClimbM   float64
	RecoveryClimbM   float64
}

// SmallestFlightGeography returns the least realistic width and height in metres of a
// flight geography: three characteristic dimensions. Source: BasisContingencyVolume.
func SmallestFlightGeography(characteristicDimensionM float64) float64 {
	return 3 * characteristicDimensionM
}

// StoppingDistance returns the level distance in metres in which a multirotor stops from
// speed at a constant pitch: v²/(2 g tan θ). Pitch above 0 to 45°; the source allows no
// more. Source: BasisContingencyVolume.
func StoppingDistance(speedMS float64, pitch unit.Angle) (float64, error) {
	err := cmp.Or(unit.Within("speed", speedMS, 0, 200, "m/s"), unit.Within("pitch", pitch.Deg(), 0.1, 45+1e-9, "deg"))
	if err != nil {
		return 0, err
	}
	return 0.5 * speedMS * speedMS / (tableGravityMS2 * math.Tan(float64(pitch))), nil
}

// TurningRadius returns the radius in metres of a level coordinated turn: v²/(g tan φ).
// Bank above 0 to 30°; the source allows no more. Source: BasisContingencyVolume.
func TurningRadius(speedMS float64, bank unit.Angle) (float64, error) {
	err := cmp.Or(unit.Within("speed", speedMS, 0, 200, "m/s"), unit.Within("bank", bank.Deg(), 0.1, 30+1e-9, "deg"))
	if err != nil {
		return 0, err
	}
	return speedMS * speedMS / (tableGravityMS2 * math.Tan(float64(bank))), nil
}

// Contingency returns the contingency volume of the flight.
// Horizontal: S_CV = allowances + V·t + S_CM; vertical: H_CV = H_FG + height allowance +
// 0.7·V·t + H_CM, with S_CM and H_CM of the recovery: stop V²/(2 g tan θ) and V²/(2g);
// turn V²/(g tan φ) and 0.3 of that radius (the vertical part of the turn is from
// memory); parachute V·t_p and 0.7·V·t_p (vertical part from memory).
// Source: BasisContingencyVolume.
func (v Volume) Contingency() (Contingency, error) {
	err := cmp.Or(
		unit.Within("speed", v.SpeedMS, 0, 200, "m/s"),
		unit.Within("height of the flight geography", v.GeographyHeightM, 0, 10000, "m"),
		unit.Within("reaction time", v.ReactionS, 1, 60, "s"),
		unit.Within("navigation allowance", v.Allowances.NavigationM, 0, 1000, "m"),
		unit.Within("position allowance", v.Allowances.PositionM, 0, 1000, "m"),
		unit.Within("map allowance", v.Allowances.MapM, 0, 1000, "m"))
	if err != nil {
		return Contingency{}, err
	}
	var c Contingency
	switch v.Recovery {
	case StopInAir:
		c.RecoveryM, err = StoppingDistance(v.SpeedMS, v.PitchOrBank)
		c.RecoveryClimbM = 0.5 * v.SpeedMS * v.SpeedMS / tableGravityMS2
	case TurnBack:
		c.RecoveryM, err = TurningRadius(v.SpeedMS, v.PitchOrBank)
		c.RecoveryClimbM = 0.3 * c.RecoveryM
	case OpenParachute:
		err = unit.Within("time for the parachute to open", v.ParachuteOpenS, 0, 60, "s")
		c.RecoveryM = v.SpeedMS * v.ParachuteOpenS
		c.RecoveryClimbM = 0.7 * c.RecoveryM
	default:
		err = fmt.Errorf("recovery %d is not one of stop, turn or parachute", v.Recovery)
	}
	if err != nil {
		return Contingency{}, err
	}
	c.HeightAllowanceM = 1
	if v.Height == SatelliteNavigation {
		c.HeightAllowanceM = 4
	}
	c.FixedAllowancesM = v.Allowances.NavigationM + v.Allowances.PositionM + v.Allowances.MapM
	c.ReactionM = v.SpeedMS * v.ReactionS
	c.ReactionClimbM = 0.7 * c.ReactionM
	c.HorizontalM = c.FixedAllowancesM + c.ReactionM + c.RecoveryM
	c.HeightM = v.GeographyHeightM + c.HeightAllowanceM + c.ReactionClimbM + c.RecoveryClimbM
	return c, nil
}
