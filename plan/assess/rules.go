package assess

import (
	"maps"
	"math"
	"time"

	"fieldfare/model/air"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// factsAt adds to the take's facts what the hour decides, as far as the rules that the hour can
// break look at it.
func (t *Take) factsAt(m *moment) rule.Facts {
	facts := make(rule.Facts, len(t.facts)+16)
	maps.Copy(facts, t.facts)
	t.hourFacts(m, facts, t.asks)
	return facts
}

// hourFacts adds to facts what the hour decides of those that are asked for.
func (t *Take) hourFacts(m *moment, facts rule.Facts, asks map[string]bool) {
	put := func(quantity string, v rule.Value) {
		if asks[quantity] {
			facts[quantity] = v
		}
	}
	put("sun_altitude", rule.Of(float64(m.sun.Altitude)))
	night, civil := twilight(m)
	put("night", rule.Is(night))
	put("civil_twilight", rule.Is(civil))
	if v := m.weather.VisibilityM; v.Known {
		put("visibility", rule.Of(v.Value))
		if asks["line_of_sight_share"] {
			if limit, detection := t.sightLimit(v.Value); t.care.watched && limit > 0 && !math.IsNaN(detection) {
				put("line_of_sight_share", rule.Of(t.care.watchM/limit))
			}
		}
	}
	if c := m.weather.CloudOktas; c.Known && c.Value == 0 {
		put("sky_clear", rule.Is(true))
	}
	if w := float64(t.airframe.Wind); w > 0 && m.flown.windKnown {
		put("wind_share", rule.Of(m.flown.windMS/w))
		put("gust_share", rule.Of(m.flown.gustMS/w))
	}
	if m.flown.airKnown {
		put("temperature", rule.Of(m.flown.temperatureK))
	}
	if asks["sunward_angle"] {
		put("sunward_angle", rule.Of(math.Pi))
		if least, _, ok := t.glare(m); ok {
			put("sunward_angle", rule.Of(least))
		}
	}
	if t.Unsolved != nil {
		return
	}
	if m.flown.windKnown && asks["airspeed"] {
		top := 0.0
		for i := range t.samples {
			top = math.Max(top, t.samples[i].Air.Sub(m.flown.wind).Norm())
		}
		put("airspeed", rule.Of(top))
	}
	if asks["battery_reserve"] {
		if share, ok := t.reserve(m.flown); ok {
			put("battery_reserve", rule.Of(share))
		}
	}
	if asks["impact_energy"] && m.flown.windKnown {
		if f := t.fallIn(m.flown); f.err == nil {
			put("impact_energy", rule.Of(f.hardJ))
		}
	}
	if asks["controlled_airspace"] || asks["out_of_bounds_airspace"] {
		t.areaFacts(m, facts)
	}
	if asks["permissions_held"] {
		from, to := t.span(m)
		put("permissions_held", t.held(from, to))
	}
}

// twilight tells night and civil twilight by the sun's altitude without refraction.
func twilight(m *moment) (night, civil bool) {
	geometric := m.sun.AirlessAltitude.Deg()
	return geometric < -6, geometric >= -6 && geometric < -0.8333
}

// Facts returns what rules, hazards and checklists ask of the take at an instant.
func (t *Take) Facts(at time.Time) rule.Facts {
	m := t.moment(at)
	facts := t.factsAt(m)
	if t.Unsolved == nil {
		t.areaFacts(m, facts)
		from, to := t.span(m)
		facts["permissions_held"] = t.held(from, to)
		if f := t.fallIn(m.flown); f.err == nil && m.flown.windKnown {
			facts["impact_energy"] = rule.Of(f.hardJ)
		}
		if share, ok := t.reserve(m.flown); ok {
			facts["battery_reserve"] = rule.Of(share)
		}
		if least, _, ok := t.glare(m); ok {
			facts["sunward_angle"] = rule.Of(least)
		}
	}
	return facts
}

// changing are the facts that the hour decides for every take; some takes have more.
var changing = map[string]bool{"sun_altitude": true, "night": true, "civil_twilight": true, "visibility": true,
	"line_of_sight_share": true, "sky_clear": true, "wind_share": true, "gust_share": true, "temperature": true,
	"sunward_angle": true, "airspeed": true, "battery_reserve": true, "impact_energy": true}

// everyHour are those of them that cost little: they are known of every hour, asked for or not.
var everyHour = map[string]bool{"sun_altitude": true, "night": true, "civil_twilight": true, "visibility": true,
	"line_of_sight_share": true, "sky_clear": true, "wind_share": true, "gust_share": true, "temperature": true}

// ofLink are the facts of one radio link: rules that look at them are judged for each.
var ofLink = map[string]bool{"radiated_power": true, "radio_frequency": true, "power_control": true}

// rules judges once every rule that the hour cannot change, and keeps the others.
func (t *Take) rules() {
	if t.Unsolved != nil {
		return
	}
	t.places()
	changes, still := maps.Clone(changing), t.facts
	if t.care.areasChange = t.areasChange(); t.care.areasChange {
		changes["controlled_airspace"], changes["out_of_bounds_airspace"] = true, true
	} else {
		t.areaFacts(t.moment(t.noon()), still)
	}
	if t.permitsChange() {
		changes["permissions_held"] = true
	} else {
		still["permissions_held"] = t.held(t.noon(), t.noon())
	}
	for _, p := range t.shoot.Profiles() {
		links, others := p.Split(ofLink)
		t.linkRules(links, still)
		moving, fixed := others.Split(changes)
		t.hourly = append(t.hourly, moving)
		for q := range changes {
			t.asks[q] = t.asks[q] || moving.Uses(q)
		}
		for i := range moving.Rules {
			t.asks["permissions_held"] = t.asks["permissions_held"] || moving.Rules[i].Permit != ""
		}
		t.ruled(fixed, still, "")
	}
	t.care.glareRuled = t.asks["sunward_angle"]
	t.stops = stopsOf(t.hourly, still, changes)
}

// stops are the rules of which a breach at some hour bars the take, with all that they look at.
type stops struct {
	rules []*rule.Profile
	still rule.Facts      // those that no hour changes
	asks  map[string]bool // and those that it does
	// slow: all that is asked stays as it is for as long as a skyKey does.
	slow bool
}

// skyKey is what of an hour decides the facts that change with weather and twilight alone.
type skyKey struct {
	flown             *flown
	visibility, cloud air.Reading
	night, civil      bool
}

// verdict is what the rules that stop say under one sky.
type verdict struct {
	key    skyKey
	broken bool
}

// slowly are the facts that a skyKey decides.
var slowly = map[string]bool{"night": true, "civil_twilight": true, "visibility": true, "line_of_sight_share": true, "sky_clear": true,
	"wind_share": true, "gust_share": true, "temperature": true, "airspeed": true, "battery_reserve": true, "impact_energy": true}

func stopsOf(hourly []*rule.Profile, still rule.Facts, changes map[string]bool) (s stops) {
	s.still, s.asks = rule.Facts{}, map[string]bool{}
	ask := func(quantity string) {
		if v, ok := still[quantity]; ok {
			s.still[quantity] = v
		}
		s.asks[quantity] = changes[quantity]
	}
	for _, p := range hourly {
		stopping := p.Stopping()
		if len(stopping.Rules) == 0 {
			continue
		}
		s.rules = append(s.rules, stopping)
		for _, quantity := range stopping.Quantities() {
			ask(quantity)
		}
	}
	s.slow = true
	for quantity, asked := range s.asks {
		s.slow = s.slow && (!asked || slowly[quantity])
	}
	return s
}

// broken reports whether a rule that stops is broken.
func (t *Take) broken(m *moment) bool {
	if len(t.stops.rules) == 0 {
		return false
	}
	if !t.stops.slow {
		return t.breach(m)
	}
	night, civil := twilight(m)
	key := skyKey{m.flown, m.weather.VisibilityM, m.weather.CloudOktas, night, civil}
	last := t.verdict.Load()
	if last == nil || last.key != key {
		last = &verdict{key, t.breach(m)}
		t.verdict.Store(last)
	}
	return last.broken
}

func (t *Take) breach(m *moment) bool {
	if m.facts == nil {
		m.facts = rule.Facts{}
	}
	clear(m.facts)
	maps.Copy(m.facts, t.stops.still)
	t.hourFacts(m, m.facts, t.stops.asks)
	for _, p := range t.stops.rules {
		if rule.AnyStop(p, m.facts) {
			return true
		}
	}
	return false
}

// noon of the first day stands for every hour where no hour differs from another.
func (t *Take) noon() time.Time {
	return t.shoot.Dates[0].Midnight(t.Zone()).Add(12 * time.Hour)
}

func (t *Take) ruled(p *rule.Profile, facts rule.Facts, of string) {
	for _, r := range rule.Evaluate(p, facts) {
		if s, ok := severityOf(r); ok {
			t.find(s, TopicRules, r.What+of, r.Value, r.Limit, r.Basis, mendOf(r))
		}
	}
}

// linkRules judges rules about radio for every link of the rig.
func (t *Take) linkRules(p *rule.Profile, facts rule.Facts) {
	if len(p.Rules) == 0 {
		return
	}
	set := t.shoot.Kit().Radio(t.Rig.Radio)
	if set == nil {
		t.ruled(p, facts, "")
		return
	}
	for i := range set.Links {
		l := &set.Links[i]
		own := maps.Clone(facts)
		own["radio_frequency"], own["radiated_power"] = rule.Of(float64(l.Frequency)), rule.Of(eirp(l))
		t.ruled(p, own, " ("+l.Use+" link)")
	}
}

// severityOf is the severity of a rule's finding; ok is false for one that is met.
func severityOf(r rule.Result) (s Severity, ok bool) {
	switch r.Outcome {
	case rule.Broken:
		return Severity(r.Severity), true
	case rule.Unknown:
		return Unknown, true
	}
	return "", false
}

func (t *Take) tellRules(m *moment, a *Assessment) {
	facts := t.factsAt(m)
	for _, p := range t.hourly {
		for _, r := range rule.Evaluate(p, facts) {
			if s, ok := severityOf(r); ok {
				a.add(t.timely(s, TopicRules, r.What, r.Value, r.Limit, r.Basis, mendOf(r)))
			}
		}
	}
}

// Rules returns the outcome of every rule of the shoot's profiles for the take at an instant, those
// that are met too.
func (t *Take) Rules(at time.Time) (all []rule.Result) {
	facts := t.Facts(at)
	set := t.shoot.Kit().Radio(t.Rig.Radio)
	for _, p := range t.shoot.Profiles() {
		links, others := p.Split(ofLink)
		all = append(all, rule.Evaluate(others, facts)...)
		if len(links.Rules) == 0 {
			continue
		}
		if set == nil {
			set = &shoot.Radio{Links: []shoot.Link{{}}}
		}
		for i := range set.Links {
			l, own := &set.Links[i], maps.Clone(facts)
			use := ""
			if l.Frequency > 0 {
				own["radio_frequency"], own["radiated_power"] = rule.Of(float64(l.Frequency)), rule.Of(eirp(l))
				use = " (" + l.Use + " link)"
			}
			for _, r := range rule.Evaluate(links, own) {
				r.What += use
				all = append(all, r)
			}
		}
	}
	return all
}

// ruleGate shuts when a rule that stops is broken at the hour. Its words are tellRules'.
func (t *Take) ruleGate() gate {
	return gate{name: "rules", quiet: true,
		shut: t.broken,
		tell: func(m *moment) Finding {
			facts := t.factsAt(m)
			for _, p := range t.hourly {
				for _, r := range rule.Evaluate(p, facts) {
					if r.Outcome == rule.Broken && r.Severity == rule.Stop {
						return t.timely(Stop, TopicRules, r.What, r.Value, r.Limit, r.Basis, mendOf(r))
					}
				}
			}
			return t.timely(Unknown, TopicRules, "rules", "unknown", "", "rule profiles", "")
		}}
}
