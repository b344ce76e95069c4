package export

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"image/color"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/twpayne/go-kml/v3"

	"fieldfare/model/geo"
	"fieldfare/plan/shoot"
)

// kml writes folders of site features, paths and volumes by OGC KML 2.3 (12-007r2). A planned path is a Track with
// time, and every path is a line as well, for tools without time or of KML 2.2.
func (c *Content) kml() ([]byte, error) { return c.kmlOf(true) }

func (c *Content) kmlOf(site bool) ([]byte, error) {
	ways := c.ways(mapStepS)
	var folders []kml.Element
	if site {
		folders = append(folders, c.kmlSite())
	}
	paths := []kml.Element{kml.Name("Paths")}
	volumes := []kml.Element{kml.Name("Volumes")}
	for i := range ways {
		w := &ways[i]
		paths = append(paths, c.kmlWay(w)...)
		own, err := c.kmlVolumes(w)
		if err != nil {
			return nil, err
		}
		volumes = append(volumes, own...)
	}
	folders = append(folders, kml.Folder(paths...), kml.Folder(volumes...))
	style := func(id string, ink color.Color, fill uint8, width float64) kml.Element {
		r, g, b, _ := ink.RGBA()
		return kml.SharedStyle(id, kml.LineStyle(kml.Color(ink), kml.Width(width)), kml.PolyStyle(kml.Color(color.NRGBA{uint8(r >> 8), uint8(g >> 8), uint8(b >> 8), fill})))
	}
	green, amber, red, black := color.NRGBA{0, 128, 0, 255}, color.NRGBA{255, 160, 0, 255}, color.NRGBA{255, 0, 0, 255}, color.NRGBA{0, 0, 0, 255}
	children := []kml.Element{kml.Name(c.Assessor.Shoot.Title), kml.Description(safety + " " + c.creator() + "."),
		style("path", black, 0, 3), style("barred", red, 0, 3),
		style("flight-geography", green, 32, 1), style("contingency-volume", amber, 32, 1), style("ground-risk-buffer", red, 32, 1),
		style("area-permitted", green, 16, 2), style("area-needs-permission", amber, 48, 2), style("area-out-of-bounds", red, 64, 2)}
	var b bytes.Buffer
	b.WriteString(xml.Header)
	e := xml.NewEncoder(&b)
	e.Indent("", " ")
	// KML 2.3 keeps the namespace of 2.2 and tells itself by its version.
	if err := (element{"kml", []xml.Attr{{Name: xml.Name{Local: "xmlns"}, Value: kml.Namespace}, {Name: xml.Name{Local: "version"}, Value: "2.3"}},
		[]kml.Element{kml.Document(append(children, folders...)...)}}).MarshalXML(e, xml.StartElement{}); err != nil {
		return nil, fmt.Errorf("cannot write KML: %w", err)
	}
	if err := e.Close(); err != nil {
		return nil, fmt.Errorf("cannot write KML: %w", err)
	}
	b.WriteByte('\n')
	return b.Bytes(), nil
}

// element is one that KML has since 2.3 and the library, made for 2.2, has not.
type element struct {
	name     string
	attrs    []xml.Attr
	children []kml.Element
}

// MarshalXML implements xml.Marshaler.
func (x element) MarshalXML(e *xml.Encoder, _ xml.StartElement) error {
	start := xml.StartElement{Name: xml.Name{Local: x.name}, Attr: x.attrs}
	if err := e.EncodeToken(start); err != nil {
		return err
	}
	for _, c := range x.children {
		if err := c.MarshalXML(e, xml.StartElement{}); err != nil {
			return err
		}
	}
	return e.EncodeToken(start.End())
}

// text is an element that holds nothing but words.
type text struct{ name, words string }

// MarshalXML implements xml.Marshaler.
func (x text) MarshalXML(e *xml.Encoder, _ xml.StartElement) error {
	return e.EncodeElement(x.words, xml.StartElement{Name: xml.Name{Local: x.name}})
}

// triple is an element of three numbers.
func triple(name string, a, b, c float64) text {
	number := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	return text{name, number(a) + " " + number(b) + " " + number(c)}
}

func coordinates(all [][]float64) kml.Element {
	list := make([]kml.Coordinate, len(all))
	for i, p := range all {
		list[i] = kml.Coordinate{Lon: p[0], Lat: p[1]}
		if len(p) > 2 {
			list[i].Alt = p[2]
		}
	}
	return kml.Coordinates(list...)
}

func (c *Content) kmlWay(w *way) []kml.Element {
	x := w.slate
	style := kml.StyleURL("#path")
	if x.Barred {
		style = kml.StyleURL("#barred")
	}
	line := make([][]float64, len(w.points))
	for i := range w.points {
		line[i] = w.points[i].position()
	}
	if len(line) == 1 {
		line = append(line, line[0])
	}
	words := fmt.Sprintf("%s, %s, %.1f s. %s", x.Rig, x.Lens, w.take.Path.DurationS(), safety)
	if x.Barred {
		words = "STOP: not to be flown as planned. " + words
	}
	mark := []kml.Element{kml.Name(x.Slate + " " + x.Title), kml.Description(words)}
	if !w.planned.IsZero() {
		mark = append(mark, kml.TimeSpan(kml.Begin(w.planned.UTC()), kml.End(w.points[len(w.points)-1].at.Truncate(time.Second).Add(time.Second))))
	}
	kind := kml.ExtendedData(kml.Data("kind", kml.Value("path")), kml.Data("slate", kml.Value(x.Slate)))
	mark = append(mark, style, kind, kml.LineString(kml.AltitudeMode(kml.AltitudeModeAbsolute), coordinates(line)))
	out := []kml.Element{kml.Placemark(mark...)}
	if w.planned.IsZero() {
		return out
	}
	track := []kml.Element{kml.AltitudeMode(kml.AltitudeModeAbsolute)}
	for _, p := range w.points {
		track = append(track, text{"when", stamp(p.at)}) // to the hundredth of a second, which the library cuts off
	}
	for i := range w.points {
		q := w.points[i].position()
		track = append(track, triple("coord", q[0], q[1], q[2]))
	}
	for _, p := range w.points {
		track = append(track, triple("angles", math.Mod(p.azimuth+360, 360), p.tilt, 0))
	}
	return append(out, kml.Placemark(kml.Name(x.Slate+" track"), kml.Description(words), style, kind, element{"Track", nil, track}))
}

