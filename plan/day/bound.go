package day

import "math"

// The bound. Take a price off every visit to a slate and hand the prices out
// again once: no plan loses by it, and the units fall apart into longest paths
// over time, one per unit, in which a slate may be visited twice. Their lengths
// bound every plan from above, for any prices that are not negative; the prices
// are bettered by subgradient steps. The same tables bound what can still be
// added to a half-made plan.

const never = int64(-1) << 60

// table holds, for one unit, one day, a number of breaks taken and a config,
// the most that can be gained from being free at a time (from the day's start).
type table [][][][]int64 // day, breaks, config, time

type bounds struct {
	m     *model
	price []int64     // per slate
	total int64       // sum of prices
	gain  []table     // per unit
	most  []table     // per unit: the same for taking off at or after a time in a config
	gap   [][][]int32 // per unit, config, config: least steps
	cost  [][][]int64 // and least cost
	legs  [][][]wayTo // per unit, kind, kind
	late  [][][]int32 // per unit, config, slate: latest time to be free and still get it
	root  int64
	kinds []kind    // configs alike but for their slates
	top   [][]int32 // per kind and time: the config most is greatest in, scratch
	visit []int32
	work  int64 // of one solution, in candidates
	// ranges, per unit, day and config: times at which a unit can be free after it
	ranges [][][][2]int32
}

// kind is a rig in a build at a spot: its configs differ in slates alone.
type kind struct{ configs []int32 }

