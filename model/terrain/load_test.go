package terrain_test

import (
	"math"
	"strings"
	"testing"

	"fieldfare/model/geo"
	"fieldfare/model/terrain"
)

func TestLoad(t *testing.T) {
	r := open(t, "utm.tif", terrain.Options{})
	f := geo.NewFrame(r.Centre())
	g, err := terrain.Load(f, 3000, terrain.Options{}, "testdata/utm.tif", "testdata/fault.tif")
	if err != nil {
		t.Fatal(err)
	}
	b := g.Bounds()
	if b.MinX != -3000 || b.MinY != -3000 || b.MaxX < 3000 || !g.Complete() || math.Abs(g.CellM-74) > 2 { // 3 seconds of longitude at 36.5° N
		t.Errorf("bounds %v, cell %v, complete %v", b, g.CellM, g.Complete())
	}
	if !strings.Contains(g.Datum.Name, "not stated") {
		t.Errorf("%+v", g.Datum)
	}
	p, _ := g.Node(11, 17)
	if z, ok, err := r.HeightAt(f.ToLatLon(p)); err != nil || !ok || math.Abs(z-p.Z) > 0.002 {
		t.Errorf("%v, want %v %v %v", p.Z, z, ok, err)
	}
	for want, far := range map[string]geo.LatLon{"km away": geo.Degrees(46.6, 10.3), "check": geo.Degrees(-84, 36)} {
		if _, err := terrain.Load(geo.NewFrame(far), 3000, terrain.Options{}, "testdata/utm.tif"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v: %v", far, err)
		}
	}
	if _, err := terrain.Load(f, 3000, terrain.Options{}); err == nil {
		t.Error("no files accepted")
	}
	if _, err := terrain.Load(f, 3000, terrain.Options{}, "testdata/missing.tif"); err == nil {
		t.Error("missing file accepted")
	}
}
