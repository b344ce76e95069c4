package call_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
	"fieldfare/plan/shoot"
	"fieldfare/plan/standin"
)

func demo(tb testing.TB) (*assess.Assessor, *check.Check) {
	tb.Helper()
	return checked(tb, standin.Demo)
}

// checked loads a shoot folder, assesses and checks it.
func checked(tb testing.TB, dir string) (*assess.Assessor, *check.Check) {
	tb.Helper()
	a := standin.Assess(tb, dir)
	c, err := check.Run(context.Background(), a)
	if err != nil {
		tb.Fatal(err)
	}
	return a, c
}

// problem puts a copy of the demo with one text of a file replaced before the search.
func problem(t *testing.T, file, from, to string) (day.Problem, *assess.Assessor) {
	t.Helper()
	dir := standin.Copy(t)
	standin.Edit(t, dir, file, from, to)
	a, c := checked(t, dir)
	p, _ := call.Problem(a, c)
	return p, a
}

func groups(p day.Problem) map[string]bool {
	all := map[string]bool{}
	for _, s := range p.Setups {
		if strings.HasPrefix(s.Name, "heron") {
			all[s.Balance] = true
		}
	}
	return all
}

// A swap that the gimbal's motors hold takes a filter change; one that they do not takes a lens change.
func TestChangeovers(t *testing.T) {
	strong, _ := problem(t, "kit/shelf.yaml", "torque: 0.5 N m", "torque: 0.5 N m")
	weak, _ := problem(t, "kit/shelf.yaml", "torque: 0.5 N m", "torque: 0.12 N m")
	if n, m := len(groups(strong)), len(groups(weak)); n != 1 || m < 2 {
		t.Errorf("%d groups with strong motors, %d with weak ones", n, m)
	}
	for _, r := range strong.Rigs {
		if r.Swap.FilterS != 3*60 || r.Swap.LensS != 3*60 || r.Swap.LensS+r.Swap.BalanceS != 9*60 {
			t.Errorf("%+v", r.Swap)
		}
	}
}

// A pack takes as long to fill in the day's search as package pack says that it does.
func TestChargingTakesItsTime(t *testing.T) {
	p, a := problem(t, "shoot.yaml", "supply: 1800 W", "supply: 1800 W")
	for _, x := range p.Packs {
		var real *shoot.Pack
		for i := range a.Shoot.Packs {
			if a.Shoot.Packs[i].Name == x.Name {
				real = &a.Shoot.Packs[i]
			}
		}
		charging, err := a.Charging(real)
		if err != nil {
			t.Fatal(err)
		}
		even := (x.CapacityWh - x.ReserveWh) / x.ChargeW * 3600
		if math.Abs(even-charging[0].Charge.DurationS) > 1 {
			t.Errorf("%s: the search fills it in %.0f s, the pack takes %.0f s", x.Name, even, charging[0].Charge.DurationS)
		}
		if x.ChargeW > p.Chargers[0].SlotW {
			t.Errorf("%s takes %.0f W of a port's %.0f W", x.Name, x.ChargeW, p.Chargers[0].SlotW)
		}
	}
	dark, _ := problem(t, "shoot.yaml", "  supply: 1800 W\n", "")
	if len(dark.Chargers) != 0 {
		t.Errorf("charging on an unknown supply: %+v", dark.Chargers)
	}
}
