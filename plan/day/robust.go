package day

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// Delays describes how a day goes wrong. The numbers are the caller's guess;
// DefaultDelays are ours, no source.
type Delays struct {
	// Flights and changeovers take longer by a share drawn from an exponential
	// distribution of this mean.
	Share float64 `json:"share"`
	// The call is late by an exponential time of this mean, in seconds.
	CallS float64 `json:"call_s"`
	// Windows of a day open and close earlier or later together, normally
	// distributed with this deviation in seconds.
	WeatherS float64 `json:"weather_s"`
}

// DefaultDelays: 15 % longer on average, the call 5 minutes late, windows
// shifted by 15 minutes.
var DefaultDelays = Delays{Share: 0.15, CallS: 300, WeatherS: 900}

// Chance is how likely one slate is got as planned.
type Chance struct {
	Slate    string   `json:"slate"`
	Priority Priority `json:"priority"`
	Chance   float64  `json:"chance"`  // 0 to 1
	SlackS   int64    `json:"slack_s"` // how much later its sortie may take off, all others in place
	LatestS  int64    `json:"latest_s"`
}

// Robustness is what sampling the delays shows.
type Robustness struct {
	Samples int      `json:"samples"`
	Seed    uint64   `json:"seed"`
	Delays  Delays   `json:"delays"`
	Slates  []Chance `json:"slates"`
	// AllMusts is the chance that every must in the plan is got, Expected the
	// mean value got, in points.
	AllMusts float64 `json:"all_musts"`
	Expected float64 `json:"expected"`
	// Alternative, if there is one, gives up a little value for more chance.
	Alternative *Alternative `json:"alternative,omitempty"`
}

// Alternative is a calmer day.
type Alternative struct {
	Plan     Plan     `json:"plan"`
	AllMusts float64  `json:"all_musts"`
	Expected float64  `json:"expected"`
	Slates   []Chance `json:"slates"`
	Sentence string   `json:"sentence"`
}

// Robust samples the delays (0 samples: 1000) over a plan for p, and searches
// for a calmer day by planning with longer changeovers and narrower windows.
func Robust(ctx context.Context, p *Problem, plan *Plan, delays Delays, samples int, o Options) (Robustness, error) {
	if samples <= 0 {
		samples = 1000
	}
	for what, v := range map[string]float64{"share": delays.Share, "call": delays.CallS, "weather": delays.WeatherS} {
		if math.IsNaN(v) || v < 0 || v > 1e6 {
			return Robustness{}, fmt.Errorf("delay %s is %v: want from 0", what, v)
		}
	}
	p = p.Called(plan)
	r := Robustness{Samples: samples, Seed: o.Seed, Delays: delays}
	r.Slates, r.AllMusts, r.Expected = chances(p, plan, delays, samples, o.Seed)
	best := r.AllMusts
	for _, pad := range []float64{0.5, 1, 2} {
		if ctx.Err() != nil {
			break
		}
		calm, err := Solve(ctx, padded(p, delays, pad), Options{Seed: o.Seed, Work: o.Work, Brief: true})
		if err != nil {
			continue
		}
		value := valueOf(p, &calm)
		list, all, expected := chances(p, &calm, delays, samples, o.Seed)
		if mustsOut(&calm) > mustsOut(plan) || value*100 < valueOf(p, plan)*85 {
			continue
		}
		if all > best+0.02 {
			best = all
			r.Alternative = &Alternative{Plan: calm, AllMusts: all, Expected: expected, Slates: list,
				Sentence: fmt.Sprintf("%.1f %% less value on paper, and the chance of every must rises from %.0f %% to %.0f %%",
					100*(1-float64(value)/float64(max(valueOf(p, plan), 1))), 100*r.AllMusts, 100*all)}
		}
	}
	return r, nil
}

func mustsOut(plan *Plan) int {
	n := 0
	for _, l := range plan.LeftOut {
		if l.Priority == Must {
			n++
		}
	}
	return n
}

// valueOf is value times quality by the true windows, in thousandths of a point.
func valueOf(p *Problem, plan *Plan) int64 {
	at := places(plan)
	var sum int64
	for _, s := range p.Slates {
		if x, ok := at[s.Name]; ok {
			if q, _ := s.quality(x.shot.StartS); q >= 0 {
				sum += q * s.points()
			}
		}
	}
	return sum
}

// points is the slate's value.
func (s Slate) points() int64 {
	switch s.Priority {
	case Must:
		return cmpOr(s.Value, MustValue)
	case Should:
		return cmpOr(s.Value, ShouldValue)
	}
	return cmpOr(s.Value, NiceValue)
}

// padded is a problem with the delays foreseen, by a factor.
func padded(p *Problem, delays Delays, pad float64) *Problem {
	q := clone(p)
	longer := func(s int64) int64 { return int64(math.Ceil(float64(s) * (1 + pad*delays.Share))) }
	for r := range q.Rigs {
		rig := &q.Rigs[r]
		rig.GroundS = longer(rig.GroundS) + int64(pad*delays.CallS/4)
		rig.Swap = Swap{longer(rig.Swap.LensS), longer(rig.Swap.FilterS), longer(rig.Swap.BalanceS), longer(rig.Swap.CardS)}
		if rig.ChangeS != nil {
			table := make([][]int64, len(rig.ChangeS))
			for i, row := range rig.ChangeS {
				for _, v := range row {
					table[i] = append(table[i], longer(v))
				}
			}
			rig.ChangeS = table
		}
	}
	margin := int64(pad * delays.WeatherS)
	for i := range q.Slates {
		s := &q.Slates[i]
		s.Windows = slices.Clone(s.Windows)
		for w := range s.Windows {
			win := &s.Windows[w]
			room := max(0, (win.ToS-win.FromS-s.flown()-q.step())/2)
			win.FromS += min(margin, room)
			win.ToS -= min(margin, room)
		}
	}
	return q
}

