package assess

import (
	"errors"
	"fmt"
	"math"

	"fieldfare/model/air"
	"fieldfare/model/pack"
	"fieldfare/plan/shoot"
)

// tellPacks adds what each pack gives the slate, and the findings of the weakest.
func (t *Take) tellPacks(m *moment, a *Assessment) {
	n, f := &a.Numbers.Flight, m.flown
	for _, p := range t.packs {
		if t.shoot.Kit().Pack(p.Model).DischargeLimit == 0 {
			a.add(t.timely(Unknown, TopicFlight, "current that pack "+p.Name+" may give", "unknown", "", "shelf", "enter discharge_c: for "+p.Model))
			break
		}
	}
	for i := range f.packs {
		n.Packs = append(n.Packs, f.packs[i].numbers(t.shoot.Kit(), float64(max(1, t.airframe.PacksFitted))))
	}
	if f.packErr != nil {
		a.add(t.timely(Unknown, TopicFlight, "energy of the packs", "unknown", "", "shelf", f.packErr.Error()))
		return
	}
	takes := f.takes
	n.UsableEnergyWh, n.TakesPerPack = known(f.usableJ/3600), &takes
	if full := f.fullJ(); full > 0 && takes >= 0 {
		n.ReserveLeftPct = known(100 * (float64(t.shoot.House.Reserve) + f.leftJ/full))
	}
	for i := range f.packs {
		if f.packs[i].pack.Name == f.pack {
			n.StationS = known(math.Max(0, f.packs[i].stationS))
		}
	}
	if !math.IsNaN(f.noReturn) {
		n.NoReturnS = known(f.noReturn)
		a.add(t.noReturn(f))
	}
	wanted := t.takesWanted()
	if takes >= 1 && takes < wanted {
		a.add(t.timely(Caution, TopicFlight, "takes on one pack", fmt.Sprint(takes), fmt.Sprint(wanted), "momentum theory fitted to the hover; house rule for the reserve", "plan a change of packs between takes"))
	}
}

func (t *Take) noReturn(f *flown) Finding {
	warn := t.timely(Stop, TopicFlight, "point of no return", "t = "+seconds(f.noReturn), "after the take's end", "energy along the path against the wind, pack "+f.pack, "launch nearer or shorten the take")
	warn.AtS = known(f.noReturn)
	return warn
}

// fullJ is what the weakest pack delivers down to nothing, all packs of its set together.
func (f *flown) fullJ() float64 {
	for i := range f.packs {
		if p := &f.packs[i]; p.pack.Name == f.pack && p.budget.UsableJ > 0 {
			return p.budget.DeliveredJ * p.usableJ / p.budget.UsableJ
		}
	}
	return 0
}

func (l *packLeft) numbers(k *shoot.Kit, fitted float64) PackNumbers {
	n := PackNumbers{Name: l.pack.Name, Model: l.pack.Model, RatedWh: battery(k, l.pack).RatedJ() / 3600}
	n.PeakA = known(l.peak.CurrentA)
	if limit := battery(k, l.pack).MaxCurrentA; limit > 0 {
		n.PeakLimitA = known(limit)
	}
	if l.err != nil {
		return n
	}
	b, takes := l.budget, l.takes
	n.AgedWh, n.ColdWh, n.DeliveredWh, n.ReserveWh = known(b.AgedJ/3600), known(b.ColdJ/3600), known(b.DeliveredJ/3600), known(b.ReserveJ/3600)
	n.UsableWh, n.Takes, n.LeftWh, n.StationS, n.DrawC = known(l.usableJ/fitted/3600), &takes, known(l.leftJ/3600), known(math.Max(0, l.stationS)), known(b.Draw.Rate)
	return n
}

// chargingK is the temperature at which packs are taken to be charged: kept in a vehicle or tent, not in the
// wind (common practice, no source).
const chargingK = 288.15

// Charging is how one charger fills a pack from the house's reserve, one pack on each of its ports.
type Charging struct {
	Charger   string
	Charge    pack.Charge
	MeanW     float64 // into the pack, its slowing toward full included
	AtOnce    int     // packs that the supply lets charge at once
	FromShare float64
}

