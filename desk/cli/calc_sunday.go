package cli

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	_ "time/tzdata" // zones on a machine that has none

	"fieldfare/desk/draw"
	"fieldfare/model/sky"
	"fieldfare/plan/shoot"
)

type sundayCmd struct {
	Date  string `required:"" help:"Local date, as in 2026-06-21."`
	Zone  string `required:"" help:"Time zone by its IANA name, as in Europe/Zurich, or UTC."`
	SVG   string `name:"svg" type:"path" help:"Also draw the sky strip of the day, level horizon, to this file."`
	Force bool   `help:"Overwrite an existing file."`
	spot  `embed:""`
}

type sundayResult struct {
	Date string `json:"date"`
	Zone string `json:"zone"`
	From string `json:"from"`
	To   string `json:"to"`

	Sunrise          *string `json:"sunrise"`
	Sunset           *string `json:"sunset"`
	Transit          *string `json:"transit"`
	CivilDawn        *string `json:"civil_dawn"`
	CivilDusk        *string `json:"civil_dusk"`
	NauticalDawn     *string `json:"nautical_dawn"`
	NauticalDusk     *string `json:"nautical_dusk"`
	AstronomicalDawn *string `json:"astronomical_dawn"`
	AstronomicalDusk *string `json:"astronomical_dusk"`
	Moonrise         *string `json:"moonrise"`
	MoonTransit      *string `json:"moon_transit"`
	Moonset          *string `json:"moonset"`

	// Reason joins the reasons of all events that have no time; Reasons has them by event.
	Reason  string            `json:"reason,omitempty"`
	Reasons map[string]string `json:"reasons,omitempty"`

	SunHighestDeg           float64 `json:"sun_highest_deg"`
	SunLowestDeg            float64 `json:"sun_lowest_deg"`
	MoonIlluminatedFraction float64 `json:"moon_illuminated_fraction"`

	GoldenHours []sundaySpan  `json:"golden_hours"` // sun from -4 to 6 deg: common practice
	BlueHours   []sundaySpan  `json:"blue_hours"`   // sun from -8 to -4 deg: common practice
	Events      []sundayEvent `json:"events"`
	Caution     string        `json:"caution"`
}

type sundaySpan struct {
	From string `json:"from"`
	To   string `json:"to"`
}

func sundaySpans(intervals []sky.Interval) []sundaySpan {
	spans := []sundaySpan{}
	for _, i := range intervals {
		spans = append(spans, sundaySpan{stamp(i.From), stamp(i.To)})
	}
	return spans
}

type sundayEvent struct {
	Name string `json:"name"`
	At   string `json:"at"`
}

// Run prints the sun's and the moon's day.
func (c sundayCmd) Run(s *Session) error {
	place, err := c.place()
	if err != nil {
		return err
	}
	zone, err := time.LoadLocation(c.Zone)
	if err != nil || c.Zone == "" || c.Zone == "Local" {
		return fmt.Errorf("zone %q is not known: give an IANA name, as in Europe/Zurich", c.Zone)
	}
	date, err := time.ParseInLocation("2006-01-02", c.Date, time.UTC)
	if err != nil {
		return fmt.Errorf("%q is not a date: write year, month and day, as in 2026-06-21", c.Date)
	}
	date = time.Date(date.Year(), date.Month(), date.Day(), 12, 0, 0, 0, zone)
	if date.Format(time.DateOnly) != c.Date {
		return fmt.Errorf("%s does not exist in the zone %s: its clocks skip that day", c.Date, c.Zone)
	}
	sun, err := place.SunDay(date)
	if err != nil {
		return err
	}
	moon, err := place.MoonDay(date)
	if err != nil {
		return err
	}
	r := sundayResult{
		Date: c.Date, Zone: c.Zone, From: stamp(sun.From), To: stamp(sun.To),
		SunHighestDeg: sun.Highest.Deg(), SunLowestDeg: sun.Lowest.Deg(),
		MoonIlluminatedFraction: moon.Phase.IlluminatedFraction, Caution: SafetySentence,
		GoldenHours: sundaySpans(sun.Golden), BlueHours: sundaySpans(sun.Blue), Events: []sundayEvent{},
	}
	slots := r.slots(sun, moon)
	for _, e := range slots {
		r.put(e.name, e.occurrence, e.slot)
	}
	r.Reason = joinReasons(sun.Sunrise, sun.Sunset, sun.Transit, sun.CivilDawn, sun.CivilDusk, sun.NauticalDawn, sun.NauticalDusk,
		sun.AstronomicalDawn, sun.AstronomicalDusk, moon.Moonrise, moon.Transit, moon.Moonset)
	events := append(sun.Events, moon.Events...)
	slices.SortStableFunc(events, func(a, b sky.Event) int { return a.At.Compare(b.At) })
	for _, e := range events {
		r.Events = append(r.Events, sundayEvent{e.Name, stamp(e.At)})
	}
	if c.SVG != "" {
		if err := vacant(c.SVG, c.Force); err != nil {
			return err
		}
		if err := c.draw(place, date); err != nil {
			return err
		}
	}
	return s.emit(r, func(w io.Writer) { r.print(w, slots) })
}

