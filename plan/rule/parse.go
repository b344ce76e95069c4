package rule

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path"
	"regexp"
	"slices"
	"sort"
	"strings"
	"sync"
	"time"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

//go:embed profiles/*.yaml
var embedded embed.FS

// Examples returns the profiles that come with the program, by file name. They are
// examples to be confirmed with the authority, not law.
// They are shared: do not change them.
func Examples() []*Profile { return slices.Clone(examples()) }

var examples = sync.OnceValue(func() []*Profile {
	profiles, err := Load(embedded, "profiles")
	if err != nil {
		panic("rule: an embedded profile is broken: " + err.Error()) // a test reads them all
	}
	return profiles
})

// Load reads every .yaml and .yml file in a folder, in order of name. Two profiles with one
// id are an error.
func Load(files fs.FS, folder string) ([]*Profile, error) {
	entries, err := fs.ReadDir(files, folder)
	if err != nil {
		return nil, fmt.Errorf("folder of rule profiles: %w", err)
	}
	var profiles []*Profile
	seen := map[string]string{}
	for _, e := range entries {
		if ext := path.Ext(e.Name()); e.IsDir() || ext != ".yaml" && ext != ".yml" {
			continue
		}
		data, err := fs.ReadFile(files, path.Join(folder, e.Name()))
		if err != nil {
			return nil, fmt.Errorf("rule profile: %w", err)
		}
		p, err := Parse(e.Name(), data)
		if err != nil {
			return nil, err
		}
		if other, ok := seen[p.ID]; ok {
			return nil, fmt.Errorf("%s and %s both have the id %q; rename one", other, e.Name(), p.ID)
		}
		seen[p.ID] = e.Name()
		profiles = append(profiles, p)
	}
	return profiles, nil
}

// Error is a mistake in a profile file.
type Error struct {
	File         string
	Line, Column int    // 0 when the whole file is meant
	Problem      string // what is wrong and what would do
}

func (e *Error) Error() string {
	if e.Line == 0 {
		return e.File + ": " + e.Problem
	}
	return fmt.Sprintf("%s:%d:%d: %s", e.File, e.Line, e.Column, e.Problem)
}

// maxBytes and maxDepth keep a hostile file from costing time.
const (
	maxBytes = 1 << 20
	maxDepth = 16
)

// Parse reads one profile. Errors are of type *Error with line and column: broken YAML, an
// unknown key, a missing field, an unknown quantity, a limit without its unit.
func Parse(file string, data []byte) (*Profile, error) {
	if len(data) > maxBytes {
		return nil, &Error{File: file, Problem: fmt.Sprintf("%d bytes; a profile has at most %d", len(data), maxBytes)}
	}
	var p Profile
	if err := Decode(file, data, &p); err != nil {
		return nil, err
	}
	c := NewChecker(file, data)
	c.profile(&p)
	if c.err != nil {
		return nil, c.err
	}
	for i := range p.Rules {
		p.Rules[i].prepare(&p)
	}
	return &p, nil
}

// Decode reads strict YAML: an unknown or repeated key is an error, with its place.
func Decode(file string, data []byte, into any) error {
	if bytes.ContainsAny(data, "\x00") {
		return &Error{File: file, Problem: "holds a zero byte; expected YAML text"}
	}
	return guarded(file, func() error { return yaml.NewDecoder(bytes.NewReader(data), yaml.Strict()).Decode(into) })
}

// guarded turns the YAML library's errors, and any panic on odd input, into an *Error.
func guarded(file string, read func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = &Error{File: file, Problem: "this YAML cannot be read"}
		}
	}()
	if err := read(); err != nil {
		return yamlError(file, err)
	}
	return nil
}

