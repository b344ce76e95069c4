package exposure_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/exposure"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

func bag(t testing.TB, labels ...string) []exposure.Filter {
	t.Helper()
	var all []exposure.Filter
	for _, l := range labels {
		f, err := exposure.ParseFilter(l)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, f)
	}
	return all
}

func chooser(t testing.TB, gear exposure.Gear) *exposure.Chooser {
	t.Helper()
	c, err := exposure.NewChooser(gear)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func stops(t testing.TB, from, to float64) []float64 {
	t.Helper()
	s, err := lens.Stops(from, to)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

var sunny = exposure.Wish{EV100: 15, FrameRate: 30, ShutterAngle: 180 * unit.Degree}

// Common practice, no source: bright clear sun (EV100 about 15) at ISO 200 and 1/60 s. f/8
// to f/11 needs 3 to 4 stops; with 3 stops f/8 is about one stop hot and f/11 right; without
// a filter no aperture of the good range works.
func TestBrightSunPractice(t *testing.T) {
	near(t, "filter for f/8", exposure.ErrorStops(15, 1.0/60, 200, 8, 0), 4, 0.15)
	near(t, "filter for f/11", exposure.ErrorStops(15, 1.0/60, 200, 11, 0), 3, 0.15)
	c := chooser(t, exposure.Gear{ISOs: []float64{200}, Apertures: []float64{8, 11}, Filters: bag(t, "ND0.9")})
	hot, err := c.Judge(15, 1.0/60, 200, 8, "ND0.9")
	near(t, "three stops at f/8", hot.ErrorStops, 1, 0.15)
	right, err2 := c.Judge(15, 1.0/60, 200, 11, "ND0.9")
	near(t, "three stops at f/11", right.ErrorStops, 0, 0.15)
	if err != nil || err2 != nil {
		t.Fatal(err, err2)
	}
	best, err := c.Best(sunny)
	if err != nil || best.Aperture != 11 || best.Stack.String() != "ND0.9" {
		t.Errorf("%+v %v", best, err)
	}
	bare := chooser(t, exposure.Gear{ISOs: []float64{200}, Apertures: stops(t, 5.6, 11)})
	_, err = bare.Best(sunny)
	var none *exposure.NoSetting
	if !errors.As(err, &none) || none.Nearest.Aperture != 11 || !strings.Contains(err.Error(), "hot") {
		t.Errorf("without a filter: %v", err)
	}
}

// The phrase: one stop hot → f/11, or swap ND 0.9 for 1.2.
func TestNextStop(t *testing.T) {
	c := chooser(t, exposure.Gear{ISOs: []float64{200}, Apertures: []float64{5.6, 8, 11}, Filters: bag(t, "ND0.9", "ND1.2")})
	hot, err := c.Judge(15, 1.0/60, 200, 8, "ND0.9")
	if err != nil {
		t.Fatal(err)
	}
	text, err := c.NextStop(hot, sunny)
	if want := "1.1 stops hot → close to f/11: right; or swap ND0.9 for ND1.2: right"; err != nil || text != want {
		t.Errorf("%q, want %q (%v)", text, want, err)
	}
}

func TestCorrect(t *testing.T) {
	c := chooser(t, exposure.Gear{ISOs: []float64{200}, Apertures: stops(t, 5.6, 11), Filters: bag(t, "ND0.6", "ND0.9", "ND1.2")})
	set, err := c.Best(sunny)
	if err != nil {
		t.Fatal(err)
	}
	// Half a stop brighter: the filters stay on and the aperture follows.
	now, ways, err := c.Correct(set, sunny, exposure.Reading{OffsetStops: 0.5}, 3)
	near(t, "the card as set", now.ErrorStops, set.ErrorStops+0.5, 1e-12)
	if err != nil || len(ways) == 0 || ways[0].Setting.Stack.String() != set.Stack.String() || ways[0].Setting.Aperture <= set.Aperture {
		t.Errorf("%+v %v", ways, err)
	}
	// Two stops less light: no aperture of the range answers it, a filter comes off.
	_, ways, err = c.Correct(set, sunny, exposure.Reading{IlluminanceLx: exposure.Illuminance(13)}, 3)
	if err != nil || ways[0].Setting.Stack.LossStops >= set.Stack.LossStops || math.Abs(ways[0].Setting.ErrorStops) > exposure.RightStops {
		t.Errorf("%+v %v", ways, err)
	}
	for _, r := range []exposure.Reading{{OffsetStops: math.NaN()}, {OffsetStops: 40}, {IlluminanceLx: -3}, {IlluminanceLx: math.NaN()}, {1, 500}} {
		if _, _, err := c.Correct(set, sunny, r, 3); err == nil {
			t.Errorf("%+v passed", r)
		}
	}
}

func TestLowestISOThatWorks(t *testing.T) {
	gear := exposure.Gear{ISOs: []float64{100, 200, 400, 800, 1600, 3200, 6400}, BaseISOs: []float64{200}, Apertures: stops(t, 2.8, 16),
		GoodFrom: 5.6, GoodTo: 11, Filters: bag(t, "ND0.3", "ND0.6", "ND0.9", "ND1.2")}
	c := chooser(t, gear)
	if best, err := c.Best(sunny); err != nil || best.ISO != 200 {
		t.Errorf("in the sun: %+v %v", best, err)
	}
	dim := sunny
	dim.EV100 = 8
	best, err := c.Best(dim)
	if err != nil || len(best.Stack.Filters) != 0 || best.ISO > 800 {
		t.Errorf("at dusk: %+v %v", best, err)
	}
	gear.BaseISOs = []float64{200, 3200} // dual native: the second base beats the gain between
	dim.EV100 = 7
	second, err := chooser(t, gear).Best(dim)
	single, err2 := c.Best(dim)
	if err != nil || err2 != nil || second.ISO != 3200 || single.ISO >= 3200 {
		t.Errorf("second base: %+v against %+v %v %v", second, single, err, err2)
	}
}

func TestPolariserOnlyWhenWanted(t *testing.T) {
	c := chooser(t, exposure.Gear{ISOs: []float64{200}, Apertures: stops(t, 5.6, 11), Filters: bag(t, "ND0.3", "ND0.6", "ND0.9", "ND1.2", "POL")})
	if best, err := c.Best(sunny); err != nil || best.Stack.Polarises {
		t.Errorf("%s %v", best.Stack, err)
	}
	wish := sunny
	wish.Polariser = true
	best, err := c.Best(wish)
	if err != nil || !best.Stack.Polarises {
		t.Errorf("%s %v", best.Stack, err)
	}
	if !strings.Contains(c.Why(best), "meter through it") {
		t.Error(c.Why(best))
	}
}

func TestDepthAsksForASmallerAperture(t *testing.T) {
	c := chooser(t, exposure.Gear{ISOs: []float64{200}, Apertures: stops(t, 4, 16), GoodFrom: 5.6, GoodTo: 11, Filters: bag(t, "ND0.3", "ND0.6", "ND0.9", "ND1.2")})
	wish := sunny
	wish.EV100, wish.Deepest = 13, 9
	best, err := c.Best(wish)
	if err != nil || best.Aperture < 9 {
		t.Errorf("%+v %v", best, err)
	}
}

func TestRankProperties(t *testing.T) {
	c := chooser(t, exposure.Gear{ISOs: []float64{200, 400, 800, 1600}, Apertures: stops(t, 2.8, 16), GoodFrom: 5.6, GoodTo: 11,
		Filters: bag(t, "ND0.3", "ND0.6", "ND0.9", "ND1.2", "ND1.8", "POL", "GND0.6")})
	rapid.Check(t, func(t *rapid.T) {
		w := exposure.Wish{EV100: rapid.Float64Range(3, 17).Draw(t, "ev"), FrameRate: rapid.SampledFrom([]float64{24, 25, 30, 50}).Draw(t, "fps"),
			ShutterAngle: 180 * unit.Degree, Polariser: rapid.Bool().Draw(t, "polariser")}
		ranked, err := c.Rank(w, 1000)
		if err != nil {
			t.Skip(err)
		}
		best, err := c.Best(w)
		if err != nil || best.Regret != ranked[0].Regret {
			t.Fatalf("best %+v, first of the ranking %+v %v", best, ranked[0], err)
		}
		seen := map[string]bool{}
		for i, s := range ranked {
			if i > 0 && s.Regret < ranked[i-1].Regret {
				t.Fatal("not in order")
			}
			if math.Abs(s.ErrorStops) > exposure.UsableStops {
				t.Fatalf("%+v is not usable", s)
			}
			if got := exposure.ErrorStops(w.EV100, s.ShutterS, s.ISO, s.Aperture, s.Stack.LossStops); math.Abs(got-s.ErrorStops) > 1e-9 {
				t.Fatalf("says %g, is %g", s.ErrorStops, got)
			}
			key := s.Stack.String() + unit.ISO(s.ISO).String()
			if seen[key] {
				t.Fatal("listed twice: " + key)
			}
			seen[key] = true
			if strings.Contains(s.Stack.String(), "GND") {
				t.Fatal("a graduated filter was used over the whole picture")
			}
			if i > 0 && c.WhyInstead(best, s) == "" || c.Why(s) == "" {
				t.Fatal("no reason given")
			}
		}
	})
}

// A stop more light never asks for a less dense answer.
// What a search asks of every minute is what Best answers.
func TestReachIsBests(t *testing.T) {
	filters := bag(t, "ND 0.3", "ND 0.9", "ND 1.8")
	rapid.Check(t, func(t *rapid.T) {
		gear := exposure.Gear{ISOs: rapid.SampledFrom([][]float64{{100}, {100, 200, 400}, {800, 12800}}).Draw(t, "iso"), Apertures: []float64{2.8, 4, 5.6, 8},
			Filters: filters[:rapid.IntRange(0, 3).Draw(t, "filters")], ShuttersS: rapid.SampledFrom([][]float64{nil, {1.0 / 48, 1.0 / 50, 1.0 / 100}}).Draw(t, "shutters")}
		c, err := exposure.NewChooser(gear)
		if err != nil {
			t.Fatal(err)
		}
		w := exposure.Wish{EV100: rapid.Float64Range(-14, 27).Draw(t, "ev"), FrameRate: rapid.SampledFrom([]float64{0, 24, 25, 50, 240}).Draw(t, "fps"), ShutterAngle: 180 * unit.Degree}
		_, err = c.Best(w)
		reach, unfit := c.Reach(w)
		if got := unfit == nil && reach.Serves(w.EV100); got != (err == nil) {
			t.Fatalf("serves %v (%v), best %v", got, unfit, err)
		}
	})
}

func TestBrighterIsNeverLessDense(t *testing.T) {
	c := chooser(t, exposure.Gear{ISOs: []float64{200}, Apertures: stops(t, 5.6, 11), Filters: bag(t, "ND0.3", "ND0.6", "ND0.9", "ND1.2")})
	rapid.Check(t, func(t *rapid.T) {
		w := sunny
		w.EV100 = rapid.Float64Range(9, 16).Draw(t, "ev")
		a, errA := c.Best(w)
		w.EV100++
		b, errB := c.Best(w)
		if errA != nil || errB != nil {
			t.Skip(errA, errB)
		}
		dark := func(s exposure.Setting) float64 { return s.Stack.LossStops + lens.ApertureValue(s.Aperture) }
		if dark(b) < dark(a)-1e-9 {
			t.Fatalf("%+v then %+v", a, b)
		}
	})
}

func TestJudgeRefuses(t *testing.T) {
	c := chooser(t, exposure.Gear{ShuttersS: []float64{1.0 / 50, 1.0 / 60}, ISOs: []float64{200}, Apertures: []float64{5.6, 8, 11}, Filters: bag(t, "ND0.9")})
	for want, err := range map[string]error{
		"the lens offers":  second(c.Judge(15, 1.0/60, 200, 2.8)),
		"the camera lacks": second(c.Judge(15, 1.0/90, 200, 8)),
		"ISO 320":          second(c.Judge(15, 1.0/60, 320, 8)),
		"not among those":  second(c.Judge(15, 1.0/60, 200, 8, "ND1.8")),
		"EV100 is NaN":     second(c.Judge(math.NaN(), 1.0/60, 200, 8)),
		"shutter NaN s":    second(c.Judge(15, math.NaN(), 200, 8)),
		"aperture f/NaN":   second(c.Judge(15, 1.0/60, 200, math.NaN())),
	} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want %q, got %v", want, err)
		}
	}
}

