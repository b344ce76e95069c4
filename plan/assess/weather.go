package assess

import (
	"fieldfare/model/air"
	"fieldfare/model/unit"
)

func (t *Take) tellWeather(m *moment, a *Assessment) {
	n := &a.Numbers.Weather
	w, f := m.weather, m.flown
	n.Source, n.Rain = w.Source, w.Precipitation.String()
	n.VisibilityM, n.CloudOktas = reading(w.VisibilityM, same), reading(w.CloudOktas, same)
	n.TemperatureC = reading(w.TemperatureK, func(k float64) float64 { return k - 273.15 })
	n.WindFromDeg = reading(w.WindFrom, func(r float64) float64 { return unit.Angle(r).Wrapped().Deg() })
	n.ReportedMS, n.CeilingM = reading(w.WindMS, same), reading(w.CeilingM, same)
	n.PressureHPa = reading(w.QNHPa, func(pa float64) float64 { return pa / 100 })
	n.HumidityPct = reading(w.Humidity(), func(v float64) float64 { return 100 * v })
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
	for _, text := range w.Unread {
		a.add(t.timely(Unknown, TopicWeather, "part of the report", "not understood: "+text, "", w.Source, "read it yourself"))
	}
	if !f.windKnown {
		unknown("wind", "enter wind in the forecast")
	}
	if !w.Thunderstorm.Known && len(w.Unread) > 0 {
		unknown("thunderstorm", "read the report yourself")
	}
	if !w.VisibilityM.Known {
		unknown("visibility", "enter visibility in the forecast")
	}
	if w.Precipitation == air.AmountUnknown {
		unknown("precipitation", "enter precipitation in the forecast")
	}
	h := t.shoot.House
	if h.Gust == 0 {
		unknown("gust limit", "enter gust: for the house")
	}
	if h.Visibility == 0 {
		unknown("visibility limit", "enter visibility: for the house")
	}
	if h.Wind == 0 && t.airframe.Wind == 0 {
		unknown("wind limit", "enter wind: for the house or the airframe")
	}
	if limit := limitOf(float64(h.Wind), "house rule", float64(t.airframe.Wind), "maker's limit"); limit.set && f.windKnown && f.windMS > 0.8*limit.value && f.windMS <= limit.value {
		a.add(t.timely(Caution, TopicWeather, "wind at flying height", speed(f.windMS), speed(limit.value), limit.basis, "little is left: watch for gusts"))
	}
}
