package assess

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fieldfare/model/air"
	"fieldfare/model/exposure"
	"fieldfare/model/geo"
	"fieldfare/model/sky"
	"fieldfare/plan/shoot"
)

// gate is one condition that the hour decides. Shut must be cheap: it is asked for every minute of
// a search. Tell puts the same test into words.
type gate struct {
	name string
	shut func(m *moment) bool
	tell func(m *moment) Finding
	// good is how well an open light gate is met, 0 to 1; nil for gates that are only
	// open or shut.
	good func(m *moment) float64
	// quiet gates find their words elsewhere, in full.
	quiet bool
}

// Gates is the set of gates that are shut, one bit each.
type Gates uint64

// Has reports whether gate i is shut.
func (g Gates) Has(i int) bool { return g&(1<<uint(i)) != 0 }

// Gates names the take's gates in order.
func (t *Take) Gates() []string {
	names := make([]string, len(t.gates))
	for i, g := range t.gates {
		names[i] = g.name
	}
	return names
}

// Shut returns the gates that bar the take at an instant. A stop that no hour changes is not
// among them: see Barred.
func (t *Take) Shut(at time.Time) Gates {
	m := moments.Get().(*moment)
	defer moments.Put(m)
	t.fill(m, at)
	return t.shut(m)
}

func (t *Take) shut(m *moment) (shut Gates) {
	for i := range t.gates {
		if t.gates[i].shut(m) {
			shut |= 1 << uint(i)
		}
	}
	return shut
}

// framed are the light words that ask where the sun stands in the picture.
var framed = []string{"no sun in frame", "sun in frame", "no aircraft shadow in frame"}

// Dark returns the light gates that bar the take at an instant, whatever the weather: what a
// search over many days asks. Bits are those of Shut.
func (t *Take) Dark(at time.Time) Gates {
	m := moments.Get().(*moment)
	defer moments.Put(m)
	t.sky(m, at)
	return t.dark(m)
}

// dark is Dark of a moment whose sun is known; its weather is not looked at.
func (t *Take) dark(m *moment) (shut Gates) {
	if t.framed {
		t.aim(m)
	}
	for i := range t.gates[:t.lights] {
		if t.gates[i].shut(m) {
			shut |= 1 << uint(i)
		}
	}
	return shut
}

// Barred returns the stops that no hour changes.
func (t *Take) Barred() (found []Finding) {
	for _, f := range t.still {
		if f.Severity == Stop {
			found = append(found, f)
		}
	}
	return found
}

// Edge puts the border of a window into words: the gates that were shut just outside it.
func (t *Take) Edge(outside Gates, at time.Time, border, begins bool) string {
	if border {
		return "the search's border"
	}
	if begins {
		at = at.Add(-time.Minute)
	}
	m := t.moment(at)
	var why []string
	for i, g := range t.gates {
		if outside.Has(i) {
			f := g.tell(m)
			text := f.What + " " + f.Value
			if f.Limit != "" {
				text += ", limit " + f.Limit
			}
			if begins {
				text = "until then " + text
			}
			why = append(why, text)
		}
	}
	return strings.Join(why, "; ")
}

// LightQuality is how good the wanted light is at an instant, 0 to 1: the worst of its wishes.
func (t *Take) LightQuality(at time.Time) float64 {
	m := t.moment(at)
	quality := 1.0
	for _, g := range t.gates {
		if g.good != nil {
			quality = math.Min(quality, math.Max(0, math.Min(1, g.good(m))))
		}
	}
	return quality
}

// Unchecked names what could not be checked at an instant.
func (t *Take) Unchecked(at time.Time) (what []string) {
	for _, f := range t.At(at).Findings {
		if f.Severity == Unknown && f.Timely {
			what = append(what, f.What)
		}
	}
	return what
}

