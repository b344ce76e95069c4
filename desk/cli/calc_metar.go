package cli

import (
	"fmt"
	"io"
	"math"
	"strings"

	"fieldfare/model/air"
	"fieldfare/model/metar"
)

type metarCmd struct {
	Text []string `arg:"" help:"The report or forecast, as METAR … or TAF …."`
}

// readingOf returns a pointer for a known reading (rounded, since the code has no more
// digits), null otherwise.
func readingOf(r air.Reading, factor, offset float64) *float64 {
	if !r.Known {
		return nil
	}
	v := math.Round((r.Value*factor+offset)*1e4)/1e4 + 0
	return &v
}

type metarCloud struct {
	Cover string   `json:"cover"`
	Base  *float64 `json:"base_m"`
	Type  string   `json:"type,omitempty"`
}

// metarConditions are the shared groups; null is unknown or not given.
type metarConditions struct {
	WindFrom           *float64     `json:"wind_from_deg"`
	Wind               *float64     `json:"wind_m_s"`
	Gust               *float64     `json:"gust_m_s"`
	WindVariable       bool         `json:"wind_variable"`
	WindSectorFrom     *float64     `json:"wind_sector_from_deg"`
	WindSectorTo       *float64     `json:"wind_sector_to_deg"`
	Visibility         *float64     `json:"visibility_m"`
	VisibilityOrMore   bool         `json:"visibility_or_more"`
	VisibilityLessThan bool         `json:"visibility_less_than"`
	LeastVisibility    *float64     `json:"visibility_least_m"`
	LeastToward        string       `json:"visibility_least_toward,omitempty"`
	CAVOK              bool         `json:"cavok"`
	Weather            []string     `json:"weather"`
	NoWeather          bool         `json:"no_significant_weather"`
	Cloud              []metarCloud `json:"cloud"`
	Sky                string       `json:"sky,omitempty"`
	VerticalVisibility *float64     `json:"vertical_visibility_m"`
	Shear              []string     `json:"wind_shear,omitempty"`
}

type metarRunway struct {
	Runway string   `json:"runway"`
	Least  *float64 `json:"range_m"`
	Most   *float64 `json:"range_most_m"`
	Above  bool     `json:"more_than"`
	Below  bool     `json:"less_than"`
	Trend  string   `json:"trend,omitempty"`
}

type metarChange struct {
	Kind        string `json:"kind"`
	Probability int    `json:"probability_percent,omitempty"`
	From        string `json:"from,omitempty"`
	Until       string `json:"until,omitempty"`
	At          string `json:"at,omitempty"`
	metarConditions
	Unread []string `json:"unread"`
}

type metarResult struct {
	Kind      string `json:"kind"`
	Station   string `json:"station"`
	Day       *int   `json:"day"`
	Time      string `json:"time_utc,omitempty"`
	From      string `json:"from,omitempty"`
	Until     string `json:"until,omitempty"`
	Automatic bool   `json:"automatic"`
	Corrected bool   `json:"corrected"`
	Amended   bool   `json:"amended"`
	Missing   bool   `json:"missing"`
	Cancelled bool   `json:"cancelled"`
	metarConditions
	Runways            []metarRunway `json:"runways"`
	Temperature        *float64      `json:"temperature_c"`
	DewPoint           *float64      `json:"dew_point_c"`
	Pressure           *float64      `json:"pressure_hpa"`
	SeaLevel           *float64      `json:"sea_level_pressure_hpa"`
	TemperaturePrecise *float64      `json:"temperature_precise_c"`
	DewPointPrecise    *float64      `json:"dew_point_precise_c"`
	Ceiling            *float64      `json:"ceiling_m"`
	CeilingNone        bool          `json:"no_ceiling"`
	Precipitation      string        `json:"precipitation"`
	Changes            []metarChange `json:"changes"`
	NoChange           bool          `json:"no_significant_change"`
	Remarks            string        `json:"remarks,omitempty"`
	Noted              []string      `json:"noted,omitempty"`
	Unread             []string      `json:"unread"`
	Raw                string        `json:"raw"`
	Caution            string        `json:"caution"`
}

