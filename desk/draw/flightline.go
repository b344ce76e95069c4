package draw

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

// FlightLine is a slate's path from above and from the side, with a tick for each second.
type FlightLine struct {
	a      *assess.Assessor
	take   *assess.Take
	marked bool // with key poses and least clearances
}

// NewFlightLine gathers the drawings of a slate.
func NewFlightLine(a *assess.Assessor, x *check.Slate) *FlightLine {
	return &FlightLine{a: a, take: a.Take(x.Slate)}
}

// named is how many seconds lie between two named ticks.
func (f *FlightLine) named() int {
	switch d := f.take.Path.DurationS(); {
	case d <= 25:
		return 5
	case d <= 100:
		return 10
	}
	return 30
}

// subject is where the slate's subject is at a time of the take; ok is false for one unknown.
func (f *FlightLine) subject(t float64) (move.Motion, bool) {
	s := f.a.Subjects()[f.take.Slate.Subject]
	if s == nil {
		return move.Motion{}, false
	}
	return s.At(t)
}

func (f *FlightLine) moves() bool {
	s := f.a.Subjects()[f.take.Slate.Subject]
	return s != nil && s.Moves()
}

// DrawPlan puts the path seen from above on paper of the size.
func (f *FlightLine) DrawPlan(p Pen, widthMM, heightMM float64) {
	foot := heightMM - 1 // of the words below
	heightMM -= 3.8
	path := f.take.Path.Samples
	b := geo.Bounds{MinX: math.Inf(1), MinY: math.Inf(1), MaxX: math.Inf(-1), MaxY: math.Inf(-1)}
	add := func(q geo.Vec3, m float64) {
		b = b.Union(geo.Bounds{MinX: q.X - m, MinY: q.Y - m, MaxX: q.X + m, MaxY: q.Y + m})
	}
	for i := range path {
		add(path[i].Pos, 12)
	}
	end := f.take.Path.DurationS()
	for _, t := range []float64{0, end / 2, end} {
		if m, ok := f.subject(t); ok {
			add(m.Box.Centre(), 8)
		}
	}
	launch := f.a.Shoot.Launch(f.take.Slate.Launch)
	far := math.Max(b.MaxX-b.MinX, b.MaxY-b.MinY)
	off := ""
	if launch != nil {
		if q := launch.Places[0]; b.Grow(1.2 * far).Contains(q.XY()) {
			add(q, 10)
		} else {
			off = fmt.Sprintf("launch spot %s lies %.0f m away, outside the drawing", launch.Name, launch.Distance(path[0].Pos))
		}
	}
	c := newChart(f.a.Shoot.Ground(), b, 0, 0, widthMM, heightMM)
	interval := 0.0
	p.Clip(Dot{0, 0}, widthMM, heightMM, func() {
		interval = c.contours(p)
		places := make([]geo.Vec3, 0, 130)
		step := max(1, len(path)/120)
		for i := 0; i < len(path); i += step {
			places = append(places, path[i].Pos)
		}
		places = append(places, path[len(path)-1].Pos)
		f.volumes(p, &c, places)
		c.features(p, f.a.Shoot.Features(), false)
		f.drawSubject(p, &c)
		for _, t := range []float64{0, end / 2, end} {
			f.view(p, &c, f.take.Path.At(t), 15)
		}
		way := Ink{LineMM: 0.55}
		p.Shape(way, false, c.dots(places)...)
		f.ticks(p, func(s *move.Sample) Dot { return c.dot(s.Pos.XY()) })
		f.marks(p, func(s *move.Sample) Dot { return c.dot(s.Pos.XY()) })
		f.nearest(p, &c)
		if off != "" {
			p.Words(haloSmall, Dot{1, heightMM - 1.2}, off)
		}
		if f.take.Unsolved != nil {
			p.Words(Lettering{SizeMM: 3, Bold: true, Mono: true, Halo: true}, Dot{2, 5}, "NO PATH: cannot be flown as asked")
		}
	})
	c.scaleBelow(p, foot)
	c.frame(p)
	p.Words(small, Dot{0, foot}, fmt.Sprintf("from above; contours each %.0f m; a tick each second", interval))
}

