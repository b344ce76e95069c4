package draw

import (
	"fmt"
	"math"
	"time"

	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

// hours is an axis of local time across a picture.
type hours struct {
	from, to time.Time
	x, w     float64 // mm
}

func (h hours) at(t time.Time) float64 {
	share := float64(t.Sub(h.from)) / float64(h.to.Sub(h.from))
	return h.x + h.w*math.Max(0, math.Min(1, share))
}

// rule draws the full hours from y to y+height, named every second above.
func (h hours) rule(p Pen, y, height float64, named bool) {
	for t := h.from.Truncate(time.Hour); !t.After(h.to); t = t.Add(time.Hour) {
		if t.Before(h.from) {
			continue
		}
		x := h.at(t)
		line(p, hair, x, y, x, y+height)
		if named && (t.Hour()%2 == 0 || h.to.Sub(h.from) < 12*time.Hour) {
			p.Words(smallMono.at(Middle), Dot{x, y - 0.8}, t.Format("15"))
		}
	}
}

// bar draws the part of a span that the axis shows.
func (h hours) bar(p Pen, ink Ink, from, to time.Time, y, height float64) {
	if !to.After(h.from) || !from.Before(h.to) {
		return
	}
	x := h.at(from)
	box(p, ink, x, y, math.Max(0.25, h.at(to)-x), height)
}

// sunPanel draws the sun's altitude over a day, night and twilight shaded.
type sunPanel struct {
	almanac *sky.Almanac
	low, hi float64 // degrees
	y, h    float64 // mm
}

func (s sunPanel) level(deg float64) float64 {
	return s.y + s.h*(s.hi-math.Max(s.low, math.Min(s.hi, deg)))/(s.hi-s.low)
}

// noon is the sun's greatest altitude on the axis, in degrees.
func (s sunPanel) noon(h hours) float64 {
	top := -90.0
	for t := h.from; t.Before(h.to); t = t.Add(10 * time.Minute) {
		top = math.Max(top, s.altitude(t).Deg())
	}
	return top
}

func (s sunPanel) altitude(t time.Time) unit.Angle { return s.position(t).Altitude }

func (s sunPanel) position(t time.Time) sky.Position {
	at, err := sky.At(t)
	if err != nil {
		return sky.Position{}
	}
	return s.almanac.Sun(at)
}

// draw inks night, twilight, level horizon and the sun's way.
func (s sunPanel) draw(p Pen, h hours) {
	const step = 5 * time.Minute
	shade := func(t time.Time) float64 {
		switch a := s.altitude(t).Deg(); {
		case a < -6:
			return 0.72
		case a < -0.833:
			return 0.87
		}
		return 1
	}
	for t := h.from; t.Before(h.to); {
		tone, end := shade(t), t.Add(step)
		for end.Before(h.to) && shade(end) == tone {
			end = end.Add(step)
		}
		if tone < 1 {
			h.bar(p, Ink{Filled: true, Fill: tone}, t, end, s.y, s.h)
		}
		t = end
	}
	for deg := 0.0; deg < s.hi; deg += 15 {
		ink := hair
		if deg == 0 {
			ink = thin
		}
		line(p, ink, h.x, s.level(deg), h.x+h.w, s.level(deg))
		if s.h > 14 || math.Mod(deg, 30) == 0 {
			p.Words(smallMono.at(End), Dot{h.x - 0.8, s.level(deg) + 0.7}, fmt.Sprintf("%.0f°", deg))
		}
	}
	var way []Dot
	for t := h.from; !t.After(h.to); t = t.Add(step) {
		if a := s.altitude(t).Deg(); a > s.low {
			way = append(way, Dot{h.at(t), s.level(a)})
		}
	}
	if len(way) > 1 {
		p.Shape(Ink{LineMM: 0.5}, false, way...)
	}
}
