package day

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// fact is something that may keep a must out, and how to do without it.
type fact struct {
	what  string
	relax func(p *Problem)
	// by asks for an amount of a relaxation, in unit; nil when it is all or
	// nothing, at the cost given.
	by   func(p *Problem, amount int64)
	most int64
	step int64
	cost int64
	unit string
	mend string
}

// explain fills the facts and the relaxations of every must that is left out.
// It asks whether all musts together fit when facts are done without, one after
// another: what is left, and still in conflict, is a smallest set in that no
// fact can be taken from it. alone holds the reasons of slates that no sortie
// whatever can get.
func explain(ctx context.Context, p *Problem, plan *Plan, alone map[string]string) {
	placed := map[string]bool{}
	for _, d := range plan.Days {
		for _, s := range d.Sorties {
			for _, shot := range s.Shots {
				placed[shot.Slate] = true
			}
		}
	}
	left := int64(3_000_000)
	for i := range plan.LeftOut {
		out := &plan.LeftOut[i]
		if out.Priority != Must {
			continue
		}
		x := explainer{ctx: ctx, p: p, target: out.Slate, work: 100_000, left: &left}
		x.musts = x.chain(out.Slate)
		if x.fits(p) == yes { // alone it fits: the others stand in its way
			for _, s := range p.Slates {
				if s.Priority == Must && placed[s.Name] {
					x.musts = append(x.musts, x.chain(s.Name)...)
				}
			}
			slices.Sort(x.musts)
			x.musts = slices.Compact(x.musts)
		}
		x.explain(out, alone[out.Slate])
		if ctx.Err() != nil {
			return
		}
	}
}

type answer int

const (
	no answer = iota
	yes
	unsure
)

type explainer struct {
	ctx    context.Context
	p      *Problem
	target string
	musts  []string
	work   int64
	left   *int64 // what may still be spent on all explanations
}

// chain is a slate with everything it waits for.
func (x *explainer) chain(name string) []string {
	var list []string
	var add func(name string)
	add = func(name string) {
		if slices.Contains(list, name) {
			return
		}
		list = append(list, name)
		for _, s := range x.p.Slates {
			if s.Name == name {
				for _, a := range s.After {
					add(a)
				}
			}
		}
	}
	add(name)
	return list
}

// fits asks whether all of the musts can be placed together at any quality.
func (x *explainer) fits(p *Problem) answer {
	if *x.left <= 0 {
		return unsure
	}
	q := clone(p)
	q.Weights, q.Keep = Weights{}, nil
	q.Slates = slices.DeleteFunc(q.Slates, func(s Slate) bool { return !slices.Contains(x.musts, s.Name) })
	for i := range q.Slates {
		s := &q.Slates[i]
		s.Value = 1000
		s.After = slices.DeleteFunc(slices.Clone(s.After), func(a string) bool { return !slices.Contains(x.musts, a) })
		s.Windows = slices.Clone(s.Windows)
		for w := range s.Windows {
			s.Windows[w].Quality = nil
		}
	}
	m, err := compile(q)
	if err != nil {
		return unsure
	}
	for i := range q.Slates {
		if m.whyNot[i] != "" {
			return no
		}
	}
	s := m.search(x.ctx, Options{Work: x.work}, nil)
	s.goal = int64(len(q.Slates)) * 1_000_000
	s.run()
	*x.left -= s.s.Work + 1000
	switch {
	case s.best >= s.goal:
		return yes
	case s.bound < s.goal && !m.cut:
		return no
	}
	return unsure
}

// clone copies a problem down to what the relaxations change.
func clone(p *Problem) *Problem {
	q := *p
	q.Days, q.Slates, q.Rigs = slices.Clone(p.Days), slices.Clone(p.Slates), slices.Clone(p.Rigs)
	q.Packs, q.People, q.Units = slices.Clone(p.Packs), slices.Clone(p.People), slices.Clone(p.Units)
	return &q
}

