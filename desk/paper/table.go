package paper

// Table prints rows under a head; columns share the width by weight. Rows break over pages under a
// repeated head, never within a row. A cell that begins with "!" is set bold.
type Table struct {
	X, W     float64 // 0: the whole width
	Weights  []float64
	Head     []string
	Rows     [][]string
	Pt       float64 // 0: 7.5
	Rules    bool    // upright lines between columns, for papers that are filled in
	HeightMM float64 // least height of a row
	Tight    bool    // little room above and below the text
}

// grid is a table with the widths of its columns.
type grid struct {
	*Sheet
	Table
	widths    []float64
	step, pad float64
}

func (s *Sheet) grid(t Table) *grid {
	if t.W == 0 {
		t.X, t.W = Margin, s.Width()
	}
	if t.Pt == 0 {
		t.Pt = 7.5
	}
	g := &grid{Sheet: s, Table: t, step: t.Pt * 0.42, pad: 1}
	if t.Tight {
		g.pad = 0.5
	}
	sum := 0.0
	for _, w := range t.Weights {
		sum += w
	}
	for _, w := range t.Weights {
		g.widths = append(g.widths, t.W*w/sum)
	}
	return g
}

// cell is a cell's text broken into lines.
type cell struct {
	lines []string
	face  Style
}

// row breaks the cells of a row into lines and tells its height.
func (g *grid) row(texts []string, head bool) (cells []cell, height float64) {
	most := 1
	for i, w := range g.widths {
		text, face := "", Style{Pt: g.Pt, Bold: head}
		if i < len(texts) {
			text = texts[i]
		}
		if text != "" && text[0] == '!' {
			text, face.Bold = text[1:], true
		}
		g.need(text)
		g.Face(face)
		lines := g.split(text, w-1.6)
		most = max(most, len(lines))
		cells = append(cells, cell{lines, face})
	}
	height = float64(most)*g.step + g.pad
	if !head {
		height = max(g.HeightMM, height)
	}
	return cells, height
}

func (g *grid) print(texts []string, head bool) {
	cells, h := g.row(texts, head)
	d := g.PDF
	y := d.GetY()
	if head {
		d.SetFillColor(225, 225, 225)
		d.Rect(g.X, y, g.W, h, "F")
	}
	d.SetLineWidth(0.1)
	x := g.X
	for i, c := range cells {
		g.Face(c.face)
		for j, l := range c.lines {
			d.SetXY(x+0.8, y+g.pad/2+float64(j)*g.step)
			d.CellFormat(g.widths[i]-0.8, g.step, l, "", 0, "L", false, 0, "")
		}
		if g.Rules {
			d.Line(x, y, x, y+h)
		}
		x += g.widths[i]
	}
	if g.Rules {
		d.Line(x, y, x, y+h)
	}
	d.Line(g.X, y+h, g.X+g.W, y+h)
	d.SetXY(g.X, y+h)
}

// underTable is left free below a table.
const underTable = 1.5

// Table prints t from the present y.
func (s *Sheet) Table(t Table) {
	g, d := s.grid(t), s.PDF
	if len(t.Head) > 0 {
		_, room := g.row(t.Head, true)
		if len(t.Rows) > 0 {
			_, first := g.row(t.Rows[0], false)
			room += first
		}
		s.Room(room)
		g.print(t.Head, true)
	}
	for _, r := range t.Rows {
		if _, h := g.row(r, false); d.GetY()+h > s.Bottom() {
			d.AddPage()
			if len(t.Head) > 0 {
				g.print(t.Head, true)
			}
		}
		g.print(r, false)
	}
	d.SetXY(Margin, d.GetY()+underTable)
}

// TableMM is the height that a table takes when it is not broken.
func (s *Sheet) TableMM(t Table) float64 {
	g, sum := s.grid(t), underTable
	if len(t.Head) > 0 {
		_, h := g.row(t.Head, true)
		sum += h
	}
	for _, r := range t.Rows {
		_, h := g.row(r, false)
		sum += h
	}
	return sum
}