func (c *Content) kmlVolumes(w *way) (all []kml.Element, err error) {
	volumes, err := w.volumes()
	if err != nil {
		return nil, err
	}
	for _, v := range volumes {
		words := w.slate.Slate + " " + v.kind
		var parts []kml.Element
		for _, g := range v.outlines {
			parts = append(parts, c.kmlPolygon(g, v.topM, "ground"))
		}
		all = append(all, kml.Placemark(kml.Name(words), kml.Description(fmt.Sprintf("Up to %.0f m above ground. %s", v.topM, safety)),
			kml.StyleURL("#"+strings.ReplaceAll(v.kind, " ", "-")), kml.ExtendedData(kml.Data("kind", kml.Value(v.kind)), kml.Data("slate", kml.Value(w.slate.Slate))), kml.MultiGeometry(parts...)))
	}
	return all, nil
}

// kmlPolygon stands an outline at a height over ground or sea.
func (c *Content) kmlPolygon(g geo.Polygon, topM float64, reference string) kml.Element {
	ring := func(r geo.Ring, hole bool) kml.Element {
		all := c.degrees(r, hole)
		for i := range all {
			all[i] = append(all[i], round(topM, 1))
		}
		return kml.LinearRing(coordinates(all))
	}
	mode := kml.AltitudeModeRelativeToGround
	if reference != "ground" {
		mode = kml.AltitudeModeAbsolute
	}
	parts := []kml.Element{kml.Extrude(false), kml.AltitudeMode(mode), kml.OuterBoundaryIs(ring(g.Outer, false))}
	for _, h := range g.Holes {
		parts = append(parts, kml.InnerBoundaryIs(ring(h, true)))
	}
	return kml.Polygon(parts...)
}

func (c *Content) kmlSite() kml.Element {
	folder := []kml.Element{kml.Name("Site")}
	for i := range c.Assessor.Shoot.Features() {
		f := &c.Assessor.Shoot.Features()[i]
		name := f.Name
		if name == "" {
			name = f.Kind
		}
		mark := []kml.Element{kml.Name(name)}
		if f.Note != "" {
			mark = append(mark, kml.Description(f.Note))
		}
		if f.Kind == shoot.Area {
			mark = append(mark, kml.StyleURL("#area-"+strings.ReplaceAll(f.Status, " ", "-")))
		}
		var data []kml.Element
		for _, key := range []string{"kind", "height", "spread", "sag", "width", "count", "status", "floor", "ceiling", "reference"} {
			if v, ok := siteProperties(f)[key]; ok {
				data = append(data, kml.Data(key, kml.Value(fmt.Sprint(v))))
			}
		}
		mark = append(mark, kml.ExtendedData(data...))
		folder = append(folder, kml.Placemark(append(mark, c.kmlShape(f))...))
	}
	return kml.Folder(folder...)
}

func (c *Content) kmlShape(f *shoot.Feature) kml.Element {
	frame := c.Assessor.Shoot.Frame()
	var line [][]float64
	for _, p := range f.Places {
		at := frame.ToLatLon(p)
		line = append(line, []float64{round(at.Lon.Deg(), 7), round(at.Lat.Deg(), 7)})
	}
	switch f.Shape {
	case shoot.Point:
		return kml.Point(coordinates(line[:1]))
	case shoot.Line:
		return kml.LineString(kml.Tessellate(true), coordinates(line))
	}
	top, reference := f.HeightM, "ground"
	if f.Kind == shoot.Area && !math.IsInf(f.CeilingM, 1) {
		top, reference = f.CeilingM, f.Reference
	}
	return c.kmlPolygon(f.Outline, top, reference)
}

// kmz is the KML in a zip.
func (c *Content) kmz() ([]byte, error) {
	doc, err := c.kml()
	if err != nil {
		return nil, err
	}
	return archive(c.dated(), []file{{"doc.kml", doc}})
}

type file struct {
	name string
	data []byte
}

// dated is the time that stands in archives: the shoot's own first day, so that equal shoots give
// equal bytes.
func (c *Content) dated() time.Time { return c.Assessor.Shoot.Dates[0].Midnight(time.UTC) }

func archive(dated time.Time, files []file) ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range files {
		w, err := z.CreateHeader(&zip.FileHeader{Name: f.name, Method: zip.Deflate, Modified: dated})
		if err != nil {
			return nil, fmt.Errorf("cannot pack %s: %w", f.name, err)
		}
		if _, err := w.Write(f.data); err != nil {
			return nil, fmt.Errorf("cannot pack %s: %w", f.name, err)
		}
	}
	if err := z.Close(); err != nil {
		return nil, fmt.Errorf("cannot close the archive: %w", err)
	}
	return b.Bytes(), nil
}
