package assess

import (
	"fmt"
	"math"
	"time"

	"fieldfare/model/air"
	"fieldfare/model/exposure"
	"fieldfare/model/sky"
	"fieldfare/model/unit"
	"fieldfare/plan/rule"
)

// At assesses the take at an instant: all numbers, and every finding in order of gravity.
func (t *Take) At(at time.Time) Assessment { return t.assess(t.moment(at)) }

func (t *Take) assess(m *moment) Assessment {
	a := Assessment{Slate: t.Slate.Slate, Rig: t.Rig.Name, At: m.at.In(t.Zone()), Numbers: t.numbers}
	a.Findings = append(a.Findings, t.still...)
	for i := range t.gates {
		if g := &t.gates[i]; !g.quiet && g.shut(m) {
			a.Findings = append(a.Findings, g.tell(m))
		}
	}
	card, err := t.card(m)
	t.tellLight(m, &a)
	t.tellWeather(m, &a)
	t.tellFlight(m, &a)
	t.tellPicture(m, card, err, &a)
	t.tellRules(m, &a)
	Sort(a.Findings)
	return a
}

func (a *Assessment) add(f Finding) { a.Findings = append(a.Findings, f) }

func (t *Take) tellLight(m *moment, a *Assessment) {
	n := &a.Numbers.Light
	moon := t.assessor.almanac.Moon(m.instant)
	n.SunAltitudeDeg, n.SunAzimuthDeg = m.sun.Altitude.Deg(), m.sun.Azimuth.Deg()
	n.MoonAltitudeDeg, n.MoonIlluminated = moon.Altitude.Deg(), m.instant.MoonPhase().IlluminatedFraction
	n.Shaded, n.Condition = m.shaded, string(m.class)
	n.SunFromCameraDeg, n.SunFromAxisDeg = m.fromCamera*180/math.Pi, m.fromAxis*180/math.Pi
	n.SunInFrame = m.inFrame && !m.behindTerrain()
	if m.skylineKnown {
		n.SkylineDeg = known(m.skyline.Deg())
	}
	if s, ok := m.sun.Shadow(); ok {
		n.ShadowRatio = known(s.LengthRatio)
	}
	if !math.IsNaN(m.shadowAt) && !m.shaded {
		n.OwnShadowInFrame, n.OwnShadowAtS = true, known(m.shadowAt)
		a.add(t.timely(Caution, TopicLight, "the aircraft's own shadow", "in the picture at t = "+seconds(m.shadowAt), "outside the picture", "ray from the sun through the aircraft to the terrain", t.dodge(m)))
	}
	if m.daylight.Unknown == "" {
		n.DirectLx, n.SkyLx, n.SubjectLx = known(m.light.DirectLx), known(m.light.SkyLx+m.light.GroundLx), known(m.light.TotalLx())
		if c := m.daylight.Colour(m.light); c.Mix.Known {
			n.CCTK = known(float64(c.Mix.Mid))
		}
	} else {
		a.add(t.timely(Unknown, TopicLight, "light on the subject", "unknown", "", "IES daylight availability", m.daylight.Unknown+"; meter on location"))
	}
	if !m.classKnown {
		a.add(t.timely(Unknown, TopicLight, "sky", "unknown; "+string(m.class)+" assumed", "", "forecast", "enter a forecast with cloud"))
	}
	if !m.skylineKnown {
		a.add(t.timely(Unknown, TopicLight, "terrain toward the sun", "unknown", "", "elevation grid", "extend the grid"))
	} else if near := t.skylineReach(m); m.sunUp && !m.shaded && near < farRidgeM && m.sun.Altitude < lowSun {
		a.add(t.timely(Caution, TopicLight, "terrain toward the sun", "known to "+metres(near), metres(farRidgeM), "elevation grid", "a ridge beyond the grid may hide the low sun: extend the grid"))
	}
	if m.sunUp && !m.behindTerrain() && m.fromAxis*180/math.Pi < flareCone && !m.inFrame {
		a.add(t.timely(Caution, TopicLight, "sun near the lens axis", degrees(m.fromAxis*180/math.Pi), degrees(flareCone), practice, "hood the lens, turn a little, or expect flare"))
	}
}

// A sun lower than lowSun may be hidden by a ridge up to farRidgeM away.
const (
	lowSun    = 12 * unit.Degree
	farRidgeM = 8000.0
)

