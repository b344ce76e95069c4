package call_test

import (
	"context"
	"testing"
	"time"

	"fieldfare/plan/call"
	"fieldfare/plan/day"
)

// The camera card of a slate is chosen for its hour. A sortie carries the filter that its slates ask for when they are flown,
// and there is time before it to put that on.
func TestFiltersOfTheHour(t *testing.T) {
	a, c := demo(t)
	sheet, err := call.Plan(context.Background(), a, c, day.Options{})
	if err != nil {
		t.Fatal(err)
	}
	best := map[string]string{}
	for i := range c.Slates {
		best[c.Slates[i].Slate] = call.Filter(c.Slates[i].Numbers.Picture.Card)
	}
	moved := 0
	for _, d := range sheet.Days {
		free := map[string]time.Time{}
		worn := map[string]string{}
		for _, x := range d.Sorties {
			for _, shot := range x.Slates {
				card := a.Take(shot.Slate).At(shot.Start).Numbers.Picture.Card
				if card == nil {
					continue
				}
				if got := call.Filter(card); got != x.Filter {
					t.Errorf("%s at %s asks for %s, the sheet fits %s", shot.Slate, shot.Start.Format("15:04"), got, x.Filter)
				}
				if best[shot.Slate] != x.Filter {
					moved++
				}
			}
			if last, ok := free[x.Unit]; ok {
				if work := time.Duration(x.BuildS+x.MoveS) * time.Second; x.Start.Sub(last) < work {
					t.Errorf("%s: %v of work in %v", x.Slates[0].Slate, work, x.Start.Sub(last))
				}
			}
			if was, ok := worn[x.Rig]; ok && was != x.Filter && x.BuildS < 3*60 {
				t.Errorf("%s: from %s to %s in %d s", x.Slates[0].Slate, was, x.Filter, x.BuildS)
			}
			free[x.Unit], worn[x.Rig] = x.End, x.Filter
		}
	}
	if moved == 0 {
		t.Error("no sortie has another filter than that of its slates' best hours: the test sees nothing")
	}
}
