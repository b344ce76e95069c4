// Package call turns a checked shoot into a call sheet: it puts windows, energy, setups, packs,
// chargers and crew before the search of package day, and its answer back into the crew's
// words and clock.
//
// Units: instants in the site's zone, durations in seconds, energy in watt-hours.
// Source: the numbers of package assess; changeover times are the house's own.
// Validity: the dates of the shoot. A slate that is barred, or has no window, is left out with
// the reason; nothing is dropped silently.
//
// Not modelled: travel to the site, and anything that the shoot file does not hold.
package call

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"time"

	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
	"fieldfare/plan/shoot"
	"fieldfare/plan/window"
)

// Sheet is the timed answer.
type Sheet struct {
	Title    string    `json:"title"`
	Zone     string    `json:"zone"`
	Days     []Day     `json:"days"`
	LeftOut  []LeftOut `json:"left_out"`
	Score    float64   `json:"score"` // points
	Bound    float64   `json:"bound"` // no plan scores more
	Gap      float64   `json:"gap"`
	Proved   bool      `json:"proved"`
	Stopped  string    `json:"stopped"` // why the search ended
	Notes    []string  `json:"notes"`
	Cautions []string  `json:"cautions"`
}

// Day is one shooting day.
type Day struct {
	Date    string    `json:"date"`
	Call    time.Time `json:"call"`
	Wrap    time.Time `json:"wrap"`
	Sorties []Sortie  `json:"sorties"`
	Breaks  []Break   `json:"breaks"`
	Charges []Charge  `json:"charges"`
}

// Sortie is one take-off to landing.
type Sortie struct {
	Start    time.Time `json:"start"`
	End      time.Time `json:"end"`
	Latest   time.Time `json:"latest_start"` // that leaves every later sortie in place
	Unit     string    `json:"unit"`
	Rig      string    `json:"rig"`
	Lens     string    `json:"lens"`
	Filter   string    `json:"filter"`
	Pack     string    `json:"pack"`
	Launch   string    `json:"launch"`
	Slates   []Shot    `json:"slates"`
	EnergyWh float64   `json:"energy_wh"`
	LeftWh   float64   `json:"left_wh"`
	Swap     string    `json:"swap"` // what the gimbal needs after the rig's last sortie, empty where nothing changes
	BuildS   int64     `json:"build_s"`
	MoveS    int64     `json:"move_s"`
}

// Shot is one slate of a sortie.
type Shot struct {
	Slate   string    `json:"slate"`
	Start   time.Time `json:"start"`
	End     time.Time `json:"end"`
	Reserve time.Time `json:"reserve_end"`
	Quality float64   `json:"light_quality"`
}

// Break is a meal or rest.
type Break struct {
	What  string    `json:"what"`
	Start time.Time `json:"start"`
	End   time.Time `json:"end"`
}

// Charge is a pack on a charger.
type Charge struct {
	Pack    string    `json:"pack"`
	Charger string    `json:"charger"`
	Start   time.Time `json:"start"`
	End     time.Time `json:"end"`
}

// LeftOut is a slate without a place, and why.
type LeftOut struct {
	Slate       string   `json:"slate"`
	Priority    string   `json:"priority"`
	Reason      string   `json:"reason"`
	Facts       []string `json:"facts"`
	Relaxations []string `json:"relaxations"`
}

// defaults where the house does not say (common practice, no source).
const (
	defaultSetupS  = 8 * 60
	defaultLensS   = 10 * 60
	defaultFilterS = 3 * 60
	defaultMoveS   = 20 * 60
	defaultGapS    = 45
	defaultRollS   = 10 // before and after each take
)

// builder fills the problem.
type builder struct {
	s         *shoot.Shoot
	a         *assess.Assessor
	c         *check.Check
	epoch     time.Time
	p         day.Problem
	left      []LeftOut
	setups    map[string]bool
	uncharged []string                  // packs that cannot be charged on location
	dress     map[string][]assess.Dress // by rig, in the order in which slates ask for them
}

