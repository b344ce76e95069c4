package server

import (
	"context"

	"fieldfare/desk/debrief"
	"fieldfare/desk/lesson"
	"fieldfare/desk/logbook"
)

// Learnt is what the log teaches, old beside new.
type Learnt struct {
	debrief.Lessons
	Accepted []logbook.Receipt `json:"accepted" nullable:"false"`
	Caution  string            `json:"caution"`
}

type acceptInput struct {
	Body struct {
		Accept []string `json:"accept" minItems:"1" maxItems:"50" nullable:"false" doc:"quantity:subject"`
		By     string   `json:"by" maxLength:"80"`
		Device string   `json:"device" maxLength:"80"`
	}
}

// PackForecast is the health of every pack.
type PackForecast struct {
	Packs   []lesson.Health  `json:"packs" nullable:"false"`
	Rules   lesson.PackRules `json:"rules"`
	Caution string           `json:"caution"`
}

func (s *Server) lessons(ctx context.Context) (*logbook.Log, debrief.Lessons, error) {
	state, err := s.current()
	if err != nil {
		return nil, debrief.Lessons{}, err
	}
	all, err := s.standing(ctx)
	if err != nil {
		return nil, debrief.Lessons{}, err
	}
	book, err := s.book(ctx)
	return book, debrief.Learn(all, state.Assessor.Shoot), err
}
