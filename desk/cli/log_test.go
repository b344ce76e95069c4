package cli_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fieldfare/desk/cli"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

// logRun executes one command line given as words.
func logRun(t *testing.T, want int, args ...string) (out, errOut string) {
	t.Helper()
	var o, e bytes.Buffer
	if code := cli.Run(context.Background(), args, &o, &e); code != want {
		t.Fatalf("%q: exit %d, want %d\n%s%s", args, code, want, o.String(), e.String())
	}
	return o.String(), e.String()
}

// flatShoot starts a shoot folder on flat ground at 1500 m.
func flatShoot(t *testing.T) (dir string, a *assess.Assessor) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "shoot")
	logRun(t, 0, "new", dir, "--at", "46.6 N, 10.3 E", "--date", "2026-09-22")
	grid := make([]byte, 0, 1201*1201*2)
	for range 1201 * 1201 {
		grid = binary.BigEndian.AppendUint16(grid, 1500)
	}
	if err := os.WriteFile(filepath.Join(dir, "N46E010.hgt"), grid, 0o600); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "shoot.yaml")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	text = bytes.Replace(text, []byte("terrain: terrain.tif "), []byte("terrain: N46E010.hgt "), 1)
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := shoot.Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	if a, err = assess.New(context.Background(), s); err != nil {
		t.Fatal(err)
	}
	return dir, a
}

