package draw

import (
	"fmt"
	"image"
	"image/color"
	"math"

	scale "golang.org/x/image/draw"

	"fieldfare/model/geo"
	"fieldfare/model/terrain"
	"fieldfare/plan/shoot"
)

// chart is a piece of the site on paper: north up, one scale.
type chart struct {
	ground     *terrain.Grid
	bounds     geo.Bounds // of the site frame
	x, y, w, h float64    // mm
	scale      float64    // metres on the ground for a millimetre on paper
}

// scales are those of maps, as 1 to 1000 times the number.
var scales = []float64{0.25, 0.5, 1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 7.5, 10, 12.5, 15, 20, 25, 30, 40, 50, 75, 100, 200, 500}

// newChart fits bounds into a frame on paper at the largest scale of maps that holds them.
func newChart(ground *terrain.Grid, b geo.Bounds, x, y, w, h float64) chart {
	need := math.Max((b.MaxX-b.MinX)/w, (b.MaxY-b.MinY)/h)
	scale := scales[len(scales)-1]
	for _, s := range scales {
		if s >= need {
			scale = s
			break
		}
	}
	cx, cy := (b.MinX+b.MaxX)/2, (b.MinY+b.MaxY)/2
	return chart{ground: ground, x: x, y: y, w: w, h: h, scale: scale,
		bounds: geo.Bounds{MinX: cx - w/2*scale, MinY: cy - h/2*scale, MaxX: cx + w/2*scale, MaxY: cy + h/2*scale}}
}

func (c *chart) dot(p geo.Vec2) Dot {
	return Dot{c.x + (p.X-c.bounds.MinX)/c.scale, c.y + (c.bounds.MaxY-p.Y)/c.scale}
}

func (c *chart) dots(all []geo.Vec3) (out []Dot) {
	for _, p := range all {
		out = append(out, c.dot(p.XY()))
	}
	return out
}

func (c *chart) ring(r geo.Ring) (out []Dot) {
	for _, p := range r {
		out = append(out, c.dot(p))
	}
	return out
}

// shadeMM is the size of a hillshade's grain on paper.
const shadeMM = 0.6

// relief lays a light hillshade under the chart.
func (c *chart) relief(p Pen) { p.Picture(Dot{c.x, c.y}, c.w, c.h, c.shades()) }

// shades is the ground lit from the north-west by custom of maps, whatever the sun does.
func (c *chart) shades() *image.Gray {
	nx, ny := int(c.w/shadeMM), int(c.h/shadeMM)
	img := image.NewGray(image.Rect(0, 0, nx, ny))
	light := geo.Vec3{X: -0.5, Y: 0.5, Z: 0.7071}
	for j := range ny {
		for i := range nx {
			x := c.bounds.MinX + (float64(i)+0.5)*shadeMM*c.scale
			y := c.bounds.MaxY - (float64(j)+0.5)*shadeMM*c.scale
			tone := 1.0
			if n, ok := c.ground.Normal(x, y); ok {
				tone = 0.80 + 0.20*math.Max(0, math.Min(1, n.Dot(light)/0.85))
			}
			img.SetGray(i, j, color.Gray{Y: uint8(255 * tone)})
		}
	}
	return img
}

// How a map beneath a chart is muted, so that lines and words stand out from it on paper: how much of its contrast and of
// its colours is left, how dark it may be on the average, and how dark anywhere, of 1.
const (
	mapContrast     = 0.5
	mapColours      = 0.6
	mapMeanDarkness = 0.1
	mapDarkest      = 0.5
)

// muted is a map's picture in light inks on the hillshade; where the picture is clear, the hillshade alone.
func muted(img *image.NRGBA, shades *image.Gray) *image.NRGBA {
	relief := image.NewGray(img.Rect)
	scale.ApproxBiLinear.Scale(relief, relief.Rect, shades, shades.Rect, scale.Src, nil)
	light := func(p []byte) float64 { return 0.299*float64(p[0]) + 0.587*float64(p[1]) + 0.114*float64(p[2]) } // ITU-R BT.601
	dark, opaque := 0.0, 0.0
	for k := 0; k < len(img.Pix); k += 4 {
		alpha := float64(img.Pix[k+3]) / 255
		dark, opaque = dark+alpha*(1-light(img.Pix[k:])/255), opaque+alpha
	}
	lift := 0.0 // of a picture that is dark all over
	if opaque > 0 {
		lift = math.Max(0, mapContrast*dark/opaque-mapMeanDarkness)
	}
	out := image.NewNRGBA(img.Rect)
	for k := 0; k < len(img.Pix); k += 4 {
		grey, alpha := light(img.Pix[k:]), float64(img.Pix[k+3])/255
		for i := range 3 {
			ink := grey + mapColours*(float64(img.Pix[k+i])-grey)
			darkness := math.Max(0, math.Min(mapDarkest, mapContrast*(1-ink/255)-lift))
			out.Pix[k+i] = uint8((1-alpha*darkness)*float64(relief.Pix[k/4]) + 0.5)
		}
		out.Pix[k+3] = 255
	}
	return out
}

