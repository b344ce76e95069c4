package cli

import (
	"fmt"
	"io"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/model/pack"
	"fieldfare/model/rotor"
	"fieldfare/model/unit"
)

type enduranceCmd struct {
	airframeFlags
	Speed           unit.Speed       `default:"0m/s" help:"Level airspeed; 0 is hover in still air."`
	Headwind        unit.Speed       `default:"0m/s" help:"Headwind on the way out, tailwind on the way home."`
	DriveEfficiency unit.Ratio       `default:"80%" help:"Shaft power over pack power."`
	HoverTime       unit.Duration    `help:"Maker's or logged hover time: fits the model to it."`
	HoverMass       unit.Mass        `help:"Mass at that hover; by default the take-off mass."`
	HoverEnergy     unit.Energy      `help:"Energy drawn in that hover; by default the whole pack."`
	HoverDensity    unit.Density     `default:"1.225kg/m3" help:"Air density at that hover."`
	Capacity        unit.Charge      `required:"" help:"Rated capacity of the pack."`
	Voltage         unit.Voltage     `required:"" help:"Nominal voltage of the pack."`
	Resistance      unit.Resistance  `default:"0ohm" help:"Resistance of the whole pack."`
	Cycles          int              `help:"Full cycles so far."`
	PackMass        unit.Mass        `help:"Mass of the pack, to check its energy."`
	PackTemperature unit.Temperature `default:"20C" help:"Temperature of the pack."`
	LandAt          unit.Ratio       `default:"25%" help:"Share of the full pack left at landing."`
	ChargerPower    unit.Power       `help:"Greatest output of one charging channel: adds the time to charge again."`
	Supply          unit.Power       `default:"3kW" help:"What mains, generator or inverter gives without a break."`
	PacksOnCharge   int              `default:"1" help:"Packs charged at once."`
}

type enduranceResult struct {
	Power       float64  `json:"power_w"`
	Endurance   float64  `json:"endurance_s"`
	Rated       float64  `json:"rated_wh"`
	Usable      float64  `json:"usable_wh"`
	Reserve     float64  `json:"reserve_wh"`
	Current     float64  `json:"current_a"`
	Rate        float64  `json:"rate_c"`
	TerminalV   float64  `json:"terminal_v"`
	Radius      *float64 `json:"radius_m"`
	Charge      *float64 `json:"charge_s,omitempty"`
	ChargeLimit string   `json:"charge_limited_by,omitempty"`
	Efficiency  *float64 `json:"fitted_efficiency,omitempty"`
	FitNote     string   `json:"fit_note,omitempty"`
	Carriage    string   `json:"carriage"`
	CarriageSrc string   `json:"carriage_source"`
	Assumed     []string `json:"assumed"`
	Caution     string   `json:"caution"`
}

func (c enduranceCmd) Run(s *Session) error {
	if c.Speed < 0 || c.Speed > 80 || c.Headwind < -80 || c.Headwind > 80 {
		return fmt.Errorf("speed %v, headwind %v: expected a speed from 0 m/s to 80 m/s and a headwind within 80 m/s", c.Speed, c.Headwind)
	}
	f, a, assumed, err := c.flight(float64(c.DriveEfficiency))
	if err != nil {
		return err
	}
	p := pack.Pack{ChargeC: float64(c.Capacity), VoltageV: float64(c.Voltage), ResistanceOhm: float64(c.Resistance), Cycles: c.Cycles, MassKg: float64(c.PackMass)}
	if err := p.Check(); err != nil {
		return err
	}
	r := enduranceResult{Caution: SafetySentence, Assumed: notNil(assumed)}
	if c.HoverTime != 0 {
		h := rotor.Hovering{Source: "given hover", MassKg: float64(c.Mass), Density: float64(c.HoverDensity), DurationS: float64(c.HoverTime), EnergyJ: p.RatedJ()}
		if c.HoverMass != 0 {
			h.MassKg = float64(c.HoverMass)
		}
		if c.HoverEnergy != 0 {
			h.EnergyJ = float64(c.HoverEnergy)
		}
		fitted, fit, err := a.Fit([]rotor.Hovering{h})
		if err != nil {
			return err
		}
		if f, err = fitted.At(float64(c.Mass), float64(c.Density)); err != nil {
			return err
		}
		r.Efficiency = &fit.Efficiency
		r.FitNote = fmt.Sprintf("%s: overall hover efficiency %.3f, figure of merit %.3f, drive efficiency %.3f", fit.Note, fit.Efficiency, fitted.FigureOfMerit, fitted.DriveEfficiency)
	}
	r.Power = f.LevelW(float64(c.Speed))
	b, err := p.Budget(float64(c.PackTemperature), r.Power, 1, float64(c.LandAt))
	if err != nil {
		return err
	}
	r.Endurance, r.Rated, r.Usable, r.Reserve = b.EnduranceS(r.Power), b.RatedJ/3600, b.UsableJ/3600, b.ReserveJ/3600
	r.Current, r.Rate, r.TerminalV = b.Draw.CurrentA, b.Draw.Rate, b.Draw.TerminalV
	if c.Speed > 0 {
		// No radius is an answer too: the airspeed makes no way against the wind.
		if radius, err := f.Radius(geo.Vec3{X: 1}, geo.Vec3{X: -float64(c.Headwind)}, float64(c.Speed), b.UsableJ); err == nil {
			r.Radius = &radius
		}
	}
	if c.ChargerPower != 0 {
		g, err := pack.ChargeTime(p, pack.Charger{PowerW: float64(c.ChargerPower), CurrentA: float64(c.ChargerPower) / p.VoltageV}, pack.Supply{PowerW: float64(c.Supply)},
			c.PacksOnCharge, float64(c.LandAt), 1, float64(c.PackTemperature))
		if err != nil {
			return err
		}
		r.Charge, r.ChargeLimit = &g.DurationS, g.Limit
	}
	carriage := p.ByAir()
	r.Carriage, r.CarriageSrc = carriage.Class.String(), carriage.Source
	return s.emit(r, func(w io.Writer) {
		fmt.Fprintf(w, "power        %.0f W, %.1f A (%.1f C), %.1f V at the terminals\n", r.Power, r.Current, r.Rate, r.TerminalV)
		fmt.Fprintf(w, "endurance    %.1f min to landing at %v of the pack\n", r.Endurance/60, c.LandAt)
		fmt.Fprintf(w, "energy       %.1f Wh rated, %.1f Wh usable, %.1f Wh reserve\n", r.Rated, r.Usable, r.Reserve)
		switch {
		case r.Radius != nil:
			fmt.Fprintf(w, "out and back %.0f m each way at %v, headwind out %v\n", *r.Radius, c.Speed, c.Headwind)
		case c.Speed > 0:
			fmt.Fprintf(w, "out and back not possible: %v makes no way against %v\n", c.Speed, c.Headwind)
		}
		if r.FitNote != "" {
			fmt.Fprintf(w, "fit          %s\n", r.FitNote)
		}
		if r.Charge != nil {
			fmt.Fprintf(w, "charging     %.0f min from %v, limited by the %s\n", *r.Charge/60, c.LandAt, r.ChargeLimit)
		}
		fmt.Fprintf(w, "by air       %s (%s)\n", carriage.Note, carriage.Source)
		if len(assumed) > 0 {
			fmt.Fprintf(w, "assumed      %s\n", strings.Join(assumed, ", "))
		}
		fmt.Fprintln(w, SafetySentence)
	})
}
