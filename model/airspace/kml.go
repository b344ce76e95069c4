package airspace

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// ReadKML reads areas from KML (OGC 07-147r2): every polygon of every placemark, multi-geometries
// taken apart. Folders, styles, points and lines are passed over. Any mistake is an error that
// names its line; all mistakes are gathered, and no areas are returned beside them, so that none
// can be dropped unseen.
//
// ExtendedData named class, status, floor and ceiling say what KML has no words for, as
// ParseStatus and ParseLevel read them; a TimeSpan is the time of validity. Where they are
// missing the careful value stands: the status follows the class or is "needs permission",
// and the area reaches from the ground without limit, save that a polygon extruded to the ground
// has its highest vertex for a ceiling.
func ReadKML(file string, data []byte) ([]Area, error) {
	if len(data) > maxFileBytes {
		return nil, &Error{File: file, Line: 1, Problem: fmt.Sprintf("%d bytes; an airspace file has at most %d", len(data), maxFileBytes)}
	}
	k := kml{file: file, dec: xml.NewDecoder(bytes.NewReader(data))}
	k.dec.Strict = true
	root := false
	for {
		token, err := k.dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			line, _ := k.dec.InputPos()
			return nil, &Error{File: file, Line: line, Problem: "not KML: " + err.Error()}
		}
		start, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		if root = root || start.Name.Local == "kml"; !root {
			return nil, &Error{File: file, Line: 1, Problem: fmt.Sprintf("begins with <%s>; a KML file begins with <kml>", start.Name.Local)}
		}
		switch start.Name.Local {
		case "Placemark":
			k.placemark(start)
		case "NetworkLink":
			k.fail("", "a NetworkLink points to another file, which is not fetched; save that file and name it instead")
		}
		if len(k.mistakes) >= maxMistakes {
			k.fail("", "too many mistakes; the rest was not read")
			break
		}
	}
	if !root && len(k.mistakes) == 0 {
		k.fail("", "holds no <kml> element")
	}
	if len(k.mistakes) > 0 {
		return nil, errors.Join(k.mistakes...)
	}
	return k.areas, nil
}

type kml struct {
	file     string
	dec      *xml.Decoder
	line     int
	areas    []Area
	mistakes []error
}

func (k *kml) fail(area, format string, args ...any) {
	k.mistakes = append(k.mistakes, &Error{File: k.file, Line: max(1, k.line), Area: area, Problem: fmt.Sprintf(format, args...)})
}

type kmlRing struct {
	Coordinates string `xml:"LinearRing>coordinates"`
}

type kmlPolygon struct {
	Extrude string    `xml:"extrude"`
	Mode    string    `xml:"altitudeMode"`
	Outer   kmlRing   `xml:"outerBoundaryIs"`
	Inner   []kmlRing `xml:"innerBoundaryIs"`
}

type kmlMulti struct {
	Polygons []kmlPolygon `xml:"Polygon"`
	Multi    []kmlMulti   `xml:"MultiGeometry"`
}

type kmlData struct {
	Name  string `xml:"name,attr"`
	Value string `xml:"value"`
}

type kmlPlacemark struct {
	kmlMulti
	Name string `xml:"name"`
	Span *struct {
		Begin string `xml:"begin"`
		End   string `xml:"end"`
	} `xml:"TimeSpan"`
	Data   []kmlData `xml:"ExtendedData>Data"`
	Simple []struct {
		Name  string `xml:"name,attr"`
		Value string `xml:",chardata"`
	} `xml:"ExtendedData>SchemaData>SimpleData"`
}

func (m kmlMulti) all() []kmlPolygon {
	out := m.Polygons
	for _, inner := range m.Multi {
		out = append(out, inner.all()...)
	}
	return out
}