func orSeconds(d float64, fallback int64) int64 {
	if d <= 0 {
		return fallback
	}
	return int64(math.Ceil(d))
}

// Problem puts the shoot before the search. Slates that cannot be placed at all come back as
// left out.
func Problem(a *assess.Assessor, c *check.Check) (day.Problem, []LeftOut) {
	s := a.Shoot
	b := &builder{s: s, a: a, c: c, epoch: s.Dates[0].Midnight(s.Location()), setups: map[string]bool{}, dress: map[string][]assess.Dress{}}
	b.p.Weights = day.DefaultWeights
	b.days()
	b.spots()
	b.slates()
	b.hours()
	b.rigs()
	b.packs()
	b.people()
	return b.p, b.left
}

func (b *builder) at(t time.Time) int64 { return int64(t.Sub(b.epoch) / time.Second) }

// days run from first to last light that any slate may use, at least from civil dawn to dusk.
func (b *builder) days() {
	for _, d := range b.s.Dates {
		start, end := d.Midnight(b.s.Location()).Add(4*time.Hour), d.Next().Midnight(b.s.Location()).Add(-time.Hour)
		b.p.Days = append(b.p.Days, day.Day{Name: d.String(), StartS: b.at(start), EndS: b.at(end)})
	}
	// Every change counts from the first midnight on, at night and between the dates too.
	_, first := b.epoch.Zone()
	last := b.s.Dates[len(b.s.Dates)-1].Next().Midnight(b.s.Location())
	for _, change := b.epoch.ZoneBounds(); !change.IsZero() && change.Before(last); _, change = change.ZoneBounds() {
		_, now := change.Zone()
		b.p.Clock = append(b.p.Clock, day.ClockChange{FromS: b.at(change), OffsetS: int64(now - first)})
	}
}

// unpackS is from the call to the first build (common practice, no source).
const unpackS = 15 * 60

// callsApartS is the least time between calls to choose from (our own rule).
const callsApartS = 30 * 60

// hours begin each day at the crew's own call. Without one the search chooses among calls in time for the first
// light of each slate: duty counts from there, so a later call may reach a later window.
func (b *builder) hours() {
	lead := orSeconds(float64(b.s.House.SetupTime), defaultSetupS) + orSeconds(float64(b.s.House.LensChange), defaultLensS) + unpackS
	for i, d := range b.s.Dates {
		day := &b.p.Days[i]
		if c := b.s.Call; c != nil {
			if at, err := c.On(d, b.s.Location()); err == nil { // the loader refused a time that does not exist
				day.StartS = b.at(at)
			}
			continue
		}
		var calls []int64
		for _, x := range b.p.Slates {
			first := day.EndS
			for _, w := range x.Windows {
				if w.ToS > day.StartS && w.FromS < day.EndS {
					first = min(first, max(day.StartS, w.FromS-lead))
				}
			}
			if first < day.EndS {
				calls = append(calls, first)
			}
		}
		slices.Sort(calls)
		last := int64(math.MinInt64)
		calls = slices.DeleteFunc(calls, func(at int64) bool {
			near := at < last+callsApartS
			if !near {
				last = at
			}
			return near
		})
		b.p.Calls = append(b.p.Calls, calls)
	}
}

func (b *builder) spots() {
	move := orSeconds(float64(b.s.House.LaunchMove), defaultMoveS)
	var names []string
	for _, f := range b.s.Features() {
		if f.Kind == shoot.Launch {
			names = append(names, f.Name)
		}
	}
	for _, n := range names {
		to := map[string]int64{}
		for _, m := range names {
			if m != n {
				to[m] = move
			}
		}
		b.p.Spots = append(b.p.Spots, day.Spot{Name: n, MoveS: to})
	}
}

// setup names a rig's build on the ground: its lens, and the filters of the card.
func setup(rig, lens string, filters []string) string {
	return rig + ": " + lens + ", " + filterName(filters)
}