// contourMM is the distance of points at which contours are looked for.
const contourMM = 1.2

// contours draws lines of equal height, every fifth heavier and named, and returns their interval.
func (c *chart) contours(p Pen) float64 {
	nx, ny := int(c.w/contourMM)+1, int(c.h/contourMM)+1
	z := make([]float64, nx*ny)
	lo, hi := math.Inf(1), math.Inf(-1)
	at := func(i, j int) geo.Vec2 {
		return geo.Vec2{X: c.bounds.MinX + float64(i)*c.w/float64(nx-1)*c.scale, Y: c.bounds.MinY + float64(j)*c.h/float64(ny-1)*c.scale}
	}
	for j := range ny {
		for i := range nx {
			q := at(i, j)
			h, ok := c.ground.HeightAt(q.X, q.Y)
			if !ok {
				h = math.NaN()
			} else {
				lo, hi = math.Min(lo, h), math.Max(hi, h)
			}
			z[j*nx+i] = h
		}
	}
	if !(hi > lo) {
		return 0
	}
	interval := 1.0
	for _, s := range []float64{1, 2, 5, 10, 20, 25, 50, 100, 200} {
		interval = s
		if (hi-lo)/s <= 24 {
			break
		}
	}
	for level := math.Ceil(lo/interval) * interval; level <= hi; level += interval {
		heavy := int(math.Round(level/interval))%5 == 0
		ink := Ink{LineMM: 0.1, Line: 0.45}
		if heavy {
			ink = Ink{LineMM: 0.22, Line: 0.35}
		}
		longest := []Dot(nil)
		for _, way := range trace(z, nx, ny, level) {
			dots := make([]Dot, len(way))
			for k, q := range way {
				dots[k] = c.dot(geo.Vec2{X: c.bounds.MinX + q.X*c.w/float64(nx-1)*c.scale, Y: c.bounds.MinY + q.Y*c.h/float64(ny-1)*c.scale})
			}
			p.Shape(ink, false, dots...)
			if len(dots) > len(longest) {
				longest = dots
			}
		}
		if heavy && len(longest) > 12 {
			p.Words(Lettering{SizeMM: 1.7, Mono: true, Halo: true, Anchor: Middle, Shade: 0.3}, longest[len(longest)/2], fmt.Sprintf("%.0f", level))
		}
	}
	return interval
}

// trace follows a level through a grid of heights by marching squares (Lorensen and Cline 1987, in the
// plane): its lines in grid units. A cell without all four heights has none.
func trace(z []float64, nx, ny int, level float64) (ways [][]geo.Vec2) {
	// An edge is named by its lower left node: 2n runs right from node n, 2n+1 up.
	next := map[int][]int{}
	var order []int
	join := func(a, b int) {
		for _, e := range [2]int{a, b} {
			if len(next[e]) == 0 {
				order = append(order, e)
			}
		}
		next[a], next[b] = append(next[a], b), append(next[b], a)
	}
	for j := 0; j+1 < ny; j++ {
		for i := 0; i+1 < nx; i++ {
			n := j*nx + i
			a, b, c, d := z[n], z[n+1], z[n+nx+1], z[n+nx]
			if math.IsNaN(a + b + c + d) {
				continue
			}
			bottom, right, top, left := 2*n, 2*(n+1)+1, 2*(n+nx), 2*n+1
			var cut []int
			if (a >= level) != (b >= level) {
				cut = append(cut, bottom)
			}
			if (b >= level) != (c >= level) {
				cut = append(cut, right)
			}
			if (c >= level) != (d >= level) {
				cut = append(cut, top)
			}
			if (d >= level) != (a >= level) {
				cut = append(cut, left)
			}
			switch {
			case len(cut) == 2:
				join(cut[0], cut[1])
			case len(cut) == 4 && ((a+b+c+d)/4 >= level) == (a >= level): // the saddle joins a with c
				join(bottom, right)
				join(top, left)
			case len(cut) == 4:
				join(left, bottom)
				join(right, top)
			}
		}
	}
	place := func(e int) geo.Vec2 {
		n := e / 2
		x, y := float64(n%nx), float64(n/nx)
		if e%2 == 0 {
			return geo.Vec2{X: x + (level-z[n])/(z[n+1]-z[n]), Y: y}
		}
		return geo.Vec2{X: x, Y: y + (level-z[n])/(z[n+nx]-z[n])}
	}
	seen := map[int]bool{}
	follow := func(e int) {
		var way []geo.Vec2
		for {
			seen[e] = true
			way = append(way, place(e))
			to := -1
			for _, f := range next[e] {
				if !seen[f] {
					to = f
					break
				}
			}
			if to < 0 {
				break
			}
			e = to
		}
		ways = append(ways, way)
	}
	for _, e := range order {
		if !seen[e] && len(next[e]) == 1 {
			follow(e)
		}
	}
	for _, e := range order {
		if !seen[e] {
			first := e
			follow(e)
			last := len(ways) - 1
			ways[last] = append(ways[last], place(first)) // a ring
		}
	}
	return ways
}

