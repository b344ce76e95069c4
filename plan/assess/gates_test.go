package assess_test

import (
	"context"
	"testing"
	"time"

	"fieldfare/plan/assess"
)

// A stop that depends on the hour shuts a gate, so that no window lies over it; and a gate that is shut is a
// stop in words.
func TestStopsShutGates(t *testing.T) {
	a, err := assess.New(context.Background(), copied(t, func(s string) string { return s }))
	if err != nil {
		t.Fatal(err)
	}
	for _, take := range a.Takes() {
		for at := a.Shoot.Dates[0].Midnight(take.Zone()); at.Before(a.Shoot.Dates[1].Next().Midnight(take.Zone())); at = at.Add(150 * time.Minute) {
			stops := 0
			what := ""
			for _, f := range take.At(at).Findings {
				if f.Severity == assess.Stop && f.Timely {
					stops++
					what = f.What
				}
			}
			if shut := take.Shut(at); (shut == 0) != (stops == 0) {
				t.Errorf("%s at %s: %d stops (%s), gates shut %b of %v", take.Slate.Slate, at, stops, what, shut, take.Gates())
			}
		}
	}
}
