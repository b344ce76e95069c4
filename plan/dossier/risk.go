package dossier

import (
	"sort"
	"strings"

	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/hazard"
)

// Risk is one hazard over all slates: the row of the slate on which it is left worst.
type Risk struct {
	hazard.Row
	Worst  string   `json:"worst_slate"`
	Slates []string `json:"slates"`
}

func risks(slates []Slate, m *hazard.Matrix) (all []Risk) {
	at := map[string]int{}
	for _, x := range slates {
		for _, r := range x.Risks {
			k, known := at[r.ID]
			if !known {
				at[r.ID] = len(all)
				all = append(all, Risk{r, x.Slate, []string{x.Slate}})
				continue
			}
			all[k].Slates = append(all[k].Slates, x.Slate)
			if heavier(m, r, all[k].Row) {
				all[k].Row, all[k].Worst = r, x.Slate
			}
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return heavier(m, all[i].Row, all[j].Row) })
	return all
}

// heavier compares what is left of two hazards, then what they began with, then what is not known.
func heavier(m *hazard.Matrix, a, b hazard.Row) bool {
	rank := func(r hazard.Risk) int {
		for i, band := range m.Bands {
			if band.Name == r.Band.Name {
				return i*10000 + r.Likelihood*r.Severity
			}
		}
		return len(m.Bands) * 10000
	}
	if x, y := rank(a.Residual), rank(b.Residual); x != y {
		return x > y
	}
	if x, y := rank(a.Before), rank(b.Before); x != y {
		return x > y
	}
	return len(a.Missing) > len(b.Missing)
}

// checklists join those of all slates: an item stands when it is asked for on any of them, and stays
// unsure only where none is sure of it.
func checklists(a *assess.Assessor, c *check.Check) (all []hazard.Checklist) {
	library := a.Shoot.Library()
	type entry struct{ asked, sure bool }
	asked := map[string]map[string]entry{}
	unsure := map[string]string{}
	for i := range c.Slates {
		x := &c.Slates[i]
		for _, list := range library.Checks(a.Take(x.Slate).Facts(x.At)) {
			if asked[list.ID] == nil {
				asked[list.ID] = map[string]entry{}
			}
			for _, item := range list.Items {
				e := asked[list.ID][item.Text]
				asked[list.ID][item.Text] = entry{true, e.sure || item.Unsure == ""}
				unsure[list.ID+item.Text] = item.Unsure
			}
		}
	}
	for _, list := range library.Checklists {
		joined := hazard.Checklist{ID: list.ID, Title: list.Title}
		for _, item := range list.Items {
			e := asked[list.ID][item.Text]
			if !e.asked {
				continue
			}
			if item.Unsure = ""; !e.sure {
				item.Unsure = unsure[list.ID+item.Text]
			}
			joined.Items = append(joined.Items, item)
		}
		for _, extra := range fromFindings(list.ID, c) {
			joined.Items = append(joined.Items, hazard.Item{Text: extra})
		}
		all = append(all, joined)
	}
	return all
}

// fromFindings are the lines that a list gains from what was found: those of the crew who must stand
// somewhere, the places to clear, the heights to set.
func fromFindings(list string, c *check.Check) (lines []string) {
	seen := map[string]bool{}
	add := func(line string) {
		if !seen[line] {
			seen[line] = true
			lines = append(lines, line)
		}
	}
	for _, x := range c.Slates {
		n := x.Numbers.Safety
		switch list {
		case "pre-flight":
			if n.LostLinkNeedM != nil {
				add("Slate " + x.Slate + ": lost-link height at least " + whole(*n.LostLinkNeedM) + " m above the launch spot")
			}
		case "pre-take":
			for _, spot := range n.Spotters {
				add("Slate " + x.Slate + ": spotter at " + spot + " answers")
			}
			for _, f := range x.Findings {
				if f.Topic == assess.TopicSafety && f.Severity == assess.Caution && f.AtS != nil && f.Mend != "" && strings.Contains(f.What, "inside the ground risk buffer") {
					add("Slate " + x.Slate + ": " + f.What + ": " + f.Mend)
				}
			}
		}
	}
	return lines
}
