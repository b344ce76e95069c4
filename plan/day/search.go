package day

import (
	"context"
	"slices"
)

// node is a half-made plan: a state and how it was reached.
type node struct {
	at     int32 // its vector in the pool
	parent int32
	step   step
	done   set
	gained int64
	bound  int64 // no completion scores more
	next   int32 // in its dominance chain, -1 ends
	dead   bool
}

// candidate is a step not yet taken.
type candidate struct {
	bound, gained int64
	parent        int32
	order         int32 // of its making in the layer
	step          step
}

// alike candidates come from one node and lead to states that differ in times and
// packs alone.
func (c *candidate) alike(d *candidate) bool {
	return c.parent == d.parent && c.step.flight == d.step.flight && c.step.unit == d.step.unit && c.step.day == d.step.day && c.step.breaks == d.step.breaks
}

// search holds the incumbent and the effort.
type search struct {
	m      *model
	b      *bounds
	ctx    context.Context
	o      Options
	s      Search
	budget int64
	best   int64 // incumbent score
	plan   []step
	floor  int64  // only plans above this score matter to a pass
	found  []step // the best plan of the last pass, of that score, if any
	bound  int64  // admissible over all plans
	stop   bool
	whole  bool // every choice is tried, so a pass may prove
	light  bool // packs are forgotten: what is found bounds from above
	pool   *pass
	fixed  []step // what is flown already
	rested int64  // work from which sorties may change places with those near them
	away   int64  // the score of detour
	detour []step // where the next neighbourhoods begin, if not at the incumbent
	habit  uint64 // of choosing packs and charging them where not all are tried
	goal   int64  // if not 0: stop once it is known whether this score can be had
	// room for expandDay
	owed  []owed
	gains []int64
}

// pass is one sweep of the beam.
type pass struct {
	nodes   []node
	vectors []int32
	layers  [][]candidate
	chains  map[uint64]int32
	scratch []int32
	work    []int32
	pick    candidate
	lost    int64 // the best bound thrown away
}

// forceS is how far from its time, in seconds, a forced slate may take off.
const forceS = 900

// scope restricts a pass to a neighbourhood of a plan; nil means everything.
type scope struct {
	free    set
	orders  [][]step  // per unit: sorties kept, in order
	lists   [][]int32 // per unit: flights of free slates
	floor   int64     // only plans above this score matter, if it is below the incumbent's
	prefix  []step    // what a plan starts with, after what is flown
	force   int32     // a slate that must be got, -1 for none
	forceAt int32     // and about when it takes off
	// reach, if not 0: a sortie comes before every other that stands as many places
	// later or more in its unit's order (Balas and Simonetti, Linear time dynamic
	// programming algorithms for new classes of restricted TSPs, INFORMS Journal on
	// Computing 13, 2001; from memory).
	reach int
}

func (s *search) over() bool {
	if s.stop {
		return true
	}
	if s.goal > 0 && (s.best >= s.goal || s.bound < s.goal) {
		s.s.Stopped, s.stop = "goal", true
		return true
	}
	if s.s.Work >= s.budget {
		s.s.Stopped, s.stop = "work", true
	} else if s.ctx.Err() != nil {
		s.s.Stopped, s.stop = "limit", true
	}
	return s.stop
}

