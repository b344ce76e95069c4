package pack

import (
	"fmt"
	"math"
)

// Supply is what feeds the chargers.
type Supply struct {
	Kind   string  // "mains", "generator", "inverter": for the note only
	PowerW float64 // continuous
	StoreJ float64 // what an inverter's battery holds; 0 when it does not run out
}

// Charger is one charging channel.
type Charger struct {
	PowerW     float64 // greatest output
	CurrentA   float64 // greatest output
	Efficiency float64 // output over what it takes from the supply, 0.5 to 1; 0 takes 0.85
	MaxRate    float64 // charging current over full charge, 1/h, as the pack allows; 0 takes 1
}

// Charge is how a charge goes.
type Charge struct {
	DurationS     float64
	CurrentA      float64 // in the constant-current part
	SupplyW       float64 // drawn in that part, all channels
	EnergyJ       float64 // drawn from the supply, all channels
	Limit         string  // what sets the current: pack, charger current, charger power or supply
	StoreRunsDown bool    // the supply's store does not hold this much
}

// taperFrom is the share of charge at which constant current gives way to constant
// voltage (common practice, no source).
const taperFrom = 0.85

// ChargeTime works out charging several like packs at once, one to a channel, from one
// state of charge to another (shares of full). Current is constant up to 85 %, then
// falls with the charge still missing; full is counted at 99 %. The pack must lie
// between 0 °C and 45 °C (data sheets' usual window, from memory).
func ChargeTime(p Pack, c Charger, s Supply, packs int, from, to, temperatureK float64) (Charge, error) {
	if err := p.Check(); err != nil {
		return Charge{}, err
	}
	efficiency, rate := c.Efficiency, c.MaxRate
	if efficiency == 0 {
		efficiency = 0.85
	}
	if rate == 0 {
		rate = 1
	}
	switch {
	case packs < 1 || packs > 100:
		return Charge{}, fmt.Errorf("%d packs on charge: expected 1 to 100", packs)
	case !(from >= 0 && from <= 1 && to >= 0 && to <= 1):
		return Charge{}, fmt.Errorf("charge from %.3g %% to %.3g %%: expected 0 %% to 100 %%", from*100, to*100)
	case !(efficiency >= 0.5 && efficiency <= 1):
		return Charge{}, fmt.Errorf("charger efficiency %.3g is outside 0.5 to 1", efficiency)
	case !(rate > 0 && rate <= 10):
		return Charge{}, fmt.Errorf("charge rate %.3g C is outside 0 to 10", rate)
	case !(c.PowerW > 0) || !(c.CurrentA > 0):
		return Charge{}, fmt.Errorf("charger of %.4g W and %.4g A cannot charge: give both above 0", c.PowerW, c.CurrentA)
	case !(s.PowerW > 0):
		return Charge{}, fmt.Errorf("supply of %.4g W cannot charge", s.PowerW)
	case !(temperatureK >= 273.15 && temperatureK <= 318.15):
		return Charge{}, fmt.Errorf("a pack at %.1f C must not be charged: warm or cool it to between 0 C and 45 C", temperatureK-273.15)
	}
	if to <= from {
		return Charge{Limit: "nothing to charge"}, nil
	}
	current, limit := rate*p.FullC()/3600, "pack"
	for _, l := range []struct {
		amps float64
		name string
	}{{c.CurrentA, "charger current"}, {c.PowerW / p.VoltageV, "charger power"}, {s.PowerW * efficiency / float64(packs) / p.VoltageV, "supply"}} {
		if l.amps < current {
			current, limit = l.amps, l.name
		}
	}
	perSecond := current / p.FullC()
	to = math.Min(to, 0.99)
	from = math.Min(from, to)
	seconds := math.Max(0, math.Min(to, taperFrom)-from) / perSecond
	if to > taperFrom {
		start := math.Max(from, taperFrom)
		seconds += (1 - taperFrom) / perSecond * math.Log((1-start)/(1-to))
	}
	g := Charge{DurationS: seconds, CurrentA: current, Limit: limit,
		SupplyW: float64(packs) * current * p.VoltageV / efficiency,
		EnergyJ: float64(packs) * (to - from) * p.FullC() * p.VoltageV / efficiency}
	g.StoreRunsDown = s.StoreJ > 0 && g.EnergyJ > s.StoreJ
	return g, nil
}
