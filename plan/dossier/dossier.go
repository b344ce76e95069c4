// Package dossier writes the safety case of a shoot: what an authority, a permitting office or a
// production's safety officer asks for before aircraft fly over a set. It holds the plan of
// activities, the case of each slate at its hour (volumes, falls, sight, airspace, contingencies,
// links, rules), the permission register, the risk assessment and method statement, the
// checklists, the survey sheet and what the survey changed. Page, book, exports and command line
// draw on it alike.
//
// Units: JSON keys carry theirs; places are degrees on the WGS 84 ellipsoid, heights metres above
// the level that the key names; times are instants in the site's zone.
//
// Source: package assess for every number, packages rule and hazard for what is made of them; the
// contents of the plan of activities follow what production safety and permitting offices ask for
// (common practice). Values that were recalled and not looked up say "from memory" in their basis.
//
// Validity: that of the models, at the hour of each slate's best light. What is not known is said to
// be unknown and never counts as safe.
//
// Not modelled: the law. The case is a planning aid; it defers to local rules, the aircraft's manual
// and licensed practice.
package dossier

import (
	"context"
	"fmt"
	"strings"
	"time"

	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/hazard"
	"fieldfare/plan/shoot"
)

// Unknown stands where something was not entered.
const Unknown = "unknown"

// Case is the safety case of a shoot.
type Case struct {
	Title      string   `json:"title"`
	Production string   `json:"production"`
	Site       string   `json:"site"`
	Zone       string   `json:"zone"`
	Dates      []string `json:"dates"`
	Caution    string   `json:"caution"`
	Cautions   []string `json:"cautions"`

	Activities Activities         `json:"plan_of_activities"`
	Register   []Permission       `json:"permission_register"`
	Slates     []Slate            `json:"slates"`
	Risks      []Risk             `json:"risk_assessment"`
	Matrix     hazard.Matrix      `json:"matrix"`
	Method     []Step             `json:"method_statement"`
	Checklists []hazard.Checklist `json:"checklists"`
	Emergency  Emergency          `json:"emergency"`
	Sheet      []Line             `json:"survey_sheet"`
	Survey     *Survey            `json:"survey"` // null where none was made
}

// Write works out the case of a shoot that was checked, each slate at the moment of its best light. It
// uses every core and stops early when ctx ends.
func Write(ctx context.Context, a *assess.Assessor, c *check.Check) (*Case, error) {
	return WriteAt(ctx, a, c, nil)
}

// WriteAt works out the case with some slates at the hours at which they are planned.
func WriteAt(ctx context.Context, a *assess.Assessor, checked *check.Check, planned map[string]time.Time) (*Case, error) {
	s := a.Shoot
	c := moved(a, checked, planned)
	d := &Case{Title: s.Title, Production: orUnknown(s.Production), Site: s.Site.Name, Zone: s.Zone, Dates: c.Dates,
		Caution: check.Safety, Cautions: c.Cautions, Matrix: s.Library().Matrix}
	d.Slates = make([]Slate, len(c.Slates))
	if err := assess.Each(ctx, len(c.Slates), func(i int) (err error) {
		d.Slates[i], err = slate(a, &c.Slates[i])
		return err
	}); err != nil {
		return nil, err
	}
	d.Register = register(a, c)
	d.Activities = activities(a, c)
	d.Emergency = emergency(a, d)
	d.Risks = risks(d.Slates, &d.Matrix)
	d.Checklists = checklists(a, c)
	d.Sheet = sheet(s)
	d.Survey = surveyed(a, d.Sheet)
	d.Method = method(a, d)
	return d, nil
}

// moved is the check with the slates that are planned looked at when they are.
func moved(a *assess.Assessor, c *check.Check, planned map[string]time.Time) *check.Check {
	if len(planned) == 0 {
		return c
	}
	out := *c
	out.Slates = append([]check.Slate(nil), c.Slates...)
	for i := range out.Slates {
		x := &out.Slates[i]
		if at, ok := planned[x.Slate]; ok && !at.Equal(x.At) {
			found := a.Take(x.Slate).At(at)
			x.At, x.Numbers, x.Findings = found.At, found.Numbers, found.Findings
		}
	}
	return &out
}

// Only keeps one slate of the case.
func (d *Case) Only(slate string) error {
	for i := range d.Slates {
		if d.Slates[i].Slate == slate {
			d.Slates = d.Slates[i : i+1]
			d.Risks = risks(d.Slates, &d.Matrix)
			return nil
		}
	}
	var names []string
	for _, x := range d.Slates {
		names = append(names, x.Slate)
	}
	return fmt.Errorf("no slate %q in this shoot: it has %s", slate, strings.Join(names, ", "))
}

func orUnknown(text string) string {
	if text == "" {
		return Unknown
	}
	return text
}

// Span is a time from one instant to another.
type Span struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// Place is a position with its heights.
type Place struct {
	Kind       string  `json:"kind"`
	Name       string  `json:"name"`
	Lat        float64 `json:"lat_deg"`
	Lon        float64 `json:"lon_deg"`
	AboveSeaM  float64 `json:"above_sea_m"`
	HeightM    float64 `json:"height_m,omitempty"` // of what stands there, above ground
	Count      *int    `json:"people,omitempty"`
	Status     string  `json:"status,omitempty"`
	Note       string  `json:"note,omitempty"`
	HeightKnow bool    `json:"above_sea_known"`
}

func placeOf(s *shoot.Shoot, f *shoot.Feature) Place {
	at := f.Places[0]
	if f.Shape == shoot.Polygon && len(f.Places) > 0 {
		at.X, at.Y = 0, 0
		for _, p := range f.Places {
			at.X += p.X / float64(len(f.Places))
			at.Y += p.Y / float64(len(f.Places))
		}
		if z, ok := s.Ground().HeightAt(at.X, at.Y); ok {
			at.Z = z
		}
	}
	ll := s.Frame().ToLatLon(at)
	p := Place{Kind: f.Kind, Name: nameOf(f), Lat: ll.Lat.Deg(), Lon: ll.Lon.Deg(), AboveSeaM: at.Z, HeightM: f.HeightM, HeightKnow: f.OnGround, Status: f.Status, Note: f.Note}
	if f.Kind == shoot.People || f.Kind == shoot.Set {
		if n := f.Count; n >= 0 {
			p.Count = &n
		}
	}
	return p
}

func nameOf(f *shoot.Feature) string {
	if f.Name != "" {
		return f.Name
	}
	return "unnamed " + f.Kind
}
