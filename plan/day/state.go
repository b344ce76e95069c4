package day

// A state is one vector of int32: what every resource has come to after the
// sorties so far, which are placed in order of take-off. The discrete part is
// compared for equality, the rest by dominance.
type layout struct {
	unit      int // per unit: free, spot, config, flown, breaks
	rig       int // per rig: free, setup
	pack      int // per pack: ready, energy
	charger   int // per charger: last start, then the slots
	chargerAt []int
	avail     int
	last      int // take-off of the last sortie
	day       int
	size      int
}

const (
	uFree = iota
	uSpot
	uConfig
	uFlown
	uBreaks
	uSize
)

func (m *model) makeLayout() {
	l := &m.lay
	at := 0
	l.unit = at
	at += uSize * len(m.units)
	l.rig = at
	at += 2 * len(m.rigs)
	l.pack = at
	at += 2 * len(m.packs)
	l.charger = at
	for _, c := range m.chargers {
		l.chargerAt = append(l.chargerAt, at)
		at += 1 + c.slots
	}
	l.avail = at
	at += len(m.waits)
	l.last = at
	l.day = at + 1
	l.size = at + 2
}

// makeConfigs numbers what a unit may have flown last.
func (m *model) makeConfigs() {
	number := map[config]int{}
	get := func(c config) int {
		if i, ok := number[c]; ok {
			return i
		}
		number[c] = len(m.configs)
		m.configs = append(m.configs, c)
		return len(m.configs) - 1
	}
	of := func(f *flight) config { return config{f.rig, f.setup, f.spot, f.mask} }
	distinct := map[config]bool{}
	for b := range m.flights {
		distinct[of(&m.flights[b])] = true
	}
	for u := range m.units {
		m.units[u].start = get(config{rig: -1, setup: -1, spot: m.units[u].spot})
	}
	for b := range m.flights {
		c := of(&m.flights[b])
		if len(distinct) > maxConfigs {
			c.mask = set{}
		}
		m.flights[b].config = get(c)
	}
}

// from is a time given in seconds as a step of the first day, 0 its start.
func (m *model) from(s int64) int32 {
	if s <= m.seconds(m.dayStart[0]) {
		return m.dayStart[0]
	}
	return int32(min(ceilDiv(s-m.base, m.step), int64(m.dayEnd[0])))
}

func (m *model) startState() []int32 {
	v := make([]int32, m.lay.size)
	for u, unit := range m.units {
		x := v[m.lay.unit+uSize*u:]
		x[uFree], x[uSpot], x[uConfig] = max(unit.call[0], m.from(m.p.Units[u].FreeS)), int32(unit.spot), int32(unit.start)
		if unit.fly > 0 {
			x[uFlown] = m.up(m.p.Units[u].FlownS)
		}
	}
	for r, rig := range m.rigs {
		v[m.lay.rig+2*r] = m.from(m.p.Rigs[r].FreeS)
		v[m.lay.rig+2*r+1] = int32(rig.setup)
	}
	for k, pack := range m.packs {
		v[m.lay.pack+2*k] = pack.ready
		v[m.lay.pack+2*k+1] = pack.init
	}
	for c := range m.chargers {
		for i := range 1 + m.chargers[c].slots {
			v[m.lay.chargerAt[c]+i] = m.dayStart[0]
			if busy := m.p.Chargers[c].BusyS; i > 0 && i <= len(busy) {
				v[m.lay.chargerAt[c]+i] = m.from(busy[i-1])
			}
		}
	}
	for i := range m.waits {
		v[m.lay.avail+i] = 1
	}
	v[m.lay.last] = m.dayStart[0]
	return v
}

