// Package intake reads site features from other people's files and puts them into a shoot's feature
// file.
//
// Units: WGS 84 degrees; properties keep the words and units of the file.
// Source: GeoJSON RFC 7946, KML OGC 12-007r2 (and KMZ), GPX 1.1.
// Validity: points, lines and polygons; collections of them are taken apart. What cannot be a site
// feature (models, overlays, bare pictures) is listed as left out, never dropped in silence. A
// file is at most 64 MB, 64 elements deep.
//
// Not modelled: styles, links to other files (they are not followed), heights of positions: a feature
// stands on the site's own terrain.
package intake

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
)

// Found is one feature of a file.
type Found struct {
	Name       string
	Properties map[string]any // as the file has them
	Type       string         // Point, LineString or Polygon
	Rings      [][][]float64  // a point: one ring of one position; a line: one ring; a polygon: closed rings
}

// Content is what a file holds.
type Content struct {
	Format  string
	Found   []Found
	LeftOut []string // with the reason
}

const (
	largest = 64 << 20
	deepest = 64
)

// Read reads features from GeoJSON, KML, KMZ or GPX, told apart by their content.
func Read(data []byte) (*Content, error) {
	if len(data) > largest {
		return nil, fmt.Errorf("the file is larger than %d MB", largest>>20)
	}
	if bytes.HasPrefix(data, []byte("PK\x03\x04")) {
		doc, err := unzip(data)
		if err != nil {
			return nil, err
		}
		c, err := readXML(doc)
		if err == nil && c.Format == "kml" {
			c.Format = "kmz"
		}
		return c, err
	}
	head := bytes.TrimLeft(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")), " \t\r\n")
	switch {
	case len(head) == 0:
		return nil, errors.New("the file is empty")
	case head[0] == '{':
		return readGeoJSON(head)
	case head[0] == '<':
		return readXML(head)
	}
	return nil, errors.New("the file is neither GeoJSON, KML, KMZ nor GPX")
}

// unzip returns the first KML document of a KMZ, doc.kml before others.
func unzip(data []byte) ([]byte, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, fmt.Errorf("the KMZ is not a zip: %w", err)
	}
	var pick *zip.File
	for _, f := range z.File {
		if strings.HasSuffix(strings.ToLower(f.Name), ".kml") && (pick == nil || f.Name == "doc.kml") {
			pick = f
		}
	}
	if pick == nil {
		return nil, errors.New("the KMZ holds no .kml")
	}
	r, err := pick.Open()
	if err != nil {
		return nil, fmt.Errorf("%s in the KMZ: %w", pick.Name, err)
	}
	defer r.Close()
	doc, err := io.ReadAll(io.LimitReader(r, largest+1))
	if err != nil {
		return nil, fmt.Errorf("%s in the KMZ: %w", pick.Name, err)
	}
	if len(doc) > largest {
		return nil, fmt.Errorf("%s in the KMZ is larger than %d MB unpacked", pick.Name, largest>>20)
	}
	return bytes.TrimLeft(bytes.TrimPrefix(doc, []byte("\xef\xbb\xbf")), " \t\r\n"), nil
}

// geoJSON is any GeoJSON object.
type geoJSON struct {
	Type        string          `json:"type"`
	Features    []geoJSON       `json:"features"`
	Geometry    *geoJSON        `json:"geometry"`
	Geometries  []geoJSON       `json:"geometries"`
	Coordinates json.RawMessage `json:"coordinates"`
	Properties  map[string]any  `json:"properties"`
}

func readGeoJSON(data []byte) (*Content, error) {
	var doc geoJSON
	if err := json.Unmarshal(data, &doc); err != nil {
		return nil, fmt.Errorf("not GeoJSON: %w", err)
	}
	c := &Content{Format: "geojson"}
	switch doc.Type {
	case "FeatureCollection":
		for i, f := range doc.Features {
			if err := c.feature(f); err != nil {
				return nil, fmt.Errorf("features[%d]: %w", i, err)
			}
		}
	case "Feature":
		if err := c.feature(doc); err != nil {
			return nil, err
		}
	default:
		if err := c.feature(geoJSON{Geometry: &doc}); err != nil {
			return nil, err
		}
	}
	return c, nil
}

