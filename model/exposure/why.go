package exposure

import (
	"fmt"
	"strings"

	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

// Why says in one sentence what speaks for the first setting of a ranking.
func (c *Chooser) Why(s Setting) string {
	var reasons []string
	av := lens.ApertureValue(s.Aperture)
	switch {
	case av < c.good[0]-1e-9:
		reasons = append(reasons, unit.FNumber(s.Aperture).String()+" is wider than the lens's good range, for want of light")
	case av > c.good[1]+1e-9:
		reasons = append(reasons, unit.FNumber(s.Aperture).String()+" is past the lens's good range, for want of a denser filter")
	default:
		reasons = append(reasons, unit.FNumber(s.Aperture).String()+" is in the lens's good range")
	}
	reasons = append(reasons, fmt.Sprintf("at ISO %g", s.ISO))
	if len(s.Stack.Filters) == 0 {
		reasons = append(reasons, "without a filter")
	} else {
		reasons = append(reasons, fmt.Sprintf("%s taking %.1f stops", s.Stack, s.Stack.LossStops))
	}
	return strings.Join(reasons, ", ") + ": " + outcome(s)
}

// WhyInstead says in one sentence how to come from one setting to another and what it
// costs: "swap ND0.9 for ND1.2 and open to f/8: right".
func (c *Chooser) WhyInstead(from, to Setting) string {
	var steps []string
	off, on := difference(from.Stack, to.Stack), difference(to.Stack, from.Stack)
	switch {
	case len(off) > 0 && len(on) > 0:
		steps = append(steps, "swap "+strings.Join(off, " + ")+" for "+strings.Join(on, " + "))
	case len(off) > 0:
		steps = append(steps, "take off "+strings.Join(off, " + "))
	case len(on) > 0:
		steps = append(steps, "add "+strings.Join(on, " + "))
	}
	switch {
	case to.Aperture > from.Aperture:
		steps = append(steps, "close to "+unit.FNumber(to.Aperture).String())
	case to.Aperture < from.Aperture:
		steps = append(steps, "open to "+unit.FNumber(to.Aperture).String())
	}
	if to.ISO != from.ISO {
		steps = append(steps, fmt.Sprintf("set ISO %g", to.ISO))
	}
	if to.ShutterS != from.ShutterS {
		steps = append(steps, "set "+unit.Shutter(to.ShutterS).String())
	}
	if len(steps) == 0 {
		return "keep " + unit.FNumber(to.Aperture).String() + " and " + to.Stack.String() + ": " + outcome(to)
	}
	last := steps[len(steps)-1]
	text := last
	if len(steps) > 1 {
		text = strings.Join(steps[:len(steps)-1], ", ") + " and " + last
	}
	if n := len(to.Stack.Filters); n > 1 && n > len(from.Stack.Filters) {
		text += fmt.Sprintf(", at the price of %d filters stacked", n)
	}
	if av := lens.ApertureValue(to.Aperture); av < c.good[0]-1e-9 || av > c.good[1]+1e-9 {
		text += ", outside the lens's good range"
	}
	return text + ": " + outcome(to)
}

// outcome ends a sentence.
func outcome(s Setting) string {
	text := Off(s.ErrorStops)
	if s.Stack.Polarises {
		text += fmt.Sprintf(", give or take as the polariser turns (%.1f to %.1f stops in all), so meter through it", s.Stack.LowStops, s.Stack.HighStops)
	}
	return text
}

// difference lists the filters of a that b has not.
func difference(a, b *Stack) []string {
	var names []string
	for _, f := range a.Filters {
		found := false
		for _, g := range b.Filters {
			found = found || f.Name == g.Name
		}
		if !found {
			names = append(names, f.Name)
		}
	}
	return names
}
