package cli

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"fieldfare/model/exposure"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

type exposureCmd struct {
	Illuminance   unit.Illuminance  `required:"" help:"Light on the subject as an incident meter reads it, as in 100000lx."`
	Reflectance   *unit.Ratio       `help:"Meter this reflectance as middle grey instead, as in 18%."`
	Fps           float64           `required:"" help:"Frame rate in frames per second."`
	ShutterAngle  unit.Angle        `default:"180deg" help:"Shutter angle, as in 180deg."`
	Shutters      []unit.Shutter    `help:"The camera's shutter list, as in 1/50s,1/60s (any time if left out)."`
	Mains         unit.Frequency    `default:"0Hz" help:"Mains of lamps in the picture, 50Hz or 60Hz."`
	Iso           []sensitivity     `required:"" help:"Sensitivities allowed, as in 200 or 200,400,800."`
	Base          []sensitivity     `help:"The camera's base sensitivities (the lowest allowed if left out)."`
	Apertures     apertureRange     `required:"" help:"The lens's good range, as in f/5.6..f/11."`
	Lens          apertureRange     `help:"All apertures of the lens, used when the good range gives out."`
	Filters       []filterLabel     `help:"Filters carried that fit, as in ND0.3,ND0.9,POL."`
	Stack         int               `default:"2" help:"Most filters at once."`
	Polariser     bool              `help:"The shot wants a polariser."`
	SunAngle      *unit.Angle       `help:"Angle between the lens axis and the sun, to judge a polariser."`
	Fov           *unit.Angle       `help:"Horizontal angle of view, to judge a polariser."`
	Sky           *float64          `help:"Stops by which the sky is brighter than the ground, to choose a graduated filter."`
	HorizonTravel unit.Ratio        `default:"0%" help:"Share of the picture's height that the horizon travels during the take."`
	Meter         *float64          `help:"Stops that the meter on location reads above the plan (negative below): the new card."`
	Metered       *unit.Illuminance `help:"Illuminance that the meter on location reads: the new card."`
	Limit         int               `default:"6" help:"Most cards to list."`
}

type exposureResult struct {
	EV100        float64        `json:"ev100"`
	ShutterS     float64        `json:"shutter_s"`
	ShutterAngle float64        `json:"shutter_angle_deg"`
	Motion       string         `json:"motion"`
	Cards        []exposureCard `json:"cards"`
	Planned      *plannedCard   `json:"planned,omitempty"` // the card before the meter spoke
	Graduated    string         `json:"graduated,omitempty"`
	Cautions     []string       `json:"cautions"`
	Caution      string         `json:"caution"`
}

type exposureCard struct {
	ShutterS    float64      `json:"shutter_s"`
	ISO         float64      `json:"iso"`
	Aperture    unit.FNumber `json:"aperture"`
	Filters     []string     `json:"filters"`
	Attenuation float64      `json:"attenuation_stops"`
	ErrorStops  float64      `json:"error_stops"`
	Why         string       `json:"why"`
}

type plannedCard struct {
	EV100 float64      `json:"ev100"`
	Card  exposureCard `json:"card"`
	Now   float64      `json:"error_stops_now"`
	Next  string       `json:"next_stop"`
}

