package server

import (
	"context"
	"sync"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
)

// Weighed is how likely each slate of the day is got, with the version it belongs to.
type Weighed struct {
	Version int64      `json:"version"`
	Odds    *call.Odds `json:"odds"`
	Caution string     `json:"caution"`
}

// chances keeps the newest odds, so that the calmer day on the page is the one put in place.
type chances struct {
	mu   sync.Mutex
	of   *State
	odds *call.Odds
}

type calmerInput struct {
	Body struct {
		Version int64 `json:"version" doc:"version that the odds belong to"`
	}
}

func (s *Server) oddsRoutes(api huma.API) {
	huma.Get(api, "/api/odds", func(ctx context.Context, _ *none) (*answer[Weighed], error) {
		state, err := s.current()
		if err != nil {
			return nil, err
		}
		odds, err := s.weigh(ctx, state)
		if err != nil {
			return nil, err
		}
		return with(Weighed{state.Version, odds, check.Safety}), nil
	})
	huma.Post(api, "/api/calmer", s.calmer)
}

// weigh samples delays over the state's day; whoever leaves meanwhile ends it.
func (s *Server) weigh(ctx context.Context, state *State) (*call.Odds, error) {
	s.chances.mu.Lock()
	defer s.chances.mu.Unlock()
	if s.chances.of == state {
		return s.chances.odds, nil
	}
	if state.planned == nil {
		return nil, huma.Error503ServiceUnavailable("the day is still being planned")
	}
	odds, err := state.planned.Odds(ctx, 0, day.Options{Work: s.effort})
	if err != nil {
		return nil, huma.Error422UnprocessableEntity(err.Error())
	}
	if ctx.Err() != nil {
		return nil, huma.Error503ServiceUnavailable("stopped")
	}
	s.chances.of, s.chances.odds = state, odds
	return odds, nil
}

// calmer puts the calmer day of the odds in place of the planned one.
func (s *Server) calmer(_ context.Context, in *calmerInput) (*answer[Snapshot], error) {
	s.work.Lock()
	defer s.work.Unlock()
	state, err := s.current()
	if err != nil {
		return nil, err
	}
	s.chances.mu.Lock()
	odds := s.chances.odds
	mine := s.chances.of == state && in.Body.Version == state.Version
	s.chances.mu.Unlock()
	switch {
	case !mine:
		return nil, huma.Error409Conflict("the day changed meanwhile: ask for its odds again")
	case odds.Calmer == nil:
		return nil, huma.Error422UnprocessableEntity("no calmer day was found")
	}
	after := *state
	after.planned, after.Sheet = state.planned.Calm(odds.Calmer), odds.Calmer.Sheet
	s.publish(&after, nil)
	return with(s.snapshot()), nil
}
