package cli

import (
	"fmt"
	"io"
	"math"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/model/gimbal"
	"fieldfare/model/unit"
)

type balanceCmd struct {
	Item  []balanceItem `required:"" sep:"none" placeholder:"NAME,MASS,X,Y,Z" help:"A part: name, mass, and position right, forward and up of the axes, as in lens,240g,0,55,3mm; the last unit holds for all three. A sixth word tilt, roll or pan names the innermost axis that turns it (tilt if left out); a seventh, fixed, keeps it when the plate moves."`
	Arm   unit.Length   `default:"100mm" help:"Distance from the axis at which a counterweight would sit."`
	Limit unit.Torque   `help:"Static moment that the motors are given to hold, to say what is within it."`
}

// balanceItem reads NAME,MASS,X,Y,Z[,AXIS[,fixed]].
type balanceItem gimbal.Item

func (b *balanceItem) UnmarshalText(text []byte) error {
	f := strings.Split(string(text), ",")
	if len(f) < 5 || len(f) > 7 {
		return fmt.Errorf("%q is not a part: write name, mass and three positions, as in lens,240g,0,55,3mm", text)
	}
	item := gimbal.Item{Name: strings.TrimSpace(f[0])}
	mass, err := unit.ParseMass(f[1])
	if err != nil {
		return fmt.Errorf("part %q: %w", item.Name, err)
	}
	item.MassKg = float64(mass)
	symbol := strings.TrimLeft(strings.TrimSpace(f[4]), "+-.0123456789eE ")
	var at [3]float64
	for i, text := range f[2:5] {
		length, err := unit.ParseLength(text)
		if err != nil {
			length, err = unit.ParseLength(strings.TrimSpace(text) + symbol)
		}
		if err != nil {
			return fmt.Errorf("part %q: %w", item.Name, err)
		}
		at[i] = float64(length)
	}
	item.At = geo.Vec3{X: at[0], Y: at[1], Z: at[2]}
	if len(f) > 5 {
		switch strings.TrimSpace(f[5]) {
		case "tilt":
		case "roll":
			item.On = gimbal.Roll
		case "pan":
			item.On = gimbal.Pan
		default:
			return fmt.Errorf("part %q: %q is not tilt, roll or pan", item.Name, f[5])
		}
	}
	if len(f) > 6 {
		if strings.TrimSpace(f[6]) != "fixed" {
			return fmt.Errorf("part %q: %q is not the word fixed", item.Name, f[6])
		}
		item.Fixed = true
	}
	*b = balanceItem(item)
	return nil
}

type balanceAxis struct {
	Moment        float64 `json:"moment_n_mm"`
	Shift         float64 `json:"shift_mm"`
	Counterweight float64 `json:"counterweight_g"`
	Direction     string  `json:"direction"`
	Worst         float64 `json:"worst_moment_n_mm"`
	Inertia       float64 `json:"inertia_kg_m2"`
	Within        *bool   `json:"within_limit,omitempty"`
}

type balanceStep struct {
	Plate  string  `json:"plate"`
	Moment float64 `json:"moment_n_mm"`
	Shift  float64 `json:"shift_mm"`
}

type balanceResult struct {
	Tilt  balanceAxis   `json:"tilt"`
	Roll  balanceAxis   `json:"roll"`
	Pan   balanceAxis   `json:"pan"`
	Steps []balanceStep `json:"steps"`

	Mass    float64 `json:"mass_g"`
	Arm     float64 `json:"counterweight_arm_mm"`
	Caution string  `json:"caution"`
}

// thousandths gives N m in N mm, m in mm and kg in g, without the dust of rounding.
func thousandths(v float64) float64 { return math.Round(v*1e9)/1e6 + 0 }

func (c balanceCmd) Run(s *Session) error {
	items := make([]gimbal.Item, len(c.Item))
	for i, it := range c.Item {
		items[i] = gimbal.Item(it)
	}
	if err := gimbal.Check(items); err != nil {
		return err
	}
	if !(c.Arm >= 0.001 && c.Arm <= 2) {
		return fmt.Errorf("counterweight arm %v: expected 1 mm to 2 m", c.Arm.Text("mm"))
	}
	r := balanceResult{Arm: c.Arm.Millimetres(), Caution: SafetySentence}
	// Each axis as it stands; the steps below take them in order.
	axis := func(a gimbal.Axis, p gimbal.Plate) balanceAxis {
		load := gimbal.Carried(items, a, gimbal.Shifts{})
		set := gimbal.Alone(items, p, float64(c.Arm))
		b := balanceAxis{Moment: thousandths(set.MomentNM), Shift: thousandths(set.ShiftM), Counterweight: thousandths(set.CounterweightKg),
			Direction: p.String(), Worst: thousandths(load.WorstNM(a)), Inertia: load.InertiaKgM2}
		if c.Limit > 0 {
			within := load.WorstNM(a) <= float64(c.Limit)
			b.Within = &within
		}
		return b
	}
	r.Tilt, r.Roll, r.Pan = axis(gimbal.Tilt, gimbal.CameraForward), axis(gimbal.Roll, gimbal.RollSide), axis(gimbal.Pan, gimbal.PanForward)
	for _, set := range gimbal.Settings(items, float64(c.Arm)) {
		r.Steps = append(r.Steps, balanceStep{set.Plate.String(), thousandths(set.MomentNM), thousandths(set.ShiftM)})
	}
	r.Mass = gimbal.Carried(items, gimbal.Pan, gimbal.Shifts{}).MassKg * 1000
	return s.emit(r, func(w io.Writer) {
		fmt.Fprintf(w, "carried  %.0f g\n", r.Mass)
		for _, a := range []struct {
			name string
			balanceAxis
		}{{"tilt", r.Tilt}, {"roll", r.Roll}, {"pan", r.Pan}} {
			fmt.Fprintf(w, "%-5s    %+.1f N mm (at worst %.1f N mm): move %+.1f mm, or %.0f g at %.0f mm on the light side", a.name, a.Moment, a.Worst, a.Shift, a.Counterweight, r.Arm)
			switch {
			case a.Within == nil:
			case *a.Within:
				fmt.Fprint(w, "; within the limit as it is")
			default:
				fmt.Fprint(w, "; over the limit")
			}
			fmt.Fprintln(w)
		}
		fmt.Fprintln(w, "in order:")
		for i, step := range r.Steps {
			fmt.Fprintf(w, "  %d. %s\n", i+1, gimbal.Plate(i).Move(step.Shift/1000))
		}
		fmt.Fprintln(w, SafetySentence)
	})
}
