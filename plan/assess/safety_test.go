package assess_test

import (
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
	"fieldfare/plan/standin"
)

// small copies the demo with one slate of it, writes further files and replaces texts in the shoot file.
func small(t testing.TB, slate string, files map[string]string, replace ...string) (*assess.Assessor, *assess.Take) {
	t.Helper()
	dir := standin.Copy(t)
	for name, text := range files {
		standin.Put(t, dir, name, text)
	}
	standin.Keep(t, dir, slate)
	standin.Edit(t, dir, shoot.FileName, replace...)
	a := standin.Assess(t, dir)
	take := a.Take(slate)
	if take.Unsolved != nil {
		t.Fatal(take.Unsolved)
	}
	return a, take
}

func at(t testing.TB, clock string) time.Time {
	t.Helper()
	zone, _ := time.LoadLocation("Europe/Zurich")
	when, err := time.ParseInLocation("2006-01-02 15:04", "2026-09-22 "+clock, zone)
	if err != nil {
		t.Fatal(err)
	}
	return when
}

// found returns the findings whose What holds the words.
func found(a assess.Assessment, words string) (all []assess.Finding) {
	for _, f := range a.Findings {
		if strings.Contains(f.What, words) {
			all = append(all, f)
		}
	}
	return all
}

func expect(t *testing.T, a assess.Assessment, words string, want assess.Severity) assess.Finding {
	t.Helper()
	for _, f := range found(a, words) {
		if f.Severity == want {
			return f
		}
	}
	t.Errorf("no %s that speaks of %q among %+v", want, words, found(a, words))
	return assess.Finding{}
}

func refuse(t *testing.T, a assess.Assessment, words string) {
	t.Helper()
	if f := found(a, words); len(f) > 0 {
		t.Errorf("unexpected: %+v", f)
	}
}

// zone is an area around the chapel, where slate 2A flies.
func zone(class, levels string) string {
	return "AC " + class + "\nAN Chapel zone\n" + levels + "V X=46:36:06 N 010:17:32 E\nDC 0.3\n"
}

const (
	withFile   = "features: site.geojson\n  airspace: [zone.txt]"
	noFile     = "features: site.geojson"
	permission = "permissions:\n"
)

func granted(from, to, more string) string {
	return permission + "  - {what: chapel zone entry, status: granted, starts: 2026-09-22 " + from + ", ends: 2026-09-22 " + to + ", area: Chapel zone" + more + "}\n"
}

func TestAreaNeedsPermissionThatHolds(t *testing.T) {
	file := map[string]string{"zone.txt": zone("CTR", "AL GND\nAH 9500 ft AMSL\n")}
	_, bare := small(t, "2A", file, noFile, withFile)
	f := expect(t, bare.At(at(t, "12:00")), "Chapel zone", assess.Stop)
	if f.Timely || len(bare.Barred()) == 0 {
		t.Errorf("no hour has a permission, yet the stop hangs on the hour: %+v", f)
	}
	_, held := small(t, "2A", file, noFile, withFile, permission, granted("08:00", "12:30", ""))
	refuse(t, held.At(at(t, "12:00")), "Chapel zone")
	f = expect(t, held.At(at(t, "12:29")), "Chapel zone", assess.Stop) // lands after its end
	if !f.Timely || len(held.Barred()) != 0 {
		t.Errorf("another hour would do: %+v", f)
	}
	gates := held.Gates()
	for clock, shut := range map[string]bool{"07:59": true, "08:00": false, "12:40": true} {
		closed := held.Shut(at(t, clock))
		for i, name := range gates {
			if name == "airspace and permissions" && closed.Has(i) != shut {
				t.Errorf("%s: shut %v", clock, closed.Has(i))
			}
		}
	}
}

