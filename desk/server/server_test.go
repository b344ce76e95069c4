package server

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"time"

	"fieldfare/plan/call"
)

// started serves a copy of the demo whose day is not planned twice.
func started(t *testing.T) (*Server, *httptest.Server) {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(demo)); err != nil {
		t.Fatal(err)
	}
	s, err := New(t.Context(), dir, "test")
	if err != nil {
		t.Fatal(err)
	}
	s.effort = 200_000
	t.Cleanup(func() { s.Close() })
	if err := s.Reload(context.Background()); err != nil {
		t.Fatal(err)
	}
	web := httptest.NewServer(s.Handler())
	t.Cleanup(web.Close)
	return s, web
}

func ask[T any](t testing.TB, method, url string, body any) (out T, status int) {
	t.Helper()
	text, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	r, err := http.NewRequest(method, url, bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set(ownHeader, "1")
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	if err := json.NewDecoder(answer.Body).Decode(&out); err != nil {
		t.Fatalf("%s %s: %s: %v", method, url, answer.Status, err)
	}
	return out, answer.StatusCode
}

// TestServed asks one server everything: making the demo ready takes a while.
func TestServed(t *testing.T) {
	s, web := started(t)
	for _, x := range []struct {
		name string
		test func(*testing.T, *Server, *httptest.Server)
	}{{"field", testField}, {"choice", testChoice}, {"left", testLeft}, {"odds", testOdds}, {"replan", testReplan}, {"watch", testWatch}, {"edit", testEditUndoConflict}} {
		if !t.Run(x.name, func(t *testing.T) { x.test(t, s, web) }) {
			return
		}
	}
}

type edits struct {
	Edits []Edit `json:"edits"`
}

func edit(t *testing.T, base, at string, was, value any) Edited {
	t.Helper()
	out, status := ask[Edited](t, "POST", base+"/api/edit", edits{[]Edit{{at, was, value}}})
	if status != 200 {
		t.Fatalf("edit of %s: status %d", at, status)
	}
	return out
}

func text(t *testing.T, s *Server) string {
	t.Helper()
	got, err := os.ReadFile(s.file())
	if err != nil {
		t.Fatal(err)
	}
	return string(got)
}

func testEditUndoConflict(t *testing.T, s *Server, web *httptest.Server) {
	before := text(t, s)

	// Units are taken as typed; comments stay.
	if e := edit(t, web.URL, "house/clearance", "5 m", "20 ft"); !e.Saved || !e.CanUndo || e.CanRedo {
		t.Fatalf("not saved: %+v", e)
	}
	if got := text(t, s); !strings.Contains(got, "clearance: 20 ft\n") || strings.Count(got, "#") != strings.Count(before, "#") {
		t.Error("the edit is not in the file, or a comment was lost")
	}

	// A mistake is told at its field and nothing is saved.
	was := text(t, s)
	if e := edit(t, web.URL, "house/wind", "8 m/s", "25"); e.Saved || len(e.Mistakes) == 0 || !strings.Contains(e.Mistakes[0].Field, "wind") {
		t.Errorf("a speed without a unit: %+v", e)
	}
	if text(t, s) != was {
		t.Error("a wrong edit was written")
	}

	// Someone saved first: both versions come back, neither is lost.
	if err := os.WriteFile(s.file(), []byte(strings.Replace(was, "wind: 8 m/s", "wind: 6 m/s", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	e := edit(t, web.URL, "house/wind", "8 m/s", "9 m/s")
	if e.Saved || e.Conflict == nil || e.Conflict.Yours != "9 m/s" || e.Conflict.Theirs != "6 m/s" {
		t.Errorf("a conflict: %+v %+v", e, e.Conflict)
	}
	if !strings.Contains(text(t, s), "wind: 6 m/s") {
		t.Error("their version was overwritten")
	}
	// Elsewhere in the file the edit goes through.
	if e := edit(t, web.URL, "house/gust", "11 m/s", "12 m/s"); !e.Saved {
		t.Errorf("an edit beside another's: %+v", e)
	}
	// Undo puts back our places and leaves theirs.
	for range 2 {
		if e, _ := ask[Edited](t, "POST", web.URL+"/api/undo", none{}); !e.Saved {
			t.Fatalf("undo: %+v", e)
		}
	}
	if got := text(t, s); got != strings.Replace(before, "wind: 8 m/s", "wind: 6 m/s", 1) {
		t.Error("undo left something behind")
	}
	if e, _ := ask[Edited](t, "POST", web.URL+"/api/redo", none{}); !e.Saved || !strings.Contains(text(t, s), "clearance: 20 ft") {
		t.Errorf("redo: %+v", e)
	}
	// A whole text is taken only for the version it was made from.
	if e, _ := ask[Edited](t, "POST", web.URL+"/api/source", map[string]string{"hash": "old", "text": before}); e.Saved || e.Conflict == nil {
		t.Errorf("a text for an old version: %+v", e)
	}
}

// testWatch: a change on disk reaches every open page as a new version with its own numbers.
func testWatch(t *testing.T, s *Server, web *httptest.Server) {
	go s.Watch(t.Context())
	time.Sleep(50 * time.Millisecond)
	was, before := s.snapshot(), []byte(text(t, s))
	if err := os.WriteFile(s.file(), []byte(strings.Replace(text(t, s), "radius: 60 m", "radius: 75 m", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	until(t, func() bool { return s.snapshot().Hash != was.Hash })
	a, status := ask[Assessed](t, "GET", web.URL+"/api/slates/2B", nil)
	if status != 200 || a.Version <= was.Version {
		t.Errorf("version %d after %d", a.Version, was.Version)
	}
	// A mistake keeps the last good numbers and says so.
	if err := os.WriteFile(s.file(), []byte(strings.Replace(text(t, s), "radius: 75 m", "radius: 75", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	until(t, func() bool { return len(s.snapshot().Mistakes) > 0 })
	if x := s.snapshot(); x.Check == nil || x.Mistakes[0].Line == 0 {
		t.Errorf("mistakes: %+v", x.Mistakes)
	}
	if err := os.WriteFile(s.file(), before, 0o644); err != nil {
		t.Fatal(err)
	}
	until(t, func() bool { x := s.snapshot(); return len(x.Mistakes) == 0 && x.Hash == was.Hash && x.Sheet != nil })
}

func until(t *testing.T, done func() bool) {
	t.Helper()
	for range 600 {
		if done() {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Fatal("it did not happen")
}

// testField: what the phones ask for, against the same assessment that the page shows.
func testField(t *testing.T, s *Server, web *httptest.Server) {
	at := "2026-09-22T09:00:00Z"
	calm, _ := ask[StillFlies](t, "GET", web.URL+"/api/flies?at="+at, nil)
	storm, _ := ask[StillFlies](t, "GET", web.URL+"/api/flies?at="+at+"&wind=40+kt&temperature=-2+C", nil)
	count := func(f StillFlies) (n int) {
		for _, x := range f.Slates {
			if x.Flies {
				n++
			}
		}
		return n
	}
	if count(calm) == 0 || count(storm) != 0 || *storm.Met.WindMS < 20.5 || *storm.Met.WindMS > 20.6 {
		t.Errorf("%d slates fly in calm, %d in 40 kt", count(calm), count(storm))
	}
	if _, status := ask[map[string]any](t, "GET", web.URL+"/api/flies?at="+at+"&wind=12", nil); status != 422 {
		t.Errorf("a wind without a unit: %d", status)
	}
	m, status := ask[Metered](t, "GET", web.URL+"/api/slates/2C/meter?at="+at+"&stops=1", nil)
	if status != 200 || len(m.Result.Ways) == 0 || m.Version != s.snapshot().Version {
		t.Errorf("meter: %d %+v", status, m)
	}
	if c, status := ask[Checks](t, "GET", web.URL+"/api/slates/2C/checks?at="+at, nil); status != 200 || len(c.Lists) == 0 {
		t.Errorf("checklists: %d", status)
	}

	// Entries sent twice are written once; a bad one holds up no other; order stays.
	type sent struct {
		Entries []map[string]any `json:"entries"`
	}
	remark := func(id, text string, n int) map[string]any {
		return map[string]any{"id": id, "kind": "remark", "at": at, "by": "MF", "device": "phone", "ordinal": n, "body": map[string]any{"text": text}}
	}
	batch := sent{[]map[string]any{remark("phone-0001", "first", 1), {"id": "x", "kind": "remark", "at": at, "by": "MF", "body": map[string]any{}}, remark("phone-0002", "second", 2)}}
	for round := range 2 {
		got, status := ask[Logged](t, "POST", web.URL+"/api/log", batch)
		if status != 200 || len(got.Results) != 3 || got.Results[1].Refuse == "" || got.Results[0].Seq >= got.Results[2].Seq || got.Results[0].Repeat != (round == 1) {
			t.Errorf("round %d: %d %+v", round, status, got)
		}
	}
	if page, _ := ask[LogPage](t, "GET", web.URL+"/api/log", nil); len(page.Entries) != 2 {
		t.Errorf("%d entries in the book, want 2", len(page.Entries))
	}
}

// testOdds: chances belong to one version of the day; a calmer day takes its place only while they hold.
func testOdds(t *testing.T, s *Server, web *httptest.Server) {
	got, status := ask[Weighed](t, "GET", web.URL+"/api/odds", nil)
	if status != 200 || got.Version != s.snapshot().Version || got.Odds == nil || got.Caution == "" {
		t.Fatalf("%d %+v", status, got)
	}
	planned := 0
	for _, d := range s.snapshot().Sheet.Days {
		for _, x := range d.Sorties {
			planned += len(x.Slates)
		}
	}
	if len(got.Odds.Slates) != planned {
		t.Errorf("%d chances for %d slates", len(got.Odds.Slates), planned)
	}
	for _, c := range got.Odds.Slates {
		if c.Chance < 0 || c.Chance > 1 || c.SlackS < 0 {
			t.Errorf("%+v", c)
		}
	}
	if got.Odds.Calmer == nil {
		if _, status := ask[Snapshot](t, "POST", web.URL+"/api/calmer", map[string]any{"version": got.Version}); status != 422 {
			t.Errorf("no calmer day was found, yet %d", status)
		}
		s.chances.odds.Calmer = &call.Calmer{Sheet: &call.Sheet{Title: "calmer"}}
	}
	if _, status := ask[Snapshot](t, "POST", web.URL+"/api/calmer", map[string]any{"version": got.Version - 1}); status != 409 {
		t.Errorf("odds of another version: %d", status)
	}
	was, calm := *s.state, s.chances.odds.Calmer.Sheet
	after, status := ask[Snapshot](t, "POST", web.URL+"/api/calmer", map[string]any{"version": got.Version})
	if status != 200 || after.Version <= got.Version || s.snapshot().Sheet != calm {
		t.Errorf("%d, version %d after %d", status, after.Version, got.Version)
	}
	s.publish(&was, nil)
}

// testReplan: after a weather hold nothing flies before its end, and what is got stays got.
func testReplan(t *testing.T, s *Server, web *httptest.Server) {
	was := s.snapshot()
	first := was.Sheet.Days[0].Sorties[0]
	from := first.End.Add(3 * time.Hour)
	done := []string{}
	for _, x := range first.Slates {
		done = append(done, x.Slate)
	}
	got, status := ask[Replanned](t, "POST", web.URL+"/api/replan", map[string]any{"from": from, "done": done, "committed": []string{}})
	if status != 200 || got.Version <= was.Version || len(got.Moves) == 0 {
		t.Fatalf("%d %+v", status, got)
	}
	for _, d := range s.snapshot().Sheet.Days {
		for _, x := range d.Sorties {
			if x.Start.Before(from) && !x.Start.Equal(first.Start) {
				t.Errorf("a sortie at %s during the hold until %s", x.Start, from)
			}
			for _, shot := range x.Slates {
				if shot.Slate == done[0] && !x.Start.Equal(first.Start) {
					t.Errorf("%s is shot again at %s", shot.Slate, x.Start)
				}
			}
		}
	}
}
