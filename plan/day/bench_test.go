package day_test

import (
	"context"
	"math/rand/v2"
	"testing"

	"fieldfare/plan/day"
)

// A shoot of 40 slates, 3 rigs, 8 packs and 2 days in minutes: the work of about
// a second, the gap it ends with, and the work after which the first plan stood.
func BenchmarkShoot(b *testing.B) {
	var gap, first float64
	for i := range b.N {
		p := randomDay(rand.New(rand.NewPCG(uint64(i%8), 1)), size{slates: 40, rigs: 3, packs: 8, days: 2, units: 2, step: 60})
		plan, err := day.Solve(context.Background(), p, day.Options{Work: 9_000_000, Brief: true})
		if err != nil {
			b.Fatal(err)
		}
		gap += plan.Gap
		first += float64(plan.Search.FirstWork)
	}
	b.ReportMetric(100*gap/float64(b.N), "gap-%")
	b.ReportMetric(first/float64(b.N), "first-work")
}

// The first plan of the same shoot, from the problem to the first whole sortie.
func BenchmarkFirstPlan(b *testing.B) {
	p := randomDay(rand.New(rand.NewPCG(1, 1)), size{slates: 40, rigs: 3, packs: 8, days: 2, units: 2, step: 60})
	for range b.N {
		if _, err := day.Solve(context.Background(), p, day.Options{Work: 20_000, Brief: true}); err != nil {
			b.Fatal(err)
		}
	}
}
