package server

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// An amendment puts one value in the shoot file in place of another. It changes the bytes of that
// value and no others, so that comments, order and layout stay.

// place is a way into the file: "slates/4B/lens", "slates/4B/moves/0/height", "house/wind". In a
// list of things that have a slate or name, that names the thing; else its number from 0 does.
type place []string

func parsePlace(text string) (place, error) {
	parts := strings.Split(text, "/")
	for _, p := range parts {
		if p == "" {
			return nil, fmt.Errorf("%q is no place in the shoot file: write it as slates/4B/lens", text)
		}
	}
	return parts, nil
}

func (p place) String() string { return strings.Join(p, "/") }

// value reads what stands at a place; ok is false where nothing does.
func (p place) value(tree any) (v any, ok bool) {
	v = tree
	for _, key := range p {
		switch x := v.(type) {
		case map[string]any:
			if v, ok = x[key]; !ok {
				return nil, false
			}
		case []any:
			i := indexOf(x, key)
			if i < 0 {
				return nil, false
			}
			v = x[i]
		default:
			return nil, false
		}
	}
	return v, true
}

func indexOf(list []any, key string) int {
	for i, item := range list {
		if m, ok := item.(map[string]any); ok {
			for _, id := range []string{"slate", "name"} {
				if text, ok := m[id].(string); ok && text == key {
					return i
				}
				if m[id] != nil && fmt.Sprint(m[id]) == key {
					return i
				}
			}
		}
	}
	if i, err := strconv.Atoi(key); err == nil && i >= 0 && i < len(list) {
		return i
	}
	return -1
}

func tree(source []byte) (any, error) {
	var v any
	if err := yaml.Unmarshal(source, &v); err != nil {
		return nil, err
	}
	return v, nil
}

var errByHand = errors.New("this place is written in a way that only a text editor should change")

// amend returns the file with value at a place: a string, a list of strings, or nil to take the
// entry out. It errs rather than change anything else.
func amend(source []byte, at place, value any) ([]byte, error) {
	before, err := tree(source)
	if err != nil {
		return nil, err
	}
	file, err := parser.ParseBytes(source, 0)
	if err != nil {
		return nil, err
	}
	if len(file.Docs) != 1 {
		return nil, errors.New("the shoot file must hold one document")
	}
	e := editor{source: source}
	out, err := e.put(file.Docs[0].Body, before, at, value, false)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", at, err)
	}
	after, err := tree(out)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", at, errByHand)
	}
	want, err := patched(before, at, value)
	if err != nil {
		return nil, err
	}
	if !reflect.DeepEqual(after, want) {
		return nil, fmt.Errorf("%s: %w", at, errByHand)
	}
	return out, nil
}

// patched is what the tree must be after an amendment.
func patched(v any, at place, value any) (any, error) {
	if len(at) == 0 {
		return reread(value)
	}
	switch x := v.(type) {
	case map[string]any:
		out := make(map[string]any, len(x)+1)
		for k, v := range x {
			out[k] = v
		}
		if len(at) == 1 && value == nil {
			delete(out, at[0])
			return out, nil
		}
		inner, err := patched(x[at[0]], at[1:], value)
		out[at[0]] = inner
		return out, err
	case []any:
		i := indexOf(x, at[0])
		if i < 0 {
			return nil, fmt.Errorf("nothing at %s", at)
		}
		out := append([]any(nil), x...)
		inner, err := patched(x[i], at[1:], value)
		out[i] = inner
		return out, err
	}
	return nil, fmt.Errorf("nothing at %s", at)
}

// reread is a value as YAML understands what is written for it.
func reread(value any) (any, error) {
	text, err := written(value)
	if err != nil {
		return nil, err
	}
	var v any
	err = yaml.Unmarshal([]byte(text), &v)
	return v, err
}

