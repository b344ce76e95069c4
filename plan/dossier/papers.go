package dossier

import (
	"fmt"
	"math"
	"strings"
	"time"

	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
)

// Activities is the plan of activities as production safety and permitting offices ask for it.
type Activities struct {
	Origin      Place      `json:"origin"`
	Places      []Place    `json:"places"`       // take-off, landing, emergency landing, observers, where people stand
	Obstacles   []Place    `json:"obstructions"` // buildings, trees, masts, wires, bridges
	Airspace    []Area     `json:"airspace"`
	Operations  []Work     `json:"operations"` // what is flown from where, when, how high
	Crew        []Person   `json:"crew"`
	Aircraft    []Aircraft `json:"aircraft"`
	Distances   []Distance `json:"distances"`
	Guidelines  []string   `json:"guidelines_for_the_set"`
	Brief       []string   `json:"safety_brief"`
	Inspection  string     `json:"pre_flight_inspection"`
	Changes     []Change   `json:"changes_agreed"`
	PeoplePerKm *float64   `json:"people_per_km2"`
}

// Area is one area of airspace.
type Area struct {
	Name   string `json:"name"`
	Status string `json:"status"`
	Floor  string `json:"floor"`
	Ceil   string `json:"ceiling"`
	Times  []Span `json:"times"` // none: always
	Source string `json:"source"`
}

// Work is one slate in the plan of activities.
type Work struct {
	Slate     string  `json:"slate"`
	Title     string  `json:"title"`
	Launch    string  `json:"launch"`
	Rig       string  `json:"rig"`
	Windows   []Span  `json:"windows"`
	HighestM  float64 `json:"highest_above_ground_m"`
	FastestMS float64 `json:"top_speed_m_s"`
	FarthestM float64 `json:"farthest_from_launch_m"`
	Barred    bool    `json:"barred"`
}

// Person is one of the crew with papers.
type Person struct {
	Name         string        `json:"name"`
	Roles        []string      `json:"roles"`
	Phone        string        `json:"phone"`
	Certificates []Certificate `json:"certificates"`
}

// Certificate is a paper; State is "valid", "expired" or "unknown" on the last shooting date.
type Certificate struct {
	Title   string `json:"title"`
	Number  string `json:"number"`
	Expires string `json:"expires"`
	State   string `json:"state"`
}

// Aircraft is a rig with its papers.
type Aircraft struct {
	Rig          string  `json:"rig"`
	Airframe     string  `json:"airframe"`
	Registration string  `json:"registration"`
	Insurance    string  `json:"insurance"`
	MassKg       float64 `json:"takeoff_mass_kg"` // heaviest of its slates; 0 where it flies none
	MaxKg        float64 `json:"greatest_mass_kg"`
	SizeM        float64 `json:"size_m"`
	Class        string  `json:"class_label"`
	Parachute    bool    `json:"parachute"`
	Pilot        string  `json:"pilot"`
}

// Distance is how near the flights come to some people, and the rules that speak of it.
type Distance struct {
	To       string   `json:"to"`
	NearestM *float64 `json:"nearest_m"` // null: not known, or nobody there
	Slate    string   `json:"slate"`     // that comes nearest
	Note     string   `json:"note"`
	Limits   []Limit  `json:"limits"`
}

// Limit is a rule on a distance with its worst outcome over the slates.
type Limit struct {
	Profile string `json:"profile"`
	Rule    string `json:"rule"`
	Limit   string `json:"limit"`
	Outcome string `json:"outcome"`
	Slate   string `json:"slate"`
	Basis   string `json:"basis"`
}

// Change is something agreed after issue.
type Change struct {
	Date string `json:"date"`
	What string `json:"what"`
	With string `json:"with"`
}

