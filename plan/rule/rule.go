// Package rule holds rule profiles: the limits of a jurisdiction or of a house, as data,
// and says which of them a planned flight meets.
//
// A profile is a YAML file with an id, jurisdiction, title, source document, the date on
// which it was read, and rules. A rule limits quantities that the program computes or that
// the crew states, by name, with units in the file ("400 ft"); inside everything is SI.
// Crews add profiles of their own without touching code. The names are in Quantities.
//
// Source: each rule names its section and how far its numbers were confirmed; a number
// that was recalled and not looked up is marked "from memory", and the basis of every
// result repeats that mark.
//
// Validity: logic has three values. A fact that is missing makes a rule unknown unless the
// other facts settle it; unknown is never met. Comparisons allow one part in 1e9 for
// rounding.
//
// Not modelled: the law. A profile is an example that the crew must confirm with the
// authority; whether a limit applies to this flight is not decided here.
package rule

import (
	"fmt"
	"strings"
)

// Profile is a set of rules from one source.
type Profile struct {
	ID           string `yaml:"id"`
	Jurisdiction string `yaml:"jurisdiction"`
	Title        string `yaml:"title"`
	Source       string `yaml:"source"`  // the document
	Read         string `yaml:"read"`    // the day it was read, 2026-11-25
	Confirm      string `yaml:"confirm"` // what the user must confirm, and with whom
	Rules        []Rule `yaml:"rules"`
}

// Rule is one rule: its own Condition must hold wherever When holds.
type Rule struct {
	ID        string     `yaml:"id"`
	Title     string     `yaml:"title"`
	Section   string     `yaml:"section"`
	When      *Condition `yaml:"when,omitempty"` // nil: always
	Condition `yaml:",inline"`
	Permit    string   `yaml:"permit,omitempty"`   // a waiver or permission, by name, with which the rule may be exceeded
	Severity  Severity `yaml:"severity,omitempty"` // stop unless given
	Status    Status   `yaml:"status"`             // of the rule's numbers; a condition may carry its own
	Note      string   `yaml:"note,omitempty"`
	Mend      string   `yaml:"mend,omitempty"` // how a crew can meet it

	limit, basis string            // in words
	names        []string          // quantities of the condition
	symbols      map[string]string // the unit in which each one's limit is written
}

// Severity is what breaking a rule means.
type Severity string

// The severities.
const (
	Stop    Severity = "stop"
	Caution Severity = "caution"
)

// Status is how far a number was confirmed.
type Status string

// The statuses.
const (
	Confirmed  Status = "confirmed"   // quoted text of the source, or text about it, was seen
	FromMemory Status = "from memory" // recalled, not looked up
	HouseRule  Status = "house rule"  // the crew's own number
)

// Condition is a comparison of one quantity, or a combination of conditions. Exactly one
// of Quantity, All, Any and Not is given.
type Condition struct {
	Quantity string      `yaml:"quantity,omitempty"`
	AtMost   string      `yaml:"at_most,omitempty"`
	AtLeast  string      `yaml:"at_least,omitempty"`
	Below    string      `yaml:"below,omitempty"`
	Above    string      `yaml:"above,omitempty"`
	Is       *bool       `yaml:"is,omitempty"`       // for yes-or-no quantities
	OneOf    []string    `yaml:"one_of,omitempty"`   // for named choices
	Includes string      `yaml:"includes,omitempty"` // for lists of names
	All      []Condition `yaml:"all,omitempty"`
	Any      []Condition `yaml:"any,omitempty"`
	Not      *Condition  `yaml:"not,omitempty"`
	Mark     Status      `yaml:"mark,omitempty"` // status of this number where it differs from the rule's

	bounds []bound
}

// bound is one parsed comparison.
type bound struct {
	word   string // "at most"
	text   string // as written in the file
	symbol string // its unit
	si     float64
}

// Outcome is what a rule says of a flight.
type Outcome int

// The outcomes.
const (
	Unknown       Outcome = iota // a fact is missing
	Met                          // the limit holds
	Broken                       // the limit does not hold
	Permitted                    // the limit does not hold, and the permission for that is held
	NotApplicable                // the rule's own When does not hold
)

