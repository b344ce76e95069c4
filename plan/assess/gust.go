package assess

import (
	"math"
	"time"

	"fieldfare/model/air"
	"fieldfare/plan/shoot"
)

// Where and how a gust is taken to meet the take before its path is known (common practice, no source).
const (
	gustHeightM = 40.0
	gustSpeedMS = 5.0 // where no move names a speed
)

// gustDrift is how far a gust may carry the aircraft before the pilot reacts, at the hardest hour of the
// dates in which the house lets it fly; known is false where neither forecast nor house says
// how hard it blows.
func (t *Take) gustDrift() (driftM float64, known bool) {
	h := t.shoot.House
	reaction := float64(h.ReactionTime)
	speed := gustSpeedMS
	for i := range t.Slate.Moves {
		speed = math.Max(speed, float64(t.Slate.Moves[i].Speed))
	}
	items, _ := payload(t.shoot, t.Rig, t.Slate.Lens, heaviestPack(t.shoot, t.Rig))
	mass, density := total(items), air.Standard(t.siteSeaM).Density()
	try := func(mean, gust float64) {
		if h.Wind > 0 {
			mean = math.Min(mean, float64(h.Wind))
		}
		if h.Gust > 0 {
			gust = math.Min(gust, float64(h.Gust))
		}
		known = true
		driftM = math.Max(driftM, blown(density, t.airframe.DragArea, mass, speed+mean, math.Max(0, gust-mean), reaction))
	}
	t.hours(func(w air.Weather) {
		if !w.WindMS.Known {
			return
		}
		reported := air.Wind{MeanMS: w.WindMS.Value, HeightM: 10}
		if w.GustMS.Known {
			reported.GustMS = w.GustMS.Value
		}
		at, _ := reported.At(gustHeightM, t.shear)
		try(at.MeanMS, at.GustMS)
	})
	if !known && h.Gust > 0 {
		try(float64(h.Wind), float64(h.Gust))
	}
	return driftM, known
}

// hours calls f for the weather of each hour of the dates between 6 and 21 o'clock.
func (t *Take) hours(f func(air.Weather)) {
	each := func(d shoot.Date) {
		for h := 6; h <= 21; h++ {
			if w, ok := t.around.weatherAt(d.Midnight(t.Zone()).Add(time.Duration(h) * time.Hour)); ok {
				f(w)
			}
		}
	}
	for _, d := range t.shoot.Dates {
		each(d)
	}
}
