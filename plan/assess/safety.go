package assess

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/risk"
	"fieldfare/model/terrain"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// care is what is worked out once of a take's safety, for the hours to draw on.
type care struct {
	geographyM   float64         // half width of the flight geography around the path
	contingencyM float64         // around the flight geography
	riseM        float64         // of the contingency volume above the flight geography
	bufferM      float64         // around the contingency volume
	alosM        float64         // how far the aircraft's attitude is seen
	watchM       float64         // greatest distance to whoever watches
	skyline      terrain.Skyline // that the pilot sees
	watched      bool            // watchM counts: somebody sees the aircraft throughout
	placed       []bool          // by permission: it covers the path's place
	met          []met           // areas of airspace near the path
	permitted    []met           // areas in which flight is permitted
	areasKnown   bool
	permits      bool        // some area is drawn as permitted: the take must stay inside
	left         bool        // it does not, at any hour
	areasChange  bool        // whether the hour changes what the areas mean
	homeZ        float64     // height above sea of the lost-link route; NaN when not known
	spots        []risk.Spot // where it can land
	stands       []Stand     // of spotters that are needed
	glareRuled   bool        // a rule looks at the sun behind the aircraft
}

// sparse returns about n moments of the path, the first and last among them.
func (t *Take) sparse(n int) (moments []risk.Moment) {
	last := len(t.Path.Samples) - 1
	step := max(1, last/max(1, n-1))
	for i := 0; i < last; i += step {
		p := &t.Path.Samples[i]
		moments = append(moments, risk.Moment{TimeS: p.T, Pos: p.Pos, Vel: p.Vel})
	}
	p := &t.Path.Samples[last]
	return append(moments, risk.Moment{TimeS: p.T, Pos: p.Pos, Vel: p.Vel})
}

// safety looks at people, sight, volumes and areas.
func (t *Take) safety() {
	t.care.homeZ = math.NaN()
	if t.Unsolved != nil {
		return
	}
	n := &t.numbers.Safety
	facts := t.facts
	t.toPeople(n, facts)
	t.inSight(n, facts)
	t.volumes(n, facts)
	t.airspace()
	t.kitFacts(facts)
	t.siteFacts(facts)
	t.statedFacts(facts)
	t.lostLink(n, facts)
	t.ways()
	t.alternates()
}

// kitFacts are what papers say of aircraft and crew.
func (t *Take) kitFacts(facts rule.Facts) {
	facts["take_off_mass"] = rule.Of(t.massKg)
	if t.airframe.Class != "" {
		facts["class_label"] = rule.Named(t.airframe.Class)
	}
	if t.Rig.Insurance != "" {
		facts["insured"] = rule.Is(true)
	}
	if t.Rig.Mark != "" {
		facts["registered"] = rule.Is(true)
	}
	facts["observer"] = rule.Is(len(t.observers()) > 0)
	facts["parachute_fitted"] = rule.Is(t.airframe.Parachute)
	facts["packs"] = rule.Of(float64(max(1, t.airframe.PacksFitted)))
	facts["filter_fitted"] = rule.Is(len(t.Slate.Filters) > 0)
}

// statedFacts adds what the crew states where nothing is computed; for a rig before for all.
func (t *Take) statedFacts(facts rule.Facts) {
	for _, of := range []string{t.Rig.Name, ""} {
		for i := range t.shoot.Stated {
			x := &t.shoot.Stated[i]
			if _, known := facts[x.Fact]; x.Rig == of && !known {
				facts[x.Fact] = x.Value()
			}
		}
	}
}

// observers are the crew's observers who neither fly nor frame this slate.
func (t *Take) observers() (names []string) {
	for _, p := range t.shoot.Crew {
		for _, r := range p.Roles {
			if r == "observer" && p.Name != t.Rig.Pilot && p.Name != t.Rig.Operator {
				names = append(names, p.Name)
			}
		}
	}
	return names
}

// wiresNearM is how near a wire must be to count as standing near the path (common practice, no source).
const wiresNearM = 60.0

// siteFacts are what the site's features say of the path.
func (t *Take) siteFacts(facts rule.Facts) {
	target := t.around.subjects[t.Slate.Subject]
	moving := target != nil && target.Moves()
	facts["vehicle_in_shot"] = rule.Is(moving)
	if closed := t.shoot.Site.Closed; closed != nil {
		facts["closed_site"] = rule.Is(*closed)
	}
	if t.shoot.Site.Features == "" {
		return
	}
	facts["wires_near"] = rule.Is(t.level(shoot.Wire) < wiresNearM)
	facts["water_below"] = rule.Is(t.level(shoot.Water) < t.care.geographyM+t.care.contingencyM+t.care.bufferM)
	if !moving && t.level(shoot.Road) > 0 && t.level(shoot.Rail) > 0 {
		facts["over_moving_vehicles"] = rule.Is(false)
	}
}

// level is the least level distance from the path to a feature of a kind, +Inf for none.
func (t *Take) level(kind string) float64 {
	least := math.Inf(1)
	for _, f := range t.ofKind(kind) {
		extent := f.Extent()
		for _, m := range t.sparse(120) {
			if extent.Distance(m.Pos.XY()) < least {
				least = math.Min(least, f.Distance(m.Pos))
			}
		}
	}
	return least
}

// cover is the ground with what stands on it: the top of whatever is within aroundM of a place.
type cover struct {
	ground  risk.Surface
	solids  []*shoot.Feature
	tops    []float64 // above sea
	bounds  []geo.Bounds
	aroundM float64
}

// covered makes a cover of the features of some kinds.
func (t *Take) covered(aroundM float64, kinds ...string) *cover {
	c := &cover{ground: t.shoot.Ground(), aroundM: aroundM}
	features := t.shoot.Features()
	for i := range features {
		f := &features[i]
		for _, k := range kinds {
			if f.Kind != k {
				continue
			}
			top, b := math.Inf(-1), geo.Bounds{MinX: math.Inf(1), MinY: math.Inf(1), MaxX: math.Inf(-1), MaxY: math.Inf(-1)}
			for _, p := range f.Places {
				top = math.Max(top, p.Z+f.HeightM)
				b.MinX, b.MinY = math.Min(b.MinX, p.X), math.Min(b.MinY, p.Y)
				b.MaxX, b.MaxY = math.Max(b.MaxX, p.X), math.Max(b.MaxY, p.Y)
			}
			pad := aroundM + f.SpreadM
			c.solids, c.tops = append(c.solids, f), append(c.tops, top)
			c.bounds = append(c.bounds, geo.Bounds{MinX: b.MinX - pad, MinY: b.MinY - pad, MaxX: b.MaxX + pad, MaxY: b.MaxY + pad})
		}
	}
	return c
}

// HeightAt implements the surfaces of package model.
func (c *cover) HeightAt(x, y float64) (float64, bool) {
	z, ok := c.ground.HeightAt(x, y)
	for i, f := range c.solids {
		if b := &c.bounds[i]; c.tops[i] > z && x >= b.MinX && x <= b.MaxX && y >= b.MinY && y <= b.MaxY && f.Distance(geo.Vec3{X: x, Y: y}) <= c.aroundM {
			z = c.tops[i]
		}
	}
	return z, ok
}

func (t *Take) putFact(name string, v rule.Value) { t.facts[name] = v }