// features draws what stands and lies there. Small things are drawn at least as large as can be
// seen; shapes, not shades, tell kinds apart.
func (c *chart) features(p Pen, all []shoot.Feature, named bool) {
	for _, kind := range []string{shoot.Water, shoot.Road, shoot.Rail, shoot.People, shoot.Area, shoot.Bridge, shoot.Building, shoot.Tree, shoot.Wire, shoot.Mast, shoot.Home, shoot.Set, shoot.Stunt, shoot.Landing, shoot.Observer, shoot.Launch} {
		for i := range all {
			if f := &all[i]; f.Kind == kind {
				c.feature(p, f, named)
			}
		}
	}
}

func (c *chart) feature(p Pen, f *shoot.Feature, named bool) {
	dots := c.dots(f.Places)
	label := func(at Dot, l Lettering, text string) {
		if named && text != "" {
			p.Words(l, at, text)
		}
	}
	mid := dots[0]
	if f.Shape == shoot.Polygon {
		dots = c.ring(f.Outline.Outer)
		b := f.Outline.Bounds()
		mid = c.dot(geo.Vec2{X: (b.MinX + b.MaxX) / 2, Y: (b.MinY + b.MaxY) / 2})
	}
	switch f.Kind {
	case shoot.Water:
		if f.Shape == shoot.Polygon {
			area(p, Ink{LineMM: 0.15, Line: 0.4, HatchMM: 1, Filled: true, Fill: 0.93}, dots...)
		} else {
			p.Shape(Ink{LineMM: 0.4, Line: 0.5}, false, dots...)
		}
	case shoot.Road:
		if f.Shape == shoot.Polygon {
			area(p, Ink{LineMM: 0.2, Filled: true, Fill: 1}, dots...)
			return
		}
		w := math.Max(0.9, f.WidthM/c.scale)
		p.Shape(Ink{LineMM: w}, false, dots...)
		p.Shape(Ink{LineMM: w - 0.4, Line: 1}, false, dots...)
	case shoot.Rail:
		p.Shape(Ink{LineMM: 0.3}, false, dots...)
		p.Shape(Ink{LineMM: 1.1, Dash: []float64{0.2, 1.5}}, false, dots...)
	case shoot.People:
		if f.Shape == shoot.Polygon {
			area(p, Ink{LineMM: 0.35, HatchMM: 1.3, Crossed: true, Line: 0.25}, dots...)
		} else {
			p.Circle(Ink{LineMM: 0.35, Filled: true, Fill: 1}, mid, 1.4)
		}
		count := "people"
		if f.Count >= 0 {
			count = fmt.Sprintf("%d people", f.Count)
		}
		label(mid, haloMiddle, count)
	case shoot.Area:
		c.area(p, f, dots, named)
	case shoot.Bridge:
		area(p, Ink{LineMM: 0.3, Filled: true, Fill: 0.8}, dots...)
		label(Dot{mid.X + 1.5, mid.Y}, haloSmall, f.Name)
	case shoot.Building:
		if f.Shape == shoot.Polygon {
			area(p, Ink{LineMM: 0.3, Filled: true, Fill: 0.25}, dots...)
		} else {
			box(p, Ink{Filled: true, Fill: 0.25}, mid.X-0.6, mid.Y-0.6, 1.2, 1.2)
		}
	case shoot.Tree:
		if f.Shape == shoot.Polygon {
			area(p, Ink{LineMM: 0.2, HatchMM: 1.6, Line: 0.4}, dots...)
			return
		}
		p.Circle(Ink{LineMM: 0.25, Filled: true, Fill: 0.9}, mid, math.Max(0.7, f.SpreadM/c.scale))
		p.Circle(solid, mid, 0.25)
	case shoot.Mast:
		p.Shape(Ink{LineMM: 0.25, Filled: true, Fill: 1}, true, Dot{mid.X, mid.Y - 1.2}, Dot{mid.X - 1, mid.Y + 0.7}, Dot{mid.X + 1, mid.Y + 0.7})
		label(Dot{mid.X + 1.4, mid.Y + 0.6}, haloSmall, fmt.Sprintf("%.0f m", f.HeightM))
	case shoot.Wire:
		c.wire(p, dots)
		label(Dot{(dots[0].X + dots[len(dots)-1].X) / 2, (dots[0].Y + dots[len(dots)-1].Y) / 2}, Lettering{SizeMM: 2.1, Bold: true, Halo: true}, "WIRE "+f.Name)
	case shoot.Home:
		box(p, Ink{LineMM: 0.2, Filled: true, Fill: 1}, mid.X-0.5, mid.Y-0.5, 1, 1)
	case shoot.Set:
		badge(p, mid, "S", 4)
		label(Dot{mid.X + 2, mid.Y + 2.6}, haloSmall, f.Name)
	case shoot.Stunt:
		if f.Shape == shoot.Polygon {
			area(p, Ink{LineMM: 0.4, Dash: []float64{0.8, 0.5}}, dots...)
		}
		badge(p, mid, "P", 4)
		label(Dot{mid.X + 2, mid.Y + 2.6}, haloSmall, or(f.Name, "performers"))
	case shoot.Landing:
		badge(p, mid, "E", 4.5)
		label(Dot{mid.X + 2.2, mid.Y + 0.8}, haloSmall, f.Name)
	case shoot.Observer:
		badge(p, mid, "O", 3)
		label(Dot{mid.X + 2.2, mid.Y + 0.8}, haloSmall, f.Name)
	case shoot.Launch:
		badge(p, mid, "L", 0)
		label(Dot{mid.X + 2.2, mid.Y + 0.8}, Lettering{SizeMM: 2.2, Bold: true, Halo: true}, f.Name)
	}
}

