package cli_test

import (
	"bytes"
	"context"
	"regexp"
	"strings"
	"testing"

	"fieldfare/desk/cli"
)

// What is wrong on the command line is told with the value, what was expected and how to mend it, never in
// the words of the language that the program is written in.
func TestFlagsInWords(t *testing.T) {
	dir := "../../examples/last-milk-run"
	const now = "2026-09-22T11:00:00+02:00"
	language := regexp.MustCompile(`parsing time|strconv|invalid syntax|expected a|64 bit|openat|2006-01-02`)
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"day", dir, "--now", "11:00"}, `--now: "11:00" is not an instant: write date, time and offset from UTC, as in 2026`},
		{[]string{"card", dir, "1A", "--at", "1800-01-01T00:00:00Z"}, "lies outside 1950 to 2100"},
		{[]string{"day", dir, "--limit", "2"}, `--limit: "2" is not a time to take: write a number above 0 and its unit`},
		{[]string{"day", dir, "--limit", "-2s"}, "above 0"},
		{[]string{"day", dir, "--odds", "-4"}, "--odds -4: expected"},
		{[]string{"day", dir, "--odds", "many"}, `"many" is not a whole number`},
		{[]string{"day", dir, "--seed", "-1"}, `"-1" is not a whole number from 0 on`},
		{[]string{"day", dir, "--now", now, "--wind", "-3m/s"}, "--wind -3 m/s: expected 0 m/s to 120 m/s"},
		{[]string{"day", dir, "--now", now, "--wind", "9m/s", "--gust", "5m/s"}, "--gust 5 m/s is below --wind 9 m/s"},
		{[]string{"day", dir, "--now", now, "--pack", "P1=40"}, "as in --pack P1=40%"},
		{[]string{"card", dir, "1A", "--meter", "abc"}, `--meter: "abc" is not a number`},
		{[]string{"card", dir, "1A", "--lux", "NaN"}, `--lux: "NaN" is not a number`},
		{[]string{"light", dir, "1A", "--top", "0"}, "--top 0: expected"},
		{[]string{"log", "report", "hours", "--from", "1.5.2026"}, `"1.5.2026" is not a date: write year-month-day`},
		{[]string{"check"}, "`fieldfare check --help` tells what it takes"},
		{[]string{"rigs", dir}, "`fieldfare rigs --help` tells what it takes"},
		{[]string{"new", "x", "--at", "46.6 N, 10.3 E", "--date", "2026-09-22", "--zone", "Mars/Base"}, `--zone: "Mars/Base" is not a time zone: give an IANA name, as in Europe/Zurich`},
	} {
		var out, errOut bytes.Buffer
		if code := cli.Run(context.Background(), c.args, &out, &errOut); code != 2 {
			t.Errorf("%s: exit %d, want 2\n%s", strings.Join(c.args, " "), code, errOut.String())
		}
		if got := errOut.String(); !strings.Contains(got, c.want) || language.MatchString(got) {
			t.Errorf("%s:\n%s does not say %q", strings.Join(c.args, " "), got, c.want)
		}
	}
}
