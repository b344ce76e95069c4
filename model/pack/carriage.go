package pack

import "fmt"

// Carriage is how a lithium pack may go by passenger aircraft.
type Carriage struct {
	Class  CarriageClass
	Note   string
	Source string
}

// CarriageClass grades carriage by watt-hours.
type CarriageClass int

// Classes of carriage.
const (
	Cabin    CarriageClass = iota // hand baggage
	Approval                      // hand baggage with the operator's approval, at most two spares a person
	Cargo                         // not in passenger baggage
)

func (c CarriageClass) String() string {
	return [...]string{"cabin", "operator approval", "cargo only"}[c]
}

const carriageSource = "IATA Dangerous Goods Regulations table 2.3.A / ICAO Technical Instructions part 8; check the edition in force and the operator's own rules"

// CargoChargeShare is the greatest state of charge at which lithium-ion packs are
// shipped alone as cargo (UN 3480). Source: IATA Dangerous Goods Regulations, packing
// instruction 965.
const CargoChargeShare = 0.30

// ByAir classes a spare pack by the energy on its label: up to 100 Wh, up to 160 Wh, more.
func (p Pack) ByAir() Carriage {
	wh := p.RatedJ() / 3600
	const rounding = 1e-9 // 3.7 V x 27.027 Ah is 100 Wh
	switch {
	case wh <= 100+rounding:
		return Carriage{Cabin, fmt.Sprintf("%.1f Wh: spares in hand baggage only, terminals covered", wh), carriageSource}
	case wh <= 160+rounding:
		return Carriage{Approval, fmt.Sprintf("%.1f Wh: ask the operator first; at most two spares a person, hand baggage only, terminals covered", wh), carriageSource}
	}
	return Carriage{Cargo, fmt.Sprintf("%.1f Wh: not in passenger baggage; as cargo alone (UN 3480) at 30 %% charge or less", wh), carriageSource}
}
