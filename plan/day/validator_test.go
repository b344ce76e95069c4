package day_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"testing"

	"fieldfare/plan/day"
)

// flaws re-checks a plan against its problem from the doc comments alone; it
// shares no code with the search.
func flaws(p *day.Problem, plan *day.Plan) (out []string) {
	bad := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	rigs, packs, units, slates, setups := map[string]day.Rig{}, map[string]day.Pack{}, map[string]day.Unit{}, map[string]day.Slate{}, map[string]day.Setup{}
	for _, x := range p.Rigs {
		rigs[x.Name] = x
	}
	for _, x := range p.Packs {
		packs[x.Name] = x
	}
	for _, x := range p.Units {
		units[x.Name] = x
	}
	for _, x := range p.Slates {
		slates[x.Name] = x
	}
	for _, x := range p.Setups {
		setups[x.Name] = x
	}
	ceil := func(s int64) int64 { return (s + p.StepS - 1) / p.StepS * p.StepS }
	moveTime := func(a, b string) int64 {
		if a == b || a == "" || b == "" {
			return 0
		}
		var fallback int64
		for _, s := range p.Spots {
			if s.Name == a {
				if v, ok := s.MoveS[b]; ok {
					return v
				}
			}
			if s.Name == b {
				fallback = s.MoveS[a]
			}
		}
		return fallback
	}
	build := func(r day.Rig, from, to string) int64 {
		if from == "" {
			return 0
		}
		var t int64
		a, b := setups[from], setups[to]
		for _, part := range []struct {
			differs bool
			s       int64
		}{{a.Lens != b.Lens, r.Swap.LensS}, {a.Filter != b.Filter, r.Swap.FilterS}, {a.Balance != b.Balance, r.Swap.BalanceS}, {a.Card != b.Card, r.Swap.CardS}} {
			if part.differs {
				t += part.s
			}
		}
		return t
	}
	ended := map[string]int64{}
	rigSetup, unitSpot, unitRig := map[string]string{}, map[string]string{}, map[string]string{}
	energy := map[string]float64{}
	for _, r := range p.Rigs {
		rigSetup[r.Name] = r.Setup
	}
	for _, u := range p.Units {
		unitSpot[u.Name] = u.Spot
	}
	for _, k := range p.Packs {
		energy[k.Name] = k.ChargeWh
	}
	var value, cost int64
	for d, dp := range plan.Days {
		day0 := p.Days[d]
		if d > 0 {
			for _, k := range p.Packs {
				energy[k.Name] = k.CapacityWh
			}
		}
		type use struct {
			land int64
			left float64
			at   int64
		}
		last := map[string]use{}
		rigFree, unitFree, unitLand, flown := map[string]int64{}, map[string]int64{}, map[string]int64{}, map[string]int64{}
		unitSorties := map[string][]day.Sortie{}
		if !slices.IsSortedFunc(dp.Sorties, func(a, b day.Sortie) int { return int(a.StartS - b.StartS) }) {
			bad("%s: sorties out of order", dp.Name)
		}
		for _, s := range dp.Sorties {
			r, u := rigs[s.Rig], units[s.Unit]
			if !slices.Contains(u.Rigs, s.Rig) {
				bad("%s does not have %s", s.Unit, s.Rig)
			}
			if s.StartS%p.StepS != 0 {
				bad("take-off %d off the grid", s.StartS)
			}
			call := day0.StartS
			if u.CallS != nil {
				call = max(call, u.CallS[d])
			}
			since := day0.StartS // duty counts from the call even where the day starts later
			if u.CallS != nil {
				since = u.CallS[d]
			}
			wrap := day0.EndS
			fly, rest := int64(math.MaxInt64), int64(0)
			pilot := false
			for _, name := range u.People {
				for _, who := range p.People {
					if who.Name != name {
						continue
					}
					if who.DutyS > 0 {
						wrap = min(wrap, since+who.DutyS)
					}
					if who.TurnaroundS > 0 && d+1 < len(p.Days) {
						next := p.Days[d+1].StartS
						if u.CallS != nil {
							next = max(next, u.CallS[d+1])
						}
						wrap = min(wrap, next-who.TurnaroundS)
					}
					if slices.Contains(who.Skills, "pilot") {
						pilot = true
						if who.FlyS > 0 {
							fly, rest = min(fly, who.FlyS), max(rest, who.RestS)
						}
					}
				}
			}
			if !pilot {
				bad("%s flies without a pilot", s.Unit)
			}
			if s.StartS < call || s.EndS > wrap {
				bad("%s %d-%d outside call %d and wrap %d", s.Unit, s.StartS, s.EndS, call, wrap)
			}
			// shots
			t := s.StartS + r.LaunchS
			wh := r.OverheadWh
			for i, shot := range s.Shots {
				sl := slates[shot.Slate]
				if _, twice := ended[shot.Slate]; twice {
					bad("%s flown twice", shot.Slate)
				}
				if i > 0 {
					t += r.RepositionS
					wh += r.RepositionWh
				}
				length := sl.TakeS * int64(sl.Takes+sl.Reserve)
				if shot.StartS != t || shot.ReserveEndS != t+length || shot.EndS != t+sl.TakeS*int64(sl.Takes) {
					bad("%s at %d-%d, want from %d for %d", shot.Slate, shot.StartS, shot.ReserveEndS, t, length)
				}
				q := int64(-1)
				for _, w := range sl.Windows {
					if w.FromS <= t && t+length <= w.ToS {
						mid := t + sl.TakeS*int64(sl.Takes)/2
						q = 1000
						if n := len(w.Quality); n > 0 {
							k := sort.Search(n, func(i int) bool { return w.Quality[i].AtS >= mid })
							switch k {
							case 0:
								q = w.Quality[0].Quality
							case n:
								q = w.Quality[n-1].Quality
							default:
								a, b := w.Quality[k-1], w.Quality[k]
								q = a.Quality + int64(math.Floor(float64((b.Quality-a.Quality)*(mid-a.AtS))/float64(b.AtS-a.AtS)))
							}
						}
					}
				}
				if q < 0 || q != shot.Quality {
					bad("%s: quality %d, want %d", shot.Slate, shot.Quality, q)
				}
				points := sl.Value
				if points == 0 {
					points = map[day.Priority]int64{day.Must: 1000, day.Should: 300, day.Nice: 100}[sl.Priority]
				}
				value += points * q
				for _, a := range sl.After {
					if e, ok := ended[a]; !ok || e > t {
						bad("%s before %s", shot.Slate, a)
					}
				}
				found := false
				for _, o := range sl.Options {
					if o.Rig == s.Rig && o.Setup == s.Setup && !found {
						wh += o.TakeWh * float64(sl.Takes+sl.Reserve)
						found = true
					}
				}
				if !found {
					bad("%s cannot be shot on %s with %s", shot.Slate, s.Rig, s.Setup)
				}
				if sl.Spot != "" && sl.Spot != s.Spot {
					bad("%s from %q", shot.Slate, s.Spot)
				}
				t += length
				ended[shot.Slate] = t
			}
			if s.EndS < t+r.RecoverS || s.EndS >= t+r.RecoverS+p.StepS {
				bad("landing at %d, want %d", s.EndS, t+r.RecoverS)
			}
			// changeover
			b, mv, h := build(r, rigSetup[s.Rig], s.Setup), moveTime(unitSpot[s.Unit], s.Spot), int64(0)
			if unitRig[s.Unit] != "" && unitRig[s.Unit] != s.Rig {
				h = u.HandoverS
			}
			cost += (b + mv + h) * p.Weights.ChangePerS
			free, ok := unitFree[s.Unit]
			if !ok {
				free = call
			}
			cost += (s.EndS - free) * p.Weights.SpanPerS
			landed, begin := free, call
			var paused int64
			for _, brk := range dp.Breaks {
				if brk.Unit == s.Unit && brk.StartS >= landed && brk.EndS <= s.StartS {
					if brk.StartS < free {
						bad("break of %s at %d before it is free", s.Unit, brk.StartS)
					}
					free, begin = brk.EndS, brk.EndS
					paused = max(paused, brk.EndS-brk.StartS)
				}
			}
			rf := max(rigFree[s.Rig], day0.StartS)
			if u.Technician {
				if s.StartS < free+ceil(r.GroundS+mv+h) || s.StartS < max(rf, begin)+ceil(r.GroundS+b) {
					bad("%s takes off at %d, not ready", s.Rig, s.StartS)
				}
			} else if s.StartS < max(free, rf)+ceil(r.GroundS+b+mv+h) {
				bad("%s takes off at %d, not ready", s.Rig, s.StartS)
			}
			if l, ok := unitLand[s.Unit]; ok && s.StartS-l >= rest || paused >= rest {
				flown[s.Unit] = 0
			}
			flown[s.Unit] += s.EndS - s.StartS
			if flown[s.Unit] > fly {
				bad("%s has flown %d s without rest", s.Unit, flown[s.Unit])
			}
			// pack
			if !r.Mains {
				k := packs[s.Pack]
				if !slices.Contains(k.Rigs, s.Rig) {
					bad("pack %q on %s", s.Pack, s.Rig)
				}
				have := energy[s.Pack]
				if l, ok := last[s.Pack]; ok {
					ready := l.land + ceil(k.RestS)
					have = l.left
					for _, c := range dp.Charges {
						if c.Pack == s.Pack && c.StartS >= l.land && c.EndS <= s.StartS {
							have = k.CapacityWh
							ready = c.EndS + ceil(k.RestS)
						} else if c.Pack == s.Pack && c.StartS < s.EndS && c.EndS > s.StartS {
							bad("pack %s flies while charging", s.Pack)
						}
					}
					if s.StartS < ready {
						bad("pack %s flies at %d, ready at %d", s.Pack, s.StartS, ready)
					}
				} else if s.StartS < k.ReadyS {
					bad("pack %s flies before it is there", s.Pack)
				}
				if math.Abs(s.EnergyWh-wh) > 0.01 || math.Abs(have-wh-s.LeftWh) > 0.02 || s.LeftWh < k.ReserveWh-0.002 {
					bad("pack %s: had %.3f, spent %.3f (said %.3f), left %.3f", s.Pack, have, wh, s.EnergyWh, s.LeftWh)
				}
				last[s.Pack] = use{s.EndS, s.LeftWh, s.StartS}
			}
			unitFree[s.Unit], unitLand[s.Unit], rigFree[s.Rig] = s.EndS, s.EndS, s.EndS
			rigSetup[s.Rig], unitRig[s.Unit] = s.Setup, s.Rig
			if s.Spot != "" {
				unitSpot[s.Unit] = s.Spot
			}
			unitSorties[s.Unit] = append(unitSorties[s.Unit], s)
		}
		// meals
		for name, list := range unitSorties {
			for _, b := range units[name].Breaks {
				if b.EarliestS < day0.StartS || b.EarliestS >= day0.EndS {
					continue
				}
				taken := false
				for _, x := range dp.Breaks {
					if x.Unit == name && x.What == b.What && x.StartS >= b.EarliestS && x.StartS <= b.LatestS && x.EndS-x.StartS >= b.DurationS {
						taken = true
						for _, s := range list {
							if s.StartS < x.EndS && x.StartS < s.EndS {
								bad("%s flies through %s", name, b.What)
							}
						}
					}
				}
				if end := list[len(list)-1].EndS; !taken && end > b.LatestS {
					bad("%s has no %s and lands at %d", name, b.What, end)
				}
			}
		}
		// chargers
		for _, ch := range p.Chargers {
			var list []day.Charge
			for _, c := range dp.Charges {
				if c.Charger == ch.Name {
					list = append(list, c)
				}
			}
			slots := ch.Slots
			if ch.SupplyW > 0 {
				slots = min(slots, int(ch.SupplyW/ch.SlotW))
			}
			for i, c := range list {
				k := packs[c.Pack]
				w := ch.SlotW
				if k.ChargeW > 0 {
					w = min(w, k.ChargeW)
				}
				if float64(c.EndS-c.StartS) < (k.CapacityWh-c.FromWh)/w*3600-1 || c.ToWh > k.CapacityWh {
					bad("pack %s charged from %.1f in %d s", c.Pack, c.FromWh, c.EndS-c.StartS)
				}
				if i > 0 && c.StartS < list[i-1].StartS {
					bad("charger %s out of order", ch.Name)
				}
				at := 0
				for _, o := range list {
					if o.StartS <= c.StartS && c.StartS < o.EndS {
						at++
					}
				}
				if at > slots {
					bad("charger %s: %d packs on %d outlets", ch.Name, at, slots)
				}
				cooled := false
				for _, s := range dp.Sorties {
					if s.Pack == c.Pack && s.EndS+k.CoolS <= c.StartS && math.Abs(s.LeftWh-c.FromWh) < 0.001 {
						cooled = true
					}
				}
				if !cooled {
					bad("pack %s goes on the charger hot", c.Pack)
				}
			}
		}
	}
	if plan.Value != value || plan.Score != value-cost {
		bad("value %d and score %d, want %d and %d", plan.Value, plan.Score, value, value-cost)
	}
	if plan.Score > plan.Bound {
		bad("score %d above the bound %d", plan.Score, plan.Bound)
	}
	for _, s := range p.Slates {
		_, in := ended[s.Name]
		if out := slices.ContainsFunc(plan.LeftOut, func(l day.LeftOut) bool { return l.Slate == s.Name && l.Reason != "" }); in == out {
			bad("%s: in the plan %v, left out with a reason %v", s.Name, in, out)
		}
	}
	return out
}

