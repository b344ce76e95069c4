package shoot_test

import (
	"testing"
	"time"

	"fieldfare/plan/shoot"
)

// A day begins at its first instant, which is not always 00:00. Source: IANA tz database 2025b,
// southamerica, Rule Chile: on the first Sunday from 2 September on, 04:00 UTC, the clock goes from 24:00 to 01:00;
// australasia, Rule NZ: on the last Sunday of September at 2:00 standard time.
func TestMidnight(t *testing.T) {
	for _, c := range []struct {
		zone string
		day  shoot.Date
		want string
	}{
		{"America/Santiago", shoot.Date{Year: 2026, Month: 9, Day: 6}, "2026-09-06T01:00:00-03:00"},
		{"America/Santiago", shoot.Date{Year: 2026, Month: 9, Day: 7}, "2026-09-07T00:00:00-03:00"},
		{"Pacific/Auckland", shoot.Date{Year: 2026, Month: 9, Day: 27}, "2026-09-27T00:00:00+12:00"},
		{"Pacific/Auckland", shoot.Date{Year: 2026, Month: 9, Day: 28}, "2026-09-28T00:00:00+13:00"},
	} {
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		if got := c.day.Midnight(zone).Format(time.RFC3339); got != c.want {
			t.Errorf("%s in %s begins at %s, want %s", c.day, c.zone, got, c.want)
		}
	}
}
