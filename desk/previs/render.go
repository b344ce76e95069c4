package previs

import (
	"image"
	"math"
	"slices"
	"sync"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
)

// Options are the drawing's extras; the zero value draws the bare frame.
type Options struct {
	SafeArea bool   // action and title safe rectangles
	Thirds   bool   // lines at the thirds
	Subject  string // a box around the subject of this name
	Burn     *Burn  // written into the foot of the frame
	Band     string // a warning across the top, as "NOT CLEARED"
	NoInk    bool   // washes alone
}

// Render draws what the camera sees in a pose at a moment. The picture has the camera's own pixels. An error
// can only come from the fonts of the writing.
func Render(s *Scene, c lens.Camera, pose lens.Pose, m Moment, o Options) (*image.RGBA, error) {
	if err := c.Check(); err != nil {
		return nil, err
	}
	out := draw(s, c, pose, m, o)
	return out, overlay(out, s, c, pose, m, o)
}

// draw is the picture without its overlays.
func draw(s *Scene, c lens.Camera, pose lens.Pose, m Moment, o Options) *image.RGBA {
	p := newPainter(s, c, pose, m)
	defer p.release()
	p.noInk = o.NoInk
	p.trace()
	p.expose(m.Exposure)
	out := image.NewRGBA(image.Rect(0, 0, c.PixelsW, c.PixelsH))
	p.develop(out)
	p.strings(out)
	return out
}

// painter holds one frame while it is drawn.
type painter struct {
	scene  *Scene
	f      *field
	view   lens.View
	w, h   int
	eye    geo.Vec3
	light  *light
	shade  *shade
	solids []solid
	shown  [][]int32 // solids that may be seen in a tile
	sun    *casters
	craft  *Craft
	noInk  bool
	gain   float32 // of the exposure

	craftBlur float64
	pixel     float64 // rad per pixel at the centre
	tilesW    int
	buffers   *buffers
}

// buffers of a frame, kept for the next.
type buffers struct {
	colour []rgb
	near   []float32 // 1/depth, 0 for the sky
	what   []uint32  // identity of the surface
	start  []float64 // depth before which a tile is clear
}

var shelf = sync.Pool{New: func() any { return &buffers{} }}

const tile = 8

// What a pixel shows, in its identity: the sky, unknown ground, ground, or a solid's face. One bit tells
// sunlit from shaded.
const (
	skySeen uint32 = iota
	voidSeen
	groundSeen
	solidSeen // and up, 16 faces each
)

const shadedBit = 1 << 31

func newPainter(s *Scene, c lens.Camera, pose lens.Pose, m Moment) *painter {
	p := &painter{scene: s, f: s.ground, view: c.View(pose), w: c.PixelsW, h: c.PixelsH, eye: pose.Pos, light: newLight(&m), shade: s.shadeOf(&m)}
	p.solids = s.solids
	if len(s.movers) > 0 {
		p.solids = append([]solid(nil), s.solids...)
		for _, mv := range s.movers {
			if !slices.Contains(m.Cued, mv.name) {
				continue
			}
			at, _ := mv.subject.At(m.TakeS) // it stands at its start before, and at its end after
			box := asBox(at.Box)
			box.stuff = painted
			p.solids = append(p.solids, box)
		}
	}
	if p.light.sunUp && m.Daylight.DirectNormalLx > 0 {
		p.sun = newCasters(p.f, p.solids, p.light.sun)
		if m.Craft != nil && m.Craft.SizeM > 0 {
			p.craft, p.craftBlur = m.Craft, math.Tan(float64(m.Sun.Semidiameter))
		}
	}
	p.pixel = 1 / p.view.FocalY
	p.tilesW = (p.w + tile - 1) / tile
	tilesH := (p.h + tile - 1) / tile
	p.shown = p.place(tilesH)
	p.buffers = shelf.Get().(*buffers)
	b := p.buffers
	if n := p.w * p.h; cap(b.colour) < n {
		b.colour, b.near, b.what = make([]rgb, n), make([]float32, n), make([]uint32, n)
	}
	n := p.w * p.h
	b.colour, b.near, b.what = b.colour[:n], b.near[:n], b.what[:n]
	if n := p.tilesW * tilesH; cap(b.start) < n {
		b.start = make([]float64, n)
	}
	b.start = b.start[:p.tilesW*tilesH]
	return p
}