func (t *Take) skylineReach(m *moment) float64 {
	if len(t.skylines) == 0 {
		return 0
	}
	points := t.skylines[0].Points
	return points[int(float64(m.sun.Azimuth)/(2*math.Pi)*float64(len(points)))%len(points)].KnownM
}

func reading(r air.Reading, scale func(float64) float64) *float64 {
	if !r.Known {
		return nil
	}
	return known(scale(r.Value))
}

func same(v float64) float64 { return v }

func (t *Take) tellWeather(m *moment, a *Assessment) {
	n := &a.Numbers.Weather
	w, f := m.weather, m.flown
	n.Source, n.Rain = w.Source, w.Precipitation.String()
	n.VisibilityM, n.CloudOktas = reading(w.VisibilityM, same), reading(w.CloudOktas, same)
	n.TemperatureC = reading(w.TemperatureK, func(k float64) float64 { return k - 273.15 })
	n.WindFromDeg = reading(w.WindFrom, func(r float64) float64 { return unit.Angle(r).Wrapped().Deg() })
	if f.windKnown {
		n.WindMS, n.GustMS = known(f.windMS), known(f.gustMS)
	}
	unknown := func(what, mend string) {
		a.add(t.timely(Unknown, TopicWeather, what, "unknown", "", "forecast", mend))
	}
	if !m.covered {
		unknown("weather", "the forecast does not cover this time: enter one that does")
		return
	}
	if !f.windKnown {
		unknown("wind", "enter wind in the forecast")
	}
	if !w.VisibilityM.Known {
		unknown("visibility", "enter visibility in the forecast")
	}
	if w.Precipitation == air.AmountUnknown {
		unknown("precipitation", "enter precipitation in the forecast")
	}
	h := t.shoot.House
	if h.Wind == 0 && t.airframe.Wind == 0 {
		unknown("wind limit", "enter wind: for the house or the airframe")
	}
	if limit := limitOf(float64(h.Wind), "house rule", float64(t.airframe.Wind), "maker's limit"); limit.set && f.windKnown && f.windMS > 0.8*limit.value && f.windMS <= limit.value {
		a.add(t.timely(Caution, TopicWeather, "wind at flying height", speed(f.windMS), speed(limit.value), limit.basis, "little is left: watch for gusts"))
	}
}

func (t *Take) tellFlight(m *moment, a *Assessment) {
	n, f := &a.Numbers.Flight, m.flown
	if f.err != nil {
		a.add(t.timely(Unknown, TopicFlight, "power and energy", "unknown", "", "momentum theory", f.err.Error()))
		return
	}
	n.DensityKgM3, n.DensityAltitudeM = known(f.density), known(air.DensityAltitude(f.density))
	n.HoverPowerW, n.TakeEnergyWh, n.TransitEnergyWh = known(f.flight.HoverW()), known(f.take.EnergyJ/3600), known(f.transit.EnergyJ/3600)
	n.TransitS = f.transit.DurationS
	if !math.IsNaN(f.noReturn) {
		n.NoReturnS = known(f.noReturn)
		at := f.noReturn
		warn := t.timely(Stop, TopicFlight, "point of no return", "t = "+seconds(f.noReturn), "after the take's end", "energy along the path against the wind", "launch nearer or shorten the take")
		warn.AtS = &at
		a.add(warn)
	}
	if ratio, ok := f.flight.ThrustToWeight(); ok {
		n.ThrustRatio = known(ratio)
	} else {
		a.add(t.timely(Unknown, TopicFlight, "thrust margin", "unknown", "", "shelf", "enter max_thrust: for the airframe"))
	}
	out := f.flight.RotorOut()
	n.RotorOut = out.Class.String()
	a.add(t.timely(Note, TopicFlight, "one rotor stops", out.Class.String(), "", "statics; no promise", out.Caution))
	if !f.airKnown {
		a.add(t.timely(Unknown, TopicFlight, "air density", "standard atmosphere assumed", "", "ISO 2533", "enter temperature and pressure in the forecast"))
	}
	if f.packErr != nil {
		a.add(t.timely(Unknown, TopicFlight, "energy of the packs", "unknown", "", "shelf", f.packErr.Error()))
		return
	}
	takes := f.takes
	n.UsableEnergyWh, n.TakesPerPack = known(f.usableJ/3600), &takes
	wanted := t.takesWanted()
	if takes >= 1 && takes < wanted {
		a.add(t.timely(Caution, TopicFlight, "takes on one pack", fmt.Sprint(takes), fmt.Sprint(wanted), "momentum theory fitted to the hover; house rule for the reserve", "plan a change of packs between takes"))
	}
	if f.take.VortexS > 0 {
		a.add(t.timely(Caution, TopicFlight, "descent into its own wake", seconds(f.take.VortexS), "0 s", "vortex-ring state, Leishman chapter 2 (from memory)", "descend slower or with forward speed"))
	}
}

