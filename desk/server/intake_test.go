package server

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fieldfare/desk/intake"
)

// TestBringSite: features come in with what the page gives them, nothing is written that the site would not
// hold, and a subject's track is not written over unasked.
func TestBringSite(t *testing.T) {
	s, web := started(t)
	post := func(query, body string) (intake.Brought, int, string) {
		return upload[intake.Brought](t, web.URL+"/api/bring?"+query, []byte(body))
	}
	site := filepath.Join(s.Dir, "site.geojson")
	before, err := os.ReadFile(site)
	if err != nil {
		t.Fatal(err)
	}
	const barn = `{"type":"FeatureCollection","features":[{"type":"Feature","geometry":{"type":"Polygon","coordinates":[[[10.302,46.602],[10.3021,46.602],[10.3021,46.6021],[10.302,46.602]]]},"properties":{"name":"new barn"}}]}`
	if _, status, text := post("", barn); status != 422 {
		t.Errorf("of no kind: %d %s", status, text)
	}
	if _, status, text := post("kind=building", barn); status != 422 || !strings.Contains(text, "nothing was written") {
		t.Errorf("a building without its height: %d %s", status, text)
	}
	if now, _ := os.ReadFile(site); !bytes.Equal(now, before) {
		t.Fatal("a refused file was written")
	}
	got, status, text := post("kind=building&height=9+m", barn)
	if status != 200 || len(got.Added) != 1 || got.File != "site.geojson" || got.Caution == "" {
		t.Fatalf("%d %s", status, text)
	}
	if _, status, _ := post("kind=building&height=9+m", barn); status != 422 {
		t.Errorf("the same again: %d", status)
	}
	const gpx = `<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg><trkpt lat="46.6" lon="10.3"><time>2026-09-22T08:00:00Z</time></trkpt><trkpt lat="46.601" lon="10.301"><time>2026-09-22T08:00:20Z</time></trkpt></trkseg></trk></gpx>`
	if got, status, text := post("track=cart", gpx); status != 200 || !strings.Contains(got.Next, "tracks/cart.csv") {
		t.Errorf("%d %s", status, text)
	}
	if _, status, _ := post("track=cart", gpx); status != 409 {
		t.Errorf("written over: %d", status)
	}
	if _, status, _ := post("track=..%2Fshoot", gpx); status != 422 {
		t.Errorf("outside its folder: %d", status)
	}
	if _, status, _ := post("kind=building", strings.Repeat(" ", largestFeatures+1)); status != 413 {
		t.Errorf("too large: %d", status)
	}
}
