package shoot

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fieldfare/model/airspace"
	"fieldfare/model/geo"
	"fieldfare/model/terrain"
	"fieldfare/model/unit"
)

// Kinds of feature on a site.
const (
	Building = "building" // a solid: polygon with a height
	Tree     = "tree"     // a point with height and spread, or a polygon of wood
	Mast     = "mast"     // a point with a height
	Wire     = "wire"     // a line hung at a height, with sag
	Bridge   = "bridge"   // a solid
	Road     = "road"     // a line or polygon, people may pass
	Rail     = "rail"     // a line
	Water    = "water"    // a polygon
	People   = "people"   // where people outside the crew are
	Home     = "home"     // a dwelling, for privacy
	Area     = "area"     // airspace with a status
	Launch   = "launch"   // take-off and landing spot
	Landing  = "landing"  // emergency landing spot
	Observer = "observer" // where an observer may stand
	Set      = "set"      // where the set's people stand
	Stunt    = "stunt"    // where stunt performers are
)

var kinds = []string{Building, Tree, Mast, Wire, Bridge, Road, Rail, Water, People, Home, Area, Launch, Landing, Observer, Set, Stunt}

// Feature is one thing on the site, in the site frame.
type Feature struct {
	Name    string
	Kind    string
	Shape   Shape
	Places  []geo.Vec3  // point: one; line: the vertices; polygon: its outer ring. Z is the ground, 0 where OnGround is false
	Outline geo.Polygon // of a polygon

	OnGround bool    // whether Z of all vertices came from the terrain
	HeightM  float64 // above ground
	SpreadM  float64 // radius of a tree or mast
	SagM     float64 // lowest point of a wire's span below the straight line
	WidthM   float64 // of a road or rail
	Count    int     // people usually there; -1 unknown

	Status    string // of an area: "permitted", "needs permission", "out of bounds"
	FloorM    float64
	CeilingM  float64 // +Inf where open above
	Reference string  // "ground", "sea" or "flight level" (then in metres of pressure height)
	Validity  []Span  // empty: always
	Note      string

	// Zone is the area in full, nil for other kinds; Status, FloorM, CeilingM and Reference are
	// its short form for maps.
	Zone   *airspace.Zone
	Source string // the file it was read from
}

// Shape is how a feature is drawn.
type Shape int

// The shapes of features.
const (
	Point Shape = iota
	Line
	Polygon
)

// Span is an interval of local time during which an area is active.
type Span struct {
	From Moment `json:"from"`
	To   Moment `json:"to"`
}

// properties of a GeoJSON feature, before units are read.
type properties struct {
	Name      string `json:"name"`
	Kind      string `json:"kind"`
	Height    string `json:"height"`
	Spread    string `json:"spread"`
	Sag       string `json:"sag"`
	Width     string `json:"width"`
	Count     *int   `json:"count"`
	Status    string `json:"status"`
	Floor     string `json:"floor"`
	Ceiling   string `json:"ceiling"`
	Reference string `json:"reference"`
	Validity  []Span `json:"validity"`
	Note      string `json:"note"`
}

type geometry struct {
	Type        string          `json:"type"`
	Coordinates json.RawMessage `json:"coordinates"`
}

type collection struct {
	Type     string `json:"type"`
	Features []struct {
		Type       string          `json:"type"`
		Geometry   *geometry       `json:"geometry"`
		Properties json.RawMessage `json:"properties"`
	} `json:"features"`
}

