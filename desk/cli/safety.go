package cli

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"
	"time"

	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
	"fieldfare/plan/dossier"
	"fieldfare/plan/rule"
)

type safetyCmd struct {
	Dir     string `arg:"" help:"Shoot folder." type:"path"`
	Slate   string `arg:"" optional:"" help:"Only this slate's case."`
	Planned bool   `help:"Plan the day first, and look at each slate when it is shot in place of its best light."`
	Layers  bool   `help:"Print the map layers as GeoJSON: paths, volumes, fall footprints, lost-link routes, spotters."`
	Sheet   bool   `help:"Print the survey sheet as YAML, to fill in on the site and keep as safety/survey.yaml."`
}

func (c *safetyCmd) Run(s *Session) error {
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	checked, err := check.Run(s.Context, a)
	if err != nil {
		return err
	}
	var hours map[string]time.Time
	if c.Planned {
		sheet, err := call.Plan(s.Context, a, checked, day.Options{})
		if err != nil {
			return err
		}
		hours = starts(sheet)
	}
	d, err := dossier.WriteAt(s.Context, a, checked, hours)
	if err != nil {
		return err
	}
	if c.Slate != "" {
		if err := d.Only(c.Slate); err != nil {
			return err
		}
	}
	switch {
	case c.Layers:
		layers, err := d.Map(a)
		if err != nil {
			return err
		}
		s.JSON = true
		return s.emit(layers, nil)
	case c.Sheet:
		return s.emit(d.Sheet, func(w io.Writer) { printSurveySheet(w, d) })
	}
	if err := s.emit(d, func(w io.Writer) { printSafety(w, d, c.Slate == "") }); err != nil {
		return err
	}
	for _, x := range d.Slates {
		if x.Barred || assess.Has(x.Findings, assess.Stop) {
			return exit(1)
		}
	}
	return nil
}

// starts are the first starts of the slates that the day has.
func starts(sheet *call.Sheet) map[string]time.Time {
	hours := map[string]time.Time{}
	for _, d := range sheet.Days {
		for _, sortie := range d.Sorties {
			for _, x := range sortie.Slates {
				if first, ok := hours[x.Slate]; !ok || x.Start.Before(first) {
					hours[x.Slate] = x.Start
				}
			}
		}
	}
	return hours
}

func printSafety(w io.Writer, d *dossier.Case, whole bool) {
	fmt.Fprintf(w, "Safety case: %s, %s, %s (%s)\n%s\n", d.Title, d.Site, strings.Join(d.Dates, " and "), d.Zone, d.Caution)
	if whole {
		printActivities(w, d)
		printRegister(w, d)
	}
	for i := range d.Slates {
		printCase(w, &d.Slates[i])
	}
	if len(d.Slates) > 0 {
		var lines []string
		for _, b := range d.Slates[0].Basis {
			lines = append(lines, b.Of+": "+b.From)
		}
		list(w, "Where the numbers come from", lines)
	}
	printRisks(w, d)
	if whole {
		for _, s := range d.Method {
			list(w, "Method: "+s.Title, s.Lines)
		}
		for _, c := range d.Checklists {
			var lines []string
			for _, item := range c.Items {
				text := item.Text
				if item.Unsure != "" {
					text += " (" + item.Unsure + ")"
				}
				lines = append(lines, "[ ] "+text)
			}
			list(w, "Checklist: "+c.Title, lines)
		}
		printEmergency(w, &d.Emergency)
		printSurvey(w, d)
	}
	fmt.Fprintln(w)
	for _, c := range d.Cautions {
		fmt.Fprintln(w, c)
	}
}

func list(w io.Writer, title string, lines []string) {
	fmt.Fprintf(w, "\n%s\n", title)
	for _, l := range lines {
		fmt.Fprintln(w, "    "+l)
	}
}

func table(w io.Writer, title, head string, rows func(row func(cells ...any))) {
	fmt.Fprintf(w, "\n%s\n", title)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "    "+head)
	rows(func(cells ...any) {
		words := make([]string, len(cells))
		for i, c := range cells {
			words[i] = fmt.Sprint(c)
		}
		fmt.Fprintln(t, "    "+strings.Join(words, "\t"))
	})
	t.Flush()
}

