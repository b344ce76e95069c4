package metar_test

import (
	"math"
	"testing"
	"time"

	"fieldfare/model/air"
	"fieldfare/model/metar"
)

func near(t *testing.T, what string, got air.Reading, want, tolerance float64) {
	t.Helper()
	if !got.Known || !(math.Abs(got.Value-want) <= tolerance) {
		t.Errorf("%s = %+v, want %g (within %g)", what, got, want, tolerance)
	}
}

func report(t *testing.T, text string) metar.Report {
	t.Helper()
	r, err := metar.ParseReport(text)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Unread) > 0 {
		t.Errorf("%s: unread %q", text, r.Unread)
	}
	return r
}

func codes(c metar.Conditions) (s string) {
	for _, p := range c.Weather {
		s += p.Code + " "
	}
	return s
}

const (
	deg  = math.Pi / 180
	kt   = 0.514444
	zero = 273.15
)

// The ten strings below are decoded by hand. 1 to 3 are the examples of ICAO Annex 3
// (A3-1, A3-2, A5-1); 4 is from the decoding key of the United States (FMH-1 form); the rest are
// published examples of each form.

func TestAnnex3Report(t *testing.T) {
	r := report(t, "METAR YUDO 221630Z 24004MPS 0600 R12/1000U DZ FG SCT010 OVC020 17/16 Q1018 BECMG TL1700 0800 FG BECMG AT1800 9999 NSW")
	if r.Station != "YUDO" || r.Time != (metar.Clock{Day: 22, Hour: 16, Minute: 30}) || codes(r.Conditions) != "DZ FG " {
		t.Errorf("%+v", r)
	}
	near(t, "direction", r.Wind.From, 240*deg, 1e-12)
	near(t, "wind", r.Wind.MeanMS, 4, 1e-12)
	near(t, "visibility", r.Visibility.M, 600, 0)
	if v := r.Runways[0]; v.Name != "12" || v.LeastM.Value != 1000 || v.Trend != "rising" {
		t.Errorf("%+v", v)
	}
	if r.Cloud[0].Cover != "SCT" || r.Cloud[1].Cover != "OVC" || r.Weather[0].Intensity != air.AmountModerate {
		t.Errorf("%+v", r.Conditions)
	}
	// The code counts hundreds of feet; Annex 3 speaks of 300 m and 600 m.
	near(t, "scattered", r.Cloud[0].BaseM, 304.8, 1e-9)
	near(t, "overcast", r.Cloud[1].BaseM, 609.6, 1e-9)
	near(t, "temperature", r.TemperatureK, 17+zero, 1e-9)
	near(t, "dew point", r.DewPointK, 16+zero, 1e-9)
	near(t, "pressure", r.QNHPa, 101800, 1e-9)
	if len(r.Trends) != 2 || *r.Trends[0].Until != (metar.Clock{Hour: 17}) || codes(r.Trends[0].Conditions) != "FG " || *r.Trends[1].At != (metar.Clock{Hour: 18}) || !r.Trends[1].NoWeather || !r.Trends[1].Visibility.Above {
		t.Errorf("trends %+v", r.Trends)
	}
	near(t, "by 1700", r.Trends[0].Visibility.M, 800, 0)
}

func TestAnnex3Special(t *testing.T) {
	r := report(t, "SPECI YUDO 151115Z 05025G37KT 3000 1200NE +TSRA BKN005CB 25/22 Q1008 TEMPO TL1200 0600 BECMG AT1200 8000 NSW NSC")
	near(t, "direction", r.Wind.From, 50*deg, 1e-12)
	near(t, "wind", r.Wind.MeanMS, 25*kt, 1e-4)
	near(t, "gust", r.Wind.GustMS, 37*kt, 1e-4)
	near(t, "minimum", r.Visibility.LeastM, 1200, 0)
	if r.Kind != "SPECI" || r.Visibility.LeastToward != "NE" || r.Weather[0].Intensity != air.AmountHeavy || r.Weather[0].Descriptor != "TS" || r.Cloud[0].Type != "CB" {
		t.Errorf("%+v", r)
	}
	near(t, "cumulonimbus", r.Cloud[0].BaseM, 152.4, 1e-9)
	if r.Trends[0].Kind != "TEMPO" || r.Trends[1].Kind != "BECMG" || r.Trends[1].Sky != "NSC" {
		t.Errorf("%+v", r.Trends)
	}
	w, err := r.Observed(time.Date(2026, 6, 15, 12, 0, 0, 0, time.UTC), time.Hour)
	if err != nil || !w.From.Equal(time.Date(2026, 6, 15, 11, 15, 0, 0, time.UTC)) {
		t.Errorf("%v, %v", w.From, err)
	}
	if w.Precipitation != air.AmountHeavy || w.Thunderstorm != air.Known(1) || w.VisibilityM != air.Known(1200) || w.CloudOktas != air.Known(7) {
		t.Errorf("%+v", w)
	}
	near(t, "ceiling", w.CeilingM, 152.4, 1e-9)
}

