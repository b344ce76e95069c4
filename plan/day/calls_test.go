package day_test

import (
	"context"
	"math/rand/v2"
	"testing"

	"fieldfare/plan/day"
)

// A crew of eight hours' duty cannot have the dawn and the dusk; it is called for
// the dusk, which is worth more, and as late as the first slate there allows.
func TestCallIsChosenForTheValue(t *testing.T) {
	p := &day.Problem{StepS: 60, Weights: day.DefaultWeights,
		Days:   []day.Day{{Name: "day 1", StartS: 4 * hour, EndS: 23 * hour}},
		Calls:  [][]int64{{5 * hour, 10 * hour, 12 * hour, 17 * hour}},
		Setups: []day.Setup{{Name: "a"}},
		Rigs:   []day.Rig{{Name: "rig", Setup: "a", Mains: true}},
		People: []day.Person{{Name: "pilot", Skills: []string{day.Pilot}, DutyS: 8 * hour}},
		Units:  []day.Unit{{Name: "unit", Rigs: []string{"rig"}, People: []string{"pilot"}}},
	}
	slate := func(name string, value, from, to int64) {
		p.Slates = append(p.Slates, day.Slate{Name: name, Priority: day.Should, Value: value, TakeS: 60, Takes: 1,
			Windows: []day.Window{{FromS: from, ToS: to}}, Options: []day.Option{{Rig: "rig", Setup: "a"}}})
	}
	slate("dawn", 300, 6*hour, 7*hour)
	slate("noon", 100, 12*hour+1800, 13*hour)
	slate("dusk", 400, 18*hour, 19*hour)
	plan, err := day.Solve(context.Background(), p, day.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if plan.Days[0].StartS != 12*hour || !plan.Proved || len(plan.LeftOut) != 1 || plan.LeftOut[0].Slate != "dawn" {
		t.Errorf("called at %d, proved %v, out %v", plan.Days[0].StartS, plan.Proved, plan.LeftOut)
	}
	// of calls that are worth the same, the later
	p.Weights = day.Weights{}
	p.Slates = p.Slates[2:]
	if plan, err = day.Solve(context.Background(), p, day.Options{}); err != nil {
		t.Fatal(err)
	}
	if plan.Days[0].StartS != 17*hour || !plan.Proved {
		t.Errorf("called at %d, proved %v", plan.Days[0].StartS, plan.Proved)
	}
	// planned again, the crew's duty counts from the call it was given
	after, _, err := day.Replan(context.Background(), p, &plan, day.Now{NowS: 17*hour + 600}, day.Options{})
	if err != nil || len(after.LeftOut) > 0 {
		t.Errorf("%v %v", after.LeftOut, err)
	}
	p.Calls[0][0] = 3 * hour
	if _, err := day.Solve(context.Background(), p, day.Options{}); err == nil {
		t.Error("a call before the day is taken")
	}
}

// The chosen calls are as good as the best of every combination solved on its
// own, nothing scores more than the bound, and the turnaround holds between them.
func TestCallsAgainstEveryCombination(t *testing.T) {
	proved, later := 0, 0
	for seed := range uint64(30) {
		rng := rand.New(rand.NewPCG(seed, 21))
		days := 1 + rng.IntN(2)
		p := randomDay(rng, size{slates: 4 + rng.IntN(4), rigs: 1, packs: 2, days: days, units: 1, step: 600})
		p.Units[0].CallS = nil
		p.People[0].DutyS = 7 * hour
		for d := range days {
			base := int64(d) * 86400
			p.Days[d].StartS = base + 4*hour
			p.Calls = append(p.Calls, []int64{base + 6*hour, base + 9*hour, base + 12*hour})
		}
		plan, err := day.Solve(context.Background(), p, day.Options{Brief: true, Seed: seed})
		if err != nil {
			t.Fatal(err)
		}
		if f := flaws(p.Called(&plan), &plan); f != nil {
			t.Errorf("seed %d: %v", seed, f)
		}
		best, calls := int64(-1), int64(0)
		var try func(q day.Problem, d int, sum int64)
		try = func(q day.Problem, d int, sum int64) {
			if d < days {
				for _, at := range p.Calls[d] {
					next := q
					next.Days = append([]day.Day{}, q.Days...)
					next.Days[d].StartS = at
					try(next, d+1, sum+at)
				}
				return
			}
			q.Calls = nil
			one, err := day.Solve(context.Background(), &q, day.Options{Brief: true, Seed: seed})
			if err != nil {
				t.Fatal(err)
			}
			if one.Score > plan.Bound {
				t.Errorf("seed %d: %d with other calls, above the bound %d", seed, one.Score, plan.Bound)
			}
			if one.Score >= best {
				best, calls = one.Score, sum
			}
		}
		try(*p, 0, 0)
		if plan.Proved {
			proved++
			if plan.Score != best {
				t.Errorf("seed %d: %d, the best combination has %d", seed, plan.Score, best)
			}
		}
		for d := range plan.Days {
			calls -= plan.Days[d].StartS
			if plan.Days[d].StartS != p.Calls[d][0] {
				later++
			}
		}
		if plan.Score == best && calls != 0 {
			t.Logf("seed %d: other calls are as good", seed)
		}
	}
	if proved < 20 || later < 10 {
		t.Errorf("%d proved, %d calls later than the first: the days show little", proved, later)
	}
}