// wrapDay brings the rigs that flew back to their wrap setup; the cost, and
// whether the day leaves time for it.
func (m *model) wrapDay(v []int32, apply bool) (cost int64, seconds int64, ok bool) {
	d := v[m.lay.day]
	for r := range m.rigs {
		rig := &m.rigs[r]
		x := v[m.lay.rig+2*r:]
		if rig.wrap < 0 || x[1] == int32(rig.wrap) || x[0] <= m.dayStart[d] {
			continue
		}
		var t int64
		if x[1] >= 0 {
			t = rig.change[x[1]][rig.wrap]
		}
		if x[0]+m.up(t) > m.dayEnd[d] {
			return 0, 0, false
		}
		seconds += t
		if apply {
			x[1] = int32(rig.wrap)
		}
	}
	return seconds * m.weights.ChangePerS, seconds, true
}

// nextDay moves a state to the morning of day d.
func (m *model) nextDay(v []int32, d int) (cost int64, seconds int64, ok bool) {
	cost, seconds, ok = m.wrapDay(v, true)
	if !ok {
		return
	}
	for u := range m.units {
		x := v[m.lay.unit+uSize*u:]
		x[uFree], x[uFlown], x[uBreaks] = m.units[u].call[d], 0, 0
	}
	start := m.dayStart[d]
	for r := range m.rigs {
		v[m.lay.rig+2*r] = start
	}
	for k := range m.packs {
		v[m.lay.pack+2*k], v[m.lay.pack+2*k+1] = max(start, m.packs[k].ready), m.packs[k].capacity
	}
	for c := range m.chargers {
		for i := range 1 + m.chargers[c].slots {
			v[m.lay.chargerAt[c]+i] = start
		}
	}
	v[m.lay.last], v[m.lay.day] = start, int32(d)
	return
}

// step is one sortie appended to a state.
type step struct {
	flight  int32
	takeoff int32
	unit    int8
	day     int8
	pack    int8 // -1 for mains
	charger int8 // where the pack goes after landing, -1 nowhere
	breaks  int8 // breaks taken before it
	rested  bool // the pilot rests before it
}

// leg is the changeover before a sortie in seconds.
type leg struct{ build, move, handover, ground int64 }

func (l leg) cost() int64 { return l.build + l.move + l.handover }

func (m *model) legTo(v []int32, u int, f *flight) leg {
	x := v[m.lay.unit+uSize*u:]
	l := leg{ground: m.rigs[f.rig].ground}
	if s := v[m.lay.rig+2*f.rig+1]; s >= 0 {
		l.build = m.rigs[f.rig].change[s][f.setup]
	}
	if f.spot >= 0 && x[uSpot] >= 0 {
		l.move = m.move[x[uSpot]][f.spot]
	}
	if r := m.configs[x[uConfig]].rig; r >= 0 && r != f.rig {
		l.handover = m.units[u].handover
	}
	return l
}

// readyAt is the earliest take-off of a leg begun when the unit is free. Its
// technician builds from when the rig is free, but not before the call nor
// before the end of a break just taken: begin.
func (m *model) readyAt(l leg, tech bool, unitFree, rigFree, begin int32) int32 {
	if tech {
		rigFree = max(rigFree, begin)
		return max(unitFree+m.up(l.ground+l.move+l.handover), rigFree+m.up(l.ground+l.build))
	}
	return max(unitFree, rigFree) + m.up(l.ground+l.build+l.move+l.handover)
}

