package cli

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/model/risk"
	"fieldfare/model/unit"
)

// groundCmd answers what a failure in the air means for people on the ground.
type groundCmd struct {
	Mass       unit.Mass           `required:"" help:"Mass at take-off, as in 9.8kg."`
	Height     unit.Length         `required:"" help:"Height above the ground, as in 60m."`
	Speed      unit.Speed          `required:"" help:"Ground speed, as in 10m/s."`
	Wind       unit.Speed          `default:"0m/s" help:"Steady wind, taken to blow the way the aircraft flies."`
	Diameter   unit.Length         `required:"" help:"Characteristic dimension: the greatest span, propellers included."`
	Visibility *unit.Length        `help:"Ground visibility, for the detection line of sight."`
	Density    *unit.PeopleDensity `help:"People on the ground below, as in 300/km2, for the ground risk class; 0/km2 is empty, uncontrolled ground."`
	Controlled bool                `help:"The ground below is a controlled ground area: nobody is there who takes no part."`
	DragArea   *squareMetres       `help:"Drag coefficient times frontal area, as in 0.2m2. Without it the worst of no drag up to a flat disc is told."`
	AirDensity unit.Density        `default:"1.225kg/m3" help:"Air density."`
	FixedWing  bool                `help:"The aircraft is a fixed wing."`
}

// squareMetres is an area typed with its unit.
type squareMetres float64

// UnmarshalText implements encoding.TextUnmarshaler.
func (a *squareMetres) UnmarshalText(text []byte) error {
	rest, ok := strings.CutSuffix(strings.TrimSpace(string(text)), "m2")
	v, err := strconv.ParseFloat(strings.TrimSpace(rest), 64)
	if !ok || err != nil || !(v >= 0) || math.IsInf(v, 0) {
		return fmt.Errorf("%q is not an area: write a number and m2, as in 0.2m2", text)
	}
	*a = squareMetres(v)
	return nil
}

type groundResult struct {
	ImpactDistanceM  float64           `json:"impact_distance_m"`
	ImpactSpeedMS    float64           `json:"impact_speed_m_s"`
	ImpactEnergyJ    float64           `json:"impact_energy_j"`
	Buffer1to1M      float64           `json:"buffer_1to1_m"`
	BufferBallisticM float64           `json:"buffer_ballistic_m"`
	AlosM            float64           `json:"alos_m"`
	DlosM            *float64          `json:"dlos_m"`
	VlosM            *float64          `json:"vlos_m"`
	GRC              *int              `json:"grc"`
	Drag             string            `json:"drag"`
	Unknown          []string          `json:"unknown"`
	Basis            map[string]string `json:"basis"`
	Caution          string            `json:"caution"`
}

// discDragCoefficient is that of a flat disc across the stream (textbook, about 1.1 to
// 1.2): no aircraft of the span has more drag area than such a disc.
const discDragCoefficient = 1.2

// Run computes and prints.
func (c *groundCmd) Run(s *Session) error {
	configuration := risk.Rotorcraft
	if c.FixedWing {
		configuration = risk.FixedWing
	}
	r := groundResult{Caution: SafetySentence, Unknown: []string{}, Basis: map[string]string{
		"impact": risk.BasisFall, "buffer": risk.BasisGroundRiskBuffer, "line_of_sight": risk.BasisLineOfSight, "grc": risk.BasisGroundRiskClass,
	}}
	if err := c.impact(&r); err != nil {
		return err
	}
	var err error
	if r.Buffer1to1M, err = risk.OneToOneBuffer(float64(c.Height), float64(c.Diameter)); err != nil {
		return err
	}
	if r.BufferBallisticM, err = risk.BallisticBuffer(float64(c.Speed), float64(c.Height), float64(c.Diameter)); err != nil {
		return err
	}
	if r.AlosM, err = risk.AttitudeLineOfSight(configuration, float64(c.Diameter)); err != nil {
		return err
	}
	if c.Visibility == nil {
		r.Unknown = append(r.Unknown, "dlos_m and vlos_m need --visibility")
	} else {
		detection, err := risk.DetectionLineOfSight(float64(*c.Visibility))
		if err != nil {
			return err
		}
		limit := math.Min(r.AlosM, detection)
		r.DlosM, r.VlosM = &detection, &limit
	}
	return c.class(s, &r)
}

