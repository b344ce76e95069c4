package server

import (
	"context"
	"errors"
	"net/http"
	"path"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/desk/debrief"
	"fieldfare/desk/logbook"
	"fieldfare/desk/track"
	"fieldfare/model/unit"
	"fieldfare/plan/check"
)

const largestRecording = 64 << 20 // a two-hour recording at 10 Hz is about 15 MB

type recordingInput struct {
	Sortie  string `query:"sortie" required:"true" doc:"the logged sortie it belongs to"`
	Name    string `query:"name" required:"true" maxLength:"200" doc:"of the file"`
	By      string `query:"by" maxLength:"80" doc:"who brings it"`
	Device  string `query:"device" maxLength:"80"`
	Job     string `query:"job" maxLength:"40" doc:"progress is told under this name"`
	Columns string `query:"columns" doc:"CSV: the column map, as time=UTC:iso,lat=Latitude:deg"`
	Zone    string `query:"zone" doc:"of times written without one"`
	Start   string `query:"start" doc:"when the recording began, if it holds no date; RFC 3339"`
	Offset  string `query:"offset" doc:"to add to the recorder's clock, with its unit, as -7200 s"`
	Raise   string `query:"raise" doc:"to add to the recorder's heights, with its unit, as -47 m"`
	RawBody []byte `contentType:"application/octet-stream"`
}

// Import says what became of a recording: it is in the book, or an answer is needed first.
type Import struct {
	Brought  *debrief.Brought `json:"brought" doc:"null while a question is open"`
	Question *ImportQuestion  `json:"question"`
	Caution  string           `json:"caution"`
}

// ImportQuestion is what a recording leaves open.
type ImportQuestion struct {
	Ask     string        `json:"ask" enum:"columns,zone,start,offset,file"`
	What    string        `json:"what"`
	Choices []string      `json:"choices" nullable:"false"`
	Header  []string      `json:"header" nullable:"false" doc:"of a CSV file"`
	Rows    [][]string    `json:"rows" nullable:"false" doc:"the first of a CSV file"`
	Guess   []ColumnGuess `json:"guess" nullable:"false"`
	Roles   []track.Role  `json:"roles" nullable:"false"`
}

// ColumnGuess is what one column seems to hold; an empty unit is asked.
type ColumnGuess struct {
	Role   string `json:"role"`
	Header string `json:"header"`
	Unit   string `json:"unit"`
}

// bring ties a recording to a sortie, or asks what the file leaves open.
func (s *Server) bring(ctx context.Context, in *recordingInput) (*answer[Import], error) {
	state, err := s.current()
	if err != nil {
		return nil, err
	}
	book, err := s.book(ctx)
	if err != nil {
		return nil, err
	}
	say := debrief.Answers{Columns: in.Columns, Zone: in.Zone}
	var wrong []error
	if in.Start != "" {
		if say.Start, err = time.Parse(time.RFC3339, in.Start); err != nil {
			wrong = append(wrong, &huma.ErrorDetail{Location: "start", Message: "expected a time as 2026-06-21T10:00:00Z", Value: in.Start})
		}
	}
	if in.Offset != "" {
		v, err := unit.ParseDuration(in.Offset)
		if err != nil {
			wrong = append(wrong, &huma.ErrorDetail{Location: "offset", Message: err.Error(), Value: in.Offset})
		}
		seconds := float64(v)
		say.OffsetS = &seconds
	}
	if in.Raise != "" {
		v, err := unit.ParseLength(in.Raise)
		if err != nil {
			wrong = append(wrong, &huma.ErrorDetail{Location: "raise", Message: err.Error(), Value: in.Raise})
		}
		say.RaiseM = float64(v)
	}
	if len(wrong) > 0 {
		return nil, huma.Error422UnprocessableEntity("the answers could not be read", wrong...)
	}
	out, err := debrief.Bring(ctx, book, state.Assessor, in.Sortie, path.Base(strings.ReplaceAll(in.Name, `\`, "/")), in.RawBody, say, author(in.By, in.Device), s.progress(in.Job))
	var q *track.Question
	switch {
	case errors.As(err, &q):
		return with(Import{Question: question(q, in.RawBody), Caution: check.Safety}), nil
	case errors.Is(err, logbook.ErrFull), errors.Is(err, logbook.ErrDamaged):
		return nil, huma.Error503ServiceUnavailable(err.Error())
	case err != nil:
		return nil, huma.Error422UnprocessableEntity(err.Error())
	}
	if !out.Receipt.Repeat {
		s.hub.send(event{Kind: "log"})
	}
	return with(Import{Brought: &out, Caution: check.Safety}), nil
}

func question(q *track.Question, data []byte) *ImportQuestion {
	out := &ImportQuestion{Ask: string(q.Ask), What: q.What, Choices: q.Choices, Header: []string{}, Rows: [][]string{}, Guess: []ColumnGuess{}, Roles: []track.Role{}}
	if out.Choices == nil {
		out.Choices = []string{}
	}
	if q.Ask != track.AskColumns {
		return out
	}
	out.Roles = track.Roles()
	if header, rows, err := track.Preview(data, 4); err == nil {
		out.Header = header
		out.Rows = append(out.Rows, rows...)
	}
	if guess, err := track.GuessColumns(data); err == nil {
		for _, c := range guess {
			out.Guess = append(out.Guess, ColumnGuess{c.Role, c.Header, c.Unit})
		}
	}
	return out
}

// original gives back an imported file byte for byte.
func (s *Server) original(w http.ResponseWriter, r *http.Request) {
	book, err := s.book(r.Context())
	if err != nil {
		refuse(w, err)
		return
	}
	o, err := book.Original(r.Context(), r.PathValue("sha256"))
	switch {
	case errors.Is(err, logbook.ErrAbsent):
		http.Error(w, err.Error(), http.StatusNotFound)
	case err != nil:
		refuse(w, err)
	default:
		deliver(w, "application/octet-stream", fileName(o.Name), o.Content)
	}
}
