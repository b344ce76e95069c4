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
	s := &search{m: m, b: newBounds(m), ctx: ctx, o: o, budget: o.Work, best: never, fixed: fixed}
	if s.budget <= 0 {
		s.budget = DefaultWork
	}
	s.s.Seed = o.Seed
	return s
}

// run is the whole search: a quick plan, the bound, then beams of growing width
// and neighbourhoods between them until the bound is met or the work is done.
func (s *search) run() {
	for i := range s.b.price {
		s.b.price[i] = max(0, s.m.slates[i].best)
	}
	s.b.solve()
	s.bound = s.b.root
	s.beam(1, nil)
	if s.over() {
		return
	}
	light := s.lighten()
	first, share := max(25*s.b.work, s.budget/16), 0.5
	if light != nil && len(s.m.slates) > 24 { // too many to prove, and packs leave a gap that prices do not close: good plans come first
		first, share = max(6*s.b.work, s.budget/64), 0.125
	}
	s.tighten(4, min(s.budget/4, first), 0)
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
			if s.withoutPacks(light, width, rng) {
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
		s.neighbourhoods(rng, work)
		if s.over() {
			return
		}
	}
	s.s.Stopped = "proved"
}

// tighten lowers the bound for so much work, with so many labels to a config.
func (s *search) tighten(labels int, work int64, settled float64) {
	s.b.improve(s.best, labels*len(s.m.configs), work, settled, func(work int64) bool {
		s.s.Work += work
		return s.over()
	})
	s.bound = min(s.bound, s.b.root)
}

// lighten is a search of the same days with packs forgotten, nil where packs
// decide nothing anyway. It keeps far fewer states apart, so it is soon done, and
// its best plan bounds ours; often it is ours, when the packs can be dealt out.
func (s *search) lighten() *search {
	for r := range s.m.rigs {
		if !s.m.rigs[r].mains {
			return &search{m: s.m, b: s.b, ctx: s.ctx, budget: s.budget, best: s.best, bound: s.bound, fixed: s.fixed, light: true}
		}
	}
	return nil
}

// withoutPacks takes the light search one width further and deals packs out to
// its best plan. It tells whether the light search is done.
func (s *search) withoutPacks(light *search, width int, rng *rand.Rand) bool {
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
		light.neighbourhoods(rng, light.s.Work-s.s.Work)
	}
	s.s.Work, s.s.States, s.s.Rounds = light.s.Work, s.s.States+light.s.States, s.s.Rounds+light.s.Rounds
	light.s.States, light.s.Rounds = 0, 0
	if light.best > was && len(light.plan) > len(s.fixed) {
		sc := &scope{floor: never, orders: make([][]step, len(s.m.units)), lists: make([][]int32, len(s.m.units))}
		for _, st := range light.plan[len(s.fixed):] {
			sc.orders[st.unit] = append(sc.orders[st.unit], st)
		}
		s.whole = true
		s.beam(200, sc)
		s.whole = false
	}
	return done
}

// neighbourhoods frees a few slates at a time and lets a narrow beam place
// them anew among the rest, until the work is spent.
func (s *search) neighbourhoods(rng *rand.Rand, work int64) {
	m := s.m
	end := s.s.Work + work
	stale, shuffled := 0, never
	packless := s.lighten() == nil // the order alone counts
	for s.s.Work < end && !s.over() && len(s.plan) > len(s.fixed) {
		before := s.best
		s.s.Rounds++
		s.s.Work++
		if packless && s.best > shuffled && s.s.Work >= s.rested {
			shuffled = s.best
			s.shuffle()
			continue
		}
		sc := s.around(rng, 2+rng.IntN(4+min(stale/20, len(m.slates)/3)))
		s.beam(8+8*rng.IntN(3), sc)
		if s.best > before {
			stale = 0
		} else {
			stale++
		}
	}
}

// shuffle lets the sorties of the incumbent change places with those near them.
func (s *search) shuffle() {
	sc := &scope{floor: never, reach: 7, orders: make([][]step, len(s.m.units))}
	for _, st := range s.plan[len(s.fixed):] {
		sc.orders[st.unit] = append(sc.orders[st.unit], st)
	}
	was, from := s.best, s.s.Work
	s.beam(100, sc)
	if s.best == was {
		s.rested = s.s.Work + 16*(s.s.Work-from)
	}
}

// around builds a neighbourhood of the incumbent: about count sorties are
// broken up, near one another in time, in build, or at random.
func (s *search) around(rng *rand.Rand, count int) *scope {
	m := s.m
	sc := &scope{floor: never}
	open := s.plan[len(s.fixed):]
	broken := make([]bool, len(open))
	switch kind := rng.IntN(3); kind {
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
	default:
		for range count {
			broken[rng.IntN(len(open))] = true
		}
	}
	var done set
	for _, st := range s.plan {
		done = done.union(m.flights[st.flight].mask)
	}
	for i := range m.slates {
		if !done.has(i) {
			sc.free.add(i)
		}
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
			out.Reason = "every place it fits is worth more to other slates"
		}
		plan.LeftOut = append(plan.LeftOut, out)
	}
	return plan, nil
}
