package review_test

import (
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fieldfare/desk/logbook"
	"fieldfare/desk/review"
	"fieldfare/desk/skill"
	"fieldfare/desk/track"
	"fieldfare/model/geo"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
	"fieldfare/plan/standin"
)

// ground is a practice shoot around 46.6 N 10.3 E, where its cone, its launch spot and its pilot are.
type ground struct {
	profile  string
	own      string                                             // rules/own.yaml
	heightM  func(latDeg, lonDeg float64) int16                 // of the terrain; nil: 600 m everywhere
	features func(at func(east, north float64) string) []string // GeoJSON features beside the launch spot
	forecast string                                             // forecast.csv
	edits    []string                                           // old and new texts of the shoot file
}

func (g ground) assessor(t *testing.T) *assess.Assessor {
	t.Helper()
	const n = 1201
	grid := make([]byte, 0, n*n*2)
	for i := range n {
		for j := range n {
			z := int16(600)
			if g.heightM != nil {
				z = g.heightM(47-float64(i)/(n-1), 10+float64(j)/(n-1))
			}
			grid = binary.BigEndian.AppendUint16(grid, uint16(z))
		}
	}
	dir := t.TempDir()
	terrain := filepath.Join(dir, "N46E010.hgt")
	write := func(file, text string) {
		t.Helper()
		if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(terrain, string(grid))
	var c skill.Course
	if err := c.Place.UnmarshalText([]byte("46.6 N, 10.3 E")); err != nil {
		t.Fatal(err)
	}
	if err := c.Date.UnmarshalText([]byte("2026-09-22")); err != nil {
		t.Fatal(err)
	}
	c.Class, c.Zone, c.Pilot, c.Terrain = logbook.Trainer, "Europe/Zurich", "Ana", terrain
	to := filepath.Join(dir, "practice")
	if err := skill.WritePractice(to, c, skill.CommonRules().Rungs[0]); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(to, shoot.FileName)
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	edits := append([]string{"rules: [house-strict]", "rules: [" + g.profile + "]"}, g.edits...)
	if g.forecast != "" {
		write(filepath.Join(to, "forecast.csv"), g.forecast)
		edits = append(edits, "\ncrew:", "\nforecast: forecast.csv\n\ncrew:")
	}
	shootFile := string(text)
	for i := 0; i < len(edits); i += 2 {
		if !strings.Contains(shootFile, edits[i]) {
			t.Fatalf("the practice shoot does not hold %q: the test is out of date", edits[i])
		}
		shootFile = strings.Replace(shootFile, edits[i], edits[i+1], 1)
	}
	write(file, shootFile)
	if g.features != nil {
		frame := geo.NewFrame(geo.Degrees(46.6, 10.3))
		at := func(east, north float64) string {
			p := frame.ToLatLon(geo.Vec3{X: east, Y: north})
			return fmt.Sprintf("[%.8f,%.8f]", p.Lon.Deg(), p.Lat.Deg())
		}
		all := append([]string{feature("Point", at(0, 0), `"kind":"launch","name":"start"`)}, g.features(at)...)
		write(filepath.Join(to, "site.geojson"), `{"type":"FeatureCollection","features":[`+strings.Join(all, ",\n")+`]}`)
	}
	if g.own != "" {
		write(filepath.Join(to, "rules", "own.yaml"), g.own)
	}
	return standin.Assess(t, to)
}

func feature(shape, coordinates, properties string) string {
	return fmt.Sprintf(`{"type":"Feature","geometry":{"type":%q,"coordinates":%s},"properties":{%s}}`, shape, coordinates, properties)
}

// underRules is a practice shoot on flat ground at 600 m, judged by a profile, with a mast of a height
// 30 m east of the cone, none where that is 0.
func underRules(t *testing.T, profile string, mastM float64) *assess.Assessor {
	t.Helper()
	g := ground{profile: profile}
	if profile == "own" {
		g.own = nightRule
	}
	if mastM > 0 {
		g.features = func(at func(east, north float64) string) []string {
			return []string{feature("Point", at(30, 0), fmt.Sprintf(`"kind":"mast","name":"old mast","height":"%g m"`, mastM))}
		}
	}
	return g.assessor(t)
}

// Source of the limits: US 14 CFR 107.51(b), 400 ft above ground or within 400 ft of a structure and at
// most 400 ft above its top, and Regulation (EU) 2019/947 UAS.OPEN.010(2) and (3), as the profiles quote
// them; the flown heights are made by hand.
func TestHeightRulesMomentByMoment(t *testing.T) {
	for _, c := range []struct {
		name, profile string
		mastM, highM  float64
		severity, say string
	}{
		{"within 400 ft", "us-part-107", 0, 121, "", ""},
		{"over 400 ft, no structure known", "us-part-107", 0, 130, "unknown", "no fact for distance to structure"},
		{"over 400 ft, beside a mast", "us-part-107", 100, 130, "", ""},
		{"over 400 ft, 400 ft above the mast's top at most", "us-part-107", 20, 141, "", ""},
		{"higher above the mast than allowed", "us-part-107", 20, 143, "stop", "400 ft"},
		{"over 120 m beside a mast too low to count", "eu-open-a3", 100, 121, "stop", "120 m"},
		{"over 120 m beside a high mast, without its owner's request", "eu-open-a3", 110, 121, "stop", "120 m"},
		{"within 120 m", "eu-open-a3", 0, 119, "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := underRules(t, c.profile, c.mastM)
			path := review.PathOf(a.Take("P1").Path)
			f := flown(path, unixS(cue), geo.Vec3{Z: 600 + c.highM - path[0].Pos.Z}, 5)
			takes := []*logbook.Take{{Slate: "P1", Take: 1, From: cue}}
			flight, skipped := review.Of(a, &logbook.Sortie{Sortie: "1", TakeOff: cue.Add(-60e9), Landing: cue.Add(60e9)}, takes, f)
			if len(skipped) > 0 {
				t.Fatal(skipped)
			}
			r, err := review.Review(flight)
			if err != nil {
				t.Fatal(err)
			}
			var found []review.Finding
			for _, x := range r.Findings {
				if strings.HasPrefix(x.What, "Height above") {
					found = append(found, x)
				}
			}
			switch {
			case c.severity == "":
				if len(found) > 0 {
					t.Errorf("found %+v", found)
				}
			case len(found) != 1 || found[0].Severity != c.severity || !strings.Contains(found[0].Value+found[0].Limit, c.say):
				t.Errorf("found %+v", found)
			}
			advised := 0
			for _, c := range r.Change {
				if strings.Contains(c, "past the limit of") {
					advised++
				}
			}
			if advised != min(1, len(r.Events)) {
				t.Errorf("one limit is advised on %d times: %q", advised, r.Change)
			}
			if events := len(r.Events); (c.severity == "stop") != (events > 0) {
				t.Errorf("%d events: %+v", events, r.Events)
			}
			if has(r, "unknown", "no limit is given for height") {
				t.Error("the height's limit is given by a rule")
			}
		})
	}
}

