package risk

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"fieldfare/model/unit"
)

// ControlledGround, as a density of people, stands for a controlled ground area: only
// people involved in the flight are there.
const ControlledGround = -1

// ErrOutsideTable is wrapped when size, speed or density lie outside the class table.
var ErrOutsideTable = errors.New("outside the ground risk class table")

// HighestSpecificClass is the greatest final ground risk class of the specific
// category. Source: BasisGroundRiskClass.
const HighestSpecificClass = 7

var (
	classColumns = [...]struct{ dimensionM, speedMS float64 }{{1, 25}, {3, 35}, {8, 75}, {20, 120}, {40, 200}}
	classDensity = [...]float64{5, 50, 500, 5000, 50000} // people/km², upper bounds
	classTable   = [...][5]int{
		{1, 1, 2, 3, 3}, // controlled ground area
		{2, 3, 4, 5, 6},
		{3, 4, 5, 6, 7},
		{4, 5, 6, 7, 8},
		{5, 6, 7, 8, 9},
		{6, 7, 8, 9, 10},
		{7, 8, 0, 0, 0}, // 0: outside the table
	}
)

// GroundRiskClass returns the intrinsic ground risk class (iGRC) before any mitigation.
// peoplePerKm2 is the density in the operational volume and ground risk buffer, or
// ControlledGround; the column is the first whose size and speed both hold; up to 250 g
// and 25 m/s the class is 1. Densities at a row's bound belong to the next row up.
// Errors wrap ErrOutsideTable. Source: BasisGroundRiskClass.
func GroundRiskClass(massKg, characteristicDimensionM, speedMS, peoplePerKm2 float64) (int, error) {
	err := cmp.Or(unit.Within("mass", massKg, 0.001, 10000, "kg"), unit.Within("characteristic dimension", characteristicDimensionM, 0, 1000, "m"),
		unit.Within("speed", speedMS, 0, 1000, "m/s"))
	if err != nil {
		return 0, err
	}
	if peoplePerKm2 != ControlledGround {
		if err := unit.Within("density of people", peoplePerKm2, 0, 1e7, "people/km2"); err != nil {
			return 0, err
		}
	}
	if massKg <= 0.25 && speedMS <= 25 {
		return 1, nil
	}
	row := 0
	if peoplePerKm2 != ControlledGround {
		for row = 1; row <= len(classDensity) && peoplePerKm2 >= classDensity[row-1]; row++ {
		}
	}
	for i, c := range classColumns {
		if characteristicDimensionM <= c.dimensionM && speedMS <= c.speedMS {
			if class := classTable[row][i]; class > 0 {
				return class, nil
			}
			break
		}
	}
	return 0, fmt.Errorf("%g m and %g m/s over %g people/km2: %w", characteristicDimensionM, speedMS, peoplePerKm2, ErrOutsideTable)
}

// personRadiusM is the radius of a standing person in the critical area (from memory).
const personRadiusM = 0.3

// SteepCriticalArea returns the area in m² in which a person is struck by an aircraft
// that falls steeper than 60°: π(CD/2 + r)². Source: BasisCriticalArea.
func SteepCriticalArea(characteristicDimensionM float64) float64 {
	r := characteristicDimensionM/2 + personRadiusM
	return math.Pi * r * r
}
