package report

import (
	"fmt"
	"strings"
	"time"

	"fieldfare/desk/logbook"
)

// Production is the report of one day's work, for the production office.
func Production(log []logbook.Standing, day time.Time, zone *time.Location) []*Table {
	date := day.In(zone).Format(time.DateOnly)
	in := func(t time.Time) bool { return !t.IsZero() && t.In(zone).Format(time.DateOnly) == date }
	clock := func(t time.Time) string {
		if t.IsZero() {
			return ""
		}
		return t.In(zone).Format("15:04:05")
	}
	summary := newTable("Production report for "+date+" ("+day.In(zone).Format("MST")+")", "what", "value")
	sorties := newTable("Sorties", "sortie", "aircraft", "pilot", "operator", "slates", "pack", "take-off", "landing", "minutes", "Wh used", "permits")
	takes := newTable("Takes", "slate", "take", "circled", "sortie", "from", "to", "card", "clip", "notes")
	incidents := newTable("Incidents and near misses", "entry", "severity", "place", "aircraft", "what", "still to be found out")
	other := newTable("Packs, upkeep, permits and remarks", "kind", "about", "what")
	var flown float64
	var first, last time.Time
	nSorties, nTakes, circled, nIncidents, packless := 0, 0, 0, 0, 0
	slates, packs := map[string]bool{}, map[string]bool{}
	day1 := []logbook.Standing{}
	for _, e := range log {
		switch b := e.Fact.(type) {
		case *logbook.Sortie:
			if !in(b.TakeOff) {
				continue
			}
			day1 = append(day1, e)
			nSorties++
			flown += b.FlownS()
			if first.IsZero() || b.TakeOff.Before(first) {
				first = b.TakeOff
			}
			if b.Landing.After(last) {
				last = b.Landing
			}
			if b.Pack != "" {
				packs[b.Pack] = true
			} else {
				packless++
			}
			used := "unknown"
			if b.EnergyUsedWh != nil {
				used = fmt.Sprintf("%.1f", *b.EnergyUsedWh)
			}
			sorties.add(b.Sortie, b.Aircraft, b.Pilot, b.Operator, strings.Join(b.Slates, " "), b.Pack, clock(b.TakeOff), clock(b.Landing), fmt.Sprintf("%.1f", b.FlownS()/60), used, strings.Join(b.Permits, " "))
		case *logbook.Take:
			at := b.From
			if at.IsZero() {
				at = e.At
			}
			if !in(at) {
				continue
			}
			nTakes++
			slates[b.Slate] = true
			mark := ""
			if b.Circled {
				circled++
				mark = "circled"
			}
			takes.add(b.Slate, fmt.Sprint(b.Take), mark, b.Sortie, clock(b.From), clock(b.To), b.Card, b.Clip, b.Notes)
		case *logbook.Incident:
			if in(e.At) {
				nIncidents++
				incidents.add(e.First, b.Severity, b.Place, b.Aircraft, b.What, strings.Join(b.Missing(), ", "))
			}
		case *logbook.Pack:
			if in(e.At) {
				other.add("pack", b.Pack, fmt.Sprintf("%d cycles; %s", b.Cycles, b.Notes))
			}
		case *logbook.Upkeep:
			if in(e.At) {
				other.add("upkeep", b.Aircraft, b.Work)
			}
		case *logbook.Permit:
			if in(b.From) {
				other.add("permit", b.Permit, strings.TrimSpace(clock(b.From)+" to "+clock(b.To)+" "+b.Kept))
			}
		case *logbook.Remark:
			if in(e.At) {
				other.add("remark", e.By, b.Text)
			}
		}
	}
	span := func(t time.Time) string {
		if t.IsZero() {
			return "none"
		}
		return clock(t)
	}
	summary.add("first take-off", span(first))
	summary.add("last landing", span(last))
	summary.add("sorties", fmt.Sprint(nSorties))
	summary.add("hours flown", hours(flown))
	summary.add("slates", fmt.Sprint(len(slates)))
	summary.add("takes", fmt.Sprint(nTakes))
	summary.add("circled takes", fmt.Sprint(circled))
	flew := fmt.Sprint(len(packs))
	if packless > 0 {
		flew += fmt.Sprintf(", and unknown for %d of %d sorties", packless, nSorties)
	}
	summary.add("packs flown", flew)
	summary.add("incidents and near misses", fmt.Sprint(nIncidents))
	contested(summary, log)
	people := People(day1, Day, zone)
	return []*Table{summary, sorties, takes, people, incidents, other}
}
