package day

import (
	"context"
	"fmt"
	"slices"
	"strings"
)

// Now is where the day stands.
type Now struct {
	NowS int64 `json:"now_s"`
	// Done names the slates that are got. A sortie of the earlier plan that is
	// in the air now is taken to get its slates.
	Done []string `json:"done,omitempty"`
	// Committed names slates that are to stay at their planned time if they
	// possibly can (the set has been told).
	Committed []string `json:"committed,omitempty"`
	// Packs gives states that differ from what the earlier plan foretells.
	Packs []PackState `json:"packs,omitempty"`
}

// PackState is a pack as found: its energy, and when it may fly.
type PackState struct {
	Pack     string  `json:"pack"`
	ChargeWh float64 `json:"charge_wh"`
	ReadyS   int64   `json:"ready_s"`
}

// Move is what became of one slate, in a sentence.
type Move struct {
	Slate    string `json:"slate"`
	Kind     string `json:"kind"` // done, kept, moved, added, dropped, out
	Sentence string `json:"sentence"`
}

// What keeping a slate's place is worth when a day is planned again, in points,
// and how far from it counts as kept at all. Ours, no source.
const (
	keepPoints      = 15
	committedPoints = 2000
	keepWithinS     = 5400
)

// ReplanWork is the work budget of Replan where none is given, about a third of a
// second on one core: a crew waits for it.
const ReplanWork = 8_000_000

// Replan plans the rest of the days from now, disturbing the previous plan
// little. p holds the facts as they are now (new windows for new wind); a slate
// that is done may still be in it. The scores of the plan include what is given
// for keeping slates in place.
func Replan(ctx context.Context, p *Problem, previous *Plan, now Now, o Options) (Plan, []Move, error) {
	if o.Work == 0 {
		o.Work = ReplanWork
	}
	p = p.Called(previous)
	q, done, err := remaining(p, previous, now)
	if err != nil {
		return Plan{}, nil, err
	}
	plan, err := Solve(ctx, q, o)
	if err != nil {
		return plan, nil, err
	}
	return plan, moves(p, q, previous, &plan, done, now), nil
}