// features reads a GeoJSON feature collection (RFC 7946) into the site frame. A feature that does
// not say its kind is of the kind given as unsaid.
func features(file string, src []byte, frame geo.Frame, ground *terrain.Grid, zone *time.Location, unsaid string) ([]Feature, Mistakes) {
	var wrong Mistakes
	add := func(line int, field, value, what, mend string) {
		wrong = append(wrong, Mistake{File: file, Line: line, Column: 1, Field: field, Value: value, What: what, Mend: mend})
	}
	var c collection
	if err := json.Unmarshal(src, &c); err != nil {
		line := 0
		var syntax *json.SyntaxError
		if s, ok := err.(*json.SyntaxError); ok {
			syntax = s
			line = 1 + bytes.Count(src[:min(int(syntax.Offset), len(src))], []byte("\n"))
		}
		add(line, "", "", "not GeoJSON: "+malformed(err), "export it again as a FeatureCollection")
		return nil, wrong
	}
	if c.Type != "FeatureCollection" {
		add(1, "type", c.Type, "expected a FeatureCollection", "RFC 7946 section 3.3")
		return nil, wrong
	}
	lines := featureLines(src)
	var out []Feature
	for i, raw := range c.Features {
		line := 0
		if i < len(lines) {
			line = lines[i]
		}
		at := fmt.Sprintf("features[%d]", i)
		var p properties
		dec := json.NewDecoder(bytes.NewReader(raw.Properties))
		dec.DisallowUnknownFields()
		if err := dec.Decode(&p); err != nil {
			add(line, at+".properties", "", err.Error(), "known properties: name, kind, height, spread, sag, width, count, status, floor, ceiling, reference, validity, note")
			continue
		}
		if p.Name != "" {
			at = fmt.Sprintf("%s %q", at, p.Name)
		}
		if p.Kind == "" {
			p.Kind = unsaid
		}
		whole := Feature{Name: p.Name, Kind: p.Kind, Status: p.Status, Reference: p.Reference, Validity: p.Validity, Note: p.Note, Count: -1, CeilingM: math.Inf(1), Source: file}
		before := len(wrong)
		whole.read(p, func(field, value, what, mend string) { add(line, at+"."+field, value, what, mend) })
		if raw.Geometry == nil {
			add(line, at+".geometry", "", "the feature has no geometry", "give it a Point, LineString or Polygon")
			continue
		}
		parts, err := raw.Geometry.parts()
		if err != nil {
			add(line, at+".geometry", raw.Geometry.Type, err.Error(), "RFC 7946 section 3.1.7")
			continue
		}
		for _, part := range parts {
			f := whole
			rings, err := f.trace(part)
			if err != nil {
				add(line, at+".geometry", raw.Geometry.Type, err.Error(), "RFC 7946 positions are [longitude, latitude]")
				continue
			}
			if what, mend := f.settle(rings, frame, ground); what != "" {
				add(line, at+".geometry", "", what, mend)
				continue
			}
			if f.Kind == Area && len(wrong) == before {
				if err := f.volume(p, rings, frame, zone, fmt.Sprintf("%s:%d", file, line)); err != nil {
					add(line, at, "", err.Error(), "")
				}
			}
			if len(wrong) == before {
				out = append(out, f)
			}
		}
	}
	return out, wrong
}

// featureLines finds the line on which each feature of the collection begins.
func featureLines(src []byte) []int {
	dec := json.NewDecoder(bytes.NewReader(src))
	depth, inFeatures, last := 0, -1, ""
	var lines []int
	for {
		t, err := dec.Token()
		if err != nil {
			return lines
		}
		switch v := t.(type) {
		case json.Delim:
			switch v {
			case '[', '{':
				if v == '[' && depth == 1 && last == "features" {
					inFeatures = depth + 1
				}
				if v == '{' && depth == inFeatures {
					lines = append(lines, 1+bytes.Count(src[:dec.InputOffset()], []byte("\n")))
				}
				depth++
			default:
				depth--
				if depth < inFeatures {
					inFeatures = -1
				}
			}
		case string:
			last = v
		}
	}
}

