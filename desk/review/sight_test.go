package review_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"fieldfare/desk/review"
	"fieldfare/desk/track"
	"fieldfare/model/geo"
)

// ownRule is a profile of one rule.
func ownRule(text string) string {
	return "id: own\njurisdiction: house\ntitle: The crew's own\nsource: our rule\nread: 2026-01-01\nconfirm: with ourselves\nrules:\n  - id: one\n    title: The rule\n    section: \"1\"\n    status: house rule\n    " +
		strings.ReplaceAll(strings.TrimSpace(text), "\n", "\n    ") + "\n"
}

// straight flies from a place to another in the site frame at a steady speed.
func straight(from, to geo.Vec3, speedMS, hz float64) []review.Fix {
	var f []review.Fix
	length := to.Sub(from).Norm()
	for i := 0; ; i++ {
		s := float64(i) / hz * speedMS
		if s > length {
			break
		}
		f = append(f, review.Fix{UnixS: unixS(cue) + float64(i)/hz, Pos: from.Lerp(to, s/length), Has: track.Timed | track.Height})
	}
	review.Smooth(f)
	return f
}

// said is the one event of the rule and the one finding on it; a nil event is none.
func said(t *testing.T, r *review.Report, title string) (e *review.Event, found *review.Finding) {
	t.Helper()
	for i := range r.Events {
		if r.Events[i].What == title {
			if e != nil {
				t.Fatalf("two events: %+v", r.Events)
			}
			e = &r.Events[i]
		}
	}
	for i := range r.Findings {
		if strings.HasPrefix(r.Findings[i].What, title+":") {
			if found != nil {
				t.Fatalf("two findings: %+v", r.Findings)
			}
			found = &r.Findings[i]
		}
	}
	return e, found
}

// after is when an event began or ended, in seconds of the recording.
func after(at time.Time) float64 { return at.Sub(cue).Seconds() }

// wall is a building 30 m high from 100 m to 110 m east, 200 m long.
func wall(at func(east, north float64) string) []string {
	ring := "[[" + strings.Join([]string{at(100, -100), at(110, -100), at(110, 100), at(100, 100), at(100, -100)}, ",") + "]]"
	return []string{feature("Polygon", ring, `"kind":"building","name":"long barn","height":"30 m"`), feature("Point", at(200, 60), `"kind":"observer","name":"far side"`)}
}

// nothing is a site with its launch spot alone.
func nothing(func(east, north float64) string) []string { return nil }

// ridge is ground 50 m higher between 10.3084 E and 10.31 E.
func ridge(_, lon float64) int16 {
	if lon > 10.3082 && lon < 10.3101 {
		return 650
	}
	return 600
}

// Behind a wall or a ridge the aircraft climbs into sight where the line from the pilot's eye, 1.6 m above
// the ground, passes over the edge (similar triangles, Euclid VI.2): the wall's near edge, 100 m away and 30 m
// high, gives 1.6 + 28.4·200/100 = 58.4 m at 200 m. The ridge's near edge, 638 m away by the frame's metres,
// gives 1.6 + 48.4·1200/638 = 92.6 m at 1200 m; a ridge of terrain is only as sharp as its cells.
// The rule is US 14 CFR 107.31.
func TestLineOfSightMomentByMoment(t *testing.T) {
	const rule = "Visual line of sight"
	edge := geo.NewFrame(geo.Degrees(46.6, 10.3)).ToSite(geo.Degrees(46.6, 10+370./1200), 0).X
	for _, c := range []struct {
		name     string
		site     ground
		eastM    float64
		seenAt   float64 // height above ground from which it is seen; 0 always
		tol      float64
		behind   string
		northerM float64
	}{
		{"wall", ground{profile: "us-part-107", features: wall}, 200, 58.4, 1, "behind long barn", 0},
		{"ridge", ground{profile: "us-part-107", heightM: ridge, features: nothing}, 1200, 1.6 + 48.4*1200/edge, 8, "behind the ground", 0},
		{"beside the wall", ground{profile: "us-part-107", features: wall}, 90, 0, 0, "", 0},
		{"a spotter on the far side", ground{profile: "us-part-107", features: wall, edits: []string{"    launch: start\n", "    launch: start\n    spotters: [far side]\n", "\nsubjects:", "  - {name: Ben, roles: [observer]}\n\nsubjects:"}}, 200, 0, 0, "", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := c.site.assessor(t)
			r := reviewedAt(t, a, cue, straight(geo.Vec3{X: c.eastM, Z: 601}, geo.Vec3{X: c.eastM, Z: 715}, 1, 5))
			e, found := said(t, r, rule)
			if c.seenAt == 0 {
				if e != nil || found != nil {
					t.Errorf("%+v %+v", e, found)
				}
				return
			}
			if e == nil || found == nil || found.Severity != "stop" {
				t.Fatalf("%+v among %+v", found, r.Findings)
			}
			near(t, "hidden from", after(e.From), 0, 0.01)
			near(t, "seen from a height of", 1+after(e.To), c.seenAt, c.tol)
			if !strings.Contains(e.Value, "line of sight no") || !strings.Contains(e.Value, c.behind) || !strings.Contains(e.Basis, "107.31") {
				t.Errorf("%+v", e)
			}
			if !has(r, "note", "sight is judged from where the plan has the crew stand") {
				t.Error("nobody says where the pilot is taken to stand")
			}
		})
	}
}

