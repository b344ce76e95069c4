package day

import (
	"math"
	"slices"
)

// The bound. Take a price off every visit to a slate and hand the prices out
// again once: no plan loses by it, and the units fall apart into longest paths
// over time, one per unit, in which a slate may be visited twice. Their lengths
// bound every plan from above, for any prices that are not negative; the prices
// are bettered by subgradient steps. The same tables bound what can still be
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
	m     *model
	price []int64     // per slate
	total int64       // sum of prices
	gap   [][][]int32 // per unit, config, config: least steps
	cost  [][][]int64 // and least cost
	late  [][][]int32 // per unit, config, slate: latest time to be free and still get it
	root  int64
	visit []int32
	paths [][]int32 // per unit: the configs of the best path
	work  int64     // of the last solution, in candidates
	way   []float64 // of the last step
	exact []float64 // prices
	level float64   // aimed at below the root

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
	b := &bounds{m: m, price: make([]int64, len(m.slates)), visit: make([]int32, len(m.slates)),
		cut: make([]int64, len(m.flights)), near: make([][]int32, len(m.configs)), paths: make([][]int32, len(m.units))}
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
		b.gap, b.cost, b.late = append(b.gap, gap), append(b.cost, cost), append(b.late, late)
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
				if m.weights.SpanPerS > 0 || len(unit.breaks[d]) > 0 || slices.ContainsFunc(p.q, func(q int64) bool { return q != p.q[0] }) {
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
	if k < len(unit.breaks[d]) {
		br := &unit.breaks[d][k]
		if from := max(t, br.earliest-start); from <= br.latest-start {
			if after := from + br.duration; after <= m.dayEnd[d]-start {
				// the day goes on counting through the break
				best = max(best, b.ahead(u, d, k+1, l, after)-span*int64(after-t))
			}
		}
	}
	return best
}

// solve fills the charts for the present prices and sets root.
func (b *bounds) solve() {
	b.total, b.work = 0, 0
	for _, p := range b.price {
		b.total += p
	}
	b.root = b.total
	m := b.m
	for i := range m.flights {
		b.cut[i] = 0
		for _, s := range m.flights[i].slates {
			b.cut[i] += b.price[s]
		}
	}
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
		b.root += b.ahead(u, 0, 0, b.first[unit.start], unit.call[0]-m.dayStart[0])
	}
	b.work /= 20
}

// agenda holds what a sweep has yet to look at, by time.
type agenda struct {
	look, come []int32 // per time: the first of a list, 0 ends
	todo       []todo
	looked     []int32 // per label: when last
	runs       []int32 // labels of which all is kept
	now, top   []int64 // per label: the most from taking off and from flying on, so far
	free       [][2]int32
}

