package rule_test

import (
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"fieldfare/model/unit"
	"fieldfare/plan/rule"

	"pgregory.net/rapid"
)

func example(t testing.TB, id string) *rule.Profile {
	t.Helper()
	p, err := rule.Find(rule.Examples(), id)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func outcome(t *testing.T, p *rule.Profile, id string, facts rule.Facts) rule.Result {
	t.Helper()
	if err := facts.Check(); err != nil {
		t.Fatal(err)
	}
	for _, r := range rule.Evaluate(p, facts) {
		if r.Rule == id {
			return r
		}
	}
	t.Fatalf("no rule %q in %s", id, p.ID)
	return rule.Result{}
}

func length(text string) rule.Value {
	l, err := unit.ParseLength(text)
	if err != nil {
		panic(err)
	}
	return rule.Of(l)
}

// The published numbers at their edges. Sources as named in each profile: 14 CFR 107.51,
// 107.29, 107.3; Regulation (EU) 2019/947 UAS.OPEN.010 to 040 and Article 4; UK GM1
// UAS.OPEN.040(1); EN 300 328 and EN 300 440; 47 CFR 15.247. Those marked from memory are
// said to be so in the case's name.
func TestPublishedNumbersAtTheirEdges(t *testing.T) {
	yes, no := rule.Is(true), rule.Is(false)
	for _, c := range []struct {
		what, profile, rule string
		facts               rule.Facts
		want                rule.Outcome
	}{
		{"400 ft", "us-part-107", "height", rule.Facts{"height_above_ground": rule.Of(121.92)}, rule.Met},
		{"401 ft away from structures", "us-part-107", "height", rule.Facts{"height_above_ground": length("401 ft"), "distance_to_structure": length("401 ft")}, rule.Broken},
		{"401 ft and nothing said of a structure", "us-part-107", "height", rule.Facts{"height_above_ground": length("401 ft")}, rule.Unknown},
		{"600 ft beside a tower of 300 ft", "us-part-107", "height", rule.Facts{"height_above_ground": length("600 ft"), "distance_to_structure": length("200 ft"), "height_above_structure": length("300 ft")}, rule.Met},
		{"401 ft with the waiver", "us-part-107", "height", rule.Facts{"height_above_ground": length("401 ft"), "distance_to_structure": length("401 ft"), "permissions_held": rule.Listed("waiver 107.51")}, rule.Permitted},
		{"another waiver does not help", "us-part-107", "height", rule.Facts{"height_above_ground": length("401 ft"), "distance_to_structure": length("401 ft"), "permissions_held": rule.Listed("waiver 107.29")}, rule.Broken},
		{"87 kt", "us-part-107", "ground-speed", rule.Facts{"ground_speed": rule.Of(44.757)}, rule.Broken}, // 44.7567 m/s
		{"below 87 kt", "us-part-107", "ground-speed", rule.Facts{"ground_speed": rule.Of(44.756)}, rule.Met},
		{"3 statute miles", "us-part-107", "visibility", rule.Facts{"visibility": rule.Of(4828.03)}, rule.Broken}, // 4828.032 m
		{"a little more", "us-part-107", "visibility", rule.Facts{"visibility": rule.Of(4828.04)}, rule.Met},
		{"500 ft below cloud", "us-part-107", "below-cloud", rule.Facts{"sky_clear": no, "vertical_distance_cloud": rule.Of(152.4)}, rule.Met},
		{"2000 ft beside cloud", "us-part-107", "beside-cloud", rule.Facts{"sky_clear": no, "horizontal_distance_cloud": rule.Of(609.5)}, rule.Broken},
		{"no cloud", "us-part-107", "below-cloud", rule.Facts{"sky_clear": yes}, rule.NotApplicable},
		{"55 lb itself is too heavy", "us-part-107", "mass", rule.Facts{"take_off_mass": rule.Of(24.94758035)}, rule.Broken},
		{"24.9 kg", "us-part-107", "mass", rule.Facts{"take_off_mass": rule.Of(24.9)}, rule.Met},
		{"twilight without a light", "us-part-107", "twilight-light", rule.Facts{"night": no, "civil_twilight": yes, "anti_collision_light": rule.Of(1000.0)}, rule.Broken},
		{"twilight, light unknown", "us-part-107", "twilight-light", rule.Facts{"night": no, "civil_twilight": yes}, rule.Unknown},
		{"day", "us-part-107", "twilight-light", rule.Facts{"night": no, "civil_twilight": no}, rule.NotApplicable},
		{"over people, 0.55 lb (from memory)", "us-part-107", "over-people", rule.Facts{"over_people": yes, "take_off_mass": rule.Of(0.249), "exposed_rotors": no}, rule.Met},
		{"category 2, 11 ft·lb", "us-part-107", "category-2-energy", rule.Facts{"over_people_category": rule.Named("category 2"), "impact_energy": rule.Of(14.92)}, rule.Broken},
		{"category 3, 25 ft·lb", "us-part-107", "category-3-energy", rule.Facts{"over_people_category": rule.Named("category 3"), "impact_energy": rule.Of(33.89)}, rule.Met},

		{"120 m", "eu-open-a3", "height", rule.Facts{"height_above_ground": rule.Of(120.0)}, rule.Met},
		{"121 m in the open", "eu-open-a3", "height", rule.Facts{"height_above_ground": rule.Of(121.0), "distance_to_structure": rule.Of(51.0)}, rule.Broken},
		{"15 m above a mast of 106 m on request", "eu-open-a3", "height", rule.Facts{"height_above_ground": rule.Of(121.0), "distance_to_structure": rule.Of(50.0), "height_of_structure": rule.Of(106.0), "height_above_structure": rule.Of(15.0), "permissions_held": rule.Listed("request of the structure's owner")}, rule.Met},
		{"a mast of 105 m is not taller than 105 m", "eu-open-a3", "height", rule.Facts{"height_above_ground": rule.Of(121.0), "distance_to_structure": rule.Of(50.0), "height_of_structure": rule.Of(105.0), "height_above_structure": rule.Of(15.0), "permissions_held": rule.Listed("request of the structure's owner")}, rule.Broken},
		{"C1 of 899 g", "eu-open-a1", "aircraft", rule.Facts{"class_label": rule.Named("C1"), "take_off_mass": rule.Of(0.899)}, rule.Met},
		{"C1 of 900 g", "eu-open-a1", "aircraft", rule.Facts{"class_label": rule.Named("C1"), "take_off_mass": rule.Of(0.9)}, rule.Broken},
		{"C2 of 4 kg", "eu-open-a2", "aircraft", rule.Facts{"class_label": rule.Named("C2"), "take_off_mass": rule.Of(4.0)}, rule.Broken},
		{"30 m", "eu-open-a2", "distance", rule.Facts{"distance_to_uninvolved": rule.Of(30.0)}, rule.Met},
		{"5 m in low-speed mode (3 m/s from memory)", "eu-open-a2", "distance", rule.Facts{"distance_to_uninvolved": rule.Of(5.0), "low_speed_mode": yes, "ground_speed": rule.Of(3.0)}, rule.Met},
		{"5 m at 4 m/s", "eu-open-a2", "distance", rule.Facts{"distance_to_uninvolved": rule.Of(5.0), "low_speed_mode": yes, "ground_speed": rule.Of(4.0)}, rule.Broken},
		{"25 kg itself", "eu-open-a3", "mass", rule.Facts{"take_off_mass": rule.Of(25.0)}, rule.Broken},
		{"150 m", "eu-open-a3", "built-up", rule.Facts{"distance_to_built_up": rule.Of(149.9)}, rule.Broken},
		{"follow at 50 m", "eu-open-a1", "follow", rule.Facts{"follow_mode": yes, "distance_to_pilot": rule.Of(50.0)}, rule.Met},
		{"class 8", "eu-specific", "ground-risk", rule.Facts{"ground_risk_class": rule.Of(8.0)}, rule.Broken},
		{"1:1", "uk", "one-to-one", rule.Facts{"distance_to_uninvolved_share": rule.Of(0.99)}, rule.Broken},

		{"20 dBm", "radio-europe", "band-2400", rule.Facts{"radio_frequency": rule.Of(2.44e9), "radiated_power": rule.Of(0.1)}, rule.Met},
		{"25 mW and 2 dBi at 5.8 GHz", "radio-europe", "band-5725", rule.Facts{"radio_frequency": rule.Of(5.8e9), "radiated_power": rule.Of(0.0396)}, rule.Broken},
		{"indoor band", "radio-europe", "band-5150", rule.Facts{"radio_frequency": rule.Of(5.2e9)}, rule.Broken},
		{"1 W + 6 dBi", "radio-united-states", "bands", rule.Facts{"radio_frequency": rule.Of(2.44e9), "radiated_power": rule.Of(math.Pow(10, 0.6))}, rule.Met},
		{"a band nobody listed", "radio-united-states", "band", rule.Facts{"radio_frequency": rule.Of(1.3e9)}, rule.Broken},
	} {
		got := outcome(t, example(t, c.profile), c.rule, c.facts)
		if got.Outcome != c.want {
			t.Errorf("%s, %s %s: %v, want %v (%s; %s)", c.what, c.profile, c.rule, got.Outcome, c.want, got.Value, got.Limit)
		}
	}
}

func TestResultSaysWhyInTheUnitsOfTheRule(t *testing.T) {
	r := outcome(t, example(t, "us-part-107"), "ground-speed", rule.Facts{"ground_speed": rule.Of(50.0)})
	if r.Value != "ground speed 97.19 kt" || r.Limit != "ground speed at most 87 kt" {
		t.Errorf("value %q, limit %q", r.Value, r.Limit)
	}
	if want := "14 CFR part 107, 107.51(a), read 2026-11-25 (confirmed)"; r.Basis != want {
		t.Errorf("basis %q, want %q", r.Basis, want)
	}
	r = outcome(t, example(t, "eu-open-a2"), "distance", rule.Facts{"distance_to_uninvolved": rule.Of(6.0), "low_speed_mode": rule.Is(true)})
	if r.Outcome != rule.Unknown || len(r.Missing) != 1 || r.Missing[0] != "ground_speed" || !strings.Contains(r.Basis, "from memory") {
		t.Errorf("missing speed: %+v", r)
	}
}

// With no facts at all nothing is met, and nothing is broken: everything is unknown.
func TestNoFactsMeansUnknown(t *testing.T) {
	for _, p := range rule.Examples() {
		for _, r := range rule.Evaluate(p, nil) {
			if r.Outcome != rule.Unknown || len(r.Missing) == 0 {
				t.Errorf("%s %s: %v with no facts, missing %v", p.ID, r.Rule, r.Outcome, r.Missing)
			}
		}
	}
}

// A fact that is not finite or of the wrong kind is no fact.
func TestUnusableFactsAreUnknown(t *testing.T) {
	p := example(t, "us-part-107")
	for _, v := range []rule.Value{rule.Of(math.NaN()), rule.Of(math.Inf(1)), rule.Is(true), {}} {
		for _, r := range rule.Evaluate(p, rule.Facts{"ground_speed": v}) {
			if r.Rule == "ground-speed" && r.Outcome != rule.Unknown {
				t.Errorf("%+v gave %v", v, r.Outcome)
			}
		}
	}
	if err := (rule.Facts{"ground_sped": rule.Of(1.0)}).Check(); err == nil || !strings.Contains(err.Error(), `"ground_speed"`) {
		t.Errorf("misspelt fact: %v", err)
	}
}

// Learning a fact may settle an unknown, never turn met into broken or back (Kleene's
// logic is monotonic in information).
func TestLearningNeverReversesAnOutcome(t *testing.T) {
	profiles := rule.Examples()
	names := rule.Names()
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(profiles).Draw(t, "profile")
		few, more := rule.Facts{}, rule.Facts{}
		for _, n := range names {
			if n == "permissions_held" {
				continue
			}
			var v rule.Value
			switch rule.Quantities[n].Kind {
			case rule.YesNo:
				v = rule.Is(rapid.Bool().Draw(t, n))
			case rule.Choice:
				v = rule.Named(rapid.SampledFrom([]string{"C0", "C1", "C2", "category 2", "category 3"}).Draw(t, n))
			case rule.Frequency:
				v = rule.Of(rapid.Float64Range(9e8, 6e9).Draw(t, n))
			default:
				v = rule.Of(rapid.Float64Range(0, 200).Draw(t, n))
			}
			switch rapid.IntRange(0, 2).Draw(t, "known") {
			case 2:
				few[n] = v
				more[n] = v
			case 1:
				more[n] = v
			}
		}
		before, after := rule.Evaluate(p, few), rule.Evaluate(p, more)
		for i := range before {
			b, a := before[i].Outcome, after[i].Outcome
			if b == rule.Unknown || b == a || b == rule.Met && a == rule.NotApplicable {
				continue
			}
			t.Fatalf("%s %s went from %v to %v by learning", p.ID, before[i].Rule, b, a)
		}
	})
}

