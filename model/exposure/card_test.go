package exposure_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"fieldfare/model/exposure"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

func shot(t testing.TB) exposure.Shot {
	w, h, err := lens.Recorded(0.0173, 0.0130, 4096, 2160, 1)
	if err != nil {
		t.Fatal(err)
	}
	return exposure.Shot{
		Scene: "4", Slate: "4B", Format: exposure.Format{Name: "4096 × 2160, 10 bit", BitRate: 400e6}, FrameRate: 30, Setting: setting(t),
		LightK: 5480, Camera: lens.Camera{FocalM: 0.012, SensorWidthM: w, SensorHeightM: h, PixelsW: 4096, PixelsH: 2160},
		CircleM: 9e-6, NearM: 4, FarM: math.Inf(1), CardLeftBytes: 64e9, TakeS: 90, Latitude: exposure.Latitude{OverStops: 6, UnderStops: 7},
		Breathing: lens.Breathing{FocusM: 2, Ratio: 0.98},
	}
}

func severities(c exposure.Card) map[string]string {
	m := map[string]string{}
	for _, r := range c.Remarks {
		m[r.What] = r.Severity
	}
	return m
}

func TestCompose(t *testing.T) {
	c, err := exposure.Compose(shot(t))
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Remarks) != 0 {
		t.Errorf("a sound card carries %+v", c.Remarks)
	}
	// By hand: 64 GB at 400 Mbit/s last 1280 s, 14 takes of 90 s.
	if c.CardLeftS == nil || *c.CardLeftS != 1280 || *c.TakesLeft != 14 || c.WhiteBalanceK != 5500 || c.Stabiliser != "none" ||
		c.Aperture != 11 || !slices.Equal(c.Filters, []string{"ND0.9"}) || c.SharpToM != nil || c.SharpFromM > 4 {
		t.Errorf("%+v", c)
	}
	near(t, "shutter angle", c.ShutterAngleDeg, 180, 1e-9)
	near(t, "focus", c.FocusM, 8, 1e-9) // twice the near limit for infinity
	if c.FocusFromM > c.FocusM || c.FocusToM != nil {
		t.Errorf("focus from %g m to %v", c.FocusFromM, c.FocusToM)
	}
	if !strings.Contains(c.FocusCheck, "a real object") || !strings.Contains(c.FocusCheck, "not by the ring's infinity mark") {
		t.Error(c.FocusCheck)
	}
	if out, err := json.Marshal(c); err != nil || !strings.Contains(string(out), `"white_balance_k":5500`) {
		t.Error(string(out), err)
	}
}

func TestComposeRemarks(t *testing.T) {
	sun := 90 * unit.Degree
	for what, c := range map[string]struct {
		severity string
		change   func(*exposure.Shot)
	}{
		"movement looks jittery":                                     {exposure.Caution, func(s *exposure.Shot) { s.Setting.ShutterS = 1.0 / 125 }},
		"movement looks smeared":                                     {exposure.Caution, func(s *exposure.Shot) { s.Setting.ShutterS = 1.0 / 30 }},
		"lamps on 50 Hz flicker or band":                             {exposure.Caution, func(s *exposure.Shot) { s.MainsHz = 50 }},
		"highlights burn out":                                        {exposure.Caution, func(s *exposure.Shot) { s.Contrast.OverStops = 7 }},
		"shadows block up":                                           {exposure.Caution, func(s *exposure.Shot) { s.Contrast.UnderStops = 8 }},
		"margin to burnt highlights and blocked shadows":             {exposure.Unknown, func(s *exposure.Shot) { s.Latitude = exposure.Latitude{} }},
		"not everything wanted is sharp":                             {exposure.Caution, func(s *exposure.Shot) { s.Camera.FocalM = 0.1 }},
		"focus breathing":                                            {exposure.Unknown, func(s *exposure.Shot) { s.Breathing = lens.Breathing{} }},
		"white balance":                                              {exposure.Unknown, func(s *exposure.Shot) { s.LightK = 0 }},
		"the light is another colour than the scene's white balance": {exposure.Note, func(s *exposure.Shot) { s.SceneK = 4000 }},
		"filters may darken the corners":                             {exposure.Caution, func(s *exposure.Shot) { s.Camera.FocalM = 0.008 }},
		"dense filters may colour the picture":                       {exposure.Caution, func(s *exposure.Shot) { s.Setting.Stack = stack(t, "ND1.8") }},
		"what the polariser does to the sky":                         {exposure.Unknown, func(s *exposure.Shot) { s.Setting.Stack = stack(t, "POL") }},
		"the polariser darkens the sky unevenly":                     {exposure.Caution, func(s *exposure.Shot) { s.Setting.Stack, s.FromSun = stack(t, "POL"), &sun }},
		"the lens's stabiliser was not tried on this gimbal":         {exposure.Note, func(s *exposure.Shot) { s.Stabiliser.Fitted = true }},
		"time left on the memory card":                               {exposure.Unknown, func(s *exposure.Shot) { s.CardLeftBytes = 0 }},
		"the memory card holds no whole take":                        {exposure.Stop, func(s *exposure.Shot) { s.CardLeftBytes = 4e9 }},
		"the take is longer than the camera's longest clip":          {exposure.Stop, func(s *exposure.Shot) { s.Format.ClipLimitS = 60 }},
		"exposure is off":                                            {exposure.Stop, func(s *exposure.Shot) { s.Setting.ErrorStops = 1.4 }},
		"the light changes during a take":                            {exposure.Caution, func(s *exposure.Shot) { s.Drift = &exposure.Change{Stops: -0.6, Spread: 0.6} }},
		"graduated filter":                                           {exposure.Note, func(s *exposure.Shot) { s.Graduated = &bag(t, "GND0.6")[0] }},
		"another filter is due":                                      {exposure.Note, func(s *exposure.Shot) { s.Due = &exposure.Due{AtS: 700, Stops: -0.5} }},
	} {
		s := shot(t)
		c.change(&s)
		card, err := exposure.Compose(s)
		if got := severities(card); err != nil || got[what] != c.severity {
			t.Errorf("%s: %q in %v (%v)", what, got[what], got, err)
		}
		for _, r := range card.Remarks {
			if r.Value == "" || r.Basis == "" {
				t.Errorf("%s: %+v lacks a value or a basis", what, r)
			}
		}
	}
}

