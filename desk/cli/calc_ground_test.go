package cli_test

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"fieldfare/desk/cli"
)

func answer(t *testing.T, line string) map[string]any {
	t.Helper()
	var out, errOut bytes.Buffer
	if code := cli.Run(context.Background(), strings.Fields(line), &out, &errOut); code != 0 {
		t.Fatalf("%s: exit %d: %s", line, code, errOut.String())
	}
	var m map[string]any
	if err := json.Unmarshal(out.Bytes(), &m); err != nil {
		t.Fatalf("%s: %v", out.String(), err)
	}
	return m
}

func wants(t *testing.T, m map[string]any, want map[string]float64, tolerance float64) {
	t.Helper()
	for key, v := range want {
		got, ok := m[key].(float64)
		if !ok || math.Abs(got-v) > tolerance {
			t.Errorf("%s = %v, want %g within %g", key, m[key], v, tolerance)
		}
	}
	if m["caution"] != cli.SafetySentence {
		t.Error("no caution beside the numbers")
	}
}

// Sources: EASA guidelines issue 2 (ALOS, DLOS), SORA 2.5 (1:1, class 5 in the 3 m column
// for 300 people/km²); fall in vacuum by closed form for the hardest fall.
func TestCalcGround(t *testing.T) {
	const line = "calc ground --mass 9.8kg --height 60m --speed 10m/s --wind 6m/s --diameter 1.2m --json"
	m := answer(t, line)
	speed := math.Sqrt(100 + 2*9.80665*60)
	wants(t, m, map[string]float64{"impact_speed_m_s": speed, "impact_energy_j": 4.9 * speed * speed, "buffer_1to1_m": 60.6, "alos_m": 412.4}, 1e-3)
	if d := m["impact_distance_m"].(float64); d < 10*math.Sqrt(2*60/9.80665) {
		t.Errorf("the farthest fall, %g m, is shorter than the fall in vacuum", d)
	}
	if m["dlos_m"] != nil || m["grc"] != nil || len(m["unknown"].([]any)) != 2 {
		t.Errorf("what was not given must be null and named: %v", m["unknown"])
	}
	m = answer(t, line+" --visibility 3km --density 300people/km2 --drag-area 0m2")
	wants(t, m, map[string]float64{"dlos_m": 900, "vlos_m": 412.4, "grc": 5, "impact_distance_m": 10 * math.Sqrt(2*60/9.80665)}, 1e-3)
}

// Sources: ITU-R P.525 and P.526, k·T·B; worked by hand.
func TestCalcLink(t *testing.T) {
	m := answer(t, "calc link --frequency 5.8GHz --power 25mW --gain-tx 2dBi --gain-rx 8dBi --distance 1.2km --bandwidth 20MHz --noise-figure 6dB --required-snr 12dB --json")
	loss := 107.7163 + 20*math.Log10(1.2)
	received := 13.9794 + 10 - loss
	wants(t, m, map[string]float64{"path_loss_db": loss, "received_dbm": received, "noise_dbm": -94.965, "margin_db": received + 94.965 - 12,
		"fresnel_radius_m": 3.5947 * math.Sqrt(1.2)}, 1e-3)
	m = answer(t, "calc link --frequency 5.8GHz --power 25mW --gain-tx -2dBi --gain-rx 8dBi --distance 1.2km --bandwidth 20MHz --noise-figure 6dB --required-snr 12dB --json")
	wants(t, m, map[string]float64{"received_dbm": received - 4}, 1e-3)
}

func TestCalcGroundRefusesBareNumbers(t *testing.T) {
	for _, line := range []string{
		"calc ground --mass 9.8 --height 60m --speed 10m/s --diameter 1.2m",
		"calc ground --mass 9.8kg --height 60m --speed 10m/s --diameter 1.2m --drag-area 3",
		"calc ground --mass -1kg --height 60m --speed 10m/s --diameter 1.2m",
		"calc ground --mass 9.8kg --height 60m --speed 10m/s --diameter 1.2m --wind -3m/s",
		"calc link --frequency 5.8GHz --power 0W --gain-tx 2dBi --gain-rx 8dBi --distance 1.2km --bandwidth 20MHz --noise-figure 6dB --required-snr 12dB",
	} {
		var out, errOut bytes.Buffer
		if code := cli.Run(context.Background(), strings.Fields(line), &out, &errOut); code != 2 || errOut.Len() == 0 {
			t.Errorf("%s: exit %d, %q", line, code, errOut.String())
		}
	}
}
