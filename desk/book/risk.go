package book

import (
	"fmt"
	"sort"
	"strings"
	"time"

	"fieldfare/desk/paper"
	"fieldfare/plan/hazard"
	"fieldfare/plan/rule"
)

// Risk is one hazard over the whole shoot: the assessment of the slate on which it stands worst, and
// all slates on which it stands.
type Risk struct {
	hazard.Row
	Worst  string   `json:"worst_slate"`
	Slates []string `json:"slates"`
}

// moment is when a slate is looked at: as planned, or at its best.
func (p *printer) moment(slate string, best time.Time) time.Time {
	if starts, _ := p.planned(slate); len(starts) > 0 {
		return starts[0]
	}
	return best
}

// Risks assesses every slate's hazards at its planned hour and keeps the worst of each.
func Risks(c Content) ([]Risk, error) {
	p := &printer{Content: c, shoot: c.Assessor.Shoot}
	return p.risks()
}

func (p *printer) risks() ([]Risk, error) {
	library := hazard.Standard()
	decision := p.decision(library)
	at := map[string]int{}
	var all []Risk
	for i := range p.Check.Slates {
		x := &p.Check.Slates[i]
		rows, err := library.Assess(p.Assessor.Take(x.Slate).Facts(p.moment(x.Slate, x.At)), decision)
		if err != nil {
			return nil, err
		}
		for _, r := range rows {
			k, known := at[r.ID]
			if !known {
				at[r.ID] = len(all)
				all = append(all, Risk{r, x.Slate, []string{x.Slate}})
				continue
			}
			all[k].Slates = append(all[k].Slates, x.Slate)
			if heavier(library, r.Residual, all[k].Residual) {
				all[k].Row, all[k].Worst = r, x.Slate
			}
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return heavier(library, all[i].Residual, all[j].Residual) })
	return all, nil
}

func heavier(l *hazard.Library, a, b hazard.Risk) bool {
	rank := func(r hazard.Risk) int {
		for i, x := range l.Matrix.Bands {
			if x.Name == r.Band.Name {
				return i
			}
		}
		return len(l.Matrix.Bands)
	}
	if rank(a) != rank(b) {
		return rank(a) > rank(b)
	}
	return a.Likelihood*a.Severity > b.Likelihood*b.Severity
}

// decision takes the crew's own measures from the shoot: a measure that is the id of a control accepts
// it, other words are added beside the hazard without lowering it.
func (p *printer) decision(l *hazard.Library) hazard.Decision {
	d := hazard.Decision{Added: map[string][]hazard.Control{}}
	controls := map[string]bool{}
	hazards := map[string]string{}
	for _, h := range l.Hazards {
		hazards[strings.ToLower(h.ID)], hazards[strings.ToLower(h.Hazard)] = h.ID, h.ID
		for _, k := range h.Controls {
			controls[k.ID] = true
		}
	}
	for i, m := range p.shoot.Mitigations {
		id, known := hazards[strings.ToLower(m.Hazard)]
		switch {
		case controls[m.Measure]:
			d.Accepted = append(d.Accepted, m.Measure)
		case known:
			d.Added[id] = append(d.Added[id], hazard.Control{ID: fmt.Sprintf("own-%d", i+1), Text: m.Measure, Owner: or(m.Owner)})
		}
	}
	return d
}

// own are the crew's measures against hazards that the list does not have: printed, never dropped.
func (p *printer) own(l *hazard.Library) (rows [][]string) {
	known := map[string]bool{}
	for _, h := range l.Hazards {
		known[strings.ToLower(h.ID)], known[strings.ToLower(h.Hazard)] = true, true
		for _, k := range h.Controls {
			known[k.ID] = true
		}
	}
	for _, m := range p.shoot.Mitigations {
		if !known[strings.ToLower(m.Hazard)] && !known[m.Measure] {
			rows = append(rows, []string{"!" + m.Hazard, m.Measure, or(m.Owner)})
		}
	}
	return rows
}

// risk prints the assessment.
func (p *printer) risk() error {
	rows, err := p.risks()
	if err != nil {
		return err
	}
	library := hazard.Standard()
	p.Section("Risk assessment and method statement")
	p.Text(little, "Each hazard as it stands on the worst of its slates, at the planned hour. Likelihood x severity on the house's matrix, before and after the controls that are in place or accepted; what is not known counts as worse. The numbers rank, they say nothing of how often anything happens: common practice, no source. The judgement stays with the crew.")
	p.PDF.SetY(p.PDF.GetY() + 1)
	var table [][]string
	for _, r := range rows {
		var controls []string
		for _, k := range r.Measures {
			controls = append(controls, fmt.Sprintf("%s (%s; %s)", k.Text, k.Owner, k.State))
		}
		worse := ""
		if len(r.Worse) > 0 {
			worse = " Worse here: " + strings.Join(r.Worse, "; ") + "."
		}
		if len(r.Missing) > 0 {
			worse += " Not known: " + strings.Join(r.Missing, ", ") + "."
		}
		residual := strings.ToUpper(r.Residual.Band.Name) + ", " + number2(r.Residual)
		table = append(table, []string{"!" + r.Hazard, strings.Join(r.Who, ", "), r.Before.Band.Name + ", " + number2(r.Before), strings.Join(controls, ". ") + "." + worse, "!" + residual, r.Worst, ""})
	}
	p.Table(paper.Table{Pt: 6.6, Rules: true, Weights: []float64{30, 16, 18, 84, 18, 10, 10}, Head: []string{"hazard", "who", "before", "controls (owner; state)", "residual", "worst", "initials"}, Rows: table})
	if own := p.own(library); len(own) > 0 {
		p.Head("The crew's own measures")
		p.Table(paper.Table{Weights: []float64{5, 9, 4}, Head: []string{"hazard", "measure", "owner"}, Rows: own})
	}
	p.matrix(library)
	p.method()
	p.signatures("Read and agreed", []string{"pilot", "camera operator", "set safety", "first assistant director"})
	return nil
}

