package server

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/window"
)

// Ranked are the rigs for a slate at an instant, the best first, with the version they belong to.
type Ranked struct {
	Version int64              `json:"version"`
	At      time.Time          `json:"at"`
	Rigs    []assess.Candidate `json:"rigs"`
	Caution string             `json:"caution"`
}

type seasonInput struct {
	Slate string `path:"slate"`
	From  string `query:"from" doc:"first date, as 2026-09-22; the shoot's first where left out"`
	To    string `query:"to" doc:"last date; the shoot's last where left out"`
	Top   int    `query:"top" minimum:"1" maximum:"366" default:"10" doc:"how many days, the best first"`
}

// SlateSeason are the days of most light for a slate, the best first.
type SlateSeason struct {
	Version int64             `json:"version"`
	From    string            `json:"from"`
	To      string            `json:"to"`
	Days    []window.LightDay `json:"days"`
	Never   int               `json:"days_without"`
	Caution string            `json:"caution"`
}

func (s *Server) choiceRoutes(api huma.API) {
	huma.Get(api, "/api/slates/{slate}/rigs", s.rigs)
	huma.Get(api, "/api/slates/{slate}/season", s.season)
}

func (s *Server) rigs(ctx context.Context, in *slateInput) (*answer[Ranked], error) {
	state, take, at, err := s.takeAt(in)
	if err != nil {
		return nil, err
	}
	rigs, err := state.Assessor.Rigs(ctx, in.Slate, at)
	if err != nil {
		return nil, huma.Error422UnprocessableEntity(err.Error())
	}
	return with(Ranked{state.Version, at.In(take.Zone()), rigs, check.Safety}), nil
}

// yearDays is the longest span that one question may look through.
const yearDays = 366

func (s *Server) season(ctx context.Context, in *seasonInput) (*answer[SlateSeason], error) {
	state, take, err := s.take(in.Slate)
	if err != nil {
		return nil, err
	}
	dates := state.Assessor.Shoot.Dates
	first, last := dates[0], dates[len(dates)-1]
	if wrong := slices.Concat(readDate("from", in.From, &first), readDate("to", in.To, &last)); len(wrong) > 0 {
		return nil, huma.Error422UnprocessableEntity("the question could not be read", wrong...)
	}
	if in.To == "" && last.Before(first) {
		last = first
	}
	zone := take.Zone()
	switch span := last.Midnight(zone).Sub(first.Midnight(zone)); {
	case last.Before(first):
		return nil, huma.Error422UnprocessableEntity(fmt.Sprintf("to: %s lies before from, %s: swap them", last, first))
	case span > yearDays*24*time.Hour:
		return nil, huma.Error422UnprocessableEntity(fmt.Sprintf("to: %s is more than a year after %s: ask for less at once", last, first))
	}
	a, err := state.Assessor.Over(ctx, first, last)
	if err != nil {
		return nil, huma.Error422UnprocessableEntity(err.Error())
	}
	all, err := window.Season(ctx, a.Take(in.Slate), first, last, nil)
	if err != nil {
		return nil, huma.Error503ServiceUnavailable("stopped: " + err.Error())
	}
	days, never := window.Best(all, in.Top)
	return with(SlateSeason{state.Version, first.String(), last.String(), days, never, check.Safety + " " + window.LightOnly}), nil
}
