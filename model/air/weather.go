package air

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"fieldfare/model/unit"
)

// Reading is a number that may not be known. The zero Reading is unknown.
type Reading struct {
	Value float64
	Known bool
}

// Known returns a known reading.
func Known(v float64) Reading { return Reading{v, true} }

// Amount grades precipitation. The zero value is unknown.
type Amount int8

// Amounts of precipitation, in order.
const (
	AmountUnknown Amount = iota
	AmountNone
	AmountLight
	AmountModerate
	AmountHeavy
)

func (a Amount) String() string {
	return [...]string{"unknown", "none", "light", "moderate", "heavy"}[a]
}

// Weather is what is known about the weather in an interval. Every value may be
// unknown, and unknown is never calm, dry or clear.
type Weather struct {
	From, Until time.Time // valid in [From, Until)
	Source      string    // "METAR LZIB 211630Z", "table forecast.csv line 4"
	Change      string    // "" for prevailing weather, else TEMPO, PROB30 and so on

	WindMS        Reading // 10-minute mean at 10 m above ground
	GustMS        Reading // known only when reported
	WindFrom      Reading // radians from true north; unknown when variable
	VisibilityM   Reading // least prevailing; 10,000 stands for "10 km or more"
	CeilingM      Reading // base of the lowest cloud covering 5/8 or more, above ground; 30,000 means none reported
	TemperatureK  Reading
	DewPointK     Reading
	QNHPa         Reading
	CloudOktas    Reading // greatest reported cover, eighths
	Precipitation Amount
	Thunderstorm  Reading // 1 or 0
	Raw           string  // the text it was read from
	Unread        []string
}

// NoCeiling is the CeilingM of a sky that was reported without one.
const NoCeiling = 30000.0

// Wind returns the reported wind at 10 m; ok is false when mean speed or direction is
// unknown. A variable wind has no direction and is not ok: use WindMS from every side.
func (w Weather) Wind() (wind Wind, ok bool) {
	return Wind{From: unit.Angle(w.WindFrom.Value), MeanMS: w.WindMS.Value, GustMS: w.GustMS.Value, HeightM: 10},
		w.WindMS.Known && w.WindFrom.Known
}

// Humidity returns relative humidity (0 to 1) from temperature and dew point.
func (w Weather) Humidity() Reading {
	if !w.TemperatureK.Known || !w.DewPointK.Known {
		return Reading{}
	}
	return Known(Humidity(w.TemperatureK.Value, w.DewPointK.Value))
}

// Day builds the air from the weather of a station at an elevation. It fails when
// temperature or pressure is not known. Without a dew point the air counts as
// saturated, which is the lightest that it can be; assumedHumid says so.
func (w Weather) Day(elevationM float64) (day Day, assumedHumid bool, err error) {
	if !w.TemperatureK.Known || !w.QNHPa.Known {
		return Day{}, false, fmt.Errorf("air density is unknown: %s gives no temperature or no pressure", w.Source)
	}
	h := w.Humidity()
	if !h.Known {
		h = Known(1)
		assumedHumid = true
	}
	day, err = NewDay(elevationM, w.TemperatureK.Value, w.QNHPa.Value, h.Value)
	return day, assumedHumid, err
}

// Covers reports whether t lies in the weather's interval.
func (w Weather) Covers(t time.Time) bool { return !t.Before(w.From) && t.Before(w.Until) }

// Forecast is a sequence of weather: prevailing periods and, over them, temporary or
// probable ones.
type Forecast struct{ Periods []Weather }

// Unknown is the source of weather that nothing covers.
const Unknown = "no report or forecast covers this time"

// At returns the prevailing weather at a time: of the periods that cover it, the one
// that began last. Outside all of them everything is unknown and covered is false.
func (f Forecast) At(t time.Time) (w Weather, covered bool) {
	for _, p := range f.Periods {
		if p.Change == "" && p.Covers(t) && (!covered || p.From.After(w.From)) {
			w, covered = p, true
		}
	}
	if !covered {
		return Weather{From: t, Until: t, Source: Unknown}, false
	}
	return w, true
}

// WorstAt returns the prevailing weather with every temporary or probable period that
// covers the time laid over it, keeping for each value the one that is harder to fly
// in: the greater wind, the lesser visibility. Direction is unknown when they differ.
func (f Forecast) WorstAt(t time.Time) (w Weather, covered bool) {
	w, covered = f.At(t)
	if !covered {
		return w, false
	}
	for _, p := range f.Periods {
		if p.Change != "" && p.Covers(t) {
			w = w.Worse(p)
		}
	}
	return w, true
}

