package day_test

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"fieldfare/plan/day"
)

var write = flag.Bool("write", false, "write the instances that the authority certifies")

// certifiable is a random day of the kind the authority's model covers: one day,
// one rig to a unit, one bank of chargers, every slate with a launch spot.
func certifiable(seed uint64) *day.Problem {
	rng := rand.New(rand.NewPCG(seed, 99))
	units := 1 + rng.IntN(2)
	if seed >= 36 {
		units = 1
	}
	slates := 6 + int(seed)%4
	if seed >= 24 && seed < 36 {
		slates = 10 + int(seed)%5
	}
	return covered(rng, slates, units, 2+rng.IntN(2))
}

// covered is a random day of that kind.
func covered(rng *rand.Rand, slates, units, packs int) *day.Problem {
	p := randomDay(rng, size{slates: slates, rigs: units, packs: packs, days: 1, units: units, step: 600})
	for i := range p.Rigs {
		p.Rigs[i].MaxShots = 2
	}
	for i := range p.Slates {
		if p.Slates[i].Spot == "" {
			p.Slates[i].Spot = "ridge"
		}
	}
	return p
}

// Our optimum equals the one certified by a mixed-integer model of the same day
// written apart from it and solved by a general solver; see
// testdata/authority/certify.py.
func TestAgainstCertifiedOptima(t *testing.T) {
	const instances = 66
	if *write {
		for seed := range uint64(instances) {
			data, err := json.MarshalIndent(certifiable(seed), "", " ")
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(fmt.Sprintf("testdata/authority/day%02d.json", seed), data, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		return
	}
	data, err := os.ReadFile("testdata/authority/certified.json")
	if err != nil {
		t.Fatal(err)
	}
	var certified struct {
		Values map[string]int64 `json:"values"`
		Gecode map[string]int64 `json:"gecode"` // confirmed by a constraint model too, see gecode.py
	}
	if err := json.Unmarshal(data, &certified); err != nil {
		t.Fatal(err)
	}
	if len(certified.Values) < 30 {
		t.Errorf("%d certified optima, want at least 30", len(certified.Values))
	}
	if len(certified.Gecode) < 15 {
		t.Errorf("%d optima confirmed by the constraint model, want at least 15", len(certified.Gecode))
	}
	for name, value := range certified.Gecode {
		if certified.Values[name] != value {
			t.Errorf("%s: certified %d by one model and %d by the other", name, certified.Values[name], value)
		}
	}
	for name, want := range certified.Values {
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join("testdata/authority", name+".json"))
			if err != nil {
				t.Fatal(err)
			}
			var p day.Problem
			if err := json.Unmarshal(data, &p); err != nil {
				t.Fatal(err)
			}
			plan, err := day.Solve(context.Background(), &p, day.Options{Brief: true, Work: 5_000_000})
			if err != nil {
				t.Fatal(err)
			}
			if f := flaws(&p, &plan); f != nil {
				t.Error(f)
			}
			if plan.Score != want || plan.Bound < want {
				t.Errorf("score %d, bound %d, certified optimum %d", plan.Score, plan.Bound, want)
			}
			t.Logf("%d slates, proved %v, work %d", len(p.Slates), plan.Proved, plan.Search.Work)
		})
	}
}

var large = flag.String("large", "", "write days of 20 to 40 slates for the peers, and our answers, into this directory")

// TestLarge is for bench/day.sh: the peers answer the same days.
func TestLarge(t *testing.T) {
	if *large == "" {
		t.Skip("run with -large DIR")
	}
	type answer struct {
		Score, Bound int64
		Seconds      float64 // until the answer, or the search's end, that stands here
		Best         float64 // until the plan was found
	}
	answers := map[string]answer{}
	for _, slates := range []int{20, 30, 40} {
		name := fmt.Sprintf("large%d", slates)
		p := covered(rand.New(rand.NewPCG(uint64(slates), 5)), slates, 2, slates/5)
		data, err := json.MarshalIndent(p, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(*large, name+".json"), data, 0o644); err != nil {
			t.Fatal(err)
		}
		start, best := time.Now(), 0.0
		plan, err := day.Solve(context.Background(), p, day.Options{Brief: true, Work: 5_000_000, Progress: func(day.Improvement) { best = time.Since(start).Seconds() }})
		if err != nil {
			t.Fatal(err)
		}
		answers[name] = answer{plan.Score, plan.Bound, time.Since(start).Seconds(), best}
		t.Logf("%s: score %d, bound %d, gap %.2f %%, %.2f s, best after %.2f s", name, plan.Score, plan.Bound, 100*plan.Gap, answers[name].Seconds, best)
	}
	data, err := json.Marshal(answers)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*large, "ours.json"), data, 0o644); err != nil {
		t.Fatal(err)
	}
}
