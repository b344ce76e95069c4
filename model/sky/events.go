package sky

import (
	"math"
	"slices"
	"time"

	"fieldfare/model/unit"
)

const (
	// parallaxAtHorizon lowers a geocentric altitude to what the place sees; the published
	// altitudes for the sun's events are geocentric.
	parallaxAtHorizon = solarParallax
	horizonRefraction = 34.0 / 60 * deg
	searchStep        = 600.0 // s
	searchTolerance   = 0.01  // s
)

// Geocentric altitude of the sun's centre at each event (SPA 3.14.2 and AMS Glossary of
// Meteorology).
const (
	atRise         = -0.8333 * deg // 34' of refraction and 16' of semidiameter
	atCivil        = -6 * deg
	atNautical     = -12 * deg
	atAstronomical = -18 * deg
)

// Absence says why an event has no time on a day.
type Absence string

// The reasons for an absence; the empty one means that the event happens.
const (
	Happens    Absence = ""
	StaysAbove Absence = "stays above"
	StaysBelow Absence = "stays below"
	NotThisDay Absence = "falls on another local day"
)

// Occurrence is when something happens on a day, or why it does not.
type Occurrence struct {
	At     time.Time // in the day's zone, to 0.01 s of the model; zero if absent
	Absent Absence
	Reason string // for people; empty if it happens
}

// Happens reports whether the occurrence has a time.
func (o Occurrence) Happens() bool { return o.Absent == Happens }

// Interval is a stretch of time.
type Interval struct{ From, To time.Time }

// Event is one crossing of a day.
type Event struct {
	Name string // "sunrise", "civil_dusk" and so on
	At   time.Time
}

// SunDay is what the sun does on one local day at a level horizon at the height of the eye.
type SunDay struct {
	From, To time.Time // the local day, 23 to 25 hours long where clocks change

	Sunrise, Transit, Sunset           Occurrence
	CivilDawn, CivilDusk               Occurrence
	NauticalDawn, NauticalDusk         Occurrence
	AstronomicalDawn, AstronomicalDusk Occurrence

	Golden, Blue    []Interval // the hours of that name
	Highest, Lowest unit.Angle // altitude of the centre, refraction included
	Events          []Event    // all of them in order; near a polar day one kind can come twice
}

// MoonDay is what the moon does on one local day.
type MoonDay struct {
	Moonrise, Transit, Moonset Occurrence
	Events                     []Event
	Phase                      Phase // at the middle of the day
}

// LocalDay returns the start of t's calendar date in t's zone and the start of the next one, which
// is 23 to 25 hours later where clocks change.
func LocalDay(t time.Time) (from, to time.Time) {
	y, m, d := t.Date()
	return firstOf(y, m, d, t.Location()), firstOf(y, m, d+1, t.Location())
}

// firstOf returns the first instant of a calendar date, also where midnight is skipped or comes
// twice, and of the next date that exists where a whole day is skipped.
func firstOf(y int, m time.Month, d int, zone *time.Location) time.Time {
	want := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	date := func(t time.Time) time.Time {
		y, m, d := t.Date()
		return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	}
	t := time.Date(y, m, d, 0, 0, 0, 0, zone)
	start, end := t.ZoneBounds()
	switch {
	case date(t).Before(want): // skipped, and t lies before the jump
		return end.In(zone)
	case date(t).After(want) || t.After(start) && t.Hour() > 0: // skipped, and t lies after it
		return start.In(zone)
	case start.IsZero():
		return t
	}
	// Clocks that went back over midnight, less than t's time since, gave the date a first
	// midnight before.
	before := start.Add(-time.Nanosecond)
	_, now := t.Zone()
	_, then := before.Zone()
	first := t.Add(time.Duration(now-then) * time.Second)
	if then > now && first.Before(start) && date(before).Equal(want) && date(first).Equal(want) {
		return first
	}
	return t
}

// sunEvents lists the sun's altitudes of interest with the names of the way up and the way down,
// and what to say when the sun stays on one side.
var sunEvents = []struct {
	altitude     float64
	up, down     string
	above, below string
}{
	{atRise, "sunrise", "sunset", "polar day: the sun stays above the horizon all day", "polar night: the sun stays below the horizon all day"},
	{atCivil, "civil_dawn", "civil_dusk", "no civil dusk: the sun stays above -6 deg all day", "polar night: the sun stays below -6 deg all day"},
	{atNautical, "nautical_dawn", "nautical_dusk", "no nautical dusk: the sun stays above -12 deg all day", "polar night: the sun stays below -12 deg all day"},
	{atAstronomical, "astronomical_dawn", "astronomical_dusk", "no full night: the sun stays above -18 deg all day", "polar night: the sun stays below -18 deg all day"},
}

