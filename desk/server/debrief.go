package server

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"sync"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/desk/debrief"
	"fieldfare/desk/draw"
	"fieldfare/desk/logbook"
	"fieldfare/desk/report"
	"fieldfare/desk/review"
	"fieldfare/plan/check"
)

// Reviewed is a sortie laid beside its plan.
type Reviewed struct {
	Version int64          `json:"version"`
	Report  *review.Report `json:"report"`
}

type scoreInput struct {
	Body struct {
		Sortie string `json:"sortie"`
		Class  string `json:"class" doc:"class of shot that was practised"`
		By     string `json:"by" maxLength:"80"`
		Device string `json:"device" maxLength:"80"`
	}
}

// Scored are the marks of a practice sortie.
type Scored struct {
	Person  string           `json:"person"`
	Class   string           `json:"class"`
	Marks   []debrief.Marked `json:"marks" nullable:"false"`
	Basis   string           `json:"basis"`
	Caution string           `json:"caution"`
}

// debriefs keeps the newest review: reading a recording takes a moment.
type debriefs struct {
	mu     sync.Mutex
	of     *State
	key    string
	report *review.Report
}

// reviewed lays a sortie beside the plan as it stands.
func (s *Server) reviewed(ctx context.Context, sortie string) (*State, *review.Report, error) {
	state, err := s.current()
	if err != nil {
		return nil, nil, err
	}
	book, err := s.book(ctx)
	if err != nil {
		return nil, nil, err
	}
	found, err := debrief.Find(ctx, book, sortie)
	if err != nil {
		return nil, nil, huma.Error404NotFound(err.Error())
	}
	if found.Recording == nil {
		return nil, nil, huma.Error409Conflict("no recording is tied to this sortie yet")
	}
	key, err := json.Marshal(found)
	if err != nil {
		return nil, nil, huma.Error500InternalServerError(err.Error())
	}
	d := &s.debriefs
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.of == nil || d.of.Assessor != state.Assessor || d.key != string(key) {
		r, _, err := debrief.Review(ctx, book, state.Assessor, sortie, nil)
		if err != nil {
			return nil, nil, huma.Error422UnprocessableEntity(err.Error())
		}
		d.of, d.key, d.report = state, string(key), r
	}
	return state, d.report, nil
}

const reviewMapMM = 190.0

// reviewMap draws the map of a reviewed sortie.
func (s *Server) reviewMap(w http.ResponseWriter, r *http.Request) {
	state, found, err := s.reviewed(r.Context(), r.URL.Query().Get("sortie"))
	if err != nil {
		refuse(w, err)
		return
	}
	m := draw.NewFlown(state.Assessor.Shoot, found)
	high := m.HeightMM(reviewMapMM)
	var out bytes.Buffer
	if err := draw.SVG(&out, "flown", "map of sortie "+found.Sortie+", planned and flown", reviewMapMM, high, func(p draw.Pen) { m.Draw(p, reviewMapMM, high) }); err != nil {
		refuse(w, err)
		return
	}
	deliver(w, "image/svg+xml", "", out.Bytes())
}

// reviewPaper prints a reviewed sortie.
func (s *Server) reviewPaper(w http.ResponseWriter, r *http.Request) {
	_, found, err := s.reviewed(r.Context(), r.URL.Query().Get("sortie"))
	if err != nil {
		refuse(w, err)
		return
	}
	var out bytes.Buffer
	if err := report.ReviewPDF(&out, found, found.To); err != nil {
		refuse(w, err)
		return
	}
	deliver(w, "application/pdf", "review-"+fileName(found.Sortie)+".pdf", out.Bytes())
}

// score marks the takes of a reviewed sortie as practice and writes the marks down.
func (s *Server) score(ctx context.Context, in *scoreInput) (*answer[Scored], error) {
	rules, err := s.rungs()
	if err != nil {
		return nil, err
	}
	_, r, err := s.reviewed(ctx, in.Body.Sortie)
	if err != nil {
		return nil, err
	}
	book, err := s.book(ctx)
	if err != nil {
		return nil, err
	}
	found, err := debrief.Find(ctx, book, in.Body.Sortie)
	if err != nil {
		return nil, huma.Error404NotFound(err.Error())
	}
	marks, err := debrief.Score(ctx, book, r, found.Logged, logbook.ShotClass(in.Body.Class), rules, author(in.Body.By, in.Body.Device))
	if err != nil {
		return nil, huma.Error422UnprocessableEntity(err.Error())
	}
	s.hub.send(event{Kind: "log"})
	return with(Scored{found.Logged.Pilot, in.Body.Class, marks, rules.Basis, check.Safety}), nil
}