// Charging works out every charger that the shoot brings for a pack. The supply is shared evenly among the
// chargers. An error says why a pack cannot be charged.
func (a *Assessor) Charging(p *shoot.Pack) (all []Charging, err error) {
	s := a.Shoot
	k := s.Kit()
	model := k.Pack(p.Model)
	from := float64(s.House.Reserve)
	if len(s.Charging.Chargers) == 0 {
		return nil, errors.New("no charger is brought: enter chargers under charging")
	}
	if s.Charging.Supply == 0 {
		return nil, errors.New("the supply of the chargers is unknown: enter supply under charging")
	}
	b := battery(k, p)
	for _, name := range s.Charging.Chargers {
		c := k.Charger(name)
		ports := max(1, c.Ports)
		port := float64(c.Power) / float64(ports)
		charger := pack.Charger{PowerW: port, CurrentA: port / b.VoltageV * (1 + 1e-9), Efficiency: float64(c.Efficiency), MaxRate: model.ChargeLimit}
		supply := pack.Supply{Kind: s.Charging.Source, PowerW: float64(s.Charging.Supply) / float64(len(s.Charging.Chargers))}
		charge, err := pack.ChargeTime(b, charger, supply, 1, from, 1, chargingK)
		if err != nil {
			return nil, fmt.Errorf("pack %s on %s: %w", p.Name, name, err)
		}
		x := Charging{Charger: name, Charge: charge, AtOnce: ports, FromShare: from}
		if charge.DurationS > 0 {
			x.MeanW = (1 - from) * b.FullC() * b.VoltageV / charge.DurationS
		}
		if charge.SupplyW > 0 {
			x.AtOnce = min(ports, int(supply.PowerW/charge.SupplyW+1e-9))
		}
		all = append(all, x)
	}
	return all, nil
}

// PackSheet is one pack of the shoot: its energy on the coldest hour, its charging and how it travels.
type PackSheet struct {
	Name     string       `json:"name"`
	Model    string       `json:"model"`
	Cycles   int          `json:"cycles"`
	RatedWh  float64      `json:"rated_wh"`
	HealthPc float64      `json:"health_percent"`
	FullWh   *float64     `json:"full_wh"`   // on the coldest hour, less what warms the pack
	UsableWh *float64     `json:"usable_wh"` // above the reserve
	HoverS   *float64     `json:"hover_s"`   // of the heaviest slate's rig
	ChargeS  *float64     `json:"charge_s"`  // from the reserve to full, on the fastest charger
	ChargeBy string       `json:"charge_limited_by"`
	ByAir    CarriageNote `json:"by_air"`
	Unknown  []string     `json:"unknown"`
	Fits     []string     `json:"fits"` // rigs
}

// CarriageNote is how a pack may travel by passenger aircraft.
type CarriageNote struct {
	Class  string `json:"class"`
	Note   string `json:"note"`
	Source string `json:"source"`
}

// PackSheets returns every pack of the shoot.
func (a *Assessor) PackSheets() []PackSheet {
	s := a.Shoot
	all := []PackSheet{}
	for i := range s.Packs {
		p := &s.Packs[i]
		b := battery(s.Kit(), p)
		carriage := b.ByAir()
		x := PackSheet{Name: p.Name, Model: p.Model, Cycles: p.Cycles, RatedWh: b.RatedJ() / 3600, HealthPc: 100 * b.Health(), Fits: []string{}, Unknown: []string{},
			ByAir: CarriageNote{carriage.Class.String(), carriage.Note, carriage.Source}}
		for j := range s.Rigs {
			for _, q := range rigPacks(s, &s.Rigs[j]) {
				if q == p {
					x.Fits = append(x.Fits, s.Rigs[j].Name)
				}
			}
		}
		if usable, full := a.PackEnergy(p); full > 0 {
			x.UsableWh, x.FullWh = known(usable), known(full)
			if w := a.hoverOn(p); w > 0 {
				x.HoverS = known(usable * 3600 / w)
			}
		} else {
			x.Unknown = append(x.Unknown, "its energy: the forecast is colder than its table")
		}
		charging, err := a.Charging(p)
		if err != nil {
			x.Unknown = append(x.Unknown, "its charging: "+err.Error())
		}
		for _, c := range charging {
			if x.ChargeS == nil || c.Charge.DurationS < *x.ChargeS {
				x.ChargeS, x.ChargeBy = known(c.Charge.DurationS), c.Charge.Limit
			}
		}
		all = append(all, x)
	}
	return all
}

// hoverOn is the greatest hover power that a pack is asked for by the slates, its share of a set.
func (a *Assessor) hoverOn(p *shoot.Pack) (w float64) {
	for _, t := range a.takes {
		for _, q := range t.packs {
			if q == p && t.rotorErr == nil {
				if f, err := t.rotors.At(t.massKg, air.Standard(t.midSeaM).Density()); err == nil {
					w = math.Max(w, f.HoverW()/float64(max(1, t.airframe.PacksFitted)))
				}
			}
		}
	}
	return w
}
