package draw

import (
	"image"
	"math"
	"sort"
)

// Dot is a place on paper: millimetres right and down from the picture's upper left corner.
type Dot struct{ X, Y float64 }

// Ink says how a shape is drawn. Shades run from 0, black, to 1, paper, so that a picture reads
// in black and white; outlines and hatches carry the meaning.
type Ink struct {
	LineMM  float64   // width of the outline, 0 for none
	Line    float64   // shade of the outline
	Dash    []float64 // millimetres on and off
	Fill    float64   // shade of the inside
	Filled  bool
	HatchMM float64 // distance of the lines of a hatch, 0 for none
	Crossed bool    // a hatch both ways
}

// Anchor is the point of a word that stands at its place.
type Anchor int

// The anchors.
const (
	Start Anchor = iota
	Middle
	End
)

// Lettering is how words are set.
type Lettering struct {
	SizeMM float64 // of the type, about its line height
	Anchor Anchor
	Bold   bool
	Mono   bool
	Halo   bool    // a rim of paper around the letters
	Shade  float64 // 0 black
}

// Pen puts one picture on paper. Back ends are SVG here and PDF in package paper, so that each
// picture is drawn once.
type Pen interface {
	Shape(ink Ink, closed bool, dots ...Dot)
	Circle(ink Ink, at Dot, radiusMM float64)
	Words(l Lettering, at Dot, text string)
	Width(l Lettering, text string) float64
	Picture(at Dot, widthMM, heightMM float64, img image.Image)
	Clip(at Dot, widthMM, heightMM float64, draw func())
}

// Inks that several pictures use.
var (
	hair  = Ink{LineMM: 0.1, Line: 0.6}
	thin  = Ink{LineMM: 0.18}
	solid = Ink{Filled: true}
	paper = Ink{Filled: true, Fill: 1}
)

// Sizes of lettering.
var (
	small      = Lettering{SizeMM: 2.1}
	smallMono  = Lettering{SizeMM: 2.1, Mono: true}
	bold       = Lettering{SizeMM: 2.5, Bold: true}
	boldMono   = Lettering{SizeMM: 2.6, Bold: true, Mono: true}
	onBlack    = Lettering{SizeMM: 2.2, Bold: true, Mono: true, Shade: 1}
	haloSmall  = Lettering{SizeMM: 2, Halo: true}
	haloBold   = Lettering{SizeMM: 2.5, Bold: true, Mono: true, Halo: true}
	haloMiddle = Lettering{SizeMM: 2, Halo: true, Anchor: Middle}
)

func (l Lettering) at(a Anchor) Lettering { l.Anchor = a; return l }

// box draws a rectangle, hatched if its ink says so.
func box(p Pen, ink Ink, x, y, w, h float64) {
	area(p, ink, Dot{x, y}, Dot{x + w, y}, Dot{x + w, y + h}, Dot{x, y + h})
}

func line(p Pen, ink Ink, x1, y1, x2, y2 float64) { p.Shape(ink, false, Dot{x1, y1}, Dot{x2, y2}) }

// area draws a closed outline with its hatch.
func area(p Pen, ink Ink, dots ...Dot) {
	if ink.Filled {
		p.Shape(Ink{Filled: true, Fill: ink.Fill}, true, dots...)
	}
	if ink.HatchMM > 0 {
		hatch(p, ink, dots, 1)
		if ink.Crossed {
			hatch(p, ink, dots, -1)
		}
	}
	if ink.LineMM > 0 {
		p.Shape(Ink{LineMM: ink.LineMM, Line: ink.Line, Dash: ink.Dash}, true, dots...)
	}
}

// hatch rules a polygon with slanting lines: where each line x + slant·y = c crosses the edges, pairs
// of crossings are inside (even-odd).
func hatch(p Pen, ink Ink, dots []Dot, slant float64) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, d := range dots {
		c := d.X + slant*d.Y
		lo, hi = min(lo, c), max(hi, c)
	}
	step := ink.HatchMM * math.Sqrt2
	if step <= 0 || math.IsInf(lo, 0) || (hi-lo)/step > 4000 {
		return
	}
	fine := Ink{LineMM: 0.1, Line: ink.Line}
	for c := math.Ceil(lo/step) * step; c < hi; c += step {
		var cuts []Dot
		for i, a := range dots {
			b := dots[(i+1)%len(dots)]
			ca, cb := a.X+slant*a.Y-c, b.X+slant*b.Y-c
			if (ca >= 0) == (cb >= 0) {
				continue
			}
			t := ca / (ca - cb)
			cuts = append(cuts, Dot{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)})
		}
		sort.Slice(cuts, func(i, j int) bool { return cuts[i].Y < cuts[j].Y })
		for i := 0; i+1 < len(cuts); i += 2 {
			p.Shape(fine, false, cuts[i], cuts[i+1])
		}
	}
}

// arrow draws a head at the end of the way from a to b.
func arrow(p Pen, ink Ink, a, b Dot, size float64) {
	dx, dy := b.X-a.X, b.Y-a.Y
	n := math.Hypot(dx, dy)
	if n == 0 {
		return
	}
	dx, dy = dx/n*size, dy/n*size
	p.Shape(ink, true, b, Dot{b.X - dx - dy*0.4, b.Y - dy + dx*0.4}, Dot{b.X - dx + dy*0.4, b.Y - dy - dx*0.4})
}
