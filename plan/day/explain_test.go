package day_test

import (
	"context"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fieldfare/plan/day"
)

const hour = 3600

// plain is a day of one rig, two packs and one pilot from 06:00 to 18:00.
func plain(slates ...day.Slate) *day.Problem {
	for i := range slates {
		s := &slates[i]
		if s.TakeS == 0 {
			s.TakeS = 300
		}
		if s.Takes == 0 {
			s.Takes = 1
		}
		if s.Priority == "" {
			s.Priority = day.Must
		}
		if s.Options == nil {
			s.Options = []day.Option{{Rig: "rig", Setup: "35", TakeWh: 40}}
		}
	}
	return &day.Problem{
		Days:    []day.Day{{Name: "Tuesday", StartS: 6 * hour, EndS: 18 * hour}},
		Slates:  slates,
		Setups:  []day.Setup{{Name: "35", Lens: "35"}, {Name: "50", Lens: "50"}},
		Rigs:    []day.Rig{{Name: "rig", Setup: "35", Swap: day.Swap{LensS: 600}, GroundS: 300, LaunchS: 60, RecoverS: 60, OverheadWh: 5}},
		Packs:   []day.Pack{{Name: "P1", Rigs: []string{"rig"}, CapacityWh: 90, ChargeWh: 90, ReserveWh: 20, CoolS: 900, RestS: 300}, {Name: "P2", Rigs: []string{"rig"}, CapacityWh: 90, ChargeWh: 90, ReserveWh: 20, CoolS: 900, RestS: 300}},
		People:  []day.Person{{Name: "Ada", Skills: []string{day.Pilot}}},
		Units:   []day.Unit{{Name: "first", Rigs: []string{"rig"}, People: []string{"Ada"}}},
		Weights: day.DefaultWeights,
	}
}

func between(from, to float64) []day.Window {
	return []day.Window{{FromS: int64(from * hour), ToS: int64(to * hour), Because: "low sun"}}
}

