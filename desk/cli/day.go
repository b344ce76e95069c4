package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"golang.org/x/sync/errgroup"

	"fieldfare/desk/draw"
	"fieldfare/model/air"
	"fieldfare/model/unit"
	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
	"fieldfare/plan/shoot"
)

type dayCmd struct {
	Dir   string        `arg:"" help:"Shoot folder." type:"path"`
	Seed  uint64        `help:"Seed of the search; the same seed gives the same day."`
	Limit time.Duration `help:"Stop the search after this time, as in 2s. Without it the search counts work, not seconds."`
	Odds  int           `help:"Also sample this many days with delays and shifted weather, and say how likely each slate is." placeholder:"SAMPLES"`
	SVG   string        `name:"svg" help:"Also draw the days, one file each: NAME-DATE.svg." type:"path" placeholder:"NAME"`
	Force bool          `help:"Overwrite existing files."`

	Now       time.Time             `help:"Plan again from this instant (RFC 3339), disturbing little." group:"planning again"`
	Done      []string              `help:"Slates that are got." group:"planning again"`
	Committed []string              `help:"Slates to keep at their time if it can be." group:"planning again"`
	Pack      map[string]unit.Ratio `help:"Charge of a pack as found, as in P1=40%." group:"planning again"`
	Wind      *unit.Speed           `help:"Mean wind at 10 m above ground, met now, until the end of the day." group:"planning again"`
	Gust      *unit.Speed           `help:"Gusts likewise." group:"planning again"`
}

type dayResult struct {
	*call.Sheet
	Changes []day.Move `json:"changes,omitempty"` // what became of each slate, when planned again
	Odds    *call.Odds `json:"odds,omitempty"`
}

func (c *dayCmd) Run(s *Session) error {
	again := !c.Now.IsZero()
	if !again && (len(c.Done) > 0 || len(c.Committed) > 0 || len(c.Pack) > 0 || c.Wind != nil || c.Gust != nil) {
		return errors.New("planning again needs the time: add --now, as in --now 2026-09-22T11:00:00+02:00")
	}
	if c.Odds < 0 {
		return fmt.Errorf("--odds %d: expected the number of days to sample, as in 200", c.Odds)
	}
	if err := c.met(); err != nil {
		return err
	}
	ctx := s.Context
	if c.Limit > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, c.Limit)
		defer cancel()
	}
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	for _, slate := range append(append([]string(nil), c.Done...), c.Committed...) {
		if a.Take(slate) == nil {
			return fmt.Errorf("no slate %q in this shoot", slate)
		}
	}
	checked, err := check.Run(s.Context, a)
	if err != nil {
		return err
	}
	var since call.Since
	var found errgroup.Group // while the day is planned that is planned again
	if again {
		found.Go(func() (err error) {
			since, err = c.since(s.Context, a)
			return err
		})
	}
	planned, err := call.Keep(ctx, a, checked, day.Options{Seed: c.Seed})
	if e := found.Wait(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	result := dayResult{}
	if again {
		if planned, result.Changes, err = planned.Again(ctx, since, day.Options{Seed: c.Seed}); err != nil {
			return err
		}
	}
	result.Sheet = planned.Sheet
	if c.Odds > 0 {
		if result.Odds, err = planned.Odds(s.Context, c.Odds, day.Options{Seed: c.Seed}); err != nil {
			return err
		}
	}
	if c.SVG != "" {
		if err := c.draw(a, checked, planned.Sheet); err != nil {
			return err
		}
	}
	return s.emit(result, func(w io.Writer) {
		for _, m := range result.Changes {
			fmt.Fprintf(w, "%-8s%s\n", m.Kind, m.Sentence)
		}
		if len(result.Changes) > 0 {
			fmt.Fprintln(w)
		}
		printSheet(w, result.Sheet)
		if result.Odds != nil {
			printOdds(w, result.Odds)
		}
	})
}