func (p *painter) release() { shelf.Put(p.buffers) }

// place lists for each tile the solids whose bounding box may show there.
func (p *painter) place(tilesH int) [][]int32 {
	shown := make([][]int32, p.tilesW*tilesH)
	for k := range p.solids {
		s := &p.solids[k]
		left, top, right, bottom := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
		ahead, behind := false, false
		for i := range 8 {
			corner := s.low
			if i&1 != 0 {
				corner.X = s.high.X
			}
			if i&2 != 0 {
				corner.Y = s.high.Y
			}
			if i&4 != 0 {
				corner.Z = s.high.Z
			}
			x, y, _, ok := p.view.Project(corner)
			if !ok {
				behind = true
				continue
			}
			ahead = true
			left, right, top, bottom = min(left, x), max(right, x), min(top, y), max(bottom, y)
		}
		if !ahead {
			continue
		}
		if behind {
			left, top, right, bottom = 0, 0, float64(p.w), float64(p.h)
		}
		if right < 0 || bottom < 0 || left > float64(p.w) || top > float64(p.h) {
			continue
		}
		for j := max(0, int(top)/tile); j <= min(tilesH-1, int(bottom)/tile); j++ {
			for i := max(0, int(left)/tile); i <= min(p.tilesW-1, int(right)/tile); i++ {
				shown[j*p.tilesW+i] = append(shown[j*p.tilesW+i], int32(k))
			}
		}
	}
	return shown
}

// direction is the way through a pixel position, with depth 1 along the lens axis.
func (p *painter) direction(x, y float64) geo.Vec3 {
	v := &p.view
	return v.Forward.Add(v.Right.Scale((x - v.CentreX) / v.FocalX)).Add(v.Up.Scale((v.CentreY - y) / v.FocalY))
}

func (p *painter) ray(d geo.Vec3) ray {
	f := p.f
	k := 1 / f.cell
	return newRay((p.eye.X-f.x0)*k, (p.eye.Y-f.y0)*k, p.eye.Z, d.X*k, d.Y*k, d.Z)
}

// bundle is the pencil of rays through a rectangle of the picture: directions are linear in the pixel,
// so its corners bound them.
func (p *painter) bundle(x0, y0, x1, y1 int) bundle {
	r := p.ray(p.direction(float64(x0), float64(y0)))
	b := newBundle(&r)
	for _, c := range [3][2]int{{x1, y0}, {x0, y1}, {x1, y1}} {
		r := p.ray(p.direction(float64(c[0]), float64(c[1])))
		b.add(&r)
	}
	return b
}

// nearM is the nearest depth that is drawn.
const nearM = 0.05

// block is how many tiles share a first clearance, each way.
const block = 8

// trace fills the buffers, tile by tile.
func (p *painter) trace() {
	tilesH := len(p.buffers.start) / p.tilesW
	blocksW, blocksH := (p.tilesW+block-1)/block, (tilesH+block-1)/block
	parallel(blocksW*blocksH, func(n int) {
		i0, j0 := n%blocksW*block, n/blocksW*block
		i1, j1 := min(i0+block, p.tilesW), min(j0+block, tilesH)
		wide := p.bundle(i0*tile, j0*tile, min(i1*tile, p.w), min(j1*tile, p.h))
		first := p.f.clear(&wide, nearM)
		for j := j0; j < j1; j++ {
			for i := i0; i < i1; i++ {
				x0, y0, x1, y1 := i*tile, j*tile, min((i+1)*tile, p.w), min((j+1)*tile, p.h)
				start := first
				if !math.IsInf(first, 1) {
					narrow := p.bundle(x0, y0, x1, y1)
					start = p.f.clear(&narrow, first)
				}
				t := j*p.tilesW + i
				p.buffers.start[t] = start
				for y := y0; y < y1; y++ {
					for x := x0; x < x1; x++ {
						k := y*p.w + x
						p.buffers.colour[k], p.buffers.near[k], p.buffers.what[k] = p.sample(float64(x)+0.5, float64(y)+0.5, start, p.shown[t])
					}
				}
			}
		}
	})
}

