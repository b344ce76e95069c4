package assess

import (
	"math"
	"time"

	"fieldfare/model/air"
	"fieldfare/model/exposure"
	"fieldfare/model/unit"
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
	t.tellBalance(m, filtersOf(card), &a)
	t.tellReach(m, &a)
	t.tellSight(m, &a)
	t.tellAreas(m, &a)
	t.tellPermits(m, &a)
	t.tellFalls(m, &a)
	t.tellLanding(m, &a)
	t.tellRules(m, &a)
	Sort(a.Findings)
	return a
}

func (a *Assessment) add(f Finding) { a.Findings = append(a.Findings, f) }

func (t *Take) tellLight(m *moment, a *Assessment) {
	n := &a.Numbers.Light
	moon := t.around.almanac.Moon(m.instant)
	n.SunAltitudeDeg, n.SunAzimuthDeg = m.sun.Altitude.Deg(), m.sun.Azimuth.Deg()
	n.MoonAltitudeDeg, n.MoonIlluminated = moon.Altitude.Deg(), m.instant.MoonPhase().IlluminatedFraction
	n.Shaded, n.Condition = m.shaded, string(m.class)
	fromAxis := t.fromAxis(m) * 180 / math.Pi
	n.SunFromCameraDeg, n.SunFromAxisDeg = m.fromCamera*180/math.Pi, fromAxis
	n.SunInFrame = m.inFrame && !m.behindTerrain()
	if m.skylineKnown {
		n.SkylineDeg = known(m.skyline.Deg())
	}
	if s, ok := m.sun.Shadow(); ok {
		n.ShadowRatio = known(s.LengthRatio)
	}
	if !math.IsNaN(m.shadowAt) && !m.shaded {
		n.OwnShadowInFrame, n.OwnShadowAtS = true, known(m.shadowAt)
		if spot, away, ok := t.ownShadow(m.shadowAt, m.sun.Direction()); ok {
			at := t.shoot.Frame().ToLatLon(spot)
			n.OwnShadowLatDeg, n.OwnShadowLonDeg, n.OwnShadowAwayM = known(at.Lat.Deg()), known(at.Lon.Deg()), known(away)
		}
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
	if m.sunUp && !m.behindTerrain() && fromAxis < flareCone && !m.inFrame {
		a.add(t.timely(Caution, TopicLight, "sun near the lens axis", degrees(fromAxis), degrees(flareCone), practice, "hood the lens, turn a little, or expect flare"))
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
		t.tellGlass(m, card, a)
		t.tellDrift(m, card, a)
		n.Alternatives = t.alternatives(m)
	}
	t.tellCard(m, card, failed, a)
}
