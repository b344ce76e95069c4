package day

import (
	"context"
	"fmt"
	"slices"
)

// maxCalls is the most combinations of calls that are planned for.
const maxCalls = 16

// combinations are the days of a problem under every combination of its calls,
// the earliest of all first; one where no day has a choice. Where there would be
// more than maxCalls, every day keeps its earliest call and as many others, spread
// evenly, as all days may have.
func (p *Problem) combinations() ([][]Day, error) {
	all := [][]Day{slices.Clone(p.Days)}
	if p.Calls == nil {
		return all, nil
	}
	if len(p.Calls) != len(p.Days) {
		return nil, fmt.Errorf("calls for %d days, want one list per day (%d)", len(p.Calls), len(p.Days))
	}
	most := maxCalls
	for power(most, len(p.Days)) > maxCalls {
		most--
	}
	for d, calls := range p.Calls {
		if len(calls) == 0 {
			continue
		}
		calls = slices.Compact(slices.Sorted(slices.Values(calls)))
		for _, at := range calls {
			if at < p.Days[d].StartS || at >= p.Days[d].EndS {
				return nil, fmt.Errorf("day %q may be called at %s, outside it: from %s to %s", p.Days[d].Name, p.exact(at), p.exact(p.Days[d].StartS), p.exact(p.Days[d].EndS))
			}
		}
		if n := len(calls); n > most {
			kept := []int64{calls[0]}
			for i := 1; i < most; i++ {
				kept = append(kept, calls[i*(n-1)/(most-1)])
			}
			calls = kept
		}
		var next [][]Day
		for _, days := range all {
			for _, at := range calls {
				days := slices.Clone(days)
				days[d].StartS = at
				next = append(next, days)
			}
		}
		all = next
	}
	return all, nil
}

func power(base, exponent int) int {
	n := 1
	for range exponent {
		if n *= base; n > maxCalls {
			break
		}
	}
	return n
}

// solveCalls plans for every combination of calls, each with its share of a
// quarter of the work; then those whose bound leaves hope share the rest. The best
// plan wins, of equal ones that with the later call; none of all scores more than
// the bound.
func solveCalls(ctx context.Context, p *Problem, all [][]Day, o Options) (Plan, error) {
	budget := o.Work
	if budget <= 0 {
		budget = DefaultWork
	}
	plans := make([]Plan, len(all))
	best, effort := -1, Search{Seed: o.Seed}
	plan := func(i int, work int64) error {
		q := *p
		q.Days, q.Calls = all[i], nil
		under := Options{Seed: o.Seed, Work: max(1, work), Brief: true}
		if o.Progress != nil {
			under.Progress = func(x Improvement) {
				if best < 0 || x.Score > plans[best].Score {
					x.Work += effort.Work
					o.Progress(x)
				}
			}
		}
		is, err := solve(ctx, &q, under)
		if err != nil {
			return err
		}
		bound := min(is.Bound, plans[i].Bound)
		if was := plans[i]; was.Days != nil && was.Score > is.Score {
			is = was
		}
		is.Bound = bound
		if plans[i] = is; best < 0 {
			effort.FirstScore, effort.FirstWork = is.Search.FirstScore, is.Search.FirstWork
		}
		if best < 0 || is.Score > plans[best].Score || is.Score == plans[best].Score && i > best { // later calls come later
			best, effort.BestWork = i, effort.Work+is.Search.BestWork
		}
		effort.Work += is.Search.Work
		effort.States += is.Search.States
		effort.Passes += is.Search.Passes
		effort.Rounds += is.Search.Rounds
		return nil
	}
	for i := range all {
		if plans[i].Bound = p.most(all[i]); i > 0 && (ctx.Err() != nil || plans[i].Bound < plans[best].Score) {
			continue
		}
		if err := plan(i, budget/4/int64(len(all))); err != nil {
			return Plan{}, err
		}
	}
	hope := func(i int) bool {
		return plans[i].Bound > plans[best].Score && ctx.Err() == nil
	}
	for i := range all {
		if !hope(i) {
			continue
		}
		open := int64(0)
		for k := i; k < len(all); k++ {
			if hope(k) {
				open++
			}
		}
		if err := plan(i, (budget-effort.Work)/open); err != nil {
			return Plan{}, err
		}
	}
	out := plans[best]
	for i := range plans {
		out.Bound = max(out.Bound, plans[i].Bound)
	}
	out.Gap, out.Proved, out.Search = 0, out.Bound == out.Score, effort
	if out.Bound > 0 {
		out.Gap = float64(out.Bound-out.Score) / float64(out.Bound)
	}
	switch {
	case out.Proved:
		out.Search.Stopped = "proved"
	case ctx.Err() != nil:
		out.Search.Stopped = "limit"
	default:
		out.Search.Stopped = "work"
	}
	return out, nil
}

// Called is the problem with the calls that a plan has chosen from it.
func (p *Problem) Called(plan *Plan) *Problem {
	if p.Calls == nil {
		return p
	}
	q := clone(p)
	q.Calls = nil
	for d := range q.Days {
		for _, day := range plan.Days {
			if day.Name == q.Days[d].Name {
				q.Days[d].StartS = day.StartS
			}
		}
	}
	return q
}

// most is the value of the slates that have a window in these days, which no plan
// exceeds.
func (p *Problem) most(days []Day) int64 {
	var sum int64
	for _, s := range p.Slates {
		open := slices.ContainsFunc(s.Windows, func(w Window) bool {
			return slices.ContainsFunc(days, func(d Day) bool { return min(w.ToS, d.EndS)-max(w.FromS, d.StartS) >= s.flown() })
		})
		if v := cmpOr(s.Value, map[Priority]int64{Must: MustValue, Should: ShouldValue, Nice: NiceValue}[s.Priority]); open {
			sum += 1000 * v
		}
	}
	return sum
}