func (f *Feature) read(p properties, wrong func(field, value, what, mend string)) {
	if !slices.Contains(kinds, f.Kind) {
		wrong("kind", f.Kind, fmt.Sprintf("%q is not a kind of feature", f.Kind), suggest(f.Kind, kinds))
	}
	metres := func(field, text string, to *float64) {
		if text == "" {
			return
		}
		l, err := unit.ParseLength(text)
		if err != nil {
			wrong(field, text, err.Error(), "")
			return
		}
		if l < 0 && field != "floor" {
			wrong(field, text, "a "+field+" cannot be negative", "")
		}
		*to = float64(l)
	}
	metres("height", p.Height, &f.HeightM)
	metres("spread", p.Spread, &f.SpreadM)
	metres("sag", p.Sag, &f.SagM)
	metres("width", p.Width, &f.WidthM)
	if f.Kind != Area {
		metres("floor", p.Floor, &f.FloorM)
		metres("ceiling", p.Ceiling, &f.CeilingM)
	}
	if p.Count != nil {
		f.Count = *p.Count
	}
	switch f.Kind {
	case Building, Tree, Mast, Wire, Bridge:
		if p.Height == "" {
			wrong("height", "", "an obstacle needs a height above ground", `add "height": "12 m"`)
		}
	case Area:
		statuses := []string{"permitted", "needs permission", "out of bounds"}
		if !slices.Contains(statuses, f.Status) {
			wrong("status", f.Status, fmt.Sprintf("%q is not a status of an area", f.Status), suggest(f.Status, statuses))
		}
		references := []string{"ground", "sea", "flight level"}
		if f.Reference == "" {
			f.Reference = "ground"
		} else if !slices.Contains(references, f.Reference) {
			wrong("reference", f.Reference, fmt.Sprintf("%q is not a height reference", f.Reference), suggest(f.Reference, references))
		}
		for _, l := range []struct{ field, text string }{{"floor", p.Floor}, {"ceiling", p.Ceiling}} {
			if _, err := levelOf(l.text, f.Reference, airspace.Ground); err != nil {
				wrong(l.field, l.text, err.Error(), `write it as "120 m" with a reference, or as "FL 95", "2500 ft AMSL", "1000 ft AGL", GND or UNLIM`)
			}
		}
	case Launch:
		if f.Name == "" {
			wrong("name", "", "a launch spot needs a name", `add "name": "yard"`)
		}
	}
}

// parts takes a MultiPolygon apart, in which RFC 7946 section 3.1.9 also wants what lies across the
// 180th meridian; any other geometry is one part.
func (g geometry) parts() ([]geometry, error) {
	if g.Type != "MultiPolygon" {
		return []geometry{g}, nil
	}
	var all []json.RawMessage
	if err := json.Unmarshal(g.Coordinates, &all); err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("a MultiPolygon without polygons")
	}
	parts := make([]geometry, len(all))
	for i, c := range all {
		parts[i] = geometry{"Polygon", c}
	}
	return parts, nil
}

func (f *Feature) trace(g geometry) ([][][]float64, error) {
	decode := func(v any) error { return json.Unmarshal(g.Coordinates, v) }
	var rings [][][]float64
	switch g.Type {
	case "Point":
		var p []float64
		if err := decode(&p); err != nil {
			return nil, err
		}
		f.Shape, rings = Point, [][][]float64{{p}}
	case "LineString":
		var l [][]float64
		if err := decode(&l); err != nil {
			return nil, err
		}
		if len(l) < 2 {
			return nil, fmt.Errorf("a line needs two positions, found %d", len(l))
		}
		f.Shape, rings = Line, [][][]float64{l}
	case "Polygon":
		if err := decode(&rings); err != nil {
			return nil, err
		}
		if len(rings) == 0 {
			return nil, fmt.Errorf("a polygon needs a ring")
		}
		f.Shape = Polygon
		for i, r := range rings {
			if len(r) < 4 || fmt.Sprint(r[0]) != fmt.Sprint(r[len(r)-1]) {
				return nil, fmt.Errorf("ring %d is not closed: the last position must repeat the first, with at least four in all", i)
			}
			rings[i] = r[:len(r)-1]
		}
	default:
		return nil, fmt.Errorf("a %s is not read here: use Point, LineString, Polygon or MultiPolygon", g.Type)
	}
	for _, r := range rings {
		for _, p := range r {
			if len(p) < 2 || math.Abs(p[0]) > 180 || math.Abs(p[1]) > 90 {
				return nil, fmt.Errorf("position %v is off the globe", p)
			}
		}
	}
	return rings, nil
}

