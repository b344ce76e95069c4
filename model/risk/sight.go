package risk

import (
	"cmp"
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Configuration is the kind of aircraft that the line-of-sight and contingency
// formulas distinguish.
type Configuration int

// The configurations.
const (
	Rotorcraft Configuration = iota // rotorcraft and multirotors
	FixedWing
)

// AttitudeLineOfSight returns the distance in metres up to which a pilot can tell the
// aircraft's attitude (ALOS): 327·CD + 20 m for rotorcraft, 490·CD + 30 m for fixed
// wing. Characteristic dimension CD 0 to 40 m. Source: BasisLineOfSight.
func AttitudeLineOfSight(c Configuration, characteristicDimensionM float64) (float64, error) {
	if err := unit.Within("characteristic dimension", characteristicDimensionM, 0, 40, "m"); err != nil {
		return 0, err
	}
	if c == FixedWing {
		return 490*characteristicDimensionM + 30, nil
	}
	return 327*characteristicDimensionM + 20, nil
}

// maxGroundVisibilityM is the visibility beyond which detection does not improve.
const maxGroundVisibilityM = 5000

// DetectionLineOfSight returns the distance in metres up to which other aircraft can be
// detected in time (DLOS): 0.3 of the ground visibility, which counts up to 5 km.
// Source: BasisLineOfSight.
func DetectionLineOfSight(groundVisibilityM float64) (float64, error) {
	if err := unit.Within("ground visibility", groundVisibilityM, 0, 1e6, "m"); err != nil {
		return 0, err
	}
	return 0.3 * math.Min(groundVisibilityM, maxGroundVisibilityM), nil
}

// VisualLineOfSight returns the line-of-sight limit in metres: the lesser of ALOS and
// DLOS. Source: BasisLineOfSight.
func VisualLineOfSight(c Configuration, characteristicDimensionM, groundVisibilityM float64) (float64, error) {
	attitude, errA := AttitudeLineOfSight(c, characteristicDimensionM)
	detection, errD := DetectionLineOfSight(groundVisibilityM)
	return math.Min(attitude, detection), cmp.Or(errA, errD)
}

// Surface gives the height of the ground, in metres above sea level, at a place in the
// site frame; ok is false where it is not known.
type Surface interface {
	HeightAt(x, y float64) (z float64, ok bool)
}

// Level is flat ground at this height above sea level in metres.
type Level float64

// HeightAt returns the same height everywhere.
func (l Level) HeightAt(x, y float64) (float64, bool) { return float64(l), true }

// Sight is the state of a line of sight.
type Sight int

// The states; a line over unknown ground is SightUnknown, never clear.
const (
	SightUnknown Sight = iota
	SightClear
	SightBlocked
)

func (s Sight) String() string { return [...]string{"unknown", "clear", "blocked"}[s] }

// LineOfSight samples the straight line from eye to target every stepM metres
// (level distance, above 0) and says whether the ground rises into it. Earth curvature
// and refraction are below 0.1 m within 1 km and ignored.
func LineOfSight(ground Surface, eye, target geo.Vec3, stepM float64) (Sight, error) {
	if err := unit.Within("sampling step", stepM, 0.01, 1e4, "m"); err != nil {
		return SightUnknown, err
	}
	d := target.Sub(eye)
	n := int(math.Ceil(d.Horizontal() / stepM))
	if n > 1e6 {
		return SightUnknown, fmt.Errorf("line of sight of %g m needs %d samples; use a coarser step than %g m", d.Horizontal(), n, stepM)
	}
	sight := SightClear
	for i := 1; i < n; i++ {
		p := eye.Lerp(target, float64(i)/float64(n))
		z, ok := ground.HeightAt(p.X, p.Y)
		switch {
		case !ok:
			sight = SightUnknown
		case z > p.Z:
			return SightBlocked, nil
		}
	}
	return sight, nil
}

// SunSeparation returns the angle at the eye between the aircraft and the sun's centre,
// 0 to π. Azimuth is clockwise from true north, altitude up from the horizon. A pilot
// who looks within about 10° of the sun is dazzled (common practice, no source).
func SunSeparation(eye, aircraft geo.Vec3, sunAzimuth, sunAltitude unit.Angle) unit.Angle {
	sinAz, cosAz := math.Sincos(float64(sunAzimuth))
	sinAlt, cosAlt := math.Sincos(float64(sunAltitude))
	sun := geo.Vec3{X: sinAz * cosAlt, Y: cosAz * cosAlt, Z: sinAlt}
	look := aircraft.Sub(eye).Unit()
	return unit.Angle(math.Atan2(look.Cross(sun).Norm(), look.Dot(sun)))
}

// Watcher is a place where a pilot or spotter can stand: the eye, above the ground.
type Watcher struct {
	Name string
	Eye  geo.Vec3
}

// Watch says which of the watchers keep the aircraft in sight along the path.
type Watch struct {
	Keepers   []int   // indices of the watchers chosen, in order of choice
	SeenBy    []int   // per point of the path: the first keeper that sees it, or -1
	Unseen    int     // points that no watcher sees for certain
	FarthestM float64 // greatest distance from a point to the keeper that sees it
}

// StandSpotters chooses from the watchers, always keeping the first (the pilot), the
// spotters that must be added so that every point of the path is within limitM of
// somebody with a clear line to it. Each round adds the watcher that sees most points
// not yet covered; ties go to the earlier one. Points whose line crosses unknown
// ground count as unseen.
func StandSpotters(ground Surface, watchers []Watcher, path []geo.Vec3, limitM, stepM float64) (Watch, error) {
	if len(watchers) == 0 {
		return Watch{}, fmt.Errorf("no place for the pilot was given; add one")
	}
	if err := unit.Within("line-of-sight limit", limitM, 0, 1e5, "m"); err != nil {
		return Watch{}, err
	}
	sees := make([][]bool, len(watchers))
	for i, w := range watchers {
		sees[i] = make([]bool, len(path))
		for j, p := range path {
			if p.Sub(w.Eye).Norm() > limitM {
				continue
			}
			sight, err := LineOfSight(ground, w.Eye, p, stepM)
			if err != nil {
				return Watch{}, err
			}
			sees[i][j] = sight == SightClear
		}
	}
	watch := Watch{SeenBy: make([]int, len(path)), Unseen: len(path)}
	for j := range watch.SeenBy {
		watch.SeenBy[j] = -1
	}
	next := 0
	for {
		watch.Keepers = append(watch.Keepers, next)
		for j, p := range path {
			if watch.SeenBy[j] < 0 && sees[next][j] {
				watch.SeenBy[j] = next
				watch.Unseen--
				watch.FarthestM = math.Max(watch.FarthestM, p.Sub(watchers[next].Eye).Norm())
			}
		}
		best, gain := -1, 0
		for i := range watchers {
			n := 0
			for j := range path {
				if watch.SeenBy[j] < 0 && sees[i][j] {
					n++
				}
			}
			if n > gain {
				best, gain = i, n
			}
		}
		if best < 0 {
			return watch, nil
		}
		next = best
	}
}
