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

// certifiable is a random day that the authority's model covers and a general
// solver can prove: from seed 66 on windows are short, some units have two rigs,
// and some shoots two days. From seed 126 on the days are short enough for a
// constraint model too.
func certifiable(seed uint64) *day.Problem {
	rng := rand.New(rand.NewPCG(seed, 99))
	units := 1 + rng.IntN(2)
	switch {
	case seed < 24:
		return covered(rng, 6+int(seed)%4, units, 2+rng.IntN(2))
	case seed < 36:
		return covered(rng, 10+int(seed)%5, units, 2+rng.IntN(2))
	case seed < 66:
		return covered(rng, 6+int(seed)%4, 1, 2+rng.IntN(2))
	}
	z := size{slates: 9 + int(seed)%6, rigs: units + rng.IntN(2), packs: 2 + rng.IntN(2), days: 1, units: units, step: 600}
	switch {
	case seed >= 126:
		z.slates, z.rigs = 6+int(seed)%4, units
	case seed%4 == 0:
		z.days = 2
	}
	p := randomDay(rng, z)
	for u := range p.Units {
		p.Units[u].Technician = p.Units[u].Technician && len(p.Units[u].Rigs) == 1
	}
	for i := range p.Slates {
		if seed >= 126 && p.Slates[i].Spot == "" {
			p.Slates[i].Spot = "ridge"
		}
		for k := range p.Slates[i].Windows {
			w := &p.Slates[i].Windows[k]
			length := min(w.ToS-w.FromS, int64(4+rng.IntN(6))*600)
			w.FromS += rng.Int64N((w.ToS-w.FromS-length)/600+1) * 600
			w.ToS = w.FromS + length
		}
	}
	return p
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
	const instances = 176
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
	if len(certified.Values) < 120 {
		t.Errorf("%d certified optima, want at least 120", len(certified.Values))
	}
	if len(certified.Gecode) < 30 {
		t.Errorf("%d optima confirmed by the constraint model, want at least 30", len(certified.Gecode))
	}
	for name, value := range certified.Gecode {
		if certified.Values[name] != value {
			t.Errorf("%s: certified %d by one model and %d by the other", name, certified.Values[name], value)
		}
	}
	longer := 0
	for name, want := range certified.Values {
		data, err := os.ReadFile(filepath.Join("testdata/authority", name+".json"))
		if err != nil {
			t.Fatal(err)
		}
		var p day.Problem
		if err := json.Unmarshal(data, &p); err != nil {
			t.Fatal(err)
		}
		if len(p.Slates) > 10 {
			longer++
		}
		t.Run(name, func(t *testing.T) {
			plan, err := day.Solve(context.Background(), &p, day.Options{Brief: true})
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
	if longer < 15 {
		t.Errorf("%d of the days have more than ten slates, want at least 15", longer)
	}
}

// The peers' plans that certify.py and gecode.py write keep every rule by the
// same check as ours: a score counts only with a plan that stands. For
// bench/day.sh, which reads the lines.
var peers = flag.String("peers", "", "directory of the plans of peers to go over")

func TestPeerPlans(t *testing.T) {
	if *peers == "" {
		t.Skip("run with -peers DIR")
	}
	files, err := filepath.Glob(filepath.Join(*peers, "*.peer"))
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var x struct {
			Problem day.Problem
			Plan    day.Plan
		}
		if err := json.Unmarshal(data, &x); err != nil {
			t.Fatal(err)
		}
		name := filepath.Base(file)
		if f := flaws(&x.Problem, &x.Plan); f != nil {
			fmt.Println(name, "breaks the rules:", f)
			t.Fail()
			continue
		}
		fmt.Println(name, "stands")
	}
}

var large = flag.String("large", "", "write days of 20 to 40 slates for the peers, and our answers, into this directory")

// TestLarge is for bench/day.sh: the peers answer the same days.
func TestLarge(t *testing.T) {
	if *large == "" {
		t.Skip("run with -large DIR")
	}
	type reached struct {
		Seconds float64
		Score   int64
	}
	type answer struct {
		Score, Bound int64
		Seconds      float64   // until the search ended
		Way          []reached // each better plan
	}
	answers := map[string]answer{}
	days := map[string]*day.Problem{}
	for seed := range uint64(2) {
		for _, slates := range []int{20, 30, 40} {
			days[fmt.Sprintf("day%d-%d", slates, seed)] = covered(rand.New(rand.NewPCG(uint64(slates), 5+seed)), slates, 2, slates/5)
		}
		p := randomDay(rand.New(rand.NewPCG(seed, 1)), size{slates: 40, rigs: 3, packs: 8, days: 2, units: 2, step: 600})
		for u := range p.Units {
			p.Units[u].Technician = p.Units[u].Technician && len(p.Units[u].Rigs) == 1
		}
		days[fmt.Sprintf("shoot40-%d", seed)] = p
	}
	for name, p := range days {
		data, err := json.MarshalIndent(p, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(*large, name+".json"), data, 0o644); err != nil {
			t.Fatal(err)
		}
		var way []reached
		start := time.Now()
		plan, err := day.Solve(context.Background(), p, day.Options{Brief: true, Work: 4_000_000, Progress: func(i day.Improvement) {
			way = append(way, reached{time.Since(start).Seconds(), i.Score})
		}})
		if err != nil {
			t.Fatal(err)
		}
		answers[name] = answer{plan.Score, plan.Bound, time.Since(start).Seconds(), way}
		if f := flaws(p, &plan); f != nil {
			t.Error(name, f)
		}
	}
	data, err := json.Marshal(answers)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*large, "ours.json"), data, 0o644); err != nil {
		t.Fatal(err)
	}
}
