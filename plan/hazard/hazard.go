// Package hazard writes a risk assessment and method statement from what was computed of a
// flight and what the crew adds, and the checklists that go with it.
//
// Likelihood and severity are positions on the crew's own matrix, counted from 1; a matrix,
// a list of hazards and the checklists are YAML files that the crew may replace.
//
// Source: the form (hazard, who, likelihood and severity before and after, control, owner,
// residual) is common practice, no source; so are the numbers in the files that come with
// the program.
//
// Validity: what is not known counts against the flight. A worsening fact that is
// missing worsens; a control whose fact is missing does not help; a control that no fact
// can show helps only once the crew has accepted it.
//
// Not modelled: probability. The numbers rank hazards and say nothing of how often
// anything happens; the judgement stays with the crew.
package hazard

import (
	"embed"
	"fmt"
	"strings"
	"sync"

	"fieldfare/plan/rule"
)

//go:embed data/*.yaml
var embedded embed.FS

// Matrix ranks likelihood against severity.
type Matrix struct {
	ID         string     `yaml:"id"`
	Likelihood []string   `yaml:"likelihood"` // names, least likely first
	Severity   []string   `yaml:"severity"`   // names, mildest first
	Bands      []Band     `yaml:"bands"`      // lowest first
	Cells      [][]string `yaml:"cells"`      // band names: a row for each likelihood, a column for each severity
}

// Band is a level of risk and what the house says to it.
type Band struct {
	Name   string `yaml:"name" json:"name"`
	Accept string `yaml:"accept" json:"accept"`
}

// Hazard is one hazard as a file describes it.
type Hazard struct {
	ID         string          `yaml:"id"`
	Hazard     string          `yaml:"hazard"`
	Who        []string        `yaml:"who"`
	Applies    *rule.Condition `yaml:"applies,omitempty"` // nil: always
	Likelihood int             `yaml:"likelihood"`
	Severity   int             `yaml:"severity"`
	Raise      []Raise         `yaml:"raise,omitempty"`
	Controls   []Control       `yaml:"controls,omitempty"`
}

// Raise is a fact that makes a hazard worse.
type Raise struct {
	When       rule.Condition `yaml:"when"`
	Likelihood int            `yaml:"likelihood,omitempty"` // steps up
	Severity   int            `yaml:"severity,omitempty"`
	Because    string         `yaml:"because"`
}

// Control is a measure that makes a hazard better.
type Control struct {
	ID         string          `yaml:"id"`
	Text       string          `yaml:"text"`
	Owner      string          `yaml:"owner"`
	When       *rule.Condition `yaml:"when,omitempty"`       // the fact that shows it is in place
	Likelihood int             `yaml:"likelihood,omitempty"` // steps down
	Severity   int             `yaml:"severity,omitempty"`
}

// Library is the crew's matrix, hazards and checklists.
type Library struct {
	Matrix     Matrix
	Hazards    []Hazard
	Checklists []Checklist
}

// Checklist is a list of things to do at one time of the day.
type Checklist struct {
	ID    string `yaml:"id" json:"id"`
	Title string `yaml:"title" json:"title"`
	Items []Item `yaml:"items" json:"items"`
}

// Item is one thing to do.
type Item struct {
	Text   string          `yaml:"text" json:"text"`
	When   *rule.Condition `yaml:"when,omitempty" json:"-"` // nil: always
	Unsure string          `yaml:"-" json:"unsure,omitempty"`
}

// Standard returns the library that comes with the program.
func Standard() *Library {
	l := standard()
	return &l
}

var standard = sync.OnceValue(func() (l Library) {
	for _, part := range []struct {
		file string
		read func(string, []byte) error
	}{{"matrix.yaml", l.ReadMatrix}, {"hazards.yaml", l.ReadHazards}, {"checklists.yaml", l.ReadChecklists}} {
		data, err := embedded.ReadFile("data/" + part.file)
		if err == nil {
			err = part.read(part.file, data)
		}
		if err != nil {
			panic("hazard: an embedded file is broken: " + err.Error()) // a test reads them all
		}
	}
	return l
})

// ReadMatrix replaces the matrix. Errors are of type *rule.Error.
func (l *Library) ReadMatrix(file string, data []byte) error {
	var m Matrix
	c, err := decode(file, data, &m)
	if err != nil {
		return err
	}
	m.check(c)
	if c.Err() == nil {
		l.Matrix = m
	}
	return c.Err()
}

// ReadHazards replaces the hazards. Errors are of type *rule.Error.
func (l *Library) ReadHazards(file string, data []byte) error {
	var f struct {
		Hazards []Hazard `yaml:"hazards"`
	}
	c, err := decode(file, data, &f)
	if err != nil {
		return err
	}
	seen := map[string]bool{}
	for i := range f.Hazards {
		f.Hazards[i].check(c, fmt.Sprintf("$.hazards[%d]", i), seen)
	}
	if c.Err() == nil {
		l.Hazards = f.Hazards
	}
	return c.Err()
}