func filterName(filters []string) string {
	if len(filters) == 0 {
		return "no filter"
	}
	return strings.Join(filters, " + ")
}

func (b *builder) slates() {
	for i := range b.c.Slates {
		x := &b.c.Slates[i]
		if reason := blocked(x); reason != "" {
			b.left = append(b.left, LeftOut{Slate: x.Slate, Priority: x.Priority, Reason: reason, Facts: stops(x), Relaxations: mends(x)})
			continue
		}
		t := b.a.Take(x.Slate)
		gap := float64(orSeconds(float64(b.s.House.TakeGap), defaultGapS))
		takes := max(1, t.Slate.Takes)
		if t.Slate.Takes == 0 {
			takes = 2
		}
		flight := x.Numbers.Flight
		if flight.TakeEnergyWh == nil || flight.HoverPowerW == nil {
			b.left = append(b.left, LeftOut{Slate: x.Slate, Priority: x.Priority, Reason: "its energy is unknown"})
			continue
		}
		takeS := x.Numbers.Move.DurationS + 2*defaultRollS + gap
		takeWh := *flight.TakeEnergyWh + *flight.HoverPowerW*(2*defaultRollS+gap)/3600
		filters := filtersOf(x.Numbers.Picture.Card)
		name := setup(x.Rig, x.Lens, filters)
		if !b.setups[name] {
			b.setups[name] = true
			b.p.Setups = append(b.p.Setups, day.Setup{Name: name, Lens: x.Lens, Filter: filterName(filters)})
			b.dress[x.Rig] = append(b.dress[x.Rig], assess.Dress{Lens: x.Lens, Filters: filters})
		}
		slate := day.Slate{Name: x.Slate, Priority: day.Priority(x.Priority), TakeS: int64(math.Ceil(takeS)), Takes: takes, Reserve: t.Slate.Reserve,
			Spot: x.Launch, Options: []day.Option{{Rig: x.Rig, Setup: name, TakeWh: takeWh}}, After: t.Slate.After,
			People: []string{t.Rig.Pilot}}
		if t.Rig.Operator != "" {
			slate.People = append(slate.People, t.Rig.Operator)
		}
		for _, w := range x.Windows {
			slate.Windows = append(slate.Windows, b.window(w))
		}
		b.p.Slates = append(b.p.Slates, slate)
	}
	b.balance()
	b.dropFollowers()
}

// balance names for each setup the group within which the gimbal's motors hold any change without a plate
// being moved.
func (b *builder) balance() {
	group := map[string]string{}
	for rig, dresses := range b.dress {
		groups := b.a.BalanceGroups(b.s.Rig(rig), dresses)
		for _, d := range dresses {
			group[setup(rig, d.Lens, d.Filters)] = rig + ": " + groups[d.String()]
		}
	}
	for i := range b.p.Setups {
		b.p.Setups[i].Balance = group[b.p.Setups[i].Name]
	}
}

// swap are the times of a changeover: a change that the gimbal's motors hold takes as long as a filter change,
// one for which plates must be moved as long as a change of lens.
func swap(h shoot.House) day.Swap {
	whole, quick := orSeconds(float64(h.LensChange), defaultLensS), orSeconds(float64(h.FilterChange), defaultFilterS)
	return day.Swap{LensS: quick, FilterS: quick, BalanceS: max(0, whole-quick)}
}

// window lets the takes run out to the end of the light: it holds starts and ends alike.
func (b *builder) window(w window.Window) day.Window {
	out := day.Window{FromS: b.at(w.From), ToS: b.at(w.To), Because: w.Ends}
	for _, q := range w.Quality {
		out.Quality = append(out.Quality, day.Knot{AtS: b.at(q.At), Quality: int64(math.Round(1000 * q.Good))})
	}
	return out
}

