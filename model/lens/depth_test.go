package lens_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/model/lens"
)

const (
	foot = 0.3048
	inch = 0.0254
)

func TestHyperfocalPublished(t *testing.T) {
	// The Barnet Book of Photography (public domain): 6 in lens, f/8, 1/100 in: 450 in by
	// the simple form f²/(N·c); the exact form adds one focal length.
	h, err := lens.Hyperfocal(6*inch, 8, 0.01*inch*0.999999)
	if err == nil {
		near(t, "6 in at f/8", h/inch, 456, 0.001)
	} else {
		t.Error(err)
	}
}

func TestDepthOfFieldPublished(t *testing.T) {
	// Published article on depth of field (light-and-optics notes, 4.3): 50 mm, f/4, circle
	// 0.03 mm, 10 ft: 8 ft 9 in to 11 ft 8 in, printed to the inch.
	d, err := lens.DepthOfField(0.050, 4, 30e-6, 10*foot)
	if err != nil || d.Infinite {
		t.Fatal(d, err)
	}
	near(t, "near", d.NearM/foot, 8+9.0/12, 1.0/12)
	near(t, "far", d.FarM/foot, 11+8.0/12, 1.0/12)
}

// Greenleaf's thin-lens form evaluated by hand in double precision (not published numbers).
func TestDepthOfFieldWorked(t *testing.T) {
	for _, c := range []struct{ f, n, coc, s, h, near, far float64 }{
		{50, 8, 0.03, 5000, 10466.67, 3389.37, 9527.44},
		{50, 8, 0.03, 3000, 10466.67, 2337.91, 4185.27},
		{35, 4, 0.03, 5000, 10243.33, 3363.91, 9734.58},
		{24, 8, 0.03, 3000, 2424.00, 1339.29, 0},
		{8.8, 5.6, 0.011, 3000, 1265.94, 887.74, 0},
	} {
		h, _ := lens.Hyperfocal(c.f/1000, c.n, c.coc/1000)
		d, err := lens.DepthOfField(c.f/1000, c.n, c.coc/1000, c.s/1000)
		if err != nil || d.Infinite != (c.far == 0) {
			t.Fatal(c, d, err)
		}
		near(t, "hyperfocal mm", h*1000, c.h, 0.005)
		near(t, "near mm", d.NearM*1000, c.near, 0.005)
		near(t, "far mm", d.FarM*1000, c.far, 0.005)
	}
}

// At the limits of depth of field the blur disc is the circle of confusion: the two
// formulas come by different roads.
func TestBlurAtTheLimitsIsTheCircle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(0.008, 0.2).Draw(t, "f")
		n := rapid.Float64Range(1.4, 22).Draw(t, "N")
		c := rapid.Float64Range(3e-6, 50e-6).Draw(t, "c")
		s := rapid.Float64Range(1, 500).Draw(t, "s")
		d, err := lens.DepthOfField(f, n, c, s)
		if err != nil {
			t.Fatal(err)
		}
		if blur := lens.DefocusBlur(f, n, s, d.NearM); math.Abs(blur/c-1) > 1e-9 {
			t.Fatalf("blur at the near limit %g, circle %g", blur, c)
		}
		if d.Infinite {
			if blur := lens.DefocusBlur(f, n, s, math.Inf(1)); blur > c*(1+1e-9) {
				t.Fatalf("infinity is called sharp with a blur of %g over %g", blur, c)
			}
		} else if blur := lens.DefocusBlur(f, n, s, d.FarM); math.Abs(blur/c-1) > 1e-6 {
			t.Fatalf("blur at the far limit %g, circle %g", blur, c)
		}
		if !(d.NearM < s && (d.Infinite || d.FarM > s)) {
			t.Fatalf("%+v does not hold the focus distance %g", d, s)
		}
		narrower, _ := lens.DepthOfField(f, n*1.1, c, s)
		if narrower.NearM > d.NearM || d.Infinite && !narrower.Infinite || !narrower.Infinite && narrower.FarM < d.FarM {
			t.Fatal("stopping down took depth away")
		}
	})
}

func TestHyperfocalIdentity(t *testing.T) {
	h, _ := lens.Hyperfocal(0.025, 5.6, 15e-6)
	d, err := lens.DepthOfField(0.025, 5.6, 15e-6, h)
	if err != nil || !d.Infinite {
		t.Fatal(d, err)
	}
	near(t, "near at the hyperfocal distance", d.NearM, h/2, 1e-9)
	d, _ = lens.DepthOfField(0.025, 5.6, 15e-6, math.Inf(1))
	near(t, "near at infinity", d.NearM, h-0.025, 1e-9)
}

