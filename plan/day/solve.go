package day

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
)

// Solve searches for the best plan. It is deterministic in the problem, the
// seed and the work budget; ctx may end it earlier, and then Search.Stopped is
// "limit". A problem that contradicts itself is an error; one in which nothing
// can be placed is a plan with its reasons.
func Solve(ctx context.Context, p *Problem, o Options) (Plan, error) {
	all, err := p.combinations()
	if err != nil {
		return Plan{}, err
	}
	if len(all) == 1 {
		q := *p
		q.Days, q.Calls = all[0], nil
		return solve(ctx, &q, o)
	}
	plan, err := solveCalls(ctx, p, all, o)
	if err != nil || o.Brief {
		return plan, err
	}
	m, err := compile(p.Called(&plan))
	if err != nil {
		return plan, err
	}
	m.explain(ctx, &plan)
	return plan, nil
}

// solve is the search under fixed calls.
func solve(ctx context.Context, p *Problem, o Options) (Plan, error) {
	m, err := compile(p)
	if err != nil {
		return Plan{}, err
	}
	s := m.search(ctx, o, nil)
	s.run()
	plan, err := s.result()
	if err != nil || o.Brief {
		return plan, err
	}
	m.explain(ctx, &plan)
	return plan, nil
}

// explain says of every slate left out why.
func (m *model) explain(ctx context.Context, plan *Plan) {
	alone := map[string]string{}
	for i, why := range m.whyNot {
		alone[m.p.Slates[i].Name] = why
	}
	explain(ctx, m.p, plan, alone)
}

func (m *model) search(ctx context.Context, o Options, fixed []step) *search {
	s := &search{m: m, b: newBounds(m), ctx: ctx, o: o, budget: o.Work, best: never, fixed: fixed, pool: &pass{}, gains: make([]int64, len(m.units))}
	if s.budget <= 0 {
		s.budget = DefaultWork
	}
	s.s.Seed = o.Seed
	return s
}

// run is the whole search: a quick plan, the bound, then beams of growing width
// and neighbourhoods between them until the bound is met or the work is done.
func (s *search) run() {
	s.b.flat()
	s.bound = s.b.root
	s.beam(1, nil)
	if s.over() {
		return
	}
	// first is the bound's work before all else, long the neighbourhoods' in beams'
	first, long := s.budget/16, int64(1)
	var light *search
	if m := s.m; m.packed() {
		if len(m.slates) > 24 { // too many to prove
			first, long = s.budget/10, 4
		} else {
			first = s.budget / 64
			light = &search{m: m, b: s.b, ctx: s.ctx, budget: s.budget, fixed: s.fixed, light: true, pool: s.pool, gains: s.gains}
		}
	}
	share := 0.5
	s.tighten(4, min(s.budget/4, max(25*s.b.work, first)), 0)
	rng := rand.New(rand.NewPCG(s.o.Seed, 0x9e3779b97f4a7c15))
	if light != nil {
		light.best, light.bound = s.best, s.bound
	}
	credit, before := int64(0), s.s.Work
	for width := 4; ; width *= 2 {
		if s.best >= s.bound {
			s.bound = s.best
			break
		}
		// the bound has its share of the work, as long as that helps
		if credit += int64(share * float64(s.s.Work-before)); credit >= 60*s.b.work {
			was := s.bound
			s.tighten(4+width/4, credit, 0.02)
			if s.over() {
				return
			}
			if s.best >= s.bound {
				s.bound = s.best
				break
			}
			credit = 0
			if was-s.bound >= (was-s.best)/10 {
				share = min(1, 2*share)
			} else {
				share = max(share/2, 0.125)
			}
		}
		before = s.s.Work
		if light != nil {
			if s.withoutPacks(light, width, long, rng) {
				light = nil
			}
			if s.over() {
				return
			}
			if s.best >= s.bound {
				break
			}
			if light != nil && s.best >= light.best {
				continue // packs stand in nothing's way yet
			}
		}
		s.s.Passes++
		s.whole = width >= 32
		lost := s.beam(width, nil)
		if s.stop {
			return
		}
		if !s.whole {
			lost = s.bound
		}
		s.whole = false
		s.bound = max(s.best, min(s.bound, lost))
		if s.bound == s.best {
			break
		}
		work := s.s.Work - before
		if s.s.Passes == 1 {
			work = max(work, s.budget/20)
		}
		s.neighbourhoods(rng, long*work)
		if s.over() {
			return
		}
	}
	s.s.Stopped = "proved"
}

