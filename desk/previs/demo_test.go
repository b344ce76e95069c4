package previs_test

import (
	"context"
	"fmt"
	"image/png"
	"os"
	"sync"
	"testing"
	"time"

	"fieldfare/desk/previs"
	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
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

func TestLook(t *testing.T) {
	if os.Getenv("LOOK") == "" {
		t.Skip()
	}
	s, err := shoot.Load("../../examples/last-milk-run")
	if err != nil {
		t.Fatal(err)
	}
	a, err := assess.New(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	scene := previs.NewScene(a)
	for i, q := range []struct {
		at                   string
		x, y, h, az, tilt, f float64
	}{{"08:20", -900, 150, 60, 80, -4, 25}, {"17:30", -900, 150, 60, 80, -4, 18}, {"19:10", 900, 300, 80, 262, -2, 18}, {"06:40", -600, 0, 60, 60, 3, 18}, {"12:00", 300, -900, 120, 350, -8, 18}} {
		at, _ := time.ParseInLocation("2006-01-02 15:04", "2026-09-22 "+q.at, s.Location())
		m, _ := previs.MomentOf(a, nil, at, 5, false)
		c, _ := a.Take("1A").Camera()
		c = previs.Sized(c, 1280)
		c.FocalM = q.f / 1000
		z, _ := s.Ground().HeightAt(q.x, q.y)
		now := time.Now()
		img, _ := previs.Render(scene, c, lens.Pose{Pos: geo.Vec3{X: q.x, Y: q.y, Z: z + q.h}, Azimuth: unit.Angle(q.az) * unit.Degree, Tilt: unit.Angle(q.tilt) * unit.Degree}, m, previs.Options{})
		fmt.Println(q.at, time.Since(now))
		f, _ := os.Create(fmt.Sprintf("/tmp/pv/0%d.png", i))
		png.Encode(f, img)
		f.Close()
	}
	for _, q := range []struct {
		slate string
		at    string
		f     float64
	}{{"1A", "07:50", .5}, {"1B", "09:30", .8}, {"2B", "16:00", .5}, {"2C", "10:00", 1}, {"3A", "17:00", .5}, {"4A", "11:00", .5}, {"4C", "14:00", .5}, {"5A", "18:10", 1}, {"5B", "13:00", .5}, {"5C", "15:00", .3}, {"6A", "19:40", .5}} {
		at, _ := time.ParseInLocation("2006-01-02 15:04", "2026-09-22 "+q.at, s.Location())
		take := a.Take(q.slate)
		now := time.Now()
		shot, err := previs.NewShot(scene, a, q.slate, at, 1280)
		if err != nil {
			t.Fatal(err)
		}
		shot.Options.Subject, shot.Options.Thirds, shot.Options.SafeArea = take.Slate.Subject, q.slate == "1A", q.slate == "1A"
		shot.Labelled = true
		if q.slate == "4C" {
			shot.SmearS = take.ShutterS()
		}
		img, err := shot.At(q.f * take.Path.DurationS())
		if err != nil {
			t.Fatal(err)
		}
		fmt.Println(q.slate, img.Bounds(), time.Since(now))
		f, _ := os.Create("/tmp/pv/" + q.slate + ".png")
		png.Encode(f, img)
		f.Close()
	}
}
