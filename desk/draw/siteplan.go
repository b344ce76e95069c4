package draw

import (
	"fmt"
	"image"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/risk"
	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
)

// SitePlan is the map of the job: ground, what stands there, areas, launch and emergency landing
// spots, every slate's path, and how far a failed aircraft may come.
type SitePlan struct {
	// Beneath is the crew's own map of the ground that Frame says, clear where it covers nothing; nil for none.
	Beneath *image.NRGBA

	a      *assess.Assessor
	bounds geo.Bounds
	paths  []sitePath
}

type sitePath struct {
	slate  string
	places []geo.Vec3
	barred bool
	reachM float64 // contingency volume and ground risk buffer; 0 unknown
}

// NewSitePlan gathers the map.
func NewSitePlan(a *assess.Assessor, c *check.Check) *SitePlan {
	s := &SitePlan{a: a, bounds: geo.Bounds{MinX: math.Inf(1), MinY: math.Inf(1), MaxX: math.Inf(-1), MaxY: math.Inf(-1)}}
	take := func(p geo.Vec3, margin float64) {
		s.bounds = s.bounds.Union(geo.Bounds{MinX: p.X - margin, MinY: p.Y - margin, MaxX: p.X + margin, MaxY: p.Y + margin})
	}
	for i := range a.Shoot.Features() {
		switch f := &a.Shoot.Features()[i]; f.Kind {
		case shoot.Launch, shoot.Landing, shoot.Set, shoot.Observer, shoot.People, shoot.Home:
			for _, p := range f.Places {
				take(p, 60)
			}
		}
	}
	for i := range c.Slates {
		x := &c.Slates[i]
		t := a.Take(x.Slate)
		if t.Unsolved != nil {
			continue
		}
		path := sitePath{slate: x.Slate, barred: x.Barred}
		if v, ok := t.Volumes(); ok {
			path.reachM = v.GeographyM + v.ContingencyM + v.BufferM
		}
		step := max(1, len(t.Path.Samples)/120)
		for k := 0; k < len(t.Path.Samples); k += step {
			path.places = append(path.places, t.Path.Samples[k].Pos)
		}
		path.places = append(path.places, t.Path.Samples[len(t.Path.Samples)-1].Pos)
		for _, p := range path.places {
			take(p, path.reachM+20)
		}
		s.paths = append(s.paths, path)
	}
	if math.IsInf(s.bounds.MinX, 0) {
		s.bounds = geo.Bounds{MinX: -300, MinY: -300, MaxX: 300, MaxY: 300}
	}
	return s
}

// legend is the height that the meaning of the signs takes under the map.
const legend = 15.0

// HeightMM is how high paper of the width has to be for all of the job, the legend included.
func (s *SitePlan) HeightMM(widthMM float64) float64 {
	c := newChart(s.a.Shoot.Ground(), geo.Bounds{MinX: s.bounds.MinX, MaxX: s.bounds.MaxX, MinY: 0, MaxY: 1}, 0, 0, widthMM, widthMM)
	return math.Max(80, (s.bounds.MaxY-s.bounds.MinY)/c.scale+4) + legend
}

// DrawAreas puts the areas around the job on paper of the size, at the scale that holds them.
func (s *SitePlan) DrawAreas(p Pen, widthMM, heightMM float64) {
	b := s.bounds
	for i := range s.a.Shoot.Features() {
		if f := &s.a.Shoot.Features()[i]; f.Kind == shoot.Area {
			b = b.Union(f.Outline.Bounds())
		}
	}
	// An area may be a whole control zone: what is far from the job is cut off.
	far := s.bounds.Grow(farAreaM)
	b = geo.Bounds{MinX: math.Max(b.MinX, far.MinX), MinY: math.Max(b.MinY, far.MinY), MaxX: math.Min(b.MaxX, far.MaxX), MaxY: math.Min(b.MaxY, far.MaxY)}
	c := newChart(s.a.Shoot.Ground(), b.Grow(50), 0, 0, widthMM, heightMM)
	p.Clip(Dot{0, 0}, widthMM, heightMM, func() {
		c.relief(p)
		c.contours(p)
		for _, kind := range []string{shoot.Water, shoot.Road, shoot.Rail, shoot.Area, shoot.Wire, shoot.Launch} {
			for i := range s.a.Shoot.Features() {
				if f := &s.a.Shoot.Features()[i]; f.Kind == kind {
					c.feature(p, f, kind == shoot.Area)
				}
			}
		}
		for _, path := range s.paths {
			p.Shape(Ink{LineMM: 0.5}, false, c.dots(path.places)...)
		}
		s.reach(p, &c)
		c.northAndScale(p)
	})
	c.frame(p)
}

// farAreaM is how far beyond the job areas are drawn.
const farAreaM = 5000.0

func (s *SitePlan) chart(widthMM, heightMM float64) chart {
	return newChart(s.a.Shoot.Ground(), s.bounds, 0, 0, widthMM, heightMM-legend)
}

// Frame is the ground that Draw shows on paper of the size, in the site frame, and how large it is there, in mm.
func (s *SitePlan) Frame(widthMM, heightMM float64) (ground geo.Bounds, w, h float64) {
	c := s.chart(widthMM, heightMM)
	return c.bounds, c.w, c.h
}

