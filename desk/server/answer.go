package server

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"

	feasible "fieldfare/desk/answer"
	"fieldfare/desk/book"
	"fieldfare/desk/travel"
	"fieldfare/model/unit"
	"fieldfare/plan/check"
	"fieldfare/plan/dossier"
	"fieldfare/plan/shoot"
)

// answers keeps the newest feasibility answer: looking through weeks of light takes seconds.
type answers struct {
	mu     sync.Mutex
	of     *State
	key    string
	answer *feasible.Answer
}

type answerInput struct {
	From string `query:"from" doc:"first date to look for light; 14 days before the shoot where left out"`
	To   string `query:"to" doc:"last date; 14 days after the shoot where left out"`
	Lost string `query:"lost" doc:"share of days that weather costs at this place and season, as 30 %; unknown where left out"`
	Job  string `query:"job" maxLength:"40" doc:"progress is told under this name"`
}

// Feasible is the feasibility answer with the version it belongs to.
type Feasible struct {
	Version int64            `json:"version"`
	Answer  *feasible.Answer `json:"answer"`
}

// Travelling are the travel papers with the version they belong to.
type Travelling struct {
	Version int64          `json:"version"`
	Papers  *travel.Papers `json:"papers"`
	Caution string         `json:"caution"`
}

func (s *Server) paperRoutes(api huma.API) {
	huma.Get(api, "/api/answer", func(ctx context.Context, in *answerInput) (*answer[Feasible], error) {
		state, a, err := s.answer(ctx, in)
		if err != nil {
			return nil, err
		}
		return with(Feasible{state.Version, a}), nil
	})
	huma.Get(api, "/api/travel", func(context.Context, *none) (*answer[Travelling], error) {
		state, err := s.current()
		if err != nil {
			return nil, err
		}
		p, err := travel.Of(s.Dir, state.Assessor)
		if err != nil {
			return nil, huma.Error422UnprocessableEntity(err.Error())
		}
		return with(Travelling{state.Version, p, check.Safety}), nil
	})
	s.filmRoutes(api)
}

// around is how far before and after the shoot light is looked for unless dates are given.
const around = 14

// answer looks for light on an assessor of its own dates, since the page's must not see its almanac change.
func (s *Server) answer(ctx context.Context, in *answerInput) (*State, *feasible.Answer, error) {
	state, err := s.ready()
	if err != nil {
		return nil, nil, err
	}
	dates := state.Assessor.Shoot.Dates
	o := feasible.Options{From: shift(dates[0], -around), To: shift(dates[len(dates)-1], around), Lost: -1}
	wrong := slices.Concat(readDate("from", in.From, &o.From), readDate("to", in.To, &o.To))
	if strings.TrimSpace(in.Lost) != "" {
		v, err := unit.ParseRatio(in.Lost)
		if err == nil && (v < 0 || v > 0.9) {
			err = fmt.Errorf("%s: expected a share of days from 0 to 90 %%", in.Lost)
		}
		if err != nil {
			wrong = append(wrong, &huma.ErrorDetail{Location: "lost", Message: err.Error(), Value: in.Lost})
		}
		o.Lost = float64(v)
	}
	if len(wrong) == 0 && o.To.Before(o.From) {
		wrong = append(wrong, &huma.ErrorDetail{Location: "to", Message: fmt.Sprintf("to: %s lies before from, %s: swap them", o.To, o.From), Value: in.To})
	}
	if o.To.Midnight(time.UTC).Sub(o.From.Midnight(time.UTC)) > 400*24*time.Hour {
		wrong = append(wrong, &huma.ErrorDetail{Location: "to", Message: "at most 400 days are looked through at once", Value: in.To})
	}
	if len(wrong) > 0 {
		return nil, nil, huma.Error422UnprocessableEntity("the question could not be read", wrong...)
	}
	key := fmt.Sprint(o.From, o.To, o.Lost)
	x := &s.answers
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.of == nil || x.of.Assessor != state.Assessor || x.of.Sheet != state.Sheet || x.key != key {
		a, err := state.Assessor.Over(ctx, o.From, o.To)
		if err != nil {
			return nil, nil, huma.Error422UnprocessableEntity(err.Error())
		}
		tell := s.progress(in.Job)
		slates := int64(len(state.Check.Slates))
		at := map[string]int64{}
		for i := range state.Check.Slates {
			at[state.Check.Slates[i].Slate] = int64(i)
		}
		if tell != nil {
			o.Progress = func(slate string, done, all int) {
				tell(at[slate]*1000+int64(1000*done/max(1, all)), slates*1000)
			}
		}
		d, err := dossier.Write(ctx, a, state.Check)
		if err != nil {
			return nil, nil, huma.Error422UnprocessableEntity(err.Error())
		}
		found, err := feasible.Compose(ctx, a, state.Check, state.Sheet, d, o)
		if err != nil {
			return nil, nil, huma.Error422UnprocessableEntity(err.Error())
		}
		x.of, x.key, x.answer = state, key, found
	}
	return state, x.answer, nil
}

func shift(d shoot.Date, days int) shoot.Date {
	return shoot.DateOf(d.Midnight(time.UTC).AddDate(0, 0, days))
}

// readDate reads a date where one is given, and says what is wrong with it.
func readDate(field, text string, date *shoot.Date) []error {
	if text == "" {
		return nil
	}
	if err := date.UnmarshalText([]byte(text)); err != nil {
		return []error{&huma.ErrorDetail{Location: field, Message: field + ": " + err.Error(), Value: text}}
	}
	return nil
}

// ready is the state once its day is planned.
func (s *Server) ready() (*State, error) {
	state, err := s.current()
	if err == nil && state.Sheet == nil {
		err = huma.Error503ServiceUnavailable("the day is still being planned")
	}
	return state, err
}

func (s *Server) printAnswer(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	state, a, err := s.answer(r.Context(), &answerInput{From: q.Get("from"), To: q.Get("to"), Lost: q.Get("lost"), Job: q.Get("job")})
	if err != nil {
		refuse(w, err)
		return
	}
	pdf, err := a.Print(state.Assessor.Shoot, state.Source, s.Version, q.Get("letter") != "")
	if err != nil {
		refuse(w, err)
		return
	}
	deliver(w, "application/pdf", "answer.pdf", pdf)
}

func (s *Server) printTravel(w http.ResponseWriter, r *http.Request) {
	state, err := s.current()
	if err != nil {
		refuse(w, err)
		return
	}
	p, err := travel.Of(s.Dir, state.Assessor)
	if err != nil {
		refuse(w, err)
		return
	}
	pdf, err := p.Print(state.Assessor.Shoot, state.Source, s.Version, r.URL.Query().Get("letter") != "")
	if err != nil {
		refuse(w, err)
		return
	}
	deliver(w, "application/pdf", "travel.pdf", pdf)
}

// bundle packs the papers for an authority.
func (s *Server) bundle(w http.ResponseWriter, r *http.Request) {
	state, err := s.ready()
	if err != nil {
		refuse(w, err)
		return
	}
	zip, err := book.Bundle(r.Context(), book.Content{Assessor: state.Assessor, Check: state.Check, Sheet: state.Sheet, Source: state.Source, Version: s.Version, Letter: r.URL.Query().Get("letter") != ""}, s.Dir)
	if err != nil {
		refuse(w, err)
		return
	}
	deliver(w, "application/zip", "authority.zip", zip)
}
