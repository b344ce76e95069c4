package window_test

import (
	"context"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"fieldfare/model/sky"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
	"fieldfare/plan/standin"
	"fieldfare/plan/window"
)

const demo = "../../examples/last-milk-run"

func load(t testing.TB, replace ...string) *assess.Assessor {
	t.Helper()
	dir := demo
	if len(replace) > 0 {
		dir = standin.Copy(t)
		standin.Edit(t, dir, shoot.FileName, replace...)
	}
	return standin.Assess(t, dir)
}

func windows(t testing.TB, a *assess.Assessor, slate string) []window.Window {
	t.Helper()
	var all []window.Window
	for _, d := range a.Shoot.Dates {
		found, err := window.Find(context.Background(), a.Take(slate), d.Midnight(a.Shoot.Location()), d.Next().Midnight(a.Shoot.Location()))
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, found.Windows...)
	}
	return all
}

// An edge is where it is said to be: open on its inner minute, shut on its outer one, with a reason.
func TestEdges(t *testing.T) {
	a := load(t)
	seen := 0
	for _, take := range a.Takes() {
		for _, w := range windows(t, a, take.Slate.Slate) {
			seen++
			if take.Shut(w.From) != 0 || take.Shut(w.To.Add(-window.Step)) != 0 {
				t.Errorf("%s: a window's own minutes are shut: %v to %v", take.Slate.Slate, w.From, w.To)
			}
			if take.Shut(w.From.Add(-window.Step)) == 0 || take.Shut(w.To) == 0 {
				t.Errorf("%s: the window %v to %v could be longer", take.Slate.Slate, w.From, w.To)
			}
			if w.Begins == "" || w.Ends == "" {
				t.Errorf("%s: an edge without a reason: %+v", take.Slate.Slate, w)
			}
		}
	}
	if seen < 15 {
		t.Errorf("%d windows in the demo", seen)
	}
}

// "subject lit" by a second road: a ray from the subject toward the sun over the terrain, in place of
// the skyline. Curvature and refraction, which the ray leaves out, are below a metre within the grid.
func TestLitMeansLit(t *testing.T) {
	a := load(t)
	s := a.Shoot
	x := s.Subject("chapel")
	foot, ok := s.Foot(x)
	if !ok {
		t.Fatal("the chapel has no ground")
	}
	foot.Z += float64(x.Height) / 2
	take := a.Take("2A")
	gate := -1
	for i, name := range take.Gates() {
		if name == "subject lit" {
			gate = i
		}
	}
	agree, differ := 0, 0
	for at := s.Dates[0].Midnight(s.Location()).Add(6 * time.Hour); at.Hour() < 21; at = at.Add(time.Minute) {
		i, err := sky.At(at)
		if err != nil {
			t.Fatal(err)
		}
		sun := a.Almanac().Sun(i)
		if sun.Altitude.Deg() < 0.5 {
			continue
		}
		_, hit := s.Ground().Raycast(foot, sun.Direction(), 20_000)
		if hit == take.Shut(at).Has(gate) {
			agree++
		} else {
			differ++
		}
	}
	if differ > 4 || agree < 600 { // a minute at each of sunrise and sunset behind the ridge, skyline in half degrees
		t.Errorf("skyline and ray agree for %d minutes and differ for %d", agree, differ)
	}
}

// The golden hour is a band of solar altitude; its edges are minutes at which the sun crosses it.
func TestGoldenHourEdges(t *testing.T) {
	a := load(t)
	for _, w := range windows(t, a, "5A") {
		if !strings.Contains(w.Ends, "golden hour") {
			continue
		}
		i, _ := sky.At(w.To)
		h := a.Almanac().Sun(i).Altitude.Deg()
		if math.Abs(h-6) > 0.25 && math.Abs(h+4) > 0.25 { // a minute is at most 0.25 deg
			t.Errorf("golden hour ends at %v with the sun at %.2f deg", w.To, h)
		}
	}
}

// No forecast: the wind is unknown, and says so; it is not calm.
func TestNoForecastIsUnknown(t *testing.T) {
	a := load(t, "forecast: forecast.csv\n", "")
	now := a.Shoot.Dates[0].Midnight(a.Shoot.Location()).Add(12 * time.Hour)
	found := a.Take("2A").At(now)
	has := map[string]bool{}
	for _, f := range found.Findings {
		if f.Severity == assess.Unknown {
			has[f.What] = true
		}
	}
	for _, what := range []string{"weather", "sky", "air density"} {
		if !has[what] {
			t.Errorf("without a forecast %q is not unknown: %v", what, has)
		}
	}
	if found.Numbers.Weather.WindMS != nil {
		t.Errorf("a wind of %v m/s from nowhere", *found.Numbers.Weather.WindMS)
	}
}

func TestCancelled(t *testing.T) {
	a := load(t)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := window.Season(ctx, a.Take("2A"), a.Shoot.Dates[0], a.Shoot.Dates[1], nil); err == nil {
		t.Error("a cancelled search ended as if it had not been")
	}
}

// Paths and horizons that were taken over give the days that a fresh start gives, to the last bit; and the assessor that
// they were taken from keeps its dates.
func TestOver(t *testing.T) {
	a := load(t)
	before := a.Almanac()
	first, last := shoot.Date{Year: 2026, Month: 10, Day: 20}, shoot.Date{Year: 2026, Month: 10, Day: 30} // across the change of clocks
	over, err := a.Over(t.Context(), first, last)
	if err != nil {
		t.Fatal(err)
	}
	fresh := load(t)
	if err := fresh.Cover(first, last); err != nil {
		t.Fatal(err)
	}
	for _, x := range a.Shoot.Slates {
		got, err := window.Season(t.Context(), over.Take(x.Slate), first, last, nil)
		if err != nil {
			t.Fatal(err)
		}
		want, err := window.Season(t.Context(), fresh.Take(x.Slate), first, last, nil)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s: other days than a fresh start's", x.Slate)
		}
	}
	if a.Almanac() != before {
		t.Error("the almanac of the shooting dates changed")
	}
}

// Every minute of a year with skyline, one shot.
func BenchmarkYear(b *testing.B) {
	a := load(b)
	first, last := shoot.Date{Year: 2026, Month: 1, Day: 1}, shoot.Date{Year: 2026, Month: 12, Day: 31}
	if err := a.Cover(first, last); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := window.Season(context.Background(), a.Take("2A"), first, last, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// Turned as the finding says, the shot no longer shows the aircraft's own shadow.
func TestTurnClearsOwnShadow(t *testing.T) {
	at := func(a *assess.Assessor) time.Time {
		return a.Shoot.Dates[0].Midnight(a.Shoot.Location()).Add(14*time.Hour + 42*time.Minute)
	}
	a := load(t)
	before := a.Take("5C").At(at(a))
	if !before.Numbers.Light.OwnShadowInFrame || before.Numbers.Light.OwnShadowLatDeg == nil {
		t.Fatal("the demo's flyover no longer shows the shadow: choose another shot")
	}
	said := ""
	for _, f := range before.Findings {
		if strings.Contains(f.Mend, "turn the shot 50 deg clockwise") {
			said = f.Mend
		}
	}
	if said == "" {
		t.Fatalf("the turn is not told: %v", before.Findings)
	}
	turned := load(t, "{move: flyover, subject: dairy, bearing: 210 deg", "{move: flyover, subject: dairy, bearing: 260 deg")
	if turned.Take("5C").At(at(turned)).Numbers.Light.OwnShadowInFrame {
		t.Error("turned by 50 deg clockwise, the shadow is still in the picture")
	}
}
