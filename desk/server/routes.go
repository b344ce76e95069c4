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

type slateInput struct {
	Slate string `path:"slate" doc:"slate's identity, as 4B"`
	At    string `query:"at" doc:"instant in RFC 3339; the slate's best moment where left out"`
}

func (s *Server) routes(api huma.API) {
	huma.Get(api, "/api/check", func(ctx context.Context, _ *struct{}) (*answer[check.Check], error) {
		state, err := s.now()
		if err != nil {
			return nil, problem(err)
		}
		return &answer[check.Check]{*state.Check}, nil
	})
	huma.Get(api, "/api/day", func(ctx context.Context, _ *struct{}) (*answer[call.Sheet], error) {
		state, err := s.now()
		if err != nil {
			return nil, problem(err)
		}
		return &answer[call.Sheet]{*state.Sheet}, nil
	})
	huma.Get(api, "/api/slates/{slate}", func(ctx context.Context, in *slateInput) (*answer[assess.Assessment], error) {
		state, err := s.now()
		if err != nil {
			return nil, problem(err)
		}
		take := state.Assessor.Take(in.Slate)
		if take == nil {
			return nil, huma.Error404NotFound("no slate " + in.Slate + " in this shoot")
		}
		at, err := state.moment(in)
		if err != nil {
			return nil, huma.Error422UnprocessableEntity(err.Error())
		}
		return &answer[assess.Assessment]{take.At(at)}, nil
	})
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
