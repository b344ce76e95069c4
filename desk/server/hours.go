package server

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/desk/draw"
	"fieldfare/model/sky"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

// Hours is one local day of one slate: light, weather and conditions over the clock.
// Where a list holds null the value is unknown.
type Hours struct {
	Version int64     `json:"version"`
	Slate   string    `json:"slate"`
	Date    string    `json:"date"`
	From    time.Time `json:"from" doc:"start of the local day"`
	StepS   float64   `json:"step_s"`

	SunAltitudeDeg  []float64  `json:"sun_altitude_deg" nullable:"false"`
	SunAzimuthDeg   []float64  `json:"sun_azimuth_deg" nullable:"false"`
	SkylineDeg      []*float64 `json:"skyline_deg" nullable:"false" doc:"terrain's horizon toward the sun, from the subject"`
	MoonAltitudeDeg []float64  `json:"moon_altitude_deg" nullable:"false"`
	EV100           []*float64 `json:"ev100" nullable:"false"`
	WindMS          []*float64 `json:"wind_m_s" nullable:"false" doc:"at flying height"`
	GustMS          []*float64 `json:"gust_m_s" nullable:"false" doc:"at flying height"`
	TemperatureC    []*float64 `json:"temperature_c" nullable:"false"`
	WindLimitMS     *float64   `json:"wind_limit_m_s" doc:"house rule or maker's limit, the lower"`
	GustLimitMS     *float64   `json:"gust_limit_m_s" doc:"house rule"`

	Gates []GateHours `json:"gates" nullable:"false"`
	Spans []NamedSpan `json:"spans" nullable:"false" doc:"golden and blue hours"`
}

// GateHours is one condition of the slate and when it is not met.
type GateHours struct {
	Gate string `json:"gate"`
	Shut []Span `json:"shut" nullable:"false"`
}

// Span is a stretch of time.
type Span struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// NamedSpan is a stretch of the day with its name.
type NamedSpan struct {
	Name string `json:"name"`
	Span
}

type hoursInput struct {
	Slate string `path:"slate"`
	Date  string `query:"date" doc:"local day as 2026-09-22; the first shooting day where left out"`
}

const hoursStep = 10 * time.Minute

func (s *Server) hours(_ context.Context, in *hoursInput) (*answer[Hours], error) {
	state, take, err := s.take(in.Slate)
	if err != nil {
		return nil, err
	}
	day := state.Assessor.Shoot.Dates[0]
	if in.Date != "" {
		if err := day.UnmarshalText([]byte(in.Date)); err != nil {
			return nil, huma.Error422UnprocessableEntity(err.Error())
		}
	}
	return with(hoursOf(state, take, day)), nil
}

func hoursOf(state *State, take *assess.Take, day shoot.Date) Hours {
	s := state.Assessor.Shoot
	from, to := day.Midnight(s.Location()), day.Next().Midnight(s.Location())
	h := Hours{Version: state.Version, Slate: take.Slate.Slate, Date: day.String(), From: from, StepS: hoursStep.Seconds()}
	h.WindLimitMS = lower(float64(s.House.Wind), float64(s.Kit().Airframe(take.Rig.Airframe).Wind))
	h.GustLimitMS = lower(float64(s.House.Gust), 0)
	for at := from; !at.After(to); at = at.Add(hoursStep) {
		n := take.At(at).Numbers
		h.SunAltitudeDeg = append(h.SunAltitudeDeg, n.Light.SunAltitudeDeg)
		h.SunAzimuthDeg = append(h.SunAzimuthDeg, n.Light.SunAzimuthDeg)
		h.SkylineDeg = append(h.SkylineDeg, n.Light.SkylineDeg)
		h.MoonAltitudeDeg = append(h.MoonAltitudeDeg, n.Light.MoonAltitudeDeg)
		h.EV100 = append(h.EV100, n.Picture.EV100)
		h.WindMS = append(h.WindMS, n.Weather.WindMS)
		h.GustMS = append(h.GustMS, n.Weather.GustMS)
		h.TemperatureC = append(h.TemperatureC, n.Weather.TemperatureC)
	}
	h.Gates = gatesOf(take, from, to)
	h.Spans = spansOf(state, from, to)
	return h
}

// lower returns the lower of the limits that are set, nil for none.
func lower(a, b float64) *float64 {
	switch {
	case a <= 0 && b <= 0:
		return nil
	case a <= 0 || b > 0 && b < a:
		return &b
	}
	return &a
}

// gatesOf tells minute by minute which conditions are not met.
func gatesOf(take *assess.Take, from, to time.Time) []GateHours {
	names := take.Gates()
	out := make([]GateHours, len(names))
	since := make([]time.Time, len(names))
	for i, name := range names {
		out[i] = GateHours{Gate: name, Shut: []Span{}}
	}
	for at := from; !at.After(to); at = at.Add(time.Minute) {
		var shut assess.Gates
		if at.Before(to) {
			shut = take.Shut(at)
		}
		for i := range names {
			switch {
			case shut.Has(i) && since[i].IsZero():
				since[i] = at
			case !shut.Has(i) && !since[i].IsZero():
				out[i].Shut = append(out[i].Shut, Span{since[i], at})
				since[i] = time.Time{}
			}
		}
	}
	return out
}

func spansOf(state *State, from, to time.Time) []NamedSpan {
	out := []NamedSpan{}
	start, err := sky.At(from)
	if err != nil {
		return out // dates were checked when the shoot was read
	}
	for _, x := range []struct {
		name string
		hour sky.Hour
	}{{"golden hour", sky.Golden}, {"blue hour", sky.Blue}} {
		for _, span := range x.hour.Spans(state.Assessor.Almanac(), start, to.Sub(from).Seconds()) {
			at := func(seconds float64) time.Time {
				return from.Add(time.Duration(seconds * float64(time.Second))).Truncate(time.Second)
			}
			out = append(out, NamedSpan{x.name, Span{at(span.From), at(span.To)}})
		}
	}
	return out
}

// skyStrip draws the sky over a slate's subject on a day.
func (s *Server) skyStrip(w http.ResponseWriter, r *http.Request) {
	state, take, err := s.take(r.PathValue("slate"))
	if err != nil {
		http.Error(w, err.Error(), http.StatusNotFound)
		return
	}
	day := state.Assessor.Shoot.Dates[0]
	if text := r.URL.Query().Get("date"); text != "" {
		if err := day.UnmarshalText([]byte(text)); err != nil {
			http.Error(w, err.Error(), http.StatusUnprocessableEntity)
			return
		}
	}
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Header().Set("Cache-Control", "no-cache")
	if err := draw.SlateLight(w, state.Assessor, take, day, "strip"); err != nil {
		http.Error(w, err.Error(), http.StatusUnprocessableEntity)
	}
}