// makeGates lists every condition of the slate.
func (t *Take) makeGates() (gates []gate) {
	for _, word := range t.Slate.Light {
		gates = append(gates, t.lightGate(word))
		t.framed = t.framed || slices.Contains(framed, word)
	}
	t.lights = len(gates)
	gates = append(gates, t.weatherGates()...)
	gates = append(gates, t.flightGates()...)
	gates = append(gates, t.windGates()...)
	gates = append(gates, t.timeGates()...)
	gates = append(gates, t.exposureGate(), t.sightGate(), t.areaGate(), t.ruleGate())
	return gates
}

func (t *Take) timely(s Severity, topic Topic, what, value, limit, basis, mend string) Finding {
	return Finding{Severity: s, Slate: t.Slate.Slate, Topic: topic, What: what, Value: value, Limit: limit, Basis: basis, Mend: mend, Timely: true}
}

// Bounds of the light words: common practice, no source, unless said otherwise.
const (
	topFrom          = 35.0        // deg
	longShadowTo     = 20.0        // deg: a shadow 2.7 times the height
	backWithin       = 55.0        // deg between camera azimuth and sun azimuth
	frontBeyond      = 125.0       // deg
	sideFrom, sideTo = 55.0, 125.0 // deg
	flareCone        = 35.0        // deg between lens axis and sun
)

const practice = "common practice, no source"

// band is a light word that is a range of one number, best in the middle.
type band struct {
	what     string
	unit     string
	from, to float64
	best     float64
	of       func(m *moment) (low, high float64) // over the whole take
	direct   bool                                // needs the sun on the subject
	mend     string
}

func solarAltitude(m *moment) (low, high float64) { return m.sun.Altitude.Deg(), m.sun.Altitude.Deg() }

// airlessAltitude is what the hours of the day are named by, here as in the tables.
func airlessAltitude(m *moment) (low, high float64) {
	return m.sun.AirlessAltitude.Deg(), m.sun.AirlessAltitude.Deg()
}

func fromCamera(m *moment) (low, high float64) {
	return m.least * 180 / math.Pi, m.most * 180 / math.Pi
}

var bands = map[string]band{
	"golden hour":        {"solar altitude", "deg", sky.Golden.Low.Deg(), sky.Golden.High.Deg(), 2, airlessAltitude, false, "wait, or drop golden hour"},
	"blue hour":          {"solar altitude", "deg", sky.Blue.Low.Deg(), sky.Blue.High.Deg(), -6, airlessAltitude, false, "wait, or drop blue hour"},
	"top light":          {"solar altitude", "deg", topFrom, 90, 60, solarAltitude, true, "shoot nearer to noon or in a higher season"},
	"long shadows":       {"solar altitude", "deg", 2, longShadowTo, 8, solarAltitude, true, "shoot early or late"},
	"daylight":           {"solar altitude", "deg", 0, 90, 40, solarAltitude, false, "shoot by day"},
	"night":              {"solar altitude", "deg", -90, -6, -18, solarAltitude, false, "shoot after dusk"},
	"back light":         {"sun from the camera's axis", "deg", 0, backWithin, 0, fromCamera, true, "turn the shot toward the sun, or shoot when the sun stands behind the subject"},
	"front light":        {"sun from the camera's axis", "deg", frontBeyond, 180, 180, fromCamera, true, "turn the shot away from the sun, or shoot when the sun stands behind the camera"},
	"side light":         {"sun from the camera's axis", "deg", sideFrom, sideTo, 90, fromCamera, true, "turn the shot across the sun, or shoot at another hour"},
	"three-quarter":      {"sun from the camera's axis", "deg", 100, 165, 135, fromCamera, true, "shoot at another hour"},
	"three-quarter back": {"sun from the camera's axis", "deg", 15, 80, 45, fromCamera, true, "shoot at another hour"},
}

// closeness is 1 at the best value and 0.4 at the far border: still right, less good.
func (b band) closeness(v float64) float64 {
	reach := b.to - b.best
	if v < b.best {
		reach = b.best - b.from
	}
	if reach <= 0 {
		return 1
	}
	return 1 - 0.6*math.Min(1, math.Abs(v-b.best)/reach)
}

