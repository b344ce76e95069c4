package intake

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// element is an XML element without what it is not needed for: names are local, text is joined.
type element struct {
	name     string
	attrs    map[string]string
	text     string
	children []*element
}

func (e *element) child(name string) *element {
	for _, c := range e.children {
		if c.name == name {
			return c
		}
	}
	return nil
}

func (e *element) value(name string) string {
	if c := e.child(name); c != nil {
		return strings.TrimSpace(c.text)
	}
	return ""
}

// parse reads a document; document types, and with them entities of its own, are refused.
func parse(data []byte) (*element, error) {
	d := xml.NewDecoder(bytes.NewReader(data))
	var root *element
	var open []*element
	for {
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			line, _ := d.InputPos()
			return nil, fmt.Errorf("line %d: %w", line, err)
		}
		switch t := t.(type) {
		case xml.Directive:
			return nil, errors.New("the file has a document type, which is refused")
		case xml.StartElement:
			if len(open) >= deepest {
				return nil, fmt.Errorf("elements nested more than %d deep", deepest)
			}
			e := &element{name: t.Name.Local, attrs: map[string]string{}}
			for _, a := range t.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			switch {
			case len(open) > 0:
				top := open[len(open)-1]
				top.children = append(top.children, e)
			case root != nil:
				return nil, errors.New("the file has two roots")
			default:
				root = e
			}
			open = append(open, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 {
				open[len(open)-1].text += string(t)
			}
		}
	}
	if root == nil {
		return nil, errors.New("the file holds no element")
	}
	return root, nil
}

func readXML(data []byte) (*Content, error) {
	root, err := parse(data)
	if err != nil {
		return nil, fmt.Errorf("not XML: %w", err)
	}
	switch root.name {
	case "kml":
		c := &Content{Format: "kml"}
		return c, c.kml(root)
	case "gpx":
		c := &Content{Format: "gpx"}
		return c, c.gpx(root)
	}
	return nil, fmt.Errorf("the file begins with <%s>; KML begins with <kml>, GPX with <gpx>", root.name)
}

// kml walks documents and folders for placemarks.
func (c *Content) kml(e *element) error {
	for _, x := range e.children {
		switch x.name {
		case "Placemark":
			if err := c.placemark(x); err != nil {
				return err
			}
		case "Document", "Folder":
			if err := c.kml(x); err != nil {
				return err
			}
		case "GroundOverlay", "ScreenOverlay", "PhotoOverlay", "NetworkLink":
			c.leave(x.value("name"), "a "+x.name+" is not a feature of the site")
		}
	}
	return nil
}

func (c *Content) placemark(e *element) error {
	name, properties := e.value("name"), map[string]any{}
	if note := e.value("description"); note != "" {
		properties["note"] = note
	}
	if data := e.child("ExtendedData"); data != nil {
		for _, d := range data.children {
			switch d.name {
			case "Data":
				properties[d.attrs["name"]] = d.value("value")
			case "SchemaData":
				for _, s := range d.children {
					properties[s.attrs["name"]] = strings.TrimSpace(s.text)
				}
			}
		}
	}
	found := false
	for _, g := range e.children {
		taken, err := c.kmlGeometry(name, properties, g, 0)
		if err != nil {
			return fmt.Errorf("placemark %q: %w", name, err)
		}
		found = found || taken
	}
	if !found {
		c.leave(name, "the placemark has no point, line or polygon")
	}
	return nil
}

func (c *Content) kmlGeometry(name string, properties map[string]any, g *element, depth int) (taken bool, err error) {
	switch g.name {
	case "Point", "LineString", "LinearRing":
		line, err := tuples(g.value("coordinates"))
		if err != nil {
			return false, err
		}
		kind := "LineString"
		if g.name == "Point" {
			kind = "Point"
			line = line[:min(1, len(line))]
		}
		return true, c.add(Found{name, properties, kind, [][][]float64{line}})
	case "Track":
		var line [][]float64
		for _, x := range g.children {
			if x.name == "coord" {
				p, err := numbers(strings.Fields(x.text))
				if err != nil {
					return false, err
				}
				line = append(line, p)
			}
		}
		return true, c.add(Found{name, properties, "LineString", [][][]float64{line}})
	case "Polygon":
		var rings [][][]float64
		for _, part := range []string{"outerBoundaryIs", "innerBoundaryIs"} {
			for _, b := range g.children {
				if b.name != part {
					continue
				}
				for _, r := range b.children {
					if r.name == "LinearRing" {
						line, err := tuples(r.value("coordinates"))
						if err != nil {
							return false, err
						}
						rings = append(rings, line)
					}
				}
			}
		}
		return true, c.add(Found{name, properties, "Polygon", rings})
	case "MultiGeometry", "MultiTrack":
		for i, x := range g.children {
			one, err := c.kmlGeometry(numbered(name, i, len(g.children)), properties, x, depth+1)
			if err != nil {
				return false, err
			}
			taken = taken || one
		}
	case "Model":
		c.leave(name, "a Model is not a feature of the site")
	}
	return taken, nil
}

// tuples reads KML coordinates: longitude,latitude[,height] between white space.
func tuples(text string) (line [][]float64, err error) {
	for _, t := range strings.Fields(text) {
		p, err := numbers(strings.Split(t, ","))
		if err != nil {
			return nil, err
		}
		line = append(line, p)
	}
	return line, nil
}

func numbers(parts []string) (p []float64, err error) {
	if len(parts) < 2 {
		return nil, fmt.Errorf("position %q: expected longitude and latitude", strings.Join(parts, " "))
	}
	for _, s := range parts[:2] {
		v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		if err != nil {
			return nil, fmt.Errorf("position %q: %q is not a number", strings.Join(parts, ","), s)
		}
		p = append(p, v)
	}
	return p, nil
}

// gpx takes waypoints as points, routes and track segments as lines.
func (c *Content) gpx(root *element) error {
	position := func(e *element) ([]float64, error) {
		return numbers([]string{e.attrs["lon"], e.attrs["lat"]})
	}
	line := func(e *element, point string) (all [][]float64, err error) {
		for _, x := range e.children {
			if x.name == point {
				p, err := position(x)
				if err != nil {
					return nil, err
				}
				all = append(all, p)
			}
		}
		return all, nil
	}
	for _, x := range root.children {
		name, properties := x.value("name"), map[string]any{}
		if note := x.value("cmt"); note != "" {
			properties["note"] = note
		}
		if kind := x.value("type"); kind != "" {
			properties["kind"] = kind
		}
		switch x.name {
		case "wpt":
			p, err := position(x)
			if err != nil {
				return fmt.Errorf("waypoint %q: %w", name, err)
			}
			if err := c.add(Found{name, properties, "Point", [][][]float64{{p}}}); err != nil {
				return err
			}
		case "rte":
			l, err := line(x, "rtept")
			if err != nil {
				return fmt.Errorf("route %q: %w", name, err)
			}
			if err := c.add(Found{name, properties, "LineString", [][][]float64{l}}); err != nil {
				return err
			}
		case "trk":
			var segments []*element
			for _, s := range x.children {
				if s.name == "trkseg" {
					segments = append(segments, s)
				}
			}
			for i, s := range segments {
				l, err := line(s, "trkpt")
				if err != nil {
					return fmt.Errorf("track %q: %w", name, err)
				}
				if len(l) < 2 {
					c.leave(numbered(name, i, len(segments)), "a track segment of fewer than two positions")
					continue
				}
				if err := c.add(Found{numbered(name, i, len(segments)), properties, "LineString", [][][]float64{l}}); err != nil {
					return err
				}
			}
		}
	}
	return nil
}
