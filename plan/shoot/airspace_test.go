package shoot_test

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"testing"
	"time"

	"fieldfare/model/airspace"
	"fieldfare/plan/shoot"
	"fieldfare/plan/standin"
)

// with copies the demo, writes further files into it, changes the shoot file and loads it.
func with(t testing.TB, files map[string]string, replace ...string) (*shoot.Shoot, error) {
	t.Helper()
	dir := standin.Copy(t)
	for name, text := range files {
		standin.Put(t, dir, name, text)
	}
	standin.Edit(t, dir, shoot.FileName, replace...)
	return shoot.Load(dir)
}

const openAir = `AC CTR
AN Lower valley
AL GND
AH FL 95
DP 46:36:00 N 010:17:00 E
DP 46:36:00 N 010:19:00 E
DP 46:37:00 N 010:18:00 E

AC R
AN Night firing
AL 1000 ft AGL
AH UNLIM
AA 2026-09-22T18:00Z/2026-09-22T20:00Z
V X=46:36:00 N 010:18:00 E
DC 1
`

const kmlZone = `<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><name>park</name><ExtendedData><Data name="status"><value>needs permission</value></Data></ExtendedData><Polygon><outerBoundaryIs><LinearRing><coordinates>10.29,46.59 10.31,46.59 10.31,46.61 10.29,46.61 10.29,46.59</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`

func geoJSON(properties, geometry string) string {
	return `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{` + properties + `},"geometry":` + geometry + `}]}`
}

const (
	square  = `{"type":"Polygon","coordinates":[[[10.29,46.59],[10.31,46.59],[10.31,46.61],[10.29,46.61],[10.29,46.59]],[[10.30,46.595],[10.305,46.595],[10.305,46.60],[10.30,46.595]]]}`
	inHills = "features: site.geojson"
)

func TestAirspaceFiles(t *testing.T) {
	s, err := with(t, map[string]string{"sheet.txt": openAir, "park.kml": kmlZone,
		"more.geojson": geoJSON(`"name":"glider sector","status":"needs permission","floor":"2500 ft AMSL","ceiling":"FL 130","validity":[{"from":"2026-09-22 09:00","to":"2026-09-22 12:00"}]`, square)},
		inHills, inHills+"\n  airspace: [sheet.txt, park.kml, more.geojson]")
	if err != nil {
		t.Fatal(err)
	}
	byName := map[string]*shoot.Feature{}
	for _, f := range s.Areas() {
		byName[f.Name] = f
		if f.Zone == nil {
			t.Errorf("%s has no zone", f.Name)
		}
	}
	if len(byName) != 6 {
		t.Errorf("%d areas: none may be dropped", len(byName))
	}
	if z := byName["Lower valley"].Zone; z.Ceil.Reference != airspace.FlightLevel || z.Floor != airspace.Ground || z.Status != airspace.NeedsPermission {
		t.Errorf("%s", z)
	}
	if f := byName["Night firing"]; f.Status != "out of bounds" || len(f.Zone.Valid) != 1 || !strings.HasPrefix(f.Zone.Source, "sheet.txt:") {
		t.Errorf("%+v", f)
	}
	glider := byName["glider sector"].Zone
	if glider.Floor.Reference != airspace.AboveSea || glider.Floor.HeightM != 762 || glider.Ceil.Reference != airspace.FlightLevel || len(glider.Polygon.Holes) != 1 {
		t.Errorf("%s", glider)
	}
	at := time.Date(2026, 9, 22, 8, 0, 0, 0, time.UTC) // ten o'clock at the site
	if !glider.Active(at, at) || glider.Active(at.Add(-2*time.Hour), at.Add(-2*time.Hour)) {
		t.Errorf("validity is not local time: %v", glider.Valid)
	}
}

// RFC 7946 section 3.1.9 cuts what lies across the 180th meridian in two.
func TestAreaAcross180(t *testing.T) {
	two := `{"type":"MultiPolygon","coordinates":[[[[179.9,46],[180,46],[180,47],[179.9,47],[179.9,46]]],[[[-180,46],[-179.9,46],[-179.9,47],[-180,47],[-180,46]]]]}`
	_, err := with(t, map[string]string{"far.geojson": geoJSON(`"name":"dateline","status":"out of bounds"`, two)}, inHills, inHills+"\n  airspace: [far.geojson]")
	if err == nil || !strings.Contains(err.Error(), "km away") || strings.Count(err.Error(), "dateline") < 2 {
		t.Errorf("both halves lie half a world away, and each must say so: %v", err)
	}
}

