package skill_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"fieldfare/desk/logbook"
	"fieldfare/desk/review"
	"fieldfare/desk/skill"
	"pgregory.net/rapid"
)

var now = time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC)

func sortie(daysAgo int, hours float64, class logbook.ShotClass) logbook.Standing {
	land := now.AddDate(0, 0, -daysAgo)
	return logbook.Standing{Fact: &logbook.Sortie{Sortie: "x", Aircraft: "A1", Pilot: "p", ShotClass: class, TakeOff: land.Add(-time.Duration(hours * float64(time.Hour))), Landing: land}}
}

func passes(n int, class logbook.ShotClass) (out []logbook.Standing) {
	for range n {
		out = append(out, logbook.Standing{Fact: &logbook.Practice{Person: "p", ShotClass: class, Move: "arc", Score: 90, Passed: true}})
	}
	return append(out, logbook.Standing{Fact: &logbook.Practice{Person: "p", ShotClass: class, Move: "arc", Score: 10}})
}

func held(l []skill.Standing) string {
	var s []string
	for _, r := range l {
		s = append(s, r.Held)
	}
	return strings.Join(s, " ")
}

func TestLadderIsClimbed(t *testing.T) {
	rules := skill.CommonRules()
	ladder := func(log ...logbook.Standing) []skill.Standing { return skill.Ladder("p", log, rules, now) }
	if got := held(ladder()); got != "yes no no no no no" {
		t.Error("a beginner:", got)
	}
	log := append(passes(4, logbook.WideOpen), sortie(100, 5, logbook.Trainer), sortie(10, 1, logbook.Trainer))
	if got := held(ladder(log...)); got != "yes yes no no no no" {
		t.Error("six hours and four passes:", got)
	}
	// The same hours, none of them recent.
	stale := append(passes(4, logbook.WideOpen), sortie(100, 5, logbook.Trainer), sortie(95, 1, logbook.Trainer))
	l := ladder(stale...)
	if l[1].Held != "no" || !strings.Contains(fmt.Sprint(l[1].Lacks), "within the last 90 days (0.0 of 1.0 h)") {
		t.Errorf("%+v", l[1])
	}
	// Hours brought forward count in all, but not as recent.
	carried := logbook.Standing{Fact: &logbook.Hours{Person: "p", Role: "pilot", ShotClass: logbook.WideOpen, FlownS: 100 * 3600, Source: "old log"}}
	l = ladder(append(append(passes(4, logbook.WideOpen), passes(6, logbook.NearObjects)...), carried, sortie(1, 1, logbook.Trainer))...)
	if got := held(l); got != "yes yes yes no no no" {
		t.Errorf("%s %v", got, l[5].Lacks)
	}
	if other := skill.Ladder("q", log, rules, now); held(other) != "yes no no no no no" {
		t.Error("another pilot's hours were counted")
	}
	// A rung above is not held over a gap below.
	over := ladder(append(append(passes(6, logbook.NearObjects), sortie(1, 30, logbook.WideOpen)), carried)...)
	if over[1].Held != "no" || over[2].Held != "no" {
		t.Errorf("%+v", over)
	}
}

func TestUnknownRungIsNotHeld(t *testing.T) {
	rules := skill.Rules{Basis: "crew", Rungs: []skill.Rung{{Class: logbook.Trainer}, {Class: logbook.NearObjects}}}
	l := skill.Ladder("p", []logbook.Standing{sortie(1, 500, logbook.WideOpen)}, rules, now)
	if got := held(l); got != "yes unknown unknown unknown unknown unknown" {
		t.Error(got)
	}
	if f := skill.Need("p", logbook.WideOpen, "4B", l, rules); f == nil || f.Severity != "unknown" {
		t.Errorf("%+v", f)
	}
	if f := skill.Need("p", "easy", "4B", l, rules); f == nil || f.Severity != "unknown" {
		t.Errorf("%+v", f)
	}
}

func TestNeedNamesThePractice(t *testing.T) {
	rules := skill.CommonRules()
	l := skill.Ladder("p", nil, rules, now)
	f := skill.Need("p", logbook.Between, "7A", l, rules)
	if f == nil || f.Severity != "stop" || f.Slate != "7A" || !strings.Contains(f.Mend, `practise "wide and open" first: static, push in, pedestal, arc`) {
		t.Errorf("%+v", f)
	}
	if f := skill.Need("p", logbook.Trainer, "1", l, rules); f != nil {
		t.Errorf("%+v", f)
	}
}

