package call_test

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fieldfare/model/air"
	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
)

// A changed wind is assessed anew for every slate, though horizons and paths are taken over; and the
// day is planned again even where the build that a rig flew last is asked for by no slate that is left.
func TestAgainInAnotherWind(t *testing.T) {
	ctx := context.Background()
	a, c := demo(t)
	s := a.Shoot
	planned, err := call.Keep(ctx, a, c, day.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, hour := range []int{11, 14} {
		now := s.Dates[0].Midnight(s.Location()).Add(time.Duration(hour) * time.Hour)
		met := s.Met(now, func(w *air.Weather) { w.WindMS, w.GustMS = air.Known(9), air.Reading{} })
		renewed, kept, err := assess.Renew(ctx, met, a)
		if err != nil {
			t.Fatal(err)
		}
		if len(kept) > 0 {
			t.Errorf("%d slates are taken over from another wind", len(kept))
		}
		fresh, err := assess.New(ctx, met)
		if err != nil {
			t.Fatal(err)
		}
		want, err := check.Run(ctx, fresh)
		if err != nil {
			t.Fatal(err)
		}
		got, err := check.Run(ctx, renewed)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("the renewed answer differs from the fresh one:\n%s", d)
		}
		if cmp.Equal(c.Slates, got.Slates) {
			t.Error("9 m/s change nothing: the test shows nothing")
		}
		again, moves, err := planned.Again(ctx, call.Since{From: now, Assessor: renewed, Check: got}, day.Options{})
		if err != nil {
			t.Fatalf("at %d:00: %v", hour, err)
		}
		if len(moves) == 0 || again.Sheet.Score <= 0 {
			t.Errorf("at %d:00: %d sentences, score %v", hour, len(moves), again.Sheet.Score)
		}
	}
}