func number2(r hazard.Risk) string {
	return fmt.Sprintf("%d x %d", r.Likelihood, r.Severity)
}

// matrix prints the house's matrix.
func (p *printer) matrix(l *hazard.Library) {
	p.Head("The matrix: likelihood down, severity across")
	var rows [][]string
	for i := len(l.Matrix.Likelihood) - 1; i >= 0; i-- {
		row := []string{fmt.Sprintf("!%d %s", i+1, l.Matrix.Likelihood[i])}
		row = append(row, l.Matrix.Cells[i]...)
		rows = append(rows, row)
	}
	head := []string{""}
	for j, s := range l.Matrix.Severity {
		head = append(head, fmt.Sprintf("%d %s", j+1, s))
	}
	weights := make([]float64, len(head))
	for i := range weights {
		weights[i] = 1
	}
	p.Table(paper.Table{Pt: 7, Rules: true, Weights: weights, Head: head, Rows: rows})
	var bands []string
	for _, b := range l.Matrix.Bands {
		bands = append(bands, b.Name+": "+b.Accept)
	}
	p.Text(little, strings.Join(bands, ". ")+".")
}

// method says in the order of the day how the work is done, from the plan.
func (p *printer) method() {
	p.Head("Method")
	var crew []string
	for _, x := range p.shoot.Crew {
		crew = append(crew, x.Name+" ("+strings.Join(x.Roles, ", ")+")")
	}
	p.item("Crew: " + strings.Join(crew, "; ") + ".")
	for _, d := range p.Sheet.Days {
		if len(d.Sorties) == 0 {
			p.item(d.Date + ": no sorties.")
			continue
		}
		p.item(fmt.Sprintf("%s: %d sorties between %s and %s as on the call sheet; take-off and landing only at the spots of the site plan.", d.Date, len(d.Sorties), clock(d.Sorties[0].Start), clock(d.Wrap)))
	}
	h := p.shoot.House
	p.item(fmt.Sprintf("No flight above wind %s or gust %s at flying height, below visibility %s, nearer than %s to people outside the crew or %s to obstacles (house rules).", limit(float64(h.Wind), "%.0f m/s"), limit(float64(h.Gust), "%.0f m/s"), limit(float64(h.Visibility)/1000, "%.0f km"), limit(float64(h.PeopleDistance), "%.0f m"), limit(float64(h.Clearance), "%.0f m")))
	p.item("Each take is flown as drawn on its slate's page. Anyone may call the take off; the pilot lands at once, at the launch spot or the nearest emergency landing.")
	p.item("Lost link, point of no return and whom to call stand on each slate's page and on the cover.")
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

// checklists prints what is ticked off and signed. Items that a fact of no slate asks for are left out;
// those whose fact is not known say so.
func (p *printer) checklists() {
	facts := map[string][]rule.Facts{}
	for i := range p.Check.Slates {
		x := &p.Check.Slates[i]
		facts["all"] = append(facts["all"], p.Assessor.Take(x.Slate).Facts(p.moment(x.Slate, x.At)))
	}
	library := hazard.Standard()
	p.Section("Checklists")
	d := p.PDF
	for _, list := range library.Checklists {
		p.Head(list.Title)
		for _, item := range list.Items {
			text, wanted := item.Text, len(facts["all"]) == 0 || item.When == nil
			unsure := false
			for _, f := range facts["all"] {
				if item.When == nil {
					break
				}
				holds, known := item.When.Holds(f)
				wanted = wanted || holds || !known
				unsure = unsure || !known
			}
			if !wanted {
				continue
			}
			if unsure {
				text += " (if " + item.When.String() + ": not known)"
			}
			p.Room(5.4)
			y := d.GetY()
			d.SetLineWidth(0.25)
			d.Rect(paper.Margin, y+0.4, 3, 3, "D")
			low := p.Block(paper.Style{Pt: 8.5}, paper.Margin+5, y, p.Width()-45, text)
			d.SetLineWidth(0.1)
			d.Line(paper.Margin+p.Width()-36, low+0.4, paper.Margin+p.Width(), low+0.4)
			d.SetXY(paper.Margin, max(low, y+3.8)+1)
		}
	}
	p.signatures("Signed", []string{"pilot", "camera operator", "observer"})
}
