package metar

import (
	"fmt"
	"time"

	"fieldfare/model/air"
)

// Near returns the moment that a clock means: with a day of the month, the one nearest to
// a reference time; without, the first at or after the reference less an hour.
func (c Clock) Near(reference time.Time) (time.Time, error) {
	ref := reference.UTC()
	if c.Day == 0 {
		t := time.Date(ref.Year(), ref.Month(), ref.Day(), c.Hour, c.Minute, 0, 0, time.UTC)
		for t.Before(ref.Add(-time.Hour)) {
			t = t.AddDate(0, 0, 1)
		}
		return t, nil
	}
	best, found := time.Time{}, false
	for month := -2; month <= 2; month++ {
		t := time.Date(ref.Year(), ref.Month()+time.Month(month), c.Day, 0, 0, 0, 0, time.UTC)
		if t.Day() != c.Day {
			continue // the month has no such day
		}
		t = t.Add(time.Duration(c.Hour)*time.Hour + time.Duration(c.Minute)*time.Minute)
		if !found || t.Sub(ref).Abs() < best.Sub(ref).Abs() {
			best, found = t, true
		}
	}
	if !found {
		return best, fmt.Errorf("no month near %s has a day %d", ref.Format("2006-01"), c.Day)
	}
	return best, nil
}

// after is the first moment that a clock means at or after a time.
func (c Clock) after(start time.Time) time.Time {
	if c.Day == 0 {
		t := time.Date(start.Year(), start.Month(), start.Day(), c.Hour, c.Minute, 0, 0, time.UTC)
		for t.Before(start) {
			t = t.AddDate(0, 0, 1)
		}
		return t
	}
	for days := range 62 {
		t := time.Date(start.Year(), start.Month(), start.Day()+days, 0, 0, 0, 0, time.UTC)
		if t.Day() != c.Day {
			continue
		}
		if t = t.Add(time.Duration(c.Hour)*time.Hour + time.Duration(c.Minute)*time.Minute); !t.Before(start) {
			return t
		}
	}
	return start
}

// overlay writes what conditions state over weather. whole says that silence is a
// statement too (a report, the head of a forecast or an FM group): no weather group means
// no significant weather, no cloud group none. Where something went unread, silence
// says nothing.
func (c Conditions) overlay(w *air.Weather, whole bool) {
	if c.Wind != nil {
		w.WindMS, w.GustMS, w.WindFrom = c.Wind.MeanMS, c.Wind.GustMS, c.Wind.From
	}
	if c.Visibility != nil {
		v := *c.Visibility
		w.VisibilityM = v.M
		if v.LeastM.Known && v.LeastM.Value < v.M.Value {
			w.VisibilityM = v.LeastM
		}
	}
	switch {
	case len(c.Weather) > 0:
		w.Precipitation, w.Thunderstorm = air.AmountNone, air.Known(0)
		for _, p := range c.Weather {
			if p.Recent {
				continue
			}
			if p.Descriptor == "TS" {
				w.Thunderstorm = air.Known(1)
			}
			if p.falls() && !p.Vicinity {
				w.Precipitation = max(w.Precipitation, p.Intensity)
			}
		}
	case c.NoWeather || c.CAVOK || whole && !c.WeatherMissing:
		w.Precipitation, w.Thunderstorm = air.AmountNone, air.Known(0)
	case c.WeatherMissing:
		w.Precipitation, w.Thunderstorm = air.AmountUnknown, air.Reading{}
	}
	if ceiling, oktas, ok := c.sky(whole); ok {
		w.CeilingM, w.CloudOktas = ceiling, oktas
	}
}

// falls reports whether water falls in a phenomenon.
func (p Phenomenon) falls() bool {
	for _, k := range p.Kinds {
		switch k {
		case "DZ", "RA", "SN", "SG", "PL", "IC", "GR", "GS", "UP":
			return p.Descriptor != "BL" && p.Descriptor != "DR"
		}
	}
	return false
}