// beam sweeps layer by layer (slates done), keeping the width best undominated
// states of each. It returns the best bound of what it threw away (never if it
// threw nothing away: then the incumbent is the best there is within scope).
func (s *search) beam(width int, sc *scope) int64 {
	m, p := s.m, s.pool
	n := len(m.slates)
	p.nodes, p.vectors = p.nodes[:0], p.vectors[:0]
	if p.layers == nil {
		p.layers = make([][]candidate, n+1)
		p.chains = map[uint64]int32{}
		p.scratch, p.work = make([]int32, m.lay.size), make([]int32, m.lay.size)
	}
	for i := range p.layers {
		p.layers[i] = p.layers[i][:0]
	}
	p.lost = never
	s.floor, s.found = s.best, s.found[:0]
	if sc != nil {
		s.floor = min(s.floor, sc.floor)
	}
	root := m.startState()
	m.settle(root, nil)
	var done set
	var gained int64
	fixed := s.fixed
	if sc != nil && len(sc.prefix) > 0 {
		fixed = sc.prefix
	}
	for _, st := range fixed {
		v, g, ok := m.onDay(root, root, int(st.day))
		if !ok {
			return never
		}
		root = v
		gained += g + m.worth(root, &st)
		m.apply(root, &done, st)
		m.settle(root, nil)
	}
	p.vectors = append(p.vectors, root...)
	p.nodes = append(p.nodes, node{at: 0, parent: -1, done: done, gained: gained, bound: s.bound, next: -1})
	s.finish(0, sc)
	s.expand(0, sc)
	if s.over() {
		return s.bound
	}
	for l := 1; l <= n; l++ {
		list := m.bestOf(p.layers[l], width)
		clear(p.chains)
		first := len(p.nodes)
		kept := 0
		for c := list.next(&p.pick); c != nil; c = list.next(&p.pick) {
			if c.bound <= s.floor {
				break
			}
			if kept >= width {
				p.lost = max(p.lost, c.bound)
				break
			}
			if s.take(c) {
				kept++
			}
		}
		for i := first; i < len(p.nodes); i++ {
			if !p.nodes[i].dead {
				s.finish(int32(i), sc)
			}
		}
		for i := first; i < len(p.nodes); i++ {
			if p.nodes[i].dead || p.nodes[i].bound <= s.floor {
				continue
			}
			s.expand(int32(i), sc)
			if s.over() {
				return s.bound
			}
		}
	}
	return p.lost
}

// onDay copies a state and moves it to a day.
func (m *model) onDay(dst, v []int32, d int) ([]int32, int64, bool) {
	if len(dst) == 0 || &dst[0] != &v[0] {
		copy(dst, v)
	}
	var cost int64
	for int(dst[m.lay.day]) < d {
		c, _, ok := m.nextDay(dst, int(dst[m.lay.day])+1)
		if !ok {
			return dst, 0, false
		}
		cost += c
	}
	return dst, -cost, true
}

// worth is what a step gains from a state on its day: value less changeover
// and length of day.
func (m *model) worth(v []int32, st *step) int64 {
	f := &m.flights[st.flight]
	prof := &f.days[st.day]
	x := v[m.lay.unit+uSize*int(st.unit):]
	return prof.q[st.takeoff-prof.lo] - m.legTo(v, int(st.unit), f).cost()*m.weights.ChangePerS -
		m.weights.SpanPerS*m.step*int64(st.takeoff+f.steps-x[uFree])
}

// take makes the state of a candidate, unless another dominates it.
func (s *search) take(c *candidate) bool {
	m, p := s.m, s.pool
	at := len(p.vectors)
	from := p.nodes[c.parent].at
	p.vectors = append(p.vectors, p.vectors[from:int(from)+m.lay.size]...)
	v := p.vectors[at : at+m.lay.size]
	if _, _, ok := m.onDay(v, v, int(c.step.day)); !ok {
		p.vectors = p.vectors[:at]
		return false
	}
	done := p.nodes[c.parent].done
	m.apply(v, &done, c.step)
	m.settle(v, nil)
	key := m.key(v, done)
	head, ok := p.chains[key]
	if !ok {
		head = -1
	}
	for i := head; i >= 0; i = p.nodes[i].next {
		o := &p.nodes[i]
		if o.dead || o.done != done {
			continue
		}
		if !s.whole { // keep a narrow beam diverse
			p.vectors = p.vectors[:at]
			return false
		}
		w := p.vectors[o.at : int(o.at)+m.lay.size]
		if o.gained-m.behind(w, v) >= c.gained && m.dominates(w, v) {
			p.vectors = p.vectors[:at]
			return false
		}
		if c.gained-m.behind(v, w) >= o.gained && m.dominates(v, w) {
			o.dead = true
		}
	}
	p.chains[key] = int32(len(p.nodes))
	p.nodes = append(p.nodes, node{at: int32(at), parent: c.parent, step: c.step, done: done, gained: c.gained, bound: c.bound, next: head})
	s.s.States++
	return true
}

