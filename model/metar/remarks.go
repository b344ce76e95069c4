package metar

import (
	"strings"

	"fieldfare/model/air"
)

// remarks decodes what FMH-1 chapter 12 fixes: T00640036, SLP125, PK WND 20032/25, sensor
// states. hour is the report's, for peak winds that give only the minute.
func remarks(w []string, at Clock) Remarks {
	r := Remarks{Text: strings.Join(w, " ")}
	for i, word := range w {
		switch {
		case word == "AO1" || word == "A01":
			r.NoDiscrimination = true
		case word == "PWINO":
			r.NoPresentWeather = true
		case word == "TSNO":
			r.NoThunderstorms = true
		case word == "FZRANO":
			r.FreezingRainBlind = true
		case word == "$":
			r.NeedsMaintenance = true
		case len(word) == 6 && strings.HasPrefix(word, "SLP"):
			// Tenths of hPa without the leading 9 or 10; nearer to 1000 hPa wins.
			if n, ok := digits(word[3:]); ok {
				pa := 90000 + 10*float64(n)
				if n < 500 {
					pa += 10000
				}
				r.SeaLevelPa = air.Known(pa)
			}
		case (len(word) == 9 || len(word) == 5) && word[0] == 'T':
			t, okT := tenths(word[1:5])
			if !okT {
				continue
			}
			r.TemperatureK = t
			if len(word) == 9 {
				if d, ok := tenths(word[5:]); ok {
					r.DewPointK = d
				}
			}
		case word == "PK" && i+2 < len(w) && w[i+1] == "WND":
			wind, minute, cut := strings.Cut(w[i+2], "/")
			p, ok := windGroup(wind + "KT")
			n, okM := digits(minute)
			if !ok || !cut || !okM {
				continue
			}
			peak := Clock{at.Day, at.Hour, n}
			if len(minute) == 4 {
				peak.Hour, peak.Minute = n/100, n%100
			} else if n > at.Minute {
				peak.Hour = (at.Hour + 23) % 24
			}
			if peak.Hour <= 23 && peak.Minute <= 59 {
				r.PeakWind, r.PeakAt = &p, &peak
			}
		}
	}
	return r
}

// tenths reads 0064 as 6.4 °C and 1022 as -2.2 °C, in kelvin.
func tenths(s string) (air.Reading, bool) {
	n, ok := digits(s[1:])
	v := float64(n) / 10
	if s[0] == '1' {
		v = -v
	}
	return air.Known(v + zeroC), ok && (s[0] == '0' || s[0] == '1') && v >= -80 && v <= 60
}
