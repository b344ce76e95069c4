package day

import (
	"fmt"
	"slices"
)

// replay carries a plan's steps out one by one, checking each, and calls visit
// with the state before it (on the step's day), the pack's true index and the
// changeover. Steps are in order of take-off.
func (m *model) replay(steps []step, visit func(v []int32, st step, pack int, l leg)) (score int64, err error) {
	v := m.startState()
	names := make([]int, len(m.packs))
	for i := range names {
		names[i] = i
	}
	m.settle(v, names)
	var done set
	for _, st := range steps {
		f := &m.flights[st.flight]
		_, g, ok := m.onDay(v, v, int(st.day))
		if !ok {
			return 0, fmt.Errorf("no time to wrap the rigs before day %d", st.day+1)
		}
		l, err := m.checkStep(v, done, st)
		if err != nil {
			return 0, err
		}
		score += g + m.worth(v, &st)
		pack := -1
		if st.pack >= 0 {
			pack = names[st.pack]
		}
		if visit != nil {
			visit(v, st, pack, l)
		}
		m.apply(v, &done, st)
		m.settle(v, names)
		_ = f
	}
	cost, _, ok := m.wrapDay(v, false)
	if !ok {
		return 0, fmt.Errorf("no time to wrap the rigs on the last day")
	}
	return score - cost, nil
}

// checkStep tells what forbids a step in a state on its day.
func (m *model) checkStep(v []int32, done set, st step) (leg, error) {
	f := &m.flights[st.flight]
	unit := &m.units[st.unit]
	x := v[m.lay.unit+uSize*int(st.unit):]
	l := m.legTo(v, int(st.unit), f)
	prof := &f.days[st.day]
	k := st.takeoff - prof.lo
	free, flown, begin := x[uFree], x[uFlown], unit.call[st.day]
	breaks := unit.breaks[st.day][x[uBreaks]:]
	until := unit.wrap[st.day]
	if int(st.breaks) > len(breaks) {
		return l, fmt.Errorf("more breaks than there are")
	}
	for _, b := range breaks[:st.breaks] {
		at := max(free, b.earliest)
		if at > b.latest {
			return l, fmt.Errorf("%s comes too late", b.what)
		}
		free = at + b.duration
		begin = free
		if b.duration >= unit.rest {
			flown = 0
		}
	}
	if int(st.breaks) < len(breaks) {
		until = min(until, breaks[st.breaks].latest)
	}
	earliest := max(m.readyAt(l, unit.tech, free, v[m.lay.rig+2*f.rig], begin), v[m.lay.last])
	if st.rested {
		earliest, flown = max(earliest, x[uFree]+unit.rest), 0
	}
	switch {
	case f.mask.meets(done):
		return l, fmt.Errorf("a slate is done twice")
	case !m.ready(f, done):
		return l, fmt.Errorf("a slate comes before one it waits for")
	case k < 0 || int(k) >= len(prof.q) || prof.q[k] < 0:
		return l, fmt.Errorf("a slate is outside its window")
	case st.takeoff < earliest:
		return l, fmt.Errorf("the unit or the rig is not ready")
	case st.takeoff+f.steps > until:
		return l, fmt.Errorf("it lands after the wrap or the latest start of a break")
	case unit.fly > 0 && flown+f.steps > unit.fly:
		return l, fmt.Errorf("the pilot must rest first")
	}
	for i, sl := range f.slates {
		if a := m.slates[sl].avail; a >= 0 && int64(st.takeoff)*m.step+f.offsets[i] < int64(v[m.lay.avail+a]) {
			return l, fmt.Errorf("a slate comes before one it waits for ends")
		}
	}
	if st.pack >= 0 {
		y := v[m.lay.pack+2*int(st.pack):]
		p := &m.packs[st.pack]
		if p.rigs>>f.rig&1 == 0 || y[0] > st.takeoff || y[1]-p.keep < f.need {
			return l, fmt.Errorf("the pack is not ready")
		}
	} else if !m.rigs[f.rig].mains {
		return l, fmt.Errorf("no pack")
	}
	return l, nil
}

