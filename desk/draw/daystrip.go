package draw

import (
	"fmt"
	"math"
	"time"

	"fieldfare/model/sky"
	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
)

// DayStrip is a shooting day at one look: the sun, the wind against its limits, when each slate
// could be had and when it is shot, what each rig does, and what each pack does.
type DayStrip struct {
	date    shoot.Date
	from    time.Time
	to      time.Time
	almanac *sky.Almanac
	place   sky.Place
	shoot   *shoot.Shoot
	slates  []check.Slate
	day     call.Day
	rigs    []string
	packs   []string
}

// NewDayStrip gathers what the strip of a day of the sheet shows.
func NewDayStrip(a *assess.Assessor, c *check.Check, d call.Day) (*DayStrip, error) {
	var date shoot.Date
	if err := date.UnmarshalText([]byte(d.Date)); err != nil {
		return nil, err
	}
	s := a.Shoot
	strip := &DayStrip{date: date, almanac: a.Almanac(), place: a.Almanac().Place(), shoot: s, day: d,
		from: date.Midnight(s.Location()).Add(4 * time.Hour), to: date.Midnight(s.Location()).Add(22 * time.Hour)}
	widen := func(from, to time.Time) {
		for from.Before(strip.from) {
			strip.from = strip.from.Add(-time.Hour)
		}
		for to.After(strip.to) {
			strip.to = strip.to.Add(time.Hour)
		}
	}
	next := date.Next().Midnight(s.Location())
	for _, x := range c.Slates {
		for _, w := range x.LightOK {
			if w.From.Before(next) && w.To.After(date.Midnight(s.Location())) && w.To.Sub(w.From) < 20*time.Hour {
				widen(w.From, w.To)
			}
		}
	}
	for _, x := range d.Sorties {
		widen(x.Start, x.End)
	}
	if end := next; strip.to.After(end) {
		strip.to = end
	}
	if start := date.Midnight(s.Location()); strip.from.Before(start) {
		strip.from = start
	}
	strip.slates = c.Slates
	for i := range s.Rigs {
		if !s.Rigs[i].Trainer {
			strip.rigs = append(strip.rigs, s.Rigs[i].Name)
		}
	}
	for i := range s.Packs {
		strip.packs = append(strip.packs, s.Packs[i].Name)
	}
	return strip, nil
}

// Measures of the strip, mm.
const (
	stripLabel  = 17.0
	stripTail   = 2.0
	dayHead     = 4.0
	sunHeight   = 18.0
	windHeight  = 14.0
	rowHeight   = 3.8
	rowFill     = 2.7
	panelGap    = 3.4
	windCeiling = 1.25 // times the highest wind or limit
)

// HeightMM is the strip's height on paper.
func (s *DayStrip) HeightMM() float64 {
	return dayHead + sunHeight + panelGap + windHeight + panelGap + rowHeight*float64(len(s.slates)+len(s.rigs)+len(s.packs)) + 2*panelGap + 6
}

// Draw puts the strip on paper of the width.
func (s *DayStrip) Draw(p Pen, widthMM float64) {
	h := hours{s.from, s.to, stripLabel, widthMM - stripLabel - stripTail}
	y := dayHead
	h.rule(p, y, s.HeightMM()-dayHead-6, true)
	for _, b := range s.day.Breaks {
		h.bar(p, Ink{HatchMM: 1.5, Line: 0.6}, b.Start, b.End, y, s.HeightMM()-dayHead-6)
	}
	y = s.sun(p, h, y)
	y = s.wind(p, h, y)
	y = s.windows(p, h, y)
	y = s.work(p, h, y)
	y = s.charging(p, h, y)
	for _, b := range s.day.Breaks {
		p.Words(haloMiddle, Dot{h.at(b.Start.Add(b.End.Sub(b.Start) / 2)), dayHead + sunHeight + 2.6}, b.What)
	}
	s.legend(p, y+2, h)
}

