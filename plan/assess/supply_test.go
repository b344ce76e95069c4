package assess_test

import (
	"testing"

	"fieldfare/plan/assess"
)

// What is unknown says what to enter: no finding by a rule is left without it.
func TestUnknownRulesSayWhatToEnter(t *testing.T) {
	t.Parallel()
	a := edited(t, []string{"2A"}, edit{"shoot.yaml", "forecast: forecast.csv\n", ""})
	unknown := 0
	for _, f := range a.Take("2A").At(noon).Findings {
		if f.Topic == assess.TopicRules && f.Severity == assess.Unknown {
			if unknown++; f.Mend == "" {
				t.Errorf("%s: %s: no mend", f.What, f.Value)
			}
		}
	}
	if unknown == 0 {
		t.Error("no rule is unknown without a forecast")
	}
}
