package server

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
)

type answer[T any] struct{ Body T }

func with[T any](body T) *answer[T] { return &answer[T]{body} }

type none struct{}

type slateInput struct {
	Slate string `path:"slate" doc:"slate's identity, as 4B"`
	At    string `query:"at" doc:"instant in RFC 3339; the slate's best moment where left out"`
}

// Assessed is an assessment with the version it belongs to.
type Assessed struct {
	Version    int64             `json:"version"`
	Assessment assess.Assessment `json:"assessment"`
}

func (s *Server) routes(api huma.API) {
	s.editRoutes(api)
	huma.Post(api, "/api/stop", func(context.Context, *none) (*answer[none], error) {
		s.Cancel()
		return with(none{}), nil
	})
	huma.Get(api, "/api/state", func(ctx context.Context, _ *none) (*answer[Snapshot], error) {
		return with(s.snapshot()), nil
	})
	huma.Get(api, "/api/check", func(ctx context.Context, _ *none) (*answer[check.Check], error) {
		state, err := s.current()
		if err != nil {
			return nil, err
		}
		return with(*state.Check), nil
	})
	huma.Get(api, "/api/day", func(ctx context.Context, _ *none) (*answer[call.Sheet], error) {
		state, err := s.current()
		if err != nil {
			return nil, err
		}
		if state.Sheet == nil {
			return nil, huma.Error503ServiceUnavailable("the day is still being planned")
		}
		return with(*state.Sheet), nil
	})
	huma.Get(api, "/api/slates/{slate}/hours", s.hours)
	huma.Get(api, "/api/slates/{slate}/path", s.path)
	huma.Get(api, "/api/site", s.site)
	huma.Get(api, "/api/slates/{slate}", func(ctx context.Context, in *slateInput) (*answer[Assessed], error) {
		state, take, at, err := s.takeAt(in)
		if err != nil {
			return nil, err
		}
		return with(Assessed{state.Version, take.At(at)}), nil
	})
}

// take returns the state and one of its slates.
func (s *Server) take(slate string) (*State, *assess.Take, error) {
	state, err := s.current()
	if err != nil {
		return nil, nil, err
	}
	take := state.Assessor.Take(slate)
	if take == nil {
		return nil, nil, huma.Error404NotFound("no slate " + slate + " in this shoot")
	}
	return state, take, nil
}

// takeAt returns the slate that is asked for, and the instant.
func (s *Server) takeAt(in *slateInput) (*State, *assess.Take, time.Time, error) {
	state, take, err := s.take(in.Slate)
	if err != nil {
		return nil, nil, time.Time{}, err
	}
	at, err := state.moment(in)
	if err != nil {
		return nil, nil, time.Time{}, huma.Error422UnprocessableEntity(err.Error())
	}
	return state, take, at, nil
}

func (state *State) moment(in *slateInput) (time.Time, error) {
	if in.At != "" {
		return time.Parse(time.RFC3339, in.At)
	}
	for _, x := range state.Check.Slates {
		if x.Slate == in.Slate {
			return x.At, nil
		}
	}
	return time.Time{}, errors.New("no moment is known for this slate: give at=")
}

// problem turns mistakes in the folder into an answer that lists each.
func problem(err error) error {
	if err == nil {
		return huma.Error503ServiceUnavailable("the folder is being read")
	}
	var mistakes shoot.Mistakes
	if errors.As(err, &mistakes) {
		details := make([]error, len(mistakes))
		for i, m := range mistakes {
			details[i] = m
		}
		return huma.NewError(http.StatusConflict, "the shoot folder has mistakes", details...)
	}
	return huma.NewError(http.StatusConflict, err.Error())
}