// sample looks through one place of the picture: colour, 1/depth and what is there.
func (p *painter) sample(x, y, start float64, shown []int32) (rgb, float32, uint32) {
	d := p.direction(x, y)
	far := math.Inf(1)
	var h hit
	ground := false
	if !math.IsInf(start, 1) {
		r := p.ray(d)
		if h, ground = p.f.march(&r, start, far); ground {
			far = h.t
		}
	}
	which, face := -1, 0
	var normal geo.Vec3
	for _, k := range shown {
		if t, n, f, ok := p.solids[k].meet(p.eye, d, nearM, far); ok {
			far, normal, which, face = t, n, int(k), f
		}
	}
	long := math.Sqrt(d.Dot(d))
	toward := d.Scale(1 / long)
	var c rgb
	var what uint32
	switch {
	case which >= 0:
		at := p.eye.Add(d.Scale(far))
		var shaded bool
		c, shaded = p.solidColour(&p.solids[which], at, normal)
		what = solidSeen + uint32(which)*16 + uint32(min(face, 15))
		if shaded {
			what |= shadedBit
		}
	case ground:
		var shaded bool
		c, shaded = p.groundColour(&h, d, toward, long)
		what = groundSeen
		if shaded {
			what |= shadedBit
		}
	case d.Z < 0:
		return p.void(x, y), 0, voidSeen
	default:
		return p.light.skyAt(toward), 0, skySeen
	}
	keep := decay(p.light.fade * far * long)
	return p.light.haze(toward).mix(c, keep), float32(1 / far), what
}

// groundColour is the wash and light of the ground at a hit.
func (p *painter) groundColour(h *hit, d, toward geo.Vec3, long float64) (c rgb, shaded bool) {
	at := p.eye.Add(d.Scale(h.t))
	foot := h.t * p.pixel
	gx, gy := p.f.gradient(h, 1)
	norm := 1 / math.Sqrt(gx*gx+gy*gy+1)
	n := geo.Vec3{X: -gx * norm, Y: -gy * norm, Z: norm}
	grazing := max(0.08, -n.Dot(toward))
	slope := math.Sqrt(gx*gx + gy*gy)
	stretched := foot / grazing
	share := float32(0)
	if p.shade != nil {
		share, shaded = p.sunShare(h, at, foot)
		if share > 0 && p.sun.block(at) {
			share, shaded = 0, true
		}
		if share > 0 && p.craft != nil {
			share *= p.craftShare(at)
		}
	}
	c = p.groundTint(at.X, at.Y, at.Z, slope, stretched).times(p.lit(n, share))
	if !p.noInk {
		c = c.scale(1 - formStrength*float32(formLine(at.Z, foot*slope/max(0.25, grazing))))
	}
	return c, shaded
}

// formStrength is how much of the light a form line takes.
const formStrength = 0.13

// sunShare is how much of the sun the ground leaves at a hit. Where the shade between nodes leaves a doubt that the
// picture could show, a ray toward the sun settles it.
func (p *painter) sunShare(h *hit, at geo.Vec3, foot float64) (share float32, shaded bool) {
	under := p.shade.under(h, at.Z)
	if doubt := doubtOfCell * p.f.cell; foot < p.f.cell/2 && math.Abs(under) < doubt {
		sun := p.light.sun
		r := p.ray(sun)
		r.u, r.v, r.z = float64(h.i)+h.fu, float64(h.j)+h.fv, at.Z+0.02
		if _, hit := p.f.march(&r, 0, math.Inf(1)); hit {
			return 0, true
		}
		return 1, false
	}
	soft := max(0.4, 0.3*foot)
	return float32(clamp01(0.5 - under/(2*soft))), under > 0
}

// doubtOfCell is how far off the shade between nodes may be, as a share of a cell (from trial).
const doubtOfCell = 0.06

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

// greyShare is where the mean of a frame is exposed to, for full day.
const greyShare = 0.47

