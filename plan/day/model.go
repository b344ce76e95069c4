package day

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
)

// MaxSlates is the most slates one search takes.
const MaxSlates = 128

// set is a set of slates.
type set [2]uint64

func (s set) has(i int) bool      { return s[i>>6]>>(uint(i)&63)&1 != 0 }
func (s *set) add(i int)          { s[i>>6] |= 1 << (uint(i) & 63) }
func (s set) count() int          { return bits.OnesCount64(s[0]) + bits.OnesCount64(s[1]) }
func (s set) meets(o set) bool    { return s[0]&o[0] != 0 || s[1]&o[1] != 0 }
func (s set) union(o set) set     { return set{s[0] | o[0], s[1] | o[1]} }
func (s set) and(o set) set       { return set{s[0] & o[0], s[1] & o[1]} }
func (s set) without(o set) set   { return set{s[0] &^ o[0], s[1] &^ o[1]} }
func (s set) contains(o set) bool { return o[0]&^s[0] == 0 && o[1]&^s[1] == 0 }

// model is a Problem made ready for the search: names are indices, times are
// steps of the grid since base, energies milliwatt-hours, values thousandths of
// a point.
type model struct {
	p          *Problem
	step, base int64
	weights    Weights

	dayStart, dayEnd []int32
	slates           []slateM
	all              set
	waits            []int // slates with predecessors, the avail slots of a state
	setups           []string
	spots            []string
	move             [][]int64 // seconds, spot to spot
	rigs             []rigM
	packs            []packM
	chargers         []chargerM
	units            []unitM
	flights          []flight
	cut              bool // flights were cut: no proof

	keep    map[[2]int]Keep // by slate and rig
	configs []config
	classes [][]int // packs alike, where there are several
	lay     layout
	whyNot  []string // per slate: why no flight holds it, "" if one does
	notes   []string
}

type slateM struct {
	value int64 // points
	preds set
	npred int
	avail int // slot in the state, -1 none
	best  int64
}

type rigM struct {
	setup, wrap          int // -1 none
	change               [][]int64
	ground, launch       int64
	recover_, reposition int64
	overhead, reposMWh   int64
	maxShots             int
	mains                bool
	units                int // how many units share it
	owner                int // the unit without a technician that alone flies it, -1 none
}

type packM struct {
	rigs                 uint64
	capacity, init, keep int32
	cool, rest, ready    int32
	least                int32 // least energy any sortie on its rigs needs
	class                int
}

type chargerM struct {
	slots int
	soon  int32 // least time from take-off to charging
	// mWh per hour offered to each pack, 0 when it does not fit.
	power []int64
}

type unitM struct {
	rigs     uint64
	spot     int
	handover int64
	ground   int32 // least time from landing to take-off
	tech     bool
	call     []int32 // per day
	wrap     []int32 // latest landing per day
	wrapWhy  []string
	fly      int32 // most steps flown between rests, 0 no limit
	rest     int32
	breaks   [][]breakM // per day
	flights  []int32
	start    int // config at the beginning
	why      string
}

type breakM struct {
	what                       string
	earliest, latest, duration int32
}

// config is what a unit last flew: it fixes the least changeover to the next.
// Where there are few sorties, each set of slates has a config of its own, so
// that the bound flies none of them twice running.
type config struct {
	rig, setup, spot int // rig -1: nothing yet; -1: unknown
	mask             set
}

// maxConfigs is the most configs by slates.
const maxConfigs = 400

// flight is a possible sortie: slates in order on one rig in one setup.
type flight struct {
	rig, setup, spot int
	config           int
	slates           []int32
	offsets          []int64 // seconds from take-off to each shot's start
	mask             set
	need             int32 // mWh
	steps            int32 // take-off to landing
	days             []profile
	units            uint64
}

// profile is the value of a flight by take-off time on one day: q[k] at lo+k,
// negative where it cannot fly; next[k] is the first later k with a greater q.
type profile struct {
	lo   int32
	q    []int64
	next []int32
}

const maxFlights = 30000

func ceilDiv(a, b int64) int64 {
	if a >= 0 {
		return (a + b - 1) / b
	}
	return -((-a) / b)
}

func floorDiv(a, b int64) int64 { return -ceilDiv(-a, b) }

// up rounds a duration in seconds up to steps.
func (m *model) up(seconds int64) int32 { return int32(ceilDiv(seconds, m.step)) }