// volumes outlines contingency volume (dashes) and ground risk buffer (dots).
func (f *FlightLine) volumes(p Pen, c *chart, places []geo.Vec3) {
	v, ok := f.take.Volumes()
	if !ok {
		return
	}
	for _, g := range around(places, v.GeographyM+v.ContingencyM) {
		p.Shape(Ink{LineMM: 0.2, Dash: []float64{1.2, 0.7}}, true, c.ring(g.Outer)...)
	}
	for _, g := range around(places, v.GeographyM+v.ContingencyM+v.BufferM) {
		p.Shape(Ink{LineMM: 0.2, Dash: []float64{0.4, 0.7}}, true, c.ring(g.Outer)...)
	}
}

func (f *FlightLine) drawSubject(p Pen, c *chart) {
	mark := func(t float64) {
		m, ok := f.subject(t)
		if !ok {
			return
		}
		at := c.dot(m.Box.Centre().XY())
		line(p, Ink{LineMM: 0.3}, at.X-1.3, at.Y, at.X+1.3, at.Y)
		line(p, Ink{LineMM: 0.3}, at.X, at.Y-1.3, at.X, at.Y+1.3)
		p.Circle(Ink{LineMM: 0.3}, at, 0.8)
	}
	m, ok := f.subject(0)
	if !ok {
		return
	}
	if !f.moves() {
		mark(0)
		at := c.dot(m.Box.Centre().XY())
		p.Words(Lettering{SizeMM: 2.2, Bold: true, Halo: true}, Dot{at.X + 1.8, at.Y - 1}, f.take.Slate.Subject)
		return
	}
	var way []Dot
	for t := 0.0; t <= f.take.Path.DurationS(); t++ {
		if q, ok := f.subject(t); ok {
			way = append(way, c.dot(q.Box.Centre().XY()))
		}
	}
	p.Shape(Ink{LineMM: 0.35, Dash: []float64{1, 0.6}}, false, way...)
	for i, d := range way {
		p.Circle(solid, d, 0.35)
		if i%f.named() == 0 {
			p.Words(Lettering{SizeMM: 1.9, Mono: true, Halo: true}, Dot{d.X + 0.8, d.Y + 2.2}, fmt.Sprint(i))
		}
	}
	if len(way) > 1 {
		arrow(p, solid, way[len(way)-2], way[len(way)-1], 1.8)
		p.Words(Lettering{SizeMM: 2.2, Bold: true, Halo: true}, Dot{way[len(way)-1].X + 2, way[len(way)-1].Y + 0.6}, f.take.Slate.Subject)
	}
}

// view draws what the lens takes in from above.
func (f *FlightLine) view(p Pen, c *chart, s *move.Sample, lengthMM float64) {
	camera, ok := f.take.Camera()
	if !ok {
		return
	}
	camera.FocalM = s.FocalM
	half := float64(camera.HFOV()) / 2
	at := c.dot(s.Pos.XY())
	if math.Cos(float64(s.Tilt)) < 0.35 { // looks down: a wedge would mislead
		p.Circle(Ink{LineMM: 0.15, Dash: []float64{0.8, 0.5}}, at, 3)
		return
	}
	for _, side := range []float64{-half, half} {
		sin, cos := math.Sincos(float64(s.Azimuth()) + side)
		line(p, Ink{LineMM: 0.15}, at.X, at.Y, at.X+lengthMM*sin, at.Y-lengthMM*cos)
	}
}

