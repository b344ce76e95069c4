package export

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"time"

	"fieldfare/model/geo"
	"fieldfare/plan/shoot"
)

type geometry struct {
	Type        string `json:"type"`
	Coordinates any    `json:"coordinates"`
}

type feature struct {
	Type       string         `json:"type"`
	ID         string         `json:"id"`
	Properties map[string]any `json:"properties"` // encoding/json writes keys in order
	Geometry   geometry       `json:"geometry"`
}

type collection struct {
	Type     string    `json:"type"`
	Title    string    `json:"title"` // foreign members, RFC 7946 section 6.1
	Creator  string    `json:"creator"`
	Caution  string    `json:"caution"`
	Features []feature `json:"features"`
}

func round(v float64, digits int) float64 {
	p := math.Pow(10, float64(digits))
	return math.Round(v*p) / p
}

// collect gathers site features, paths, key frames and volumes.
func (c *Content) collect() (*collection, error) {
	out := &collection{Type: "FeatureCollection", Title: c.Assessor.Shoot.Title, Creator: c.creator(), Caution: safety, Features: []feature{}}
	add := func(id string, properties map[string]any, g geometry) {
		out.Features = append(out.Features, feature{"Feature", id, properties, g})
	}
	for i := range c.Assessor.Shoot.Features() {
		f := &c.Assessor.Shoot.Features()[i]
		add(fmt.Sprintf("site-%d", i+1), siteProperties(f), c.siteGeometry(f))
	}
	for _, w := range c.ways(mapStepS) {
		x := w.slate
		properties := map[string]any{"kind": "path", "slate": x.Slate, "name": x.Slate + " " + x.Title, "rig": x.Rig, "lens": x.Lens,
			"duration_s": round(w.take.Path.DurationS(), 2), "heights": "above sea level", "state": w.state()}
		if !w.planned.IsZero() {
			properties["start"], properties["end"] = stamp(w.planned), stamp(w.points[len(w.points)-1].at)
		}
		line := make([][]float64, len(w.points))
		for k, p := range w.points {
			line[k] = p.position()
		}
		if len(line) == 1 {
			line = append(line, line[0])
		}
		add("path-"+x.Slate, properties, lineGeometry(line))
		for n, k := range w.take.Path.Keys {
			p := c.point(w.take.Path.At(k.T), w.planned)
			add(fmt.Sprintf("frame-%s-%d", x.Slate, n+1), map[string]any{"kind": "frame", "slate": x.Slate, "name": x.Slate + " " + k.Label, "take_s": round(k.T, 2),
				"camera_azimuth_deg": round(p.azimuth, 2), "camera_tilt_deg": round(p.tilt, 2), "heights": "above sea level"}, geometry{"Point", p.position()})
		}
		volumes, err := w.volumes()
		if err != nil {
			return nil, err
		}
		for _, v := range volumes {
			properties := map[string]any{"kind": v.kind, "slate": x.Slate, "name": x.Slate + " " + v.kind}
			if v.kind != "ground risk buffer" {
				properties["top_above_ground_m"] = round(v.topM, 1)
			}
			add(v.kind+"-"+x.Slate, properties, c.areaGeometry(v.outlines))
		}
	}
	return out, nil
}

func (c *Content) geoJSON() ([]byte, error) {
	all, err := c.collect()
	if err != nil {
		return nil, err
	}
	// One feature a line: it can be read, and compared line by line.
	var b bytes.Buffer
	head, err := encode(struct {
		Type    string `json:"type"`
		Title   string `json:"title"`
		Creator string `json:"creator"`
		Caution string `json:"caution"`
	}{all.Type, all.Title, all.Creator, all.Caution})
	if err != nil {
		return nil, err
	}
	b.Write(bytes.TrimSuffix(head, []byte("}")))
	b.WriteString(",\"features\":[")
	for i, f := range all.Features {
		if i > 0 {
			b.WriteByte(',')
		}
		line, err := encode(f)
		if err != nil {
			return nil, err
		}
		b.WriteByte('\n')
		b.Write(line)
	}
	b.WriteString("\n]}\n")
	return b.Bytes(), nil
}

func encode(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, fmt.Errorf("cannot write JSON: %w", err)
	}
	return bytes.TrimSpace(b.Bytes()), nil
}

func stamp(t time.Time) string { return t.UTC().Format("2006-01-02T15:04:05.00Z") }

func (p *point) position() []float64 {
	return []float64{round(p.lon, 7), round(p.lat, 7), round(p.heightM, 2)}
}

// siteProperties are in the words of the shoot's own feature file, so that they can be read back.
func siteProperties(f *shoot.Feature) map[string]any {
	p := map[string]any{"kind": f.Kind}
	text := func(key, v string) {
		if v != "" {
			p[key] = v
		}
	}
	length := func(key string, v float64) {
		if v != 0 && !math.IsInf(v, 0) {
			p[key] = strconv.FormatFloat(v, 'f', -1, 64) + " m"
		}
	}
	text("name", f.Name)
	text("note", f.Note)
	length("height", f.HeightM)
	length("spread", f.SpreadM)
	length("sag", f.SagM)
	length("width", f.WidthM)
	if f.Count >= 0 {
		p["count"] = f.Count
	}
	if f.Kind == shoot.Area {
		p["status"], p["reference"] = f.Status, f.Reference
		p["floor"] = strconv.FormatFloat(f.FloorM, 'f', -1, 64) + " m"
		length("ceiling", f.CeilingM)
		if len(f.Validity) > 0 {
			var spans []map[string]string
			for _, v := range f.Validity {
				spans = append(spans, map[string]string{"from": v.From.String(), "to": v.To.String()})
			}
			p["validity"] = spans
		}
	}
	return p
}

func (c *Content) siteGeometry(f *shoot.Feature) geometry {
	frame := c.Assessor.Shoot.Frame()
	position := func(p geo.Vec3) []float64 {
		at := frame.ToLatLon(p)
		return []float64{round(at.Lon.Deg(), 7), round(at.Lat.Deg(), 7)}
	}
	switch f.Shape {
	case shoot.Point:
		return geometry{"Point", position(f.Places[0])}
	case shoot.Line:
		var line [][]float64
		for _, p := range f.Places {
			line = append(line, position(p))
		}
		return lineGeometry(line)
	}
	return c.areaGeometry([]geo.Polygon{f.Outline})
}

// lineGeometry cuts a line where it crosses 180 degrees (RFC 7946 section 3.1.9).
func lineGeometry(line [][]float64) geometry {
	parts := cutLine(line)
	if len(parts) == 1 {
		return geometry{"LineString", parts[0]}
	}
	return geometry{"MultiLineString", parts}
}

// areaGeometry is a polygon or several, cut at 180 degrees.
func (c *Content) areaGeometry(all []geo.Polygon) geometry {
	var polygons [][][][]float64
	for _, g := range all {
		rings := [][][]float64{c.degrees(g.Outer, false)}
		for _, h := range g.Holes {
			rings = append(rings, c.degrees(h, true))
		}
		polygons = append(polygons, cutArea(rings)...)
	}
	if len(polygons) == 1 {
		return geometry{"Polygon", polygons[0]}
	}
	return geometry{"MultiPolygon", polygons}
}
