package day

import (
	"fmt"
	"slices"
	"strings"
)

func (m *model) compileSlates() error {
	p := m.p
	at, err := index("slate", p.Slates, func(s Slate) string { return s.Name })
	if err != nil {
		return err
	}
	for _, s := range p.Slates {
		c := slateM{value: s.Value, avail: -1}
		switch s.Priority {
		case Must:
			c.value = cmpOr(c.value, MustValue)
		case Should:
			c.value = cmpOr(c.value, ShouldValue)
		case Nice:
			c.value = cmpOr(c.value, NiceValue)
		default:
			return fmt.Errorf("slate %q: priority %q: want must, should or nice", s.Name, s.Priority)
		}
		if c.value < 0 || c.value > 1e9 {
			return fmt.Errorf("slate %q: value %d: want from 1 to 1000000000 points", s.Name, c.value)
		}
		if s.TakeS <= 0 || s.TakeS > 86400 {
			return fmt.Errorf("slate %q: a take of %d s: want more than 0 and at most a day", s.Name, s.TakeS)
		}
		if s.Takes < 1 || s.Takes > 1000 || s.Reserve < 0 || s.Reserve > 1000 {
			return fmt.Errorf("slate %q: %d takes and %d in reserve: want at least one take, and from 0 in reserve", s.Name, s.Takes, s.Reserve)
		}
		for i, w := range s.Windows {
			if w.ToS < w.FromS {
				return fmt.Errorf("slate %q: window %d ends at %s, before its start %s: check for swapped times or a changed clock",
					s.Name, i+1, p.exact(w.ToS), p.exact(w.FromS))
			}
			for k, q := range w.Quality {
				if q.Quality < 0 || q.Quality > 1000 {
					return fmt.Errorf("slate %q: window %d: quality %d: want from 0 to 1000", s.Name, i+1, q.Quality)
				}
				if k > 0 && q.AtS <= w.Quality[k-1].AtS {
					return fmt.Errorf("slate %q: window %d: quality knots must rise in time", s.Name, i+1)
				}
			}
			for j := range i {
				if o := s.Windows[j]; w.FromS < o.ToS && o.FromS < w.ToS {
					return fmt.Errorf("slate %q: windows %d and %d overlap: make them one", s.Name, j+1, i+1)
				}
			}
		}
		for _, name := range s.After {
			i, ok := at[name]
			if !ok {
				return fmt.Errorf("slate %q comes after %q, which is not among the slates", s.Name, name)
			}
			if !c.preds.has(i) {
				c.preds.add(i)
				c.npred++
			}
		}
		m.all.add(len(m.slates))
		m.slates = append(m.slates, c)
	}
	if ring := m.ring(); ring != nil {
		names := make([]string, len(ring))
		for i, s := range ring {
			names[i] = p.Slates[s].Name
		}
		return fmt.Errorf("contradictory order: %s, each must come before the next, and the last is the first; take one of these out", strings.Join(names, " before "))
	}
	for i := range m.slates {
		if m.slates[i].npred > 0 {
			m.slates[i].avail = len(m.waits)
			m.waits = append(m.waits, i)
		}
	}
	return nil
}

func cmpOr(v, otherwise int64) int64 {
	if v == 0 {
		return otherwise
	}
	return v
}

// ring finds a circle in the order of slates, first and last the same, or nil.
func (m *model) ring() []int {
	mark := make([]int, len(m.slates)) // 0 new, 1 open, 2 done
	var path []int
	var visit func(i int) []int
	visit = func(i int) []int {
		mark[i] = 1
		path = append(path, i)
		for j := range m.slates {
			if !m.slates[i].preds.has(j) {
				continue
			}
			if mark[j] == 1 {
				r := append(slices.Clone(path[slices.Index(path, j):]), j)
				slices.Reverse(r)
				return r
			}
			if mark[j] == 0 {
				if r := visit(j); r != nil {
					return r
				}
			}
		}
		mark[i] = 2
		path = path[:len(path)-1]
		return nil
	}
	for i := range m.slates {
		if mark[i] == 0 {
			if r := visit(i); r != nil {
				return r
			}
		}
	}
	return nil
}

// flown is the time a shot is in the air, reserve included; wanted without.
func (s Slate) flown() int64  { return s.TakeS * int64(s.Takes+s.Reserve) }
func (s Slate) wanted() int64 { return s.TakeS * int64(s.Takes) }