func (s *DayStrip) sun(p Pen, h hours, y float64) float64 {
	panel := sunPanel{almanac: s.almanac, low: -9, y: y, h: sunHeight}
	panel.hi = math.Max(15, panel.noon(h)+6)
	panel.draw(p, h)
	p.Words(bold, Dot{0, y + 3}, "sun")
	if d, err := s.place.SunDay(s.date.Midnight(s.shoot.Location()).Add(12 * time.Hour)); err == nil {
		mark := func(o sky.Occurrence, what string, a Anchor, dx float64) {
			if !o.Happens() {
				return
			}
			x := h.at(o.At)
			p.Circle(Ink{LineMM: 0.3, Filled: true, Fill: 1}, Dot{x, panel.level(0)}, 0.8)
			p.Words(Lettering{SizeMM: 2.1, Anchor: a, Halo: true}, Dot{x + dx, panel.level(0) + 3}, what+" "+o.At.Format("15:04"))
		}
		mark(d.Sunrise, "rise", Start, 1)
		mark(d.Sunset, "set", End, -1)
		if d.Transit.Happens() {
			p.Words(Lettering{SizeMM: 2.1, Anchor: Middle, Halo: true}, Dot{h.at(d.Transit.At), panel.level(panel.noon(h)) + 3.2},
				fmt.Sprintf("%.0f° at %s", panel.noon(h), d.Transit.At.Format("15:04")))
		}
	}
	return y + sunHeight + panelGap
}

// wind draws the forecast as it stands, at 10 m, and the lower of house and maker's limits; the
// findings judge the wind at flying height.
func (s *DayStrip) wind(p Pen, h hours, y float64) float64 {
	p.Words(bold, Dot{0, y + 3}, "wind")
	p.Words(small, Dot{0, y + 5.6}, "at 10 m, m/s")
	house := s.shoot.House
	top := math.Max(float64(house.Wind), float64(house.Gust))
	any := false
	for _, w := range s.shoot.Weather().Periods {
		if w.WindMS.Known && w.Until.After(s.from) && w.From.Before(s.to) {
			any = true
			top = math.Max(top, math.Max(w.WindMS.Value, w.GustMS.Value))
		}
	}
	if top == 0 {
		top = 10
	}
	top *= windCeiling
	level := func(v float64) float64 { return y + windHeight*(1-v/top) }
	box(p, Ink{LineMM: 0.15}, h.x, y, h.w, windHeight)
	for v := 5.0; v < top; v += 5 {
		line(p, hair, h.x, level(v), h.x+h.w, level(v))
		p.Words(smallMono.at(End), Dot{h.x - 0.8, level(v) + 0.7}, fmt.Sprintf("%.0f", v))
	}
	limit := func(v float64, what string, ink Ink) {
		if v == 0 {
			p.Words(haloSmall, Dot{h.x + 1, y + 2.4}, what+" limit unknown")
			return
		}
		line(p, ink, h.x, level(v), h.x+h.w, level(v))
		p.Words(haloSmall, Dot{h.x + 1, level(v) - 0.5}, fmt.Sprintf("%s limit of the house %.0f", what, v))
	}
	limit(float64(house.Gust), "gust", Ink{LineMM: 0.3, Dash: []float64{1.6, 1}})
	limit(float64(house.Wind), "wind", Ink{LineMM: 0.5})
	if !any {
		p.Words(Lettering{SizeMM: 3, Bold: true, Mono: true, Anchor: Middle, Halo: true}, Dot{h.x + h.w/2, y + windHeight - 1.5}, "WIND UNKNOWN: no forecast for this day")
		return y + windHeight + panelGap
	}
	for _, w := range s.shoot.Weather().Periods {
		if !w.Until.After(s.from) || !w.From.Before(s.to) || !w.WindMS.Known {
			continue
		}
		x1, x2 := h.at(w.From), h.at(w.Until)
		line(p, Ink{LineMM: 0.6}, x1, level(w.WindMS.Value), x2, level(w.WindMS.Value))
		if w.GustMS.Known {
			line(p, Ink{LineMM: 0.4, Dash: []float64{0.8, 0.6}}, x1, level(w.GustMS.Value), x2, level(w.GustMS.Value))
		}
		if w.WindFrom.Known && x2-x1 > 3 {
			// The arrow flies with the wind: from where it blows.
			sin, cos := math.Sincos(w.WindFrom.Value)
			c := Dot{(x1 + x2) / 2, y + windHeight - 2.2}
			a, b := Dot{c.X + 1.5*sin, c.Y - 1.5*cos}, Dot{c.X - 1.5*sin, c.Y + 1.5*cos}
			line(p, thin, a.X, a.Y, b.X, b.Y)
			arrow(p, solid, a, b, 1.1)
		}
	}
	return y + windHeight + panelGap
}

