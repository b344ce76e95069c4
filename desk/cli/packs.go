package cli

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"fieldfare/plan/assess"
)

type packsCmd struct {
	Dir string `arg:"" help:"Shoot folder." type:"path"`
}

func (c *packsCmd) Run(s *Session) error {
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	result := struct {
		ReservePc float64            `json:"reserve_percent"`
		Packs     []assess.PackSheet `json:"packs"`
		Caution   string             `json:"caution"`
	}{100 * float64(a.Shoot.House.Reserve), a.PackSheets(), SafetySentence}
	return s.emit(result, func(w io.Writer) {
		reserve := fmt.Sprintf("%.0f %%", result.ReservePc)
		if result.ReservePc == 0 {
			reserve = "unknown: enter reserve: under house:"
		}
		fmt.Fprintf(w, "Energy on the coldest hour of the forecast between 6 and 21; reserve at landing %s\n\n", reserve)
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintln(t, "pack\tmodel\tlabel\thealth\tfull\tusable\thover\tcharge from the reserve\tlimited by\trigs\tby air")
		for _, p := range result.Packs {
			fmt.Fprintf(t, "%s\t%s\t%.0f Wh\t%.0f %%\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", p.Name, p.Model, p.RatedWh, p.HealthPc, decimal(p.FullWh, "%.0f Wh"), decimal(p.UsableWh, "%.0f Wh"),
				minutes(p.HoverS), minutes(p.ChargeS), dash(p.ChargeBy), dash(strings.Join(p.Fits, ", ")), p.ByAir.Class)
		}
		t.Flush()
		noted := map[string]bool{}
		fmt.Fprintln(w, "\nTravel by air:")
		for _, p := range result.Packs {
			for _, u := range p.Unknown {
				fmt.Fprintf(w, "unknown %s: %s\n", p.Name, u)
			}
			if text := p.ByAir.Note + " [" + p.ByAir.Source + "]"; !noted[text] {
				noted[text] = true
				fmt.Fprintf(w, "%s: %s\n", p.Model, text)
			}
		}
		fmt.Fprintf(w, "\n%s\n", SafetySentence)
	})
}

func minutes(s *float64) string {
	if s == nil {
		return "unknown"
	}
	return fmt.Sprintf("%.0f min", *s/60)
}
