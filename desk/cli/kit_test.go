package cli_test

import (
	"encoding/json"
	"strings"
	"testing"

	"fieldfare/plan/standin"
)

// oneSlate is a copy of the demo with one slate, so that a test solves one path.
func oneSlate(t *testing.T, slate string) string {
	t.Helper()
	dir := standin.Copy(t)
	standin.Keep(t, dir, slate)
	return dir
}

// Each command about gear and picture answers as text with the safety sentence and as JSON with a caution.
func TestGearCommands(t *testing.T) {
	demoDir := oneSlate(t, "2A")
	for _, args := range [][]string{
		{"card", demoDir, "2A"},
		{"card", demoDir, "2A", "--meter", "+1"},
		{"card", demoDir, "2A", "--meter", "-0.7", "--at", "2026-09-22T12:10:00+02:00"},
		{"card", demoDir, "2A", "--lux", "52000"},
		{"balance", demoDir},
		{"balance", demoDir, "wren"},
		{"packs", demoDir},
		{"rigs", demoDir, "2A"},
	} {
		out, errs, code := run(t, args...)
		if code != 0 || !strings.Contains(out, "Planning aid only") {
			t.Errorf("%v: exit %d %s\n%s", args, code, errs, out)
		}
		out, errs, code = run(t, append(args, "--json")...)
		var v map[string]any
		if code != 0 || json.Unmarshal([]byte(out), &v) != nil || v["caution"] == nil {
			t.Errorf("%v --json: exit %d %s", args, code, errs)
		}
	}
}

// The meter's word changes the card; both words at once, nonsense and strangers are refused.
func TestCardCommand(t *testing.T) {
	demoDir := oneSlate(t, "2A")
	type answer struct {
		Card struct {
			Aperture float64  `json:"aperture_f"`
			Filters  []string `json:"filters"`
			Focus    string   `json:"focus_check"`
			White    float64  `json:"white_balance_k"`
			Left     *float64 `json:"card_left_s"`
			Sharp    *float64 `json:"sharp_from_m"`
		}
		Picture struct {
			Alternatives []map[string]any
			Due          string `json:"change_due"`
		}
		Corrected *struct {
			Now  float64 `json:"now_stops"`
			Ways []struct{ Why string }
		}
	}
	ask := func(args ...string) (a answer) {
		out, errs, code := run(t, append([]string{"card", demoDir, "2A", "--at", "2026-09-22T12:10:00+02:00", "--json"}, args...)...)
		if code != 0 {
			t.Fatalf("%v: %s", args, errs)
		}
		if err := json.Unmarshal([]byte(out), &a); err != nil {
			t.Fatal(err)
		}
		return a
	}
	plain := ask()
	if plain.Corrected != nil || plain.Card.Aperture == 0 || plain.Card.White == 0 || plain.Card.Left == nil || plain.Card.Sharp == nil || !strings.Contains(plain.Card.Focus, "chapel meadow") || len(plain.Picture.Alternatives) < 2 {
		t.Errorf("%+v", plain)
	}
	hot := ask("--meter", "+1")
	if hot.Corrected == nil || hot.Corrected.Now < 0.6 || len(hot.Corrected.Ways) == 0 || hot.Corrected.Ways[0].Why == "" {
		t.Errorf("%+v", hot.Corrected)
	}
	for _, bad := range [][]string{{"--meter", "1", "--lux", "1000"}, {"--meter", "NaN"}, {"--meter", "99"}, {"--lux", "0"}, {"--lux", "-5"}, {"--lux", "NaN"}, {"--lux", "1e9"}, {"--lux", "much"}} {
		if _, errs, code := run(t, append([]string{"card", demoDir, "2A"}, bad...)...); code != 2 || errs == "" {
			t.Errorf("%v: exit %d %q", bad, code, errs)
		}
	}
	for _, bad := range [][]string{{"card", demoDir, "9Z"}, {"balance", demoDir, "stork"}, {"balance", demoDir, "sparrow"}, {"rigs", demoDir, "9Z"}, {"packs", "/nowhere"}} {
		if _, errs, code := run(t, bad...); code != 2 || errs == "" {
			t.Errorf("%v: exit %d %q", bad, code, errs)
		}
	}
}
