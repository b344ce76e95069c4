// Package risk computes what a flight exposes people to: how far a pilot can see
// the aircraft, how much room an upset needs, where a failed aircraft lands and how
// hard, the intrinsic ground risk class, and what can still be done in an emergency.
//
// Units are SI. Points are geo.Vec3 in the site frame: x east, y north, z up above
// sea level. Heights named "above ground" are measured from the ground below. Angles
// at the border are unit.Angle.
//
// Sources: EASA, Guidelines for UAS operations in the open and specific category,
// issue 2 (2024), part I, for line of sight; JARUS SORA 2.5 main body and Annex A
// (2024) for volumes, buffers and the ground risk class; the textbook equations of
// motion for falls. The constants named Basis… say for each result how far its source
// was confirmed; print them beside the number.
//
// Validity and accuracy: line-of-sight formulas up to 5 km ground visibility; table
// formulas use g = 9.81 m/s² as their source does, falls use standard gravity 9.80665.
// Falls integrate a point mass with constant drag area by fourth-order Runge-Kutta
// steps; against the closed form the error is below 1e-6 of the speed.
//
// Not modelled: lift, tumbling and autorotation of a falling aircraft, the spread of
// debris, bounce and slide after impact, injury, and shelter given by buildings.
package risk

// StandardGravityMS2 is standard gravity (CGPM 1901, exact).
const StandardGravityMS2 = 9.80665

// tableGravityMS2 is the rounded value used by the SORA volume and buffer formulas.
const tableGravityMS2 = 9.81

// Where each result comes from, and how far that was confirmed.
const (
	BasisLineOfSight       = "EASA, Guidelines for UAS operations in the open and specific category, issue 2 (2024), part I; quoted text seen, the document's own page not read"
	BasisContingencyVolume = "JARUS SORA 2.5 Annex A, section A.5; formulas and defaults from a public study set, the document's own page not read"
	BasisGroundRiskBuffer  = "JARUS SORA 2.5 Annex A, section A.5; formulas from a public study set, the document's own page not read"
	BasisGroundRiskClass   = "JARUS SORA 2.5 main body, intrinsic ground risk class table; two public transcriptions agree, the document's own page not read"
	BasisCriticalArea      = "JARUS SORA 2.5 Annex F; from memory"
	BasisFall              = "equations of motion of a point mass with quadratic drag, integrated numerically (textbook)"
)