// quality is the permille quality of the slate begun at a second, and the
// window it lies in; -1 when it is in none.
func (s Slate) quality(start int64) (q int64, window int) {
	end := start + s.flown()
	for i, w := range s.Windows {
		if start >= w.FromS && end <= w.ToS {
			return w.quality(start + s.wanted()/2), i
		}
	}
	return -1, -1
}

func (w Window) quality(at int64) int64 {
	k := w.Quality
	if len(k) == 0 {
		return 1000
	}
	if at <= k[0].AtS {
		return k[0].Quality
	}
	for i := 1; i < len(k); i++ {
		if at <= k[i].AtS {
			a, b := k[i-1], k[i]
			return a.Quality + floorDiv((b.Quality-a.Quality)*(at-a.AtS), b.AtS-a.AtS)
		}
	}
	return k[len(k)-1].Quality
}

// unitsFor is the set of units whose people can shoot the slate on the rig,
// and otherwise why none can.
func (m *model) unitsFor(s Slate, rig int) (uint64, string) {
	var units uint64
	why := fmt.Sprintf("no unit has rig %q", m.p.Rigs[rig].Name)
	for u, unit := range m.units {
		if unit.rigs>>rig&1 == 0 {
			continue
		}
		if unit.why != "" {
			why = unit.why
			continue
		}
		members := m.p.Units[u].People
		lacks := ""
		for _, name := range s.People {
			if !slices.Contains(members, name) {
				lacks = fmt.Sprintf("%s is not in unit %q", name, m.p.Units[u].Name)
			}
		}
		for _, skill := range s.Skills {
			found := len(members) == 0
			for _, who := range m.p.People {
				found = found || slices.Contains(members, who.Name) && slices.Contains(who.Skills, skill)
			}
			if !found {
				lacks = fmt.Sprintf("nobody in unit %q has the skill %q", m.p.Units[u].Name, skill)
			}
		}
		if lacks != "" {
			why = lacks
			continue
		}
		units |= 1 << u
	}
	return units, why
}

