// Package check holds the answer to the crew's first question of a shoot: which slates can be
// had, when, and what stands in the way. It is the one result that command line, page,
// book and day all look at.
//
// Units: as in package assess. Source: packages assess and window; no number is made here.
// Validity: that of the shoot's dates. Not modelled: whether crew and packs are free (package call).
package check

import (
	"context"
	"time"

	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
	"fieldfare/plan/window"
)

// Check is the state of a whole shoot.
type Check struct {
	Title    string         `json:"title"`
	Site     string         `json:"site"`
	Zone     string         `json:"zone"`
	Dates    []string       `json:"dates"`
	Slates   []Slate        `json:"slates"`
	Counts   map[string]int `json:"counts"` // findings by severity
	Cautions []string       `json:"cautions"`
}

// Slate is one shot's state. Numbers and Findings are of the instant At: the best moment of its
// windows, or noon of the first day where it has none.
type Slate struct {
	Slate    string           `json:"slate"`
	Title    string           `json:"title"`
	Wish     string           `json:"wish"`
	Priority string           `json:"priority"`
	Rig      string           `json:"rig"`
	Lens     string           `json:"lens"`
	Launch   string           `json:"launch"`
	Light    []string         `json:"light"`
	At       time.Time        `json:"at"`
	Numbers  assess.Numbers   `json:"numbers"`
	Findings []assess.Finding `json:"findings"`
	Windows  []window.Window  `json:"windows"` // empty for a slate that is barred
	Barred   bool             `json:"barred"`  // a stop that no hour changes
	LightOK  []window.Window  `json:"light_windows"`
	Never    []string         `json:"never"`  // gates shut throughout
	Mostly   []window.Shut    `json:"mostly"` // gates shut at times, with minutes
}

// Safety stands on every output that could be acted on.
const Safety = "Planning aid only. It does not replace the law where you fly, the permission you hold, the aircraft's manual, or the judgement of a licensed pilot. Check every limit on the day. Unknown is never safe."

// Run checks every slate over the shooting dates, on every core.
func Run(ctx context.Context, a *assess.Assessor) (*Check, error) { return Renew(ctx, a, nil, nil) }

// Renew checks like Run, and takes over the slates in kept, whose answers cannot have changed,
// from an earlier check (package assess says which those are).
func Renew(ctx context.Context, a *assess.Assessor, was *Check, kept map[string]bool) (*Check, error) {
	before := map[string]Slate{}
	if was != nil {
		for _, x := range was.Slates {
			before[x.Slate] = x
		}
	}
	s := a.Shoot
	c := &Check{Title: s.Title, Site: s.Site.Name, Zone: s.Zone, Counts: map[string]int{"stop": 0, "caution": 0, "unknown": 0, "note": 0}}
	for _, d := range s.Dates {
		c.Dates = append(c.Dates, d.String())
	}
	takes := a.Takes()
	c.Slates = make([]Slate, len(takes))
	if err := assess.Each(ctx, len(takes), func(i int) (err error) {
		if x, ok := before[takes[i].Slate.Slate]; ok && kept[x.Slate] {
			c.Slates[i] = x
			return nil
		}
		c.Slates[i], err = One(ctx, s, takes[i])
		return err
	}); err != nil {
		return nil, err
	}
	for _, x := range c.Slates {
		for _, f := range x.Findings {
			c.Counts[string(f.Severity)]++
		}
	}
	c.Cautions = cautions(s)
	return c, nil
}

// One checks a single slate.
func One(ctx context.Context, s *shoot.Shoot, t *assess.Take) (Slate, error) {
	x := Slate{Slate: t.Slate.Slate, Title: t.Slate.Title, Wish: t.Slate.Wish, Priority: priority(t.Slate), Rig: t.Rig.Name,
		Lens: t.Slate.Lens, Launch: t.Slate.Launch, Light: t.Slate.Light, Windows: []window.Window{}, LightOK: []window.Window{}}
	closed := map[string]int{}
	for _, d := range s.Dates {
		found, err := window.Find(ctx, t, d.Midnight(s.Location()), d.Next().Midnight(s.Location()))
		if err != nil {
			return x, err
		}
		x.LightOK = append(x.LightOK, found.Windows...)
		for _, name := range found.Never {
			if closed[name]++; closed[name] == len(s.Dates) {
				x.Never = append(x.Never, name)
			}
		}
		x.Mostly = append(x.Mostly, found.Mostly...)
	}
	x.Mostly = merge(x.Mostly)
	x.Barred = len(t.Barred()) > 0
	if !x.Barred {
		x.Windows = x.LightOK
	}
	x.At = Best(x.LightOK)
	if x.At.IsZero() {
		x.At = s.Dates[0].Midnight(s.Location()).Add(12 * time.Hour)
	}
	a := t.At(x.At)
	x.Numbers, x.Findings = a.Numbers, a.Findings
	return x, nil
}

func merge(all []window.Shut) (merged []window.Shut) {
	at := map[string]int{}
	for _, m := range all {
		if i, ok := at[m.Gate]; ok {
			merged[i].Minutes += m.Minutes
			continue
		}
		at[m.Gate] = len(merged)
		merged = append(merged, m)
	}
	return merged
}

// Best returns the first moment of best light over the windows, the zero time for none.
func Best(windows []window.Window) (at time.Time) {
	best := -1.0
	for _, w := range windows {
		for _, q := range w.Quality {
			if q.Good > best+1e-9 && q.At.Before(w.To) {
				best, at = q.Good, q.At
			}
		}
	}
	return at
}

func priority(x *shoot.Slate) string {
	if x.Priority == "" {
		return "should"
	}
	return x.Priority
}

// The hours of a date over which weather should be known: those in which package call lets work begin and end.
var (
	dayFrom  = shoot.Clock{Hour: 4}
	dayUntil = shoot.Clock{Hour: 23}
)

// cautions are those of the whole shoot.
func cautions(s *shoot.Shoot) []string {
	all := []string{Safety}
	d := s.Datum()
	if !d.Stated {
		all = append(all, "Terrain heights: vertical datum "+d.Name+"; "+d.Note+".")
	}
	if s.Site.Hospital == "" {
		all = append(all, "Nearest hospital: unknown. Enter hospital: under site:.")
	}
	if len(s.Weather().Periods) == 0 {
		all = append(all, "Weather: unknown. No forecast is entered.")
	}
	for _, gap := range s.Uncovered(dayFrom, dayUntil) {
		all = append(all, "Weather: "+gap+".")
	}
	if s.Site.GroundCover == "" {
		all = append(all, "Ground cover: unknown, open ground assumed for wind at height.")
	}
	for _, p := range s.Permissions {
		if p.Status != "granted" {
			status := p.Status
			if status == "" {
				status = "unknown"
			}
			all = append(all, "Permission "+status+": "+p.What+".")
		}
		if p.Status == "granted" && (p.Starts == nil || p.Ends == nil) {
			all = append(all, "Permission "+p.What+": its times are unknown; it is taken to hold without end on that side.")
		}
		if p.Changed() {
			all = append(all, "Permission "+p.What+": its document is not the one whose digest was noted; read it again.")
		}
	}
	for _, p := range s.Profiles() {
		all = append(all, "Rules "+p.ID+" (read "+p.Read+"): "+p.Confirm)
	}
	return all
}
