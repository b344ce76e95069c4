package draw

import (
	"fmt"
	"image"
	"io"
	"math"
	"strings"

	"fieldfare/plan/assess"
	"fieldfare/plan/move"
)

// moved is a pen whose paper lies elsewhere on another's.
type moved struct {
	Pen
	by Dot
}

func (m moved) put(d Dot) Dot { return Dot{d.X + m.by.X, d.Y + m.by.Y} }

func (m moved) Shape(ink Ink, closed bool, dots ...Dot) {
	all := make([]Dot, len(dots))
	for i, d := range dots {
		all[i] = m.put(d)
	}
	m.Pen.Shape(ink, closed, all...)
}

func (m moved) Circle(ink Ink, at Dot, radiusMM float64)    { m.Pen.Circle(ink, m.put(at), radiusMM) }
func (m moved) Words(l Lettering, at Dot, text string)      { m.Pen.Words(l, m.put(at), text) }
func (m moved) Picture(at Dot, w, h float64, i image.Image) { m.Pen.Picture(m.put(at), w, h, i) }
func (m moved) Clip(at Dot, w, h float64, draw func())      { m.Pen.Clip(m.put(at), w, h, draw) }

// Size of the sheet in millimetres.
const (
	sheetW   = 180.0
	planH    = 110.0
	sideH    = 72.0
	headH    = 9.0
	keyLineH = 3.6
)

// FlightSheet draws a solved slate's path from above and from the side on one sheet as SVG, with its key
// poses and least clearances in words below, and the caution that goes with them.
func FlightSheet(w io.Writer, a *assess.Assessor, slate, caution string) error {
	f := &FlightLine{a: a, take: a.Take(slate), marked: true}
	keys, clear := f.keyLines(), f.clearLines()
	warning := folded(caution, 118)
	height := headH + planH + 3 + sideH + 5 + keyLineH*float64(max(len(keys), len(clear))+1+len(warning)) + 4
	title := "Flight line of " + slate + ": " + f.take.Slate.Title
	return SVG(w, "flight-"+strings.ToLower(slate), title, sheetW, height, func(p Pen) {
		p.Words(Lettering{SizeMM: 4, Bold: true}, Dot{0, 5}, title)
		f.DrawPlan(moved{p, Dot{0, headH}}, sheetW, planH)
		f.DrawSide(moved{p, Dot{0, headH + planH + 3}}, sheetW, sideH)
		y := headH + planH + 3 + sideH + 5
		p.Words(bold, Dot{0, y}, "key poses")
		p.Words(bold, Dot{sheetW / 2, y}, "clearances, as planned")
		for i, s := range keys {
			p.Words(small, Dot{0, y + keyLineH*float64(i+1)}, s)
		}
		for i, s := range clear {
			p.Words(small, Dot{sheetW / 2, y + keyLineH*float64(i+1)}, s)
		}
		y += keyLineH * float64(max(len(keys), len(clear))+2)
		for i, s := range warning {
			p.Words(small, Dot{0, y + keyLineH*float64(i)}, s)
		}
	})
}

// folded breaks words into lines of at most so many letters.
func folded(text string, most int) (lines []string) {
	for _, word := range strings.Fields(text) {
		if k := len(lines) - 1; k >= 0 && len(lines[k])+1+len(word) <= most {
			lines[k] += " " + word
		} else {
			lines = append(lines, word)
		}
	}
	return lines
}

// letter names a key pose.
func letter(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return fmt.Sprint(i + 1)
}

func (f *FlightLine) keyLines() (lines []string) {
	for i, k := range f.take.Path.Keys {
		s := f.take.Path.At(k.T)
		above := "height above ground unknown"
		if z, ok := f.a.Shoot.Ground().HeightAt(s.Pos.X, s.Pos.Y); ok {
			above = fmt.Sprintf("%.1f m above ground", s.Pos.Z-z)
		}
		lines = append(lines, fmt.Sprintf("%s  t = %.1f s, %s: %s, azimuth %.0f°, tilt %+.0f°", letter(i), k.T, k.Label, above, s.Azimuth().Deg(), s.Tilt.Deg()))
	}
	return lines
}

