package server

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/desk/debrief"
	"fieldfare/desk/lesson"
	"fieldfare/desk/logbook"
	"fieldfare/plan/check"
)

// FlownSortie is a logged sortie as the log room lists it.
type FlownSortie struct {
	Sortie    string    `json:"sortie"`
	Aircraft  string    `json:"aircraft"`
	Pilot     string    `json:"pilot"`
	ShotClass string    `json:"shot_class"`
	TakeOff   time.Time `json:"take_off"`
	Landing   time.Time `json:"landing"`
	Slates    []string  `json:"slates" nullable:"false" doc:"of the takes logged"`
	Takes     int       `json:"takes"`
	Recording *Recorded `json:"recording" doc:"null while none is tied to it"`
}

// Recorded is a recording in the book.
type Recorded struct {
	Name   string `json:"name"`
	Format string `json:"format"`
	SHA256 string `json:"sha256"`
	Points int    `json:"points"`
}

// Sorties are all that were logged, the newest first.
type Sorties struct {
	Sorties []FlownSortie `json:"sorties" nullable:"false"`
}

func (s *Server) logRoomRoutes(api huma.API) {
	huma.Get(api, "/api/sorties", s.sorties)
	huma.Register(api, huma.Operation{OperationID: "post-recording", Method: http.MethodPost, Path: "/api/recording", MaxBodyBytes: largestRecording, BodyReadTimeout: 5 * time.Minute}, s.bring)
	huma.Get(api, "/api/review", func(ctx context.Context, in *struct {
		Sortie string `query:"sortie" required:"true"`
	}) (*answer[Reviewed], error) {
		state, r, err := s.reviewed(ctx, in.Sortie)
		if err != nil {
			return nil, err
		}
		return with(Reviewed{state.Version, r}), nil
	})
	huma.Post(api, "/api/score", s.score)
	huma.Get(api, "/api/ladder", s.ladder)
	huma.Post(api, "/api/practice", s.practice)
	huma.Get(api, "/api/lessons", func(ctx context.Context, _ *none) (*answer[Learnt], error) {
		_, lessons, err := s.lessons(ctx)
		if err != nil {
			return nil, err
		}
		return with(Learnt{lessons, []logbook.Receipt{}, check.Safety}), nil
	})
	huma.Post(api, "/api/lessons", func(ctx context.Context, in *acceptInput) (*answer[Learnt], error) {
		book, lessons, err := s.lessons(ctx)
		if err != nil {
			return nil, err
		}
		got, err := lessons.Accept(ctx, book, in.Body.Accept, author(in.Body.By, in.Body.Device))
		if err != nil {
			return nil, huma.Error422UnprocessableEntity(err.Error())
		}
		s.hub.send(event{Kind: "log"})
		if _, lessons, err = s.lessons(ctx); err != nil {
			return nil, err
		}
		return with(Learnt{lessons, got, check.Safety}), nil
	})
	huma.Get(api, "/api/packs", func(ctx context.Context, _ *none) (*answer[PackForecast], error) {
		all, err := s.standing(ctx)
		if err != nil {
			return nil, err
		}
		state, err := s.current()
		if err != nil {
			return nil, err
		}
		var names []string
		for i := range state.Assessor.Shoot.Packs {
			names = append(names, state.Assessor.Shoot.Packs[i].Name)
		}
		rules := lesson.CommonPackRules
		return with(PackForecast{debrief.Packs(all, rules, s.now(), names...), rules, check.Safety}), nil
	})
	huma.Get(api, "/api/report", func(ctx context.Context, in *reportInput) (*answer[Tables], error) {
		tables, _, err := s.tables(ctx, in)
		if err != nil {
			return nil, err
		}
		return with(Tables{tables}), nil
	})
}

// author makes entries of whoever is at the page.
func author(by, device string) debrief.Author {
	return func(body logbook.Body, at time.Time) (logbook.Entry, error) {
		if strings.TrimSpace(by) == "" {
			return logbook.Entry{}, errors.New("who writes? give initials or a name")
		}
		if at.IsZero() {
			at = time.Now()
		}
		b := make([]byte, 12)
		rand.Read(b) // never fails since Go 1.24
		e, err := logbook.New(hex.EncodeToString(b), strings.TrimSpace(by), at, body)
		e.Device = device
		return e, err
	}
}

func (s *Server) standing(ctx context.Context) ([]logbook.Standing, error) {
	book, err := s.book(ctx)
	if err != nil {
		return nil, err
	}
	all, err := book.Standing(ctx, logbook.Filter{})
	if err != nil {
		return nil, huma.Error500InternalServerError(err.Error())
	}
	return all, nil
}

func (s *Server) sorties(ctx context.Context, _ *none) (*answer[Sorties], error) {
	all, err := s.standing(ctx)
	if err != nil {
		return nil, err
	}
	out := Sorties{Sorties: []FlownSortie{}}
	for _, x := range debrief.Sorties(all) {
		b := x.Logged
		f := FlownSortie{Sortie: b.Sortie, Aircraft: b.Aircraft, Pilot: b.Pilot, ShotClass: string(b.ShotClass), TakeOff: b.TakeOff, Landing: b.Landing, Slates: []string{}, Takes: len(x.Takes)}
		for _, t := range x.Takes {
			if !slices.Contains(f.Slates, t.Slate) {
				f.Slates = append(f.Slates, t.Slate)
			}
		}
		if r := x.Recording; r != nil {
			f.Recording = &Recorded{r.Name, r.Format, r.SHA256, r.Points}
		}
		out.Sorties = append(out.Sorties, f)
	}
	slices.SortStableFunc(out.Sorties, func(a, b FlownSortie) int { return b.TakeOff.Compare(a.TakeOff) })
	return with(out), nil
}
