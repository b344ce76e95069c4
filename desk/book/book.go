// Package book prints the papers of a shoot as one PDF: cover with contents, day, site plan, a page
// for each slate, packs, radio, permissions, risk assessment, emergencies, checklists, survey sheet
// and blank forms. It lays
// out; every number comes from packages check, call, assess and dossier.
//
// Units: millimetres on paper. Source: the contents of such papers are common practice, no
// source; ISO 32000 by way of package paper.
// Validity: that of package paper: Latin, Greek and Cyrillic text, A4 and US Letter. The same shoot
// gives the same bytes. A slate that is barred is printed under a band that says so.
//
// Not modelled: anything that the shoot file does not hold; it prints as unknown.
package book

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"fieldfare/desk/paper"
	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/dossier"
	"fieldfare/plan/shoot"
)

// Content is what the book is made of.
type Content struct {
	Assessor *assess.Assessor
	Check    *check.Check
	Sheet    *call.Sheet
	Source   []byte   // the shoot file, for its mark
	Version  string   // of the program
	Letter   bool     // US Letter in place of A4
	Only     []string // parts and slates to print; empty prints all
	Plain    bool     // without storyboard
}

// Parts are what a book is made of, by the words that Only understands besides slates.
var Parts = []string{"cover", "day", "site", "slates", "packs", "radio", "permissions", "risk", "emergency", "checklists", "survey", "forms"}

// Print returns the PDF. It uses every core and stops early when ctx ends.
func Print(ctx context.Context, c Content) ([]byte, error) {
	if err := Check(c.Assessor.Shoot, c.Only); err != nil {
		return nil, err
	}
	s := c.Assessor.Shoot
	p := &printer{Content: c, shoot: s, sheet: paper.New(paper.Options{Title: "flight book", Job: s.Title, Caution: check.Safety,
		Source: c.Source, Version: c.Version, Dated: s.Dates[0].Midnight(time.UTC), Letter: c.Letter})}
	var err error
	if p.dossier, err = dossier.Write(ctx, c.Assessor, c.Check); err != nil {
		return nil, err
	}
	if err := p.storyboard(ctx); err != nil {
		return nil, err
	}
	contents := 0.0
	if p.wants("cover") {
		contents = p.cover()
	}
	if p.wants("day") {
		if err := p.days(); err != nil {
			return nil, err
		}
	}
	if p.wants("site") {
		p.site()
	}
	if p.wants("day") {
		p.windows()
	}
	for i := range c.Check.Slates {
		if x := &c.Check.Slates[i]; p.wants("slates") || slices.Contains(c.Only, x.Slate) {
			p.slate(x)
		}
	}
	if p.wants("packs") {
		p.packs()
	}
	if p.wants("radio") {
		p.radio()
	}
	if p.wants("permissions") {
		p.permissions()
	}
	if p.wants("risk") {
		p.risk()
	}
	if p.wants("emergency") {
		p.emergency()
	}
	if p.wants("checklists") {
		p.checklists()
	}
	if p.wants("survey") {
		p.survey()
	}
	if p.wants("forms") {
		p.forms()
	}
	if p.wants("cover") {
		p.Contents(p.contentsPage, contents, 2)
	}
	return p.Bytes()
}

// Check refuses a part or slate that there is not.
func Check(s *shoot.Shoot, only []string) error {
	for _, o := range only {
		if !slices.Contains(Parts, o) && s.Slate(o) == nil {
			return fmt.Errorf("the book has no part or slate %q; parts are %s", o, strings.Join(Parts, ", "))
		}
	}
	return nil
}

type printer struct {
	Content
	*sheet
	shoot        *shoot.Shoot
	dossier      *dossier.Case
	contentsPage int
	stories      map[string][]story
}

type sheet = paper.Sheet

// wants reports whether a part is to be printed.
func (p *printer) wants(part string) bool {
	return len(p.Only) == 0 || slices.Contains(p.Only, part)
}

// Styles of type that every page uses.
var (
	plain  = paper.Style{Pt: 8}
	strong = paper.Style{Pt: 8, Bold: true}
	little = paper.Style{Pt: 7.5}

	strongLittle = paper.Style{Pt: 7.5, Bold: true}
)

// unknownWord stands for every empty value.
const unknownWord = "unknown"

func or(s string) string {
	if s == "" {
		return unknownWord
	}
	return s
}

// number prints a value that may not be known.
func number(v *float64, format string) string {
	if v == nil {
		return unknownWord
	}
	return fmt.Sprintf(format, *v)
}

// limit prints a limit of the house or the maker that may not have been entered.
func limit(v float64, format string) string {
	if v == 0 {
		return unknownWord
	}
	return fmt.Sprintf(format, v)
}

func clock(t time.Time) string { return t.Format("15:04") }

// planned returns where the day puts a slate.
func (p *printer) planned(slate string) (starts []time.Time, where []string) {
	for _, d := range p.Sheet.Days {
		for i, s := range d.Sorties {
			for _, x := range s.Slates {
				if x.Slate == slate {
					starts = append(starts, x.Start)
					where = append(where, fmt.Sprintf("%s %s, sortie %d, pack %s", x.Start.Format("Mon 2 Jan"), clock(x.Start), i+1, s.Pack))
				}
			}
		}
	}
	return starts, where
}

// moment is when a slate is looked at: as planned, or at its best.
func (p *printer) moment(slate string, best time.Time) time.Time {
	if starts, _ := p.planned(slate); len(starts) > 0 {
		return starts[0]
	}
	return best
}

func (p *printer) leftOut(slate string) string {
	for _, l := range p.Sheet.LeftOut {
		if l.Slate == slate {
			return l.Reason
		}
	}
	return ""
}
