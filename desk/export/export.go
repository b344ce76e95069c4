// Package export writes a planned shoot in open formats for other people's tools, and reads site
// features from them.
//
// Units, axes, signs: positions are WGS 84 degrees, heights metres above sea level unless a key says
// otherwise, times UTC. Property and column names carry their units.
//
// Source: GeoJSON is RFC 7946; KML is OGC 07-147r2 (2.2) with gx:Track, KMZ its zip; GPX is 1.1
// (Topografix); CSV is RFC 4180; calendars are RFC 5545; archives are zip (ISO/IEC 21320-1).
// Validity: one site. Paths that cross 180 degrees of longitude are cut there in GeoJSON. Planned slates
// carry times; slates without a place in the day carry seconds from their start only.
// Equal shoots give equal bytes.
//
// Not modelled: ellipsoidal heights. GeoJSON means its third number above the ellipsoid;
// ours is above sea level, and each feature says so.
package export

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"fieldfare/model/geo"
	"fieldfare/model/risk"
	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

// Content is what is exported.
type Content struct {
	Assessor *assess.Assessor
	Check    *check.Check
	Sheet    *call.Sheet
	Source   []byte // the shoot file
	Version  string // of the program
}

// Formats are what Write understands.
var Formats = []string{"geojson", "kml", "kmz", "gpx", "csv", "ics", "json"}

// Write returns the shoot in a format.
func Write(c *Content, format string) ([]byte, error) {
	switch format {
	case "geojson":
		return c.geoJSON()
	case "kml":
		return c.kml()
	case "kmz":
		return c.kmz()
	case "gpx":
		return c.gpx()
	case "csv":
		return c.csv()
	case "ics":
		return c.calendar()
	case "json":
		return c.everything()
	}
	return nil, fmt.Errorf("%q is not a format of export: use %s", format, strings.Join(Formats, ", "))
}

// errNothing is returned where a format has nothing to hold.
var errNothing = errors.New("no slate of this shoot has a path to export")

// mapStepS is the time between points of a path on maps; tables keep every sample.
const mapStepS = 0.2

// point is one moment of a path.
type point struct {
	takeS         float64
	at            time.Time // zero for a slate without a place in the day
	lat, lon      float64   // degrees
	heightM       float64   // above sea
	aboveGroundM  *float64
	azimuth, tilt float64 // of the camera, degrees
	speed         float64
	site          geo.Vec3
}

// way is a slate's path.
type way struct {
	slate   *check.Slate
	take    *assess.Take
	planned time.Time // zero: not in the day
	points  []point
}

// ways returns the slates that have a path; every sample where step is 0.
func (c *Content) ways(stepS float64) (all []way) {
	for i := range c.Check.Slates {
		x := &c.Check.Slates[i]
		t := c.Assessor.Take(x.Slate)
		if t.Unsolved != nil {
			continue
		}
		w := way{slate: x, take: t, planned: c.planned(x.Slate)}
		path := t.Path.Samples
		stride := 1
		if stepS > 0 {
			stride = max(1, int(stepS*t.Path.RateHz+0.5))
		}
		for k := 0; k < len(path); k += stride {
			w.points = append(w.points, c.point(&path[k], w.planned))
		}
		if last := len(path) - 1; last%stride != 0 {
			w.points = append(w.points, c.point(&path[last], w.planned))
		}
		all = append(all, w)
	}
	return all
}

func (c *Content) point(s *move.Sample, planned time.Time) point {
	at := c.Assessor.Shoot.Frame().ToLatLon(s.Pos)
	p := point{takeS: s.T, lat: at.Lat.Deg(), lon: at.Lon.Deg(), heightM: s.Pos.Z, azimuth: s.Azimuth().Deg(), tilt: s.Tilt.Deg(), speed: s.Vel.Norm(), site: s.Pos}
	if !planned.IsZero() {
		p.at = planned.Add(time.Duration(s.T * float64(time.Second))).UTC()
	}
	if z, ok := c.Assessor.Shoot.Ground().HeightAt(s.Pos.X, s.Pos.Y); ok {
		h := s.Pos.Z - z
		p.aboveGroundM = &h
	}
	return p
}

// planned is when the day begins a slate.
func (c *Content) planned(slate string) time.Time {
	for _, d := range c.Sheet.Days {
		for _, s := range d.Sorties {
			for _, x := range s.Slates {
				if x.Slate == slate {
					return x.Start
				}
			}
		}
	}
	return time.Time{}
}

// volume is an area around a path, with its top above ground.
type volume struct {
	kind     string
	outlines []geo.Polygon
	topM     float64
}

// volumes returns a path's flight geography, contingency volume and ground risk buffer seen from above;
// none where they are not known.
func (w *way) volumes() (all []volume, err error) {
	v, ok := w.take.Volumes()
	if !ok {
		return nil, nil
	}
	flat := make([]geo.Vec2, len(w.points))
	for i, p := range w.points {
		flat[i] = p.site.XY()
	}
	radius := 0.0
	for _, x := range []struct {
		kind string
		add  float64
	}{{"flight geography", v.GeographyM}, {"contingency volume", v.ContingencyM}, {"ground risk buffer", v.BufferM}} {
		radius += x.add
		outlines, err := risk.Around(flat, radius)
		if err != nil {
			return nil, fmt.Errorf("slate %s, %s: %w", w.slate.Slate, x.kind, err)
		}
		all = append(all, volume{x.kind, outlines, v.TopM})
	}
	return all, nil
}

// degrees is a ring on the globe, closed, counter-clockwise for an outer ring and clockwise for a hole.
func (c *Content) degrees(r geo.Ring, hole bool) [][]float64 {
	ring := append(geo.Ring(nil), r...)
	if (ring.Area() < 0) != hole {
		for i, j := 0, len(ring)-1; i < j; i, j = i+1, j-1 {
			ring[i], ring[j] = ring[j], ring[i]
		}
	}
	out := make([][]float64, 0, len(ring)+1)
	for _, p := range ring {
		at := c.Assessor.Shoot.Frame().ToLatLon(p.At(0))
		out = append(out, []float64{round(at.Lon.Deg(), 7), round(at.Lat.Deg(), 7)})
	}
	return append(out, out[0])
}

// safety stands in every file.
const safety = check.Safety

// mark names the program and the shoot file.
func (c *Content) creator() string { return "fieldfare " + c.Version }

func (c *Content) feature(kind string) (all []*shoot.Feature) {
	for i := range c.Assessor.Shoot.Features() {
		if f := &c.Assessor.Shoot.Features()[i]; f.Kind == kind {
			all = append(all, f)
		}
	}
	return all
}