// sky gives ceiling and cover; ok is false when nothing is stated.
func (c Conditions) sky(whole bool) (ceiling, oktas air.Reading, ok bool) {
	// Below this nothing is reported; above it nothing is said.
	const fiveThousandFeet, twelveThousandFeet = 50 * hundredFeet, 120 * hundredFeet
	switch {
	case c.SkyObscured:
		return c.VerticalVisibilityM, air.Known(8), true
	case len(c.Cloud) > 0:
		ceiling, oktas = air.Known(air.NoCeiling), air.Known(0)
		for _, l := range c.Cloud {
			least, most, known := l.Oktas()
			if !known {
				return air.Reading{}, air.Reading{}, true
			}
			if oktas.Known && float64(most) > oktas.Value {
				oktas.Value = float64(most)
			}
			if least < 5 {
				continue
			}
			if !l.BaseM.Known {
				return air.Reading{}, oktas, true
			}
			if l.BaseM.Value < ceiling.Value {
				ceiling = l.BaseM
			}
		}
		return ceiling, oktas, true
	case c.CAVOK || c.Sky == "NSC" || c.Sky == "NCD":
		return air.Known(fiveThousandFeet), air.Reading{}, true
	case c.Sky == "CLR":
		return air.Known(twelveThousandFeet), air.Reading{}, true
	case c.Sky == "SKC":
		return air.Known(air.NoCeiling), air.Known(0), true
	}
	return air.Reading{}, air.Reading{}, whole
}

// hedge takes back what was concluded from silence, since something went unread.
func hedge(c Conditions, w *air.Weather) {
	if len(c.Weather) == 0 && !c.NoWeather && !c.CAVOK {
		w.Precipitation, w.Thunderstorm = air.AmountUnknown, air.Reading{}
	}
	if w.Thunderstorm == air.Known(0) {
		w.Thunderstorm = air.Reading{}
	}
	if w.CeilingM.Value == air.NoCeiling {
		w.CeilingM = air.Reading{}
	}
}

// Summary is the weather that a report states, without its time.
func (r Report) Summary() air.Weather {
	w, err := r.Observed(time.Date(2000, 1, 15, 0, 0, 0, 0, time.UTC), time.Hour)
	if err != nil {
		return air.Weather{}
	}
	w.From, w.Until = time.Time{}, time.Time{}
	return w
}

// Summary is the weather that a forecast states for its beginning, without its time.
func (f Forecast) Summary() air.Weather {
	periods, err := f.Expected(time.Date(2000, 1, 15, 0, 0, 0, 0, time.UTC))
	if err != nil || len(periods.Periods) == 0 {
		return air.Weather{}
	}
	w := periods.Periods[0]
	w.From, w.Until = time.Time{}, time.Time{}
	return w
}

// Observed gives the report as weather valid from its time, in the month nearest to a
// reference time, for lastFor. A report that is NIL leaves all unknown.
func (r Report) Observed(reference time.Time, lastFor time.Duration) (air.Weather, error) {
	at, err := r.Time.Near(reference)
	if err != nil {
		return air.Weather{}, fmt.Errorf("%s %s: %w", r.Kind, r.Station, err)
	}
	w := air.Weather{From: at, Until: at.Add(lastFor), Raw: r.Raw, Unread: r.Unread,
		Source: fmt.Sprintf("%s %s %02d%02d%02dZ", r.Kind, r.Station, r.Time.Day, r.Time.Hour, r.Time.Minute)}
	if r.Missing {
		return w, nil
	}
	r.overlay(&w, true)
	w.TemperatureK, w.DewPointK, w.QNHPa = r.TemperatureK, r.DewPointK, r.QNHPa
	if r.Remarks.TemperatureK.Known {
		w.TemperatureK = r.Remarks.TemperatureK
	}
	if r.Remarks.DewPointK.Known {
		w.DewPointK = r.Remarks.DewPointK
	}
	if r.Remarks.NoPresentWeather && len(r.Weather) == 0 {
		w.Precipitation, w.Thunderstorm = air.AmountUnknown, air.Reading{}
	}
	if r.Remarks.NoThunderstorms && w.Thunderstorm.Value == 0 {
		w.Thunderstorm = air.Reading{}
	}
	if len(r.Unread) > 0 {
		hedge(r.Conditions, &w)
	}
	return w, nil
}

