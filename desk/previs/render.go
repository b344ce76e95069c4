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
	pixel     float64  // rad per pixel at the centre
	ray       ray      // from the eye, without a direction
	inside    bool     // the eye is over the grid
	right, up geo.Vec3 // of the picture, per pixel
	perHeight float64  // 1 over the range of heights
	tilesW    int
	buffers   *buffers
}

// buffers of a frame, kept for the next.
type buffers struct {
	colour []rgb
	near   []float32 // 1/depth, 0 for the sky
	what   []uint32  // identity of the surface
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
	p.right, p.up = p.view.Right.Scale(1/p.view.FocalX), p.view.Up.Scale(1/p.view.FocalY)
	p.ray.u, p.ray.v, p.ray.z = (p.eye.X-p.f.x0)/p.f.cell, (p.eye.Y-p.f.y0)/p.f.cell, p.eye.Z
	p.inside = p.ray.u >= 0 && p.ray.v >= 0 && p.ray.u <= float64(p.f.nx-1) && p.ray.v <= float64(p.f.ny-1)
	p.perHeight = 1 / max(1, p.f.high-p.f.low)
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
	return p
}

func (p *painter) release() {
	p.scene.release(p.shade)
	shelf.Put(p.buffers)
}

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