// settle moves the positions into the site frame and stands them on the ground.
func (f *Feature) settle(rings [][][]float64, frame geo.Frame, ground *terrain.Grid) (what, mend string) {
	f.OnGround = ground != nil
	for n, r := range rings {
		ring := make(geo.Ring, len(r))
		points := make([]geo.Vec3, len(r))
		for i, p := range r {
			v := frame.ToSite(geo.Degrees(p[1], p[0]), 0)
			if ground != nil {
				z, ok := ground.HeightAt(v.X, v.Y)
				if !ok && f.Kind != Area {
					if fits(frame, ground, p[1], p[0]) {
						return fmt.Sprintf("position %v has no terrain, but would with its numbers swapped", p), "GeoJSON wants longitude first"
					}
					return fmt.Sprintf("position %v lies outside the terrain or where it has no data", p), "extend the elevation grid or move the feature"
				}
				f.OnGround = f.OnGround && ok
				v.Z = z
			}
			points[i], ring[i] = v, v.XY()
		}
		if n == 0 {
			f.Places, f.Outline.Outer = points, ring
		} else {
			f.Outline.Holes = append(f.Outline.Holes, ring)
		}
	}
	if f.Shape == Polygon {
		if err := f.Outline.Validate(); err != nil {
			return err.Error(), "redraw the outline in order, without loops"
		}
	}
	return "", ""
}

// fits reports whether a longitude and latitude, in this order, fall on the terrain.
func fits(frame geo.Frame, ground *terrain.Grid, lon, lat float64) bool {
	if math.Abs(lat) > 90 {
		return false
	}
	v := frame.ToSite(geo.Degrees(lat, lon), 0)
	_, ok := ground.HeightAt(v.X, v.Y)
	return ok
}

// Contains reports whether the level position of p lies in the feature's polygon.
func (f *Feature) Contains(p geo.Vec3) bool {
	return f.Shape == Polygon && f.Outline.Contains(p.XY())
}

// Distance returns the level distance in metres from p to the feature, 0 inside it.
func (f *Feature) Distance(p geo.Vec3) float64 {
	switch f.Shape {
	case Polygon:
		return f.Outline.Distance(p.XY())
	case Point:
		return max(0, p.Sub(f.Places[0]).Horizontal()-f.SpreadM)
	}
	nearest := math.Inf(1)
	for i := 1; i < len(f.Places); i++ {
		d, _ := geo.PointSegment2(p.XY(), f.Places[i-1].XY(), f.Places[i].XY())
		nearest = min(nearest, d)
	}
	return max(0, nearest-f.WidthM/2)
}

// Extent returns the level rectangle around the feature with its spread or width: Distance is never less than that to
// it, which is quicker to know.
func (f *Feature) Extent() geo.Bounds {
	b := geo.Bounds{MinX: math.Inf(1), MinY: math.Inf(1), MaxX: math.Inf(-1), MaxY: math.Inf(-1)}
	for _, p := range f.Places {
		b = b.Union(geo.Bounds{MinX: p.X, MinY: p.Y, MaxX: p.X, MaxY: p.Y})
	}
	switch f.Shape {
	case Point:
		return b.Grow(f.SpreadM)
	case Line:
		return b.Grow(f.WidthM / 2)
	}
	return b
}

// Launch returns the launch spot of that name.
func (s *Shoot) Launch(name string) *Feature {
	for i := range s.features {
		if f := &s.features[i]; f.Kind == Launch && f.Name == name {
			return f
		}
	}
	return nil
}

// spots names the features of a kind.
func (s *Shoot) spots(kind string) []string {
	var names []string
	for _, f := range s.features {
		if f.Kind == kind {
			names = append(names, f.Name)
		}
	}
	return names
}

// UnmarshalJSON implements json.Unmarshaler for local moments in GeoJSON.
func (m *Moment) UnmarshalJSON(b []byte) error {
	return m.UnmarshalText([]byte(strings.Trim(string(b), `"`)))
}
