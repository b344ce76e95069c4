package assess

import (
	"errors"
	"fmt"
	"math"
	"time"

	"fieldfare/model/air"
	"fieldfare/model/exposure"
	"fieldfare/model/unit"
)

// Met is what the crew found on location in place of the forecast. A nil field was not measured:
// the forecast stands for it.
type Met struct {
	WindMS       *float64    // 10-minute mean at 10 m above ground
	GustMS       *float64    // likewise
	WindFrom     *unit.Angle // true
	TemperatureK *float64
}

// Check errs on what no weather is.
func (m Met) Check() error {
	within := func(what string, v *float64, from, to float64) error {
		if v != nil && !(*v >= from && *v <= to) {
			return fmt.Errorf("%s %g is not in %g to %g", what, *v, from, to)
		}
		return nil
	}
	return errors.Join(within("wind in m/s", m.WindMS, 0, 60), within("gusts in m/s", m.GustMS, 0, 90), within("temperature in K", m.TemperatureK, 200, 340))
}

// AtIn assesses the take at an instant in the weather that the crew met.
func (t *Take) AtIn(at time.Time, met Met) Assessment { return t.assess(t.momentIn(at, met)) }

// ShutIn returns the gates that bar the take at an instant in the weather that the crew met.
func (t *Take) ShutIn(at time.Time, met Met) Gates { return t.shut(t.momentIn(at, met)) }

func (t *Take) momentIn(at time.Time, met Met) *moment {
	m := t.moment(at)
	if met == (Met{}) {
		return m
	}
	w := &m.weather
	if !m.covered {
		*w = air.Weather{From: at, Until: at.Add(time.Hour)}
	}
	put := func(to *air.Reading, v *float64) {
		if v != nil {
			*to = air.Known(*v)
		}
	}
	put(&w.WindMS, met.WindMS)
	put(&w.TemperatureK, met.TemperatureK)
	if met.WindMS != nil && met.GustMS == nil {
		w.GustMS = air.Reading{} // the forecast's gusts belong to its wind
	}
	put(&w.GustMS, met.GustMS)
	if met.WindFrom != nil {
		w.WindFrom = air.Known(float64(met.WindFrom.Wrapped()))
	}
	w.Source = "met on location"
	m.covered = true
	m.flown = t.fly(*w)
	t.lightOn(m)
	return m
}

// Way is one way on from the card that is set, best first.
type Way struct {
	Why  string        `json:"why"` // "swap ND 0.9 for ND 1.2: right"
	Card exposure.Card `json:"card"`
}

// Correction is what the meter makes of a card.
type Correction struct {
	Now  float64 `json:"now_stops"` // how hot (above 0) or dark the set card comes out
	Says string  `json:"says"`      // the same in words
	Ways []Way   `json:"ways"`      // the card in place first, then ranked
}

// Correct returns what the card of an instant comes out as when the meter finds the light offset
// by stops (above 0 lighter than planned), and the ranked ways on with their cards.
func (t *Take) Correct(at time.Time, offsetStops float64) (Correction, error) {
	return t.Metered(at, exposure.Reading{OffsetStops: offsetStops})
}

// Metered corrects like Correct by either kind of reading. A reading in lux serves even where the plan knows
// no light: there is then no card to correct, and the ways start from it.
func (t *Take) Metered(at time.Time, reading exposure.Reading) (Correction, error) {
	m := t.moment(at)
	planned, ok := m.subjectLx()
	if lx := reading.IlluminanceLx; lx != 0 {
		if !(lx >= leastLx && lx <= mostLx) {
			return Correction{}, fmt.Errorf("a meter reading of %g lx is outside %g lx to %g lx: read it at the subject, toward the camera", lx, leastLx, mostLx)
		}
		if reading.OffsetStops != 0 {
			return Correction{}, errors.New("a meter's reading is either an offset in stops or an illuminance, not both")
		}
		if !ok {
			return t.fromMeter(m, lx)
		}
		reading = exposure.Reading{OffsetStops: math.Log2(lx / planned)}
	}
	if !ok {
		return Correction{}, errors.New("the light on the subject is unknown at this hour: give the meter's reading in lux")
	}
	ev, err := t.ev(planned)
	if err != nil {
		return Correction{}, err
	}
	wish := t.wish(ev)
	set, err := t.outfit.chooser.Best(wish)
	if err != nil {
		return Correction{}, err
	}
	now, advice, err := t.outfit.chooser.Correct(set, wish, reading, correctionsAtMost)
	if err != nil {
		return Correction{}, err
	}
	out := Correction{Now: now.ErrorStops, Says: exposure.Off(now.ErrorStops), Ways: []Way{}}
	for _, x := range advice {
		card, err := t.cardWith(m, x.Setting)
		if err != nil {
			return Correction{}, err
		}
		out.Ways = append(out.Ways, Way{x.Why, *card})
	}
	return out, nil
}

// leastLx and mostLx are starlight and more than the sun gives.
const (
	leastLx = 1e-3
	mostLx  = 2e5
)

// fromMeter chooses cards for a light that was measured where none was planned.
func (t *Take) fromMeter(m *moment, lx float64) (Correction, error) {
	ev, err := t.ev(lx)
	if err != nil {
		return Correction{}, err
	}
	ranked, err := t.outfit.chooser.Rank(t.wish(ev), correctionsAtMost)
	if err != nil {
		return Correction{}, err
	}
	out := Correction{Says: "no card was planned: the light was unknown", Ways: []Way{}}
	for _, s := range ranked {
		card, err := t.cardWith(m, s)
		if err != nil {
			return Correction{}, err
		}
		out.Ways = append(out.Ways, Way{t.outfit.chooser.Why(s), *card})
	}
	return out, nil
}

const correctionsAtMost = 3
