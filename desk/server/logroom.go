package server

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/desk/debrief"
	"fieldfare/desk/draw"
	"fieldfare/desk/lesson"
	"fieldfare/desk/logbook"
	"fieldfare/desk/report"
	"fieldfare/desk/review"
	"fieldfare/desk/skill"
	"fieldfare/desk/track"
	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
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

// Reviewed is a sortie laid beside its plan.
type Reviewed struct {
	Version int64          `json:"version"`
	Report  *review.Report `json:"report"`
}

// Ladders are where every pilot stands.
type Ladders struct {
	People  []PilotLadder `json:"people" nullable:"false"`
	Basis   string        `json:"basis"`
	Caution string        `json:"caution"`
}

// PilotLadder is one pilot's standing, what to practise next, and what this shoot asks.
type PilotLadder struct {
	Person string           `json:"person"`
	Rungs  []skill.Standing `json:"rungs" nullable:"false"`
	Next   *skill.Rung      `json:"next" doc:"the lowest rung not yet held; null when all are"`
	Asked  []review.Finding `json:"asked" nullable:"false" doc:"slates of this shoot that ask for a rung not held"`
}

type practiceInput struct {
	Body struct {
		Person string `json:"person" maxLength:"80"`
		Class  string `json:"class" doc:"class of shot to practise"`
		Place  string `json:"place" doc:"middle of open, level ground away from people, as 46.6 N, 10.3 E"`
		Date   string `json:"date" doc:"day of practice, as 2026-09-22"`
		Write  bool   `json:"write" doc:"write the folder; else only say what would be written"`
	}
}