// apply appends a step to v, which already stands on the step's day. It
// assumes the step was made by expand.
func (m *model) apply(v []int32, done *set, s step) {
	f := &m.flights[s.flight]
	land := s.takeoff + f.steps
	x := v[m.lay.unit+uSize*int(s.unit):]
	unit := &m.units[s.unit]
	if s.rested {
		x[uFlown] = 0
	}
	if s.breaks > 0 {
		free := x[uFree]
		for range s.breaks {
			b := unit.breaks[s.day][x[uBreaks]]
			free = max(free, b.earliest) + b.duration
			x[uBreaks]++
			if b.duration >= unit.rest {
				x[uFlown] = 0
			}
		}
	}
	x[uFree] = land
	if f.spot >= 0 {
		x[uSpot] = int32(f.spot)
	}
	x[uConfig] = int32(f.config)
	if unit.fly > 0 {
		x[uFlown] += f.steps
	}
	v[m.lay.rig+2*f.rig], v[m.lay.rig+2*f.rig+1] = land, int32(f.setup)
	if s.pack >= 0 {
		k := int(s.pack)
		y := v[m.lay.pack+2*k:]
		y[1] -= f.need
		y[0] = land + m.packs[k].rest
		if s.charger >= 0 {
			start, slot := m.chargeStart(v, int(s.charger), land+m.packs[k].cool)
			end := start + m.chargeSteps(int(s.charger), k, y[1])
			c := v[m.lay.chargerAt[s.charger]:]
			c[0], c[1+slot] = start, end
			y[0], y[1] = end+m.packs[k].rest, m.packs[k].capacity
		}
	}
	v[m.lay.last] = s.takeoff
	*done = done.union(f.mask)
	for i, w := range m.waits {
		a := &v[m.lay.avail+i]
		if done.has(w) {
			*a = 0
			continue
		}
		for k, sl := range f.slates {
			if m.slates[w].preds.has(int(sl)) {
				*a = max(*a, int32(int64(s.takeoff)*m.step+f.offsets[k]+m.p.Slates[sl].flown()))
			}
		}
	}
}

// chargeStart is when a pack can go on the charger, and on which outlet.
func (m *model) chargeStart(v []int32, charger int, ready int32) (int32, int) {
	c := v[m.lay.chargerAt[charger]:]
	slot := 0
	for i := 1; i < m.chargers[charger].slots; i++ {
		if c[1+i] < c[1+slot] {
			slot = i
		}
	}
	return max(ready, c[0], c[1+slot]), slot
}

// settle raises times that lie before anything that can still happen, so that
// states which differ only there become equal, and puts equal packs in order;
// names, if not nil, follows which pack lies in which place.
func (m *model) settle(v []int32, names []int) {
	soon := int32(1 << 30)
	for u := range m.units {
		soon = min(soon, v[m.lay.unit+uSize*u+uFree]+m.units[u].ground)
	}
	last := max(v[m.lay.last], min(soon, m.dayEnd[v[m.lay.day]]))
	v[m.lay.last] = last
	for r := range m.rigs {
		if free := &v[m.lay.rig+2*r]; m.rigs[r].owner >= 0 && *free <= v[m.lay.unit+uSize*m.rigs[r].owner+uFree] {
			*free = m.dayStart[v[m.lay.day]]
		}
	}
	for k := range m.packs {
		y := v[m.lay.pack+2*k:]
		if y[1]-m.packs[k].keep < m.packs[k].least { // no use till the morning
			y[0], y[1] = last, 0
		}
		y[0] = max(y[0], last)
	}
	for c := range m.chargers {
		x := v[m.lay.chargerAt[c] : m.lay.chargerAt[c]+1+m.chargers[c].slots]
		for i := range x {
			x[i] = max(x[i], last+m.chargers[c].soon)
		}
		s := x[1:]
		for i := 1; i < len(s); i++ { // few slots: insertion sort
			for j := i; j > 0 && s[j] < s[j-1]; j-- {
				s[j], s[j-1] = s[j-1], s[j]
			}
		}
	}
	for i := range m.waits {
		if a := &v[m.lay.avail+i]; *a != 0 {
			*a = max(*a, int32(int64(last)*m.step))
		}
	}
	for _, class := range m.classes {
		for i := 1; i < len(class); i++ {
			for j := i; j > 0; j-- {
				a, b := v[m.lay.pack+2*class[j-1]:], v[m.lay.pack+2*class[j]:]
				if a[0] < b[0] || a[0] == b[0] && a[1] >= b[1] {
					break
				}
				a[0], b[0] = b[0], a[0]
				a[1], b[1] = b[1], a[1]
				if names != nil {
					names[class[j-1]], names[class[j]] = names[class[j]], names[class[j-1]]
				}
			}
		}
	}
}