func TestAirspaceMistakes(t *testing.T) {
	bow := `{"type":"Polygon","coordinates":[[[10.29,46.59],[10.31,46.61],[10.31,46.59],[10.29,46.61],[10.29,46.59]]]}`
	outside := `{"type":"Polygon","coordinates":[[[10.29,46.59],[10.31,46.59],[10.31,46.61],[10.29,46.61],[10.29,46.59]],[[11.30,46.595],[11.305,46.595],[11.305,46.60],[11.30,46.595]]]}`
	good := `"name":"x","status":"out of bounds"`
	for _, tc := range []struct{ name, file, text, want string }{
		{"bad arc", "a.txt", "AC R\nAN x\nAL GND\nAH UNLIM\nV X=46:36:00 N 010:18:00 E\nDA 5,270\n", "a.txt:6"},
		{"circle without centre", "a.txt", "AC R\nAN x\nAL GND\nAH UNLIM\nDC 3\n", "a.txt:5"},
		{"no floor", "a.txt", "AC R\nAN x\nAH UNLIM\nV X=46:36:00 N 010:18:00 E\nDC 3\n", "has no floor"},
		{"ceiling under floor", "a.txt", "AC R\nAN x\nAL 3000 ft AMSL\nAH 1000 ft AMSL\nV X=46:36:00 N 010:18:00 E\nDC 3\n", "swapped"},
		{"empty", "a.txt", "* nothing\n", "holds no area"},
		{"unknown ending", "a.pdf", "x", "not the ending of an airspace file"},
		{"packed", "a.kmz", "x", "unpack it"},
		{"broken KML", "a.kml", "<kml><Placemark>", "not KML"},
		{"self-crossing", "a.geojson", geoJSON(good, bow), "cross"},
		{"hole outside", "a.geojson", geoJSON(good, outside), "hole"},
		{"floor over ceiling", "a.geojson", geoJSON(good+`,"floor":"300 m","ceiling":"100 m"`, square), "swapped"},
		{"level without sense", "a.geojson", geoJSON(good+`,"ceiling":"high"`, square), "is not a level"},
		{"a point", "a.geojson", geoJSON(good, `{"type":"Point","coordinates":[10.3,46.6]}`), "drawn as a polygon"},
		{"no status", "a.geojson", geoJSON(`"name":"x"`, square), "is not a status"},
		{"a house", "a.geojson", geoJSON(`"name":"x","kind":"people"`, square), "areas only"},
		{"ends first", "a.geojson", geoJSON(good+`,"validity":[{"from":"2026-09-22 12:00","to":"2026-09-22 09:00"}]`, square), "end must come after"},
		{"missing", "b.txt", "", "no such file"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			name := tc.file
			if tc.name == "missing" {
				name = "elsewhere.txt"
			}
			_, err := with(t, map[string]string{tc.file: tc.text}, inHills, inHills+"\n  airspace: ["+name+"]")
			if err == nil || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("got %v, want it to say %q", err, tc.want)
			}
		})
	}
}

func TestPermissionPapers(t *testing.T) {
	paper := "the permit"
	sum := sha256.Sum256([]byte(paper))
	digest := hex.EncodeToString(sum[:])
	at := "reference: VO-2026-118"
	files := map[string]string{"papers/permit.txt": paper}
	s, err := with(t, files, at, at+"\n    document: papers/permit.txt\n    sha256: "+digest+"\n    covers: [zone permission]")
	if err != nil {
		t.Fatal(err)
	}
	if p := &s.Permissions[0]; p.Digest() != digest || p.Changed() {
		t.Errorf("digest %s", p.Digest())
	}
	if s, err = with(t, files, at, at+"\n    document: papers/permit.txt\n    sha256: "+strings.Repeat("0", 64)); err != nil || !s.Permissions[0].Changed() {
		t.Errorf("a changed document is not told: %v", err)
	}
	zone := s.Location()
	p := &s.Permissions[0] // from 22 September 06:00 to 23 September 21:00
	for _, tc := range []struct {
		from string
		want bool
	}{{"2026-09-22 05:59", false}, {"2026-09-22 06:00", true}, {"2026-09-23 20:50", true}, {"2026-09-23 20:51", false}} {
		from, _ := time.ParseInLocation("2006-01-02 15:04", tc.from, zone)
		if got := p.Valid(from, from.Add(10*time.Minute), zone); got != tc.want {
			t.Errorf("%s: %v", tc.from, got)
		}
	}
	if asked := &s.Permissions[1]; asked.Valid(time.Date(2026, 9, 22, 10, 0, 0, 0, zone), time.Date(2026, 9, 22, 10, 0, 0, 0, zone), zone) {
		t.Error("a permission that was only asked for holds")
	}
	for _, tc := range []struct{ add, want string }{
		{"document: papers/other.txt", "no such file"},
		{"document: ../secret", "path escapes"},
		{"document: papers/permit.txt\n    sha256: abc", "not a SHA-256"},
		{"sha256: " + digest, "digest of no document"},
		{"covers: [zone permision]", `did you mean "zone permission"?`},
	} {
		if _, err := with(t, files, at, at+"\n    "+tc.add); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: got %v, want it to say %q", tc.add, err, tc.want)
		}
	}
}

