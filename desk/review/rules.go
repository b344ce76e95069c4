package review

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fieldfare/desk/track"
	"fieldfare/model/geo"
	"fieldfare/plan/assess"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// Rulebook judges the moments of a flight by the rules that its plan was judged by.
type Rulebook struct {
	Limits []string                // what its rules limit, as "height above ground": then a limit is given
	Judge  func(*Moment) []Verdict // the rules that the moment does not meet
}

// Moment is one fix as rules see it. A nil number is not known.
type Moment struct {
	At                          time.Time
	Pos                         geo.Vec3
	SpeedMS                     float64
	AboveGroundM, AboveTakeOffM *float64
	PeopleM                     *float64 // level distance to people who take no part
}

// Verdict is what a rule that is not met says of a moment.
type Verdict struct {
	Rule                      string // profile and rule
	Severity                  string // stop, caution or unknown
	What, Value, Limit, Basis string
	Mend                      string
	Missing                   []string // facts without which it is unknown
	Of, Unit                  string   // the measured number that Worst is one of
	Worst                     float64
	Least                     bool // the smaller the worse
}

// measures are the quantities of rules that a recording can tell of a moment.
var measures = []struct {
	name, of, unit string
	least          bool
	value          func(*Moment) *float64
}{
	{"height_above_ground", "height above ground", "m", false, func(m *Moment) *float64 { return m.AboveGroundM }},
	{"height_above_takeoff", "height above take-off", "m", false, func(m *Moment) *float64 { return m.AboveTakeOffM }},
	{"ground_speed", "speed over ground", "m/s", false, func(m *Moment) *float64 { return &m.SpeedMS }},
	{"distance_to_uninvolved", "distance to people", "m", true, func(m *Moment) *float64 { return m.PeopleM }},
	{"distance_to_uninvolved_share", "distance to people", "m", true, func(m *Moment) *float64 { return m.PeopleM }},
}

// ofPlan are facts that the plan settles for its own path. A flown moment has them only where the
// recording and the site tell them; what the crew states of the plan is not what was flown.
var ofPlan = []string{"height_above_ground", "height_above_takeoff", "ground_speed", "airspeed", "distance_to_uninvolved", "distance_to_uninvolved_share",
	"over_people", "over_assembly", "over_moving_vehicles", "distance_to_crew", "distance_to_performers", "distance_to_assembly", "distance_to_built_up",
	"distance_to_pilot", "line_of_sight", "line_of_sight_share", "terrain_clearance", "obstacle_clearance", "sunward_angle", "impact_energy", "people_density",
	"ground_risk_class", "buffer_clear_of_people", "controlled_airspace", "out_of_bounds_airspace", "wires_near", "water_below", "battery_reserve",
	"distance_to_structure", "height_of_structure", "height_above_structure", "lost_link_clearance"}

// rulebook is that of a shoot: each moment takes what papers and hour say from the plan's own facts of
// the take next in time, and what position and speed say from the recording.
func rulebook(a *assess.Assessor, takes []Take) *Rulebook {
	type one struct {
		profile *rule.Profile
		of      int // into measures
	}
	var rules []one
	b := &Rulebook{}
	for _, p := range a.Shoot.Profiles() {
		for i := range p.Rules {
			alone := *p
			alone.Rules = p.Rules[i : i+1]
			for k, m := range measures {
				if alone.Uses(m.name) {
					rules = append(rules, one{&alone, k})
					if !slices.Contains(b.Limits, m.of) {
						b.Limits = append(b.Limits, m.of)
					}
					break
				}
			}
		}
	}
	structures := structuresOf(a.Shoot)
	var facts rule.Facts
	var minute time.Time
	var of string
	b.Judge = func(m *Moment) (out []Verdict) {
		if slate, now := nextIn(takes, m.At), m.At.Truncate(time.Minute); facts == nil || slate != of || !now.Equal(minute) {
			facts, of, minute = rule.Facts{}, slate, now
			if t := a.Take(slate); t != nil {
				facts = t.Facts(now)
			}
			for _, n := range ofPlan {
				delete(facts, n)
			}
		}
		m.put(facts)
		for _, r := range rules {
			v, met := judge(r.profile, facts, m, structures)
			if met {
				continue
			}
			x := measures[r.of]
			v.Of, v.Unit, v.Least = x.of, x.unit, x.least
			if n := x.value(m); n != nil {
				v.Worst = *n
			}
			out = append(out, v)
		}
		return out
	}
	return b
}

