package answer

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"fieldfare/desk/paper"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
)

// counts tells how many slates have each verdict.
func (out *Answer) counts() string {
	n := map[Verdict]int{}
	for _, x := range out.Slates {
		n[x.Verdict]++
	}
	var parts []string
	for _, v := range []Verdict{Yes, Changed, Another, No} {
		if n[v] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n[v], v))
		}
	}
	return strings.Join(parts, ", ")
}

func (out *Answer) weather() string {
	if out.WeatherDays == nil {
		return "weather days " + out.WeatherWhy
	}
	return fmt.Sprintf("%d weather days: %s", *out.WeatherDays, out.WeatherWhy)
}

func permission(status string) string {
	if status == "granted" {
		return status
	}
	return strings.ToUpper(word(status))
}

// Text writes the answer for a terminal or a mail.
func (out *Answer) Text(w io.Writer) {
	fmt.Fprintf(w, "%s, %s: %d slates, %s\n\n", out.Title, out.Site, len(out.Slates), out.counts())
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "slate\twanted\tanswer\tplanned\tmost light")
	for _, x := range out.Slates {
		planned := x.Planned
		if planned == "" {
			planned = "-"
		}
		best := "none in this time"
		if len(x.Best) > 0 {
			best = fmt.Sprintf("%s %s-%s", x.Best[0].Date, x.Best[0].From, x.Best[0].To)
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\n", x.Slate, x.Priority, x.Verdict, planned, best)
	}
	t.Flush()
	for _, x := range out.Slates {
		if x.Verdict == Yes && len(x.Why) == 0 {
			continue
		}
		fmt.Fprintf(w, "\n%s  %s: %s\n", x.Slate, x.Title, x.Verdict)
		for _, y := range x.Why {
			fmt.Fprintf(w, "    because %s\n", y)
		}
		for _, m := range x.Mend {
			fmt.Fprintf(w, "    would make it so: %s\n", m)
		}
	}
	fmt.Fprintf(w, "\nbest dates for light, %s to %s\n", out.From, out.To)
	for _, d := range out.BestDates[:min(5, len(out.BestDates))] {
		fmt.Fprintf(w, "    %s  %d of %d slates, %d must-have", d.Date, d.All, len(out.Slates), d.Must)
		if len(d.Without) > 0 {
			fmt.Fprintf(w, "; without light: %s", strings.Join(d.Without, ", "))
		}
		fmt.Fprintln(w)
	}
	fmt.Fprintf(w, "\ndays: %d, %s\n%s\n", out.Days, out.DaysWhy, out.weather())
	fmt.Fprintf(w, "\ncrew: %s\nkit:  %s\n\npermissions\n", strings.Join(out.Crew, "; "), strings.Join(out.Kit, "\n      "))
	if len(out.Permissions) == 0 {
		fmt.Fprintln(w, "    unknown: none entered")
	}
	for _, p := range out.Permissions {
		fmt.Fprintf(w, "    %s: %s (%s), ask by %s\n", permission(p.Status), p.What, word(p.From), word(p.AskBy))
	}
	fmt.Fprintln(w, "\nrests on")
	for _, r := range out.Rests {
		fmt.Fprintf(w, "    %s\n", r)
	}
	fmt.Fprintln(w, out.Caution)
}

// Print returns the answer as a PDF of one or two pages.
func (out *Answer) Print(s *shoot.Shoot, source []byte, version string, letter bool) ([]byte, error) {
	p := paper.New(paper.Options{Title: "feasibility", Job: out.Title, Caution: check.Safety, Source: source, Version: version, Dated: s.Dates[0].Midnight(time.UTC), Letter: letter})
	p.Section("Feasibility: " + out.Title)
	p.Text(paper.Style{Pt: 9}, fmt.Sprintf("%s, for %s. Asked for: %s (%s).", out.Site, word(out.Production), strings.Join(out.Dates, ", "), out.Zone))
	p.PDF.SetY(p.PDF.GetY() + 1)
	p.Text(paper.Style{Mono: true, Bold: true, Pt: 10}, fmt.Sprintf("%d slates: %s", len(out.Slates), out.counts()))
	p.PDF.SetY(p.PDF.GetY() + 1)
	var rows [][]string
	for _, x := range out.Slates {
		verdict := string(x.Verdict)
		if x.Verdict != Yes {
			verdict = "!" + strings.ToUpper(verdict)
		}
		words := strings.Join(x.Why, "; ")
		if len(x.Mend) > 0 {
			words += ". Would make it so: " + strings.Join(x.Mend, "; ")
		}
		best := "none in this time"
		if len(x.Best) > 0 {
			best = fmt.Sprintf("%s %s-%s", x.Best[0].Date, x.Best[0].From, x.Best[0].To)
		}
		planned := x.Planned
		if planned == "" {
			planned = "-"
		}
		rows = append(rows, []string{"!" + x.Slate, x.Title + " (" + x.Priority + ")", verdict, planned, best, words})
	}
	p.Table(paper.Table{Pt: 6.6, Weights: []float64{9, 34, 24, 24, 32, 74}, Head: []string{"slate", "shot", "can be had", "planned", "most light", "why, and what would help"}, Rows: rows})
	p.Head(fmt.Sprintf("Best dates for the light, %s to %s", out.From, out.To))
	rows = nil
	for _, d := range out.BestDates[:min(6, len(out.BestDates))] {
		day, _ := time.Parse("2006-01-02", d.Date)
		rows = append(rows, []string{"!" + day.Format("Mon 2 Jan 2006"), fmt.Sprintf("%d of %d", d.All, len(out.Slates)), fmt.Sprint(d.Must), fmt.Sprintf("%d min", d.Minutes), strings.Join(d.Without, ", ")})
	}
	p.Table(paper.Table{Pt: 7, Weights: []float64{5, 4, 4, 6, 8}, Head: []string{"date", "slates with light", "must-have", "least light of a must-have", "without light"}, Rows: rows})
	p.Head("Days, crew and kit")
	p.Text(paper.Style{Pt: 8, Bold: true}, fmt.Sprintf("%d shooting days: %s.", out.Days, out.DaysWhy))
	p.Text(paper.Style{Pt: 8}, "Weather: "+out.weather()+".")
	p.Text(paper.Style{Pt: 8}, "Crew: "+strings.Join(out.Crew, "; ")+".")
	p.Text(paper.Style{Pt: 8}, "Kit: "+strings.Join(out.Kit, "; ")+".")
	p.Head("Permissions to seek")
	rows = nil
	for _, x := range out.Permissions {
		ask := x.AskBy
		if ask == "" {
			ask = "unknown, no lead time entered"
		}
		rows = append(rows, []string{"!" + x.What, word(x.From), permission(x.Status), ask})
	}
	if len(rows) == 0 {
		p.Text(paper.Style{Pt: 8, Bold: true}, "unknown: none entered")
	} else {
		p.Table(paper.Table{Pt: 7, Weights: []float64{9, 6, 4, 6}, Head: []string{"what", "from", "status", "ask by"}, Rows: rows})
	}
	p.Head("What this rests on")
	for _, r := range out.Rests {
		p.Text(paper.Style{Pt: 7}, "- "+r)
	}
	return p.Bytes()
}
