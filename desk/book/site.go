package book

import (
	"fmt"
	"math"
	"strings"

	"fieldfare/desk/draw"
	"fieldfare/desk/paper"
	"fieldfare/plan/shoot"
)

// site prints the map and the lists that go with it.
func (p *printer) site() {
	p.Section("Site plan: " + p.shoot.Site.Name)
	d := p.PDF
	y := d.GetY()
	plan := draw.NewSitePlan(p.Assessor, p.Check)
	height := min(plan.HeightMM(p.Width()), p.Bottom()-y-1)
	plan.Draw(p.Pen(paper.Margin, y), p.Width(), height)
	d.SetXY(paper.Margin, y+height+2)
	const areas = 95.0
	if d.GetY()+areas+8 > p.Bottom() {
		p.Page("Areas around the job", "Site")
		p.Title("Areas around the job")
	} else {
		p.Entry("Areas around the job", 0)
		p.Head("Areas around the job")
	}
	y = d.GetY()
	high := min(max(60, p.Bottom()-y-1), 130)
	plan.DrawAreas(p.Pen(paper.Margin, y), p.Width(), high)
	d.SetXY(paper.Margin, y+high+2)
	p.Page("Places and obstacles", "Site")
	p.Title("Places and obstacles")
	p.Text(little, "Terrain: "+p.datum()+". Positions are WGS 84; heights above ground unless said otherwise.")
	frame := p.shoot.Frame()
	place := func(f *shoot.Feature) string {
		at := frame.ToLatLon(f.Places[0])
		return shoot.Place(at).String()
	}
	groups := []struct {
		title string
		head  []string
		kinds []string
		row   func(f *shoot.Feature) []string
	}{
		{"Launch, landing and standing places", []string{"place", "for", "position", "ground above sea"}, []string{shoot.Launch, shoot.Landing, shoot.Observer, shoot.Set, shoot.Stunt}, func(f *shoot.Feature) []string {
			use := map[string]string{shoot.Launch: "L launch and landing", shoot.Landing: "E emergency landing", shoot.Observer: "O observer", shoot.Set: "S set", shoot.Stunt: "P performers"}[f.Kind]
			ground := unknownWord
			if f.OnGround {
				ground = fmt.Sprintf("%.0f m", f.Places[0].Z)
			}
			return []string{"!" + or(f.Name), use, place(f), ground}
		}},
		{"Areas", []string{"area", "status", "floor to ceiling", "when"}, []string{shoot.Area}, func(f *shoot.Feature) []string {
			top := "no ceiling"
			if !math.IsInf(f.CeilingM, 1) {
				top = fmt.Sprintf("%.0f m", f.CeilingM)
			}
			when := "always"
			if len(f.Validity) > 0 {
				var all []string
				for _, v := range f.Validity {
					all = append(all, v.From.String()+" to "+v.To.String())
				}
				when = strings.Join(all, ", ")
			}
			return []string{"!" + or(f.Name), f.Status, fmt.Sprintf("%.0f m to %s above %s", f.FloorM, top, f.Reference), strings.TrimSpace(when + ". " + f.Note)}
		}},
		{"People not of the crew", []string{"where", "how many", "position", ""}, []string{shoot.People}, func(f *shoot.Feature) []string {
			n := unknownWord
			if f.Count >= 0 {
				n = fmt.Sprint(f.Count)
			}
			return []string{"!" + or(f.Name), n, place(f), f.Note}
		}},
		{"Wires, masts, trees and buildings", []string{"obstacle", "kind", "height", "position"}, []string{shoot.Wire, shoot.Mast, shoot.Tree, shoot.Bridge, shoot.Building}, func(f *shoot.Feature) []string {
			h := fmt.Sprintf("%.0f m", f.HeightM)
			if f.SagM > 0 {
				h += fmt.Sprintf(", sag %.0f m", f.SagM)
			}
			return []string{"!" + or(f.Name), f.Kind, h, place(f)}
		}},
	}
	for _, g := range groups {
		var rows [][]string
		for _, kind := range g.kinds {
			for i := range p.shoot.Features() {
				if f := &p.shoot.Features()[i]; f.Kind == kind {
					rows = append(rows, g.row(f))
				}
			}
		}
		p.Head(g.title)
		if len(rows) == 0 {
			p.Text(plain, "none entered: unknown")
			continue
		}
		p.Table(paper.Table{Weights: []float64{5, 4, 6, 5}, Head: g.head, Rows: rows})
	}
}

func (p *printer) datum() string {
	d := p.shoot.Datum()
	text := or(d.Name)
	if !d.Stated {
		text += " (assumed; " + d.Note + ")"
	}
	return text
}