func or(s, t string) string {
	if s == "" {
		return t
	}
	return s
}

// badge is a letter in a round (0), a triangle (3), a square (4) or a square on its corner (4.5).
func badge(p Pen, at Dot, letter string, corners float64) {
	ink := Ink{LineMM: 0.35, Filled: true, Fill: 1}
	switch corners {
	case 0:
		p.Circle(Ink{LineMM: 0.35, Filled: true}, at, 1.6)
		p.Words(onBlack.at(Middle), Dot{at.X, at.Y + 0.8}, letter)
		return
	case 3:
		p.Shape(ink, true, Dot{at.X, at.Y - 2.1}, Dot{at.X - 2, at.Y + 1.3}, Dot{at.X + 2, at.Y + 1.3})
	case 4:
		box(p, ink, at.X-1.4, at.Y-1.4, 2.8, 2.8)
	default:
		p.Shape(ink, true, Dot{at.X, at.Y - 2}, Dot{at.X + 2, at.Y}, Dot{at.X, at.Y + 2}, Dot{at.X - 2, at.Y})
	}
	p.Words(Lettering{SizeMM: 2.1, Bold: true, Mono: true, Anchor: Middle}, Dot{at.X, at.Y + 0.75}, letter)
}

// wire is a line with crosses, so that it is not taken for anything else.
func (c *chart) wire(p Pen, dots []Dot) {
	p.Shape(Ink{LineMM: 0.45}, false, dots...)
	for i := 1; i < len(dots); i++ {
		a, b := dots[i-1], dots[i]
		n := math.Hypot(b.X-a.X, b.Y-a.Y)
		for s := 2.0; s < n; s += 5 {
			q := Dot{a.X + (b.X-a.X)*s/n, a.Y + (b.Y-a.Y)*s/n}
			line(p, Ink{LineMM: 0.3}, q.X-0.9, q.Y-0.9, q.X+0.9, q.Y+0.9)
			line(p, Ink{LineMM: 0.3}, q.X-0.9, q.Y+0.9, q.X+0.9, q.Y-0.9)
		}
	}
}

