package assess

import (
	"errors"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/risk"
	"fieldfare/model/rotor"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// lostLinkMarginM is kept above the ground and what stands on it on the way home (common practice,
// no source); routeReachM is how far to each side the route is looked at.
const (
	lostLinkMarginM = 30.0
	routeReachM     = 10.0
)

const basisRoute = "straight route at one height over terrain and obstacles"

// obstruction is the ground with everything that a route must clear, wires among it.
func (t *Take) obstruction() *cover {
	return t.covered(routeReachM/2, shoot.Building, shoot.Tree, shoot.Mast, shoot.Bridge, shoot.Wire)
}

// lostLink works out the height at which the aircraft comes home when its control link is lost, and
// how far above ground and obstacles the route then is.
func (t *Take) lostLink(n *SafetyNumbers, facts rule.Facts) {
	ground := t.obstruction()
	moments := t.sparse(12)
	needed := math.Inf(-1)
	for _, m := range moments {
		h, err := risk.LostLinkHeight(ground, risk.ReturnRoute(m.Pos, t.launch, m.Pos.Z)[1:], lostLinkMarginM, routeReachM, routeReachM)
		if err != nil {
			t.findAt(m.TimeS, Unknown, TopicSafety, "lost-link route", "unknown", "", basisRoute, "extend the elevation grid: "+err.Error())
			return
		}
		needed = math.Max(needed, h)
	}
	needed = math.Max(needed, t.launch.Z)
	n.LostLinkNeedM = known(needed - t.launch.Z)
	set := needed
	if h := float64(t.shoot.House.LostLinkHeight); h > 0 {
		set = t.launch.Z + h
	}
	least := math.Inf(1)
	for _, m := range moments {
		c, err := risk.RouteClearance(ground, risk.ReturnRoute(m.Pos, t.launch, set)[1:], routeReachM, routeReachM)
		if err != nil {
			return // the height above would not be known either
		}
		least = math.Min(least, c.LeastM)
	}
	t.care.homeZ = set
	n.LostLinkM, n.LostLinkClearM = known(set), known(least)
	facts["lost_link_clearance"] = rule.Of(least)
	if least < lostLinkMarginM-0.01 {
		t.find(Stop, TopicSafety, "lost-link route above ground and obstacles", metres(least), metres(lostLinkMarginM), basisRoute+"; "+practice, "set lost_link_height: to "+metres(math.Ceil(needed-t.launch.Z))+" or more for this slate, or launch elsewhere")
	}
}

// alternates lists where the aircraft can land in an emergency: landing and launch spots.
func (t *Take) alternates() {
	marked := false
	for _, f := range t.ofKind(shoot.Landing, shoot.Launch) {
		if !f.OnGround {
			continue
		}
		marked = marked || f.Kind == shoot.Landing
		at := f.Places[0]
		if f.Shape == shoot.Polygon {
			at = middle(f.Places)
			if z, ok := t.shoot.Ground().HeightAt(at.X, at.Y); ok {
				at.Z = z
			}
		}
		t.care.spots = append(t.care.spots, risk.Spot{Name: describe(f), Pos: at})
	}
	if !marked {
		t.find(Unknown, TopicSafety, "emergency landing", "no alternate landing spot entered", "", "site features", "mark level, open places with kind landing")
	}
}

// landingMoments along a path at which the way to each landing spot is worked out for the findings.
const landingMoments = 12

// Alternate is what can be reached from one moment of the path.
type Alternate struct {
	TimeS float64
	LeftJ float64 // in the packs at the moment, reserve included
	Spots []risk.Reach
}

// landing works out, in one weather and from n moments of the last take on a pack, which landing
// spots are reached with the energy left.
func (t *Take) landing(f *flown, n int) ([]Alternate, error) {
	switch {
	case t.Unsolved != nil:
		return nil, t.Unsolved
	case len(t.care.spots) == 0:
		return nil, errors.New("no landing spot is entered")
	case f.err != nil:
		return nil, f.err
	case f.packErr != nil:
		return nil, f.packErr
	}
	takes := math.Max(1, float64(min(f.takes, t.takesWanted())))
	start := t.delivered(f) - f.out.EnergyJ - (takes-1)*(f.take.EnergyJ+t.between(f))
	samples := make([]rotor.Sample, len(t.samples))
	for i, s := range t.samples {
		s.Air = s.Air.Sub(f.wind)
		samples[i] = s
	}
	way := f.flight.Fly(samples)
	var path []risk.Charge
	for _, m := range t.sparse(n) {
		k := 0
		for k < len(samples) && samples[k].T <= m.TimeS {
			k++
		}
		path = append(path, risk.Charge{TimeS: m.TimeS, Pos: m.Pos, LeftJ: math.Max(0, start-way.Energy(k).EnergyJ)})
	}
	speed := transitShare * float64(t.airframe.LevelSpeed)
	climb, sink := transitShare*float64(t.airframe.ClimbSpeed), transitShare*float64(t.airframe.DescentSpeed)
	d := risk.Diversion{AirspeedMS: speed, PowerW: f.flight.LevelW(speed), DescentMS: sink, DescentPowerW: f.flight.HoverW(),
		ClimbMS: climb, ClimbPowerW: f.flight.Steady(geo.Vec3{Z: climb}).PowerW, WindMS: f.wind}
	table, err := d.LandingReach(path, t.care.spots)
	if err != nil {
		return nil, err
	}
	out := make([]Alternate, len(table))
	for i := range table {
		out[i] = Alternate{path[i].TimeS, path[i].LeftJ, table[i]}
	}
	return out, nil
}

// landed is the worst moment of a path for an emergency landing in one weather.
type landed struct {
	done   bool
	err    error
	none   bool // some moment has no spot within reach
	atS    float64
	leftJ  float64 // after landing at the nearest spot from the worst moment
	spot   string
	travel float64
}

func (t *Take) landedIn(f *flown) landed {
	t.flights.mu.Lock()
	defer t.flights.mu.Unlock()
	if f.landed.done {
		return f.landed
	}
	worst := landed{done: true, leftJ: math.Inf(1)}
	table, err := t.landing(f, landingMoments)
	worst.err = err
	for _, a := range table {
		nearest, ok := risk.NearestReachable(a.Spots)
		if !ok {
			worst.none, worst.atS = true, a.TimeS
			break
		}
		if nearest.LeftJ < worst.leftJ {
			worst.atS, worst.leftJ, worst.spot, worst.travel = a.TimeS, nearest.LeftJ, t.care.spots[nearest.Spot].Name, nearest.TravelS
		}
	}
	f.landed = worst
	return worst
}

func (t *Take) tellLanding(m *moment, a *Assessment) {
	if t.Unsolved != nil || len(t.care.spots) == 0 {
		return
	}
	l := t.landedIn(m.flown)
	const basis = "wind triangle and momentum theory; the ground between is not looked at"
	n := &a.Numbers.Safety
	switch {
	case l.err != nil:
		a.add(t.timely(Unknown, TopicSafety, "reach of emergency landing spots", "unknown", "", basis, l.err.Error()))
	case l.none:
		f := t.timely(Caution, TopicSafety, "reach of emergency landing spots", "none is reached", "one at every moment", basis, "mark a nearer landing spot, launch nearer, or wait for less wind")
		at := l.atS
		f.AtS = &at
		a.add(f)
	default:
		n.LandingSpot, n.LandingS = l.spot, known(l.travel)
		if full := t.delivered(m.flown); full > 0 {
			n.LandingLeftPct = known(100 * l.leftJ / full)
		}
	}
	if !m.flown.windKnown {
		a.add(t.timely(Unknown, TopicSafety, "reach of emergency landing spots", "still air taken", "", basis, "enter wind in the forecast"))
	}
}

// reserve is the share of the packs' energy left after landing from the takes that one pack is
// planned for; ok is false where it is not known.
func (t *Take) reserve(f *flown) (share float64, ok bool) {
	full := t.delivered(f)
	if f.err != nil || f.packErr != nil || !(full > 0) || !f.windKnown {
		return 0, false
	}
	takes := math.Max(1, float64(min(f.takes, t.takesWanted())))
	used := f.transit.EnergyJ + takes*f.take.EnergyJ + (takes-1)*t.between(f)
	return (full - used) / full, true
}

// delivered is what the weakest pack set gives in all, reserve included, in joules.
func (t *Take) delivered(f *flown) float64 {
	for _, p := range f.packs {
		if p.err == nil && p.pack.Name == f.pack {
			return float64(max(1, t.airframe.PacksFitted)) * p.budget.DeliveredJ
		}
	}
	return 0
}

// between is the energy from one take's end to the next one's start.
func (t *Take) between(f *flown) float64 {
	return f.reset.EnergyJ + f.take.MeanW*float64(t.shoot.House.TakeGap)
}