// lightGate makes the condition of one light word, looked at over the whole path where the
// camera's direction counts.
func (t *Take) lightGate(word string) gate {
	side := 0.0
	switch word {
	case "side light left":
		word, side = "side light", -1
	case "side light right":
		word, side = "side light", 1
	}
	if b, ok := bands[word]; ok {
		return t.bandGate(word, b, side)
	}
	subject := t.Slate.Subject
	ridge := func(m *moment) string {
		if !m.sunUp {
			return fmt.Sprintf("sun %s below the horizon", degrees1(-m.sun.Altitude.Deg()))
		}
		return fmt.Sprintf("sun at %s, terrain toward it %s", degrees1(m.sun.Altitude.Deg()), degrees1(m.skyline.Deg()))
	}
	switch word {
	case "subject lit":
		return gate{name: word,
			shut: func(m *moment) bool { return m.shaded || m.classKnown && m.class == sky.Overcast },
			tell: func(m *moment) Finding {
				value := ridge(m)
				if !m.shaded {
					value = "sky overcast"
				}
				return t.timely(Stop, TopicLight, "direct sun on "+subject, value, "lit", "terrain skyline; IES sky classes", "wait until the sun clears the terrain or the cloud")
			},
			good: func(m *moment) float64 { return 0.6 + 0.4*math.Min(1, (m.sun.Altitude-m.skyline).Deg()/10) }}
	case "subject shaded":
		return gate{name: word,
			shut: func(m *moment) bool { return !m.wholly },
			tell: func(m *moment) Finding {
				return t.timely(Stop, TopicLight, "direct sun on "+subject, ridge(m), "in shade", "terrain skyline", "wait for the terrain's shadow")
			}}
	case "soft":
		return gate{name: word,
			shut: func(m *moment) bool {
				return !m.sunUp && m.sun.Altitude.Deg() < -6 || !m.wholly && (!m.classKnown || m.class != sky.Overcast)
			},
			tell: func(m *moment) Finding {
				value := "hard sun on the subject"
				if !m.sunUp {
					value = "too dark: " + ridge(m)
				}
				return t.timely(Stop, TopicLight, "soft light", value, "shade or overcast, sun no lower than -6 deg", practice, "shoot while the terrain shades the subject, or under cloud")
			}}
	case "background shaded":
		far := t.Path.At(t.Path.DurationS() / 2)
		behind := far.Pos.Add(t.looks[len(t.looks)/2].axis.Scale(far.FocusM + 400))
		line := t.around.Skyline(groundAt(t, behind))
		return gate{name: word,
			shut: func(m *moment) bool {
				return m.sunUp && m.sun.Altitude >= line.At(m.sun.Azimuth)
			},
			tell: func(m *moment) Finding {
				return t.timely(Stop, TopicLight, "background", "in the sun", "in shade", "terrain skyline 400 m behind the subject", "wait for the terrain's shadow behind the subject")
			}}
	case "no sun in frame":
		return gate{name: word,
			shut: func(m *moment) bool { return m.inFrame && !m.behindTerrain() },
			tell: func(m *moment) Finding {
				return t.timely(Stop, TopicLight, "sun in frame", degrees(t.fromAxis(m)*180/math.Pi)+" from the lens axis", "outside the picture", "projection of the sun's disc", "turn, tilt down or wait")
			}}
	case "sun in frame":
		return gate{name: word,
			shut: func(m *moment) bool { return !m.inFrame || m.behindTerrain() },
			tell: func(m *moment) Finding {
				value := degrees(t.fromAxis(m)*180/math.Pi) + " from the lens axis"
				if m.inFrame {
					value = "behind the terrain"
				}
				return t.timely(Stop, TopicLight, "sun in frame", value, "inside the picture", "projection of the sun's disc; terrain skyline", "turn toward the sun or wait")
			}}
	case "no aircraft shadow in frame":
		return gate{name: word,
			shut: func(m *moment) bool { return !math.IsNaN(m.shadowAt) && !m.shaded },
			tell: func(m *moment) Finding {
				f := t.timely(Stop, TopicLight, "the aircraft's own shadow", "in the picture at t = "+seconds(m.shadowAt), "outside the picture", "ray from the sun through the aircraft to the terrain", t.dodge(m))
				at := m.shadowAt
				f.AtS = &at
				return f
			}}
	}
	return gate{name: word, shut: func(*moment) bool { return false },
		tell: func(*moment) Finding {
			return t.timely(Unknown, TopicLight, word, "unknown", "", "no model", "look on location")
		}}
}

