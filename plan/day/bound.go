package day

import (
	"math/bits"
	"slices"
)

// The bound. Take a price off every visit to a slate and hand the prices out
// again once: no plan loses by it, and the units fall apart into longest paths
// over time, one per unit, in which a slate may be visited twice. Their lengths
// bound every plan from above, for any prices that are not negative; the prices
// are bettered step by step (bundle). The same tables bound what can still be
// added to a half-made plan.
//
// Where each build has slates of its own a path remembers some of the slates
// that it has visited: those that lie on the cycles of the paths before it, as
// long as it stays near them (ng-routes: Baldacci, Mingozzi and Roberti, New
// state-space relaxations for solving the travelling salesman problem with time
// windows, INFORMS Journal on Computing 24, 2012; grown where needed as in
// Roberti and Mingozzi, Dynamic ng-path relaxation for the delivery man problem,
// Transportation Science 48, 2014; from memory).

const never = int64(-1) << 60

// label is a config and the slates that a path through it remembers.
type label struct {
	config int32
	seen   set
}

// arc leads from a label.
type arc struct {
	from, gap int32
	cost      int64
}

// rise is a time at which a value grows to v, seen from later times; before it
// the value holds.
type rise struct {
	t int32
	v int64
}

// stairs are rises in falling order of time.
type stairs []rise