func TestFocusForHoldsItsRange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(0.008, 0.1).Draw(t, "f")
		c := rapid.Float64Range(5e-6, 30e-6).Draw(t, "c")
		from := rapid.Float64Range(2, 300).Draw(t, "near")
		to := from * rapid.Float64Range(1, 20).Draw(t, "ratio")
		if rapid.Bool().Draw(t, "to infinity") {
			to = math.Inf(1)
		}
		focus, err := lens.FocusFor(f, 22, c, from, to)
		if err != nil {
			t.Skip(err)
		}
		for _, set := range []float64{focus.SetM, focus.FromM * (1 + 1e-9), focus.ToM * (1 - 1e-9)} {
			if set == 0 {
				continue
			}
			d, err := lens.DepthOfField(f, 22, c, set)
			if err != nil || !(d.NearM <= from*(1+1e-7) && (d.Infinite || d.FarM >= to*(1-1e-7))) {
				t.Fatalf("set to %g m: %+v does not hold %g to %g (%v)", set, d, from, to, err)
			}
		}
		if focus.Aperture >= 0.5 {
			d, _ := lens.DepthOfField(f, focus.Aperture, c, focus.SetM)
			if math.Abs(d.NearM/from-1) > 1e-6 {
				t.Fatalf("the widest aperture f/%g leaves %+v for %g", focus.Aperture, d, from)
			}
			if _, err := lens.FocusFor(f, focus.Aperture*0.98, c, from, to); err == nil && focus.Aperture > 0.52 && to > from*1.0001 {
				t.Fatal("a wider aperture still holds the range")
			}
		}
	})
}

// Common practice, no source: for wide shots from the air everything from a few metres to
// the horizon is sharp at f/5.6 to f/8.
func TestWideShotIsSharpFromAFewMetres(t *testing.T) {
	coc, err := lens.CircleFromDelivery(0.0173, 1920*2)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []float64{5.6, 8} {
		focus, err := lens.FocusFor(0.012, n, coc, 4, math.Inf(1))
		if err != nil {
			t.Errorf("f/%g: %v", n, err)
		}
		if d, _ := lens.DepthOfField(0.012, n, coc, focus.SetM); !d.Holds(4, math.Inf(1)) {
			t.Errorf("f/%g: %+v", n, d)
		}
	}
}

func TestCircles(t *testing.T) {
	w, h, err := lens.Recorded(0.0173, 0.0130, 4096, 2160, 1)
	near(t, "recorded width", w, 0.0173, 1e-12)
	near(t, "recorded height", h, 0.0173*2160/4096, 1e-12)
	w, h, _ = lens.Recorded(0.0173, 0.0130, 2000, 2000, 1.25)
	near(t, "square width", w, 0.0130/1.25, 1e-12)
	near(t, "square height", h, w, 1e-12)
	if _, _, bad := lens.Recorded(0.0173, 0.0130, 4096, 2160, 0.5); err != nil || bad == nil {
		t.Error("a crop below 1 passed", err)
	}
	// A 6 m screen seen from 9 m, by hand: 9 m × tan 1' = 2.618 mm of 6 m = 1/2292 of the width.
	c, _ := lens.CircleFromScreen(0.0229, 6, 9)
	near(t, "screen circle um", c*1e6, 9.992, 0.001)
	c, _ = lens.CircleFromPitch(4.2e-6, 2)
	near(t, "two pixels um", c*1e6, 8.4, 1e-9)
}

func TestBreathing(t *testing.T) {
	if _, known := (lens.Breathing{}).At(10); known {
		t.Error("breathing is known without a measurement")
	}
	r, known := lens.Breathing{FocusM: 2, Ratio: 0.96}.At(4)
	near(t, "half the effect at twice the distance", r, 0.98, 1e-12)
	if !known {
		t.Error("a measurement was not used")
	}
}

func TestDepthRefuses(t *testing.T) {
	nan := math.NaN()
	for _, c := range [][4]float64{{nan, 8, 1e-5, 5}, {0.05, nan, 1e-5, 5}, {0.05, 8, nan, 5}, {0.05, 8, 1e-5, nan},
		{0.05, 8, 1e-5, 0.04}, {50, 8, 1e-5, 5}, {0.05, 0, 1e-5, 5}, {0.05, 8, 0, 5}, {0.05, 8, 15, 5}} {
		if d, err := lens.DepthOfField(c[0], c[1], c[2], c[3]); err == nil {
			t.Errorf("%v gave %+v", c, d)
		}
	}
	if _, err := lens.FocusFor(0.05, 8, 1e-5, 30, 20); err == nil {
		t.Error("far before near passed")
	}
}