// key hashes what two states must share to be compared.
func (m *model) key(v []int32, done set) uint64 {
	h := done[0]*0x9e3779b97f4a7c15 ^ done[1]*0xc2b2ae3d27d4eb4f
	mix := func(x int32) { h = (h ^ uint64(uint32(x))) * 0x100000001b3 }
	for u := range m.units {
		x := v[m.lay.unit+uSize*u:]
		mix(x[uSpot])
		mix(int32(m.configs[x[uConfig]].rig))
		mix(x[uBreaks])
	}
	for r := range m.rigs {
		mix(v[m.lay.rig+2*r+1])
	}
	mix(v[m.lay.day])
	return h ^ h>>29
}

// behind is the cost of the day's length that b has paid already and a has yet
// to pay if it goes on.
func (m *model) behind(a, b []int32) int64 {
	var steps int64
	for u := range m.units {
		i := m.lay.unit + uSize*u + uFree
		steps += int64(max(0, b[i]-a[i]))
	}
	return steps * m.step * m.weights.SpanPerS
}

// dominates: a leaves at least every choice that b leaves. Both have the same
// slates done.
func (m *model) dominates(a, b []int32) bool {
	if a[m.lay.last] > b[m.lay.last] || a[m.lay.day] != b[m.lay.day] {
		return false
	}
	for u := range m.units {
		x, y := a[m.lay.unit+uSize*u:], b[m.lay.unit+uSize*u:]
		if x[uSpot] != y[uSpot] || m.configs[x[uConfig]].rig != m.configs[y[uConfig]].rig || x[uBreaks] != y[uBreaks] ||
			x[uFree] > y[uFree] || x[uFlown] > y[uFlown] {
			return false
		}
	}
	for r := range m.rigs {
		x, y := a[m.lay.rig+2*r:], b[m.lay.rig+2*r:]
		if x[0] > y[0] || x[1] != y[1] {
			return false
		}
	}
	for k := range m.packs {
		x, y := a[m.lay.pack+2*k:], b[m.lay.pack+2*k:]
		if x[0] > y[0] || x[1] < y[1] {
			return false
		}
	}
	for i := m.lay.charger; i < m.lay.last; i++ {
		if a[i] > b[i] {
			return false
		}
	}
	return true
}

// finish takes a node for a whole plan, if it is the best so far.
func (s *search) finish(i int32, sc *scope) {
	p, m := s.pool, s.m
	n := &p.nodes[i]
	if n.gained <= s.floor || sc != nil && sc.force >= 0 && !n.done.has(int(sc.force)) {
		return
	}
	cost, _, ok := m.wrapDay(p.vectors[n.at:int(n.at)+m.lay.size], false)
	if !ok || n.gained-cost <= s.floor {
		return
	}
	s.floor = n.gained - cost
	s.found = s.found[:0]
	for j := i; p.nodes[j].parent >= 0; j = p.nodes[j].parent {
		s.found = append(s.found, p.nodes[j].step)
	}
	fixed := s.fixed
	if sc != nil && len(sc.prefix) > 0 {
		fixed = sc.prefix
	}
	for k := len(fixed) - 1; k >= 0; k-- {
		s.found = append(s.found, fixed[k])
	}
	slices.Reverse(s.found)
	if s.floor <= s.best {
		return
	}
	s.best = s.floor
	s.plan = append(s.plan[:0], s.found...)
	s.s.BestWork = s.s.Work
	if s.s.FirstWork == 0 && len(s.plan) > 0 {
		s.s.FirstWork, s.s.FirstScore = max(s.s.Work, 1), s.best
	}
	if s.o.Progress != nil {
		count := 0
		for i := range m.slates {
			if n.done.has(i) {
				count++
			}
		}
		s.o.Progress(Improvement{Score: s.best, Bound: s.bound, Work: s.s.Work, Slates: count})
	}
}

// expand emits every step that can follow a node.
func (s *search) expand(i int32, sc *scope) {
	m, p := s.m, s.pool
	at := p.nodes[i].at
	v := p.vectors[at : int(at)+m.lay.size]
	for d := int(v[m.lay.day]); d < len(m.dayStart); d++ {
		base := v
		gained := p.nodes[i].gained
		if d > int(v[m.lay.day]) {
			w, g, ok := m.onDay(p.work, v, d)
			if !ok {
				break
			}
			base, gained = w, gained+g
		}
		s.expandDay(i, base, d, gained, sc)
	}
}