func (m *model) seconds(step int32) int64 { return m.base + int64(step)*m.step }

func mWhUp(wh float64) int64   { return int64(math.Ceil(wh*1000 - 1e-6)) }
func mWhDown(wh float64) int64 { return int64(math.Floor(wh*1000 + 1e-6)) }

func index[T any](what string, list []T, name func(T) string) (map[string]int, error) {
	at := make(map[string]int, len(list))
	for i, x := range list {
		n := name(x)
		if n == "" {
			return nil, fmt.Errorf("%s %d has no name: give it one", what, i+1)
		}
		if _, twice := at[n]; twice {
			return nil, fmt.Errorf("%s %q is named twice: rename one", what, n)
		}
		at[n] = i
	}
	return at, nil
}

// compile checks the problem and makes the model.
func compile(p *Problem) (*model, error) {
	m := &model{p: p, step: p.StepS, weights: p.Weights}
	if m.step == 0 {
		m.step = 60
	}
	if m.step < 0 {
		return nil, fmt.Errorf("step %d s: want a positive number of seconds", m.step)
	}
	if m.weights.ChangePerS < 0 || m.weights.SpanPerS < 0 {
		return nil, fmt.Errorf("weights %+v: want none negative", m.weights)
	}
	if len(p.Slates) > MaxSlates {
		return nil, fmt.Errorf("%d slates: at most %d in one plan; split the shoot", len(p.Slates), MaxSlates)
	}
	if err := m.compileDays(); err != nil {
		return nil, err
	}
	if err := m.compileKit(); err != nil {
		return nil, err
	}
	if err := m.compileUnits(); err != nil {
		return nil, err
	}
	if err := m.compileSlates(); err != nil {
		return nil, err
	}
	if err := m.compileFlights(); err != nil {
		return nil, err
	}
	m.makeConfigs()
	m.makeLayout()
	m.noteClock()
	return m, nil
}

func (m *model) compileDays() error {
	p := m.p
	if len(p.Days) == 0 {
		return fmt.Errorf("no days: give at least one with a start and an end")
	}
	if len(p.Days) > 100 {
		return fmt.Errorf("%d days: at most 100", len(p.Days))
	}
	if _, err := index("day", p.Days, func(d Day) string { return d.Name }); err != nil {
		return err
	}
	m.base = floorDiv(p.Days[0].StartS, m.step) * m.step
	for i, d := range p.Days {
		if d.EndS <= d.StartS {
			return fmt.Errorf("day %q ends at %s, not after its start %s: check for a changed clock or swapped times",
				d.Name, p.exact(d.EndS), p.exact(d.StartS))
		}
		if i > 0 && d.StartS < p.Days[i-1].EndS {
			return fmt.Errorf("day %q starts before day %q ends: put days in order, without overlap", d.Name, p.Days[i-1].Name)
		}
		if d.EndS-p.Days[0].StartS > min(2_000_000*m.step, 2_000_000_000) {
			return fmt.Errorf("day %q ends %d s after the first day starts: times must be seconds of one epoch", d.Name, d.EndS-p.Days[0].StartS)
		}
		m.dayStart = append(m.dayStart, int32(ceilDiv(d.StartS-m.base, m.step)))
		m.dayEnd = append(m.dayEnd, int32(floorDiv(d.EndS-m.base, m.step)))
	}
	return nil
}

func finite(what string, v float64) error {
	if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 || v > 1e6 {
		return fmt.Errorf("%s is %v: want a number from 0 to 1000000", what, v)
	}
	return nil
}

func spell(what string, v int64) error {
	if v < 0 || v > 100*86400 {
		return fmt.Errorf("%s is %d s: want from 0 to 100 days", what, v)
	}
	return nil
}