func activities(a *assess.Assessor, c *check.Check) Activities {
	s := a.Shoot
	origin := s.Frame().Origin()
	z, ok := s.Ground().HeightAt(0, 0)
	p := Activities{Origin: Place{Kind: "origin", Name: s.Site.Name, Lat: origin.Lat.Deg(), Lon: origin.Lon.Deg(), AboveSeaM: z, HeightKnow: ok},
		Inspection: "by the checklists of this case: rig build and balance, before the first take-off of a sortie, before each take, after landing, packs"}
	if d := float64(s.Site.People); d > 0 {
		perKm := d * 1e6
		p.PeoplePerKm = &perKm
	}
	features := s.Features()
	for _, kinds := range [][]string{{shoot.Launch, shoot.Landing, shoot.Observer, shoot.Set, shoot.Stunt, shoot.People}, {shoot.Building, shoot.Tree, shoot.Mast, shoot.Wire, shoot.Bridge}} {
		for _, kind := range kinds {
			for i := range features {
				if features[i].Kind != kind {
					continue
				}
				if at := placeOf(s, &features[i]); kinds[0] == shoot.Launch {
					p.Places = append(p.Places, at)
				} else {
					p.Obstacles = append(p.Obstacles, at)
				}
			}
		}
	}
	for _, f := range s.Areas() {
		area := Area{Name: nameOf(f), Status: f.Status, Source: f.Source}
		if f.Zone != nil {
			area.Floor, area.Ceil = f.Zone.Floor.String(), f.Zone.Ceil.String()
			for _, v := range f.Zone.Valid {
				area.Times = append(area.Times, Span{v.From.In(s.Location()), v.To.In(s.Location())})
			}
		}
		p.Airspace = append(p.Airspace, area)
	}
	for i := range c.Slates {
		x := &c.Slates[i]
		w := Work{Slate: x.Slate, Title: x.Title, Launch: x.Launch, Rig: x.Rig, HighestM: x.Numbers.Move.HighestM, FastestMS: x.Numbers.Move.TopSpeedMS, FarthestM: x.Numbers.Move.FarthestM, Barred: x.Barred}
		for _, win := range x.Windows {
			w.Windows = append(w.Windows, Span{win.From, win.To})
		}
		p.Operations = append(p.Operations, w)
	}
	last := s.Dates[len(s.Dates)-1]
	for _, who := range s.Crew {
		person := Person{Name: who.Name, Roles: who.Roles, Phone: orUnknown(who.Phone)}
		for _, k := range who.Certificates {
			cert := Certificate{Title: k.Title, Number: orUnknown(k.Number), Expires: Unknown, State: Unknown}
			if k.Expires != nil {
				cert.Expires, cert.State = k.Expires.String(), "valid"
				if k.Expires.Before(last) {
					cert.State = "expired"
				}
			}
			person.Certificates = append(person.Certificates, cert)
		}
		p.Crew = append(p.Crew, person)
	}
	for i := range s.Rigs {
		r := &s.Rigs[i]
		f := s.Kit().Airframe(r.Airframe)
		craft := Aircraft{Rig: r.Name, Airframe: r.Airframe, Registration: orUnknown(r.Mark), Insurance: orUnknown(r.Insurance), MaxKg: float64(f.MaxTakeoff), SizeM: float64(f.Size),
			Class: orUnknown(f.Class), Parachute: f.Parachute, Pilot: r.Pilot}
		for _, x := range c.Slates {
			if x.Rig == r.Name {
				craft.MassKg = math.Max(craft.MassKg, a.Take(x.Slate).MassKg())
			}
		}
		p.Aircraft = append(p.Aircraft, craft)
	}
	p.Distances = distances(a, c)
	p.Guidelines = guidelines(s)
	p.Brief = brief(s)
	for _, x := range s.Changes {
		p.Changes = append(p.Changes, Change{x.Date.String(), x.What, orUnknown(x.With)})
	}
	return p
}