// nextIn is the slate of the take next in time.
func nextIn(takes []Take, at time.Time) (slate string) {
	best := time.Duration(math.MaxInt64)
	for i := range takes {
		cue := takes[i].Cue
		if d := at.Sub(cue).Abs(); d < best || slate == "" {
			best, slate = d, takes[i].Slate
		}
	}
	return slate
}

// put writes what is known of the moment into the facts, and takes out what is not.
func (m *Moment) put(facts rule.Facts) {
	set := func(name string, v *float64) {
		if v == nil {
			delete(facts, name)
			return
		}
		facts[name] = rule.Of(*v)
	}
	set("height_above_ground", m.AboveGroundM)
	set("height_above_takeoff", m.AboveTakeOffM)
	set("ground_speed", &m.SpeedMS)
	set("distance_to_uninvolved", m.PeopleM)
	delete(facts, "distance_to_uninvolved_share")
	delete(facts, "over_people")
	delete(facts, "over_assembly")
	if m.PeopleM == nil {
		return
	}
	facts["over_people"] = rule.Is(*m.PeopleM == 0)
	if *m.PeopleM > 0 {
		facts["over_assembly"] = rule.Is(false) // nobody at all is below
	}
	if m.AboveGroundM != nil {
		share := rule.Nowhere
		if *m.AboveGroundM > 1 {
			share = *m.PeopleM / *m.AboveGroundM
		}
		facts["distance_to_uninvolved_share"] = rule.Of(share)
	}
}

// structure is what may be flown around, with its height known.
type structure struct {
	feature       *shoot.Feature
	heightM, topZ float64
}

func structuresOf(s *shoot.Shoot) (all []structure) {
	for i := range s.Features() {
		f := &s.Features()[i]
		switch f.Kind {
		case shoot.Building, shoot.Mast, shoot.Bridge:
		default:
			continue
		}
		if !f.OnGround || f.HeightM <= 0 {
			continue
		}
		ground := math.Inf(-1)
		for _, p := range f.Places {
			ground = math.Max(ground, p.Z)
		}
		all = append(all, structure{f, f.HeightM, ground + f.HeightM})
	}
	return all
}

var ofStructure = []string{"distance_to_structure", "height_of_structure", "height_above_structure"}

// judge judges one rule. A rule that speaks of the structure flown around is met if it is met for any one
// structure of the site.
func judge(p *rule.Profile, facts rule.Facts, m *Moment, structures []structure) (v Verdict, met bool) {
	try := func() (Verdict, bool) {
		r := &p.Rules[0]
		if holds, known := r.Holds(facts); known && holds {
			return Verdict{}, true
		}
		out := rule.Evaluate(p, facts)[0]
		v := Verdict{Rule: out.Profile + " " + out.Rule, Severity: string(out.Severity), What: out.What, Value: out.Value, Limit: out.Limit, Basis: out.Basis, Mend: out.Mend, Missing: out.Missing}
		switch out.Outcome {
		case rule.Broken:
			return v, false
		case rule.Unknown:
			v.Severity = "unknown"
			return v, false
		}
		return v, true
	}
	if !p.Uses(ofStructure...) || len(structures) == 0 || m.AboveGroundM == nil {
		return try()
	}
	defer func() {
		for _, n := range ofStructure {
			delete(facts, n)
		}
	}()
	least := math.Inf(1)
	for i := range structures {
		s := &structures[i]
		d := s.feature.Distance(m.Pos)
		facts["distance_to_structure"], facts["height_of_structure"], facts["height_above_structure"] = rule.Of(d), rule.Of(s.heightM), rule.Of(math.Max(0, m.Pos.Z-s.topZ))
		got, ok := try()
		if ok {
			return got, true
		}
		if d < least {
			least, v = d, got
		}
	}
	return v, false
}