// tighten lowers the bound for so much work, with so many labels to a config.
func (s *search) tighten(labels int, work int64, settled float64) {
	s.b.lower(s.best, labels*len(s.m.configs), work, settled, func(work int64) bool {
		s.s.Work += work
		return s.over()
	})
	s.bound = min(s.bound, s.b.root)
}

// packed tells whether packs decide anything.
func (m *model) packed() bool {
	return slices.ContainsFunc(m.rigs, func(r rigM) bool { return !r.mains })
}

// withoutPacks takes the light search, in which packs are forgotten, one width
// further. It keeps far fewer states apart, so it is soon done, and its best plan
// bounds ours; often it is ours, when the packs can be dealt out. It deals them out to
// its best plan; where they do not go round, neighbourhoods begin at what can be
// had of it. It tells whether the light search is done.
func (s *search) withoutPacks(light *search, width int, long int64, rng *rand.Rand) bool {
	m := s.m
	light.s.Work = s.s.Work
	if s.best > light.best {
		light.best, light.plan = s.best, slices.Clone(s.plan)
	}
	was := light.best
	light.bound = s.bound
	light.whole = width >= 32
	lost := light.beam(width, nil)
	done := light.whole && lost <= light.best && !light.stop
	if light.whole && !light.stop {
		s.bound = max(s.best, min(s.bound, max(lost, light.best)))
	}
	light.whole = false
	if !done && !light.stop {
		light.neighbourhoods(rng, long*(light.s.Work-s.s.Work))
	}
	s.s.Work, s.s.States, s.s.Rounds = light.s.Work, s.s.States+light.s.States, s.s.Rounds+light.s.Rounds
	light.s.States, light.s.Rounds = 0, 0
	if light.best > was && len(light.plan) > len(s.fixed) {
		orders := make([][]step, len(m.units))
		for _, st := range light.plan[len(s.fixed):] {
			orders[st.unit] = append(orders[st.unit], st)
		}
		sc := &scope{floor: s.best, force: -1, orders: orders, lists: make([][]int32, len(m.units))}
		s.whole = true
		s.beam(200, sc)
		s.whole = false
		if s.best < light.best { // packs stand in its way: what can be had of it
			sc.floor, sc.orders = never, make([][]step, len(m.units))
			for u, order := range orders {
				for _, st := range order {
					sc.lists[u] = append(sc.lists[u], st.flight)
				}
			}
			s.beam(30, sc)
			s.detour = append(s.detour[:0], s.found...)
			s.away = s.floor
		}
	}
	return done
}

// slack is how much worse than the incumbent, as a share of it, a plan may be to be
// gone on from, patience for how many neighbourhoods in vain.
const (
	slack    = 0.025
	patience = 60
)

// neighbourhoods frees a few slates at a time and lets a narrow beam place
// them anew among the rest, until the work is spent. A slate that is left out or lies
// at a poor time may be forced to a better; what comes of that is gone on from even if
// it is a little worse than the incumbent (Dueck, New optimization heuristics: the
// great deluge algorithm and the record-to-record travel, Journal of Computational
// Physics 104, 1993; from memory).
func (s *search) neighbourhoods(rng *rand.Rand, work int64) {
	m := s.m
	end := s.s.Work + work
	stale, shuffled := 0, never
	packless := !m.packed() // the order alone counts
	at, score, idle := slices.Clone(s.plan), s.best, 0
	if len(s.detour) > len(s.fixed) && s.away < s.best {
		at, score = append(at[:0], s.detour...), s.away
	}
	s.detour = s.detour[:0]
	for s.s.Work < end && !s.over() && len(s.plan) > len(s.fixed) {
		s.s.Rounds++
		s.s.Work++
		if packless && s.best > shuffled && s.s.Work >= s.rested {
			shuffled = s.best
			s.shuffle()
			if s.best > score {
				at, score = append(at[:0], s.plan...), s.best
			}
			continue
		}
		before := s.best
		sc := s.around(rng, at, score, 2+rng.IntN(4+min(stale/20, len(m.slates)/3)))
		s.habit = rng.Uint64()
		s.beam(8+8*rng.IntN(3), sc)
		s.habit = 0
		if len(s.found) > 0 {
			if s.floor > score {
				idle = 0
			}
			at, score = append(at[:0], s.found...), s.floor
		}
		if s.best > before {
			stale = 0
		} else {
			stale++
		}
		if idle++; idle >= patience && score < s.best || len(at) <= len(s.fixed) {
			at, score, idle = append(at[:0], s.plan...), s.best, 0
		}
	}
}