func printActivities(w io.Writer, d *dossier.Case) {
	p := &d.Activities
	table(w, "Plan of activities: places", "kind\tname\tlatitude\tlongitude\tabove sea", func(row func(...any)) {
		for _, x := range p.Places {
			sea := dossier.Unknown
			if x.HeightKnow {
				sea = fmt.Sprintf("%.0f m", x.AboveSeaM)
			}
			name := x.Name
			if x.Count != nil {
				name += fmt.Sprintf(" (%d people)", *x.Count)
			}
			row(x.Kind, name, fmt.Sprintf("%.5f", x.Lat), fmt.Sprintf("%.5f", x.Lon), sea)
		}
	})
	table(w, "Operations", "slate\tfrom\trig\thighest\tfastest\ttimes", func(row func(...any)) {
		for _, x := range p.Operations {
			var times []string
			for _, s := range x.Windows {
				times = append(times, s.From.Format("Mon 15:04")+"-"+s.To.Format("15:04"))
			}
			if len(times) == 0 {
				times = []string{"none"}
			}
			row(x.Slate, x.Launch, x.Rig, fmt.Sprintf("%.0f m", x.HighestM), fmt.Sprintf("%.1f m/s", x.FastestMS), strings.Join(times, ", "))
		}
	})
	table(w, "Crew", "name\troles\ttelephone\tcertificates", func(row func(...any)) {
		for _, x := range p.Crew {
			var papers []string
			for _, c := range x.Certificates {
				papers = append(papers, fmt.Sprintf("%s %s, expires %s (%s)", c.Title, c.Number, c.Expires, c.State))
			}
			if len(papers) == 0 {
				papers = []string{dossier.Unknown}
			}
			row(x.Name, strings.Join(x.Roles, ", "), x.Phone, strings.Join(papers, "; "))
		}
	})
	table(w, "Aircraft", "rig\tairframe\tregistration\tmass\tclass\tinsurance", func(row func(...any)) {
		for _, x := range p.Aircraft {
			mass := "flies no slate"
			if x.MassKg > 0 {
				mass = fmt.Sprintf("%.2f of %.2f kg", x.MassKg, x.MaxKg)
			}
			row(x.Rig, x.Airframe, x.Registration, mass, x.Class, x.Insurance)
		}
	})
	table(w, "Airspace", "area\tstatus\tfloor\tceiling\ttimes", func(row func(...any)) {
		for _, x := range p.Airspace {
			times := "always"
			if len(x.Times) > 0 {
				var all []string
				for _, s := range x.Times {
					all = append(all, s.From.Format("2 Jan 15:04")+" to "+s.To.Format("2 Jan 15:04"))
				}
				times = strings.Join(all, ", ")
			}
			row(x.Name, x.Status, x.Floor, x.Ceil, times)
		}
	})
	table(w, "Distances to people", "to\tnearest\tslate\tlimits", func(row func(...any)) {
		for _, x := range p.Distances {
			nearest := x.Note
			if x.NearestM != nil {
				nearest = metresOr(x.NearestM)
			}
			var limits []string
			for _, l := range x.Limits {
				limits = append(limits, fmt.Sprintf("%s (%s): %s", l.Limit, l.Profile, l.Outcome))
			}
			row(x.To, nearest, x.Slate, strings.Join(limits, "; "))
		}
	})
	list(w, "Guidelines for the set", p.Guidelines)
	list(w, "Safety brief", p.Brief)
	if len(p.Changes) > 0 {
		table(w, "Changes agreed after issue", "date\twhat\twith", func(row func(...any)) {
			for _, x := range p.Changes {
				row(x.Date, x.What, x.With)
			}
		})
	}
}

func printRegister(w io.Writer, d *dossier.Case) {
	fmt.Fprintln(w, "\nPermission register")
	if len(d.Register) == 0 {
		fmt.Fprintln(w, "    none entered: whether one is needed is unknown")
	}
	for _, p := range d.Register {
		fmt.Fprintf(w, "    %s: %s, from %s, reference %s, %s to %s, %s\n", p.What, p.Status, p.From, p.Reference, p.Starts, p.Ends, p.Area)
		if p.Document != dossier.Unknown {
			fmt.Fprintf(w, "        document %s, SHA-256 %s\n", p.Document, p.SHA256)
		}
		for _, f := range p.Findings {
			fmt.Fprintf(w, "        %s\n", f)
		}
	}
}

func metresOr(v *float64) string {
	if v == nil {
		return dossier.Unknown
	}
	return fmt.Sprintf("%.1f m", *v)
}