// What is missing is named: heights in the recording, the ground between, and the sortie's takes.
func TestLineOfSightUnknown(t *testing.T) {
	a := ground{profile: "us-part-107", features: nothing}.assessor(t)
	flat := straight(geo.Vec3{X: 50, Z: 620}, geo.Vec3{X: 100, Z: 620}, 1, 5)
	for i := range flat {
		flat[i].Has &^= track.Height
	}
	far := straight(geo.Vec3{X: 90e3, Z: 620}, geo.Vec3{X: 90e3 + 50, Z: 620}, 1, 5)
	for name, c := range map[string]struct {
		fixes []review.Fix
		enter string
	}{"no heights": {flat, "record heights"}, "off the grid": {far, "extend the elevation grid between pilot and path"}} {
		r := reviewedAt(t, a, cue, c.fixes)
		e, found := said(t, r, "Visual line of sight")
		if e != nil || found == nil || found.Severity != "unknown" || found.Value != "no fact for line of sight" || found.Mend != c.enter {
			t.Errorf("%s: %+v %+v", name, e, found)
		}
	}
}

// A recorder that reads some metres low puts the aircraft under the ground: it stands on it, in sight.
func TestUnderTheGroundIsOnIt(t *testing.T) {
	a := ground{profile: "us-part-107", features: nothing}.assessor(t)
	r := reviewedAt(t, a, cue, straight(geo.Vec3{Z: 596}, geo.Vec3{X: 80, Z: 596}, 2, 5))
	if e, found := said(t, r, "Visual line of sight"); e != nil || found != nil {
		t.Errorf("%+v %+v", e, found)
	}
}

// Regulation (EU) 2019/947, UAS.OPEN.020(3): at most 50 m from the pilot in follow mode. Straight up over the
// pilot's eye at 601.6 m it is passed at 651.6 m; outside follow mode the rule does not speak.
func TestDistanceFromPilot(t *testing.T) {
	const title = "Distance from the pilot in follow mode"
	for follow, want := range map[string]bool{"yes": true, "no": false} {
		a := ground{profile: "eu-open-a1", features: nothing, edits: []string{"\ncrew:", "\nstated:\n  - {fact: follow_mode, is: " + follow + "}\n\ncrew:"}}.assessor(t)
		r := reviewedAt(t, a, cue, straight(geo.Vec3{Z: 600}, geo.Vec3{Z: 680}, 1, 10))
		e, found := said(t, r, title)
		if (e != nil) != want || (found != nil) != want {
			t.Fatalf("follow mode %s: %+v %+v", follow, e, found)
		}
		if want {
			near(t, "height at which 50 m are passed", after(e.From), 51.6, 0.15)
			near(t, "farthest", e.Worst, 78.4, 0.01)
		}
	}
	a := ground{profile: "eu-open-a1", features: nothing}.assessor(t) // nobody says whether it followed
	if _, found := said(t, reviewedAt(t, a, cue, straight(geo.Vec3{Z: 600}, geo.Vec3{Z: 680}, 1, 10)), title); found == nil || found.Severity != "unknown" || !strings.Contains(found.Mend, "follow_mode") {
		t.Errorf("%+v", found)
	}
}