// written is a value as it is put into the file, fit for block and flow.
func written(value any) (string, error) {
	switch x := value.(type) {
	case string:
		return scalar(x), nil
	case bool, float64, int, int64, uint64:
		return fmt.Sprint(x), nil
	case []any:
		parts := make([]string, len(x))
		for i, item := range x {
			text, err := written(item)
			if err != nil {
				return "", err
			}
			parts[i] = text
		}
		return "[" + strings.Join(parts, ", ") + "]", nil
	case []string:
		all := make([]any, len(x))
		for i := range x {
			all[i] = x[i]
		}
		return written(all)
	}
	return "", fmt.Errorf("a value of kind %T cannot be put into the file", value)
}

// scalar writes a string plain where YAML reads it back the same anywhere, else quoted.
func scalar(text string) string {
	plain := text != "" && utf8.ValidString(text) && !strings.ContainsAny(text, "\n\r\t,[]{}#&*!|>'\"\\") && !strings.ContainsAny(text[:1], "%@`?") && text != "-" && !strings.HasPrefix(text, "- ") && !strings.Contains(text, ": ") &&
		strings.TrimSpace(text) == text && !strings.HasSuffix(text, ":")
	if plain {
		var v any
		if yaml.Unmarshal([]byte("[a: "+text+"]"), &v) == nil && fmt.Sprint(v) == "[map[a:"+text+"]]" {
			return text
		}
		// A number or word that YAML types: the loader reads it from its text, so it stays plain.
		if yaml.Unmarshal([]byte(text), &v) == nil {
			switch v.(type) {
			case uint64, int64, float64, bool:
				return text
			}
		}
	}
	return strconv.Quote(text)
}

// editor changes spans of the source.
type editor struct{ source []byte }

// offset turns a token's line and column (in runes, from 1) into a byte offset.
func (e *editor) offset(line, column int) int {
	at := e.line(line)
	for i := 1; i < column && at < len(e.source); i++ {
		_, n := utf8.DecodeRune(e.source[at:])
		at += n
	}
	return at
}

// line is where a line starts; past the last line it is the end.
func (e *editor) line(n int) int {
	at := 0
	for i := 1; i < n; i++ {
		next := bytes.IndexByte(e.source[at:], '\n')
		if next < 0 {
			return len(e.source)
		}
		at += next + 1
	}
	return at
}

func (e *editor) splice(from, to int, text string) []byte {
	out := make([]byte, 0, len(e.source)+len(text))
	out = append(out, e.source[:from]...)
	out = append(out, text...)
	return append(out, e.source[to:]...)
}

func (e *editor) put(node ast.Node, v any, at place, value any, flow bool) ([]byte, error) {
	if len(at) == 0 {
		return e.replace(node, value, flow)
	}
	switch x := node.(type) {
	case *ast.MappingNode:
		return e.putIn(x.Values, x.IsFlowStyle, x, v, at, value, flow || x.IsFlowStyle)
	case *ast.MappingValueNode:
		return e.putIn([]*ast.MappingValueNode{x}, false, nil, v, at, value, flow)
	case *ast.SequenceNode:
		list, _ := v.([]any)
		i := indexOf(list, at[0])
		if i < 0 || i >= len(x.Values) {
			return nil, errors.New("nothing there")
		}
		return e.put(x.Values[i], list[i], at[1:], value, flow || x.IsFlowStyle)
	}
	return nil, errByHand
}

func (e *editor) putIn(entries []*ast.MappingValueNode, isFlow bool, mapping *ast.MappingNode, v any, at place, value any, flow bool) ([]byte, error) {
	m, _ := v.(map[string]any)
	for i, entry := range entries {
		if entry.Key.GetToken().Value != at[0] {
			continue
		}
		if len(at) > 1 {
			return e.put(entry.Value, m[at[0]], at[1:], value, flow)
		}
		if value != nil {
			return e.replace(entry.Value, value, flow)
		}
		return e.remove(entries, i, isFlow)
	}
	if len(at) > 1 {
		return nil, errors.New("nothing there")
	}
	if value == nil {
		return e.source, nil
	}
	return e.insert(entries, isFlow, mapping, at[0], value)
}