func (x *explainer) explain(out *LeftOut, alone string) {
	facts := x.facts()
	relaxed := map[int]bool{}
	with := func(extra int) *Problem {
		q := clone(x.p)
		for i := range facts {
			if relaxed[i] || i == extra {
				facts[i].relax(q)
			}
		}
		return q
	}
	certain := x.fits(x.p) == no
	for i := range facts {
		if x.ctx.Err() != nil {
			return
		}
		musts := x.musts
		relaxed[i] = true
		if drop, ok := strings.CutPrefix(facts[i].what, mustPrefix); ok {
			x.musts = x.without(drop)
		}
		if x.fits(with(-1)) == yes {
			relaxed[i], x.musts = false, musts
		}
	}
	out.Certain = certain && x.fits(with(-1)) == no
	for i, f := range facts {
		if !relaxed[i] {
			out.Facts = append(out.Facts, f.what)
		}
	}
	// what would let it in, with everything else as it is
	all := x.musts
	x.musts = x.chain(x.target)
	for _, f := range facts {
		if name, ok := strings.CutPrefix(f.what, mustPrefix); ok {
			x.musts = append(x.musts, x.chain(name)...)
		}
	}
	slices.Sort(x.musts)
	x.musts = slices.Compact(x.musts)
	for i, f := range facts {
		if relaxed[i] || x.ctx.Err() != nil {
			continue
		}
		whole := x.musts
		q := clone(x.p)
		if name, ok := strings.CutPrefix(f.what, mustPrefix); ok {
			x.musts = x.without(name)
		}
		f.relax(q)
		if x.fits(q) == yes {
			amount := f.cost
			if f.by != nil {
				lo, hi := int64(0), f.most // hi fits
				for hi-lo > f.step {
					mid := (lo + hi) / 2 / f.step * f.step
					if mid <= lo {
						break
					}
					q := clone(x.p)
					f.by(q, mid)
					if x.fits(q) == yes {
						hi = mid
					} else {
						lo = mid
					}
				}
				amount = hi
				// the full relaxation may be kinder than the largest amount
				q := clone(x.p)
				f.by(q, hi)
				if x.fits(q) != yes {
					amount = f.most
				}
			}
			what := f.mend
			if f.by != nil {
				what = fmt.Sprintf(f.mend, span(amount))
			}
			out.Relaxations = append(out.Relaxations, Relaxation{What: what, Amount: float64(amount), Unit: f.unit})
		}
		x.musts = whole
	}
	x.musts = all
	// time is cheaper than a lost must, more kit in between
	rank := map[string]int{"s": 0, "Wh": 1, "": 2, "points": 3}
	slices.SortStableFunc(out.Relaxations, func(a, b Relaxation) int {
		if r := rank[a.Unit] - rank[b.Unit]; r != 0 {
			return r
		}
		return int(min(max(a.Amount-b.Amount, -1), 1))
	})
	switch {
	case alone != "": // the reason stands by itself
	case len(out.Facts) > 0:
		out.Reason = "these do not go together: " + strings.Join(out.Facts, "; ")
	default:
		out.Reason = "all musts fit together, but the search has not found how: give it more work"
		if x.fits(x.p) == yes {
			out.Reason = "it fits, but only at a cost to slates worth more"
		}
	}
}

const mustPrefix = "the must "

// without is the musts less a slate and those that wait for it; the target stays.
func (x *explainer) without(name string) []string {
	var list []string
	for _, m := range x.musts {
		if chain := x.chain(m); m == x.target || !slices.Contains(chain, name) {
			list = append(list, m)
		}
	}
	return list
}