// Expected gives the forecast as periods: the prevailing weather in turn, and over it the
// changing, temporary and probable. A BECMG is laid over the old weather while it comes
// and prevails from its end. A cancelled or missing forecast has no periods.
func (f Forecast) Expected(reference time.Time) (air.Forecast, error) {
	var out air.Forecast
	if f.Missing || f.Cancelled {
		return out, nil
	}
	from, err := f.From.Near(reference)
	if err != nil {
		return out, fmt.Errorf("TAF %s: %w", f.Station, err)
	}
	until := f.Until.after(from.Add(time.Minute))
	source := fmt.Sprintf("TAF %s %02d%02d/%02d%02d", f.Station, f.From.Day, f.From.Hour, f.Until.Day, f.Until.Hour)
	now := air.Weather{From: from, Until: until, Source: source, Raw: f.Raw, Unread: f.Unread, QNHPa: f.QNHPa}
	f.overlay(&now, true)
	if len(f.Unread) > 0 {
		hedge(f.Conditions, &now)
	}
	var over []air.Weather
	for _, c := range f.Changes {
		start, end := from, until
		if c.From != nil {
			start = c.From.after(from)
		}
		if c.Until != nil {
			end = c.Until.after(start)
		}
		if start.After(until) {
			continue
		}
		end = minTime(end, until)
		switch c.Kind {
		case "FM":
			next := air.Weather{From: start, Until: until, Source: source, Raw: f.Raw, QNHPa: now.QNHPa, Unread: c.Unread}
			if c.QNHPa.Known {
				next.QNHPa = c.QNHPa
			}
			c.overlay(&next, true)
			if len(c.Unread) > 0 {
				hedge(c.Conditions, &next)
			}
			now = succeed(&out, now, next)
		case "BECMG":
			next := now
			c.overlay(&next, false)
			if c.QNHPa.Known {
				next.QNHPa = c.QNHPa
			}
			next.Unread = append(append([]string(nil), now.Unread...), c.Unread...)
			next.From, next.Until = end, until
			if len(c.Unread) > 0 {
				hedge(c.Conditions, &next)
			}
			over = append(over, temporary(c, "BECMG", start, end, source, now))
			now = succeed(&out, now, next)
		default:
			name := c.Kind
			if c.Kind == "PROB" {
				name = fmt.Sprintf("PROB%d", c.Probability)
			} else if c.Probability > 0 {
				name = fmt.Sprintf("PROB%d %s", c.Probability, c.Kind)
			}
			over = append(over, temporary(c, name, start, end, source, now))
		}
	}
	if now.Until.After(now.From) {
		out.Periods = append(out.Periods, now)
	}
	for _, p := range over {
		if p.Until.After(p.From) {
			out.Periods = append(out.Periods, p)
		}
	}
	return out, nil
}

// succeed ends one prevailing period where the next begins.
func succeed(f *air.Forecast, now, next air.Weather) air.Weather {
	now.Until = next.From
	if now.Until.After(now.From) {
		f.Periods = append(f.Periods, now)
	}
	return next
}

func temporary(c Change, name string, start, end time.Time, source string, prevailing air.Weather) air.Weather {
	w := air.Weather{From: start, Until: end, Source: source, Change: name, Raw: prevailing.Raw, Unread: c.Unread, QNHPa: c.QNHPa}
	c.overlay(&w, false)
	return w
}

func minTime(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
