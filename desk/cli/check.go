package cli

import (
	"context"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
	"fieldfare/plan/window"
)

type checkCmd struct {
	Dir   string   `arg:"" help:"Shoot folder." type:"path"`
	Slate []string `arg:"" optional:"" help:"Only these slates."`
	Brief bool     `help:"Leave notes out of the findings."`
}

// open loads a folder and prepares every slate.
func open(ctx context.Context, dir string) (*assess.Assessor, error) {
	s, err := shoot.Load(dir)
	if err != nil {
		return nil, err
	}
	return assess.New(ctx, s)
}

// slateAt finds a slate's take and the instant to look at it: its best moment where none is given.
func slateAt(s *Session, a *assess.Assessor, slate string, at time.Time) (*assess.Take, time.Time, error) {
	t := a.Take(slate)
	if t == nil {
		return nil, at, fmt.Errorf("no slate %q in this shoot", slate)
	}
	if !at.IsZero() {
		return t, at, nil
	}
	x, err := check.One(s.Context, a.Shoot, t)
	return t, x.At, err
}

func (c *checkCmd) Run(s *Session) error {
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	result, err := check.Run(s.Context, a)
	if err != nil {
		return err
	}
	if len(c.Slate) > 0 {
		if err := keep(result, c.Slate); err != nil {
			return err
		}
	}
	if err := s.emit(result, func(w io.Writer) { printCheck(w, result, !c.Brief) }); err != nil {
		return err
	}
	for _, x := range result.Slates {
		if assess.Has(x.Findings, assess.Stop) || len(x.Windows) == 0 {
			return exit(1)
		}
	}
	return nil
}

func keep(r *check.Check, slates []string) error {
	var kept []check.Slate
	for _, name := range slates {
		found := false
		for _, x := range r.Slates {
			if x.Slate == name {
				kept, found = append(kept, x), true
			}
		}
		if !found {
			return fmt.Errorf("no slate %q in this shoot", name)
		}
	}
	r.Slates = kept
	return nil
}

func printCheck(w io.Writer, r *check.Check, notes bool) {
	fmt.Fprintf(w, "%s, %s, %s (%s)\n\n", r.Title, r.Site, strings.Join(r.Dates, " and "), r.Zone)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "slate\tpriority\trig, lens\tmoves\ttake\tstop/unkn/caut\twindows")
	for _, x := range r.Slates {
		count := map[assess.Severity]int{}
		for _, f := range x.Findings {
			count[f.Severity]++
		}
		fmt.Fprintf(t, "%s\t%s\t%s, %s\t%s\t%.0f s\t%d / %d / %d\t%s\n", x.Slate, x.Priority, x.Rig, x.Lens,
			strings.Join(x.Numbers.Move.Moves, " + "), x.Numbers.Move.DurationS, count[assess.Stop], count[assess.Unknown], count[assess.Caution], windowsText(x))
	}
	t.Flush()
	for _, x := range r.Slates {
		fmt.Fprintf(w, "\n%s  %s", x.Slate, x.Title)
		if len(x.LightOK) > 0 {
			fmt.Fprintf(w, "  (looked at %s)", x.At.Format("Mon 2 Jan 15:04"))
		}
		fmt.Fprintln(w)
		for _, win := range x.LightOK {
			fmt.Fprintf(w, "    %s to %s  begins: %s\n%*sends: %s\n", win.From.Format("Mon 15:04"), until(win), win.Begins, 24, "", win.Ends)
		}
		if len(x.LightOK) == 0 {
			fmt.Fprintf(w, "    no window: %s\n", noWindow(x))
		}
		for _, f := range x.Findings {
			if f.Severity == assess.Note && !notes {
				continue
			}
			fmt.Fprintf(w, "    %s\n", line(f))
		}
	}
	fmt.Fprintln(w)
	for _, c := range r.Cautions {
		fmt.Fprintln(w, c)
	}
}

// line is a finding on one line: severity, what, value against limit, mend, basis.
func line(f assess.Finding) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%-8s%s: %s", f.Severity, f.What, f.Value)
	if f.Limit != "" {
		fmt.Fprintf(&b, " (limit %s)", f.Limit)
	}
	if f.AtS != nil {
		fmt.Fprintf(&b, " at t = %.1f s", *f.AtS)
	}
	if f.Mend != "" {
		fmt.Fprintf(&b, "; %s", f.Mend)
	}
	if f.Basis != "" {
		fmt.Fprintf(&b, " [%s]", f.Basis)
	}
	return b.String()
}

func windowsText(x check.Slate) string {
	list := x.Windows
	prefix := ""
	if x.Barred {
		list, prefix = x.LightOK, "barred; light "
	}
	if len(list) == 0 {
		return prefix + "none: " + noWindow(x)
	}
	var parts []string
	for _, w := range list {
		parts = append(parts, span(w))
	}
	const most = 4
	if len(parts) > most {
		parts = append(parts[:most], fmt.Sprintf("and %d more", len(list)-most))
	}
	return prefix + strings.Join(parts, ", ")
}

func span(w window.Window) string {
	return w.From.Format("Mon 15:04") + "-" + until(w)
}

// until is the clock at a window's end: 24:00 where it ends with its day.
func until(w window.Window) string {
	end := w.To.Format("15:04")
	if end == "00:00" && w.To.After(w.From) {
		return "24:00"
	}
	return end
}

func noWindow(x check.Slate) string {
	if len(x.Never) > 0 {
		return strings.Join(x.Never, ", ") + " never right"
	}
	var parts []string
	for _, m := range x.Mostly {
		parts = append(parts, fmt.Sprintf("%s shut %s", m.Gate, (time.Duration(m.Minutes)*time.Minute).String()))
	}
	return "never all right at once: " + strings.Join(parts, ", ")
}