// change says what a rig's gimbal needs from one setup to another.
func change(a *assess.Assessor, rig string, from, to day.Setup) string {
	worn := func(s day.Setup) assess.Dress {
		if s.Filter == filterName(nil) {
			return assess.Dress{Lens: s.Lens}
		}
		return assess.Dress{Lens: s.Lens, Filters: strings.Split(s.Filter, " + ")}
	}
	for _, s := range a.Swaps(a.Shoot.Rig(rig), []assess.Dress{worn(from), worn(to)}) {
		if s.From == worn(from).String() {
			return s.String()
		}
	}
	return ""
}

// dropFollowers leaves out slates that wait for one that is left out.
func (b *builder) dropFollowers() {
	for again := true; again; {
		again = false
		in := map[string]bool{}
		for _, x := range b.p.Slates {
			in[x.Name] = true
		}
		for i, x := range b.p.Slates {
			for _, a := range x.After {
				if !in[a] {
					b.left = append(b.left, LeftOut{Slate: x.Name, Priority: string(x.Priority), Reason: "it must follow " + a + ", which is left out", Relaxations: []string{"free it from " + a + " (after:)"}})
					b.p.Slates = append(b.p.Slates[:i], b.p.Slates[i+1:]...)
					again = true
					break
				}
			}
			if again {
				break
			}
		}
	}
}

func blocked(x *check.Slate) string {
	switch {
	case x.Barred:
		return "barred: " + strings.Join(firstOf(stops(x), 2), "; ")
	case len(x.Windows) == 0:
		why := strings.Join(x.Never, ", ")
		if why == "" {
			var parts []string
			for _, m := range x.Mostly {
				parts = append(parts, m.Gate)
			}
			return "no window: these are never all right at once: " + strings.Join(parts, ", ")
		}
		return "no window: never right: " + why
	}
	return ""
}

func firstOf(all []string, n int) []string { return all[:min(n, len(all))] }

func stops(x *check.Slate) (all []string) {
	for _, f := range x.Findings {
		if f.Severity == assess.Stop {
			text := f.What + " " + f.Value
			if f.Limit != "" {
				text += " (limit " + f.Limit + ")"
			}
			all = append(all, text)
		}
	}
	return all
}

func mends(x *check.Slate) (all []string) {
	seen := map[string]bool{}
	for _, f := range x.Findings {
		if f.Severity == assess.Stop && f.Mend != "" && !seen[f.Mend] {
			seen[f.Mend] = true
			all = append(all, f.Mend)
		}
	}
	return all
}

func (b *builder) rigs() {
	h := b.s.House
	for i := range b.s.Rigs {
		r := &b.s.Rigs[i]
		if r.Trainer {
			continue
		}
		rig := day.Rig{Name: r.Name, Swap: swap(h),
			GroundS: orSeconds(float64(h.SetupTime), defaultSetupS)}
		// The dearest way there and back of the rig's slates stands for all.
		for j := range b.c.Slates {
			x := &b.c.Slates[j]
			if x.Rig == r.Name && x.Numbers.Flight.TransitEnergyWh != nil {
				half := int64(math.Ceil(x.Numbers.Flight.TransitS / 2))
				rig.LaunchS, rig.RecoverS = max(rig.LaunchS, half), max(rig.RecoverS, half)
				rig.OverheadWh = math.Max(rig.OverheadWh, *x.Numbers.Flight.TransitEnergyWh)
				rig.RepositionS = max(rig.RepositionS, half)
				rig.RepositionWh = math.Max(rig.RepositionWh, *x.Numbers.Flight.TransitEnergyWh/2)
			}
		}
		for _, s := range b.p.Setups {
			if strings.HasPrefix(s.Name, r.Name+": ") {
				rig.Setup = s.Name
				break
			}
		}
		if rig.Setup != "" {
			b.p.Rigs = append(b.p.Rigs, rig)
		}
	}
}

