package report_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fieldfare/desk/logbook"
	"fieldfare/desk/report"
	"fieldfare/desk/review"
	"fieldfare/desk/track"
	"fieldfare/model/geo"
)

var zone = time.FixedZone("local", 2*3600)

func at(text string) time.Time {
	t, err := time.ParseInLocation("2006-01-02 15:04", text, zone)
	if err != nil {
		panic(err)
	}
	return t
}

func standing(when time.Time, b logbook.Body) logbook.Standing {
	return logbook.Standing{Entry: logbook.Entry{Kind: b.Kind(), At: when, By: "M. Scribe"}, First: "first-id", Fact: b}
}

func sortie(ref, off string, minutes int, aircraft, pilot, operator string, permits ...string) logbook.Standing {
	t := at(off)
	return standing(t, &logbook.Sortie{Sortie: ref, Aircraft: aircraft, AircraftClass: "hexa", Pilot: pilot, Operator: operator, ShotClass: logbook.WideOpen, Pack: "P" + ref, TakeOff: t, Landing: t.Add(time.Duration(minutes) * time.Minute), Permits: permits})
}

// The sums below are worked by hand: 12 + 18 min = 0.50 h, 30 min = 0.50 h, 15 min = 0.25 h.
func log() []logbook.Standing {
	return []logbook.Standing{
		standing(at("2026-01-01 00:00"), &logbook.Hours{Person: "Ana", Role: "pilot", FlownS: 36000, Source: "old log"}),
		standing(at("2026-06-01 09:00"), &logbook.Upkeep{Aircraft: "A1", Work: "propellers", NextAfterS: ptr(3600), Serviceable: true}),
		sortie("1", "2026-06-21 10:00", 12, "A1", "Ana", "Ben", "P-7"),
		sortie("2", "2026-06-21 11:00", 18, "A1", "Ana", "Ben", "P-7"),
		standing(at("2026-06-21 11:05"), &logbook.Take{Slate: "4B", Take: 1, Circled: true, Sortie: "2", From: at("2026-06-21 11:03"), To: at("2026-06-21 11:04"), Notes: "=HYPERLINK(1)"}),
		standing(at("2026-06-21 11:08"), &logbook.Take{Slate: "4B", Take: 2, Sortie: "2"}),
		standing(at("2026-06-21 11:30"), &logbook.Incident{Severity: "near-miss", What: "a glider passed below", Place: "north ridge", Aircraft: "A1", Pilot: "Ana", Injuries: "none"}),
		sortie("3", "2026-06-22 01:30", 30, "A1", "Cho", ""), // 23:30 UTC of the 21st
		sortie("4", "2026-07-01 10:00", 15, "A2", "Ana", ""),
	}
}

func ptr(v float64) *float64 { return &v }

func rows(t *report.Table) string {
	var b strings.Builder
	for _, r := range t.Rows {
		b.WriteString(strings.Join(r, "|") + "\n")
	}
	return b.String()
}

func TestHours(t *testing.T) {
	for _, c := range []struct {
		got  *report.Table
		want string
	}{
		{report.People(log(), report.Month, zone), "2026-06|Ana|pilot|hexa|wide and open|2|0.50\n2026-06|Ben|operator|hexa|wide and open|2|0.50\n2026-06|Cho|pilot|hexa|wide and open|1|0.50\n2026-07|Ana|pilot|hexa|wide and open|1|0.25\nbefore|Ana|pilot|||0|10.00\n"},
		{report.Aircraft(log(), report.Day, zone), "2026-06-21|A1|hexa|2|0.50\n2026-06-22|A1|hexa|1|0.50\n2026-07-01|A2|hexa|1|0.25\n"},
		{report.Aircraft(log(), report.Day, time.UTC), "2026-06-21|A1|hexa|3|1.00\n2026-07-01|A2|hexa|1|0.25\n"},
		{report.Permits(log(), report.All, zone), "all|P-7|2|0.50\nall|none logged|2|0.75\n"},
	} {
		if rows(c.got) != c.want {
			t.Errorf("%s: got\n%swant\n%s", c.got.Title, rows(c.got), c.want)
		}
	}
}

func TestUpkeep(t *testing.T) {
	now := at("2026-07-02 00:00")
	got := rows(report.Upkeep(log(), now))
	// 12 + 18 + 30 min flown since: exactly the hour allowed.
	if !strings.Contains(got, "A1|3|1.00|propellers|2026-06-01|0.00||stop|overdue by 0.0 h") || !strings.Contains(got, "A2|1|0.25|||||unknown|no upkeep is logged") {
		t.Error(got)
	}
	l := append(log(), standing(at("2026-07-01 12:00"), &logbook.Upkeep{Aircraft: "A2", Work: "yearly", NextBy: at("2026-07-10 00:00"), Serviceable: true}))
	if got := rows(report.Upkeep(l, now)); !strings.Contains(got, "A2|1|0.25|yearly|2026-07-01||2026-07-09|caution|due by 2026-07-09") && !strings.Contains(got, "caution|due by 2026-07-10") {
		t.Error(got)
	}
	l[len(l)-1].Fact.(*logbook.Upkeep).Serviceable = false
	if got := rows(report.Upkeep(l, now)); !strings.Contains(got, "stop|not released to fly after this work") {
		t.Error(got)
	}
}