func (c *groundCmd) impact(r *groundResult) error {
	start, along := geo.Vec3{Z: float64(c.Height)}, geo.Vec3{X: float64(c.Speed)}
	air := risk.Air{DensityKgM3: float64(c.AirDensity), SteadyMS: geo.Vec3{X: float64(c.Wind)}}
	if c.Wind < 0 || c.Speed < 0 {
		return fmt.Errorf("speed %s and wind %s: expected 0 or more", c.Speed, c.Wind)
	}
	if c.DragArea != nil {
		body := risk.Body{MassKg: float64(c.Mass), DragAreaM2: float64(*c.DragArea)}
		impact, err := body.Fall(start, along, air, risk.Level(0))
		if err != nil {
			return err
		}
		r.ImpactDistanceM, r.ImpactSpeedMS, r.ImpactEnergyJ = impact.DistanceM, impact.SpeedMS, impact.EnergyJ
		r.Drag = fmt.Sprintf("drag area %g m2 as given, wind along the flight", float64(*c.DragArea))
		return nil
	}
	disc := discDragCoefficient * math.Pi / 4 * float64(c.Diameter) * float64(c.Diameter)
	farthest, hardest, err := risk.WorstFall(float64(c.Mass), disc, start, along, air, risk.Level(0))
	if err != nil {
		return err
	}
	r.ImpactDistanceM, r.ImpactSpeedMS, r.ImpactEnergyJ = farthest.DistanceM, hardest.SpeedMS, hardest.EnergyJ
	r.Drag = fmt.Sprintf("drag area not given: the farthest and the hardest fall of drag areas from 0 to %.3g m2, wind along the flight", disc)
	return nil
}

func (c *groundCmd) class(s *Session, r *groundResult) error {
	var people float64
	switch {
	case c.Controlled:
		people = risk.ControlledGround
	case c.Density != nil:
		people = float64(*c.Density) * 1e6
	default:
		r.Unknown = append(r.Unknown, "grc needs --density or --controlled")
		return s.emit(r, r.text)
	}
	class, err := risk.GroundRiskClass(float64(c.Mass), float64(c.Diameter), float64(c.Speed), people)
	switch {
	case errors.Is(err, risk.ErrOutsideTable):
		r.Unknown = append(r.Unknown, "grc: "+err.Error())
	case err != nil:
		return err
	default:
		r.GRC = &class
	}
	return s.emit(r, r.text)
}

func (r *groundResult) text(w io.Writer) {
	known := func(name string, v *float64) {
		if v == nil {
			fmt.Fprintf(w, "%-28s unknown\n", name)
			return
		}
		fmt.Fprintf(w, "%-28s %.1f m\n", name, *v)
	}
	fmt.Fprintf(w, "%-28s %.1f m\n", "falls up to this far", r.ImpactDistanceM)
	fmt.Fprintf(w, "%-28s %.1f m/s\n", "meets the ground at up to", r.ImpactSpeedMS)
	fmt.Fprintf(w, "%-28s %.0f J\n", "with up to", r.ImpactEnergyJ)
	fmt.Fprintf(w, "  %s\n", r.Drag)
	fmt.Fprintf(w, "%-28s %.1f m\n", "ground risk buffer, 1:1", r.Buffer1to1M)
	fmt.Fprintf(w, "%-28s %.1f m (without wind and drag)\n", "ground risk buffer, ballistic", r.BufferBallisticM)
	fmt.Fprintf(w, "%-28s %.1f m\n", "attitude line of sight", r.AlosM)
	known("detection line of sight", r.DlosM)
	known("line-of-sight limit", r.VlosM)
	if r.GRC == nil {
		fmt.Fprintf(w, "%-28s unknown\n", "intrinsic ground risk class")
	} else {
		fmt.Fprintf(w, "%-28s %d (before any mitigation)\n", "intrinsic ground risk class", *r.GRC)
	}
	for _, u := range r.Unknown {
		fmt.Fprintln(w, "unknown:", u)
	}
	for _, key := range []string{"impact", "buffer", "line_of_sight", "grc"} {
		fmt.Fprintf(w, "basis of %s: %s\n", strings.ReplaceAll(key, "_", " "), r.Basis[key])
	}
	fmt.Fprintln(w, r.Caution)
}
