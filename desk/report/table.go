// Package report turns the logbook into papers: hours, aircraft, permits, the day's
// production report and the review of a sortie, as tables, CSV and PDF.
//
// What it computes: sums of flown time and what is due; nothing is estimated.
//
// Units: hours with two decimals in print, dates and clock times in the zone asked for,
// named on the page.
//
// Source: the logbook's standing entries; RFC 4180 for CSV.
//
// Validity: as complete as the logbook. Struck entries are left out, contested
// corrections are named.
//
// Not modelled: the forms of any authority.
package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"fieldfare/desk/logbook"
)

// Caution stands on every report.
const Caution = "A record, not a release to fly. Local rules, the aircraft's manual and licensed judgement come first; check every limit on the day. Unknown is never safe."

// Table is one report, ready to be shown, saved or printed.
type Table struct {
	Title   string     `json:"title"`
	Columns []string   `json:"columns"`
	Rows    [][]string `json:"rows"`
	Notes   []string   `json:"notes,omitempty"`
	Caution string     `json:"caution"`
}

func newTable(title string, columns ...string) *Table {
	return &Table{Title: title, Columns: columns, Rows: [][]string{}, Caution: Caution}
}

func (t *Table) add(cells ...string) { t.Rows = append(t.Rows, cells) }

// CSV writes a report by RFC 4180: one header, every record as long as it, and the caution as the last
// column of each. One table keeps its columns; several become one list of cells, with the table's
// title, the row from 1 and the column's name beside each. Text that a spreadsheet would run as a
// formula is led by an apostrophe.
func CSV(w io.Writer, tables ...*Table) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	if len(tables) == 1 {
		t := tables[0]
		c.Write(append(slices.Clone(t.Columns), "caution"))
		for _, row := range t.Rows {
			c.Write(plain(append(slices.Clone(row), t.Caution)))
		}
	} else {
		c.Write([]string{"table", "row", "column", "value", "caution"})
		for _, t := range tables {
			for i, row := range t.Rows {
				for k, cell := range row {
					c.Write(plain([]string{t.Title, strconv.Itoa(i + 1), t.Columns[k], cell, t.Caution}))
				}
			}
		}
	}
	c.Flush()
	return c.Error()
}

// plain makes cells safe from spreadsheets.
func plain(row []string) []string {
	for i, cell := range row {
		if _, err := strconv.ParseFloat(cell, 64); err != nil && cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
			row[i] = "'" + cell
		}
	}
	return row
}

// Text writes the table for a terminal. The caution is the caller's to write, once.
func (t *Table) Text(w io.Writer) {
	fmt.Fprintln(w, t.Title)
	width := make([]int, len(t.Columns))
	for _, row := range append([][]string{t.Columns}, t.Rows...) {
		for i, c := range row {
			width[i] = max(width[i], len([]rune(c)))
		}
	}
	for _, row := range append([][]string{t.Columns}, t.Rows...) {
		var b strings.Builder
		for i, c := range row {
			b.WriteString("  " + c + strings.Repeat(" ", width[i]-len([]rune(c))))
		}
		fmt.Fprintln(w, strings.TrimRight(b.String(), " "))
	}
	if len(t.Rows) == 0 {
		fmt.Fprintln(w, "  nothing in the log")
	}
	for _, n := range t.Notes {
		fmt.Fprintln(w, "note:", n)
	}
}

// Period cuts time into the spans of a report.
type Period string

// The periods; All makes one row of everything.
const (
	Day   Period = "day"
	Month Period = "month"
	Year  Period = "year"
	All   Period = "all"
)

func (p Period) of(t time.Time, zone *time.Location) string {
	t = t.In(zone)
	switch p {
	case Day:
		return t.Format("2006-01-02")
	case Month:
		return t.Format("2006-01")
	case Year:
		return t.Format("2006")
	}
	return "all"
}

// tally sums sorties and seconds under a key that sorts the rows.
type tally struct {
	key     string
	cells   []string
	sorties int
	s       float64
}

type tallies struct{ all map[string]*tally }

func (t *tallies) add(sorties int, s float64, cells ...string) {
	if t.all == nil {
		t.all = map[string]*tally{}
	}
	key := strings.Join(cells, "\x00")
	if t.all[key] == nil {
		t.all[key] = &tally{key: key, cells: cells}
	}
	t.all[key].sorties += sorties
	t.all[key].s += s
}

func (t *tallies) into(table *Table) {
	var all []*tally
	for _, x := range t.all {
		all = append(all, x)
	}
	slices.SortFunc(all, func(a, b *tally) int { return strings.Compare(a.key, b.key) })
	for _, x := range all {
		table.add(append(x.cells, strconv.Itoa(x.sorties), hours(x.s))...)
	}
}

func hours(s float64) string { return strconv.FormatFloat(s/3600, 'f', 2, 64) }

func contested(t *Table, log []logbook.Standing) {
	for _, e := range log {
		if e.Contested {
			t.Notes = append(t.Notes, fmt.Sprintf("entry %s was corrected by two people at once; the later correction stands", e.First))
		}
	}
}

