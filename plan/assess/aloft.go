package assess

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"fieldfare/model/airspace"
	"fieldfare/model/geo"
	"fieldfare/model/risk"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// Aloft is one moment of a flight as it was recorded, wherever the plan would have had it.
type Aloft struct {
	At      time.Time
	Pos     geo.Vec3  // Z counts only where High
	High    bool      // the height is known
	Before  *geo.Vec3 // the place recorded before it; nil at the first, and after a gap
	SpeedMS float64
}

// Told is what a moment aloft tells beside its facts, by quantity.
type Told struct {
	Detail  map[string]string // of a fact: from where it was seen, in which area it was
	Missing map[string]string // of a quantity without a fact: the entry that would tell it
	InsideM *float64          // level distance to the border, inside the area that controlled or out-of-bounds airspace names
}

// aloftFacts are the quantities that FlownFacts settles.
var aloftFacts = []string{"distance_to_pilot", "line_of_sight", "line_of_sight_share", "controlled_airspace", "out_of_bounds_airspace",
	"buffer_clear_of_people", "distance_to_crew", "distance_to_performers", "over_moving_vehicles", "distance_to_assembly", "distance_to_built_up", "permissions_held"}

const (
	supplyHeight  = "record heights"
	supplyGround  = "extend the elevation grid under the flight"
	supplyTraffic = "no entry tells whether traffic stood still under a flight: say in the log how the road was held"
)

// FlownFacts sets what the site tells of a moment aloft about sight, areas and the people in them, and
// takes out of facts what it does not tell. The pilot stands and the spotters watch where the slate has
// them. Areas are met by the aircraft itself, on the way from the place before, and permissions hold at
// the moment and over its place; the plan's contingency volume does not count. The ground risk buffer is
// that of the moment's height and speed. A height under the ground is the recorder's error and taken as on
// it. Source of the line-of-sight limit: risk.BasisLineOfSight; of volume and buffer:
// risk.BasisContingencyVolume, risk.BasisGroundRiskBuffer.
func (t *Take) FlownFacts(x *Aloft, facts rule.Facts) Told {
	told := Told{Detail: map[string]string{}, Missing: map[string]string{}}
	for _, name := range aloftFacts {
		delete(facts, name)
	}
	if t.Unsolved != nil {
		for _, name := range aloftFacts {
			told.Missing[name] = "the slate has no path: " + t.Unsolved.Error()
		}
		return told
	}
	ground, known := t.shoot.Ground().HeightAt(x.Pos.X, x.Pos.Y)
	p := t.onGround(x.Pos)
	t.sightAloft(x, p, facts, &told)
	where := t.areasAloft(x, p, facts, &told)
	t.peopleAloft(x, p, p.Z-ground, known, facts, &told)
	facts["permissions_held"] = t.heldAt(where, x.At)
	return told
}

// standsM is how far above the ground a place under it is lifted, so that rounding leaves it above.
const standsM = 0.01

// onGround lifts a place that lies under the known ground onto it.
func (t *Take) onGround(p geo.Vec3) geo.Vec3 {
	if z, known := t.shoot.Ground().HeightAt(p.X, p.Y); known {
		p.Z = math.Max(p.Z, z+standsM)
	}
	return p
}

// Watching names where the slate has its pilot and spotters stand.
func (t *Take) Watching() string {
	at := "launch spot " + t.Slate.Launch
	if t.Slate.Pilot != nil {
		at = "pilot_at: of slate " + t.Slate.Slate
	}
	for _, f := range t.spotters() {
		at += ", spotter at " + f.Name
	}
	return at
}

func (told *Told) miss(why string, names ...string) {
	for _, n := range names {
		told.Missing[n] = why
	}
}

