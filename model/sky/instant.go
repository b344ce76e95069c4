package sky

import (
	"fmt"
	"math"
	"time"
)

// FirstYear and LastYear bound the dates this package answers for: the years for which its
// accuracy is checked against an outside reference.
const (
	FirstYear = 1950
	LastYear  = 2100
)

const (
	secondsPerDay = 86400.0
	j2000         = 2451545.0 // Julian day of 2000-01-01 12:00
	j2000Unix     = 946728000 // the same as a Unix time
)

// Instant is a moment in universal time, with the ΔT that leads from it to the
// dynamical time of the ephemerides. UTC is taken as UT1: they differ by less than 0.9 s,
// which is 0.004° of hour angle.
type Instant struct {
	ut     float64 // days since J2000.0, UT
	deltaT float64 // TT - UT, s
}

// At returns the instant of t, with ΔT by DeltaT. Dates outside 1950 to 2100 are an error.
func At(t time.Time) (Instant, error) {
	u := t.UTC()
	if y := u.Year(); y < FirstYear || y > LastYear {
		return Instant{}, fmt.Errorf("date %s is outside the years %d to %d for which sun and moon are computed: choose a date within them",
			u.Format("2006-01-02"), FirstYear, LastYear)
	}
	year := float64(u.Year()) + (float64(u.YearDay())-0.5)/365.25
	ut := (float64(u.Unix()-j2000Unix) + float64(u.Nanosecond())*1e-9) / secondsPerDay
	return Instant{ut, DeltaT(year)}, nil
}

// WithDeltaT returns the same instant with ΔT = TT - UT1 set to seconds instead of the polynomial.
// Valid from -100 to 1000 s.
func (i Instant) WithDeltaT(seconds float64) (Instant, error) {
	if !(seconds >= -100 && seconds <= 1000) {
		return i, fmt.Errorf("delta T of %g s is outside -100 to 1000 s: about 69 s is right in this decade", seconds)
	}
	i.deltaT = seconds
	return i, nil
}

// Add returns the instant seconds later; ΔT is kept, so stay within a year or so (ΔT moves
// by about a second a year, 0.00001° of the sun).
func (i Instant) Add(seconds float64) Instant {
	i.ut += seconds / secondsPerDay
	return i
}

// Since returns the seconds from j to i.
func (i Instant) Since(j Instant) float64 { return (i.ut - j.ut) * secondsPerDay }

// Time returns the instant as UTC, to the microsecond.
func (i Instant) Time() time.Time {
	return time.UnixMicro(int64(math.Round(i.ut*secondsPerDay*1e6)) + j2000Unix*1e6).UTC()
}

// DeltaTSeconds returns the ΔT = TT - UT1 in use, in seconds.
func (i Instant) DeltaTSeconds() float64 { return i.deltaT }

// JulianDay returns the Julian day in UT.
func (i Instant) JulianDay() float64 { return j2000 + i.ut }

// century returns Julian centuries of TT since J2000.0 (JCE of the SPA paper).
func (i Instant) century() float64 { return (i.ut + i.deltaT/secondsPerDay) / 36525 }

// DeltaT returns ΔT = TT - UT1 in seconds for a decimal year, by the polynomials of Espenak and
// Meeus, Five Millennium Canon of Solar Eclipses (NASA/TP-2006-214141), section 2.7; valid here
// from 1900 to 2150, clamped outside. After 2005 they are a forecast: for 2026 they give 75 s
// where about 69 s was measured, which moves the sun by 0.0001° and the moon by 0.001°.
func DeltaT(year float64) float64 {
	year = min(max(year, 1900), 2150)
	switch {
	case year < 1920:
		return horner(year-1900, -2.79, 1.494119, -0.0598939, 0.0061966, -0.000197)
	case year < 1941:
		return horner(year-1920, 21.20, 0.84493, -0.076100, 0.0020936)
	case year < 1961:
		return horner(year-1950, 29.07, 0.407, -1.0/233, 1.0/2547)
	case year < 1986:
		return horner(year-1975, 45.45, 1.067, -1.0/260, -1.0/718)
	case year < 2005:
		return horner(year-2000, 63.86, 0.3345, -0.060374, 0.0017275, 0.000651814, 0.00002373599)
	case year < 2050:
		return horner(year-2000, 62.92, 0.32217, 0.005589)
	}
	u := (year - 1820) / 100
	return -20 + 32*u*u - 0.5628*(2150-year)
}

// horner evaluates c[0] + c[1] x + c[2] x² + ...
func horner(x float64, c ...float64) float64 {
	sum := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		sum = sum*x + c[i]
	}
	return sum
}