// People sums hours by person, role, aircraft class, shot class and period. Hours
// brought forward stand in a period of their own, "before".
func People(log []logbook.Standing, p Period, zone *time.Location) *Table {
	t := newTable("Hours by person", "period", "person", "role", "aircraft class", "shot class", "sorties", "hours")
	var sum tallies
	for _, e := range log {
		switch b := e.Fact.(type) {
		case *logbook.Sortie:
			when := p.of(b.TakeOff, zone)
			sum.add(1, b.FlownS(), when, b.Pilot, "pilot", b.AircraftClass, string(b.ShotClass))
			if b.Operator != "" && b.Operator != b.Pilot {
				sum.add(1, b.FlownS(), when, b.Operator, "operator", b.AircraftClass, string(b.ShotClass))
			}
		case *logbook.Hours:
			sum.add(0, b.FlownS, "before", b.Person, b.Role, b.AircraftClass, string(b.ShotClass))
		}
	}
	sum.into(t)
	contested(t, log)
	return t
}

// Aircraft sums sorties and hours by aircraft and period.
func Aircraft(log []logbook.Standing, p Period, zone *time.Location) *Table {
	t := newTable("Hours by aircraft", "period", "aircraft", "class", "sorties", "hours")
	var sum tallies
	for _, e := range log {
		if b, ok := e.Fact.(*logbook.Sortie); ok {
			sum.add(1, b.FlownS(), p.of(b.TakeOff, zone), b.Aircraft, b.AircraftClass)
		}
	}
	sum.into(t)
	contested(t, log)
	return t
}

// Permits sums the sorties and hours flown under each permit, by period. Sorties
// without a permit stand under "none logged".
func Permits(log []logbook.Standing, p Period, zone *time.Location) *Table {
	t := newTable("Hours by permit", "period", "permit", "sorties", "hours")
	var sum tallies
	for _, e := range log {
		b, ok := e.Fact.(*logbook.Sortie)
		if !ok {
			continue
		}
		for _, permit := range b.Permits {
			sum.add(1, b.FlownS(), p.of(b.TakeOff, zone), permit)
		}
		if len(b.Permits) == 0 {
			sum.add(1, b.FlownS(), p.of(b.TakeOff, zone), "none logged")
		}
	}
	sum.into(t)
	contested(t, log)
	return t
}

// Upkeep lists each aircraft's time and what is due: overdue work is a stop, work due
// within 5 h or 14 days a caution, an aircraft without any upkeep entry unknown.
func Upkeep(log []logbook.Standing, now time.Time) *Table {
	t := newTable("Aircraft: time and upkeep due", "aircraft", "sorties", "hours", "work", "last done", "due after h", "due by", "severity", "why")
	type frame struct {
		sorties int
		s       float64
		flights []*logbook.Sortie
		work    map[string]logbook.Standing
		last    *logbook.Standing
	}
	all := map[string]*frame{}
	get := func(name string) *frame {
		if all[name] == nil {
			all[name] = &frame{work: map[string]logbook.Standing{}}
		}
		return all[name]
	}
	for i, e := range log {
		switch b := e.Fact.(type) {
		case *logbook.Sortie:
			f := get(b.Aircraft)
			f.sorties++
			f.s += b.FlownS()
			f.flights = append(f.flights, b)
		case *logbook.Upkeep:
			f := get(b.Aircraft)
			f.work[b.Work] = e // log is in order of happening: the last one stands
			f.last = &log[i]
		}
	}
	names := make([]string, 0, len(all))
	for n := range all {
		names = append(names, n)
	}
	slices.Sort(names)
	for _, n := range names {
		f := all[n]
		if len(f.work) == 0 {
			t.add(n, strconv.Itoa(f.sorties), hours(f.s), "", "", "", "", "unknown", "no upkeep is logged")
			continue
		}
		works := make([]string, 0, len(f.work))
		for w := range f.work {
			works = append(works, w)
		}
		slices.Sort(works)
		for _, w := range works {
			e := f.work[w]
			b := e.Fact.(*logbook.Upkeep)
			var since float64
			for _, s := range f.flights {
				if s.TakeOff.After(e.At) {
					since += s.FlownS()
				}
			}
			severity, why, after, by := "note", "in order", "", ""
			if b.NextAfterS != nil {
				left := *b.NextAfterS - since
				after = hours(left)
				if left <= 0 {
					severity, why = "stop", fmt.Sprintf("overdue by %.1f h", math.Abs(left)/3600)
				} else if left < 5*3600 {
					severity, why = "caution", fmt.Sprintf("due in %.1f h", left/3600)
				}
			}
			if !b.NextBy.IsZero() {
				by = b.NextBy.Format(time.DateOnly)
				if !now.Before(b.NextBy) {
					severity, why = "stop", "overdue since "+by
				} else if severity != "stop" && b.NextBy.Sub(now) < 14*24*time.Hour {
					severity, why = "caution", "due by "+by
				}
			}
			if b.NextAfterS == nil && b.NextBy.IsZero() && severity == "note" {
				severity, why = "unknown", "it is not logged when this is due again"
			}
			if !b.Serviceable && f.last.First == e.First {
				severity, why = "stop", "not released to fly after this work"
			}
			t.add(n, strconv.Itoa(f.sorties), hours(f.s), w, e.At.Format(time.DateOnly), after, by, severity, why)
		}
	}
	contested(t, log)
	return t
}