func (o Outcome) String() string {
	return [...]string{"unknown", "met", "broken", "permitted", "not applicable"}[o]
}

// MarshalText implements encoding.TextMarshaler.
func (o Outcome) MarshalText() ([]byte, error) { return []byte(o.String()), nil }

// Result is one rule's outcome, in words ready for a finding.
type Result struct {
	Profile  string   `json:"profile"`
	Rule     string   `json:"rule"`
	Outcome  Outcome  `json:"outcome"`
	Severity Severity `json:"severity"`
	What     string   `json:"what"`
	Value    string   `json:"value"` // the facts looked at
	Limit    string   `json:"limit"`
	Basis    string   `json:"basis"` // source, section, date read and status of the numbers
	Mend     string   `json:"mend,omitempty"`
	Missing  []string `json:"missing,omitempty"` // quantities without a fact that left the rule unknown
}

// prepare puts into words what does not change from flight to flight.
func (r *Rule) prepare(p *Profile) {
	r.names = r.quantities(nil)
	r.symbols = map[string]string{}
	r.each(func(leaf *Condition) {
		if _, seen := r.symbols[leaf.Quantity]; !seen && len(leaf.bounds) > 0 {
			r.symbols[leaf.Quantity] = leaf.bounds[0].symbol
		}
	})
	r.limit = r.String()
	if r.When != nil {
		r.limit += ", when " + r.When.String()
	}
	status := r.Status
	if r.marked(FromMemory) {
		status = FromMemory
	}
	r.basis = p.Source
	if r.Section != "" {
		r.basis += ", " + r.Section
	}
	r.basis += fmt.Sprintf(", read %s (%s)", p.Read, status)
	if r.Note != "" {
		r.basis += "; " + r.Note
	}
}

// Evaluate judges every rule of the profile by the facts, in the profile's order.
func Evaluate(p *Profile, facts Facts) []Result {
	results := make([]Result, len(p.Rules))
	for i := range p.Rules {
		results[i] = p.Rules[i].judge(p, facts)
	}
	return results
}

func (r *Rule) judge(p *Profile, facts Facts) Result {
	result := Result{
		Profile: p.ID, Rule: r.ID, Severity: r.Severity, What: r.Title, Limit: r.limit,
		Basis: r.basis, Mend: r.Mend,
	}
	applies := yes
	if r.When != nil {
		applies = r.When.hold(facts)
	}
	holds := r.hold(facts)
	switch {
	case applies == no:
		result.Outcome = NotApplicable
	case holds == yes: // whether it applies or not
		result.Outcome = Met
	case holds == no && applies == yes:
		result.Outcome = Broken
		if r.Permit != "" && facts[permissionsHeld].includes(r.Permit) {
			result.Outcome = Permitted
		}
	default:
		if r.When != nil && applies == unclear {
			result.Missing = r.When.missing(facts, result.Missing)
		}
		if holds == unclear {
			result.Missing = r.missing(facts, result.Missing)
		}
	}
	result.Value = r.describe(facts, result.Outcome == Unknown)
	if result.Outcome == Permitted {
		result.Value += "; held: " + r.Permit
	}
	return result
}

// truth is a truth value of three.
type truth int

const (
	no truth = iota
	unclear
	yes
)

// Holds says whether the condition holds by the facts; known is false when a missing fact
// leaves that open.
func (c *Condition) Holds(facts Facts) (holds, known bool) {
	t := c.hold(facts)
	return t == yes, t != unclear
}