func (m *model) compileKit() error {
	p := m.p
	setups, err := index("setup", p.Setups, func(s Setup) string { return s.Name })
	if err != nil {
		return err
	}
	spots, err := index("launch spot", p.Spots, func(s Spot) string { return s.Name })
	if err != nil {
		return err
	}
	for _, s := range p.Spots {
		m.spots = append(m.spots, s.Name)
		row := make([]int64, len(p.Spots))
		for j, t := range p.Spots {
			if s.Name == t.Name {
				continue
			}
			v, ok := s.MoveS[t.Name]
			if !ok {
				v = t.MoveS[s.Name]
			}
			if err := spell(fmt.Sprintf("move from %q to %q", s.Name, t.Name), v); err != nil {
				return err
			}
			row[j] = v
		}
		m.move = append(m.move, row)
		for name := range s.MoveS {
			if _, ok := spots[name]; !ok {
				return fmt.Errorf("launch spot %q has a move to %q, which is not a launch spot", s.Name, name)
			}
		}
	}
	for _, s := range p.Setups {
		m.setups = append(m.setups, s.Name)
	}
	rigs, err := index("rig", p.Rigs, func(r Rig) string { return r.Name })
	if err != nil {
		return err
	}
	if len(p.Rigs) > 60 || len(p.Packs) > 100 || len(p.Units) > 60 {
		return fmt.Errorf("%d rigs, %d packs, %d units: at most 60, 100 and 60", len(p.Rigs), len(p.Packs), len(p.Units))
	}
	for _, r := range p.Rigs {
		c := rigM{setup: -1, wrap: -1, ground: r.GroundS, launch: r.LaunchS, recover_: r.RecoverS,
			reposition: r.RepositionS, overhead: mWhUp(r.OverheadWh), reposMWh: mWhUp(r.RepositionWh),
			maxShots: r.MaxShots, mains: r.Mains}
		if c.maxShots <= 0 {
			c.maxShots = 3
		}
		for what, v := range map[string]int64{"ground": r.GroundS, "launch": r.LaunchS, "recover": r.RecoverS, "reposition": r.RepositionS,
			"lens swap": r.Swap.LensS, "filter swap": r.Swap.FilterS, "rebalance": r.Swap.BalanceS, "card swap": r.Swap.CardS} {
			if err := spell(fmt.Sprintf("rig %q: %s time", r.Name, what), v); err != nil {
				return err
			}
		}
		if err := finite(fmt.Sprintf("rig %q: energy of launch and recovery", r.Name), r.OverheadWh); err != nil {
			return err
		}
		if err := finite(fmt.Sprintf("rig %q: energy of a reposition", r.Name), r.RepositionWh); err != nil {
			return err
		}
		for _, s := range []struct {
			name string
			to   *int
		}{{r.Setup, &c.setup}, {r.WrapSetup, &c.wrap}} {
			if s.name == "" {
				continue
			}
			i, ok := setups[s.name]
			if !ok {
				return fmt.Errorf("rig %q: setup %q is not among the setups", r.Name, s.name)
			}
			*s.to = i
		}
		if r.ChangeS != nil {
			if len(r.ChangeS) != len(p.Setups) {
				return fmt.Errorf("rig %q: change table has %d rows, want one per setup (%d)", r.Name, len(r.ChangeS), len(p.Setups))
			}
			for i, row := range r.ChangeS {
				if len(row) != len(p.Setups) {
					return fmt.Errorf("rig %q: change table row %d has %d entries, want %d", r.Name, i+1, len(row), len(p.Setups))
				}
				for _, v := range row {
					if err := spell(fmt.Sprintf("rig %q: change from %q", r.Name, p.Setups[i].Name), v); err != nil {
						return err
					}
				}
			}
			c.change = r.ChangeS
		} else {
			for _, a := range p.Setups {
				row := make([]int64, len(p.Setups))
				for j, b := range p.Setups {
					row[j] = r.Swap.between(a, b)
				}
				c.change = append(c.change, row)
			}
		}
		m.rigs = append(m.rigs, c)
	}
	packs, err := index("pack", p.Packs, func(k Pack) string { return k.Name })
	if err != nil {
		return err
	}
	for _, k := range p.Packs {
		for what, v := range map[string]float64{"capacity": k.CapacityWh, "charge": k.ChargeWh, "reserve": k.ReserveWh, "charging power": k.ChargeW} {
			if err := finite(fmt.Sprintf("pack %q: %s", k.Name, what), v); err != nil {
				return err
			}
		}
		if k.ChargeWh > k.CapacityWh {
			return fmt.Errorf("pack %q holds %.1f Wh of %.1f Wh: a charge cannot exceed the capacity", k.Name, k.ChargeWh, k.CapacityWh)
		}
		for what, v := range map[string]int64{"cooling": k.CoolS, "rest": k.RestS} {
			if err := spell(fmt.Sprintf("pack %q: %s time", k.Name, what), v); err != nil {
				return err
			}
		}
		c := packM{capacity: int32(mWhDown(k.CapacityWh)), init: int32(mWhDown(k.ChargeWh)), keep: int32(mWhUp(k.ReserveWh)),
			cool: m.up(k.CoolS), rest: m.up(k.RestS), ready: m.dayStart[0]}
		if k.ReadyS > m.p.Days[0].StartS {
			c.ready = int32(min(ceilDiv(k.ReadyS-m.base, m.step), int64(m.dayEnd[len(m.dayEnd)-1])))
		}
		for _, name := range k.Rigs {
			r, ok := rigs[name]
			if !ok {
				return fmt.Errorf("pack %q fits %q, which is not among the rigs", k.Name, name)
			}
			c.rigs |= 1 << r
		}
		m.packs = append(m.packs, c)
	}
	if _, err := index("charger", p.Chargers, func(c Charger) string { return c.Name }); err != nil {
		return err
	}
	for _, ch := range p.Chargers {
		if err := finite(fmt.Sprintf("charger %q: power of an outlet", ch.Name), ch.SlotW); err != nil {
			return err
		}
		if err := finite(fmt.Sprintf("charger %q: supply", ch.Name), ch.SupplyW); err != nil {
			return err
		}
		if ch.Slots < 0 || ch.Slots > 60 {
			return fmt.Errorf("charger %q: %d outlets: want from 0 to 60", ch.Name, ch.Slots)
		}
		c := chargerM{slots: ch.Slots, power: make([]int64, len(p.Packs))}
		if ch.SlotW == 0 {
			c.slots = 0
		} else if ch.SupplyW > 0 {
			c.slots = min(c.slots, int(ch.SupplyW/ch.SlotW+1e-9))
		}
		fits := func(i int) bool { return ch.Packs == nil || slices.Contains(ch.Packs, p.Packs[i].Name) }
		for _, name := range ch.Packs {
			if _, ok := packs[name]; !ok {
				return fmt.Errorf("charger %q takes pack %q, which is not among the packs", ch.Name, name)
			}
		}
		for i, k := range p.Packs {
			if w := ch.SlotW; fits(i) && c.slots > 0 {
				if k.ChargeW > 0 {
					w = min(w, k.ChargeW)
				}
				c.power[i] = mWhDown(w)
			}
		}
		m.chargers = append(m.chargers, c)
	}
	// Packs that differ in nothing but their name are one class.
	for i := range m.packs {
		m.packs[i].class = i
		for j := range i {
			if m.samePack(i, j) {
				m.packs[i].class = m.packs[j].class
				break
			}
		}
	}
	for i := range m.packs {
		var class []int
		for j := range m.packs {
			if m.packs[i].class == i && m.packs[j].class == i {
				class = append(class, j)
			}
		}
		if len(class) > 1 {
			m.classes = append(m.classes, class)
		}
	}
	return nil
}

