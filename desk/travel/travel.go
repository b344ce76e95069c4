// Package travel writes the papers that a crew travels with: a packing list by case with
// masses, how each pack may go by air, and the general list for temporary import.
//
// Units: kilograms and watt-hours. Source: carriage of packs is package pack's (IATA Dangerous Goods
// Regulations); the columns of the general list are those of the ATA carnet (Istanbul Convention, annex
// A, appendix I: item number, description with marks and numbers, pieces, mass, value, country
// of origin), from memory.
// Validity: what the shoot's rigs, packs and chargers name. Masses, values and numbers that nobody entered
// are unknown and make every sum that holds them a least sum.
//
// Not modelled: customs law, airlines' own baggage rules, anything that is not in the shoot or in
// travel.yaml.
package travel

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"fieldfare/model/unit"
	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/rule"
	"fieldfare/plan/shoot"
)

// FileName is the crew's own file in the shoot folder; it may be left out.
const FileName = "travel.yaml"

// Notes are what travel.yaml adds.
type Notes struct {
	Cases   []CaseNote    `yaml:"cases"`
	Declare []Declaration `yaml:"declare"`
}

// CaseNote is a case with the gear that goes in it.
type CaseNote struct {
	Name  string    `yaml:"name"`
	Mass  unit.Mass `yaml:"mass"` // empty
	Holds []string  `yaml:"holds"`
}

// Declaration is what customs ask of a piece.
type Declaration struct {
	Item   string    `yaml:"item"`
	Number string    `yaml:"number"` // serial number or mark
	Value  string    `yaml:"value"`  // with its currency
	Origin string    `yaml:"origin"` // country
	Mass   unit.Mass `yaml:"mass"`
}

// Item is one kind of gear.
type Item struct {
	Name   string   `json:"name"`
	Kind   string   `json:"kind"`
	Pieces int      `json:"pieces"`
	EachKg *float64 `json:"mass_each_kg"` // null: unknown
	Number string   `json:"number"`
	Value  string   `json:"value"`
	Origin string   `json:"origin"`

	air assess.CarriageNote
	wh  float64
}

// Case is a case, bag or hand baggage.
type Case struct {
	Name    string   `json:"name"`
	EmptyKg *float64 `json:"empty_kg"` // null: unknown
	Items   []Item   `json:"items"`
	KnownKg float64  `json:"known_mass_kg"` // of what has a mass, the case included
	Whole   bool     `json:"all_masses_known"`
}

// AirPack is how packs of one model go by passenger aircraft.
type AirPack struct {
	Model  string   `json:"model"`
	Pieces int      `json:"pieces"`
	Wh     float64  `json:"wh_each"`
	Class  string   `json:"class"`
	Note   string   `json:"note"`
	Source string   `json:"source"`
	Who    []string `json:"carried_by"` // one entry for each piece; "cargo" where nobody may
}

// Papers are all of them.
type Papers struct {
	Title   string    `json:"title"`
	Cases   []Case    `json:"cases"`
	Packs   []AirPack `json:"packs"`
	List    []Item    `json:"general_list"`
	KnownKg float64   `json:"known_mass_kg"`
	Unknown []string  `json:"mass_unknown"`
	Caution string    `json:"caution"`
}

// Parse reads travel.yaml. Errors give the place.
func Parse(src []byte) (Notes, error) {
	var n Notes
	if err := rule.Decode(FileName, src, &n); err != nil {
		return Notes{}, err
	}
	seen := map[string]string{}
	for _, c := range n.Cases {
		if c.Name == "" {
			return n, fmt.Errorf("%s: a case has no name", FileName)
		}
		for _, h := range c.Holds {
			if other, ok := seen[h]; ok {
				return n, fmt.Errorf("%s: %q is in case %q and in case %q; it can be in one", FileName, h, other, c.Name)
			}
			seen[h] = c.Name
		}
	}
	return n, nil
}

// Of writes the papers of a shoot in a folder, with the crew's notes beside the shoot file where there
// are any.
func Of(dir string, a *assess.Assessor) (*Papers, error) {
	var notes Notes
	src, err := os.ReadFile(filepath.Join(dir, FileName))
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, err
	default:
		if notes, err = Parse(src); err != nil {
			return nil, err
		}
	}
	return Write(a, notes)
}

// mostApproved is how many packs between 100 and 160 Wh a person may carry as spares, with approval.
const mostApproved = 2

// Write gathers the gear of a shoot into papers.
func Write(a *assess.Assessor, n Notes) (*Papers, error) {
	s := a.Shoot
	items := gear(a)
	for _, d := range n.Declare {
		i := slices.IndexFunc(items, func(x Item) bool { return x.Name == d.Item })
		if i < 0 {
			return nil, fmt.Errorf("%s declares %q, which no rig, pack or charger of the shoot names: correct the name under declare:, or take the line out", FileName, d.Item)
		}
		items[i].Number, items[i].Value, items[i].Origin = d.Number, d.Value, d.Origin
		if d.Mass > 0 {
			m := float64(d.Mass)
			items[i].EachKg = &m
		}
	}
	p := &Papers{Title: s.Title, List: items, Caution: check.Safety, Unknown: []string{}}
	if err := p.pack(items, n); err != nil {
		return nil, err
	}
	p.carry(s, items)
	for _, c := range p.Cases {
		p.KnownKg += c.KnownKg
	}
	for _, x := range items {
		if x.EachKg == nil {
			p.Unknown = append(p.Unknown, x.Name)
		}
	}
	return p, nil
}

