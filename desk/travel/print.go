package travel

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"fieldfare/desk/paper"
	"fieldfare/plan/shoot"
)

func kg(v *float64, pieces int) string {
	if v == nil {
		return "unknown"
	}
	m := float64(pieces) * *v
	if m < 0.1 {
		return fmt.Sprintf("%.0f g", 1000*m)
	}
	return fmt.Sprintf("%.2f kg", m)
}

func word(s string) string {
	if s == "" {
		return "unknown"
	}
	return s
}

func (c *Case) mass() string {
	if c.Whole {
		return fmt.Sprintf("%.2f kg", c.KnownKg)
	}
	return fmt.Sprintf("more than %.2f kg, not all masses known", c.KnownKg)
}

// who counts the entries of a list: "Ann 2, cargo 1".
func who(all []string) string {
	var order []string
	n := map[string]int{}
	for _, x := range all {
		if n[x] == 0 {
			order = append(order, x)
		}
		n[x]++
	}
	for i, x := range order {
		order[i] = fmt.Sprintf("%s %d", x, n[x])
	}
	return strings.Join(order, ", ")
}

// confirm stands under the packs.
const confirm = "Airlines and states set stricter rules: ask the operator before travelling. Terminals covered, each pack in its own bag, none in checked baggage."

// Text writes the papers for a terminal.
func (p *Papers) Text(w io.Writer) {
	fmt.Fprintf(w, "%s: packing list\n", p.Title)
	for i := range p.Cases {
		c := &p.Cases[i]
		fmt.Fprintf(w, "\n%s: %s\n", c.Name, c.mass())
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		for _, x := range c.Items {
			fmt.Fprintf(t, "  %d x %s\t%s\t%s\n", x.Pieces, x.Name, x.Kind, kg(x.EachKg, x.Pieces))
		}
		t.Flush()
	}
	fmt.Fprintln(w, "\npacks by air")
	for _, x := range p.Packs {
		fmt.Fprintf(w, "  %d x %s: %s. %s. Carried by: %s [%s]\n", x.Pieces, x.Model, x.Class, x.Note, who(x.Who), x.Source)
	}
	fmt.Fprintf(w, "  %s\n\ngeneral list\n", confirm)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "item\tdescription\tmarks, numbers\tpieces\tmass\tvalue\torigin")
	for i, x := range p.List {
		fmt.Fprintf(t, "%d\t%s %s\t%s\t%d\t%s\t%s\t%s\n", i+1, x.Kind, x.Name, word(x.Number), x.Pieces, kg(x.EachKg, x.Pieces), word(x.Value), word(x.Origin))
	}
	t.Flush()
	fmt.Fprintln(w, p.Caution)
}

// Print returns the papers as a PDF.
func (p *Papers) Print(s *shoot.Shoot, source []byte, version string, letter bool) ([]byte, error) {
	d := paper.New(paper.Options{Title: "travel papers", Job: p.Title, Caution: p.Caution, Source: source, Version: version, Dated: s.Dates[0].Midnight(time.UTC), Letter: letter})
	d.Section("Packing list: " + p.Title)
	for i := range p.Cases {
		c := &p.Cases[i]
		empty := "case itself unknown"
		if c.EmptyKg != nil {
			empty = fmt.Sprintf("case itself %.1f kg", *c.EmptyKg)
		}
		d.Room(20)
		d.Head(fmt.Sprintf("%d  %s", i+1, c.Name))
		d.Text(paper.Style{Pt: 8, Bold: true}, c.mass()+"; "+empty)
		var rows [][]string
		for _, x := range c.Items {
			rows = append(rows, []string{fmt.Sprintf("!%d x", x.Pieces), "!" + x.Name, x.Kind, kg(x.EachKg, 1), kg(x.EachKg, x.Pieces), "", ""})
		}
		d.Table(paper.Table{Rules: true, HeightMM: 5, Weights: []float64{2, 8, 5, 4, 4, 2, 2}, Head: []string{"", "what", "kind", "each", "together", "out", "back"}, Rows: rows})
	}
	d.Section("Packs by air")
	var rows [][]string
	for _, x := range p.Packs {
		rows = append(rows, []string{fmt.Sprintf("!%d x", x.Pieces), "!" + x.Model, fmt.Sprintf("%.1f Wh", x.Wh), "!" + strings.ToUpper(x.Class), x.Note, who(x.Who)})
	}
	d.Table(paper.Table{Weights: []float64{2, 4, 3, 5, 10, 6}, Head: []string{"", "pack", "label", "class", "how", "carried by"}, Rows: rows})
	d.Text(paper.Style{Pt: 8, Bold: true}, confirm)
	if len(p.Packs) > 0 {
		d.Text(paper.Style{Pt: 7}, "Basis: "+p.Packs[0].Source+".")
	}
	d.Section("General list for temporary import")
	rows = nil
	pieces := 0
	for i, x := range p.List {
		pieces += x.Pieces
		rows = append(rows, []string{fmt.Sprint(i + 1), "!" + x.Kind + " " + x.Name, word(x.Number), fmt.Sprint(x.Pieces), kg(x.EachKg, x.Pieces), word(x.Value), word(x.Origin)})
	}
	rows = append(rows, []string{"", "!total", "", fmt.Sprintf("!%d", pieces), "", "", ""})
	d.Table(paper.Table{Rules: true, HeightMM: 5, Weights: []float64{2, 9, 6, 3, 4, 5, 4}, Head: []string{"item", "description", "marks and numbers", "pieces", "mass", "value", "origin"}, Rows: rows})
	d.Text(paper.Style{Pt: 7}, "Values, numbers and countries of origin are the crew's own, from "+FileName+"; what is unknown must be filled in before the list is stamped. Customs decide what they ask for.")
	return d.Bytes()
}