func TestAnnex3Forecast(t *testing.T) {
	f, err := metar.ParseForecast("TAF YUDO 151800Z 1600/1618 13005MPS 9000 BKN020 BECMG 1606/1608 SCT015CB BKN020 TEMPO 1608/1612 17006G12MPS 1000 TSRA SCT010CB BKN020 FM161230 15004MPS 9999 BKN020")
	if err != nil || len(f.Unread) > 0 || len(f.Changes) != 3 {
		t.Fatalf("%+v, %v", f, err)
	}
	if *f.Issued != (metar.Clock{Day: 15, Hour: 18}) || f.From != (metar.Clock{Day: 16}) || f.Until != (metar.Clock{Day: 16, Hour: 18}) {
		t.Errorf("%+v", f)
	}
	w, err := f.Expected(time.Date(2026, 6, 15, 20, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	at := func(hour, minute int) time.Time { return time.Date(2026, 6, 16, hour, minute, 0, 0, time.UTC) }
	p, _ := w.At(at(3, 0))
	near(t, "wind", p.WindMS, 5, 1e-12)
	near(t, "visibility", p.VisibilityM, 9000, 0)
	near(t, "ceiling", p.CeilingM, 609.6, 1e-9)
	if p.Precipitation != air.AmountNone || p.TemperatureK.Known {
		t.Errorf("%+v", p)
	}
	p, _ = w.WorstAt(at(9, 0))
	near(t, "temporary wind", p.WindMS, 6, 1e-12)
	near(t, "temporary gust", p.GustMS, 12, 1e-12)
	near(t, "temporary visibility", p.VisibilityM, 1000, 0)
	if p.Thunderstorm != air.Known(1) || p.WindFrom.Known {
		t.Errorf("%+v", p)
	}
	if p, _ = w.At(at(9, 0)); p.Thunderstorm != air.Known(0) || p.WindMS.Value != 5 {
		t.Errorf("prevailing at 0900: %+v", p)
	}
	p, _ = w.At(at(12, 30))
	near(t, "from 1230", p.WindFrom, 150*deg, 1e-12)
	near(t, "from 1230", p.WindMS, 4, 1e-12)
	near(t, "from 1230", p.VisibilityM, 10000, 0)
	for _, outside := range []time.Time{at(0, 0).Add(-time.Minute), at(18, 0)} {
		if p, ok := w.WorstAt(outside); ok || p.WindMS.Known || p.VisibilityM.Known {
			t.Errorf("%v is not forecast, yet %+v", outside, p)
		}
	}
	if gaps := w.Gaps(at(0, 0), at(20, 0)); len(gaps) != 1 || !gaps[0][0].Equal(at(18, 0)) {
		t.Errorf("gaps %v", gaps)
	}
}

func TestUnitedStatesReport(t *testing.T) {
	r := report(t, "METAR KABC 121755Z AUTO 21016G24KT 180V240 1SM R11/P6000FT -RA BR BKN015 OVC025 06/04 A2990 RMK AO2 PK WND 20032/25 WSHFT 1715 VIS 3/4V1 1/2 VIS 3/4 RWY11 RAB07 CIG 013V017 CIG 017 RWY11 PRESFR SLP125 P0003 60009 T00640036 10066 21012 58033 TSNO $")
	near(t, "gust", r.Wind.GustMS, 12.347, 1e-3)
	near(t, "from", r.Wind.VaryFrom, 180*deg, 1e-12)
	near(t, "to", r.Wind.VaryTo, 240*deg, 1e-12)
	near(t, "visibility", r.Visibility.M, 1609.344, 1e-9)
	near(t, "runway", r.Runways[0].LeastM, 1828.8, 1e-9)
	near(t, "pressure", r.QNHPa, 101253, 1)
	near(t, "sea level", r.Remarks.SeaLevelPa, 101250, 1e-9)
	near(t, "temperature", r.Remarks.TemperatureK, 6.4+zero, 1e-9)
	near(t, "dew point", r.Remarks.DewPointK, 3.6+zero, 1e-9)
	near(t, "peak wind", r.Remarks.PeakWind.MeanMS, 32*kt, 1e-4)
	if !r.Automatic || !r.Runways[0].Above || codes(r.Conditions) != "-RA BR " || *r.Remarks.PeakAt != (metar.Clock{Day: 12, Hour: 17, Minute: 25}) || !r.Remarks.NeedsMaintenance {
		t.Errorf("%+v", r)
	}
	w, _ := r.Observed(time.Date(2026, 6, 12, 18, 0, 0, 0, time.UTC), time.Hour)
	if w.Thunderstorm.Known || w.Precipitation != air.AmountLight {
		t.Errorf("the lightning sensor is out (TSNO), yet %+v", w)
	}
	near(t, "precise temperature", w.TemperatureK, 6.4+zero, 1e-9)
	near(t, "ceiling", w.CeilingM, 457.2, 1e-9)
}

func TestFurtherForms(t *testing.T) {
	r := report(t, "KMEM 230853Z AUTO 18014G18KT 10SM CLR 16/M02 A3008 RMK AO2 SLP117 T01561022 TSNO $")
	near(t, "visibility", r.Visibility.M, 16093.44, 1e-9)
	near(t, "dew point", r.DewPointK, -2+zero, 1e-9)
	near(t, "precise", r.Remarks.DewPointK, -2.2+zero, 1e-9)
	near(t, "pressure", r.QNHPa, 30.08*3386.389, 1e-6)
	if r.Sky != "CLR" {
		t.Errorf("%+v", r)
	}

	r = report(t, "KEWR 160128Z 18008KT 2 1/2SM R04R/4500VP6000FT RA BR SCT008 BKN022 OVC038 22/21 A3001")
	near(t, "visibility", r.Visibility.M, 2.5*1609.344, 1e-9)
	near(t, "runway", r.Runways[0].LeastM, 1371.6, 1e-9)
	near(t, "runway", r.Runways[0].MostM, 1828.8, 1e-9)
	if !r.Runways[0].Above {
		t.Errorf("%+v", r.Runways)
	}

	r = report(t, "KABQ 100156Z 32010KT 280V340 10SM TS FEW033 BKN075CB OVC100 19/14 A2999")
	if r.Weather[0].Descriptor != "TS" || len(r.Weather[0].Kinds) != 0 || r.Cloud[1].Type != "CB" {
		t.Errorf("%+v", r.Conditions)
	}
	w, _ := r.Observed(time.Date(2026, 6, 10, 2, 0, 0, 0, time.UTC), time.Hour)
	if w.Thunderstorm != air.Known(1) || w.Precipitation != air.AmountNone {
		t.Errorf("%+v", w)
	}

	r = report(t, "SVVA 171100Z 00000KT 9999 FEW016 BKN250 21/19 Q1013 NOSIG")
	if !r.Wind.Calm || r.Wind.MeanMS != air.Known(0) || !r.Visibility.Above || !r.NoChange {
		t.Errorf("%+v", r)
	}

	r = report(t, "METAR LZIB 211630Z 08005KT 060V120 CAVOK 26/15 Q1022 NOSIG")
	w, _ = r.Observed(time.Date(2026, 6, 21, 17, 0, 0, 0, time.UTC), time.Hour)
	if !r.CAVOK || w.VisibilityM != air.Known(10000) || w.Precipitation != air.AmountNone {
		t.Errorf("%+v", w)
	}
	near(t, "no cloud below 5,000 ft", w.CeilingM, 1524, 1e-9)

	r = report(t, "METAR EDDF 280650Z VRB05KT 1200 0900NW FG FEW025 SCT100 OVC060 M02/M07 Q0972 NOSIG")
	near(t, "temperature", r.TemperatureK, -2+zero, 1e-9)
	near(t, "pressure", r.QNHPa, 97200, 1e-9)
	if !r.Wind.Variable || r.Wind.From.Known {
		t.Errorf("%+v", r.Wind)
	}
	w, _ = r.Observed(time.Date(2026, 6, 28, 7, 0, 0, 0, time.UTC), time.Hour)
	near(t, "lowest ceiling, whatever the order", w.CeilingM, 1828.8, 1e-9)
}

// A group that is not understood is kept, and silence then says nothing.
func TestUnknownGroups(t *testing.T) {
	r, err := metar.ParseReport("METAR LZIB 211630Z 08005KT 9999 QQ77 +XXRA FEW030 BLUISH 26/15 Q1022=")
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Unread) != 3 || r.Unread[0] != "QQ77" || r.Unread[1] != "+XXRA" || r.Unread[2] != "BLUISH" {
		t.Errorf("unread %q", r.Unread)
	}
	w, _ := r.Observed(time.Date(2026, 6, 21, 17, 0, 0, 0, time.UTC), time.Hour)
	if w.Precipitation != air.AmountUnknown || w.Thunderstorm.Known || w.CeilingM.Known || len(w.Unread) != 3 || w.Raw == "" {
		t.Errorf("%+v", w)
	}
	if !w.WindMS.Known || !w.VisibilityM.Known {
		t.Errorf("%+v", w)
	}
	for _, missing := range []string{"METAR LZIB 211630Z NIL", "METAR LZIB NIL="} {
		r, err := metar.ParseReport(missing)
		if err != nil || !r.Missing {
			t.Errorf("%s: %+v, %v", missing, r, err)
		}
	}
	r = report(t, "METAR LZIB 211630Z AUTO /////KT //// // ////// ///// Q////")
	w, _ = r.Observed(time.Date(2026, 6, 21, 17, 0, 0, 0, time.UTC), time.Hour)
	if w.WindMS.Known || w.VisibilityM.Known || w.Precipitation != air.AmountUnknown || w.CeilingM.Known || w.CloudOktas.Known || w.TemperatureK.Known || w.QNHPa.Known {
		t.Errorf("all slashes: %+v", w)
	}
}

func TestImpossibleIsUnread(t *testing.T) {
	for _, group := range []string{"40005KT", "24010G05KT", "00005KT", "Q0500", "A1234", "99/99", "FEW0300", "5/4SM", "R99X/1000"} {
		r, err := metar.ParseReport("METAR LZIB 211630Z " + group)
		if err != nil || len(r.Unread) != 1 || r.Unread[0] != group {
			t.Errorf("%s: unread %q, %v", group, r.Unread, err)
		}
	}
	for _, text := range []string{"", "METAR", "hello world", "METAR LZIB", "METAR LZIB 401630Z", "METAR LZIB 212530Z 08005KT"} {
		if _, err := metar.ParseReport(text); err == nil {
			t.Errorf("%q was accepted", text)
		}
	}
	for _, text := range []string{"", "TAF", "TAF LZIB", "TAF LZIB 211100Z", "TAF LZIB 211100Z 2199/2218 08005KT", "TAF LZIB 211100Z 08005KT 9999"} {
		if _, err := metar.ParseForecast(text); err == nil {
			t.Errorf("%q was accepted", text)
		}
	}
}

func TestNearestMonth(t *testing.T) {
	ref := time.Date(2026, 3, 1, 2, 0, 0, 0, time.UTC)
	for day, want := range map[int]time.Time{
		28: time.Date(2026, 2, 28, 23, 0, 0, 0, time.UTC),
		1:  time.Date(2026, 3, 1, 23, 0, 0, 0, time.UTC),
		31: time.Date(2026, 1, 31, 23, 0, 0, 0, time.UTC), // February has none; January's is 28.1 days ago, March's 30.9 ahead
	} {
		got, err := metar.Clock{Day: day, Hour: 23}.Near(ref)
		if err != nil || !got.Equal(want) {
			t.Errorf("day %d is %v, want %v (%v)", day, got, want, err)
		}
	}
	// A forecast over the turn of a month, ending at hour 24.
	f, err := metar.ParseForecast("TAF LZIB 301100Z 3012/0124 08005KT CAVOK")
	if err != nil {
		t.Fatal(err)
	}
	w, _ := f.Expected(time.Date(2026, 6, 30, 11, 0, 0, 0, time.UTC))
	if p := w.Periods[0]; !p.From.Equal(time.Date(2026, 6, 30, 12, 0, 0, 0, time.UTC)) || !p.Until.Equal(time.Date(2026, 7, 2, 0, 0, 0, 0, time.UTC)) {
		t.Errorf("%v to %v", p.From, p.Until)
	}
}

func FuzzParseReport(f *testing.F) {
	f.Add("METAR YUDO 221630Z 24004MPS 0600 R12/1000U DZ FG SCT010 OVC020 17/16 Q1018 BECMG TL1700 0800 FG")
	f.Add("METAR KABC 121755Z AUTO 21016G24KT 180V240 1SM R11/P6000FT -RA BR BKN015 06/04 A2990 RMK AO2 PK WND 20032/25 SLP125 T00640036")
	f.Add("METAR LZIB 211630Z /////KT //// // ////// ///// Q////")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := metar.ParseReport(text)
		if err != nil {
			return
		}
		w, err := r.Observed(time.Date(2026, 6, 21, 17, 0, 0, 0, time.UTC), time.Hour)
		if err == nil {
			sane(t, text, w)
		}
	})
}

