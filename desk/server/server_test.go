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
	if err := s.Reload(context.Background()); err != nil {
		t.Fatal(err)
	}
	web := httptest.NewServer(s.Handler())
	t.Cleanup(web.Close)
	return s, web
}

func ask[T any](t *testing.T, method, url string, body any) (out T, status int) {
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

func TestEditUndoConflict(t *testing.T) {
	s, web := started(t)
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

// TestWatch: a change on disk reaches every open page as a new version with its own numbers.
func TestWatch(t *testing.T) {
	s, web := started(t)
	go s.Watch(t.Context())
	time.Sleep(50 * time.Millisecond)
	was := s.snapshot()
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
