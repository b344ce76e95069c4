package dossier_test

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"fieldfare/model/geo"
	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/dossier"
	"fieldfare/plan/shoot"
	"fieldfare/plan/standin"
)

// small writes the case of the demo cut to some slates, with further files and texts replaced.
func small(t testing.TB, slates string, files map[string]string, replace ...string) (*dossier.Case, *assess.Assessor) {
	t.Helper()
	dir := standin.Copy(t)
	for name, text := range files {
		standin.Put(t, dir, name, text)
	}
	standin.Keep(t, dir, strings.Fields(slates)...)
	standin.Edit(t, dir, shoot.FileName, replace...)
	ctx := context.Background()
	a := standin.Assess(t, dir)
	c, err := check.Run(ctx, a)
	if err != nil {
		t.Fatal(err)
	}
	d, err := dossier.Write(ctx, a, c)
	if err != nil {
		t.Fatal(err)
	}
	return d, a
}

func TestCaseIsWhole(t *testing.T) {
	d, a := small(t, "2A 4A", nil)
	if d.Caution != check.Safety || len(d.Slates) != 2 {
		t.Errorf("caution %q, %d slates", d.Caution, len(d.Slates))
	}
	p := &d.Activities
	if len(p.Operations) != 2 || len(p.Crew) != 3 || len(p.Aircraft) != 3 || len(p.Obstacles) < 10 || len(p.Guidelines) < 5 || len(p.Brief) < 5 || len(p.Airspace) < 2 {
		t.Errorf("%+v", p)
	}
	if d.Emergency.Hospital != dossier.Unknown || !strings.Contains(strings.Join(p.Brief, " "), "nearest hospital: unknown") {
		t.Errorf("a hospital that nobody entered: %q", d.Emergency.Hospital)
	}
	for _, c := range p.Crew {
		if c.Name == "Maud Ferring" && len(c.Certificates) != 0 || c.Phone == "" {
			t.Errorf("%+v", c)
		}
	}
	for _, x := range d.Slates {
		if err := a.Take(x.Slate).Facts(x.At).Check(); err != nil {
			t.Errorf("slate %s: %v", x.Slate, err)
		}
		if x.LostLink == nil || x.LostLink.ClearanceM < 29.9 {
			t.Errorf("slate %s: lost link %+v", x.Slate, x.LostLink)
		}
		if x.Landing.Unknown != "" || len(x.Landing.Points) < int(x.DurationS) {
			t.Errorf("slate %s: landing %q, %d seconds of %v", x.Slate, x.Landing.Unknown, len(x.Landing.Points), x.DurationS)
		}
		for _, r := range x.Landing.Points {
			for i := 1; i < len(r.Spots); i++ {
				if r.Spots[i].TravelS < r.Spots[i-1].TravelS {
					t.Errorf("slate %s: %+v is not in order of time", x.Slate, r.Spots)
				}
			}
		}
		if x.FlyAway.ReachM < 1000 || len(x.Falls.Points) < int(x.DurationS) || !x.Falls.WindKnown {
			t.Errorf("slate %s: fly-away %+v, %d falls", x.Slate, x.FlyAway, len(x.Falls.Points))
		}
		if len(x.Links) != 3 || len(x.Links[0].Points) < int(x.DurationS) || x.Links[2].Stand == "" || len(x.Eased) == 0 {
			t.Errorf("slate %s: links %+v", x.Slate, x.Links)
		}
		for i, l := range x.Links {
			least := math.Inf(1)
			for _, p := range l.Points {
				least = math.Min(least, p.MarginDB)
			}
			if m := x.Radio[i].MarginDB; m == nil || least > *m+0.5 {
				t.Errorf("slate %s, %s link: least %v by the second, %v in the numbers", x.Slate, l.Use, least, m)
			}
		}
		if len(x.Rules) == 0 || len(x.Risks) < 8 {
			t.Errorf("slate %s: %d rules, %d risks", x.Slate, len(x.Rules), len(x.Risks))
		}
	}
	again, _ := small(t, "2A 4A", nil)
	one, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	two, _ := json.Marshal(again)
	if string(one) != string(two) {
		t.Error("the same folder gave two cases")
	}
	if err := d.Only("9Z"); err == nil || !strings.Contains(err.Error(), "2A, 4A") {
		t.Errorf("%v", err)
	}
	if err := d.Only("4A"); err != nil || len(d.Slates) != 1 || d.Risks[0].Worst != "4A" {
		t.Errorf("%v, %+v", err, d.Slates)
	}
}

