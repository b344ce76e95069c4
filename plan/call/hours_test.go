package call_test

import (
	"context"
	"testing"

	"fieldfare/plan/day"
)

// Without a call of its own the shoot leaves the call to the search, which takes one in time for the
// first light of some slate.
func TestCallIsChosenWhereTheShootGivesNone(t *testing.T) {
	t.Parallel()
	p, _ := problem(t, "shoot.yaml", `call: "06:00"`, "#")
	if len(p.Calls) != len(p.Days) || len(p.Calls[0]) < 2 {
		t.Fatalf("calls to choose from: %v", p.Calls)
	}
	plan, err := day.Solve(context.Background(), &p, day.Options{Brief: true, Work: 1_000_000})
	if err != nil {
		t.Fatal(err)
	}
	chosen := p.Called(&plan)
	for d, is := range plan.Days {
		among := false
		for _, at := range p.Calls[d] {
			among = among || at == chosen.Days[d].StartS
		}
		if !among || len(is.Sorties) == 0 || is.Sorties[0].StartS < chosen.Days[d].StartS {
			t.Errorf("%s: called at %d of %v", is.Name, chosen.Days[d].StartS, p.Calls[d])
		}
	}
}

// The demo's crew has its own.
func TestOwnCall(t *testing.T) {
	t.Parallel()
	p, _ := problem(t, "shoot.yaml", `call: "06:00"`, `call: "06:10"`)
	if p.Calls != nil || p.Days[0].StartS != 6*3600+600 {
		t.Errorf("calls to choose from: %v; the day starts at %d", p.Calls, p.Days[0].StartS)
	}
}
