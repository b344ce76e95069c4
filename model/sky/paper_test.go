package sky_test

import (
	"math"
	"testing"
	"time"

	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

// check compares one value with a published one.
func check(t *testing.T, source, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %s = %.9f, published %.9f ± %g", source, what, got, want, tolerance)
	}
}

const paper = "NREL/TP-560-34302 (2008), table A5.1"

// paperPlace is the place and the moment of the paper's example, A.5.
func paperPlace(t *testing.T) (sky.Place, sky.Instant) {
	t.Helper()
	at, err := sky.At(time.Date(2003, 10, 17, 12, 30, 30, 0, time.FixedZone("", -7*3600)))
	if err != nil {
		t.Fatal(err)
	}
	at, err = at.WithDeltaT(67)
	if err != nil {
		t.Fatal(err)
	}
	return sky.Place{
		Latitude: 39.742476 * unit.Degree, Longitude: -105.1786 * unit.Degree,
		HeightM: 1830.14, PressurePa: 82000, TemperatureK: 284.15,
	}, at
}

func TestPaperExample(t *testing.T) {
	place, at := paperPlace(t)
	p := place.Sun(at)
	check(t, paper, "zenith", p.Zenith().Deg(), 50.111622, 1e-6)
	check(t, paper, "azimuth", p.Azimuth.Deg(), 194.340241, 1e-6)
	check(t, paper, "e0", p.AirlessAltitude.Deg(), 39.872046, 1e-6)
	check(t, paper, "refraction", (p.Altitude - p.AirlessAltitude).Deg(), 0.016332, 1e-6)
	// Incidence on a surface sloped 30°, turned -10° from south (toward the east).
	surface := sky.Surface(30*unit.Degree, 170*unit.Degree)
	check(t, paper, "incidence", math.Acos(p.Direction().Dot(surface))*180/math.Pi, 25.187, 1e-5)
}

func TestPaperIntermediates(t *testing.T) {
	place, at := paperPlace(t)
	v := sky.IntermediatesOf(place, at)
	check(t, paper, "JD", v.JD, 2452930.312847, 1e-6)
	check(t, paper, "JDE", v.JDE, 2452930.313623, 1e-6)
	check(t, paper, "JC", v.JC, 0.0379277986858, 1e-10)
	check(t, paper, "JCE", v.JCE, 0.037927819916852, 1e-10)
	for i, want := range []float64{172067561.526586, 628332010650.051147, 61368.682493, -26.902819, -121.279536, -0.999999} {
		// The printed sums were formed at the rounded Julian day, 2.2e-7 day earlier.
		check(t, paper, "L series", v.L[i], want, 0.05+math.Abs(want)*1e-12)
	}
	for i, want := range []float64{-176.502688, 3.067582} {
		check(t, paper, "B series", v.B[i], want, 1e-4)
	}
	for i, want := range []float64{99653849.037796, 100378.567146, -1140.953507, -141.115419, 1.232361} {
		check(t, paper, "R series", v.R[i], want, 0.01)
	}
	check(t, paper, "L", v.Lon, 24.0182616917, 3e-7)
	check(t, paper, "B", v.Lat, -0.0001011219, 1e-9)
	check(t, paper, "R", v.Radius, 0.9965422974, 1e-9)
	for i, want := range []float64{17185.861179, 1722.893218, 18234.075703, 18420.071012, 51.686951} {
		check(t, paper, "nutation argument", v.X[i], want, 5e-6)
	}
	check(t, paper, "nutation in longitude", v.Psi, -0.00399840, 1e-8)
	check(t, paper, "nutation in obliquity", v.Eps, 0.00166657, 1e-8)
	check(t, paper, "mean obliquity", v.Eps0, 84379.672625, 1e-6)
	check(t, paper, "obliquity", v.Obliquity, 23.440465, 1e-6)
	check(t, paper, "aberration", v.Aberration, -0.005711, 1e-6)
	check(t, paper, "apparent longitude", v.Apparent, 204.0085519281, 3e-7)
	check(t, paper, "mean sidereal time", v.MeanSidereal, 318.515579, 1e-4) // printed for the rounded day
	check(t, paper, "apparent sidereal time", v.Sidereal, 318.511910, 1e-4)
	check(t, paper, "right ascension", v.RA, 202.22741, 1e-5)
	check(t, paper, "declination", v.Dec, -9.31434, 1e-5)
	check(t, paper, "hour angle", v.HourAngle, 11.105900, 1e-4)
	check(t, paper, "parallax in right ascension", v.TopoRA-v.RA, -0.000369, 1e-6)
	check(t, paper, "topocentric right ascension", v.TopoRA, 202.22704, 1e-5)
	check(t, paper, "topocentric declination", v.TopoDec, -9.316179, 1e-6)
	check(t, paper, "topocentric hour angle", v.TopoHourAngle, 11.10627, 3e-5) // A5.1 prints 11.10629, H - Δα is 11.10627
}

