package call_test

import (
	"context"
	"testing"
	"time"

	"fieldfare/model/air"
	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
)

// The wind gets up at eleven: every slate of the demo is assessed anew, its windows found again and
// the rest of the two days planned around what is got. The goal is a second, assessments included.
func BenchmarkWindChange(b *testing.B) {
	ctx := context.Background()
	a, c := demo(b)
	s := a.Shoot
	planned, err := call.Keep(ctx, a, c, day.Options{})
	if err != nil {
		b.Fatal(err)
	}
	now := s.Dates[0].Midnight(s.Location()).Add(11 * time.Hour)
	var assessed, replanned time.Duration
	b.ResetTimer()
	for range b.N {
		start := time.Now()
		met := s.Met(now, func(w *air.Weather) { w.WindMS, w.GustMS = air.Known(9), air.Reading{} })
		a, _, err := assess.Renew(ctx, met, a)
		if err != nil {
			b.Fatal(err)
		}
		c, err := check.Run(ctx, a)
		if err != nil {
			b.Fatal(err)
		}
		assessed += time.Since(start)
		start = time.Now()
		if _, moves, err := planned.Again(ctx, call.Since{From: now, Assessor: a, Check: c}, day.Options{}); err != nil || len(moves) == 0 {
			b.Fatal(moves, err)
		}
		replanned += time.Since(start)
	}
	b.ReportMetric(float64(assessed.Milliseconds())/float64(b.N), "assess-ms")
	b.ReportMetric(float64(replanned.Milliseconds())/float64(b.N), "replan-ms")
}