// ReadChecklists replaces the checklists. Errors are of type *rule.Error.
func (l *Library) ReadChecklists(file string, data []byte) error {
	var f struct {
		Checklists []Checklist `yaml:"checklists"`
	}
	c, err := decode(file, data, &f)
	if err != nil {
		return err
	}
	for i, list := range f.Checklists {
		at := fmt.Sprintf("$.checklists[%d]", i)
		c.Need(at, "id", list.ID)
		c.Need(at, "title", list.Title)
		for j := range list.Items {
			here := fmt.Sprintf("%s.items[%d]", at, j)
			c.Need(here, "text", list.Items[j].Text)
			if list.Items[j].When != nil {
				c.Condition(here+".when", list.Items[j].When)
			}
		}
	}
	if c.Err() == nil {
		l.Checklists = f.Checklists
	}
	return c.Err()
}

func decode(file string, data []byte, into any) (*rule.Checker, error) {
	if err := rule.Decode(file, data, into); err != nil {
		return nil, err
	}
	return rule.NewChecker(file, data), nil
}

// check wants a full matrix in which more is never better.
func (m *Matrix) check(c *rule.Checker) {
	c.Need("$", "id", m.ID)
	if len(m.Likelihood) < 2 || len(m.Severity) < 2 || len(m.Bands) < 2 {
		c.Fail("$", "a matrix has at least two names each of likelihood, severity and bands")
	}
	if len(m.Cells) != len(m.Likelihood) {
		c.Fail("$.cells", "%d rows for %d names of likelihood; give one row for each", len(m.Cells), len(m.Likelihood))
		return
	}
	for i, row := range m.Cells {
		if len(row) != len(m.Severity) {
			c.Fail(fmt.Sprintf("$.cells[%d]", i), "%d cells for %d names of severity; give one for each", len(row), len(m.Severity))
			return
		}
		for j, name := range row {
			at := fmt.Sprintf("$.cells[%d][%d]", i, j)
			rank := m.rank(name)
			if rank < 0 {
				c.Fail(at, "%q is not one of the bands", name)
				return
			}
			if i > 0 && m.rank(m.Cells[i-1][j]) > rank || j > 0 && m.rank(row[j-1]) > rank {
				c.Fail(at, "%q here ranks below a cell of less likelihood or severity; more can never be better", name)
			}
		}
	}
}

func (m *Matrix) rank(band string) int {
	for i, b := range m.Bands {
		if b.Name == band {
			return i
		}
	}
	return -1
}

func (h *Hazard) check(c *rule.Checker, at string, seen map[string]bool) {
	c.Need(at, "id", h.ID)
	c.Need(at, "hazard", h.Hazard)
	if len(h.Who) == 0 {
		c.Fail(at, "who is missing; name who is at risk")
	}
	if seen[h.ID] {
		c.Fail(at+".id", "the id %q is used twice; rename one", h.ID)
	}
	seen[h.ID] = true
	steps := func(here string, likelihood, severity int, least int) {
		if likelihood < least || severity < least || likelihood > 20 || severity > 20 {
			c.Fail(here, "likelihood %d and severity %d; expected %d to 20", likelihood, severity, least)
		}
	}
	steps(at, h.Likelihood, h.Severity, 1)
	if h.Applies != nil {
		c.Condition(at+".applies", h.Applies)
	}
	for i := range h.Raise {
		here := fmt.Sprintf("%s.raise[%d]", at, i)
		c.Need(here, "because", h.Raise[i].Because)
		steps(here, h.Raise[i].Likelihood, h.Raise[i].Severity, 0)
		c.Condition(here+".when", &h.Raise[i].When)
	}
	for i := range h.Controls {
		k, here := &h.Controls[i], fmt.Sprintf("%s.controls[%d]", at, i)
		c.Need(here, "id", k.ID)
		c.Need(here, "text", k.Text)
		c.Need(here, "owner", k.Owner)
		steps(here, k.Likelihood, k.Severity, 0)
		if seen["control "+k.ID] {
			c.Fail(here+".id", "the control id %q is used twice; rename one", k.ID)
		}
		seen["control "+k.ID] = true
		if k.When != nil {
			c.Condition(here+".when", k.When)
		}
	}
}

// State says whether a control counts.
type State string

// The states.
const (
	InPlace  State = "in place" // its fact holds
	Accepted State = "accepted" // by the crew
	Proposed State = "proposed" // nobody has accepted it; it does not count
	NotMet   State = "not met"  // its fact does not hold
	Unknown  State = "unknown"  // its fact is missing; it does not count
)

// Risk is a place on the matrix.
type Risk struct {
	Likelihood     int    `json:"likelihood"`
	Severity       int    `json:"severity"`
	LikelihoodName string `json:"likelihood_name"`
	SeverityName   string `json:"severity_name"`
	Band           Band   `json:"band"`
}

// Measure is a control in one assessment.
type Measure struct {
	ID    string `json:"id"`
	Text  string `json:"text"`
	Owner string `json:"owner"`
	State State  `json:"state"`
}

