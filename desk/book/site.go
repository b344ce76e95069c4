package book

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"strings"

	"fieldfare/desk/draw"
	"fieldfare/desk/paper"
	"fieldfare/model/geo"
	"fieldfare/plan/shoot"
)

// site prints the map and the lists that go with it.
func (p *printer) site() {
	p.Section("Site plan: " + p.shoot.Site.Name)
	d := p.PDF
	y := d.GetY()
	plan := draw.NewSitePlan(p.Assessor, p.Check)
	height, style, words := p.baseMap(plan, p.Bottom()-y-1)
	plan.Draw(p.Pen(paper.Margin, y), p.Width(), height)
	y += height
	if words != "" {
		y = p.Block(style, paper.Margin, y-underLegend, p.Width(), words)
	}
	d.SetXY(paper.Margin, y+2)
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

// underLegend is what the plan's legend leaves free at its foot.
const underLegend = 1.6

// mapDPI is how fine the base map is printed, in dots an inch.
const mapDPI = 170

// baseMap lays the crew's own map beneath the plan, as far as there is one that can be drawn. It returns how high the plan
// may be in the room, and what is to be said of the map, or of why there is none where there should be.
func (p *printer) baseMap(plan *draw.SitePlan, room float64) (height float64, style paper.Style, words string) {
	fit := func(style paper.Style, words string) float64 {
		if words == "" {
			return min(plan.HeightMM(p.Width()), room)
		}
		return min(plan.HeightMM(p.Width()), room-p.BlockMM(style, p.Width(), words))
	}
	m := p.shoot.Map()
	if m == nil {
		return fit(little, ""), little, ""
	}
	credit := p.shoot.MapCredit()
	if credit == "" {
		credit = "whose map it is: unknown, to be entered as map_credit"
	}
	say := func(covered float64) string {
		part := ""
		if covered < 1 {
			part = fmt.Sprintf(" It covers %.0f %% of this plan and not the rest.", math.Floor(100*covered))
		}
		return "Base map: " + m.Name + "; " + credit + "." + part + " Clearances are worked out from terrain and features, not from it."
	}
	height = fit(little, say(0))
	ground, w, h := plan.Frame(p.Width(), height)
	nx, ny := int(math.Round(w/25.4*mapDPI)), int(math.Round(h/25.4*mapDPI))
	frame := p.shoot.Frame()
	img, err := p.shoot.DrawMap(nx, ny, func(x, y float64) geo.LatLon {
		return frame.ToLatLon(geo.Vec3{X: ground.MinX + x/float64(nx)*(ground.MaxX-ground.MinX), Y: ground.MaxY - y/float64(ny)*(ground.MaxY-ground.MinY)})
	})
	covered := 0.0
	if err == nil {
		for k := 3; k < len(img.Pix); k += 4 {
			covered += float64(img.Pix[k]) / 255 / float64(nx*ny)
		}
	}
	const half = 0.5 / 100 // of what a pixel's edge or a clear dot may lack
	switch {
	case err != nil:
		switch words = err.Error(); {
		case errors.Is(err, fs.ErrNotExist):
			words = m.Name + " is no longer in the shoot folder"
		case !strings.Contains(words, m.Name):
			words = m.Name + " " + words
		}
		words = "caution: base map not drawn: " + words + "."
	case covered == 0:
		words = "caution: base map not drawn: " + m.Name + " shows nothing of this plan; check its place and coordinate system, or choose a map of the site."
	default:
		if covered > 1-half {
			covered = 1
		}
		plan.Beneath = img
		return height, little, say(covered)
	}
	return fit(strongLittle, words), strongLittle, words
}

func (p *printer) datum() string {
	d := p.shoot.Datum()
	text := or(d.Name)
	if !d.Stated {
		text += " (assumed; " + d.Note + ")"
	}
	return text
}
