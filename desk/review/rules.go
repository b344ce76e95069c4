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
	Limits   []string                // what its rules limit, as "height above ground": then a limit is given
	Watching []string                // where those who watch are taken to stand, if a rule asks about sight
	Left     []string                // rules about the flight that no recording can tell
	Judge    func(*Moment) []Verdict // the rules that the moment does not meet
}

// Moment is one fix as rules see it. A nil number is not known.
type Moment struct {
	At                          time.Time
	Pos                         geo.Vec3
	High                        bool      // Pos.Z is known
	Before                      *geo.Vec3 // the fix before; nil at the first, and after a gap
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
	Enter                     []string // what would tell them
	Of, Unit                  string   // the measured number that Worst is one of
	Worst                     float64
	Least                     bool // the smaller the worse
	Plain                     bool // a yes or no, or a share: Value says more than Worst
}

type measure struct {
	name, of, unit string
	least          bool
	number         func(rule.Facts, *assess.Told) *float64
}

// measures are the quantities of rules that a recording can tell of a moment, by the number that says how
// badly a rule about them is broken; those without a number of their own are after those with one.
var measures = []measure{
	{"height_above_ground", "height above ground", "m", false, fact("height_above_ground")},
	{"height_above_takeoff", "height above take-off", "m", false, fact("height_above_takeoff")},
	{"ground_speed", "speed over ground", "m/s", false, fact("ground_speed")},
	{"distance_to_uninvolved", "distance to people", "m", true, fact("distance_to_uninvolved")},
	{"distance_to_uninvolved_share", "distance to people", "m", true, fact("distance_to_uninvolved")},
	{"distance_to_pilot", "distance from the pilot", "m", false, fact("distance_to_pilot")},
	{"line_of_sight_share", "share of the line-of-sight limit", "", false, fact("line_of_sight_share")},
	{"distance_to_crew", "distance to cast and crew", "m", true, fact("distance_to_crew")},
	{"distance_to_performers", "distance to stunt performers", "m", true, fact("distance_to_performers")},
	{"distance_to_assembly", "distance to an assembly", "m", true, fact("distance_to_assembly")},
	{"distance_to_built_up", "distance to built-up areas", "m", true, fact("distance_to_built_up")},
	{"line_of_sight", "distance from the pilot", "m", false, fact("distance_to_pilot")},
	{"controlled_airspace", "distance inside the border", "m", false, inside},
	{"out_of_bounds_airspace", "distance inside the border", "m", false, inside},
	{"over_people", "distance to people", "m", true, fact("distance_to_uninvolved")},
	{"over_assembly", "distance to people", "m", true, fact("distance_to_uninvolved")},
	{"over_moving_vehicles", "height above ground", "m", true, fact("height_above_ground")},
	{"buffer_clear_of_people", "distance to people", "m", true, fact("distance_to_uninvolved")},
}

func fact(name string) func(rule.Facts, *assess.Told) *float64 {
	return func(facts rule.Facts, _ *assess.Told) *float64 {
		v, ok := facts[name].Number()
		if !ok {
			return nil
		}
		return &v
	}
}

func inside(_ rule.Facts, told *assess.Told) *float64 { return told.InsideM }

// sight are the quantities that hang on where the crew stands.
var sight = []string{"distance_to_pilot", "line_of_sight", "line_of_sight_share"}

// ofPlan are facts that the plan settles for its own path. A flown moment has them only where the
// recording and the site tell them; what the crew states of the plan is not what was flown.
var ofPlan = []string{"height_above_ground", "height_above_takeoff", "ground_speed", "airspeed", "distance_to_uninvolved", "distance_to_uninvolved_share",
	"over_people", "over_assembly", "over_moving_vehicles", "distance_to_crew", "distance_to_performers", "distance_to_assembly", "distance_to_built_up",
	"distance_to_pilot", "line_of_sight", "line_of_sight_share", "terrain_clearance", "obstacle_clearance", "sunward_angle", "impact_energy", "people_density",
	"ground_risk_class", "buffer_clear_of_people", "controlled_airspace", "out_of_bounds_airspace", "wires_near", "water_below", "battery_reserve",
	"distance_to_structure", "height_of_structure", "height_above_structure", "lost_link_clearance"}

