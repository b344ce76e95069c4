package server

import (
	"bytes"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// BenchmarkEdit takes the time from an edit to the whole state with its new numbers in the page's hands: of the
// shoot file as the page edits it, of the others as an editor writes them, the pause included that waits for an editor to
// end. The day follows and is waited for in between.
func BenchmarkEdit(b *testing.B) {
	for _, x := range []struct{ name, file, at, was, value string }{
		{"slate", "", "slates/2B/moves/0/radius", "60 m", "70 m"},
		{"lens", "", "slates/2A/lens", "Tern 25", "Tern 45"},
		{"speed", "", "slates/2A/moves/0/speed", "3 m/s", "3.5 m/s"},
		{"person", "", "crew/Tomas Quell/rung", "near objects", "wide and open"},
		{"rule", "", "house/wind", "8 m/s", "7.5 m/s"},
		{"date", "", "dates/1", "2026-09-23", "2026-09-24"},
		{"obstacle", "site.geojson", "", `"height":"17 m"`, `"height":"18 m"`},
		{"area", "site.geojson", "", `"ceiling":"300 m"`, `"ceiling":"290 m"`},
		{"kit_mass", "kit/shelf.yaml", "", "mass: 4.3 kg", "mass: 4.4 kg"},
		{"wind", "forecast.csv", "", "2026-09-22T12:00:00+02:00,3.5,", "2026-09-22T12:00:00+02:00,4.4,"},
	} {
		b.Run(x.name, func(b *testing.B) {
			s, web := watched(b)
			news := s.hub.listen()
			defer s.hub.leave(news)
			was, value := x.was, x.value
			least, cpu := math.Inf(1), math.Inf(1)
			for b.Loop() {
				start, used := time.Now(), cpuTime()
				if x.file == "" {
					post(b, web.URL, x.at, was, value)
				} else {
					rewrite(b, filepath.Join(s.Dir, x.file), was, value)
				}
				await(b, news, "state")
				answer, err := http.Get(web.URL + "/api/state")
				if err != nil {
					b.Fatal(err)
				}
				body, err := io.ReadAll(answer.Body)
				if err != nil || !bytes.Contains(body, []byte(`"planning":true`)) {
					b.Fatalf("%v: not the numbers before the day", err)
				}
				answer.Body.Close()
				least, cpu = min(least, time.Since(start).Seconds()), min(cpu, (cpuTime()-used).Seconds())
				b.StopTimer()
				await(b, news, "rest")
				was, value = value, was
				b.StartTimer()
			}
			b.ReportMetric(1e3*least, "least-ms")
			b.ReportMetric(1e3*cpu, "least-cpu-ms")
		})
	}
}

// watched serves a copy of the demo and follows its folder.
func watched(b *testing.B) (*Server, *httptest.Server) {
	dir := b.TempDir()
	if err := os.CopyFS(dir, os.DirFS(demo)); err != nil {
		b.Fatal(err)
	}
	s, err := New(b.Context(), dir, "test")
	if err != nil {
		b.Fatal(err)
	}
	s.effort = 1
	b.Cleanup(func() { s.Close() })
	if err := s.Reload(b.Context()); err != nil {
		b.Fatal(err)
	}
	go s.Watch(b.Context())
	time.Sleep(100 * time.Millisecond) // until it looks
	web := httptest.NewServer(s.Handler())
	b.Cleanup(web.Close)
	return s, web
}

func post(b *testing.B, base, at string, was, value any) {
	out, status := ask[Edited](b, "POST", base+"/api/edit", edits{[]Edit{{at, was, value}}})
	if status != 200 || !out.Saved {
		b.Fatalf("edit of %s: status %d, %+v", at, status, out)
	}
}

func rewrite(b *testing.B, path, was, value string) {
	text, err := os.ReadFile(path)
	if err != nil {
		b.Fatal(err)
	}
	if !strings.Contains(string(text), was) {
		b.Fatalf("%s holds no %q", path, was)
	}
	if err := os.WriteFile(path, []byte(strings.Replace(string(text), was, value, 1)), 0o644); err != nil {
		b.Fatal(err)
	}
}

// await passes over news until there is some of a kind.
func await(b *testing.B, news chan event, kind string) {
	for {
		select {
		case e := <-news:
			if e.Kind == kind {
				return
			}
		case <-time.After(30 * time.Second):
			b.Fatalf("no news of %q", kind)
		}
	}
}

func cpuTime() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