func TestWhatIsNotKnownSaysSo(t *testing.T) {
	d, _ := small(t, "2A", nil, "forecast: forecast.csv\n", "", "  people: 12/km2\n", "", "reference: VO-2026-118\n", "contact: \"+00 1\"\n")
	x := &d.Slates[0]
	if x.Safety.GroundRisk != nil || x.FlyAway.Unknown == "" || x.Falls.WindKnown || d.Activities.PeoplePerKm != nil || d.Register[0].Reference != dossier.Unknown {
		t.Errorf("%+v %+v", x.FlyAway, x.Falls)
	}
	for _, r := range x.Risks {
		if r.ID == "wind" && len(r.Missing) == 0 {
			t.Errorf("wind is not known, yet nothing is missing: %+v", r)
		}
	}
	if !strings.Contains(strings.Join(d.Emergency.FlyAway, " "), dossier.Unknown) {
		t.Errorf("%v", d.Emergency.FlyAway)
	}
}

func TestRegister(t *testing.T) {
	file := map[string]string{"permit.txt": "permit"}
	d, _ := small(t, "2A 3A", file, "ends: 2026-09-23 21:00", "ends: 2026-09-22 12:00\n    document: permit.txt\n    sha256: "+strings.Repeat("0", 64))
	text := func(i int) string { return strings.Join(d.Register[i].Findings, "\n") }
	if d.Register[0].AskBy != "2026-09-02" { // 20 days ahead of 22 September
		t.Errorf("ask by %s", d.Register[0].AskBy)
	}
	if !strings.Contains(text(0), "slate 2A has its light on 2026-09-22") || !strings.Contains(text(0), "outside its times") {
		t.Errorf("light outside the permission's times is not told: %s", text(0))
	}
	if !strings.Contains(text(0), "read it again") || len(d.Register[0].SHA256) != 64 {
		t.Errorf("a changed document is not told: %s", text(0))
	}
	if !strings.Contains(text(1), "not granted") || !strings.Contains(text(1), "ask by 2026-09-12") {
		t.Errorf("%s", text(1))
	}
	d, _ = small(t, "2A", nil, "area: valley permit", "area: grouse reserve")
	if !strings.Contains(text(0), "slate 2A leaves grouse reserve") {
		t.Errorf("a slate outside the permission's place is not told: %s", text(0))
	}
}

func TestMitigationsCount(t *testing.T) {
	const calls = "calls:\n"
	row := func(d *dossier.Case, id string) dossier.Risk {
		for _, r := range d.Risks {
			if r.ID == id {
				return r
			}
		}
		t.Fatalf("no hazard %s", id)
		return dossier.Risk{}
	}
	plain, _ := small(t, "2A", nil)
	d, _ := small(t, "2A", nil, calls, "mitigations:\n  - {hazard: rotor-injury, measure: landing-ring, owner: spotter}\n  - {hazard: rotor-injury, measure: A marshal with a whistle, owner: set safety, severity: 1}\n  - {hazard: payload, measure: Words alone, owner: nobody}\n"+calls)
	before, after := row(plain, "rotor-injury"), row(d, "rotor-injury")
	if after.Residual.Likelihood != before.Residual.Likelihood-1 || after.Residual.Severity != before.Residual.Severity-1 {
		t.Errorf("before %+v, after %+v", before.Residual, after.Residual)
	}
	if row(d, "payload").Residual != row(plain, "payload").Residual {
		t.Error("a measure without steps lowered a risk")
	}
	matrix := "id: two-by-two\nlikelihood: [seldom, often]\nseverity: [light, grave]\nbands:\n  - {name: fine, accept: go}\n  - {name: bad, accept: stop}\ncells:\n  - [fine, bad]\n  - [bad, bad]\n"
	d, _ = small(t, "2A", map[string]string{"safety/matrix.yaml": matrix})
	if d.Matrix.ID != "two-by-two" || d.Risks[0].Residual.Band.Name != "bad" {
		t.Errorf("%+v", d.Risks[0].Residual)
	}
	lists := "checklists:\n  - {id: own, title: Our own, items: [{text: \"Ring the bell\"}, {text: \"Look under the van\", when: {quantity: night, is: true}}]}\n"
	d, _ = small(t, "2A", map[string]string{"safety/checklists.yaml": lists})
	if len(d.Checklists) != 1 || len(d.Checklists[0].Items) != 1 {
		t.Errorf("%+v", d.Checklists)
	}
}

