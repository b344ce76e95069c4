package book

import (
	"fmt"
	"strings"

	"fieldfare/desk/paper"
	"fieldfare/plan/hazard"
)

// risk prints assessment, matrix and method statement.
func (p *printer) risk() {
	p.Section("Risk assessment and method statement")
	p.Text(little, "Each hazard as it stands on the worst of its slates, at its best hour. Likelihood x severity on the house's matrix, before and after the controls that are in place or accepted; what is not known counts as worse, and a control that is only proposed does not count. The numbers rank, they say nothing of how often anything happens: common practice, no source. The judgement stays with the crew.")
	p.PDF.SetY(p.PDF.GetY() + 1)
	var table [][]string
	for _, r := range p.dossier.Risks {
		var controls []string
		for _, k := range r.Measures {
			controls = append(controls, fmt.Sprintf("%s (%s; %s)", k.Text, k.Owner, k.State))
		}
		worse := ""
		if len(r.Worse) > 0 {
			worse = " Worse here: " + strings.Join(r.Worse, "; ") + "."
		}
		if len(r.Missing) > 0 {
			worse += " Not known: " + strings.ReplaceAll(strings.Join(r.Missing, ", "), "_", " ") + "."
		}
		residual := strings.ToUpper(r.Residual.Band.Name) + " " + cell(r.Residual)
		table = append(table, []string{"!" + r.Hazard, strings.Join(r.Who, ", "), r.Before.Band.Name + " " + cell(r.Before), strings.Join(controls, ". ") + "." + worse, "!" + residual, r.Worst, ""})
	}
	p.Table(paper.Table{Pt: 6.6, Rules: true, Weights: []float64{30, 16, 15, 84, 17, 10, 10}, Head: []string{"hazard", "who", "before", "controls (owner; state)", "residual", "worst", "initials"}, Rows: table})
	p.matrix()
	p.Head("Method")
	for _, s := range p.dossier.Method {
		p.Room(8)
		p.Text(paper.Style{Pt: 7, Bold: true}, s.Title)
		for _, l := range s.Lines {
			p.Text(little, "- "+l)
		}
	}
	p.signatures("Read and agreed", []string{"pilot", "camera operator", "set safety", "first assistant director"})
}

func cell(r hazard.Risk) string { return fmt.Sprintf("%dx%d", r.Likelihood, r.Severity) }

// matrix prints the house's matrix.
func (p *printer) matrix() {
	m := p.dossier.Matrix
	p.Head("The matrix: likelihood down, severity across")
	var rows [][]string
	for i := len(m.Likelihood) - 1; i >= 0; i-- {
		rows = append(rows, append([]string{fmt.Sprintf("!%d %s", i+1, m.Likelihood[i])}, m.Cells[i]...))
	}
	head, weights := []string{""}, []float64{1}
	for j, s := range m.Severity {
		head, weights = append(head, fmt.Sprintf("%d %s", j+1, s)), append(weights, 1)
	}
	p.Table(paper.Table{Pt: 7, Rules: true, Weights: weights, Head: head, Rows: rows})
	var bands []string
	for _, b := range m.Bands {
		bands = append(bands, b.Name+": "+b.Accept)
	}
	p.Text(little, strings.Join(bands, ". ")+".")
}

