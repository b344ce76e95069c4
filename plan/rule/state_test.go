package rule_test

import (
	"strings"
	"testing"

	"fieldfare/plan/rule"
)

func TestState(t *testing.T) {
	facts := rule.Facts{}
	for name, text := range map[string]string{"remote_identified": "yes", "follow_mode": "no", "anti_collision_light": "3 mi", "over_people_category": "category 2"} {
		v, err := rule.State(name, text)
		if err != nil {
			t.Fatal(err)
		}
		facts[name] = v
	}
	if err := facts.Check(); err != nil {
		t.Error(err)
	}
	for _, name := range rule.Stateable() {
		if _, ok := rule.Quantities[name]; !ok {
			t.Errorf("%s is not a quantity", name)
		}
	}
	for _, tc := range []struct{ name, text, want string }{
		{"height_above_ground", "10 m", "computed and cannot be stated"},
		{"permissions_held", "all", "computed and cannot be stated"},
		{"remote_identifed", "yes", "not a quantity"},
		{"remote_identified", "perhaps", "write yes or no"},
		{"anti_collision_light", "3", "unit"},
		{"over_people_category", " ", "needs a name"},
	} {
		if _, err := rule.State(tc.name, tc.text); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s %q: got %v, want it to say %q", tc.name, tc.text, err, tc.want)
		}
	}
}
