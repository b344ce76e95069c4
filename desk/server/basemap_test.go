package server

import (
	"bytes"
	"context"
	"encoding/binary"
	"image/png"
	"io"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

func get(t *testing.T, url string, header ...string) (*http.Response, []byte) {
	t.Helper()
	r, err := http.NewRequest("GET", url, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer, body
}

// TestBaseMap: a picture is served as tiles, an archive by byte ranges, and nothing outside the folder ever.
func TestBaseMap(t *testing.T) {
	s, web := started(t)
	site, _ := ask[Site](t, "GET", web.URL+"/api/site", nil)
	if site.Map == nil || site.Map.Kind != "picture" || site.Map.Bounds[0] > site.Origin[0] || site.Map.Bounds[3] < site.Origin[1] {
		t.Fatalf("the demo's map: %+v", site.Map)
	}
	n := math.Exp2(15)
	x := int((site.Origin[0] + 180) / 360 * n)
	y := int((1 - math.Asinh(math.Tan(site.Origin[1]*math.Pi/180))/math.Pi) / 2 * n)
	answer, body := get(t, web.URL+"/api/map/15/"+strconv.Itoa(x)+"/"+strconv.Itoa(y))
	img, err := png.Decode(bytes.NewReader(body))
	if err != nil || answer.StatusCode != 200 || img.Bounds().Dx() != 256 {
		t.Fatalf("a tile: %d %v", answer.StatusCode, err)
	}
	for path, want := range map[string]int{"/api/map/15/1/1": 204, "/api/map/15/-1/1": 404, "/api/map/9/512/1": 404, "/api/map/a/b/c": 404, "/api/map/40/1/1": 404, "/api/map": 404} {
		if answer, _ := get(t, web.URL+path); answer.StatusCode != want {
			t.Errorf("%s: %d, want %d", path, answer.StatusCode, want)
		}
	}

	archive := make([]byte, 127, 4096)
	copy(archive, "PMTiles\x03")
	archive[99], archive[101] = 2, 14
	for i, v := range [4]int32{102000000, 465000000, 104000000, 467000000} {
		binary.LittleEndian.PutUint32(archive[102+4*i:], uint32(v))
	}
	for len(archive) < 4096 {
		archive = append(archive, byte(len(archive)))
	}
	file := filepath.Join(s.Dir, "valley.pmtiles")
	if err := os.WriteFile(file, archive, 0o644); err != nil {
		t.Fatal(err)
	}
	yaml, err := os.ReadFile(filepath.Join(s.Dir, "shoot.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	yaml = bytes.Replace(bytes.Replace(yaml, []byte("map: sheet.png"), []byte("map: valley.pmtiles"), 1), []byte("  map_crs: EPSG:32632\n"), nil, 1)
	if err := os.WriteFile(filepath.Join(s.Dir, "shoot.yaml"), yaml, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := s.Reload(context.Background()); err != nil {
		t.Fatal(err)
	}
	if site, _ = ask[Site](t, "GET", web.URL+"/api/site", nil); site.Map == nil || site.Map.Kind != "archive" || site.Map.Vector || site.Map.MaxZoom != 14 {
		t.Fatalf("the archive: %+v", site.Map)
	}
	answer, body = get(t, web.URL+"/api/map", "Range", "bytes=100-299")
	if answer.StatusCode != 206 || !bytes.Equal(body, archive[100:300]) || answer.Header.Get("Content-Range") != "bytes 100-299/4096" || answer.Header.Get("ETag") == "" {
		t.Errorf("a range: %d, %d bytes, %v", answer.StatusCode, len(body), answer.Header)
	}
	if answer, _ = get(t, web.URL+"/api/map", "Range", "bytes=9000-9100"); answer.StatusCode != 416 {
		t.Errorf("a range beyond the end: %d", answer.StatusCode)
	}
	if answer, _ = get(t, web.URL+"/api/map/15/"+strconv.Itoa(x)+"/"+strconv.Itoa(y)); answer.StatusCode != 404 {
		t.Errorf("a tile of an archive: %d", answer.StatusCode)
	}

	// The name in the file is the only one that is ever opened, and never through a link out of the folder.
	secret := filepath.Join(t.TempDir(), "secret.pmtiles")
	if err := os.WriteFile(secret, []byte("secret"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/api/map/../../shoot.yaml", "/api/map/..%2f..%2fshoot.yaml", "/api/map/%2e%2e/shoot.yaml", "/api/map//etc/passwd", "/api/map?name=" + secret} {
		if answer, body := get(t, web.URL+path); bytes.Contains(body, []byte("secret")) || bytes.Contains(body, []byte("fieldfare: 1")) || bytes.Contains(body, []byte("root:")) {
			t.Errorf("%s: %d gave away %q", path, answer.StatusCode, body)
		}
	}
	if err := os.Remove(file); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(secret, file); err != nil {
		t.Fatal(err)
	}
	if answer, body = get(t, web.URL+"/api/map"); answer.StatusCode != 409 || strings.Contains(string(body), "secret") {
		t.Errorf("a link out of the folder: %d %q", answer.StatusCode, body)
	}
	if err := s.Reload(context.Background()); err == nil || !strings.Contains(err.Error(), "site.map") {
		t.Errorf("a shoot whose map is a link out of the folder: %v", err)
	}
}

// TestBaseMapIsNotForStrangers: the map is the crew's own.
func TestBaseMapIsNotForStrangers(t *testing.T) {
	h := shut(t).Handler()
	for _, path := range []string{"/api/map", "/api/map/1/1/1"} {
		if got := try(h, request{path: path, host: hostLAN, from: phone}).StatusCode; got != http.StatusUnauthorized {
			t.Errorf("%s: %d", path, got)
		}
	}
}
