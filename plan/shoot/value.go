package shoot

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Place is a position on the WGS 84 ellipsoid, written "46.6012 N, 10.3011 E".
// The letters make swapped coordinates impossible to miss.
type Place geo.LatLon

var placeForm = regexp.MustCompile(`^\s*([0-9]+(?:\.[0-9]+)?)\s*°?\s*([NS])\s*,\s*([0-9]+(?:\.[0-9]+)?)\s*°?\s*([EW])\s*$`)

// UnmarshalText implements encoding.TextUnmarshaler.
func (p *Place) UnmarshalText(text []byte) error {
	m := placeForm.FindStringSubmatch(string(text))
	if m == nil {
		return fmt.Errorf("%q is not a place: write latitude then longitude with letters, as in 46.6012 N, 10.3011 E", text)
	}
	lat, _ := strconv.ParseFloat(m[1], 64)
	lon, _ := strconv.ParseFloat(m[3], 64)
	switch {
	case lat > 90 && lon <= 90:
		return fmt.Errorf("%q has a latitude beyond 90: latitude and longitude look swapped", text)
	case lat > 90 || lon > 180:
		return fmt.Errorf("%q is off the globe: latitude goes to 90, longitude to 180", text)
	}
	if m[2] == "S" {
		lat = -lat
	}
	if m[4] == "W" {
		lon = -lon
	}
	*p = Place{Lat: unit.Angle(lat) * unit.Degree, Lon: unit.Angle(lon) * unit.Degree}
	return nil
}

// MarshalText implements encoding.TextMarshaler, to about a centimetre.
func (p Place) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

func (p Place) String() string {
	ns, ew := "N", "E"
	if p.Lat < 0 {
		ns = "S"
	}
	if p.Lon < 0 {
		ew = "W"
	}
	digits := func(a unit.Angle) string {
		return strconv.FormatFloat(math.Round(math.Abs(a.Deg())*1e7)/1e7, 'f', -1, 64)
	}
	return digits(p.Lat) + " " + ns + ", " + digits(p.Lon) + " " + ew
}

// Date is a calendar day at the site.
type Date struct {
	Year  int
	Month time.Month
	Day   int
}

// UnmarshalText implements encoding.TextUnmarshaler.
func (d *Date) UnmarshalText(text []byte) error {
	t, err := time.Parse("2006-01-02", string(text))
	if err != nil {
		return fmt.Errorf("%q is not a date: write year-month-day, as in 2026-09-22", text)
	}
	if t.Year() < 1950 || t.Year() > 2100 {
		return fmt.Errorf("%q lies outside 1950 to 2100, for which the sun and moon are computed", text)
	}
	*d = Date{t.Year(), t.Month(), t.Day()}
	return nil
}

// MarshalText implements encoding.TextMarshaler.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

func (d Date) String() string { return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day) }

// Midnight returns the first instant of the day in zone.
func (d Date) Midnight(zone *time.Location) time.Time {
	t := time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, zone)
	if t.Day() != d.Day { // the clock goes forward at midnight: the day begins at the change
		_, t = t.ZoneBounds()
	}
	return t
}

// Next returns the day after d.
func (d Date) Next() Date {
	t := time.Date(d.Year, d.Month, d.Day+1, 12, 0, 0, 0, time.UTC)
	return Date{t.Year(), t.Month(), t.Day()}
}

// Before reports whether d is earlier than e.
func (d Date) Before(e Date) bool {
	return d.Year < e.Year || d.Year == e.Year && (d.Month < e.Month || d.Month == e.Month && d.Day < e.Day)
}

// DateOf returns the calendar day of t in t's zone.
func DateOf(t time.Time) Date { return Date{t.Year(), t.Month(), t.Day()} }

// Clock is a local time of day.
type Clock struct{ Hour, Minute int }

// UnmarshalText implements encoding.TextUnmarshaler.
func (c *Clock) UnmarshalText(text []byte) error {
	t, err := time.Parse("15:04", string(text))
	if err != nil {
		return fmt.Errorf("%q is not a time of day: write hours and minutes, as in 07:30", text)
	}
	*c = Clock{t.Hour(), t.Minute()}
	return nil
}

// MarshalText implements encoding.TextMarshaler.
func (c Clock) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

func (c Clock) String() string { return fmt.Sprintf("%02d:%02d", c.Hour, c.Minute) }

// On returns the instant of c on day d in zone. It errs for a time that the
// clock change skips that day.
func (c Clock) On(d Date, zone *time.Location) (time.Time, error) {
	t := time.Date(d.Year, d.Month, d.Day, c.Hour, c.Minute, 0, 0, zone)
	if t.Hour() != c.Hour || t.Minute() != c.Minute {
		return t, fmt.Errorf("%s does not exist on %s in %s: the clock goes forward then; the next instant is %s",
			c, d, zone, t.Format("15:04"))
	}
	return t, nil
}

// Moment is a local date and time, written "2026-09-22 10:30".
type Moment struct {
	Date  Date
	Clock Clock
}

// UnmarshalText implements encoding.TextUnmarshaler.
func (m *Moment) UnmarshalText(text []byte) error {
	day, clock, ok := strings.Cut(strings.TrimSpace(string(text)), " ")
	if !ok || m.Date.UnmarshalText([]byte(day)) != nil || m.Clock.UnmarshalText([]byte(strings.TrimSpace(clock))) != nil {
		return fmt.Errorf("%q is not a local date and time: write them as in 2026-09-22 10:30", text)
	}
	return nil
}

// MarshalText implements encoding.TextMarshaler.
func (m Moment) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

func (m Moment) String() string { return m.Date.String() + " " + m.Clock.String() }

// In returns the instant in zone, or an error where the clock change skips it.
func (m Moment) In(zone *time.Location) (time.Time, error) { return m.Clock.On(m.Date, zone) }
