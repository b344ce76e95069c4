package call_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
)

// The clock goes back in the night before the second date: sentences speak the clock that the sheet prints. Source of
// the instant: Directive 2000/84/EC, article 3: last Sunday in October, 01:00 UTC.
func TestClockChangesAtNight(t *testing.T) {
	ctx := context.Background()
	a, c := moved(t, "2026-10-24", "2026-10-25")
	p, _ := call.Problem(a, c)
	epoch := time.Date(2026, 10, 23, 22, 0, 0, 0, time.UTC)
	change := time.Date(2026, 10, 25, 1, 0, 0, 0, time.UTC)
	want := []day.ClockChange{{FromS: int64(change.Sub(epoch) / time.Second), OffsetS: -3600}}
	if d := cmp.Diff(want, p.Clock); d != "" {
		t.Fatal(d)
	}
	planned, err := call.Keep(ctx, a, c, day.Options{})
	if err != nil {
		t.Fatal(err)
	}
	again, moves, err := planned.Again(ctx, call.Since{From: change}, day.Options{})
	if err != nil {
		t.Fatal(err)
	}
	starts := map[string]string{}
	for _, d := range again.Sheet.Days {
		for _, x := range d.Sorties {
			for _, shot := range x.Slates {
				starts[shot.Slate] = shot.Start.Format("15:04")
			}
		}
	}
	told := 0
	for _, m := range moves {
		if start, ok := starts[m.Slate]; ok && m.Kind == "kept" {
			told++
			if !strings.Contains(m.Sentence, start) {
				t.Errorf("%q, but the sheet has %s at %s", m.Sentence, m.Slate, start)
			}
		}
	}
	if told == 0 {
		t.Errorf("no slate is kept: the test shows nothing: %v", moves)
	}
}

// A shoot of which nothing can be placed is planned again to the same empty day, and says of a slate that was planned
// why it drops out.
func TestAgainWithoutAnySlate(t *testing.T) {
	ctx := context.Background()
	a, c := demo(t)
	planned, err := call.Keep(ctx, a, c, day.Options{})
	if err != nil {
		t.Fatal(err)
	}
	barred, unlike := moved(t, "2026-09-22", "2026-09-23", "status: granted", "status: refused")
	now := a.Shoot.Dates[0].Midnight(a.Shoot.Location()).Add(7 * time.Hour)
	again, moves, err := planned.Again(ctx, call.Since{From: now, Done: []string{"1A"}, Assessor: barred, Check: unlike}, day.Options{})
	if err != nil {
		t.Fatal(err)
	}
	kinds := map[string]string{}
	for _, m := range moves {
		kinds[m.Slate] = m.Kind
	}
	if kinds["1A"] != "done" || kinds["2A"] != "dropped" {
		t.Errorf("1A is %q and 2A %q, want done and dropped", kinds["1A"], kinds["2A"])
	}
	if _, _, err := again.Again(ctx, call.Since{From: now}, day.Options{}); err != nil {
		t.Errorf("an empty day planned again: %v", err)
	}
}

// moved is a copy of the demo on two other dates, with permission on them, and with more texts replaced.
func moved(t *testing.T, first, second string, more ...string) (*assess.Assessor, *check.Check) {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../../examples/last-milk-run")); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "shoot.yaml")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	edited := strings.NewReplacer(append([]string{"2026-09-22", first, "2026-09-23", second}, more...)...).Replace(string(text))
	if err := os.WriteFile(path, []byte(edited), 0o644); err != nil {
		t.Fatal(err)
	}
	return checked(t, dir)
}