// ticks marks each second of the path, across its way on paper.
func (f *FlightLine) ticks(p Pen, place func(*move.Sample) Dot) {
	path, every := &f.take.Path, f.named()
	end := path.DurationS()
	last := Dot{-100, -100}
	for s := 0; float64(s) <= end+1e-6; s++ {
		at := path.At(float64(s))
		here := place(at)
		a, b := place(path.At(float64(s)-0.2)), place(path.At(float64(s)+0.2))
		dx, dy := b.X-a.X, b.Y-a.Y
		n := math.Hypot(dx, dy)
		if n < 1e-3 {
			dx, dy, n = 1, 0, 1
		}
		l := 0.7
		if s%every == 0 {
			l = 1.5
		}
		line(p, Ink{LineMM: 0.25}, here.X-dy/n*l, here.Y+dx/n*l, here.X+dy/n*l, here.Y-dx/n*l)
		if s%every == 0 && math.Hypot(here.X-last.X, here.Y-last.Y) > 4 {
			p.Words(Lettering{SizeMM: 2.1, Mono: true, Bold: true, Halo: true}, Dot{here.X + dy/n*2 + 0.4, here.Y - dx/n*2 + 0.6}, fmt.Sprint(s))
			last = here
		}
	}
	first, final := place(path.At(0)), place(path.At(end))
	p.Circle(Ink{LineMM: 0.35, Filled: true, Fill: 1}, first, 0.9)
	if before := place(path.At(end - 1)); math.Hypot(final.X-first.X, final.Y-first.Y) > 0.8 {
		arrow(p, solid, before, final, 2)
	}
}

// side is the axis that the side drawing stands on.
type side struct {
	words string
	along func(s *move.Sample, i int) float64
	plane func(q geo.Vec3) (float64, bool) // where another thing stands along it; false off the plane
	at    func(d float64) geo.Vec2         // the ground under a place of the axis
}

// upright chooses the plane of the side drawing: along the way flown, or, for a path that hardly moves,
// from the camera to the subject.
func (f *FlightLine) upright() side {
	path := f.take.Path.Samples
	way := make([]float64, len(path))
	for i := 1; i < len(path); i++ {
		way[i] = way[i-1] + path[i].Pos.Sub(path[i-1].Pos).Horizontal()
	}
	if total := way[len(way)-1]; total >= 15 {
		return side{"along the path", func(_ *move.Sample, i int) float64 { return way[i] },
			func(geo.Vec3) (float64, bool) { return 0, false },
			func(d float64) geo.Vec2 {
				if d <= 0 || d >= total { // straight on beyond the ends
					e, n := path[0], path[min(len(path)-1, 1)]
					over := d
					if d >= total {
						e, n, over = path[len(path)-1], path[len(path)-1], d-total
						for k := len(path) - 2; k >= 0 && n.Pos.Sub(path[k].Pos).Horizontal() < 0.5; k-- {
							e = path[k]
						}
						dir := n.Pos.Sub(e.Pos)
						if h := dir.Horizontal(); h > 0 {
							return geo.Vec2{X: n.Pos.X + dir.X/h*over, Y: n.Pos.Y + dir.Y/h*over}
						}
						return n.Pos.XY()
					}
					for k := 1; k < len(path) && n.Pos.Sub(e.Pos).Horizontal() < 0.5; k++ {
						n = path[k]
					}
					dir := n.Pos.Sub(e.Pos)
					if h := dir.Horizontal(); h > 0 {
						return geo.Vec2{X: e.Pos.X + dir.X/h*over, Y: e.Pos.Y + dir.Y/h*over}
					}
					return e.Pos.XY()
				}
				lo, hi := 0, len(way)-1
				for hi-lo > 1 {
					if m := (lo + hi) / 2; way[m] <= d {
						lo = m
					} else {
						hi = m
					}
				}
				share := 0.0
				if way[hi] > way[lo] {
					share = (d - way[lo]) / (way[hi] - way[lo])
				}
				return path[lo].Pos.Lerp(path[hi].Pos, share).XY()
			}}
	}
	mid := path[len(path)/2]
	azimuth := float64(mid.Azimuth())
	words := fmt.Sprintf("seen across the lens axis, azimuth %.0f°", unit.Angle(azimuth).Wrapped().Deg())
	if m, ok := f.subject(mid.T); ok {
		if d := m.Box.Centre().Sub(mid.Pos); d.Horizontal() > 1 {
			azimuth = math.Atan2(d.X, d.Y)
			words = "from the camera toward " + f.take.Slate.Subject
		}
	}
	sin, cos := math.Sincos(azimuth)
	origin := path[0].Pos
	flat := func(q geo.Vec3) float64 { return (q.X-origin.X)*sin + (q.Y-origin.Y)*cos }
	return side{words, func(s *move.Sample, _ int) float64 { return flat(s.Pos) },
		func(q geo.Vec3) (float64, bool) { return flat(q), true },
		func(d float64) geo.Vec2 { return geo.Vec2{X: origin.X + d*sin, Y: origin.Y + d*cos} }}
}