// EASA, Guidelines for UAS operations in the open and specific category, issue 2 (2024): attitude line of sight
// 327·CD + 20 m for rotorcraft, detection line of sight 0.3 of the ground visibility; the lesser counts. The
// aircraft of the practice shoot is 1.25 m across: 428.75 m. The profile's own text of the rule is a caution.
func TestDistanceFromWhoeverWatches(t *testing.T) {
	const title = "Distance from whoever watches the aircraft"
	for name, c := range map[string]struct {
		visibilityKM float64
		limitM       float64
	}{"clear air": {25, 327*1.25 + 20}, "haze": {1, 0.3 * 1000}} {
		sky := "time,wind [m/s],gust [m/s],direction [deg],visibility [km],temperature [C],dew point [C],pressure [hPa],cloud [%],precipitation\n"
		for h := range 24 {
			sky += fmt.Sprintf("2026-06-21T%02d:00:00+02:00,1,1.4,80,%g,15,5,1019,12,none\n", h, c.visibilityKM)
		}
		a := ground{profile: "eu-open-a1", features: nothing, forecast: sky}.assessor(t)
		r := reviewedAt(t, a, cue, straight(geo.Vec3{Z: 601.6}, geo.Vec3{X: 600, Z: 601.6}, 5, 5))
		e, found := said(t, r, title)
		if e == nil || found == nil || found.Severity != "caution" {
			t.Fatalf("%s: %+v among %+v", name, found, r.Findings)
		}
		near(t, name, 5*after(e.From), c.limitM, 1.01) // a fix each metre
		if !strings.Contains(e.Value, fmt.Sprintf("600 m of %.0f m", c.limitM)) {
			t.Errorf("%s: %+v", name, e)
		}
	}
	a := ground{profile: "eu-open-a1", features: nothing}.assessor(t)
	if _, found := said(t, reviewedAt(t, a, cue, straight(geo.Vec3{Z: 610}, geo.Vec3{X: 90, Z: 610}, 5, 5)), title); found == nil || found.Severity != "unknown" || found.Mend != "enter visibility in the forecast" {
		t.Errorf("without a forecast: %+v", found)
	}
}

// zone is an area from 100 m to 200 m east.
func zone(properties string) func(at func(east, north float64) string) []string {
	return func(at func(east, north float64) string) []string {
		ring := "[[" + strings.Join([]string{at(100, -50), at(200, -50), at(200, 50), at(100, 50), at(100, -50)}, ",") + "]]"
		return []string{feature("Polygon", ring, `"kind":"area","name":"heron ponds",`+properties)}
	}
}

