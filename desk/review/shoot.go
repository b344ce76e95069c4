package review

import (
	"fmt"
	"math"
	"time"

	"fieldfare/desk/logbook"
	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/assess"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

// PathOf is a solved path as review takes it.
func PathOf(p move.Path) []Planned {
	out := make([]Planned, len(p.Samples))
	for i, s := range p.Samples {
		out[i] = Planned{T: s.T, Pos: s.Pos, Vel: s.Vel, Yaw: s.Yaw, Pan: s.Pan, Tilt: s.Tilt}
	}
	return out
}

// Timings pairs the logged takes that have a start with their planned paths, for
// ClockOffset.
func Timings(a *assess.Assessor, takes []*logbook.Take) []Timed {
	var out []Timed
	for _, k := range takes {
		if t := a.Take(k.Slate); t != nil && t.Unsolved == nil && !k.From.IsZero() {
			out = append(out, Timed{Cue: k.From, Path: PathOf(t.Path)})
		}
	}
	return out
}

// Of prepares the review of a logged sortie from the shoot that it flew for. A take of a
// slate that the shoot does not have is named in the error list and left out.
func Of(a *assess.Assessor, s *logbook.Sortie, takes []*logbook.Take, fixes []Fix) (Flight, []string) {
	sh := a.Shoot
	var skipped []string
	f := Flight{Sortie: s.Sortie, Fixes: fixes, Ground: sh.Ground(), EnergyPlannedWh: s.EnergyPlannedWh, EnergyUsedWh: s.EnergyUsedWh}
	if all := a.Obstacles(); len(all) > 0 {
		f.Clearance = func(p geo.Vec3) (float64, bool) {
			least := math.Inf(1)
			for i := range all {
				d, _ := all[i].Shape.Distance(p)
				least = min(least, d)
			}
			return least, true
		}
	}
	var people []shoot.Feature
	for _, x := range sh.Features() {
		if x.Kind == shoot.People {
			people = append(people, x)
		}
	}
	if len(people) > 0 {
		f.People = func(p geo.Vec3, _ time.Time) (float64, bool) {
			least := math.Inf(1)
			for i := range people {
				least = min(least, people[i].Distance(p))
			}
			return least, true
		}
	}
	house := func(v float64) *Limit {
		if v <= 0 {
			return nil
		}
		return &Limit{v, "house rule"}
	}
	f.Limits = Limits{MinClearanceM: house(float64(sh.House.Clearance)), MinPeopleM: house(float64(sh.House.PeopleDistance))}
	var takeWh, transitWh float64
	predicted := len(takes) > 0
	for _, k := range takes {
		t := a.Take(k.Slate)
		switch {
		case t == nil:
			skipped = append(skipped, fmt.Sprintf("slate %s is not in the shoot", k.Slate))
			predicted = false
			continue
		case t.Unsolved != nil:
			skipped = append(skipped, fmt.Sprintf("slate %s has no path: %v", k.Slate, t.Unsolved))
			predicted = false
			continue
		}
		take := Take{Slate: k.Slate, Take: k.Take, Cue: k.From, Path: PathOf(t.Path), PlannedAt: k.Planned, Light: lightOf(t)}
		if x := a.Subjects()[t.Slate.Subject]; x != nil {
			take.Subject = func(at float64) (geo.Vec3, bool) {
				m, ok := x.At(at)
				return m.Box.Centre(), ok
			}
		}
		f.Takes = append(f.Takes, take)
		if frame := sh.Kit().Airframe(t.Rig.Airframe); frame != nil && frame.LevelSpeed > 0 {
			f.Limits.MaxSpeedMS = &Limit{float64(frame.LevelSpeed), "maker's limit of " + frame.Name}
		}
		when := k.From
		if when.IsZero() {
			when = s.TakeOff
		}
		n := t.At(when).Numbers.Flight
		if n.TakeEnergyWh == nil || n.TransitEnergyWh == nil {
			predicted = false
			continue
		}
		takeWh, transitWh = takeWh+*n.TakeEnergyWh, max(transitWh, *n.TransitEnergyWh)
	}
	f.Rules = rulebook(a, f.Takes)
	if f.EnergyPlannedWh == nil && predicted {
		wh := takeWh + transitWh
		f.EnergyPlannedWh = &wh
	}
	return f, skipped
}

// lightOf asks the slate's own light model for the light on its subject.
func lightOf(t *assess.Take) func(time.Time) (Light, bool) {
	return func(at time.Time) (Light, bool) {
		n := t.At(at).Numbers.Light
		if n.SubjectLx == nil {
			return Light{}, false
		}
		return Light{IlluminanceLx: *n.SubjectLx, SunAzimuth: unit.Angle(n.SunAzimuthDeg) * unit.Degree, SunHeight: unit.Angle(n.SunAltitudeDeg) * unit.Degree}, true
	}
}