// remaining is the problem that is left at a time.
func remaining(p *Problem, previous *Plan, now Now) (*Problem, map[string]bool, error) {
	q := clone(p)
	known := map[string]bool{}
	for _, s := range p.Slates {
		known[s.Name] = true
	}
	done := map[string]bool{}
	for _, name := range now.Done {
		if !known[name] {
			return nil, nil, fmt.Errorf("%q is said to be done but is not among the slates", name)
		}
		done[name] = true
	}
	for _, name := range now.Committed {
		if !known[name] {
			return nil, nil, fmt.Errorf("%q is said to be committed but is not among the slates", name)
		}
	}
	// days that are left
	first := 0
	for first < len(p.Days) && p.Days[first].EndS <= now.NowS {
		first++
	}
	if first == len(p.Days) {
		return nil, nil, fmt.Errorf("now is %s, after the last day ended at %s: nothing is left to plan", p.clock(now.NowS), p.clock(p.Days[len(p.Days)-1].EndS))
	}
	for u := range q.Units {
		unit := &q.Units[u]
		calls := make([]int64, len(p.Days))
		for d := range p.Days {
			calls[d] = p.Days[d].StartS
			if unit.CallS != nil {
				calls[d] = unit.CallS[d]
			}
		}
		unit.CallS = calls[first:]
	}
	q.Days = q.Days[first:]
	inside := now.NowS > q.Days[0].StartS
	q.Days[0].StartS = max(q.Days[0].StartS, now.NowS)
	// what the previous plan has come to by now
	at := map[string]int{}
	for i, k := range q.Packs {
		at[k.Name] = i
	}
	morning := p.Days[first].StartS
	if first > 0 { // packs were charged overnight
		for i := range q.Packs {
			q.Packs[i].ChargeWh = q.Packs[i].CapacityWh
		}
	}
	for _, day := range previous.Days {
		for _, s := range day.Sorties {
			if s.StartS >= now.NowS {
				continue
			}
			for _, shot := range s.Shots {
				if s.EndS > now.NowS && known[shot.Slate] {
					done[shot.Slate] = true
				}
			}
			for r := range q.Rigs {
				if q.Rigs[r].Name == s.Rig {
					q.asFlown(s.Setup)
					q.Rigs[r].Setup = s.Setup
					q.Rigs[r].FreeS = max(q.Rigs[r].FreeS, s.EndS)
				}
			}
			for u := range q.Units {
				unit := &q.Units[u]
				if unit.Name != s.Unit {
					continue
				}
				if s.Spot != "" {
					unit.Spot = s.Spot
				}
				unit.FreeS = max(unit.FreeS, s.EndS)
				if s.StartS >= morning {
					if s.Rested {
						unit.FlownS = 0
					}
					unit.FlownS += s.EndS - s.StartS
				}
			}
			if k, ok := at[s.Pack]; ok && s.StartS >= morning {
				q.Packs[k].ChargeWh = s.LeftWh
				q.Packs[k].ReadyS = s.EndS + q.Packs[k].RestS
			}
		}
		for _, c := range day.Charges {
			k, ok := at[c.Pack]
			if !ok || c.StartS >= now.NowS || c.StartS < morning {
				continue
			}
			q.Packs[k].ChargeWh = c.ToWh
			q.Packs[k].ReadyS = c.EndS + q.Packs[k].RestS
			for i := range q.Chargers {
				if q.Chargers[i].Name == c.Charger && c.EndS > now.NowS {
					q.Chargers[i].BusyS = append(slices.Clone(q.Chargers[i].BusyS), c.EndS)
				}
			}
		}
		for _, b := range day.Breaks {
			for u := range q.Units {
				if q.Units[u].Name != b.Unit || b.StartS >= now.NowS {
					continue
				}
				q.Units[u].FreeS = max(q.Units[u].FreeS, b.EndS)
				q.Units[u].Breaks = slices.DeleteFunc(slices.Clone(q.Units[u].Breaks), func(x Break) bool {
					return x.What == b.What && x.EarliestS <= b.StartS && b.StartS <= x.LatestS
				})
			}
		}
	}
	for _, k := range now.Packs {
		i, ok := at[k.Pack]
		if !ok {
			return nil, nil, fmt.Errorf("pack %q is not among the packs", k.Pack)
		}
		q.Packs[i].ChargeWh, q.Packs[i].ReadyS = min(k.ChargeWh, q.Packs[i].CapacityWh), k.ReadyS
	}
	// a break that is under way or begun late is not asked for again
	for u := range q.Units {
		q.Units[u].Breaks = slices.Clone(q.Units[u].Breaks)
		for i := range q.Units[u].Breaks {
			if b := &q.Units[u].Breaks[i]; inside && b.EarliestS < now.NowS && b.LatestS >= now.NowS {
				b.EarliestS = now.NowS
			}
		}
	}
	q.Slates = slices.DeleteFunc(q.Slates, func(s Slate) bool { return done[s.Name] })
	for i := range q.Slates {
		q.Slates[i].After = slices.DeleteFunc(slices.Clone(q.Slates[i].After), func(a string) bool { return done[a] })
	}
	for _, day := range previous.Days {
		for _, s := range day.Sorties {
			for _, shot := range s.Shots {
				if s.StartS >= now.NowS && !done[shot.Slate] {
					points := int64(keepPoints)
					if slices.Contains(now.Committed, shot.Slate) {
						points = committedPoints
					}
					q.Keep = append(q.Keep, Keep{Slate: shot.Slate, Rig: s.Rig, AtS: shot.StartS, Points: points * 1000, WithinS: keepWithinS})
				}
			}
		}
	}
	return q, done, nil
}

// asFlown adds a build that a rig still has but no slate that is left asks for:
// every part of it differs from all others, so it costs the longest changeover.
func (p *Problem) asFlown(name string) {
	if name == "" || slices.ContainsFunc(p.Setups, func(s Setup) bool { return s.Name == name }) {
		return
	}
	p.Setups = append(slices.Clone(p.Setups), Setup{Name: name, Lens: name, Filter: name, Balance: name, Card: name})
	for r := range p.Rigs {
		rig := &p.Rigs[r]
		if rig.ChangeS == nil {
			continue
		}
		var longest int64
		for _, row := range rig.ChangeS {
			longest = max(longest, slices.Max(row))
		}
		rows := make([][]int64, 0, len(p.Setups))
		for _, row := range rig.ChangeS {
			rows = append(rows, append(slices.Clone(row), longest))
		}
		rig.ChangeS = append(rows, append(slices.Repeat([]int64{longest}, len(p.Setups)-1), 0))
	}
}

type place struct {
	sortie Sortie
	shot   Shot
}