func conditions(c metar.Conditions) metarConditions {
	const deg = 180 / math.Pi
	m := metarConditions{CAVOK: c.CAVOK, NoWeather: c.NoWeather, Sky: c.Sky, Shear: c.Shear, Weather: []string{}, Cloud: []metarCloud{},
		VerticalVisibility: readingOf(c.VerticalVisibilityM, 1, 0)}
	if w := c.Wind; w != nil {
		m.WindFrom, m.Wind, m.Gust, m.WindVariable = readingOf(w.From, deg, 0), readingOf(w.MeanMS, 1, 0), readingOf(w.GustMS, 1, 0), w.Variable
		m.WindSectorFrom, m.WindSectorTo = readingOf(w.VaryFrom, deg, 0), readingOf(w.VaryTo, deg, 0)
	}
	if v := c.Visibility; v != nil {
		m.Visibility, m.VisibilityOrMore, m.VisibilityLessThan = readingOf(v.M, 1, 0), v.Above, v.Below
		m.LeastVisibility, m.LeastToward = readingOf(v.LeastM, 1, 0), v.LeastToward
	}
	for _, p := range c.Weather {
		m.Weather = append(m.Weather, p.Code)
	}
	for _, l := range c.Cloud {
		m.Cloud = append(m.Cloud, metarCloud{l.Cover, readingOf(l.BaseM, 1, 0), l.Type})
	}
	return m
}

func clockText(c *metar.Clock) string {
	switch {
	case c == nil:
		return ""
	case c.Day == 0:
		return fmt.Sprintf("%02d:%02dZ", c.Hour, c.Minute)
	}
	return fmt.Sprintf("day %d %02d:%02dZ", c.Day, c.Hour, c.Minute)
}

func changes(all []metar.Change) []metarChange {
	out := []metarChange{}
	for _, c := range all {
		out = append(out, metarChange{c.Kind, c.Probability, clockText(c.From), clockText(c.Until), clockText(c.At), conditions(c.Conditions), notNil(c.Unread)})
	}
	return out
}

func notNil(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}

func (c metarCmd) Run(s *Session) error {
	text := strings.Join(c.Text, " ")
	var r metarResult
	var err error
	if metar.LooksLikeForecast(text) {
		r, err = decodeForecast(text)
	} else {
		r, err = decodeReport(text)
	}
	if err != nil {
		return err
	}
	r.Caution = SafetySentence
	return s.emit(r, func(w io.Writer) { r.print(w) })
}

func decodeReport(text string) (metarResult, error) {
	m, err := metar.ParseReport(text)
	if err != nil {
		return metarResult{}, err
	}
	r := metarResult{Kind: m.Kind, Station: m.Station, Automatic: m.Automatic, Corrected: m.Corrected, Missing: m.Missing,
		metarConditions: conditions(m.Conditions), Temperature: readingOf(m.TemperatureK, 1, -273.15), DewPoint: readingOf(m.DewPointK, 1, -273.15),
		Pressure: readingOf(m.QNHPa, 0.01, 0), SeaLevel: readingOf(m.Remarks.SeaLevelPa, 0.01, 0),
		TemperaturePrecise: readingOf(m.Remarks.TemperatureK, 1, -273.15), DewPointPrecise: readingOf(m.Remarks.DewPointK, 1, -273.15),
		Changes: changes(m.Trends), NoChange: m.NoChange, Remarks: m.Remarks.Text, Noted: m.Noted, Unread: notNil(m.Unread), Raw: m.Raw, Runways: []metarRunway{}}
	if m.Time.Day > 0 {
		r.Day, r.Time = &m.Time.Day, fmt.Sprintf("%02d:%02dZ", m.Time.Hour, m.Time.Minute)
	}
	for _, v := range m.Runways {
		r.Runways = append(r.Runways, metarRunway{v.Name, readingOf(v.LeastM, 1, 0), readingOf(v.MostM, 1, 0), v.Above, v.Below, v.Trend})
	}
	r.summarise(m.Summary())
	return r, nil
}

func decodeForecast(text string) (metarResult, error) {
	f, err := metar.ParseForecast(text)
	if err != nil {
		return metarResult{}, err
	}
	r := metarResult{Kind: "TAF", Station: f.Station, Amended: f.Amended, Corrected: f.Corrected, Missing: f.Missing, Cancelled: f.Cancelled,
		metarConditions: conditions(f.Conditions), Pressure: readingOf(f.QNHPa, 0.01, 0), Changes: changes(f.Changes), Remarks: f.RemarkedText,
		Unread: notNil(f.Unread), Raw: f.Raw, Runways: []metarRunway{}}
	if f.Issued != nil {
		r.Day, r.Time = &f.Issued.Day, fmt.Sprintf("%02d:%02dZ", f.Issued.Hour, f.Issued.Minute)
	}
	if !f.Missing {
		r.From, r.Until = clockText(&f.From), clockText(&f.Until)
	}
	r.summarise(f.Summary())
	return r, nil
}