// at is the value at a time, never after the last.
func (s stairs) at(t int32) int64 {
	lo, hi := 0, len(s)
	for lo < hi {
		if mid := (lo + hi) / 2; s[mid].t >= t {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo == 0 {
		return never
	}
	return s[lo-1].v
}

// still tells which slates can still be got when free at a time: of[i] by the i-th.
type still struct {
	by []int32 // rising
	of []set
}

func newStill(late []int32) still {
	w := still{by: slices.Clone(late)}
	slices.Sort(w.by)
	w.by = slices.Compact(w.by)
	w.of = make([]set, len(w.by))
	for s, l := range late {
		i, _ := slices.BinarySearch(w.by, l)
		w.of[i].add(s)
	}
	for i := len(w.of) - 2; i >= 0; i-- {
		w.of[i] = w.of[i].union(w.of[i+1])
	}
	return w
}

func (w *still) at(t int32) set {
	i, _ := slices.BinarySearch(w.by, t)
	if i == len(w.of) {
		return set{}
	}
	return w.of[i]
}

// worthOf is the sum of the prices of some slates.
func (b *bounds) worthOf(s set) (sum int64) {
	for w, left := range s {
		for ; left != 0; left &= left - 1 {
			sum += b.price[w<<6|bits.TrailingZeros64(left)]
		}
	}
	return sum
}

// chart holds what can be gained by one unit on one day with a number of breaks
// taken, per label: on from flying on when free at a time or later, less the
// span until then; off from taking off for it at a time or later. Where that runs
// with time, all is what being free is worth at each time.
type chart struct {
	on, off []stairs
	all     [][]int64
	last    int32 // of the times for which all is kept
}

type bounds struct {
	m      *model
	price  []int64 // per slate, then of the ties
	ties   []tie
	net    [][][]int64 // per flight with ties and day: its profile less prices
	gap    [][][]int32 // per unit, config, config: least steps
	cost   [][][]int64 // and least cost
	still  [][]still   // per unit and config: until when slates can be got
	root   int64
	slope  []int32   // of the root as each price grows
	slopes [][]int32 // of each unit's path
	length []int64   // of each unit's path
	bundle bundle
	paths  [][]int32 // per unit: the configs of the best path
	work   int64     // of the last solution, in candidates

	near   [][]int32 // per config: slates remembered there
	first  []int32   // per config: its first label
	labels []label
	arcs   [][][]arc   // per unit and label: where it can be reached from
	charts [][][]chart // per unit, day and number of breaks taken
	stop   [][][]int64 // per unit, day and label: what stopping for the day is worth
	wrap   []int32     // per config: steps to the build it must wrap in
	// free and off, per unit, day and config: times, from the day's start, at which
	// a unit can be free after it and take off for it
	free, off [][][][2]int32
	runs      [][][]bool  // per unit, day and config: what taking off is worth runs with time
	flights   [][][]int32 // per unit and config
	cut       []int64     // per flight: its prices
	agenda    agenda
}

// mostNear is the most slates remembered at a config, mostCells the most entries
// kept for each time.
const (
	mostNear  = 8
	mostCells = 300_000
)

func newBounds(m *model) *bounds {
	b := &bounds{m: m, price: make([]int64, len(m.slates)), net: make([][][]int64, len(m.flights)),
		cut: make([]int64, len(m.flights)), near: make([][]int32, len(m.configs)), paths: make([][]int32, len(m.units))}
	b.tie()
	b.slope = make([]int32, len(b.price))
	b.length = make([]int64, len(m.units))
	for range m.units {
		b.slopes = append(b.slopes, make([]int32, len(b.price)))
	}
	n := len(m.configs)
	for c := range m.configs {
		b.wrap = append(b.wrap, m.up(b.wrapS(c)))
	}
	for u := range m.units {
		unit := &m.units[u]
		gap, cost := make([][]int32, n), make([][]int64, n)
		late := make([][]int32, n)
		flights := make([][]int32, n)
		for _, f := range unit.flights {
			c := m.flights[f].config
			flights[c] = append(flights[c], f)
		}
		b.flights = append(b.flights, flights)
		for i, from := range m.configs {
			gap[i], cost[i] = make([]int32, n), make([]int64, n)
			late[i] = make([]int32, len(m.slates))
			for s := range late[i] {
				late[i][s] = -1 << 30
			}
			for j, to := range m.configs {
				if to.rig < 0 || from.mask.meets(to.mask) {
					gap[i][j] = 1 << 28
					continue
				}
				l := m.leastLeg(unit, from, to)
				gap[i][j], cost[i][j] = m.readyAt(l, unit.tech, 0, 0, 0), l.cost()*m.weights.ChangePerS
			}
			for _, f := range unit.flights {
				fl := &m.flights[f]
				for d := range fl.days {
					p := &fl.days[d]
					k := len(p.q) - 1
					for k >= 0 && (p.q[k] < 0 || p.lo+int32(k)+fl.steps > unit.wrap[d]) {
						k--
					}
					if k < 0 {
						continue
					}
					t := p.lo + int32(k) - gap[i][fl.config]
					if d > 0 && t >= unit.call[d] {
						t = max(t, m.dayEnd[d-1])
					}
					for _, s := range fl.slates {
						late[i][s] = max(late[i][s], t)
					}
				}
			}
		}
		b.gap, b.cost = append(b.gap, gap), append(b.cost, cost)
		list := make([]still, n)
		for c := range list {
			list[c] = newStill(late[c])
		}
		b.still = append(b.still, list)
		b.times(u)
	}
	b.lay()
	return b
}

// times finds when a unit can be free after each config, and take off for it.
func (b *bounds) times(u int) {
	m := b.m
	unit := &m.units[u]
	free, off := make([][][2]int32, len(m.dayStart)), make([][][2]int32, len(m.dayStart))
	runs := make([][]bool, len(m.dayStart))
	for d := range free {
		size := m.dayEnd[d] - m.dayStart[d] + 1
		free[d], off[d] = make([][2]int32, len(m.configs)), make([][2]int32, len(m.configs))
		runs[d] = make([]bool, len(m.configs))
		for c := range free[d] {
			free[d][c], off[d][c] = [2]int32{size, -1}, [2]int32{size, -1}
		}
		reach := func(r *[2]int32, from, to int32) {
			r[0], r[1] = max(0, min(r[0], from)), min(size-1, max(r[1], to))
		}
		for _, f := range unit.flights {
			fl := &m.flights[f]
			r := &free[d][fl.config]
			if d > 0 {
				reach(r, 0, unit.call[d]-m.dayStart[d])
			}
			if p := &fl.days[d]; len(p.q) > 0 {
				first, last := p.lo-m.dayStart[d], p.lo-m.dayStart[d]+int32(len(p.q))-1
				if m.weights.SpanPerS > 0 || len(unit.breaks[d]) > 0 || b.net[f] != nil || slices.ContainsFunc(p.q, func(q int64) bool { return q != p.q[0] }) {
					runs[d][fl.config] = true
				}
				reach(&off[d][fl.config], first, last)
				reach(r, first+fl.steps, last+fl.steps)
				if len(unit.breaks[d]) > 0 {
					reach(r, first+fl.steps, size-1)
				}
			}
		}
		reach(&free[d][unit.start], 0, size-1)
	}
	b.free, b.off, b.runs = append(b.free, free), append(b.off, off), append(b.runs, runs)
}

// meets tells whether one config can follow another in time.
func (b *bounds) meets(u, from, to int) bool {
	gap := b.gap[u][from][to]
	for d := range b.free[u] {
		if b.free[u][d][from][0]+gap <= b.off[u][d][to][1] {
			return true
		}
	}
	return false
}

// label is the label of a config for a path that has done a set of slates.
func (b *bounds) label(c int, done set) int32 {
	l := b.first[c]
	for k, s := range b.near[c] {
		if done.has(int(s)) {
			l += 1 << k
		}
	}
	return l
}

// lay makes labels, arcs and charts for the slates now remembered.
func (b *bounds) lay() {
	m := b.m
	b.labels, b.first = b.labels[:0], b.first[:0]
	for c, near := range b.near {
		b.first = append(b.first, int32(len(b.labels)))
		for x := range 1 << len(near) {
			l := label{config: int32(c)}
			for k, s := range near {
				if x>>k&1 != 0 {
					l.seen.add(int(s))
				}
			}
			b.labels = append(b.labels, l)
		}
	}
	b.arcs, b.charts, b.stop = b.arcs[:0], b.charts[:0], b.stop[:0]
	for u := range m.units {
		b.arcs = append(b.arcs, b.arcsOf(u))
		var charts [][]chart
		var stop [][]int64
		for d := range m.dayStart {
			list := make([]chart, len(m.units[u].breaks[d])+1)
			for k := range list {
				list[k] = chart{on: make([]stairs, len(b.labels)), off: make([]stairs, len(b.labels)), all: make([][]int64, len(b.labels))}
				for i, l := range b.labels {
					if r := b.free[u][d][l.config]; b.runs[u][d][l.config] && r[1] >= r[0] {
						list[k].all[i] = make([]int64, r[1]-r[0]+1)
					}
				}
			}
			charts, stop = append(charts, list), append(stop, make([]int64, len(b.labels)))
		}
		b.charts, b.stop = append(b.charts, charts), append(b.stop, stop)
	}
	b.agenda.lay(m, len(b.labels))
}

// arcsOf lists for each label the labels from which a unit can go there.
func (b *bounds) arcsOf(u int) [][]arc {
	m := b.m
	arcs := make([][]arc, len(b.labels))
	for i := range b.labels {
		from := &b.labels[i]
		c := int(from.config)
		if c != m.units[u].start && len(b.flights[u][c]) == 0 {
			continue
		}
		have := from.seen.union(m.configs[c].mask)
		for to, flights := range b.flights[u] {
			if len(flights) > 0 && !have.meets(m.configs[to].mask) && b.meets(u, c, to) {
				l := b.label(to, have)
				arcs[l] = append(arcs[l], arc{int32(i), b.gap[u][c][to], b.cost[u][c][to]})
			}
		}
	}
	return arcs
}

// leastLeg is the least changeover between two configs, whatever state the
// rigs may be in.
func (m *model) leastLeg(unit *unitM, from, to config) leg {
	rig := &m.rigs[to.rig]
	l := leg{ground: rig.ground}
	if from.spot >= 0 && to.spot >= 0 {
		l.move = m.move[from.spot][to.spot]
	}
	if from.rig >= 0 && from.rig != to.rig {
		l.handover = unit.handover
	}
	if rig.units > 1 || rig.wrap >= 0 && len(m.dayStart) > 1 {
		return l
	}
	switch {
	case from.rig == to.rig:
		l.build = rig.change[from.setup][to.setup]
	case from.rig < 0 && rig.setup >= 0:
		l.build = rig.change[rig.setup][to.setup]
	}
	return l
}

// ahead is the most that a unit can gain from being free at a time, from the day's
// start, in a label with k breaks taken.
func (b *bounds) ahead(u, d, k int, l, t int32) int64 {
	chart := &b.charts[u][d][k]
	if all := chart.all[l]; all != nil && t <= chart.last {
		return all[t-b.free[u][d][b.labels[l].config][0]]
	}
	return b.worth(u, d, k, l, t, chart.on[l].at(t))
}

// worth is ahead where flying on is worth on.
func (b *bounds) worth(u, d, k int, l, t int32, on int64) int64 {
	m := b.m
	unit := &m.units[u]
	start := m.dayStart[d]
	span := m.weights.SpanPerS * m.step
	best := never
	if t+b.wrap[b.labels[l].config] <= m.dayEnd[d]-start {
		best = b.stop[u][d][l]
	}
	if on > never {
		best = max(best, on+span*int64(t-unit.call[d]+start))
	}
	if after, ok := m.afterBreak(u, d, k, t); ok { // the day goes on counting through it
		best = max(best, b.ahead(u, d, k+1, l, after)-span*int64(after-t))
	}
	return best
}

// afterBreak is when a unit's next break is over, taken when it is free at a time with
// k taken before, from the day's start; ok where there is one that it can take.
func (m *model) afterBreak(u, d, k int, t int32) (after int32, ok bool) {
	unit, start := &m.units[u], m.dayStart[d]
	if k == len(unit.breaks[d]) {
		return 0, false
	}
	br := &unit.breaks[d][k]
	from := max(t, br.earliest-start)
	after = from + br.duration
	return after, from <= br.latest-start && after <= m.dayEnd[d]-start
}

// flat makes the price of each slate all that can be got for it, so that no path is
// worth more than nothing, as the charts stand before they are filled.
func (b *bounds) flat() {
	m := b.m
	for i := range m.flights {
		for _, s := range m.flights[i].slates {
			b.price[s] = 1000 * m.slates[s].value
		}
	}
	for at, keep := range m.keep {
		if b.price[at[0]] > 0 {
			b.price[at[0]] = max(b.price[at[0]], 1000*m.slates[at[0]].value+keep.Points)
		}
	}
	b.root = b.worthOf(m.all)
}

// solve fills the charts for the present prices and sets root.
func (b *bounds) solve() {
	m := b.m
	b.work, b.root = 0, b.worthOf(m.all)
	for i := range m.flights {
		b.cut[i] = b.worthOf(m.flights[i].mask)
	}
	b.payTies()
	for u := range m.units {
		unit := &m.units[u]
		for d := len(m.dayStart) - 1; d >= 0; d-- {
			for i, l := range b.labels {
				c := int(l.config)
				stop := -b.wrapS(c) * m.weights.ChangePerS
				if d+1 < len(m.dayStart) && (c == unit.start || len(b.flights[u][c]) > 0) {
					if next := b.ahead(u, d+1, 0, int32(i), unit.call[d+1]-m.dayStart[d+1]); next > never/2 {
						stop += max(0, next)
					}
				}
				b.stop[u][d][i] = stop
			}
			for k := len(unit.breaks[d]); k >= 0; k-- {
				b.solveDay(u, d, k)
			}
		}
		b.length[u] = b.ahead(u, 0, 0, b.first[unit.start], unit.call[0]-m.dayStart[0])
		b.root += b.length[u]
	}
	b.work /= 20
}

// agenda holds what a sweep has yet to look at, by time.
type agenda struct {
	look, come []int32 // per time: the first of a list, 0 ends
	todo       []todo
	looked     []int32 // per label: when last
	runs       []run
	now, top   []int64 // per label: the most from taking off and from flying on, so far
	free       [][2]int32
}

// todo is a label to look at, or a value to come to it.
type todo struct {
	label, next int32
	v           int64
}

// run is a label of which all is kept: the times it can be free, and what stopping
// is worth until when.
type run struct {
	label, from, to, wrapBy int32
	stop                    int64
	all                     []int64
	base                    int32
}

func (a *agenda) lay(m *model, labels int) {
	var size int32
	for d := range m.dayStart {
		size = max(size, m.dayEnd[d]-m.dayStart[d]+1)
	}
	if len(a.look) < int(size) {
		a.look, a.come = make([]int32, size), make([]int32, size)
	}
	a.looked, a.free = make([]int32, labels), make([][2]int32, labels)
	a.now, a.top = make([]int64, labels), make([]int64, labels)
}

func (a *agenda) put(list []int32, t, label int32, v int64) {
	a.todo = append(a.todo, todo{label, list[t], v})
	list[t] = int32(len(a.todo) - 1)
}

// solveDay sweeps one day backwards for a number of breaks taken. A label is
// looked at only when what may follow it has gained, or, where quality or the
// length of the day run with time, always.
func (b *bounds) solveDay(u, d, k int) {
	m := b.m
	unit := &m.units[u]
	span := m.weights.SpanPerS * m.step
	start, size := m.dayStart[d], m.dayEnd[d]-m.dayStart[d]+1
	call := unit.call[d] - start
	chart := &b.charts[u][d][k]
	limit := unit.wrap[d] - start
	if k < len(unit.breaks[d]) {
		limit = min(limit, unit.breaks[d][k].latest-start)
	}
	// nothing takes off later than the limit, nor before the earliest end of the
	// breaks already taken
	first := call
	for _, br := range unit.breaks[d][:k] {
		first = max(first, br.earliest-start) + br.duration
	}
	runs := b.runs[u][d]
	a := &b.agenda
	clear(a.look)
	clear(a.come)
	a.todo = append(a.todo[:0], todo{})
	top := min(limit, size-1)
	chart.last = top
	a.runs = a.runs[:0]
	for i := range b.labels {
		c := b.labels[i].config
		a.free[i], a.top[i] = b.free[u][d][c], never
		if a.free[i][0] = max(a.free[i][0], first); chart.all[i] != nil {
			base := b.free[u][d][c][0]
			a.runs = append(a.runs, run{int32(i), max(a.free[i][0], base), min(a.free[i][1], top), size - 1 - b.wrap[c], b.stop[u][d][i], chart.all[i], base})
		}
		chart.on[i], chart.off[i] = chart.on[i][:0], chart.off[i][:0]
		a.now[i], a.looked[i] = never, size
		for _, f := range b.flights[u][c] {
			fl := &m.flights[f]
			p := &fl.days[d]
			if len(p.q) == 0 {
				continue
			}
			// the last take-off, and the last from which the rig can be wrapped
			last := min(top, p.lo-start+int32(len(p.q))-1)
			for _, t := range [2]int32{last, min(last, size-1-b.wrap[c]-fl.steps)} {
				if t >= first {
					a.put(a.look, t, int32(i), 0)
				}
			}
		}
	}
	for t := top; t >= first; t-- {
		for at := a.look[t]; at > 0; at = a.todo[at].next {
			l := a.todo[at].label
			if a.looked[l] == t {
				continue
			}
			a.looked[l] = t
			best := a.now[l]
			again := false
			for _, f := range b.flights[u][b.labels[l].config] {
				fl := &m.flights[f]
				p := &fl.days[d]
				i := start + t - p.lo
				if i < 0 || int(i) >= len(p.q) {
					continue
				}
				again = again || i > 0 && runs[b.labels[l].config]
				land := t + fl.steps
				if p.q[i] < 0 || land > limit {
					continue
				}
				best = max(best, b.value(f, d, i)+b.ahead(u, d, k, l, land)-span*int64(land-call))
			}
			b.work += int64(len(b.flights[u][b.labels[l].config]))
			if again && t > first {
				a.put(a.look, t-1, l, 0)
			}
			if best <= a.now[l] {
				continue
			}
			a.now[l] = best
			chart.off[l] = append(chart.off[l], rise{t, best})
			b.work += int64(len(b.arcs[u][l]))
			for _, r := range b.arcs[u][l] {
				v := best - r.cost
				if a.top[r.from] >= v {
					continue
				}
				free := &a.free[r.from]
				if at := min(t-r.gap, free[1]); at >= free[0] {
					a.put(a.come, at, r.from, v)
				}
			}
		}
		for at := a.come[t]; at > 0; at = a.todo[at].next {
			l, v := a.todo[at].label, a.todo[at].v
			if a.top[l] >= v {
				continue
			}
			a.top[l] = v
			on := &chart.on[l]
			if n := len(*on); n > 0 && (*on)[n-1].t == t {
				(*on)[n-1].v = v
				continue
			}
			*on = append(*on, rise{t, v})
			for _, f := range b.flights[u][b.labels[l].config] {
				if off := t - m.flights[f].steps; off >= first {
					a.put(a.look, off, l, 0)
				}
			}
		}
		on := span * int64(t-call)
		after, pause := m.afterBreak(u, d, k, t)
		for i := range a.runs {
			r := &a.runs[i]
			if t < r.from || t > r.to {
				continue
			}
			best := never // worth, without its look-ups
			if t <= r.wrapBy {
				best = r.stop
			}
			if top := a.top[r.label]; top > never {
				best = max(best, top+on)
			}
			if pause {
				best = max(best, b.ahead(u, d, k+1, r.label, after)-span*int64(after-t))
			}
			r.all[t-r.base] = best
		}
		b.work += int64(len(a.runs))
	}
}

// wrapS is the time to bring a config's rig to the build it must wrap in.
func (b *bounds) wrapS(c int) int64 {
	conf := &b.m.configs[c]
	if conf.rig < 0 || b.m.rigs[conf.rig].units != 1 {
		return 0
	}
	r := &b.m.rigs[conf.rig]
	if r.wrap < 0 || r.wrap == conf.setup {
		return 0
	}
	return r.change[conf.setup][r.wrap]
}

// value is a flight's at the i-th take-off of a day, less the prices of its slates
// and what it gains or pays by its ties.
func (b *bounds) value(f int32, d int, i int32) int64 {
	if net := b.net[f]; net != nil {
		return net[d][i]
	}
	return b.m.flights[f].days[d].q[i] - b.cut[f]
}

// trace follows the best paths and finds how the root runs with each price.
func (b *bounds) trace() {
	m := b.m
	clear(b.slope)
	for s := range m.slates {
		b.slope[s] = 1
	}
	span := m.weights.SpanPerS * m.step
	for u := range m.units {
		unit := &m.units[u]
		slope := b.slopes[u]
		clear(slope)
		b.paths[u] = b.paths[u][:0]
		l := b.first[unit.start]
		for d := range m.dayStart {
			k, start := 0, m.dayStart[d]
			t, call := unit.call[d]-start, unit.call[d]-start
		day:
			for {
				c := b.labels[l].config
				want := b.ahead(u, d, k, l, t)
				if want < never/2 {
					break
				}
				if after, ok := m.afterBreak(u, d, k, t); ok && b.ahead(u, d, k+1, l, after)-span*int64(after-t) == want {
					k, t = k+1, after
					continue
				}
				have := b.labels[l].seen.union(m.configs[c].mask)
				for to, flights := range b.flights[u] {
					if len(flights) == 0 || have.meets(m.configs[to].mask) || !b.meets(u, int(c), to) {
						continue
					}
					next := b.label(to, have)
					off, n := b.charts[u][d][k].off[next], 0
					for n < len(off) && off[n].t >= t+b.gap[u][c][to] {
						n++
					}
					if n == 0 || off[n-1].v-b.cost[u][c][to]+span*int64(t-call) != want {
						continue
					}
					at, value := off[n-1].t, off[n-1].v
					for _, f := range flights {
						fl := &m.flights[f]
						i := start + at - fl.days[d].lo
						if i < 0 || int(i) >= len(fl.days[d].q) || fl.days[d].q[i] < 0 {
							continue
						}
						if land := at + fl.steps; b.value(f, d, i)+b.ahead(u, d, k, next, land)-span*int64(land-call) == value {
							for _, s := range fl.slates {
								slope[s]--
							}
							b.pull(slope, fl, at+start)
							b.paths[u] = append(b.paths[u], int32(to))
							l, t = next, land
							continue day
						}
					}
				}
				break // stops for the day
			}
		}
		b.sumSlopes(slope)
		for i, g := range slope {
			b.slope[i] += g
		}
	}
}

// grow remembers the slates on the cycles of the best paths, the shortest first,
// as long as there are no more than so many labels, and tells whether it did.
func (b *bounds) grow(most int) bool {
	grown := false
	labels, cells := len(b.labels), 0
	width := make([]int, len(b.near)) // of what is kept for each time
	for c, near := range b.near {
		for u := range b.free {
			for d, free := range b.free[u] {
				if b.runs[u][d][c] {
					width[c] += len(b.charts[u][d]) * int(max(0, free[c][1]-free[c][0]+1))
				}
			}
		}
		cells += width[c] << len(near)
	}
	for length := 2; ; length++ {
		longer := false
		for _, path := range b.paths {
			for i := 0; i+length < len(path); i++ {
				longer = true
				twice := b.m.configs[path[i]].mask.and(b.m.configs[path[i+length]].mask)
				for s := range b.m.slates {
					if !twice.has(s) {
						continue
					}
					for _, c := range path[i+1 : i+length] {
						more := 1 << len(b.near[c])
						if len(b.near[c]) >= mostNear || labels+more > most || cells+more*width[c] > mostCells || b.m.configs[c].mask.has(s) || slices.Contains(b.near[c], int32(s)) {
							continue
						}
						b.near[c] = append(b.near[c], int32(s))
						labels += more
						cells += more * width[c]
						grown = true
					}
				}
			}
		}
		if !longer {
			break
		}
	}
	if grown {
		b.lay()
	}
	return grown
}

// startPrices takes off each slate's value the least changeover that leads to it
// or from it, whichever is more.
func (b *bounds) startPrices() {
	m := b.m
	for s := range m.slates {
		into, out := -never, -never
		for u := range m.units {
			for _, fi := range m.units[u].flights {
				f := &m.flights[fi]
				if !f.mask.has(s) {
					continue
				}
				for i, row := range b.cost[u] {
					if b.gap[u][i][f.config] < 1<<28 {
						into = min(into, row[f.config])
					}
				}
				out = min(out, b.wrapS(f.config)*m.weights.ChangePerS)
				for j, c := range b.cost[u][f.config] {
					if m.configs[j].rig >= 0 && b.gap[u][f.config][j] < 1<<28 {
						out = min(out, c)
					}
				}
			}
		}
		b.price[s] = max(0, m.slates[s].best-min(max(into, out), m.slates[s].best))
	}
}