func FuzzParseForecast(f *testing.F) {
	f.Add("TAF YUDO 151800Z 1600/1618 13005MPS 9000 BKN020 BECMG 1606/1608 SCT015CB BKN020 TEMPO 1608/1612 17006G12MPS 1000 TSRA FM161230 15004MPS 9999 BKN020")
	f.Add("TAF AMD KABC 121720Z 1218/1324 21016G24KT P6SM SCT030 PROB30 TEMPO 1220/1224 2SM +TSRA BKN015CB WS020/24045KT TX25/1215Z TNM02/1304Z")
	f.Fuzz(func(t *testing.T, text string) {
		p, err := metar.ParseForecast(text)
		if err != nil {
			return
		}
		w, err := p.Expected(time.Date(2026, 6, 21, 17, 0, 0, 0, time.UTC))
		if err != nil {
			return
		}
		for _, p := range w.Periods {
			if !p.Until.After(p.From) {
				t.Fatalf("%q: period from %v to %v", text, p.From, p.Until)
			}
			sane(t, text, p)
		}
	})
}

func sane(t *testing.T, text string, w air.Weather) {
	for _, r := range []air.Reading{w.WindMS, w.GustMS, w.WindFrom, w.VisibilityM, w.CeilingM, w.TemperatureK, w.DewPointK, w.QNHPa, w.CloudOktas, w.Thunderstorm} {
		if math.IsNaN(r.Value) || math.IsInf(r.Value, 0) || r.Value < 0 || !r.Known && r.Value != 0 {
			t.Fatalf("%q: reading %+v", text, r)
		}
	}
	if w.GustMS.Known && w.WindMS.Known && w.Change == "" && w.GustMS.Value < w.WindMS.Value {
		t.Fatalf("%q: gust %g below mean %g", text, w.GustMS.Value, w.WindMS.Value)
	}
}