func yamlError(file string, err error) error {
	e := &Error{File: file, Problem: err.Error()}
	var y yaml.Error
	if errors.As(err, &y) {
		e.Problem = y.GetMessage()
		if t := y.GetToken(); t != nil && t.Position != nil {
			e.Line, e.Column = t.Position.Line, t.Position.Column
		}
	}
	if e.Problem == "EOF" {
		e.Problem = "the file is empty; a profile begins with id: and jurisdiction:"
	}
	if strings.Contains(e.Problem, "max depth") {
		e.Problem = "nested too deeply, or an alias that refers to itself"
	}
	return e
}

// Checker checks the meaning of a YAML file that was decoded, and keeps the first mistake
// with its line and column. It serves every file in which conditions stand.
type Checker struct {
	file string
	data []byte
	err  error
}

// NewChecker returns a Checker for the text of a file.
func NewChecker(file string, data []byte) *Checker { return &Checker{file: file, data: data} }

// Err returns the first mistake, of type *Error, or nil.
func (c *Checker) Err() error { return c.err }

// Fail records a mistake at a YAML path such as $.rules[2].at_most.
func (c *Checker) Fail(at, format string, args ...any) {
	if c.err != nil {
		return
	}
	e := &Error{File: c.file, Problem: fmt.Sprintf(format, args...)}
	e.Line, e.Column = c.position(at)
	c.err = e
}

// position finds the node at the path, or the nearest one above it.
func (c *Checker) position(at string) (line, column int) {
	var tree *ast.File
	if guarded(c.file, func() (err error) { tree, err = parser.ParseBytes(c.data, 0); return err }) != nil {
		return 0, 0
	}
	for at != "" && at != "$" {
		if p, err := yaml.PathString(at); err == nil {
			if node, err := p.FilterFile(tree); err == nil && node != nil && node.GetToken() != nil && node.GetToken().Position != nil {
				return node.GetToken().Position.Line, node.GetToken().Position.Column
			}
		}
		at = at[:max(0, strings.LastIndexAny(at, ".["))]
	}
	return 0, 0
}

// Need records a mistake when a text field is empty.
func (c *Checker) Need(at, key, value string) {
	if strings.TrimSpace(value) == "" {
		c.Fail(at, "%s is missing; add %s: with text", key, key)
	}
}

func (c *Checker) profile(p *Profile) {
	for _, f := range [][2]string{{"id", p.ID}, {"jurisdiction", p.Jurisdiction}, {"title", p.Title}, {"source", p.Source}, {"read", p.Read}, {"confirm", p.Confirm}} {
		c.Need("$."+f[0], f[0], f[1])
	}
	if _, err := time.Parse(time.DateOnly, p.Read); err != nil {
		c.Fail("$.read", "%q is not a date; write the day on which the source was read as 2026-11-25", p.Read)
	}
	if len(p.Rules) == 0 {
		c.Fail("$.rules", "the profile has no rules; add at least one under rules:")
	}
	seen := map[string]bool{}
	for i := range p.Rules {
		r, at := &p.Rules[i], fmt.Sprintf("$.rules[%d]", i)
		c.Need(at, "id", r.ID)
		c.Need(at, "title", r.Title)
		if seen[r.ID] {
			c.Fail(at+".id", "the id %q is used twice; rename one rule", r.ID)
		}
		seen[r.ID] = true
		if r.Severity == "" {
			r.Severity = Stop
		}
		if r.Severity != Stop && r.Severity != Caution {
			c.Fail(at+".severity", "severity %q is not stop or caution", r.Severity)
		}
		c.status(at+".status", r.Status)
		c.Condition(at, &r.Condition)
		if r.When != nil {
			c.Condition(at+".when", r.When)
		}
	}
}

func (c *Checker) status(at string, s Status) {
	if s != Confirmed && s != FromMemory && s != HouseRule {
		c.Fail(at, "status %q is not one of confirmed, from memory, house rule", s)
	}
}

// Condition checks a condition that stands at a YAML path, and makes it ready for use.
func (c *Checker) Condition(at string, k *Condition) { c.nested(at, k, 0) }

