package track

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"fieldfare/model/unit"
)

const gpx11 = "http://www.topografix.com/GPX/1/1"

// readGPX reads the trkpt elements of a GPX 1.1 file (Topografix GPX 1.1 schema); the
// speed and course elements of GPX 1.0 are taken as well, in m/s and degrees.
func (t *Track) readGPX(ctx context.Context, data []byte, opt Options) error {
	w := newWalker(ctx, bytes.NewReader(data), int64(len(data)), data, opt)
	var p Point
	in, seen, routes := false, false, 0
	segment := -1
	for {
		tok, err := w.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			switch tok.Name.Local {
			case "gpx":
				seen = true
				if tok.Name.Space != gpx11 {
					t.find("note", "the file does not declare GPX 1.1", w.at(), "")
				}
			case "trkseg":
				segment++
			case "rtept", "wpt":
				routes++
			case "trkpt":
				in, p = true, Point{Segment: max(segment, 0)}
				var okLat, okLon bool
				for _, a := range tok.Attr {
					switch a.Name.Local {
					case "lat":
						p.LatDeg, okLat = number(a.Value)
					case "lon":
						p.LonDeg, okLon = number(a.Value)
					}
				}
				if !okLat || !okLon {
					in = false
					t.find("caution", "track points without a readable lat and lon were left out", w.at(), "")
				}
			}
		case xml.EndElement:
			parent := ""
			if len(w.path) > 0 {
				parent = w.path[len(w.path)-1]
			}
			switch {
			case tok.Name.Local == "trkpt" && in:
				in = false
				if err := t.add(p, w.at()); err != nil {
					return err
				}
			case in && parent == "trkpt":
				if err := t.gpxValue(&p, tok.Name.Local, w.text.String(), w.at, opt.Zone); err != nil {
					return err
				}
				w.text.Reset()
			case tok.Name.Local == "name" && parent == "trk" && t.Name == "":
				t.Name = strings.TrimSpace(w.text.String())
			}
		}
	}
	if !seen {
		return errors.New("no gpx element")
	}
	if len(t.Points) == 0 && routes > 0 {
		return errors.New("the file holds a route or way-points, but no recorded track")
	}
	return nil
}

func (t *Track) gpxValue(p *Point, name, text string, at func() string, zone *time.Location) error {
	switch name {
	case "ele":
		p.set(Height, &p.HeightM, text, 1)
	case "time":
		return t.setTime(p, strings.TrimSpace(text), at, zone)
	case "speed":
		p.set(Speed, &p.SpeedMS, text, 1)
	case "course":
		p.set(Course, (*float64)(&p.Course), text, math.Pi/180)
	}
	return nil
}

// setTime reads an XML Schema dateTime, whose zone may be missing.
func (t *Track) setTime(p *Point, text string, at func() string, zone *time.Location) error {
	if when, err := time.Parse(time.RFC3339Nano, text); err == nil {
		p.UnixS, p.Has = unixS(when), p.Has|Timed
		return nil
	}
	for _, layout := range []string{"2006-01-02T15:04:05.999999999", "2006-01-02 15:04:05.999999999", "2006-01-02T15:04:05.999999999Z0700"} {
		when, err := time.Parse(layout, text)
		if err != nil {
			continue
		}
		if strings.HasSuffix(layout, "Z0700") {
			p.UnixS, p.Has = unixS(when), p.Has|Timed
			return nil
		}
		if zone == nil {
			return &Question{Ask: AskZone, What: "the times carry no zone: in which were they recorded?", Mend: "give the zone, for example --zone UTC or --zone Europe/Vienna"}
		}
		when, _ = time.ParseInLocation(layout, text, zone)
		p.UnixS, p.Has = unixS(when), p.Has|Timed
		t.find("note", "times without a zone were read as "+zone.String(), at(), "")
		return nil
	}
	t.find("caution", "times that could not be read", at(), "expected a form like 2026-06-21T10:00:00Z")
	return nil
}

func unixS(t time.Time) float64 { return float64(t.Unix()) + float64(t.Nanosecond())/1e9 }

// set stores a number with its factor to SI, if the text is one.
func (p *Point) set(bit Fields, to *float64, text string, factor float64) bool {
	v, ok := number(text)
	if ok {
		*to, p.Has = v*factor, p.Has|bit
	}
	return ok
}

// number reads a finite decimal number with a point.
func number(text string) (float64, bool) {
	text = strings.TrimSpace(text)
	if text == "" || len(text) > 64 || text[0] == 'n' || text[0] == 'N' || text[0] == 'i' || text[0] == 'I' || strings.ContainsAny(text, "xXpP_") {
		return 0, false
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && !math.IsInf(v, 0) && !math.IsNaN(v)
}

func degrees(v float64) unit.Angle { return unit.Angle(v * math.Pi / 180) }