func (r *metarResult) summarise(w air.Weather) {
	r.Precipitation = w.Precipitation.String()
	if w.CeilingM.Known && w.CeilingM.Value == air.NoCeiling {
		r.CeilingNone = true
		return
	}
	r.Ceiling = readingOf(w.CeilingM, 1, 0)
}

func (r metarResult) print(w io.Writer) {
	heading := r.Kind + " " + r.Station
	if r.Day != nil {
		heading += fmt.Sprintf(" day %d %s", *r.Day, r.Time)
	}
	if r.From != "" {
		heading += fmt.Sprintf(", valid %s to %s", r.From, r.Until)
	}
	fmt.Fprintln(w, heading)
	if r.Missing || r.Cancelled {
		fmt.Fprintln(w, "  no content: all weather is unknown")
	} else {
		r.metarConditions.print(w, "  ")
		fmt.Fprintf(w, "  temperature    %s, dew point %s\n", orUnknown(r.Temperature, "%.0f C"), orUnknown(r.DewPoint, "%.0f C"))
		fmt.Fprintf(w, "  pressure       %s\n", orUnknown(r.Pressure, "%.1f hPa"))
		ceiling := orUnknown(r.Ceiling, "%.0f m above the aerodrome, or higher where none was seen")
		if r.CeilingNone {
			ceiling = "none"
		}
		fmt.Fprintf(w, "  ceiling        %s\n  precipitation  %s\n", ceiling, r.Precipitation)
	}
	for _, c := range r.Changes {
		line := c.Kind
		if c.Probability > 0 {
			line += fmt.Sprintf(" (%d %%)", c.Probability)
		}
		for _, p := range [][2]string{{"from", c.From}, {"until", c.Until}, {"at", c.At}} {
			if p[1] != "" {
				line += " " + p[0] + " " + p[1]
			}
		}
		fmt.Fprintln(w, " ", line)
		c.print(w, "    ")
		if len(c.Unread) > 0 {
			fmt.Fprintf(w, "    not understood: %s\n", strings.Join(c.Unread, " "))
		}
	}
	if r.NoChange {
		fmt.Fprintln(w, "  no significant change expected")
	}
	if len(r.Unread) > 0 {
		fmt.Fprintf(w, "  caution: not understood: %s\n", strings.Join(r.Unread, " "))
	}
	fmt.Fprintln(w, SafetySentence)
}

func orUnknown(v *float64, format string) string {
	if v == nil {
		return "unknown"
	}
	return fmt.Sprintf(format, *v)
}

// print writes what is stated; what is not stated is left out.
func (c metarConditions) print(w io.Writer, indent string) {
	if c.Wind != nil || c.WindVariable || c.WindFrom != nil {
		from := "direction unknown"
		switch {
		case c.WindVariable:
			from = "variable"
		case c.WindFrom != nil:
			from = fmt.Sprintf("from %.0f deg", *c.WindFrom)
		}
		line := fmt.Sprintf("%s, %s", from, orUnknown(c.Wind, "%.1f m/s"))
		if c.Gust != nil {
			line += fmt.Sprintf(", gusts %.1f m/s", *c.Gust)
		}
		if c.WindSectorFrom != nil {
			line += fmt.Sprintf(", turning %.0f to %.0f deg", *c.WindSectorFrom, *c.WindSectorTo)
		}
		fmt.Fprintf(w, "%swind           %s\n", indent, line)
	}
	if c.Visibility != nil {
		line := fmt.Sprintf("%.0f m", *c.Visibility)
		if c.VisibilityOrMore {
			line += " or more"
		}
		if c.VisibilityLessThan {
			line = "less than " + line
		}
		if c.LeastVisibility != nil {
			line += fmt.Sprintf(", least %.0f m to %s", *c.LeastVisibility, c.LeastToward)
		}
		fmt.Fprintf(w, "%svisibility     %s\n", indent, line)
	}
	if len(c.Weather) > 0 {
		fmt.Fprintf(w, "%sweather        %s\n", indent, strings.Join(c.Weather, " "))
	}
	for _, l := range c.Cloud {
		cover := l.Cover
		if cover == "" {
			cover = "cover unknown"
		}
		fmt.Fprintf(w, "%scloud          %s at %s %s\n", indent, cover, orUnknown(l.Base, "%.0f m"), l.Type)
	}
	if c.Sky != "" {
		fmt.Fprintf(w, "%ssky            %s\n", indent, c.Sky)
	}
	for _, shear := range c.Shear {
		fmt.Fprintf(w, "%scaution: wind shear %s\n", indent, shear)
	}
}
