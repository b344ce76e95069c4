package assess

import (
	"errors"
	"math"
	"time"

	"fieldfare/model/geo"
	"fieldfare/model/radio"
	"fieldfare/model/risk"
)

// What the safety case of a slate draws on, worked out when asked for.

// Launch returns the take-off place, Pilot the pilot's eye.
func (t *Take) Launch() geo.Vec3 { return t.launch }

// Pilot returns the pilot's eye.
func (t *Take) Pilot() geo.Vec3 { return t.pilot }

// MassKg is the mass at take-off.
func (t *Take) MassKg() float64 { return t.massKg }

// Observers returns the crew's observers who neither fly nor frame the slate.
func (t *Take) Observers() []string { return t.observers() }

// Stands returns the spotters that the take needs beside the pilot.
func (t *Take) Stands() []Stand { return t.care.stands }

// Moments returns about n moments of the path, the first and last among them.
func (t *Take) Moments(n int) []risk.Moment { return t.sparse(n) }

// perSecond is how many moments give one for each second, at least two and at most ten minutes.
func (t *Take) perSecond() int {
	return min(600, max(2, int(math.Ceil(t.Path.DurationS()))+1))
}

// Falls follows a dead aircraft from each second of the path in the wind of an instant's weather;
// windKnown is false where still air had to be taken.
func (t *Take) Falls(at time.Time) (drops []Drop, windKnown bool, err error) {
	m := t.moment(at)
	drops, err = t.falls(m.flown, t.perSecond())
	return drops, m.flown.windKnown, err
}

// Landing says which landing spots can be reached from each second of the last take on a pack, in the
// weather of an instant. FullJ is what the pack set gives in all.
func (t *Take) Landing(at time.Time) (table []Alternate, spots []risk.Spot, fullJ float64, err error) {
	m := t.moment(at)
	table, err = t.landing(m.flown, t.perSecond())
	return table, t.care.spots, t.delivered(m.flown), err
}

// HomeRoute is the lost-link route from a point of the path; ok is false where it is not known.
func (t *Take) HomeRoute(from geo.Vec3) (route []geo.Vec3, ok bool) {
	if math.IsNaN(t.care.homeZ) {
		return nil, false
	}
	return risk.ReturnRoute(from, t.launch, t.care.homeZ), true
}

// RouteClears reports whether a straight line clears ground and obstacles; known is false over
// unknown ground. The last metres above a landing spot count with it.
func (t *Take) RouteClears(from, to geo.Vec3) (clears, known bool) {
	high := math.Max(from.Z, to.Z)
	c, err := risk.RouteClearance(t.obstruction(), []geo.Vec3{{X: from.X, Y: from.Y, Z: high}, {X: to.X, Y: to.Y, Z: high}}, routeReachM, routeReachM)
	if err != nil {
		return false, false
	}
	return c.LeastM > 0, true
}

// FlyAway is how far and for how long an aircraft that answers to nobody can go on a full pack set
// in the weather of an instant: level at its greatest speed, with the wind.
func (t *Take) FlyAway(at time.Time) (reachM, durationS float64, err error) {
	f := t.moment(at).flown
	switch {
	case f.err != nil:
		return 0, 0, f.err
	case f.packErr != nil:
		return 0, 0, f.packErr
	case !f.windKnown:
		return 0, 0, errors.New("the wind is not known: enter it in the forecast")
	}
	v := float64(t.airframe.LevelSpeed)
	w := f.flight.LevelW(v)
	full := t.delivered(f)
	if !(w > 0) || !(full > 0) {
		return 0, 0, errors.New("power or energy is not known")
	}
	return full / w * (v + f.windMS), full / w, nil
}

// LinkAlong is one radio link of the rig over the path, second by second.
type LinkAlong struct {
	Use      string
	Readings []radio.Reading
	Err      error
	Stand    string  // where its ground end stands best, of the site's launch, observer and set spots; "" unknown
	StandDB  float64 // the weakest moment's margin from there
}

// Links works out every link of the rig at each second of the path, with the ground end at the launch spot.
func (t *Take) Links() (all []LinkAlong) {
	set := t.shoot.Kit().Radio(t.Rig.Radio)
	if set == nil || t.Unsolved != nil {
		return nil
	}
	path := t.radioPath(t.perSecond())
	ground := t.radioWorld()
	for i := range set.Links {
		l := budgetOf(&set.Links[i])
		one := LinkAlong{Use: set.Links[i].Use}
		one.Readings, one.Err = l.Along(ground, t.launch.Add(geo.Vec3{Z: antennaM}), path, radioStepM)
		if name, margin, ok := t.bestStand(l, t.radioPath(radioSamples)); ok {
			one.Stand, one.StandDB = name, margin
		}
		all = append(all, one)
	}
	return all
}
