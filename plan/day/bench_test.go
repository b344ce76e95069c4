package day_test

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"fieldfare/plan/day"
)

// Shoots of 40 slates, 3 rigs, 8 packs and 2 days in minutes, one for each turn: the
// gap after a second, in the mean and at worst, and the time to the first plan.
func BenchmarkShoot(b *testing.B) {
	var gap, worst float64
	var first time.Duration
	for i := range b.N {
		p := randomDay(rand.New(rand.NewPCG(uint64(i), 1)), size{slates: 40, rigs: 3, packs: 8, days: 2, units: 2, step: 60})
		ctx, cancel := context.WithTimeout(context.Background(), time.Second)
		start, soon := time.Now(), time.Duration(0)
		plan, err := day.Solve(ctx, p, day.Options{Brief: true, Progress: func(x day.Improvement) {
			if soon == 0 && x.Slates > 0 {
				soon = time.Since(start)
			}
		}})
		cancel()
		if err != nil {
			b.Fatal(err)
		}
		gap, worst, first = gap+plan.Gap, max(worst, plan.Gap), first+soon
	}
	b.ReportMetric(100*gap/float64(b.N), "gap-%")
	b.ReportMetric(100*worst, "worst-gap-%")
	b.ReportMetric(float64(first.Microseconds())/1000/float64(b.N), "first-ms")
}