func TestAreaAtItsTimes(t *testing.T) {
	_, take := small(t, "2A", map[string]string{"zone.txt": zone("R", "AL GND\nAH UNLIM\nAA 2026-09-22T10:00Z/2026-09-22T11:00Z\n")}, noFile, withFile)
	expect(t, take.At(at(t, "12:30")), "Chapel zone", assess.Stop)
	refuse(t, take.At(at(t, "13:00")), "Chapel zone")
	refuse(t, take.At(at(t, "11:40")), "Chapel zone")
	if len(take.Barred()) != 0 {
		t.Error("an area with times bars every hour")
	}
}

// The floor is a flight level some way above the path: whether the contingency volume reaches it hangs on
// the altimeter setting. FL 50 is 5000 ft of pressure altitude (ISO 2533); at 1019 hPa it lies about
// 48 m higher above the sea, near 1572 m, and the path about the chapel near 1560 to 1600 m.
func TestFlightLevelNeedsThePressure(t *testing.T) {
	file := map[string]string{"zone.txt": zone("R", "AL FL 50\nAH FL 95\n")}
	_, take := small(t, "2A", file, noFile, withFile)
	expect(t, take.At(at(t, "12:00")), "Chapel zone", assess.Stop)
	_, blind := small(t, "2A", file, noFile, withFile, "forecast: forecast.csv\n", "")
	a := blind.At(at(t, "12:00"))
	expect(t, a, "Chapel zone", assess.Unknown)
	if f := found(a, "Chapel zone"); len(f) != 1 {
		t.Errorf("%+v", f)
	}
	_, above := small(t, "2A", map[string]string{"zone.txt": zone("R", "AL FL 70\nAH FL 95\n")}, noFile, withFile)
	refuse(t, above.At(at(t, "12:00")), "Chapel zone")
}

func TestContingencyVolumeReachesUp(t *testing.T) {
	_, take := small(t, "2A", nil)
	highest := 0.0
	for _, m := range take.Moments(200) {
		highest = math.Max(highest, m.Pos.Z)
	}
	feet := func(m float64) string { return "AL " + strconv.Itoa(int(math.Ceil(m/0.3048))) + " ft AMSL\nAH UNLIM\n" }
	_, near := small(t, "2A", map[string]string{"zone.txt": zone("R", feet(highest+2))}, noFile, withFile)
	expect(t, near.At(at(t, "12:00")), "Chapel zone", assess.Stop)
	_, far := small(t, "2A", map[string]string{"zone.txt": zone("R", feet(highest+60))}, noFile, withFile)
	refuse(t, far.At(at(t, "12:00")), "Chapel zone")
}

func TestPermitsByTheirExactNames(t *testing.T) {
	file := map[string]string{"zone.txt": zone("CTR", "AL GND\nAH UNLIM\n")}
	rules := []string{noFile, withFile, "rules: [house-strict]", "rules: [eu-open-a1]"}
	const title = "Geographical zones that need permission"
	_, bare := small(t, "2A", file, append(rules, permission, granted("08:00", "20:00", ""))...)
	expect(t, bare.At(at(t, "12:00")), title, assess.Stop)
	_, held := small(t, "2A", file, append(rules, permission, granted("08:00", "12:30", ", covers: [zone permission]"))...)
	refuse(t, held.At(at(t, "12:00")), title)
	expect(t, held.At(at(t, "13:00")), title, assess.Stop)
	expect(t, held.At(at(t, "13:00")), "permission chapel zone entry", assess.Caution)
	asked := strings.Replace(granted("08:00", "20:00", ", covers: [zone permission]"), "status: granted", "status: asked", 1)
	_, onlyAsked := small(t, "2A", file, append(rules, permission, asked)...)
	expect(t, onlyAsked.At(at(t, "12:00")), title, assess.Stop)
	elsewhere := strings.Replace(granted("08:00", "20:00", ", covers: [zone permission]"), "area: Chapel zone", "area: grouse reserve", 1)
	_, wrongPlace := small(t, "2A", file, append(rules, permission, elsewhere)...)
	expect(t, wrongPlace.At(at(t, "12:00")), title, assess.Stop)
	expect(t, wrongPlace.At(at(t, "12:00")), "permission chapel zone entry", assess.Caution)
}