// met refuses winds that cannot have been met.
func (c *dayCmd) met() error {
	const most = unit.Speed(120) // as in a table of weather
	if c.Wind != nil && (*c.Wind < 0 || *c.Wind > most) {
		return fmt.Errorf("--wind %v: expected 0 m/s to %v", *c.Wind, most)
	}
	if c.Gust != nil && (*c.Gust < 0 || *c.Gust > most) {
		return fmt.Errorf("--gust %v: expected 0 m/s to %v", *c.Gust, most)
	}
	if c.Wind != nil && c.Gust != nil && *c.Gust < *c.Wind {
		return fmt.Errorf("--gust %v is below --wind %v: gusts are at least the mean wind; swap the two or leave --gust out", *c.Gust, *c.Wind)
	}
	return nil
}

// since gathers what is known on location.
func (c *dayCmd) since(ctx context.Context, a *assess.Assessor) (call.Since, error) {
	since := call.Since{From: c.Now, Done: c.Done, Committed: c.Committed}
	for name, share := range c.Pack {
		if share < 0 || share > 1 {
			return since, fmt.Errorf("charge of pack %s: %s lies outside 0 to 100 %%: write the percent sign, as in --pack %s=40%%", name, share, name)
		}
		if since.Packs == nil {
			since.Packs = map[string]float64{}
		}
		since.Packs[name] = float64(share)
	}
	if c.Wind == nil && c.Gust == nil {
		return since, nil
	}
	met := a.Shoot.Met(c.Now, func(w *air.Weather) {
		if c.Wind != nil {
			w.WindMS, w.GustMS = air.Known(float64(*c.Wind)), air.Reading{} // the forecast's gusts belong to its wind
		}
		if c.Gust != nil {
			w.GustMS = air.Known(float64(*c.Gust))
		}
	})
	now, _, err := assess.Renew(ctx, met, a)
	if err != nil {
		return since, err
	}
	since.Assessor = now
	since.Check, err = check.Run(ctx, now)
	return since, err
}

func printOdds(w io.Writer, o *call.Odds) {
	fmt.Fprintf(w, "\n%d days sampled (flights and changeovers %.0f %% longer on average, call %.0f min late, windows shifted by %.0f min: a guess, no source)\n", o.Samples, 100*o.Delays.Share, o.Delays.CallS/60, o.Delays.WeatherS/60)
	fmt.Fprintf(w, "every must is got on %.0f %% of them\n", 100*o.AllMusts)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, x := range o.Slates {
		fmt.Fprintf(t, "  %s\t%s\t%.0f %%\tslack %d min\tlatest %s\n", x.Slate, x.Priority, 100*x.Chance, x.SlackS/60, x.Latest.Format("Mon 15:04"))
	}
	t.Flush()
	if o.Calmer != nil {
		fmt.Fprintf(w, "a calmer day: %s\n", o.Calmer.Sentence)
		printSheet(w, o.Calmer.Sheet)
	}
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
		for _, x := range d.Sorties {
			if x.Swap != "" {
				fmt.Fprintf(w, "before %s  %s, %s\n", clock(x.Start), x.Rig, x.Swap)
			}
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

// draw writes each day's strip as SVG.
func (c *dayCmd) draw(a *assess.Assessor, checked *check.Check, sheet *call.Sheet) error {
	for _, d := range sheet.Days {
		file := strings.TrimSuffix(c.SVG, ".svg") + "-" + d.Date + ".svg"
		if _, err := os.Stat(file); err == nil && !c.Force {
			return fmt.Errorf("%s exists; choose another name or add --force", file)
		}
		strip, err := draw.NewDayStrip(a, checked, d)
		if err != nil {
			return err
		}
		const widthMM = 280
		var picture bytes.Buffer
		if err := draw.SVG(&picture, "day", sheet.Title+", "+d.Date, widthMM, strip.HeightMM(), func(p draw.Pen) { strip.Draw(p, widthMM) }); err != nil {
			return err
		}
		if err := shoot.Save(file, picture.Bytes()); err != nil {
			return err
		}
	}
	return nil
}