// compileFlights lists every sortie that could be flown: sequences of slates
// on one rig in one setup within the energy of the largest pack.
func (m *model) compileFlights() error {
	p := m.p
	setupAt, _ := index("setup", p.Setups, func(s Setup) string { return s.Name })
	spotAt, _ := index("launch spot", p.Spots, func(s Spot) string { return s.Name })
	rigAt, _ := index("rig", p.Rigs, func(r Rig) string { return r.Name })
	type way struct {
		slate, rig, setup, spot int
		energy                  int64
		units                   uint64
	}
	ways := map[[2]int][]way{}
	var keys [][2]int
	m.whyNot = make([]string, len(p.Slates))
	largest := make([]int64, len(m.rigs))
	for r := range m.rigs {
		for _, k := range m.packs {
			if k.rigs>>r&1 == 1 {
				largest[r] = max(largest[r], int64(k.capacity-k.keep))
			}
		}
	}
	for i, s := range p.Slates {
		if len(s.Windows) == 0 {
			m.whyNot[i] = "it has no window in which every limit is met"
		} else if len(s.Options) == 0 {
			m.whyNot[i] = "no rig can shoot it"
		}
		spot := -1
		if s.Spot != "" {
			k, ok := spotAt[s.Spot]
			if !ok {
				return fmt.Errorf("slate %q: %q is not among the launch spots", s.Name, s.Spot)
			}
			spot = k
		}
		for _, o := range s.Options {
			r, ok := rigAt[o.Rig]
			if !ok {
				return fmt.Errorf("slate %q: %q is not among the rigs", s.Name, o.Rig)
			}
			k, ok := setupAt[o.Setup]
			if !ok {
				return fmt.Errorf("slate %q: %q is not among the setups", s.Name, o.Setup)
			}
			if err := finite(fmt.Sprintf("slate %q: energy of a take", s.Name), o.TakeWh); err != nil {
				return err
			}
			if len(s.Windows) == 0 {
				continue
			}
			units, why := m.unitsFor(s, r)
			if units == 0 {
				m.whyNot[i] = why
				continue
			}
			energy := mWhUp(o.TakeWh * float64(s.Takes+s.Reserve))
			if need := energy + m.rigs[r].overhead; !m.rigs[r].mains && need > largest[r] {
				if largest[r] == 0 {
					m.whyNot[i] = fmt.Sprintf("no pack fits rig %q", o.Rig)
				} else {
					m.whyNot[i] = fmt.Sprintf("it needs %.1f Wh on rig %q and the largest pack gives %.1f Wh above its reserve", float64(need)/1000, o.Rig, float64(largest[r])/1000)
				}
				continue
			}
			key := [2]int{r, k}
			if ways[key] == nil {
				keys = append(keys, key)
			}
			ways[key] = append(ways[key], way{i, r, k, spot, energy, units})
		}
	}
	placed := make([]bool, len(p.Slates))
	slateAt, _ := index("slate", p.Slates, func(s Slate) string { return s.Name })
	m.keep = map[[2]int]Keep{}
	for _, k := range p.Keep {
		i, ok := slateAt[k.Slate]
		r, ok2 := rigAt[k.Rig]
		if ok && ok2 && k.Points > 0 && k.WithinS > 0 {
			m.keep[[2]int{i, r}] = k
		}
	}
	for _, key := range keys {
		list := ways[key]
		rig := m.rigs[key[0]]
		var extend func(f flight, t int64, energy int64)
		extend = func(f flight, t int64, energy int64) {
			for _, w := range list {
				if f.mask.has(w.slate) || !m.mayFollow(w.slate, f.mask) {
					continue
				}
				g := flight{rig: key[0], setup: key[1], spot: f.spot, units: f.units & w.units, mask: f.mask}
				if w.spot >= 0 {
					if f.spot >= 0 && f.spot != w.spot {
						continue
					}
					g.spot = w.spot
				}
				e, start := energy+w.energy, t
				if len(f.slates) > 0 {
					e += rig.reposMWh
					start += rig.reposition
				}
				if g.units == 0 || !rig.mains && e > largest[key[0]] {
					continue
				}
				g.slates = append(slices.Clone(f.slates), int32(w.slate))
				g.offsets = append(slices.Clone(f.offsets), start)
				g.mask.add(w.slate)
				end := start + p.Slates[w.slate].flown()
				g.steps = m.up(end + rig.recover_)
				g.need = int32(e)
				if rig.mains {
					g.need = 0
				}
				if !m.fillProfiles(&g, f.days) {
					if len(f.slates) == 0 && m.whyNot[w.slate] == "" {
						m.whyNot[w.slate] = m.whyNoStart(w.slate, &g)
					}
					continue
				}
				if len(m.flights) >= maxFlights {
					m.cut = true
				} else {
					m.flights = append(m.flights, g)
				}
				placed[w.slate] = true
				if len(g.slates) < rig.maxShots && !m.cut {
					extend(g, end, e)
				}
			}
		}
		first := flight{rig: key[0], setup: key[1], spot: -1, units: ^uint64(0)}
		extend(first, rig.launch, rig.overhead)
	}
	m.dropOrphans(placed)
	m.tighten()
	m.dropDominated()
	for c := range m.chargers {
		m.chargers[c].soon = 1 << 20
	}
	for k := range m.packs {
		pk := &m.packs[k]
		pk.least = 1 << 30
		for b := range m.flights {
			if pk.rigs>>m.flights[b].rig&1 == 1 {
				pk.least = min(pk.least, m.flights[b].need)
			}
		}
	}
	for u := range m.units {
		m.units[u].ground = 1 << 20
	}
	for r := range m.rigs {
		m.rigs[r].owner = -1
	}
	for b := range m.flights {
		f := &m.flights[b]
		for c := range m.chargers {
			for k := range m.packs {
				if m.packs[k].rigs>>f.rig&1 == 1 {
					m.chargers[c].soon = min(m.chargers[c].soon, f.steps+m.packs[k].cool)
				}
			}
		}
		for u := range m.units {
			if unit := &m.units[u]; f.units>>u&1 == 1 {
				unit.flights = append(unit.flights, int32(b))
				unit.ground = min(unit.ground, m.up(m.rigs[f.rig].ground))
				if r := &m.rigs[f.rig]; r.units == 1 && r.wrap < 0 && !unit.tech {
					r.owner = u
				}
			}
		}
		for _, prof := range f.days {
			top := int64(-1)
			for _, q := range prof.q {
				top = max(top, q)
			}
			if len(f.slates) == 1 {
				i := f.slates[0]
				m.slates[i].best = max(m.slates[i].best, top)
			}
		}
	}
	return nil
}

