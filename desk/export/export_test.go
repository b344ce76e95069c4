package export_test

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	second "github.com/emersion/go-ical"

	"fieldfare/desk/export"
	"fieldfare/desk/intake"
	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
	"fieldfare/plan/shoot"
)

const demoDir = "../../examples/last-milk-run"

// demo is the demo shoot, planned once for all tests.
var demo = sync.OnceValues(func() (*export.Content, error) {
	ctx := context.Background()
	s, err := shoot.Load(demoDir)
	if err != nil {
		return nil, err
	}
	a, err := assess.New(ctx, s)
	if err != nil {
		return nil, err
	}
	c, err := check.Run(ctx, a)
	if err != nil {
		return nil, err
	}
	sheet, err := call.Plan(ctx, a, c, day.Options{})
	if err != nil {
		return nil, err
	}
	source, err := os.ReadFile(filepath.Join(demoDir, shoot.FileName))
	return &export.Content{Assessor: a, Check: c, Sheet: sheet, Source: source, Version: "test"}, err
})

func content(t testing.TB) *export.Content {
	t.Helper()
	c, err := demo()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// written holds each format once for all tests.
var written = map[string][]byte{}

func write(t testing.TB, format string) []byte {
	t.Helper()
	if written[format] == nil {
		written[format] = fresh(t, format)
	}
	return written[format]
}

func fresh(t testing.TB, format string) []byte {
	t.Helper()
	data, err := export.Write(content(t), format)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// tool returns a program's path; without it the test is skipped aloud.
func tool(t testing.TB, name, from string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("NOT CHECKED: %s is not installed (Debian package %s, `make tools-test`)", name, from)
	}
	return path
}

func save(t testing.TB, name string, data []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(file, data, 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

func TestEqualShootsGiveEqualBytes(t *testing.T) {
	for _, format := range export.Formats {
		a, b := write(t, format), fresh(t, format)
		if !bytes.Equal(a, b) {
			t.Errorf("%s differs between two runs", format)
		}
		if len(a) == 0 {
			t.Errorf("%s is empty", format)
		}
	}
}

func TestEveryFileCarriesTheCaution(t *testing.T) {
	for _, format := range export.Formats {
		data := write(t, format)
		if format == "kmz" {
			data = unpack(t, data)["doc.kml"]
		}
		if format == "ics" {
			data = bytes.ReplaceAll(data, []byte("\r\n "), nil) // unfolded, RFC 5545 section 3.1
		}
		if !bytes.Contains(data, []byte("Planning aid only")) {
			t.Errorf("%s does not say that it is a planning aid", format)
		}
	}
}

// valid checks a file against a schema of testdata/xsd without the network.
func valid(t *testing.T, schema, file string) error {
	t.Helper()
	xsd, err := filepath.Abs("testdata/xsd")
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(tool(t, "xmllint", "libxml2-utils"), "--nonet", "--noout", "--schema", filepath.Join(xsd, schema), file)
	cmd.Env = append(os.Environ(), "XML_CATALOG_FILES="+filepath.Join(xsd, "catalog.xml"))
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%w\n%.2000s", err, out)
	}
	return nil
}

// asKML22 says a document of KML 2.3 in the words of 2.2 and its gx extension, which 2.3 took its tracks from.
func asKML22(doc []byte) []byte {
	doc = bytes.Replace(doc, []byte(` version="2.3"`), []byte(` xmlns:gx="http://www.google.com/kml/ext/2.2"`), 1)
	for _, name := range []string{"Track", "coord", "angles"} {
		doc = bytes.ReplaceAll(doc, []byte("<"+name+">"), []byte("<gx:"+name+">"))
		doc = bytes.ReplaceAll(doc, []byte("</"+name+">"), []byte("</gx:"+name+">"))
	}
	return doc
}

// KML against the published schemas of 2.2 and its extension, OGC 07-147r2 (testdata/xsd/README.md): what 2.3 adds is
// held against 2.3 in TestKMLByTheMappingOf23.
func TestKMLValidates(t *testing.T) {
	doc := write(t, "kml")
	if !bytes.Contains(doc, []byte(`<kml xmlns="http://www.opengis.net/kml/2.2" version="2.3">`)) {
		t.Error("not KML 2.3")
	}
	if err := valid(t, "kml22gx.xsd", save(t, "x.kml", asKML22(doc))); err != nil {
		t.Fatal(err)
	}
	// The check itself can fail: an element out of place is refused.
	if valid(t, "kml22gx.xsd", save(t, "y.kml", bytes.Replace(asKML22(doc), []byte("<Folder>"), []byte("<Folder><nonsense/>"), 1))) == nil {
		t.Fatal("the schema lets an unknown element pass: the check checks nothing")
	}
}

// A mapping generated from the published schema of KML 2.3 (npm ogc-schemas, testdata/authority/kml23.mjs) knows every
// element that is written, keeps it through a round trip, and sees each track where its path is.
func TestKMLByTheMappingOf23(t *testing.T) {
	if _, err := os.Stat("../../bench/peers/node_modules/ogc-schemas"); err != nil {
		t.Skip("NOT CHECKED: bench/peers' packages are not installed")
	}
	read := func(doc []byte) (said struct {
		Version string
		Lost    map[string]int
		Tracks  []struct {
			Name, Mode          string
			When, Coord, Angles []string
		}
	}) {
		out, err := exec.Command(tool(t, "node", "nodejs"), "testdata/authority/kml23.mjs", save(t, "x.kml", doc)).Output()
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(out, &said); err != nil {
			t.Fatal(err)
		}
		return said
	}
	doc := write(t, "kml")
	said := read(doc)
	if said.Version != "2.3" || len(said.Lost) > 0 || len(said.Tracks) == 0 {
		t.Errorf("version %q, elements unknown to the schema: %v, %d tracks", said.Version, said.Lost, len(said.Tracks))
	}
	for _, k := range said.Tracks {
		slate, _, _ := strings.Cut(k.Name, " ")
		var line [][]float64
		for _, c := range k.Coord {
			var p [3]float64
			if _, err := fmt.Sscan(c, &p[0], &p[1], &p[2]); err != nil {
				t.Fatal(err)
			}
			line = append(line, p[:])
		}
		raw, _ := json.Marshal(line)
		same(t, slate, raw)
		if k.Mode != "absolute" || len(k.When) != len(line) || len(k.Angles) != len(line) {
			t.Errorf("%s: %s, %d times and %d angles for %d places", k.Name, k.Mode, len(k.When), len(k.Angles), len(line))
		}
	}
	if said := read(bytes.Replace(doc, []byte("<Track>"), []byte("<Track><nonsense/>"), 1)); said.Lost["nonsense"] != 1 {
		t.Errorf("an unknown element passes: %v", said.Lost)
	}
}

// features read back by GDAL/OGR, by layer, as GeoJSON.
type readBack struct {
	Features []struct {
		Properties map[string]any `json:"properties"`
		Geometry   struct {
			Type        string          `json:"type"`
			Coordinates json.RawMessage `json:"coordinates"`
		} `json:"geometry"`
	} `json:"features"`
}

func ogr(t *testing.T, file string, layer ...string) readBack {
	t.Helper()
	args := append([]string{"-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=9", "/vsistdout/", file}, layer...)
	out, err := exec.Command(tool(t, "ogr2ogr", "gdal-bin"), args...).Output()
	if err != nil {
		t.Fatalf("ogr2ogr %v: %v", args, err)
	}
	var r readBack
	if err := json.Unmarshal(out, &r); err != nil {
		t.Fatal(err)
	}
	return r
}

// same compares a line that GDAL read with the path's own positions; GDAL gives GPX routes no height.
func same(t *testing.T, slate string, raw json.RawMessage) {
	t.Helper()
	var line [][]float64
	if err := json.Unmarshal(raw, &line); err != nil {
		var lines [][][]float64
		if json.Unmarshal(raw, &lines) != nil || len(lines) != 1 {
			t.Fatalf("%s: not one line: %v", slate, err)
		}
		line = lines[0]
	}
	c := content(t)
	path := c.Assessor.Take(slate).Path
	stride := int(0.2*path.RateHz + 0.5)
	for i, p := range line {
		s := path.Samples[min(i*stride, len(path.Samples)-1)]
		at := c.Assessor.Shoot.Frame().ToLatLon(s.Pos)
		if math.Abs(p[0]-at.Lon.Deg()) > 6e-8 || math.Abs(p[1]-at.Lat.Deg()) > 6e-8 || len(p) > 2 && math.Abs(p[2]-s.Pos.Z) > 0.006 {
			t.Fatalf("%s, point %d: GDAL read %v, the path has %.8f %.8f %.3f", slate, i, p, at.Lon.Deg(), at.Lat.Deg(), s.Pos.Z)
		}
	}
	if want := (len(path.Samples)-1+stride-1)/stride + 1; len(line) != want {
		t.Errorf("%s: %d points, want %d", slate, len(line), want)
	}
}

func TestGDALReadsEqualCoordinates(t *testing.T) {
	t.Run("GeoJSON", func(t *testing.T) {
		n := 0
		for _, f := range ogr(t, save(t, "x.geojson", write(t, "geojson"))).Features {
			if f.Properties["kind"] == "path" {
				same(t, f.Properties["slate"].(string), f.Geometry.Coordinates)
				n++
			}
		}
		if want := solved(t); n != want {
			t.Errorf("%d paths, want %d", n, want)
		}
	})
	t.Run("KML", func(t *testing.T) {
		file := save(t, "x.kml", write(t, "kml"))
		lines, tracks := 0, 0
		for _, f := range ogr(t, file, "Paths").Features {
			if slate, rest, _ := strings.Cut(f.Properties["Name"].(string), " "); rest != "track" {
				lines++
				same(t, slate, f.Geometry.Coordinates)
			}
		}
		// GDAL 3.6 knows tracks by their name in the extension alone.
		for _, f := range ogr(t, save(t, "y.kml", asKML22(write(t, "kml"))), "Paths").Features {
			if slate, rest, _ := strings.Cut(f.Properties["Name"].(string), " "); rest == "track" {
				tracks++
				same(t, slate, f.Geometry.Coordinates)
			}
		}
		if lines != solved(t) || tracks == 0 {
			t.Errorf("%d lines, want %d; %d tracks", lines, solved(t), tracks)
		}
		if n := len(ogr(t, file, "Site").Features); n != len(content(t).Assessor.Shoot.Features()) {
			t.Errorf("%d site features, want %d", n, len(content(t).Assessor.Shoot.Features()))
		}
	})
	t.Run("GPX", func(t *testing.T) {
		file := save(t, "x.gpx", write(t, "gpx"))
		n := 0
		for _, layer := range []string{"tracks", "routes"} {
			for _, f := range ogr(t, file, layer).Features {
				slate, _, _ := strings.Cut(f.Properties["name"].(string), " ")
				same(t, slate, f.Geometry.Coordinates)
				n++
			}
		}
		if n != solved(t) {
			t.Errorf("%d tracks and routes, want %d", n, solved(t))
		}
	})
}

func solved(t *testing.T) (n int) {
	for _, k := range content(t).Assessor.Takes() {
		if k.Unsolved == nil {
			n++
		}
	}
	return n
}

// RFC 7946: section 3.1.6 (closed rings, right-hand rule), 3.1.1 (longitude first), 4 (no crs), 3.2 (id,
// properties and geometry present).
func TestGeoJSONKeepsRFC7946(t *testing.T) {
	var doc struct {
		Type     string           `json:"type"`
		CRS      *json.RawMessage `json:"crs"`
		Features []struct {
			Type       string                     `json:"type"`
			ID         string                     `json:"id"`
			Properties map[string]json.RawMessage `json:"properties"`
			Geometry   struct {
				Type        string          `json:"type"`
				Coordinates json.RawMessage `json:"coordinates"`
			} `json:"geometry"`
		} `json:"features"`
	}
	if err := json.Unmarshal(write(t, "geojson"), &doc); err != nil {
		t.Fatal(err)
	}
	if doc.Type != "FeatureCollection" || doc.CRS != nil {
		t.Fatal("not a plain FeatureCollection")
	}
	origin := content(t).Assessor.Shoot.Frame().Origin()
	ids, polygons, holes := map[string]bool{}, 0, 0
	position := func(id string, p []float64) {
		if math.Abs(p[0]-origin.Lon.Deg()) > 0.2 || math.Abs(p[1]-origin.Lat.Deg()) > 0.2 {
			t.Fatalf("%s: position %v is far from the site: order of the axes?", id, p)
		}
	}
	ring := func(id string, r [][]float64, hole bool) {
		n := len(r)
		if n < 4 || r[0][0] != r[n-1][0] || r[0][1] != r[n-1][1] {
			t.Fatalf("%s: ring of %d positions is not closed", id, n)
		}
		area := 0.0
		for i := 1; i < n; i++ {
			position(id, r[i])
			area += (r[i-1][0]-r[0][0])*(r[i][1]-r[0][1]) - (r[i][0]-r[0][0])*(r[i-1][1]-r[0][1])
		}
		if hole == (area > 0) {
			t.Errorf("%s: ring runs the wrong way round (hole %v)", id, hole)
		}
	}
	for _, f := range doc.Features {
		if f.Type != "Feature" || f.Properties == nil || ids[f.ID] {
			t.Fatalf("feature %q is no feature, or its id is used twice", f.ID)
		}
		ids[f.ID] = true
		var all [][][][]float64
		switch f.Geometry.Type {
		case "Polygon":
			var one [][][]float64
			if err := json.Unmarshal(f.Geometry.Coordinates, &one); err != nil {
				t.Fatal(err)
			}
			all = append(all, one)
		case "MultiPolygon":
			if err := json.Unmarshal(f.Geometry.Coordinates, &all); err != nil {
				t.Fatal(err)
			}
		case "Point":
			var p []float64
			if err := json.Unmarshal(f.Geometry.Coordinates, &p); err != nil {
				t.Fatal(err)
			}
			position(f.ID, p)
		}
		for _, g := range all {
			for i, r := range g {
				polygons++
				if i > 0 {
					holes++
				}
				ring(f.ID, r, i > 0)
			}
		}
	}
	if polygons < 20 {
		t.Errorf("only %d rings looked at", polygons)
	}
	t.Logf("%d features, %d rings, %d of them holes", len(doc.Features), polygons, holes)
}

// GPX against the published schema of 1.1 (testdata/xsd/README.md); the times of a track are UTC and go on.
func TestGPXValidates(t *testing.T) {
	doc := write(t, "gpx")
	if err := valid(t, "gpx11.xsd", save(t, "x.gpx", doc)); err != nil {
		t.Fatal(err)
	}
	if valid(t, "gpx11.xsd", save(t, "y.gpx", bytes.Replace(doc, []byte("<trkseg>"), []byte("<trkseg><nonsense/>"), 1))) == nil {
		t.Fatal("the schema lets an unknown element pass: the check checks nothing")
	}
	var read struct {
		Tracks []struct {
			Segments []struct {
				Points []struct {
					Time string `xml:"time"`
				} `xml:"trkpt"`
			} `xml:"trkseg"`
		} `xml:"trk"`
	}
	if err := xml.Unmarshal(doc, &read); err != nil {
		t.Fatal(err)
	}
	times := 0
	for _, k := range read.Tracks {
		for _, s := range k.Segments {
			last := time.Time{}
			for _, p := range s.Points {
				at, err := time.Parse(time.RFC3339, p.Time)
				if err != nil || !strings.HasSuffix(p.Time, "Z") || !at.After(last) {
					t.Fatalf("time %q is not UTC by ISO 8601, or not after %s", p.Time, last)
				}
				last = at
				times++
			}
		}
	}
	if times < 500 {
		t.Errorf("%d times looked at", times)
	}
}

// The calendar read by a second library, against the day itself; line lengths and ends are those of RFC
// 5545 section 3.1.
func TestCalendarByASecondLibrary(t *testing.T) {
	data := write(t, "ics")
	for i, l := range strings.Split(string(data), "\r\n") {
		if len(l) > 75 || strings.ContainsAny(l, "\r\n") {
			t.Fatalf("line %d: %d octets, or a bare line end", i+1, len(l))
		}
	}
	cal, err := second.NewDecoder(bytes.NewReader(data)).Decode()
	if err != nil {
		t.Fatal(err)
	}
	events := map[string]second.Event{}
	for _, e := range cal.Events() {
		uid, err := e.Props.Text(second.PropUID)
		if err != nil || events[uid].Component != nil {
			t.Fatalf("event id %q is missing or used twice: %v", uid, err)
		}
		events[uid] = e
	}
	found := 0
	for _, d := range content(t).Sheet.Days {
		for n, s := range d.Sorties {
			for uid, e := range events {
				if !strings.HasPrefix(uid, fmt.Sprintf("sortie-%s-%d@", d.Date, n+1)) {
					continue
				}
				from, err1 := e.DateTimeStart(time.UTC)
				to, err2 := e.DateTimeEnd(time.UTC)
				if err1 != nil || err2 != nil || !from.Equal(s.Start) || !to.Equal(s.End) {
					t.Errorf("%s: %v to %v, the day has %v to %v", uid, from, to, s.Start, s.End)
				}
				summary, _ := e.Props.Text(second.PropSummary)
				for _, x := range s.Slates {
					if !strings.Contains(summary, x.Slate) {
						t.Errorf("%s: summary %q lacks slate %s", uid, summary, x.Slate)
					}
				}
				found++
			}
		}
	}
	want := 0
	for _, d := range content(t).Sheet.Days {
		want += len(d.Sorties)
	}
	if found != want || want == 0 {
		t.Errorf("%d sorties in the calendar, the day has %d", found, want)
	}
}

// RFC 4180: CRLF line ends, one header, equal numbers of fields; and every sample of every path.
func TestTableHoldsEverySample(t *testing.T) {
	data := write(t, "csv")
	if bytes.Count(data, []byte("\n")) != bytes.Count(data, []byte("\r\n")) {
		t.Error("a line does not end in CRLF")
	}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range export.Columns {
		if rows[0][i] != c[0] || c[1] == "" {
			t.Errorf("column %d is %q, documented as %q", i, rows[0][i], c)
		}
	}
	want := 0
	for _, k := range content(t).Assessor.Takes() {
		if k.Unsolved == nil {
			want += len(k.Path.Samples)
		}
	}
	if len(rows)-1 != want {
		t.Errorf("%d rows, the paths have %d samples", len(rows)-1, want)
	}
	for _, r := range rows[1:] {
		if r[len(r)-1] != check.Safety {
			t.Fatalf("a row does not say what it is not: %q", r)
		}
		k := content(t).Assessor.Take(r[0])
		n, _ := strconv.Atoi(r[2])
		if barred := len(k.Barred()) > 0; barred != strings.HasPrefix(r[1], "stop") {
			t.Fatalf("slate %s: state %q, barred %v", r[0], r[1], barred)
		}
		if z, _ := strconv.ParseFloat(r[7], 64); math.Abs(z-k.Path.Samples[n].Pos.Z) > 0.001 {
			t.Fatalf("slate %s, sample %d: height %v, the path has %v", r[0], n, z, k.Path.Samples[n].Pos.Z)
		}
	}
}

// What is exported can be brought in again: the site's features come back as they were.
func TestSiteComesBack(t *testing.T) {
	s := content(t).Assessor.Shoot
	for _, format := range []string{"geojson", "kml", "kmz"} {
		got, err := intake.Read(write(t, format))
		if err != nil {
			t.Fatalf("%s: %v", format, err)
		}
		merged, added, left, err := intake.Merge(nil, got, nil, true)
		if err != nil {
			t.Fatalf("%s: %v", format, err)
		}
		if len(left) == 0 {
			t.Errorf("%s: paths and volumes were not reported as left out", format)
		}
		back, err := s.ReadFeatures("merged", merged)
		if err != nil {
			t.Fatalf("%s: %v", format, err)
		}
		if len(back) != len(s.Features()) || len(added) != len(back) {
			t.Fatalf("%s: %d features came back, the site has %d", format, len(back), len(s.Features()))
		}
		for i := range back {
			a, b := s.Features()[i], back[i]
			if a.Name != b.Name || a.Kind != b.Kind || a.HeightM != b.HeightM || a.Status != b.Status || a.Count != b.Count || a.FloorM != b.FloorM || a.CeilingM != b.CeilingM || a.SpreadM != b.SpreadM {
				t.Errorf("%s: %+v came back as %+v", format, a, b)
			}
			for k := range a.Places {
				if d := a.Places[k].Sub(b.Places[k%len(b.Places)]).Horizontal(); a.Shape == shoot.Point && d > 0.02 {
					t.Errorf("%s: %s moved by %.3f m", format, a.Name, d)
				}
			}
		}
	}
}

func unpack(t testing.TB, data []byte) map[string][]byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if out[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
		r.Close()
	}
	return out
}

func TestBundleHoldsWhatItSays(t *testing.T) {
	pack := func() []byte {
		data, err := export.Bundle(context.Background(), content(t), []byte("book"), []byte("risks"), []byte("kit"), []export.Attachment{{Name: "permit.pdf", Data: []byte("permit")}})
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	a := pack()
	if !bytes.Equal(a, pack()) {
		t.Error("two archives of one shoot differ")
	}
	files := unpack(t, a)
	sums := 0
	for _, l := range strings.Split(strings.TrimSpace(string(files["SHA256SUMS"])), "\n") {
		sum, name, _ := strings.Cut(l, "  ")
		got := sha256.Sum256(files[name])
		if hex.EncodeToString(got[:]) != sum {
			t.Errorf("%s: the hash is not that of the file", name)
		}
		sums++
	}
	if sums != len(files)-2 {
		t.Errorf("%d hashes for %d files", sums, len(files)-2)
	}
	for _, name := range []string{"README.txt", "book.pdf", "risk-assessment.pdf", "volumes.kml", "safety-case.json", "permissions.json", "permissions/permit.pdf", "kit-list.pdf"} {
		if len(files[name]) == 0 {
			t.Errorf("%s is missing", name)
		}
	}
	if !json.Valid(files["safety-case.json"]) || bytes.Contains(files["volumes.kml"], []byte("<name>Site</name>")) {
		t.Error("the safety case is not JSON, or the volumes hold the whole site")
	}
}

func TestUnknownFormat(t *testing.T) {
	if _, err := export.Write(content(t), "dwg"); err == nil || !strings.Contains(err.Error(), "geojson") {
		t.Errorf("want an error that lists the formats, got %v", err)
	}
}