func printCase(w io.Writer, x *dossier.Slate) {
	fmt.Fprintf(w, "\nSlate %s  %s  (at %s)\n", x.Slate, x.Title, x.At.Format("Mon 2 Jan 15:04"))
	n := &x.Safety
	say := func(format string, args ...any) { fmt.Fprintf(w, "    "+format+"\n", args...) }
	observers := strings.Join(x.Observers, ", ")
	if observers == "" {
		observers = "nobody without other duty"
	}
	say("crew: pilot %s; operator %s; observer %s", x.Pilot, x.Operator, observers)
	if x.Unsolved != "" {
		say("no path: %s; nothing of the flight is known", x.Unsolved)
		for _, f := range x.Findings {
			if f.Severity != assess.Note {
				say("%s", line(f))
			}
		}
		return
	}
	say("volumes: flight geography %s to each side, contingency volume %s more, ground risk buffer %s more (1:1); top %s above ground", metresOr(n.GeographyM), metresOr(n.ContingencyM), metresOr(n.BufferM), metresOr(n.ContingencyTopM))
	say("buffer by ballistic fall %s, under parachute %s", metresOr(n.BallisticM), orNotFitted(n.ParachuteM))
	if x.Falls.Unknown != "" {
		say("falls: unknown: %s", x.Falls.Unknown)
	} else {
		wind := "in the hour's wind"
		if !x.Falls.WindKnown {
			wind = "in still air, as the wind is unknown"
		}
		energy := dossier.Unknown
		if n.FallEnergyJ != nil {
			energy = fmt.Sprintf("%.0f J", *n.FallEnergyJ)
		}
		say("falls %s: up to %s from the path, up to %s at impact", wind, metresOr(n.FallM), energy)
	}
	grc := dossier.Unknown
	if n.GroundRisk != nil {
		grc = fmt.Sprint(*n.GroundRisk)
	}
	say("ground risk class before any mitigation: %s (two public transcriptions, the document not read)", grc)
	say("mitigations of the ground risk that the source knows, none applied: %s", strings.Join(x.Eased, "; "))
	for _, r := range x.Reached {
		say("%s %s in the %s: %.0f m from the path, t = %.0f s to %.0f s", r.Kind, r.Name, r.Volume, r.DistanceM, r.FromS, r.ToS)
	}
	say("sight: %.0f m from the pilot at most; limit %s (attitude %s, detection %s)", n.PilotM, metresOr(n.SightLimitM), metresOr(n.AttitudeM), metresOr(n.DetectionM))
	for _, s := range x.Stands {
		say("spotter at %s, t = %.0f s to %.0f s", s.Name, s.FromS, s.ToS)
	}
	if n.GlareDeg != nil {
		say("sun at least %.0f deg from the aircraft at the pilot's eye", *n.GlareDeg)
	}
	if l := x.LostLink; l != nil {
		say("lost link: %s; least clearance %.0f m, needed at least %.0f m above launch", l.Action, l.ClearanceM, math.Ceil(l.NeededM))
	} else {
		say("lost link: unknown")
	}
	if x.Landing.Unknown != "" {
		say("emergency landing: unknown: %s", x.Landing.Unknown)
	} else {
		for _, s := range x.Landing.Nearest() {
			name := s.Spot
			if name == "" {
				name = "none with a clear straight way"
			}
			say("emergency landing, t = %.0f s to %.0f s: %s", s.FromS, s.ToS, name)
		}
	}
	if x.FlyAway.Unknown != "" {
		say("fly-away: unknown: %s", x.FlyAway.Unknown)
	} else {
		say("fly-away: up to %.1f km in %.0f min", x.FlyAway.ReachM/1000, x.FlyAway.DurationS/60)
	}
	for _, r := range x.Radio {
		margin := dossier.Unknown
		if r.MarginDB != nil && r.AtS != nil {
			margin = fmt.Sprintf("%.1f dB at t = %.0f s", *r.MarginDB, *r.AtS)
		}
		line := fmt.Sprintf("%s link: least margin %s", r.Use, margin)
		if r.EIRPmW != nil {
			line += fmt.Sprintf(", radiates %.0f mW EIRP", *r.EIRPmW)
		}
		if r.Stand != "" && r.StandDB != nil {
			line += fmt.Sprintf("; strongest from %s, %.1f dB", r.Stand, *r.StandDB)
		}
		say("%s", line)
	}
	for _, l := range x.Links {
		if l.Stand != "" && l.Use == "video" {
			say("the monitor stands best at %s: %.1f dB at the weakest moment", l.Stand, *l.StandDB)
		}
	}
	count := map[rule.Outcome]int{}
	for _, r := range x.Rules {
		count[r.Outcome]++
	}
	say("rules: %d met, %d broken, %d unknown, %d permitted, %d not applicable", count[rule.Met], count[rule.Broken], count[rule.Unknown], count[rule.Permitted], count[rule.NotApplicable])
	for _, f := range x.Findings {
		if f.Severity != assess.Note {
			say("%s", line(f))
		}
	}
}

