package cli_test

import (
	"encoding/json"
	"strings"
	"testing"

	"fieldfare/plan/standin"
)

func TestSafetyCommand(t *testing.T) {
	out, errs, code := run(t, "safety", demoDir, "2A")
	if code != 0 || errs != "" {
		t.Fatalf("exit %d: %s", code, errs)
	}
	for _, want := range []string{"Planning aid only", "Slate 2A", "flight geography", "lost link: climb to", "emergency landing", "video link", "from memory", "Risk assessment"} {
		if !strings.Contains(out, want) {
			t.Errorf("safety does not say %q", want)
		}
	}
	if strings.Contains(out, "Slate 4A") {
		t.Error("another slate's case is printed")
	}
	out, _, code = run(t, "safety", demoDir)
	for _, want := range []string{"Plan of activities", "Permission register", "Method: ", "Checklist: ", "Fly-away", "nearest hospital", "Site survey", "Distances to people"} {
		if !strings.Contains(out, want) {
			t.Errorf("safety does not say %q", want)
		}
	}
	if code != 0 && code != 1 {
		t.Errorf("exit %d", code)
	}
	out, _, _ = run(t, "safety", demoDir, "2A", "--json")
	var d map[string]any
	if err := json.Unmarshal([]byte(out), &d); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"caution", "plan_of_activities", "permission_register", "slates", "risk_assessment", "method_statement", "checklists", "emergency", "survey_sheet", "survey"} {
		if _, ok := d[key]; !ok {
			t.Errorf("safety --json has no %s", key)
		}
	}
	out, _, code = run(t, "safety", demoDir, "2A", "--layers")
	if err := json.Unmarshal([]byte(out), &d); err != nil || code != 0 || d["type"] != "FeatureCollection" {
		t.Errorf("exit %d: %v", code, err)
	}
	if _, errs, code := run(t, "safety", demoDir, "9Z"); code != 2 || !strings.Contains(errs, "no slate") {
		t.Errorf("exit %d: %s", code, errs)
	}
}

// The sheet, filled in as it is printed, is a survey that can be read.
func TestSurveySheetReadsBack(t *testing.T) {
	sheet, _, code := run(t, "safety", demoDir, "--sheet")
	if code != 0 {
		t.Fatalf("exit %d", code)
	}
	dir := standin.Copy(t)
	filled := strings.Replace(sheet, `by: ""`, "by: Maud Ferring", 1)
	filled = strings.Replace(filled, "state: not checked", "state: as planned", 3)
	standin.Put(t, dir, "safety/survey.yaml", filled)
	out, errs, code := run(t, "safety", dir)
	if code == 2 {
		t.Fatal(errs)
	}
	lines := strings.Count(sheet, "- item: ")
	if want := "Site survey of 2026-09-22 by Maud Ferring"; !strings.Contains(out, want) || lines < 40 {
		t.Errorf("%d lines on the sheet; the case does not say %q", lines, want)
	}
}

func TestSafetyOfASlateWithoutPath(t *testing.T) {
	dir := standin.Copy(t)
	standin.Edit(t, dir, "shoot.yaml", "distance: 110 m, height: 14 m, end_distance: 45 m", "distance: 9000 m, height: 14 m, end_distance: 45 m")
	out, _, code := run(t, "safety", dir, "2A")
	if code != 1 || !strings.Contains(out, "no path: ") || strings.Contains(out, "emergency landing, t") {
		t.Errorf("exit %d: %s", code, out)
	}
}
