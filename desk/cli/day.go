package cli

import (
	"context"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
)

type dayCmd struct {
	Dir   string        `arg:"" help:"Shoot folder." type:"path"`
	Seed  uint64        `help:"Seed of the search; the same seed gives the same day."`
	Limit time.Duration `help:"Stop the search after this time, as in 2s. Without it the search counts work, not seconds."`
}

func (c *dayCmd) Run(s *Session) error {
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	checked, err := check.Run(s.Context, a)
	if err != nil {
		return err
	}
	ctx := s.Context
	if c.Limit > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, c.Limit)
		defer cancel()
	}
	sheet, err := call.Plan(ctx, a, checked, day.Options{Seed: c.Seed})
	if err != nil {
		return err
	}
	return s.emit(sheet, func(w io.Writer) { printSheet(w, sheet) })
}

func printSheet(w io.Writer, s *call.Sheet) {
	clock := func(t time.Time) string { return t.Format("15:04") }
	for _, d := range s.Days {
		fmt.Fprintf(w, "%s, %s: call %s, wrap %s\n", s.Title, d.Date, clock(d.Call), clock(d.Wrap))
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintln(t, "take-off\tlanding\tlatest\trig\tlens, filter\tpack\tfrom\tslates\tenergy, left")
		for _, x := range d.Sorties {
			var slates []string
			for _, shot := range x.Slates {
				slates = append(slates, fmt.Sprintf("%s %s", shot.Slate, clock(shot.Start)))
			}
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s, %s\t%s\t%s\t%s\t%.0f Wh, %.0f Wh\n", clock(x.Start), clock(x.End), clock(x.Latest), x.Rig, x.Lens, x.Filter, x.Pack, x.Launch, strings.Join(slates, ", "), x.EnergyWh, x.LeftWh)
		}
		t.Flush()
		if len(d.Sorties) == 0 {
			fmt.Fprintln(w, "no sorties")
		}
		for _, b := range d.Breaks {
			fmt.Fprintf(w, "%s to %s  %s\n", clock(b.Start), clock(b.End), b.What)
		}
		for _, c := range d.Charges {
			fmt.Fprintf(w, "%s to %s  pack %s on %s\n", clock(c.Start), clock(c.End), c.Pack, c.Charger)
		}
		fmt.Fprintln(w)
	}
	for _, l := range s.LeftOut {
		fmt.Fprintf(w, "left out  %s (%s): %s\n", l.Slate, l.Priority, l.Reason)
		for _, f := range l.Facts {
			fmt.Fprintf(w, "          because %s\n", f)
		}
		for _, r := range l.Relaxations {
			fmt.Fprintf(w, "          would help: %s\n", r)
		}
	}
	quality := fmt.Sprintf("gap %.2f %%", 100*s.Gap)
	if s.Proved {
		quality = "proved: no better day exists under these facts"
	}
	fmt.Fprintf(w, "\nvalue %.0f of at most %.0f points, %s; search ended: %s\n", s.Score, s.Bound, quality, s.Stopped)
	for _, n := range s.Notes {
		fmt.Fprintln(w, n)
	}
	for _, c := range s.Cautions {
		fmt.Fprintln(w, c)
	}
}
