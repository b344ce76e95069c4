package book

import (
	"fmt"
	"strings"

	"fieldfare/desk/paper"
)

// packs prints the battery plan.
func (p *printer) packs() {
	p.Section("Battery plan")
	kit := p.shoot.Kit()
	var rows [][]string
	for i := range p.shoot.Packs {
		x := &p.shoot.Packs[i]
		m := kit.Pack(x.Model)
		usable, full := p.Assessor.PackEnergy(x)
		charge := 1.0
		if x.Charge > 0 {
			charge = float64(x.Charge)
		}
		health := "not measured"
		if x.Health > 0 {
			health = fmt.Sprintf("%.0f %%", 100*float64(x.Health))
		}
		above, whole := fmt.Sprintf("%.0f Wh", usable), fmt.Sprintf("%.0f Wh", full)
		if usable <= 0 {
			above, whole = unknownWord, unknownWord
		}
		rows = append(rows, []string{"!" + x.Name, x.Model, strings.Join(m.Airframes, ", "), fmt.Sprintf("%.0f Wh", float64(m.Capacity)*float64(m.Voltage)/3600), fmt.Sprint(x.Cycles), health, fmt.Sprintf("%.0f %%", 100*charge), whole, above})
	}
	p.Table(paper.Table{Weights: []float64{3, 5, 5, 4, 3, 5, 4, 5, 5}, Rows: rows,
		Head: []string{"pack", "model", "fits", "label", "cycles", "health", "at call", "in the cold of the day", "above reserve"}})
	reserve := limit(100*float64(p.shoot.House.Reserve), "%.0f %% of a pack stays for landing (house rule)")
	p.Text(little, "Reserve: "+reserve+". Supply for charging: "+limit(float64(p.shoot.Charging.Supply), "%.0f W")+" from "+or(p.shoot.Charging.Source)+"; "+limit(float64(p.shoot.Charging.CoolDown)/60, "%.0f min")+" to cool before charging. Label energy is nominal voltage times rated charge.")
	for _, day := range p.Sheet.Days {
		p.Head("Packs on " + day.Date)
		rows = nil
		for i := range p.shoot.Packs {
			name := p.shoot.Packs[i].Name
			for _, s := range day.Sorties {
				if s.Pack != name {
					continue
				}
				var slates []string
				for _, x := range s.Slates {
					slates = append(slates, x.Slate)
				}
				rows = append(rows, []string{"!" + name, clock(s.Start), clock(s.End), "flies " + s.Rig + ": " + strings.Join(slates, ", "), fmt.Sprintf("%.0f Wh used, %.0f Wh left", s.EnergyWh, s.LeftWh), "", ""})
			}
			for _, c := range day.Charges {
				if c.Pack == name {
					rows = append(rows, []string{"!" + name, clock(c.Start), clock(c.End), "charges on " + c.Charger, "", "", ""})
				}
			}
		}
		if len(rows) == 0 {
			p.Text(plain, "no pack flies")
			continue
		}
		p.Table(paper.Table{Rules: true, HeightMM: 5, Weights: []float64{3, 3, 3, 9, 8, 5, 5}, Head: []string{"pack", "from", "to", "what", "planned", "volts out", "volts back"}, Rows: rows})
	}
}

// radio prints the links and their margins.
func (p *printer) radio() {
	p.Section("Radio")
	for i := range p.shoot.Rigs {
		r := &p.shoot.Rigs[i]
		set := p.shoot.Kit().Radio(r.Radio)
		p.Head(r.Name + ": " + or(r.Radio))
		if set == nil {
			p.Text(plain, "links unknown: no radio entered for this rig")
			continue
		}
		var rows [][]string
		for _, l := range set.Links {
			rows = append(rows, []string{"!" + l.Use, fmt.Sprintf("%.4g MHz", float64(l.Frequency)/1e6), fmt.Sprintf("%.3g mW", 1000*float64(l.Power)), fmt.Sprintf("%.1f / %.1f dBi", float64(l.AirGain), float64(l.GroundGain)), fmt.Sprintf("%.3g MHz", float64(l.Bandwidth)/1e6), fmt.Sprintf("%.0f dB", float64(l.Required))})
		}
		p.Table(paper.Table{Weights: []float64{4, 4, 4, 5, 4, 4}, Head: []string{"link", "frequency", "power", "gain air / ground", "bandwidth", "needs"}, Rows: rows})
	}
	p.Head("Margin at the weakest moment of each slate")
	var rows [][]string
	for _, x := range p.Check.Slates {
		row := []string{"!" + x.Slate, x.Rig, x.Launch}
		words := map[string]string{}
		for _, r := range x.Numbers.Radio {
			words[r.Use] = number(r.MarginDB, "%.1f dB") + " at " + number(r.AtS, "%.0f s")
		}
		for _, use := range []string{"control", "telemetry", "video"} {
			row = append(row, or(words[use]))
		}
		rows = append(rows, row)
	}
	p.Table(paper.Table{Weights: []float64{2, 3, 5, 5, 5, 5}, Head: []string{"slate", "rig", "station at", "control", "telemetry", "video"}, Rows: rows})
	p.Text(little, "Wanted margin: "+limit(float64(p.shoot.House.LinkMargin), "%.0f dB (house rule)")+". Free-space loss with one edge over the terrain (ITU-R P.525, P.526); other transmitters are not looked at. Whether power and frequency are lawful here is not checked: ask the regulator.")
}

