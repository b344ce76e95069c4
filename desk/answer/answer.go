// Package answer writes the feasibility answer that a production wants before it books anything:
// which shots can be had as asked, which not and what would make them so, the best dates and
// hours, the days and weather days to plan, crew, kit and permissions, and what all of it rests on.
//
// Units: minutes and instants in the site's zone; shares from 0 to 1.
// Source: packages check, window, call and dossier for every number. Weather days are the binomial
// distribution's: the fewest spare days with which the days needed come together in nine jobs of ten,
// if days are lost independently with the share that the user expects (any textbook of probability).
// Validity: the light over the dates asked for; a forecast only on the dates that it covers.
//
// Not modelled: climate. Without the user's own share of lost days, weather days are unknown; spells of
// bad weather last longer than independent days, so the number is a least one.
package answer

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"time"

	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/dossier"
	"fieldfare/plan/shoot"
	"fieldfare/plan/window"
)

// Verdict says whether a shot can be had.
type Verdict string

// The verdicts.
const (
	Yes     Verdict = "as asked"
	Changed Verdict = "with a change"
	Another Verdict = "not on these dates"
	No      Verdict = "not as asked"
)

// Answer is the whole answer.
type Answer struct {
	Title      string   `json:"title"`
	Production string   `json:"production"`
	Site       string   `json:"site"`
	Zone       string   `json:"zone"`
	Dates      []string `json:"dates"`
	From       string   `json:"light_from"` // dates over which light was searched
	To         string   `json:"light_to"`

	Slates      []Slate              `json:"slates"`
	BestDates   []Date               `json:"best_dates"` // best first
	Days        int                  `json:"days_needed"`
	DaysWhy     string               `json:"days_basis"`
	WeatherDays *int                 `json:"weather_days"` // null: unknown
	WeatherWhy  string               `json:"weather_basis"`
	Crew        []string             `json:"crew"`
	Kit         []string             `json:"kit"`
	Permissions []dossier.Permission `json:"permissions"`
	Rests       []string             `json:"rests_on"`
	Caution     string               `json:"caution"`
}

// Slate is the answer for one shot.
type Slate struct {
	Slate    string   `json:"slate"`
	Title    string   `json:"title"`
	Priority string   `json:"priority"`
	Verdict  Verdict  `json:"verdict"`
	Why      []string `json:"why"`
	Mend     []string `json:"what_would_make_it_so"`
	Unknown  int      `json:"unknowns"` // limits that could not be checked
	Planned  string   `json:"planned"`  // when the day has it; empty: nowhere
	Best     []Light  `json:"best_light"`
}

// Light is a span of a slate's light on a day.
type Light struct {
	Date    string  `json:"date"`
	From    string  `json:"from"`
	To      string  `json:"to"`
	Minutes int     `json:"minutes"`
	Good    float64 `json:"light_quality"`
}

// Date is a day with what of the shoot has light on it.
type Date struct {
	Date    string   `json:"date"`
	Must    int      `json:"must_have_light"`
	All     int      `json:"slates_with_light"`
	Minutes int      `json:"shortest_must_minutes"` // light of the must-have slate that has least
	Without []string `json:"without_light"`
}

// Options say over which dates light is searched and what weather is expected.
type Options struct {
	From, To shoot.Date
	Lost     float64 // share of days lost to weather; below 0: unknown
	Progress func(slate string, done, all int)
}

// Compose works out the answer. It covers the assessor's almanac with the dates asked for, and
// stops early when ctx ends.
func Compose(ctx context.Context, a *assess.Assessor, c *check.Check, sheet *call.Sheet, d *dossier.Case, o Options) (*Answer, error) {
	s := a.Shoot
	first, last := s.Dates[0], s.Dates[len(s.Dates)-1]
	if o.To.Before(o.From) {
		return nil, fmt.Errorf("the last date %s lies before the first, %s; swap them", o.To, o.From)
	}
	if first.Before(o.From) {
		o.From = first
	}
	if o.To.Before(last) {
		o.To = last
	}
	if err := a.Cover(o.From, o.To); err != nil {
		return nil, err
	}
	out := &Answer{Title: s.Title, Production: s.Production, Site: s.Site.Name, Zone: s.Zone, Dates: c.Dates, From: o.From.String(), To: o.To.String(),
		Permissions: d.Register, Caution: check.Safety}
	light := map[string][]window.LightDay{}
	for i := range c.Slates {
		x := &c.Slates[i]
		var progress func(int, int)
		if o.Progress != nil {
			progress = func(done, all int) { o.Progress(x.Slate, done, all) }
		}
		days, err := window.Season(ctx, a.Take(x.Slate), o.From, o.To, progress)
		if err != nil {
			return nil, err
		}
		light[x.Slate] = days
		out.Slates = append(out.Slates, judge(a, x, sheet, days))
	}
	out.dates(c, light)
	out.days(sheet, o.Lost)
	out.needs(s, c)
	out.rests(s, c, out.Slates)
	return out, nil
}