func (m *moment) behindTerrain() bool { return m.skylineKnown && m.sun.Altitude < m.skyline }

func groundAt(t *Take, p geo.Vec3) geo.Vec3 {
	if z, ok := t.shoot.Ground().HeightAt(p.X, p.Y); ok {
		p.Z = z + eyeM
	}
	return p
}

func (t *Take) bandGate(word string, b band, side float64) gate {
	right := func(m *moment) bool { return side == 0 || side > 0 && !m.left || side < 0 && !m.right }
	name := word
	if side < 0 {
		name += " left"
	} else if side > 0 {
		name += " right"
	}
	in := func(m *moment) bool {
		low, high := b.of(m)
		return low >= b.from && high <= b.to
	}
	return gate{name: name,
		shut: func(m *moment) bool {
			return !in(m) || !right(m) || b.direct && (m.shaded || m.classKnown && m.class == sky.Overcast)
		},
		tell: func(m *moment) Finding {
			low, high := b.of(m)
			value := degrees1(low)
			if high-low > 0.5 {
				value += " to " + degrees1(high) + " over the take"
			}
			limit := fmt.Sprintf("%.0f to %.0f %s", b.from, b.to, b.unit)
			switch {
			case !right(m):
				value += ", on the other side"
			case in(m) && m.shaded:
				value, limit = "no direct sun: the terrain hides it or it is down", "sun on the subject"
			case in(m):
				value, limit = "no direct sun: overcast", "sun on the subject"
			}
			return t.timely(Stop, TopicLight, name+": "+b.what, value, limit, practice, b.mend)
		},
		good: func(m *moment) float64 {
			low, high := b.of(m)
			return min(b.closeness(low), b.closeness(high))
		}}
}

// dodge says how the own shadow leaves the picture: wait, turn the shot, or rise until it has no core.
func (t *Take) dodge(m *moment) string {
	var ways []string
	for minutes := 5; minutes <= 240; minutes += 5 {
		later := new(moment)
		t.sky(later, m.at.Add(time.Duration(minutes)*time.Minute))
		t.aim(later)
		if math.IsNaN(later.shadowAt) {
			ways = append(ways, "wait until "+later.at.In(t.Zone()).Format("15:04"))
			break
		}
	}
	if turn, ok := t.turnFrom(m.sun.Direction()); ok {
		side := "clockwise"
		if turn < 0 {
			side = "anticlockwise"
		}
		ways = append(ways, fmt.Sprintf("turn the shot %.0f deg %s", math.Abs(turn), side))
	}
	ways = append(ways, fmt.Sprintf("rise until the ground lies %.0f m away along the ray, where the shadow has no core", m.sun.UmbraM(float64(t.airframe.Size))))
	return strings.Join(ways, ", or ")
}

// turnFrom is the least turn of the whole shot about the upright, in degrees and clockwise positive, that keeps the
// point opposite the sun out of the picture throughout; ok is false where no turn does.
func (t *Take) turnFrom(sun geo.Vec3) (deg float64, ok bool) {
	for turn := 2.0; turn <= 180; turn += 2 {
		for _, signed := range []float64{turn, -turn} {
			// Turning the camera clockwise turns the sun anticlockwise in its eyes.
			sin, cos := math.Sincos(signed * math.Pi / 180)
			seen := geo.Vec3{X: -(sun.X*cos - sun.Y*sin), Y: -(sun.X*sin + sun.Y*cos), Z: -sun.Z}
			free := true
			for i := range t.looks {
				if place, _, ok := t.looks[i].view.Direction(seen); ok && inside(place, 0) {
					free = false
					break
				}
			}
			if free {
				return signed, true
			}
		}
	}
	return 0, false
}

