package previs

import (
	"math"

	"fieldfare/model/geo"
)

// gaze is the way through one place of the picture. Its level part has length 1, so that its parameter is level distance.
type gaze struct {
	x, y   float64 // the place, pixels
	ex, ey float64 // where its level part points
	rise   float64 // tangent of the elevation
	slant  float64 // length, per metre of level distance
	depth  float64 // along the lens axis, per metre of level distance
}

// spot is what a gaze meets.
type spot struct {
	gaze
	from   float64 // level distance before which no ground is met
	hit    hit     // of the ground
	ground bool
	solid  int // which solid stands before it, or -1
	face   int
	far    float64 // level distance of what is seen

	at     geo.Vec3
	gx, gy float64 // slope of the ground there, east and north
	under  float64 // how deep it lies in the terrain's shadow, m
	normal geo.Vec3
	foot   float64 // size of a pixel there, m across the gaze
	slope  float64 // of the ground, as a tangent
	facing float64 // sine between gaze and ground
	sun    float32 // share of the sun that falls there

	colour rgb
	near   float32 // 1/depth, 0 for the sky
	what   uint32  // identity of the surface
}

// aim sets a gaze through a place of the picture.
func (p *painter) aim(g *gaze, x, y float64) {
	i, j := x-p.view.CentreX, p.view.CentreY-y
	f := &p.view.Forward
	dx, dy, dz := f.X+p.right.X*i+p.up.X*j, f.Y+p.right.Y*i+p.up.Y*j, f.Z+p.right.Z*i+p.up.Z*j
	k := 1 / max(1e-9, math.Sqrt(dx*dx+dy*dy))
	g.x, g.y, g.ex, g.ey, g.rise, g.depth = x, y, dx*k, dy*k, dz*k, k
	g.slant = math.Sqrt(1 + g.rise*g.rise)
}

// over reports whether a gaze stays above ground up to a level distance to which another does: it climbs more than the steepest
// ground could between them. Where there are holes, none may lie between the two.
func (p *painter) over(g, under *gaze, far float64) bool {
	aside := math.Abs(g.ex*under.ey - g.ey*under.ex)
	return g.ex*under.ex+g.ey*under.ey > 0.5 && g.rise-under.rise >= 1.5*p.f.steepest*aside && (!p.f.holed || far*aside < p.f.cell)
}

// nearM is the nearest depth that is drawn.
const nearM = 0.05

// lanes is how many columns are followed together: whole tiles.
const lanes = 4 * tile

// trace fills the buffers.
func (p *painter) trace() {
	parallel((p.w+lanes-1)/lanes, func(n int) { p.follow(n*lanes, min((n+1)*lanes, p.w)) })
}

// follow draws the columns from x0 to x1 upward. What lies before the ground that a pixel shows lies below the gaze
// through the pixel above it too, so that its ray may start there, if the eye is over the grid and all ground before is known.
func (p *painter) follow(x0, x1 int) {
	b := p.buffers
	var below [lanes]gaze
	var clear [lanes]float64
	var spots [tile]spot
	for y := p.h - 1; y >= 0; y-- {
		for x := x0; x < x1; x += tile {
			now := spots[:min(tile, x1-x)]
			below, clear := below[x-x0:][:len(now)], clear[x-x0:][:len(now)]
			for i := range now {
				s := &now[i]
				s.from = 0
				p.aim(&s.gaze, float64(x+i)+0.5, float64(y)+0.5)
				if p.inside && y < p.h-1 && p.over(&s.gaze, &below[i], clear[i]) {
					s.from = clear[i]
				}
			}
			p.look(now, p.shown[y/tile*p.tilesW+x/tile])
			k := y*p.w + x
			colour, near, what := b.colour[k:][:len(now)], b.near[k:][:len(now)], b.what[k:][:len(now)]
			for i := range now {
				s := &now[i]
				g, c := &below[i], &colour[i]
				g.ex, g.ey, g.rise = s.ex, s.ey, s.rise
				c.r, c.g, c.b = s.colour.r, s.colour.g, s.colour.b
				clear[i], near[i], what[i] = s.hit.sure*(1-1e-9), s.near, s.what
			}
		}
	}
}

