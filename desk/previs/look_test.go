package previs_test

import (
	"context"
	"fmt"
	"image/png"
	"os"
	"testing"
	"time"

	"fieldfare/desk/previs"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

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
	for _, q := range []struct {
		slate string
		at    string
		f     float64
	}{{"1A", "07:50", .5}, {"1B", "09:30", .8}, {"2B", "16:00", .5}, {"2C", "10:00", 1}, {"3A", "17:00", .5}, {"4A", "11:00", .5}, {"4C", "14:00", .5}, {"5A", "18:10", 1}, {"5B", "13:00", .5}, {"5C", "15:00", .3}, {"6A", "19:40", .5}} {
		at, _ := time.ParseInLocation("2006-01-02 15:04", "2026-09-22 "+q.at, s.Location())
		take := a.Take(q.slate)
		now := time.Now()
		img, err := previs.Frame(scene, a, take, at, q.f*take.Path.DurationS(), 1280)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Println(q.slate, img.Bounds(), time.Since(now))
		f, _ := os.Create("/tmp/pv/" + q.slate + ".png")
		png.Encode(f, img)
		f.Close()
	}
}
