package previs

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gomonobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/plan/frame"
)

// Burn is what is written into the foot of a frame.
type Burn struct {
	Slate    string // bold, left
	Title    string // after it
	Timecode string // right
	Note     string // small, second line
}

// Safe areas as shares of the frame (SMPTE ST 2046-1, from memory).
const (
	actionSafe = 0.93
	titleSafe  = 0.90
)

var (
	lineTint = color.RGBA{255, 252, 240, 255}
	darkTint = color.RGBA{24, 22, 20, 255}
	bandTint = color.RGBA{176, 42, 28, 255}
	markTint = color.RGBA{196, 84, 36, 255}
)

// overlay draws what the options ask for over a finished frame.
func overlay(out *image.RGBA, s *Scene, c lens.Camera, pose lens.Pose, m Moment, o Options) error {
	w, h := out.Rect.Dx(), out.Rect.Dy()
	thick := max(1, h/540)
	if o.Thirds {
		for i := 1; i < 3; i++ {
			fill(out, image.Rect(w*i/3-thick/2, 0, w*i/3-thick/2+thick, h), lineTint, 0.45)
			fill(out, image.Rect(0, h*i/3-thick/2, w, h*i/3-thick/2+thick), lineTint, 0.45)
		}
	}
	if o.SafeArea {
		for _, share := range []float64{actionSafe, titleSafe} {
			x, y := int(math.Round(float64(w)*(1-share)/2)), int(math.Round(float64(h)*(1-share)/2))
			rectangle(out, image.Rect(x, y, w-x, h-y), thick, lineTint, 0.55)
		}
	}
	if o.Subject != "" {
		if box, ok := s.subjectBox(o.Subject, m.TakeS); ok {
			v := frame.Look(c, pose)
			if e, ok := v.Extent(box); ok {
				r := image.Rect(int(math.Floor(e.Left*float64(w))), int(math.Floor(e.Top*float64(h))), int(math.Ceil(e.Right*float64(w))), int(math.Ceil(e.Bottom*float64(h))))
				corners(out, r, thick+1, markTint)
			}
		}
	}
	if o.Band != "" {
		if err := band(out, o.Band); err != nil {
			return err
		}
	}
	if o.Burn != nil {
		return burn(out, *o.Burn)
	}
	return nil
}

func (s *Scene) subjectBox(name string, takeS float64) (frame.Box, bool) {
	subject := s.subjects[name]
	if subject == nil {
		return frame.Box{}, false
	}
	m, _ := subject.At(takeS)
	return m.Box, true
}

// fill lays a colour over a rectangle.
func fill(out *image.RGBA, r image.Rectangle, c color.RGBA, cover float64) {
	r = r.Intersect(out.Rect)
	k := uint32(math.Round(cover * 256))
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := out.Pix[out.PixOffset(r.Min.X, y):]
		for x := 0; x < r.Dx(); x++ {
			p := row[4*x : 4*x+3]
			p[0] = uint8((uint32(p[0])*(256-k) + uint32(c.R)*k) >> 8)
			p[1] = uint8((uint32(p[1])*(256-k) + uint32(c.G)*k) >> 8)
			p[2] = uint8((uint32(p[2])*(256-k) + uint32(c.B)*k) >> 8)
		}
	}
}

func rectangle(out *image.RGBA, r image.Rectangle, thick int, c color.RGBA, cover float64) {
	fill(out, image.Rect(r.Min.X, r.Min.Y, r.Max.X, r.Min.Y+thick), c, cover)
	fill(out, image.Rect(r.Min.X, r.Max.Y-thick, r.Max.X, r.Max.Y), c, cover)
	fill(out, image.Rect(r.Min.X, r.Min.Y+thick, r.Min.X+thick, r.Max.Y-thick), c, cover)
	fill(out, image.Rect(r.Max.X-thick, r.Min.Y+thick, r.Max.X, r.Max.Y-thick), c, cover)
}

// corners marks the corners of a rectangle.
func corners(out *image.RGBA, r image.Rectangle, thick int, c color.RGBA) {
	long := max(4, min(r.Dx(), r.Dy())/5)
	for _, x := range []int{r.Min.X, r.Max.X - thick} {
		from := x
		if x != r.Min.X {
			from = r.Max.X - long
		}
		for _, y := range []int{r.Min.Y, r.Max.Y - thick} {
			fill(out, image.Rect(from, y, from+long, y+thick), c, 0.9)
			top := y
			if y != r.Min.Y {
				top = r.Max.Y - long
			}
			fill(out, image.Rect(x, top, x+thick, top+long), c, 0.9)
		}
	}
}

