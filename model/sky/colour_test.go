package sky_test

import (
	"testing"
	"time"

	"fieldfare/model/geo"
	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

// daylightLocus is the CIE daylight locus (CIE 15; Judd, MacAdam and Wyszecki 1964), 4000 to
// 25,000 K.
func daylightLocus(k float64) (x, y float64) {
	if k <= 7000 {
		x = -4.6070e9/(k*k*k) + 2.9678e6/(k*k) + 0.09911e3/k + 0.244063
	} else {
		x = -2.0064e9/(k*k*k) + 1.9018e6/(k*k) + 0.24748e3/k + 0.237040
	}
	return x, -3.000*x*x + 2.870*x - 0.275
}

func TestCorrelatedTemperature(t *testing.T) {
	for _, row := range []struct {
		source     string
		x, y, want float64
	}{
		{"CIE 15, illuminant D50", 0.34567, 0.35851, 5003},
		{"CIE 15, illuminant D65", 0.31272, 0.32903, 6504},
		{"CIE 15, illuminant A", 0.44757, 0.40745, 2856},
	} {
		got, err := sky.CorrelatedTemperature(row.x, row.y)
		if err != nil {
			t.Fatal(err)
		}
		check(t, row.source, "correlated colour temperature", float64(got), row.want, 0.002*row.want)
	}
	for k := 4000.0; k <= 25000; k *= 1.1 {
		x, y := daylightLocus(k)
		got, err := sky.CorrelatedTemperature(x, y)
		if err != nil {
			t.Fatal(err)
		}
		// In mired, the even scale of colour temperature: 1 mired is about 40 K at 6500 K.
		check(t, "CIE daylight locus", "mired", 1e6/float64(got), 1e6/k, 1)
	}
	// McCamy, Color Res. Appl. 17, 142 (1992), within 2 K from 2856 to 6504 K.
	for k := 4000.0; k <= 6504; k += 200 {
		x, y := daylightLocus(k)
		n := (x - 0.3320) / (0.1858 - y)
		got, _ := sky.CorrelatedTemperature(x, y)
		check(t, "McCamy 1992", "correlated colour temperature", float64(got), 449*n*n*n+3525*n*n+6823.3*n+5520.33, 12)
	}
	for _, bad := range [][2]float64{{0.7, 0.29}, {0, 0.3}, {0.8, 0.4}, {0.2, 0.7}} {
		if k, err := sky.CorrelatedTemperature(bad[0], bad[1]); err == nil {
			t.Errorf("%v has no colour temperature, got %v", bad, k)
		}
	}
}

// Published ranges, none of them a table by altitude: direct sun 5000 to 5500 K and clear blue sky
// 12,000 to 15,000 K (American Cinematographer), average noon sunlight about 5000 K (Troland
// 1922); by altitude 10° 3500 K, 20° 4000 K, 30° 4500 K (common practice, no source).
func TestColourInPublishedRanges(t *testing.T) {
	at := instant(t, time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC))
	colour := func(h float64, c sky.Class) sky.Colour {
		d := at.Daylight(sunAt(h), c)
		return d.Colour(d.On(geo.Vec3{Z: 1}, false, 0))
	}
	high := colour(60, sky.Clear)
	check(t, "Troland 1922", "high sun", float64(high.Sun.Mid), 5000, 250)
	if high.Sky.High < 12000 || high.Sky.Mid < 7000 {
		t.Errorf("American Cinematographer: clear sky %v, published 12000 to 15000 K within the spread", high.Sky)
	}
	for h, want := range map[float64]float64{10: 3500, 20: 4000, 30: 4500} {
		check(t, "common practice", "sun", float64(colour(h, sky.Clear).Sun.Mid), want, 200)
	}
	last := unit.ColorTemperature(0)
	for h := 1.0; h <= 90; h++ {
		c := colour(h, sky.Clear)
		if c.Sun.Mid < last {
			t.Errorf("the sun must whiten as it rises: %v at %g deg after %v", c.Sun.Mid, h, last)
		}
		last = c.Sun.Mid
		for _, tint := range []sky.Tint{c.Sun, c.Sky, c.Mix} {
			if !tint.Known || tint.Low > tint.Mid || tint.Mid > tint.High {
				t.Errorf("at %g deg the spread %+v does not hold its middle", h, tint)
			}
		}
		if c.Mix.Mid < min(c.Sun.Mid, c.Sky.Mid) || c.Mix.Mid > max(c.Sun.Mid, c.Sky.Mid) {
			t.Errorf("at %g deg the mix %v lies outside sun %v and sky %v", h, c.Mix.Mid, c.Sun.Mid, c.Sky.Mid)
		}
	}
	shade := at.Daylight(sunAt(40), sky.Clear)
	blue := shade.Colour(shade.On(geo.Vec3{Z: 1}, true, 0))
	if blue.Mix != blue.Sky {
		t.Errorf("in shade the mix %v must be the sky %v", blue.Mix, blue.Sky)
	}
	if overcast := colour(40, sky.Overcast); overcast.Sun.Known || overcast.Balance != 6500 {
		t.Errorf("overcast: %+v, want no sun and 6500 K", overcast)
	}
	if dusk := colour(-4, sky.Clear); dusk.Unknown == "" || dusk.Mix.Known || dusk.Balance != 0 {
		t.Errorf("with the sun down the colour must be unknown, got %+v", dusk)
	}
}
