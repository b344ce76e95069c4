package debrief

import (
	"context"
	"fmt"
	"slices"
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
// ones last accepted, else the house's, else none.
func Learn(all []logbook.Standing, house *shoot.House) Lessons {
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
	if house != nil {
		setup, gap = float64(house.SetupTime), float64(house.TakeGap)
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
		put(lesson.PowerFactor(a, now("power_factor:"+a, 1), sorties))
	}
	put(lesson.Durations("setup_time_s", "crew", now("setup_time_s:crew", setup), lesson.Changeovers(sorties, 2*time.Hour)))
	put(lesson.Durations("take_gap_s", "crew", now("take_gap_s:crew", gap), lesson.Resets(takes)))
	return out
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