// permissions prints the register, the rules held against, certificates and aircraft.
func (p *printer) permissions() {
	p.Section("Permissions and papers")
	var rows [][]string
	for _, x := range p.dossier.Register {
		status := x.Status
		if status != "granted" {
			status = "!" + strings.ToUpper(or(status))
		}
		ask := x.AskBy
		if ask == "" {
			ask = "no lead time entered"
		}
		rows = append(rows, []string{"!" + x.What, x.From, x.Reference, status, x.Starts + " to " + x.Ends, or(x.Area), ask, strings.Join(x.Findings, "; ")})
	}
	if len(rows) == 0 {
		p.Text(strong, "none entered: unknown")
	} else {
		p.Table(paper.Table{Pt: 7, Weights: []float64{8, 5, 4, 4, 6, 4, 4, 7}, Head: []string{"what", "from", "reference", "status", "valid", "where", "ask by", "findings"}, Rows: rows})
	}
	p.Head("Distances to people")
	rows = nil
	for _, x := range p.dossier.Activities.Distances {
		nearest := x.Note
		if x.NearestM != nil {
			nearest = fmt.Sprintf("%.1f m", *x.NearestM)
		}
		if len(x.Limits) == 0 {
			rows = append(rows, []string{"!" + x.To, nearest, x.Slate, "no rule of the profiles named", "", ""})
		}
		for _, l := range x.Limits {
			rows = append(rows, []string{"!" + x.To, nearest, x.Slate, l.Limit, l.Profile, l.Outcome})
		}
	}
	if len(rows) == 0 {
		p.Text(plain, "no rule of the profiles named asks for one")
	} else {
		p.Table(paper.Table{Pt: 7, Weights: []float64{6, 4, 3, 8, 4, 3}, Head: []string{"to", "least planned", "slate", "limit", "profile", ""}, Rows: rows})
	}
	p.Head("Rules that the plan was held against")
	rows = nil
	for _, r := range p.shoot.Profiles() {
		rows = append(rows, []string{"!" + r.ID, r.Title, or(r.Source), or(r.Read), r.Confirm})
	}
	if len(rows) == 0 {
		p.Text(strong, "none named: whether the plan meets any rule is unknown")
	} else {
		p.Table(paper.Table{Weights: []float64{4, 6, 7, 3, 9}, Head: []string{"profile", "title", "source", "read", "to confirm"}, Rows: rows})
	}
	p.Head("Certificates")
	rows = nil
	for _, x := range p.shoot.Crew {
		if len(x.Certificates) == 0 {
			rows = append(rows, []string{"!" + x.Name, "none entered", "", ""})
		}
		for _, c := range x.Certificates {
			expires := unknownWord
			if c.Expires != nil {
				expires = c.Expires.String()
			}
			rows = append(rows, []string{"!" + x.Name, c.Title, or(c.Number), expires})
		}
	}
	p.Table(paper.Table{Weights: []float64{5, 5, 4, 4}, Head: []string{"who", "certificate", "number", "expires"}, Rows: rows})
	p.Head("Aircraft")
	rows = nil
	for i := range p.shoot.Rigs {
		r := &p.shoot.Rigs[i]
		a := p.shoot.Kit().Airframe(r.Airframe)
		rows = append(rows, []string{"!" + r.Name, r.Airframe, or(r.Mark), or(a.Class), fmt.Sprintf("%.2f kg", float64(a.MaxTakeoff)), or(r.Insurance)})
	}
	p.Table(paper.Table{Weights: []float64{3, 4, 4, 3, 4, 8}, Head: []string{"rig", "airframe", "registration", "class", "heaviest", "insurance"}, Rows: rows})
}

// forms prints what is filled in on the day.
func (p *printer) forms() {
	empty := func(n int) [][]string { return make([][]string, n) }
	p.Section("Camera report")
	p.formHead([]string{"date", "camera", "card or magazine", "operator", "format and rate", "sheet"})
	p.Table(paper.Table{Pt: 7, Rules: true, HeightMM: 7.2, Weights: []float64{5, 4, 5, 5, 5, 6, 5, 5, 5, 4, 5, 14},
		Head: []string{"slate", "take", "clip", "time", "lens", "filter", "f", "1/s", "ISO", "K", "length", "remarks; ring good takes"}, Rows: empty(29)})
	p.Section("Flight log")
	p.formHead([]string{"date", "aircraft", "registration", "pilot", "operator", "sheet"})
	p.Table(paper.Table{Pt: 7, Rules: true, HeightMM: 7.2, Weights: []float64{4, 5, 6, 6, 5, 5, 5, 8, 5, 12, 6},
		Head: []string{"sortie", "pack", "take-off", "landing", "min", "volts out", "volts back", "slates", "wind", "what happened", "initials"}, Rows: empty(29)})
}

// formHead is a row of boxes with their names in small type.
func (p *printer) formHead(names []string) {
	d := p.PDF
	y := d.GetY()
	w := p.Width() / float64(len(names))
	for i, n := range names {
		x := paper.Margin + float64(i)*w
		d.SetLineWidth(0.2)
		d.Rect(x, y, w, 10, "D")
		p.Block(paper.Style{Mono: true, Pt: 6}, x+1, y+0.6, w-2, n)
	}
	d.SetXY(paper.Margin, y+12)
}