// DrawSide puts the path seen from the side on paper of the size: heights above sea over the ground.
func (f *FlightLine) DrawSide(p Pen, widthMM, heightMM float64) {
	path := f.take.Path.Samples
	ground := f.a.Shoot.Ground()
	view := f.upright()
	lo, hi, from, to := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for i := range path {
		d := view.along(&path[i], i)
		from, to = math.Min(from, d), math.Max(to, d)
		hi = math.Max(hi, path[i].Pos.Z)
	}
	subject, hasSubject := f.subject(0)
	subjectAt, onPlane := 0.0, false
	if hasSubject && !f.moves() {
		if subjectAt, onPlane = view.plane(subject.Box.Centre()); onPlane {
			from, to = math.Min(from, subjectAt), math.Max(to, subjectAt)
			hi = math.Max(hi, subject.Box.Centre().Z)
		}
	}
	margin := math.Max(4, 0.06*(to-from))
	from, to = from-margin, to+margin
	const steps = 160
	type spot struct{ d, z float64 }
	var land []spot
	for i := 0; i <= steps; i++ {
		d := from + (to-from)*float64(i)/steps
		q := view.at(d)
		if z, ok := ground.HeightAt(q.X, q.Y); ok {
			land = append(land, spot{d, z})
			lo = math.Min(lo, z)
			hi = math.Max(hi, z)
		}
	}
	if math.IsInf(lo, 1) {
		lo = hi - 50
	}
	left, bottom := 9.0, 7.0
	w, h := widthMM-left-2, heightMM-bottom
	span := math.Max(20, (hi-lo)*1.15)
	base := lo - 0.06*span
	// Upright exaggeration is a whole multiple of the level scale, so that it can be stated.
	level := (to - from) / w // m per mm
	steep := span * 1.06 / h
	stretch := 1.0
	if level > steep {
		for _, s := range []float64{1, 1.5, 2, 3, 4, 5} {
			if level/s >= steep {
				stretch = s
			}
		}
	} else {
		wide := steep * w
		from, to = (from+to)/2-wide/2, (from+to)/2+wide/2
		level = steep
		land = nil
		for i := 0; i <= steps; i++ {
			d := from + (to-from)*float64(i)/steps
			q := view.at(d)
			if z, ok := ground.HeightAt(q.X, q.Y); ok {
				land = append(land, spot{d, z})
			}
		}
	}
	up := level / stretch
	place := func(d, z float64) Dot { return Dot{left + (d-from)/level, h - (z-base)/up} }
	p.Clip(Dot{0, 0}, widthMM, heightMM, func() {
		p.Clip(Dot{left, 0}, w, h, func() {
			var outline []Dot
			for _, s := range land {
				outline = append(outline, place(s.d, s.z))
			}
			if len(outline) > 1 {
				deep := base - 2*span
				foot := append(outline, Dot{outline[len(outline)-1].X, place(0, deep).Y}, Dot{outline[0].X, place(0, deep).Y})
				area(p, Ink{HatchMM: 1.1, Line: 0.3, LineMM: 0.3}, clampY(foot, h)...)
			} else {
				p.Words(haloSmall, Dot{left + 1, h - 1}, "ground unknown")
			}
			f.ceiling(p, view, place, from, to)
			if onPlane {
				f.sideSubject(p, view, place, subject, subjectAt)
			}
			var way []Dot
			stride := max(1, len(path)/200)
			for i := 0; i < len(path); i += stride {
				way = append(way, place(view.along(&path[i], i), path[i].Pos.Z))
			}
			way = append(way, place(view.along(&path[len(path)-1], len(path)-1), path[len(path)-1].Pos.Z))
			p.Shape(Ink{LineMM: 0.55}, false, way...)
			onSide := func(s *move.Sample) Dot {
				i := max(0, min(len(path)-1, int(math.Round(s.T*f.take.Path.RateHz))))
				return place(view.along(s, i), s.Pos.Z)
			}
			f.ticks(p, onSide)
			f.marks(p, onSide)
			f.lowest(p, onSide, up)
		})
		f.sideAxes(p, view, place, from, to, base, base+h*up, left, w, h, stretch)
	})
	box(p, Ink{LineMM: 0.4}, left, 0, w, h)
}