// distances gathers how near the slates come to people, and from every profile the rules on it with
// the worst that the slates make of them.
func distances(a *assess.Assessor, c *check.Check) []Distance {
	all := []Distance{
		{To: "people who take no part (level)", Note: "none entered: unknown"},
		{To: "cast and crew (where the set's people stand)", Note: "no place entered: unknown"},
		{To: "stunt performers", Note: "no place entered: unknown"},
		{To: "assemblies of people", Note: "not measured: unknown"},
		{To: "built-up areas", Note: "not measured: unknown"},
	}
	words := []string{"distance to uninvolved", "distance to crew", "distance to performers", "distance to assembly", "distance to built up"}
	if stunts := a.Shoot.Stunts; stunts != nil && !*stunts {
		all[2].Note = "none take part"
	}
	rank := map[string]int{"broken": 4, Unknown: 3, "permitted": 2, "met": 1, "not applicable": 0}
	at := map[string]int{}
	for i := range c.Slates {
		x := &c.Slates[i]
		for k, v := range []*float64{x.Numbers.Safety.PeopleM, x.Numbers.Safety.SetM, x.Numbers.Safety.StuntM} {
			if v != nil && (all[k].NearestM == nil || *v < *all[k].NearestM) {
				all[k].NearestM, all[k].Slate, all[k].Note = v, x.Slate, ""
			}
		}
		for _, r := range a.Take(x.Slate).Rules(x.At) {
			for k, word := range words {
				if !strings.Contains(r.Limit, word) {
					continue
				}
				l := Limit{r.Profile, r.What, r.Limit, r.Outcome.String(), x.Slate, r.Basis}
				key := fmt.Sprint(k, "/", r.Profile, "/", r.Rule)
				n, known := at[key]
				if !known {
					at[key] = len(all[k].Limits)
					all[k].Limits = append(all[k].Limits, l)
				} else if rank[l.Outcome] > rank[all[k].Limits[n].Outcome] {
					all[k].Limits[n] = l
				}
			}
		}
	}
	return all
}

// guidelines for the set, in our own wording (common practice, no source).
func guidelines(s *shoot.Shoot) []string {
	lines := []string{
		"Nobody but the flying crew enters a take-off or landing place while rotors may turn.",
		"Nobody walks under the aircraft or between it and its pilot.",
		"Nobody speaks to the pilot in flight; the lead speaks for the flying crew.",
		"One voice gives the cue; any voice may call abort, and then everybody stands still where they are.",
		"The pilot's no is final.",
	}
	if d := s.House.PeopleDistance; d > 0 {
		lines = append(lines, fmt.Sprintf("People who take no part stay %s or more away from the path, measured level.", d))
	} else {
		lines = append(lines, "How far people who take no part must stay away: unknown; add people_distance: to house:.")
	}
	if d := s.House.SubjectDistance; d > 0 {
		lines = append(lines, fmt.Sprintf("The aircraft stays %s or more from a moving subject.", d))
	}
	var stands []string
	for _, f := range s.Features() {
		if f.Kind == shoot.Set {
			stands = append(stands, nameOf(&f))
		}
	}
	if len(stands) > 0 {
		lines = append(lines, "Who is not in the shot waits at "+strings.Join(stands, ", ")+".")
	} else {
		lines = append(lines, "Where the set's people wait: unknown; mark it with kind set.")
	}
	return lines
}

// brief is what is told to everybody before the first flight (common practice, no source).
func brief(s *shoot.Shoot) []string {
	return []string{
		"What is flown today, from where, how high and how near; the map goes round.",
		"Who flies, who frames, who watches, who keeps the set; who may call abort: everybody.",
		"Where to stand, and where never to stand.",
		"What happens when the link is lost, when the aircraft comes down, when a pack burns.",
		"Ambulance: who calls, where it drives in; nearest hospital: " + orUnknown(s.Site.Hospital) + ".",
		"Questions, and whether anybody is unwell or unwilling.",
	}
}

// Permission is one line of the permission register.
type Permission struct {
	What      string   `json:"what"`
	From      string   `json:"from"`
	Reference string   `json:"reference"`
	Status    string   `json:"status"`
	Starts    string   `json:"starts"`
	Ends      string   `json:"ends"`
	Area      string   `json:"area"`
	Covers    []string `json:"covers"`
	Contact   string   `json:"contact"`
	Document  string   `json:"document"`
	SHA256    string   `json:"sha256"`
	AskBy     string   `json:"ask_by"` // last day on which the lead time still holds; "" where none was entered
	Findings  []string `json:"findings"`
}

