package airspace_test

import (
	"strings"
	"testing"
	"time"

	"fieldfare/model/airspace"
)

const kmlHead = `<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>`
const kmlTail = `</Document></kml>`

const kmlRing = `<coordinates>11,47,500 11.1,47,500 11.1,47.1,500 11,47.1,500 11,47,500</coordinates>`

// Forms after OGC 07-147r2 (KML 2.2): boundary rings, altitude modes, extended data, time spans.
func TestReadKML(t *testing.T) {
	areas, err := airspace.ReadKML("zones.kml", []byte(kmlHead+`
<Folder><Placemark><name>Moorzone</name>
<ExtendedData><Data name="class"><value>R</value></Data><Data name="floor"><value>1000 ft AGL</value></Data><Data name="ceiling"><value>FL 65</value></Data></ExtendedData>
<TimeSpan><begin>2026-09-22</begin><end>2026-09-23T12:00:00Z</end></TimeSpan>
<Polygon><outerBoundaryIs><LinearRing>`+kmlRing+`</LinearRing></outerBoundaryIs>
<innerBoundaryIs><LinearRing><coordinates>11.02,47.02 11.04,47.02 11.04,47.04 11.02,47.02</coordinates></LinearRing></innerBoundaryIs></Polygon></Placemark></Folder>
<Placemark><name>two</name><MultiGeometry>
<Polygon><extrude>1</extrude><altitudeMode>absolute</altitudeMode><outerBoundaryIs><LinearRing>`+kmlRing+`</LinearRing></outerBoundaryIs></Polygon>
<Polygon><outerBoundaryIs><LinearRing><coordinates>179.9,10 -179.9,10 -179.9,10.2 179.9,10.2 179.9,10</coordinates></LinearRing></outerBoundaryIs></Polygon>
</MultiGeometry></Placemark>
<Placemark><name>a point</name><Point><coordinates>1,2</coordinates></Point></Placemark>`+kmlTail))
	if err != nil {
		t.Fatal(err)
	}
	if len(areas) != 3 {
		t.Fatalf("%d areas", len(areas))
	}
	moor := areas[0]
	if moor.Status != airspace.OutOfBounds || moor.Floor.Reference != airspace.AboveGround || moor.Ceil.Reference != airspace.FlightLevel || len(moor.Holes) != 1 || len(moor.Outer) != 4 {
		t.Errorf("%+v", moor)
	}
	noon := time.Date(2026, 9, 23, 12, 0, 0, 0, time.UTC)
	if !moor.Active(noon.Add(-time.Minute), noon) || moor.Active(noon, noon.Add(time.Hour)) {
		t.Errorf("valid %v", moor.Valid)
	}
	if areas[1].Ceil.HeightM != 500 || areas[1].Ceil.Reference != airspace.AboveSea || areas[1].Floor != airspace.Ground {
		t.Errorf("extruded: %s", &areas[1])
	}
	if !areas[2].Ceil.Unlimited || areas[2].Status != airspace.NeedsPermission {
		t.Errorf("what is not said must be taken carefully: %s", &areas[2])
	}
}

func TestReadKMLMistakes(t *testing.T) {
	polygon := func(inside string) string {
		return kmlHead + `<Placemark><name>bad</name>` + inside + `</Placemark>` + kmlTail
	}
	ring := func(c string) string {
		return `<Polygon><outerBoundaryIs><LinearRing><coordinates>` + c + `</coordinates></LinearRing></outerBoundaryIs></Polygon>`
	}
	good := ring("11,47 11.1,47 11.1,47.1 11,47")
	data := func(name, value string) string {
		return `<ExtendedData><Data name="` + name + `"><value>` + value + `</value></Data></ExtendedData>`
	}
	for _, tc := range []struct{ name, text, want string }{
		{"not XML", "<kml><Placemark>", "not KML"},
		{"another root", "<gpx></gpx>", "begins with <kml>"},
		{"empty", "", "holds no <kml>"},
		{"bow tie", polygon(ring("11,47 11.1,47.1 11.1,47 11,47.1 11,47")), "cross"},
		{"two points", polygon(ring("11,47 11.1,47 11,47")), "expected at least 3"},
		{"swapped", polygon(ring("11,99 11.1,99 11.1,99.1 11,99")), "longitude first"},
		{"no number", polygon(ring("11,x 11.1,47 11.1,47.1 11,47")), "no number"},
		{"blank after comma", polygon(ring("11, 47 11.1,47")), "no number"},
		{"status", polygon(data("status", "maybe") + good), "not the status"},
		{"level", polygon(data("floor", "high") + good), "is not a level"},
		{"ceiling below floor", polygon(`<ExtendedData><Data name="floor"><value>900 m MSL</value></Data><Data name="ceiling"><value>300 m MSL</value></Data></ExtendedData>` + good), "swapped"},
		{"time", polygon(`<TimeSpan><begin>soon</begin></TimeSpan>` + good), "time of validity"},
		{"ends first", polygon(`<TimeSpan><begin>2026-09-22</begin><end>2026-09-20</end></TimeSpan>` + good), "end must come after"},
		{"network link", kmlHead + `<NetworkLink><Link><href>x</href></Link></NetworkLink>` + kmlTail, "not fetched"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			areas, err := airspace.ReadKML("zones.kml", []byte(tc.text))
			if err == nil || areas != nil {
				t.Fatalf("no error, %d areas", len(areas))
			}
			if !strings.Contains(err.Error(), tc.want) || !strings.HasPrefix(err.Error(), "zones.kml:") {
				t.Errorf("got %q, want it to say %q", err, tc.want)
			}
		})
	}
}

func FuzzReadKML(f *testing.F) {
	f.Add([]byte(kmlHead + `<Placemark><Polygon><outerBoundaryIs><LinearRing>` + kmlRing + `</LinearRing></outerBoundaryIs></Polygon></Placemark>` + kmlTail))
	f.Add([]byte("<kml>"))
	f.Fuzz(func(t *testing.T, data []byte) {
		areas, err := airspace.ReadKML("f.kml", data)
		if err != nil && areas != nil {
			t.Fatal("areas beside an error")
		}
		for i := range areas {
			if err := areas[i].Validate(); err != nil {
				t.Fatal(err)
			}
		}
	})
}