// Row is one line of the risk assessment.
type Row struct {
	ID       string    `json:"id"`
	Hazard   string    `json:"hazard"`
	Who      []string  `json:"who"`
	Before   Risk      `json:"before"`
	Worse    []string  `json:"worse,omitempty"` // what raised it
	Measures []Measure `json:"controls"`
	Residual Risk      `json:"residual"`
	Missing  []string  `json:"missing,omitempty"` // quantities that are not known and would change the row
}

// Decision is what the crew adds to the computed facts.
type Decision struct {
	Accepted []string             // ids of controls that the crew will carry out
	Added    map[string][]Control // the crew's own controls, by hazard id; they count
}

// Assess writes the risk assessment. An accepted or added id that no hazard or control has is
// an error, so that no mitigation is lost by a misspelling.
func (l *Library) Assess(facts rule.Facts, d Decision) ([]Row, error) {
	accepted := map[string]bool{}
	for _, id := range d.Accepted {
		accepted[id] = false
	}
	added := len(d.Added)
	var rows []Row
	for i := range l.Hazards {
		h := &l.Hazards[i]
		own, has := d.Added[h.ID]
		if has {
			added--
		}
		for _, k := range h.Controls {
			if _, ok := accepted[k.ID]; ok {
				accepted[k.ID] = true
			}
		}
		if h.Applies != nil {
			if holds, known := h.Applies.Holds(facts); known && !holds {
				continue
			}
		}
		rows = append(rows, l.row(h, facts, accepted, own))
	}
	for _, id := range d.Accepted {
		if !accepted[id] {
			return nil, fmt.Errorf("accepted control %q is in no hazard; check its id", id)
		}
	}
	if added > 0 {
		return nil, fmt.Errorf("controls were added to a hazard that the list does not have; its ids are %s", strings.Join(l.ids(), ", "))
	}
	return rows, nil
}

func (l *Library) ids() []string {
	ids := make([]string, len(l.Hazards))
	for i, h := range l.Hazards {
		ids[i] = h.ID
	}
	return ids
}

func (l *Library) row(h *Hazard, facts rule.Facts, accepted map[string]bool, own []Control) Row {
	row := Row{ID: h.ID, Hazard: h.Hazard, Who: h.Who}
	likelihood, severity := h.Likelihood, h.Severity
	if h.Applies != nil {
		if _, known := h.Applies.Holds(facts); !known {
			row.miss(h.Applies.Missing(facts))
		}
	}
	for i := range h.Raise {
		r := &h.Raise[i]
		holds, known := r.When.Holds(facts)
		if known && !holds {
			continue
		}
		likelihood += r.Likelihood
		severity += r.Severity
		because := r.Because
		if !known {
			missing := r.When.Missing(facts)
			row.miss(missing)
			because = "taken as worse, not known: " + r.When.String()
		}
		row.Worse = append(row.Worse, because)
	}
	row.Before = l.Matrix.at(likelihood, severity)
	likelihood, severity = row.Before.Likelihood, row.Before.Severity
	for _, k := range h.Controls {
		state := Proposed
		if k.When != nil {
			holds, known := k.When.Holds(facts)
			switch {
			case !known:
				state = Unknown
				row.miss(k.When.Missing(facts))
			case holds:
				state = InPlace
			default:
				state = NotMet
			}
		} else if accepted[k.ID] {
			state = Accepted
		}
		if state == InPlace || state == Accepted {
			likelihood -= k.Likelihood
			severity -= k.Severity
		}
		row.Measures = append(row.Measures, Measure{k.ID, k.Text, k.Owner, state})
	}
	for _, k := range own {
		likelihood -= max(0, k.Likelihood)
		severity -= max(0, k.Severity)
		row.Measures = append(row.Measures, Measure{k.ID, k.Text, k.Owner, Accepted})
	}
	row.Residual = l.Matrix.at(likelihood, severity)
	return row
}

func (r *Row) miss(names []string) {
	for _, n := range names {
		known := false
		for _, m := range r.Missing {
			known = known || m == n
		}
		if !known {
			r.Missing = append(r.Missing, n)
		}
	}
}

// at returns the place on the matrix, held within its edges.
func (m *Matrix) at(likelihood, severity int) Risk {
	i := min(max(likelihood, 1), len(m.Likelihood))
	j := min(max(severity, 1), len(m.Severity))
	return Risk{i, j, m.Likelihood[i-1], m.Severity[j-1], m.Bands[m.rank(m.Cells[i-1][j-1])]}
}

// Checks returns the checklists for a flight: items whose fact does not hold are left out,
// items whose fact is not known are kept and say so.
func (l *Library) Checks(facts rule.Facts) []Checklist {
	lists := make([]Checklist, len(l.Checklists))
	for i, list := range l.Checklists {
		lists[i] = Checklist{ID: list.ID, Title: list.Title}
		for _, item := range list.Items {
			if item.When != nil {
				holds, known := item.When.Holds(facts)
				switch {
				case !known:
					item.Unsure = "if " + item.When.String()
				case !holds:
					continue
				}
			}
			lists[i].Items = append(lists[i].Items, item)
		}
	}
	return lists
}