// write turns steps into a Plan's days.
func (m *model) write(steps []step) (Plan, error) {
	var plan Plan
	p := m.p
	for d, day := range p.Days {
		plan.Days = append(plan.Days, DayPlan{Name: day.Name, StartS: day.StartS, EndS: day.EndS, Sorties: []Sortie{}})
		_ = d
	}
	score, err := m.replay(steps, func(v []int32, st step, pack int, l leg) {
		f := &m.flights[st.flight]
		day := &plan.Days[st.day]
		unit := &m.units[st.unit]
		out := Sortie{Unit: p.Units[st.unit].Name, Rig: p.Rigs[f.rig].Name, Setup: m.setups[f.setup],
			StartS: m.seconds(st.takeoff), EndS: m.seconds(st.takeoff + f.steps),
			BuildS: l.build, MoveS: l.move, HandoverS: l.handover, GroundS: l.ground, Rested: st.rested}
		plan.ChangeoverS += l.cost()
		x := v[m.lay.unit+uSize*int(st.unit):]
		if f.spot >= 0 {
			out.Spot = m.spots[f.spot]
		} else if x[uSpot] >= 0 {
			out.Spot = m.spots[x[uSpot]]
		}
		free := x[uFree]
		for _, b := range unit.breaks[st.day][x[uBreaks] : x[uBreaks]+int32(st.breaks)] {
			at := max(free, b.earliest)
			free = at + b.duration
			day.Breaks = append(day.Breaks, BreakTaken{Unit: out.Unit, What: b.what, StartS: m.seconds(at), EndS: m.seconds(free)})
		}
		for i, sl := range f.slates {
			s := p.Slates[sl]
			at := out.StartS + f.offsets[i]
			q, w := s.quality(at)
			out.Shots = append(out.Shots, Shot{Slate: s.Name, StartS: at, EndS: at + s.wanted(), ReserveEndS: at + s.flown(), Quality: q, Window: w})
			plan.Value += q * m.slates[sl].value
		}
		if pack >= 0 {
			out.Pack = p.Packs[pack].Name
			left := v[m.lay.pack+2*int(st.pack)+1] - f.need
			out.EnergyWh, out.LeftWh = float64(f.need)/1000, float64(left)/1000
			if st.charger >= 0 {
				pk := &m.packs[st.pack]
				start, _ := m.chargeStart(v, int(st.charger), st.takeoff+f.steps+pk.cool)
				end := start + m.chargeSteps(int(st.charger), int(st.pack), left)
				day.Charges = append(day.Charges, Charge{Pack: out.Pack, Charger: p.Chargers[st.charger].Name, StartS: m.seconds(start),
					EndS: m.seconds(end), FromWh: float64(left) / 1000, ToWh: float64(pk.capacity) / 1000})
			}
		}
		day.Sorties = append(day.Sorties, out)
	})
	if err != nil {
		return plan, err
	}
	plan.Score = score
	m.fillLatest(&plan, steps)
	return plan, nil
}

// fillLatest finds how late each sortie may take off with all others in place.
func (m *model) fillLatest(plan *Plan, steps []step) {
	at := make([]int, len(plan.Days))
	trial := make([]step, len(steps))
	for i, st := range steps {
		latest := st.takeoff
		prof := &m.flights[st.flight].days[st.day]
		for t := st.takeoff + 1; int(t-prof.lo) < len(prof.q); t++ {
			copy(trial, steps)
			trial[i].takeoff = t
			slices.SortStableFunc(trial, func(a, b step) int { return int(a.takeoff - b.takeoff) })
			if _, err := m.replay(trial, nil); err != nil {
				break
			}
			latest = t
		}
		day := &plan.Days[st.day]
		day.Sorties[at[st.day]].LatestS = m.seconds(latest)
		at[st.day]++
	}
}
