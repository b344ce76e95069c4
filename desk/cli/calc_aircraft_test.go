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

func aircraft(t *testing.T, args ...string) (map[string]any, string, int) {
	t.Helper()
	var out, errOut bytes.Buffer
	code := cli.Run(context.Background(), append([]string{"calc"}, args...), &out, &errOut)
	var v map[string]any
	if code == 0 {
		if err := json.Unmarshal(out.Bytes(), &v); err != nil {
			t.Fatalf("%v: %v\n%s", args, err, out.String())
		}
		if v["caution"] != cli.SafetySentence {
			t.Errorf("%v: no caution", args)
		}
	}
	return v, errOut.String(), code
}

func shows(t *testing.T, v map[string]any, key string, want, relative float64) {
	t.Helper()
	at := any(v)
	for _, k := range strings.Split(key, ".") {
		m, _ := at.(map[string]any)
		at = m[k]
	}
	got, ok := at.(float64)
	if !ok || math.Abs(got-want) > relative*math.Abs(want)+1e-12 {
		t.Errorf("%s = %v, want %g", key, at, want)
	}
}

func TestCalcAir(t *testing.T) {
	v, _, _ := aircraft(t, "air", "--elevation", "2000m", "--temperature", "25C", "--pressure", "1013.25hPa", "--humidity", "50%", "--json")
	shows(t, v, "pressure_hpa", 794.952, 1e-6) // ISO 2533 at 2,000 m
	// Dalton's law by hand: (79495.2-1580.0)/(287.053 x 298.15) + 1580.0/(461.495 x 298.15).
	shows(t, v, "density_kg_m3", 0.921869, 2e-5)
	shows(t, v, "density_altitude_m", 2864.56, 1e-4)
	if _, message, code := aircraft(t, "air", "--elevation", "2000m", "--temperature", "25", "--json"); code != 2 || !strings.Contains(message, "unit is missing") {
		t.Errorf("a bare temperature: exit %d, %s", code, message)
	}
	if v, _, code := aircraft(t, "air", "--elevation", "-40m", "--temperature", "-12C", "--json"); code != 0 || v["density_altitude_m"].(float64) > -40 {
		t.Errorf("below sea level in the cold: exit %d, %v", code, v)
	}
}

func TestCalcPower(t *testing.T) {
	v, _, _ := aircraft(t, "power", "--mass", "9.8kg", "--rotors", "8", "--diameter", "380mm", "--density", "1.0kg/m3", "--speed", "10m/s", "--figure-of-merit", "0.65", "--json")
	weight, area := 9.8*9.80665, 8*math.Pi*0.19*0.19
	hover := math.Sqrt(weight / (2 * area))
	shows(t, v, "hover_power_w", weight*hover/0.65, 1e-9)
	shows(t, v, "disc_loading_n_m2", weight/area, 1e-9)
	x := 10 / hover // Glauert, edgewise closed form
	shows(t, v, "induced_velocity_m_s", hover*math.Sqrt(-x*x/2+math.Sqrt(x*x*x*x/4+1)), 1e-9)
	if v["power_w"].(float64) >= v["hover_power_w"].(float64) || v["best_range_speed_m_s"].(float64) <= v["best_endurance_speed_m_s"].(float64) || v["thrust_to_weight"] != nil {
		t.Errorf("%v", v)
	}
	for _, bad := range [][]string{{"--mass", "-1kg", "--rotors", "8"}, {"--mass", "9kg", "--rotors", "0"}, {"--mass", "9", "--rotors", "8"}, {"--mass", "9kg", "--rotors", "8", "--flat-plate", "0.05"}} {
		if _, message, code := aircraft(t, append([]string{"power", "--diameter", "380mm"}, bad...)...); code != 2 || message == "" {
			t.Errorf("%v: exit %d", bad, code)
		}
	}
}

func TestCalcEndurance(t *testing.T) {
	args := []string{"endurance", "--mass", "9.8kg", "--rotors", "8", "--diameter", "380mm", "--capacity", "32000mAh", "--voltage", "44.4V", "--hover-time", "30min", "--land-at", "25%", "--json"}
	v, _, _ := aircraft(t, args...)
	// Calibrated to 30 min on the whole pack, landing at 25 % leaves 22.5 min.
	shows(t, v, "endurance_s", 0.75*1800, 1e-9)
	shows(t, v, "rated_wh", 1420.8, 1e-9)
	if v["carriage"] != "cargo only" {
		t.Errorf("carriage %v", v["carriage"])
	}
	// 3 kW from the wall is 2,550 W at 85 %, more than 1 C of 1,420.8 Wh: the pack sets it. 60 % at 1 C
	// is 36 min; the fall of current from 85 % to 99 % takes 0.15 h x ln 15.
	v, _, _ = aircraft(t, append(args, "--charger-power", "3kW")...)
	shows(t, v, "charge_s", 0.6*3600+0.15*math.Log(15)*3600, 1e-9)
	if v["charge_limited_by"] != "pack" {
		t.Errorf("limited by %v", v["charge_limited_by"])
	}
	if _, message, code := aircraft(t, append(args, "--pack-mass", "1kg")...); code != 2 || !strings.Contains(message, "Wh/kg") {
		t.Errorf("1421 Wh/kg: exit %d, %s", code, message)
	}
	if v, _, _ := aircraft(t, append(args, "--speed", "10m/s", "--headwind", "11m/s")...); v["radius_m"] != nil {
		t.Errorf("10 m/s against 11 m/s reaches %v", v["radius_m"])
	}
}

func TestCalcBalance(t *testing.T) {
	v, _, _ := aircraft(t, "balance", "--item", "camera,560g,0,0,0mm", "--item", "lens,240g,0,55,-3mm", "--json")
	shows(t, v, "tilt.moment_n_mm", 240e-3*55*9.80665, 1e-6)
	shows(t, v, "tilt.shift_mm", -16.5, 1e-6)
	shows(t, v, "tilt.counterweight_g", 132, 1e-6)
	shows(t, v, "roll.moment_n_mm", 0, 0)
	for _, bad := range []string{"camera,560,0,0,0mm", "camera,560g,0,0,0", "camera,-560g,0,0,0mm", "camera,560g", "camera,560g,0,0,0mm,yaw"} {
		if _, message, code := aircraft(t, "balance", "--item", bad); code != 2 || message == "" {
			t.Errorf("%s: exit %d", bad, code)
		}
	}
}

func TestCalcMetar(t *testing.T) {
	v, _, _ := aircraft(t, "metar", "METAR EDDF 280650Z VRB05KT 1200 0900NW FG FEW025 SCT100 OVC060 M02/M07 Q0972 NOSIG", "--json")
	shows(t, v, "temperature_c", -2, 0)
	shows(t, v, "pressure_hpa", 972, 0)
	shows(t, v, "visibility_least_m", 900, 0)
	if v["wind_from_deg"] != nil || v["wind_variable"] != true {
		t.Errorf("a variable wind: %v", v)
	}
	v, _, _ = aircraft(t, "metar", "--json", "KMEM", "230853Z", "AUTO", "18014G18KT", "10SM", "CLR", "ZZZZZ", "16/M02", "A3008")
	if u, _ := v["unread"].([]any); len(u) != 1 || u[0] != "ZZZZZ" {
		t.Errorf("unread %v", v["unread"])
	}
	if _, message, code := aircraft(t, "metar", "nonsense"); code != 2 || !strings.Contains(message, "not a METAR") {
		t.Errorf("nonsense: exit %d, %s", code, message)
	}
}
