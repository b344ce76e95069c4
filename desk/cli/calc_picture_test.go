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

// picture runs a command line of the lens, exposure and smear calculators.
func picture(t *testing.T, line string) (v map[string]any, code int, problem string) {
	t.Helper()
	var out, errOut bytes.Buffer
	code = cli.Run(context.Background(), strings.Fields(line), &out, &errOut)
	if strings.HasSuffix(line, "--json") {
		if err := json.Unmarshal(out.Bytes(), &v); err != nil && code == 0 {
			t.Fatalf("%s: %v in %s", line, err, out.String())
		}
	} else if code == 0 && !strings.Contains(out.String(), cli.SafetySentence) {
		t.Errorf("%s: no safety sentence in %s", line, out.String())
	}
	return v, code, errOut.String()
}

func checkNumbers(t *testing.T, v map[string]any, want map[string]float64, relative float64) {
	t.Helper()
	for key, w := range want {
		if got, ok := v[key].(float64); !ok || math.Abs(got-w) > relative*math.Abs(w) {
			t.Errorf("%s = %v, want %g", key, v[key], w)
		}
	}
}

func TestCalcLens(t *testing.T) {
	v, code, problem := picture(t, "calc lens --sensor 17.3x13.0mm --pixels 4096x2160 --focal 12mm --aperture f/5.6 --focus 50m --coc 15um --json")
	if code != 0 {
		t.Fatal(problem)
	}
	// By hand: 2·atan(17.3/24), and the picture's height 17.3·2160/4096 = 9.123 mm;
	// H = 144/(5.6·0.015) + 12 mm; near = s(H-f)/(H+s-2f); 2.44·0.55·5.6; 1/(0.55e-3·5.6).
	checkNumbers(t, v, map[string]float64{"hfov_deg": 71.571, "vfov_deg": 41.626, "sensor_vfov_deg": 56.886, "hyperfocal_m": 1.726286,
		"near_m": 1.657843, "airy_um": 7.515, "diffraction_cutoff_lp_mm": 324.7}, 4e-4)
	if far, ok := v["far_m"]; !ok || far != nil {
		t.Errorf("far_m = %v, want null for infinity", far)
	}
	// Common practice, no source: sharpest at f/5.6 to f/8.
	if best := v["best_aperture"]; best != "f/5.6" && best != "f/6.3" && best != "f/7.1" && best != "f/8" {
		t.Errorf("best_aperture = %v", best)
	}
	if v["caution"] != cli.SafetySentence {
		t.Error("no caution")
	}
}

func TestCalcExposure(t *testing.T) {
	v, code, problem := picture(t, "calc exposure --illuminance 100000lx --fps 30 --shutter-angle 180deg --iso 200 --apertures f/5.6..f/11 --filters ND0.3,ND0.6,ND0.9,ND1.2,POL --json")
	if code != 0 {
		t.Fatal(problem)
	}
	checkNumbers(t, v, map[string]float64{"ev100": math.Log2(100000 * 100 / 250.0)}, 1e-9) // ISO 2720, C = 250
	cards := v["cards"].([]any)
	if len(cards) < 3 {
		t.Fatal(cards)
	}
	for i, c := range cards {
		card := c.(map[string]any)
		for _, key := range []string{"shutter_s", "iso", "aperture", "filters", "attenuation_stops", "error_stops", "why"} {
			if _, ok := card[key]; !ok {
				t.Errorf("card %d has no %s", i, key)
			}
		}
	}
	first := cards[0].(map[string]any)
	checkNumbers(t, first, map[string]float64{"shutter_s": 1.0 / 60, "iso": 200}, 1e-9)
	// Common practice, no source: 3 to 4 stops of filter in bright sun.
	if a, e := first["attenuation_stops"].(float64), first["error_stops"].(float64); a < 2.9 || a > 4.1 || math.Abs(e) > 1.0/3 {
		t.Errorf("first card %v", first)
	}
}

func TestCalcExposureOnLocation(t *testing.T) {
	v, code, problem := picture(t, "calc exposure --illuminance 80000lx --fps 25 --iso 200 --apertures f/5.6..f/11 --filters ND0.6,ND0.9,ND1.2 --meter -1.3 --json")
	if code != 0 {
		t.Fatal(problem)
	}
	checkNumbers(t, v, map[string]float64{"ev100": math.Log2(32000) - 1.3}, 1e-9)
	if next, _ := v["planned"].(map[string]any)["next_stop"].(string); !strings.Contains(next, "dark → ") {
		t.Errorf("next stop %q", next)
	}
}

func TestCalcSmear(t *testing.T) {
	v, code, problem := picture(t, "calc smear --speed 12m/s --distance 40m --focal 25mm --pitch 4.2um --shutter 1/60s --fps 30 --width 4096px --json")
	if code != 0 {
		t.Fatal(problem)
	}
	// By hand: v·f/(d·pitch) = 1785.71 px/s.
	checkNumbers(t, v, map[string]float64{"blur_px": 29.7619, "motion_px_per_frame": 59.5238, "crossing_s": 2.29376}, 1e-5)
	if v["verdict"] != "caution" || v["vibration"] != "unknown" {
		t.Errorf("verdict %v, vibration %v", v["verdict"], v["vibration"])
	}
	v, _, _ = picture(t, "calc smear --speed 0m/s --distance 40m --focal 25mm --pitch 4.2um --shutter 1/60s --fps 30 --width 4096px --json")
	if v["verdict"] != "natural" || v["crossing_s"] != nil {
		t.Errorf("at rest: %v", v)
	}
}

