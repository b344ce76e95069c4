package server

import (
	"context"
	"errors"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/desk/logbook"
	"fieldfare/model/unit"
	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/day"
	"fieldfare/plan/hazard"
)

// Met is the weather that the crew found, units as typed.
type metInput struct {
	At          string `query:"at" required:"true" doc:"instant in RFC 3339"`
	Wind        string `query:"wind" doc:"mean wind at 10 m above ground, as 6 m/s or 12 kt; the forecast's where left out"`
	Gust        string `query:"gust" doc:"likewise"`
	Temperature string `query:"temperature" doc:"as 4 C"`
}

func (in *metInput) read() (at time.Time, met assess.Met, err error) {
	var wrong []error
	at, e := time.Parse(time.RFC3339, in.At)
	wrong = append(wrong, e)
	speed := func(field, text string) *float64 {
		if strings.TrimSpace(text) == "" {
			return nil
		}
		v, e := unit.ParseSpeed(text)
		if e != nil {
			wrong = append(wrong, &huma.ErrorDetail{Location: field, Message: e.Error(), Value: text})
			return nil
		}
		ms := float64(v)
		return &ms
	}
	met.WindMS, met.GustMS = speed("wind", in.Wind), speed("gust", in.Gust)
	if strings.TrimSpace(in.Temperature) != "" {
		v, e := unit.ParseTemperature(in.Temperature)
		if e != nil {
			wrong = append(wrong, &huma.ErrorDetail{Location: "temperature", Message: e.Error(), Value: in.Temperature})
		}
		k := float64(v)
		met.TemperatureK = &k
	}
	wrong = append(wrong, met.Check())
	return at, met, errors.Join(wrong...)
}

// StillFlies says what of the shoot can be shot in the weather met.
type StillFlies struct {
	Version int64       `json:"version"`
	At      time.Time   `json:"at"`
	Slates  []FliesNow  `json:"slates" nullable:"false"`
	Met     MetReadings `json:"met"`
}

// MetReadings is the weather as it was understood, SI.
type MetReadings struct {
	WindMS       *float64 `json:"wind_m_s"`
	GustMS       *float64 `json:"gust_m_s"`
	TemperatureC *float64 `json:"temperature_c"`
}

// FliesNow is one slate in the weather met.
type FliesNow struct {
	Slate        string           `json:"slate"`
	Flies        bool             `json:"flies"`
	Planned      bool             `json:"flies_in_forecast"`
	Stops        []assess.Finding `json:"stops" nullable:"false"`
	Unknown      int              `json:"unknown" doc:"how many limits could not be checked"`
	TakesPerPack *int             `json:"takes_per_pack"`
	WindMS       *float64         `json:"wind_m_s" doc:"at flying height"`
}

// LogEntries are what a device sends, in the order in which it wrote them.
type logInput struct {
	Body struct {
		Entries []logbook.Entry `json:"entries" minItems:"1" maxItems:"500" nullable:"false"`
	}
}

// Logged says what became of each entry that was sent.
type Logged struct {
	Results []LogResult `json:"results" nullable:"false"`
}

// LogResult is the fate of one entry.
type LogResult struct {
	ID     string `json:"id"`
	Seq    int64  `json:"seq" doc:"place in the book; 0 when it was not written"`
	Repeat bool   `json:"repeat" doc:"the book had it already"`
	Refuse string `json:"refused" doc:"why it can never be written; empty otherwise"`
}

// LogPage is the book as it stands.
type LogPage struct {
	Entries []LogLine `json:"entries" nullable:"false"`
	Where   string    `json:"where"`
}

// LogLine is an entry as it stands after its corrections.
type LogLine struct {
	logbook.Entry
	First     string `json:"first"`
	Versions  int    `json:"versions"`
	Contested bool   `json:"contested"`
}

// Checks are the checklists of a slate's sortie.
type Checks struct {
	Version int64              `json:"version"`
	Slate   string             `json:"slate"`
	Lists   []hazard.Checklist `json:"lists" nullable:"false"`
}

