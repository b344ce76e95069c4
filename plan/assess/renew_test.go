package assess_test

import (
	"context"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
)

// copied returns a copy of the demo with its shoot file changed.
func copied(t *testing.T, change func(string) string) *shoot.Shoot {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../../examples/last-milk-run")); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, shoot.FileName)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(change(string(text))), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := shoot.Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestRenew: what is taken over from an earlier version is what a fresh start gives.
func TestRenew(t *testing.T) {
	ctx := context.Background()
	same := func(s string) string { return s }
	was, err := assess.New(ctx, copied(t, same))
	if err != nil {
		t.Fatal(err)
	}
	wasChecked, err := check.Run(ctx, was)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		name   string
		change func(string) string
		kept   int
	}{
		{"a slate of scene 2", func(s string) string { return strings.Replace(s, "radius: 60 m", "radius: 70 m", 1) }, 14},
		{"the house's wind", func(s string) string { return strings.Replace(s, "wind: 8 m/s", "wind: 7 m/s", 1) }, 0},
	} {
		s := copied(t, x.change)
		a, kept, err := assess.Renew(ctx, s, was)
		if err != nil {
			t.Fatal(err)
		}
		if len(kept) != x.kept {
			t.Errorf("%s: %d slates taken over, want %d: %v", x.name, len(kept), x.kept, kept)
		}
		if x.kept == 0 {
			continue
		}
		got, err := check.Renew(ctx, a, wasChecked, kept)
		if err != nil {
			t.Fatal(err)
		}
		fresh, err := assess.New(ctx, s)
		if err != nil {
			t.Fatal(err)
		}
		want, err := check.Run(ctx, fresh)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s: the renewed check differs from a fresh one", x.name)
		}
	}
}

func TestMet(t *testing.T) {
	a, err := assess.New(context.Background(), copied(t, func(s string) string { return s }))
	if err != nil {
		t.Fatal(err)
	}
	take := a.Take("2C")
	at := time.Date(2026, 9, 22, 9, 0, 0, 0, time.UTC)
	calm, storm, cold := 1.0, 20.0, 268.15
	if !take.AtIn(at, assess.Met{WindMS: &calm}).Clear() {
		t.Error("2C is barred in 1 m/s of wind")
	}
	if take.AtIn(at, assess.Met{WindMS: &storm}).Clear() || take.ShutIn(at, assess.Met{WindMS: &storm}) == 0 {
		t.Error("2C is clear in 20 m/s of wind")
	}
	warm := *take.At(at).Numbers.Flight.UsableEnergyWh
	if got := *take.AtIn(at, assess.Met{TemperatureK: &cold}).Numbers.Flight.UsableEnergyWh; got >= warm {
		t.Errorf("a pack gives %.0f Wh at -5 °C, %.0f Wh in the forecast's warmth", got, warm)
	}
	if !reflect.DeepEqual(take.AtIn(at, assess.Met{}), take.At(at)) {
		t.Error("nothing met differs from the forecast")
	}
	if (assess.Met{WindMS: &cold}).Check() == nil {
		t.Error("a wind of 268 m/s is believed")
	}
}

// TestCorrect: one stop more light asks for one stop less exposure (definition of the stop).
func TestCorrect(t *testing.T) {
	a, err := assess.New(context.Background(), copied(t, func(s string) string { return s }))
	if err != nil {
		t.Fatal(err)
	}
	take := a.Take("2C")
	at := time.Date(2026, 9, 22, 9, 0, 0, 0, time.UTC)
	before := take.At(at).Numbers.Picture.Card
	c, err := take.Correct(at, 1)
	if err != nil {
		t.Fatal(err)
	}
	if off := c.Now - before.ErrorStops; off < 0.999 || off > 1.001 {
		t.Errorf("the set card comes out %+.3f stops against the plan, want +1", off)
	}
	if len(c.Ways) == 0 || c.Ways[0].Card.ErrorStops > 1.0/3 || c.Ways[0].Card.ErrorStops < -1.0/3 {
		t.Errorf("no way back to a right exposure: %+v", c.Ways)
	}
}
