package air_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"fieldfare/model/air"
)

const table = `time,wind [kt],gust [kt],direction [deg],visibility [km],ceiling [ft],temperature [C],dew point [C],pressure [hPa],cloud [%],precipitation,thunderstorm
2026-06-21T06:00:00+02:00,6,12,210,10,4000,9,7,1021,25,none,no
2026-06-21T09:00:00+02:00,14,24,240,8,2500,14,8,1019,75,light,no
2026-06-21T12:00:00+02:00,,,,,,,,,,,yes
`

func at(hour int) time.Time {
	return time.Date(2026, 6, 21, hour, 0, 0, 0, time.FixedZone("", 7200))
}

func TestReadTable(t *testing.T) {
	f, err := air.ReadTable(strings.NewReader(table), "forecast.csv", 3*time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	w, ok := f.At(at(10))
	if !ok {
		t.Fatal("10:00 is not covered")
	}
	near(t, "wind", w.WindMS.Value, 14*0.514444, 1e-5)
	near(t, "gust", w.GustMS.Value, 12.34667, 1e-5)
	near(t, "direction", w.WindFrom.Value, 240*math.Pi/180, 1e-12)
	near(t, "ceiling", w.CeilingM.Value, 762, 1e-12)
	near(t, "cloud", w.CloudOktas.Value, 6, 1e-12)
	near(t, "pressure", w.QNHPa.Value, 101900, 1e-12)
	if w.Precipitation != air.AmountLight || w.Thunderstorm != air.Known(0) {
		t.Errorf("precipitation %v, thunderstorm %v", w.Precipitation, w.Thunderstorm)
	}
	w, ok = f.At(at(13))
	if !ok || w.WindMS.Known || w.VisibilityM.Known || w.Precipitation != air.AmountUnknown || w.Thunderstorm.Value != 1 {
		t.Errorf("empty cells at 13:00: %+v", w)
	}
	for _, hour := range []int{5, 15, 20} {
		if w, ok := f.At(at(hour)); ok || w.WindMS.Known || w.Source != air.Unknown {
			t.Errorf("%d:00 is outside the table: %+v", hour, w)
		}
	}
	gaps := f.Gaps(at(5), at(16))
	if len(gaps) != 2 || !gaps[0][1].Equal(at(6)) || !gaps[1][0].Equal(at(15)) || !gaps[1][1].Equal(at(16)) {
		t.Errorf("gaps %v", gaps)
	}
}

func TestReadTableRefuses(t *testing.T) {
	for name, text := range map[string]string{
		"empty":             "",
		"no rows":           "time,wind [kt]\n",
		"no time":           "wind [kt]\n3\n",
		"unknown column":    "time,mood\n2026-06-21T06:00:00Z,good\n",
		"no unit":           "time,wind\n2026-06-21T06:00:00Z,6\n",
		"wrong unit":        "time,wind [C]\n2026-06-21T06:00:00Z,6\n",
		"backwards":         "time,wind [kt]\n2026-06-21T06:00:00Z,6\n2026-06-21T05:00:00Z,6\n",
		"no zone":           "time,wind [kt]\n2026-06-21T06:00,6\n",
		"negative":          "time,wind [kt]\n2026-06-21T06:00:00Z,-6\n",
		"gust below mean":   "time,wind [kt],gust [kt]\n2026-06-21T06:00:00Z,12,6\n",
		"not a number":      "time,wind [kt]\n2026-06-21T06:00:00Z,NaN\n",
		"two winds":         "time,wind [kt],wind [m/s]\n2026-06-21T06:00:00Z,6,3\n",
		"cloud not in unit": "time,cloud\n2026-06-21T06:00:00Z,4\n",
		"ragged":            "time,wind [kt]\n2026-06-21T06:00:00Z\n",
	} {
		if _, err := air.ReadTable(strings.NewReader(text), "f.csv", time.Hour); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	if _, err := air.ReadTable(strings.NewReader("time,wind,cloud\n2026-06-21T06:00:00Z,6 kt,4/8\n"), "f.csv", time.Hour); err != nil {
		t.Errorf("units in cells: %v", err)
	}
}

func TestWorstAt(t *testing.T) {
	f := air.Forecast{Periods: []air.Weather{
		{From: at(6), Until: at(12), WindMS: air.Known(5), VisibilityM: air.Known(9000), WindFrom: air.Known(1), TemperatureK: air.Known(283), Precipitation: air.AmountNone},
		{From: at(8), Until: at(9), Change: "TEMPO", WindMS: air.Known(9), GustMS: air.Known(14), VisibilityM: air.Known(1000), CeilingM: air.Known(150), Precipitation: air.AmountHeavy, Thunderstorm: air.Known(1)},
	}}
	w, _ := f.WorstAt(at(8))
	if w.WindMS.Value != 9 || w.GustMS.Value != 14 || w.VisibilityM.Value != 1000 || w.Precipitation != air.AmountHeavy || w.Thunderstorm.Value != 1 || w.WindFrom.Known {
		t.Errorf("worst at 08:00: %+v", w)
	}
	if w.CeilingM.Known {
		t.Error("a ceiling that prevailing weather does not know became known")
	}
	f.Periods[1].Unread = []string{"??"}
	f.Periods[1].Thunderstorm, f.Periods[1].Precipitation = air.Reading{}, air.AmountUnknown
	f.Periods[0].Thunderstorm = air.Known(0)
	if w, _ := f.WorstAt(at(8)); w.Thunderstorm.Known || w.Precipitation != air.AmountUnknown {
		t.Errorf("a group went unread, yet %+v", w)
	}
	if w, _ = f.WorstAt(at(10)); w.WindMS.Value != 5 || w.GustMS.Known {
		t.Errorf("worst at 10:00: %+v", w)
	}
}

func TestWeatherDay(t *testing.T) {
	w := air.Weather{Source: "test", TemperatureK: air.Known(298.15), QNHPa: air.Known(101325)}
	day, assumed, err := w.Day(2000)
	if err != nil || !assumed || day.Ground.Humidity != 1 {
		t.Errorf("%+v, %v, %v", day, assumed, err)
	}
	w.DewPointK = air.Known(287.0)
	if drier, assumed, _ := w.Day(2000); assumed || drier.Ground.Density() <= day.Ground.Density() {
		t.Errorf("%+v, %v", drier, assumed)
	}
	w.QNHPa = air.Reading{}
	if _, _, err := w.Day(2000); err == nil {
		t.Error("density came from an unknown pressure")
	}
}

func TestOr(t *testing.T) {
	taf := air.Weather{Source: "TAF", WindMS: air.Known(4), VisibilityM: air.Known(10000), Precipitation: air.AmountNone}
	row := air.Weather{Source: "table", WindMS: air.Known(7), GustMS: air.Known(12), TemperatureK: air.Known(280), Precipitation: air.AmountLight}
	w := taf.Or(row)
	if w.WindMS.Value != 4 || w.GustMS.Known || w.TemperatureK.Value != 280 || w.Precipitation != air.AmountNone || w.Source != "TAF, else table" {
		t.Errorf("%+v", w)
	}
	if w := taf.Or(air.Weather{Source: "nothing"}); w.Source != "TAF" {
		t.Errorf("%+v", w)
	}
}

func FuzzReadTable(f *testing.F) {
	f.Add(table)
	f.Add("time,wind\n2026-06-21T06:00:00Z,6 kt\n")
	f.Add("time,cloud [%]\n2026-06-21T06:00:00Z,150\n")
	f.Fuzz(func(t *testing.T, text string) {
		forecast, err := air.ReadTable(strings.NewReader(text), "f.csv", time.Hour)
		if err != nil {
			return
		}
		for _, p := range forecast.Periods {
			for _, r := range []air.Reading{p.WindMS, p.GustMS, p.WindFrom, p.VisibilityM, p.CeilingM, p.TemperatureK, p.DewPointK, p.QNHPa, p.CloudOktas} {
				if math.IsNaN(r.Value) || math.IsInf(r.Value, 0) || !r.Known && r.Value != 0 {
					t.Fatalf("reading %+v from %q", r, text)
				}
			}
			if !p.Until.After(p.From) {
				t.Fatalf("period %v to %v", p.From, p.Until)
			}
		}
	})
}

func TestLaterPeriodPrevails(t *testing.T) {
	f := air.Forecast{Periods: []air.Weather{
		{From: at(6), Until: at(18), WindMS: air.Known(3), Source: "forecast"},
		{From: at(9), Until: at(10), WindMS: air.Known(8), Source: "report"},
	}}
	for hour, want := range map[int]float64{8: 3, 9: 8, 10: 3} {
		if w, _ := f.At(at(hour)); w.WindMS.Value != want {
			t.Errorf("%d:00: %g m/s from %s, want %g", hour, w.WindMS.Value, w.Source, want)
		}
	}
}
