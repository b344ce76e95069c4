package paper

import (
	"bytes"
	"encoding/gob"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"math"

	"codeberg.org/go-pdf/fpdf"

	"fieldfare/desk/draw"
)

// pen puts pictures at a place on the page.
type pen struct {
	s      *Sheet
	dx, dy float64
	clips  []clip
}

// clip is a rectangle outside of which nothing shows.
type clip struct{ left, top, right, bottom float64 }

// Pen returns a pen whose pictures have their upper left corner at (x, y) of the present page.
func (s *Sheet) Pen(x, y float64) draw.Pen { return &pen{s: s, dx: x, dy: y} }

func grey(shade float64) int { return int(math.Round(255 * max(0, min(1, shade)))) }

// ink sets colours and line, and returns fpdf's word for how to paint.
func (p *pen) ink(k draw.Ink) string {
	d, style := p.s.PDF, ""
	if k.Filled {
		g := grey(k.Fill)
		d.SetFillColor(g, g, g)
		style = "F"
	}
	if k.LineMM > 0 {
		g := grey(k.Line)
		d.SetDrawColor(g, g, g)
		d.SetLineWidth(k.LineMM)
		d.SetDashPattern(k.Dash, 0)
		style += "D"
	}
	return style
}

// dry puts colours and dashes back to plain black.
func (p *pen) dry(k draw.Ink) {
	if len(k.Dash) > 0 {
		p.s.PDF.SetDashPattern(nil, 0)
	}
	p.s.PDF.SetDrawColor(0, 0, 0)
}

func (p *pen) Shape(k draw.Ink, closed bool, dots ...draw.Dot) {
	if len(dots) < 2 {
		return
	}
	style := p.ink(k)
	if style == "" {
		return
	}
	d := p.s.PDF
	d.SetLineJoinStyle("round")
	d.MoveTo(dots[0].X+p.dx, dots[0].Y+p.dy)
	for _, q := range dots[1:] {
		d.LineTo(q.X+p.dx, q.Y+p.dy)
	}
	if closed {
		d.ClosePath()
	}
	d.DrawPath(style)
	p.dry(k)
}

func (p *pen) Circle(k draw.Ink, at draw.Dot, r float64) {
	if style := p.ink(k); style != "" {
		p.s.PDF.Circle(at.X+p.dx, at.Y+p.dy, r, style)
		p.dry(k)
	}
}

// ptPerMM turns millimetres of type into points.
const ptPerMM = 72 / 25.4

func (p *pen) Words(l draw.Lettering, at draw.Dot, text string) {
	d := p.s.PDF
	p.s.need(text)
	p.s.Face(Style{Mono: l.Mono, Bold: l.Bold, Pt: l.SizeMM * ptPerMM})
	x := at.X + p.dx
	switch l.Anchor {
	case draw.Middle:
		x -= d.GetStringWidth(text) / 2
	case draw.End:
		x -= d.GetStringWidth(text)
	}
	y, w := at.Y+p.dy, d.GetStringWidth(text)
	for _, c := range p.clips {
		if x > c.right || x+w < c.left || y < c.top || y-l.SizeMM > c.bottom {
			return // else it could be copied, unseen, from amid the text
		}
	}
	if l.Halo {
		d.RawWriteStr("/Span <</ActualText ()>> BDC\n") // the rim is not to be copied (ISO 32000-1, 14.9.4)
		d.SetTextRenderingMode(1)
		d.SetDrawColor(255, 255, 255)
		d.SetTextColor(255, 255, 255)
		d.SetLineWidth(0.7)
		d.Text(x, at.Y+p.dy, text)
		d.SetTextRenderingMode(0)
		d.RawWriteStr("EMC\n")
		d.SetDrawColor(0, 0, 0)
	}
	g := grey(l.Shade)
	d.SetTextColor(g, g, g)
	d.Text(x, at.Y+p.dy, text)
	d.SetTextColor(0, 0, 0)
}

func (p *pen) Width(l draw.Lettering, text string) float64 {
	p.s.Face(Style{Mono: l.Mono, Bold: l.Bold, Pt: l.SizeMM * ptPerMM})
	return p.s.PDF.GetStringWidth(text)
}

func (p *pen) Picture(at draw.Dot, w, h float64, img image.Image) {
	p.s.Picture(at.X+p.dx, at.Y+p.dy, w, h, img)
}

// Picture puts an image on the present page: one in greys as it is, one in colours as a photograph, which is smaller.
func (s *Sheet) Picture(x, y, w, h float64, img image.Image) {
	var b bytes.Buffer
	if _, grey := img.(*image.Gray); !grey {
		if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: photograph}); err != nil {
			s.broken = fmt.Errorf("cannot print a picture: %w", err)
			return
		}
		s.JPEG(x, y, w, h, b.Bytes())
		return
	}
	if err := png.Encode(&b, img); err != nil {
		s.broken = fmt.Errorf("cannot print a picture: %w", err)
		return
	}
	s.encoded(x, y, w, h, "PNG", b.Bytes())
}

// photograph is the quality of an image in colours, of 100.
const photograph = 82

// JPEG puts an encoded photograph on the present page.
func (s *Sheet) JPEG(x, y, w, h float64, data []byte) { s.encoded(x, y, w, h, "JPEG", data) }

func (s *Sheet) encoded(x, y, w, h float64, kind string, data []byte) {
	s.pictures++
	name := fmt.Sprintf("picture %d", s.pictures)
	o := fpdf.ImageOptions{ImageType: kind}
	if info := s.PDF.RegisterImageOptionsReader(name, o, bytes.NewReader(data)); info != nil {
		if err := widen(info, float64(s.pictures)*1e-6); err != nil {
			s.broken = fmt.Errorf("cannot print a picture: %w", err)
		}
	}
	s.PDF.ImageOptions(name, x, y, w, h, false, o, 0, "")
}

func (p *pen) Clip(at draw.Dot, w, h float64, paint func()) {
	x, y := at.X+p.dx, at.Y+p.dy
	p.s.PDF.ClipRect(x, y, w, h, false)
	p.clips = append(p.clips, clip{x, y, x + w, y + h})
	paint()
	p.clips = p.clips[:len(p.clips)-1]
	p.s.PDF.ClipEnd()
}

// widen adds a hair to an image's width. The library sorts images by width alone, so that those of equal
// width would come in any order; it prints whole pixels, so that a hair does not show.
func widen(info *fpdf.ImageInfoType, hair float64) error {
	raw, err := info.GobEncode()
	if err != nil {
		return err
	}
	var (
		data, smask, pal           []byte
		n, bpc                     int
		w, h, scale, dpi           float64
		space, filter, decodeParms string
		trns                       []int
	)
	fields := []any{&data, &smask, &n, &w, &h, &space, &pal, &bpc, &filter, &decodeParms, &trns, &scale, &dpi}
	in := gob.NewDecoder(bytes.NewReader(raw))
	for _, f := range fields {
		if err := in.Decode(f); err != nil {
			return err
		}
	}
	w += hair
	var b bytes.Buffer
	out := gob.NewEncoder(&b)
	for _, f := range fields {
		if err := out.Encode(f); err != nil {
			return err
		}
	}
	return info.GobDecode(b.Bytes())
}