// todo is a label to look at, or a value to come to it.
type todo struct {
	label, next int32
	v           int64
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
			a.runs = append(a.runs, int32(i))
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
				best = max(best, p.q[i]-b.cut[f]+b.ahead(u, d, k, l, land)-span*int64(land-call))
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
		for _, l := range a.runs {
			if t < a.free[l][0] || t > a.free[l][1] {
				continue
			}
			chart.all[l][t-b.free[u][d][b.labels[l].config][0]] = b.worth(u, d, k, l, t, a.top[l])
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

// trace follows the best paths and counts their visits to each slate.
func (b *bounds) trace() {
	clear(b.visit)
	m := b.m
	span := m.weights.SpanPerS * m.step
	for u := range m.units {
		unit := &m.units[u]
		b.paths[u] = b.paths[u][:0]
		l := b.first[unit.start]
		for d := range m.dayStart {
			k, start := 0, m.dayStart[d]
			t, call := unit.call[d]-start, unit.call[d]-start
			size := m.dayEnd[d] - start + 1
		day:
			for {
				c := b.labels[l].config
				want := b.ahead(u, d, k, l, t)
				if want < never/2 {
					break
				}
				if k < len(unit.breaks[d]) {
					br := &unit.breaks[d][k]
					from := max(t, br.earliest-start)
					if after := from + br.duration; from <= br.latest-start && after < size &&
						b.ahead(u, d, k+1, l, after)-span*int64(after-t) == want {
						k, t = k+1, after
						continue
					}
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
						if land := at + fl.steps; fl.days[d].q[i]-b.cut[f]+b.ahead(u, d, k, next, land)-span*int64(land-call) == value {
							for _, s := range fl.slates {
								b.visit[s]++
							}
							b.paths[u] = append(b.paths[u], int32(to))
							l, t = next, land
							continue day
						}
					}
				}
				break // stops for the day
			}
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
				for s := range b.price {
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

// improve lowers the root bound by subgradient steps until a score that is known
// to be reached, its prices have settled or the work is done, and leaves the
// charts of the best prices. Each step aims at a level below the best root
// (Polyak, Minimization of unsmooth functionals, 1969; the level falls and rises
// with success as in Brännlund, Kiwiel and Lindberg, Operations Research Letters
// 17, 1995; from memory). When steps fail, cycles that are left are remembered, up
// to so many labels.
func (b *bounds) improve(target int64, most int, work int64, settled float64, spend func(work int64) bool) {
	n := len(b.price)
	if b.way == nil {
		b.startPrices()
		b.way, b.exact = make([]float64, n), make([]float64, n)
		b.level = b.scale()
		b.solve()
	}
	for s, p := range b.price {
		b.exact[s] = float64(p)
	}
	clear(b.way)
	root, best := b.root, append([]int64(nil), b.price...)
	level := min(float64(root-target), max(b.level, float64(root-target)/20))
	stale := 0
	mark := root // at the last look
	for round := 1; work > 0 && root > target && level >= 0.5; round++ {
		if round%25 == 0 {
			if float64(mark-root) < settled*float64(mark-target) {
				break
			}
			mark = root
		}
		work -= b.work
		if spend(b.work) {
			break
		}
		// room for so many labels that there may be thirty more steps
		room := int(min(int64(most), int64(len(b.labels))*work/(30*b.work+1)))
		b.trace()
		if slices.Max(b.visit) > 2 && b.grow(room) {
			b.solve()
			b.trace()
		}
		var norm float64
		for s, n := range b.visit {
			g := float64(1 - n)
			if b.price[s] == 0 && g > 0 {
				g = 0
			}
			b.way[s] = 0.3*b.way[s] + 0.7*g
			norm += b.way[s] * b.way[s]
		}
		if norm < 1e-9 {
			break
		}
		size := min((float64(b.root-root)+level)/norm, 10*level)
		for s := range b.exact {
			b.exact[s] = max(0, b.exact[s]-size*b.way[s])
			b.price[s] = int64(math.Round(b.exact[s]))
		}
		b.solve()
		if b.root < root {
			if float64(root-b.root) > level/2 {
				level *= 2
			}
			root, stale = b.root, 0
			copy(best, b.price)
			level = min(level, float64(root-target))
		} else if stale++; stale >= 4 {
			stale = 0
			level /= 2
			b.grow(room)
		}
	}
	b.level = level
	copy(b.price, best)
	b.solve()
}

// scale is the first level: a tenth of the mean changeovers.
func (b *bounds) scale() float64 {
	var sum, n float64
	for u := range b.cost {
		for i, row := range b.cost[u] {
			for j, c := range row {
				if b.gap[u][i][j] < 1<<28 && b.m.configs[j].rig >= 0 {
					sum += float64(c)
					n++
				}
			}
		}
	}
	return max(100, sum/max(n, 1)*float64(len(b.price))/10)
}

// startPrices takes off each slate's value the least changeover that leads to it
// or from it, whichever is more.
func (b *bounds) startPrices() {
	m := b.m
	for s := range b.price {
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
