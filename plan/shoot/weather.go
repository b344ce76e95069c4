package shoot

import (
	"fmt"
	"slices"
	"sort"
	"strings"
	"sync"
	"time"

	"fieldfare/model/air"
)

// weather is what the folder says of it: one table and any number of reports.
type weather struct {
	table   air.Forecast
	reports []air.Forecast // METAR and TAF, in the order of the file
	spells  *spells
	met     *met
}

// spells are the stretches of time, in order, over each of which the same weather is stated: a search asks for
// every minute of days.
type spells struct {
	once sync.Once
	all  []spell
}

type spell struct {
	from, until time.Time
	weather     air.Weather
}

// met is what the crew found on location in place of the forecast, for the rest of a day.
type met struct {
	from, until time.Time
	change      func(*air.Weather)
}

// Met returns the shoot with what was met on location laid over the forecast from an instant until the end of
// its local day; the days after keep their forecast.
func (s *Shoot) Met(from time.Time, change func(*air.Weather)) *Shoot {
	now := *s
	now.weather.met = &met{from, DateOf(from.In(s.location)).Next().Midnight(s.location), change}
	return &now
}

// SameMet tells whether both shoots have the same, or nothing, laid over their forecast by Met.
func (s *Shoot) SameMet(o *Shoot) bool { return s.weather.met == o.weather.met }

func (w weather) all() (f air.Forecast) {
	f.Periods = append(f.Periods, w.table.Periods...)
	for _, r := range w.reports {
		f.Periods = append(f.Periods, r.Periods...)
	}
	return f
}

// WeatherAt returns the weather to plan for at a time. What a report states of temperature and pressure
// goes before the table, since it was measured or written by a meteorologist nearer to the hour; of
// wind, gust, visibility, cloud and water the harder of all that is stated for the time counts. The wind's
// direction is that of the strongest wind. What nothing states stays unknown; covered is false where
// nothing covers the time.
func (s *Shoot) WeatherAt(t time.Time) (w air.Weather, covered bool) {
	if w, covered = s.stated(t); !covered {
		return air.Weather{From: t, Until: t, Source: air.Unknown}, false
	}
	if m := s.weather.met; m != nil && !t.Before(m.from) && t.Before(m.until) {
		if w.From.Before(m.from) {
			w.From = m.from
		}
		m.change(&w)
		w.Source += ", with what was met on location"
	}
	return w, true
}

// stated is the weather that table and reports state for a time.
func (s *Shoot) stated(t time.Time) (w air.Weather, covered bool) {
	p := s.weather.spells
	p.once.Do(func() { p.all = s.spells() })
	i := sort.Search(len(p.all), func(i int) bool { return t.Before(p.all[i].until) })
	if i == len(p.all) || t.Before(p.all[i].from) {
		return air.Weather{}, false
	}
	return p.all[i].weather, true
}

// spells lays table and reports over each other between each two times at which one of them begins or ends.
func (s *Shoot) spells() (all []spell) {
	var edges []time.Time
	for _, p := range s.weather.all().Periods {
		edges = append(edges, p.From, p.Until)
	}
	slices.SortFunc(edges, time.Time.Compare)
	edges = slices.CompactFunc(edges, time.Time.Equal)
	for i := 1; i < len(edges); i++ {
		if w, covered := s.laid(edges[i-1]); covered {
			all = append(all, spell{edges[i-1], edges[i], w})
		}
	}
	return all
}

func (s *Shoot) laid(t time.Time) (w air.Weather, covered bool) {
	var sources []string
	lay := func(f air.Forecast, station bool) {
		b, ok := f.WorstAt(t)
		if !ok {
			return
		}
		if station && s.Site.Station != nil && b.TemperatureK.Known {
			// Along the standard lapse rate from the station to the site (ISO 2533).
			b.TemperatureK.Value -= air.LapseRateKM * (s.seaM() - float64(*s.Site.Station))
		}
		sources = append(sources, b.Source)
		if !covered {
			w, covered = b, true
			return
		}
		w = both(w, b)
	}
	for _, f := range s.weather.reports {
		lay(f, true)
	}
	lay(s.weather.table, false)
	w.Source = strings.Join(sources, "; ")
	return w, covered
}

// seaM is the height of the site's origin above sea, 0 where the terrain does not tell.
func (s *Shoot) seaM() float64 {
	if s.ground == nil {
		return 0
	}
	z, _ := s.ground.HeightAt(0, 0)
	return z
}

// both lays b over a.
func both(a, b air.Weather) air.Weather {
	filled := a.Or(b)
	w := filled.Worse(b)
	w.TemperatureK, w.DewPointK, w.QNHPa = filled.TemperatureK, filled.DewPointK, filled.QNHPa
	if a.WindMS.Known && b.WindMS.Known {
		w.WindFrom = a.WindFrom
		if b.WindMS.Value > a.WindMS.Value {
			w.WindFrom = b.WindFrom
		}
	}
	if b.From.After(w.From) {
		w.From = b.From
	}
	if b.Until.Before(w.Until) {
		w.Until = b.Until
	}
	return w
}

// Uncovered returns, in words, the reports that cover no moment of the shooting dates, and the hours between
// from and until of each date that no table or report covers.
func (s *Shoot) Uncovered(from, until Clock) (all []string) {
	if len(s.Dates) == 0 || s.location == nil {
		return nil
	}
	first, last := s.Dates[0].Midnight(s.location), s.Dates[len(s.Dates)-1].Next().Midnight(s.location)
	for _, f := range s.weather.reports {
		within := false
		for _, p := range f.Periods {
			within = within || p.From.Before(last) && p.Until.After(first)
		}
		if !within && len(f.Periods) > 0 {
			all = append(all, fmt.Sprintf("%s covers no hour of the shooting dates: paste the one for those days", f.Periods[0].Source))
		}
	}
	everything := s.weather.all()
	if len(everything.Periods) == 0 {
		return all
	}
	for _, d := range s.Dates {
		a, err1 := from.On(d, s.location)
		b, err2 := until.On(d, s.location)
		if err1 != nil || err2 != nil {
			continue
		}
		for _, gap := range everything.Gaps(a, b) {
			all = append(all, fmt.Sprintf("unknown on %s from %s to %s: no forecast covers it", d, gap[0].In(s.location).Format("15:04"), gap[1].In(s.location).Format("15:04")))
		}
	}
	return all
}