func orNotFitted(v *float64) string {
	if v == nil {
		return "none fitted or unknown"
	}
	return metresOr(v)
}

func printRisks(w io.Writer, d *dossier.Case) {
	table(w, "Risk assessment", "hazard\tworst on\tbefore\tresidual\thouse says", func(row func(...any)) {
		for _, r := range d.Risks {
			row(r.Hazard, r.Worst, fmt.Sprintf("%s/%s %s", r.Before.LikelihoodName, r.Before.SeverityName, r.Before.Band.Name), fmt.Sprintf("%s/%s %s", r.Residual.LikelihoodName, r.Residual.SeverityName, r.Residual.Band.Name), r.Residual.Band.Accept)
		}
	})
	for _, r := range d.Risks {
		fmt.Fprintf(w, "    %s, at risk: %s\n", r.ID, strings.Join(r.Who, ", "))
		for _, worse := range r.Worse {
			fmt.Fprintf(w, "        worse: %s\n", worse)
		}
		for _, m := range r.Measures {
			fmt.Fprintf(w, "        %s: %s (%s, id %s)\n", m.State, m.Text, m.Owner, m.ID)
		}
		if len(r.Missing) > 0 {
			fmt.Fprintf(w, "        unknown: %s\n", strings.ReplaceAll(strings.Join(r.Missing, ", "), "_", " "))
		}
	}
}

func printEmergency(w io.Writer, e *dossier.Emergency) {
	fmt.Fprintf(w, "\nEmergency\n    nearest hospital: %s\n", e.Hospital)
	for _, c := range e.Calls {
		fmt.Fprintf(w, "    call %s: %s (%s)\n", c.Who, c.Phone, c.Why)
	}
	for _, p := range e.Procedures {
		list(w, p.What, p.Steps)
	}
	list(w, "Fly-away", e.FlyAway)
	list(w, "Fire of a pack", e.Fire)
	list(w, "Accident", e.Accident)
}

func printSurvey(w io.Writer, d *dossier.Case) {
	if d.Survey == nil {
		fmt.Fprintf(w, "\nSite survey: not made; `fieldfare safety DIR --sheet` prints the sheet of %d lines\n", len(d.Sheet))
		return
	}
	fmt.Fprintf(w, "\nSite survey of %s by %s: %d of %d lines open\n", d.Survey.Date, d.Survey.By, d.Survey.Open, len(d.Sheet))
	for _, x := range d.Survey.Diffs {
		fmt.Fprintf(w, "    %-8s%s: %s; planned %s; found %s; %s\n", x.Severity, x.Item, x.State, x.Planned, x.Found, x.Mend)
		for _, t := range x.Slates {
			word := "near"
			if t.Stop {
				word = "too near"
			}
			fmt.Fprintf(w, "            slate %s passes %.1f m away: %s\n", t.Slate, t.DistanceM, word)
		}
	}
}

func printSurveySheet(w io.Writer, d *dossier.Case) {
	fmt.Fprintf(w, "# Survey sheet: %s, %s. Fill in on the site and keep as safety/survey.yaml.\n# %s\n", d.Title, d.Site, d.Caution)
	fmt.Fprintf(w, "# state: as planned, differs, not there, not checked. A line may add seen: in words, height: 24 m, at: 46.6 N, 10.3 E.\ndate: %s\nby: \"\"\nanswers:\n", d.Dates[0])
	for _, l := range d.Sheet {
		fmt.Fprintf(w, "  - item: %q   # planned: %s\n    # %s\n    state: not checked\n", l.ID, l.Planned, l.Ask)
	}
	fmt.Fprintln(w, "# What is there and not in the plan:\n# found:\n#   - {kind: wire, name: hay cable, at: \"46.601 N, 10.295 E\", height: 8 m}\nfound: []")
}