// Practising is a practice shoot, written or to be written.
type Practising struct {
	Dir      string           `json:"dir"`
	Command  string           `json:"command" doc:"the same by the command line"`
	Written  bool             `json:"written"`
	Moves    []string         `json:"moves" nullable:"false"`
	Grade    skill.Grade      `json:"grade"`
	Findings []review.Finding `json:"findings" nullable:"false" doc:"what the site's files say of the ground"`
	Basis    string           `json:"basis"`
	Caution  string           `json:"caution"`
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

type reportInput struct {
	What string `query:"what" required:"true" enum:"hours,aircraft,permits,upkeep,day"`
	Per  string `query:"per" enum:"day,month,year,all" default:"month"`
	Day  string `query:"day" doc:"of a production report, as 2026-09-22; the first shooting day where left out"`
}

// Tables is a report.
type Tables struct {
	Tables []*report.Table `json:"tables" nullable:"false"`
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

// progress tells each twentieth of a job's work to the pages, under its name, and twice a second between.
func (s *Server) progress(job string) func(done, of int64) {
	if job == "" {
		return nil
	}
	told, at := int64(-1), time.Time{}
	return func(done, of int64) {
		if step, now := done*20/max(1, of), time.Now(); step > told || now.Sub(at) > time.Second/2 {
			told, at = step, now
			s.hub.send(event{Kind: "progress", Job: job, Done: done, Of: of})
		}
	}
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

// ladderFile is the crew's own ladder in the shoot folder; it may be left out.
const ladderFile = "ladder.json"

func (s *Server) rungs() (skill.Rules, error) {
	f, err := os.Open(filepath.Join(s.Dir, ladderFile))
	if errors.Is(err, os.ErrNotExist) {
		return skill.CommonRules(), nil
	}
	if err != nil {
		return skill.Rules{}, err
	}
	defer f.Close()
	return skill.ReadRules(f)
}

func (s *Server) ladder(ctx context.Context, _ *none) (*answer[Ladders], error) {
	state, err := s.current()
	if err != nil {
		return nil, err
	}
	rules, err := s.rungs()
	if err != nil {
		return nil, huma.Error409Conflict(ladderFile + ": " + err.Error())
	}
	all, err := s.standing(ctx)
	if err != nil {
		return nil, err
	}
	sh := state.Assessor.Shoot
	var crew []string
	for i := range sh.Rigs {
		crew = append(crew, sh.Rigs[i].Pilot)
	}
	out := Ladders{People: []PilotLadder{}, Basis: rules.Basis, Caution: check.Safety}
	for _, name := range debrief.People(all, crew...) {
		p := PilotLadder{Person: name, Rungs: skill.Ladder(name, all, rules, s.now()), Asked: []review.Finding{}}
		if next, ok := skill.Session(p.Rungs, rules); ok {
			p.Next = &next
		}
		for i := range sh.Slates {
			t := state.Assessor.Take(sh.Slates[i].Slate)
			if t == nil || t.Rig.Pilot != name {
				continue
			}
			need := skill.Need(name, logbook.ShotClass(t.MoveNumbers().Class), sh.Slates[i].Slate, p.Rungs, rules)
			if need == nil {
				continue
			}
			if at := slices.IndexFunc(p.Asked, func(f review.Finding) bool { return f.What == need.What && f.Value == need.Value }); at >= 0 {
				p.Asked[at].Slate += " " + need.Slate // one class, said once
				continue
			}
			p.Asked = append(p.Asked, *need)
		}
		out.People = append(out.People, p)
	}
	return with(out), nil
}

// score marks the takes of a reviewed sortie as practice and writes the marks down.
func (s *Server) score(ctx context.Context, in *scoreInput) (*answer[Scored], error) {
	rules, err := s.rungs()
	if err != nil {
		return nil, huma.Error409Conflict(ladderFile + ": " + err.Error())
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

// practice writes a practice shoot beside this one, on the same terrain.
func (s *Server) practice(_ context.Context, in *practiceInput) (*answer[Practising], error) {
	state, err := s.current()
	if err != nil {
		return nil, err
	}
	rules, err := s.rungs()
	if err != nil {
		return nil, huma.Error409Conflict(ladderFile + ": " + err.Error())
	}
	b := &in.Body
	sh := state.Assessor.Shoot
	course := skill.Course{Class: logbook.ShotClass(b.Class), Pilot: strings.TrimSpace(b.Person), Zone: state.Check.Zone, Terrain: filepath.Join(s.Dir, filepath.FromSlash(sh.Site.Terrain))}
	var wrong []error
	i := slices.IndexFunc(rules.Rungs, func(r skill.Rung) bool { return r.Class == course.Class })
	if i < 0 {
		wrong = append(wrong, &huma.ErrorDetail{Location: "class", Message: "not on the ladder", Value: b.Class})
	}
	if course.Pilot == "" {
		wrong = append(wrong, &huma.ErrorDetail{Location: "person", Message: "say who practises"})
	}
	if err := course.Place.UnmarshalText([]byte(b.Place)); err != nil {
		wrong = append(wrong, &huma.ErrorDetail{Location: "place", Message: err.Error(), Value: b.Place})
	}
	if err := course.Date.UnmarshalText([]byte(b.Date)); err != nil {
		wrong = append(wrong, &huma.ErrorDetail{Location: "date", Message: err.Error(), Value: b.Date})
	}
	if len(wrong) > 0 {
		return nil, huma.Error422UnprocessableEntity("the practice could not be read", wrong...)
	}
	rung := rules.Rungs[i]
	base, err := filepath.Abs(s.Dir)
	if err != nil {
		return nil, huma.Error500InternalServerError(err.Error())
	}
	dir := filepath.Join(filepath.Dir(base), "practice-"+fileName(course.Pilot)+"-"+strings.ReplaceAll(b.Class, " ", "-")+"-"+course.Date.String())
	out := Practising{Dir: dir, Moves: rung.Moves, Grade: rung.Grade, Findings: ground(sh, course.Place), Basis: rules.Basis, Caution: check.Safety,
		Command: fmt.Sprintf("fieldfare practice %s --at %s --date %s --terrain %s --pilot %s --class %s --zone %s", word(dir), word(course.Place.String()), course.Date, word(course.Terrain), word(course.Pilot), word(b.Class), course.Zone)}
	if !b.Write {
		return with(out), nil
	}
	if err := skill.WritePractice(dir, course, rung); err != nil {
		return nil, huma.Error422UnprocessableEntity(err.Error())
	}
	out.Written = true
	return with(out), nil
}

// word quotes a word of a command line for a POSIX shell.
func word(text string) string {
	if text != "" && !strings.ContainsFunc(text, func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < 'A' || r > 'Z') && (r < '0' || r > '9') && !strings.ContainsRune("-_./:", r)
	}) {
		return text
	}
	return "'" + strings.ReplaceAll(text, "'", `'\''`) + "'"
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
	return book, debrief.Learn(all, &state.Assessor.Shoot.House), err
}

// tables makes a report of the log in the site's zone.
func (s *Server) tables(ctx context.Context, in *reportInput) (tables []*report.Table, title string, err error) {
	state, err := s.current()
	if err != nil {
		return nil, "", err
	}
	all, err := s.standing(ctx)
	if err != nil {
		return nil, "", err
	}
	zone := state.Assessor.Shoot.Location()
	per := report.Period(in.Per)
	switch in.What {
	case "hours":
		tables = []*report.Table{report.People(all, per, zone)}
	case "aircraft":
		tables = []*report.Table{report.Aircraft(all, per, zone)}
	case "permits":
		tables = []*report.Table{report.Permits(all, per, zone)}
	case "upkeep":
		tables = []*report.Table{report.Upkeep(all, s.now())}
	case "day":
		day := state.Assessor.Shoot.Dates[0]
		if in.Day != "" {
			if err := day.UnmarshalText([]byte(in.Day)); err != nil {
				return nil, "", huma.Error422UnprocessableEntity(err.Error())
			}
		}
		return report.Production(all, day.Midnight(zone).Add(12*time.Hour), zone), "Production report", nil
	default:
		return nil, "", huma.Error422UnprocessableEntity(fmt.Sprintf("report %q is not one of hours, aircraft, permits, upkeep, day", in.What))
	}
	return tables, tables[0].Title, nil
}

// reportFile sends a report as CSV or PDF.
func (s *Server) reportFile(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	in := &reportInput{What: q.Get("what"), Per: q.Get("per"), Day: q.Get("day")}
	if in.Per == "" {
		in.Per = "month"
	}
	tables, title, err := s.tables(r.Context(), in)
	if err != nil {
		refuse(w, err)
		return
	}
	var out bytes.Buffer
	if r.PathValue("form") == "pdf" {
		if err := report.PDF(&out, title, s.now(), tables...); err != nil {
			refuse(w, err)
			return
		}
		deliver(w, "application/pdf", in.What+".pdf", out.Bytes())
		return
	}
	if err := report.CSV(&out, tables...); err != nil {
		refuse(w, err)
		return
	}
	deliver(w, "text/csv; charset=utf-8", in.What+".csv", out.Bytes())
}

// refuse sends an error as text, with the status that it carries.
func refuse(w http.ResponseWriter, err error) {
	status := http.StatusUnprocessableEntity
	var known huma.StatusError
	if errors.As(err, &known) {
		status = known.GetStatus()
	}
	http.Error(w, err.Error(), status)
}

// deliver sends a file; one with a name is kept by the browser, not shown.
func deliver(w http.ResponseWriter, kind, name string, data []byte) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Cache-Control", "no-cache")
	if name != "" {
		h.Set("Content-Disposition", `attachment; filename="`+name+`"`)
	}
	w.Write(data)
}

// fileName is a text made fit for the name of a file.
func fileName(text string) string {
	clean := strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' || r == '.' || r == '_' {
			return r
		}
		return '-'
	}, text)
	if clean = strings.Trim(clean, "-."); clean == "" {
		return "file"
	}
	return clean[:min(len(clean), 80)]
}