// judged goes through the flight by the rulebook: spans in which a rule was broken are events, and what
// cannot be told is unknown.
func (r *Report) judged(f *Flight) {
	if f.Rules == nil {
		return
	}
	type running struct {
		first     Verdict
		events    []Event
		worst     int // into events
		values    []string
		open      bool
		unknown   int
		missing   []string
		severity  string
		unknownAt time.Time
	}
	all := map[string]*running{}
	var order []string
	takeOff, started := 0.0, false
	for i := range f.Fixes {
		x := &f.Fixes[i]
		m := Moment{At: x.at(), Pos: x.Pos, SpeedMS: x.Vel.Norm()}
		if x.Has&track.Height != 0 {
			if !started {
				takeOff, started = x.Pos.Z, true
			}
			up := x.Pos.Z - takeOff
			m.AboveTakeOffM = &up
			if f.Ground != nil {
				if z, ok := f.Ground.HeightAt(x.Pos.X, x.Pos.Y); ok {
					h := x.Pos.Z - z
					m.AboveGroundM = &h
				}
			}
		}
		if f.People != nil {
			if d, ok := f.People(x.Pos, m.At); ok {
				m.PeopleM = &d
			}
		}
		seen := map[string]bool{}
		for _, v := range f.Rules.Judge(&m) {
			k := all[v.Rule]
			if k == nil {
				k = &running{first: v}
				all[v.Rule] = k
				order = append(order, v.Rule)
			}
			if v.Severity == "unknown" {
				if k.unknown++; k.unknown == 1 {
					k.unknownAt = m.At
				}
				for _, n := range v.Missing {
					if !slices.Contains(k.missing, n) {
						k.missing = append(k.missing, n)
					}
				}
				continue
			}
			seen[v.Rule] = true
			k.severity = v.Severity
			if !k.open || x.broken {
				k.events = append(k.events, Event{What: v.What, From: m.At, LimitText: v.Limit, Basis: v.Basis, Unit: v.Unit, Worst: v.Worst, least: v.Least})
				k.values = append(k.values, v.Value)
				k.open = true
			}
			last := len(k.events) - 1
			e := &k.events[last]
			e.To = m.At
			if worse(v.Worst, e.Worst, v.Least) {
				e.Worst, k.values[last] = v.Worst, v.Value
			}
			if worse(e.Worst, k.events[k.worst].Worst, v.Least) {
				k.worst = last
			}
		}
		for _, k := range all {
			k.open = k.open && seen[k.first.Rule]
		}
	}
	for _, name := range order {
		k := all[name]
		r.Events = append(r.Events, k.events...)
		if len(k.events) > 0 {
			e := k.events[k.worst]
			r.find(Finding{Severity: k.severity, What: fmt.Sprintf("%s: broken %s, worst from %s for %.1f s", k.first.What, times(len(k.events)), e.From.Format("15:04:05Z"), e.To.Sub(e.From).Seconds()),
				Value: k.values[k.worst], Limit: k.first.Limit, Basis: k.first.Basis, Mend: "find out why before the next flight; consider an incident entry"})
		}
		if k.unknown > 0 {
			slices.Sort(k.missing)
			r.find(Finding{Severity: "unknown", What: fmt.Sprintf("%s: whether it was kept is not known for %d of %d fixes, first at %s", k.first.What, k.unknown, len(f.Fixes), k.unknownAt.Format("15:04:05Z")),
				Value: "no fact for " + strings.ReplaceAll(strings.Join(k.missing, ", "), "_", " "), Limit: k.first.Limit, Basis: k.first.Basis, Mend: "record it, or enter it in the shoot file or the site's features"})
		}
	}
}

func worse(a, b float64, least bool) bool {
	if least {
		return a < b
	}
	return a > b
}