func (m *model) samePack(i, j int) bool {
	a, b := m.packs[i], m.packs[j]
	if a.rigs != b.rigs || a.capacity != b.capacity || a.keep != b.keep || a.cool != b.cool || a.rest != b.rest || m.later(a.ready) != m.later(b.ready) {
		return false
	}
	for _, c := range m.chargers {
		if c.power[i] != c.power[j] {
			return false
		}
	}
	return true
}

// later is the morning from which a readiness still matters after the first day.
func (m *model) later(ready int32) int32 {
	if len(m.dayStart) == 1 {
		return 0
	}
	return max(ready, m.dayStart[1])
}

// between sums the swaps that lead from setup a to b.
func (s Swap) between(a, b Setup) int64 {
	var t int64
	if a.Lens != b.Lens {
		t += s.LensS
	}
	if a.Filter != b.Filter {
		t += s.FilterS
	}
	if a.Balance != b.Balance {
		t += s.BalanceS
	}
	if a.Card != b.Card {
		t += s.CardS
	}
	return t
}

// chargeSteps is the time to fill a pack from a given energy.
func (m *model) chargeSteps(charger, pack int, from int32) int32 {
	missing := int64(m.packs[pack].capacity - from)
	return int32(ceilDiv(missing*3600, m.chargers[charger].power[pack]*m.step))
}

