package assess

import (
	"errors"
	"fmt"
	"math"
	"time"

	"fieldfare/model/exposure"
)

const (
	driftStep  = 2 * time.Minute
	driftReach = 4 * time.Hour // how far ahead a change of filter is looked for
)

// driftOver is how far the light on the subject moves over a take that begins at the moment.
func (t *Take) driftOver(m *moment, durationS float64) (exposure.Change, error) {
	if durationS <= 0 {
		return exposure.Change{}, errors.New("no take")
	}
	then := t.lightAt(m.at.Add(time.Duration(durationS * float64(time.Second))))
	if m.daylight.Unknown != "" || then.daylight.Unknown != "" {
		return exposure.Change{}, errors.New("the light is unknown")
	}
	start, end := m.light.TotalLx(), then.light.TotalLx()
	return exposure.Drift(between(start, end, durationS), 0, durationS)
}

// between is light that goes evenly, in stops, from one illuminance to another.
func between(a, b, durationS float64) exposure.Light {
	return func(s float64) float64 {
		f := math.Max(0, math.Min(1, s/durationS))
		if a <= 0 || b <= 0 {
			return a + (b-a)*f
		}
		return math.Exp(math.Log(a) + (math.Log(b)-math.Log(a))*f)
	}
}

// course is the light on the subject from the moment on, as long as the slate's light lasts, in steps.
func (t *Take) course(m *moment) (lx []float64, until time.Time) {
	until = m.at
	x := moments.Get().(*moment)
	defer moments.Put(x)
	for at := m.at; !at.After(m.at.Add(driftReach)); at = at.Add(driftStep) {
		t.sky(x, at)
		if at != m.at && t.dark(x) != 0 {
			break
		}
		t.lit(x)
		if x.daylight.Unknown != "" || x.light.TotalLx() <= 0 {
			break
		}
		lx, until = append(lx, x.light.TotalLx()), at
	}
	return lx, until
}

// tellDrift says how far the light moves over the take and while the slate's light lasts, and when this card
// stops being right.
func (t *Take) tellDrift(m *moment, card *exposure.Card, a *Assessment) {
	n := &a.Numbers.Picture
	if d, err := t.driftOver(m, t.Path.DurationS()); err == nil {
		n.DriftTake = known(d.Stops)
	}
	lx, until := t.course(m)
	if len(lx) < 2 {
		return
	}
	step := driftStep.Seconds()
	light := func(s float64) float64 {
		i := math.Max(0, math.Min(float64(len(lx)-2), math.Floor(s/step)))
		return between(lx[int(i)], lx[int(i)+1], step)(s - i*step)
	}
	end := step * float64(len(lx)-1)
	if d, err := exposure.Drift(light, 0, end); err == nil {
		n.DriftWindow = known(d.Spread)
	}
	last := until.In(t.Zone())
	n.LightUntil = &last
	setting, err := t.outfit.chooser.Judge(0, card.ShutterS, card.ISO, card.Aperture, card.Filters...)
	if err != nil {
		return
	}
	// A card is exposed for what the subject gives back, which an incident reading knows as middle grey.
	metered := func(s float64) float64 { return light(s) * t.reflects() / exposure.MiddleGrey }
	due, err := exposure.ChangeDue(metered, setting, 0, end, usableErrorStops)
	if err != nil || due.Within {
		return
	}
	at := m.at.Add(time.Duration(due.AtS * float64(time.Second))).Truncate(time.Second).In(t.Zone())
	n.ChangeDue, n.DueStops = &at, known(due.Stops)
	mend := "meter again before that, and land to change"
	if later := t.lightAt(at); later.daylight.Unknown == "" {
		if ev, err := t.ev(later.light.TotalLx()); err == nil {
			wish := t.wish(ev)
			wish.Keep = setting.Stack
			if best, err := t.outfit.chooser.Best(wish); err == nil {
				mend = t.outfit.chooser.WhyInstead(setting, best)
			}
		}
	}
	a.add(t.timely(Note, TopicPicture, "this card is right until", at.Format("15:04"), fmt.Sprintf("within %.1f stop", usableErrorStops), "light as forecast", exposure.Off(due.Stops)+" then: "+mend))
}