func second(_ exposure.Setting, err error) error { return err }

func TestNewChooserRefuses(t *testing.T) {
	good := exposure.Gear{ISOs: []float64{200}, Apertures: []float64{8}}
	for name, change := range map[string]func(*exposure.Gear){
		"no ISO":       func(g *exposure.Gear) { g.ISOs = nil },
		"no aperture":  func(g *exposure.Gear) { g.Apertures = nil },
		"NaN aperture": func(g *exposure.Gear) { g.Apertures = []float64{math.NaN()} },
		"zero shutter": func(g *exposure.Gear) { g.ShuttersS = []float64{0} },
		"odd filter":   func(g *exposure.Gear) { g.Filters = []exposure.Filter{{Name: "x"}} },
		"range":        func(g *exposure.Gear) { g.GoodFrom, g.GoodTo = 11, 5.6 },
	} {
		g := good
		change(&g)
		if _, err := exposure.NewChooser(g); err == nil {
			t.Errorf("%s passed", name)
		}
	}
}

func TestFitOn(t *testing.T) {
	filters := bag(t, "ND0.9", "ND1.2", "POL")
	filters[0].ThreadM, filters[1].ThreadM = 0.058, 0.072
	fit, err := exposure.FitOn(0.046, filters, []lens.StepRing{{LensSideM: 0.046, FilterSideM: 0.058}})
	if len(fit) != 1 || fit[0].Name != "ND0.9" || err == nil ||
		!strings.Contains(err.Error(), "ND1.2") || !strings.Contains(err.Error(), "POL: its thread is not stated") {
		t.Error(fit, err)
	}
}

