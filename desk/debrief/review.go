package debrief

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"fieldfare/desk/logbook"
	"fieldfare/desk/review"
	"fieldfare/desk/skill"
	"fieldfare/desk/track"
	"fieldfare/plan/assess"
)

// Review lays a logged sortie beside the shoot that it flew for.
func Review(ctx context.Context, l *logbook.Log, a *assess.Assessor, ref string, progress func(done, total int64)) (*review.Report, *logbook.Sortie, error) {
	s, err := Find(ctx, l, ref)
	if err != nil {
		return nil, nil, err
	}
	if s.Recording == nil {
		return nil, nil, fmt.Errorf("no recording is tied to sortie %q: import it first", ref)
	}
	o, err := l.Original(ctx, s.Recording.SHA256)
	if err != nil {
		return nil, nil, err
	}
	t, err := read(ctx, o.Content, s.Recording, progress)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", o.Name, err)
	}
	t.Raise(s.Recording.RaiseM)
	fixes := review.Fixes(t.Clean(track.Limits{}), a.Shoot.Frame(), s.Recording.ClockOffsetS, a.Shoot.Ground())
	f, skipped := review.Of(a, s.Logged, s.Takes, fixes)
	r, err := review.Review(f)
	if err != nil {
		return nil, nil, err
	}
	for _, why := range skipped {
		r.Findings = append(r.Findings, review.Finding{Severity: "unknown", What: why})
	}
	return r, s.Logged, nil
}

// Marked is the score of one take.
type Marked struct {
	Slate string `json:"slate"`
	Take  int    `json:"take"`
	skill.Mark
}

// Score marks the takes of a reviewed practice sortie and writes the marks down, once: a mark
// stands until corrected. What was not recorded earns nothing and is not written.
func Score(ctx context.Context, l *logbook.Log, r *review.Report, s *logbook.Sortie, class logbook.ShotClass, rules skill.Rules, author Author) ([]Marked, error) {
	i := slices.IndexFunc(rules.Rungs, func(g skill.Rung) bool { return g.Class == class })
	if i < 0 {
		return nil, fmt.Errorf("the ladder has no grade for the class %q: give the class practised", class)
	}
	marks := []Marked{}
	var entries []logbook.Entry
	for _, k := range r.Takes {
		m := skill.Score(k, rules.Rungs[i].Grade)
		marks = append(marks, Marked{k.Slate, k.Take, m})
		if m.Passed == "unknown" {
			continue
		}
		e, err := author(&logbook.Practice{Person: s.Pilot, ShotClass: class, Move: fmt.Sprintf("slate %s take %d", k.Slate, k.Take), Sortie: s.Sortie, Score: m.Score, Passed: m.Passed == "yes"}, k.Start)
		if err != nil {
			return nil, err
		}
		e.ID = practiceID(s.Sortie, k.Slate, k.Take)
		if _, err := l.Get(ctx, e.ID); err == nil {
			continue // marked before
		}
		entries = append(entries, e)
	}
	_, err := l.Append(ctx, entries...)
	return marks, err
}

// practiceID is the same for the same take, so that scoring twice marks once.
func practiceID(sortie, slate string, take int) string {
	clean := strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' {
			return r
		}
		return '.'
	}, fmt.Sprintf("%s_%s_%d", sortie, slate, take))
	if len(clean) > 54 {
		clean = clean[:54]
	}
	return "practice-" + clean
}