var fonts = sync.OnceValues(func() (f [2]*sfnt.Font, err error) {
	for i, ttf := range [][]byte{goregular.TTF, gomonobold.TTF} {
		if f[i], err = opentype.Parse(ttf); err != nil {
			return f, fmt.Errorf("font: %w", err)
		}
	}
	return f, nil
})

const (
	regular = iota
	mono
)

// write sets text with its left end at x, or its right end where right is set, and returns its width.
func write(out *image.RGBA, which int, size float64, x, baseline int, right bool, text string, c color.RGBA) (int, error) {
	f, err := fonts()
	if err != nil {
		return 0, err
	}
	face, err := opentype.NewFace(f[which], &opentype.FaceOptions{Size: size, DPI: 72, Hinting: font.HintingFull})
	if err != nil {
		return 0, fmt.Errorf("font: %w", err)
	}
	defer face.Close()
	d := font.Drawer{Dst: out, Src: image.NewUniform(c), Face: face}
	width := d.MeasureString(text).Ceil()
	if right {
		x -= width
	}
	d.Dot = fixed.P(x, baseline)
	d.DrawString(text)
	return width, nil
}

func burn(out *image.RGBA, b Burn) error {
	w, h := out.Rect.Dx(), out.Rect.Dy()
	size := math.Max(9, float64(h)/32)
	pad := int(size * 0.5)
	top := h - int(size*2.75)
	fill(out, image.Rect(0, top, w, h), darkTint, 0.72)
	first, second := top+int(size*1.2), h-int(size*0.55)
	long, err := write(out, mono, size, pad, first, false, b.Slate, lineTint)
	if err != nil {
		return err
	}
	if _, err := write(out, regular, size, pad+long+pad, first, false, b.Title, lineTint); err != nil {
		return err
	}
	if _, err := write(out, mono, size, w-pad, first, true, b.Timecode, lineTint); err != nil {
		return err
	}
	_, err = write(out, regular, size*0.72, pad, second, false, b.Note, lineTint)
	return err
}

func band(out *image.RGBA, text string) error {
	w, h := out.Rect.Dx(), out.Rect.Dy()
	size := math.Max(9, float64(h)/30)
	fill(out, image.Rect(0, 0, w, int(size*1.7)), bandTint, 0.88)
	_, err := write(out, mono, size, int(size*0.5), int(size*1.2), false, text, lineTint)
	return err
}

// Timecode returns hours, minutes, seconds and frames of a frame counted from 0, non-drop (SMPTE ST 12-1: frames are
// counted at the whole rate, so 23.976 counts 24).
func Timecode(frame int, rateHz float64) string {
	n := max(1, int(math.Round(rateHz)))
	s := frame / n
	return fmt.Sprintf("%02d:%02d:%02d:%02d", s/3600, s/60%60, s%60, frame%n)
}

// strings draws hanging wires as thin lines behind what stands before them.
func (p *painter) strings(out *image.RGBA) {
	const pieces = 48
	for i := range p.scene.threads {
		t := &p.scene.threads[i]
		var last geo.Vec3
		for k := range pieces + 1 {
			f := float64(k) / pieces
			at := t.a.Lerp(t.b, f)
			at.Z -= 4 * t.sag * f * (1 - f)
			if k > 0 {
				p.string(out, last, at)
			}
			last = at
		}
	}
}

func (p *painter) string(out *image.RGBA, a, b geo.Vec3) {
	x0, y0, d0, ok0 := p.view.Project(a)
	x1, y1, d1, ok1 := p.view.Project(b)
	if !ok0 || !ok1 {
		return
	}
	box := func(v, n float64) bool { return v > -n && v < 2*n }
	w, h := float64(p.w), float64(p.h)
	if !(box(x0, w) && box(x1, w) && box(y0, h) && box(y1, h)) {
		return
	}
	n := int(math.Ceil(1.5 * max(math.Abs(x1-x0), math.Abs(y1-y0), 1)))
	for i := range n {
		f := (float64(i) + 0.5) / float64(n)
		near := (1-f)/d0 + f/d1
		x, y := x0+f*(x1-x0), y0+f*(y1-y0)
		px, py := int(math.Floor(x)), int(math.Floor(y))
		if px < 0 || py < 0 || px >= p.w || py >= p.h || float64(p.buffers.near[py*p.w+px]) > near {
			continue
		}
		strength := 0.34 * math.Min(1, 0.25+near*120) * math.Exp(-p.light.fade/near)
		fill(out, image.Rect(px, py, px+1, py+1), darkTint, strength)
	}
}