func TestBestAllocatesNothing(t *testing.T) {
	c := benchChooser(t)
	if n := testing.AllocsPerRun(100, func() { c.Best(sunny) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func benchChooser(t testing.TB) *exposure.Chooser {
	return chooser(t, exposure.Gear{ShuttersS: []float64{1.0 / 25, 1.0 / 30, 1.0 / 50, 1.0 / 60, 1.0 / 100, 1.0 / 125, 1.0 / 250, 1.0 / 500},
		ISOs: []float64{100, 200, 400, 800, 1600, 3200}, BaseISOs: []float64{200}, Apertures: stops(t, 2.8, 22), GoodFrom: 5.6, GoodTo: 11,
		Filters: bag(t, "ND0.3", "ND0.6", "ND0.9", "ND1.2", "ND1.8", "POL", "GND0.6")})
}

func BenchmarkBest(b *testing.B) {
	for _, c := range []struct {
		name string
		ev   float64
	}{{"sun", 15}, {"dusk", 6}, {"shade", 11.7}} {
		b.Run(c.name, func(b *testing.B) {
			chooser, w := benchChooser(b), sunny
			w.EV100 = c.ev
			for b.Loop() {
				if _, err := chooser.Best(w); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkRank(b *testing.B) {
	c := benchChooser(b)
	for b.Loop() {
		c.Rank(sunny, 8)
	}
}