// shuffle lets the sorties of the incumbent change places with those near them.
func (s *search) shuffle() {
	sc := &scope{floor: s.best, force: -1, reach: 7, orders: make([][]step, len(s.m.units))}
	for _, st := range s.plan[len(s.fixed):] {
		sc.orders[st.unit] = append(sc.orders[st.unit], st)
	}
	was, from := s.best, s.s.Work
	s.beam(100, sc)
	if s.best == was {
		s.rested = s.s.Work + 16*(s.s.Work-from)
	}
}

// around builds a neighbourhood of a plan: about count sorties are broken up, near
// one another in time, in build, at random, or in the way of a slate that could be had
// at a better time.
func (s *search) around(rng *rand.Rand, plan []step, score int64, count int) *scope {
	m := s.m
	sc := &scope{floor: score, force: -1}
	open := plan[len(s.fixed):]
	broken := make([]bool, len(open))
	kind := min(3, rng.IntN(5)) // twice as often the last
	if kind == 3 && !s.lift(rng, sc, plan, broken, count) {
		kind = rng.IntN(3)
	}
	switch kind {
	case 0: // a stretch of time
		at := rng.IntN(len(open))
		for i := at; i < min(at+count, len(open)); i++ {
			broken[i] = true
		}
	case 1: // like builds or the same rig
		pick := m.flights[open[rng.IntN(len(open))].flight]
		for _, i := range rng.Perm(len(open)) {
			if f := m.flights[open[i].flight]; count > 0 && (f.rig == pick.rig && f.setup == pick.setup || f.mask == pick.mask || rng.IntN(4) == 0) {
				broken[i] = true
				count--
			}
		}
	case 2:
		for range count {
			broken[rng.IntN(len(open))] = true
		}
	}
	var done set
	for _, st := range plan {
		done = done.union(m.flights[st.flight].mask)
	}
	for i := range m.slates {
		if !done.has(i) {
			sc.free.add(i)
		}
	}
	if first := slices.Index(broken, true) - rng.IntN(3); first > 0 && rng.IntN(5) > 0 {
		sc.prefix = plan[:len(s.fixed)+first]
	}
	sc.orders = make([][]step, len(m.units))
	for i, st := range open {
		if broken[i] {
			sc.free = sc.free.union(m.flights[st.flight].mask)
		} else {
			sc.orders[st.unit] = append(sc.orders[st.unit], st)
		}
	}
	sc.lists = make([][]int32, len(m.units))
	for u := range m.units {
		for _, f := range m.units[u].flights {
			if sc.free.contains(m.flights[f].mask) {
				sc.lists[u] = append(sc.lists[u], f)
			}
		}
	}
	return sc
}

// lift chooses a slate that is left out or lies at a poor time, the more it lacks
// the rather, and a better time for it, and breaks up the sorties that stand in its
// way, about count of them, and those that would be on the wrong side of it.
func (s *search) lift(rng *rand.Rand, sc *scope, plan []step, broken []bool, count int) bool {
	m := s.m
	lacks := s.lacks(plan)
	var sum int64
	for _, v := range lacks {
		sum += v
	}
	if sum == 0 {
		return false
	}
	x := -1
	for left := rng.Int64N(sum); left >= 0; left -= lacks[x] {
		x++
	}
	at, ok := s.pick(rng, x, m.slates[x].best-lacks[x], 1<<30)
	if !ok {
		return false
	}
	open := plan[len(s.fixed):]
	var before set
	for _, st := range plan {
		if st.takeoff+m.flights[st.flight].steps <= at.takeoff {
			before = before.union(m.flights[st.flight].mask)
		}
	}
	early := m.slates[x].preds.without(before) // what must come before it, and does not yet
	for i, st := range open {
		f := &m.flights[st.flight]
		broken[i] = f.mask.has(x) || f.mask.meets(early)
		for _, sl := range f.slates {
			broken[i] = broken[i] || m.slates[sl].preds.has(x) && st.takeoff < at.takeoff+m.flights[at.flight].steps
		}
	}
	s.clear(rng, open, broken, at, count)
	for w := range m.slates {
		if early.has(w) {
			if first, ok := s.pick(rng, w, 0, at.takeoff); ok {
				s.clear(rng, open, broken, first, count)
			}
		}
	}
	sc.force, sc.forceAt = int32(x), at.takeoff
	sc.floor = min(sc.floor, s.best-int64(slack*float64(s.best)))
	return true
}