// facts lists what may be in the way, in the order in which we would rather not
// hear of it: first those to be cleared away if possible.
func (x *explainer) facts() []fact {
	p := x.p
	var list []fact
	slate := func(q *Problem, name string) *Slate {
		for i := range q.Slates {
			if q.Slates[i].Name == name {
				return &q.Slates[i]
			}
		}
		return nil
	}
	for _, name := range x.musts {
		if name == x.target || slices.Contains(x.chain(x.target), name) {
			continue
		}
		s := slate(p, name)
		list = append(list, fact{what: mustPrefix + name, relax: func(*Problem) {}, cost: max(s.Value, MustValue), unit: "points", mend: "leave out " + name})
	}
	for i, k := range p.Packs {
		if k.ChargeWh < k.CapacityWh {
			list = append(list, fact{what: fmt.Sprintf("pack %s's charge of %.0f Wh", k.Name, k.ChargeWh),
				relax: func(q *Problem) { q.Packs[i].ChargeWh = q.Packs[i].CapacityWh },
				cost:  int64(k.CapacityWh - k.ChargeWh), unit: "Wh", mend: fmt.Sprintf("charge pack %s before the day", k.Name)})
		}
	}
	for i, u := range p.Units {
		for j, b := range u.Breaks {
			list = append(list, fact{what: fmt.Sprintf("the %s of %s from %s to %s", b.What, u.Name, p.clock(b.EarliestS), p.clock(b.LatestS)),
				relax: func(q *Problem) { q.Units[i].Breaks = slices.Delete(slices.Clone(q.Units[i].Breaks), j, j+1) },
				cost:  b.DurationS, unit: "s", mend: fmt.Sprintf("move the %s of %s", b.What, u.Name)})
			break // one at a time: indices shift
		}
	}
	for i, who := range p.People {
		if who.DutyS > 0 || who.TurnaroundS > 0 {
			list = append(list, fact{what: "the duty hours of " + who.Name,
				relax: func(q *Problem) { q.People[i].DutyS, q.People[i].TurnaroundS = 0, 0 },
				unit:  "", mend: "a later call or a relief for " + who.Name})
		}
		if who.FlyS > 0 {
			list = append(list, fact{what: fmt.Sprintf("the rest of %s after %s of flying", who.Name, span(who.FlyS)),
				relax: func(q *Problem) { q.People[i].FlyS = 0 }, unit: "", mend: "a second pilot beside " + who.Name})
		}
	}
	list = append(list, fact{what: "the time to change builds, move and hand over", relax: func(q *Problem) {
		for r := range q.Rigs {
			q.Rigs[r].Swap, q.Rigs[r].ChangeS = Swap{}, nil
		}
		q.Spots = slices.Clone(q.Spots)
		for s := range q.Spots {
			q.Spots[s].MoveS = nil
		}
		for u := range q.Units {
			q.Units[u].HandoverS = 0
		}
	}, unit: "", mend: "a second rig ready built at the spot"})
	list = append(list, fact{what: x.energyFact(), relax: func(q *Problem) {
		for r := range q.Rigs {
			q.Rigs[r].Mains = true
		}
	}, unit: "", mend: "more or larger packs"})
	for _, name := range x.musts {
		s := slate(p, name)
		if len(s.Skills)+len(s.People) > 0 {
			list = append(list, fact{what: fmt.Sprintf("the people %s asks for", name), relax: func(q *Problem) {
				t := slate(q, name)
				t.Skills, t.People = nil, nil
			}, unit: "", mend: "somebody with " + strings.Join(append(slices.Clone(s.Skills), s.People...), ", ") + " for " + name})
		}
		if len(s.After) > 0 {
			list = append(list, fact{what: fmt.Sprintf("%s after %s", name, strings.Join(s.After, ", ")),
				relax: func(q *Problem) { slate(q, name).After = nil }, unit: "", mend: "free " + name + " from its order"})
		}
	}
	for _, name := range x.musts {
		s := slate(p, name)
		because := map[string]bool{}
		for _, w := range s.Windows {
			if w.Because != "" {
				because[w.Because] = true
			}
		}
		what := "the window of " + name
		if len(s.Windows) == 0 {
			what = name + " having no window"
		} else if len(because) > 0 {
			what += " (" + strings.Join(slices.Sorted(maps.Keys(because)), ", ") + ")"
		}
		f := fact{what: what, relax: func(q *Problem) {
			t := slate(q, name)
			t.Windows = nil
			for _, d := range q.Days {
				t.Windows = append(t.Windows, Window{FromS: d.StartS, ToS: d.EndS})
			}
		}, unit: "", mend: "another window for " + name}
		if len(s.Windows) > 0 {
			f.most, f.step, f.unit, f.mend = 6*3600, 300, "s", "widen the window of "+name+" by %s at either end"
			f.by = func(q *Problem, amount int64) {
				t := slate(q, name)
				t.Windows = widen(t.Windows, amount)
			}
		}
		list = append(list, f)
	}
	return list
}

func (x *explainer) energyFact() string {
	if len(x.p.Packs) == 0 {
		return "there being no packs"
	}
	return "the energy, charging and rest of the packs"
}

// widen opens windows at both ends and joins those that then touch.
func widen(list []Window, by int64) []Window {
	list = slices.Clone(list)
	slices.SortFunc(list, func(a, b Window) int { return cmp.Compare(a.FromS, b.FromS) })
	var out []Window
	for _, w := range list {
		w.FromS, w.ToS = w.FromS-by, w.ToS+by
		if n := len(out); n > 0 && w.FromS <= out[n-1].ToS {
			out[n-1].ToS = max(out[n-1].ToS, w.ToS)
			continue
		}
		out = append(out, w)
	}
	return out
}
