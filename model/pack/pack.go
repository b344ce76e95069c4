// Package pack computes what a battery set gives and takes: usable energy after age,
// cold, discharge rate and the crew's reserve, how long it holds a load, how long it
// charges on the supply at hand, and how it may travel by air.
//
// Units: SI; energy in joules, charge in coulombs (1 Ah = 3600 C), temperature in
// kelvin. Shares of charge are of the pack's present full charge, 0 to 1.
//
// Source: Ohm's law with a constant open-circuit voltage for discharge (common
// textbook form); constant-current, constant-voltage charging; IATA Dangerous Goods
// Regulations for carriage. Fade and cold tables are common practice, no source, and a
// crew's own table replaces them.
//
// Valid for lithium packs of some 3.6 V to 4 V a cell between -20 °C and 60 °C at
// moderate rates; a pack with measured resistance and fade is good to some 5 %.
//
// Not modelled: voltage falling with charge, warming under load, self-discharge,
// imbalance of cells, the pack's own electronics.
package pack

import (
	"fmt"
	"math"
	"sort"
)

// Pack is one battery set that flies one sortie.
type Pack struct {
	ChargeC       float64 // rated charge when new
	VoltageV      float64 // nominal, whole pack
	ResistanceOhm float64 // whole pack, warm; 0 leaves the loss out
	Cycles        int     // full cycles so far
	FadePerCycle  float64 // share of rated charge lost for each cycle; 0 takes DefaultFade
	MeasuredC     float64 // full charge as last measured; above 0 it replaces Cycles and FadePerCycle
	MassKg        float64 // 0 when not known
	MaxCurrentA   float64 // continuous; 0 when not known
	Cold          Cold    // nil takes DefaultCold
}

// DefaultFade loses a fifth of the charge in 300 cycles (common practice, no source).
const DefaultFade = 0.2 / 300

// Share is a share of charge at a temperature.
type Share struct{ TemperatureK, Factor float64 }

// Cold is the share of warm charge that a pack gives at each temperature, in order of
// temperature, straight lines between. Outside the table nothing is known.
type Cold []Share

// DefaultCold is common practice, no source: 65 % at -20 °C, 85 % at 0 °C, all from
// 20 °C to 60 °C.
var DefaultCold = Cold{{253.15, 0.65}, {273.15, 0.85}, {293.15, 1}, {333.15, 1}}

// At returns the share at a temperature; ok is false outside the table.
func (c Cold) At(temperatureK float64) (share float64, ok bool) {
	if c == nil {
		c = DefaultCold
	}
	i := sort.Search(len(c), func(i int) bool { return c[i].TemperatureK >= temperatureK })
	switch {
	case len(c) == 0 || i == len(c) || math.IsNaN(temperatureK):
		return 0, false
	case c[i].TemperatureK == temperatureK:
		return c[i].Factor, true
	case i == 0:
		return 0, false
	}
	t := (temperatureK - c[i-1].TemperatureK) / (c[i].TemperatureK - c[i-1].TemperatureK)
	return c[i-1].Factor + t*(c[i].Factor-c[i-1].Factor), true
}

// maxSpecificEnergy is above what any lithium pack on the market stores (about 300 Wh/kg;
// common practice, no source), in J/kg.
const maxSpecificEnergy = 400 * 3600

// Check reports the first value that no such pack has.
func (p Pack) Check() error {
	switch {
	case !(p.ChargeC >= 36 && p.ChargeC <= 1e6):
		return fmt.Errorf("pack charge %.4g mAh is not possible: expected 10 mAh to 277 Ah", p.ChargeC/3.6)
	case !(p.VoltageV >= 3 && p.VoltageV <= 1000):
		return fmt.Errorf("pack voltage %.4g V is not possible: expected 3 V to 1000 V", p.VoltageV)
	case !(p.ResistanceOhm >= 0 && p.ResistanceOhm <= 10):
		return fmt.Errorf("pack resistance %.4g ohm is not possible: expected 0 to 10 ohm", p.ResistanceOhm)
	case p.Cycles < 0 || p.Cycles > 10000:
		return fmt.Errorf("pack cycles %d are not possible: expected 0 to 10000", p.Cycles)
	case !(p.FadePerCycle >= 0 && p.FadePerCycle <= 0.05):
		return fmt.Errorf("pack fade %.4g a cycle is not possible: expected 0 to 0.05", p.FadePerCycle)
	case !(p.MeasuredC >= 0 && p.MeasuredC <= 1.2*p.ChargeC):
		return fmt.Errorf("measured pack charge %.4g mAh is not possible beside a rated %.4g mAh", p.MeasuredC/3.6, p.ChargeC/3.6)
	case !(p.MassKg >= 0 && p.MassKg <= 500):
		return fmt.Errorf("pack mass %.4g kg is not possible", p.MassKg)
	case p.MassKg > 0 && p.RatedJ()/p.MassKg > maxSpecificEnergy:
		return fmt.Errorf("pack of %.4g Wh in %.4g kg would store %.0f Wh/kg, which no pack does (up to 400): check capacity, voltage and mass",
			p.RatedJ()/3600, p.MassKg, p.RatedJ()/3600/p.MassKg)
	case !(p.MaxCurrentA >= 0 && p.MaxCurrentA <= 5000):
		return fmt.Errorf("pack current limit %.4g A is not possible", p.MaxCurrentA)
	}
	for i, s := range p.Cold {
		if !(s.Factor >= 0 && s.Factor <= 1.1) || !(s.TemperatureK > 150 && s.TemperatureK < 400) || i > 0 && !(s.TemperatureK > p.Cold[i-1].TemperatureK) {
			return fmt.Errorf("row %d of the pack's cold table is not possible: expected rising temperatures and shares from 0 to 1.1", i+1)
		}
	}
	return nil
}