func TestProductionReport(t *testing.T) {
	tables := report.Production(log(), at("2026-06-21 12:00"), zone)
	sum := rows(tables[0])
	for _, want := range []string{"first take-off|10:00:00", "last landing|11:18:00", "sorties|2", "hours flown|0.50", "takes|2", "circled takes|1", "incidents and near misses|1"} {
		if !strings.Contains(sum, want+"\n") {
			t.Errorf("lacks %q:\n%s", want, sum)
		}
	}
	if !strings.Contains(rows(tables[4]), "height") || !strings.Contains(rows(tables[1]), "unknown") {
		t.Error("what is unknown must be said:\n", rows(tables[4]), rows(tables[1]))
	}
}

func TestCSVIsSafe(t *testing.T) {
	var b bytes.Buffer
	tables := report.Production(log(), at("2026-06-21 12:00"), zone)
	if err := report.CSV(&b, tables[2]); err != nil {
		t.Fatal(err)
	}
	all, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(all) != 3 || all[0][0] != "slate" || all[1][8] != "'=HYPERLINK(1)" || all[0][9] != "caution" || all[2][9] != report.Caution {
		t.Errorf("%q %v", all, err)
	}
	b.Reset()
	if err := report.CSV(&b, tables...); err != nil {
		t.Fatal(err)
	}
	all, err = csv.NewReader(&b).ReadAll() // fails where records differ in length
	if err != nil || len(all) < 20 || strings.Join(all[0], " ") != "table row column value caution" {
		t.Errorf("%q %v", all, err)
	}
	found := false
	for _, row := range all[1:] {
		found = found || row[0] == tables[2].Title && row[1] == "1" && row[2] == "notes" && row[3] == "'=HYPERLINK(1)" && row[4] == report.Caution
	}
	if !found {
		t.Errorf("a cell is lost: %q", all)
	}
}

func text(t *testing.T, pdf []byte, name string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), name)
	if keep := os.Getenv("REPORT_KEEP"); keep != "" {
		file = filepath.Join(keep, name)
	}
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("qpdf", "--check", file).CombinedOutput(); err != nil && !strings.Contains(err.Error(), "not found") {
		t.Errorf("qpdf: %s", out)
	}
	out, err := exec.Command("pdftotext", "-layout", file, "-").Output()
	if err != nil {
		t.Skip("pdftotext is not at hand: ", err)
	}
	return strings.Join(strings.Fields(string(out)), " ")
}

// Read back by poppler's pdftotext and checked by qpdf.
func TestProductionPDF(t *testing.T) {
	var b bytes.Buffer
	l := log()
	for i := range 60 {
		l = append(l, standing(at("2026-06-21 12:00"), &logbook.Take{Slate: "9Ω", Take: i + 1, Notes: strings.Repeat("a long remark on the wind ", 4)}))
	}
	if err := report.PDF(&b, "Production report", at("2026-06-22 08:00"), report.Production(l, at("2026-06-21 12:00"), zone)...); err != nil {
		t.Fatal(err)
	}
	got := text(t, b.Bytes(), "day.pdf")
	for _, want := range []string{"hours flown 0.50", "a glider passed below", "9Ω 60", "A record, not a release to fly", "page 2"} {
		if !strings.Contains(got, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
}

func TestReviewPDF(t *testing.T) {
	cue := time.Date(2026, 6, 21, 10, 0, 0, 0, time.UTC)
	var path []review.Planned
	var fixes []review.Fix
	for i := range 601 {
		u := float64(i) / 10
		s, c := math.Sincos(u / 12)
		path = append(path, review.Planned{T: u, Pos: geo.Vec3{X: 60 * s, Y: 60 * c, Z: 1530 + u/4}, Vel: geo.Vec3{X: 5 * c, Y: -5 * s, Z: 0.25}})
	}
	for i := -400; i < 1000; i++ {
		p := path[min(max(i, 0), 600)]
		fixes = append(fixes, review.Fix{UnixS: float64(cue.Unix()) + float64(i)/10, Pos: p.Pos.Add(geo.Vec3{X: 2, Y: float64(min(i, 0)) / 5, Z: 1.5 * math.Sin(float64(i)/40)}), Vel: p.Vel, Has: track.Timed | track.Height})
	}
	r, err := review.Review(review.Flight{Sortie: "2026-06-21/1", Fixes: fixes, Limits: review.Limits{MaxSpeedMS: &review.Limit{Value: 4, Basis: "house rule"}}, Takes: []review.Take{{Slate: "4B", Take: 2, Cue: cue, Path: path}}})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := report.ReviewPDF(&b, r, cue); err != nil {
		t.Fatal(err)
	}
	got := text(t, b.Bytes(), "review.pdf")
	if strings.Contains(got, "page 4") {
		t.Error("a table's head was torn over pages")
	}
	for _, want := range []string{"Sortie 2026-06-21/1", "What to change", "Slate 4B take 2", "house rule", "Highest above ground unknown", "Planning aid only", "Planned and flown", "mean speed 5.0 m/s", "nearest people unknown unknown", "speed over ground", "4.0 m/s house rule", "distance from the plan", fmt.Sprintf("Fastest %.1f m/s", r.MaxSpeedMS)} {
		if !strings.Contains(got, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
}