// gear lists everything that the shoot brings, each kind once.
func gear(a *assess.Assessor) (items []Item) {
	s, k := a.Shoot, a.Shoot.Kit()
	add := func(name, kind string, pieces int, mass unit.Mass) *Item {
		if name == "" {
			return &Item{}
		}
		for i := range items {
			if items[i].Name == name && items[i].Kind == kind {
				items[i].Pieces += pieces
				return &items[i]
			}
		}
		x := Item{Name: name, Kind: kind, Pieces: pieces}
		if mass > 0 {
			m := float64(mass)
			x.EachKg = &m
		}
		items = append(items, x)
		return &items[len(items)-1]
	}
	once := map[string]bool{}
	shared := func(name, kind string, mass unit.Mass) {
		if !once[kind+name] {
			once[kind+name] = true
			add(name, kind, 1, mass)
		}
	}
	for i := range s.Rigs {
		r := &s.Rigs[i]
		add(r.Airframe, "aircraft", 1, k.Airframe(r.Airframe).Mass)
		if g := k.Gimbal(r.Gimbal); g != nil {
			add(g.Name, "gimbal", 1, g.Mass)
		}
		if c := k.Camera(r.Camera); c != nil {
			add(c.Name, "camera", 1, c.Mass)
		}
		for _, l := range r.Lenses {
			shared(l, "lens", k.Lens(l).Mass)
		}
		for _, f := range r.Filters {
			shared(f, "filter", k.Filter(f).Mass)
		}
		for _, x := range r.Extras {
			add(x.Name, "on the rig", 1, x.Mass)
		}
		if r.Radio != "" {
			shared(r.Radio, "radio", 0)
		}
	}
	sheets := a.PackSheets()
	for i := range s.Packs {
		m := k.Pack(s.Packs[i].Model)
		pieces := 1
		for j := range s.Rigs {
			if slices.Contains(m.Airframes, s.Rigs[j].Airframe) {
				pieces = max(pieces, k.Airframe(s.Rigs[j].Airframe).PacksFitted)
			}
		}
		x := add(m.Name, "pack", pieces, m.Mass)
		x.wh = float64(m.Capacity) * float64(m.Voltage) / 3600
		if i < len(sheets) {
			x.air = sheets[i].ByAir
		}
	}
	for _, name := range s.Charging.Chargers {
		add(name, "charger", 1, 0)
	}
	return items
}

// pack puts items into the crew's own cases, the rest by kind: an aircraft has a case of its own,
// cameras and glass go together, packs apart.
func (p *Papers) pack(items []Item, n Notes) error {
	at := map[string]int{}
	open := func(name string, empty *float64) int {
		if i, ok := at[name]; ok {
			return i
		}
		at[name] = len(p.Cases)
		p.Cases = append(p.Cases, Case{Name: name, EmptyKg: empty, Items: []Item{}})
		return at[name]
	}
	own := map[string]string{}
	for _, c := range n.Cases {
		var empty *float64
		if c.Mass > 0 {
			m := float64(c.Mass)
			empty = &m
		}
		open(c.Name, empty)
		for _, h := range c.Holds {
			if !slices.ContainsFunc(items, func(x Item) bool { return x.Name == h }) {
				return fmt.Errorf("%s: case %q holds %q, which no rig, pack or charger of the shoot names", FileName, c.Name, h)
			}
			own[h] = c.Name
		}
	}
	for _, x := range items {
		name, ok := own[x.Name]
		if !ok {
			switch x.Kind {
			case "aircraft":
				name = "aircraft " + x.Name
			case "pack":
				name = "packs, " + strings.ReplaceAll(x.air.Class, "operator approval", "hand baggage with approval")
			case "charger", "radio":
				name = "ground station"
			default:
				name = "camera"
			}
		}
		i := open(name, nil)
		p.Cases[i].Items = append(p.Cases[i].Items, x)
	}
	for i := range p.Cases {
		c := &p.Cases[i]
		c.Whole = c.EmptyKg != nil
		if c.EmptyKg != nil {
			c.KnownKg = *c.EmptyKg
		}
		for _, x := range c.Items {
			if x.EachKg == nil {
				c.Whole = false
				continue
			}
			c.KnownKg += float64(x.Pieces) * *x.EachKg
		}
	}
	return nil
}

// carry shares packs out among the crew: cabin packs to everyone in turn, those that need approval at
// most two a person, the others as cargo.
func (p *Papers) carry(s *shoot.Shoot, items []Item) {
	held := make([]int, len(s.Crew))
	turn := 0
	for _, x := range items {
		if x.Kind != "pack" {
			continue
		}
		out := AirPack{Model: x.Name, Pieces: x.Pieces, Wh: x.wh, Class: x.air.Class, Note: x.air.Note, Source: x.air.Source}
		for range x.Pieces {
			who := "cargo"
			switch x.air.Class {
			case "cabin":
				if len(s.Crew) > 0 {
					who = s.Crew[turn%len(s.Crew)].Name
					turn++
				}
			case "operator approval":
				for k := range s.Crew {
					if held[k] < mostApproved {
						held[k]++
						who = s.Crew[k].Name
						break
					}
				}
			}
			out.Who = append(out.Who, who)
		}
		p.Packs = append(p.Packs, out)
	}
}