// rulebook is that of a shoot: each moment takes what papers and hour say from the plan's own facts of
// the take next in time, and what position and speed say from the recording and the site.
func rulebook(a *assess.Assessor, takes []Take) *Rulebook {
	type one struct {
		profile *rule.Profile
		of      int // into measures
		plain   bool
	}
	var rules []one
	b := &Rulebook{}
	for _, p := range a.Shoot.Profiles() {
		for i := range p.Rules {
			alone := *p
			alone.Rules = p.Rules[i : i+1]
			k := slices.IndexFunc(measures, func(m measure) bool { return alone.Uses(m.name) })
			if k < 0 {
				if alone.Uses(ofPlan...) && !slices.Contains(b.Left, alone.Rules[0].Title) {
					b.Left = append(b.Left, alone.Rules[0].Title)
				}
				continue
			}
			yesNo := rule.Quantities[measures[k].name].Kind == rule.YesNo
			rules = append(rules, one{&alone, k, yesNo || measures[k].unit == ""})
			if !yesNo && !slices.Contains(b.Limits, measures[k].of) {
				b.Limits = append(b.Limits, measures[k].of)
			}
			if alone.Uses(sight...) && b.Watching == nil {
				for _, x := range takes {
					if at := a.Take(x.Slate).Watching(); !slices.Contains(b.Watching, at) {
						b.Watching = append(b.Watching, at)
					}
				}
			}
		}
	}
	structures := structuresOf(a.Shoot)
	var facts rule.Facts
	var minute time.Time
	var of string
	b.Judge = func(m *Moment) (out []Verdict) {
		slate, now := nextIn(takes, m.At), m.At.Truncate(time.Minute)
		t := a.Take(slate)
		if facts == nil || slate != of || !now.Equal(minute) {
			facts, of, minute = rule.Facts{}, slate, now
			if t != nil {
				facts = t.Facts(now)
			}
			for _, n := range ofPlan {
				delete(facts, n)
			}
		}
		m.put(facts)
		var told assess.Told
		if t != nil {
			told = t.FlownFacts(&assess.Aloft{At: m.At, Pos: m.Pos, High: m.High, Before: m.Before, SpeedMS: m.SpeedMS}, facts)
		}
		for _, r := range rules {
			v, met := judge(r.profile, facts, m, structures)
			if met {
				continue
			}
			x := measures[r.of]
			v.Of, v.Unit, v.Least, v.Plain = x.of, x.unit, x.least, r.plain
			if n := x.number(facts, &told); n != nil {
				v.Worst = *n
			}
			for _, n := range r.profile.Quantities() {
				if d := told.Detail[n]; d != "" && v.Severity != "unknown" {
					v.Value += " (" + d + ")"
				}
			}
			for _, n := range v.Missing {
				v.Enter = append(v.Enter, m.entry(n, t != nil, &told))
			}
			out = append(out, v)
		}
		return out
	}
	return b
}

// entry names what would tell a fact of the moment.
func (m *Moment) entry(fact string, planned bool, told *assess.Told) string {
	switch {
	case told.Missing[fact] != "":
		return told.Missing[fact]
	case strings.HasPrefix(fact, "height_above_ground") || strings.HasPrefix(fact, "height_above_takeoff"):
		if !m.High {
			return "record heights"
		}
		return "extend the elevation grid under the flight"
	case slices.Contains(ofStructure, fact):
		return "draw what was flown around, with its height, among the site's features"
	case !planned:
		return "log the sortie's takes, with slates of this shoot"
	case slices.Contains(ofPlan, fact):
		return "nothing in the folder tells it of a flight"
	}
	return assess.Supply(fact)
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
		enter     []string
		severity  string
		unknownAt time.Time
	}
	all := map[string]*running{}
	var order []string
	takeOff, started, gap := 0.0, false, newTimeline(f.Fixes).gap
	for i := range f.Fixes {
		x := &f.Fixes[i]
		m := Moment{At: x.at(), Pos: x.Pos, High: x.Has&track.Height != 0, SpeedMS: x.Vel.Norm()}
		if i > 0 && !x.broken {
			if b := &f.Fixes[i-1]; x.UnixS-b.UnixS <= gap && (b.Has&track.Height != 0) == m.High {
				m.Before = &b.Pos
			}
		}
		if m.High {
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
				for _, e := range v.Enter {
					if !slices.Contains(k.enter, e) {
						k.enter = append(k.enter, e)
					}
				}
				continue
			}
			seen[v.Rule] = true
			k.severity = v.Severity
			if !k.open || x.broken {
				k.events = append(k.events, Event{What: v.What, From: m.At, LimitText: v.Limit, Basis: v.Basis, Unit: v.Unit, Worst: v.Worst, least: v.Least, plain: v.Plain})
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
		for i := range k.events {
			if e := &k.events[i]; e.plain {
				e.Value = k.values[i]
			}
		}
		r.Events = append(r.Events, k.events...)
		if len(k.events) > 0 {
			e := k.events[k.worst]
			r.find(Finding{Severity: k.severity, What: fmt.Sprintf("%s: broken %s, worst from %s for %.1f s", k.first.What, times(len(k.events)), e.From.Format("15:04:05Z"), e.To.Sub(e.From).Seconds()),
				Value: k.values[k.worst], Limit: k.first.Limit, Basis: k.first.Basis, Mend: "find out why before the next flight; consider an incident entry"})
		}
		if k.unknown > 0 {
			slices.Sort(k.missing)
			r.find(Finding{Severity: "unknown", What: fmt.Sprintf("%s: whether it was kept is not known for %d of %d fixes, first at %s", k.first.What, k.unknown, len(f.Fixes), k.unknownAt.Format("15:04:05Z")),
				Value: "no fact for " + strings.ReplaceAll(strings.Join(k.missing, ", "), "_", " "), Limit: k.first.Limit, Basis: k.first.Basis, Mend: strings.Join(k.enter, "; ")})
		}
	}
	if at := f.Rules.Watching; len(at) > 0 {
		r.find(Finding{Severity: "note", What: "sight is judged from where the plan has the crew stand (" + strings.Join(at, "; ") + ")", Value: "not recorded"})
	}
	if left := f.Rules.Left; len(left) > 0 {
		r.find(Finding{Severity: "unknown", What: "rules about the flight that no recording tells: " + strings.Join(left, "; "), Value: "not judged"})
	}
}

func worse(a, b float64, least bool) bool {
	if least {
		return a < b
	}
	return a > b
}