const ownRules = `id: own
jurisdiction: house
title: own
source: test
read: 2026-11-25
confirm: none
rules:
  - {id: reserve, title: Reserve rule, quantity: battery_reserve, at_least: 99 %, status: house rule}
  - {id: energy, title: Impact rule, quantity: impact_energy, at_most: 1 J, severity: caution, status: house rule}
  - {id: home, title: Way home rule, quantity: lost_link_clearance, at_least: 25 m, status: house rule}
  - {id: watch, title: Watch rule, quantity: line_of_sight_share, at_most: 100 %, status: house rule}
  - {id: stunts, title: Stunt rule, quantity: distance_to_performers, at_least: 30 ft, status: house rule}
`

func TestFactsAreComputed(t *testing.T) {
	files := map[string]string{"rules/own.yaml": ownRules}
	_, take := small(t, "2A", files, "rules: [house-strict]", "rules: [own]")
	a := take.At(at(t, "12:00"))
	if f := expect(t, a, "Reserve rule", assess.Stop); !strings.Contains(f.Value, "%") || !f.Timely {
		t.Errorf("%+v", f)
	}
	expect(t, a, "Impact rule", assess.Caution)
	refuse(t, a, "Way home rule")
	refuse(t, a, "Watch rule")
	refuse(t, a, "Stunt rule")
	// without a forecast neither energy nor drift nor visibility is known, and no rule on them passes
	_, blind := small(t, "2A", files, "rules: [house-strict]", "rules: [own]", "forecast: forecast.csv\n", "", "stunts: false", "# stunts")
	a = blind.At(at(t, "12:00"))
	for _, rule := range []string{"Reserve rule", "Impact rule", "Watch rule", "Stunt rule"} {
		expect(t, a, rule, assess.Unknown)
	}
	expect(t, a, "drift of a falling aircraft", assess.Unknown)
}

func TestLostLinkRouteIsMeasured(t *testing.T) {
	_, take := small(t, "2A", nil)
	n := take.At(at(t, "12:00")).Numbers.Safety
	if n.LostLinkClearM == nil || *n.LostLinkClearM < 30-0.01 {
		t.Fatalf("the height worked out leaves %v m", n.LostLinkClearM)
	}
	house := "link_margin: 10 dB\n"
	_, low := small(t, "2A", map[string]string{"rules/own.yaml": ownRules}, house, house+"  lost_link_height: 5 m\n", "rules: [house-strict]", "rules: [own]")
	a := low.At(at(t, "12:00"))
	f := expect(t, a, "lost-link route", assess.Stop)
	if !strings.Contains(f.Mend, "lost_link_height:") {
		t.Errorf("%+v", f)
	}
	expect(t, a, "Way home rule", assess.Stop)
	if m := a.Numbers.Safety; *m.LostLinkClearM >= *n.LostLinkClearM || *m.LostLinkNeedM != *n.LostLinkNeedM {
		t.Errorf("clearance %v, needed %v", *m.LostLinkClearM, *m.LostLinkNeedM)
	}
	_, high := small(t, "2A", nil, house, house+"  lost_link_height: 200 m\n")
	refuse(t, high.At(at(t, "12:00")), "lost-link route")
}

const forecastHead = "time,wind [m/s],gust [m/s],direction [deg],visibility [km],temperature [C],dew point [C],pressure [hPa],cloud [%],precipitation\n"