// look finds and colours what some gazes meet, step by step for all of them: the steps of one do not wait for those of another.
func (p *painter) look(spots []spot, shown []int32) {
	r, k := p.ray, 1/p.f.cell
	for i := range spots {
		s := &spots[i]
		r.point(s.ex*k, s.ey*k, s.rise)
		s.ground = p.f.march(&r, max(nearM/s.depth, s.from), farthestM, &s.hit)
		s.far, s.solid = s.hit.t, -1
		if !s.ground {
			s.far = math.Inf(1)
		}
	}
	if len(shown) > 0 {
		for i := range spots {
			s := &spots[i]
			d := geo.Vec3{X: s.ex, Y: s.ey, Z: s.rise}
			for _, k := range shown {
				if t, n, f, ok := p.solids[k].meet(p.eye, d, nearM/s.depth, s.far); ok {
					s.far, s.normal, s.solid, s.face = t, n, int(k), f
				}
			}
		}
	}
	for i := range spots {
		if s := &spots[i]; s.ground && s.solid < 0 {
			t := s.hit.t
			s.at.X, s.at.Y, s.at.Z = p.eye.X+s.ex*t, p.eye.Y+s.ey*t, p.eye.Z+s.rise*t
			s.gx, s.gy = p.f.gradient(&s.hit, 1)
			if p.shade != nil {
				s.under = p.shade.under(&s.hit, s.at.Z)
			}
		}
	}
	for i := range spots {
		if s := &spots[i]; s.ground && s.solid < 0 {
			p.land(s)
		}
	}
	for i := range spots {
		p.paint(&spots[i])
	}
}

// land finds how the ground lies where a gaze meets it, and what sun falls there.
func (p *painter) land(s *spot) {
	s.foot = s.hit.t * s.depth * p.pixel
	steep := s.gx*s.gx + s.gy*s.gy
	norm := 1 / math.Sqrt(steep+1)
	s.normal.X, s.normal.Y, s.normal.Z = -s.gx*norm, -s.gy*norm, norm
	s.slope = math.Sqrt(steep)
	s.facing = (s.gx*s.ex + s.gy*s.ey - s.rise) * norm / s.slant
	s.what, s.sun = groundSeen, 0
	if p.shade == nil {
		return
	}
	s.sun = p.sunShare(s)
	if s.sun > 0 && p.sun.block(s.at) {
		s.sun, s.under = 0, 1
	}
	if s.sun > 0 && p.craft != nil {
		s.sun *= p.craftShare(s.at)
	}
	if s.under > 0 {
		s.what |= shadedBit
	}
}

// sunShare is how much of the sun the ground leaves at a spot. Where the shade between nodes leaves a doubt that
// the picture could show, a ray toward the sun settles it.
func (p *painter) sunShare(s *spot) float32 {
	if doubt := doubtOfCell * p.f.cell; s.foot < p.f.cell/2 && math.Abs(s.under) < doubt {
		h, sun := &s.hit, p.light.sun
		r := ray{u: float64(h.i) + h.fu, v: float64(h.j) + h.fv, z: s.at.Z + 0.02}
		r.point(sun.X/p.f.cell, sun.Y/p.f.cell, sun.Z)
		if p.f.march(&r, 0, farthestM, &hit{}) {
			s.under = doubt
			return 0
		}
		s.under = -doubt
		return 1
	}
	switch soft := max(0.4, 0.3*s.foot); {
	case s.under >= soft:
		return 0
	case s.under <= -soft:
		return 1
	default:
		return float32(0.5 - s.under/(2*soft))
	}
}

// doubtOfCell is how far off the shade between nodes may be, as a share of a cell (from trial).
const doubtOfCell = 0.06

