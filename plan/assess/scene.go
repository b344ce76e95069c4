package assess

import (
	"math"
	"slices"
	"time"

	"fieldfare/model/exposure"
	"fieldfare/model/geo"
	"fieldfare/model/sky"
)

// sceneStep is how finely a slate's best light is looked for when its scene's white balance is chosen.
const sceneStep = 20 * time.Minute

// whiteBalance gives each scene one white balance: what a slate of it asks for, else the middle, in mired, of
// the light's colour at the best light of its slates. Slates in kept have theirs.
func (a *Assessor) whiteBalance(kept map[string]bool) {
	scenes := map[string][]*Take{}
	for _, t := range a.Takes() {
		scenes[scene(t.Slate.Slate)] = append(scenes[scene(t.Slate.Slate)], t)
	}
	for _, takes := range scenes {
		var mired []float64
		asked := 0.0
		for _, t := range takes {
			if kept[t.Slate.Slate] {
				continue
			}
			if t.Slate.White > 0 && asked == 0 {
				asked = float64(t.Slate.White)
			}
			if k, ok := t.bestColour(); ok {
				mired = append(mired, 1e6/k)
			}
		}
		k := asked
		if k == 0 && len(mired) > 0 {
			slices.Sort(mired)
			k = 1e6 / mired[(len(mired)-1)/2]
		}
		for _, t := range takes {
			if !kept[t.Slate.Slate] {
				t.sceneK = k
			}
		}
	}
}

// bestColour is the colour temperature of the light at the best moment of the slate's light.
func (t *Take) bestColour() (kelvin float64, ok bool) {
	best, at := -1.0, time.Time{}
	m := moments.Get().(*moment)
	defer moments.Put(m)
	for _, d := range t.shoot.Dates {
		for now, end := d.Midnight(t.Zone()), d.Next().Midnight(t.Zone()); now.Before(end); now = now.Add(sceneStep) {
			t.sky(m, now)
			if t.dark(m) != 0 {
				continue
			}
			if m.sun.AirlessAltitude < sky.Blue.Low {
				continue // nothing to judge colour by
			}
			quality := 1.0
			for i := range t.gates[:t.lights] {
				if g := &t.gates[i]; g.good != nil {
					quality = math.Min(quality, g.good(m))
				}
			}
			if quality > best {
				best, at = quality, now
			}
		}
	}
	if best < 0 {
		return 0, false
	}
	return t.lightAt(at).colour()
}

// colour is the colour temperature, in kelvin, that the camera is balanced for: that of sun and sky together
// on level ground about the subject, so that a face turned from the sun does not turn its surroundings orange.
func (m *moment) colour() (kelvin float64, ok bool) {
	if m.daylight.Unknown != "" {
		return 0, false
	}
	c := m.daylight.Colour(m.daylight.On(geo.Vec3{Z: 1}, m.shaded, groundReflectance))
	return float64(c.Mix.Mid), c.Mix.Known
}

// lightAt is a moment with sun, terrain, cloud and light only.
func (t *Take) lightAt(at time.Time) *moment {
	m := new(moment)
	t.sky(m, at)
	t.lit(m)
	return m
}

// lit adds cloud and light to a moment's sun.
func (t *Take) lit(m *moment) {
	m.weather, m.covered = t.around.weatherAt(m.at)
	m.class, m.classKnown = classOf(m.weather)
	t.lightOn(m)
}

// match compares the camera cards of each scene in what they must have alike.
func (a *Assessor) match(kept map[string]bool) {
	var cards []exposure.Card
	for _, t := range a.Takes() {
		card := exposure.Card{Scene: scene(t.Slate.Slate), Slate: t.Slate.Slate, Format: t.Slate.Format, FrameRate: float64(t.Slate.Rate),
			ShutterAngleDeg: t.wish(0).ShutterAngle.Deg(), WhiteBalanceK: t.sceneK}
		if s, err := exposure.ChooseShutter(float64(t.Slate.Rate), t.wish(0).ShutterAngle, t.outfit.gear.ShuttersS, t.mainsHz()); err == nil {
			card.ShutterAngleDeg = s.Angle.Deg()
		}
		if t.Slate.White > 0 {
			card.WhiteBalanceK = float64(t.Slate.White)
		}
		cards = append(cards, card)
	}
	for _, d := range exposure.Match(cards) {
		for _, slate := range d.Slates {
			if t := a.takes[slate]; t != nil && !kept[slate] {
				t.find(Severity(d.Severity), TopicMatch, d.What+" within scene "+d.Scene, d.String(), "the same", practice, d.Mend)
			}
		}
	}
}