func TestCalcPictureText(t *testing.T) {
	for _, line := range []string{
		"calc lens --sensor 17.3x13.0mm --pixels 4096x2160 --focal 45mm --aperture f/8 --focus 30m --near 20m --far 100m --thread 46mm --filter 58mm --rings 46-58mm",
		"calc exposure --illuminance 20000lx --fps 25 --iso 200,400 --apertures f/5.6..f/11 --lens f/2.8..f/22 --filters ND0.6,POL,GND0.6 --polariser --sun-angle 90deg --fov 40deg --sky 2.2 --mains 50Hz",
		"calc smear --turn -8deg/s --distance 40m --focal 25mm --pitch 4.2um --shutter 1/60s --fps 30 --width 4096px --residual 0.3deg/s --view-width 30deg",
	} {
		if _, code, problem := picture(t, line); code != 0 {
			t.Errorf("%s: %s", line, problem)
		}
	}
}

func TestCalcPictureRefuses(t *testing.T) {
	const (
		lens     = "calc lens --sensor 17.3x13.0mm --pixels 4096x2160 --focal 12mm --aperture f/5.6 --focus 50m "
		exposure = "calc exposure --fps 30 --iso 200 --apertures f/5.6..f/11 "
		smear    = "calc smear --distance 40m --focal 25mm --pitch 4.2um --width 4096px "
	)
	for line, want := range map[string]string{
		strings.Replace(lens, "17.3x13.0mm", "17.3x13", 1):        "is not a sensor size",
		strings.Replace(lens, "12mm", "12", 1):                    "the unit is missing",
		strings.Replace(lens, "12mm", "12m", 1):                   "focal length is 12 m",
		strings.Replace(lens, "4096x2160", "4096", 1):             "is not a picture size",
		lens + "--lens f/8..f/22":                                 "the lens offers f/8 to f/22",
		lens + "--thread 46mm --filter 58mm":                      "does not fit",
		lens + "--good f/11..f/5.6":                               "write the wide one",
		lens + "--coc NaNum":                                      "is not a length",
		exposure + "--illuminance 0lx":                            "without light there is no exposure",
		exposure + "--illuminance NaNlx":                          "no number found",
		exposure + "--illuminance 100000":                         "the unit is missing",
		exposure + "--illuminance 100000lx":                       "no setting works",
		exposure + "--illuminance 100000lx --filters ND64":        "density",
		exposure + "--illuminance 5lx":                            "stops dark",
		exposure + "--illuminance 9000lx --shutters 1/10s":        "no shutter of the camera",
		exposure + "--illuminance 9000lx --lens f/8..f/22":        "the lens offers",
		exposure + "--illuminance 9000lx --meter NaN":             `--meter: "NaN" is not a number`,
		exposure + "--illuminance 9000lx --meter 1 --metered 5lx": "not both",
		smear + "--speed 12m/s --shutter 1/60s --fps NaN":         `--fps: "NaN" is not a number`,
		smear + "--speed 12m/s --shutter 1/20s --fps 30":          "longer than a frame",
		smear + "--speed 12 --shutter 1/60s --fps 30":             "the unit is missing",
		smear + "--speed 900m/s --shutter 1/60s --fps 30":         "up to 200 m/s",
	} {
		if _, code, problem := picture(t, line); code != 2 || !strings.Contains(problem, want) {
			t.Errorf("%s: exit %d, %q, want %q", line, code, problem, want)
		}
	}
}

func FuzzCalcPictureWords(f *testing.F) {
	for _, s := range []string{"17.3x13.0mm", "17.3mm×13mm", "x", "4096x2160", "f/2.8..f/8", "46-58mm", "×", "1e9x1m", "NaNxNaNmm"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, word string) {
		if strings.HasPrefix(word, "-") || strings.ContainsAny(word, "\x00") {
			return
		}
		var out bytes.Buffer
		line := strings.Fields("calc lens --focal 12mm --aperture f/5.6 --focus 50m --thread 46mm --filter 58mm --json")
		line = append(line, "--sensor="+word, "--pixels="+word, "--good="+word, "--rings="+word)
		cli.Run(context.Background(), line, &out, &out)
		for _, flag := range []string{"--sensor=", "--pixels=", "--good=", "--rings="} {
			out.Reset()
			one := strings.Fields("calc lens --sensor=17.3x13mm --pixels=4096x2160 --focal 12mm --aperture f/5.6 --focus 50m --json")
			code := cli.Run(context.Background(), append(one, flag+word), &out, &out)
			if code != 0 && code != 2 || strings.Contains(out.String(), "NaN\n") {
				t.Errorf("%s%q: exit %d, %s", flag, word, code, out.String())
			}
		}
	})
}
