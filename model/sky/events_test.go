package sky_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

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

// Local days from the IANA time zone database: ordinary, 23, 25 and 24.5 hours long, with a
// midnight that is skipped or comes twice, and before a date that the zone left out.
func TestLocalDay(t *testing.T) {
	for _, row := range []struct {
		zone, date, from, to string
		hours                float64
	}{
		{"Europe/Zurich", "2026-06-21", "2026-06-21T00:00:00+02:00", "2026-06-22T00:00:00+02:00", 24},
		{"Europe/Zurich", "2026-03-29", "2026-03-29T00:00:00+01:00", "2026-03-30T00:00:00+02:00", 23},
		{"Europe/Zurich", "2026-10-25", "2026-10-25T00:00:00+02:00", "2026-10-26T00:00:00+01:00", 25},
		{"Australia/Lord_Howe", "2026-04-05", "2026-04-05T00:00:00+11:00", "2026-04-06T00:00:00+10:30", 24.5},
		{"America/Sao_Paulo", "2018-11-04", "2018-11-04T01:00:00-02:00", "2018-11-05T00:00:00-02:00", 23},
		{"America/Sao_Paulo", "2018-11-03", "2018-11-03T00:00:00-03:00", "2018-11-04T01:00:00-02:00", 24},
		{"America/Sao_Paulo", "2018-02-17", "2018-02-17T00:00:00-02:00", "2018-02-18T00:00:00-03:00", 25},
		{"America/Havana", "2026-11-01", "2026-11-01T00:00:00-04:00", "2026-11-02T00:00:00-05:00", 25},
		{"America/Havana", "2026-10-31", "2026-10-31T00:00:00-04:00", "2026-11-01T00:00:00-04:00", 24},
		{"Pacific/Apia", "2011-12-29", "2011-12-29T00:00:00-10:00", "2011-12-31T00:00:00+14:00", 24},
	} {
		zone, err := time.LoadLocation(row.zone)
		if err != nil {
			t.Fatal(err)
		}
		noon, err := time.ParseInLocation("2006-01-02 15", row.date+" 12", zone)
		if err != nil {
			t.Fatal(err)
		}
		from, to := sky.LocalDay(noon)
		if from.Format(time.RFC3339) != row.from || to.Format(time.RFC3339) != row.to || to.Sub(from).Hours() != row.hours {
			t.Errorf("%s %s runs from %s to %s, want %s to %s", row.zone, row.date, from.Format(time.RFC3339), to.Format(time.RFC3339), row.from, row.to)
		}
	}
}

// Each instant lies in the local day that it says it does.
func TestLocalDayHoldsItsInstants(t *testing.T) {
	zones := []string{"Europe/Zurich", "America/Havana", "America/Sao_Paulo", "Australia/Lord_Howe", "Pacific/Apia", "Asia/Kathmandu", "Asia/Beirut", "Atlantic/Azores"}
	rapid.Check(t, func(t *rapid.T) {
		zone, err := time.LoadLocation(rapid.SampledFrom(zones).Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		at := time.Unix(rapid.Int64Range(-631152000, 4102444800).Draw(t, "at"), 0).In(zone)
		from, to := sky.LocalDay(at)
		if at.Before(from) || !at.Before(to) {
			t.Fatalf("%s is outside its own day %s to %s", at, from, to)
		}
		if from.Day() != at.Day() || from.Add(-time.Second).Day() == at.Day() || to.Add(-time.Second).Day() != at.Day() {
			t.Fatalf("the day of %s cannot run from %s to %s", at, from, to)
		}
	})
}
