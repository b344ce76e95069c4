package review_test

import (
	"context"
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
)

// underRules is a practice shoot on flat ground at 600 m, judged by a profile, with a mast of a height
// 30 m east of the cone, none where that is 0.
func underRules(t *testing.T, profile string, mastM float64) *assess.Assessor {
	t.Helper()
	grid := make([]byte, 0, 1201*1201*2)
	for range 1201 * 1201 {
		grid = binary.BigEndian.AppendUint16(grid, 600)
	}
	dir := t.TempDir()
	terrain := filepath.Join(dir, "N46E010.hgt")
	if err := os.WriteFile(terrain, grid, 0o600); err != nil {
		t.Fatal(err)
	}
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
	if err := os.WriteFile(file, []byte(strings.Replace(string(text), "rules: [house-strict]", "rules: ["+profile+"]", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	if mastM > 0 {
		at, _ := geo.Direct(geo.Degrees(46.6, 10.3), 1.5707963267948966, 30)
		site := fmt.Sprintf(`{"type":"FeatureCollection","features":[{"type":"Feature","geometry":{"type":"Point","coordinates":[10.3,46.6]},"properties":{"kind":"launch","name":"start"}},
{"type":"Feature","geometry":{"type":"Point","coordinates":[%.7f,%.7f]},"properties":{"kind":"mast","name":"old mast","height":"%g m"}}]}`, at.Lon.Deg(), at.Lat.Deg(), mastM)
		if err := os.WriteFile(filepath.Join(to, "site.geojson"), []byte(site), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if profile == "own" {
		if err := os.MkdirAll(filepath.Join(to, "rules"), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(to, "rules", "own.yaml"), []byte(nightRule), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s, err := shoot.Load(to)
	if err != nil {
		t.Fatal(err)
	}
	a, err := assess.New(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	return a
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