// RatedJ is nominal voltage times rated charge: the watt-hours on the label.
func (p Pack) RatedJ() float64 { return p.VoltageV * p.ChargeC }

// FullC is the charge of the full pack at its age, warm. Fade stops at half.
func (p Pack) FullC() float64 {
	if p.MeasuredC > 0 {
		return p.MeasuredC
	}
	fade := p.FadePerCycle
	if fade == 0 {
		fade = DefaultFade
	}
	return p.ChargeC * math.Max(0.5, 1-fade*float64(p.Cycles))
}

// Health is the pack's full charge over its rated charge.
func (p Pack) Health() float64 { return p.FullC() / p.ChargeC }

// Draw is a constant-power load on the pack.
type Draw struct {
	CurrentA  float64
	TerminalV float64
	LossW     float64 // warming the pack
	Rate      float64 // current over the full charge, 1/h ("C")
}

// Load solves the current that delivers a constant power in W at the terminals through
// the pack's resistance: I = (V - sqrt(V² - 4 R P))/(2 R). It fails when no current
// does (P above V²/4R) or the pack's stated current is exceeded.
func (p Pack) Load(powerW float64) (Draw, error) {
	if !(powerW >= 0) || math.IsInf(powerW, 0) {
		return Draw{}, fmt.Errorf("load %.4g W is not possible", powerW)
	}
	room := p.VoltageV*p.VoltageV - 4*p.ResistanceOhm*powerW
	if room < 0 {
		return Draw{}, fmt.Errorf("a load of %.0f W is more than the pack can give at all (%.0f W through %.0f mohm)",
			powerW, p.VoltageV*p.VoltageV/(4*p.ResistanceOhm), p.ResistanceOhm*1000)
	}
	// The same root written without the difference of like numbers.
	i := 2 * powerW / (p.VoltageV + math.Sqrt(room))
	d := Draw{CurrentA: i, TerminalV: p.VoltageV - i*p.ResistanceOhm, LossW: i * i * p.ResistanceOhm, Rate: i * 3600 / p.FullC()}
	if p.MaxCurrentA > 0 && i > p.MaxCurrentA {
		return d, fmt.Errorf("a load of %.0f W draws %.0f A, above the pack's limit of %.0f A", powerW, i, p.MaxCurrentA)
	}
	return d, nil
}

// Budget is the energy that a sortie may use, step by step from the label.
type Budget struct {
	RatedJ     float64
	AgedJ      float64 // after fade
	ColdJ      float64 // after temperature
	DeliveredJ float64 // after loss in the pack at the mean power
	ReserveJ   float64 // kept by the crew's rule: a share of what could be delivered
	UsableJ    float64 // DeliveredJ less ReserveJ, from the given state of charge
	Draw       Draw
}

// Budget works out the usable energy at a pack temperature, for a mean power in W,
// from a state of charge (1 is full), landing with a share of the full pack left
// (0.25 for "land at 25 %"). It fails when the temperature is outside the pack's
// table: usable energy is then unknown.
func (p Pack) Budget(temperatureK, meanW, stateOfCharge, landAt float64) (Budget, error) {
	if err := p.Check(); err != nil {
		return Budget{}, err
	}
	if !(landAt >= 0 && landAt < 1) {
		return Budget{}, fmt.Errorf("reserve %.3g %% is outside 0 %% to below 100 %%", landAt*100)
	}
	if !(stateOfCharge >= 0 && stateOfCharge <= 1) {
		return Budget{}, fmt.Errorf("state of charge %.3g %% is outside 0 %% to 100 %%", stateOfCharge*100)
	}
	share, ok := p.Cold.At(temperatureK)
	if !ok {
		return Budget{}, fmt.Errorf("what the pack gives at %.1f C is unknown: its table does not reach there", temperatureK-273.15)
	}
	draw, err := p.Load(meanW)
	if err != nil {
		return Budget{}, err
	}
	b := Budget{RatedJ: p.RatedJ(), AgedJ: p.VoltageV * p.FullC(), Draw: draw}
	b.ColdJ = b.AgedJ * share
	b.DeliveredJ = b.ColdJ * draw.TerminalV / p.VoltageV
	b.ReserveJ = b.DeliveredJ * landAt
	b.UsableJ = math.Max(0, b.DeliveredJ*(stateOfCharge-landAt))
	return b, nil
}

// EnduranceS is how long the budget lasts at its mean power.
func (b Budget) EnduranceS(meanW float64) float64 {
	if !(meanW > 0) {
		return 0
	}
	return b.UsableJ / meanW
}

// Sortie is the energy of the parts of one flight.
type Sortie struct {
	OutJ, BackJ float64 // take-off, transit and landing
	TakeJ       float64 // one take
	ResetJ      float64 // back to the first mark between takes
}

// Takes is how many takes the usable energy allows, and what is left after them. It is
// -1 when the way out and back is already too much.
func (s Sortie) Takes(usableJ float64) (n int, leftJ float64) {
	left := usableJ - s.OutJ - s.BackJ
	if left < 0 {
		return -1, left
	}
	if s.TakeJ <= 0 || left < s.TakeJ {
		return 0, left
	}
	n = 1 + int(math.Min(1e6, (left-s.TakeJ)/(s.TakeJ+math.Max(0, s.ResetJ))))
	return n, left - s.TakeJ - float64(n-1)*(s.TakeJ+math.Max(0, s.ResetJ))
}

// StationS is the time on station at a power in W between the way out and the way
// back; it is negative when those are already too much.
func (s Sortie) StationS(usableJ, powerW float64) float64 {
	if !(powerW > 0) {
		return 0
	}
	return (usableJ - s.OutJ - s.BackJ) / powerW
}