func (c *chart) area(p Pen, f *shoot.Feature, dots []Dot, named bool) {
	ink := Ink{LineMM: 0.4, Dash: []float64{4, 1}}
	switch f.Status {
	case "out of bounds":
		ink = Ink{LineMM: 0.7, HatchMM: 2.5, Line: 0.3}
	case "needs permission":
		ink = Ink{LineMM: 0.5, Dash: []float64{3, 0.8, 0.6, 0.8}, HatchMM: 6, Line: 0.5}
	}
	area(p, ink, dots...)
	if !named {
		return
	}
	ceiling := "no ceiling"
	if !math.IsInf(f.CeilingM, 1) {
		ceiling = fmt.Sprintf("%.0f to %.0f m above %s", f.FloorM, f.CeilingM, f.Reference)
	}
	// The name stands inside the frame, near the area's upper left corner.
	x, y := math.Inf(1), math.Inf(1)
	for _, d := range dots {
		x, y = math.Min(x, d.X), math.Min(y, d.Y)
	}
	x, y = math.Max(x, c.x)+1.5, math.Max(y, c.y)+3.5
	if x < c.x+c.w && y < c.y+c.h {
		p.Words(Lettering{SizeMM: 2.3, Bold: true, Halo: true}, Dot{x, y}, f.Name+": "+f.Status)
		p.Words(haloSmall, Dot{x, y + 2.7}, ceiling)
	}
}

// northAndScale draws the north arrow and the scale bar into the lower right corner.
func (c *chart) northAndScale(p Pen) {
	length, w := c.bar(35)
	x, y := c.x+c.w-w-4, c.y+c.h-4
	box(p, paper, x-2.5, y-8, w+6, 11.5)
	c.rule(p, x, y, length)
	p.Words(smallMono, Dot{x - 1, y + 2.6}, "0")
	p.Words(smallMono.at(End), Dot{x + w + 2, y + 2.6}, fmt.Sprintf("%.0f m", length))
	p.Words(smallMono, Dot{x, y - 2}, fmt.Sprintf("1:%.0f", c.scale*1000))
	north(p, Dot{x + w - 1, y - 7.5})
}

// scaleBelow puts scale and bar under the chart's right end, and the arrow of north into its upper right corner.
func (c *chart) scaleBelow(p Pen, y float64) {
	length, w := c.bar(22)
	unit := fmt.Sprintf("%.0f m", length)
	x := c.x + c.w - p.Width(smallMono, unit) - 0.8 - w
	c.rule(p, x, y-0.2, length)
	p.Words(smallMono, Dot{x + w + 0.8, y}, unit)
	p.Words(smallMono.at(End), Dot{x - 1, y}, fmt.Sprintf("1:%.0f", c.scale*1000))
	tip := Dot{c.x + c.w - 2.4, c.y + 1.2}
	box(p, paper, tip.X-3.8, c.y, c.w+c.x-tip.X+3.8, 6.4)
	north(p, tip)
}

// bar is the longest round length that takes at most so much on paper, in m and mm.
func (c *chart) bar(mostMM float64) (length, w float64) {
	length = 1.0
	for _, m := range []float64{1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000} {
		if m/c.scale <= mostMM {
			length = m
		}
	}
	return length, length / c.scale
}

func (c *chart) rule(p Pen, x, y, length float64) {
	w := length / c.scale
	for i := range 4 {
		ink := Ink{LineMM: 0.2, Filled: true}
		if i%2 == 1 {
			ink.Fill = 1
		}
		box(p, ink, x+w*float64(i)/4, y-1, w/4, 1.3)
	}
}

// north is an arrow up from under its tip.
func north(p Pen, tip Dot) {
	p.Shape(solid, true, tip, Dot{tip.X - 1.2, tip.Y + 4.5}, Dot{tip.X, tip.Y + 3.6})
	p.Shape(Ink{LineMM: 0.2}, true, tip, Dot{tip.X + 1.2, tip.Y + 4.5}, Dot{tip.X, tip.Y + 3.6})
	p.Words(Lettering{SizeMM: 2.4, Bold: true, Mono: true, Anchor: End}, Dot{tip.X - 1.6, tip.Y + 3}, "N")
}

func (c *chart) frame(p Pen) { box(p, Ink{LineMM: 0.4}, c.x, c.y, c.w, c.h) }