// Every plan of 10,000 random days keeps every rule, by a check that shares no
// code with the search.
func TestRandomDaysKeepTheRules(t *testing.T) {
	t.Parallel()
	n := 10000
	if testing.Short() {
		n = 1000
	}
	sorties, charges, breaks := 0, 0, 0
	for seed := range uint64(n) {
		rng := rand.New(rand.NewPCG(seed, 7))
		p := randomDay(rng, size{slates: 3 + rng.IntN(8), rigs: 1 + rng.IntN(3), packs: 1 + rng.IntN(4), days: 1 + rng.IntN(2), units: 1, step: 600})
		if len(p.Rigs) > 1 && rng.IntN(2) == 0 {
			p = randomDay(rng, size{slates: 3 + rng.IntN(8), rigs: len(p.Rigs), packs: 1 + rng.IntN(4), days: 1, units: 2, step: 600})
		}
		plan, err := day.Solve(context.Background(), p, day.Options{Seed: seed, Work: 2000, Brief: true})
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		if f := flaws(p, &plan); f != nil {
			t.Fatalf("seed %d: %v", seed, f)
		}
		for _, d := range plan.Days {
			sorties += len(d.Sorties)
			charges += len(d.Charges)
			breaks += len(d.Breaks)
		}
	}
	t.Logf("%d sorties, %d charges, %d breaks checked", sorties, charges, breaks)
	if sorties < 3*n || charges < n/2 || breaks < n/4 {
		t.Errorf("only %d sorties, %d charges, %d breaks: the days are too empty to show much", sorties, charges, breaks)
	}
}