func TestSurveyAgainstThePlan(t *testing.T) {
	d, a := small(t, "2A", nil)
	if d.Survey != nil {
		t.Fatal("a survey that nobody made")
	}
	var answers strings.Builder
	for _, l := range d.Sheet {
		switch l.ID {
		case "site/telephone":
		case "wire/power line":
			answers.WriteString("  - {item: wire/power line, state: differs, height: 24 m}\n")
		default:
			answers.WriteString("  - {item: \"" + l.ID + "\", state: as planned}\n")
		}
	}
	// A mast that was not drawn, right under the middle of the path and as high as it.
	moments := a.Take("2A").Moments(3)
	mid := moments[len(moments)/2].Pos
	ground, _ := a.Shoot.Ground().HeightAt(mid.X, mid.Y)
	at := a.Shoot.Frame().ToLatLon(mid)
	place := shoot.Place(at).String()
	height := math.Round(mid.Z - ground)
	survey := "date: 2026-09-21\nby: Maud Ferring\nanswers:\n" + answers.String() + "  - {item: wire/telegraph, state: as planned}\n" +
		"found:\n  - {kind: mast, name: new mast, at: \"" + place + "\", height: " + number(height) + " m}\n  - {kind: tree, name: far tree, at: \"46.60814 N, 10.30990 E\", height: 9 m}\n"
	d, _ = small(t, "2A", map[string]string{"safety/survey.yaml": survey})
	if d.Survey.Open != 1 {
		t.Errorf("%d lines open", d.Survey.Open)
	}
	got := map[string]dossier.Difference{}
	for _, x := range d.Survey.Diffs {
		got[x.Item] = x
	}
	if x := got["site/telephone"]; x.State != "not checked" || x.Severity != assess.Unknown {
		t.Errorf("%+v", x)
	}
	if x := got["wire/power line"]; !strings.Contains(x.Found, "24.0 m high, +5.0 m") || x.Severity == assess.Stop {
		t.Errorf("%+v", x)
	}
	if x := got["wire/telegraph"]; x.Severity != assess.Unknown || !strings.Contains(x.State, "no line") {
		t.Errorf("%+v", x)
	}
	if x := got["mast/new mast"]; x.Severity != assess.Stop || len(x.Slates) != 1 || !x.Slates[0].Stop || math.Abs(x.Slates[0].DistanceM) > 1.5 {
		t.Errorf("%+v", x)
	}
	if x := got["tree/far tree"]; x.Severity != assess.Caution || len(x.Slates) != 0 {
		t.Errorf("%+v", x)
	}
	if len(got) != 5 {
		t.Errorf("%d differences: %v", len(got), got)
	}
}

func number(v float64) string {
	b, _ := json.Marshal(v)
	return string(b)
}