// emergency prints what to do and whom to call when it goes wrong.
func (p *printer) emergency() {
	e := p.dossier.Emergency
	p.Section("When it goes wrong")
	p.Face(paper.Style{Mono: true, Bold: true, Pt: 10})
	p.Paragraph(4.6, "Nearest hospital: "+or(e.Hospital))
	var rows [][]string
	for _, c := range e.Calls {
		rows = append(rows, []string{"!" + c.Who, "!" + or(c.Phone), c.Why})
	}
	p.Head("To call")
	p.Table(paper.Table{Pt: 9, Weights: []float64{4, 4, 6}, Head: []string{"who", "telephone", "for"}, Rows: rows})
	for _, x := range e.Procedures {
		p.Head(x.What)
		for _, s := range x.Steps {
			if !strings.HasPrefix(s, "Slate ") { // those stand in the table below
				p.item(s)
			}
		}
	}
	for _, list := range []struct {
		title string
		lines []string
	}{{"Fly-away", e.FlyAway}, {"Fire", e.Fire}, {"Accident", e.Accident}} {
		if len(list.lines) == 0 {
			continue
		}
		p.Head(list.title)
		for _, l := range list.lines {
			p.item(l)
		}
	}
	p.Head("Energy in each set of packs")
	var packs []string
	for _, x := range e.Packs {
		packs = append(packs, fmt.Sprintf("%s %.0f Wh", x.Name, x.Wh))
	}
	p.Text(plain, or(strings.Join(packs, ", ")))
	p.Head("Each slate")
	rows = nil
	for _, x := range p.dossier.Slates {
		home := unknownWord
		if l := x.LostLink; l != nil {
			home = fmt.Sprintf("%.0f m above launch, clears ground by %.0f m; %s", l.AboveLaunchM, l.ClearanceM, l.Action)
		}
		var spots []string
		for _, s := range x.Landing.Nearest() {
			name := s.Spot
			if name == "" {
				name = "NONE with a clear way"
			}
			spots = append(spots, fmt.Sprintf("%.0f to %.0f s %s", s.FromS, s.ToS, name))
		}
		where := strings.Join(spots, "; ")
		if x.Landing.Unknown != "" {
			where = unknownWord + ": " + x.Landing.Unknown
		}
		away := fmt.Sprintf("%.1f km in %.0f min", x.FlyAway.ReachM/1000, x.FlyAway.DurationS/60)
		if x.FlyAway.Unknown != "" {
			away = unknownWord
		}
		rows = append(rows, []string{"!" + x.Slate, home, or(where), away})
	}
	p.Table(paper.Table{Pt: 7, Tight: true, Weights: []float64{2, 14, 9, 4}, Head: []string{"slate", "lost link", "emergency landing", "a fly-away can reach"}, Rows: rows})
}

// signatures prints boxes to sign in.
func (p *printer) signatures(title string, roles []string) {
	p.Room(24)
	p.Head(title)
	d := p.PDF
	y := d.GetY()
	w := p.Width() / float64(len(roles))
	for i, r := range roles {
		x := paper.Margin + float64(i)*w
		d.SetLineWidth(0.2)
		d.Rect(x, y, w, 13, "D")
		p.Block(paper.Style{Mono: true, Pt: 6}, x+1, y+0.6, w-2, r+", date, time")
	}
	d.SetXY(paper.Margin, y+15)
}

// checklists prints what is ticked off and signed. Items whose fact is not known say so.
func (p *printer) checklists() {
	p.Section("Checklists")
	d := p.PDF
	for _, list := range p.dossier.Checklists {
		p.Head(list.Title)
		for _, item := range list.Items {
			text := item.Text
			if item.Unsure != "" {
				text += " (" + item.Unsure + "; not known)"
			}
			face, w := paper.Style{Pt: 8.5}, p.Width()-45
			p.Room(p.BlockMM(face, w, text) + 1.4)
			y := d.GetY()
			d.SetLineWidth(0.25)
			d.Rect(paper.Margin, y+0.4, 3, 3, "D")
			low := p.Block(face, paper.Margin+5, y, w, text)
			d.SetLineWidth(0.1)
			d.Line(paper.Margin+p.Width()-36, low, paper.Margin+p.Width(), low)
			d.SetXY(paper.Margin, max(low, y+3.8)+1)
		}
	}
	p.signatures("Signed", []string{"pilot", "camera operator", "observer"})
}

// survey prints the sheet on which the site confirms or revises the plan.
func (p *printer) survey() {
	p.Section("Site survey")
	p.Text(little, "Walk the site with this sheet. Tick what is as planned; write what is found where it is not. Kept as safety/survey.yaml, it revises the plan.")
	p.formHead([]string{"date", "by", "weather", "signed"})
	var rows [][]string
	for _, l := range p.dossier.Sheet {
		rows = append(rows, []string{"!" + strings.ReplaceAll(l.ID, "/", ": "), l.Ask, l.Planned, "", ""})
	}
	p.Table(paper.Table{Pt: 7, Rules: true, HeightMM: 5.4, Tight: true, Weights: []float64{7, 10, 9, 3, 9}, Head: []string{"", "look at", "planned", "as planned", "found"}, Rows: rows})
	if s := p.dossier.Survey; s != nil {
		p.Head(fmt.Sprintf("What the survey of %s found (%s)", s.Date, or(s.By)))
		rows = nil
		for _, x := range s.Diffs {
			rows = append(rows, []string{"!" + x.Item, x.State, x.Planned, x.Found, string(x.Severity), x.Mend})
		}
		p.Table(paper.Table{Pt: 7, Weights: []float64{5, 3, 5, 5, 3, 6}, Head: []string{"item", "state", "planned", "found", "", "how to mend"}, Rows: rows})
	}
}