// What is inside a polygon is RFC 7946's, section 3.1.6, and the rules are US 14 CFR 107.41 and 107.45. Flown
// east at 5 m/s, the area from 100 m to 200 m is entered after 20 s and left after 40 s.
func TestAreasMomentByMoment(t *testing.T) {
	const controlled, closed = "Airspace that needs an authorisation", "Prohibited and restricted areas"
	flight := func(z float64, hz float64) []review.Fix {
		return straight(geo.Vec3{Z: z}, geo.Vec3{X: 300, Z: z}, 5, hz)
	}
	without := func(f []review.Fix) []review.Fix {
		for i := range f {
			f[i].Has &^= track.Height
		}
		return f
	}
	const permit = "\npermissions:\n  - {what: entry, status: granted, area: heron ponds, covers: [airspace authorisation]STARTS}\n\ncrew:"
	granted := func(starts string) []string {
		return []string{"\ncrew:", strings.Replace(permit, "STARTS", starts, 1)}
	}
	for _, c := range []struct {
		name     string
		zone     string
		edits    []string
		fixes    []review.Fix
		title    string
		severity string // of the finding; empty: none
		say      string // in its value or mend
	}{
		{"entered", `"status":"needs permission"`, nil, flight(630, 10), controlled, "stop", "controlled airspace yes (area heron ponds, 50 m inside its border)"},
		{"out of bounds", `"status":"out of bounds"`, nil, flight(630, 10), closed, "stop", "out of bounds airspace yes (area heron ponds"},
		{"recorded under the ground", `"status":"out of bounds","ceiling":"300 m"`, nil, flight(590, 10), closed, "stop", "area heron ponds"},
		{"not the other kind", `"status":"out of bounds"`, nil, flight(630, 10), controlled, "", ""},
		{"below its floor", `"status":"needs permission","floor":"40 m","ceiling":"100 m"`, nil, flight(630, 10), controlled, "", ""},
		{"above its ceiling", `"status":"needs permission","ceiling":"20 m"`, nil, flight(630, 10), controlled, "", ""},
		{"with its permission", `"status":"needs permission"`, granted(""), flight(630, 10), controlled, "", ""},
		{"before its permission", `"status":"needs permission"`, granted(`, starts: 2026-06-21 13:00`), flight(630, 10), controlled, "stop", "yes"},
		{"while not active", `"status":"needs permission","validity":[{"from":"2026-06-21 13:00","to":"2026-06-21 14:00"}]`, nil, flight(630, 10), controlled, "", ""},
		{"while active", `"status":"needs permission","validity":[{"from":"2026-06-21 11:00","to":"2026-06-21 14:00"}]`, nil, flight(630, 10), controlled, "stop", "yes"},
		{"a level without pressure", `"status":"needs permission","floor":"FL 0","ceiling":"FL 50"`, nil, flight(630, 10), controlled, "unknown", "enter the pressure in the forecast"},
		{"without heights", `"status":"needs permission","ceiling":"20 m"`, nil, without(flight(630, 10)), controlled, "unknown", "record heights: it was over or under area heron ponds"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := ground{profile: "us-part-107", features: zone(c.zone), edits: c.edits}.assessor(t)
			r := reviewedAt(t, a, cue, c.fixes)
			e, found := said(t, r, c.title)
			switch {
			case c.severity == "":
				if e != nil || found != nil {
					t.Errorf("%+v %+v", e, found)
				}
			case found == nil || found.Severity != c.severity || !strings.Contains(found.Value+"; "+found.Mend, c.say):
				t.Errorf("%+v among %+v", found, r.Findings)
			case c.severity == "unknown":
				if e != nil || !strings.Contains(found.What, " for 200 of 601 fixes") {
					t.Errorf("%s, %+v", found.What, e)
				}
			default:
				near(t, "entered", after(e.From), 20, 0.15)
				near(t, "left", after(e.To), 40, 0.15)
				near(t, "deepest", e.Worst, 50, 0.3)
			}
		})
	}
	t.Run("between two fixes", func(t *testing.T) { // at 100 s each the whole flight is two fixes beside the area
		a := ground{profile: "us-part-107", features: zone(`"status":"needs permission"`)}.assessor(t)
		f := flight(630, 10)
		sparse := append(append([]review.Fix{}, f[:190]...), f[410:]...) // from 95 m to 205 m, 22 s apart
		if e, found := said(t, reviewedAt(t, a, cue, sparse), controlled); e != nil || found != nil {
			t.Errorf("what lies in a gap is not told: %+v %+v", e, found)
		}
		var slow []review.Fix
		for i := 0; i < len(f); i += 45 { // 4.5 s apart throughout: the way between two is flown straight
			x := f[i]
			slow = append(slow, x)
		}
		if e, _ := said(t, reviewedAt(t, a, cue, slow), controlled); e == nil || after(e.From) > 22.6 {
			t.Errorf("%+v", e)
		}
	})
	t.Run("no area drawn", func(t *testing.T) {
		a := ground{profile: "us-part-107", features: nothing}.assessor(t)
		r := reviewedAt(t, a, cue, flight(630, 5))
		for _, title := range []string{controlled, closed} {
			if _, found := said(t, r, title); found == nil || found.Severity != "unknown" || !strings.Contains(found.Mend, "draw the areas that matter") {
				t.Errorf("%+v", found)
			}
		}
	})
}

// A permission of one area does not open another: what is held is held over the place flown, not over the
// plan's path.
func TestPermitOverItsPlaceOnly(t *testing.T) {
	both := func(at func(east, north float64) string) []string {
		ring := func(from, to float64) string {
			return "[[" + strings.Join([]string{at(from, -80), at(to, -80), at(to, 80), at(from, 80), at(from, -80)}, ",") + "]]"
		}
		return []string{feature("Polygon", ring(-90, 90), `"kind":"area","name":"here","status":"needs permission"`), feature("Polygon", ring(100, 200), `"kind":"area","name":"there","status":"needs permission"`)}
	}
	a := ground{profile: "us-part-107", features: both, edits: []string{"\ncrew:", "\npermissions:\n  - {what: entry, status: granted, area: here, covers: [airspace authorisation]}\n\ncrew:"}}.assessor(t)
	e, found := said(t, reviewedAt(t, a, cue, straight(geo.Vec3{Z: 630}, geo.Vec3{X: 150, Z: 630}, 5, 10)), "Airspace that needs an authorisation")
	if e == nil || found == nil || !strings.Contains(e.Value, "area there") {
		t.Fatalf("%+v %+v", e, found)
	}
	near(t, "entered", after(e.From), 20, 0.15)
}

// walkers are people from 100 m to 200 m east.
func walkers(at func(east, north float64) string) []string {
	ring := "[[" + strings.Join([]string{at(100, -50), at(200, -50), at(200, 50), at(100, 50), at(100, -50)}, ",") + "]]"
	return []string{feature("Polygon", ring, `"kind":"people","name":"walkers"`), feature("Point", at(0, 40), `"kind":"set","name":"video village"`)}
}