type meterInput struct {
	Slate string  `path:"slate"`
	At    string  `query:"at" required:"true"`
	Stops float64 `query:"stops" required:"true" minimum:"-10" maximum:"10" doc:"meter less plan: +1 is twice the light"`
}

// Metered is the meter's correction with the version it belongs to.
type Metered struct {
	Version int64             `json:"version"`
	Slate   string            `json:"slate"`
	At      time.Time         `json:"at"`
	Stops   float64           `json:"stops"`
	Result  assess.Correction `json:"result"`
}

type replanInput struct {
	Body struct {
		From      time.Time `json:"from" doc:"nothing flies before this: now, or the end of a weather hold"`
		Done      []string  `json:"done" nullable:"false" doc:"slates that are got"`
		Committed []string  `json:"committed" nullable:"false" doc:"slates that the set was promised"`
	}
}

// Replanned is the day planned again, with what changed and why.
type Replanned struct {
	Version int64      `json:"version"`
	Moves   []day.Move `json:"moves" nullable:"false"`
}

func (s *Server) fieldRoutes(api huma.API) {
	huma.Get(api, "/api/flies", func(_ context.Context, in *metInput) (*answer[StillFlies], error) {
		state, err := s.current()
		if err != nil {
			return nil, err
		}
		at, met, err := in.read()
		if err != nil {
			return nil, huma.Error422UnprocessableEntity("the weather could not be read", unjoin(err)...)
		}
		return with(flies(state, at, met)), nil
	})
	huma.Get(api, "/api/slates/{slate}/meter", func(_ context.Context, in *meterInput) (*answer[Metered], error) {
		state, take, err := s.take(in.Slate)
		if err != nil {
			return nil, err
		}
		at, err := time.Parse(time.RFC3339, in.At)
		if err != nil {
			return nil, huma.Error422UnprocessableEntity(err.Error())
		}
		c, err := take.Correct(at, in.Stops)
		if err != nil {
			return nil, huma.Error422UnprocessableEntity(err.Error())
		}
		return with(Metered{state.Version, in.Slate, at, in.Stops, c}), nil
	})
	huma.Get(api, "/api/slates/{slate}/checks", func(_ context.Context, in *slateInput) (*answer[Checks], error) {
		state, take, at, err := s.takeAt(in)
		if err != nil {
			return nil, err
		}
		lists := hazard.Standard().Checks(take.Facts(at))
		if lists == nil {
			lists = []hazard.Checklist{}
		}
		return with(Checks{state.Version, in.Slate, lists}), nil
	})
	huma.Get(api, "/api/log", func(ctx context.Context, _ *none) (*answer[LogPage], error) {
		book, err := s.book(ctx)
		if err != nil {
			return nil, err
		}
		standing, err := book.Standing(ctx, logbook.Filter{})
		if err != nil {
			return nil, huma.Error500InternalServerError(err.Error())
		}
		page := LogPage{Entries: []LogLine{}, Where: book.Where()}
		for _, x := range standing {
			page.Entries = append(page.Entries, LogLine{x.Entry, x.First, x.Versions, x.Contested})
		}
		return with(page), nil
	})
	huma.Post(api, "/api/log", s.log)
	huma.Post(api, "/api/replan", s.replan)
}

// unjoin lists joined errors.
func unjoin(err error) []error {
	var many interface{ Unwrap() []error }
	if errors.As(err, &many) {
		return many.Unwrap()
	}
	return []error{err}
}

func flies(state *State, at time.Time, met assess.Met) StillFlies {
	out := StillFlies{Version: state.Version, At: at, Slates: []FliesNow{}, Met: MetReadings{met.WindMS, met.GustMS, nil}}
	if met.TemperatureK != nil {
		c := *met.TemperatureK - 273.15
		out.Met.TemperatureC = &c
	}
	for _, take := range state.Assessor.Takes() {
		a := take.AtIn(at, met)
		f := FliesNow{Slate: take.Slate.Slate, Flies: a.Clear(), Planned: take.At(at).Clear(), Stops: []assess.Finding{},
			TakesPerPack: a.Numbers.Flight.TakesPerPack, WindMS: a.Numbers.Weather.WindMS}
		for _, x := range a.Findings {
			switch x.Severity {
			case assess.Stop:
				f.Stops = append(f.Stops, x)
			case assess.Unknown:
				f.Unknown++
			}
		}
		out.Slates = append(out.Slates, f)
	}
	return out
}