// ownShadow is where the aircraft's shadow falls on the terrain at a time of the take, and how far that is from
// the aircraft; ok is false where the ground along the ray is not known.
func (t *Take) ownShadow(s float64, sun geo.Vec3) (at geo.Vec3, distanceM float64, ok bool) {
	pos := t.Path.At(s).Pos
	at, ok = t.shoot.Ground().Raycast(pos, sun.Scale(-1), 20_000)
	return at, at.Sub(pos).Norm(), ok
}

func (t *Take) weatherGates() []gate {
	h, f := t.shoot.House, t.airframe
	wind := limitOf(float64(h.Wind), "house rule", float64(f.Wind), "maker's limit")
	gates := []gate{
		{name: "wind", shut: func(m *moment) bool { return wind.set && m.flown.windKnown && m.flown.windMS > wind.value },
			tell: func(m *moment) Finding {
				return t.timely(Stop, TopicWeather, "wind at "+metres(t.midGroundM)+" above ground", speed(m.flown.windMS), speed(wind.value), wind.basis, "wait for less wind or fly lower")
			}},
		{name: "gusts", shut: func(m *moment) bool { return h.Gust > 0 && m.flown.windKnown && m.flown.gustMS > float64(h.Gust) },
			tell: func(m *moment) Finding {
				value := speed(m.flown.gustMS)
				if m.flown.gustGuessed {
					value += " (estimated, WMO/TD-No. 1555 form)"
				}
				return t.timely(Stop, TopicWeather, "gusts at "+metres(t.midGroundM)+" above ground", value, speed(float64(h.Gust)), "house rule", "wait for less wind or fly lower")
			}},
		{name: "visibility", shut: func(m *moment) bool {
			return h.Visibility > 0 && m.weather.VisibilityM.Known && m.weather.VisibilityM.Value < float64(h.Visibility)
		},
			tell: func(m *moment) Finding {
				return t.timely(Stop, TopicWeather, "visibility", metres(m.weather.VisibilityM.Value), metres(float64(h.Visibility)), "house rule", "wait for it to clear")
			}},
		{name: "rain", shut: func(m *moment) bool { return m.weather.Precipitation > air.AmountNone },
			tell: func(m *moment) Finding {
				return t.timely(Stop, TopicWeather, "precipitation", m.weather.Precipitation.String(), "none", practice, "wait for it to pass; few airframes are built for rain")
			}},
		{name: "thunderstorm", shut: func(m *moment) bool { return m.weather.Thunderstorm.Known && m.weather.Thunderstorm.Value > 0 },
			tell: func(m *moment) Finding {
				return t.timely(Stop, TopicWeather, "thunderstorm", "forecast", "none", practice, "stay on the ground")
			}},
	}
	if f.Coldest != nil || f.Hottest != nil {
		gates = append(gates, gate{name: "temperature", shut: func(m *moment) bool {
			return m.flown.airKnown && (f.Coldest != nil && m.flown.temperatureK < float64(*f.Coldest) || f.Hottest != nil && m.flown.temperatureK > float64(*f.Hottest))
		}, tell: func(m *moment) Finding {
			return t.timely(Stop, TopicWeather, "air temperature", celsius(m.flown.temperatureK), temperatureRange(f), "maker's limit", "wait for milder air")
		}})
	}
	return gates
}

func temperatureRange(f *shoot.Airframe) string {
	switch {
	case f.Hottest == nil:
		return "at least " + f.Coldest.String()
	case f.Coldest == nil:
		return "at most " + f.Hottest.String()
	}
	return f.Coldest.String() + " to " + f.Hottest.String()
}

// limit is the stricter of two limits, with whose it is.
type limit struct {
	value float64
	basis string
	set   bool
}

