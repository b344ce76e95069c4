package draw

import (
	"fmt"
	"math"
	"time"

	"fieldfare/model/unit"
	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
	"fieldfare/plan/window"
)

// LightStrip is a slate's light over a day: the sun over the terrain's skyline as the subject sees
// it, the windows, how good the light is in them, and when the slate is planned.
type LightStrip struct {
	date    shoot.Date
	take    *assess.Take
	panel   sunPanel
	axis    hours
	skyline func(azimuth unit.Angle) unit.Angle
	windows []window.Window
	barred  bool
	planned []time.Time
}

// NewLightStrip gathers a slate's light on a date; planned are the starts that the day gives it.
func NewLightStrip(a *assess.Assessor, x *check.Slate, date shoot.Date, planned []time.Time) *LightStrip {
	t := a.Take(x.Slate)
	zone := a.Shoot.Location()
	s := &LightStrip{date: date, take: t, windows: x.LightOK, barred: x.Barred, planned: planned}
	s.axis = hours{from: date.Midnight(zone).Add(5 * time.Hour), to: date.Midnight(zone).Add(22 * time.Hour)}
	for _, w := range x.LightOK {
		if w.From.Before(date.Next().Midnight(zone)) && w.To.After(date.Midnight(zone)) && (w.From.Before(s.axis.from) || w.To.After(s.axis.to)) {
			s.axis.from, s.axis.to = date.Midnight(zone), date.Next().Midnight(zone)
		}
	}
	s.panel = sunPanel{almanac: a.Almanac(), low: -9}
	if line, _, ok := t.SubjectSkyline(); ok {
		s.skyline = line.At
	}
	return s
}

// LightStripMM is the height of a light strip on paper.
const LightStripMM = 17.5

// Draw puts the strip on paper of the width.
func (s *LightStrip) Draw(p Pen, widthMM float64) {
	s.axis.x, s.axis.w = 16, widthMM-18
	s.panel.y, s.panel.h = 2.6, 9
	s.panel.hi = math.Max(15, s.panel.noon(s.axis)+5)
	s.panel.draw(p, s.axis)
	s.axis.rule(p, 2.6, LightStripMM-3, true)
	p.Words(boldMono, Dot{0, 5}, s.date.Midnight(time.UTC).Format("Mon 2"))
	if s.skyline != nil {
		var land []Dot
		for t := s.axis.from; !t.After(s.axis.to); t = t.Add(5 * time.Minute) {
			at := s.panel.position(t)
			if at.Altitude.Deg() < -1 {
				if len(land) > 0 {
					s.land(p, land)
					land = nil
				}
				continue
			}
			land = append(land, Dot{s.axis.at(t), s.panel.level(math.Max(0, s.skyline(at.Azimuth).Deg()))})
		}
		s.land(p, land)
	} else {
		p.Words(haloSmall, Dot{s.axis.x + 1, s.panel.y + s.panel.h - 1}, "skyline unknown")
	}
	y := s.panel.y + s.panel.h + 0.8
	p.Words(small, Dot{0, y + 2.2}, "window")
	ink := Ink{LineMM: 0.2, Filled: true, Fill: 0.85}
	if s.barred {
		ink = Ink{LineMM: 0.2, Dash: []float64{0.8, 0.6}, HatchMM: 0.8, Crossed: true, Line: 0.4}
	}
	shown := false
	for _, w := range s.windows {
		if !w.To.After(s.axis.from) || !w.From.Before(s.axis.to) {
			continue
		}
		shown = true
		s.axis.bar(p, ink, w.From, w.To, y, 3)
		var good []Dot
		for _, q := range w.Quality {
			if q.At.After(s.axis.from) && q.At.Before(s.axis.to) {
				good = append(good, Dot{s.axis.at(q.At), y + 3 - 3*q.Good})
			}
		}
		p.Shape(Ink{LineMM: 0.3}, false, good...)
		if x1, x2 := s.axis.at(w.From), s.axis.at(w.To); x2-x1 > 16 {
			p.Words(Lettering{SizeMM: 2, Mono: true, Halo: true}, Dot{x1 + 0.6, y + 2.2}, w.From.Format("15:04"))
			p.Words(Lettering{SizeMM: 2, Mono: true, Halo: true, Anchor: End}, Dot{x2 - 0.6, y + 2.2}, w.To.Format("15:04"))
		} else {
			p.Words(Lettering{SizeMM: 2, Mono: true, Halo: true}, Dot{x2 + 0.6, y + 2.2}, fmt.Sprintf("%s-%s", w.From.Format("15:04"), w.To.Format("15:04")))
		}
	}
	if !shown {
		p.Words(small, Dot{s.axis.x + 1, y + 2.2}, "no window")
	}
	for _, at := range s.planned {
		if at.Before(s.axis.from) || at.After(s.axis.to) {
			continue
		}
		x := s.axis.at(at)
		line(p, Ink{LineMM: 0.5}, x, 2.6, x, y+3.2)
		p.Shape(solid, true, Dot{x, y + 2.8}, Dot{x - 1.2, y + 4.8}, Dot{x + 1.2, y + 4.8})
		p.Words(Lettering{SizeMM: 2.3, Mono: true, Bold: true, Halo: true}, Dot{x + 1.4, y + 5}, "planned "+at.Format("15:04"))
	}
}

// land shades what of the sky the terrain takes, seen along the sun's way.
func (s *LightStrip) land(p Pen, tops []Dot) {
	if len(tops) < 2 {
		return
	}
	foot := s.panel.level(0)
	outline := append([]Dot{{tops[0].X, foot}}, tops...)
	outline = append(outline, Dot{tops[len(tops)-1].X, foot})
	area(p, Ink{HatchMM: 0.7, Line: 0.3, LineMM: 0.2}, outline...)
}
