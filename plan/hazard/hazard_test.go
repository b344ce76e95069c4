package hazard_test

import (
	"errors"
	"strings"
	"testing"

	"fieldfare/plan/hazard"
	"fieldfare/plan/rule"

	"pgregory.net/rapid"
)

func find(t *testing.T, rows []hazard.Row, id string) hazard.Row {
	t.Helper()
	for _, r := range rows {
		if r.ID == id {
			return r
		}
	}
	t.Fatalf("no row %q", id)
	return hazard.Row{}
}

func assess(t *testing.T, facts rule.Facts, d hazard.Decision) []hazard.Row {
	t.Helper()
	if err := facts.Check(); err != nil {
		t.Fatal(err)
	}
	rows, err := hazard.Standard().Assess(facts, d)
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// The arithmetic of one row, worked by hand on the data files (common practice, no source).
func TestOneRow(t *testing.T) {
	facts := rule.Facts{"over_people": rule.Is(false), "buffer_clear_of_people": rule.Is(true), "impact_energy": rule.Of(500.0),
		"closed_site": rule.Is(false), "parachute_fitted": rule.Is(false)}
	r := find(t, assess(t, facts, hazard.Decision{}), "fall-on-uninvolved")
	if r.Before.Likelihood != 2 || r.Before.Severity != 5 || r.Before.Band.Name != "high" || len(r.Worse) != 1 {
		t.Errorf("before: %+v, %v", r.Before, r.Worse)
	}
	if r.Residual.Likelihood != 1 || r.Residual.Severity != 5 || r.Residual.Band.Name != "medium" {
		t.Errorf("residual: %+v", r.Residual)
	}
	states := map[string]hazard.State{}
	for _, m := range r.Measures {
		states[m.ID] = m.State
	}
	if states["buffer-clear"] != hazard.InPlace || states["closed-site"] != hazard.NotMet || len(r.Missing) != 0 {
		t.Errorf("states %v, missing %v", states, r.Missing)
	}
}

func TestUnknownCountsAgainstTheFlight(t *testing.T) {
	for _, r := range assess(t, nil, hazard.Decision{}) {
		if r.Residual.Likelihood < r.Before.Likelihood || r.Residual.Severity < r.Before.Severity {
			t.Errorf("%s: a control helped with nothing known and nothing accepted: %+v", r.ID, r)
		}
	}
	r := find(t, assess(t, nil, hazard.Decision{}), "fall-on-uninvolved")
	if r.Before.Likelihood != 5 || r.Before.Severity != 5 || r.Before.Band.Name != "extreme" || len(r.Missing) < 4 {
		t.Errorf("%+v", r)
	}
}

func TestCrewsDecisions(t *testing.T) {
	facts := rule.Facts{"exposed_rotors": rule.Is(false), "vehicle_in_shot": rule.Is(false)}
	before := find(t, assess(t, facts, hazard.Decision{}), "rotor-injury")
	if before.Residual != before.Before || before.Measures[0].State != hazard.Proposed {
		t.Errorf("a proposed control counted: %+v", before)
	}
	d := hazard.Decision{Accepted: []string{"landing-ring"}, Added: map[string][]hazard.Control{"rotor-injury": {{ID: "gloves", Text: "Wear gloves", Owner: "pilot", Severity: 1}}}}
	after := find(t, assess(t, facts, d), "rotor-injury")
	if after.Residual.Likelihood != before.Residual.Likelihood-1 || after.Residual.Severity != before.Residual.Severity-1 || len(after.Measures) != 3 {
		t.Errorf("%+v", after)
	}
	for _, r := range assess(t, facts, d) {
		if r.ID == "vehicle" {
			t.Error("the vehicle hazard is listed though no vehicle takes part")
		}
	}
	for _, bad := range []hazard.Decision{{Accepted: []string{"landing-rng"}}, {Added: map[string][]hazard.Control{"rotors": {{}}}}} {
		if _, err := hazard.Standard().Assess(facts, bad); err == nil {
			t.Errorf("%+v was taken", bad)
		}
	}
}

// Knowing more never leaves a flight looking worse than knowing nothing, and accepting a
// control never makes it worse.
func TestKnowingAndAcceptingNeverHurt(t *testing.T) {
	library := hazard.Standard()
	blind, err := library.Assess(nil, hazard.Decision{})
	if err != nil {
		t.Fatal(err)
	}
	worst := map[string]hazard.Row{}
	for _, r := range blind {
		worst[r.ID] = r
	}
	var ids []string
	for _, h := range library.Hazards {
		for _, k := range h.Controls {
			ids = append(ids, k.ID)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		facts := rule.Facts{}
		for _, n := range rule.Names() {
			if !rapid.Bool().Draw(t, "known") {
				continue
			}
			switch rule.Quantities[n].Kind {
			case rule.YesNo:
				facts[n] = rule.Is(rapid.Bool().Draw(t, n))
			case rule.Choice, rule.List:
			default:
				facts[n] = rule.Of(rapid.Float64Range(0, 200).Draw(t, n))
			}
		}
		rows, err := library.Assess(facts, hazard.Decision{Accepted: rapid.SliceOfDistinct(rapid.SampledFrom(ids), rapid.ID).Draw(t, "accepted")})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rows {
			w := worst[r.ID]
			if r.Before.Likelihood > w.Before.Likelihood || r.Before.Severity > w.Before.Severity || r.Residual.Likelihood > w.Residual.Likelihood || r.Residual.Severity > w.Residual.Severity {
				t.Fatalf("%s: %+v is worse than knowing nothing, %+v", r.ID, r, w)
			}
			if r.Residual.Likelihood > r.Before.Likelihood || r.Residual.Severity > r.Before.Severity {
				t.Fatalf("%s: residual above before", r.ID)
			}
		}
	})
}

func TestChecklistsFollowTheFacts(t *testing.T) {
	holds := func(facts rule.Facts, text string) (there bool, unsure string) {
		for _, l := range hazard.Standard().Checks(facts) {
			for _, i := range l.Items {
				if strings.HasPrefix(i.Text, text) {
					return true, i.Unsure
				}
			}
		}
		return false, ""
	}
	if there, unsure := holds(rule.Facts{"night": rule.Is(true)}, "Anti-collision"); !there || unsure != "" {
		t.Error("no light at night")
	}
	if there, _ := holds(rule.Facts{"night": rule.Is(false), "civil_twilight": rule.Is(false)}, "Anti-collision"); there {
		t.Error("a light by day")
	}
	if there, unsure := holds(nil, "Anti-collision"); !there || unsure != "if night is yes or civil twilight is yes" {
		t.Errorf("light when nothing is known: %v %q", there, unsure)
	}
	want := []string{"site-arrival", "rig-build", "pre-flight", "pre-take", "post-flight", "battery"}
	for i, l := range hazard.Standard().Checks(nil) {
		if l.ID != want[i] || len(l.Items) < 5 {
			t.Errorf("checklist %d is %s with %d items", i, l.ID, len(l.Items))
		}
	}
}

const small = `id: two
likelihood: [rare, often]
severity: [mild, bad]
bands: [{name: green, accept: go}, {name: red, accept: stop}]
cells:
  - [green, green]
  - [green, red]
`

func TestTheCrewsOwnMatrix(t *testing.T) {
	l := hazard.Standard()
	if err := l.ReadMatrix("own.yaml", []byte(small)); err != nil {
		t.Fatal(err)
	}
	rows, err := l.Assess(nil, hazard.Decision{})
	if err != nil || rows[0].Before.Band.Name != "red" || rows[0].Before.Likelihood != 2 {
		t.Errorf("%+v %v", rows[0].Before, err)
	}
	for _, c := range []struct{ what, old, new, want string }{
		{"more is better", "[green, red]", "[red, green]", "more can never be better"},
		{"unknown band", "[green, red]", "[green, pink]", `"pink" is not one of the bands`},
		{"short row", "[green, red]", "[green]", "1 cells for 2"},
		{"short matrix", "  - [green, red]\n", "", "1 rows for 2"},
		{"unknown key", "cells:", "cell:", "cell"},
	} {
		err := l.ReadMatrix("own.yaml", []byte(strings.Replace(small, c.old, c.new, 1)))
		var e *rule.Error
		if !errors.As(err, &e) || !strings.Contains(e.Problem, c.want) || e.Line == 0 {
			t.Errorf("%s: %v, want %q", c.what, err, c.want)
		}
	}
	bad := "hazards:\n  - {id: a, hazard: b, who: [c], likelihood: 1, severity: 1, raise: [{when: {quantity: hight, is: true}, because: d}]}\n"
	if err := l.ReadHazards("own.yaml", []byte(bad)); err == nil || !strings.Contains(err.Error(), `own.yaml:2:`) || !strings.Contains(err.Error(), "not a quantity") {
		t.Errorf("unknown quantity in a hazard: %v", err)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(small))
	f.Add([]byte("hazards: [{id: a, hazard: b, who: [c], likelihood: 1, severity: 1, controls: [{id: d, text: e, owner: f}]}]"))
	f.Add([]byte("checklists: [{id: a, title: b, items: [{text: c, when: {quantity: night, is: true}}]}]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		l := hazard.Standard()
		l.ReadMatrix("fuzz.yaml", data)
		l.ReadHazards("fuzz.yaml", data)
		l.ReadChecklists("fuzz.yaml", data)
		if _, err := l.Assess(nil, hazard.Decision{}); err != nil {
			t.Fatal(err)
		}
		l.Checks(nil)
	})
}
