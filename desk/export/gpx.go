package export

import (
	"bytes"
	"encoding/xml"
	"fmt"

	"fieldfare/plan/shoot"
)

// The parts of GPX 1.1 that are written, in the order of its schema.
type (
	gpxFile struct {
		XMLName   xml.Name   `xml:"http://www.topografix.com/GPX/1/1 gpx"`
		Version   string     `xml:"version,attr"`
		Creator   string     `xml:"creator,attr"`
		Metadata  gpxAbout   `xml:"metadata"`
		Waypoints []gpxPoint `xml:"wpt"`
		Routes    []gpxRoute `xml:"rte"`
		Tracks    []gpxTrack `xml:"trk"`
	}
	gpxAbout struct {
		Name string `xml:"name"`
		Desc string `xml:"desc"`
		Time string `xml:"time"`
	}
	gpxPoint struct {
		Lat  string `xml:"lat,attr"`
		Lon  string `xml:"lon,attr"`
		Ele  string `xml:"ele,omitempty"`
		Time string `xml:"time,omitempty"`
		Name string `xml:"name,omitempty"`
		Cmt  string `xml:"cmt,omitempty"`
		Type string `xml:"type,omitempty"`
	}
	gpxRoute struct {
		Name   string     `xml:"name"`
		Desc   string     `xml:"desc"`
		Points []gpxPoint `xml:"rtept"`
	}
	gpxTrack struct {
		Name     string       `xml:"name"`
		Desc     string       `xml:"desc"`
		Segments []gpxSegment `xml:"trkseg"`
	}
	gpxSegment struct {
		Points []gpxPoint `xml:"trkpt"`
	}
)

// gpx writes a track with times for each planned slate, a route for each other one, and the spots of
// the site as waypoints.
func (c *Content) gpx() ([]byte, error) {
	ways := c.ways(mapStepS)
	out := gpxFile{Version: "1.1", Creator: c.creator(), Metadata: gpxAbout{c.Assessor.Shoot.Title, safety, stamp(c.dated())}}
	for _, kind := range []string{shoot.Launch, shoot.Landing, shoot.Observer, shoot.Set, shoot.Mast} {
		for _, f := range c.feature(kind) {
			at := c.Assessor.Shoot.Frame().ToLatLon(f.Places[0])
			p := gpxPoint{Lat: fmt.Sprintf("%.7f", at.Lat.Deg()), Lon: fmt.Sprintf("%.7f", at.Lon.Deg()), Name: f.Name, Cmt: f.Note, Type: kind}
			if f.OnGround {
				p.Ele = fmt.Sprintf("%.2f", f.Places[0].Z)
			}
			out.Waypoints = append(out.Waypoints, p)
		}
	}
	for i := range ways {
		w := &ways[i]
		points := make([]gpxPoint, len(w.points))
		for k, p := range w.points {
			points[k] = gpxPoint{Lat: fmt.Sprintf("%.7f", p.lat), Lon: fmt.Sprintf("%.7f", p.lon), Ele: fmt.Sprintf("%.2f", p.heightM)}
			if !p.at.IsZero() {
				points[k].Time = stamp(p.at)
			}
		}
		name, words := w.slate.Slate+" "+w.slate.Title, safety
		if w.slate.Barred {
			words = "STOP: not to be flown as planned. " + words
		}
		if w.planned.IsZero() {
			out.Routes = append(out.Routes, gpxRoute{name, "Not in the day. " + words, points})
		} else {
			out.Tracks = append(out.Tracks, gpxTrack{name, words, []gpxSegment{{points}}})
		}
	}
	var b bytes.Buffer
	b.WriteString(xml.Header)
	e := xml.NewEncoder(&b)
	e.Indent("", " ")
	if err := e.Encode(out); err != nil {
		return nil, fmt.Errorf("cannot write GPX: %w", err)
	}
	b.WriteByte('\n')
	return b.Bytes(), nil
}
