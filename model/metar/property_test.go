package metar_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fieldfare/model/air"
	"fieldfare/model/metar"
)

// What is written into a report comes back out of it, in any order of unknown words.
func TestReportProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		direction := 10 * rapid.IntRange(1, 36).Draw(t, "direction")
		mean := rapid.IntRange(1, 60).Draw(t, "mean")
		gust := rapid.IntRange(mean, 99).Draw(t, "gust")
		visibility := rapid.IntRange(1, 99).Draw(t, "visibility") * 100
		base := rapid.IntRange(0, 250).Draw(t, "base")
		temperature := rapid.IntRange(-40, 45).Draw(t, "temperature")
		qnh := rapid.IntRange(900, 1080).Draw(t, "pressure")
		celsius := fmt.Sprintf("%02d", temperature)
		if temperature < 0 {
			celsius = fmt.Sprintf("M%02d", -temperature)
		}
		words := []string{fmt.Sprintf("%03d%02dG%02dKT", direction, mean, gust), fmt.Sprintf("%04d", visibility), fmt.Sprintf("BKN%03d", base), celsius + "/" + celsius, fmt.Sprintf("Q%04d", qnh)}
		junk := rapid.SliceOfN(rapid.StringMatching(`[A-Z]{5,9}X`), 0, 3).Draw(t, "junk")
		for _, j := range junk {
			at := rapid.IntRange(0, len(words)).Draw(t, "at")
			words = append(words[:at], append([]string{j}, words[at:]...)...)
		}
		r, err := metar.ParseReport("METAR LZIB 211630Z " + strings.Join(words, " "))
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Unread) != len(junk) {
			t.Fatalf("unread %q of %q", r.Unread, junk)
		}
		w, _ := r.Observed(time.Date(2026, 6, 21, 17, 0, 0, 0, time.UTC), time.Hour)
		for what, pair := range map[string][2]float64{
			"direction":   {w.WindFrom.Value * 180 / math.Pi, float64(direction)},
			"mean":        {w.WindMS.Value / kt, float64(mean)},
			"gust":        {w.GustMS.Value / kt, float64(gust)},
			"visibility":  {w.VisibilityM.Value, float64(visibility)},
			"ceiling":     {w.CeilingM.Value / 30.48, float64(base)},
			"temperature": {w.TemperatureK.Value - zero, float64(temperature)},
			"pressure":    {w.QNHPa.Value / 100, float64(qnh)},
		} {
			if math.Abs(pair[0]-pair[1]) > 1e-3 {
				t.Fatalf("%s %g, want %g", what, pair[0], pair[1])
			}
		}
		if humid := w.Humidity(); !humid.Known || math.Abs(humid.Value-1) > 1e-12 {
			t.Fatalf("dew point equal to temperature is %v", humid)
		}
		if (w.Precipitation == air.AmountNone) != (len(junk) == 0) {
			t.Fatalf("precipitation %v beside %d words unread", w.Precipitation, len(junk))
		}
	})
}
