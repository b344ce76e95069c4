package cli

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"
	"time"

	"fieldfare/plan/assess"
)

type rigsCmd struct {
	Dir   string    `arg:"" help:"Shoot folder." type:"path"`
	Slate string    `arg:"" help:"Slate."`
	At    time.Time `help:"Instant in RFC 3339; the slate's best moment where left out."`
}

func (c *rigsCmd) Run(s *Session) error {
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	t, at, err := slateAt(s, a, c.Slate, c.At)
	if err != nil {
		return err
	}
	candidates, err := a.Rigs(s.Context, c.Slate, at)
	if err != nil {
		return err
	}
	result := struct {
		Slate   string             `json:"slate"`
		At      time.Time          `json:"at"`
		Rigs    []assess.Candidate `json:"rigs"`
		Caution string             `json:"caution"`
	}{c.Slate, at.In(t.Zone()), candidates, SafetySentence}
	return s.emit(result, func(w io.Writer) {
		fmt.Fprintf(w, "%s %s, at %s\n\n", c.Slate, t.Slate.Title, result.At.Format("Mon 2 Jan 15:04"))
		tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintln(tw, "rig\tcan\tlens\ttake-off\tspare\ttakes a pack\tthrust\tnoise\taxes\tcrew")
		for _, x := range candidates {
			fmt.Fprintf(tw, "%s\t%s\t%s\t%.2f kg\t%.2f kg\t%s\t%s\t%s\t%d\t%s\n", x.Rig, yes(x.Can), dash(x.Lens), x.MassKg, x.MassMarginKg,
				whole(x.TakesPerPack), decimal(x.ThrustRatio, "%.2f"), decimal(x.NoiseDB, "%.0f dB(A)"), x.Axes, map[bool]string{true: "one", false: "two"}[x.SingleOperator])
		}
		tw.Flush()
		for _, x := range candidates {
			fmt.Fprintf(w, "\n%s: %s\n", x.Rig, strings.Join(x.Why, "\n    "))
			if x.Fit != nil {
				fmt.Fprintf(w, "    power: %s; hover efficiency %.3f, accessories %.0f W, spread %s\n", x.Fit.Note, x.Fit.Efficiency, x.Fit.AccessoryW, decimal(x.Fit.SpreadPct, "%.1f %%"))
				for _, h := range x.Fit.Hovers {
					fmt.Fprintf(w, "    fitted to a hover of %.2f kg (%s): measured %.0f W, model %.0f W, %+.1f %%\n", h.MassKg, h.Source, h.MeasuredW, h.ModelW, fine(h.ResidualPct))
				}
				fmt.Fprintf(w, "    caution: %s\n", x.Fit.Caution)
			}
			tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
			for _, q := range x.Tests {
				met := "unknown"
				if q.Met != nil {
					met = yes(*q.Met)
				}
				fmt.Fprintf(tw, "    %s\t%s\t%s\tagainst %s\t[%s]\n", q.About, met, q.Value, dash(q.Limit), q.Basis)
			}
			tw.Flush()
		}
		fmt.Fprintf(w, "\n%s\n", SafetySentence)
	})
}

// fine drops a rounding's sign.
func fine(v float64) float64 { return math.Round(v*1e6)/1e6 + 0 }

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func dash(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

func whole(v *int) string {
	if v == nil {
		return "unknown"
	}
	return fmt.Sprint(*v)
}

func decimal(v *float64, form string) string {
	if v == nil {
		return "unknown"
	}
	return fmt.Sprintf(form, *v)
}
