package day_test

import (
	"context"
	"encoding/json"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"fieldfare/plan/day"
)

func same(a, b any) bool {
	x, _ := json.Marshal(a)
	y, _ := json.Marshal(b)
	return string(x) == string(y)
}

var (
	spoken  = regexp.MustCompile(`stays on rig \d at \d\d:\d\d on day [12]`)
	seconds = regexp.MustCompile(`\d:\d\d:\d\d`)
)

// With nothing changed, planning again from now changes nothing.
func TestReplanDisturbsNothing(t *testing.T) {
	for seed := range uint64(8) {
		p := randomDay(rand.New(rand.NewPCG(seed, 11)), size{slates: 10, rigs: 2, packs: 4, days: 2, units: 2, step: 300})
		o := day.Options{Work: 1_000_000, Brief: true}
		before, err := day.Solve(context.Background(), p, o)
		if err != nil {
			t.Fatal(err)
		}
		now := p.Days[0].StartS + 5*hour
		var done []string
		for _, s := range before.Days[0].Sorties {
			for _, shot := range s.Shots {
				if s.EndS <= now {
					done = append(done, shot.Slate)
				}
			}
		}
		after, moves, err := day.Replan(context.Background(), p, &before, day.Now{NowS: now, Done: done}, o)
		if err != nil {
			t.Fatal(err)
		}
		if len(moves) != len(p.Slates) {
			t.Errorf("seed %d: %d sentences for %d slates", seed, len(moves), len(p.Slates))
		}
		for _, m := range moves {
			if m.Kind == "dropped" || m.Sentence == "" || !strings.HasPrefix(m.Sentence, m.Slate) {
				t.Errorf("seed %d: %+v", seed, m)
			}
			// clocks are spoken to the minute, with the day's name
			if m.Kind == "kept" && !spoken.MatchString(m.Sentence) || seconds.MatchString(m.Sentence) {
				t.Errorf("seed %d: %q", seed, m.Sentence)
			}
			if before.Proved && after.Proved && m.Kind == "moved" {
				t.Logf("seed %d: %+v", seed, m)
			}
		}
	}
}

func TestReplanAfterWind(t *testing.T) {
	p := plain(day.Slate{Name: "4A", Windows: between(7, 9)}, day.Slate{Name: "4B", Windows: between(7, 17)}, day.Slate{Name: "5", Windows: between(7, 17)})
	p.Packs = append(p.Packs, p.Packs[1])
	p.Packs[2].Name = "P3"
	before := solve(t, p)
	// the wind closes everything from 06:45 to 12:00
	p.Slates[0].Windows = nil
	for i := range p.Slates[1:] {
		p.Slates[i+1].Windows = []day.Window{{FromS: 12 * hour, ToS: 17 * hour, Because: "gusts above the limit until 12:00"}}
	}
	after, moves, err := day.Replan(context.Background(), p, &before, day.Now{NowS: 6*hour + 1800}, day.Options{Work: 1_000_000})
	if err != nil {
		t.Fatal(err)
	}
	if moves[0].Kind != "dropped" || !strings.Contains(moves[0].Sentence, "no window") {
		t.Errorf("%+v", moves[0])
	}
	for _, m := range moves[1:] {
		if m.Kind != "moved" || !strings.Contains(m.Sentence, "gusts above the limit") {
			t.Errorf("%+v", m)
		}
	}
	if len(after.Days[0].Sorties) == 0 || after.Days[0].Sorties[0].StartS < 12*hour-120 {
		t.Errorf("%+v", after.Days[0].Sorties)
	}
	if _, _, err := day.Replan(context.Background(), p, &before, day.Now{NowS: 20 * hour}, day.Options{}); err == nil || !strings.Contains(err.Error(), "nothing is left to plan") {
		t.Error(err)
	}
}

func TestRobust(t *testing.T) {
	p := plain(day.Slate{Name: "1", Windows: between(7, 7.25)}, day.Slate{Name: "2", Windows: between(8, 16)})
	plan := solve(t, p)
	still, err := day.Robust(context.Background(), p, &plan, day.Delays{}, 200, day.Options{Work: 200_000})
	if err != nil {
		t.Fatal(err)
	}
	if still.AllMusts != 1 || still.Alternative != nil {
		t.Errorf("without delay every must is got: %+v", still)
	}
	r, err := day.Robust(context.Background(), p, &plan, day.DefaultDelays, 1000, day.Options{Work: 200_000})
	if err != nil {
		t.Fatal(err)
	}
	again, _ := day.Robust(context.Background(), p, &plan, day.DefaultDelays, 1000, day.Options{Work: 200_000})
	if !same(r, again) {
		t.Error("two samplings with one seed differ")
	}
	chance := map[string]day.Chance{}
	for _, c := range r.Slates {
		chance[c.Slate] = c
	}
	if c := chance["1"]; c.Chance < 0.05 || c.Chance > 0.95 {
		t.Errorf("the tight slate: %+v", c)
	}
	if c := chance["2"]; c.Chance < 0.7 || c.SlackS < 5*hour {
		t.Errorf("the easy slate: %+v", c)
	}
	worse, _ := day.Robust(context.Background(), p, &plan, day.Delays{Share: 1, CallS: 3600, WeatherS: 3600}, 1000, day.Options{Work: 200_000})
	if worse.AllMusts >= r.AllMusts {
		t.Errorf("more delay, no less chance: %v %v", worse.AllMusts, r.AllMusts)
	}
	if a := r.Alternative; a != nil && a.AllMusts <= r.AllMusts {
		t.Errorf("%+v", a)
	}
}

// A build that no slate asks for any more stays on the rig that flew it, and
// costs a change.
func TestReplanFromABuildNobodyAsksFor(t *testing.T) {
	for _, table := range [][][]int64{nil, {{0, 600}, {600, 0}}} {
		p := &day.Problem{StepS: 60, Weights: day.DefaultWeights,
			Days:   []day.Day{{Name: "day 1", StartS: 0, EndS: 10 * hour}},
			Setups: []day.Setup{{Name: "a", Lens: "a"}, {Name: "b", Lens: "b"}},
			Rigs:   []day.Rig{{Name: "rig", Setup: "a", Swap: day.Swap{LensS: 600}, ChangeS: table, Mains: true}},
			Units:  []day.Unit{{Name: "unit", Rigs: []string{"rig"}}},
			Slates: []day.Slate{
				{Name: "1A", Priority: day.Must, TakeS: 60, Takes: 1, Windows: []day.Window{{FromS: 0, ToS: hour}}, Options: []day.Option{{Rig: "rig", Setup: "b"}}},
				{Name: "1B", Priority: day.Must, TakeS: 60, Takes: 1, Windows: []day.Window{{FromS: 2 * hour, ToS: 5 * hour}}, Options: []day.Option{{Rig: "rig", Setup: "a"}}},
			}}
		before, err := day.Solve(context.Background(), p, day.Options{})
		if err != nil {
			t.Fatal(err)
		}
		p.Slates, p.Setups = p.Slates[1:], p.Setups[:1]
		if table != nil {
			p.Rigs[0].ChangeS = [][]int64{{300}}
		}
		after, _, err := day.Replan(context.Background(), p, &before, day.Now{NowS: hour}, day.Options{})
		if err != nil {
			t.Fatal(err)
		}
		want := int64(600) // the swap of the one part that has a time
		if table != nil {
			want = 300 // the longest of the table
		}
		if s := after.Days[0].Sorties; len(s) != 1 || s[0].BuildS != want {
			t.Errorf("%+v, want one sortie after a change of %d s", s, want)
		}
	}
}
