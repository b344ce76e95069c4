package cli_test

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fieldfare/desk/cli"
)

var update = flag.Bool("update", false, "rewrite the expected outputs (make golden)")

const demoDir = "../../examples/last-milk-run"

func run(t *testing.T, args ...string) (out, errs string, code int) {
	t.Helper()
	var o, e bytes.Buffer
	code = cli.Run(context.Background(), args, &o, &e)
	return o.String(), e.String(), code
}

// The demo's answers, as a crew's tools would read them. A difference means that a number moved:
// find out which and why, then `make golden`.
func TestGolden(t *testing.T) {
	for _, tc := range []struct {
		file string
		args []string
		code int
	}{
		{"check.json", []string{"check", demoDir, "--json"}, 1},
		{"day.json", []string{"day", demoDir, "--json"}, 0},
	} {
		t.Run(tc.file, func(t *testing.T) {
			out, errs, code := run(t, tc.args...)
			if code != tc.code {
				t.Fatalf("exit %d, want %d: %s", code, tc.code, errs)
			}
			path := filepath.Join("testdata", tc.file)
			rounded := round(t, out)
			if *update {
				os.MkdirAll("testdata", 0o755)
				if err := os.WriteFile(path, []byte(rounded), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatalf("%v: run `make golden`", err)
			}
			if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(rounded, "\n")); diff != "" {
				t.Errorf("%s moved (-expected +now):\n%s", tc.file, first(diff, 60))
			}
		})
	}
}

func first(text string, lines int) string {
	all := strings.Split(text, "\n")
	if len(all) > lines {
		all = append(all[:lines], "...")
	}
	return strings.Join(all, "\n")
}

// round keeps six digits of each number, so that the last bits of another processor do not count.
func round(t *testing.T, text string) string {
	t.Helper()
	var v any
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatal(err)
	}
	rounded, err := json.MarshalIndent(rounding(v), "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(rounded) + "\n"
}

func rounding(v any) any {
	switch x := v.(type) {
	case map[string]any:
		for k := range x {
			x[k] = rounding(x[k])
		}
	case []any:
		for i := range x {
			x[i] = rounding(x[i])
		}
	case float64:
		if x > -1e-9 && x < 1e-9 {
			return 0.0
		}
		short, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 6, 64), 64)
		return short
	}
	return v
}

func TestSameFolderSameBytes(t *testing.T) {
	for _, args := range [][]string{{"check", demoDir, "--json"}, {"day", demoDir, "--json"}} {
		one, _, _ := run(t, args...)
		two, _, _ := run(t, args...)
		if one != two {
			t.Errorf("%v gave two answers", args)
		}
	}
}

func TestExactForms(t *testing.T) {
	out, _, code := run(t, "check", demoDir, "--json")
	if code != 1 {
		t.Errorf("check exits %d though the demo holds a stop", code)
	}
	var checked struct {
		Slates []struct {
			Slate    string
			Numbers  map[string]any
			Findings []map[string]any
			Windows  []struct{ From, To string }
		}
		Cautions []string
	}
	if err := json.Unmarshal([]byte(out), &checked); err != nil {
		t.Fatal(err)
	}
	if len(checked.Slates) < 12 || len(checked.Cautions) == 0 {
		t.Errorf("%d slates, %d cautions", len(checked.Slates), len(checked.Cautions))
	}
	for _, x := range checked.Slates {
		for _, f := range x.Findings {
			for _, key := range []string{"severity", "what", "value", "limit", "basis", "mend"} {
				if _, ok := f[key]; !ok {
					t.Errorf("slate %s: finding without %s: %v", x.Slate, key, f)
				}
			}
		}
	}
	out, _, code = run(t, "day", demoDir, "--json")
	if code != 0 {
		t.Errorf("day exits %d", code)
	}
	var sheet map[string]any
	if err := json.Unmarshal([]byte(out), &sheet); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"days", "left_out", "bound", "gap"} {
		if _, ok := sheet[key]; !ok {
			t.Errorf("day --json has no %s", key)
		}
	}
}

func TestBadInputExitsTwo(t *testing.T) {
	for _, args := range [][]string{{"check", t.TempDir()}, {"check", "/nowhere"}, {"calc", "lens"}, {"fly"}, {"check", demoDir, "9Z"}, {"serve", demoDir, "--listen", "0.0.0.0:80"}} {
		if _, errs, code := run(t, args...); code != 2 || errs == "" {
			t.Errorf("%v: exit %d, message %q", args, code, errs)
		}
	}
}

func TestHelpIsEnoughToStart(t *testing.T) {
	out, _, code := run(t)
	for _, word := range []string{"check", "day", "book", "serve", "new", "Planning aid only"} {
		if !strings.Contains(out, word) {
			t.Errorf("help does not name %q", word)
		}
	}
	if code != 0 {
		t.Errorf("help exits %d", code)
	}
}
