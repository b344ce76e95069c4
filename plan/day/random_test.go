package day_test

import (
	"fmt"
	"math/rand/v2"

	"fieldfare/plan/day"
)

// size of a random day.
type size struct {
	slates, rigs, packs, days, units int
	step                             int64
}

// randomDay invents a day: light windows with golden-hour curves, builds of a
// few lenses and filters, packs of two kinds, one bank of chargers, meals, duty
// and pilot rest, a little order between slates.
func randomDay(rng *rand.Rand, z size) *day.Problem {
	p := &day.Problem{StepS: z.step, Weights: day.DefaultWeights}
	for d := range z.days {
		start := int64(d)*86400 + 6*3600
		p.Days = append(p.Days, day.Day{Name: fmt.Sprint("day ", d+1), StartS: start, EndS: start + 14*3600})
	}
	lenses, filters := []string{"24", "35", "50"}, []string{"clear", "nd"}
	for _, l := range lenses {
		for _, f := range filters {
			p.Setups = append(p.Setups, day.Setup{Name: l + " " + f, Lens: l, Filter: f, Balance: l})
		}
	}
	p.Spots = []day.Spot{{Name: "barn", MoveS: map[string]int64{"ridge": 900}}, {Name: "ridge"}}
	for r := range z.rigs {
		p.Rigs = append(p.Rigs, day.Rig{Name: fmt.Sprint("rig ", r+1), Setup: p.Setups[rng.IntN(len(p.Setups))].Name,
			Swap:    day.Swap{LensS: 300, FilterS: 120, BalanceS: int64(240 + 60*r)},
			GroundS: 240, LaunchS: 60, RecoverS: 60, RepositionS: 60, OverheadWh: 6, RepositionWh: 3})
	}
	for k := range z.packs {
		capacity := []float64{100, 80}[k%2]
		charge := capacity
		if rng.IntN(3) == 0 {
			charge = capacity * 0.6
		}
		pack := day.Pack{Name: fmt.Sprint("P", k+1), CapacityWh: capacity, ChargeWh: charge, ReserveWh: capacity / 4,
			CoolS: 900, RestS: 300, ChargeW: 100}
		for r := range z.rigs {
			if (r+k)%2 == 0 || z.rigs == 1 || rng.IntN(3) == 0 {
				pack.Rigs = append(pack.Rigs, p.Rigs[r].Name)
			}
		}
		p.Packs = append(p.Packs, pack)
	}
	p.Chargers = []day.Charger{{Name: "van", Slots: 3, SlotW: 120, SupplyW: 250}}
	for u := range z.units {
		unit := day.Unit{Name: fmt.Sprint("unit ", u+1), Spot: "barn", HandoverS: 120, Technician: rng.IntN(2) == 0}
		for r := range z.rigs {
			if r%z.units == u {
				unit.Rigs = append(unit.Rigs, p.Rigs[r].Name)
			}
		}
		name := fmt.Sprint("pilot ", u+1)
		unit.People = []string{name}
		p.People = append(p.People, day.Person{Name: name, Skills: []string{day.Pilot}, DutyS: 12 * 3600, TurnaroundS: 10 * 3600, FlyS: 4500, RestS: 1800})
		for d := range z.days {
			noon := int64(d)*86400 + 12*3600
			unit.CallS = append(unit.CallS, p.Days[d].StartS+int64(rng.IntN(3))*1800)
			unit.Breaks = append(unit.Breaks, day.Break{What: "meal", EarliestS: noon, LatestS: noon + 5400, DurationS: 2700})
		}
		p.Units = append(p.Units, unit)
	}
	for i := range z.slates {
		s := day.Slate{Name: fmt.Sprintf("%d%c", i/2+1, 'A'+i%2), TakeS: int64(40 + 20*rng.IntN(6)), Takes: 1 + rng.IntN(3), Reserve: rng.IntN(2),
			Priority: []day.Priority{day.Must, day.Should, day.Should, day.Nice}[rng.IntN(4)]}
		s.Spot = []string{"", "barn", "barn", "ridge"}[rng.IntN(4)]
		setup := p.Setups[rng.IntN(len(p.Setups))].Name
		for r := range z.rigs {
			if rng.IntN(2) == 0 {
				s.Options = append(s.Options, day.Option{Rig: p.Rigs[r].Name, Setup: setup, TakeWh: float64(s.TakeS) * (350 + 100*float64(rng.IntN(4))) / 3600})
			}
		}
		if len(s.Options) == 0 {
			s.Options = append(s.Options, day.Option{Rig: p.Rigs[rng.IntN(z.rigs)].Name, Setup: setup, TakeWh: float64(s.TakeS) * 400 / 3600})
		}
		for d := range z.days {
			base := int64(d) * 86400
			if z.days > 1 && rng.IntN(4) == 0 && (d > 0 || z.days == 1) {
				continue
			}
			switch rng.IntN(4) {
			case 0: // golden hours
				at := base + 7*3600 + int64(rng.IntN(8))*300
				s.Windows = append(s.Windows, day.Window{FromS: at - 2400, ToS: at + 3600, Because: "low sun",
					Quality: []day.Knot{{AtS: at - 2400, Quality: 400}, {AtS: at, Quality: 1000}, {AtS: at + 3600, Quality: 300}}})
				at += 11 * 3600
				s.Windows = append(s.Windows, day.Window{FromS: at - 3600, ToS: at + 1800, Because: "low sun",
					Quality: []day.Knot{{AtS: at - 3600, Quality: 300}, {AtS: at, Quality: 900}, {AtS: at + 1800, Quality: 200}}})
			case 1: // a slot
				at := base + 9*3600 + int64(rng.IntN(8))*3600
				s.Windows = append(s.Windows, day.Window{FromS: at, ToS: at + 5400, Because: "airspace slot"})
			default:
				from := base + 7*3600 + int64(rng.IntN(12))*1200
				to := from + 3*3600 + int64(rng.IntN(12))*1200
				s.Windows = append(s.Windows, day.Window{FromS: from, ToS: to, Because: "wind below limit",
					Quality: []day.Knot{{AtS: from, Quality: 1000}, {AtS: (from + to) / 2, Quality: int64(600 + 100*rng.IntN(5))}, {AtS: to, Quality: 1000}}})
			}
		}
		if i > 0 && rng.IntN(8) == 0 {
			s.After = []string{p.Slates[rng.IntN(i)].Name}
		}
		p.Slates = append(p.Slates, s)
	}
	return p
}
