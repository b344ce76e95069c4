package dossier

import (
	"fmt"
	"math"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

// Line is one line of the sheet that is filled in on the site.
type Line struct {
	ID      string   `json:"id"`
	Ask     string   `json:"ask"`
	Planned string   `json:"planned"`
	HeightM *float64 `json:"planned_height_m"`

	feature *shoot.Feature
}

// Survey is what the site said to the plan.
type Survey struct {
	Date  string       `json:"date"`
	By    string       `json:"by"`
	Open  int          `json:"lines_open"`
	Diffs []Difference `json:"differences"`
}

// Difference is one thing that is not as planned, not looked at, or not in the plan.
type Difference struct {
	Item     string          `json:"item"`
	State    string          `json:"state"`
	Planned  string          `json:"planned"`
	Found    string          `json:"found"`
	Severity assess.Severity `json:"severity"`
	Slates   []Touch         `json:"slates"` // whose paths come near it as found
	Mend     string          `json:"mend"`
}

// Touch is how near a slate's path comes to a thing as it was found.
type Touch struct {
	Slate     string  `json:"slate"`
	DistanceM float64 `json:"distance_m"` // in space, negative under its top
	Stop      bool    `json:"stop"`       // nearer than the house allows
}

// asks are the questions for each kind of feature, in our own wording.
var asks = map[string]string{
	shoot.Launch: "Level, firm, clear of loose things and people; where the crew stands; nearest wire or tree", shoot.Landing: "Level, firm, free of people, reached on foot",
	shoot.Observer: "Sees the whole path and the sky around; safe to stand; radio works", shoot.Set: "Stands where it is drawn; how many; who keeps them there", shoot.Stunt: "Where and when performers are there; who speaks for them",
	shoot.People: "How many, when, who asks them to keep away", shoot.Building: "Height and outline", shoot.Tree: "Height and spread", shoot.Mast: "Height; stays", shoot.Wire: "Height, sag, further wires beside it",
	shoot.Bridge: "Height above ground; traffic", shoot.Road: "Traffic; who can hold it", shoot.Rail: "Trains; whom to ask", shoot.Water: "Depth, current, who fetches the aircraft", shoot.Home: "Told of the flights; who lives there", shoot.Area: "Still as published; whom to call",
}

// sheet makes the survey sheet from everything that the plan believes of the site.
func sheet(s *shoot.Shoot) (lines []Line) {
	count := map[string]int{}
	features := s.Features()
	for i := range features {
		f := &features[i]
		id := f.Kind + "/" + nameOf(f)
		if count[id]++; count[id] > 1 {
			id = fmt.Sprintf("%s %d", id, count[id])
		}
		line := Line{ID: id, Ask: asks[f.Kind], Planned: planned(s, f), feature: f}
		switch f.Kind {
		case shoot.Building, shoot.Tree, shoot.Mast, shoot.Wire, shoot.Bridge:
			line.HeightM = &f.HeightM
		}
		lines = append(lines, line)
	}
	hospital := orUnknown(s.Site.Hospital)
	return append(lines,
		Line{ID: "site/perimeter", Ask: "Walked all round; wires, masts, trees, fences and people not on the map", Planned: "all drawn"},
		Line{ID: "site/access", Ask: "Way in for an ambulance; gates, keys, who meets it", Planned: Unknown},
		Line{ID: "site/hospital", Ask: "Nearest hospital, way and time", Planned: hospital},
		Line{ID: "site/telephone", Ask: "Telephone works at every launch spot", Planned: Unknown},
		Line{ID: "site/radio", Ask: "Bands free: scan control, telemetry and video before power-up", Planned: bands(s)},
		Line{ID: "site/ground", Ask: "Footing at launch spots; water, mud, dust, loose stones", Planned: Unknown},
		Line{ID: "site/wind", Ask: "Wind read at each launch spot against the forecast; rotor and gusts behind ridges and houses", Planned: "forecast"},
		Line{ID: "site/public", Ask: "Paths, hours and habits of the public; entrances that somebody must watch", Planned: closed(s)},
		Line{ID: "site/permissions", Ask: "Contacts of all permissions reached; anything changed", Planned: fmt.Sprintf("%d in the register", len(s.Permissions))})
}

func bands(s *shoot.Shoot) string {
	var words []string
	seen := map[string]bool{}
	for _, r := range s.Rigs {
		if set := s.Kit().Radio(r.Radio); set != nil {
			for _, l := range set.Links {
				if w := l.Use + " " + l.Frequency.String(); !seen[w] {
					seen[w] = true
					words = append(words, w)
				}
			}
		}
	}
	if len(words) == 0 {
		return Unknown
	}
	return strings.Join(words, ", ")
}

func closed(s *shoot.Shoot) string {
	switch {
	case s.Site.Closed == nil:
		return "whether the site is closed: " + Unknown
	case *s.Site.Closed:
		return "closed: nobody enters who was not told"
	}
	return "open to the public"
}

func planned(s *shoot.Shoot, f *shoot.Feature) string {
	p := placeOf(s, f)
	words := fmt.Sprintf("at %.5f, %.5f", p.Lat, p.Lon)
	switch f.Kind {
	case shoot.Building, shoot.Tree, shoot.Mast, shoot.Wire, shoot.Bridge:
		words = fmt.Sprintf("%.1f m high, ", f.HeightM) + words
	case shoot.People, shoot.Set:
		if f.Count >= 0 {
			words = fmt.Sprintf("%d people, ", f.Count) + words
		} else {
			words = "number unknown, " + words
		}
	case shoot.Area:
		words = f.Status
		if f.Zone != nil {
			words += ", " + f.Zone.Floor.String() + " to " + f.Zone.Ceil.String()
		}
	}
	return words
}

// surveyed holds the sheet against the answers. A line without an answer is open.
func surveyed(a *assess.Assessor, lines []Line) *Survey {
	s := a.Shoot
	v := s.Surveyed()
	if v == nil {
		return nil
	}
	out := &Survey{Date: v.Date.String(), By: v.By}
	answers := map[string]*shoot.Answer{}
	for i := range v.Answers {
		answers[v.Answers[i].Item] = &v.Answers[i]
	}
	known := map[string]bool{}
	for i := range lines {
		l := &lines[i]
		known[l.ID] = true
		x := answers[l.ID]
		if x == nil || x.State == "not checked" {
			out.Open++
			out.Diffs = append(out.Diffs, Difference{Item: l.ID, State: "not checked", Planned: l.Planned, Found: Unknown, Severity: assess.Unknown, Mend: "look at it before the first flight"})
			continue
		}
		if x.State == "as planned" && x.Height == nil && x.At == nil {
			continue
		}
		d := Difference{Item: l.ID, State: x.State, Planned: l.Planned, Found: orUnknown(x.Seen), Severity: assess.Caution, Mend: "mend the plan: change the feature, then check again"}
		var height *float64
		if x.Height != nil {
			h := float64(*x.Height)
			height = &h
			d.Found = fmt.Sprintf("%.1f m high", h)
			if l.HeightM != nil {
				d.Found += fmt.Sprintf(", %+.1f m", h-*l.HeightM)
			}
			if x.Seen != "" {
				d.Found += "; " + x.Seen
			}
		}
		if l.feature != nil && x.State != "not there" {
			found := *l.feature
			if height != nil {
				found.HeightM = *height
			}
			if x.At != nil {
				at, ok := stand(s, *x.At)
				moved := math.Inf(1)
				if ok {
					moved = l.feature.Distance(at)
				}
				d.Found += fmt.Sprintf("; at %s, %.0f m from where it is drawn", x.At, moved)
				found.Shape, found.Places = shoot.Point, []geo.Vec3{at}
			}
			if solid(found.Kind) || found.Kind == shoot.People {
				d.Slates = touches(a, &found)
			}
		}
		out.Diffs = append(out.Diffs, graded(d))
	}
	for i := range v.Answers {
		if id := v.Answers[i].Item; !known[id] {
			out.Diffs = append(out.Diffs, Difference{Item: id, State: "answers no line of the sheet", Found: v.Answers[i].State, Severity: assess.Unknown, Mend: "check the id against the sheet"})
		}
	}
	for _, f := range v.Found {
		at, ok := stand(s, f.At)
		d := Difference{Item: f.Kind + "/" + f.Name, State: "not in the plan", Planned: "nothing", Severity: assess.Caution,
			Found: strings.TrimSuffix(fmt.Sprintf("%s high at %s; %s", f.Height, f.At, f.Note), "; "), Mend: "draw it into the plan, then check again"}
		if !ok {
			d.Severity, d.Found = assess.Unknown, d.Found+"; outside the terrain"
		} else {
			d.Slates = touches(a, &shoot.Feature{Kind: f.Kind, Name: f.Name, Shape: shoot.Point, Places: []geo.Vec3{at}, HeightM: float64(f.Height), SpreadM: float64(f.Spread)})
		}
		out.Diffs = append(out.Diffs, graded(d))
	}
	return out
}

func graded(d Difference) Difference {
	for _, t := range d.Slates {
		if t.Stop {
			d.Severity = assess.Stop
		}
	}
	return d
}

func solid(kind string) bool {
	switch kind {
	case shoot.Building, shoot.Tree, shoot.Mast, shoot.Wire, shoot.Bridge:
		return true
	}
	return false
}

func stand(s *shoot.Shoot, p shoot.Place) (geo.Vec3, bool) {
	at := s.Frame().ToSite(geo.LatLon(p), 0)
	z, ok := s.Ground().HeightAt(at.X, at.Y)
	at.Z = z
	return at, ok
}

// touches finds the slates whose volumes hold the thing, and those that the house's least distances
// then bar.
func touches(a *assess.Assessor, f *shoot.Feature) (all []Touch) {
	house := a.Shoot.House
	for _, t := range a.Takes() {
		v, ok := t.Volumes()
		if !ok {
			continue
		}
		reach, limit := v.GeographyM+v.ContingencyM, float64(house.Clearance)
		switch f.Kind {
		case shoot.Wire:
			limit = math.Max(limit, float64(house.WireClearance))
		case shoot.People:
			reach, limit = reach+v.BufferM, float64(house.PeopleDistance)
		}
		off := float64(house.PositionError)
		if drift := t.MoveNumbers().DriftM; drift != nil && f.Kind != shoot.People { // as the path's own clearances are held
			off += *drift
		}
		reach = math.Max(reach, limit+off)
		top := math.Inf(-1)
		for _, p := range f.Places {
			top = math.Max(top, p.Z+f.HeightM)
		}
		least := math.Inf(1)
		for _, m := range t.Moments(400) {
			d := f.Distance(m.Pos)
			if f.Kind != shoot.People {
				switch up := m.Pos.Z - top; {
				case up > 0:
					d = math.Hypot(d, up)
				case d == 0:
					d = up
				}
			}
			least = math.Min(least, d)
		}
		if least <= reach {
			all = append(all, Touch{t.Slate.Slate, least, least-off < limit})
		}
	}
	return all
}