func (k *kml) placemark(start xml.StartElement) {
	k.line, _ = k.dec.InputPos()
	var p kmlPlacemark
	if err := k.dec.DecodeElement(&p, &start); err != nil {
		k.fail(p.Name, "not KML: %v", err)
		return
	}
	polygons := p.all()
	if len(polygons) == 0 {
		return
	}
	area := Area{Name: strings.TrimSpace(p.Name), Source: fmt.Sprintf("%s:%d", k.file, k.line)}
	if area.Name == "" {
		area.Name = fmt.Sprintf("unnamed, line %d", k.line)
	}
	before := len(k.mistakes)
	said := map[string]string{}
	for _, d := range p.Data {
		said[strings.ToLower(d.Name)] = strings.TrimSpace(d.Value)
	}
	for _, d := range p.Simple {
		said[strings.ToLower(d.Name)] = strings.TrimSpace(d.Value)
	}
	if area.Class = said["class"]; area.Class != "" {
		area.Status = StatusOfClass(area.Class)
	}
	if text := said["status"]; text != "" {
		var err error
		if area.Status, err = ParseStatus(text); err != nil {
			k.fail(area.Name, "%v", err)
		}
	}
	if p.Span != nil {
		k.span(&area, p.Span.Begin, p.Span.End)
	}
	level := func(name string) (l Level, given bool) {
		if said[name] == "" {
			return Level{}, false
		}
		l, err := ParseLevel(said[name])
		if err != nil {
			k.fail(area.Name, "%s: %v", name, err)
		}
		return l, true
	}
	floor, hasFloor := level("floor")
	ceil, hasCeil := level("ceiling")
	if len(k.mistakes) > before {
		return
	}
	for i, g := range polygons {
		one := area
		if len(polygons) > 1 {
			one.Name = fmt.Sprintf("%s, part %d", area.Name, i+1)
		}
		k.polygon(one, g, floor, hasFloor, ceil, hasCeil)
	}
}

func (k *kml) polygon(a Area, g kmlPolygon, floor Level, hasFloor bool, ceil Level, hasCeil bool) {
	outer, top, err := kmlPoints(g.Outer.Coordinates)
	if err != nil {
		k.fail(a.Name, "outer boundary: %v", err)
		return
	}
	a.Outer = outer
	for i, in := range g.Inner {
		hole, _, err := kmlPoints(in.Coordinates)
		if err != nil {
			k.fail(a.Name, "inner boundary %d: %v", i+1, err)
			return
		}
		a.Holes = append(a.Holes, hole)
	}
	a.Floor, a.Ceil = Ground, Unlimited
	if mode := strings.TrimSpace(g.Mode); strings.TrimSpace(g.Extrude) == "1" && (mode == "absolute" || mode == "relativeToGround") && top > 0 {
		a.Ceil = Level{HeightM: top}
		if mode == "relativeToGround" {
			a.Ceil.Reference = AboveGround
		}
	}
	if hasFloor {
		a.Floor = floor
	}
	if hasCeil {
		a.Ceil = ceil
	}
	bare := a
	bare.Name, bare.Source = "", ""
	if err := bare.Validate(); err != nil {
		k.fail(a.Name, "%s", strings.TrimPrefix(err.Error(), `area "unnamed" `))
		return
	}
	k.areas = append(k.areas, a)
}

// kmlPoints reads "longitude,latitude[,altitude]" tuples and the highest altitude among them.
func kmlPoints(text string) (points []geo.LatLon, top float64, err error) {
	for _, tuple := range strings.Fields(text) {
		parts := strings.Split(tuple, ",")
		if len(parts) != 2 && len(parts) != 3 {
			return nil, 0, fmt.Errorf("%q is not a position; KML wants longitude,latitude,altitude without blanks", tuple)
		}
		var v [3]float64
		for i, s := range parts {
			if v[i], err = strconv.ParseFloat(s, 64); err != nil || math.IsNaN(v[i]) || math.IsInf(v[i], 0) {
				return nil, 0, fmt.Errorf("%q holds no number at place %d", tuple, i+1)
			}
		}
		p := geo.LatLon{Lat: unit.Angle(v[1]) * unit.Degree, Lon: unit.Angle(v[0]) * unit.Degree}
		if math.Abs(v[0]) > 180 || math.Abs(v[1]) > 90 {
			return nil, 0, fmt.Errorf("%q is off the globe; KML wants longitude first", tuple)
		}
		points = append(points, p)
		top = max(top, v[2])
	}
	if n := len(points); n > 1 && points[0] == points[n-1] {
		points = slices.Clip(points[:n-1])
	}
	return points, top, nil
}

// span reads a time of validity. A missing end makes it open, an unreadable one a mistake.
func (k *kml) span(a *Area, begin, end string) {
	period := Period{From: time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC), To: time.Date(2200, 1, 1, 0, 0, 0, 0, time.UTC)}
	for _, side := range []struct {
		text string
		at   *time.Time
		days int
	}{{begin, &period.From, 0}, {end, &period.To, 1}} {
		text := strings.TrimSpace(side.text)
		if text == "" {
			continue
		}
		t, err := time.Parse(time.RFC3339, text)
		if err != nil {
			var day time.Time
			if day, err = time.Parse("2006-01-02", text); err == nil {
				t = day.AddDate(0, 0, side.days)
			}
		}
		if err != nil {
			k.fail(a.Name, "%q is not a time of validity; write 2026-12-01T06:00:00Z or 2026-12-01", text)
			return
		}
		*side.at = t
	}
	a.Valid = append(a.Valid, period)
}
