package sky_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fieldfare/model/geo"
	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

func instant(t testing.TB, at time.Time) sky.Instant {
	t.Helper()
	i, err := sky.At(at)
	if err != nil {
		t.Fatal(err)
	}
	return i
}

// vector turns a position into the airless unit vector, so that separations have no pole.
func vector(p sky.Position) geo.Vec3 { return direction(p.Azimuth, p.AirlessAltitude) }

func direction(azimuth, altitude unit.Angle) geo.Vec3 {
	sa, ca := math.Sincos(float64(azimuth))
	sh, ch := math.Sincos(float64(altitude))
	return geo.Vec3{X: sa * ch, Y: ca * ch, Z: sh}
}

// separation returns the angle between two directions in degrees.
func separation(a, b geo.Vec3) float64 {
	return math.Atan2(a.Cross(b).Norm(), a.Dot(b)) * 180 / math.Pi
}

// The fast path must follow the full one: 1e-5°, a hundredth of what is promised.
func TestAlmanacFollowsFullPath(t *testing.T) {
	const bound = 1e-5
	worstSun, worstMoon := 0.0, 0.0
	rapid.Check(t, func(t *rapid.T) {
		place, err := sky.NewPlace(
			unit.Angle(rapid.Float64Range(-90, 90).Draw(t, "latitude"))*unit.Degree,
			unit.Angle(rapid.Float64Range(-180, 180).Draw(t, "longitude"))*unit.Degree,
			rapid.Float64Range(0, 4000).Draw(t, "height"))
		if err != nil {
			t.Fatal(err)
		}
		from, err := sky.At(time.Unix(rapid.Int64Range(-631152000, 4102444800-86400*3).Draw(t, "from"), 0))
		if err != nil {
			t.Fatal(err)
		}
		almanac, err := sky.NewAlmanac(place, from, from.Add(2*86400))
		if err != nil {
			t.Fatal(err)
		}
		for range 20 {
			at := from.Add(rapid.Float64Range(0, 2*86400).Draw(t, "after"))
			if !almanac.Covers(at) {
				t.Fatal("the span asked for is not covered")
			}
			full, fast := place.Sun(at), almanac.Sun(at)
			sun := separation(vector(full), vector(fast))
			moon := separation(vector(place.Moon(at)), vector(almanac.Moon(at)))
			worstSun, worstMoon = max(worstSun, sun), max(worstMoon, moon)
			if sun > bound || moon > bound {
				t.Fatalf("sun %g°, moon %g° from the full path", sun, moon)
			}
			if d := math.Abs((full.Altitude - fast.Altitude).Deg()); d > bound {
				t.Fatalf("refracted altitudes part by %g°", d)
			}
			if d := separation(vector(full), almanac.SunDirection(at)); d > bound {
				t.Fatalf("direction %g° from the full path", d)
			}
		}
	})
	t.Logf("largest difference: sun %.2g°, moon %.2g°", worstSun, worstMoon)
}

// Outside its days the almanac answers by the full path.
func TestAlmanacOutsideItsDays(t *testing.T) {
	place, at := paperPlace(t)
	almanac, err := sky.NewAlmanac(place, at, at)
	if err != nil {
		t.Fatal(err)
	}
	late := at.Add(40 * 86400)
	if almanac.Covers(late) {
		t.Fatal("covers a day that was not prepared")
	}
	if got, want := almanac.Sun(late), place.Sun(late); got != want {
		t.Errorf("sun %+v, full path %+v", got, want)
	}
	if got, want := almanac.Moon(late), place.Moon(late); got != want {
		t.Errorf("moon %+v, full path %+v", got, want)
	}
}

func TestAlmanacAllocatesNothing(t *testing.T) {
	place, at := paperPlace(t)
	almanac, err := sky.NewAlmanac(place, at, at.Add(86400))
	if err != nil {
		t.Fatal(err)
	}
	var sum float64
	if n := testing.AllocsPerRun(100, func() {
		sum += float64(almanac.Sun(at).Altitude+almanac.Moon(at).Altitude) + almanac.SunDirection(at).X
		sum += float64(place.Sun(at).Altitude)
	}); n != 0 {
		t.Errorf("%g allocations in one look", n)
	}
}

func BenchmarkSunFull(b *testing.B) {
	place, at := benchPlace(b)
	for b.Loop() {
		at = at.Add(60)
		position = place.Sun(at)
	}
}

func BenchmarkMoonFull(b *testing.B) {
	place, at := benchPlace(b)
	for b.Loop() {
		at = at.Add(60)
		position = place.Moon(at)
	}
}

func benchAlmanac(b *testing.B) (*sky.Almanac, sky.Instant) {
	place, at := benchPlace(b)
	almanac, err := sky.NewAlmanac(place, at, at.Add(366*86400))
	if err != nil {
		b.Fatal(err)
	}
	return almanac, at
}

func BenchmarkSunFast(b *testing.B) {
	almanac, at := benchAlmanac(b)
	i := 0
	for b.Loop() {
		i = (i + 1) % (365 * 1440)
		position = almanac.Sun(at.Add(float64(i) * 60))
	}
}

func BenchmarkSunDirection(b *testing.B) {
	almanac, at := benchAlmanac(b)
	i := 0
	for b.Loop() {
		i = (i + 1) % (365 * 1440)
		toward = almanac.SunDirection(at.Add(float64(i) * 60))
	}
}

func BenchmarkMoonFast(b *testing.B) {
	almanac, at := benchAlmanac(b)
	i := 0
	for b.Loop() {
		i = (i + 1) % (365 * 1440)
		position = almanac.Moon(at.Add(float64(i) * 60))
	}
}

func BenchmarkAlmanacDay(b *testing.B) {
	place, at := benchPlace(b)
	for b.Loop() {
		if _, err := sky.NewAlmanac(place, at, at); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSunDay(b *testing.B) {
	place, _ := benchPlace(b)
	date := time.Date(2026, 6, 21, 0, 0, 0, 0, time.UTC)
	for b.Loop() {
		if _, err := place.SunDay(date); err != nil {
			b.Fatal(err)
		}
	}
}

// The results of benchmarks, kept so that no work is optimised away.
var (
	position sky.Position
	toward   geo.Vec3
)

func benchPlace(b *testing.B) (sky.Place, sky.Instant) {
	place, err := sky.NewPlace(46.6*unit.Degree, 10.3*unit.Degree, 1800)
	if err != nil {
		b.Fatal(err)
	}
	return place, instant(b, time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC))
}
