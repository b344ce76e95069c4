// Package move turns film grammar into paths: it reads the moves of a shot, lays out where
// the camera should be and look at each moment, and finds the smoothest path near that which
// the rig, the picture and the surroundings can bear. What cannot be had is said as a Bound
// with the nearest that can; a shot without any way is an Unsolved error.
//
// Units, axes, signs: SI; site frame x east, y north, z up; azimuths clockwise from true north;
// tilt up, pan and sweep clockwise seen from above are positive. Time counts in seconds from
// the start of the take.
//
// Source: the moves are trade terms, their parameters ours. Minimum jerk: T. Flash and N. Hogan
// (1985). Splines: C. de Boor (1978). Augmented Lagrangian and Newton steps: J. Nocedal and
// S. Wright, "Numerical Optimization", 2nd ed. (2006), chapter 17. Fastest time: J. Bobrow et al.
// (1985). Rules of the trade that no source states are marked where they stand.
//
// Validity and accuracy: shots up to an hour. Position has continuous derivatives up to the
// fourth. Limits hold at every sample. Objectives lie within 1 % of a general solver's on the
// shots of testdata/authority; that is a local best, and a wholly different way round an
// obstacle is only sought for stretches that run into one.
//
// Not modelled: the lean of the airframe within the gimbal's travel, drag against lean in
// wind, gusts beyond the drift margin, the camera's offset from the airframe's middle, zooming
// in a take, and obstacles that move.
package move