func TestFallsDriftInTheHoursWind(t *testing.T) {
	table := forecastHead + "2026-09-22T10:00:00+02:00,0.0,0.0,80,25,10,2,1019,12,none\n2026-09-22T11:00:00+02:00,7.5,9.0,80,25,10,2,1019,12,none\n2026-09-22T12:00:00+02:00,7.5,9.0,80,25,10,2,1019,12,none\n"
	_, take := small(t, "1A", map[string]string{"forecast.csv": table})
	calm, windy := take.At(at(t, "10:10")).Numbers.Safety, take.At(at(t, "11:30")).Numbers.Safety
	if calm.FallM == nil || windy.FallM == nil || *windy.FallM < *calm.FallM+5 {
		t.Errorf("calm %v m, windy %v m", calm.FallM, windy.FallM)
	}
	if *calm.FallM > 0.5 {
		t.Errorf("a hovering aircraft falls %v m to the side in calm air", *calm.FallM)
	}
	// Straight down without drag: energy m g h, h the height above ground (textbook).
	highest := take.MoveNumbers().HighestM
	if want := take.MassKg() * 9.80665 * highest; math.Abs(*calm.FallEnergyJ/want-1) > 0.01 {
		t.Errorf("%v J, want %v", *calm.FallEnergyJ, want)
	}
}

// Attitude line of sight 327 CD + 20 m, detection line of sight 0.3 of the visibility: EASA,
// Guidelines for UAS operations in the open and specific category, issue 2 (2024), part I.
func TestSightLimits(t *testing.T) {
	_, take := small(t, "2A", nil)
	a := take.At(at(t, "12:00"))
	if n := a.Numbers.Safety; math.Abs(*n.AttitudeM-(327*1.25+20)) > 1e-9 || *n.SightLimitM != *n.AttitudeM {
		t.Errorf("%v of %v", *n.SightLimitM, *n.AttitudeM)
	}
	refuse(t, a, "distance from whoever watches")
	haze := forecastHead + "2026-09-22T11:00:00+02:00,1,1.4,80,0.3,10,9,1019,12,none\n2026-09-22T12:00:00+02:00,1,1.4,80,0.3,10,9,1019,12,none\n2026-09-22T13:00:00+02:00,1,1.4,80,0.3,10,9,1019,12,none\n"
	_, take = small(t, "2A", map[string]string{"forecast.csv": haze}, "visibility: 3 km", "visibility: 100 m")
	a = take.At(at(t, "12:30"))
	if n := a.Numbers.Safety; math.Abs(*n.DetectionM-90) > 1e-9 || *n.SightLimitM != *n.DetectionM {
		t.Errorf("detection %v", *n.DetectionM)
	}
	expect(t, a, "distance from whoever watches", assess.Stop)
}

// Contingency volume and buffers worked from JARUS SORA 2.5 Annex A, section A.5, as quoted in a public study
// set: S = 3 + 3 + 1 + V t + V²/(2 g tan θ), H = H_FG + 4 + 0.7 V t + V²/(2 g), buffer H + CD/2, ballistic
// V √(2H/g) + CD/2, with g = 9.81.
func TestVolumes(t *testing.T) {
	_, take := small(t, "2A", nil)
	n, m := take.At(at(t, "12:00")).Numbers.Safety, take.MoveNumbers()
	const g, cd, reaction = 9.81, 1.25, 1.5
	v, half := m.TopSpeedMS, 1.5*cd
	s := 7 + v*reaction + v*v/(2*g*math.Tan(math.Pi/6))
	h := m.HighestM + half + 4 + 0.7*v*reaction + v*v/(2*g)
	for _, tc := range []struct {
		what string
		got  *float64
		want float64
	}{{"geography", n.GeographyM, half}, {"contingency", n.ContingencyM, s}, {"top", n.ContingencyTopM, h}, {"buffer", n.BufferM, h + cd/2}, {"ballistic", n.BallisticM, v*math.Sqrt(2*h/g) + cd/2}} {
		if tc.got == nil || math.Abs(*tc.got-tc.want) > 1e-6 {
			t.Errorf("%s: %v, want %v", tc.what, tc.got, tc.want)
		}
	}
}