func (b *builder) packs() {
	for i := range b.s.Packs {
		p := &b.s.Packs[i]
		model := b.s.Kit().Pack(p.Model)
		var rigs []string
		for _, r := range b.p.Rigs {
			for _, fits := range model.Airframes {
				if b.s.Rig(r.Name).Airframe == fits {
					rigs = append(rigs, r.Name)
				}
			}
		}
		if len(rigs) == 0 {
			continue
		}
		usable, full := b.a.PackEnergy(p)
		charge := 1.0
		if p.Charge > 0 {
			charge = float64(p.Charge)
		}
		reserve := full - usable
		out := day.Pack{Name: p.Name, Rigs: rigs, CapacityWh: full, ChargeWh: full * charge, ReserveWh: reserve,
			CoolS: int64(b.s.Charging.CoolDown), RestS: 60}
		if charging, err := b.a.Charging(p); err == nil {
			out.ChargeW = slowest(charging, full, reserve)
		} else {
			b.p.Packs = append(b.p.Packs, out)
			b.uncharged = append(b.uncharged, p.Name)
			continue
		}
		b.p.Packs = append(b.p.Packs, out)
	}
	var chargeable []string
	for _, x := range b.p.Packs {
		if !has(b.uncharged, x.Name) {
			chargeable = append(chargeable, x.Name)
		}
	}
	if len(chargeable) == 0 {
		return
	}
	count := map[string]int{}
	for _, name := range b.s.Charging.Chargers {
		c := b.s.Kit().Charger(name)
		count[name]++
		label := name
		if count[name] > 1 {
			label = fmt.Sprintf("%s (%d)", name, count[name])
		}
		efficiency := float64(c.Efficiency)
		if efficiency <= 0 {
			efficiency = 0.85
		}
		b.p.Chargers = append(b.p.Chargers, day.Charger{Name: label, Slots: c.Ports, SlotW: float64(c.Power) / float64(max(1, c.Ports)),
			SupplyW: float64(b.s.Charging.Supply) * efficiency / float64(len(b.s.Charging.Chargers)), Packs: chargeable})
	}
}

// slowest is the power that fills a pack from the reserve on the slowest charger in the time that package pack
// works out, its slowing toward full included: the search charges evenly.
func slowest(charging []assess.Charging, fullWh, reserveWh float64) (w float64) {
	for _, c := range charging {
		if c.Charge.DurationS <= 0 {
			continue
		}
		if even := (fullWh - reserveWh) * 3600 / c.Charge.DurationS; w == 0 || even < w {
			w = even
		}
	}
	return w
}

// people make one unit for each pilot who flies; a pilot who has every rig makes the only one.
func (b *builder) people() {
	byPilot := map[string]*day.Unit{}
	var order []string
	for _, r := range b.p.Rigs {
		rig := b.s.Rig(r.Name)
		u := byPilot[rig.Pilot]
		if u == nil {
			u = &day.Unit{Name: rig.Pilot + "'s unit"}
			byPilot[rig.Pilot] = u
			order = append(order, rig.Pilot)
			u.People = append(u.People, rig.Pilot)
		}
		u.Rigs = append(u.Rigs, r.Name)
		if rig.Operator != "" && !has(u.People, rig.Operator) {
			u.People = append(u.People, rig.Operator)
		}
		u.HandoverS = 120
	}
	sort.Strings(order)
	taken := map[string]bool{}
	for _, pilot := range order {
		u := byPilot[pilot]
		var free []string
		for _, p := range u.People {
			if !taken[p] {
				free = append(free, p)
				taken[p] = true
			}
		}
		u.People = free
		for _, call := range b.s.Calls {
			for _, d := range b.s.Dates {
				if call.Date != nil && *call.Date != d {
					continue
				}
				at, err := call.At.On(d, b.s.Location())
				if err != nil {
					continue // the loader refused it already
				}
				u.Breaks = append(u.Breaks, day.Break{What: call.What, EarliestS: b.at(at) - breakSlackS, LatestS: b.at(at) + breakSlackS, DurationS: int64(call.Duration)})
			}
		}
		b.p.Units = append(b.p.Units, *u)
		for _, name := range u.People {
			person := b.s.Person(name)
			out := day.Person{Name: name, DutyS: int64(person.Duty), TurnaroundS: int64(person.Rest)}
			for _, role := range person.Roles {
				if role == "pilot" {
					out.Skills = append(out.Skills, day.Pilot)
				}
			}
			b.p.People = append(b.p.People, out)
		}
	}
}