func TestPermissionInTheSkippedHour(t *testing.T) {
	_, err := with(t, nil, "starts: 2026-09-22 06:00", "starts: 2026-03-29 02:30")
	if err == nil || !strings.Contains(err.Error(), "does not exist on 2026-03-29") {
		t.Errorf("%v", err)
	}
}

func TestSafetyFolder(t *testing.T) {
	survey := "date: 2026-09-21\nby: Maud Ferring\nanswers:\n  - {item: wire/power line, state: differs, height: 24 m, seen: higher than drawn}\nfound:\n  - {kind: wire, name: hay cable, at: \"46.601 N, 10.295 E\", height: 8 m}\n"
	mitigations := "calls:\n  - {what: meal"
	s, err := with(t, map[string]string{"safety/survey.yaml": survey}, mitigations,
		"mitigations:\n  - {hazard: wind, measure: wind-meter, owner: spotter}\n  - {hazard: lost-link, measure: A second transmitter stands by, owner: pilot, likelihood: 1}\n"+mitigations)
	if err != nil {
		t.Fatal(err)
	}
	if v := s.Surveyed(); v == nil || *v.Answers[0].Height != 24 || v.Found[0].Kind != shoot.Wire {
		t.Errorf("%+v", s.Surveyed())
	}
	d := s.Decision()
	if len(d.Accepted) != 1 || d.Accepted[0] != "wind-meter" || len(d.Added["lost-link"]) != 1 || d.Added["lost-link"][0].Likelihood != 1 {
		t.Errorf("%+v", d)
	}
	for _, tc := range []struct{ name, file, text, want string }{
		{"unknown state", "safety/survey.yaml", strings.Replace(survey, "differs", "different", 1), "not one of the words"},
		{"unknown key", "safety/survey.yaml", survey + "foud: []\n", `did you mean "found"?`},
		{"matrix", "safety/matrix.yaml", "id: x\n", "safety/matrix.yaml"},
		{"unknown quantity", "safety/checklists.yaml", "checklists:\n  - {id: a, title: b, items: [{text: c, when: {quantity: height_above_gruond, above: 1 m}}]}\n", "safety/checklists.yaml:2"},
		{"stray file", "safety/hazard.yaml", "hazards: []\n", "none of matrix.yaml"},
	} {
		if _, err := with(t, map[string]string{tc.file: tc.text}); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: got %v, want it to say %q", tc.name, err, tc.want)
		}
	}
	if _, err := with(t, nil, mitigations, "mitigations: [{hazard: lost-lnk, measure: x}]\n"+mitigations); err == nil || !strings.Contains(err.Error(), `did you mean "lost-link"?`) {
		t.Errorf("misspelled hazard: %v", err)
	}
}

func TestStatements(t *testing.T) {
	const calls = "calls:\n  - {what: meal"
	for _, tc := range []struct{ line, want string }{
		{"{fact: remote_identified, is: yes}", ""},
		{"{fact: anti_collision_light, is: 3 mi, rig: heron}", ""},
		{"{fact: anti_collision_light, is: 3}", "unit"},
		{"{fact: take_off_mass, is: 200 g}", "computed and cannot be stated"},
		{"{fact: folow_mode, is: no}", "not a quantity"},
		{"{fact: follow_mode, is: no, rig: hern}", `did you mean "heron"?`},
	} {
		_, err := with(t, nil, calls, "stated:\n  - "+tc.line+"\n"+calls)
		if (err == nil) != (tc.want == "") || err != nil && !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: got %v, want %q", tc.line, err, tc.want)
		}
	}
}