// More flying never takes a rung away.
func TestMoreFlyingNeverLowers(t *testing.T) {
	rank := map[string]int{"unknown": 0, "no": 0, "yes": 1}
	rapid.Check(t, func(t *rapid.T) {
		var log []logbook.Standing
		for range rapid.IntRange(0, 12).Draw(t, "n") {
			c := rapid.SampledFrom(logbook.ShotClasses).Draw(t, "class")
			log = append(log, sortie(rapid.IntRange(0, 200).Draw(t, "days"), rapid.Float64Range(0.1, 30).Draw(t, "h"), c))
			log = append(log, passes(rapid.IntRange(0, 8).Draw(t, "passes"), c)...)
		}
		a := skill.Ladder("p", log, skill.CommonRules(), now)
		b := skill.Ladder("p", append(log, sortie(3, 2, rapid.SampledFrom(logbook.ShotClasses).Draw(t, "more"))), skill.CommonRules(), now)
		for i := range a {
			if rank[b[i].Held] < rank[a[i].Held] {
				t.Fatal(a[i], b[i])
			}
		}
	})
}

func TestRulesAreRead(t *testing.T) {
	text, _ := json.Marshal(skill.CommonRules())
	r, err := skill.ReadRules(strings.NewReader(string(text)))
	if err != nil || len(r.Rungs) != 6 {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		`{`: "unexpected EOF", `{"rungs":[{"class":"easy"}],"basis":"x"}`: `class "easy"`, `{"rungs":[{"class":"trainer"},{"class":"trainer"}],"basis":"x"}`: "twice",
		`{"rungs":[{"class":"trainer","recent_s":1}],"basis":"x"}`: "recent_days", `{"rungs":[]}`: "basis", `{"rungs":[],"bases":""}`: "unknown field",
		`{"rungs":[{"class":"trainer","grade":{"pass":101}}],"basis":"x"}`: "0 to 100",
	} {
		if _, err := skill.ReadRules(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want %q", text, err, want)
		}
	}
}

func TestScore(t *testing.T) {
	v := func(x float64) *float64 { return &x }
	rows := func(n int, along, up, speed float64, aim *float64) (out []review.Row) {
		for range n {
			out = append(out, review.Row{AlongM: along, UpM: v(up), SpeedMS: 5 + speed, PlannedSpeedMS: 5, AimErrorDeg: aim})
		}
		return out
	}
	g := skill.Grade{DistanceM: 2.5, SpeedMS: 1, AimDeg: 5, Pass: 80}
	// 3 and 4 make 5 m: outside for a fifth of the time; speed and aim within throughout.
	k := review.TakeReport{Rows: append(rows(80, 1.5, 2, 0.5, v(3)), rows(20, 3, 4, 0.5, v(3))...)}
	if m := skill.Score(k, g); m.Distance != 0.8 || m.Speed != 1 || m.Aim != 1 || m.Score != 93.3 || m.Passed != "yes" {
		t.Errorf("%+v", m)
	}
	if m := skill.Score(review.TakeReport{Rows: rows(100, 9, 0, 2, v(9))}, g); m.Score != 0 || m.Passed != "no" {
		t.Errorf("%+v", m)
	}
	if m := skill.Score(review.TakeReport{Rows: rows(100, 0, 0, 0, nil)}, g); m.Score != 100 || m.Passed != "unknown" || m.Why == "" {
		t.Errorf("an aim not recorded was passed: %+v", m)
	}
	if m := skill.Score(review.TakeReport{Rows: rows(80, 0, 0, 0, v(0)), Missing: 20}, g); m.Passed != "unknown" {
		t.Errorf("%+v", m)
	}
}

func FuzzReadRules(f *testing.F) {
	text, _ := json.Marshal(skill.CommonRules())
	f.Add(string(text))
	f.Add(`{"rungs":[{"class":"trainer","total_s":-1e300}],"basis":"x"}`)
	f.Fuzz(func(t *testing.T, text string) {
		rules, err := skill.ReadRules(strings.NewReader(text))
		if err != nil {
			return
		}
		l := skill.Ladder("p", []logbook.Standing{sortie(1, 5, logbook.WideOpen)}, rules, now)
		for _, s := range l {
			skill.Need("p", s.Class, "1", l, rules)
		}
	})
}
