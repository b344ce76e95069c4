package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	ics "github.com/arran4/golang-ical"

	"fieldfare/desk/draw"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
	"fieldfare/plan/window"
)

type lightCmd struct {
	Dir   string      `arg:"" help:"Shoot folder." type:"path"`
	Slate string      `arg:"" optional:"" help:"One slate; all where left out."`
	From  *shoot.Date `help:"First date; the shoot's first where left out."`
	To    *shoot.Date `help:"Last date; the shoot's last where left out."`
	Top   int         `help:"How many days to list, the best first." default:"10"`
	ICS   string      `name:"ics" help:"Also write the windows as an iCalendar file." type:"path"`
	SVG   string      `name:"svg" help:"Also draw the slate's sky on the first date." type:"path"`
	Force bool        `help:"Overwrite an existing file."`
}

type slateLight struct {
	Slate string            `json:"slate"`
	Title string            `json:"title"`
	Light []string          `json:"light"`
	Days  []window.LightDay `json:"days"` // best first
	Never int               `json:"days_without"`
}

type lightResult struct {
	From    string       `json:"from"`
	To      string       `json:"to"`
	Zone    string       `json:"zone"`
	Slates  []slateLight `json:"slates"`
	Caution string       `json:"caution"`
}

func (c *lightCmd) Run(s *Session) error {
	for _, file := range []string{c.ICS, c.SVG} {
		if _, err := os.Stat(file); file != "" && err == nil && !c.Force {
			return fmt.Errorf("%s exists; choose another name or add --force", file)
		}
	}
	if c.Top < 1 {
		return fmt.Errorf("--top %d: expected how many days to list, from 1 on", c.Top)
	}
	if c.SVG != "" && c.Slate == "" {
		return errors.New("--svg draws one slate: name it, as in fieldfare light DIR 4B --svg FILE")
	}
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	first, last := a.Shoot.Dates[0], a.Shoot.Dates[len(a.Shoot.Dates)-1]
	if c.From != nil {
		first = *c.From
		last = max2(last, first)
	}
	if c.To != nil {
		last = *c.To
	}
	if last.Before(first) {
		return fmt.Errorf("--to %s lies before --from %s; swap them", last, first)
	}
	if err := a.Cover(first, last); err != nil {
		return err
	}
	takes := a.Takes()
	if c.Slate != "" {
		t := a.Take(c.Slate)
		if t == nil {
			return fmt.Errorf("no slate %q in this shoot", c.Slate)
		}
		takes = []*assess.Take{t}
	}
	result := lightResult{From: first.String(), To: last.String(), Zone: a.Shoot.Zone, Caution: SafetySentence + " " + window.LightOnly}
	for _, t := range takes {
		days, err := window.Season(s.Context, t, first, last, progressOn(s.Err, t.Slate.Slate))
		if err != nil {
			return fmt.Errorf("stopped: %w", err)
		}
		x := slateLight{Slate: t.Slate.Slate, Title: t.Slate.Title, Light: t.Slate.Light}
		x.Days, x.Never = window.Best(days, c.Top)
		result.Slates = append(result.Slates, x)
	}
	if c.ICS != "" {
		if err := shoot.Save(c.ICS, []byte(calendar(result, a.Shoot))); err != nil {
			return err
		}
	}
	if c.SVG != "" {
		var picture bytes.Buffer
		if err := draw.SlateLight(&picture, a, takes[0], first, "sky"); err != nil {
			return err
		}
		if err := shoot.Save(c.SVG, picture.Bytes()); err != nil {
			return err
		}
	}
	return s.emit(result, func(w io.Writer) { printLight(w, result) })
}

func max2(a, b shoot.Date) shoot.Date {
	if a.Before(b) {
		return b
	}
	return a
}

// progressOn writes a line that rewrites itself to a terminal, nothing to a file or a pipe.
func progressOn(w io.Writer, what string) func(done, all int) {
	f, ok := w.(*os.File)
	if !ok {
		return nil
	}
	if info, err := f.Stat(); err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return nil
	}
	return func(done, all int) {
		end := "\r"
		if done == all {
			end = "\r\033[K"
		}
		fmt.Fprintf(f, "%s: %d of %d days%s", what, done, all, end)
	}
}

func printLight(w io.Writer, r lightResult) {
	fmt.Fprintf(w, "light from %s to %s (%s)\n", r.From, r.To, r.Zone)
	for _, x := range r.Slates {
		fmt.Fprintf(w, "\n%s  %s: %s\n", x.Slate, x.Title, strings.Join(x.Light, ", "))
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		for _, d := range x.Days {
			for _, win := range d.Windows {
				fmt.Fprintf(t, "  %s\t%s-%s\t%d min\tbegins: %s\tends: %s\n", d.Date, win.From.Format("15:04"), until(win), int(win.To.Sub(win.From)/time.Minute), win.Begins, win.Ends)
			}
		}
		t.Flush()
		if x.Never > 0 {
			days := "days"
			if x.Never == 1 {
				days = "day"
			}
			fmt.Fprintf(w, "  %d %s without this light\n", x.Never, days)
		}
	}
	fmt.Fprintf(w, "\n%s\n", r.Caution)
}

// calendar writes the windows by RFC 5545. Its stamps are those of the windows, so that equal
// shoots give equal files.
func calendar(r lightResult, s *shoot.Shoot) string {
	cal := ics.NewCalendar()
	cal.SetMethod(ics.MethodPublish)
	cal.SetProductId("-//fieldfare//light windows//EN")
	for _, x := range r.Slates {
		for _, d := range x.Days {
			for i, win := range d.Windows {
				e := cal.AddEvent(fmt.Sprintf("%s-%s-%d@fieldfare", x.Slate, d.Date, i))
				e.SetDtStampTime(win.From)
				e.SetStartAt(win.From)
				e.SetEndAt(win.To)
				e.SetSummary(fmt.Sprintf("%s light: %s", x.Slate, x.Title))
				e.SetLocation(s.Site.Name)
				e.SetDescription(fmt.Sprintf("%s. Begins: %s. Ends: %s. %s", strings.Join(x.Light, ", "), win.Begins, win.Ends, r.Caution))
			}
		}
	}
	return cal.Serialize(ics.WithNewLineWindows)
}
