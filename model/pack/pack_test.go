package pack_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/pack"
)

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s = %.8g, want %.8g (relative %.1e)", what, got, want, relative)
	}
}

func wh(v, ah float64) pack.Pack { return pack.Pack{VoltageV: v, ChargeC: ah * 3600} }

// Definition of the watt-hour.
func TestRatedEnergy(t *testing.T) {
	near(t, "Wh", wh(14.8, 5).RatedJ()/3600, 74, 1e-12)
	near(t, "Wh", wh(22.2, 16).RatedJ()/3600, 355.2, 1e-12)
	near(t, "Wh", wh(3.7, 27).RatedJ()/3600, 99.9, 1e-12)
}

// Ohm's law: 14.8 V, 20 mohm, 400 W by hand.
func TestConstantPower(t *testing.T) {
	p := wh(14.8, 5)
	p.ResistanceOhm = 0.02
	d, err := p.Load(400)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "current", d.CurrentA, 28.0936, 1e-5)
	near(t, "terminal voltage", d.TerminalV, 14.2381, 1e-5)
	if _, err := p.Load(2739); err == nil { // V²/4R = 2738 W
		t.Error("2739 W was accepted")
	}
	if _, err := p.Load(2737); err != nil {
		t.Error(err)
	}
	p.MaxCurrentA = 20
	if _, err := p.Load(400); err == nil {
		t.Error("28 A was accepted over a limit of 20 A")
	}
}

func TestBudget(t *testing.T) {
	p := wh(22.2, 16)
	p.Cycles = 150
	b, err := p.Budget(273.15, 800, 1, 0.25)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "aged", b.AgedJ, 0.9*355.2*3600, 1e-9)
	near(t, "cold", b.ColdJ, 0.85*0.9*355.2*3600, 1e-9)
	near(t, "usable", b.UsableJ, 0.75*0.85*0.9*355.2*3600, 1e-9)
	near(t, "endurance", b.EnduranceS(800), 0.75*0.85*0.9*355.2*3600/800, 1e-9)
	for _, k := range []float64{243.15, 340, math.NaN()} {
		if _, err := p.Budget(k, 800, 1, 0.25); err == nil {
			t.Errorf("%g K is outside the table and was accepted", k)
		}
	}
	if b, _ := p.Budget(293.15, 800, 0.2, 0.25); b.UsableJ != 0 {
		t.Errorf("a pack below its reserve has %g J", b.UsableJ)
	}
}

// IATA Dangerous Goods Regulations table 2.3.A: 100 Wh and 160 Wh, both sides.
func TestByAir(t *testing.T) {
	for energy, want := range map[float64]pack.CarriageClass{99.9: pack.Cabin, 100: pack.Cabin, 100.1: pack.Approval, 160: pack.Approval, 160.1: pack.Cargo, 355.2: pack.Cargo} {
		if got := wh(10, energy/10).ByAir(); got.Class != want || got.Source == "" {
			t.Errorf("%g Wh: %v, want %v", energy, got.Class, want)
		}
	}
}

