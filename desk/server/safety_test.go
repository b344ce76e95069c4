package server

import (
	"encoding/json"
	"net/http"
	"testing"

	"fieldfare/plan/check"
)

func TestSafetyCaseIsServed(t *testing.T) {
	_, h := started(t)
	for path, keys := range map[string][]string{"/api/safety": {"slates", "permission_register", "survey_sheet"}, "/api/safety/layers": {"type", "features"}} {
		answer, err := http.Get(h.URL + path)
		if err != nil {
			t.Fatal(err)
		}
		var body map[string]any
		err = json.NewDecoder(answer.Body).Decode(&body)
		answer.Body.Close()
		if err != nil || answer.StatusCode != 200 {
			t.Fatalf("%s: %d, %v", path, answer.StatusCode, err)
		}
		if body["caution"] != check.Safety {
			t.Errorf("%s: no caution", path)
		}
		for _, k := range keys {
			if _, ok := body[k]; !ok {
				t.Errorf("%s has no %s", path, k)
			}
		}
	}
}