// lacks is how much less than its best each slate is worth in a plan; what is flown
// already lacks nothing.
func (s *search) lacks(plan []step) []int64 {
	m := s.m
	lacks := make([]int64, len(m.slates))
	for i, sl := range m.slates {
		if m.whyNot[i] == "" {
			lacks[i] = max(0, sl.best)
		}
	}
	for i, st := range plan {
		f := &m.flights[st.flight]
		for k, sl := range f.slates {
			q, _ := m.p.Slates[sl].quality(m.seconds(st.takeoff) + f.offsets[k])
			if lacks[sl] = max(0, lacks[sl]-q*m.slates[sl].value); i < len(s.fixed) {
				lacks[sl] = 0
			}
		}
	}
	return lacks
}

// pick is a take-off at which a slate is worth more than so much, over by a time, any
// of them with the same chance.
func (s *search) pick(rng *rand.Rand, x int, worth int64, by int32) (at step, ok bool) {
	m := s.m
	seen := 0
	for u := range m.units {
		for _, fi := range m.units[u].flights {
			f := &m.flights[fi]
			if !f.mask.has(x) || len(f.slates) > 1 {
				continue
			}
			for d := range f.days {
				p := &f.days[d]
				for k, q := range p.q {
					if q <= worth || p.lo+int32(k)+f.steps > by {
						continue
					}
					if seen++; rng.IntN(seen) == 0 {
						at = step{flight: fi, takeoff: p.lo + int32(k), unit: int8(u), day: int8(d)}
					}
				}
			}
		}
	}
	return at, seen > 0
}

// clear breaks up about count sorties in the way of one, on its unit and its rig, the
// nearest first.
func (s *search) clear(rng *rand.Rand, open []step, broken []bool, at step, count int) {
	m := s.m
	f := &m.flights[at.flight]
	for ; count > 0; count-- {
		best, near := -1, int32(1<<30)
		for i, st := range open {
			g := &m.flights[st.flight]
			if broken[i] || st.day != at.day || st.unit != at.unit && g.rig != f.rig && rng.IntN(4) > 0 {
				continue
			}
			if away := max(0, st.takeoff-at.takeoff-f.steps, at.takeoff-st.takeoff-g.steps); away < near {
				best, near = i, away
			}
		}
		if best < 0 {
			break
		}
		broken[best] = true
	}
}

func (s *search) result() (Plan, error) {
	m := s.m
	plan, err := m.write(s.plan)
	if err != nil {
		return plan, fmt.Errorf("internal: the plan does not replay: %w", err)
	}
	plan.Bound = max(s.bound, plan.Score)
	if m.cut { // some sorties were not looked at: only the sum of all values bounds
		plan.Bound = 0
		for _, sl := range m.slates {
			plan.Bound += 1000 * sl.value
		}
	}
	plan.Proved = plan.Bound == plan.Score && !m.cut
	if plan.Bound > 0 {
		plan.Gap = float64(plan.Bound-plan.Score) / float64(plan.Bound)
	}
	plan.Search = s.s
	plan.Notes = slices.Clone(m.notes)
	plan.LeftOut = []LeftOut{}
	var done set
	for _, st := range s.plan {
		done = done.union(m.flights[st.flight].mask)
	}
	for i, sl := range m.p.Slates {
		if done.has(i) {
			continue
		}
		out := LeftOut{Slate: sl.Name, Priority: sl.Priority, Reason: m.whyNot[i], Certain: m.whyNot[i] != ""}
		if out.Reason == "" {
			if out.Reason = "every place it fits is worth more to other slates"; !plan.Proved {
				out.Reason = "no plan found gains by it, but the search ended before all were weighed"
			}
		}
		plan.LeftOut = append(plan.LeftOut, out)
	}
	return plan, nil
}