// Draw puts the map on paper of the size, a legend under it.
func (s *SitePlan) Draw(p Pen, widthMM, heightMM float64) {
	c := s.chart(widthMM, heightMM)
	interval := 0.0
	p.Clip(Dot{0, 0}, widthMM, heightMM-legend, func() {
		if s.Beneath == nil {
			c.relief(p)
		} else {
			p.Picture(Dot{c.x, c.y}, c.w, c.h, muted(s.Beneath, c.shades()))
		}
		interval = c.contours(p)
		s.reach(p, &c)
		c.features(p, s.a.Shoot.Features(), true)
		for _, path := range s.paths {
			drawWay(p, &c, path)
		}
		for _, path := range s.paths {
			at := c.dot(path.places[0].XY())
			p.Words(haloBold, Dot{at.X + 1, at.Y - 1}, path.slate)
		}
		c.northAndScale(p)
	})
	c.frame(p)
	s.legend(p, heightMM-legend+3.5, widthMM, interval)
}

func drawWay(p Pen, c *chart, path sitePath) {
	dots := c.dots(path.places)
	ink := Ink{LineMM: 0.6}
	if path.barred {
		ink.Dash = []float64{0.8, 0.8}
	}
	p.Shape(ink, false, dots...)
	n := len(dots)
	if n > 1 && math.Hypot(dots[n-1].X-dots[0].X, dots[n-1].Y-dots[0].Y) > 1 {
		arrow(p, solid, dots[max(0, n-3)], dots[n-1], 2)
	}
	p.Circle(Ink{LineMM: 0.3, Filled: true, Fill: 1}, dots[0], 0.6)
}

// reach outlines contingency volume and ground risk buffer of every path.
func (s *SitePlan) reach(p Pen, c *chart) {
	for _, path := range s.paths {
		for _, g := range around(path.places, path.reachM) {
			p.Shape(Ink{LineMM: 0.18, Line: 0.25, Dash: []float64{0.6, 0.7}}, true, c.ring(g.Outer)...)
		}
	}
}

// around is the area within a distance of a path, nothing where the distance is not known.
func around(path []geo.Vec3, radiusM float64) []geo.Polygon {
	if radiusM <= 0 {
		return nil
	}
	flat := make([]geo.Vec2, len(path))
	for i, q := range path {
		flat[i] = q.XY()
	}
	all, err := risk.Around(flat, radiusM)
	if err != nil {
		return nil
	}
	return all
}

func (s *SitePlan) legend(p Pen, y, width, interval float64) {
	x, row := 0.0, y
	item := func(w float64, sign func(x, y float64), text string) {
		need := w + 1.5 + p.Width(small, text) + 4
		if x+need > width {
			x, row = 0, row+4
		}
		sign(x, row)
		p.Words(small, Dot{x + w + 1.2, row + 0.7}, text)
		x += need
	}
	item(3.5, func(x, y float64) { badge(p, Dot{x + 1.7, y}, "L", 0) }, "launch and landing")
	item(4, func(x, y float64) { badge(p, Dot{x + 2, y}, "E", 4.5) }, "emergency landing")
	item(4, func(x, y float64) { badge(p, Dot{x + 2, y + 0.4}, "O", 3) }, "observer")
	item(3.5, func(x, y float64) { badge(p, Dot{x + 1.6, y}, "S", 4) }, "set")
	item(7, func(x, y float64) { drawWayLegend(p, x, y, false) }, "path, from ring to arrow")
	item(7, func(x, y float64) { drawWayLegend(p, x, y, true) }, "path of a slate with STOP")
	item(7, func(x, y float64) {
		line(p, Ink{LineMM: 0.18, Line: 0.25, Dash: []float64{0.6, 0.7}}, x, y, x+7, y)
	}, "contingency volume and ground risk buffer")
	item(7, func(x, y float64) { (&chart{}).wire(p, []Dot{{x, y}, {x + 7, y}}) }, "wire")
	item(4, func(x, y float64) {
		p.Shape(Ink{LineMM: 0.25, Filled: true, Fill: 1}, true, Dot{x + 2, y - 1.2}, Dot{x + 1, y + 0.7}, Dot{x + 3, y + 0.7})
	}, "mast")
	item(3, func(x, y float64) { p.Circle(Ink{LineMM: 0.25, Filled: true, Fill: 0.9}, Dot{x + 1.5, y}, 1) }, "tree")
	item(4, func(x, y float64) { box(p, Ink{Filled: true, Fill: 0.25}, x, y-0.9, 3.4, 1.8) }, "building")
	item(5, func(x, y float64) {
		box(p, Ink{LineMM: 0.35, HatchMM: 1.3, Crossed: true, Line: 0.25}, x, y-1.3, 5, 2.6)
	}, "people not of the crew")
	item(5, func(x, y float64) { box(p, Ink{LineMM: 0.7, HatchMM: 1.5, Line: 0.3}, x, y-1.3, 5, 2.6) }, "out of bounds")
	item(5, func(x, y float64) {
		box(p, Ink{LineMM: 0.5, Dash: []float64{1.5, 0.5, 0.4, 0.5}}, x, y-1.3, 5, 2.6)
	}, "needs permission")
	item(7, func(x, y float64) { line(p, Ink{LineMM: 0.4, Dash: []float64{4, 1}}, x, y, x+7, y) }, "permitted area")
	if interval > 0 {
		item(5, func(x, y float64) { line(p, Ink{LineMM: 0.22, Line: 0.35}, x, y, x+5, y) }, fmt.Sprintf("contours each %.0f m", interval))
	}
}

func drawWayLegend(p Pen, x, y float64, barred bool) {
	ink := Ink{LineMM: 0.6}
	if barred {
		ink.Dash = []float64{0.8, 0.8}
	}
	p.Shape(ink, false, Dot{x, y}, Dot{x + 7, y})
	arrow(p, solid, Dot{x, y}, Dot{x + 7, y}, 2)
}
