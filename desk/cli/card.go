package cli

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"fieldfare/model/exposure"
	"fieldfare/model/unit"
	"fieldfare/plan/assess"
)

type cardCmd struct {
	Dir   string    `arg:"" help:"Shoot folder." type:"path"`
	Slate string    `arg:"" help:"Slate."`
	At    time.Time `help:"Instant in RFC 3339; the slate's best moment where left out."`
	Meter *float64  `xor:"reading" placeholder:"STOPS" help:"What the meter on location says against the plan, in stops: +1 is twice the light."`
	Lux   *float64  `xor:"reading" placeholder:"LUX" help:"What an incident meter at the subject reads, toward the camera, in lux."`
}

type cardResult struct {
	Slate     string                `json:"slate"`
	Title     string                `json:"title"`
	Rig       string                `json:"rig"`
	Lens      string                `json:"lens"`
	At        time.Time             `json:"at"`
	Card      *exposure.Card        `json:"card"` // as planned; null where none can be made
	Picture   assess.PictureNumbers `json:"picture"`
	Findings  []assess.Finding      `json:"findings"` // of picture and match
	Corrected *assess.Correction    `json:"corrected"`
	Caution   string                `json:"caution"`
}

func (c *cardCmd) Run(s *Session) error {
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	t, at, err := slateAt(s, a, c.Slate, c.At)
	if err != nil {
		return err
	}
	x := t.At(at)
	result := cardResult{Slate: c.Slate, Title: t.Slate.Title, Rig: t.Rig.Name, Lens: t.Slate.Lens, At: x.At, Card: x.Numbers.Picture.Card, Picture: x.Numbers.Picture, Findings: []assess.Finding{}, Caution: SafetySentence}
	result.Picture.Card = nil // it stands above
	for _, f := range x.Findings {
		if f.Topic == assess.TopicPicture || f.Topic == assess.TopicMatch {
			result.Findings = append(result.Findings, f)
		}
	}
	var reading *exposure.Reading
	switch {
	case c.Meter != nil:
		reading = &exposure.Reading{OffsetStops: *c.Meter}
	case c.Lux != nil && !(*c.Lux > 0):
		return fmt.Errorf("a meter reading of %g lx: more than 0 lx is expected", *c.Lux)
	case c.Lux != nil:
		reading = &exposure.Reading{IlluminanceLx: *c.Lux}
	}
	if reading != nil {
		corrected, err := t.Metered(at, *reading)
		if err != nil {
			return err
		}
		result.Corrected = &corrected
	}
	return s.emit(result, func(w io.Writer) { result.print(w) })
}

func (r *cardResult) print(w io.Writer) {
	fmt.Fprintf(w, "%s  %s, %s with %s, at %s\n\n", r.Slate, r.Title, r.Rig, r.Lens, r.At.Format("Mon 2 Jan 15:04"))
	if r.Card == nil {
		fmt.Fprintln(w, "no card: see below")
	} else {
		printCard(w, r.Card)
		clip := "unknown: enter longest_clip: for the camera"
		if s := r.Picture.LongestClipS; s != nil {
			clip = fmt.Sprintf("%.0f min", *s/60)
		}
		fmt.Fprintf(w, "%-16s%s\n", "longest clip", clip)
		fmt.Fprintf(w, "%-16s%s\n", "right until", r.due())
		if len(r.Picture.Alternatives) > 1 {
			fmt.Fprintln(w, "\ninstead:")
			for _, x := range r.Picture.Alternatives[1:] {
				fmt.Fprintf(w, "    %s\n", x.Why)
			}
		}
	}
	if c := r.Corrected; c != nil {
		if r.Card != nil {
			fmt.Fprintf(w, "\nby the meter: the card comes out %s\n", c.Says)
		} else {
			fmt.Fprintf(w, "\nby the meter: %s\n", c.Says)
		}
		for i, way := range c.Ways {
			fmt.Fprintf(w, "\n%d. %s\n", i+1, way.Why)
			printCard(w, &way.Card)
		}
	}
	fmt.Fprintln(w)
	for _, f := range r.Findings {
		fmt.Fprintf(w, "%s\n", line(f))
	}
	fmt.Fprintf(w, "\n%s\n", SafetySentence)
}

func (r *cardResult) due() string {
	switch p := r.Picture; {
	case p.ChangeDue != nil:
		return p.ChangeDue.Format("15:04") + ", " + exposure.Off(*p.DueStops) + " then"
	case p.LightUntil != nil:
		return p.LightUntil.Format("15:04") + " at least, as far as it was looked"
	}
	return "unknown"
}

func printCard(w io.Writer, c *exposure.Card) {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	row := func(what, form string, values ...any) {
		fmt.Fprintf(t, "%s\t"+form+"\n", append([]any{what}, values...)...)
	}
	filters := "none"
	if len(c.Filters) > 0 {
		filters = strings.Join(c.Filters, " + ")
	}
	if c.Graduated != "" {
		filters += ", " + c.Graduated + " with its edge on the horizon"
	}
	row("recording", "%s at %g fps", c.Format, c.FrameRate)
	row("shutter", "%s (%.0f deg)", unit.Shutter(c.ShutterS), c.ShutterAngleDeg)
	row("ISO", "%g", c.ISO)
	row("aperture", "%s, %s", unit.FNumber(c.Aperture), exposure.Off(c.ErrorStops))
	row("filters", "%s (%.1f stops)", filters, c.AttenuationEV)
	if c.WhiteBalanceK > 0 {
		row("white balance", "%.0f K", c.WhiteBalanceK)
	} else {
		row("white balance", "set on location")
	}
	row("focus", "set %s, right from %s to %s", distance(&c.FocusM), distance(&c.FocusFromM), distance(c.FocusToM))
	row("check focus on", "%s", c.FocusCheck)
	row("sharp", "%s to %s", distance(&c.SharpFromM), distance(c.SharpToM))
	row("stabiliser", "%s", c.Stabiliser)
	if c.CardLeftS != nil {
		left := fmt.Sprintf("%.0f min", *c.CardLeftS/60)
		if c.TakesLeft != nil {
			left += fmt.Sprintf(", %d takes", *c.TakesLeft)
		}
		row("card left", "%s, empty card", left)
	} else {
		row("card left", "unknown")
	}
	t.Flush()
}

func distance(m *float64) string {
	switch {
	case m == nil:
		return "infinity"
	case *m < 10:
		return fmt.Sprintf("%.1f m", *m)
	}
	return fmt.Sprintf("%.0f m", *m)
}
