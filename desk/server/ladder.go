package server

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"fieldfare/desk/debrief"
	"fieldfare/desk/logbook"
	"fieldfare/desk/review"
	"fieldfare/desk/skill"
	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
)

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

// ladderFile is the crew's own ladder in the shoot folder; it may be left out.
const ladderFile = "ladder.json"

// rungs are the crew's own ladder, the common one where there is none.
func (s *Server) rungs() (skill.Rules, error) {
	f, err := os.Open(filepath.Join(s.Dir, ladderFile))
	if errors.Is(err, os.ErrNotExist) {
		return skill.CommonRules(), nil
	}
	var rules skill.Rules
	if err == nil {
		defer f.Close()
		rules, err = skill.ReadRules(f)
	}
	if err != nil {
		return skill.Rules{}, huma.Error409Conflict(ladderFile + ": " + err.Error())
	}
	return rules, nil
}

func (s *Server) ladder(ctx context.Context, _ *none) (*answer[Ladders], error) {
	state, err := s.current()
	if err != nil {
		return nil, err
	}
	rules, err := s.rungs()
	if err != nil {
		return nil, err
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

// practice writes a practice shoot beside this one, on the same terrain.
func (s *Server) practice(_ context.Context, in *practiceInput) (*answer[Practising], error) {
	state, err := s.current()
	if err != nil {
		return nil, err
	}
	rules, err := s.rungs()
	if err != nil {
		return nil, err
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
