package cli_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestPlanningAgain(t *testing.T) {
	now := "2026-09-22T11:20:00+02:00"
	out, errs, code := run(t, "day", demoDir, "--now", now, "--done", "1A,1C", "--wind", "5.5m/s", "--pack", "P1=55%", "--json")
	if code != 0 {
		t.Fatalf("exit %d: %s", code, errs)
	}
	var r struct {
		Days []struct {
			Sorties []struct {
				Start  time.Time
				Slates []struct{ Slate string }
			}
		}
		Changes []struct{ Slate, Kind, Sentence string }
		LeftOut []struct{ Slate string } `json:"left_out"`
	}
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err)
	}
	at, _ := time.Parse(time.RFC3339, now)
	done := map[string]bool{"1A": true, "1C": true}
	for _, d := range r.Days {
		for _, s := range d.Sorties {
			for _, x := range s.Slates {
				if !done[x.Slate] && s.Start.Before(at) {
					t.Errorf("%s takes off at %v, before now", x.Slate, s.Start)
				}
			}
		}
	}
	said := map[string]string{}
	for _, c := range r.Changes {
		said[c.Slate] = c.Kind
		if c.Sentence == "" {
			t.Errorf("nothing is said of %s", c.Slate)
		}
	}
	if said["1A"] != "done" || said["1C"] != "done" {
		t.Errorf("what is done is not: %v", said)
	}
	// 5.5 m/s at 10 m is more than the house rule's share of the machine's limit at flying height, so nothing
	// more flies on the first day.
	for _, s := range r.Days[0].Sorties {
		for _, x := range s.Slates {
			if !done[x.Slate] && s.Start.Before(at.Add(12*time.Hour)) {
				t.Errorf("%s flies in too much wind", x.Slate)
			}
		}
	}
}

func TestPlanningAgainWantsTheTime(t *testing.T) {
	if _, errs, code := run(t, "day", demoDir, "--done", "1A"); code != 2 || !strings.Contains(errs, "--now") {
		t.Errorf("exit %d: %s", code, errs)
	}
	if _, errs, code := run(t, "day", demoDir, "--now", "2026-09-22T11:20:00+02:00", "--done", "9Z"); code != 2 || !strings.Contains(errs, "9Z") {
		t.Errorf("exit %d: %s", code, errs)
	}
}

func TestDayStripIsDrawn(t *testing.T) {
	name := filepath.Join(t.TempDir(), "strip")
	if _, errs, code := run(t, "day", demoDir, "--svg", name); code != 0 {
		t.Fatalf("exit %d: %s", code, errs)
	}
	for _, date := range []string{"2026-09-22", "2026-09-23"} {
		src, err := os.ReadFile(name + "-" + date + ".svg")
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(src), "<svg") || !strings.Contains(string(src), "2C") {
			t.Errorf("the strip of %s shows no slate", date)
		}
	}
	if _, errs, code := run(t, "day", demoDir, "--svg", name); code != 2 || !strings.Contains(errs, "--force") {
		t.Errorf("wrote over a file: exit %d, %s", code, errs)
	}
}

// The demo's day is proved, so that two runs give the same bytes and a user sees what a proof looks like.
func TestDemoIsProved(t *testing.T) {
	out, _, _ := run(t, "day", demoDir, "--json")
	var r struct {
		Proved bool
		Gap    float64
		Days   []struct{ Call time.Time }
	}
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err)
	}
	if !r.Proved || r.Gap != 0 {
		t.Errorf("proved %v, gap %g", r.Proved, r.Gap)
	}
	for _, d := range r.Days {
		if d.Call.Format("15:04") != "06:00" {
			t.Errorf("the call is at %v, the shoot file says 06:00", d.Call)
		}
	}
}