func TestBecomingPrevailsFromItsEnd(t *testing.T) {
	f, err := metar.ParseForecast("TAF LZIB 211100Z 2112/2212 08005KT 9999 FEW040 BECMG 2114/2116 25015KT 4000 -RA BKN010")
	if err != nil {
		t.Fatal(err)
	}
	w, _ := f.Expected(time.Date(2026, 6, 21, 11, 0, 0, 0, time.UTC))
	at := func(hour int) time.Time { return time.Date(2026, 6, 21, hour, 0, 0, 0, time.UTC) }
	before, _ := w.At(at(15))
	near(t, "still", before.VisibilityM, 10000, 0)
	worst, _ := w.WorstAt(at(15))
	near(t, "it may have come already", worst.VisibilityM, 4000, 0)
	after, _ := w.At(at(16))
	near(t, "come", after.VisibilityM, 4000, 0)
	if after.Precipitation != air.AmountLight || worst.Precipitation != air.AmountLight {
		t.Errorf("%v, %v", worst.Precipitation, after.Precipitation)
	}
}

// Recent rain and rain nearby do not fall on the aerodrome now.
func TestRecentAndNearby(t *testing.T) {
	r := report(t, "METAR LZIB 211630Z 08005KT 9999 VCSH FEW040CB 26/15 Q1022 RERA")
	w, _ := r.Observed(time.Date(2026, 6, 21, 17, 0, 0, 0, time.UTC), time.Hour)
	if w.Precipitation != air.AmountNone {
		t.Errorf("precipitation %v", w.Precipitation)
	}
	if !r.Weather[1].Recent || r.Weather[1].Kinds[0] != "RA" {
		t.Errorf("%+v", r.Weather)
	}
}