// Without heights no rule about height is kept or broken: it is unknown.
func TestHeightRuleWithoutHeights(t *testing.T) {
	a := underRules(t, "us-part-107", 0)
	f := flown(review.PathOf(a.Take("P1").Path), unixS(cue), geo.Vec3{}, 5)
	for i := range f {
		f[i].Has &^= track.Height
	}
	r := reviewedAt(t, a, cue, f)
	if !has(r, "unknown", "Height above ground, or above a structure flown around: whether it was kept is not known for") {
		t.Errorf("%+v", r.Findings)
	}
}

func reviewedAt(t *testing.T, a *assess.Assessor, at time.Time, f []review.Fix) *review.Report {
	t.Helper()
	flight, _ := review.Of(a, &logbook.Sortie{Sortie: "1", TakeOff: at, Landing: at}, []*logbook.Take{{Slate: "P1", Take: 1, From: at}}, f)
	r, err := review.Review(flight)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

const nightRule = `id: own
jurisdiction: house
title: The crew's own
source: our rule
read: 2026-01-01
confirm: with ourselves
rules:
  - id: low-at-night
    title: Low at night
    section: "1"
    when: {quantity: night, is: true}
    quantity: height_above_ground
    at_most: 10 m
    status: house rule
`

// A limit that holds at night alone is judged by the hour that was flown, not by the hour planned.
func TestRuleOfTheHourFlown(t *testing.T) {
	a := underRules(t, "own", 0)
	for at, want := range map[time.Time]bool{cue: false, cue.Add(13 * time.Hour): true} { // 10:00 and 23:00 UTC in June
		r := reviewedAt(t, a, at, flown(review.PathOf(a.Take("P1").Path), unixS(at), geo.Vec3{}, 5))
		if got := has(r, "stop", "Low at night: broken once"); got != want {
			t.Errorf("at %s: broken %v, want %v: %+v", at, got, want, r.Findings)
		}
	}
}