// branch is what all sorties that can follow a node by one unit on one day share.
type branch struct {
	node      int32
	v         []int32 // the node's state, on the day
	done      set
	day, unit int
	gained    int64
	open      int64 // what may be gained besides: by other units, and for slates left open
	alone     set   // slates that this unit alone may still get
}

func (s *search) expandDay(i int32, v []int32, d int, gained int64, sc *scope) {
	m, b := s.m, s.b
	done := s.pool.nodes[i].done
	var rest int64 // what the units may still gain
	gains := s.gains
	for u := range m.units {
		x := v[m.lay.unit+uSize*u:]
		gains[u] = b.ahead(u, d, int(x[uBreaks]), b.label(int(x[uConfig]), done), x[uFree]-m.dayStart[d])
		rest += gains[u]
	}
	undone := m.all.without(done)
	open := b.worthOf(undone)
	for u := range m.units {
		x := v[m.lay.unit+uSize*u:]
		var elsewhere set
		for w := range m.units {
			if w != u {
				y := v[m.lay.unit+uSize*w:]
				elsewhere = elsewhere.union(b.still[w][y[uConfig]].at(y[uFree]))
			}
		}
		here := b.still[u][x[uConfig]].at(x[uFree])
		nobody := undone.without(elsewhere.union(here))
		br := branch{node: i, v: v, done: done, day: d, unit: u, gained: gained,
			open: rest - gains[u] + open - b.worthOf(nobody), alone: undone.and(here).without(elsewhere)}
		switch {
		case sc == nil:
			for _, f := range m.units[u].flights {
				s.fly(&br, f, nil)
			}
		case sc.reach > 0:
			for pick := 0; ; pick++ {
				st := sc.within(m, u, done, pick)
				if st == nil {
					break
				}
				if int(st.day) == d {
					s.fly(&br, st.flight, sc)
				}
			}
		default:
			if st := sc.nextKept(b, u, x, done); st != nil && int(st.day) == d {
				s.fly(&br, st.flight, sc)
			}
			for _, f := range sc.lists[u] {
				s.fly(&br, f, sc)
			}
		}
	}
}

// fly emits the ways to fly a flight next: with or without a rest, and with as many
// breaks before it as there may be.
func (s *search) fly(br *branch, fi int32, sc *scope) {
	m, v, d := s.m, br.v, br.day
	f := &m.flights[fi]
	prof := &f.days[d]
	last := v[m.lay.last]
	if f.mask.meets(br.done) || len(prof.q) == 0 || prof.lo+int32(len(prof.q))-1 < last {
		return
	}
	s.s.Work++
	if !m.ready(f, br.done) {
		return
	}
	unit, x := &m.units[br.unit], v[m.lay.unit+uSize*br.unit:]
	floor, limit := max(last, m.dayStart[d], prof.lo), unit.wrap[d]
	for k, sl := range f.slates {
		if a := m.slates[sl].avail; a >= 0 {
			if t := v[m.lay.avail+a]; t > 1 {
				floor = max(floor, int32(ceilDiv(int64(t)-f.offsets[k], m.step)))
			}
		}
	}
	if sc != nil && sc.force >= 0 && !br.done.has(int(sc.force)) {
		near := m.up(forceS)
		if limit = min(limit, sc.forceAt+near+f.steps); f.mask.has(int(sc.force)) {
			floor = max(floor, sc.forceAt-near)
		}
	}
	l := m.legTo(v, br.unit, f)
	t := takeoff{flight: fi, since: br.gained - l.cost()*m.weights.ChangePerS + m.weights.SpanPerS*m.step*int64(x[uFree]),
		open: br.open - s.b.worthOf(f.mask)}
	free, flown, begin := x[uFree], x[uFlown], unit.call[d]
	breaks := unit.breaks[d][x[uBreaks]:]
	for ; ; t.breaks++ {
		t.until = limit
		if t.breaks < len(breaks) {
			t.until = min(t.until, breaks[t.breaks].latest)
		}
		from := max(m.readyAt(l, unit.tech, free, v[m.lay.rig+2*f.rig], begin), floor)
		fresh := max(from, x[uFree]+unit.rest) // after a rest
		tired := unit.fly > 0 && flown+f.steps > unit.fly
		if unit.fly > 0 && flown > 0 && f.steps <= unit.fly && (fresh == from || tired || s.whole) {
			t.from, t.rested = fresh, true
			s.starts(br, &t)
		}
		if !tired && (unit.fly == 0 || flown == 0 || fresh > from) {
			t.from, t.rested = from, false
			s.starts(br, &t)
		}
		if t.breaks == len(breaks) {
			return
		}
		next := &breaks[t.breaks]
		at := max(free, next.earliest)
		if at > next.latest {
			return
		}
		free = at + next.duration
		begin = free
		if next.duration >= unit.rest {
			flown = 0
		}
	}
}

