package dossier

import (
	"fmt"
	"math"
	"strings"

	"fieldfare/plan/assess"
	"fieldfare/plan/hazard"
)

// Step is one part of the method statement.
type Step struct {
	Title string   `json:"title"`
	Lines []string `json:"lines"`
}

// method says how the flights are done, from what was computed and what the crew accepted.
func method(a *assess.Assessor, d *Case) (steps []Step) {
	s := a.Shoot
	add := func(title string, lines ...string) { steps = append(steps, Step{title, lines}) }

	var arrival []string
	switch {
	case d.Survey == nil:
		arrival = append(arrival, "Walk the site with the survey sheet before the first flight; nothing here was confirmed on the site yet.")
	case d.Survey.Open > 0:
		arrival = append(arrival, fmt.Sprintf("The survey of %s leaves %d of %d lines open: close them before the first flight.", d.Survey.Date, d.Survey.Open, len(d.Sheet)))
	default:
		arrival = append(arrival, "The site was surveyed on "+d.Survey.Date+" by "+d.Survey.By+"; look for what changed since.")
	}
	for _, p := range d.Register {
		if p.Status == "granted" {
			arrival = append(arrival, "Carry "+p.What+" ("+p.Reference+"), valid "+p.Starts+" to "+p.Ends+".")
		} else {
			arrival = append(arrival, "Do not lean on "+p.What+": "+p.Status+".")
		}
	}
	add("On arrival", arrival...)

	limits := func(label string, v fmt.Stringer, known bool) string {
		if !known {
			return label + ": " + Unknown
		}
		return label + ": " + v.String()
	}
	h := s.House
	add("Numbers at which flying stops",
		limits("Mean wind at flying height", h.Wind, h.Wind > 0),
		limits("Gusts at flying height", h.Gust, h.Gust > 0),
		limits("Visibility below", h.Visibility, h.Visibility > 0),
		limits("Energy left at landing below", h.Reserve, h.Reserve > 0),
		"Rain, thunder within hearing, or anybody calling abort")

	for i := range d.Slates {
		x := &d.Slates[i]
		var lines []string
		if x.Barred {
			lines = append(lines, "Not to be flown as planned: "+strings.Join(stops(x.Findings), "; ")+".")
		}
		lines = append(lines, fmt.Sprintf("%s flies %s from %s: %s, %.0f s a take, up to %.0f m above ground and %.1f m/s, %.2f kg.", x.Pilot, x.Rig, x.Launch, strings.Join(x.Moves, " + "), x.DurationS, x.HighestM, x.FastestMS, x.MassKg))
		lines = append(lines, "Operator: "+x.Operator+". Observer: "+strings.Join(orNobody(x.Observers), ", ")+".")
		for _, st := range x.Stands {
			lines = append(lines, fmt.Sprintf("A spotter stands at %s and has the aircraft from t = %.0f s to %.0f s.", st.Name, st.FromS, st.ToS))
		}
		if v := x.Safety; v.GeographyM != nil && v.ContingencyM != nil && v.BufferM != nil {
			lines = append(lines, fmt.Sprintf("Keep people who take no part %.0f m from the path, measured level: flight geography %.1f m, contingency volume %.1f m, ground risk buffer %.0f m.",
				math.Ceil(*v.GeographyM+*v.ContingencyM+*v.BufferM), *v.GeographyM, *v.ContingencyM, *v.BufferM))
		} else {
			lines = append(lines, "Ground risk buffer: "+Unknown+".")
		}
		for _, r := range x.Reached {
			lines = append(lines, fmt.Sprintf("%s %s lies in the %s, %.0f m from the path.", r.Kind, r.Name, r.Volume, r.DistanceM))
		}
		if x.LostLink != nil {
			lines = append(lines, "Lost link: "+x.LostLink.Action+".")
		} else {
			lines = append(lines, "Lost link: "+Unknown+".")
		}
		lines = append(lines, landingLine(&x.Landing))
		steps = append(steps, Step{"Slate " + x.Slate + ", " + x.Title, lines})
	}

	var controls []string
	seen := map[string]bool{}
	for _, r := range d.Risks {
		for _, m := range r.Measures {
			if (m.State == hazard.Accepted || m.State == hazard.InPlace) && !seen[m.ID] {
				seen[m.ID] = true
				controls = append(controls, fmt.Sprintf("%s (%s; %s)", m.Text, orUnknown(m.Owner), m.State))
			}
		}
	}
	if len(controls) == 0 {
		controls = []string{"None is in place or accepted: the risks stand as they are."}
	}
	add("Controls in place or accepted", controls...)
	var open []string
	for _, r := range d.Risks {
		for _, m := range r.Measures {
			if m.State == hazard.Proposed && !seen[m.ID] {
				seen[m.ID] = true
				open = append(open, fmt.Sprintf("%s (%s): accept it under mitigations: with hazard %s, measure %s", m.Text, m.Owner, r.ID, m.ID))
			}
		}
	}
	if len(open) > 0 {
		add("Controls that nobody has accepted yet", open...)
	}
	return steps
}

func stops(findings []assess.Finding) (words []string) {
	for _, f := range findings {
		if f.Severity == assess.Stop {
			words = append(words, f.What+" "+f.Value)
		}
	}
	if len(words) == 0 {
		words = []string{"see its findings"}
	}
	return words
}

func orNobody(names []string) []string {
	if len(names) == 0 {
		return []string{"nobody without other duty"}
	}
	return names
}

func landingLine(l *Landing) string {
	if l.Unknown != "" {
		return "Emergency landing: " + Unknown + " (" + l.Unknown + ")."
	}
	var parts []string
	for _, s := range l.Nearest() {
		name := s.Spot
		if name == "" {
			name = "nowhere with a clear straight way"
		}
		parts = append(parts, fmt.Sprintf("%s from t = %.0f s to %.0f s", name, s.FromS, s.ToS))
	}
	return "Emergency landing: " + strings.Join(parts, ", ") + "."
}