// ground says what the site's files know against a place for practice.
func ground(s *shoot.Shoot, place shoot.Place) (found []review.Finding) {
	at := s.Frame().ToSite(geo.LatLon(place), 0)
	add := func(severity, what, value, limit string) {
		found = append(found, review.Finding{Severity: severity, What: what, Value: value, Limit: limit, Basis: "open, level ground away from people: common practice, no source", Mend: "choose another place, and look at it yourself"})
	}
	z, ok := s.Ground().HeightAt(at.X, at.Y)
	if !ok {
		add("stop", "the terrain file does not reach there", "", "")
		return found
	}
	at.Z = z
	if slope, ok := s.Ground().Slope(at.X, at.Y); !ok {
		add("unknown", "slope of the ground", "", "")
	} else if slope > steepest {
		add("caution", "the ground is not level", fmt.Sprintf("%.0f°", slope.Deg()), fmt.Sprintf("%.0f°", steepest.Deg()))
	}
	people, things := 0, 0
	for i := range s.Features() {
		f := &s.Features()[i]
		d := f.Distance(at)
		switch f.Kind {
		case shoot.People, shoot.Home:
			if people++; d < practiceClearM+50 {
				add("stop", "people near: "+f.Kind+" "+f.Name, fmt.Sprintf("%.0f m", d), fmt.Sprintf("%.0f m", practiceClearM+50))
			}
		case shoot.Building, shoot.Mast, shoot.Bridge, shoot.Tree, shoot.Wire:
			if things++; d < practiceClearM {
				add("caution", f.Kind+" near: "+f.Name, fmt.Sprintf("%.0f m", d), fmt.Sprintf("%.0f m", practiceClearM))
			}
		}
	}
	if people == 0 {
		add("unknown", "where people may be is not entered for this site", "", "")
	}
	if things == 0 {
		add("unknown", "no obstacle is entered for this site", "", "")
	}
	return found
}

// Drills reach at most 70 m from the middle; slopes beyond 5° are not level. Common practice, no source.
const (
	practiceClearM = 100.0
	steepest       = 5 * unit.Degree
)
