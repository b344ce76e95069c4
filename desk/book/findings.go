package book

import (
	"fmt"

	"fieldfare/desk/paper"
	"fieldfare/plan/assess"
	"fieldfare/plan/check"
)

// findings are a slate's, set in two columns that a finding may run through.
type findings struct {
	p     *printer
	lines []findingLine
	count int
}

// findingLine is one printed line of a finding.
type findingLine struct {
	text  string
	first bool // of its finding
	bold  bool
	stop  bool
}

const (
	gutter  = 5.0 // between the columns
	lineMM  = 7.5 * 0.42
	apartMM = 0.8 // above a finding
)

func (f *findings) column() float64 { return (f.p.Width() - gutter) / 2 }

func (p *printer) findingsOf(x *check.Slate) *findings {
	f := &findings{p: p, count: len(x.Findings)}
	for i := range x.Findings {
		x := &x.Findings[i]
		stop := x.Severity == assess.Stop
		found := string(x.Severity) + ": " + x.What
		if stop {
			found = "STOP: " + x.What
		}
		if x.Value != "" {
			found += ", " + x.Value
		}
		if x.AtS != nil {
			found += fmt.Sprintf(" at %.1f s", *x.AtS)
		}
		if x.Limit != "" {
			found += "; limit " + x.Limit
		}
		rest := x.Mend
		if x.Basis != "" {
			if rest != "" {
				rest += ". "
			}
			rest += "Basis: " + x.Basis
		}
		for k, l := range p.Lines(strongLittle, f.column()-0.6, found) {
			f.lines = append(f.lines, findingLine{l, k == 0, true, stop})
		}
		if rest != "" {
			for _, l := range p.Lines(little, f.column()-0.6, rest) {
				f.lines = append(f.lines, findingLine{text: l})
			}
		}
	}
	return f
}

// height is what a line takes, k-th in its column.
func (l *findingLine) height(k int) float64 {
	if l.first && k > 0 {
		return lineMM + apartMM
	}
	return lineMM
}

// fitting is how many lines fit into a column of a height; the head of a finding does not stand at the foot without
// what follows it.
func fitting(lines []findingLine, height float64) (n int) {
	for n < len(lines) && lines[n].height(n) <= height+1e-6 {
		height -= lines[n].height(n)
		n++
	}
	if n == len(lines) || lines[n].first {
		return n
	}
	whole := n
	for n > 0 && lines[n-1].bold {
		n--
	}
	if n == 0 {
		return whole
	}
	return n
}

// balanced is the least height of two columns that hold all of some lines.
func balanced(lines []findingLine) float64 {
	sum := 0.0
	for i := range lines {
		sum += lines[i].height(i)
	}
	height := sum / 2
	for {
		first := fitting(lines, height)
		if first+fitting(lines[first:], height) == len(lines) {
			return height
		}
		height += apartMM
	}
}

// height is what the findings take on a page that holds them all.
func (f *findings) height() float64 { return paper.HeadMM + max(lineMM, balanced(f.lines)) }

// print sets the findings; those that the page has no room for go on overleaf, and the page says so.
func (f *findings) print() {
	p, d, rest := f.p, f.p.PDF, f.lines
	p.Head("Findings")
	if len(rest) == 0 {
		p.Text(little, "none")
		return
	}
	for {
		height, room := balanced(rest), p.Bottom()-d.GetY()
		if height > room+1e-6 {
			height = room - lineMM
		}
		y := d.GetY()
		for i := range 2 {
			n := fitting(rest, height)
			f.set(rest[:n], paper.Margin+float64(i)*(f.column()+gutter), y)
			rest = rest[n:]
		}
		if len(rest) == 0 {
			d.SetXY(paper.Margin, y+height)
			return
		}
		d.SetXY(paper.Margin, y+height)
		p.Face(strongLittle)
		p.Cell(p.Width(), lineMM, "findings go on overleaf", "R")
		d.AddPage()
		p.Head("Findings, continued")
	}
}

func (f *findings) set(lines []findingLine, x, y float64) {
	d := f.p.PDF
	for i := range lines {
		l := &lines[i]
		style := little
		y += l.height(i) - lineMM
		if l.bold {
			style = strongLittle
		}
		if l.stop { // white on black
			d.SetFillColor(0, 0, 0)
			d.Rect(x, y, f.column(), lineMM+0.1, "F")
			d.SetTextColor(255, 255, 255)
		}
		f.p.Block(style, x+0.5, y, f.column(), l.text)
		d.SetTextColor(0, 0, 0)
		y += lineMM
	}
}
