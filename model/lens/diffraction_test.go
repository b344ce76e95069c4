package lens_test

import (
	"math"
	"testing"

	"fieldfare/model/lens"
)

func TestCutoffPublished(t *testing.T) {
	// Encyclopedia text citing Saleh & Teich, Fundamentals of Photonics: f/6, 0.55 um, 303.
	near(t, "f/6 cutoff", lens.DiffractionCutoff(6, 0.55e-6)/1000, 303, 0.5)
	// Optics application note, table 1, 0.520 um, in lp/mm.
	for n, lpmm := range map[float64]float64{1.4: 1374, 2: 962, 2.8: 687, 4: 481, 5.6: 343, 8: 240, 11: 175, 16: 120} {
		near(t, "cutoff", lens.DiffractionCutoff(n, 0.520e-6)/1000, lpmm, 1)
	}
}

func TestAiryDisk(t *testing.T) {
	// Optics application note: d = 2.44·λ·N, two decimals of the factor.
	near(t, "f/8 at 0.55 um", lens.AiryDiameter(8, 0.55e-6)*1e6, 2.44*0.55*8, 0.005)
	// The dark ring is where J1 vanishes: the factor is 2/π times its first zero.
	near(t, "J1 at the ring", math.J1(math.Pi*lens.AiryDiameter(1, 1)/2), 0, 1e-12)
}

// Closed form of the circular pupil (Boreman, SPIE TT52): 0.391 at half the cutoff.
func TestDiffractionMTF(t *testing.T) {
	for v, m := range map[float64]float64{0: 1, 0.1: 0.87289, 0.25: 0.68504, 0.5: 0.39100, 0.75: 0.14429, 0.9: 0.03739, 1: 0, 1.5: 0} {
		near(t, "MTF", lens.DiffractionMTF(v), m, 5e-6)
	}
	// The second road: the overlap of two unit discs a distance 2v apart, summed in strips.
	for _, v := range []float64{0.05, 0.3, 0.5, 0.77} {
		overlap, strips := 0.0, 200000
		for i := range strips {
			y := (float64(i) + 0.5) / float64(strips)
			if half := math.Sqrt(1-y*y) - v; half > 0 {
				overlap += 4 * half / float64(strips)
			}
		}
		near(t, "MTF against the pupil's overlap", lens.DiffractionMTF(v), overlap/math.Pi, 1e-6)
	}
}

// Fourier transform of a uniform disc summed in strips.
func TestDefocusMTF(t *testing.T) {
	for _, cycles := range []float64{0.1, 0.4, 0.8, 1.1} {
		sum, strips := 0.0, 100000
		for i := range strips {
			x := (float64(i)+0.5)/float64(strips) - 0.5
			sum += 2 * math.Sqrt(0.25-x*x) * math.Cos(2*math.Pi*x*cycles) / float64(strips)
		}
		near(t, "disc", lens.DefocusMTF(1e-5, cycles/1e-5), sum/(math.Pi/4), 1e-6)
	}
	near(t, "beyond the first zero", lens.DefocusMTF(1e-5, 1.3/1e-5), 0, 0)
}

// Common practice, no source: on a 17.3 × 13 mm sensor of about 4 um pitch f/5.6 to f/8 are
// sharpest, f/11 is acceptable, at f/16 diffraction visibly costs sharpness.
func TestSmallSensorPractice(t *testing.T) {
	pitch := 0.0173 / 4096
	for n, want := range map[float64]lens.Sharpness{5.6: lens.Sharp, 8: lens.Sharp, 11: lens.Acceptable, 16: lens.Soft} {
		if c, got := lens.DiffractionGrade(n, pitch); got != want {
			t.Errorf("f/%g is %s (%.2f), want %s", n, got, c, want)
		}
	}
	good, _ := lens.Stops(5.6, 16)
	for name, need := range map[string]lens.Need{
		"subject alone":             {FocalM: 0.012, PitchM: pitch, FocusM: 50},
		"few metres to horizon":     {FocalM: 0.012, PitchM: pitch, FocusM: 8, NearM: 4, FarM: math.Inf(1)},
		"focus on the far hillside": {FocalM: 0.025, PitchM: pitch, FocusM: 200, NearM: 60, FarM: math.Inf(1)},
	} {
		if c, err := lens.BestAperture(good, need); err != nil || c.Aperture < 5.6 || c.Aperture > 8 || c.Grade != lens.Sharp {
			t.Errorf("%s: %+v %v", name, c, err)
		}
	}
	// A near foreground on a longer lens asks for more than the sharpest stop.
	c, err := lens.BestAperture(good, lens.Need{FocalM: 0.045, PitchM: pitch, FocusM: 12, NearM: 8, FarM: 30})
	if err != nil || c.Aperture <= 8 {
		t.Errorf("near foreground: %+v %v", c, err)
	}
}

func TestBestApertureRefuses(t *testing.T) {
	good := []float64{5.6, 8}
	for _, need := range []lens.Need{{}, {FocalM: 0.025, PitchM: 4e-6, FocusM: math.NaN()}, {FocalM: 0.025, PitchM: 4e-6, FocusM: 5, NearM: 9, FarM: 3},
		{FocalM: 25, PitchM: 4e-6, FocusM: 50}} {
		if c, err := lens.BestAperture(good, need); err == nil {
			t.Errorf("%+v gave %+v", need, c)
		}
	}
	if _, err := lens.BestAperture(nil, lens.Need{FocalM: 0.025, PitchM: 4e-6, FocusM: 5}); err == nil {
		t.Error("no apertures passed")
	}
}

func TestApertureScale(t *testing.T) {
	// APEX (ASA PH2.5-1960, Exif annex C): f/1 is Av 0, f/1.4 Av 1, f/5.6 Av 5, f/11 Av 7.
	for n, av := range map[float64]float64{1: 0, 1.4: 1, 2: 2, 2.8: 3, 4: 4, 5.6: 5, 8: 6, 11: 7, 16: 8, 22: 9, 32: 10} {
		near(t, "Av", lens.ApertureValue(n), av, 1e-12)
	}
	near(t, "Av of a number that is no mark", lens.ApertureValue(6), math.Log2(36), 1e-12)
	for _, n := range lens.Scale { // engraved marks lie within a seventh of a stop of what they stand for
		near(t, "mark", 2*math.Log2(n), lens.ApertureValue(n), 1.0/7)
	}
	got, err := lens.Stops(5.6, 11)
	if err != nil || len(got) != 7 || got[0] != 5.6 || got[3] != 8 || got[6] != 11 {
		t.Error(got, err)
	}
	if _, err := lens.Stops(11, 5.6); err == nil {
		t.Error("a reversed range passed")
	}
}
