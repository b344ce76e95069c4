// Package metar decodes aerodrome weather reports and forecasts: METAR, SPECI and TAF.
//
// Units: results are SI (m/s, m, K, Pa) with angles from true north; times are UTC. A
// group that is missing, given as slashes or not understood leaves its value unknown. What is not
// understood is kept word for word in Unread, and nothing is concluded from silence
// where something went unread.
//
// Source: WMO-No. 306 volume I.1, code forms FM 15, FM 16 and FM 51; ICAO Annex 3
// appendices 3 and 5; for the forms of the United States, FMH-1.
//
// Valid for reports in those forms with the usual national variants (statute miles,
// inches of mercury, old four-digit periods).
//
// Not modelled: most of the remarks section, runway state and sea state (kept as text),
// military colour states.
package metar

import (
	"fmt"
	"strings"

	"fieldfare/model/air"
	"fieldfare/model/unit"
)

const (
	knot        = 1852.0 / 3600
	kmh         = 1 / 3.6
	hundredFeet = 30.48
	statuteMile = 1609.344
	inchMercury = 3386.389
	zeroC       = 273.15
)

// Clock is a time of day as a report writes it, UTC. Hour may be 24, the end of the day.
type Clock struct {
	Day    int // of the month; 0 when the group has none
	Hour   int
	Minute int
}

// Wind is a surface wind group.
type Wind struct {
	From     air.Reading // radians from true north; unknown when variable or calm
	Variable bool        // VRB
	Calm     bool        // 00000
	MeanMS   air.Reading
	GustMS   air.Reading
	Above    bool // the mean is more than the number (P99)
	// VaryFrom to VaryTo, clockwise, is the sector within which the wind turns.
	VaryFrom, VaryTo air.Reading
}

// Visibility is what the visibility groups say.
type Visibility struct {
	M     air.Reading // prevailing
	Above bool        // that or more: 9999, P6SM
	Below bool        // less than that: 0000, M1/4SM
	// LeastM is the minimum and LeastToward its direction ("NE"), where given.
	LeastM      air.Reading
	LeastToward string
}

// Phenomenon is a present or recent weather group.
type Phenomenon struct {
	Code       string // as written
	Intensity  air.Amount
	Vicinity   bool
	Recent     bool
	Descriptor string   // "TS", "SH", "FZ" and so on
	Kinds      []string // "RA", "FG" and so on
}

// Layer is a cloud group.
type Layer struct {
	Cover string      // FEW, SCT, BKN, OVC; "" when not known
	BaseM air.Reading // above the aerodrome
	Type  string      // CB, TCU or ""
}

// Oktas is the range of eighths that a cover stands for (WMO-No. 306).
func (l Layer) Oktas() (least, most int, known bool) {
	switch l.Cover {
	case "FEW":
		return 1, 2, true
	case "SCT":
		return 3, 4, true
	case "BKN":
		return 5, 7, true
	case "OVC":
		return 8, 8, true
	}
	return 0, 0, false
}

// Conditions are the groups that reports, trends and forecasts share.
type Conditions struct {
	Wind                *Wind
	Visibility          *Visibility
	CAVOK               bool
	Weather             []Phenomenon
	WeatherMissing      bool // reported as //
	NoWeather           bool // NSW
	Cloud               []Layer
	Sky                 string // SKC, CLR, NSC or NCD
	VerticalVisibilityM air.Reading
	SkyObscured         bool     // a VV group, its height perhaps not known
	Shear               []string // wind shear groups, as written
}

// Runway is a runway visual range group.
type Runway struct {
	Name         string
	LeastM       air.Reading // the range, or the lesser of two
	MostM        air.Reading // known when it varies between two
	Above, Below bool        // MostM (or LeastM) is exceeded; LeastM is not reached
	Trend        string      // "rising", "falling", "steady" or ""
}

// Change is a trend of a report or a change group of a forecast.
type Change struct {
	Kind        string // "FM", "BECMG", "TEMPO", "INTER", "PROB"
	Probability int    // 30 or 40; with Kind TEMPO the group was "PROB30 TEMPO"
	From, Until *Clock // nil where the group does not say
	At          *Clock
	Conditions
	QNHPa  air.Reading
	Unread []string
}

// Report is a decoded METAR or SPECI.
type Report struct {
	Raw       string
	Kind      string // METAR or SPECI; METAR when not written
	Corrected bool
	Automatic bool
	Missing   bool // NIL
	Station   string
	Time      Clock
	Conditions
	Runways      []Runway
	TemperatureK air.Reading
	DewPointK    air.Reading
	QNHPa        air.Reading
	Noted        []string // understood as a kind of group but kept as text: runway and sea state
	Trends       []Change
	NoChange     bool // NOSIG
	Remarks      Remarks
	Unread       []string
}

// Remarks are the parts of the remarks section that are decoded. The rest stays in Text.
type Remarks struct {
	Text              string
	TemperatureK      air.Reading // to 0.1 K
	DewPointK         air.Reading
	SeaLevelPa        air.Reading
	PeakWind          *Wind
	PeakAt            *Clock
	NoPresentWeather  bool // PWINO: the sensor is out
	NoThunderstorms   bool // TSNO: the sensor is out
	NoDiscrimination  bool // AO1: cannot tell rain from snow
	NeedsMaintenance  bool // $
	FreezingRainBlind bool // FZRANO
}

