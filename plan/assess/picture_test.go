package assess_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"fieldfare/model/exposure"
	"fieldfare/plan/assess"
)

const gradLine = "    light: [front light, subject lit]\n    moves:\n      - {move: push in, subject: chapel"

// A graduated filter goes on only while the horizon holds still in the picture.
func TestGraduatedFilter(t *testing.T) {
	still := edited(t, []string{"2A"}, edit{"shoot.yaml", gradLine, "    filters: [Grad 0.6]\n    light: [front light, subject lit]\n    moves:\n      - {move: static, subject: chapel, bearing: 195 deg, distance: 110 m, height: 6 m, duration: 10 s}\n      - {move: push in, subject: chapel"},
		edit{"shoot.yaml", "      - {move: push in, subject: chapel, bearing: 195 deg, distance: 110 m, height: 14 m, end_distance: 45 m, speed: 3 m/s}\n", ""}).Take("2A").At(noon)
	if c := still.Numbers.Picture.Card; c == nil || c.Graduated != "Grad 0.6" {
		t.Errorf("the horizon is still and the card has %+v", c)
	}
	tilting := edited(t, []string{"1C"}, edit{"shoot.yaml", "    light: [side light, no sun in frame]\n    moves:\n      - {move: tilt", "    filters: [Grad 0.6]\n    light: [side light, no sun in frame]\n    moves:\n      - {move: tilt"}).Take("1C").At(noon)
	if c := tilting.Numbers.Picture.Card; c == nil || c.Graduated != "" {
		t.Errorf("the horizon travels and the card has %+v", c)
	}
	if f := want(t, tilting, "graduated filter", assess.Caution); !strings.Contains(f.Value, "travels") && !strings.Contains(f.Value, "no horizon") {
		t.Error(f.Value)
	}
	// Without the step ring it does not go on at all.
	bare := edited(t, []string{"2A"}, edit{"shoot.yaml", gradLine, "    filters: [Grad 0.6]\n" + gradLine}, edit{shelf, ", step_rings: [46 mm]", ""}).Take("2A").At(noon)
	want(t, bare, "filter Grad 0.6", assess.Stop)
}

// A polariser comes only when asked for, takes its light, and its use depends on the sun.
func TestPolariser(t *testing.T) {
	plain := edited(t, []string{"2A"}).Take("2A").At(noon).Numbers.Picture.Card
	x := edited(t, []string{"2A"}, edit{"shoot.yaml", gradLine, "    filters: [Polariser]\n" + gradLine}).Take("2A").At(noon)
	card := x.Numbers.Picture.Card
	has := func(c *exposure.Card) bool { return strings.Contains(strings.Join(c.Filters, " "), "Polariser") }
	if has(plain) || !has(card) {
		t.Errorf("without asking %v, asked %v", plain.Filters, card.Filters)
	}
	// Front light: the sun behind the camera, where a polariser does nothing for the sky.
	f := find(x, "polariser")
	if f == nil || f.Severity != assess.Caution {
		t.Errorf("%+v", f)
	}
}

// Lamps on the mains choose a shutter that holds them steady.
func TestMains(t *testing.T) {
	for mains, steady := range map[string]float64{"50 Hz": 1.0 / 50, "60 Hz": 1.0 / 60} {
		x := edited(t, []string{"2A"}, edit{"shoot.yaml", gradLine, "    lamps: true\n" + gradLine}, edit{"shoot.yaml", "  people: 12/km2", "  people: 12/km2\n  mains: " + mains}).Take("2A").At(noon)
		if c := x.Numbers.Picture.Card; math.Abs(c.ShutterS-steady) > 1e-9 {
			t.Errorf("%s: shutter %g s", mains, c.ShutterS)
		}
		if f := find(x, "frequency of the mains"); f != nil {
			t.Errorf("%+v", f)
		}
	}
}

// The card stops being right at the moment at which the light, as forecast, has moved by its tolerance.
func TestChangeDue(t *testing.T) {
	a := edited(t, []string{"2B"})
	evening := time.Date(2026, 9, 22, 17, 0, 0, 0, time.FixedZone("", 7200))
	x := a.Take("2B").At(evening)
	n := x.Numbers.Picture
	if n.ChangeDue == nil || n.DueStops == nil || math.Abs(math.Abs(*n.DueStops)-0.5) > 0.03 {
		t.Fatalf("%v %v", n.ChangeDue, n.DueStops)
	}
	// Metered at that moment, the card set before is off by the tolerance.
	before, after := *x.Numbers.Light.SubjectLx, *a.Take("2B").At(*n.ChangeDue).Numbers.Light.SubjectLx
	if off := math.Log2(after/before) + n.Card.ErrorStops; math.Abs(off-*n.DueStops) > 0.05 {
		t.Errorf("the light moved the card to %.3f stops off, said %.3f", off, *n.DueStops)
	}
	if n.DriftTake == nil || math.Abs(*n.DriftTake) > 0.3 || n.DriftWindow == nil || *n.DriftWindow < math.Abs(*n.DriftTake) {
		t.Errorf("drift %v over the take, %v over the light", n.DriftTake, n.DriftWindow)
	}
	if len(n.Alternatives) < 2 || n.Alternatives[0].Aperture != n.Card.Aperture || n.Alternatives[1].Why == "" {
		t.Errorf("%+v", n.Alternatives)
	}
}