const valid = `id: mine
jurisdiction: house
title: Mine
source: our own rules
read: 2026-11-25
confirm: Ask.
rules:
  - id: height
    title: Height
    quantity: height_above_ground
    at_most: 60 m
    status: house rule
`

func TestACrewsOwnProfile(t *testing.T) {
	profiles, err := rule.Load(fstest.MapFS{"rules/mine.yaml": {Data: []byte(valid)}, "rules/read.txt": {Data: []byte("no")}}, "rules")
	if err != nil || len(profiles) != 1 {
		t.Fatalf("%v %v", profiles, err)
	}
	if r := outcome(t, profiles[0], "height", rule.Facts{"height_above_ground": rule.Of(61.0)}); r.Outcome != rule.Broken || r.Severity != rule.Stop {
		t.Errorf("%+v", r)
	}
	_, err = rule.Load(fstest.MapFS{"a.yaml": {Data: []byte(valid)}, "b.yaml": {Data: []byte(valid)}}, ".")
	if err == nil || !strings.Contains(err.Error(), "rename one") {
		t.Errorf("two profiles of one id: %v", err)
	}
}

func TestMistakesAreShownAtTheirPlace(t *testing.T) {
	for _, c := range []struct {
		what, old, new, want string
		line                 int
	}{
		{"unknown quantity", "height_above_ground", "hight_above_ground", `did you mean "height_above_ground"`, 10},
		{"missing unit", "60 m", "60", "the unit is missing", 11},
		{"wrong unit", "60 m", "60 kg", "unknown unit", 11},
		{"unknown key", "at_most", "at_mots", "at_mots", 11},
		{"no limit", "    at_most: 60 m\n", "", "at_most, at_least, below or above", 8},
		{"yes or no of a length", "at_most: 60 m", "is: true", "height_above_ground is a length", 8},
		{"no status", "    status: house rule\n", "", "from memory", 8},
		{"bad status", "house rule\n", "rumour\n", "rumour", 12},
		{"bad date", "2026-11-25", "yesterday", "not a date", 5},
		{"no confirm", "confirm: Ask.\n", "", "confirm is missing", 0},
		{"broken yaml", "rules:", "rules: [", "", 0},
		{"empty", valid, "", "empty", 0},
	} {
		_, err := rule.Parse("mine.yaml", []byte(strings.Replace(valid, c.old, c.new, 1)))
		var e *rule.Error
		if !errors.As(err, &e) || !strings.Contains(e.Problem, c.want) || c.line != 0 && e.Line != c.line {
			t.Errorf("%s: %v, want %q on line %d", c.what, err, c.want, c.line)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(valid))
	for _, p := range []string{"us-part-107", "eu-open-a2", "radio-europe"} {
		f.Add(exampleText(f, p))
	}
	f.Add([]byte("rules: [{any: [{all: [{not: {quantity: night, is: true}}]}]}]"))
	f.Add([]byte("a: &a [*a]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := rule.Parse("fuzz.yaml", data)
		if err != nil {
			return
		}
		for _, r := range rule.Evaluate(p, nil) {
			if r.Outcome != rule.Unknown {
				t.Fatalf("%+v with no facts", r)
			}
		}
		rule.Evaluate(p, rule.Facts{"height_above_ground": rule.Of(61.0), "permissions_held": rule.Listed()})
	})
}

func BenchmarkEvaluate(b *testing.B) {
	p := example(b, "us-part-107")
	facts := rule.Facts{"height_above_ground": rule.Of(61.0), "ground_speed": rule.Of(12.0), "night": rule.Is(false), "civil_twilight": rule.Is(false)}
	for b.Loop() {
		rule.Evaluate(p, facts)
	}
}

func exampleText(t testing.TB, id string) []byte {
	data, err := rule.Embedded.ReadFile("profiles/" + id + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// A number that was recalled and not looked up says so in the basis of its result, and
// every profile says what to confirm.
func TestFromMemoryIsSaidInTheBasis(t *testing.T) {
	recalled := 0
	for _, p := range rule.Examples() {
		if p.Confirm == "" {
			t.Errorf("%s names nobody to confirm with", p.ID)
		}
		for i, r := range rule.Evaluate(p, nil) {
			if p.Rules[i].Status == rule.FromMemory {
				recalled++
				if !strings.Contains(r.Basis, "(from memory)") {
					t.Errorf("%s %s: basis %q hides that it is from memory", p.ID, r.Rule, r.Basis)
				}
			}
		}
	}
	if recalled < 10 {
		t.Errorf("only %d rules from memory", recalled)
	}
}

// The list of names that a crew writes profiles with is what the program reads.
// Run with UPDATE=1 to write it anew.
func TestQuantitiesAreDocumented(t *testing.T) {
	var b strings.Builder
	b.WriteString("# Quantities that a rule profile can limit\n\n")
	b.WriteString("Numbers are worst cases over the flight. A fact that nobody computed or stated is unknown, and so is the rule.\n")
	b.WriteString("A profile is an example until the crew has confirmed it with the authority; it is not law.\n\n")
	b.WriteString("| name | kind | meaning |\n| --- | --- | --- |\n")
	for _, n := range rule.Names() {
		fmt.Fprintf(&b, "| `%s` | %s | %s |\n", n, rule.Quantities[n].Kind, rule.Quantities[n].Meaning)
	}
	if os.Getenv("UPDATE") != "" {
		if err := os.WriteFile("quantities.md", []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	have, err := os.ReadFile("quantities.md")
	if err != nil || string(have) != b.String() {
		t.Errorf("quantities.md is out of date (%v); run the test with UPDATE=1", err)
	}
}
