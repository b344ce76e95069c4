package shoot

import (
	"bytes"
	"encoding"
	"fmt"
	"reflect"
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// Mistake is one thing wrong in a file, placed where a person can mend it.
type Mistake struct {
	File   string `json:"file"`
	Line   int    `json:"line,omitempty"`
	Column int    `json:"column,omitempty"`
	Field  string `json:"field,omitempty"`
	Value  string `json:"value,omitempty"`
	What   string `json:"what"`
	Mend   string `json:"mend,omitempty"`
	Source string `json:"source_line,omitempty"` // the offending line as written
}

func (m Mistake) Error() string {
	var b strings.Builder
	b.WriteString(m.File)
	if m.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", m.Line, m.Column)
	}
	b.WriteString(": ")
	if m.Field != "" {
		b.WriteString(m.Field + ": ")
	}
	b.WriteString(m.What)
	if m.Mend != "" {
		b.WriteString("; " + m.Mend)
	}
	if m.Source != "" {
		fmt.Fprintf(&b, "\n%6d | %s\n       | %s^", m.Line, m.Source, strings.Repeat(" ", max(0, m.Column-1)))
	}
	return b.String()
}

// Mistakes is every mistake found in a shoot folder, in file order.
type Mistakes []Mistake

func (m Mistakes) Error() string {
	lines := make([]string, 0, len(m)+1)
	if len(m) > 1 {
		lines = append(lines, fmt.Sprintf("%d mistakes in the shoot folder", len(m)))
	}
	for _, one := range m {
		lines = append(lines, one.Error())
	}
	return strings.Join(lines, "\n")
}

// mark is where a value stands in a file.
type mark struct {
	file         string
	line, column int
	source       string
}

// marks finds the place of a value by its path, as "slates[3].lens".
type marks map[string]mark

func (m marks) at(path, what, mend, value string) Mistake {
	at, shown := m[path], path
	for at.file == "" && path != "" {
		cut := strings.LastIndexAny(path, ".[")
		if cut < 0 {
			path = ""
		} else {
			path = path[:cut]
		}
		at = m[path]
	}
	return Mistake{File: at.file, Line: at.line, Column: at.column, Field: shown, Value: value, What: what, Mend: mend, Source: at.source}
}

// decoder fills Go structs from a YAML tree, keeping the place of every value and
// collecting all mistakes instead of stopping at the first.
type decoder struct {
	file     string
	lines    []string
	marks    marks
	mistakes Mistakes
}

// decode reads src into target. Places of values are added to m under prefix.
func decode(file string, src []byte, target any, m marks) Mistakes {
	d := &decoder{file: file, lines: strings.Split(string(src), "\n"), marks: m}
	if !utf8.Valid(src) {
		line := 1
		for rest := src; len(rest) > 0; {
			r, n := utf8.DecodeRune(rest)
			if r == utf8.RuneError && n == 1 {
				break
			}
			if r == '\n' {
				line++
			}
			rest = rest[n:]
		}
		d.mistakes = append(d.mistakes, Mistake{File: file, Line: line, Column: 1, What: "a character here is not UTF-8", Mend: "save the file as UTF-8 text"})
		return d.mistakes
	}
	src = bytes.TrimPrefix(src, []byte("\ufeff")) // some editors put a mark before the text
	d.lines[0] = strings.TrimPrefix(d.lines[0], "\ufeff")
	tree, err := parser.ParseBytes(src, 0)
	if err != nil {
		d.syntax(err)
		return d.mistakes
	}
	m[""] = mark{file: file}
	switch {
	case len(tree.Docs) == 0 || tree.Docs[0].Body == nil:
		d.mistakes = append(d.mistakes, Mistake{File: file, What: "the file is empty", Mend: "`fieldfare new DIR` writes one to start from"})
	case len(tree.Docs) > 1:
		d.mistakes = append(d.mistakes, Mistake{File: file, What: "the file holds several YAML documents", Mend: "keep one and remove the --- lines"})
	default:
		d.value(tree.Docs[0].Body, reflect.ValueOf(target).Elem(), "", field{})
	}
	return d.mistakes
}

