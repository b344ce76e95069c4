package cli

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/model/rotor"
	"fieldfare/model/unit"
)

// airframeFlags describe an aircraft to the power and endurance calculators.
type airframeFlags struct {
	Mass              unit.Mass    `required:"" help:"Take-off mass."`
	Rotors            int          `required:"" help:"Number of rotors; a coaxial pair counts as two."`
	Diameter          unit.Length  `required:"" help:"Rotor diameter."`
	Density           unit.Density `default:"1.225kg/m3" help:"Air density."`
	Coaxial           bool         `help:"The rotors stand in pairs over one another."`
	FigureOfMerit     float64      `default:"0.6" help:"Hover efficiency of one rotor, ideal over shaft power."`
	InducedFactor     float64      `default:"1.15" help:"Induced power over ideal."`
	ThrustCoefficient float64      `default:"0.01" help:"Thrust over density, disc area and tip speed squared."`
	FlatPlate         flatPlate    `placeholder:"AREA" help:"Equivalent flat-plate area of the airframe, as in 0.05m2; by default 0.02 m2 times mass in kg to the power 2/3."`
	Accessory         unit.Power   `default:"0W" help:"Power of autopilot, gimbal, camera and radio."`
	MaxThrust         unit.Mass    `help:"Greatest thrust of all rotors at sea level, as the mass that it would hold up."`
}

// flatPlate is an area in m².
type flatPlate float64

func (f *flatPlate) UnmarshalText(text []byte) error {
	number, ok := strings.CutSuffix(strings.ReplaceAll(string(text), "²", "2"), "m2")
	v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if !ok || err != nil || !(v > 0 && v <= 5) {
		return fmt.Errorf("%q is not a flat-plate area: write a number up to 5 and m2, as in 0.05m2", text)
	}
	*f = flatPlate(v)
	return nil
}

func (c airframeFlags) flight(driveEfficiency float64) (rotor.Flight, rotor.Airframe, []string, error) {
	a, assumed := rotor.Airframe{Rotors: c.Rotors, DiameterM: float64(c.Diameter), Coaxial: c.Coaxial, FigureOfMerit: c.FigureOfMerit,
		InducedFactor: c.InducedFactor, ThrustCoefficient: c.ThrustCoefficient, DriveEfficiency: driveEfficiency, FlatPlateM2: float64(c.FlatPlate),
		AccessoryW: float64(c.Accessory), MaxThrustN: float64(c.MaxThrust) * 9.80665}.Typical(float64(c.Mass))
	f, err := a.At(float64(c.Mass), float64(c.Density))
	return f, a, assumed, err
}

type powerCmd struct {
	airframeFlags
	Speed           unit.Speed `default:"0m/s" help:"Level airspeed."`
	Climb           unit.Speed `default:"0m/s" help:"Climb rate; negative to descend."`
	Headwind        unit.Speed `default:"0m/s" help:"Headwind for the best-range speed; negative for a tailwind."`
	DriveEfficiency unit.Ratio `default:"100%" help:"Shaft power over pack power. At 100 % the result is shaft power."`
}

type powerResult struct {
	Power          float64  `json:"power_w"`
	HoverPower     float64  `json:"hover_power_w"`
	Induced        float64  `json:"induced_velocity_m_s"`
	HoverInduced   float64  `json:"hover_induced_velocity_m_s"`
	DiscLoading    float64  `json:"disc_loading_n_m2"`
	BestEndurance  float64  `json:"best_endurance_speed_m_s"`
	BestRange      float64  `json:"best_range_speed_m_s"`
	Thrust         float64  `json:"thrust_n"`
	ThrustToWeight *float64 `json:"thrust_to_weight"`
	VortexRing     bool     `json:"vortex_ring_caution"`
	SafeDescent    float64  `json:"descent_caution_above_m_s"`
	RotorOut       string   `json:"rotor_out"`
	RotorOutNote   string   `json:"rotor_out_note"`
	Assumed        []string `json:"assumed"`
	Caution        string   `json:"caution"`
}

func (c powerCmd) Run(s *Session) error {
	if c.Speed < 0 || c.Speed > 80 || c.Climb < -80 || c.Climb > 80 || c.Headwind < -80 || c.Headwind > 80 {
		return fmt.Errorf("speed %v, climb %v, headwind %v: expected a speed from 0 m/s to 80 m/s and the others within 80 m/s", c.Speed, c.Climb, c.Headwind)
	}
	f, _, assumed, err := c.flight(float64(c.DriveEfficiency))
	if err != nil {
		return err
	}
	p := f.Steady(geo.Vec3{X: float64(c.Speed), Z: float64(c.Climb)})
	out := f.RotorOut()
	// Past twice the induced velocity of hover the rotors windmill: the model still gives a number, but nobody flies so.
	past := float64(c.Climb) < -2*f.HoverInducedMS()
	r := powerResult{
		Power: p.PowerW, HoverPower: f.HoverW(), Induced: p.InducedMS, HoverInduced: f.HoverInducedMS(), DiscLoading: f.DiscLoadingNM2(),
		BestEndurance: f.BestEnduranceMS(), BestRange: f.BestRangeMS(float64(c.Headwind)), Thrust: p.ThrustN, VortexRing: p.Vortex || past,
		SafeDescent: f.SafeDescentMS(), RotorOut: out.Class.String(), RotorOutNote: out.Caution, Assumed: notNil(assumed), Caution: SafetySentence,
	}
	if ratio, known := f.ThrustToWeight(); known {
		r.ThrustToWeight = &ratio
	}
	return s.emit(r, func(w io.Writer) {
		fmt.Fprintf(w, "power               %.0f W at %v, climb %v\n", r.Power, c.Speed, c.Climb)
		fmt.Fprintf(w, "hover               %.0f W\n", r.HoverPower)
		fmt.Fprintf(w, "induced velocity    %.2f m/s (hover %.2f m/s)\n", r.Induced, r.HoverInduced)
		fmt.Fprintf(w, "disc loading        %.1f N/m2\n", r.DiscLoading)
		fmt.Fprintf(w, "best endurance at   %.1f m/s\n", r.BestEndurance)
		fmt.Fprintf(w, "best range at       %.1f m/s against a headwind of %v\n", r.BestRange, c.Headwind)
		if r.ThrustToWeight != nil {
			fmt.Fprintf(w, "thrust to weight    %.2f\n", *r.ThrustToWeight)
		} else {
			fmt.Fprintln(w, "thrust to weight    unknown: give --max-thrust")
		}
		if past {
			fmt.Fprintf(w, "caution: this descent is past the vortex-ring state, where rotors windmill and do not steer: the power is the model's alone; keep below %.1f m/s\n", r.SafeDescent)
		} else if r.VortexRing {
			fmt.Fprintf(w, "caution: this descent may enter the vortex-ring state; keep below %.1f m/s or move forward\n", r.SafeDescent)
		}
		fmt.Fprintf(w, "caution: %s\n", r.RotorOutNote)
		if len(assumed) > 0 {
			fmt.Fprintf(w, "assumed: %s\n", strings.Join(assumed, ", "))
		}
		fmt.Fprintln(w, SafetySentence)
	})
}
