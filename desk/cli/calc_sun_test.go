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

// sunJSON runs a command line and reads its JSON.
func sunJSON(t *testing.T, line string) map[string]any {
	t.Helper()
	var out, errOut bytes.Buffer
	if code := cli.Run(context.Background(), strings.Fields(line), &out, &errOut); code != 0 {
		t.Fatalf("%s: exit %d, %s", line, code, errOut.String())
	}
	var v map[string]any
	if err := json.Unmarshal(out.Bytes(), &v); err != nil {
		t.Fatalf("%s: %v in %s", line, err, out.String())
	}
	return v
}

// The example of NREL/TP-560-34302 (2008), table A5.1, as a command line.
func TestCalcSunPaperExample(t *testing.T) {
	v := sunJSON(t, "calc sun --at 2003-10-17T12:30:30-07:00 --lat 39.742476 --lon -105.1786 --elevation 1830.14m --pressure 820hPa --temperature 11C --delta-t 67s --json")
	for key, want := range map[string]float64{"zenith_deg": 50.11162, "azimuth_deg": 194.34024, "altitude_deg": 39.888378} {
		if got, _ := v[key].(float64); math.Abs(got-want) > 1e-5 {
			t.Errorf("%s = %v, published %v", key, v[key], want)
		}
	}
	for _, key := range []string{"illuminance_direct_lx", "illuminance_sky_lx", "cct_k", "shadow_ratio", "moon_altitude_deg", "moon_azimuth_deg", "moon_illuminated_fraction"} {
		if _, ok := v[key].(float64); !ok {
			t.Errorf("%s is %v, want a number", key, v[key])
		}
	}
	if v["caution"] != cli.SafetySentence {
		t.Error("the caution is missing")
	}
}

// What no model holds for is null with its reason, never a number.
func TestCalcSunAtNight(t *testing.T) {
	v := sunJSON(t, "calc sun --at 2026-01-15T00:00:00Z --lat 46.6 --lon 10.3 --json")
	for value, reason := range map[string]string{"illuminance_direct_lx": "illuminance_reason", "illuminance_sky_lx": "illuminance_reason", "cct_k": "cct_reason", "shadow_ratio": "shadow_reason"} {
		if got, ok := v[value]; !ok || got != nil || v[reason] == nil {
			t.Errorf("%s is %v with reason %v, want null and a reason", value, got, v[reason])
		}
	}
}

func TestCalcSunday(t *testing.T) {
	v := sunJSON(t, "calc sunday --date 2026-06-21 --lat 46.6 --lon 10.3 --zone Europe/Zurich --json")
	// astronomy-engine 2.1.19 gives 05:25:27 and 21:15:46, ours within 5 s.
	for key, want := range map[string]string{"sunrise": "2026-06-21T05:25:", "sunset": "2026-06-21T21:15:"} {
		if got, _ := v[key].(string); !strings.HasPrefix(got, want) {
			t.Errorf("%s is %v, want %s…", key, v[key], want)
		}
	}
	v = sunJSON(t, "calc sunday --date 2026-06-21 --lat 78 --lon 15 --zone Arctic/Longyearbyen --json")
	if got, ok := v["sunrise"]; !ok || got != nil || !strings.Contains(v["reason"].(string), "polar day") {
		t.Errorf("sunrise %v, reason %v: want null and a polar day", v["sunrise"], v["reason"])
	}
	if _, ok := v["transit"].(string); !ok {
		t.Errorf("transit is %v, want a time also on a polar day", v["transit"])
	}
}

func TestCalcSunBadInput(t *testing.T) {
	for line, want := range map[string]string{
		"calc sun --at 1803-10-17T12:00:00Z --lat 46 --lon 10":                            "1950 to 2100",
		"calc sun --at 2026-10-17T12:00:00Z --lat 96 --lon 10":                            "latitude",
		"calc sun --at 2026-10-17T12:00:00Z --lat 46 --lon 190":                           "longitude",
		"calc sun --at 2026-10-17T12:00:00Z --lat 46 --lon 10 --elevation 500":            "unit",
		"calc sun --at 2026-10-17T12:00:00Z --lat 46 --lon 10 --sky blue":                 "not a sky",
		"calc sun --at 2026-10-17T12:00:00Z --lat NaN --lon 10":                           `--lat: "NaN" is not a number`,
		"calc sun --at 2026-10-17T12:00:00Z --lat 46 --lon 10 --ground 120%":              "reflectance",
		"calc sun --at 2026-10-17 --lat 46 --lon 10":                                      "2026-10-17",
		"calc sunday --date 2026-02-30 --lat 46 --lon 10 --zone UTC":                      "date",
		"calc sunday --date 2026-02-20 --lat 46 --lon 10 --zone Nowhere/Land":             "zone",
		"calc sunday --date 2011-12-30 --lat -13.8 --lon -171.8 --zone Pacific/Apia":      "does not exist",
		"calc sunday --date 2101-01-01 --lat 46 --lon 10 --zone UTC":                      "1950 to 2100",
		"calc sun --at 2026-10-17T12:00:00Z --lat 46 --lon 10 --delta-t 5000s":            "delta T",
		"calc sun --at 2026-10-17T12:00:00Z --lat 46 --lon 10 --pressure 5000hPa":         "pressure",
		"calc sun --at 2026-10-17T12:00:00Z --lat 46 --lon 10 --temperature -200C --json": "temperature",
	} {
		var out, errOut bytes.Buffer
		if code := cli.Run(context.Background(), strings.Fields(line), &out, &errOut); code != 2 || !strings.Contains(errOut.String(), want) {
			t.Errorf("%s: exit %d, %q; want exit 2 and %q", line, code, errOut.String(), want)
		}
	}
}