// Run ranks the cards for a light.
func (c exposureCmd) Run(s *Session) error {
	ev, err := exposure.EV100(float64(c.Illuminance))
	if c.Reflectance != nil {
		ev, err = exposure.EV100Reflected(float64(c.Illuminance), float64(*c.Reflectance))
	}
	if err != nil {
		return err
	}
	if c.Limit < 1 {
		return fmt.Errorf("--limit %d: at least one card is expected", c.Limit)
	}
	if c.Stack < 1 || c.Stack > 4 {
		return fmt.Errorf("--stack %d: 1 to 4 filters at once are expected", c.Stack)
	}
	gear, err := c.gear()
	if err != nil {
		return err
	}
	chooser, err := exposure.NewChooser(gear)
	if err != nil {
		return err
	}
	wish := exposure.Wish{EV100: ev, FrameRate: c.Fps, ShutterAngle: c.ShutterAngle, MainsHz: float64(c.Mains), Polariser: c.Polariser}
	shutter, err := exposure.ChooseShutter(c.Fps, c.ShutterAngle, gear.ShuttersS, wish.MainsHz)
	if err != nil {
		return err
	}
	r := exposureResult{EV100: ev, ShutterS: shutter.TimeS, ShutterAngle: shutter.Angle.Deg(), Motion: string(shutter.Motion), Cautions: []string{}, Caution: SafetySentence}
	if shutter.Motion != exposure.Natural {
		r.Cautions = append(r.Cautions, fmt.Sprintf("a shutter of %s at %g fps looks %s; about twice the frame rate is usual (common practice, no source)", unit.Shutter(shutter.TimeS), c.Fps, shutter.Motion))
	}
	if shutter.Flicker > 0.02 {
		r.Cautions = append(r.Cautions, fmt.Sprintf("lamps on %s may flicker by %.0f %%: no shutter of the list spans whole pulses", c.Mains, 100*shutter.Flicker))
	}
	if err := c.cards(&r, chooser, wish); err != nil {
		return err
	}
	if err := c.skyFilters(&r, gear.Filters); err != nil {
		return err
	}
	return s.emit(r, r.print)
}

func (c exposureCmd) gear() (exposure.Gear, error) {
	g := exposure.Gear{GoodFrom: c.Apertures.from, GoodTo: c.Apertures.to, MaxStack: c.Stack}
	reach := c.Apertures
	if c.Lens.set() {
		if c.Apertures.from < c.Lens.from-1e-9 || c.Apertures.to > c.Lens.to+1e-9 {
			return g, fmt.Errorf("apertures %s: the lens offers %s", c.Apertures, c.Lens)
		}
		reach = c.Lens
	}
	var err error
	if g.Apertures, err = lens.Stops(reach.from, reach.to); err != nil {
		return g, err
	}
	for _, t := range c.Shutters {
		g.ShuttersS = append(g.ShuttersS, float64(t))
	}
	for _, i := range c.Iso {
		g.ISOs = append(g.ISOs, float64(i))
	}
	for _, i := range c.Base {
		g.BaseISOs = append(g.BaseISOs, float64(i))
	}
	for _, f := range c.Filters {
		g.Filters = append(g.Filters, exposure.Filter(f))
	}
	return g, nil
}

func (c exposureCmd) cards(r *exposureResult, chooser *exposure.Chooser, wish exposure.Wish) error {
	if c.Meter == nil && c.Metered == nil {
		ranked, err := chooser.Rank(wish, c.Limit)
		if err != nil {
			return err
		}
		for i, s := range ranked {
			why := chooser.Why(s)
			if i > 0 {
				why = chooser.WhyInstead(ranked[0], s)
			}
			r.Cards = append(r.Cards, newCard(s, why))
		}
		return nil
	}
	var reading exposure.Reading
	switch {
	case c.Meter != nil && c.Metered != nil:
		return errors.New("give --meter in stops or --metered in lux, not both")
	case c.Metered != nil:
		if reading.IlluminanceLx = float64(*c.Metered); reading.IlluminanceLx == 0 {
			return errors.New("metered illuminance is 0 lx: without light there is no exposure; wait, or light the scene")
		}
	default:
		reading.OffsetStops = *c.Meter
	}
	set, err := chooser.Best(wish)
	if err != nil {
		return err
	}
	now, ways, err := chooser.Correct(set, wish, reading, c.Limit)
	if err != nil {
		return err
	}
	planned := wish.EV100
	if wish.EV100, err = reading.EV100(planned); err != nil {
		return err
	}
	next, err := chooser.NextStop(now, wish)
	if err != nil {
		return err
	}
	r.EV100 = wish.EV100
	r.Planned = &plannedCard{EV100: planned, Card: newCard(set, chooser.Why(set)), Now: now.ErrorStops, Next: next}
	for _, w := range ways {
		r.Cards = append(r.Cards, newCard(w.Setting, w.Why))
	}
	return nil
}