func newBounds(m *model) *bounds {
	b := &bounds{m: m, price: make([]int64, len(m.slates)), visit: make([]int32, len(m.slates))}
	of := map[config]int{}
	for i, c := range m.configs {
		c.mask = set{}
		k, ok := of[c]
		if !ok {
			k = len(b.kinds)
			of[c] = k
			b.kinds = append(b.kinds, kind{})
		}
		b.kinds[k].configs = append(b.kinds[k].configs, int32(i))
	}
	var longest int32
	for d := range m.dayStart {
		longest = max(longest, m.dayEnd[d]-m.dayStart[d]+1)
	}
	for range b.kinds {
		b.top = append(b.top, make([]int32, longest))
	}
	n := len(m.configs)
	for u := range m.units {
		unit := &m.units[u]
		gap, cost := make([][]int32, n), make([][]int64, n)
		late := make([][]int32, n)
		for i, from := range m.configs {
			gap[i], cost[i] = make([]int32, n), make([]int64, n)
			late[i] = make([]int32, len(m.slates))
			for s := range late[i] {
				late[i][s] = -1 << 30
			}
			for j, to := range m.configs {
				if to.rig < 0 {
					continue
				}
				if from.mask.meets(to.mask) {
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
		legs := make([][]wayTo, len(b.kinds))
		for i := range legs {
			legs[i] = make([]wayTo, len(b.kinds))
			for j := range legs[i] {
				if from, to := m.configs[b.kinds[i].configs[0]], m.configs[b.kinds[j].configs[0]]; to.rig >= 0 {
					l := m.leastLeg(unit, from, to)
					legs[i][j] = wayTo{int(m.readyAt(l, unit.tech, 0, 0, 0)), l.cost() * m.weights.ChangePerS}
				}
			}
		}
		b.legs = append(b.legs, legs)
		b.gap, b.cost, b.late = append(b.gap, gap), append(b.cost, cost), append(b.late, late)
		var tab table
		for d := range m.dayStart {
			var byBreaks [][][]int64
			for range len(unit.breaks[d]) + 1 {
				byConfig := make([][]int64, n)
				for c := range byConfig {
					byConfig[c] = make([]int64, m.dayEnd[d]-m.dayStart[d]+1)
				}
				byBreaks = append(byBreaks, byConfig)
			}
			tab = append(tab, byBreaks)
		}
		b.gain = append(b.gain, tab)
		byDay := make([][][2]int32, len(m.dayStart))
		for d := range byDay {
			byDay[d] = make([][2]int32, n)
			size := m.dayEnd[d] - m.dayStart[d] + 1
			for c := range byDay[d] {
				byDay[d][c] = [2]int32{size, -1}
			}
			reach := func(c int, from, to int32) {
				r := &byDay[d][c]
				r[0], r[1] = max(0, min(r[0], from)), min(size-1, max(r[1], to))
			}
			for _, f := range unit.flights {
				fl := &m.flights[f]
				if d > 0 {
					reach(fl.config, 0, unit.call[d]-m.dayStart[d])
				}
				if p := &fl.days[d]; len(p.q) > 0 {
					land := p.lo + fl.steps - m.dayStart[d]
					reach(fl.config, land, land+int32(len(p.q))-1)
					if len(unit.breaks[d]) > 0 {
						reach(fl.config, land, size-1)
					}
				}
			}
			reach(unit.start, 0, size-1)
			for _, r := range byDay[d] {
				b.work += int64(len(unit.breaks[d])+1) * int64(max(0, r[1]-r[0])) * int64(n) / 200
			}
		}
		b.ranges = append(b.ranges, byDay)
		var most table
		for d := range m.dayStart {
			most = append(most, make([][][]int64, len(unit.breaks[d])+1))
			for k := range most[d] {
				most[d][k] = make([][]int64, n)
			}
		}
		b.most = append(b.most, most)
	}
	return b
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

// solve fills the tables for the present prices and sets root.
func (b *bounds) solve() {
	b.total = 0
	for _, p := range b.price {
		b.total += p
	}
	b.root = b.total
	for u := range b.m.units {
		b.solveUnit(u)
		b.root += b.gain[u][0][0][b.m.units[u].start][b.m.units[u].call[0]-b.m.dayStart[0]]
	}
}

// less is a flight's price.
func (b *bounds) less(f *flight) int64 {
	var p int64
	for _, s := range f.slates {
		p += b.price[s]
	}
	return p
}

func (b *bounds) solveUnit(u int) {
	m := b.m
	unit := &m.units[u]
	n := len(m.configs)
	byConfig := make([][]int32, n)
	used := make([]bool, n)
	used[unit.start] = true
	for _, f := range unit.flights {
		c := m.flights[f].config
		byConfig[c] = append(byConfig[c], f)
		used[c] = true
	}
	less := make([]int64, len(m.flights))
	for _, f := range unit.flights {
		less[f] = b.less(&m.flights[f])
	}
	var kinds []target
	for i := range b.kinds {
		to := target{kind: i, top: b.top[i]}
		for _, c := range b.kinds[i].configs {
			if len(byConfig[c]) > 0 {
				to.configs = append(to.configs, c)
			}
		}
		if len(to.configs) > 0 {
			kinds = append(kinds, to)
		}
	}
	span := m.weights.SpanPerS * m.step
	for d := len(m.dayStart) - 1; d >= 0; d-- {
		start, size := m.dayStart[d], int(m.dayEnd[d]-m.dayStart[d])+1
		call := int(unit.call[d] - start)
		// what stopping for the day is worth, by config
		stop := make([]int64, n)
		wrap := make([]int, n)
		for c, conf := range m.configs {
			if conf.rig >= 0 && m.rigs[conf.rig].units == 1 {
				if r := &m.rigs[conf.rig]; r.wrap >= 0 && r.wrap != conf.setup {
					t := r.change[conf.setup][r.wrap]
					wrap[c], stop[c] = int(m.up(t)), -t*m.weights.ChangePerS
				}
			}
			if d+1 < len(m.dayStart) && used[c] {
				if next := b.gain[u][d+1][0][c][unit.call[d+1]-m.dayStart[d+1]]; next > never/2 {
					stop[c] += max(0, next)
				}
			}
		}
		for k := len(unit.breaks[d]); k >= 0; k-- {
			gain := b.gain[u][d][k]
			limit := int(unit.wrap[d] - start)
			if k < len(unit.breaks[d]) {
				limit = min(limit, int(unit.breaks[d][k].latest-start))
			}
			most := b.most[u][d][k]
			for c := range most {
				if len(byConfig[c]) > 0 {
					if most[c] == nil {
						most[c] = make([]int64, size+1)
					}
					most[c][size] = never
				}
			}
			// nothing takes off later than the limit, nor before the earliest end of
			// the breaks already taken
			first := call
			for _, br := range unit.breaks[d][:k] {
				first = max(first, int(br.earliest-start)) + int(br.duration)
			}
			for c := range most {
				for t := max(limit, -1) + 1; t < size && most[c] != nil; t++ {
					most[c][t] = never
				}
				for t := max(limit, first-1) + 1; t < size; t++ {
					if gain[c][t] = stop[c]; t+wrap[c] > size-1 {
						gain[c][t] = never
					}
				}
			}
			for i := range kinds {
				to := &kinds[i]
				for t := max(limit, -1) + 1; t < size; t++ {
					to.top[t] = to.configs[0]
				}
			}
			for t := min(limit, size-1); t >= first; t-- {
				for i := range kinds {
					to := &kinds[i]
					top := to.configs[0]
					for _, c := range to.configs {
						best := most[c][t+1]
						for _, f := range byConfig[c] {
							fl := &m.flights[f]
							p := &fl.days[d]
							i := int(start) + t - int(p.lo)
							if i < 0 || i >= len(p.q) || p.q[i] < 0 {
								continue
							}
							land := t + int(fl.steps)
							if land > limit {
								continue
							}
							if v := p.q[i] - less[f] + gain[c][land] - span*int64(land-call); v > best {
								best = v
							}
						}
						most[c][t] = best
						if best > most[top][t] {
							top = c
						}
					}
					to.top[t] = top
				}
				since := span * int64(t-call)
				for i := range b.kinds {
					next, nextTo := never-1, int32(-1)
					for _, c := range b.kinds[i].configs {
						if r := &b.ranges[u][d][c]; !used[c] || int32(t) < r[0] || int32(t) > r[1] {
							continue
						}
						if next < never {
							next, nextTo = b.onward(kinds, most, b.legs[u][i], t, size, set{})
						}
						best := stop[c]
						if t+wrap[c] > size-1 {
							best = never
						}
						if nextTo >= 0 {
							on := next
							if m.configs[c].mask.meets(m.configs[nextTo].mask) {
								on, _ = b.onward(kinds, most, b.legs[u][i], t, size, m.configs[c].mask)
							}
							best = max(best, on+since)
						}
						if k < len(unit.breaks[d]) {
							br := &unit.breaks[d][k]
							if from := max(t, int(br.earliest-start)); from <= int(br.latest-start) {
								if after := from + int(br.duration); after < size {
									// the day goes on counting through the break
									if v := b.gain[u][d][k+1][c][after] - span*int64(after-t); v > best {
										best = v
									}
								}
							}
						}
						gain[c][t] = best
					}
				}
			}
		}
	}
}

// target is a kind that a unit can fly next.
type target struct {
	kind    int
	configs []int32
	top     []int32
}

// wayTo is the least changeover from one kind to another, in steps and cost.
type wayTo struct {
	gap  int
	cost int64
}

// onward is the most that can be gained by flying on from a kind at a time to
// slates other than those given, and the config it leads to, -1 for none.
func (b *bounds) onward(kinds []target, most [][]int64, legs []wayTo, t, size int, not set) (int64, int32) {
	best, lead := never, int32(-1)
	for i := range kinds {
		to := &kinds[i]
		leg := &legs[to.kind]
		at := t + leg.gap
		if at >= size {
			continue
		}
		c := to.top[at]
		if v := most[c][at] - leg.cost; v > best {
			if !not.meets(b.m.configs[c].mask) {
				best, lead = v, c
				continue
			}
			for _, c := range to.configs {
				if v := most[c][at] - leg.cost; v > best && !not.meets(b.m.configs[c].mask) {
					best, lead = v, c
				}
			}
		}
	}
	return best, lead
}

// trace counts the visits of the best paths to each slate.
func (b *bounds) trace() {
	clear(b.visit)
	m := b.m
	span := m.weights.SpanPerS * m.step
	for u := range m.units {
		unit := &m.units[u]
		c := unit.start
		for d := 0; d < len(m.dayStart); d++ {
			k, start := 0, m.dayStart[d]
			t, call := int(unit.call[d]-start), int(unit.call[d]-start)
			size := int(m.dayEnd[d]-start) + 1
		day:
			for {
				want := b.gain[u][d][k][c][t]
				if want < never/2 {
					break
				}
				if k < len(unit.breaks[d]) {
					br := &unit.breaks[d][k]
					from := max(t, int(br.earliest-start))
					if after := from + int(br.duration); from <= int(br.latest-start) && after < size &&
						b.gain[u][d][k+1][c][after]-span*int64(after-t) == want {
						k, t = k+1, after
						continue
					}
				}
				limit := int(unit.wrap[d] - start)
				if k < len(unit.breaks[d]) {
					limit = min(limit, int(unit.breaks[d][k].latest-start))
				}
				for to, most := range b.most[u][d][k] {
					at := t + int(b.gap[u][c][to])
					if most == nil || at >= size {
						continue
					}
					value := most[at]
					if value < never/2 || value-b.cost[u][c][to]+span*int64(t-call) != want {
						continue
					}
					for most[at+1] == value {
						at++
					}
					for _, f := range unit.flights {
						fl := &m.flights[f]
						i := int(start) + at - int(fl.days[d].lo)
						if fl.config != to || i < 0 || i >= len(fl.days[d].q) || fl.days[d].q[i] < 0 {
							continue
						}
						land := at + int(fl.steps)
						if land <= limit && fl.days[d].q[i]-b.less(fl)+b.gain[u][d][k][to][land]-span*int64(land-call) == value {
							for _, s := range fl.slates {
								b.visit[s]++
							}
							c, t = to, land
							continue day
						}
					}
				}
				break // stops for the day
			}
		}
	}
}

// improve lowers the root bound by subgradient steps, smoothed and shrinking by
// a fixed plan, until a score that is known to be reached, and leaves the tables
// of the best prices.
func (b *bounds) improve(target int64, rounds int, enough func(work int64) bool) {
	var top int64
	for s := range b.price {
		b.price[s] = max(0, b.m.slates[s].best)
		top = max(top, b.price[s])
	}
	b.solve()
	root, best := b.root, append([]int64(nil), b.price...)
	way := make([]float64, len(b.price))
	for round := range rounds {
		if root <= target || enough(b.work) {
			break
		}
		b.trace()
		size := 0.03 * float64(top) * math.Pow(10, -3*float64(round)/float64(rounds))
		for s, n := range b.visit {
			way[s] = 0.7*way[s] + 0.3*float64(1-min(n, 2))
			if way[s] > 0 && b.price[s] == 0 {
				way[s] = 0
			}
			b.price[s] = max(0, b.price[s]-int64(size*way[s]))
		}
		b.solve()
		if b.root < root {
			root = b.root
			copy(best, b.price)
		}
	}
	copy(b.price, best)
	b.solve()
}