// dropOrphans takes out, to the end of the chain, slates that wait for one that
// cannot be shot, and every flight that holds one.
func (m *model) dropOrphans(placed []bool) {
	for again := true; again; {
		again = false
		for i, ok := range placed {
			if !ok {
				continue
			}
			for j := range placed {
				if m.slates[i].preds.has(j) && !placed[j] {
					placed[i], again = false, true
					m.whyNot[i] = fmt.Sprintf("it comes after %s, which cannot be shot", m.p.Slates[j].Name)
					break
				}
			}
		}
	}
	kept := m.flights[:0]
	for _, f := range m.flights {
		if !slices.ContainsFunc(f.slates, func(i int32) bool { return !placed[i] }) {
			kept = append(kept, f)
		}
	}
	m.flights = kept
	for i, ok := range placed {
		if ok {
			m.whyNot[i] = ""
		} else if m.whyNot[i] == "" {
			m.whyNot[i] = "no unit, rig and pack go together for it"
		}
	}
}

// tighten bars take-offs before what a slate waits for can be over.
func (m *model) tighten() {
	const late = int64(1) << 60
	end := make([]int64, len(m.slates)) // earliest end
	for again := true; again; {
		again = false
		for i := range end {
			end[i] = late
		}
		for b := range m.flights {
			f := &m.flights[b]
			for d := range f.days {
				if p := &f.days[d]; len(p.q) > 0 {
					for k, sl := range f.slates {
						end[sl] = min(end[sl], m.seconds(p.lo)+f.offsets[k]+m.p.Slates[sl].flown())
					}
				}
			}
		}
		for b := range m.flights {
			f := &m.flights[b]
			var from int64
			for k, sl := range f.slates {
				for j := range m.slates {
					if m.slates[sl].preds.has(j) && !f.mask.has(j) {
						from = max(from, end[j]-f.offsets[k])
					}
				}
			}
			for d := range f.days {
				p := &f.days[d]
				cut := 0
				for cut < len(p.q) && (m.seconds(p.lo+int32(cut)) < from || p.q[cut] < 0) {
					cut++
				}
				if cut > 0 {
					p.q, p.lo, again = p.q[cut:], p.lo+int32(cut), true
				}
			}
		}
	}
	kept := m.flights[:0]
	alive := make([]bool, len(m.slates))
	for _, f := range m.flights {
		if slices.ContainsFunc(f.days, func(p profile) bool { return len(p.q) > 0 }) {
			kept = append(kept, f)
			for _, sl := range f.slates {
				alive[sl] = true
			}
		}
	}
	m.flights = kept
	for i := range alive {
		if !alive[i] && m.whyNot[i] == "" {
			m.whyNot[i] = "its windows are over before the slates it comes after can be got"
		}
	}
	m.dropOrphans(alive)
}

// mayFollow: within one sortie a slate may not come after one that waits for it.
func (m *model) mayFollow(slate int, mask set) bool {
	for _, w := range m.waits {
		if mask.has(w) && m.slates[w].preds.has(slate) {
			return false
		}
	}
	return true
}

// fillProfiles works out the value of a flight for every take-off, starting
// from that of its prefix (nil for a first shot).
func (m *model) fillProfiles(f *flight, prefix []profile) bool {
	some := false
	last := len(f.slates) - 1
	s := m.p.Slates[f.slates[last]]
	value := m.slates[f.slates[last]].value
	keep, kept := m.keep[[2]int{int(f.slates[last]), f.rig}]
	f.days = make([]profile, len(m.dayStart))
	for d := range m.dayStart {
		lo, hi := m.dayEnd[d], m.dayStart[d]-1
		for u := range m.units {
			if f.units>>u&1 == 1 {
				lo = min(lo, m.units[u].call[d])
				hi = max(hi, m.units[u].wrap[d]-f.steps)
			}
		}
		lo, hi = max(lo, m.dayStart[d]), min(hi, m.dayEnd[d]-f.steps)
		if prefix != nil {
			lo = max(lo, prefix[d].lo)
			hi = min(hi, prefix[d].lo+int32(len(prefix[d].q))-1)
		} else {
			// narrow to the windows
			first, end := int64(1)<<62, int64(-1)<<62
			for _, w := range s.Windows {
				if w.ToS > m.seconds(m.dayStart[d]) && w.FromS < m.seconds(m.dayEnd[d]) {
					first, end = min(first, w.FromS), max(end, w.ToS)
				}
			}
			if first > end {
				continue
			}
			lo = max(lo, int32(ceilDiv(max(first-f.offsets[0]-m.base, -1<<40), m.step)))
			hi = min(hi, int32(floorDiv(min(end-s.flown()-f.offsets[0]-m.base, 1<<40), m.step)))
		}
		if hi < lo {
			continue
		}
		q := make([]int64, hi-lo+1)
		from, to := -1, -1
		for k := range q {
			q[k] = -1
			t := lo + int32(k)
			var before int64
			if prefix != nil {
				if before = prefix[d].q[t-prefix[d].lo]; before < 0 {
					continue
				}
			}
			if v, _ := s.quality(m.seconds(t) + f.offsets[last]); v >= 0 {
				q[k] = before + v*value
				if kept {
					off := m.seconds(t) + f.offsets[last] - keep.AtS
					q[k] += max(0, keep.Points-keep.Points*max(off, -off)/keep.WithinS)
				}
				if from < 0 {
					from = k
				}
				to = k
			}
		}
		if from < 0 {
			continue
		}
		some = true
		f.days[d] = profile{lo: lo + int32(from), q: q[from : to+1]}
	}
	return some
}

