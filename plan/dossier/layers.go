package dossier

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/risk"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

// Layers is a GeoJSON FeatureCollection (RFC 7946): positions are longitude, latitude and, on lines
// and points, metres above sea level.
type Layers struct {
	Type     string  `json:"type"`
	Caution  string  `json:"caution"`
	Features []Layer `json:"features"`
}

// Layer is one GeoJSON feature.
type Layer struct {
	Type       string         `json:"type"`
	Properties map[string]any `json:"properties"`
	Geometry   Geometry       `json:"geometry"`
}

// Geometry is a GeoJSON geometry.
type Geometry struct {
	Type        string `json:"type"`
	Coordinates any    `json:"coordinates"`
}

// Kinds of layer.
const (
	LayerPath        = "path"
	LayerGeography   = "flight geography"
	LayerContingency = "contingency volume"
	LayerBuffer      = "ground risk buffer"
	LayerFalls       = "fall footprint"
	LayerHome        = "lost-link route"
	LayerSpotter     = "spotter"
	LayerPilot       = "pilot"
	LayerSite        = "site" // what stands and lies there: its kind says what
)

// volumeMoments along a path from which its volumes are drawn.
const volumeMoments = 60

// Map draws what stands and lies on the site, the path of a case's slates, the volumes around them, where a dead aircraft comes down, the
// lost-link route from the farthest moment, and where pilot and spotters stand.
func (d *Case) Map(a *assess.Assessor) (*Layers, error) {
	frame := a.Shoot.Frame()
	out := &Layers{Type: "FeatureCollection", Caution: d.Caution, Features: []Layer{}}
	features := a.Shoot.Features()
	for i := range features {
		out.Features = append(out.Features, siteLayer(frame, &features[i]))
	}
	for i := range d.Slates {
		x := &d.Slates[i]
		t := a.Take(x.Slate)
		if t.Unsolved != nil {
			continue
		}
		add := func(kind string, g Geometry, more map[string]any) {
			p := map[string]any{"slate": x.Slate, "layer": kind}
			for k, v := range more {
				p[k] = v
			}
			out.Features = append(out.Features, Layer{"Feature", p, g})
		}
		moments := t.Moments(240)
		line := make([][]float64, len(moments))
		farthest := moments[0].Pos
		for j, m := range moments {
			line[j] = position(frame, m.Pos, true)
			if m.Pos.Sub(t.Launch()).Norm() > farthest.Sub(t.Launch()).Norm() {
				farthest = m.Pos
			}
		}
		add(LayerPath, Geometry{"LineString", line}, map[string]any{"highest_above_ground_m": x.HighestM})
		if v, ok := t.Volumes(); ok {
			var seen []geo.Vec2
			for _, m := range t.Moments(volumeMoments) {
				if p := m.Pos.XY(); len(seen) == 0 || p != seen[len(seen)-1] {
					seen = append(seen, p)
				}
			}
			for _, ring := range []struct {
				kind    string
				radiusM float64
			}{{LayerGeography, v.GeographyM}, {LayerContingency, v.GeographyM + v.ContingencyM}, {LayerBuffer, v.GeographyM + v.ContingencyM + v.BufferM}} {
				areas, err := risk.Around(seen, ring.radiusM)
				if err != nil {
					return nil, err
				}
				more := map[string]any{"radius_m": ring.radiusM}
				if ring.kind == LayerContingency {
					more["top_above_ground_m"] = v.TopM
				}
				add(ring.kind, polygons(frame, areas), more)
			}
		}
		if n := len(x.Falls.Points); n > 0 {
			points := make([][]float64, n)
			for j, f := range x.Falls.Points {
				points[j] = []float64{rounded(f.Lon), rounded(f.Lat)}
			}
			add(LayerFalls, Geometry{"MultiPoint", points}, map[string]any{"basis": x.Falls.Basis, "wind_known": x.Falls.WindKnown})
		}
		if route, ok := t.HomeRoute(farthest); ok {
			way := make([][]float64, len(route))
			for j, p := range route {
				way[j] = position(frame, p, true)
			}
			add(LayerHome, Geometry{"LineString", way}, nil)
		}
		add(LayerPilot, Geometry{"Point", position(frame, t.Pilot(), true)}, map[string]any{"name": x.Pilot})
		for _, s := range t.Stands() {
			add(LayerSpotter, Geometry{"Point", position(frame, s.Eye, true)}, map[string]any{"name": s.Name, "from_s": s.FromS, "to_s": s.ToS})
		}
	}
	return out, nil
}

func siteLayer(frame geo.Frame, f *shoot.Feature) Layer {
	p := map[string]any{"layer": LayerSite, "kind": f.Kind, "name": nameOf(f)}
	if f.HeightM > 0 {
		p["height_m"] = f.HeightM
	}
	if f.Zone != nil {
		p["status"], p["floor"], p["ceiling"] = f.Status, f.Zone.Floor.String(), f.Zone.Ceil.String()
	}
	if f.Note != "" {
		p["note"] = f.Note
	}
	switch f.Shape {
	case shoot.Polygon:
		return Layer{"Feature", p, polygons(frame, []geo.Polygon{f.Outline})}
	case shoot.Line:
		line := make([][]float64, len(f.Places))
		for i, at := range f.Places {
			line[i] = position(frame, at, f.OnGround)
		}
		return Layer{"Feature", p, Geometry{"LineString", line}}
	}
	return Layer{"Feature", p, Geometry{"Point", position(frame, f.Places[0], f.OnGround)}}
}

func position(frame geo.Frame, p geo.Vec3, high bool) []float64 {
	ll := frame.ToLatLon(p)
	at := []float64{rounded(ll.Lon.Deg()), rounded(ll.Lat.Deg())}
	if high {
		at = append(at, math.Round(p.Z*100)/100)
	}
	return at
}

// rounded to about a centimetre.
func rounded(deg float64) float64 { return math.Round(deg*1e7) / 1e7 }

func polygons(frame geo.Frame, areas []geo.Polygon) Geometry {
	all := make([][][][]float64, len(areas))
	for i, a := range areas {
		for j, r := range append([]geo.Ring{a.Outer}, a.Holes...) {
			all[i] = append(all[i], ring(frame, r, j == 0))
		}
	}
	return Geometry{"MultiPolygon", all}
}

// ring closes a ring and turns it as RFC 7946 section 3.1.6 wants: outer rings anticlockwise, holes clockwise.
func ring(frame geo.Frame, r geo.Ring, outer bool) [][]float64 {
	twice := 0.0
	for i, p := range r {
		q := r[(i+1)%len(r)]
		twice += p.X*q.Y - q.X*p.Y
	}
	out := make([][]float64, 0, len(r)+1)
	for i := range r {
		k := i
		if (twice > 0) != outer {
			k = len(r) - 1 - i
		}
		out = append(out, position(frame, r[k].At(0), false))
	}
	return append(out, out[0])
}
