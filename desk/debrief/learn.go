package debrief

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"fieldfare/desk/lesson"
	"fieldfare/desk/logbook"
	"fieldfare/plan/shoot"
)

// Lessons is what the log teaches, old beside new.
type Lessons struct {
	Proposals []lesson.Proposal `json:"proposals" nullable:"false"`
	TooFew    []string          `json:"too_few" nullable:"false"`
}

// Learn puts forward what the standing log teaches about energy and times. The old values are the
// shoot's, else the ones last accepted, else none. A nil shoot is not known.
func Learn(all []logbook.Standing, sh *shoot.Shoot) Lessons {
	old := map[string]float64{}
	var sorties []*logbook.Sortie
	var takes []*logbook.Take
	var aircraft []string
	for _, e := range all {
		switch b := e.Fact.(type) {
		case *logbook.Lesson:
			old[b.Quantity+":"+b.Subject] = b.New
		case *logbook.Sortie:
			sorties = append(sorties, b)
			if !slices.Contains(aircraft, b.Aircraft) {
				aircraft = append(aircraft, b.Aircraft)
			}
		}
	}
	for _, s := range Sorties(all) {
		for _, t := range s.Takes {
			named := *t
			named.Sortie = s.Logged.Sortie
			takes = append(takes, &named)
		}
	}
	slices.Sort(aircraft)
	now := func(key string, otherwise float64) float64 {
		if v, ok := old[key]; ok {
			return v
		}
		return otherwise
	}
	var setup, gap float64
	if sh != nil {
		setup, gap = float64(sh.House.SetupTime), float64(sh.House.TakeGap)
	}
	out := Lessons{Proposals: []lesson.Proposal{}, TooFew: []string{}}
	put := func(p lesson.Proposal, err error) {
		if err != nil {
			out.TooFew = append(out.TooFew, err.Error())
			return
		}
		out.Proposals = append(out.Proposals, p)
	}
	for _, a := range aircraft {
		put(factors(all, sh, a).learn(sorties))
	}
	put(lesson.Durations("setup_time_s", "crew", now("setup_time_s:crew", setup), lesson.Changeovers(sorties, 2*time.Hour)))
	put(lesson.Durations("take_gap_s", "crew", now("take_gap_s:crew", gap), lesson.Resets(takes)))
	return out
}

// history is what is known of the power factors that one aircraft was planned with.
type history struct {
	aircraft string
	rigs     []string  // of the shoot, that are this aircraft
	inForce  []float64 // their factors, each once
	lessons  []logbook.Standing
	written  map[*logbook.Sortie]int64 // place of a sortie in the book
}

func factors(all []logbook.Standing, sh *shoot.Shoot, aircraft string) *history {
	h := &history{aircraft: aircraft, written: map[*logbook.Sortie]int64{}}
	for _, e := range all {
		switch b := e.Fact.(type) {
		case *logbook.Sortie:
			h.written[b] = e.Seq
		case *logbook.Lesson:
			if b.Quantity == "power_factor" && b.Subject == aircraft && b.Old > 0 {
				h.lessons = append(h.lessons, e)
			}
		}
	}
	if sh == nil {
		return h
	}
	for i := range sh.Rigs {
		r := &sh.Rigs[i]
		if r.Mark != aircraft && r.Name != aircraft {
			continue
		}
		h.rigs = append(h.rigs, r.Name)
		f := float64(r.PowerFactor)
		if f == 0 {
			f = 1
		}
		if !slices.Contains(h.inForce, f) {
			h.inForce = append(h.inForce, f)
		}
	}
	return h
}

// held is the factor that a sortie's planned energy was worked out with: the one that its entry says, else
// the one that stood when a factor was next accepted, else the one in force now. Where the book knows of no
// change, a factor below 1 may have been written after the sortie: none is taken, which errs toward more energy.
func (h *history) held(s *logbook.Sortie) (factor float64, why string) {
	if s.PowerFactor != nil {
		return *s.PowerFactor, ""
	}
	for _, e := range h.lessons {
		if s.TakeOff.Before(e.At) || h.written[s] < e.Seq {
			return e.Fact.(*logbook.Lesson).Old, ""
		}
	}
	const mend = ": correct its entry with power_factor="
	switch {
	case len(h.inForce) == 1 && len(h.lessons) == 0:
		return max(1, h.inForce[0]), ""
	case len(h.inForce) == 1:
		return h.inForce[0], ""
	case len(h.inForce) > 1:
		return 0, fmt.Sprintf("the rigs %s have different factors, and it does not say which its planned energy holds%s", strings.Join(h.rigs, ", "), mend)
	case len(h.lessons) > 0:
		return 0, "flown after a factor was accepted, and without the rig it is not known whether its planned energy holds it: name the shoot that has the aircraft, or" + mend[1:]
	}
	return 1, ""
}

func (h *history) learn(sorties []*logbook.Sortie) (lesson.Proposal, error) {
	old := 1.0
	if n := len(h.lessons); n > 0 {
		old = h.lessons[n-1].Fact.(*logbook.Lesson).New
	}
	if len(h.inForce) > 0 {
		old = slices.Max(h.inForce)
	}
	silent := map[float64]int{}
	p, err := lesson.PowerFactor(h.aircraft, old, sorties, func(s *logbook.Sortie) (float64, string) {
		f, why := h.held(s)
		if s.PowerFactor == nil && why == "" {
			silent[f]++
		}
		return f, why
	})
	p.Rigs = h.rigs
	for _, f := range slices.Sorted(maps.Keys(silent)) {
		if f != 1 || old != 1 {
			p.Notes = append(p.Notes, fmt.Sprintf("%d sorties do not say which factor their planned energy holds: %.4g is taken, as log and rigs have it", silent[f], f))
		}
	}
	if err == nil && math.Ceil(p.PlanFor*100-1e-9)/100 < old { // as Plan writes it
		p.Notes = append(p.Notes, fmt.Sprintf("less than the %.4g in force: flights would be planned longer; look at reserves before it is taken", old))
	}
	return p, err
}

// Accept writes proposals down, each named "quantity:subject", with their author's name.
func (x Lessons) Accept(ctx context.Context, l *logbook.Log, names []string, author Author) ([]logbook.Receipt, error) {
	var entries []logbook.Entry
	for _, want := range names {
		i := slices.IndexFunc(x.Proposals, func(p lesson.Proposal) bool { return p.Quantity+":"+p.Subject == want })
		if i < 0 {
			return nil, fmt.Errorf("no proposal %q to accept", want)
		}
		e, err := author(x.Proposals[i].Lesson(), time.Time{})
		if err != nil {
			return nil, err
		}
		entries = append(entries, e)
	}
	if len(entries) == 0 {
		return []logbook.Receipt{}, nil
	}
	return l.Append(ctx, entries...)
}

// Packs forecasts the health of every pack that the log or a list of more names knows.
func Packs(all []logbook.Standing, rules lesson.PackRules, now time.Time, more ...string) []lesson.Health {
	var readings []lesson.Reading
	names := slices.Clone(more)
	for _, e := range all {
		switch b := e.Fact.(type) {
		case *logbook.Pack:
			readings, names = append(readings, lesson.Reading{At: e.At, Pack: b}), append(names, b.Pack)
		case *logbook.Sortie:
			if b.Pack != "" {
				names = append(names, b.Pack)
			}
		}
	}
	slices.Sort(names)
	out := []lesson.Health{}
	for _, n := range slices.Compact(names) {
		out = append(out, lesson.PackHealth(n, readings, rules, now))
	}
	return out
}
