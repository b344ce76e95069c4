package assess

import (
	"fmt"

	"fieldfare/model/geo"
	"fieldfare/plan/move"
)

// basisAxis is the 180° rule.
const basisAxis = "line of action: common practice, no source"

// axis is the line of action that the slate names, nil for that of a moving subject.
func (t *Take) axis() *[2]geo.Vec3 {
	if len(t.Slate.Axis) != 2 {
		return nil
	}
	var ends [2]geo.Vec3
	places := points(t.shoot)
	for i, name := range t.Slate.Axis {
		if s := t.around.subjects[name]; s != nil {
			m, _ := s.At(0)
			ends[i] = m.Box.Foot
		} else {
			ends[i] = places[name]
		}
	}
	return &ends
}

// crossing finds a take that crosses the line of action unasked.
func (t *Take) crossing() {
	if at := t.report.AxisCrossedT; len(at) > 0 && !t.Slate.Cross {
		t.findAt(at[0], Caution, TopicMove, "line of action", "crossed during the take", "kept to its "+string(t.report.Side), basisAxis,
			"stay on one side, or write cross_axis: true where it is meant")
	}
}

// continuity compares each slate with the one before it in its scene: cut together, both must look from
// the same side of the line of action. Slates in kept have their findings.
func (a *Assessor) continuity(kept map[string]bool) {
	before := map[string]*Take{}
	for _, t := range a.Takes() {
		name := scene(t.Slate.Slate)
		was := before[name]
		before[name] = t
		if was == nil || t.Slate.Cross || kept[t.Slate.Slate] || move.Continuous(&was.report, &t.report) != move.No {
			continue
		}
		if was.report.Side == t.report.Side {
			continue // one of them crosses: found on that slate
		}
		t.find(Caution, TopicMatch, "line of action across the cut from "+was.Slate.Slate, fmt.Sprintf("from its %s", t.report.Side), fmt.Sprintf("from its %s, as %s", was.report.Side, was.Slate.Slate), basisAxis,
			"shoot it from the other side, put a view along the line between the two, or write cross_axis: true where it is meant")
	}
}