func limitOf(a float64, basisA string, b float64, basisB string) limit {
	switch {
	case a > 0 && (b <= 0 || a <= b):
		return limit{a, basisA, true}
	case b > 0:
		return limit{b, basisB, true}
	}
	return limit{}
}

func (t *Take) flightGates() []gate {
	margin := 1 + float64(t.shoot.House.ThrustMargin)
	return []gate{
		{name: "energy", shut: func(m *moment) bool { return m.flown.packErr == nil && m.flown.takes < 1 },
			tell: func(m *moment) Finding {
				need := m.flown.transit.EnergyJ + m.flown.take.EnergyJ
				return t.timely(Stop, TopicFlight, "energy for one take with the way there and back", wh(need), wh(m.flown.usableJ)+" above the reserve of pack "+m.flown.pack, "momentum theory fitted to the hover; house rule for the reserve", "launch nearer, shorten the take, or wait for less wind")
			}},
		{name: "thrust", shut: func(m *moment) bool {
			if m.flown.err != nil {
				return false
			}
			ratio, ok := m.flown.flight.ThrustToWeight()
			return ok && ratio < margin
		}, tell: func(m *moment) Finding {
			ratio, _ := m.flown.flight.ThrustToWeight()
			return t.timely(Stop, TopicFlight, "thrust to weight", fmt.Sprintf("%.2f", ratio), fmt.Sprintf("%.2f", margin), "house rule; thrust falls with air density", "lighten the rig")
		}},
	}
}

// timeGates hold the slate's own times and the permissions' dates.
func (t *Take) timeGates() (gates []gate) {
	zone := t.Zone()
	if x := t.Slate.From; x != nil {
		from, _ := x.In(zone)
		gates = append(gates, gate{name: "not before", shut: func(m *moment) bool { return m.at.Before(from) },
			tell: func(m *moment) Finding {
				return t.timely(Stop, TopicCrew, "time", m.at.In(zone).Format("15:04"), "not before "+x.String(), "shoot file", "wait")
			}})
	}
	if x := t.Slate.Until; x != nil {
		until, _ := x.In(zone)
		gates = append(gates, gate{name: "not after", shut: func(m *moment) bool { return m.at.After(until) },
			tell: func(m *moment) Finding {
				return t.timely(Stop, TopicCrew, "time", m.at.In(zone).Format("15:04"), "not after "+x.String(), "shoot file", "shoot earlier")
			}})
	}
	if x := t.Slate.Fixed; x != nil {
		fixed, _ := x.In(zone)
		gates = append(gates, gate{name: "fixed call", shut: func(m *moment) bool { return m.at.Before(fixed) || m.at.After(fixed.Add(fixedSlack)) },
			tell: func(m *moment) Finding {
				return t.timely(Stop, TopicCrew, "time", m.at.In(zone).Format("15:04"), "fixed call "+x.String(), "shoot file", "start at the call")
			}})
	}
	return gates
}

// fixedSlack is how late a fixed call may start (common practice, no source).
const fixedSlack = 10 * time.Minute

func (t *Take) exposureGate() gate {
	reach, unfit := t.outfit.chooser.Reach(t.wish(0))
	return gate{name: "exposure",
		shut: func(m *moment) bool {
			lx, ok := m.subjectLx()
			if !ok {
				return false // unknown, which the findings say; it is no reason to shut
			}
			ev, err := t.ev(lx)
			return err != nil || unfit != nil || !reach.Serves(ev)
		},
		tell: func(m *moment) Finding {
			text := "no setting"
			if lx, ok := m.subjectLx(); ok {
				ev, err := t.ev(lx)
				if err == nil {
					_, err = t.outfit.chooser.Best(t.wish(ev))
				}
				if err != nil {
					text = err.Error()
				}
			}
			return t.timely(Stop, TopicPicture, "exposure", text, fmt.Sprintf("within %g stop", exposure.UsableStops), "ISO 2720", "pack other filters, or shoot in other light")
		}}
}