func (c sundayCmd) draw(place sky.Place, date time.Time) error {
	var picture bytes.Buffer
	strip := draw.SkyStrip{Title: fmt.Sprintf("Sky at %.4f, %.4f", c.Lat, c.Lon), Place: place, Day: date}
	if err := strip.SVG(&picture); err != nil {
		return err
	}
	return shoot.Save(c.SVG, picture.Bytes())
}

type sundaySlot struct {
	name, label string
	occurrence  sky.Occurrence
	slot        **string
}

// slots lists the day's events in the order of an ordinary day.
func (r *sundayResult) slots(sun sky.SunDay, moon sky.MoonDay) []sundaySlot {
	return []sundaySlot{
		{"astronomical_dawn", "astronomical dawn", sun.AstronomicalDawn, &r.AstronomicalDawn},
		{"nautical_dawn", "nautical dawn", sun.NauticalDawn, &r.NauticalDawn},
		{"civil_dawn", "civil dawn", sun.CivilDawn, &r.CivilDawn},
		{"sunrise", "sunrise", sun.Sunrise, &r.Sunrise},
		{"transit", "transit", sun.Transit, &r.Transit},
		{"sunset", "sunset", sun.Sunset, &r.Sunset},
		{"civil_dusk", "civil dusk", sun.CivilDusk, &r.CivilDusk},
		{"nautical_dusk", "nautical dusk", sun.NauticalDusk, &r.NauticalDusk},
		{"astronomical_dusk", "astronomical dusk", sun.AstronomicalDusk, &r.AstronomicalDusk},
		{"moonrise", "moonrise", moon.Moonrise, &r.Moonrise},
		{"moon_transit", "moon transit", moon.Transit, &r.MoonTransit},
		{"moonset", "moonset", moon.Moonset, &r.Moonset},
	}
}

func (r *sundayResult) put(name string, o sky.Occurrence, slot **string) {
	if o.Happens() {
		at := stamp(o.At)
		*slot = &at
		return
	}
	if r.Reasons == nil {
		r.Reasons = map[string]string{}
	}
	r.Reasons[name] = o.Reason
}

func joinReasons(all ...sky.Occurrence) string {
	var reasons []string
	for _, o := range all {
		if !o.Happens() && !slices.Contains(reasons, o.Reason) {
			reasons = append(reasons, o.Reason)
		}
	}
	return strings.Join(reasons, "; ")
}

func (r *sundayResult) print(w io.Writer, slots []sundaySlot) {
	fmt.Fprintf(w, "%s, %s (level horizon; terrain hides more)\n", r.Date, r.Zone)
	for _, e := range slots {
		if e.occurrence.Happens() {
			fmt.Fprintf(w, "  %-18s %s\n", e.label, e.occurrence.At.Round(time.Second).Format("15:04:05 MST"))
		} else {
			fmt.Fprintf(w, "  %-18s none: %s\n", e.label, e.occurrence.Reason)
		}
	}
	for _, h := range []struct {
		name  string
		spans []sundaySpan
	}{{"golden hour", r.GoldenHours}, {"blue hour", r.BlueHours}} {
		for _, span := range h.spans {
			fmt.Fprintf(w, "  %-18s %s to %s\n", h.name, span.From[11:16], span.To[11:16])
		}
	}
	fmt.Fprintf(w, "  sun between %.1f and %.1f deg; moon %.0f %% lit\n", r.SunLowestDeg, r.SunHighestDeg, 100*r.MoonIlluminatedFraction)
	fmt.Fprintln(w, SafetySentence)
}

// stamp writes a time to the second with its zone's offset.
func stamp(t time.Time) string { return t.Round(time.Second).Format(time.RFC3339) }
