package sky_test

import (
	"testing"
	"time"

	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

// The paper's example day: sunrise, transit and sunset of 2003-10-17 in UT-7.
func TestPaperSunriseTransitSunset(t *testing.T) {
	place, _ := paperPlace(t)
	day, err := place.SunDay(time.Date(2003, 10, 17, 0, 0, 0, 0, time.FixedZone("", -7*3600)))
	if err != nil {
		t.Fatal(err)
	}
	// The paper works by UT days: the sunset it prints for the 17th is the one at 00:20 UT of
	// the 17th, which is the evening of the 16th at the place.
	eve, err := place.SunDay(time.Date(2003, 10, 16, 0, 0, 0, 0, time.FixedZone("", -7*3600)))
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		what string
		got  sky.Occurrence
		want time.Time
	}{
		{"sunrise", day.Sunrise, time.Date(2003, 10, 17, 13, 12, 43, 460e6, time.UTC)},
		{"transit", day.Transit, time.Date(2003, 10, 17, 18, 46, 4, 970e6, time.UTC)},
		{"sunset", eve.Sunset, time.Date(2003, 10, 17, 0, 20, 19, 190e6, time.UTC)},
	} {
		check(t, paper, row.what, row.got.At.Sub(row.want).Seconds(), 0, 1)
	}
}

// Table A2.1 of the paper: UT at the Greenwich meridian.
func TestPaperTable(t *testing.T) {
	for _, row := range []struct {
		y          int
		m          time.Month
		d          int
		latitude   unit.Angle
		rise, set  string
		toleranceS float64
	}{
		{1994, 1, 2, 35, "07:08:12.8", "16:59:55.9", 1},
		{1996, 7, 5, -35, "07:08:15.4", "17:01:04.5", 1},
		{2004, 12, 4, -35, "04:38:57.1", "19:02:02.5", 1},
	} {
		place, err := sky.NewPlace(row.latitude*unit.Degree, 0, 0)
		if err != nil {
			t.Fatal(err)
		}
		date := time.Date(row.y, row.m, row.d, 0, 0, 0, 0, time.UTC)
		day, err := place.SunDay(date)
		if err != nil {
			t.Fatal(err)
		}
		clock := func(s string) time.Time {
			c, err := time.Parse("2006-01-02 15:04:05", date.Format("2006-01-02 ")+s)
			if err != nil {
				t.Fatal(err)
			}
			return c
		}
		check(t, "NREL/TP-560-34302, table A2.1", date.String()+" sunrise", day.Sunrise.At.Sub(clock(row.rise)).Seconds(), 0, row.toleranceS)
		check(t, "NREL/TP-560-34302, table A2.1", date.String()+" sunset", day.Sunset.At.Sub(clock(row.set)).Seconds(), 0, row.toleranceS)
	}
}