// ready: what must come before is done or comes earlier in the flight.
func (m *model) ready(f *flight, done set) bool {
	have := done.union(f.mask)
	for _, sl := range f.slates {
		if m.slates[sl].npred > 0 && !have.contains(m.slates[sl].preds) {
			return false
		}
	}
	return true
}

// takeoff is what all take-offs of a flight that follow a branch share, with so many
// breaks before it and rested or not.
type takeoff struct {
	flight      int32
	from, until int32 // take off from, land by
	breaks      int
	rested      bool
	since, open int64 // gained, but for the flight's value and the day's length; what may be gained besides
}

// starts emits the take-offs worth trying: the first that can be flown, and
// every later one that is worth more than all before it. Nothing else can be
// better, for whatever follows may follow the earlier one as well.
func (s *search) starts(br *branch, w *takeoff) {
	m, p, b := s.m, s.pool, s.b
	f := &m.flights[w.flight]
	prof := &f.days[br.day]
	v, from, until := br.v, w.from, w.until-f.steps
	if from > until {
		return
	}
	span := m.weights.SpanPerS * m.step
	nBreaks := int(v[m.lay.unit+uSize*br.unit+uBreaks]) + w.breaks
	next := b.label(f.config, br.done.union(f.mask))
	s.owe(f, v, br.done)
	still := &b.still[br.unit][f.config]
	layer := 0
	emit := func(t int32, pack, charger int8) {
		s.s.Work++
		land := t + f.steps
		got := w.since + prof.q[t-prof.lo] - span*int64(land)
		bound := got + w.open + b.ahead(br.unit, br.day, nBreaks, next, land-m.dayStart[br.day])
		for _, o := range s.owed { // whatever follows takes off no earlier
			since := int64(t) * m.step
			bound += b.ties[o.tie].after(max(o.since, since+o.after))
		}
		if bound <= s.floor {
			return
		}
		if lost := br.alone.without(f.mask).without(still.at(land)); lost != (set{}) {
			bound -= b.worthOf(lost)
		}
		if bound <= s.floor {
			return
		}
		if layer == 0 {
			layer = br.done.count() + len(f.slates)
		}
		c := candidate{bound: bound, gained: got, parent: br.node, order: int32(len(p.layers[layer])),
			step: step{flight: w.flight, takeoff: t, unit: int8(br.unit), day: int8(br.day), pack: pack, charger: charger, breaks: int8(w.breaks), rested: w.rested}}
		if last := len(p.layers[layer]) - 1; !s.whole && last >= 0 && p.layers[layer][last].alike(&c) {
			// of like candidates a narrow beam takes the best alone
			if m.before(&c, &p.layers[layer][last]) < 0 {
				c.order = int32(last)
				p.layers[layer][last] = c
			}
			return
		}
		if l := p.layers[layer]; len(l) == cap(l) {
			p.layers[layer] = slices.Grow(l, max(256, len(l)))
		}
		p.layers[layer] = append(p.layers[layer], c)
	}
	each := func(from int32, pack, charger int8) {
		k := from - prof.lo
		if int(k) >= len(prof.q) {
			return
		}
		if prof.q[k] < 0 {
			k = prof.next[k]
		}
		for tries := 0; k >= 0 && prof.lo+k <= until; tries++ {
			emit(prof.lo+k, pack, charger)
			if k = prof.next[k]; !s.whole { // the later ones sparsely
				for hop := 1<<tries - 1; hop > 0 && k >= 0 && prof.next[k] >= 0 && prof.lo+prof.next[k] <= until; hop-- {
					k = prof.next[k]
				}
			}
		}
	}
	if s.light || m.rigs[f.rig].mains {
		each(from, -1, -1)
		return
	}
	if !s.whole {
		s.leanPacks(w.flight, f, v, from, until, each)
		return
	}
	lastOne := br.done.count()+len(f.slates) == len(m.slates)
	for k := range m.packs {
		pk := &m.packs[k]
		y := v[m.lay.pack+2*k:]
		if pk.rigs>>f.rig&1 == 0 || y[1]-pk.keep < f.need || m.twin(v, k) {
			continue
		}
		t := max(from, y[0])
		if t > until {
			continue
		}
		each(t, int8(k), -1)
		if lastOne {
			continue
		}
		for c := range m.chargers {
			if m.chargers[c].slots > 0 && m.chargers[c].power[k] > 0 && (f.need > 0 || y[1] < pk.capacity) {
				each(t, int8(k), int8(c))
			}
		}
	}
}

