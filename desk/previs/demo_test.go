package previs_test

import (
	"context"
	"sync"
	"testing"
	"time"

	"fieldfare/desk/previs"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

var demo = sync.OnceValues(func() (*assess.Assessor, error) {
	s, err := shoot.Load("../../examples/last-milk-run")
	if err != nil {
		return nil, err
	}
	return assess.New(context.Background(), s)
})

func demoShot(tb testing.TB, slate, clock string, widthPx int) *previs.Shot {
	tb.Helper()
	a, err := demo()
	if err != nil {
		tb.Fatal(err)
	}
	at, err := time.ParseInLocation("2006-01-02 15:04", "2026-09-22 "+clock, a.Shoot.Location())
	if err != nil {
		tb.Fatal(err)
	}
	shot, err := previs.NewShot(previs.NewScene(a), a, slate, at, widthPx)
	if err != nil {
		tb.Fatal(err)
	}
	return shot
}

// BenchmarkFilm is one frame of the demo's film after another, 1280 pixels wide.
func BenchmarkFilm(b *testing.B) {
	shot := demoShot(b, "4B", "14:30", 1280)
	defer processor(b)()
	n := 0
	for b.Loop() {
		if _, err := shot.Frame(n); err != nil {
			b.Fatal(err)
		}
		n++
	}
}

// BenchmarkStoryboard is a slate's three pictures for paper.
func BenchmarkStoryboard(b *testing.B) {
	shot := demoShot(b, "2B", "16:00", 800)
	a, _ := demo()
	for b.Loop() {
		if _, _, _, err := shot.Scene.Storyboard(a, "2B", shot.Start, 800); err != nil {
			b.Fatal(err)
		}
	}
}