func (s *DayStrip) windows(p Pen, h hours, y float64) float64 {
	p.Words(bold, Dot{0, y - 0.7}, "slates")
	for i := range s.slates {
		x := &s.slates[i]
		line(p, hair, h.x, y+rowHeight, h.x+h.w, y+rowHeight)
		p.Words(boldMono, Dot{1, y + 3}, x.Slate)
		p.Words(small, Dot{8.5, y + 2.9}, x.Priority)
		ink := Ink{LineMM: 0.2, Filled: true, Fill: 0.85}
		if x.Barred {
			ink = Ink{LineMM: 0.2, Dash: []float64{0.8, 0.6}, HatchMM: 0.8, Crossed: true, Line: 0.4}
		}
		shown := false
		for _, w := range x.LightOK {
			if w.To.After(s.from) && w.From.Before(s.to) {
				h.bar(p, ink, w.From, w.To, y+0.6, rowFill)
				if !shown && x.Barred {
					p.Words(Lettering{SizeMM: 2.4, Bold: true, Mono: true, Halo: true}, Dot{math.Max(h.x, h.at(w.From)) + 1, y + 2.9}, "STOP")
				}
				shown = true
			}
		}
		if !shown {
			p.Words(small, Dot{h.x + 1, y + 2.9}, "no window this day")
		}
		for _, sortie := range s.day.Sorties {
			for _, shot := range sortie.Slates {
				if shot.Slate == x.Slate {
					h.bar(p, solid, shot.Start, shot.End, y+0.3, rowFill+0.6)
					p.Words(Lettering{SizeMM: 2.2, Mono: true, Bold: true, Halo: true}, Dot{h.at(shot.End) + 0.6, y + 2.9}, shot.Start.Format("15:04"))
				}
			}
		}
		y += rowHeight
	}
	return y + panelGap
}

func (s *DayStrip) work(p Pen, h hours, y float64) float64 {
	p.Words(bold, Dot{0, y - 0.7}, "rigs")
	for _, name := range s.rigs {
		line(p, hair, h.x, y+rowHeight, h.x+h.w, y+rowHeight)
		p.Words(boldMono, Dot{1, y + 3}, name)
		for _, x := range s.day.Sorties {
			if x.Rig != name {
				continue
			}
			if x.BuildS > 0 {
				h.bar(p, Ink{LineMM: 0.15, HatchMM: 0.7}, x.Start.Add(-time.Duration(x.BuildS)*time.Second), x.Start, y+0.6, rowFill)
			}
			if x.MoveS > 0 {
				built := x.Start.Add(-time.Duration(x.BuildS) * time.Second)
				h.bar(p, Ink{LineMM: 0.2, Dash: []float64{0.5, 0.5}}, built.Add(-time.Duration(x.MoveS)*time.Second), built, y+1.2, rowFill-1.2)
			}
			h.bar(p, solid, x.Start, x.End, y+0.6, rowFill)
		}
		y += rowHeight
	}
	return y + panelGap
}

func (s *DayStrip) charging(p Pen, h hours, y float64) float64 {
	p.Words(bold, Dot{0, y - 0.7}, "packs")
	for _, name := range s.packs {
		line(p, hair, h.x, y+rowHeight, h.x+h.w, y+rowHeight)
		p.Words(boldMono, Dot{1, y + 3}, name)
		for _, x := range s.day.Sorties {
			if x.Pack == name {
				h.bar(p, solid, x.Start, x.End, y+0.6, rowFill)
			}
		}
		for _, x := range s.day.Charges {
			if x.Pack == name {
				h.bar(p, Ink{LineMM: 0.2, HatchMM: 0.6, Crossed: true}, x.Start, x.End, y+0.6, rowFill)
			}
		}
		y += rowHeight
	}
	return y
}

// legend says what the shapes mean.
func (s *DayStrip) legend(p Pen, y float64, h hours) {
	x := h.x
	for _, item := range []struct {
		ink  Ink
		text string
	}{
		{Ink{LineMM: 0.2, Filled: true, Fill: 0.85}, "window"}, {Ink{LineMM: 0.2, Dash: []float64{0.8, 0.6}, HatchMM: 0.8, Crossed: true, Line: 0.4}, "light only, barred"},
		{solid, "shot, in the air"}, {Ink{LineMM: 0.15, HatchMM: 0.7}, "build"}, {Ink{LineMM: 0.2, Dash: []float64{0.5, 0.5}}, "move"},
		{Ink{LineMM: 0.2, HatchMM: 0.6, Crossed: true}, "charging"}, {Ink{HatchMM: 1.5, Line: 0.6, LineMM: 0.1}, "break"},
	} {
		box(p, item.ink, x, y, 5, 2.4)
		p.Words(small, Dot{x + 6, y + 2}, item.text)
		x += 8.5 + p.Width(small, item.text)
	}
}