// book opens the logbook when it is first needed.
func (s *Server) book(ctx context.Context) (*logbook.Log, error) {
	s.logMu.Lock()
	defer s.logMu.Unlock()
	if s.opened == nil {
		book, err := logbook.Open(ctx, s.Log, s.now)
		if err != nil {
			return nil, huma.Error503ServiceUnavailable("the logbook cannot be opened: " + err.Error())
		}
		s.opened = book
	}
	return s.opened, nil
}

// Close ends the use of the logbook and removes drawn films.
func (s *Server) Close() error {
	s.film.close()
	s.logMu.Lock()
	defer s.logMu.Unlock()
	if s.opened == nil {
		return nil
	}
	return s.opened.Close()
}

// log writes each entry by itself, in order, so that one that can never be written holds up no other. When
// the book is full or away, nothing after is tried: the device keeps it and sends it again.
func (s *Server) log(ctx context.Context, in *logInput) (*answer[Logged], error) {
	book, err := s.book(ctx)
	if err != nil {
		return nil, err
	}
	out := Logged{Results: []LogResult{}}
	wrote := false
	for _, e := range in.Body.Entries {
		r := LogResult{ID: e.ID}
		if err := e.Check(); err != nil {
			r.Refuse = err.Error()
			out.Results = append(out.Results, r)
			continue
		}
		receipts, err := book.Append(ctx, e)
		switch {
		case err == nil:
			r.Seq, r.Repeat = receipts[0].Seq, receipts[0].Repeat
			wrote = wrote || !r.Repeat
		case errors.Is(err, logbook.ErrConflict), errors.Is(err, logbook.ErrAbsent):
			r.Refuse = err.Error()
		default:
			if len(out.Results) == 0 {
				return nil, huma.Error503ServiceUnavailable("not written: " + err.Error())
			}
			return with(out), nil
		}
		out.Results = append(out.Results, r)
	}
	if wrote {
		s.hub.send(event{Kind: "log"})
	}
	return with(out), nil
}

// replan plans what is left of the shoot from a moment on and puts it in place of the day. It can be stopped, and a newer
// version overtakes it, as a recompute.
func (s *Server) replan(ctx context.Context, in *replanInput) (*answer[Replanned], error) {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	state, err := s.current()
	if err != nil {
		return nil, err
	}
	if state.planned == nil {
		return nil, huma.Error503ServiceUnavailable("the day is still being planned")
	}
	s.work.Lock()
	defer s.work.Unlock()
	s.mu.Lock()
	s.cancel = cancel
	s.mu.Unlock()
	s.hub.send(event{Kind: "planning"})
	defer s.hub.send(event{Kind: "rest"})
	planned, moves, err := state.planned.Again(ctx, call.Since{From: in.Body.From, Done: in.Body.Done, Committed: in.Body.Committed}, day.Options{Work: s.effort})
	if err != nil {
		return nil, huma.Error422UnprocessableEntity(err.Error())
	}
	if ctx.Err() != nil {
		return nil, huma.Error503ServiceUnavailable("stopped: the day stands as it was")
	}
	s.mu.RLock()
	same := s.state == state
	s.mu.RUnlock()
	if !same {
		return nil, huma.Error409Conflict("the shoot file changed meanwhile: plan again")
	}
	after := *state
	after.planned, after.Sheet = planned, planned.Sheet
	s.publish(&after, nil)
	if moves == nil {
		moves = []day.Move{}
	}
	return with(Replanned{after.Version, moves}), nil
}
