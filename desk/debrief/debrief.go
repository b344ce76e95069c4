// Package debrief is what a crew does after landing: it ties a recording to the logged sortie,
// lays the sortie beside its plan, marks practice, and puts forward what the log teaches. The
// command line and the page both ask it, so that they say the same.
//
// What it computes: nothing of its own; it brings logbook, track, review, skill and lesson
// together.
//
// Units and times: SI with the unit in each key; times are UTC.
//
// Source: see those packages.
//
// Validity: as complete as the logbook. A recording that could mean two things is answered with
// a *track.Question and nothing is written.
//
// Not modelled: recordings of several sorties in one file.
package debrief

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"fieldfare/desk/logbook"
	"fieldfare/desk/track"
)

// Sortie is a logged sortie with what belongs to it.
type Sortie struct {
	Logged    *logbook.Sortie
	Takes     []*logbook.Take
	Recording *logbook.Flown // nil while none is tied to it
}

// Find returns a logged sortie, its takes and its recording.
func Find(ctx context.Context, l *logbook.Log, ref string) (*Sortie, error) {
	all, err := l.Standing(ctx, logbook.Filter{Kinds: []logbook.Kind{logbook.KindSortie, logbook.KindTake, logbook.KindFlown}})
	if err != nil {
		return nil, err
	}
	var found *Sortie
	for _, s := range Sorties(all) {
		if s.Logged.Sortie != ref {
			continue
		}
		if found != nil {
			return nil, fmt.Errorf("two sorties are logged as %q: correct or strike one", ref)
		}
		found = s
	}
	if found == nil {
		return nil, fmt.Errorf("no sortie %q in the logbook: log the sortie first", ref)
	}
	return found, nil
}

// Sorties returns every logged sortie with its takes and its recording, in the order of the log. A take
// that names no sortie, as those started on a phone in the field, belongs to the one sortie that was in
// the air when it began and flew its slate; where two were, to none.
func Sorties(all []logbook.Standing) []*Sortie {
	var out []*Sortie
	for _, e := range all {
		if b, ok := e.Fact.(*logbook.Sortie); ok {
			out = append(out, &Sortie{Logged: b})
		}
	}
	for _, e := range all {
		switch b := e.Fact.(type) {
		case *logbook.Take:
			var of []*Sortie
			for _, s := range out {
				if b.Sortie == s.Logged.Sortie || b.Sortie == "" && s.aloft(b) {
					of = append(of, s)
				}
			}
			if len(of) == 1 || b.Sortie != "" {
				for _, s := range of {
					s.Takes = append(s.Takes, b)
				}
			}
		case *logbook.Flown:
			for _, s := range out {
				if b.Sortie == s.Logged.Sortie {
					s.Recording = b
				}
			}
		}
	}
	return out
}

// aloft tells whether a take began in the air of the sortie, by the log's times.
func (s *Sortie) aloft(t *logbook.Take) bool {
	x := s.Logged
	return !t.From.IsZero() && !t.From.Before(x.TakeOff) && !t.From.After(x.Landing) && (len(x.Slates) == 0 || slices.Contains(x.Slates, t.Slate))
}

// Author makes an entry of whoever writes, now unless at is given.
type Author func(body logbook.Body, at time.Time) (logbook.Entry, error)

// latest is the newest version of the matter an entry belongs to.
func latest(ctx context.Context, l *logbook.Log, id string) (logbook.Entry, error) {
	h, err := l.History(ctx, id)
	if err != nil {
		return logbook.Entry{}, err
	}
	return h[len(h)-1], nil
}

// read reads a recording the way its entry says.
func read(ctx context.Context, data []byte, f *logbook.Flown, progress func(done, total int64)) (*track.Track, error) {
	opt := track.Options{Format: track.Format(f.Format), Date: f.Start, Progress: progress}
	var err error
	if f.Columns != "" {
		if opt.Columns, err = track.ParseColumns(f.Columns); err != nil {
			return nil, err
		}
	}
	if f.Zone != "" {
		if opt.Zone, err = time.LoadLocation(f.Zone); err != nil {
			return nil, fmt.Errorf("zone %q is not known: expected one like Europe/Vienna or UTC", f.Zone)
		}
	}
	return track.Read(ctx, data, opt)
}

// People lists everybody whom the log knows as a pilot, and more names given, each once and in
// alphabetical order.
func People(all []logbook.Standing, more ...string) []string {
	var names []string
	add := func(name string) {
		if name = strings.TrimSpace(name); name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	for _, e := range all {
		switch b := e.Fact.(type) {
		case *logbook.Sortie:
			add(b.Pilot)
		case *logbook.Hours:
			if b.Role == "pilot" {
				add(b.Person)
			}
		case *logbook.Practice:
			add(b.Person)
		}
	}
	for _, n := range more {
		add(n)
	}
	slices.Sort(names)
	return names
}