// What must be sharp near and far asks for a small enough aperture.
func TestDepthChoosesAperture(t *testing.T) {
	far := edited(t, []string{"1C"}).Take("1C").At(noon).Numbers.Picture
	near := edited(t, []string{"1C"}, edit{"shoot.yaml", "    title: From the stream up to the bell\n", "    title: From the stream up to the bell\n    near: 18 m\n"}).Take("1C").At(noon).Numbers.Picture
	if near.DepthNeeds == nil || *near.DepthNeeds <= *far.DepthNeeds || near.Card.Aperture < *near.DepthNeeds*0.99 {
		t.Errorf("needs f/%.1f (f/%.1f for the far one), card f/%.1f", *near.DepthNeeds, *far.DepthNeeds, near.Card.Aperture)
	}
	if near.Card.SharpFromM > 18 {
		t.Errorf("sharp from %g m", near.Card.SharpFromM)
	}
}

// One white balance a scene; a slate that asks for another is a finding.
func TestSceneWhiteBalance(t *testing.T) {
	a := edited(t, []string{"2A", "2B"})
	p, q := a.Take("2A").At(noon).Numbers.Picture.Card, a.Take("2B").At(noon.Add(5*time.Hour)).Numbers.Picture.Card
	if p.WhiteBalanceK == 0 || p.WhiteBalanceK != q.WhiteBalanceK {
		t.Errorf("%g K and %g K in one scene", p.WhiteBalanceK, q.WhiteBalanceK)
	}
	b := edited(t, []string{"2A", "2B"}, edit{"shoot.yaml", "    title: Around the tower\n", "    title: Around the tower\n    white_balance: 4000 K\n"},
		edit{"shoot.yaml", "    title: Towards the door\n", "    title: Towards the door\n    white_balance: 5600 K\n"})
	if k := b.Take("2B").At(noon).Numbers.Picture.Card.WhiteBalanceK; k != 4000 {
		t.Errorf("asked 4000 K, card %g K", k)
	}
	found := find(b.Take("2A").At(noon), "white balance within scene 2")
	if found == nil {
		found = find(b.Take("2B").At(noon), "white balance within scene 2")
	}
	if found == nil || found.Severity != assess.Caution {
		t.Errorf("%+v", found)
	}
}

// The focus is checked on a thing that stands on the site, at a distance that serves.
func TestFocusTarget(t *testing.T) {
	a := edited(t, []string{"1A"})
	card := a.Take("1A").At(noon).Numbers.Picture.Card
	if !strings.Contains(card.FocusCheck, "of chapel meadow") {
		t.Error(card.FocusCheck)
	}
}

// A long lens in wind: the longest that holds is said.
func TestLongestThatHolds(t *testing.T) {
	x := edited(t, []string{"1C"}, edit{shelf, "residual: 0.02 deg/s\n    residual_per_wind: 0.008 deg/s", "residual: 0.2 deg/s\n    residual_per_wind: 0.2 deg/s"}).Take("1C").At(noon)
	f := find(x, "shake left by the gimbal")
	n := x.Numbers.Picture
	if f == nil || f.Severity == assess.Note || n.LongestHoldM == nil || *n.LongestHoldM >= 0.045 || *n.ShakePx <= 1 {
		t.Errorf("%+v, longest %v", f, n.LongestHoldM)
	}
}

// The meter's word against the card, in stops or in lux, and nonsense.
func TestMetered(t *testing.T) {
	take := edited(t, []string{"2A"}).Take("2A")
	planned := *take.At(noon).Numbers.Light.SubjectLx
	stops, err := take.Metered(noon, exposure.Reading{OffsetStops: 1})
	if err != nil || math.Abs(stops.Now-1) > 0.34 || len(stops.Ways) == 0 {
		t.Fatalf("%+v %v", stops, err)
	}
	lux, err := take.Metered(noon, exposure.Reading{IlluminanceLx: 2 * planned})
	if err != nil || math.Abs(lux.Now-stops.Now) > 1e-9 || lux.Ways[0].Why != stops.Ways[0].Why {
		t.Errorf("twice the light is a stop: %+v %v", lux, err)
	}
	if math.Abs(lux.Ways[0].Card.ErrorStops) > 0.34 {
		t.Errorf("the way on is %g stops off", lux.Ways[0].Card.ErrorStops)
	}
	for _, r := range []exposure.Reading{{OffsetStops: math.NaN()}, {OffsetStops: 40}, {IlluminanceLx: math.NaN()}, {IlluminanceLx: -3}, {IlluminanceLx: math.Inf(1)}, {OffsetStops: 1, IlluminanceLx: 1000}} {
		if c, err := take.Metered(noon, r); err == nil {
			t.Errorf("%+v gave %+v", r, c)
		}
	}
	// Deep night has no planned light: only a reading in lux serves.
	night := time.Date(2026, 9, 22, 2, 0, 0, 0, time.FixedZone("", 7200))
	if _, err := take.Metered(night, exposure.Reading{OffsetStops: 1}); err == nil {
		t.Error("an offset from an unknown light was taken")
	}
	if c, err := take.Metered(night, exposure.Reading{IlluminanceLx: 200}); err != nil || len(c.Ways) == 0 {
		t.Errorf("%+v %v", c, err)
	}
}
