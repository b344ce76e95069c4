package book

import (
	"fmt"
	"strings"

	"fieldfare/desk/paper"
	"fieldfare/plan/assess"
)

// cover prints the first page and returns where on the page the contents go.
func (p *printer) cover() float64 {
	d := p.PDF
	d.AddPage()
	p.Entry("Cover", 0)
	d.SetLineWidth(1.2)
	d.Line(paper.Margin, 18, paper.Margin+p.Width(), 18)
	d.SetXY(paper.Margin, 20)
	p.Text(paper.Style{Mono: true, Pt: 10}, "FLIGHT BOOK")
	p.Text(paper.Style{Mono: true, Bold: true, Pt: 24}, p.shoot.Title)
	d.SetLineWidth(1.2)
	d.Line(paper.Margin, d.GetY()+2, paper.Margin+p.Width(), d.GetY()+2)
	d.SetY(d.GetY() + 4)
	y := d.GetY()
	half := p.Width()/2 - 3
	var dates []string
	for _, x := range p.shoot.Dates {
		dates = append(dates, x.Midnight(p.shoot.Location()).Format("Monday 2 January 2006"))
	}
	left := p.pairs(paper.Margin, y, half, [][2]string{{"production", or(p.shoot.Production)}, {"site", p.shoot.Site.Name}, {"origin", p.shoot.Site.Origin.String()}, {"dates", strings.Join(dates, "\n")}, {"clock", p.shoot.Zone}})
	placed, must := 0, 0
	for i := range p.Check.Slates {
		if starts, _ := p.planned(p.Check.Slates[i].Slate); len(starts) > 0 {
			placed++
		} else if p.Check.Slates[i].Priority == "must" {
			must++
		}
	}
	state := fmt.Sprintf("%d of %d in the day", placed, len(p.Check.Slates))
	if must > 0 {
		state += fmt.Sprintf(", %d must-have missing", must)
	}
	n := p.Check.Counts
	right := p.pairs(paper.Margin+half+6, y, half, [][2]string{{"slates", state}, {"findings", fmt.Sprintf("%d stop, %d unknown, %d caution, %d note", n["stop"], n["unknown"], n["caution"], n["note"])},
		{"hospital", strings.ToUpper(or(p.shoot.Site.Hospital)[:1]) + or(p.shoot.Site.Hospital)[1:]}, {"shoot file", paper.Mark(p.Source)}, {"printed by", "fieldfare " + p.Version}})
	d.SetXY(paper.Margin, max(left, right)+2)

	if stops := p.stopped(); len(stops) > 0 {
		p.Band("STOP on " + strings.Join(stops, ", ") + ": not to be flown as planned. Read the findings.")
	}
	p.Head("Cautions")
	for _, c := range p.Check.Cautions {
		p.item(c)
	}
	p.Head("Crew")
	var rows [][]string
	for _, x := range p.shoot.Crew {
		rows = append(rows, []string{"!" + x.Name, strings.Join(x.Roles, ", "), or(x.Rung), or(x.Phone)})
	}
	p.Table(paper.Table{Weights: []float64{3, 4, 4, 3}, Head: []string{"name", "roles", "hardest class held", "telephone"}, Rows: rows})
	p.Head("To call")
	rows = nil
	for _, x := range p.shoot.Contacts {
		rows = append(rows, []string{"!" + x.Who, or(x.Phone), x.Why})
	}
	rows = append(rows, []string{"!Nearest hospital", or(p.shoot.Site.Hospital), "accident"})
	p.Table(paper.Table{Weights: []float64{4, 4, 6}, Head: []string{"who", "telephone", "for"}, Rows: rows})

	lines := (len(p.Check.Slates) + len(p.Sheet.Days) + 12) / 2
	if d.GetY()+float64(lines)*4.8+9 > p.Bottom() {
		d.AddPage()
	}
	p.Head("Contents")
	p.contentsPage = d.PageNo()
	return d.GetY()
}

// item prints a line of a list.
func (p *printer) item(text string) {
	d := p.PDF
	p.Room(4)
	y := d.GetY()
	p.Face(plain)
	d.SetXY(paper.Margin, y)
	p.Cell(3, 3.5, "-", "L")
	d.SetXY(paper.Margin+3, y)
	p.Paragraph(3.5, text)
}

// pairs prints names and values in a column and returns the y below.
func (p *printer) pairs(x, y, w float64, all [][2]string) float64 {
	named, name := paper.Style{Mono: true, Pt: 7}, 0.0
	p.Face(named)
	for _, a := range all {
		name = max(name, p.PDF.GetStringWidth(a[0])+3)
	}
	for _, a := range all {
		p.Block(named, x, y+0.2, name, a[0])
		y = max(y+3.6, p.Block(strong, x+name, y, w-name, a[1])) + 0.5
	}
	return y
}

func (p *printer) stopped() (slates []string) {
	for _, x := range p.Check.Slates {
		if assess.Has(x.Findings, assess.Stop) {
			slates = append(slates, x.Slate)
		}
	}
	return slates
}
