package cli

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"fieldfare/plan/assess"
)

type gimbalCmd struct {
	Dir string `arg:"" help:"Shoot folder." type:"path"`
	Rig string `arg:"" optional:"" help:"Rig; all that film where left out."`
}

func (c *gimbalCmd) Run(s *Session) error {
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	var names []string
	if c.Rig != "" {
		names = []string{c.Rig}
	} else {
		for _, r := range a.Shoot.Rigs {
			if !r.Trainer {
				names = append(names, r.Name)
			}
		}
	}
	result := struct {
		Rigs    []assess.BalanceSheet `json:"rigs"`
		Caution string                `json:"caution"`
	}{[]assess.BalanceSheet{}, SafetySentence}
	for _, name := range names {
		sheet, err := a.BalanceSheet(name)
		if err != nil {
			return err
		}
		result.Rigs = append(result.Rigs, sheet)
	}
	return s.emit(result, func(w io.Writer) {
		for _, x := range result.Rigs {
			printBalance(w, x)
		}
		fmt.Fprintln(w, SafetySentence)
	})
}

func printBalance(w io.Writer, x assess.BalanceSheet) {
	fmt.Fprintf(w, "%s on %s\n\nPlates for the bare lens, in the order in which they are set, from the middle of their travel:\n", x.Rig, x.Gimbal)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "lens\tplate\tmoment\tmove\tor counterweight\ttravel")
	for _, l := range x.Lenses {
		name := fmt.Sprintf("%s, %.0f g", l.Lens, 1000*l.PayloadKg)
		for _, p := range l.Plates {
			moment, weight := fmt.Sprintf("%.1f N mm", p.MomentNmm), fmt.Sprintf("%.0f g at %.0f mm", p.CounterweightG, p.ArmMM)
			if !p.Known {
				moment, weight = "unknown", "unknown"
			} else if p.CounterweightG < 0.5 {
				weight = "none"
			}
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", name, p.Plate, moment, p.Says, weight, decimal(p.TravelMM, "±%.0f mm"))
			name = ""
		}
	}
	t.Flush()
	fmt.Fprintln(w, "\nSwaps, and the moment left if no plate is moved:")
	t = tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, s := range x.Swaps {
		held := "unknown: enter torque: for the gimbal"
		if s.Unaided != nil {
			held = map[bool]string{true: "held", false: "rebalance"}[*s.Unaided]
		}
		fmt.Fprintf(t, "%s\t%.1f N mm\t%s\n", s.Says, math.Max(s.TiltNmm, math.Max(s.RollNmm, s.PanNmm)), held)
	}
	t.Flush()
	fmt.Fprintln(w)
}
