package draw

import (
	"fmt"
	"math"

	"fieldfare/desk/review"
	"fieldfare/model/geo"
	"fieldfare/plan/shoot"
)

// Flown is the map of a reviewed sortie: the whole flight thin, each take as planned dashed and as
// flown solid, and where a limit was passed, on the ground of the shoot.
type Flown struct {
	s      *shoot.Shoot
	r      *review.Report
	bounds geo.Bounds
}

// NewFlown gathers the map.
func NewFlown(s *shoot.Shoot, r *review.Report) *Flown {
	f := &Flown{s: s, r: r, bounds: geo.Bounds{MinX: math.Inf(1), MinY: math.Inf(1), MaxX: math.Inf(-1), MaxY: math.Inf(-1)}}
	grow := func(all []geo.Vec3) {
		for _, p := range all {
			f.bounds = f.bounds.Union(geo.Bounds{MinX: p.X, MinY: p.Y, MaxX: p.X, MaxY: p.Y})
		}
	}
	grow(r.Path())
	for i := range r.Takes {
		planned, flown := r.Takes[i].Paths()
		grow(planned)
		grow(flown)
	}
	f.bounds = f.bounds.Grow(25)
	return f
}

const flownLegend = 10.0

// HeightMM is how high paper of the width has to be for the whole flight, at most as high as wide.
func (f *Flown) HeightMM(widthMM float64) float64 {
	c := newChart(f.s.Ground(), geo.Bounds{MinX: f.bounds.MinX, MaxX: f.bounds.MaxX, MinY: 0, MaxY: 1}, 0, 0, widthMM, widthMM)
	return math.Min(math.Max(60, (f.bounds.MaxY-f.bounds.MinY)/c.scale+4), widthMM) + flownLegend
}

var (
	asPlanned = Ink{LineMM: 0.4, Dash: []float64{1.6, 1}}
	asFlown   = Ink{LineMM: 0.7}
	inFlight  = Ink{LineMM: 0.18, Line: 0.2}
)

// Draw puts the map on paper of the size, a legend under it.
func (f *Flown) Draw(p Pen, widthMM, heightMM float64) {
	c := newChart(f.s.Ground(), f.bounds, 0, 0, widthMM, heightMM-flownLegend)
	interval := 0.0
	p.Clip(Dot{0, 0}, widthMM, heightMM-flownLegend, func() {
		c.relief(p)
		interval = c.contours(p)
		c.features(p, f.s.Features(), true)
		p.Shape(inFlight, false, thinned(c.dots(f.r.Path()))...)
		for i := range f.r.Takes {
			planned, flown := f.r.Takes[i].Paths()
			p.Shape(asPlanned, false, thinned(c.dots(planned))...)
			dots := thinned(c.dots(flown))
			p.Shape(asFlown, false, dots...)
			if n := len(dots); n > 1 {
				arrow(p, solid, dots[max(0, n-3)], dots[n-1], 2)
			}
		}
		for _, e := range f.r.Events {
			passed(p, c.dots(f.r.During(e.From, e.To)))
		}
		for i := range f.r.Takes {
			if _, flown := f.r.Takes[i].Paths(); len(flown) > 0 {
				at := c.dot(flown[0].XY())
				p.Circle(Ink{LineMM: 0.3, Filled: true, Fill: 1}, at, 0.6)
				p.Words(haloBold, Dot{at.X + 1, at.Y - 1}, fmt.Sprintf("%s/%d", f.r.Takes[i].Slate, f.r.Takes[i].Take))
			}
		}
		c.northAndScale(p)
	})
	c.frame(p)
	x, y := 0.0, heightMM-flownLegend+4
	item := func(w float64, sign func(x, y float64), text string) {
		need := w + 1.5 + p.Width(small, text) + 4
		if x+need > widthMM {
			x, y = 0, y+4
		}
		sign(x, y)
		p.Words(small, Dot{x + w + 1.2, y + 0.7}, text)
		x += need
	}
	way := func(k Ink) func(x, y float64) { return func(x, y float64) { line(p, k, x, y, x+7, y) } }
	item(7, way(inFlight), "whole flight")
	item(7, way(asPlanned), "take as planned")
	item(7, way(asFlown), "take as flown, from ring to arrow")
	item(7, func(x, y float64) { passed(p, []Dot{{x + 0.5, y}, {x + 2.3, y}, {x + 4.1, y}, {x + 5.9, y}}) }, "a limit was passed")
	if interval > 0 {
		item(5, func(x, y float64) { line(p, Ink{LineMM: 0.22, Line: 0.35}, x, y, x+5, y) }, fmt.Sprintf("contours each %.0f m", interval))
	}
}

// passed marks a way with bars across it, at least one.
func passed(p Pen, dots []Dot) {
	bar := func(at, to Dot) {
		dx, dy := to.X-at.X, to.Y-at.Y
		if n := math.Hypot(dx, dy); n > 0 {
			dx, dy = dx/n, dy/n
		} else {
			dx, dy = 0, 1
		}
		p.Shape(Ink{LineMM: 0.35}, false, Dot{at.X - 1.3*dy, at.Y + 1.3*dx}, Dot{at.X + 1.3*dy, at.Y - 1.3*dx})
	}
	left := 0.0
	for i := range dots {
		if i == 0 {
			bar(dots[0], dots[min(1, len(dots)-1)])
			continue
		}
		if left += math.Hypot(dots[i].X-dots[i-1].X, dots[i].Y-dots[i-1].Y); left >= 1.5 {
			bar(dots[i], dots[min(i+1, len(dots)-1)])
			left = 0
		}
	}
}

// thinned leaves out dots nearer than a tenth of a millimetre to the one before.
func thinned(dots []Dot) []Dot {
	var out []Dot
	for i, d := range dots {
		if n := len(out); n == 0 || i == len(dots)-1 || math.Hypot(d.X-out[n-1].X, d.Y-out[n-1].Y) >= 0.1 {
			out = append(out, d)
		}
	}
	return out
}