func solve(t *testing.T, p *day.Problem) day.Plan {
	t.Helper()
	plan, err := day.Solve(context.Background(), p, day.Options{Work: 1_000_000})
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

func left(t *testing.T, plan day.Plan, slate string) day.LeftOut {
	t.Helper()
	for _, l := range plan.LeftOut {
		if l.Slate == slate {
			return l
		}
	}
	t.Fatalf("%s is not left out: %+v", slate, plan.Days)
	return day.LeftOut{}
}

func has(list []string, part string) bool {
	return slices.ContainsFunc(list, func(s string) bool { return strings.Contains(s, part) })
}

func TestMustWithoutPlace(t *testing.T) {
	t.Run("two windows on one rig", func(t *testing.T) {
		p := plain(day.Slate{Name: "4A", Windows: between(7, 7.2)}, day.Slate{Name: "4B", Windows: between(7, 7.2)})
		p.Slates[1].Options[0].Setup = "50"
		plan := solve(t, p)
		if len(plan.LeftOut) != 1 {
			t.Fatalf("%+v", plan.LeftOut)
		}
		l := plan.LeftOut[0]
		if !l.Certain || !has(l.Facts, "the window of 4A") || !has(l.Facts, "the window of 4B") || len(l.Facts) > 4 {
			t.Errorf("%+v", l)
		}
		if len(l.Relaxations) == 0 || l.Relaxations[0].Unit != "s" || !strings.Contains(l.Relaxations[0].What, "widen the window") {
			t.Errorf("%+v", l.Relaxations)
		}
	})
	t.Run("window and charge", func(t *testing.T) {
		p := plain(day.Slate{Name: "1", Windows: between(6, 7)}, day.Slate{Name: "4B", Windows: between(6, 7)})
		p.Packs = p.Packs[:1]
		p.Packs[0].ChargeWh = 70
		plan := solve(t, p)
		if len(plan.LeftOut) != 1 || !plan.LeftOut[0].Certain {
			t.Fatalf("%+v", plan.LeftOut)
		}
		if l := plan.LeftOut[0]; !has(l.Facts, "pack") {
			t.Errorf("%+v", l)
		}
	})
	t.Run("skill", func(t *testing.T) {
		p := plain(day.Slate{Name: "9", Windows: between(8, 9), Skills: []string{"night rating"}})
		l := left(t, solve(t, p), "9")
		if !strings.Contains(l.Reason, "night rating") || len(l.Relaxations) != 1 || !strings.Contains(l.Relaxations[0].What, "night rating") {
			t.Errorf("%+v", l)
		}
	})
}

func TestBadInputIsExplained(t *testing.T) {
	ok := func() *day.Problem {
		return plain(day.Slate{Name: "1", Windows: between(8, 9)}, day.Slate{Name: "2", Windows: between(8, 9)})
	}
	t.Run("no windows", func(t *testing.T) {
		p := ok()
		p.Slates[0].Windows = nil
		if l := left(t, solve(t, p), "1"); !strings.Contains(l.Reason, "no window") || !has(l.Facts, "no window") || !l.Certain {
			t.Errorf("%+v", l)
		}
	})
	t.Run("zero packs", func(t *testing.T) {
		p := ok()
		p.Packs = nil
		if l := left(t, solve(t, p), "1"); !strings.Contains(l.Reason, "no pack fits") || !has(l.Facts, "no packs") {
			t.Errorf("%+v", l)
		}
	})
	t.Run("nothing at all", func(t *testing.T) {
		p := ok()
		p.Slates = nil
		if plan := solve(t, p); len(plan.Days) != 1 || !plan.Proved {
			t.Errorf("%+v", plan)
		}
	})
	t.Run("clock goes forward", func(t *testing.T) {
		p := ok()
		p.Clock = []day.ClockChange{{FromS: 0, OffsetS: 0}, {FromS: 7 * hour, OffsetS: hour}}
		plan := solve(t, p)
		if len(plan.Notes) != 1 || !strings.Contains(plan.Notes[0], "the clock goes forward by 1 h 00 min") {
			t.Errorf("%q", plan.Notes)
		}
	})
	for name, c := range map[string]struct {
		spoil func(p *day.Problem)
		want  string
	}{
		"contradictory order": {func(p *day.Problem) { p.Slates[0].After, p.Slates[1].After = []string{"2"}, []string{"1"} }, "contradictory order: 1 before 2 before 1"},
		"own predecessor":     {func(p *day.Problem) { p.Slates[0].After = []string{"1"} }, "contradictory order: 1 before 1"},
		"unknown slate":       {func(p *day.Problem) { p.Slates[0].After = []string{"7"} }, `"7", which is not among the slates`},
		"no days":             {func(p *day.Problem) { p.Days = nil }, "no days"},
		"day backwards":       {func(p *day.Problem) { p.Days[0].EndS = 0 }, "not after its start"},
		"window backwards":    {func(p *day.Problem) { p.Slates[0].Windows = between(9, 8) }, "before its start"},
		"overlap":             {func(p *day.Problem) { p.Slates[0].Windows = append(between(8, 9), between(8.5, 10)...) }, "overlap"},
		"twice":               {func(p *day.Problem) { p.Slates[1].Name = "1" }, "named twice"},
		"no take":             {func(p *day.Problem) { p.Slates[0].TakeS = -1 }, "a take of -1 s"},
		"overcharged":         {func(p *day.Problem) { p.Packs[0].ChargeWh = 1000 }, "cannot exceed"},
		"person twice":        {func(p *day.Problem) { p.Units = append(p.Units, p.Units[0]); p.Units[1].Name = "second" }, "a person can be in one"},
		"quality":             {func(p *day.Problem) { p.Slates[0].Windows[0].Quality = []day.Knot{{AtS: 0, Quality: 2000}} }, "want from 0 to 1000"},
	} {
		t.Run(name, func(t *testing.T) {
			p := ok()
			c.spoil(p)
			_, err := day.Solve(context.Background(), p, day.Options{})
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want %q in it", err, c.want)
			}
		})
	}
}

func TestSameSeedSamePlan(t *testing.T) {
	p := randomDay(rand.New(rand.NewPCG(5, 5)), size{slates: 15, rigs: 2, packs: 4, days: 1, units: 2, step: 300})
	o := day.Options{Seed: 3, Work: 500_000, Brief: true}
	a, _ := day.Solve(context.Background(), p, o)
	b, _ := day.Solve(context.Background(), p, o)
	if !same(a, b) {
		t.Error("two runs differ")
	}
}

func TestCancel(t *testing.T) {
	p := randomDay(rand.New(rand.NewPCG(5, 5)), size{slates: 40, rigs: 3, packs: 8, days: 2, units: 2, step: 60})
	ctx, cancel := context.WithCancel(context.Background())
	improved := 0
	plan, err := day.Solve(ctx, p, day.Options{Progress: func(im day.Improvement) {
		if improved++; improved == 20 {
			cancel()
		}
	}})
	if err != nil || plan.Search.Stopped != "limit" || plan.Proved || len(plan.Days[0].Sorties) == 0 {
		t.Errorf("%v %+v", err, plan.Search)
	}
	if f := flaws(p, &plan); f != nil {
		t.Error(f)
	}
	for _, out := range plan.LeftOut { // a search cut short knows no such thing
		if !out.Certain && strings.Contains(out.Reason, "is worth more") {
			t.Errorf("%s: %s", out.Slate, out.Reason)
		}
	}
}