func (c *Checker) nested(at string, k *Condition, depth int) {
	if depth > maxDepth {
		c.Fail(at, "conditions are nested more than %d deep", maxDepth)
		return
	}
	if k.Mark != "" {
		c.status(at+".mark", k.Mark)
	}
	forms := 0
	for _, given := range []bool{k.Quantity != "", len(k.All) > 0, len(k.Any) > 0, k.Not != nil} {
		if given {
			forms++
		}
	}
	if forms != 1 {
		c.Fail(at, "a condition has exactly one of quantity, all, any and not; this has %d", forms)
		return
	}
	for i := range k.All {
		c.nested(fmt.Sprintf("%s.all[%d]", at, i), &k.All[i], depth+1)
	}
	for i := range k.Any {
		c.nested(fmt.Sprintf("%s.any[%d]", at, i), &k.Any[i], depth+1)
	}
	if k.Not != nil {
		c.nested(at+".not", k.Not, depth+1)
	}
	c.comparison(at, k)
}

func (c *Checker) comparison(at string, k *Condition) {
	q, ok := Quantities[k.Quantity]
	if k.Quantity != "" && !ok {
		c.Fail(at+".quantity", "%q is not a quantity%s", k.Quantity, suggest(k.Quantity))
		return
	}
	limits := []struct{ word, key, text string }{
		{atLeast, "at_least", k.AtLeast}, {above, "above", k.Above}, {atMost, "at_most", k.AtMost}, {below, "below", k.Below}}
	isNumber := k.Quantity != "" && q.Kind >= Number
	k.bounds = nil
	for _, l := range limits {
		if l.text == "" {
			continue
		}
		if !isNumber {
			c.Fail(at+"."+l.key, "%s needs a quantity that is measured%s", l.key, kindHint(k.Quantity, q))
			return
		}
		v, err := measures[q.Kind].parse(l.text)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			if q.Kind == Number {
				err = fmt.Errorf("%q is not a number", l.text)
			}
			c.Fail(at+"."+l.key, "%s: %v", k.Quantity, err)
			return
		}
		k.bounds = append(k.bounds, bound{l.word, l.text, symbolOf(l.text, measures[q.Kind]), v})
	}
	switch {
	case k.Quantity == "":
		if k.Is != nil || len(k.OneOf) > 0 || k.Includes != "" {
			c.Fail(at, "is, one_of and includes belong beside a quantity")
		}
	case isNumber != (len(k.bounds) > 0), (q.Kind == YesNo) != (k.Is != nil), (q.Kind == Choice) != (len(k.OneOf) > 0), (q.Kind == List) != (k.Includes != ""):
		want := "at_most, at_least, below or above"
		switch q.Kind {
		case YesNo:
			want = "is: true or is: false"
		case Choice:
			want = "one_of: [names]"
		case List:
			want = "includes: name"
		}
		c.Fail(at, "%s is a %s: give %s, and nothing else", k.Quantity, q.Kind, want)
	}
}

func kindHint(name string, q Quantity) string {
	if name == "" {
		return "; put it beside a quantity"
	}
	return fmt.Sprintf("; %s is a %s", name, q.Kind)
}

var numberThenSymbol = regexp.MustCompile(`^[-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?(?:/[0-9.]+)?\s*(.*)$`)

// symbolOf returns the unit of "400 ft", or the kind's own where it cannot be told.
func symbolOf(text string, m measure) string {
	if found := numberThenSymbol.FindStringSubmatch(strings.TrimSpace(text)); found != nil {
		if _, err := m.parse("1 " + found[1]); err == nil {
			return found[1]
		}
	}
	return m.si
}

// Find returns the profile with the id.
func Find(profiles []*Profile, id string) (*Profile, error) {
	var ids []string
	for _, p := range profiles {
		if p.ID == id {
			return p, nil
		}
		ids = append(ids, p.ID)
	}
	sort.Strings(ids)
	return nil, fmt.Errorf("no rule profile %q; there are %s", id, strings.Join(ids, ", "))
}
