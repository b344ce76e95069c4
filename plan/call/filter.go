package call

import (
	"slices"
	"time"

	"fieldfare/model/exposure"
	"fieldfare/plan/assess"
	"fieldfare/plan/day"
)

// Filter names what a camera card puts before the lens.
func Filter(card *exposure.Card) string { return filterName(filtersOf(card)) }

func filtersOf(card *exposure.Card) []string {
	if card == nil {
		return nil
	}
	filters := slices.Clone(card.Filters)
	if card.Graduated != "" {
		filters = append(filters, card.Graduated)
	}
	return filters
}

// fit gives each sortie of a day the filter that its slates ask for at the hours for which they are planned, where they agree
// and the crew has the time to change it. Until then a sortie has the filter of its slates' best hours, by which the search went.
func (d *Day) fit(a *assess.Assessor, swaps map[string]day.Swap, plan []day.Sortie, breaks []day.BreakTaken) {
	// spare is how long a sortie's unit has nothing to do before it.
	spare := func(n int) int64 {
		x := &plan[n]
		free := int64(-1)
		for i := range plan[:n] {
			if plan[i].Unit == x.Unit {
				free = max(free, plan[i].EndS)
			}
		}
		if free < 0 {
			return 0 // the day's first: what there is to do is done before it
		}
		for _, b := range breaks {
			if b.EndS <= x.StartS {
				free = max(free, b.EndS)
			}
		}
		return x.StartS - free - d.Sorties[n].BuildS - x.MoveS - x.HandoverS - x.GroundS
	}
	for n := range d.Sorties {
		x := &d.Sorties[n]
		filter, agreed := asked(a, x)
		if !agreed || filter == x.Filter {
			continue
		}
		step := swaps[x.Rig].FilterS
		more := func(other string) int64 { // work that the other filter makes beside a neighbour
			was, will := int64(0), int64(0)
			if other != x.Filter {
				was = step
			}
			if other != filter {
				will = step
			}
			return will - was
		}
		var here, there int64
		after := slices.IndexFunc(d.Sorties[n+1:], func(y Sortie) bool { return y.Rig == x.Rig })
		for i := n - 1; i >= 0; i-- {
			if d.Sorties[i].Rig == x.Rig {
				here = more(d.Sorties[i].Filter)
				break
			}
		}
		if after >= 0 {
			after += n + 1
			there = more(d.Sorties[after].Filter)
		}
		if here > 0 && spare(n) < here || there > 0 && spare(after) < there {
			continue
		}
		x.Filter = filter
		d.build(n, here)
		if after >= 0 {
			d.build(after, there)
		}
	}
}

// build adds work before a sortie; what its unit flies earlier may wait so much less.
func (d *Day) build(n int, more int64) {
	d.Sorties[n].BuildS += more
	for i := range d.Sorties[:n] {
		if x := &d.Sorties[i]; more > 0 && x.Unit == d.Sorties[n].Unit {
			if x.Latest = x.Latest.Add(-time.Duration(more) * time.Second); x.Latest.Before(x.Start) {
				x.Latest = x.Start
			}
		}
	}
}

// asked is the filter that the slates of a sortie ask for when they are planned; agreed is false where they differ or a card
// is not known.
func asked(a *assess.Assessor, x *Sortie) (filter string, agreed bool) {
	for i, shot := range x.Slates {
		card := a.Take(shot.Slate).At(shot.Start).Numbers.Picture.Card
		if card == nil || i > 0 && Filter(card) != filter {
			return "", false
		}
		filter = Filter(card)
	}
	return filter, len(x.Slates) > 0
}