// expose sets the gain so that the frame's mean falls at the brightness of the hour; a fixed gain is taken as it is.
func (p *painter) expose(fixed float64) {
	if fixed > 0 {
		p.gain = float32(fixed)
		return
	}
	sum, n := 0.0, 0
	for y := p.h / 64; y < p.h; y += max(1, p.h/32) {
		for x := p.w / 128; x < p.w; x += max(1, p.w/64) {
			if k := y*p.w + x; p.buffers.what[k] >= groundSeen {
				c := p.buffers.colour[k]
				sum += math.Log(1e-4 + float64(c.luminance()))
				n++
			}
		}
	}
	p.gain = 1
	if n > 0 {
		p.gain = float32(max(0.6, min(1.9, greyShare*float64(p.light.brightness)/math.Exp(sum/float64(n)))))
	}
}

// tone rolls the highlights off toward paper white.
func tone(v float32) float32 {
	const knee = 0.7
	if v <= knee {
		return v
	}
	return knee + (1-knee)*(1-1/(1+(v-knee)/(1-knee)))
}

// subsamples refine a pixel at an edge: a rotated grid.
var subsamples = [4][2]float64{{0.375, 0.125}, {0.875, 0.375}, {0.125, 0.625}, {0.625, 0.875}}

// develop smooths edges, draws them in ink and writes the pixels.
func (p *painter) develop(out *image.RGBA) {
	b := p.buffers
	parallel(p.h, func(y int) {
		up, down := max(0, y-1)*p.w, min(p.h-1, y+1)*p.w
		row := y * p.w
		for x := range p.w {
			k := row + x
			left, right := row+max(0, x-1), row+min(p.w-1, x+1)
			above, below := up+x, down+x
			c := b.colour[k]
			what := b.what[k]
			n := b.near[k]
			line := float32(0)
			edge := what != b.what[left] || what != b.what[right] || what != b.what[above] || what != b.what[below]
			if n > 0 {
				// 1/depth is linear over a plane: its second difference finds where one thing stands before another.
				across := 2*n - b.near[left] - b.near[right]
				along := 2*n - b.near[above] - b.near[below]
				line = max(across, along) / n
				edge = edge || line > 0.05
			}
			if edge {
				c = p.refine(x, y)
			}
			if line > 0 && !p.noInk {
				c = c.mix(ink.scale(p.light.brightness*0.8), p.inkOf(line, what, n, edge && seam(what, b.what[left], b.what[above])))
			} else if edge && !p.noInk && seam(what, b.what[left], b.what[above]) {
				c = c.mix(ink.scale(p.light.brightness*0.8), p.inkOf(0, what, n, true))
			}
			if what >= groundSeen {
				c = c.scale(p.gain)
			}
			o := out.PixOffset(x, y)
			out.Pix[o], out.Pix[o+1], out.Pix[o+2], out.Pix[o+3] = encode(tone(c.r)), encode(tone(c.g)), encode(tone(c.b)), 255
		}
	})
}

// seam reports whether two faces of one solid meet here.
func seam(what, left, above uint32) bool {
	what, left, above = what&^shadedBit, left&^shadedBit, above&^shadedBit
	if what < solidSeen {
		return false
	}
	id := (what - solidSeen) / 16
	same := func(o uint32) bool { return o >= solidSeen && o != what && (o-solidSeen)/16 == id }
	return same(left) || same(above)
}

// inkOf is how strong the line is: strongest where a near thing stands before a far one, fading with
// distance as a draughtsman lets it.
func (p *painter) inkOf(line float32, what uint32, near float32, seam bool) float32 {
	k := float32(clamp01(float64(line-0.05) / 0.30))
	if seam {
		k = max(k, 0.45)
	}
	distance := 1 / max(near, 1e-6)
	air := decay(1.6 * p.light.fade * float64(distance))
	if what&^shadedBit >= solidSeen {
		return 0.75 * k * air
	}
	return 0.55 * k * air
}

func (p *painter) refine(x, y int) rgb {
	t := y/tile*p.tilesW + x/tile
	var sum rgb
	for _, o := range subsamples {
		c, _, _ := p.sample(float64(x)+o[0], float64(y)+o[1], p.buffers.start[t], p.shown[t])
		sum = sum.add(c)
	}
	return sum.scale(0.25)
}