// leanPacks tries one pack of those ready in time, else the first that will be,
// and charges it or not. By the first habit it is the pack that fits most closely,
// charged when it cannot fly again; other habits take the fullest for some flights,
// and charge some packs when they are half empty. The charger is the one that is
// done first.
func (s *search) leanPacks(fi int32, f *flight, v []int32, from, until int32, each func(int32, int8, int8)) {
	m := s.m
	h := (s.habit ^ uint64(fi)) * 0x9e3779b97f4a7c15 >> 32
	full, soon := h&7 < s.habit&7, h>>3&7 < s.habit>>3&7
	k := -1
	for j := range m.packs {
		pk := &m.packs[j]
		y := v[m.lay.pack+2*j:]
		if pk.rigs>>f.rig&1 == 0 || y[1]-pk.keep < f.need || y[0] > until {
			continue
		}
		if k >= 0 {
			x := v[m.lay.pack+2*k:]
			over := (y[1] - pk.keep) - (x[1] - m.packs[k].keep)
			switch {
			case y[0] > from && y[0] >= x[0], x[0] <= from && (over == 0 || over > 0 != full):
				continue
			}
		}
		k = j
	}
	if k < 0 {
		return
	}
	pk := &m.packs[k]
	y := v[m.lay.pack+2*k:]
	t, left := max(from, y[0]), y[1]-f.need
	again := left-pk.keep >= pk.least
	charger, end := int8(-1), int32(1<<30)
	if !again || soon && 2*(left-pk.keep) < pk.capacity-pk.keep {
		for c := range m.chargers {
			if m.chargers[c].slots > 0 && m.chargers[c].power[k] > 0 && left < pk.capacity {
				at, _ := m.chargeStart(v, c, t+f.steps+pk.cool)
				if e := at + m.chargeSteps(c, k, left); e < end {
					charger, end = int8(c), e
				}
			}
		}
	}
	each(t, int8(k), charger)
}

// twin: an equal pack that holds as much is ready no later than pack k; flying
// either leaves the same choices. (Equal packs lie in order of readiness.)
func (m *model) twin(v []int32, k int) bool {
	for j := k - 1; j >= 0; j-- {
		if m.packs[j].class == m.packs[k].class && v[m.lay.pack+2*j+1] == v[m.lay.pack+2*k+1] {
			return true
		}
	}
	return false
}

// nextKept is the first step of a unit's kept order that is not yet done and not
// yet too late, nil if none.
func (sc *scope) nextKept(b *bounds, u int, x []int32, done set) *step {
	still := b.still[u][x[uConfig]].at(x[uFree])
	for i := range sc.orders[u] {
		mask := b.m.flights[sc.orders[u][i].flight].mask
		if !mask.meets(done) && still.contains(mask) {
			return &sc.orders[u][i]
		}
	}
	return nil
}

// within is the step that stands pick places after the first of a unit's order
// that is not yet done, nil if none is in reach.
func (sc *scope) within(m *model, u int, done set, pick int) *step {
	if pick >= sc.reach {
		return nil
	}
	order := sc.orders[u]
	for i := range order {
		if !m.flights[order[i].flight].mask.meets(done) {
			if i+pick >= len(order) {
				return nil
			}
			return &order[i+pick]
		}
	}
	return nil
}
