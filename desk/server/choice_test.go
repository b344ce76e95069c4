package server

import (
	"context"
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"
	"time"

	"fieldfare/plan/shoot"
	"fieldfare/plan/window"
)

// testChoice: the page's rigs and days of light are the models' own, and a bad date is named.
func testChoice(t *testing.T, s *Server, web *httptest.Server) {
	state := s.state
	got, status := ask[Ranked](t, "GET", web.URL+"/api/slates/4B/rigs?at=2026-09-22T11:00:00%2B02:00", nil)
	if status != 200 || got.Caution == "" {
		t.Fatalf("%d %+v", status, got)
	}
	want, err := state.Assessor.Rigs(t.Context(), "4B", got.At)
	if err != nil || len(want) != len(got.Rigs) {
		t.Fatalf("%d rigs, want %d: %v", len(got.Rigs), len(want), err)
	}
	for i, r := range got.Rigs {
		if r.Rig != want[i].Rig || r.Can != want[i].Can || r.MassKg != want[i].MassKg || len(r.Tests) != len(want[i].Tests) {
			t.Errorf("rig %d: %+v, want %+v", i, r, want[i])
		}
	}

	season, status := ask[SlateSeason](t, "GET", web.URL+"/api/slates/2C/season?from=2026-09-22&to=2026-09-23", nil)
	if status != 200 {
		t.Fatalf("season: %d", status)
	}
	days, err := window.Season(t.Context(), state.Assessor.Take("2C"), state.Assessor.Shoot.Dates[0], state.Assessor.Shoot.Dates[1], nil)
	if err != nil {
		t.Fatal(err)
	}
	days = window.Rank(days)
	for i, d := range season.Days {
		if d.Date != days[i].Date || d.Minutes != days[i].Minutes || len(d.Windows) != len(days[i].Windows) {
			t.Errorf("day %d: %+v, want %+v", i, d, days[i])
		}
	}
	if len(season.Days) == 0 || s.state.Assessor.Shoot.Dates[0] != (shoot.Date{Year: 2026, Month: 9, Day: 22}) {
		t.Errorf("%d days", len(season.Days))
	}
	for path, status := range map[string]int{
		"/api/slates/9Z/season":                               404,
		"/api/slates/9Z/rigs":                                 404,
		"/api/slates/2C/season?from=tomorrow":                 422,
		"/api/slates/2C/season?from=2026-09-23&to=2026-09-22": 422,
		"/api/slates/2C/season?from=2026-01-01&to=2027-06-01": 422,
		"/api/slates/2C/rigs?at=noon":                         422,
	} {
		if _, got := ask[map[string]any](t, "GET", web.URL+path, nil); got != status {
			t.Errorf("%s: %d, want %d", path, got, status)
		}
	}
}

// testLeft: what is computed for somebody who leaves is given up, and nothing half done is kept.
func testLeft(t *testing.T, s *Server, web *httptest.Server) {
	for path, x := range map[string]struct {
		at   *sync.Mutex // held while it is worked on
		kept func() bool
	}{
		"/api/odds": {&s.chances.mu, func() bool { return s.chances.of != nil }},
		"/api/answer?from=2026-01-01&to=2026-12-31": {&s.answers.mu, func() bool { return s.answers.of != nil }},
		"/api/book.pdf": {&s.printed.mu, func() bool { return s.printed.of != nil }},
		"/api/safety":   {&s.cased.mu, func() bool { return s.cased.of != nil }},
	} {
		ctx, leave := context.WithCancel(t.Context())
		r, err := http.NewRequestWithContext(ctx, "GET", web.URL+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		gone := make(chan error)
		go func() {
			answer, err := http.DefaultClient.Do(r)
			if err == nil {
				answer.Body.Close()
			}
			gone <- err
		}()
		for x.at.TryLock() {
			x.at.Unlock()
		}
		leave()
		if err := <-gone; err == nil {
			t.Errorf("%s: it was answered", path)
		}
		x.at.Lock()
		if x.kept() {
			t.Errorf("%s: worked out to the end for nobody", path)
		}
		x.at.Unlock()
	}

	ctx, leave := context.WithCancel(t.Context())
	leave()
	if _, err := s.season(ctx, &seasonInput{Slate: "2C", From: "2026-01-01", To: "2026-12-31", Top: 10}); err == nil {
		t.Error("a season was searched for nobody")
	}

	stands, said := s.state, make(chan int)
	go func() {
		_, status := ask[map[string]any](t, "POST", web.URL+"/api/replan", map[string]any{"from": s.state.Assessor.Shoot.Dates[0].Midnight(time.UTC), "done": []string{}, "committed": []string{}})
		said <- status
	}()
	for status := 0; status == 0; {
		select {
		case status = <-said:
			if status != 503 {
				t.Errorf("a day that was stopped: %d", status)
			}
		default:
			s.Cancel()
		}
	}
	if s.state != stands {
		t.Error("the day of a planning that was stopped stands")
	}
}