func stack(t testing.TB, labels ...string) *exposure.Stack {
	s, err := exposure.NewStack(bag(t, labels...)...)
	if err != nil {
		t.Fatal(err)
	}
	return &s
}

func TestComposeRefuses(t *testing.T) {
	nan := math.NaN()
	for name, change := range map[string]func(*exposure.Shot){
		"no exposure":        func(s *exposure.Shot) { s.Setting.Stack = nil },
		"NaN error":          func(s *exposure.Shot) { s.Setting.ErrorStops = nan },
		"shutter over frame": func(s *exposure.Shot) { s.Setting.ShutterS = 0.1 },
		"no frame rate":      func(s *exposure.Shot) { s.FrameRate = 0 },
		"no sensor":          func(s *exposure.Shot) { s.Camera.SensorWidthM = 0 },
		"no range":           func(s *exposure.Shot) { s.NearM, s.FarM = 0, 0 },
		"NaN range":          func(s *exposure.Shot) { s.FarM = nan },
		"no circle":          func(s *exposure.Shot) { s.CircleM = 0 },
		"odd light":          func(s *exposure.Shot) { s.LightK = 55 },
		"NaN bit rate":       func(s *exposure.Shot) { s.Format.BitRate = nan },
		"negative take":      func(s *exposure.Shot) { s.TakeS = -4 },
	} {
		s := shot(t)
		change(&s)
		if c, err := exposure.Compose(s); err == nil {
			t.Errorf("%s gave %+v", name, c)
		}
	}
}

func TestWhiteBalanceList(t *testing.T) {
	s := shot(t)
	s.WhiteBalancesK = []float64{3200, 4300, 5600, 7500}
	for light, want := range map[float64]float64{5480: 5600, 6400: 5600, 6500: 7500, 3600: 3200, 3700: 4300} { // halfway in 1/K: 6412, 3669
		s.LightK = light
		if c, err := exposure.Compose(s); err != nil || c.WhiteBalanceK != want {
			t.Errorf("%g K gave %g, want %g (%v)", light, c.WhiteBalanceK, want, err)
		}
	}
}

func TestMatch(t *testing.T) {
	card := func(scene, slate string, fps, angle, k float64) exposure.Card {
		return exposure.Card{Scene: scene, Slate: slate, FrameRate: fps, ShutterAngleDeg: angle, WhiteBalanceK: k, Format: "A"}
	}
	same := []exposure.Card{card("4", "4A", 25, 180, 5600), card("4", "4B", 25, 172.8, 5600), card("7", "7A", 50, 180, 4300)}
	if d := exposure.Match(same); len(d) != 0 {
		t.Errorf("alike, yet %v", d)
	}
	mixed := append(slices.Clone(same), card("4", "4C", 50, 180, 5600), card("4", "4D", 25, 86, 0), card("7", "7B", 50, 180, 4300))
	d := exposure.Match(mixed)
	if len(d) != 3 || d[0].What != "frame rate" || d[1].What != "white balance" || d[2].What != "shutter angle" {
		t.Fatal(d)
	}
	if got := d[0].String(); got != "scene 4: frame rate differs: 25 fps: 4A, 4B, 4D; 50 fps: 4C; shoot one scene at one frame rate unless slow motion is meant" {
		t.Error(got)
	}
	if !slices.Equal(d[1].Slates, []string{"4D"}) {
		t.Error(d[1])
	}
	reversed := slices.Clone(mixed)
	slices.Reverse(reversed)
	if e := exposure.Match(reversed); len(e) != 3 || e[0].String() != d[0].String() || e[2].String() != d[2].String() {
		t.Error("the order of the cards matters", e)
	}
}
