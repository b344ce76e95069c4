package book

import (
	"fmt"
	"strings"
	"time"

	"fieldfare/desk/draw"
	"fieldfare/desk/paper"
	"fieldfare/plan/call"
)

// days prints the strip and the call sheet of each day.
func (p *printer) days() error {
	for i, day := range p.Sheet.Days {
		date, err := time.Parse("2006-01-02", day.Date)
		if err != nil {
			return err
		}
		p.Section(fmt.Sprintf("Day %d of %d: %s", i+1, len(p.Sheet.Days), date.Format("Monday 2 January 2006")))
		p.Face(paper.Style{Mono: true, Bold: true, Pt: 11})
		if len(day.Sorties) == 0 {
			p.Paragraph(5.5, "no sorties")
		} else {
			p.Paragraph(5.5, fmt.Sprintf("CALL %s   WRAP %s   %d sorties", clock(day.Call), clock(day.Wrap), len(day.Sorties)))
		}
		d := p.PDF
		d.SetY(d.GetY() + 1)
		strip, err := draw.NewDayStrip(p.Assessor, p.Check, day)
		if err != nil {
			return err
		}
		p.Room(strip.HeightMM())
		y := d.GetY()
		strip.Draw(p.Pen(paper.Margin, y), p.Width())
		d.SetXY(paper.Margin, y+strip.HeightMM()+1)
		p.callSheet(day)
		p.between(day)
	}
	p.left()
	return nil
}

func (p *printer) callSheet(day call.Day) {
	if len(day.Sorties) == 0 {
		return
	}
	p.Head("Call sheet")
	var rows [][]string
	for n, s := range day.Sorties {
		var slates []string
		for _, x := range s.Slates {
			slates = append(slates, x.Slate+" at "+clock(x.Start))
		}
		ready := "as it stands"
		if s.BuildS > 0 {
			ready = fmt.Sprintf("build %d min", (s.BuildS+59)/60)
		}
		if s.MoveS > 0 {
			ready += fmt.Sprintf(", move %d min", (s.MoveS+59)/60)
		}
		rows = append(rows, []string{fmt.Sprint(n + 1), "!" + clock(s.Start), clock(s.End), clock(s.Latest), s.Rig, s.Lens + ", " + s.Filter, s.Pack, s.Launch, "!" + strings.Join(slates, ", "), ready, fmt.Sprintf("%.0f / %.0f", s.EnergyWh, s.LeftWh)})
	}
	p.Table(paper.Table{Tight: true, Weights: []float64{3, 9.5, 9, 9, 8, 18, 6.5, 18, 23, 25, 13.5}, Rows: rows,
		Head: []string{"", "take-off", "landing", "latest", "rig", "lens, filter", "pack", "from", "slates", "before it", "Wh used / left"}})
}

func (p *printer) between(day call.Day) {
	if len(day.Breaks)+len(day.Charges) == 0 {
		return
	}
	p.Head("Between sorties")
	var parts []string
	for _, b := range day.Breaks {
		parts = append(parts, fmt.Sprintf("%s to %s %s", clock(b.Start), clock(b.End), b.What))
	}
	for _, c := range day.Charges {
		parts = append(parts, fmt.Sprintf("%s to %s charge %s on %s", clock(c.Start), clock(c.End), c.Pack, c.Charger))
	}
	p.Text(plain, strings.Join(parts, "; ")+".")
}

func (p *printer) left() {
	if len(p.Sheet.LeftOut) == 0 {
		return
	}
	p.Head("Left out")
	var rows [][]string
	for _, l := range p.Sheet.LeftOut {
		rows = append(rows, []string{"!" + l.Slate, l.Priority, l.Reason, strings.Join(l.Relaxations, "; ")})
	}
	p.Table(paper.Table{Weights: []float64{2, 2, 10, 8}, Head: []string{"slate", "wanted", "why", "what would help"}, Rows: rows})
}

// windows lists the windows of all slates and says why each begins and ends.
func (p *printer) windows() {
	p.Section("Windows of every slate")
	var rows [][]string
	for _, x := range p.Check.Slates {
		name := "!" + x.Slate
		if x.Barred {
			name = "!" + x.Slate + " STOP"
		}
		for _, w := range x.LightOK {
			rows = append(rows, []string{name, "!" + w.From.Format("Mon 15:04") + " - " + w.To.Format("15:04"), w.Begins, w.Ends})
			name = ""
		}
		if len(x.LightOK) == 0 {
			why := "never all right at once"
			if len(x.Never) > 0 {
				why = "never right: " + strings.Join(x.Never, ", ")
			}
			rows = append(rows, []string{name, "!none", why, ""})
		}
	}
	p.Table(paper.Table{Pt: 7, Tight: true, Weights: []float64{3, 5, 14, 14}, Head: []string{"slate", "window", "begins", "ends"}, Rows: rows})
	p.Text(little, "A take may start at any minute of its window and be in its light throughout. A slate marked STOP has light then, but is barred by a finding that no hour changes.")
}