func (t *Take) sightAloft(x *Aloft, p geo.Vec3, facts rule.Facts, told *Told) {
	if !x.High {
		told.miss(supplyHeight, "distance_to_pilot", "line_of_sight", "line_of_sight_share")
		return
	}
	if _, standing := t.shoot.Ground().HeightAt(t.pilot.X, t.pilot.Y); !standing {
		told.miss("extend the elevation grid to where the pilot stands", "distance_to_pilot")
	} else {
		facts["distance_to_pilot"] = rule.Of(p.Sub(t.pilot).Norm())
	}
	limit := t.care.alosM
	if limit == 0 {
		limit = math.Inf(1)
	}
	w := t.watched(p, standsAt(t.spotters()), limit)
	switch {
	case math.IsInf(w.nearM, 1) && !w.settled:
		told.miss(supply["line_of_sight"], "line_of_sight", "line_of_sight_share")
		return
	case math.IsInf(w.nearM, 1):
		facts["line_of_sight"] = rule.Is(false)
		told.Detail["line_of_sight"] = fmt.Sprintf("%s from the pilot, behind %s", metres(p.Sub(t.pilot).Norm()), w.pilotBy)
		told.miss("nobody sees it: see line of sight", "line_of_sight_share")
		return
	}
	facts["line_of_sight"] = rule.Is(true)
	weather, _ := t.around.weatherAt(x.At)
	switch v := weather.VisibilityM; {
	case t.care.alosM == 0:
		told.miss("enter size: of the airframe", "line_of_sight_share")
	case !v.Known:
		told.miss(supplySight, "line_of_sight_share")
	default:
		if limit, detection := t.sightLimit(v.Value); limit > 0 && !math.IsNaN(detection) {
			facts["line_of_sight_share"] = rule.Of(w.nearM / limit)
			told.Detail["line_of_sight_share"] = metres(w.nearM) + " of " + metres(limit)
		} else {
			told.miss(supplySight, "line_of_sight_share")
		}
	}
}

// flownWay is the way from the place before to p, or p alone.
func (t *Take) flownWay(x *Aloft, p geo.Vec3) []airspace.Point {
	if x.Before == nil {
		return []airspace.Point{{Pos: p}}
	}
	return []airspace.Point{{Pos: t.onGround(*x.Before)}, {TimeS: 1, Pos: p}}
}

// anyHeight reaches whatever area lies above or below.
var anyHeight = airspace.Reach{UpM: 9e5, DownM: 9e5}

// areasAloft tells of areas, and the place over which a permission must hold: the aircraft's, or that
// between two fixes where the way crossed an area.
func (t *Take) areasAloft(x *Aloft, p geo.Vec3, facts rule.Facts, told *Told) (where geo.Vec3) {
	where = x.Pos
	const controlled, closed = "controlled_airspace", "out_of_bounds_airspace"
	areas := t.shoot.Areas()
	if len(areas) == 0 {
		told.miss(supplyAreas, controlled, closed)
		return where
	}
	weather, _ := t.around.weatherAt(x.At)
	setting := airspace.Setting{Ground: t.shoot.Ground()}
	if weather.QNHPa.Known {
		setting.QNHPa = weather.QNHPa.Value
	}
	path, reach := t.flownWay(x, p), airspace.Reach{}
	if !x.High {
		reach = anyHeight
	}
	var inside [2]*shoot.Feature // by kind: the first that it was in for certain
	for _, f := range areas {
		if f.Zone == nil {
			told.miss("area "+describe(f)+" could not be placed: draw it anew", controlled, closed)
			continue
		}
		z := f.Zone
		name, k := controlled, 0
		switch z.Status {
		case airspace.Permitted:
			continue
		case airspace.OutOfBounds:
			name, k = closed, 1
		}
		if inside[k] != nil || !z.Active(x.At, x.At) {
			continue
		}
		found, err := z.Crossings(path, reach, setting)
		found = slices.DeleteFunc(found, func(c airspace.Crossing) bool { // left since the place before, which was judged in it
			return len(path) > 1 && c.FromS <= 0 && c.ToS < 1-1e-9
		})
		switch sure := slices.ContainsFunc(found, func(c airspace.Crossing) bool { return !c.Possible }); {
		case err != nil:
			told.miss("area "+describe(f)+": "+err.Error(), name)
		case len(found) == 0:
		case !x.High:
			told.miss(supplyHeight+": it was over or under area "+describe(f), name)
		case !sure:
			told.miss("extend the elevation grid under area "+describe(f)+", or enter the pressure in the forecast", name)
		default:
			inside[k] = f
			in := found[len(found)-1]
			if len(path) > 1 && in.ToS < 1-1e-9 {
				where = in.From.Lerp(in.To, 0.5)
			}
			deep := 0.0
			if z.Polygon.Contains(x.Pos.XY()) {
				deep = z.Polygon.BoundaryDistance(x.Pos.XY())
			}
			if told.InsideM == nil || deep > *told.InsideM {
				told.InsideM = &deep
			}
			told.Detail[name] = fmt.Sprintf("area %s, %s inside its border", describe(f), metres(deep))
		}
	}
	for k, name := range []string{controlled, closed} {
		if inside[k] != nil {
			facts[name] = rule.Is(true)
			delete(told.Missing, name)
		} else if told.Missing[name] == "" {
			facts[name] = rule.Is(false)
		}
	}
	return where
}

