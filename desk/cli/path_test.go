package cli_test

import (
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fieldfare/desk/cli"
)

func TestPathTable(t *testing.T) {
	out, errs, code := run(t, "path", demoDir, "4B", "--csv")
	if code != 0 {
		t.Fatalf("exit %d: %s", code, errs)
	}
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 602 || len(rows[0]) != 14 { // 24 s at 25 frames a second, both ends, and the header
		t.Fatalf("%d rows of %d", len(rows), len(rows[0]))
	}
	for i, row := range rows[1:] {
		if row[13] != cli.SafetySentence {
			t.Fatalf("sample %d does not say what it is not: %q", i, row[13])
		}
		for k, cell := range row {
			if cell == "-0" || strings.HasPrefix(cell, "-0.") && strings.Trim(cell, "-0.") == "" || cell == "NaN" {
				t.Fatalf("sample %d: %s is %q", i, rows[0][k], cell)
			}
		}
	}
}

// TestPathNumbers: a span that follows a subject is as long as the way flown.
func TestPathNumbers(t *testing.T) {
	out, errs, code := run(t, "path", demoDir, "4B", "--json")
	if code != 0 {
		t.Fatalf("exit %d: %s", code, errs)
	}
	var r struct {
		Spans []struct {
			LengthM float64 `json:"length_m"`
		} `json:"spans"`
		Numbers struct {
			LengthM float64  `json:"length_m"`
			Class   string   `json:"class"`
			Why     string   `json:"class_reason"`
			Start   *float64 `json:"subject_height_start_percent"`
			Least   *float64 `json:"least_distance_to_framed_subject_m"`
			Horizon *float64 `json:"horizon_end_percent"`
			Free    *float64 `json:"escape_free_percent"`
		} `json:"numbers"`
		Samples []struct{ East_m, North_m, Height_above_sea_m float64 } `json:"samples"`
	}
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err)
	}
	flown := 0.0
	for i := 1; i < len(r.Samples); i++ {
		a, b := r.Samples[i-1], r.Samples[i]
		flown += math.Hypot(math.Hypot(b.East_m-a.East_m, b.North_m-a.North_m), b.Height_above_sea_m-a.Height_above_sea_m)
	}
	if len(r.Spans) != 1 || !(r.Spans[0].LengthM > 50) || math.Abs(r.Spans[0].LengthM-flown) > 0.01 {
		t.Errorf("spans %+v, flown %.2f m", r.Spans, flown)
	}
	n := r.Numbers
	if n.Class != "close to moving subjects" || !strings.Contains(n.Why, "truck") {
		t.Errorf("class %q: %q", n.Class, n.Why)
	}
	if n.Start == nil || n.Least == nil || n.Horizon == nil || n.Free == nil {
		t.Fatalf("numbers left out: %+v", n)
	}
	if !(*n.Start > 5 && *n.Start < 100) || !(*n.Least > 10 && *n.Least < 60) || *n.Free != 100 {
		t.Errorf("subject %.0f %% high, %.1f m away, escape free for %.0f %%", *n.Start, *n.Least, *n.Free)
	}
}

func TestPathDrawing(t *testing.T) {
	file := filepath.Join(t.TempDir(), "path.svg")
	if _, errs, code := run(t, "path", demoDir, "2C", "--svg", file); code != 0 {
		t.Fatalf("exit %d: %s", code, errs)
	}
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	text := string(src)
	for d := xml.NewDecoder(strings.NewReader(text)); ; {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	for _, want := range []string{"a tick each second", "key poses", "start of pull out", "start of boom", "chapel tower", "heights above sea", "Planning aid only"} {
		if !strings.Contains(text, want) {
			t.Errorf("the drawing does not say %q", want)
		}
	}
	if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
		t.Error("a number is none")
	}
	if _, errs, code := run(t, "path", demoDir, "2C", "--svg", file); code != 2 || !strings.Contains(errs, "--force") {
		t.Errorf("an existing file: exit %d: %s", code, errs)
	}
	if _, errs, code := run(t, "path", demoDir, "2C", "--svg", file, "--force"); code != 0 {
		t.Errorf("--force: exit %d: %s", code, errs)
	}
}