// breakSlackS is how far a meal may move either way (common practice, no source).
const breakSlackS = 30 * 60

func has(all []string, s string) bool {
	for _, x := range all {
		if x == s {
			return true
		}
	}
	return false
}

// Plan searches the day and writes the sheet.
func Plan(ctx context.Context, a *assess.Assessor, c *check.Check, o day.Options) (*Sheet, error) {
	k, err := Keep(ctx, a, c, o)
	if err != nil {
		return nil, err
	}
	return k.Sheet, nil
}

func (s *Sheet) write(a *assess.Assessor, p day.Problem, plan day.Plan) {
	epoch := a.Shoot.Dates[0].Midnight(a.Shoot.Location())
	clock := func(sec int64) time.Time { return epoch.Add(time.Duration(sec) * time.Second).In(a.Shoot.Location()) }
	setups := map[string]day.Setup{}
	for _, x := range p.Setups {
		setups[x.Name] = x
	}
	s.Score, s.Bound, s.Gap, s.Proved, s.Stopped = float64(plan.Score)/1000, float64(plan.Bound)/1000, plan.Gap, plan.Proved, plan.Search.Stopped
	s.Notes = append(s.Notes, plan.Notes...)
	swaps := map[string]day.Swap{}
	for _, r := range p.Rigs {
		swaps[r.Name] = r.Swap
	}
	worn := map[string]day.Setup{} // by rig
	for _, d := range plan.Days {
		out := Day{Date: d.Name, Call: clock(d.StartS), Wrap: clock(d.EndS), Sorties: []Sortie{}, Breaks: []Break{}, Charges: []Charge{}}
		for _, x := range d.Sorties {
			st := setups[x.Setup]
			sortie := Sortie{Start: clock(x.StartS), End: clock(x.EndS), Latest: clock(x.LatestS), Unit: x.Unit, Rig: x.Rig, Lens: st.Lens, Filter: st.Filter,
				Pack: x.Pack, Launch: x.Spot, EnergyWh: x.EnergyWh, LeftWh: x.LeftWh, BuildS: x.BuildS, MoveS: x.MoveS}
			for _, shot := range x.Shots {
				sortie.Slates = append(sortie.Slates, Shot{shot.Slate, clock(shot.StartS), clock(shot.EndS), clock(shot.ReserveEndS), float64(shot.Quality) / 1000})
			}
			out.Sorties = append(out.Sorties, sortie)
		}
		for _, x := range d.Breaks {
			out.Breaks = append(out.Breaks, Break{x.What, clock(x.StartS), clock(x.EndS)})
		}
		for _, x := range d.Charges {
			out.Charges = append(out.Charges, Charge{x.Pack, x.Charger, clock(x.StartS), clock(x.EndS)})
		}
		out.fit(a, swaps, d.Sorties, d.Breaks)
		for i := range out.Sorties {
			x := &out.Sorties[i]
			now := day.Setup{Lens: x.Lens, Filter: x.Filter}
			if last, ok := worn[x.Rig]; ok && last != now {
				x.Swap = change(a, x.Rig, last, now)
			}
			worn[x.Rig] = now
		}
		for i, x := range out.Sorties {
			if i == 0 || x.End.After(out.Wrap) {
				out.Wrap = x.End
			}
		}
		s.Days = append(s.Days, out)
	}
	for _, l := range plan.LeftOut {
		out := LeftOut{Slate: l.Slate, Priority: string(l.Priority), Reason: l.Reason, Facts: l.Facts}
		for _, r := range l.Relaxations {
			out.Relaxations = append(out.Relaxations, fmt.Sprintf("%s (%g %s)", r.What, r.Amount, r.Unit))
		}
		s.LeftOut = append(s.LeftOut, out)
	}
}