// takesWanted is 2 where the slate does not say.
func (t *Take) takesWanted() int {
	if t.Slate.Takes > 0 {
		return t.Slate.Takes
	}
	return 2
}

func (t *Take) tellPicture(m *moment, card *exposure.Card, failed error, a *Assessment) {
	n := &a.Numbers.Picture
	n.Card = card
	if lx, ok := m.subjectLx(); ok {
		if ev, err := t.ev(lx); err == nil {
			n.EV100 = known(ev)
		}
	}
	if card != nil {
		n.NearM, n.FarM, n.CardTakes = known(card.SharpFromM), card.SharpToM, card.TakesLeft
		t.shake(m, card, a)
	}
	t.tellCard(m, card, failed, a)
}

// factsAt adds to the take's facts what the hour decides.
func (t *Take) factsAt(m *moment) rule.Facts {
	facts := make(rule.Facts, len(t.facts)+8)
	for k, v := range t.facts {
		facts[k] = v
	}
	facts["sun_altitude"] = rule.Of(float64(m.sun.Altitude))
	geometric := m.sun.AirlessAltitude.Deg()
	facts["night"] = rule.Is(geometric < -6)
	facts["civil_twilight"] = rule.Is(geometric >= -6 && geometric < -0.8333)
	if m.weather.VisibilityM.Known {
		facts["visibility"] = rule.Of(m.weather.VisibilityM.Value)
	}
	if w := float64(t.airframe.Wind); w > 0 && m.flown.windKnown {
		facts["wind_share"] = rule.Of(m.flown.windMS / w)
		facts["gust_share"] = rule.Of(m.flown.gustMS / w)
	}
	if m.flown.airKnown {
		facts["temperature"] = rule.Of(m.flown.temperatureK)
	}
	if m.sunUp {
		facts["sunward_angle"] = rule.Of(float64(t.glare(m.sun)))
	} else {
		facts["sunward_angle"] = rule.Of(math.Pi)
	}
	return facts
}

// glare is the least angle at the pilot's eye between aircraft and sun.
func (t *Take) glare(sun sky.Position) unit.Angle {
	least := math.Pi
	toSun := sun.Direction()
	for i := range t.looks {
		d := t.looks[i].pos.Sub(t.pilot).Unit()
		least = math.Min(least, math.Acos(math.Max(-1, math.Min(1, d.Dot(toSun)))))
	}
	return unit.Angle(least)
}

// changing are the facts that the hour decides.
var changing = map[string]bool{"sun_altitude": true, "night": true, "civil_twilight": true, "visibility": true,
	"wind_share": true, "gust_share": true, "temperature": true, "sunward_angle": true}

// rules judges once every rule that the hour cannot change, and keeps the others.
func (t *Take) rules() {
	if t.Unsolved != nil {
		return
	}
	for _, p := range t.shoot.Profiles() {
		moving, still := p.Split(changing)
		t.hourly = append(t.hourly, moving)
		for _, r := range rule.Evaluate(still, t.facts) {
			if s, ok := severityOf(r); ok {
				t.find(s, TopicRules, r.What, r.Value, r.Limit, r.Basis, r.Mend)
			}
		}
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
				a.add(t.timely(s, TopicRules, r.What, r.Value, r.Limit, r.Basis, r.Mend))
			}
		}
	}
}

// ruleGate shuts when a rule that stops is broken at the hour. Its words are tellRules'.
func (t *Take) ruleGate() gate {
	return gate{name: "rules", quiet: true,
		shut: func(m *moment) bool {
			facts := t.factsAt(m)
			for _, p := range t.hourly {
				if rule.AnyStop(p, facts) {
					return true
				}
			}
			return false
		},
		tell: func(m *moment) Finding {
			facts := t.factsAt(m)
			for _, p := range t.hourly {
				for _, r := range rule.Evaluate(p, facts) {
					if r.Outcome == rule.Broken && r.Severity == rule.Stop {
						return t.timely(Stop, TopicRules, r.What, r.Value, r.Limit, r.Basis, r.Mend)
					}
				}
			}
			return t.timely(Unknown, TopicRules, "rules", "unknown", "", "rule profiles", "")
		}}
}