func (p *Problem) step() int64 {
	if p.StepS > 0 {
		return p.StepS
	}
	return 60
}

// chances flies the plan many times with random delays. Sorties keep their
// order and wait for unit, rig, pack and window; a shot whose window has closed
// is missed, and with it what waits for it.
func chances(p *Problem, plan *Plan, delays Delays, samples int, seed uint64) ([]Chance, float64, float64) {
	rng := rand.New(rand.NewPCG(seed, 0x6a09e667f3bcc909))
	slates := map[string]*Slate{}
	for i := range p.Slates {
		slates[p.Slates[i].Name] = &p.Slates[i]
	}
	got := map[string]int{}
	all, sum := 0, 0.0
	late := func(s int64) float64 { return float64(s) * (1 + delays.Share*rng.ExpFloat64()) }
	musts := 0
	for _, x := range places(plan) {
		if slates[x.shot.Slate] != nil && slates[x.shot.Slate].Priority == Must {
			musts++
		}
	}
	for range samples {
		have := map[string]float64{} // end of each slate got
		gotMusts := 0
		for _, day := range plan.Days {
			shift := delays.WeatherS * rng.NormFloat64()
			type stand struct{ actual, planned float64 }
			units, rigs, packs := map[string]stand{}, map[string]stand{}, map[string]stand{}
			begin := delays.CallS * rng.ExpFloat64()
			for _, s := range day.Sorties {
				start := float64(s.StartS)
				gap := late(s.BuildS + s.MoveS + s.HandoverS + s.GroundS)
				if u, ok := units[s.Unit]; ok {
					// breaks and rests keep their planned length
					rest := float64(s.StartS) - u.planned - float64(s.BuildS+s.MoveS+s.HandoverS+s.GroundS)
					pause := 0.0
					for _, b := range day.Breaks {
						if b.Unit == s.Unit && float64(b.StartS) >= u.planned && b.EndS <= s.StartS {
							pause += float64(b.EndS - b.StartS)
						}
					}
					start = max(start, u.actual+gap+min(pause, max(rest, 0)))
				} else {
					start = max(start, float64(s.StartS)+max(0, begin-float64(s.StartS-day.StartS-s.BuildS-s.MoveS-s.GroundS)))
				}
				if r, ok := rigs[s.Rig]; ok {
					start = max(start, r.actual+gap)
				}
				if k, ok := packs[s.Pack]; ok && s.Pack != "" {
					// it needs its charge and rest again, as long as planned at least
					start = max(start, k.actual+ready(&day, s, k.planned))
				}
				end := start
				flownAny := false
				for _, shot := range s.Shots {
					sl := slates[shot.Slate]
					if sl == nil {
						continue
					}
					at := start + float64(shot.StartS-s.StartS)
					open, shut := math.Inf(1), math.Inf(-1)
					if shot.Window >= 0 && shot.Window < len(sl.Windows) {
						open, shut = float64(sl.Windows[shot.Window].FromS)+shift, float64(sl.Windows[shot.Window].ToS)+shift
					}
					if !flownAny && at < open { // wait on the ground
						start += open - at
						at = open
					}
					length := late(shot.EndS - shot.StartS)
					ok := at >= open && at+length <= shut && at+length <= float64(day.EndS)
					for _, a := range sl.After {
						t, have := have[a]
						ok = ok && have && t <= at
					}
					if ok {
						flownAny = true
						have[shot.Slate] = at + length
						got[shot.Slate]++
						q, _ := sl.quality(int64(at - shift))
						sum += float64(max(q, 0)) * float64(sl.points()) / 1000
						if sl.Priority == Must {
							gotMusts++
						}
						end = at + length
					}
				}
				if !flownAny {
					continue // not worth taking off
				}
				end += float64(s.EndS - s.Shots[len(s.Shots)-1].ReserveEndS)
				units[s.Unit] = stand{end, float64(s.EndS)}
				rigs[s.Rig] = stand{end, float64(s.EndS)}
				packs[s.Pack] = stand{end, float64(s.EndS)}
			}
		}
		if gotMusts == musts {
			all++
		}
	}
	var list []Chance
	for _, day := range plan.Days {
		for _, s := range day.Sorties {
			for _, shot := range s.Shots {
				if sl := slates[shot.Slate]; sl != nil {
					list = append(list, Chance{Slate: shot.Slate, Priority: sl.Priority, Chance: float64(got[shot.Slate]) / float64(samples),
						SlackS: s.LatestS - s.StartS, LatestS: shot.StartS + s.LatestS - s.StartS})
				}
			}
		}
	}
	return list, float64(all) / float64(samples), sum / float64(samples)
}

// ready is how long after its last landing a pack may fly the sortie: charging
// and cooling as planned.
func ready(day *DayPlan, s Sortie, landed float64) float64 {
	for _, c := range day.Charges {
		if c.Pack == s.Pack && float64(c.StartS) >= landed && c.EndS <= s.StartS {
			return float64(c.EndS) - landed
		}
	}
	return 0
}