// Worse lays b over a, value by value keeping what is harder to fly in. What b does
// not state stays as in a. What a does not know stays unknown, since it may be worse than
// b; only a gust, a storm or falling water that b alone states is taken over.
func (a Weather) Worse(b Weather) Weather {
	if b.WindFrom.Known && a.WindFrom.Known && b.WindFrom.Value != a.WindFrom.Value || b.WindMS.Known && !b.WindFrom.Known {
		a.WindFrom = Reading{}
	}
	a.WindMS = pick(a.WindMS, b.WindMS, math.Max)
	if !a.GustMS.Known {
		a.GustMS = b.GustMS
	}
	a.GustMS = pick(a.GustMS, b.GustMS, math.Max)
	a.VisibilityM = pick(a.VisibilityM, b.VisibilityM, math.Min)
	a.CeilingM = pick(a.CeilingM, b.CeilingM, math.Min)
	a.CloudOktas = pick(a.CloudOktas, b.CloudOktas, math.Max)
	if b.Thunderstorm.Value > 0 {
		a.Thunderstorm = b.Thunderstorm
	}
	a.TemperatureK = pick(a.TemperatureK, b.TemperatureK, math.Max)
	a.QNHPa = pick(a.QNHPa, b.QNHPa, math.Min)
	if b.Precipitation > AmountNone {
		a.Precipitation = max(a.Precipitation, b.Precipitation)
	}
	if len(b.Unread) > 0 {
		// What was not read may have been a storm or a shower.
		if a.Thunderstorm.Value == 0 {
			a.Thunderstorm = Reading{}
		}
		if a.Precipitation == AmountNone {
			a.Precipitation = AmountUnknown
		}
	}
	a.Unread = append(append([]string(nil), a.Unread...), b.Unread...)
	if b.Change != "" && !strings.Contains(a.Source, b.Change) {
		a.Source += " with " + b.Change
	}
	return a
}

// Or fills what a does not know from b and names both sources when it did: a TAF without
// temperature from a table that has it. Times, change and raw text stay a's. Gusts are
// filled only together with the mean wind, since a wind without a gust group says that
// there are no strong ones.
func (a Weather) Or(b Weather) Weather {
	filled := false
	fill := func(to *Reading, from Reading) {
		if !to.Known && from.Known {
			*to, filled = from, true
		}
	}
	if !a.WindMS.Known && b.WindMS.Known {
		a.WindMS, a.GustMS, a.WindFrom, filled = b.WindMS, b.GustMS, b.WindFrom, true
	}
	fill(&a.VisibilityM, b.VisibilityM)
	fill(&a.CeilingM, b.CeilingM)
	fill(&a.CloudOktas, b.CloudOktas)
	fill(&a.TemperatureK, b.TemperatureK)
	fill(&a.DewPointK, b.DewPointK)
	fill(&a.QNHPa, b.QNHPa)
	fill(&a.Thunderstorm, b.Thunderstorm)
	if a.Precipitation == AmountUnknown && b.Precipitation != AmountUnknown {
		a.Precipitation, filled = b.Precipitation, true
	}
	if filled {
		a.Source += ", else " + b.Source
	}
	return a
}

func pick(a, b Reading, harder func(x, y float64) float64) Reading {
	if !a.Known || !b.Known {
		return a
	}
	return Known(harder(a.Value, b.Value))
}

// Gaps returns the parts of [from, until) that no prevailing period covers, in order.
func (f Forecast) Gaps(from, until time.Time) (gaps [][2]time.Time) {
	periods := make([]Weather, 0, len(f.Periods))
	for _, p := range f.Periods {
		if p.Change == "" {
			periods = append(periods, p)
		}
	}
	sort.SliceStable(periods, func(i, j int) bool { return periods[i].From.Before(periods[j].From) })
	at := from
	for _, p := range periods {
		if !p.Until.After(at) {
			continue
		}
		if !p.From.Before(until) {
			break
		}
		if p.From.After(at) {
			gaps = append(gaps, [2]time.Time{at, p.From})
		}
		at = p.Until
	}
	if at.Before(until) {
		gaps = append(gaps, [2]time.Time{at, until})
	}
	return gaps
}