// dynamical returns a moment given in dynamical time.
func dynamical(t *testing.T, at time.Time) sky.Instant {
	t.Helper()
	i, err := sky.At(at)
	if err != nil {
		t.Fatal(err)
	}
	i, err = i.WithDeltaT(0)
	if err != nil {
		t.Fatal(err)
	}
	return i
}

const meeus = "Meeus, Astronomical Algorithms, 2nd ed., example "

func TestMeeusSun(t *testing.T) {
	ra, dec, r := sky.SunApparent(dynamical(t, time.Date(1992, 10, 13, 0, 0, 0, 0, time.UTC)))
	// The book's values come from the whole VSOP87 in the FK5 frame; the cut series and the frame
	// that the SPA paper leaves out (0.09″) part by 0.3″.
	check(t, meeus+"25.b", "right ascension", ra, 198.378119, 1e-4)
	check(t, meeus+"25.b", "declination", dec, -7.783817, 1e-4)
	check(t, meeus+"25.b", "radius vector", r, 0.99760775, 1e-7)
	check(t, meeus+"25.a", "right ascension", ra, 198.38083, 0.01) // the low-accuracy method states 0.01°
	check(t, meeus+"25.a", "declination", dec, -7.78507, 0.01)
}

func TestMeeusSidereal(t *testing.T) {
	at := dynamical(t, time.Date(1987, 4, 10, 0, 0, 0, 0, time.UTC))
	check(t, meeus+"12.a", "mean sidereal time", sky.MeanSidereal(at), 197.693195, 1e-6)
}

func TestMeeusMoon(t *testing.T) {
	at := dynamical(t, time.Date(1992, 4, 12, 0, 0, 0, 0, time.UTC))
	l, b, r, lon, lat, km, psi, eps, ra, dec, parallax := sky.Lunar(at)
	source := meeus + "47.a"
	check(t, source, "sum l", l, -1127527, 1)
	check(t, source, "sum b", b, -3229126, 1)
	check(t, source, "sum r", r, -16590875, 1)
	check(t, source, "longitude", lon, 133.162655, 1e-6)
	check(t, source, "latitude", lat, -3.229126, 1e-6)
	check(t, source, "distance", km, 368409.7, 0.1)
	check(t, source, "parallax", parallax, 0.991990, 1e-6)
	check(t, source, "nutation in longitude", psi, 0.004610, 1e-6)
	check(t, source, "obliquity", eps, 23.440636, 2e-6)
	check(t, source, "right ascension", ra, 134.688470, 3e-6)
	check(t, source, "declination", dec, 13.768368, 3e-6)
}

func TestMeeusPhase(t *testing.T) {
	p := dynamical(t, time.Date(1992, 4, 12, 0, 0, 0, 0, time.UTC)).MoonPhase()
	source := meeus + "48.a"
	check(t, source, "phase angle", p.Angle.Deg(), 69.0756, 1e-3)
	check(t, source, "lit fraction", p.IlluminatedFraction, 0.6786, 1e-4)
	check(t, source, "bright limb", p.BrightLimb.Deg(), 285.0, 0.1)
	if !p.Waxing {
		t.Errorf("%s: the moon is past first quarter and must be waxing", source)
	}
}

// Table A4.1 of the paper, the rows inside our years.
func TestJulianDay(t *testing.T) {
	for _, row := range []struct {
		at   time.Time
		want float64
	}{
		{time.Date(2000, 1, 1, 12, 0, 0, 0, time.UTC), 2451545.0},
		{time.Date(1999, 1, 1, 0, 0, 0, 0, time.UTC), 2451179.5},
		{time.Date(1987, 1, 27, 0, 0, 0, 0, time.UTC), 2446822.5},
		{time.Date(1987, 6, 19, 12, 0, 0, 0, time.UTC), 2446966.0},
		{time.Date(1988, 1, 27, 0, 0, 0, 0, time.UTC), 2447187.5},
		{time.Date(1988, 6, 19, 12, 0, 0, 0, time.UTC), 2447332.0},
	} {
		check(t, "NREL/TP-560-34302, table A4.1", row.at.String(), dynamical(t, row.at).JulianDay(), row.want, 0)
	}
}

// Example 13.b: a planet's hour angle and declination to azimuth and altitude (the planet's own
// parallax is left out, as in the book).
func TestMeeusHorizon(t *testing.T) {
	azimuth, altitude := sky.LevelOfStar(38.921389, -77.065556, 347.3193375, -6.719892,
		dynamical(t, time.Date(1987, 4, 10, 19, 21, 0, 0, time.UTC)))
	check(t, meeus+"13.b", "azimuth", azimuth, 248.0337, 1e-3)
	check(t, meeus+"13.b", "altitude", altitude, 15.1249, 1e-3)
}