func (d *decoder) syntax(err error) {
	m := Mistake{File: d.file, What: "not YAML: " + firstLine(err.Error()), Mend: "check indentation, colons and quotes on this line"}
	var line, column int
	if _, scan := fmt.Sscanf(err.Error(), "[%d:%d]", &line, &column); scan == nil {
		m.Line, m.Column, m.Source = line, column, d.line(line)
	}
	d.mistakes = append(d.mistakes, m)
}

func firstLine(s string) string {
	s, _, _ = strings.Cut(s, "\n")
	if strings.HasPrefix(s, "[") {
		if _, rest, ok := strings.Cut(s, "] "); ok {
			return rest
		}
	}
	return s
}

func (d *decoder) line(n int) string {
	if n < 1 || n > len(d.lines) {
		return ""
	}
	return strings.TrimRight(d.lines[n-1], "\r")
}

func (d *decoder) place(t *token.Token) mark {
	if t == nil || t.Position == nil {
		return mark{file: d.file}
	}
	return mark{d.file, t.Position.Line, t.Position.Column, d.line(t.Position.Line)}
}

func (d *decoder) complain(t *token.Token, path, value, what, mend string) {
	at := d.place(t)
	d.mistakes = append(d.mistakes, Mistake{d.file, at.line, at.column, path, value, what, mend, at.source})
}

// field is what a struct tag says of a value.
type field struct {
	name string
	need bool
	one  []string
	doc  string
}

func fieldOf(f reflect.StructField) field {
	name, _, _ := strings.Cut(f.Tag.Get("yaml"), ",")
	out := field{name: name, need: f.Tag.Get("need") == "yes", doc: f.Tag.Get("doc")}
	if one := f.Tag.Get("one"); one != "" {
		out.one = strings.Split(one, ",")
	}
	return out
}

var textUnmarshaler = reflect.TypeFor[encoding.TextUnmarshaler]()

func (d *decoder) value(n ast.Node, v reflect.Value, path string, f field) {
	for {
		switch wrapped := n.(type) {
		case *ast.TagNode:
			n = wrapped.Value
			continue
		case *ast.AnchorNode, *ast.AliasNode, *ast.MergeKeyNode:
			d.complain(n.GetToken(), path, "", "anchors and aliases are not read here", "write the value out")
			return
		}
		break
	}
	if _, seen := d.marks[path]; !seen || path != "" {
		d.marks[path] = d.place(first(n))
	}
	if v.Kind() == reflect.Pointer {
		if _, null := n.(*ast.NullNode); null {
			return
		}
		v.Set(reflect.New(v.Type().Elem()))
		d.value(n, v.Elem(), path, f)
		return
	}
	if _, null := n.(*ast.NullNode); null {
		if f.need {
			d.complain(n.GetToken(), path, "", "the value is missing", "it must be given: "+f.doc)
		}
		return
	}
	if v.CanAddr() && v.Addr().Type().Implements(textUnmarshaler) {
		text, ok := scalar(n)
		if !ok {
			d.complain(first(n), path, "", "expected a single value here", "write it on the same line as the key")
			return
		}
		if err := v.Addr().Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(text)); err != nil {
			d.complain(n.GetToken(), path, text, err.Error(), "")
		}
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		d.mapping(n, v, path)
	case reflect.Slice:
		d.sequence(n, v, path, f)
	case reflect.String:
		text, ok := scalar(n)
		if !ok {
			d.complain(first(n), path, "", "expected text here", "write it on the same line as the key")
			return
		}
		v.SetString(text)
		d.choice(n, text, path, f)
	case reflect.Bool:
		if b, ok := n.(*ast.BoolNode); ok {
			v.SetBool(b.Value)
			return
		}
		text, _ := scalar(n)
		d.complain(first(n), path, text, "expected true or false", "write true or false")
	case reflect.Int:
		text, _ := scalar(n)
		i, err := strconv.Atoi(text)
		if err != nil {
			d.complain(first(n), path, text, fmt.Sprintf("expected a whole number, found %q", text), "write digits only")
			return
		}
		v.SetInt(int64(i))
	case reflect.Float64:
		text, _ := scalar(n)
		x, err := strconv.ParseFloat(text, 64)
		if err != nil || x != x || x > 1e300 || x < -1e300 {
			d.complain(first(n), path, text, fmt.Sprintf("expected a number, found %q", text), "write a plain number")
			return
		}
		v.SetFloat(x)
	default:
		panic("shoot: cannot read into " + v.Type().String())
	}
}