func TestSpotters(t *testing.T) {
	far := "subject: chapel\n    light: [front light, subject lit]"
	away := "subject: chapel\n    pilot_at: 46.60800 N, 10.30850 E\n    light: [front light, subject lit]"
	_, take := small(t, "2A", nil, far, away)
	a := take.At(at(t, "12:00"))
	if f := expect(t, a, "distance from the pilot", assess.Stop); len(found(a, "line of sight to the aircraft")) == 0 && !strings.Contains(f.Mend, "pilot_at") {
		t.Errorf("%+v", f)
	}
	spot := `{"type":"Feature","properties":{"kind":"observer","name":"chapel wall"},"geometry":{"type":"Point","coordinates":[10.29289,46.60121]}},`
	features, err := os.ReadFile(filepath.Join(standin.Demo, "site.geojson"))
	if err != nil {
		t.Fatal(err)
	}
	drawn := map[string]string{"site.geojson": strings.Replace(string(features), `"features":[`, `"features":[`+spot, 1)}
	_, take = small(t, "2A", drawn, far, away)
	if f := expect(t, take.At(at(t, "12:00")), "distance from the pilot", assess.Stop); !strings.Contains(f.Mend, "post a spotter at chapel wall") {
		// the stop on sight itself may come first and carries the same advice
		if g := expect(t, take.At(at(t, "12:00")), "line of sight to the aircraft", assess.Stop); !strings.Contains(g.Mend, "post a spotter at chapel wall") {
			t.Errorf("%q, %q", f.Mend, g.Mend)
		}
	}
	_, take = small(t, "2A", drawn, far, away+"\n    spotters: [chapel wall]")
	a = take.At(at(t, "12:00"))
	expect(t, a, "a spotter must stand at chapel wall", assess.Caution)
	refuse(t, a, "distance from the pilot")
	refuse(t, a, "line of sight to the aircraft")
	if got := a.Numbers.Safety.Spotters; len(got) != 1 || got[0] != "chapel wall" {
		t.Errorf("%v", got)
	}
	_, take = small(t, "2A", drawn, far, away+"\n    spotters: [chapel wall]", "roles: [observer, pilot]", "roles: [pilot]")
	expect(t, take.At(at(t, "12:00")), "spotters", assess.Stop)
}

// Radiated power against the 25 mW of EN 300 440 and the 100 mW of EN 300 328, as the profile has them.
func TestRulesOfEachLink(t *testing.T) {
	_, take := small(t, "2A", nil, "rules: [house-strict]", "rules: [radio-europe]")
	a := take.At(at(t, "12:00"))
	expect(t, a, "5725 to 5875 MHz (video link)", assess.Stop)
	expect(t, a, "2400 to 2483.5 MHz (control link)", assess.Stop)
	expect(t, a, "Carrier frequency in a band that this profile knows (telemetry link)", assess.Caution)
	for _, r := range a.Numbers.Radio {
		if r.Use == "video" && math.Abs(*r.EIRPmW-25*math.Pow(10, 0.2)) > 1e-6 {
			t.Errorf("25 mW with 2 dBi radiate %v mW", *r.EIRPmW)
		}
	}
	_, none := small(t, "2A", nil, "rules: [house-strict]", "rules: [radio-europe]", "    radio: Valley set\n", "")
	a = none.At(at(t, "12:00"))
	expect(t, a, "Radiated power, 2400", assess.Unknown)
	expect(t, a, "radio links", assess.Unknown)
}