func (t *Take) peopleAloft(x *Aloft, p geo.Vec3, aboveM float64, groundKnown bool, facts rule.Facts, told *Told) {
	people := t.ofKind(shoot.People)
	nearest, name := math.Inf(1), ""
	for _, f := range people {
		if f.Extent().Distance(p.XY()) > nearest {
			continue
		}
		if d := f.Distance(p); d < nearest {
			nearest, name = d, describe(f)
		}
	}
	if len(people) == 0 {
		told.miss(supplyPeople, "over_people", "over_assembly", "distance_to_uninvolved", "distance_to_uninvolved_share", "buffer_clear_of_people")
	} else {
		told.Detail["over_people"] = name
	}
	switch {
	case len(people) == 0:
	case !x.High:
		told.miss(supplyHeight, "buffer_clear_of_people", "distance_to_uninvolved_share")
	case !groundKnown:
		told.miss(supplyGround, "buffer_clear_of_people", "distance_to_uninvolved_share")
	default:
		size := float64(t.airframe.Size)
		geography := math.Max(float64(t.shoot.House.PositionError), risk.SmallestFlightGeography(size)/2)
		around, err := t.contingencyVolume(math.Max(1, x.SpeedMS), math.Max(1, aboveM)+geography)
		buffer := 0.0
		if err == nil {
			buffer, err = risk.OneToOneBuffer(around.HeightM, size)
		}
		if err != nil {
			told.miss(err.Error(), "buffer_clear_of_people")
			break
		}
		reach := geography + around.HorizontalM + buffer
		facts["buffer_clear_of_people"] = rule.Is(nearest >= reach)
		told.Detail["buffer_clear_of_people"] = fmt.Sprintf("%s %s away, the buffer reaches %s", name, metres(nearest), metres(reach))
	}
	for kind, of := range map[string]string{shoot.Set: "distance_to_crew", shoot.Stunt: "distance_to_performers"} {
		all := t.ofKind(kind)
		switch {
		case len(all) == 0 && kind == shoot.Stunt && t.shoot.Stunts != nil && !*t.shoot.Stunts:
			facts[of] = rule.Of(rule.Nowhere)
		case len(all) == 0:
			told.miss(supply[of], of)
		case !x.High:
			told.miss(supplyHeight, of)
		default:
			least := math.Inf(1)
			for _, f := range all {
				least = math.Min(least, toFeature(f, p, math.Inf(1)))
			}
			facts[of] = rule.Of(least)
		}
	}
	target := t.around.subjects[t.Slate.Subject]
	switch {
	case t.shoot.Site.Features == "":
		told.miss("name a file of features under site:", "over_moving_vehicles")
	case target != nil && target.Moves(), t.over(shoot.Road, p), t.over(shoot.Rail, p):
		told.miss(supplyTraffic, "over_moving_vehicles")
	default:
		facts["over_moving_vehicles"] = rule.Is(false)
	}
	told.miss("no entry tells which people were an assembly: measure it on a map", "distance_to_assembly")
	if nearest == 0 {
		told.miss("no entry tells which people were an assembly: say in the log who was below", "over_assembly")
	}
	told.miss("no entry draws built-up areas: measure it on a map", "distance_to_built_up")
}

func (t *Take) over(kind string, p geo.Vec3) bool {
	return slices.ContainsFunc(t.ofKind(kind), func(f *shoot.Feature) bool { return f.Extent().Distance(p.XY()) == 0 && f.Distance(p) == 0 })
}

// heldAt are the permits of the permissions that are granted, hold at an instant and cover a place.
func (t *Take) heldAt(p geo.Vec3, at time.Time) rule.Value {
	names := map[string]bool{}
	for i := range t.shoot.Permissions {
		x := &t.shoot.Permissions[i]
		covered := x.Area == "" || slices.ContainsFunc(t.shoot.Areas(), func(f *shoot.Feature) bool { return f.Name == x.Area && f.Contains(p) })
		if len(x.Covers) == 0 || !covered || !x.Valid(at, at, t.Zone()) {
			continue
		}
		for _, c := range x.Covers {
			names[c] = true
		}
	}
	return rule.Listed(slices.Sorted(maps.Keys(names))...)
}