// replace puts a value in place of a scalar or a list in brackets.
func (e *editor) replace(node ast.Node, value any, flow bool) ([]byte, error) {
	text, err := written(value)
	if err != nil {
		return nil, err
	}
	from, to, err := e.span(node, flow)
	if err != nil {
		return nil, err
	}
	return e.splice(from, to, text), nil
}

// span is where a value stands in the source.
func (e *editor) span(node ast.Node, flow bool) (from, to int, err error) {
	switch x := node.(type) {
	case *ast.MappingNode:
		if !x.IsFlowStyle {
			return 0, 0, errByHand
		}
		from = e.offset(x.Start.Position.Line, x.Start.Position.Column)
	case *ast.SequenceNode:
		if !x.IsFlowStyle {
			return 0, 0, errByHand
		}
		from = e.offset(x.Start.Position.Line, x.Start.Position.Column)
	case *ast.StringNode, *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode:
		p := node.GetToken().Position
		from = e.offset(p.Line, p.Column)
	default:
		return 0, 0, errByHand
	}
	to, err = e.end(from, flow)
	return from, to, err
}

// end is where the value that starts at an offset ends.
func (e *editor) end(from int, flow bool) (int, error) {
	s := e.source
	if from >= len(s) {
		return 0, errByHand
	}
	switch s[from] {
	case '"', '\'':
		return e.quoted(from)
	case '[', '{':
		depth := 0
		for i := from; i < len(s); i++ {
			switch s[i] {
			case '[', '{':
				depth++
			case ']', '}':
				if depth--; depth == 0 {
					return i + 1, nil
				}
			case '"', '\'':
				if prev := s[i-1]; prev == ' ' || prev == '[' || prev == '{' || prev == ',' || prev == ':' {
					stop, err := e.quoted(i)
					if err != nil {
						return 0, err
					}
					i = stop - 1
				}
			}
		}
		return 0, errByHand
	case '|', '>', '&', '*', '!':
		return 0, errByHand
	}
	i := from
	for ; i < len(s) && s[i] != '\n'; i++ {
		if s[i] == '#' && i > from && (s[i-1] == ' ' || s[i-1] == '\t') {
			break
		}
		if flow && (s[i] == ',' || s[i] == ']' || s[i] == '}') {
			break
		}
	}
	return from + len(bytes.TrimRight(s[from:i], " \t\r")), nil
}

func (e *editor) quoted(from int) (int, error) {
	s, q := e.source, e.source[from]
	for i := from + 1; i < len(s); i++ {
		switch {
		case s[i] == '\\' && q == '"':
			i++
		case s[i] == q && q == '\'' && i+1 < len(s) && s[i+1] == '\'':
			i++
		case s[i] == q:
			return i + 1, nil
		}
	}
	return 0, errByHand
}

// insert adds an entry: in brackets at the end, else on a line of its own after the last
// entry that stands on one line.
func (e *editor) insert(entries []*ast.MappingValueNode, isFlow bool, mapping *ast.MappingNode, key string, value any) ([]byte, error) {
	text, err := written(value)
	if err != nil {
		return nil, err
	}
	if scalar(key) != key {
		return nil, errors.New("not a key of the shoot file")
	}
	if isFlow {
		from := e.offset(mapping.Start.Position.Line, mapping.Start.Position.Column)
		to, err := e.end(from, true)
		if err != nil {
			return nil, err
		}
		if len(entries) > 0 {
			text = ", " + key + ": " + text
		} else {
			text = key + ": " + text
		}
		last := from + len(bytes.TrimRight(e.source[from:to-1], " \t\r\n"))
		return e.splice(last, to-1, text), nil
	}
	for i := len(entries) - 1; i >= 0; i-- {
		k := entries[i].Key.GetToken().Position
		_, to, err := e.span(entries[i].Value, false)
		if err != nil || to > e.line(k.Line+1) {
			continue
		}
		next := e.line(k.Line + 1)
		line := strings.Repeat(" ", k.Column-1) + key + ": " + text + "\n"
		if next == len(e.source) && next > 0 && e.source[next-1] != '\n' {
			line = "\n" + strings.TrimSuffix(line, "\n")
		}
		return e.splice(next, next, line), nil
	}
	return nil, errByHand
}

