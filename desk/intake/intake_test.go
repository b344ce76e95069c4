package intake_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"fieldfare/desk/intake"
	"fieldfare/desk/track"
)

const kml = `<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document>
 <Folder><Placemark><name>barn</name><ExtendedData><Data name="kind"><value>building</value></Data><Data name="height"><value>9 m</value></Data></ExtendedData>
  <Polygon><outerBoundaryIs><LinearRing><coordinates> 10.30,46.60,0 10.31,46.60 10.31,46.61 </coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Folder>
 <Placemark><name>pair</name><MultiGeometry><Point><coordinates>10.3,46.6</coordinates></Point><LineString><coordinates>10.3,46.6 10.4,46.6</coordinates></LineString></MultiGeometry></Placemark>
 <Placemark><name>statue</name><Model/></Placemark>
 <GroundOverlay><name>photo</name></GroundOverlay>
</Document></kml>`

const gpx = `<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="x"><wpt lat="46.6" lon="10.3"><name>gate</name><type>launch</type></wpt>
<rte><name>lane</name><rtept lat="46.6" lon="10.3"/><rtept lat="46.61" lon="10.3"/></rte>
<trk><name>truck</name><trkseg><trkpt lat="46.6" lon="10.3"><time>2026-09-22T10:00:00Z</time></trkpt><trkpt lat="46.61" lon="10.3"><time>2026-09-22T10:00:30Z</time></trkpt></trkseg></trk></gpx>`

func read(t *testing.T, data string) *intake.Content {
	t.Helper()
	c, err := intake.Read([]byte(data))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestKML(t *testing.T) {
	c := read(t, kml)
	if len(c.Found) != 3 || c.Format != "kml" {
		t.Fatalf("%d features of %s, want 3 of kml", len(c.Found), c.Format)
	}
	barn := c.Found[0]
	if barn.Name != "barn" || barn.Properties["height"] != "9 m" || len(barn.Rings[0]) != 4 {
		t.Errorf("barn came in as %+v; its open ring is to be closed", barn)
	}
	if c.Found[1].Name != "pair 1" || c.Found[2].Type != "LineString" {
		t.Errorf("the collection was not taken apart: %+v", c.Found[1:])
	}
	if all := strings.Join(c.LeftOut, ";"); !strings.Contains(all, "statue") || !strings.Contains(all, "photo") {
		t.Errorf("left out without a word: %v", c.LeftOut)
	}
}

func TestKMZ(t *testing.T) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, name := range []string{"a.kml", "doc.kml"} {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if name == "doc.kml" {
			w.Write([]byte(kml))
		}
	}
	z.Close()
	if c := read(t, b.String()); c.Format != "kmz" || len(c.Found) != 3 {
		t.Errorf("%d features of %s", len(c.Found), c.Format)
	}
}

func TestGPX(t *testing.T) {
	c := read(t, gpx)
	if len(c.Found) != 3 || c.Found[0].Properties["kind"] != "launch" || c.Found[0].Rings[0][0][0] != 10.3 {
		t.Errorf("%+v", c.Found)
	}
}

func TestMerge(t *testing.T) {
	site := []byte(`{"type":"FeatureCollection","note":{"kept":1},"features":[{"type":"Feature","properties":{"kind":"launch","name":"gate"},"geometry":{"type":"Point","coordinates":[1,2]}}]}`)
	if _, _, _, err := intake.Merge(site, read(t, gpx), intake.Given{"kind": "road"}, false); err == nil || !strings.Contains(err.Error(), "gate") {
		t.Errorf("a feature that is there already: %v", err)
	}
	if _, _, _, err := intake.Merge(site, read(t, gpx), nil, true); err == nil || !strings.Contains(err.Error(), "lane, truck") {
		t.Errorf("features without a kind: %v", err)
	}
	merged, added, _, err := intake.Merge(site, read(t, gpx), intake.Given{"kind": "road"}, true)
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Note     map[string]int `json:"note"`
		Features []struct {
			Properties map[string]any `json:"properties"`
			Geometry   struct {
				Coordinates json.RawMessage `json:"coordinates"`
			} `json:"geometry"`
		} `json:"features"`
	}
	if err := json.Unmarshal(merged, &doc); err != nil {
		t.Fatal(err)
	}
	if doc.Note["kept"] != 1 || len(doc.Features) != 3 || len(added) != 3 || string(doc.Features[0].Geometry.Coordinates) != "[10.3,46.6]" {
		t.Errorf("merged: %s", merged)
	}
}

func TestWayOfASubject(t *testing.T) {
	recorded, err := track.Read(t.Context(), []byte(gpx), track.Options{Zone: time.UTC})
	if err != nil {
		t.Fatal(err)
	}
	way, err := intake.Way(recorded)
	if err != nil {
		t.Fatal(err)
	}
	want := "time [s],latitude [deg],longitude [deg],height [m]\n0.000,46.60000000,10.30000000,\n30.000,46.61000000,10.30000000,\n"
	if string(way) != want {
		t.Errorf("got\n%s", way)
	}
}

func TestBadFiles(t *testing.T) {
	for name, x := range map[string]struct{ data, word string }{
		"empty":         {"", "empty"},
		"neither":       {"hello", "neither"},
		"swapped":       {`{"type":"Point","coordinates":[46.6,110.3]}`, "off the globe"},
		"short ring":    {`{"type":"Polygon","coordinates":[[[1,2],[3,4],[1,2]]]}`, "ring"},
		"document type": {`<!DOCTYPE kml [<!ENTITY a "b">]><kml/>`, "document type"},
		"broken xml":    {"<kml><Document>", "line 1"},
		"other xml":     {"<svg/>", "svg"},
		"bad number":    {`<kml><Placemark><Point><coordinates>ten,20</coordinates></Point></Placemark></kml>`, "not a number"},
		"bad zip":       {"PK\x03\x04rubbish", "zip"},
	} {
		if _, err := intake.Read([]byte(x.data)); err == nil || !strings.Contains(err.Error(), x.word) {
			t.Errorf("%s: got %v, want an error with %q", name, err, x.word)
		}
	}
}

// No file makes the reader panic or hands out a position off the globe.
func FuzzRead(f *testing.F) {
	for _, s := range []string{kml, gpx, `{"type":"GeometryCollection","geometries":[{"type":"Point","coordinates":[1,2]}]}`, `{"type":"FeatureCollection","features":[{"type":"Feature","geometry":null}]}`, "<kml><Placemark><MultiGeometry/></Placemark></kml>"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := intake.Read(data)
		if err != nil {
			return
		}
		for _, x := range c.Found {
			for _, r := range x.Rings {
				for _, p := range r {
					if p[0] < -180 || p[0] > 180 || p[1] < -90 || p[1] > 90 {
						t.Fatalf("position %v", p)
					}
				}
			}
		}
		_, _, _, _ = intake.Merge(nil, c, intake.Given{"kind": "tree", "height": "3 m"}, true)
	})
}