// register holds every permission against the dates, and against the times and places of the slates.
func register(a *assess.Assessor, c *check.Check) (all []Permission) {
	s := a.Shoot
	for i := range s.Permissions {
		p := &s.Permissions[i]
		row := Permission{What: p.What, From: orUnknown(p.From), Reference: orUnknown(p.Reference), Status: orUnknown(p.Status), Starts: Unknown, Ends: Unknown,
			Area: p.Area, Covers: p.Covers, Contact: orUnknown(p.Contact), Document: orUnknown(p.Document), SHA256: p.Digest()}
		note := func(format string, args ...any) { row.Findings = append(row.Findings, fmt.Sprintf(format, args...)) }
		if p.Area == "" {
			row.Area = "no area named"
		}
		if p.Starts != nil {
			row.Starts = p.Starts.String()
		}
		if p.Ends != nil {
			row.Ends = p.Ends.String()
		}
		if p.LeadDays > 0 {
			first := s.Dates[0]
			row.AskBy = time.Date(first.Year, first.Month, first.Day-p.LeadDays, 12, 0, 0, 0, time.UTC).Format("2006-01-02")
			if p.Status != "granted" && p.Status != "refused" {
				note("ask by %s: %d days ahead of %s", row.AskBy, p.LeadDays, first)
			}
		}
		switch {
		case p.Status == "refused":
			note("refused: nothing that leans on it may be flown")
		case p.Status != "granted":
			note("not granted")
		}
		if p.Changed() {
			note("the document is not the one whose digest was noted: read it again")
		}
		if p.Status == "granted" && p.Document == "" {
			note("no document entered")
		}
		if p.Starts == nil || p.Ends == nil {
			note("times unknown: taken to hold without end on that side")
		}
		for j := range c.Slates {
			x := &c.Slates[j]
			t := a.Take(x.Slate)
			if p.Area != "" && t.Unsolved == nil && !t.Inside(p) {
				note("slate %s leaves %s", x.Slate, p.Area)
			}
			if p.Status != "granted" {
				continue
			}
			for _, w := range litOutside(t, s, p) {
				note("slate %s has its light on %s to %s, outside its times", x.Slate, w.From.Format("2006-01-02 15:04"), w.To.Format("15:04"))
			}
		}
		all = append(all, row)
	}
	return all
}

// litOutside finds the hours, in steps of ten minutes, at which a slate has its light and the permission does
// not hold.
func litOutside(t *assess.Take, s *shoot.Shoot, p *shoot.Permission) (spans []Span) {
	const step = 10 * time.Minute
	for _, d := range s.Dates {
		end := d.Next().Midnight(s.Location())
		open := false
		for at := d.Midnight(s.Location()); at.Before(end); at = at.Add(step) {
			outside := !p.Valid(at, at.Add(step), s.Location()) && t.Dark(at) == 0
			switch {
			case outside && !open:
				spans = append(spans, Span{at, at.Add(step)})
			case outside:
				spans[len(spans)-1].To = at.Add(step)
			}
			open = outside
		}
	}
	return spans
}

// Emergency is what to do and whom to call when it goes wrong.
type Emergency struct {
	Hospital   string      `json:"hospital"`
	Calls      []Call      `json:"calls"`
	FlyAway    []string    `json:"fly_away"`
	Fire       []string    `json:"fire"`
	Accident   []string    `json:"accident"`
	Procedures []Procedure `json:"procedures"`
	Packs      []PackLoad  `json:"packs"`
}

// Call is a number to call.
type Call struct {
	Who   string `json:"who"`
	Phone string `json:"phone"`
	Why   string `json:"why"`
}

// Procedure is what the crew does in one emergency.
type Procedure struct {
	What  string   `json:"what"`
	Steps []string `json:"steps"`
}

// PackLoad is how much energy, and so how much fire, a set of packs holds.
type PackLoad struct {
	Name string  `json:"name"`
	Wh   float64 `json:"wh"`
}