func (c *Content) feature(f geoJSON) error {
	name, _ := f.Properties["name"].(string)
	if f.Geometry == nil {
		c.leave(name, "it has no geometry")
		return nil
	}
	return c.geometry(name, f.Properties, f.Geometry, 0)
}

func (c *Content) leave(name, why string) {
	if name == "" {
		name = "a feature without a name"
	}
	c.LeftOut = append(c.LeftOut, name+": "+why)
}

func (c *Content) geometry(name string, properties map[string]any, g *geoJSON, depth int) error {
	if depth > deepest {
		return fmt.Errorf("geometries nested more than %d deep", deepest)
	}
	decode := func(v any) error {
		if err := json.Unmarshal(g.Coordinates, v); err != nil {
			return fmt.Errorf("%s: coordinates: %w", g.Type, err)
		}
		return nil
	}
	switch g.Type {
	case "Point":
		var p []float64
		if err := decode(&p); err != nil {
			return err
		}
		return c.add(Found{name, properties, "Point", [][][]float64{{p}}})
	case "LineString":
		var l [][]float64
		if err := decode(&l); err != nil {
			return err
		}
		return c.add(Found{name, properties, "LineString", [][][]float64{l}})
	case "Polygon":
		var r [][][]float64
		if err := decode(&r); err != nil {
			return err
		}
		return c.add(Found{name, properties, "Polygon", r})
	case "MultiPoint", "MultiLineString", "MultiPolygon":
		var parts []json.RawMessage
		if err := decode(&parts); err != nil {
			return err
		}
		for i, part := range parts {
			if err := c.geometry(numbered(name, i, len(parts)), properties, &geoJSON{Type: strings.TrimPrefix(g.Type, "Multi"), Coordinates: part}, depth+1); err != nil {
				return err
			}
		}
		return nil
	case "GeometryCollection":
		for i := range g.Geometries {
			if err := c.geometry(numbered(name, i, len(g.Geometries)), properties, &g.Geometries[i], depth+1); err != nil {
				return err
			}
		}
		return nil
	}
	c.leave(name, fmt.Sprintf("%q is not a geometry of GeoJSON", g.Type))
	return nil
}

// numbered tells the parts of a collection apart.
func numbered(name string, i, n int) string {
	if n < 2 || name == "" {
		return name
	}
	return fmt.Sprintf("%s %d", name, i+1)
}

// add takes a feature whose positions are on the globe.
func (c *Content) add(f Found) error {
	for _, r := range f.Rings {
		for _, p := range r {
			if len(p) < 2 || math.IsNaN(p[0]) || math.IsNaN(p[1]) || math.Abs(p[0]) > 180 || math.Abs(p[1]) > 90 {
				return fmt.Errorf("%q: position %v is off the globe: longitude first, in degrees", f.Name, p)
			}
		}
	}
	least, what := 1, "a point needs a position"
	switch f.Type {
	case "LineString":
		least, what = 2, "a line needs two positions"
	case "Polygon":
		least, what = 4, "a ring needs three positions and the first again"
		for i, r := range f.Rings {
			if n := len(r); n >= 3 && (r[0][0] != r[n-1][0] || r[0][1] != r[n-1][1]) {
				f.Rings[i] = append(r, r[0])
			}
		}
	}
	if len(f.Rings) == 0 {
		return fmt.Errorf("%q: %s", f.Name, what)
	}
	for _, r := range f.Rings {
		if len(r) < least {
			return fmt.Errorf("%q: %s, found %d", f.Name, what, len(r))
		}
	}
	c.Found = append(c.Found, f)
	return nil
}