// Regulation (EU) 2019/947, UAS.OPEN.030: not over people who take no part. The area is over from 20 s to 40 s of the flight.
func TestOverPeople(t *testing.T) {
	for name, x := range map[string]struct {
		features func(at func(east, north float64) string) []string
		severity string
		say      string
	}{"drawn": {walkers, "stop", "over people yes (walkers)"}, "not drawn": {nothing, "unknown", "mark where people may be, with kind people"}} {
		a := ground{profile: "eu-open-a2", features: x.features}.assessor(t)
		r := reviewedAt(t, a, cue, straight(geo.Vec3{Z: 630}, geo.Vec3{X: 300, Z: 630}, 5, 10))
		e, found := said(t, r, "Flight over people who take no part")
		if found == nil || found.Severity != x.severity || !strings.Contains(found.Value+found.Mend, x.say) {
			t.Fatalf("%s: %+v", name, found)
		}
		if x.severity == "stop" {
			near(t, "from", after(e.From), 20, 0.15)
			near(t, "to", after(e.To), 40, 0.15)
		}
	}
}

// The 1:1 rule of JARUS SORA 2.5, Annex A, makes the ground risk buffer as wide as the flight is high, beyond a
// contingency volume that is never negative: people nearer than the height are inside whatever else is allowed
// for; people at five times the height of a slow flight are not. The rule is the crew's own.
func TestBufferOfTheMoment(t *testing.T) {
	a := ground{profile: "own", own: ownRule("quantity: buffer_clear_of_people\nis: true"), features: walkers}.assessor(t)
	for _, c := range []struct {
		highM, eastM float64
		clear        bool
	}{{60, 50, false}, {10, 0, true}, {110, 0, false}, {25, -25, true}} {
		p := geo.Vec3{X: c.eastM, Z: 600 + c.highM}
		e, found := said(t, reviewedAt(t, a, cue, straight(p, p.Add(geo.Vec3{Y: 10}), 0.5, 2)), "The rule")
		if (e == nil) != c.clear || (found == nil) != c.clear {
			t.Errorf("%+v: %+v %+v", c, e, found)
		}
	}
}

// The stand-off from where the crew stands is measured in space (Pythagoras): 40 m north and 30 m above the
// set's ground, with an eye at 1.6 m, is hypot(40, 28.4) m.
func TestStandOffFromTheSet(t *testing.T) {
	want := math.Hypot(40, 28.4)
	for limit, clear := range map[float64]bool{math.Floor(want): true, math.Ceil(want): false} {
		a := ground{profile: "own", own: ownRule(fmt.Sprintf("quantity: distance_to_crew\nat_least: %g m", limit)), features: walkers}.assessor(t)
		e, found := said(t, reviewedAt(t, a, cue, straight(geo.Vec3{X: -20, Z: 630}, geo.Vec3{X: 20, Z: 630}, 2, 5)), "The rule")
		if (e == nil) != clear || (found == nil) != clear {
			t.Fatalf("%g m: %+v %+v", limit, e, found)
		}
		if !clear {
			near(t, "nearest", e.Worst, want, 0.02)
		}
	}
	a := ground{profile: "own", own: ownRule("quantity: distance_to_built_up\nat_least: 150 m"), edits: []string{"\ncrew:", "\nstated:\n  - {fact: distance_to_built_up, is: 900 m}\n\ncrew:"}}.assessor(t)
	if _, found := said(t, reviewedAt(t, a, cue, straight(geo.Vec3{Z: 630}, geo.Vec3{X: 20, Z: 630}, 1, 5)), "The rule"); found == nil || found.Severity != "unknown" || !strings.Contains(found.Mend, "no entry draws built-up areas") {
		t.Errorf("what the crew states of the plan is not what was flown: %+v", found)
	}
}

// A rule about the flight that no recording tells is named, and not passed over.
func TestRulesLeft(t *testing.T) {
	a := ground{profile: "own", own: ownRule("quantity: lost_link_clearance\nat_least: 20 m")}.assessor(t)
	r := reviewedAt(t, a, cue, straight(geo.Vec3{Z: 630}, geo.Vec3{X: 20, Z: 630}, 1, 5))
	for _, f := range r.Findings {
		if f.Severity == "unknown" && f.Value == "not judged" && strings.HasSuffix(f.What, ": The rule") {
			return
		}
	}
	t.Errorf("%+v", r.Findings)
}