// emergency is in our own wording (common practice, no source); numbers are those of the slates.
func emergency(a *assess.Assessor, d *Case) Emergency {
	s := a.Shoot
	e := Emergency{Hospital: orUnknown(s.Site.Hospital)}
	for _, c := range s.Contacts {
		e.Calls = append(e.Calls, Call{c.Who, orUnknown(c.Phone), orUnknown(c.Why)})
	}
	for _, p := range s.Permissions {
		if p.Contact != "" {
			e.Calls = append(e.Calls, Call{orUnknown(p.From), p.Contact, "permission: " + p.What})
		}
	}
	if len(s.Contacts) == 0 {
		e.Calls = append(e.Calls, Call{"nobody entered", Unknown, "add contacts: rescue, air traffic, land owner, production"})
	}
	reach, lasts, unknown := 0.0, 0.0, ""
	for _, x := range d.Slates {
		reach, lasts = math.Max(reach, x.FlyAway.ReachM), math.Max(lasts, x.FlyAway.DurationS)
		if x.FlyAway.Unknown != "" {
			unknown = x.FlyAway.Unknown
		}
	}
	far := fmt.Sprintf("It can go on for up to %.0f min and reach %.1f km, downwind first: tell air traffic that circle.", math.Ceil(lasts/60), reach/1000)
	if reach == 0 || unknown != "" {
		far = "How far it can go: " + Unknown + " (" + orUnknown(unknown) + ")."
		if reach > 0 {
			far += fmt.Sprintf(" On the slates for which it is known: up to %.1f km.", reach/1000)
		}
	}
	e.FlyAway = []string{
		"Say it aloud: the aircraft does not answer. Everybody looks up and keeps it in sight; somebody notes time, heading and height.",
		"Command the return; then stop, then descend; then switch the transmitter off and on once, if the manual says so.",
		far,
		"Call, in this order, whoever is on the list of calls for air traffic, rescue and the land owner; say what, where, heading, height, energy left.",
		"Nobody drives or runs after it with their eyes on the sky.",
	}
	e.Fire = []string{
		"A pack that swells, smokes or hisses: away from it, upwind, and call.",
		"Only with a way out behind you: sand or a fire blanket on it, water to cool what is around it. Smoke is poison.",
		"After a crash wait until it stops; a pack can catch fire an hour later. Move it in the steel box, outdoors.",
		"Never charge, carry or fly a pack that fell, swelled or was wet.",
	}
	e.Accident = []string{
		"Disarm. Look to the hurt first; call the ambulance; somebody meets it at the way in.",
		"Nothing is moved that does not have to be; photograph it; keep cards and logs.",
		"Tell the production and, where the law asks for it, the authority.",
	}
	e.Procedures = []Procedure{
		{"Control link lost", lostLinkSteps(d)},
		{"Picture lost", []string{"Say it aloud. The pilot flies by eye, stops, climbs to the lost-link height and comes home; the take is over."}},
		{"Person or vehicle enters", []string{"Abort. Stop, climb on the spot, hold until it is clear, or land at the nearest spot on the other side."}},
		{"Other aircraft near", []string{"Descend at once and land; look out for it all the while; it has the right of way."}},
		{"Energy lower than planned", []string{"The take is over. Home if the plan's reserve is there, else the nearest landing spot of the slate's list."}},
		{"One rotor or motor fails", []string{"Say it aloud so that everybody looks up. Land straight ahead away from people; see the slate's finding on what the airframe can hold."}},
		{"Sight lost", []string{"Stop. Climb on the spot until somebody sees it; with no sight after ten seconds, command the return."}},
	}
	for i := range s.Packs {
		p := &s.Packs[i]
		m := s.Kit().Pack(p.Model)
		e.Packs = append(e.Packs, PackLoad{p.Name, float64(m.Capacity) * float64(m.Voltage) / 3600})
	}
	return e
}

func lostLinkSteps(d *Case) []string {
	steps := []string{"Say it aloud. Hands off; the aircraft comes home by itself at the height set for the slate."}
	for _, x := range d.Slates {
		if x.LostLink == nil {
			steps = append(steps, "Slate "+x.Slate+": height "+Unknown+".")
		} else {
			steps = append(steps, fmt.Sprintf("Slate %s: %s; least clearance on the way %.0f m.", x.Slate, x.LostLink.Action, x.LostLink.ClearanceM))
		}
	}
	return append(steps, "Clear the landing place. When the link is back the pilot says so before touching a stick.")
}

func whole(v float64) string { return fmt.Sprintf("%.0f", math.Ceil(v)) }