// hold evaluates by Kleene's strong logic: all is the least, any the greatest, of the
// parts, with no < unclear < yes.
func (c *Condition) hold(facts Facts) truth {
	switch {
	case len(c.All) > 0:
		t := yes
		for i := range c.All {
			t = min(t, c.All[i].hold(facts))
		}
		return t
	case len(c.Any) > 0:
		t := no
		for i := range c.Any {
			t = max(t, c.Any[i].hold(facts))
		}
		return t
	case c.Not != nil:
		return yes - c.Not.hold(facts)
	}
	v, ok := facts.get(c.Quantity)
	if !ok {
		return unclear
	}
	switch Quantities[c.Quantity].Kind {
	case YesNo:
		return truthOf(v.yes == *c.Is)
	case Choice:
		for _, name := range c.OneOf {
			if name == v.names[0] {
				return yes
			}
		}
		return no
	case List:
		return truthOf(v.includes(c.Includes))
	}
	for _, b := range c.bounds {
		slack := 1e-9 * abs(b.si)
		ok := false
		switch b.word {
		case atMost:
			ok = v.number <= b.si+slack
		case atLeast:
			ok = v.number >= b.si-slack
		case below:
			ok = v.number < b.si-slack
		case above:
			ok = v.number > b.si+slack
		}
		if !ok {
			return no
		}
	}
	return yes
}

const (
	atMost  = "at most"
	atLeast = "at least"
	below   = "below"
	above   = "above"
)

func truthOf(b bool) truth {
	if b {
		return yes
	}
	return no
}

func abs(x float64) float64 { return max(x, -x) }

// String says the condition in words: "height above ground at most 400 ft".
func (c *Condition) String() string {
	switch {
	case len(c.All) > 0:
		return join(c.All, " and ")
	case len(c.Any) > 0:
		return join(c.Any, " or ")
	case c.Not != nil:
		return "not (" + c.Not.String() + ")"
	}
	name := words(c.Quantity)
	switch {
	case c.Is != nil && *c.Is:
		return name + " is yes"
	case c.Is != nil:
		return name + " is no"
	case len(c.OneOf) > 0:
		return name + " is " + strings.Join(c.OneOf, " or ")
	case c.Includes != "":
		return name + " include " + c.Includes
	}
	var parts []string
	for _, b := range c.bounds {
		parts = append(parts, b.word+" "+b.text)
	}
	return name + " " + strings.Join(parts, " and ")
}

func join(parts []Condition, word string) string {
	var text []string
	for i := range parts {
		t := parts[i].String()
		if len(parts[i].All)+len(parts[i].Any) > 0 && len(parts) > 1 {
			t = "(" + t + ")"
		}
		text = append(text, t)
	}
	return strings.Join(text, word)
}

func words(quantity string) string { return strings.ReplaceAll(quantity, "_", " ") }

// each visits the comparisons of the tree.
func (c *Condition) each(visit func(*Condition)) {
	for i := range c.All {
		c.All[i].each(visit)
	}
	for i := range c.Any {
		c.Any[i].each(visit)
	}
	if c.Not != nil {
		c.Not.each(visit)
	}
	if c.Quantity != "" {
		visit(c)
	}
}

// quantities appends the names in the tree, each once.
func (c *Condition) quantities(names []string) []string {
	c.each(func(leaf *Condition) { names = once(names, leaf.Quantity) })
	return names
}

// Missing returns the quantities of the condition for which there is no usable fact.
func (c *Condition) Missing(facts Facts) []string { return c.missing(facts, nil) }

func (c *Condition) missing(facts Facts, names []string) []string {
	for _, q := range c.quantities(nil) {
		if _, ok := facts.get(q); !ok {
			names = once(names, q)
		}
	}
	return names
}

func (c *Condition) marked(s Status) bool {
	found := false
	c.each(func(leaf *Condition) { found = found || leaf.Mark == s })
	return found
}

// describe writes the facts that the rule looks at, and on request those that are missing.
func (r *Rule) describe(facts Facts, missing bool) string {
	var b strings.Builder
	for _, name := range r.names {
		v, ok := facts.get(name)
		if !ok && !missing {
			continue
		}
		if b.Len() > 0 {
			b.WriteString(", ")
		}
		b.WriteString(words(name))
		b.WriteByte(' ')
		if ok {
			b.WriteString(v.text(Quantities[name].Kind, r.symbols[name]))
		} else {
			b.WriteString("unknown")
		}
	}
	return b.String()
}

func once(names []string, name string) []string {
	for _, n := range names {
		if n == name {
			return names
		}
	}
	return append(names, name)
}
