package assess

import (
	"fmt"
	"math"
	"time"

	"fieldfare/model/airspace"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// areaMoments along a path that are held against areas.
const areaMoments = 200

const basisAreas = "site features and airspace files, three-dimensional crossing"

// met is an area that the path or its contingency volume enters at some time of the take.
type met struct {
	area  *shoot.Feature
	enter []airspace.Crossing // by the contingency volume, at any altimeter setting
	path  []airspace.Crossing // by the path itself
	pres  bool                // hangs on the altimeter setting
}

// reach is how far from the path the flight geography and contingency volume go.
func (t *Take) reach() airspace.Reach {
	c := &t.care
	return airspace.Reach{HorizontalM: c.geographyM + c.contingencyM, UpM: c.geographyM + c.riseM, DownM: c.geographyM + c.riseM}
}

func (t *Take) points() (path []airspace.Point) {
	for _, m := range t.sparse(areaMoments) {
		path = append(path, airspace.Point{TimeS: m.TimeS, Pos: m.Pos})
	}
	return path
}

// airspace finds the areas that the take meets. What an area means hangs on the hour: its times,
// the permission's times, the altimeter setting.
func (t *Take) airspace() {
	path, reach := t.points(), t.reach()
	setting := airspace.Setting{Ground: t.shoot.Ground()}
	areas := t.shoot.Areas()
	for _, f := range areas {
		if f.Zone == nil {
			t.find(Unknown, TopicSafety, "area "+describe(f), "unknown", "", basisAreas, "draw it anew")
			continue
		}
		enter, err := f.Zone.Crossings(path, reach, setting)
		if err == nil && len(enter) == 0 {
			continue
		}
		m := met{area: f, enter: enter, pres: f.Zone.Floor.Reference == airspace.FlightLevel || f.Zone.Ceil.Reference == airspace.FlightLevel && !f.Zone.Ceil.Unlimited}
		if err == nil {
			m.path, err = f.Zone.Crossings(path, airspace.Reach{}, setting)
		}
		if err != nil {
			t.find(Unknown, TopicSafety, "area "+describe(f), "unknown", "", basisAreas, err.Error())
			continue
		}
		if f.Zone.Status == airspace.Permitted {
			t.care.permitted = append(t.care.permitted, m)
		} else {
			t.care.met = append(t.care.met, m)
		}
	}
	t.care.areasKnown = len(areas) > 0
	if !t.care.areasKnown {
		t.find(Unknown, TopicSafety, "airspace", "no areas entered", "", basisAreas, "draw the areas that matter, with their status, as kind area, or name files of them under airspace:")
	}
}

// permits reports whether the shoot names areas in which flight is permitted: then the take
// must stay inside them.
func (t *Take) permits() bool {
	for _, f := range t.shoot.Areas() {
		if f.Status == airspace.Permitted.String() {
			return true
		}
	}
	return false
}

// entries are an area's crossings under the moment's altimeter setting.
func (t *Take) entries(x *met, m *moment, reach airspace.Reach, still []airspace.Crossing) []airspace.Crossing {
	if !x.pres || !m.weather.QNHPa.Known {
		return still
	}
	found, err := x.area.Zone.Crossings(t.points(), reach, airspace.Setting{Ground: t.shoot.Ground(), QNHPa: m.weather.QNHPa.Value})
	if err != nil {
		return still
	}
	return found
}

// takesFor is how long a sortie for this take lasts: the way out, the takes and the way back.
func (t *Take) span(m *moment) (from, to time.Time) {
	s := t.Path.DurationS()
	if m.flown.err == nil {
		s += m.flown.transit.DurationS
	}
	return m.at, m.at.Add(time.Duration(s * float64(time.Second)))
}

// space is what the hour makes of the areas.
type space struct {
	closed, controlled, maybe *airspace.Crossing // first entry of each kind
	closedIn, in, maybeIn     *met
	denied                    *met // first area that is entered without a permission that holds
	deniedAt                  float64
	outside                   float64 // first moment outside every permitted area; NaN never
	edge                      float64 // first moment at which the contingency volume leaves them; NaN never
	mayLeave                  bool    // whether outside or edge hang on a height that is not known
}

func (t *Take) spaceAt(m *moment) space {
	s := space{outside: math.NaN(), edge: math.NaN()}
	if t.Unsolved != nil {
		return s
	}
	from, to := t.span(m)
	for i := range t.care.met {
		x := &t.care.met[i]
		if !x.area.Zone.Active(from, to) {
			continue
		}
		for _, c := range t.entries(x, m, t.reach(), x.enter) {
			switch {
			case c.Possible:
				if s.maybe == nil {
					s.maybe, s.maybeIn = &c, x
				}
			case x.area.Zone.Status == airspace.OutOfBounds:
				if s.closed == nil {
					s.closed, s.closedIn = &c, x
				}
			default:
				if s.controlled == nil {
					s.controlled, s.in = &c, x
				}
				if s.denied == nil && !t.opened(x.area.Name, from, to) {
					s.denied, s.deniedAt = x, c.FromS
				}
			}
		}
	}
	if !t.permits() {
		return s
	}
	var inside, whole []airspace.Crossing
	for i := range t.care.permitted {
		x := &t.care.permitted[i]
		if !x.area.Zone.Active(from, to) || !t.stillOpen(x.area.Name, from, to) {
			continue
		}
		for _, c := range t.entries(x, m, airspace.Reach{}, x.path) {
			s.mayLeave = s.mayLeave || c.Possible
			if !c.Possible {
				inside = append(inside, c)
			}
		}
		whole = append(whole, x.path...)
	}
	s.outside = gap(inside, t.Path.DurationS())
	if math.IsNaN(s.outside) {
		s.edge = t.leaves(whole)
	}
	return s
}

// gap is the first moment from 0 to the end that no crossing covers, NaN where they cover all.
func gap(covered []airspace.Crossing, endS float64) float64 {
	const slack = 0.05
	at := 0.0
	for moved := true; moved; {
		moved = false
		for _, c := range covered {
			if c.FromS <= at+slack && c.ToS > at {
				at, moved = c.ToS, true
			}
		}
	}
	if at >= endS-slack {
		return math.NaN()
	}
	return at
}

// leaves is the first moment at which the contingency volume reaches out of the permitted area that
// the path is in, NaN for never. With several areas side by side only the outer border of the
// one that the moment lies in counts, so it errs toward leaving.
func (t *Take) leaves(_ []airspace.Crossing) float64 {
	reach := t.reach()
	for _, m := range t.sparse(areaMoments / 4) {
		ok := false
		for i := range t.care.permitted {
			z := t.care.permitted[i].area.Zone
			if !z.Polygon.Contains(m.Pos.XY()) || z.Polygon.BoundaryDistance(m.Pos.XY()) < reach.HorizontalM {
				continue
			}
			if z.Ceil.Unlimited {
				ok = true
				continue
			}
			height := m.Pos.Z
			if z.Ceil.Reference == airspace.AboveGround {
				g, known := t.shoot.Ground().HeightAt(m.Pos.X, m.Pos.Y)
				if !known {
					continue
				}
				height -= g
			}
			ok = ok || height+reach.UpM <= z.Ceil.HeightM
		}
		if !ok {
			return m.TimeS
		}
	}
	return math.NaN()
}

// areaGate shuts while an area bars the take: out of bounds, without a permission that holds, or
// outside every permitted one.
func (t *Take) areaGate() gate {
	return gate{name: "airspace and permissions", quiet: true,
		shut: func(m *moment) bool {
			if !t.care.areasKnown {
				return false
			}
			s := t.spaceAt(m)
			return s.closed != nil || s.denied != nil || !math.IsNaN(s.outside) && !s.mayLeave
		},
		tell: func(m *moment) Finding {
			a := Assessment{}
			t.tellAreas(m, &a)
			Sort(a.Findings)
			if len(a.Findings) > 0 {
				return a.Findings[0]
			}
			return t.timely(Unknown, TopicSafety, "airspace", "unknown", "", basisAreas, "")
		}}
}

// hourly says whether the hour can change what the areas mean.
func (t *Take) areasChange() bool {
	for _, list := range [][]met{t.care.met, t.care.permitted} {
		for i := range list {
			if z := list[i].area.Zone; len(z.Valid) > 0 || list[i].pres || t.named(list[i].area.Name) {
				return true
			}
		}
	}
	return false
}

// named reports whether a permission with times speaks of the area.
func (t *Take) named(area string) bool {
	for i := range t.shoot.Permissions {
		if p := &t.shoot.Permissions[i]; (p.Area == area || p.Area == "") && (p.Starts != nil || p.Ends != nil) {
			return true
		}
	}
	return false
}

func (t *Take) tellAreas(m *moment, a *Assessment) {
	if t.Unsolved != nil || !t.care.areasKnown {
		return
	}
	add := func(at float64, s Severity, what, value, limit, mend string) {
		f := t.timely(s, TopicSafety, what, value, limit, basisAreas, mend)
		f.AtS, f.Timely = &at, t.areasChange()
		a.add(f)
	}
	s := t.spaceAt(m)
	name := func(x *met) string { return fmt.Sprintf("area %s (%s)", describe(x.area), x.area.Zone.Status) }
	if s.closed != nil {
		add(s.closed.FromS, Stop, name(s.closedIn), "entered by the path or its contingency volume", "outside", "move the path away")
	}
	if s.denied != nil {
		add(s.deniedAt, Stop, name(s.denied), "entered without a permission that is granted and holds at this time", "permission", "ask for it and enter it under permissions:, choose another hour, or move the path away")
	}
	if s.maybe != nil {
		mend := "extend the elevation grid"
		if s.maybeIn.pres {
			mend = "enter the pressure in the forecast"
		}
		add(s.maybe.FromS, Unknown, name(s.maybeIn), "unknown whether the volume enters it", "outside", mend)
	}
	switch {
	case !math.IsNaN(s.outside) && s.mayLeave:
		add(s.outside, Unknown, "permitted area", "unknown whether the path stays inside", "inside throughout", "extend the elevation grid, or enter the pressure in the forecast")
	case !math.IsNaN(s.outside):
		add(s.outside, Stop, "permitted area", t.whyOutside(m), "inside throughout, while its permission holds", "keep the path inside the permitted area, under its ceiling and within its times")
	case !math.IsNaN(s.edge):
		add(s.edge, Caution, "permitted area", "the contingency volume reaches out of it", "inside throughout", "keep the path farther from its border and ceiling")
	}
}

// whyOutside tells a path that leaves the area from a permission that does not hold.
func (t *Take) whyOutside(m *moment) string {
	from, to := t.span(m)
	for i := range t.care.permitted {
		x := &t.care.permitted[i]
		if math.IsNaN(gap(x.path, t.Path.DurationS())) {
			if !x.area.Zone.Active(from, to) {
				return describe(x.area) + " is not active at this time"
			}
			if !t.stillOpen(x.area.Name, from, to) {
				return "the permission for " + describe(x.area) + " does not hold at this time"
			}
		}
	}
	return "left, or its ceiling passed"
}

// areaFacts are what rules ask of the areas.
func (t *Take) areaFacts(m *moment, facts rule.Facts) {
	if t.Unsolved != nil || !t.care.areasKnown {
		return
	}
	s := t.spaceAt(m)
	unsure := s.maybe != nil
	if s.controlled != nil {
		facts["controlled_airspace"] = rule.Is(true)
	} else if !unsure {
		facts["controlled_airspace"] = rule.Is(false)
	}
	if s.closed != nil {
		facts["out_of_bounds_airspace"] = rule.Is(true)
	} else if !unsure {
		facts["out_of_bounds_airspace"] = rule.Is(false)
	}
}