func TestChargeTime(t *testing.T) {
	p := wh(22.2, 16)
	c := pack.Charger{PowerW: 1000, CurrentA: 30}
	// From empty to 85 % at 1 C: 51 minutes.
	g, err := pack.ChargeTime(p, c, pack.Supply{PowerW: 3000}, 1, 0, 0.85, 293)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "seconds", g.DurationS, 0.85*3600, 1e-9)
	if g.Limit != "pack" {
		t.Errorf("limit %q", g.Limit)
	}
	// Four packs on 1 kW: 212.5 W each reaches the packs.
	g, _ = pack.ChargeTime(p, c, pack.Supply{PowerW: 1000, StoreJ: 500 * 3600}, 4, 0.25, 0.85, 293)
	near(t, "seconds", g.DurationS, 0.6*355.2*3600/212.5, 1e-9)
	near(t, "supply", g.SupplyW, 1000, 1e-9)
	if g.Limit != "supply" || !g.StoreRunsDown {
		t.Errorf("%+v", g)
	}
	for name, bad := range map[string]func() error{
		"frozen":    func() error { _, err := pack.ChargeTime(p, c, pack.Supply{PowerW: 1000}, 1, 0, 1, 270); return err },
		"no supply": func() error { _, err := pack.ChargeTime(p, c, pack.Supply{}, 1, 0, 1, 293); return err },
		"no charger": func() error {
			_, err := pack.ChargeTime(p, pack.Charger{}, pack.Supply{PowerW: 1}, 1, 0, 1, 293)
			return err
		},
		"no packs": func() error { _, err := pack.ChargeTime(p, c, pack.Supply{PowerW: 1000}, 0, 0, 1, 293); return err },
	} {
		if bad() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

func TestTakes(t *testing.T) {
	s := pack.Sortie{OutJ: 10, BackJ: 10, TakeJ: 20, ResetJ: 5}
	for usable, want := range map[float64]int{19: -1, 39: 0, 40: 1, 64: 1, 65: 2, 100: 3} {
		if n, left := s.Takes(usable); n != want || n >= 0 && (left < 0 || left >= 25) {
			t.Errorf("%g J: %d takes, %g J left, want %d", usable, n, left, want)
		}
	}
	near(t, "station", s.StationS(120, 4), 25, 1e-12)
}

func TestPackRefuses(t *testing.T) {
	for name, p := range map[string]pack.Pack{
		"empty":                {},
		"negative charge":      {VoltageV: 22.2, ChargeC: -1},
		"impossible density":   {VoltageV: 22.2, ChargeC: 16 * 3600, MassKg: 0.5},
		"negative mass":        {VoltageV: 22.2, ChargeC: 16 * 3600, MassKg: -1},
		"grown":                {VoltageV: 22.2, ChargeC: 16 * 3600, MeasuredC: 20 * 3600},
		"table out of order":   {VoltageV: 22.2, ChargeC: 16 * 3600, Cold: pack.Cold{{293, 1}, {273, 0.8}}},
		"voltage not a number": {VoltageV: math.NaN(), ChargeC: 16 * 3600},
	} {
		if p.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

func TestPackProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := wh(rapid.Float64Range(7, 60).Draw(t, "volt"), rapid.Float64Range(1, 40).Draw(t, "ah"))
		p.ResistanceOhm = rapid.Float64Range(0, 0.05).Draw(t, "ohm")
		p.Cycles = rapid.IntRange(0, 900).Draw(t, "cycles")
		w := rapid.Float64Range(0, 1).Draw(t, "share") * p.VoltageV * p.VoltageV / 4 / 0.06
		d, err := p.Load(w)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(d.CurrentA*d.TerminalV-w) > 1e-9*(1+w) {
			t.Fatalf("%g A at %g V is not %g W", d.CurrentA, d.TerminalV, w)
		}
		k := rapid.Float64Range(253.15, 333).Draw(t, "kelvin")
		land := rapid.Float64Range(0, 0.9).Draw(t, "land at")
		b, err := p.Budget(k, w, 1, land)
		if err != nil {
			t.Fatal(err)
		}
		const rounding = 1 + 1e-12
		if !(b.UsableJ <= b.DeliveredJ && b.DeliveredJ <= b.ColdJ*rounding && b.ColdJ <= b.AgedJ && b.AgedJ <= b.RatedJ) || math.Abs(b.UsableJ+b.ReserveJ-b.DeliveredJ) > 1e-6*b.RatedJ {
			t.Fatalf("%+v", b)
		}
		half := rapid.Float64Range(0.05, 0.95).Draw(t, "half")
		c, s := pack.Charger{PowerW: 500, CurrentA: 20}, pack.Supply{PowerW: 900}
		whole, _ := pack.ChargeTime(p, c, s, 2, 0, 1, 293)
		first, _ := pack.ChargeTime(p, c, s, 2, 0, half, 293)
		rest, _ := pack.ChargeTime(p, c, s, 2, half, 1, 293)
		if math.Abs(whole.DurationS-first.DurationS-rest.DurationS) > 1e-6*whole.DurationS || whole.SupplyW > 900+1e-9 {
			t.Fatalf("charging in two goes takes %g + %g s, at once %g s", first.DurationS, rest.DurationS, whole.DurationS)
		}
	})
}