func (f *FlightLine) clearLines() (lines []string) {
	r, n := f.take.Report(), f.take.MoveNumbers()
	if r.GroundKnown == move.Yes {
		lines = append(lines, fmt.Sprintf("ground beneath: %.1f m at t = %.1f s", r.LeastGroundM, r.LeastGroundT))
	} else {
		lines = append(lines, "ground: unknown along part of the path")
	}
	if r.Least != "" {
		lines = append(lines, fmt.Sprintf("%s: %.1f m at t = %.1f s", r.Least, r.LeastM, r.LeastT))
	}
	if r.LeastSubject != "" && r.LeastSubjectM < 200 {
		lines = append(lines, fmt.Sprintf("%s, moving: %.1f m at t = %.1f s, closing at up to %.1f m/s", r.LeastSubject, r.LeastSubjectM, r.LeastSubjectT, r.MaxClosingMS))
	}
	if n.LeastSubjectM != nil {
		lines = append(lines, fmt.Sprintf("%s, in the frame: %.1f m at least", f.take.Slate.Subject, *n.LeastSubjectM))
	}
	house := f.a.Shoot.House
	lines = append(lines, fmt.Sprintf("position error %.1f m and drift in gusts %s are not taken off", float64(house.PositionError), drift(n.DriftM)))
	return append(lines, fmt.Sprintf("class: %s (%s)", n.Class, n.ClassWhy))
}

func drift(m *float64) string {
	if m == nil {
		return "unknown"
	}
	return fmt.Sprintf("%.1f m", *m)
}

// marks letters the key poses.
func (f *FlightLine) marks(p Pen, place func(*move.Sample) Dot) {
	if !f.marked {
		return
	}
	last := Dot{-100, -100}
	side := -2.6
	for i, k := range f.take.Path.Keys {
		at := place(f.take.Path.At(k.T))
		if math.Hypot(at.X-last.X, at.Y-last.Y) < 3 {
			side -= 3 // above the mark before
		} else {
			side = -2.6
		}
		last = at
		p.Circle(Ink{LineMM: 0.3, Filled: true, Fill: 1}, Dot{at.X, at.Y + side}, 1.5)
		p.Words(Lettering{SizeMM: 2.2, Bold: true, Anchor: Middle}, Dot{at.X, at.Y + side + 0.8}, letter(i))
	}
}

// nearest draws the least distance to an obstacle, seen from above.
func (f *FlightLine) nearest(p Pen, c *chart) {
	r := f.take.Report()
	if !f.marked || r.Least == "" || r.LeastM > 120 {
		return
	}
	from := f.take.Path.At(r.LeastT).Pos
	for _, o := range f.a.Obstacles() {
		if o.Name != r.Least {
			continue
		}
		d, away := o.Shape.Distance(from)
		if math.Abs(d-r.LeastM) > 0.5 {
			continue
		}
		to := from.Sub(away.Scale(d))
		a, b := c.dot(from.XY()), c.dot(to.XY())
		p.Shape(Ink{LineMM: 0.25, Dash: []float64{0.5, 0.5}}, false, a, b)
		p.Circle(solid, b, 0.5)
		p.Words(haloBold.at(Middle), Dot{(a.X + b.X) / 2, (a.Y+b.Y)/2 + 3}, fmt.Sprintf("%.1f m", r.LeastM))
		return
	}
}

// lowest draws the least height over the ground beneath, seen from the side.
func (f *FlightLine) lowest(p Pen, place func(*move.Sample) Dot, metresPerMM float64) {
	if !f.marked {
		return
	}
	least, at := math.Inf(1), (*move.Sample)(nil)
	for i := range f.take.Path.Samples {
		s := &f.take.Path.Samples[i]
		if z, ok := f.a.Shoot.Ground().HeightAt(s.Pos.X, s.Pos.Y); ok && s.Pos.Z-z < least {
			least, at = s.Pos.Z-z, s
		}
	}
	if at == nil {
		return
	}
	top := place(at)
	foot := Dot{top.X, top.Y + least/metresPerMM}
	p.Shape(Ink{LineMM: 0.25, Dash: []float64{0.5, 0.5}}, false, top, foot)
	p.Circle(solid, foot, 0.5)
	p.Words(haloBold, Dot{top.X + 1, (top.Y + foot.Y) / 2}, fmt.Sprintf("%.1f m", least))
}
