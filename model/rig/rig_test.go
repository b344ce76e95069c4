package rig_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"fieldfare/model/geo"
	"fieldfare/model/rig"
)

// Statics by hand: 8 kg at 0, 2 kg at 0.1 m forward and 0.2 m down: 0.02 m, -0.04 m.
func TestRoll(t *testing.T) {
	l, err := rig.Roll([]rig.Item{{Name: "airframe", MassKg: 8}, {Name: "gimbal", MassKg: 2, At: geo.Vec3{Y: 0.1, Z: -0.2}}})
	if err != nil {
		t.Fatal(err)
	}
	if l.MassKg != 10 || math.Abs(l.Centre.Y-0.02) > 1e-15 || math.Abs(l.Centre.Z+0.04) > 1e-15 {
		t.Errorf("%+v", l)
	}
	e := l.Against([]rig.Limit{{"maker", 9.5}, {"rule class", 25}, {"site", 0}})
	if math.Abs(e[0].OverKg-0.5) > 1e-12 || e[1].OverKg >= 0 || e[2].Known {
		t.Errorf("%+v", e)
	}
	for _, bad := range [][]rig.Item{nil, {{MassKg: -1}}, {{MassKg: math.NaN()}}, {{MassKg: 1, At: geo.Vec3{X: math.NaN()}}}} {
		if _, err := rig.Roll(bad); err == nil {
			t.Errorf("%+v was accepted", bad)
		}
	}
}

// By hand: 0.3 kg over. The monitor link alone is worth least; motor and box together
// are worth as much as the box needs; the airframe is never offered.
func TestLeaveBehind(t *testing.T) {
	items := []rig.Item{
		{Name: "airframe", MassKg: 8},
		{Name: "focus motor", MassKg: 0.2, Spare: true, Worth: 2},
		{Name: "matte box", MassKg: 0.35, Spare: true, Worth: 3},
		{Name: "second receiver", MassKg: 0.1, Spare: true, Worth: 1},
	}
	got := rig.LeaveBehind(items, 0.3, 5)
	want := []rig.Leave{
		{Names: []string{"focus motor", "second receiver"}, MassKg: 0.3, Worth: 3},
		{Names: []string{"matte box"}, MassKg: 0.35, Worth: 3},
	}
	if len(got) != 2 || !cmp.Equal(got[0].Names, want[0].Names) || !cmp.Equal(got[1].Names, want[1].Names) {
		t.Errorf("%+v", got)
	}
	if got := rig.LeaveBehind(items, 1, 5); got != nil {
		t.Errorf("1 kg cannot be shed, yet %+v", got)
	}
	if got := rig.LeaveBehind(items, -1, 5); got != nil {
		t.Errorf("nothing is over, yet %+v", got)
	}
}

func TestLeaveBehindProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 8).Draw(t, "n")
		var items []rig.Item
		spare := 0.0
		for i := range n {
			it := rig.Item{Name: string(rune('a' + i)), MassKg: rapid.Float64Range(0.05, 1).Draw(t, "kg"), Spare: rapid.Bool().Draw(t, "spare"), Worth: rapid.IntRange(0, 5).Draw(t, "worth")}
			if it.Spare {
				spare += it.MassKg
			}
			items = append(items, it)
		}
		over := rapid.Float64Range(0.01, 3).Draw(t, "over")
		got := rig.LeaveBehind(items, over, 1000)
		if (len(got) > 0) != (spare >= over-1e-9) {
			t.Fatalf("spare %g kg, over %g kg: %d ways", spare, over, len(got))
		}
		for i, l := range got {
			if l.MassKg < over-1e-9 || i > 0 && l.Worth < got[i-1].Worth {
				t.Fatalf("way %d: %+v", i, l)
			}
		}
	})
}
