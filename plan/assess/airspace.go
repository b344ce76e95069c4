package assess

import (
	"fmt"
	"math"
	"time"

	"fieldfare/model/airspace"
	"fieldfare/model/geo"
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
	told  bool                // a finding that no hour changes stands for it
	edgeS float64             // of a permitted area: first moment at which the volume reaches out of it; NaN never

	byQNH map[float64][2][]airspace.Crossing // by altimeter setting: enter, path
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
	wide := reach
	wide.HorizontalM += t.care.bufferM
	near := bounds(path, wide.HorizontalM)
	for _, f := range areas {
		if f.Zone != nil && !touch(near, f.Zone.Polygon.Bounds()) {
			continue
		}
		if f.Zone == nil {
			t.find(Unknown, TopicSafety, "area "+describe(f), "unknown", "", basisAreas, "draw it anew")
			continue
		}
		enter, err := f.Zone.Crossings(path, reach, setting)
		if err == nil && len(enter) == 0 {
			t.fallInto(f, path, wide, setting)
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
	t.care.permits = t.permits()
	if t.care.areasKnown {
		t.fixedAreas()
	} else {
		t.find(Unknown, TopicSafety, "airspace", "no areas entered", "", basisAreas, "draw the areas that matter, with their status, as kind area, or name files of them under airspace:")
	}
}

// bounds of a path, grown.
func bounds(path []airspace.Point, by float64) geo.Bounds {
	b := geo.Bounds{MinX: math.Inf(1), MinY: math.Inf(1), MaxX: math.Inf(-1), MaxY: math.Inf(-1)}
	for _, p := range path {
		b.MinX, b.MinY = math.Min(b.MinX, p.Pos.X-by), math.Min(b.MinY, p.Pos.Y-by)
		b.MaxX, b.MaxY = math.Max(b.MaxX, p.Pos.X+by), math.Max(b.MaxY, p.Pos.Y+by)
	}
	return b
}

func touch(a, b geo.Bounds) bool {
	return a.MinX <= b.MaxX && b.MinX <= a.MaxX && a.MinY <= b.MaxY && b.MinY <= a.MaxY
}

// fallInto tells of an area that only the ground risk buffer reaches, where the area begins at the ground.
func (t *Take) fallInto(f *shoot.Feature, path []airspace.Point, wide airspace.Reach, setting airspace.Setting) {
	if f.Zone.Status == airspace.Permitted || f.Zone.Floor != airspace.Ground {
		return
	}
	found, err := f.Zone.Crossings(path, wide, setting)
	if err != nil || len(found) == 0 {
		return
	}
	t.findAt(found[0].FromS, Caution, TopicSafety, fmt.Sprintf("area %s (%s)", describe(f), f.Zone.Status), "reached by the ground risk buffer", "outside", basisAreas+"; buffer 1:1", "lower the path or move it away, so that a fall stays outside")
}

// ways tells of areas that the straight ways between launch spot and take, or the way home without a
// link, would enter: the take itself stays outside, so another way will do.
func (t *Take) ways() {
	first, last := t.Path.Samples[0].Pos, t.Path.Samples[len(t.Path.Samples)-1].Pos
	high := math.Max(t.launch.Z, math.Max(first.Z, last.Z)) + 5 // as the flight model has it
	up := func(p geo.Vec3) geo.Vec3 { return geo.Vec3{X: p.X, Y: p.Y, Z: high} }
	routes := []struct {
		what string
		line []geo.Vec3
	}{{"the straight way to the first mark", []geo.Vec3{t.launch, up(t.launch), up(first), first}}, {"the straight way back", []geo.Vec3{last, up(last), up(t.launch), t.launch}}}
	for _, m := range t.sparse(6) {
		if home, ok := t.HomeRoute(m.Pos); ok {
			routes = append(routes, struct {
				what string
				line []geo.Vec3
			}{"the lost-link route", append(home, t.launch)})
		}
	}
	entered := map[*shoot.Feature]bool{}
	for i := range t.care.met {
		entered[t.care.met[i].area] = true
	}
	told := map[string]bool{}
	setting := airspace.Setting{Ground: t.shoot.Ground()}
	for _, r := range routes {
		path := make([]airspace.Point, len(r.line))
		for i, p := range r.line {
			path[i] = airspace.Point{TimeS: float64(i), Pos: p}
		}
		near := bounds(path, t.care.geographyM)
		for _, f := range t.shoot.Areas() {
			if f.Zone == nil || f.Zone.Status == airspace.Permitted || entered[f] || told[r.what+f.Name] || !touch(near, f.Zone.Polygon.Bounds()) {
				continue
			}
			found, err := f.Zone.Crossings(path, airspace.Reach{HorizontalM: t.care.geographyM}, setting)
			if err == nil && len(found) == 0 {
				continue
			}
			told[r.what+f.Name] = true
			value := "entered by " + r.what
			if len(f.Zone.Valid) > 0 {
				value += ", at hours at which it is active"
			}
			t.find(Caution, TopicSafety, fmt.Sprintf("area %s (%s)", describe(f), f.Zone.Status), value, "outside", basisAreas, "fly around it, launch elsewhere, or set another lost-link height")
		}
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

// fixedAreas finds what no hour changes.
func (t *Take) fixedAreas() {
	c := &t.care
	for i := range c.met {
		x := &c.met[i]
		if len(x.area.Zone.Valid) > 0 || x.pres {
			continue
		}
		for _, k := range x.enter {
			if k.Possible || x.told {
				continue
			}
			if x.area.Zone.Status == airspace.OutOfBounds {
				x.told = true
				t.findAt(k.FromS, Stop, TopicSafety, x.words(), "entered by the path or its contingency volume", "outside", basisAreas, "move the path away")
			} else if !t.everOpened(x.area.Name) {
				x.told = true
				t.findAt(k.FromS, Stop, TopicSafety, x.words(), "entered without a granted permission", "permission", basisAreas, "ask for it and enter it under permissions:, or move the path away")
			}
		}
	}
	if !c.permits {
		return
	}
	var inside []airspace.Crossing
	for i := range c.permitted {
		x := &c.permitted[i]
		x.edgeS = t.leaves(x.area.Zone)
		inside = append(inside, x.path...) // those that are only possible too: the hour decides them
	}
	if at := gap(inside, t.Path.DurationS()); !math.IsNaN(at) {
		c.left = true
		t.findAt(at, Stop, TopicSafety, "permitted area", "left, or its ceiling passed", "inside throughout", basisAreas, "keep the path inside the permitted area and under its ceiling")
	}
}

func (x *met) words() string {
	return fmt.Sprintf("area %s (%s)", describe(x.area), x.area.Zone.Status)
}

// crossings are an area's under the moment's altimeter setting: by the contingency volume, by the path.
func (t *Take) crossings(x *met, m *moment) (enter, path []airspace.Crossing) {
	if !x.pres || !m.weather.QNHPa.Known {
		return x.enter, x.path
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	q := m.weather.QNHPa.Value
	if found, ok := x.byQNH[q]; ok {
		return found[0], found[1]
	}
	setting := airspace.Setting{Ground: t.shoot.Ground(), QNHPa: q}
	enter, err := x.area.Zone.Crossings(t.points(), t.reach(), setting)
	if err == nil {
		path, err = x.area.Zone.Crossings(t.points(), airspace.Reach{}, setting)
	}
	if err != nil {
		enter, path = x.enter, x.path
	}
	if x.byQNH == nil {
		x.byQNH = map[float64][2][]airspace.Crossing{}
	}
	x.byQNH[q] = [2][]airspace.Crossing{enter, path}
	return enter, path
}

// span is a sortie with one take: the way out, the take and the way back.
func (t *Take) span(m *moment) (from, to time.Time) {
	s := t.Path.DurationS()
	if m.flown.err == nil {
		s += m.flown.transit.DurationS
	}
	return m.at, m.at.Add(time.Duration(s * float64(time.Second)))
}

// space is what the hour makes of the areas.
type space struct {
	closed, controlled *met    // first area of each kind that is entered
	maybe              *met    // first that is entered if an unknown height says so
	barred             *met    // first that bars the take at this hour and not at every one
	at                 float64 // when
	maybeS             float64 // likewise
	outside            float64 // first moment outside every permitted area; NaN never
	edge               float64 // first moment at which the contingency volume leaves them; NaN never
	mayLeave           bool    // whether outside hangs on a height that is not known
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
		enter, _ := t.crossings(x, m)
		for _, c := range enter {
			if c.Possible {
				if s.maybe == nil {
					s.maybe, s.maybeS = x, c.FromS
				}
				continue
			}
			denied := true
			if x.area.Zone.Status == airspace.OutOfBounds {
				s.closed = x
			} else {
				s.controlled = x
				denied = !t.opened(x.area.Name, from, to)
			}
			if denied && !x.told && s.barred == nil {
				s.barred, s.at = x, c.FromS
			}
		}
	}
	if !t.care.permits || t.care.left {
		return s
	}
	var inside []airspace.Crossing
	for i := range t.care.permitted {
		x := &t.care.permitted[i]
		if !x.area.Zone.Active(from, to) || !t.stillOpen(x.area.Name, from, to) {
			continue
		}
		_, path := t.crossings(x, m)
		for _, c := range path {
			s.mayLeave = s.mayLeave || c.Possible
			if !c.Possible {
				inside = append(inside, c)
			}
		}
	}
	s.outside = gap(inside, t.Path.DurationS())
	s.edge = t.edgeAt(from, to)
	return s
}

// edgeAt is the latest first moment at which the contingency volume leaves an open permitted area,
// NaN when one of them holds it throughout or none is open.
func (t *Take) edgeAt(from, to time.Time) float64 {
	edge := math.NaN()
	for i := range t.care.permitted {
		x := &t.care.permitted[i]
		if !x.area.Zone.Active(from, to) || !t.stillOpen(x.area.Name, from, to) {
			continue
		}
		if math.IsNaN(x.edgeS) {
			return math.NaN()
		}
		if math.IsNaN(edge) || x.edgeS > edge {
			edge = x.edgeS
		}
	}
	return edge
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

// leaves is the first moment at which the contingency volume reaches out of a permitted area, NaN for
// never. Areas side by side are looked at one by one, so it errs toward leaving.
func (t *Take) leaves(z *airspace.Zone) float64 {
	reach := t.reach()
	for _, m := range t.sparse(areaMoments / 4) {
		if !z.Polygon.Contains(m.Pos.XY()) || z.Polygon.BoundaryDistance(m.Pos.XY()) < reach.HorizontalM {
			return m.TimeS
		}
		if z.Ceil.Unlimited || z.Ceil.Reference == airspace.FlightLevel {
			continue
		}
		height := m.Pos.Z
		if z.Ceil.Reference == airspace.AboveGround {
			g, known := t.shoot.Ground().HeightAt(m.Pos.X, m.Pos.Y)
			if !known {
				return m.TimeS
			}
			height -= g
		}
		if height+reach.UpM > z.Ceil.HeightM {
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
			if !t.care.areasKnown || !t.care.areasChange {
				return false
			}
			s := t.spaceAt(m)
			return s.barred != nil || !math.IsNaN(s.outside) && !s.mayLeave
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

// areasChange says whether the hour can change what the areas mean.
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
		if p := &t.shoot.Permissions[i]; p.Area == area && (p.Starts != nil || p.Ends != nil) {
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
		f.AtS, f.Timely = &at, t.care.areasChange
		a.add(f)
	}
	s := t.spaceAt(m)
	if x := s.barred; x != nil {
		if x.area.Zone.Status == airspace.OutOfBounds {
			add(s.at, Stop, x.words(), "entered by the path or its contingency volume while it is active", "outside", "choose another hour, or move the path away")
		} else {
			add(s.at, Stop, x.words(), "entered without a permission that is granted and holds at this time", "permission", "choose another hour, have the permission widened, or move the path away")
		}
	}
	unknown := "extend the elevation grid, or enter the pressure in the forecast"
	if s.maybe != nil {
		add(s.maybeS, Unknown, s.maybe.words(), "unknown whether the volume enters it", "outside", unknown)
	}
	switch {
	case !math.IsNaN(s.outside) && s.mayLeave:
		add(s.outside, Unknown, "permitted area", "unknown whether the path stays inside", "inside throughout", unknown)
	case !math.IsNaN(s.outside):
		add(s.outside, Stop, "permitted area", t.whyOutside(m), "inside throughout, while its permission holds", "choose an hour at which it is open, or have the permission extended")
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
