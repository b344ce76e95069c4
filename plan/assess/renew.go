package assess

import (
	"context"
	"math"
	"reflect"
	"slices"

	"fieldfare/plan/shoot"
)

// Renew prepares a shoot like New, and takes over from the assessor of an earlier version every
// slate whose answer cannot have changed: all but the slates is the same, and so is every
// slate of its scene. It returns the names of those slates too. The earlier one may be nil. Of the other slates
// it takes over horizons over the same terrain and paths that answer the very same problem; what is new is
// solved afresh, so that no answer hangs on what was asked before.
func Renew(ctx context.Context, s *shoot.Shoot, was *Assessor) (*Assessor, map[string]bool, error) {
	kept := map[string]*Take{}
	if was != nil && sameButSlates(s, was.Shoot) {
		kept = unchanged(s, was)
	}
	a, err := build(ctx, s, was, kept)
	names := map[string]bool{}
	for slate := range kept {
		names[slate] = true
	}
	return a, names, err
}

// same reports whether two slates' problems have the same answer.
func (q *question) same(o *question) bool {
	a, b := q.problem, o.problem
	if q.origin != o.origin || a.Ground != b.Ground {
		return false
	}
	a.Locate, b.Locate = nil, nil // which the origin decides
	a.Ground, b.Ground = nil, nil
	return reflect.DeepEqual(a, b)
}

// unchanged returns the takes of scenes in which no slate was added, taken out or changed.
func unchanged(s *shoot.Shoot, was *Assessor) map[string]*Take {
	scenes := func(s *shoot.Shoot) map[string][]shoot.Slate {
		all := map[string][]shoot.Slate{}
		for _, x := range s.Slates {
			all[scene(x.Slate)] = append(all[scene(x.Slate)], x)
		}
		return all
	}
	before, kept := scenes(was.Shoot), map[string]*Take{}
	for name, slates := range scenes(s) {
		if reflect.DeepEqual(slates, before[name]) {
			for _, x := range slates {
				kept[x.Slate] = was.takes[x.Slate]
			}
		}
	}
	return kept
}

// sameParts compares the parts of two shoot files but for some.
func sameParts(s, o *shoot.Shoot, but map[string]bool) bool {
	a, b := reflect.ValueOf(*s), reflect.ValueOf(*o)
	for i := range a.NumField() {
		field := a.Type().Field(i)
		if field.IsExported() && !but[field.Name] && !reflect.DeepEqual(a.Field(i).Interface(), b.Field(i).Interface()) {
			return false
		}
	}
	return true
}

// take is Take of an assessor that may be nil.
func (a *Assessor) take(slate string) *Take {
	if a == nil {
		return nil
	}
	return a.takes[slate]
}

// sameButSlates compares everything else that an assessment looks at.
func sameButSlates(s, o *shoot.Shoot) bool {
	if !sameParts(s, o, map[string]bool{"Slates": true}) {
		return false
	}
	for i := range s.Subjects {
		if name := s.Subjects[i].Name; !reflect.DeepEqual(s.Way(name), o.Way(name)) {
			return false
		}
	}
	g, h := s.Ground(), o.Ground()
	return g.Bounds() == h.Bounds() && slices.EqualFunc(g.Z, h.Z, func(x, y float32) bool { return math.Float32bits(x) == math.Float32bits(y) }) && s.Datum() == o.Datum() &&
		reflect.DeepEqual(s.Kit(), o.Kit()) && reflect.DeepEqual(s.Features(), o.Features()) &&
		reflect.DeepEqual(s.Weather(), o.Weather()) && s.SameMet(o) && reflect.DeepEqual(s.Profiles(), o.Profiles())
}