func places(plan *Plan) map[string]place {
	out := map[string]place{}
	for _, d := range plan.Days {
		for _, s := range d.Sorties {
			for _, shot := range s.Shots {
				out[shot.Slate] = place{s, shot}
			}
		}
	}
	return out
}

// moves says what became of each slate and why.
func moves(p, q *Problem, previous, plan *Plan, done map[string]bool, now Now) []Move {
	old, fresh := places(previous), places(plan)
	reason := map[string]string{}
	for _, l := range plan.LeftOut {
		reason[l.Slate] = l.Reason
	}
	var out []Move
	for _, s := range p.Slates {
		was, had := old[s.Name]
		is, has := fresh[s.Name]
		m := Move{Slate: s.Name}
		switch {
		case done[s.Name]:
			m.Kind = "done"
			m.Sentence = s.Name + " is done"
			if had && was.sortie.StartS < now.NowS && was.sortie.EndS > now.NowS {
				m.Sentence = s.Name + " is in the air now"
			}
		case had && has && was.shot.StartS == is.shot.StartS && was.sortie.Rig == is.sortie.Rig:
			m.Kind = "kept"
			m.Sentence = fmt.Sprintf("%s stays on %s at %s", s.Name, is.sortie.Rig, p.clock(is.shot.StartS))
			if was.sortie.Pack != is.sortie.Pack {
				m.Sentence += fmt.Sprintf(", with pack %s instead of %s", is.sortie.Pack, was.sortie.Pack)
			}
		case had && has:
			m.Kind = "moved"
			from, to := p.clock(was.shot.StartS), p.clock(is.shot.StartS)
			at := from
			if i := strings.Index(from, " on "); i >= 0 && strings.HasSuffix(to, from[i:]) {
				at = from[:i]
			}
			m.Sentence = fmt.Sprintf("%s moves from %s", s.Name, at)
			if from != to {
				m.Sentence += " to " + to
			}
			if was.sortie.Rig != is.sortie.Rig {
				m.Sentence += fmt.Sprintf(", from %s to %s", was.sortie.Rig, is.sortie.Rig)
			}
			m.Sentence += ": " + why(p, q, s, was, plan, now)
		case has:
			m.Kind = "added"
			m.Sentence = fmt.Sprintf("%s comes in on %s at %s", s.Name, is.sortie.Rig, p.clock(is.shot.StartS))
		case had:
			m.Kind = "dropped"
			m.Sentence = fmt.Sprintf("%s, planned for %s, drops out: %s", s.Name, p.clock(was.shot.StartS), reason[s.Name])
		default:
			m.Kind = "out"
			m.Sentence = fmt.Sprintf("%s stays out: %s", s.Name, reason[s.Name])
		}
		out = append(out, m)
	}
	return out
}

// why finds what took a slate from its old place.
func why(p, q *Problem, s Slate, was place, plan *Plan, now Now) string {
	if was.sortie.StartS < now.NowS {
		return "its time has passed and it is not done"
	}
	if v, _ := s.quality(was.shot.StartS); v < 0 {
		for _, w := range s.Windows {
			if w.Because != "" {
				return fmt.Sprintf("it can no longer be taken at %s (%s)", p.clock(was.shot.StartS), w.Because)
			}
		}
		return fmt.Sprintf("it can no longer be taken at %s", p.clock(was.shot.StartS))
	} else if v < was.shot.Quality {
		return fmt.Sprintf("at %s it would now be worth %d %% instead of %d %%", p.clock(was.shot.StartS), v/10, was.shot.Quality/10)
	}
	for _, k := range q.Packs {
		if k.Name == was.sortie.Pack && (k.ReadyS > was.sortie.StartS || k.ChargeWh-k.ReserveWh < was.sortie.EnergyWh) && now.NowS > p.Days[0].StartS {
			return fmt.Sprintf("pack %s is not ready for %s", k.Name, p.clock(was.sortie.StartS))
		}
	}
	for _, d := range plan.Days {
		for _, t := range d.Sorties {
			if t.Unit == was.sortie.Unit && t.StartS-t.BuildS-t.MoveS-t.GroundS < was.sortie.EndS && t.EndS > was.sortie.StartS-was.sortie.GroundS {
				for _, shot := range t.Shots {
					if shot.Slate != s.Name {
						return fmt.Sprintf("%s is flown at %s in its place", shot.Slate, p.clock(shot.StartS))
					}
				}
			}
		}
	}
	return "the order around it has changed"
}