func clampY(dots []Dot, y float64) []Dot {
	for i := range dots {
		dots[i].Y = math.Min(dots[i].Y, y)
	}
	return dots
}

func (f *FlightLine) sideSubject(p Pen, view side, place func(d, z float64) Dot, m move.Motion, at float64) {
	c := m.Box.Centre()
	x := f.a.Shoot.Subject(f.take.Slate.Subject)
	half := float64(x.Height) / 2
	reach := math.Max(1, math.Min(float64(x.Width), float64(x.Depth))/2)
	a, b := place(at-reach, c.Z+half), place(at+reach, c.Z-half)
	box(p, Ink{LineMM: 0.35, Filled: true, Fill: 0.75}, a.X, a.Y, b.X-a.X, b.Y-a.Y)
	p.Words(Lettering{SizeMM: 2.1, Bold: true, Halo: true, Anchor: Middle}, Dot{(a.X + b.X) / 2, a.Y - 0.8}, f.take.Slate.Subject)
	for _, t := range []float64{0, f.take.Path.DurationS()} {
		s := f.take.Path.At(t)
		i := int(math.Round(s.T * f.take.Path.RateHz))
		from, to := place(view.along(s, i), s.Pos.Z), place(at, c.Z)
		p.Shape(Ink{LineMM: 0.15, Dash: []float64{0.8, 0.6}}, false, from, to)
	}
}

// ceiling draws the top of permitted areas that the path lies in, over the ground.
func (f *FlightLine) ceiling(p Pen, view side, place func(d, z float64) Dot, from, to float64) {
	start := f.take.Path.Samples[0].Pos
	for i := range f.a.Shoot.Features() {
		a := &f.a.Shoot.Features()[i]
		if a.Kind != shoot.Area || a.Status == "out of bounds" || math.IsInf(a.CeilingM, 1) || !a.Contains(start) || a.Reference == "flight level" {
			continue
		}
		var way []Dot
		for k := 0; k <= 80; k++ {
			d := from + (to-from)*float64(k)/80
			q := view.at(d)
			z, ok := f.a.Shoot.Ground().HeightAt(q.X, q.Y)
			if a.Reference == "sea" {
				z, ok = 0, true
			}
			if ok {
				way = append(way, place(d, z+a.CeilingM))
			}
		}
		p.Shape(Ink{LineMM: 0.3, Dash: []float64{2.4, 0.8}}, false, way...)
		if len(way) > 0 {
			p.Words(haloSmall, Dot{way[0].X + 1, way[0].Y - 0.6}, fmt.Sprintf("%s: %.0f m above %s", a.Name, a.CeilingM, a.Reference))
		}
	}
}

func (f *FlightLine) sideAxes(p Pen, view side, place func(d, z float64) Dot, from, to, low, high, left, w, h, stretch float64) {
	step := niceStep((high - low) / 5)
	for z := math.Ceil(low/step) * step; z <= high; z += step {
		y := place(from, z).Y
		line(p, thin, left-0.8, y, left, y)
		p.Words(smallMono.at(End), Dot{left - 1, y + 0.7}, fmt.Sprintf("%.0f", z))
	}
	step = niceStep((to - from) / 6)
	for d := math.Ceil(from/step) * step; d <= to; d += step {
		x := place(d, low).X
		line(p, thin, x, h, x, h+0.8)
		p.Words(smallMono.at(Middle), Dot{x, h + 3}, fmt.Sprintf("%.0f", d+0.0001))
	}
	words := fmt.Sprintf("%s, m; heights above sea, m", view.words)
	if stretch != 1 {
		words += fmt.Sprintf(", drawn %g times too high", stretch)
	}
	p.Words(small, Dot{left, h + 6}, words)
}

// niceStep is the next of 1, 2 or 5 times a power of ten.
func niceStep(v float64) float64 {
	if v <= 0 {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{1, 2, 5} {
		if k*p >= v {
			return k * p
		}
	}
	return 10 * p
}