func (d *decoder) choice(n ast.Node, text, path string, f field) {
	if len(f.one) == 0 || text == "" {
		return
	}
	for _, ok := range f.one {
		if text == ok {
			return
		}
	}
	d.complain(n.GetToken(), path, text, fmt.Sprintf("%q is not one of the words for this", text), suggest(text, f.one))
}

func first(n ast.Node) *token.Token {
	switch m := n.(type) {
	case *ast.MappingNode:
		if len(m.Values) > 0 {
			return m.Values[0].Key.GetToken()
		}
	case *ast.MappingValueNode:
		return m.Key.GetToken()
	}
	return n.GetToken()
}

func scalar(n ast.Node) (string, bool) {
	switch s := n.(type) {
	case *ast.StringNode:
		return s.Value, true
	case *ast.LiteralNode:
		return strings.TrimSpace(s.Value.Value), true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return n.GetToken().Value, true
	}
	return "", false
}

func (d *decoder) mapping(n ast.Node, v reflect.Value, path string) {
	var pairs []*ast.MappingValueNode
	switch m := n.(type) {
	case *ast.MappingNode:
		pairs = m.Values
	case *ast.MappingValueNode:
		pairs = []*ast.MappingValueNode{m}
	default:
		text, _ := scalar(n)
		d.complain(first(n), path, text, "expected keys with values here", "write key: value lines, indented")
		return
	}
	fields := map[string]int{}
	names := []string{}
	for i := range v.NumField() {
		if f := fieldOf(v.Type().Field(i)); f.name != "" && f.name != "-" {
			fields[f.name] = i
			names = append(names, f.name)
		}
	}
	seen := map[string]bool{}
	for _, pair := range pairs {
		key := pair.Key.String()
		i, known := fields[key]
		at := join(path, key)
		switch {
		case !known:
			d.complain(pair.Key.GetToken(), at, key, fmt.Sprintf("unknown key %q", key), suggest(key, names))
		case seen[key]:
			d.complain(pair.Key.GetToken(), at, key, fmt.Sprintf("key %q stands twice", key), "keep one of them")
		default:
			seen[key] = true
			d.value(pair.Value, v.Field(i), at, fieldOf(v.Type().Field(i)))
		}
	}
	for _, name := range names {
		if f := fieldOf(v.Type().Field(fields[name])); f.need && !seen[name] {
			mend := "add " + name + ":"
			if f.doc != "" {
				mend += " (" + f.doc + ")"
			}
			d.complain(first(n), join(path, name), "", fmt.Sprintf("%q is missing", name), mend)
		}
	}
}

func (d *decoder) sequence(n ast.Node, v reflect.Value, path string, f field) {
	list, ok := n.(*ast.SequenceNode)
	if !ok {
		text, _ := scalar(n)
		d.complain(first(n), path, text, "expected a list here", "start each entry with a dash, or write [a, b]")
		return
	}
	if len(list.Values) == 0 && f.need {
		d.complain(n.GetToken(), path, "", "the list is empty", "it needs at least one entry: "+f.doc)
	}
	v.Set(reflect.MakeSlice(v.Type(), len(list.Values), len(list.Values)))
	for i, item := range list.Values {
		d.value(item, v.Index(i), fmt.Sprintf("%s[%d]", path, i), field{one: f.one, need: true, doc: f.doc})
	}
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// suggest names the nearest known word, or lists them when none is near.
func suggest(word string, known []string) string {
	best, near := "", 3
	for _, k := range known {
		if e := edits(strings.ToLower(word), strings.ToLower(k)); e < near {
			best, near = k, e
		}
	}
	if best != "" {
		return fmt.Sprintf("did you mean %q?", best)
	}
	sorted := append([]string(nil), known...)
	sort.Strings(sorted)
	if len(sorted) == 0 {
		return "there is none to choose from yet"
	}
	return "known here: " + strings.Join(sorted, ", ")
}

// edits is the Levenshtein distance.
func edits(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