// A buffer drawn around a path is the set of points within the radius: every corner of its outline lies that far
// from the path (the outline of package risk keeps within 0.5 %), measured here by the frame's own distances.
func TestLayersLieWhereTheyShould(t *testing.T) {
	d, a := small(t, "2A", nil)
	m, err := d.Map(a)
	if err != nil {
		t.Fatal(err)
	}
	take, frame := a.Take("2A"), a.Shoot.Frame()
	var path []geo.Vec2
	for _, x := range take.Moments(60) {
		path = append(path, x.Pos.XY())
	}
	kinds := map[string]int{}
	for _, f := range m.Features {
		kind := f.Properties["layer"].(string)
		kinds[kind]++
		rings, ok := f.Geometry.Coordinates.([][][][]float64)
		if !ok {
			continue
		}
		radius, ok := f.Properties["radius_m"].(float64)
		if !ok {
			continue // something of the site
		}
		for _, polygon := range rings {
			for k, ring := range polygon {
				if first, last := ring[0], ring[len(ring)-1]; first[0] != last[0] || first[1] != last[1] {
					t.Errorf("%s: an open ring", kind)
				}
				area := 0.0
				for i, at := range ring {
					p := frame.ToSite(geo.Degrees(at[1], at[0]), 0).XY()
					if i > 0 {
						q := frame.ToSite(geo.Degrees(ring[i-1][1], ring[i-1][0]), 0).XY()
						area += q.X*p.Y - p.X*q.Y
					}
					least := math.Inf(1)
					for j := 1; j < len(path); j++ {
						dist, _ := geo.PointSegment2(p, path[j-1], path[j])
						least = math.Min(least, dist)
					}
					if math.Abs(least-radius) > 0.01*radius+0.02 {
						t.Errorf("%s: corner %d lies %v m from the path, want %v", kind, i, least, radius)
					}
				}
				if (area > 0) != (k == 0) {
					t.Errorf("%s: ring %d turns the wrong way (RFC 7946 section 3.1.6)", kind, k)
				}
			}
		}
	}
	for _, kind := range []string{dossier.LayerPath, dossier.LayerGeography, dossier.LayerContingency, dossier.LayerBuffer, dossier.LayerFalls, dossier.LayerHome, dossier.LayerPilot} {
		if kinds[kind] != 1 {
			t.Errorf("%d layers %s", kinds[kind], kind)
		}
	}
	if kinds[dossier.LayerSite] != len(a.Shoot.Features()) {
		t.Errorf("%d of %d features of the site", kinds[dossier.LayerSite], len(a.Shoot.Features()))
	}
	if m.Caution == "" || m.Type != "FeatureCollection" {
		t.Error("no caution beside the map")
	}
}

func TestMethodFollowsWhatWasFound(t *testing.T) {
	d, _ := small(t, "2A", nil)
	var text []string
	for _, s := range d.Method {
		text = append(text, s.Title)
		text = append(text, s.Lines...)
	}
	all := strings.Join(text, "\n")
	for _, want := range []string{"Slate 2A", "Walk the site", "Lost link: climb to", "Keep people who take no part", "Mean wind at flying height: 8 m/s", "Controls that nobody has accepted yet"} {
		if !strings.Contains(all, want) {
			t.Errorf("the method does not say %q:\n%s", want, all)
		}
	}
	d, _ = small(t, "2A", nil, "  wind: 8 m/s\n", "")
	for _, s := range d.Method {
		if s.Title == "Numbers at which flying stops" && !strings.Contains(s.Lines[0], dossier.Unknown) {
			t.Errorf("%v", s.Lines)
		}
	}
}

// A slate that cannot be flown as asked has a case that says so, and nothing in it that looks known.
func TestUnsolvedSlate(t *testing.T) {
	d, a := small(t, "2A", nil, "distance: 110 m, height: 14 m, end_distance: 45 m", "distance: 9000 m, height: 14 m, end_distance: 45 m")
	if a.Take("2A").Unsolved == nil {
		t.Fatal("the path solver finds a way over nine kilometres")
	}
	x := &d.Slates[0]
	if !assess.Has(x.Findings, assess.Stop) || x.Unsolved == "" {
		t.Errorf("%+v", x.Findings)
	}
	if !x.Barred || x.LostLink != nil || len(x.Falls.Points) != 0 || x.Falls.Unknown == "" || x.Landing.Unknown == "" || x.Safety.BufferM != nil {
		t.Errorf("%+v", x)
	}
	if m, err := d.Map(a); err != nil || len(m.Features) != len(a.Shoot.Features()) {
		t.Errorf("%v", err)
	}
}

func TestCaseAtThePlannedHour(t *testing.T) {
	ctx := context.Background()
	best, a := small(t, "2A", nil)
	c, err := check.Run(ctx, a)
	if err != nil {
		t.Fatal(err)
	}
	at := best.Slates[0].At.Add(-90 * time.Minute)
	d, err := dossier.WriteAt(ctx, a, c, map[string]time.Time{"2A": at})
	if err != nil {
		t.Fatal(err)
	}
	x, y := &d.Slates[0], &best.Slates[0]
	if !x.At.Equal(at) || *x.Safety.GlareDeg == *y.Safety.GlareDeg || !c.Slates[0].At.Equal(y.At) {
		t.Errorf("looked at %v, sun %v and %v deg from the aircraft", x.At, *x.Safety.GlareDeg, *y.Safety.GlareDeg)
	}
}