// Forecast is a decoded TAF.
type Forecast struct {
	Raw         string
	Amended     bool
	Corrected   bool
	Missing     bool // NIL
	Cancelled   bool // CNL
	Station     string
	Issued      *Clock
	From, Until Clock
	Conditions
	QNHPa        air.Reading
	MaximumK     air.Reading
	MinimumK     air.Reading
	MaximumAt    *Clock
	MinimumAt    *Clock
	Changes      []Change
	RemarkedText string
	Unread       []string
}

// words splits a report at white space, without the closing equals sign.
func words(text string) []string {
	w := strings.Fields(strings.ToUpper(strings.TrimSpace(text)))
	for len(w) > 0 {
		last := strings.TrimRight(w[len(w)-1], "=")
		if last != "" {
			w[len(w)-1] = last
			break
		}
		w = w[:len(w)-1]
	}
	return w
}

// longest bounds the text that is looked at; real reports have fewer than 2,000 characters.
const longest = 10000

// ParseReport decodes a METAR or SPECI. It fails only when there is no station or time;
// anything else that is not understood goes to Unread.
func ParseReport(text string) (Report, error) {
	r := Report{Raw: strings.TrimSpace(text), Kind: "METAR"}
	if len(text) > longest {
		return r, fmt.Errorf("the report has %d characters: expected one report of at most %d", len(text), longest)
	}
	w := words(text)
	take := func(word string) bool {
		if len(w) > 0 && w[0] == word {
			w = w[1:]
			return true
		}
		return false
	}
	switch {
	case take("METAR"):
	case take("SPECI"):
		r.Kind = "SPECI"
	}
	r.Corrected = take("COR")
	if len(w) < 2 || !station(w[0]) {
		return r, fmt.Errorf("%q is not a METAR: expected a station of four letters and a time such as 211630Z", clip(text))
	}
	r.Station, w = w[0], w[1:]
	at, ok := dayTime(w[0])
	if !ok {
		if take("NIL") {
			r.Missing = true
			return r, nil
		}
		return r, fmt.Errorf("%q is not a METAR: %q stands where the time should, such as 211630Z", clip(text), w[0])
	}
	r.Time, w = at, w[1:]
	for len(w) > 0 {
		switch {
		case take("COR"):
			r.Corrected = true
		case take("AUTO"):
			r.Automatic = true
		case take("NIL"):
			r.Missing = true
		case take("NOSIG"):
			r.NoChange = true
		case w[0] == "RMK":
			r.Remarks = remarks(w[1:], r.Time)
			w = nil
		case changeWord(w[0]):
			var c Change
			c, w = trend(w)
			r.Trends = append(r.Trends, c)
		default:
			if n := r.group(w); n > 0 {
				w = w[n:]
			} else {
				r.Unread = append(r.Unread, w[0])
				w = w[1:]
			}
		}
	}
	return r, nil
}

// group takes the groups that only a report has, then the shared ones; it returns how
// many words it took, 0 when it understood nothing.
func (r *Report) group(w []string) int {
	if t, d, ok := temperatures(w[0]); ok {
		if r.TemperatureK.Known || r.DewPointK.Known {
			return 0
		}
		r.TemperatureK, r.DewPointK = t, d
		return 1
	}
	if q, ok := pressure(w[0]); ok {
		if !r.QNHPa.Known {
			r.QNHPa = q
		}
		return 1
	}
	if rvr, ok := runway(w[0]); ok {
		r.Runways = append(r.Runways, rvr)
		return 1
	}
	if runwayState(w[0]) || seaState(w[0]) {
		r.Noted = append(r.Noted, w[0])
		return 1
	}
	return r.Conditions.group(w)
}

// trend decodes one BECMG, TEMPO or INTER of a report, up to the next one.
func trend(w []string) (Change, []string) {
	c := Change{Kind: w[0]}
	w = w[1:]
	for len(w) > 0 && !changeWord(w[0]) && w[0] != "RMK" && w[0] != "NOSIG" {
		if clock, kind, ok := trendTime(w[0]); ok {
			switch kind {
			case "FM":
				c.From = &clock
			case "TL":
				c.Until = &clock
			default:
				c.At = &clock
			}
			w = w[1:]
			continue
		}
		w = c.take(w)
	}
	return c, w
}

func (c *Change) take(w []string) []string {
	if q, ok := pressure(w[0]); ok {
		c.QNHPa = q
		return w[1:]
	}
	if n := c.group(w); n > 0 {
		return w[n:]
	}
	c.Unread = append(c.Unread, w[0])
	return w[1:]
}

func changeWord(w string) bool { return w == "BECMG" || w == "TEMPO" || w == "INTER" }

// clip shortens a text for a message.
func clip(text string) string {
	const most = 60
	text = strings.TrimSpace(text)
	if len(text) > most {
		return text[:most] + "..."
	}
	return text
}

func degrees(d int) air.Reading { return air.Known(float64(unit.Angle(d) * unit.Degree)) }