// SunDay returns the events of t's calendar date in t's zone. A rise or dawn is the first of the
// day, a set or dusk the last. Altitudes are for a level horizon and standard refraction
// (34'), whatever the air of the place.
func (p Place) SunDay(t time.Time) (SunDay, error) {
	var out SunDay
	s, err := p.search(t)
	if err != nil {
		return out, err
	}
	out.From, out.To = s.from, s.to

	slots := [][2]*Occurrence{
		{&out.Sunrise, &out.Sunset}, {&out.CivilDawn, &out.CivilDusk},
		{&out.NauticalDawn, &out.NauticalDusk}, {&out.AstronomicalDawn, &out.AstronomicalDusk},
	}
	for i, e := range sunEvents {
		altitude := func(t float64) float64 {
			return float64(s.almanac.sunSight(s.start.Add(t)).altitude()) - e.altitude + parallaxAtHorizon
		}
		*slots[i][0], *slots[i][1] = s.find(altitude, e.up, e.down, e.above, e.below)
	}
	out.Transit = s.transit("sun", s.almanac.sunSight)
	out.Highest, out.Lowest = s.extremes(s.almanac.Sun)
	out.Golden, out.Blue = s.hours(Golden), s.hours(Blue)
	out.Events = s.events
	slices.SortStableFunc(out.Events, func(a, b Event) int { return a.At.Compare(b.At) })
	return out, nil
}

// MoonDay returns the moon's events of t's calendar date in t's zone: upper limb on a level
// horizon with 34' of refraction.
func (p Place) MoonDay(t time.Time) (MoonDay, error) {
	var out MoonDay
	s, err := p.search(t)
	if err != nil {
		return out, err
	}
	limb := func(t float64) float64 {
		v := s.almanac.moonSight(s.start.Add(t))
		return float64(v.altitude()) + horizonRefraction + math.Asin(moonRadius/v.distance())
	}
	out.Moonrise, out.Moonset = s.find(limb, "moonrise", "moonset",
		"the moon stays above the horizon all day", "the moon stays below the horizon all day")
	out.Transit = s.transit("moon", s.almanac.moonSight)
	out.Phase = s.start.Add(s.seconds / 2).MoonPhase()
	out.Events = s.events
	slices.SortStableFunc(out.Events, func(a, b Event) int { return a.At.Compare(b.At) })
	return out, nil
}

// search is one local day being looked through.
type search struct {
	from, to time.Time
	start    Instant
	seconds  float64
	almanac  *Almanac
	events   []Event
}

func (p Place) search(t time.Time) (*search, error) {
	from, to := LocalDay(t)
	start, err := At(from)
	if err != nil {
		return nil, err
	}
	seconds := to.Sub(from).Seconds()
	a, err := NewAlmanac(p, start, start.Add(seconds))
	if err != nil {
		return nil, err
	}
	return &search{from: from, to: to, start: start, seconds: seconds, almanac: a}, nil
}

// find records each crossing and returns the first upward and the last downward one.
func (s *search) find(f func(float64) float64, up, down, above, below string) (rise, set Occurrence) {
	crossings := Crossings(f, 0, s.seconds, searchStep, searchTolerance)
	absent := func() Occurrence {
		switch {
		case len(crossings) > 0 && crossings[0].Rising:
			return Occurrence{Absent: NotThisDay, Reason: "only " + up + " falls on this local day"}
		case len(crossings) > 0:
			return Occurrence{Absent: NotThisDay, Reason: "only " + down + " falls on this local day"}
		case f(s.seconds/2) >= 0:
			return Occurrence{Absent: StaysAbove, Reason: above}
		}
		return Occurrence{Absent: StaysBelow, Reason: below}
	}
	rise, set = absent(), absent()
	for _, c := range crossings {
		at := s.at(c.At)
		switch {
		case !c.Rising:
			set = Occurrence{At: at}
			s.events = append(s.events, Event{down, at})
		case rise.Happens():
			s.events = append(s.events, Event{up, at})
		default:
			rise = Occurrence{At: at}
			s.events = append(s.events, Event{up, at})
		}
	}
	return rise, set
}

// transit finds the upper passage of the meridian, where the body's easting turns from east to
// west.
func (s *search) transit(body string, see func(Instant) sight) Occurrence {
	westing := func(t float64) float64 { return -see(s.start.Add(t)).east }
	out := Occurrence{Absent: NotThisDay, Reason: "the " + body + " does not pass the meridian on this local day"}
	for _, c := range Crossings(westing, 0, s.seconds, searchStep, searchTolerance) {
		if !c.Rising {
			continue // the lower passage
		}
		at := s.at(c.At)
		s.events = append(s.events, Event{body + "_transit", at})
		if !out.Happens() {
			out = Occurrence{At: at}
		}
	}
	return out
}

// extremes returns the highest and lowest apparent altitude of the day.
func (s *search) extremes(position func(Instant) Position) (highest, lowest unit.Angle) {
	f := func(t float64) float64 { return float64(position(s.start.Add(t)).Altitude) }
	high, low := 0.0, 0.0
	for t := 0.0; t <= s.seconds; t += searchStep {
		if f(t) > f(high) {
			high = t
		}
		if f(t) < f(low) {
			low = t
		}
	}
	_, top := Turning(f, max(0, high-searchStep), min(s.seconds, high+searchStep), 1, false)
	_, bottom := Turning(f, max(0, low-searchStep), min(s.seconds, low+searchStep), 1, true)
	return unit.Angle(top), unit.Angle(bottom)
}

func (s *search) hours(h Hour) (intervals []Interval) {
	for _, span := range h.Spans(s.almanac, s.start, s.seconds) {
		intervals = append(intervals, Interval{s.at(span.From), s.at(span.To)})
	}
	return intervals
}

func (s *search) at(seconds float64) time.Time {
	return s.from.Add(time.Duration(math.Round(seconds*1000)) * time.Millisecond)
}
