package assess_test

import (
	"math"
	"testing"
	"time"
)

// What the logbook taught about a rig scales everything that it draws: hover, take and way, and leaves the
// pack as it is.
func TestLearntPowerFactor(t *testing.T) {
	at := time.Date(2026, 9, 22, 10, 0, 0, 0, time.UTC)
	keep := []string{"4B"}
	was := prepared(t, keep, nil).Take("4B").At(at).Numbers.Flight
	is := prepared(t, keep, []edit{{"shoot.yaml", "  - name: heron\n", "  - name: heron\n    power_factor: 112 %\n"}}).Take("4B").At(at).Numbers.Flight
	for name, pair := range map[string][2]*float64{"hover": {was.HoverPowerW, is.HoverPowerW}, "take": {was.TakeEnergyWh, is.TakeEnergyWh}, "transit": {was.TransitEnergyWh, is.TransitEnergyWh}} {
		if pair[0] == nil || pair[1] == nil {
			t.Fatalf("%s is unknown", name)
		}
		if ratio := *pair[1] / *pair[0]; math.Abs(ratio-1.12) > 1e-6 {
			t.Errorf("%s: %.4f times as much, want 1.12", name, ratio)
		}
	}
}
