package sky_test

import (
	"math"
	"testing"
	"time"

	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

func TestTrack(t *testing.T) {
	place, at := paperPlace(t)
	almanac, err := sky.NewAlmanac(place, at, at.Add(86400))
	if err != nil {
		t.Fatal(err)
	}
	points := almanac.SunTrack(at, 1000, 300)
	if len(points) != 5 || points[4].AfterS != 1000 || points[3].AfterS != 900 {
		t.Fatalf("track %+v: want points at 0, 300, 600, 900 and 1000 s", points)
	}
	check(t, paper, "azimuth at the start", points[0].Azimuth.Deg(), 194.340241, 1e-5)
	if got := almanac.MoonTrack(at, -1, 300); got != nil {
		t.Errorf("a reversed track gives %v", got)
	}
}

func TestSkyline(t *testing.T) {
	s := sky.Skyline{0.1, 0.2, 0.3, 0.4} // north, east, south, west
	for azimuth, want := range map[float64]float64{0: 0.1, 45: 0.15, 90: 0.2, 315: 0.25, -45: 0.25, 359.999: 0.1, 720: 0.1} {
		check(t, "linear interpolation", "elevation", float64(s.At(unit.Angle(azimuth)*unit.Degree)), want, 1e-5)
	}
	check(t, "definition", "level horizon", float64(sky.Skyline(nil).At(1)), 0, 0)
}

// Over a level skyline the sun's centre shows when the apparent altitude is zero: half a disc
// after the published sunrise of the first limb, about a minute and a half at the paper's place.
func TestSunOverSkyline(t *testing.T) {
	place, _ := paperPlace(t)
	from := instant(t, time.Date(2003, 10, 17, 7, 0, 0, 0, time.UTC))
	almanac, err := sky.NewAlmanac(place, from, from.Add(86400))
	if err != nil {
		t.Fatal(err)
	}
	wall := make(sky.Skyline, 360)
	for i := range wall {
		wall[i] = 10 * unit.Degree
	}
	for _, row := range []struct {
		line sky.Skyline
		at   float64
	}{{nil, 0}, {wall, 10}} {
		found := sky.Crossings(func(s float64) float64 { return float64(almanac.SunOver(row.line, from.Add(s))) }, 0, 86400, 60, 0.01)
		if len(found) != 2 || !found[0].Rising || found[1].Rising {
			t.Fatalf("crossings %+v: want one rise and one set", found)
		}
		for _, c := range found {
			check(t, "definition", "altitude at the crossing", place.Sun(from.Add(c.At)).Altitude.Deg(), row.at, 1e-4)
		}
	}
	rise := sky.Crossings(func(s float64) float64 { return float64(almanac.SunOver(nil, from.Add(s))) }, 0, 86400, 60, 0.01)[0].At
	published := time.Date(2003, 10, 17, 13, 12, 43, 0, time.UTC).Sub(time.Date(2003, 10, 17, 7, 0, 0, 0, time.UTC)).Seconds()
	if late := rise - published; late < 20 || late > 200 || math.IsNaN(late) {
		t.Errorf("the centre comes %.0f s after the published sunrise of the limb", late)
	}
}