// remove takes an entry out.
func (e *editor) remove(entries []*ast.MappingValueNode, i int, isFlow bool) ([]byte, error) {
	k := entries[i].Key.GetToken().Position
	from := e.offset(k.Line, k.Column)
	_, to, err := e.span(entries[i].Value, isFlow)
	if err != nil {
		return nil, err
	}
	if isFlow {
		switch {
		case i+1 < len(entries):
			n := entries[i+1].Key.GetToken().Position
			to = e.offset(n.Line, n.Column)
		case i > 0:
			_, from, err = e.span(entries[i-1].Value, true)
			if err != nil {
				return nil, err
			}
		}
		return e.splice(from, to, ""), nil
	}
	start, next := e.line(k.Line), e.line(k.Line+1)
	if to > next || len(bytes.TrimSpace(e.source[start:from])) > 0 {
		return nil, errByHand // on several lines, or the first of a list's item
	}
	return e.splice(start, next, ""), nil
}

// add appends an item, written as lines of YAML without indent, to a list of the file.
func add(source []byte, list, item string) ([]byte, error) {
	file, err := parser.ParseBytes(source, 0)
	if err != nil {
		return nil, err
	}
	e := editor{source: source}
	for _, entry := range entriesOf(file.Docs[0].Body) {
		if entry.Key.GetToken().Value != list {
			continue
		}
		seq, ok := entry.Value.(*ast.SequenceNode)
		if !ok || seq.IsFlowStyle || len(seq.Values) == 0 {
			return nil, errByHand
		}
		dash := seq.Start.Position.Column - 1
		at := e.after(seq.Start.Position.Line, dash)
		var text strings.Builder
		if at > 0 && source[at-1] != '\n' {
			text.WriteByte('\n')
		}
		for i, line := range strings.Split(strings.TrimRight(item, "\n"), "\n") {
			lead := "  "
			if i == 0 {
				lead = "- "
			}
			text.WriteString(strings.Repeat(" ", dash) + lead + line + "\n")
		}
		out := e.splice(at, at, text.String())
		return out, grown(source, out, list)
	}
	return nil, fmt.Errorf("the shoot file has no %s", list)
}

// after is the end of the list whose items start with a dash at a column, from a line on.
func (e *editor) after(line, dash int) int {
	end := e.line(line + 1)
	for n := line + 1; ; n++ {
		start, next := e.line(n), e.line(n+1)
		if start >= len(e.source) {
			return end
		}
		text := bytes.TrimRight(e.source[start:next], " \t\r\n")
		body := bytes.TrimLeft(text, " ")
		indent := len(text) - len(body)
		switch {
		case len(body) == 0 || body[0] == '#' && indent <= dash:
			continue // belongs to the list only if more of it follows
		case indent < dash || indent == dash && body[0] != '-':
			return end
		}
		end = next
	}
}

func entriesOf(node ast.Node) []*ast.MappingValueNode {
	switch x := node.(type) {
	case *ast.MappingNode:
		return x.Values
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{x}
	}
	return nil
}

// grown makes sure that one item was added to the list and nothing else changed.
func grown(before, after []byte, list string) error {
	a, err := tree(before)
	if err != nil {
		return err
	}
	b, err := tree(after)
	if err != nil {
		return errByHand
	}
	x, _ := place{list}.value(a)
	y, _ := place{list}.value(b)
	old, _ := x.([]any)
	now, _ := y.([]any)
	if len(now) != len(old)+1 || !reflect.DeepEqual(now[:len(old)], old) {
		return errByHand
	}
	am, bm := a.(map[string]any), b.(map[string]any)
	delete(am, list)
	delete(bm, list)
	if !reflect.DeepEqual(am, bm) {
		return errByHand
	}
	return nil
}