// What is not entered is unknown, and no rule that needs it passes.
func TestNoRulePassesWithoutItsFacts(t *testing.T) {
	empty := `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"kind":"launch","name":"chapel meadow"},"geometry":{"type":"Point","coordinates":[10.29289,46.60121]}}]}`
	_, take := small(t, "2A", map[string]string{"site.geojson": empty}, "  people: 12/km2\n", "", "    area: valley permit\n", "")
	a := take.At(at(t, "12:00"))
	for _, what := range []string{"people outside the crew", "intrinsic ground risk class", "airspace", "emergency landing", "No flight over people", "Ground risk buffer clear", "Distance to cast and crew"} {
		expect(t, a, what, assess.Unknown)
	}
	for profile, titles := range map[string][]string{
		"eu-open-a1":  {"Geographical zones that need permission", "Geographical zones that are closed", "Class label and mass"},
		"us-part-107": {"Airspace that needs an authorisation", "Flight over people"},
	} {
		_, take := small(t, "2A", map[string]string{"site.geojson": empty}, "    area: valley permit\n", "", "rules: [house-strict]", "rules: ["+profile+"]")
		a := take.At(at(t, "12:00"))
		for _, title := range titles {
			for _, f := range found(a, title) {
				if f.Severity == assess.Unknown {
					goto ok
				}
			}
			if profile == "eu-open-a1" && title == "Class label and mass" {
				expect(t, a, title, assess.Unknown)
				continue
			}
			t.Errorf("%s: %q passed without facts", profile, title)
		ok:
		}
	}
}

func TestEmergencyLanding(t *testing.T) {
	_, take := small(t, "2A", nil)
	table, spots, full, err := take.Landing(at(t, "12:00"))
	if err != nil || len(table) < 20 || full <= 0 {
		t.Fatalf("%d moments, %v J: %v", len(table), full, err)
	}
	for i, row := range table {
		if len(row.Spots) != len(spots) || row.LeftJ <= 0 || row.LeftJ >= full {
			t.Fatalf("%+v", row)
		}
		if i > 0 && row.LeftJ > table[i-1].LeftJ {
			t.Errorf("energy grows at t = %v", row.TimeS)
		}
	}
	_, blind := small(t, "2A", nil, "forecast: forecast.csv\n", "")
	expect(t, blind.At(at(t, "12:00")), "reach of emergency landing spots", assess.Unknown)
}

func TestStatedFacts(t *testing.T) {
	part107 := []string{"rules: [house-strict]", "rules: [us-part-107]"}
	_, bare := small(t, "2A", nil, part107...)
	expect(t, bare.At(at(t, "12:00")), "Remote identification", assess.Unknown)
	_, said := small(t, "2A", nil, append(part107, "calls:\n", "stated: [{fact: remote_identified, is: yes, rig: heron}]\ncalls:\n")...)
	refuse(t, said.At(at(t, "12:00")), "Remote identification")
	_, other := small(t, "2A", nil, append(part107, "calls:\n", "stated: [{fact: remote_identified, is: yes, rig: wren}]\ncalls:\n")...)
	expect(t, other.At(at(t, "12:00")), "Remote identification", assess.Unknown)
	_, denied := small(t, "2A", nil, append(part107, "calls:\n", "stated: [{fact: remote_identified, is: no}]\ncalls:\n")...)
	expect(t, denied.At(at(t, "12:00")), "Remote identification", assess.Stop)
}

func TestSightOverUnknownGroundIsUnknown(t *testing.T) {
	_, take := small(t, "2A", map[string]string{"rules/own.yaml": ownRules}, "subject: chapel\n    light", "subject: chapel\n    pilot_at: 46.70000 N, 10.30000 E\n    light", "rules: [house-strict]", "rules: [own]")
	a := take.At(at(t, "12:00"))
	expect(t, a, "line of sight to the aircraft", assess.Unknown)
	expect(t, a, "Watch rule", assess.Unknown)
	if a.Numbers.Safety.PilotSees != nil {
		t.Error("the pilot sees over ground that nobody knows")
	}
}

// The take stays outside the area, the straight way to it does not.
func TestWayThroughAnArea(t *testing.T) {
	between := "AC R\nAN Orchard\nAL GND\nAH UNLIM\nV X=46:36:05 N 010:17:33.5 E\nDC 0.008\n"
	_, take := small(t, "2A", map[string]string{"zone.txt": between}, noFile, withFile)
	a := take.At(at(t, "12:00"))
	told := false
	for _, f := range found(a, "Orchard") {
		told = told || f.Severity == assess.Caution && strings.Contains(f.Value, "straight way")
	}
	if !told {
		t.Errorf("%+v", found(a, "Orchard"))
	}
}