// whyNoStart explains a shot that has windows and kit but no take-off.
func (m *model) whyNoStart(i int, f *flight) string {
	s := m.p.Slates[i]
	longest := int64(0)
	inDay := false
	for _, w := range s.Windows {
		for d := range m.p.Days {
			from, to := max(w.FromS, m.p.Days[d].StartS), min(w.ToS, m.p.Days[d].EndS)
			if to > from {
				inDay = true
				longest = max(longest, to-from)
			}
		}
	}
	if !inDay {
		return "none of its windows lies within a working day"
	}
	if longest < s.flown() {
		return fmt.Sprintf("its longest window of %s is shorter than the %s of its %d takes with %d in reserve", span(longest), span(s.flown()), s.Takes, s.Reserve)
	}
	return fmt.Sprintf("no take-off on the %s grid puts its %s of takes, launch and recovery into a window and between call and wrap", span(m.step), span(s.flown()))
}

// dropDominated keeps, of flights with the same slates on the same rig in the
// same setup, those that are best at some take-off; then fills profile.next.
func (m *model) dropDominated() {
	type key struct {
		mask       set
		rig, setup int
	}
	groups := map[key][]int{}
	dead := make([]bool, len(m.flights))
	for i := range m.flights {
		f := &m.flights[i]
		if len(f.slates) < 2 {
			continue
		}
		k := key{f.mask, f.rig, f.setup}
		for _, j := range groups[k] {
			g := &m.flights[j]
			if dead[j] || g.units != f.units || g.steps != f.steps {
				continue
			}
			if m.covers(g, f) {
				dead[i] = true
				break
			}
			if m.covers(f, g) {
				dead[j] = true
			}
		}
		groups[k] = append(groups[k], i)
	}
	kept := m.flights[:0]
	for i := range m.flights {
		if !dead[i] {
			kept = append(kept, m.flights[i])
		}
	}
	m.flights = kept
	var stack []int32
	for i := range m.flights {
		for d := range m.flights[i].days {
			prof := &m.flights[i].days[d]
			prof.next = make([]int32, len(prof.q))
			stack = stack[:0]
			for k := len(prof.q) - 1; k >= 0; k-- {
				for len(stack) > 0 && prof.q[stack[len(stack)-1]] <= prof.q[k] {
					stack = stack[:len(stack)-1]
				}
				prof.next[k] = -1
				if len(stack) > 0 {
					prof.next[k] = stack[len(stack)-1]
				}
				stack = append(stack, int32(k))
			}
		}
	}
}

// covers: a is at least as good as b at every take-off; shots that others wait
// for must not end later.
func (m *model) covers(a, b *flight) bool {
	for _, i := range a.slates {
		waits := m.slates[i].npred > 0
		for _, w := range m.waits {
			waits = waits || m.slates[w].preds.has(int(i))
		}
		if waits {
			return false
		}
	}
	for d := range a.days {
		pa, pb := a.days[d], b.days[d]
		for k, q := range pb.q {
			if q < 0 {
				continue
			}
			at := pb.lo + int32(k) - pa.lo
			if at < 0 || int(at) >= len(pa.q) || pa.q[at] < q {
				return false
			}
		}
	}
	return true
}
