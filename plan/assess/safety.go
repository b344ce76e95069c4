package assess

import (
	"errors"
	"fmt"
	"math"

	"fieldfare/model/airspace"
	"fieldfare/model/geo"
	"fieldfare/model/radio"
	"fieldfare/model/risk"
	"fieldfare/model/terrain"
	"fieldfare/model/unit"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

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

// stopPitch is the pitch at which the aircraft is taken to brake (SORA 2.5 annex A allows at most 45).
const stopPitch = 30 * unit.Degree

// fallDragM2 per square metre of an aircraft's square outline: the greatest drag area that a fall is
// followed with (common practice, no source).
const fallDragShare = 0.4

// safety looks at people, sight, volumes and areas.
func (t *Take) safety() {
	if t.Unsolved != nil {
		return
	}
	n := &t.numbers.Safety
	facts := t.facts
	t.toPeople(n, facts)
	t.inSight(n, facts)
	t.volumes(n, facts)
	t.areas(facts)
	t.kitFacts(facts)
	t.lostLink(n, facts)
}

func (t *Take) toPeople(n *SafetyNumbers, facts rule.Facts) {
	people := peopleOf(t.shoot)
	facts["height_above_ground"] = rule.Of(t.numbers.Move.HighestM)
	facts["height_above_takeoff"] = rule.Of(t.highest() - t.launch.Z)
	facts["ground_speed"] = rule.Of(t.numbers.Move.TopSpeedMS)
	if len(people) == 0 {
		t.find(Unknown, TopicSafety, "people outside the crew", "none entered", "", "site features", "mark where people may be, with kind people")
		return
	}
	nearest, share := math.Inf(1), math.Inf(1)
	for i := range t.Path.Samples {
		p := t.Path.Samples[i].Pos
		z, _ := t.shoot.Ground().HeightAt(p.X, p.Y)
		for _, f := range people {
			d := f.Distance(p)
			if d < nearest {
				nearest, n.Nearest = d, describe(f)
			}
			if h := p.Z - z; h > 1 {
				share = math.Min(share, d/h)
			}
		}
	}
	n.PeopleM = known(nearest)
	facts["distance_to_uninvolved"] = rule.Of(nearest)
	facts["over_people"] = rule.Is(nearest == 0)
	if !math.IsInf(share, 1) {
		facts["distance_to_uninvolved_share"] = rule.Of(share)
	}
	if limit := float64(t.shoot.House.PeopleDistance); limit == 0 {
		t.find(Unknown, TopicSafety, "distance to people", metres(nearest), "unknown", "house rule", "add people_distance: to house:")
	} else if nearest < limit {
		t.find(Stop, TopicSafety, "level distance to people ("+n.Nearest+")", metres(nearest), metres(limit), "house rule", "move the path away from "+n.Nearest)
	}
	t.shootSet(facts)
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
	nearest := math.Inf(1)
	for i := range t.shoot.Features() {
		f := &t.shoot.Features()[i]
		if f.Kind != shoot.Set {
			continue
		}
		for j := range t.Path.Samples {
			p := t.Path.Samples[j].Pos
			up := 0.0
			if len(f.Places) > 0 {
				up = p.Z - f.Places[0].Z
			}
			nearest = math.Min(nearest, math.Hypot(f.Distance(p), up))
		}
	}
	if !math.IsInf(nearest, 1) {
		facts["distance_to_crew"] = rule.Of(nearest)
	}
}

// sightStepM is how finely lines of sight are sampled where buildings are looked at.
const sightStepM = 5.0

func (t *Take) inSight(n *SafetyNumbers, facts rule.Facts) {
	ground := t.shoot.Ground()
	sees, sure := true, true
	for _, m := range t.sparse(60) {
		d := m.Pos.Sub(t.pilot).Norm()
		n.PilotM = math.Max(n.PilotM, d)
		s := ground.LineOfSight(t.pilot, m.Pos, terrain.RefractionLight)
		sure = sure && s.Known
		clear := s.Clear && !t.blocked(t.pilot, m.Pos)
		if !clear && sees {
			t.findAt(m.TimeS, Stop, TopicSafety, "pilot's line of sight to the aircraft", "blocked by terrain or an obstacle", "clear throughout", practice, "stand the pilot elsewhere (pilot_at:), add an observer, or move the path")
			sees = false
		}
	}
	if !sure {
		t.find(Unknown, TopicSafety, "pilot's line of sight", "unknown", "clear throughout", "elevation grid", "extend the grid between pilot and path")
	} else {
		n.PilotSees = &sees
		facts["line_of_sight"] = rule.Is(sees)
	}
	facts["distance_to_pilot"] = rule.Of(n.PilotM)
	size := float64(t.airframe.Size)
	if limit, err := risk.AttitudeLineOfSight(risk.Rotorcraft, size); err == nil {
		n.SightLimitM = known(limit)
		facts["line_of_sight_share"] = rule.Of(n.PilotM / limit)
		if n.PilotM > limit {
			t.find(Stop, TopicSafety, "distance from the pilot", metres(n.PilotM), metres(limit), "attitude line of sight, EASA guidelines on visual line of sight, 2024", "launch nearer or post an observer")
		}
	}
}

// blocked reports whether an opaque obstacle stands on the straight line from a to b.
func (t *Take) blocked(a, b geo.Vec3) bool {
	dir := b.Sub(a)
	length := dir.Norm()
	for _, o := range t.assessor.obstacles {
		if !o.Shape.Opaque() {
			continue
		}
		centre, radius := o.Shape.Bounds()
		if d, _ := geo.PointSegment(centre, a, b); d > radius {
			continue
		}
		for s := sightStepM; s < length; {
			d, _ := o.Shape.Distance(a.Add(dir.Scale(s / length)))
			if d <= 0 {
				return true
			}
			s += math.Max(0.2, d)
		}
	}
	return false
}

func (t *Take) volumes(n *SafetyNumbers, facts rule.Facts) {
	v := risk.Volume{SpeedMS: math.Max(1, t.numbers.Move.TopSpeedMS), GeographyHeightM: math.Max(1, t.numbers.Move.HighestM),
		ReactionS: math.Max(1, float64(t.shoot.House.ReactionTime)), Recovery: risk.StopInAir, PitchOrBank: stopPitch,
		Height: risk.SatelliteNavigation, Allowances: risk.DefaultAllowances()}
	c, err := v.Contingency()
	if err != nil {
		t.find(Unknown, TopicSafety, "contingency volume", "unknown", "", risk.BasisContingencyVolume, err.Error())
		return
	}
	n.ContingencyM = known(c.HorizontalM)
	size := float64(t.airframe.Size)
	buffer, err := risk.OneToOneBuffer(c.HeightM, size)
	if err != nil {
		t.find(Unknown, TopicSafety, "ground risk buffer", "unknown", "", "1:1 rule", err.Error())
		return
	}
	n.BufferM = known(buffer)
	t.numbers.Safety.ContingencyTopM = known(c.HeightM)
	if n.PeopleM != nil {
		free := *n.PeopleM >= c.HorizontalM+buffer
		facts["buffer_clear_of_people"] = rule.Is(free)
		if !free {
			t.find(Caution, TopicSafety, "contingency volume and ground risk buffer to people ("+n.Nearest+")", metres(*n.PeopleM), metres(c.HorizontalM+buffer), risk.BasisContingencyVolume+"; buffer 1:1", "lower the path, fly slower, or clear the people from the buffer")
		}
	}
	t.falls(n, facts)
	if d := float64(t.shoot.Site.People); d > 0 {
		class, err := risk.GroundRiskClass(t.massKg, size, t.numbers.Move.TopSpeedMS, d*1e6)
		if err == nil {
			n.GroundRisk = &class
			facts["people_density"] = rule.Of(d)
		} else {
			t.find(Caution, TopicSafety, "intrinsic ground risk class", "outside the table", "", "SORA 2.5 ground risk table", err.Error())
		}
	} else {
		t.find(Unknown, TopicSafety, "intrinsic ground risk class", "unknown", "", "SORA 2.5 ground risk table", "add people: (people per km2) to site:")
	}
}

// falls follows a dead aircraft from every second of the path, in still air; the day's wind
// adds its drift in the safety case.
func (t *Take) falls(n *SafetyNumbers, facts rule.Facts) {
	density := 1.1
	size := float64(t.airframe.Size)
	far, hard := 0.0, 0.0
	for _, m := range t.sparse(30) {
		f, h, err := risk.WorstFall(t.massKg, fallDragShare*size*size, m.Pos, m.Vel, risk.Air{DensityKgM3: density}, t.shoot.Ground())
		if err != nil {
			reason := err.Error()
			if errors.Is(err, risk.ErrGroundUnknown) {
				reason = "extend the elevation grid"
			}
			t.findAt(m.TimeS, Unknown, TopicSafety, "fall of a dead aircraft", "unknown", "", "numerical fall with drag", reason)
			return
		}
		far, hard = math.Max(far, f.DistanceM), math.Max(hard, h.EnergyJ)
	}
	n.FallM, n.FallEnergyJ = known(far), known(hard)
	facts["impact_energy"] = rule.Of(hard)
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
	observer := false
	for _, p := range t.shoot.Crew {
		for _, r := range p.Roles {
			if r == "observer" && p.Name != t.Rig.Pilot && p.Name != t.Rig.Operator {
				observer = true
			}
		}
	}
	facts["observer"] = rule.Is(observer)
	var held []string
	for _, p := range t.shoot.Permissions {
		if p.Status == "granted" {
			held = append(held, p.What)
			held = append(held, p.Covers...)
		}
	}
	facts["permissions_held"] = rule.Listed(held...)
	if r := float64(t.shoot.House.Reserve); r > 0 {
		facts["battery_reserve"] = rule.Of(r)
	}
}

// areas tests the path, with its contingency volume around it, against the site's areas.
func (t *Take) areas(facts rule.Facts) {
	reach := airspace.Reach{}
	if c := t.numbers.Safety.ContingencyM; c != nil {
		reach.HorizontalM = *c
	}
	var path []airspace.Point
	for _, m := range t.sparse(200) {
		path = append(path, airspace.Point{TimeS: m.TimeS, Pos: m.Pos})
	}
	setting := airspace.Setting{Ground: t.shoot.Ground()}
	controlled, closed := false, false
	permits, inside := 0, false
	for i := range t.shoot.Features() {
		f := &t.shoot.Features()[i]
		if f.Kind != shoot.Area {
			continue
		}
		zone, err := zoneOf(f, t.shoot)
		if err != nil {
			t.find(Unknown, TopicSafety, "area "+describe(f), "unknown", "", "site features", err.Error())
			continue
		}
		if f.Status == "permitted" {
			permits++
			inside = inside || t.within(f, path)
			continue
		}
		crossings, err := zone.Crossings(path, reach, setting)
		if err != nil {
			t.find(Unknown, TopicSafety, "area "+describe(f), "unknown", "", "site features", err.Error())
			continue
		}
		for _, c := range crossings {
			what := fmt.Sprintf("area %s (%s)", describe(f), f.Status)
			switch {
			case c.Possible:
				t.findAt(c.FromS, Unknown, TopicSafety, what, "unknown whether the volume enters it", "outside", "site features", "give the terrain or the altimeter setting")
			case f.Status == "out of bounds":
				closed = true
				t.findAt(c.FromS, Stop, TopicSafety, what, "entered by the path or its contingency volume", "outside", "site features", "move the path away")
			default:
				controlled = true
				if !t.permitted(f.Name) {
					t.findAt(c.FromS, Stop, TopicSafety, what, "entered without a granted permission", "permission", "site features", "ask for it, enter it under permissions:, or move the path away")
				}
			}
		}
	}
	if permits > 0 && !inside {
		t.find(Stop, TopicSafety, "permitted area", "left, or its ceiling passed", "inside throughout", "site features", "keep the path inside the permitted area and under its ceiling")
	}
	if permits == 0 && len(t.shoot.Features()) > 0 {
		t.find(Unknown, TopicSafety, "airspace", "no areas entered", "", "site features", "draw the areas that matter, with their status, as kind area")
	} else {
		facts["controlled_airspace"] = rule.Is(controlled)
		facts["out_of_bounds_airspace"] = rule.Is(closed)
	}
}

// within reports whether every point lies inside the area and between its floor and ceiling.
func (t *Take) within(f *shoot.Feature, path []airspace.Point) bool {
	for _, p := range path {
		if !f.Contains(p.Pos) {
			return false
		}
		height := p.Pos.Z
		if f.Reference == "ground" {
			z, ok := t.shoot.Ground().HeightAt(p.Pos.X, p.Pos.Y)
			if !ok {
				return false
			}
			height -= z
		}
		if height < f.FloorM-0.01 || height > f.CeilingM {
			return false
		}
	}
	return true
}

func (t *Take) permitted(area string) bool {
	for _, p := range t.shoot.Permissions {
		if p.Status == "granted" && (p.Area == "" || p.Area == area) {
			return true
		}
	}
	return false
}

// zoneOf makes a zone of an area drawn on the site.
func zoneOf(f *shoot.Feature, s *shoot.Shoot) (airspace.Zone, error) {
	status, err := airspace.ParseStatus(f.Status)
	if err != nil {
		return airspace.Zone{}, err
	}
	reference := map[string]airspace.Reference{"ground": airspace.AboveGround, "sea": airspace.AboveSea, "flight level": airspace.FlightLevel}[f.Reference]
	a := &airspace.Area{Name: f.Name, Status: status, Source: s.Site.Features,
		Floor: airspace.Level{HeightM: f.FloorM, Reference: reference}, Ceil: airspace.Level{HeightM: f.CeilingM, Reference: reference}}
	if math.IsInf(f.CeilingM, 1) {
		a.Ceil = airspace.Unlimited
	}
	ring := func(r geo.Ring) (all []geo.LatLon) {
		for _, p := range r {
			all = append(all, s.Frame().ToLatLon(p.At(0)))
		}
		return all
	}
	a.Outer = ring(f.Outline.Outer)
	for _, h := range f.Outline.Holes {
		a.Holes = append(a.Holes, ring(h))
	}
	if err := a.Validate(); err != nil {
		return airspace.Zone{}, err
	}
	return a.Place(s.Frame())
}

// lostLinkMarginM is kept above the ground on the way home (common practice, no source).
const lostLinkMarginM = 30.0

func (t *Take) lostLink(n *SafetyNumbers, facts rule.Facts) {
	highest := 0.0
	for _, m := range t.sparse(12) {
		route := risk.ReturnRoute(m.Pos, t.launch, math.Max(m.Pos.Z, t.launch.Z))
		h, err := risk.LostLinkHeight(t.shoot.Ground(), route, lostLinkMarginM, 10, 10)
		if err != nil {
			t.findAt(m.TimeS, Unknown, TopicSafety, "lost-link height", "unknown", "", "elevation grid", err.Error())
			return
		}
		highest = math.Max(highest, h)
	}
	n.LostLinkM = known(highest)
	facts["lost_link_clearance"] = rule.Of(lostLinkMarginM)
}

// radioSamples along a path, radioStepM along each terrain profile.
const (
	radioSamples = 16
	radioStepM   = 15.0
	antennaM     = 2.0 // ground antenna above ground (common practice, no source)
)

// radio works out every link of the rig at its weakest moment.
func (t *Take) radio() {
	set := t.shoot.Kit().Radio(t.Rig.Radio)
	if set == nil {
		t.find(Unknown, TopicRadio, "radio links", "no radio entered for this rig", "", "ITU-R P.525, P.526", "add radio: to the rig")
		return
	}
	if t.Unsolved != nil {
		return
	}
	station := t.launch
	station.Z += antennaM
	var path []radio.Moment
	for _, m := range t.sparse(radioSamples) {
		path = append(path, radio.Moment{TimeS: m.TimeS, Pos: m.Pos})
	}
	for i := range set.Links {
		t.link(&set.Links[i], station, path)
	}
}

func (t *Take) link(l *shoot.Link, station geo.Vec3, path []radio.Moment) {
	budget := radio.Link{FrequencyHz: float64(l.Frequency), PowerW: float64(l.Power), Tx: radio.Antenna{GainDBi: float64(l.AirGain)},
		Rx: radio.Antenna{GainDBi: float64(l.GroundGain)}, BlockingDB: float64(l.Blocking), BandwidthHz: float64(l.Bandwidth),
		NoiseFigureDB: float64(l.NoiseFigure), RequiredSNRDB: float64(l.Required)}
	n := RadioNumbers{Use: l.Use}
	readings, err := budget.Along(t.shoot.Ground(), station, path, radioStepM)
	if err != nil || len(readings) == 0 {
		t.find(Unknown, TopicRadio, l.Use+" link", "unknown", "", "ITU-R P.525, P.526", fmt.Sprint(err))
		t.numbers.Radio = append(t.numbers.Radio, n)
		return
	}
	worst := readings[radio.Weakest(readings)]
	n.MarginDB, n.AtS, n.Clear = known(worst.Budget.MarginDB), known(worst.TimeS), known(worst.FresnelShare)
	t.numbers.Radio = append(t.numbers.Radio, n)
	switch limit := float64(t.shoot.House.LinkMargin); {
	case !worst.TerrainKnown:
		t.findAt(worst.TimeS, Unknown, TopicRadio, l.Use+" link's margin", "at most "+decibels(worst.Budget.MarginDB), "", "ITU-R P.525; terrain unknown", "extend the elevation grid")
	case worst.Budget.MarginDB < 0:
		t.findAt(worst.TimeS, Stop, TopicRadio, l.Use+" link's margin", decibels(worst.Budget.MarginDB), "0 dB", "ITU-R P.525, P.526", "stand the station where it sees the path")
	case limit == 0:
		t.find(Unknown, TopicRadio, l.Use+" link's margin", decibels(worst.Budget.MarginDB), "unknown", "house rule", "add link_margin: to house:")
	case worst.Budget.MarginDB < limit:
		t.findAt(worst.TimeS, Caution, TopicRadio, l.Use+" link's margin", decibels(worst.Budget.MarginDB), decibels(limit), "house rule; ITU-R P.525, P.526", "stand the station where it sees the path, or come nearer")
	}
	switch l.Use {
	case "control":
		t.putFact("link_margin", rule.Of(worst.Budget.MarginDB))
		if !worst.Overhead {
			t.putFact("fresnel_clearance", rule.Of(worst.FresnelShare))
		}
	case "video":
		t.putFact("video_margin", rule.Of(worst.Budget.MarginDB))
	}
}

func (t *Take) putFact(name string, v rule.Value) { t.facts[name] = v }
