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

// Table prints t from the present y.
func (s *Sheet) Table(t Table) {
	d := s.PDF
	if t.W == 0 {
		t.X, t.W = Margin, s.Width()
	}
	if t.Pt == 0 {
		t.Pt = 7.5
	}
	sum := 0.0
	for _, w := range t.Weights {
		sum += w
	}
	widths := make([]float64, len(t.Weights))
	for i, w := range t.Weights {
		widths[i] = t.W * w / sum
	}
	step, pad := t.Pt*0.42, 1.0
	if t.Tight {
		pad = 0.6
	}
	row := func(cells []string, head bool) {
		lines := make([][]string, len(widths))
		bold := make([]bool, len(widths))
		most := 1
		for i := range widths {
			text := ""
			if i < len(cells) {
				text = cells[i]
			}
			bold[i] = head
			if text != "" && text[0] == '!' {
				text, bold[i] = text[1:], true
			}
			s.need(text)
			s.Face(Style{Pt: t.Pt, Bold: bold[i]})
			lines[i] = s.split(text, widths[i]-1.6)
			most = max(most, len(lines[i]))
		}
		h := max(t.HeightMM, float64(most)*step+pad)
		if head {
			h = float64(most)*step + pad
		}
		y := d.GetY()
		if head {
			d.SetFillColor(225, 225, 225)
			d.Rect(t.X, y, t.W, h, "F")
		}
		x := t.X
		for i := range widths {
			s.Face(Style{Pt: t.Pt, Bold: bold[i]})
			for j, l := range lines[i] {
				d.SetXY(x+0.8, y+pad/2+float64(j)*step)
				d.CellFormat(widths[i]-0.8, step, l, "", 0, "L", false, 0, "")
			}
			if t.Rules {
				d.SetLineWidth(0.1)
				d.Line(x, y, x, y+h)
			}
			x += widths[i]
		}
		d.SetLineWidth(0.1)
		if t.Rules {
			d.Line(x, y, x, y+h)
		}
		d.Line(t.X, y+h, t.X+t.W, y+h)
		d.SetXY(t.X, y+h)
	}
	height := func(cells []string) float64 {
		most := 1
		for i := range widths {
			if i < len(cells) {
				s.Face(Style{Pt: t.Pt})
				most = max(most, len(s.split(cells[i], widths[i]-1.6)))
			}
		}
		return max(t.HeightMM, float64(most)*step+pad)
	}
	first := 0.0
	if len(t.Rows) > 0 {
		first = height(t.Rows[0])
	}
	if len(t.Head) > 0 {
		s.Room(height(t.Head) + first)
		row(t.Head, true)
	}
	for _, r := range t.Rows {
		if d.GetY()+height(r) > s.Bottom() {
			d.AddPage()
			if len(t.Head) > 0 {
				row(t.Head, true)
			}
		}
		row(r, false)
	}
	d.SetXY(Margin, d.GetY()+1.5)
}