// judge weighs one slate.
func judge(a *assess.Assessor, x *check.Slate, sheet *call.Sheet, days []window.LightDay) Slate {
	out := Slate{Slate: x.Slate, Title: x.Title, Priority: x.Priority, Why: []string{}, Mend: []string{}, Best: []Light{}}
	t := a.Take(x.Slate)
	add := func(list *[]string, text string) {
		if text != "" && !slices.Contains(*list, text) {
			*list = append(*list, text)
		}
	}
	for _, f := range x.Findings {
		if f.Severity == assess.Unknown {
			out.Unknown++
		}
	}
	for _, day := range sheet.Days {
		for _, sortie := range day.Sorties {
			for _, shot := range sortie.Slates {
				if shot.Slate == x.Slate {
					out.Planned = shot.Start.Format("Mon 2 Jan 15:04")
				}
			}
		}
	}
	switch {
	case x.Barred || t.Unsolved != nil:
		out.Verdict = No
		for _, f := range x.Findings {
			if f.Severity == assess.Stop {
				why := f.What + " " + f.Value
				if f.Limit != "" {
					why += ", limit " + f.Limit
				}
				add(&out.Why, why)
				add(&out.Mend, f.Mend)
			}
		}
	case len(x.Windows) == 0:
		out.Verdict = Another
		for _, n := range x.Never {
			add(&out.Why, "never right on these dates: "+n)
		}
		if len(x.Never) == 0 {
			var gates []string
			for _, m := range x.Mostly {
				gates = append(gates, m.Gate)
			}
			add(&out.Why, "never right at once: "+strings.Join(gates, ", "))
		}
		add(&out.Mend, "shoot it on one of the dates with its light, or ask for another light")
	default:
		out.Verdict = Yes
		for _, b := range t.Bounds {
			if b.Kept {
				out.Verdict = Changed
				add(&out.Why, b.String())
			}
		}
		if out.Verdict == Changed {
			add(&out.Mend, "agree the change with the director")
		}
		for _, l := range sheet.LeftOut {
			if l.Slate == x.Slate {
				add(&out.Why, "not in the day: "+l.Reason)
				for _, r := range l.Relaxations {
					add(&out.Mend, r)
				}
			}
		}
	}
	for _, d := range window.Rank(days) {
		if d.Minutes == 0 || len(out.Best) == bestSpans {
			break
		}
		w := longest(d.Windows)
		out.Best = append(out.Best, Light{d.Date, w.From.Format("15:04"), w.To.Format("15:04"), int(w.To.Sub(w.From) / time.Minute), d.Best})
	}
	return out
}

// bestSpans are listed for each slate.
const bestSpans = 3

func longest(all []window.Window) (best window.Window) {
	for _, w := range all {
		if w.To.Sub(w.From) > best.To.Sub(best.From) {
			best = w
		}
	}
	return best
}

// dates ranks days by the must-have slates that have light, then by all, then by the least light of a
// must-have slate, then by the calendar.
func (out *Answer) dates(c *check.Check, light map[string][]window.LightDay) {
	if len(c.Slates) == 0 {
		return
	}
	var all []Date
	for i, first := range light[c.Slates[0].Slate] {
		d := Date{Date: first.Date, Minutes: math.MaxInt32, Without: []string{}}
		for _, x := range c.Slates {
			day := light[x.Slate][i]
			if day.Minutes == 0 {
				d.Without = append(d.Without, x.Slate)
				if x.Priority == "must" {
					d.Minutes = 0
				}
				continue
			}
			d.All++
			if x.Priority == "must" {
				d.Must++
				d.Minutes = min(d.Minutes, day.Minutes)
			}
		}
		if d.Minutes == math.MaxInt32 {
			d.Minutes = 0
		}
		all = append(all, d)
	}
	sort.SliceStable(all, func(i, j int) bool {
		a, b := all[i], all[j]
		if a.Must != b.Must {
			return a.Must > b.Must
		}
		if a.All != b.All {
			return a.All > b.All
		}
		return a.Minutes > b.Minutes
	})
	out.BestDates = all[:min(len(all), 10)]
}

// days counts those that the plan uses and the spare ones for weather.
func (out *Answer) days(sheet *call.Sheet, lost float64) {
	left := 0
	for _, d := range sheet.Days {
		if len(d.Sorties) > 0 {
			out.Days++
		}
	}
	for _, l := range sheet.LeftOut {
		if l.Priority == "must" {
			left++
		}
	}
	out.DaysWhy = fmt.Sprintf("days with sorties in the plan for %s; slates left out: %d", strings.Join(out.Dates, ", "), len(sheet.LeftOut))
	if left > 0 {
		out.DaysWhy += fmt.Sprintf(", %d of them must-have: the days are not enough as they stand", left)
	}
	if out.Days == 0 {
		out.WeatherWhy = "unknown: no day can be planned yet"
		return
	}
	out.WeatherWhy = "unknown: give the share of days that weather costs at this place and season (--lost), from the season's records"
	if n, ok := WeatherDays(out.Days, lost); ok {
		out.WeatherDays = &n
		out.WeatherWhy = fmt.Sprintf("with %.0f %% of days lost, each independently, %d spare days bring %d good days together in nine jobs of ten; spells of bad weather last longer, so it is a least number", 100*lost, n, out.Days)
	}
}

