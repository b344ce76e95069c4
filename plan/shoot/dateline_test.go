package shoot

import (
	"math"
	"testing"

	"fieldfare/model/airspace"
	"fieldfare/model/geo"
)

// An area about the 180th meridian at 70° N, cut in two as RFC 7946 section 3.1.9 wants, for a site right on
// it: both halves lie beside the site, and a path from one to the other is in one of them all along.
func TestAreaAboutTheDateline(t *testing.T) {
	src := `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"sea ice","kind":"area","status":"out of bounds","ceiling":"FL 50"},"geometry":{"type":"MultiPolygon","coordinates":[
[[[179.98,69.99],[180,69.99],[180,70.01],[179.98,70.01],[179.98,69.99]]],
[[[-180,69.99],[-179.98,69.99],[-179.98,70.01],[-180,70.01],[-180,69.99]]]]}}]}`
	frame := geo.NewFrame(geo.Degrees(70, 180))
	all, wrong := features("ice.geojson", []byte(src), frame, nil, nil, "")
	if len(wrong) > 0 || len(all) != 2 {
		t.Fatalf("%d features: %v", len(all), wrong)
	}
	// 0.02° of longitude at 70° N are 764 m on the sphere and 766 m on the ellipsoid (N cos φ Δλ).
	width := 0.0
	for _, f := range all {
		b := f.Outline.Bounds()
		width = math.Max(width, b.MaxX-b.MinX)
		if b.MinX < -800 || b.MaxX > 800 {
			t.Errorf("a half lies at %+v", b)
		}
	}
	if math.Abs(width-766) > 3 {
		t.Errorf("half of it is %v m wide", width)
	}
	path := []airspace.Point{{TimeS: 0, Pos: geo.Vec3{X: -300, Z: 50}}, {TimeS: 60, Pos: geo.Vec3{X: 300, Z: 50}}}
	inside := 0.0
	for _, f := range all {
		found, err := f.Zone.Crossings(path, airspace.Reach{}, airspace.Setting{Ground: sea{}, QNHPa: 101325})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range found {
			if c.Possible {
				t.Errorf("%+v", c)
			}
			inside += c.ToS - c.FromS
		}
	}
	if math.Abs(inside-60) > 0.01 {
		t.Errorf("inside for %v of 60 s", inside)
	}
}

type sea struct{}

func (sea) HeightAt(x, y float64) (float64, bool) { return 0, true }