// paint colours a spot.
func (p *painter) paint(s *spot) {
	switch {
	case s.solid >= 0:
		at := p.eye.Add(geo.Vec3{X: s.ex, Y: s.ey, Z: s.rise}.Scale(s.far))
		var shaded bool
		s.colour, shaded = p.solidColour(&p.solids[s.solid], at, s.normal)
		s.what = solidSeen + uint32(s.solid)*16 + uint32(min(s.face, 15))
		if shaded {
			s.what |= shadedBit
		}
	case s.ground:
		s.colour = p.groundColour(s)
	case s.rise < 0:
		s.colour, s.near, s.what = p.void(s.x, s.y), 0, voidSeen
		return
	default:
		s.colour, s.near, s.what = p.light.skyAt(geo.Vec3{X: s.ex / s.slant, Y: s.ey / s.slant, Z: s.rise / s.slant}), 0, skySeen
		return
	}
	keep := decay(p.light.fade * s.far * s.slant)
	s.colour, s.near = p.light.haze(s.ex, s.ey).mix(s.colour, keep), float32(1/(s.far*s.depth))
}

// groundColour is the wash of the ground in its light.
func (p *painter) groundColour(s *spot) rgb {
	stretched := s.foot / max(0.08, s.facing)
	c := p.groundTint(s.at.X, s.at.Y, s.at.Z, float32(s.slope), float32(stretched)).times(p.lit(s.normal, s.sun))
	if !p.noInk {
		c = c.scale(1 - formStrength*float32(formLine(s.at.Z, s.foot*s.slope/max(0.25, s.facing))))
	}
	return c
}

// formStrength is how much of the light a form line takes.
const formStrength = 0.13

// solidColour is the wash and light of a solid's face.
func (p *painter) solidColour(s *solid, at, n geo.Vec3) (c rgb, shaded bool) {
	w := &washes[s.stuff]
	c = w.wall
	if n.Z > 0.3 {
		c = w.top
	}
	switch s.stuff {
	case leaf:
		c = c.scale(1 + 0.22*grainAt(at.X/0.9+at.Z/1.3, at.Y/0.9-at.Z/1.1))
	case painted:
		c = paintedAt(s, at, n, c)
	}
	share := float32(0)
	if p.shade != nil && n.Dot(p.light.sun) > 0 {
		share = float32(clamp01(0.5 - p.shade.underAt(at.X, at.Y, at.Z)))
		if share > 0 && p.sun.block(at.Add(n.Scale(0.06))) {
			share, shaded = 0, true
		}
		if share > 0 && p.craft != nil {
			share *= p.craftShare(at)
		}
	}
	return c.times(p.lit(n, share)), shaded
}

// paintedAt tells a moving subject's front by a dark pane across its upper half, and its foot by a dark skirt.
func paintedAt(s *solid, at, n geo.Vec3, c rgb) rgb {
	up := (at.Z - s.low.Z) / max(0.01, s.high.Z-s.low.Z)
	switch {
	case n.Z != 0:
	case up < 0.16:
		return skirt
	case up > 0.55 && up < 0.9 && n.X*s.facing.X+n.Y*s.facing.Y > 0.7:
		return pane
	case up > 0.42 && up < 0.5:
		return stripe
	}
	return c
}

var (
	skirt  = hex(0x4a4640)
	pane   = hex(0x55656e)
	stripe = hex(0x7d95a3)
)

// void is bare paper with a hatch: ground that nobody has told of.
func (p *painter) void(x, y float64) rgb {
	if k := math.Mod(x+y, 9); k < 1.2 {
		return hatchTint.scale(p.light.brightness)
	}
	return paper.scale(p.light.brightness)
}

// refine takes the mean of a pixel's four subsamples. Their rays start at the depth that the pixel two below shows.
func (p *painter) refine(x, y int) rgb {
	var below gaze
	clear := 0.0
	if k := (y+2)*p.w + x; p.inside && !p.f.holed && y+2 < p.h && p.buffers.near[k] > 0 {
		p.aim(&below, float64(x)+0.5, float64(y)+2.5)
		clear = (1 - 1e-6) / (float64(p.buffers.near[k]) * below.depth)
	}
	var spots [len(subsamples)]spot
	for i, o := range subsamples {
		s := &spots[i]
		p.aim(&s.gaze, float64(x)+o[0], float64(y)+o[1])
		if clear > 0 && p.over(&s.gaze, &below, clear) {
			s.from = clear
		}
	}
	p.look(spots[:], p.shown[y/tile*p.tilesW+x/tile])
	var sum rgb
	for i := range spots {
		sum = sum.add(spots[i].colour)
	}
	return sum.scale(0.25)
}
