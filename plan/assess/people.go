package assess

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// toPeople measures the distances to people outside the crew and to the set's own.
func (t *Take) toPeople(n *SafetyNumbers, facts rule.Facts) {
	facts["height_above_ground"] = rule.Of(t.numbers.Move.HighestM)
	facts["height_above_takeoff"] = rule.Of(t.highest() - t.launch.Z)
	facts["ground_speed"] = rule.Of(t.numbers.Move.TopSpeedMS)
	t.shootSet(facts)
	people := t.ofKind(shoot.People)
	if len(people) == 0 {
		t.find(Unknown, TopicSafety, "people outside the crew", "none entered", "", "site features", "mark where people may be, with kind people")
		return
	}
	nearest, share := math.Inf(1), math.Inf(1)
	sure := true
	extents := make([]geo.Bounds, len(people))
	for i, f := range people {
		extents[i] = f.Extent()
	}
	for i := range t.Path.Samples {
		p := t.Path.Samples[i].Pos
		z, ok := t.shoot.Ground().HeightAt(p.X, p.Y)
		sure = sure && ok
		for k, f := range people {
			h := p.Z - z
			if least := extents[k].Distance(p.XY()); least > nearest && (!ok || h <= 1 || least/h > share) {
				continue // neither nearer nor a smaller share
			}
			d := f.Distance(p)
			if d < nearest {
				nearest, n.Nearest = d, describe(f)
			}
			if ok && h > 1 {
				share = math.Min(share, d/h)
			}
		}
	}
	n.PeopleM = known(nearest)
	facts["distance_to_uninvolved"] = rule.Of(nearest)
	facts["over_people"] = rule.Is(nearest == 0)
	if nearest > 0 {
		facts["over_assembly"] = rule.Is(false) // nobody at all is below
	}
	if sure && !math.IsInf(share, 1) {
		facts["distance_to_uninvolved_share"] = rule.Of(share)
	}
	if limit := float64(t.shoot.House.PeopleDistance); limit == 0 {
		t.find(Unknown, TopicSafety, "distance to people", metres(nearest), "unknown", "house rule", "add people_distance: to house:")
	} else if nearest < limit {
		t.find(Stop, TopicSafety, "level distance to people ("+n.Nearest+")", metres(nearest), metres(limit), "house rule", "move the path away from "+n.Nearest)
	}
}

func (t *Take) highest() float64 {
	z := math.Inf(-1)
	for i := range t.Path.Samples {
		z = math.Max(z, t.Path.Samples[i].Pos.Z)
	}
	return z
}

// shootSet measures the distance to where the set's people stand.
func (t *Take) shootSet(facts rule.Facts) {
	n := &t.numbers.Safety
	if d := t.nearest(shoot.Set); !math.IsInf(d, 1) {
		n.SetM, facts["distance_to_crew"] = known(d), rule.Of(d)
	}
	if stunts := t.shoot.Stunts; stunts != nil && !*stunts {
		facts["distance_to_performers"] = rule.Of(rule.Nowhere)
	}
	if d := t.nearest(shoot.Stunt); !math.IsInf(d, 1) {
		n.StuntM, facts["distance_to_performers"] = known(d), rule.Of(d)
	}
}

// nearest is the least distance in space from the path to a feature of a kind, +Inf for none.
func (t *Take) nearest(kind string) float64 {
	least := math.Inf(1)
	for _, f := range t.ofKind(kind) {
		for j := range t.Path.Samples {
			least = math.Min(least, toFeature(f, t.Path.Samples[j].Pos, least))
		}
	}
	return least
}

// ofKind are the site's features of some kinds, kind by kind in the order asked.
func (t *Take) ofKind(kinds ...string) (all []*shoot.Feature) {
	features := t.shoot.Features()
	for _, kind := range kinds {
		for i := range features {
			if features[i].Kind == kind {
				all = append(all, &features[i])
			}
		}
	}
	return all
}

// toFeature is the distance in space from a point to a feature that people stand in, exact below a
// bound. The feature counts at its lowest and its highest ground, whichever is nearer.
func toFeature(f *shoot.Feature, p geo.Vec3, bound float64) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range f.Places {
		low, high = math.Min(low, v.Z), math.Max(high, v.Z)
	}
	up := math.Max(0, math.Max(low-p.Z, p.Z-high-eyeM))
	if up >= bound || f.Extent().Distance(p.XY()) >= bound {
		return bound
	}
	return math.Hypot(f.Distance(p), up)
}