func (m *model) compileUnits() error {
	p := m.p
	people, err := index("person", p.People, func(x Person) string { return x.Name })
	if err != nil {
		return err
	}
	if _, err := index("unit", p.Units, func(u Unit) string { return u.Name }); err != nil {
		return err
	}
	if len(p.Units) == 0 {
		return fmt.Errorf("no units: give at least one team with a rig and a pilot")
	}
	rigAt, _ := index("rig", p.Rigs, func(r Rig) string { return r.Name })
	spotAt, _ := index("launch spot", p.Spots, func(s Spot) string { return s.Name })
	taken := map[string]string{}
	for _, u := range p.Units {
		c := unitM{spot: -1, handover: u.HandoverS, tech: u.Technician}
		if err := spell(fmt.Sprintf("unit %q: handover", u.Name), u.HandoverS); err != nil {
			return err
		}
		for _, name := range u.Rigs {
			r, ok := rigAt[name]
			if !ok {
				return fmt.Errorf("unit %q has %q, which is not among the rigs", u.Name, name)
			}
			if c.rigs>>r&1 == 0 {
				m.rigs[r].units++
			}
			c.rigs |= 1 << r
		}
		if u.Spot != "" {
			s, ok := spotAt[u.Spot]
			if !ok {
				return fmt.Errorf("unit %q stands at %q, which is not among the launch spots", u.Name, u.Spot)
			}
			c.spot = s
		}
		if u.CallS != nil && len(u.CallS) != len(p.Days) {
			return fmt.Errorf("unit %q has %d calls, want one per day (%d)", u.Name, len(u.CallS), len(p.Days))
		}
		pilot := len(u.People) == 0
		for _, name := range u.People {
			i, ok := people[name]
			if !ok {
				return fmt.Errorf("unit %q has %q, who is not among the people", u.Name, name)
			}
			if other, ok := taken[name]; ok {
				return fmt.Errorf("%q stands in unit %q and in unit %q: a person can be in one", name, other, u.Name)
			}
			taken[name] = u.Name
			who := p.People[i]
			for what, v := range map[string]int64{"duty": who.DutyS, "turnaround": who.TurnaroundS, "flying": who.FlyS, "rest": who.RestS} {
				if err := spell(fmt.Sprintf("%q: %s", name, what), v); err != nil {
					return err
				}
			}
			if slices.Contains(who.Skills, Pilot) {
				pilot = true
				if who.FlyS > 0 {
					if f := int32(who.FlyS / m.step); c.fly == 0 || f < c.fly {
						c.fly = max(f, 1)
					}
					c.rest = max(c.rest, m.up(who.RestS))
				}
			}
		}
		if !pilot {
			c.why = fmt.Sprintf("unit %q has no pilot", u.Name)
		}
		for d, day := range p.Days {
			call, since := day.StartS, day.StartS
			if u.CallS != nil {
				since = u.CallS[d]
				call = max(call, since)
			}
			wrap, why := day.EndS, "the end of the day"
			for _, name := range u.People {
				who := p.People[people[name]]
				if who.DutyS > 0 && since+who.DutyS < wrap {
					wrap, why = since+who.DutyS, fmt.Sprintf("the duty limit of %s", name)
				}
				if who.TurnaroundS > 0 && d+1 < len(p.Days) {
					next := p.Days[d+1].StartS
					if u.CallS != nil {
						next = max(next, u.CallS[d+1])
					}
					if next-who.TurnaroundS < wrap {
						wrap, why = next-who.TurnaroundS, fmt.Sprintf("the turnaround of %s before the next call", name)
					}
				}
			}
			c.call = append(c.call, int32(ceilDiv(call-m.base, m.step)))
			c.wrap = append(c.wrap, int32(floorDiv(wrap-m.base, m.step)))
			c.wrapWhy = append(c.wrapWhy, why)
			var list []breakM
			for _, b := range u.Breaks {
				if b.EarliestS < day.StartS || b.EarliestS >= day.EndS {
					continue
				}
				if err := spell(fmt.Sprintf("unit %q: %s", u.Name, b.What), b.DurationS); err != nil {
					return err
				}
				if b.LatestS < b.EarliestS {
					return fmt.Errorf("unit %q: %s has its latest start before its earliest", u.Name, b.What)
				}
				list = append(list, breakM{b.What, int32(ceilDiv(b.EarliestS-m.base, m.step)), int32(floorDiv(b.LatestS-m.base, m.step)), m.up(b.DurationS)})
			}
			slices.SortStableFunc(list, func(a, b breakM) int { return int(a.earliest - b.earliest) })
			c.breaks = append(c.breaks, list)
		}
		m.units = append(m.units, c)
	}
	return nil
}