// recording writes the slate's path as a CSV, 2 m higher, with a minute of hover before
// and after, on a recorder whose clock runs by behind.
func recording(t *testing.T, a *assess.Assessor, slate string, cue time.Time, behind time.Duration) string {
	t.Helper()
	p := a.Take(slate).Path.Samples
	var b strings.Builder
	b.WriteString("time,latitude,longitude,altitude (m),heading,gimbal pan,gimbal tilt,voltage (V),current (A)\n")
	for u := -60.0; u <= p[len(p)-1].T+60; u += 0.2 {
		i := 0
		for i+1 < len(p) && p[i+1].T <= u {
			i++
		}
		g := a.Shoot.Frame().ToLatLon(p[i].Pos)
		fmt.Fprintf(&b, "%s,%.8f,%.8f,%.3f,%.3f,%.3f,%.3f,44.4,20\n", cue.Add(time.Duration(u*1e9)-behind).UTC().Format("2006-01-02T15:04:05.000Z"), g.Lat.Deg(), g.Lon.Deg(), p[i].Pos.Z+2, p[i].Yaw.Deg(), p[i].Pan.Deg(), p[i].Tilt.Deg())
	}
	file := filepath.Join(t.TempDir(), "flight.csv")
	if err := os.WriteFile(file, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// A sortie from the first entry to its review: the answers follow from how the
// recording was made (2 m high, clock two hours behind, 44.4 V and 20 A).
func TestLogFromEntryToReview(t *testing.T) {
	dir, a := flatShoot(t)
	log := "--log=" + filepath.Join(t.TempDir(), "log.db")
	cue := time.Date(2026, 9, 22, 10, 0, 0, 0, time.UTC)
	slate := a.Shoot.Slates[0].Slate
	last := a.Take(slate).Path.Samples[len(a.Take(slate).Path.Samples)-1].T
	end := cue.Add(time.Duration(last * 1e9))
	add := func(args ...string) string {
		out, _ := logRun(t, 0, append([]string{"log", log, "--by", "M. Scribe", "--json", "add"}, args...)...)
		var r []struct{ ID string }
		if err := json.Unmarshal([]byte(out), &r); err != nil || len(r) != 1 {
			t.Fatal(out, err)
		}
		return r[0].ID
	}
	add("sortie", "sortie=1", "aircraft=X1", "pilot=Pilot", "pack=P1", "shot_class=wide and open", "take_off="+cue.Add(-time.Minute).Format(time.RFC3339), "landing="+end.Add(time.Minute).Format(time.RFC3339))
	take := add("take", "sortie=1", "slate="+slate, "take=1", "from="+cue.Format(time.RFC3339), "to="+end.Format(time.RFC3339Nano))
	logRun(t, 0, "log", log, "--by", "M. Scribe", "correct", take, "circled=yes", "--why", "director's choice")
	file := recording(t, a, slate, cue, 2*time.Hour)

	_, msg := logRun(t, 2, "log", log, "--by", "M. Scribe", "import", file, "--sortie", "1")
	if !strings.Contains(msg, "which column holds what?") || !strings.Contains(msg, "height=altitude (m):m") {
		t.Errorf("the column map should be asked and suggested: %s", msg)
	}
	_, msg = logRun(t, 2, "log", log, "--by", "M. Scribe", "import", file, "--sortie", "1", "--confirm")
	if !strings.Contains(msg, "the recording runs") || !strings.Contains(msg, "--offset=") {
		t.Errorf("a recording of another hour should be asked about: %s", msg)
	}
	for round := range 2 {
		out, _ := logRun(t, 0, "log", log, "--by", "M. Scribe", "--json", "import", file, "--sortie", "1", "--confirm", "--shoot", dir)
		var got struct {
			Offset  float64 `json:"clock_offset_s"`
			From    string  `json:"clock_offset_from"`
			SHA256  string
			Caution string
			Receipt struct{ Repeat bool }
		}
		if err := json.Unmarshal([]byte(out), &got); err != nil {
			t.Fatal(err)
		}
		if d := got.Offset - 7200; d < -0.3 || d > 0.3 || !strings.Contains(got.From, "+2 h") || got.Receipt.Repeat != (round == 1) || got.Caution == "" {
			t.Errorf("round %d: %+v", round, got)
		}
		if !strings.Contains(out, "the recording begins +") { // it begins in the hover before the take
			t.Error(out)
		}
		if round == 1 {
			want, _ := os.ReadFile(file)
			if out, _ := logRun(t, 0, "log", log, "fetch", got.SHA256); out != string(want) {
				t.Error("the original came back otherwise")
			}
			to := filepath.Join(t.TempDir(), "original")
			logRun(t, 0, "log", log, "fetch", got.SHA256, "--to", to)
			if back, err := os.ReadFile(to); err != nil || string(back) != string(want) {
				t.Errorf("the original came back otherwise as a file: %v", err)
			}
			if _, msg := logRun(t, 2, "log", log, "fetch", got.SHA256, "--to", to); !strings.Contains(msg, "exists; choose another name") {
				t.Error(msg)
			}
		}
	}
	add("sortie", "sortie=2", "aircraft=X1", "pilot=Pilot", "take_off="+end.Add(time.Hour).Format(time.RFC3339), "landing="+end.Add(2*time.Hour).Format(time.RFC3339))
	if _, msg := logRun(t, 2, "log", log, "--by", "M. Scribe", "import", file, "--sortie", "2", "--confirm", "--offset", "3600s"); !strings.Contains(msg, "tied to another sortie") {
		t.Error(msg)
	}
	pdf := filepath.Join(t.TempDir(), "review.pdf")
	var o, e bytes.Buffer
	if code := cli.Run(context.Background(), []string{"log", log, "--json", "review", dir, "1", "--pdf", pdf}, &o, &e); code == 2 {
		t.Fatal(e.String())
	}
	var r struct {
		Max    float64  `json:"max_above_ground_m"`
		Energy float64  `json:"energy_used_wh"`
		Ratio  *float64 `json:"energy_ratio"`
		Change []string
		Takes  []struct {
			Up  struct{ Mean float64 } `json:"up_m"`
			Aim struct{ RMS float64 }  `json:"aim_error_deg"`
		}
		Caution string
	}
	if err := json.Unmarshal(o.Bytes(), &r); err != nil {
		t.Fatal(err)
	}
	// Two metres higher with the same aim, the subject some 70 m away stands lower in the frame by about 1.7 deg.
	if len(r.Takes) != 1 || r.Takes[0].Up.Mean < 1.9 || r.Takes[0].Up.Mean > 2.1 || r.Takes[0].Aim.RMS < 1 || r.Takes[0].Aim.RMS > 2.5 || r.Caution == "" {
		t.Errorf("%+v", r)
	}
	if want := 44.4 * 20 * (last + 120) / 3600; r.Energy < want*0.99 || r.Energy > want*1.01 || r.Ratio == nil {
		t.Errorf("energy %.2f Wh, want %.2f; ratio %v", r.Energy, want, r.Ratio)
	}
	if !strings.Contains(strings.Join(r.Change, "\n"), "m above the plan on the whole") {
		t.Error(r.Change)
	}
	if head, err := os.ReadFile(pdf); err != nil || !bytes.HasPrefix(head, []byte("%PDF-")) {
		t.Error("no PDF:", err)
	}
	out, _ := logRun(t, 0, "log", log, "--by", "Chief", "--json", "score", dir, "1", "--class", "near objects")
	if !strings.Contains(out, `"passed": "yes"`) && !strings.Contains(out, `"passed": "no"`) {
		t.Error(out)
	}
	logRun(t, 0, "log", log, "--by", "Chief", "score", dir, "1", "--class", "near objects") // again: marks once
	if out, _ := logRun(t, 0, "log", log, "--json", "list", "--kind", "practice"); strings.Count(out, `"kind": "practice"`) != 1 {
		t.Error(out)
	}
}

func TestLogBookkeeping(t *testing.T) {
	folder := t.TempDir()
	log := "--log=" + filepath.Join(folder, "log.db")
	by := []string{"log", log, "--by", "M. Scribe"}
	do := func(want int, args ...string) (string, string) {
		return logRun(t, want, append(append([]string{}, by...), args...)...)
	}
	do(0, "add", "remark", "text=the book begins")
	for _, c := range [][2]string{
		{"add poem", `kind "poem"`}, {"add take slat=4B", "expected key=value with one of the keys sortie, slate, take"}, {"add take slate=4B take=x", "whole number"},
		{"add take slate=4B", "take 0"}, {"add take slate=4B take=1 circled=maybe", "yes or no"}, {"add take slate=4B take=1 from=10:00", "with its zone"}, {"strike 000000000000 --why x", "no such entry"},
		{"import /dev/null --sortie 9", `no sortie "9"`}, {"list --kind poem", `kind "poem"`}, {"report hours --zone Nowhere/Land", "is not known"}, {"learn --accept x:y", "no proposal"},
	} {
		if _, msg := do(2, strings.Fields(c[0])...); !strings.Contains(msg, c[1]) {
			t.Errorf("%s: got %q, want %q", c[0], msg, c[1])
		}
	}
	if _, msg := logRun(t, 2, "log", "--log="+filepath.Join(folder, "typo.db"), "verify"); !strings.Contains(msg, "no logbook at") {
		t.Error(msg)
	}
	if out, _ := do(0, "add", "incident", "severity=near-miss", "what=a bird struck at the aircraft", "place=north ridge", "aircraft=X1", "pilot=Ana", "injuries=none"); !strings.Contains(out, "does not yet have: position, height") {
		t.Error(out)
	}
	if _, msg := logRun(t, 2, "log", log, "add", "remark", "text=x"); !strings.Contains(msg, "who writes?") {
		t.Error(msg)
	}
	entries := filepath.Join(folder, "entries.json")
	var list []string
	for i := range 8 {
		off := time.Date(2026, 9, 22, 8, 20*i, 0, 0, time.UTC)
		list = append(list, fmt.Sprintf(`{"id":"field-%04d","kind":"sortie","at":%q,"by":"Tablet","body":{"sortie":"%d","aircraft":"X1","pilot":"Ana","pack":"P%d","take_off":%q,"landing":%q,"energy_planned_wh":50,"energy_used_wh":%g,"permits":["P-7"]}}`,
			i, off.Format(time.RFC3339), i, i%2, off.Format(time.RFC3339), off.Add(12*time.Minute).Format(time.RFC3339), 55+0.2*float64(i%3)))
	}
	os.WriteFile(entries, []byte("["+strings.Join(list, ",")+"]"), 0o600)
	for range 2 {
		do(0, "add", "--from", entries)
	}
	if out, _ := do(0, "--json", "verify"); !strings.Contains(out, `"entries": 10`) {
		t.Error(out)
	}
	if out, _ := do(0, "report", "hours"); !strings.Contains(out, "1.60") || !strings.Contains(out, "Unknown is never safe") { // 8 times 12 min
		t.Error(out)
	}
	if out, _ := do(0, "report", "permits", "--csv"); !strings.HasPrefix(out, "period,permit,sorties,hours,caution\r\n2026-09,P-7,8,1.60,\"A record, not a release to fly.") {
		t.Errorf("%q", out)
	}
	out, _ := do(0, "learn", "--accept", "power_factor:X1")
	if !strings.Contains(out, "power_factor of X1: old 1, new 1.10") || !strings.Contains(out, "setup_time_s of crew: old none, new 480") || !strings.Contains(out, "accepted") {
		t.Error(out)
	}
	if out, _ := do(0, "learn"); !strings.Contains(out, "power_factor of X1: old 1.10") {
		t.Error("the accepted value is not the old one now:", out)
	}
	if out, _ := do(0, "packs"); strings.Count(out, "unknown: pack") != 2 {
		t.Error("packs never measured are unknown:", out)
	}
	if out, _ := do(1, "ladder", "Ana", "--class", "near objects", "--at", "2026-09-23"); !strings.Contains(out, `practise "wide and open" first`) {
		t.Error(out)
	}
	do(0, "strike", "field-0003", "--why", "did not fly")
	do(2, "strike", "field-0003", "--why", "again")
	if out, _ := do(0, "report", "aircraft", "--per", "all"); !strings.Contains(out, "1.40") {
		t.Error(out)
	}
	do(0, "correct", "field-0003", "pilot=Ben", "--why", "it did fly")
	if out, _ := do(0, "report", "aircraft", "--per", "all"); !strings.Contains(out, "1.60") {
		t.Error(out)
	}
	backup := filepath.Join(folder, "backup.db")
	do(0, "backup", backup)
	do(2, "backup", backup)
	restored := filepath.Join(folder, "restored.db")
	a, _ := logRun(t, 0, "log", "--log="+restored, "--json", "restore", backup)
	b, _ := do(0, "--json", "verify")
	if a != b {
		t.Error("restored otherwise:", a, b)
	}
	if out, _ := do(0, "report", "day", "--day", "2026-09-22", "--zone", "Europe/Zurich"); !strings.Contains(out, "first take-off             10:00:00") {
		t.Error(out)
	}
}

// A pilot without hours is sent to the lowest rung not earned; its shoot can be checked.
func TestPractice(t *testing.T) {
	dir, _ := flatShoot(t) // for its terrain
	log := filepath.Join(t.TempDir(), "log.db")
	logRun(t, 0, "log", "--log", log, "--by", "M. Scribe", "add", "remark", "text=the book begins")
	to := filepath.Join(t.TempDir(), "practice")
	where := []string{"--at", "46.6 N, 10.3 E", "--date", "2026-09-22", "--zone", "Europe/Zurich", "--terrain", filepath.Join(dir, "N46E010.hgt"), "--pilot", "Ana"}
	out, _ := logRun(t, 0, append([]string{"practice", to, "--log", log}, where...)...)
	if !strings.Contains(out, `practice for "wide and open"`) || !strings.Contains(out, "Unknown is never safe") {
		t.Error(out)
	}
	if s, err := shoot.Load(to); err != nil || len(s.Slates) != 4 {
		t.Error(err)
	}
	if _, msg := logRun(t, 2, append([]string{"practice", to, "--class", "trainer"}, where...)...); !strings.Contains(msg, "already holds") {
		t.Error(msg)
	}
	if _, msg := logRun(t, 2, append([]string{"practice", to + "2", "--class", "easy"}, where...)...); !strings.Contains(msg, "not on the ladder") {
		t.Error(msg)
	}
}
