package cli_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"sync"
	"testing"

	"fieldfare/desk/cli"
	"fieldfare/desk/logbook"
	"fieldfare/desk/server"
)

// Two browsers through the page's server, which send everything twice as one does that missed the answer, and
// two command lines write into one book at once: nothing is lost, nothing stands twice.
func TestPagesAndCommandLinesWriteTogether(t *testing.T) {
	dir, _ := flatShoot(t)
	s, err := server.New(t.Context(), dir, "test")
	if err != nil {
		t.Fatal(err)
	}
	s.Log = filepath.Join(t.TempDir(), "log.db")
	defer s.Close()
	web := httptest.NewServer(s.Handler())
	defer web.Close()
	const each = 30
	post := func(browser string, n int) error {
		body, err := json.Marshal(map[string]any{"entries": []map[string]any{{"id": fmt.Sprintf("%s-%05d", browser, n), "kind": "remark", "at": "2026-09-22T08:00:00Z", "by": "MF", "device": browser, "ordinal": n, "body": map[string]string{"text": fmt.Sprint(n)}}}})
		if err != nil {
			return err
		}
		r, err := http.NewRequest("POST", web.URL+"/api/log", bytes.NewReader(body))
		if err != nil {
			return err
		}
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Fieldfare-Page", "1")
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			return err
		}
		defer answer.Body.Close()
		var out struct{ Results []struct{ Seq int64 } }
		if err := json.NewDecoder(answer.Body).Decode(&out); err != nil || len(out.Results) != 1 || out.Results[0].Seq == 0 {
			return fmt.Errorf("%s %d: %s %+v %v", browser, n, answer.Status, out, err)
		}
		return nil
	}
	var all sync.WaitGroup
	for _, browser := range []string{"laptop", "phone-1"} {
		all.Go(func() {
			for n := 1; n <= each; n++ {
				for range 2 {
					if err := post(browser, n); err != nil {
						t.Error(err)
					}
				}
			}
		})
	}
	for _, by := range []string{"Ana", "Ben"} {
		all.Go(func() {
			for n := range each {
				var out, errs bytes.Buffer
				if code := cli.Run(context.Background(), []string{"log", "--log", s.Log, "--by", by, "add", "remark", fmt.Sprintf("text=%s %d", by, n)}, &out, &errs); code != 0 {
					t.Errorf("%s %d: exit %d: %s", by, n, code, errs.String())
				}
			}
		})
	}
	all.Wait()
	l, err := logbook.Open(t.Context(), s.Log, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	v, err := l.Verify(t.Context())
	if err != nil || v.Entries != 4*each || len(v.Missing) > 0 {
		t.Errorf("%+v %v, want %d entries", v, err, 4*each)
	}
}
