package intake

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"sort"
	"strings"

	"fieldfare/plan/shoot"
)

// Given are properties for features that do not bring their own.
type Given map[string]string

// known are the properties that a site feature may have.
var known = []string{"name", "kind", "height", "spread", "sag", "width", "count", "status", "floor", "ceiling", "reference", "validity", "note"}

// Merge puts features into a shoot's feature file and returns the new file, with one feature a line. A
// feature of the same kind and name that is there already is an error, unless replace is set. A feature
// whose kind is not of the site, as the paths and volumes of an export, is left out with the reason.
func Merge(site []byte, c *Content, given Given, replace bool) (merged []byte, added []string, leftOut []string, err error) {
	doc := map[string]json.RawMessage{}
	var lines []json.RawMessage
	if len(bytes.TrimSpace(site)) > 0 {
		if err := json.Unmarshal(site, &doc); err != nil {
			return nil, nil, nil, fmt.Errorf("the site's feature file is not GeoJSON: %w", err)
		}
		if err := json.Unmarshal(doc["features"], &lines); err != nil {
			return nil, nil, nil, fmt.Errorf("the site's feature file: features: %w", err)
		}
	}
	at := map[string]int{}
	for i, l := range lines {
		var f geoJSON
		if json.Unmarshal(l, &f) == nil {
			at[identity(f.Properties)] = i
		}
	}
	leftOut = slices.Clone(c.LeftOut)
	var bare []string
	for _, f := range c.Found {
		p := f.properties(given)
		kind, _ := p["kind"].(string)
		name, _ := p["name"].(string)
		switch {
		case kind == "":
			bare = append(bare, or(f.Name, "without a name"))
			continue
		case !slices.Contains(shoot.Kinds(), kind):
			leftOut = append(leftOut, fmt.Sprintf("%s: %q is not a kind of site feature", or(f.Name, "a feature"), kind))
			continue
		}
		line, err := f.line(p)
		if err != nil {
			return nil, nil, nil, err
		}
		id := identity(p)
		i, there := at[id]
		switch {
		case there && name != "" && !replace:
			return nil, nil, nil, fmt.Errorf("the site has a %s named %q already; rename one, or replace it with --replace", kind, name)
		case there && name != "":
			lines[i] = line
		default:
			at[id] = len(lines)
			lines = append(lines, line)
		}
		added = append(added, strings.TrimSpace(kind+" "+name))
	}
	if len(bare) > 0 {
		return nil, nil, nil, fmt.Errorf("these features say no kind: %s; give one with --kind: %s", strings.Join(bare, ", "), strings.Join(shoot.Kinds(), ", "))
	}
	doc["type"] = json.RawMessage(`"FeatureCollection"`)
	delete(doc, "features")
	return write(doc, lines), added, leftOut, nil
}

func or(s, t string) string {
	if s == "" {
		return t
	}
	return s
}

func identity(p map[string]any) string { return fmt.Sprint(p["kind"], "\x00", p["name"]) }

// properties are the file's own as far as a site feature has them, then those given.
func (f *Found) properties(given Given) map[string]any {
	p := map[string]any{}
	for _, key := range known {
		if v, ok := f.Properties[key]; ok && v != nil && v != "" {
			p[key] = v
		}
	}
	if f.Name != "" {
		p["name"] = f.Name
	}
	for key, v := range given {
		if _, ok := p[key]; !ok && v != "" {
			p[key] = v
		}
	}
	// KML and GPX hold text only.
	if s, ok := p["count"].(string); ok {
		var n json.Number
		if json.Unmarshal([]byte(s), &n) == nil {
			p["count"] = n
		}
	}
	return p
}

func (f *Found) line(p map[string]any) (json.RawMessage, error) {
	var coordinates any
	switch f.Type {
	case "Point":
		coordinates = f.Rings[0][0][:2]
	case "LineString":
		coordinates = flat(f.Rings[0])
	default:
		rings := make([][][]float64, len(f.Rings))
		for i := range rings {
			rings[i] = flat(f.Rings[i])
		}
		coordinates = rings
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(map[string]any{"type": "Feature", "properties": p, "geometry": map[string]any{"type": f.Type, "coordinates": coordinates}})
	return bytes.TrimSpace(b.Bytes()), err
}

// flat leaves heights out: a feature stands on the site's terrain.
func flat(line [][]float64) [][]float64 {
	out := make([][]float64, len(line))
	for i, p := range line {
		out[i] = p[:2]
	}
	return out
}

// write keeps the members of the collection that are not ours, and puts each feature on a line.
func write(doc map[string]json.RawMessage, lines []json.RawMessage) []byte {
	var keys []string
	for k := range doc {
		if k != "type" {
			keys = append(keys, k)
		}
	}
	sort.Strings(keys)
	var b bytes.Buffer
	fmt.Fprintf(&b, "{\"type\":%s", doc["type"])
	for _, k := range keys {
		name, _ := json.Marshal(k)
		fmt.Fprintf(&b, ",%s:", name)
		_ = json.Compact(&b, doc[k]) // was read as JSON
	}
	b.WriteString(",\"features\":[")
	for i, l := range lines {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteByte('\n')
		_ = json.Compact(&b, l) // was read or written as JSON
	}
	b.WriteString("\n]}\n")
	return b.Bytes()
}