// sure is the chance with which the days come together.
const sure = 0.9

// WeatherDays returns the fewest spare days k for which, of days+k days each lost independently with the
// given chance, at least days are good with a chance of 0.9. ok is false for a chance outside 0 to 0.9.
func WeatherDays(days int, lost float64) (spare int, ok bool) {
	if !(lost >= 0 && lost <= 0.9) || days < 0 || days > 1000 {
		return 0, false
	}
	// The day on which the last good day falls follows the negative binomial distribution.
	term := math.Pow(1-lost, float64(days)) // no day lost
	sum := term
	for sum < sure && spare < 100_000 {
		spare++
		term *= lost * float64(days+spare-1) / float64(spare)
		sum += term
	}
	return spare, true
}

// needs lists crew and kit of the slates.
func (out *Answer) needs(s *shoot.Shoot, c *check.Check) {
	put := func(list *[]string, text string) {
		if text != "" && !slices.Contains(*list, text) {
			*list = append(*list, text)
		}
	}
	roles := map[string]string{}
	for i := range c.Slates {
		rig := s.Rig(c.Slates[i].Rig)
		roles[rig.Pilot] = "pilot"
		if rig.Operator != "" && roles[rig.Operator] == "" {
			roles[rig.Operator] = "camera operator"
		}
	}
	for _, p := range s.Crew {
		role := roles[p.Name]
		if role == "" {
			role = strings.Join(p.Roles, ", ")
		}
		out.Crew = append(out.Crew, p.Name+": "+role)
	}
	for i := range c.Slates {
		x := &c.Slates[i]
		rig := s.Rig(x.Rig)
		put(&out.Kit, fmt.Sprintf("rig %s: %s, %s, %s", rig.Name, rig.Airframe, word(rig.Gimbal), word(rig.Camera)))
	}
	var lenses, filters []string
	for i := range c.Slates {
		put(&lenses, c.Slates[i].Lens)
		if card := c.Slates[i].Numbers.Picture.Card; card != nil {
			for _, f := range card.Filters {
				put(&filters, f)
			}
		}
	}
	put(&out.Kit, "lenses: "+word(strings.Join(lenses, ", ")))
	put(&out.Kit, "filters that the cards ask for: "+word(strings.Join(filters, ", ")))
	models := map[string]int{}
	var order []string
	for _, p := range s.Packs {
		if models[p.Model] == 0 {
			order = append(order, p.Model)
		}
		models[p.Model]++
	}
	for _, m := range order {
		put(&out.Kit, fmt.Sprintf("%d packs %s", models[m], m))
	}
	put(&out.Kit, "chargers: "+word(strings.Join(s.Charging.Chargers, ", ")))
	if s.Charging.Supply > 0 {
		put(&out.Kit, fmt.Sprintf("supply: %.0f W, %s", float64(s.Charging.Supply), word(s.Charging.Source)))
	} else {
		put(&out.Kit, "supply: unknown")
	}
}

func word(s string) string {
	if s == "" {
		return "unknown"
	}
	return s
}

// rests says what the answer stands on.
func (out *Answer) rests(s *shoot.Shoot, c *check.Check, slates []Slate) {
	add := func(format string, v ...any) { out.Rests = append(out.Rests, fmt.Sprintf(format, v...)) }
	add("Light: sun, moon and terrain from %s to %s; cloud, haze, trees and buildings are not in it.", out.From, out.To)
	if n := len(s.Weather().Periods); n == 0 {
		add("Weather: unknown. No forecast is entered.")
	} else {
		add("Weather on the shooting dates: %s. Beyond them only the light was looked at.", word(s.Forecast))
	}
	datum := s.Datum()
	add("Terrain: %s, vertical datum %s.", s.Site.Terrain, word(datum.Name))
	if len(s.Profiles()) == 0 {
		add("Rules: none named, so whether the plan meets any is unknown.")
	}
	for _, p := range s.Profiles() {
		add("Rules: %s, read %s. %s", p.Title, p.Read, p.Confirm)
	}
	unknown := 0
	for _, x := range slates {
		unknown += x.Unknown
	}
	add("%d limits could not be checked; they count as unknown, not as passed.", unknown)
	for _, caution := range c.Cautions[min(1, len(c.Cautions)):] {
		if !strings.HasPrefix(caution, "Rules ") && !strings.HasPrefix(caution, "Terrain heights") && !strings.HasPrefix(caution, "Weather: unknown") {
			add("%s", caution)
		}
	}
}