func newCard(s exposure.Setting, why string) exposureCard {
	return exposureCard{ShutterS: s.ShutterS, ISO: s.ISO, Aperture: unit.FNumber(s.Aperture), Filters: s.Stack.Names(),
		Attenuation: s.Stack.LossStops, ErrorStops: s.ErrorStops, Why: why}
}

// skyFilters adds what is known of polarisers, graduated filters and colour casts.
func (c exposureCmd) skyFilters(r *exposureResult, carried []exposure.Filter) error {
	first := r.Cards[0]
	density, polarises := 0.0, false
	for _, name := range first.Filters {
		for _, f := range carried {
			if f.Name == name {
				density += f.Density
				polarises = polarises || f.Kind == exposure.Polariser
			}
		}
	}
	if (exposure.Stack{Density: density}).CastsColour() {
		r.Cautions = append(r.Cautions, fmt.Sprintf("density %.1f may colour the picture: set white balance through the filters (common practice, no source)", density))
	}
	switch {
	case c.SunAngle != nil && c.Fov != nil:
		p, err := exposure.PolariserOnSky(*c.SunAngle, *c.Fov)
		if err != nil {
			return err
		}
		if c.Polariser || polarises {
			if !p.Useful {
				r.Cautions = append(r.Cautions, fmt.Sprintf("the polariser darkens the sky by only %.1f stop at %s from the sun", p.DarkenStops, *c.SunAngle))
			}
			if p.Uneven {
				r.Cautions = append(r.Cautions, fmt.Sprintf("the polariser darkens the sky unevenly, %.1f stops across the picture", p.UnevenStops))
			}
		}
	case polarises:
		r.Cautions = append(r.Cautions, "what the polariser does to the sky is unknown without --sun-angle and --fov")
	}
	if c.Sky == nil {
		return nil
	}
	f, err := exposure.Graduate(carried, *c.Sky, float64(c.HorizonTravel))
	if err != nil {
		r.Cautions = append(r.Cautions, err.Error())
		return nil
	}
	r.Graduated = f.Name
	return nil
}

func (r *exposureResult) print(w io.Writer) {
	fmt.Fprintf(w, "Light: EV100 %.2f; shutter %s, %.0f deg, %s\n", r.EV100, unit.Shutter(r.ShutterS), r.ShutterAngle, r.Motion)
	if r.Planned != nil {
		fmt.Fprintf(w, "Planned for EV100 %.2f: %s, now %+.1f stops: %s\n", r.Planned.EV100, r.Planned.Card.label(), r.Planned.Now, r.Planned.Next)
	}
	for i, c := range r.Cards {
		fmt.Fprintf(w, "%d. %s (%+.2f stops): %s\n", i+1, c.label(), c.ErrorStops, c.Why)
	}
	if r.Graduated != "" {
		fmt.Fprintf(w, "Sky: add %s, its edge on the horizon\n", r.Graduated)
	}
	for _, c := range r.Cautions {
		fmt.Fprintf(w, "caution: %s\n", c)
	}
	fmt.Fprintln(w, SafetySentence)
}

func (c exposureCard) label() string {
	filters := "no filter"
	if len(c.Filters) > 0 {
		filters = strings.Join(c.Filters, " + ")
	}
	return fmt.Sprintf("%s, ISO %g, %s, %s", c.Aperture, c.ISO, unit.Shutter(c.ShutterS), filters)
}

// sensitivity is "200" or "ISO 200".
type sensitivity float64

// UnmarshalText implements encoding.TextUnmarshaler.
func (i *sensitivity) UnmarshalText(text []byte) error {
	v, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimPrefix(string(text), "ISO")), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return fmt.Errorf("%q is not a sensitivity: write a number, as in 200", text)
	}
	*i = sensitivity(v)
	return nil
}

// filterLabel is "ND0.9", "GND0.6" or "POL".
type filterLabel exposure.Filter

// UnmarshalText implements encoding.TextUnmarshaler.
func (f *filterLabel) UnmarshalText(text []byte) error {
	filter, err := exposure.ParseFilter(string(text))
	*f = filterLabel(filter)
	return err
}
