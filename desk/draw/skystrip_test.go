package draw_test

import (
	"bytes"
	"encoding/xml"
	"flag"
	"io"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fieldfare/desk/draw"
	"fieldfare/model/sky"
	"fieldfare/model/unit"
)

var update = flag.Bool("update", false, "rewrite the golden picture")

// ridge is an invented valley: a ridge to the south-east and a wall to the west.
func ridge() (s sky.Skyline) {
	for i := range 360 {
		az := float64(i) * math.Pi / 180
		s = append(s, unit.Angle(8+6*math.Cos(az-2.3)+3*math.Cos(3*az)+4*math.Exp(-math.Pow((float64(i)-275)/18, 2)))*unit.Degree)
	}
	return s
}

func demo(t testing.TB) draw.SkyStrip {
	place, err := sky.NewPlace(46.6*unit.Degree, 10.3*unit.Degree, 1800)
	if err != nil {
		t.Fatal(err)
	}
	return draw.SkyStrip{
		Title: "4B, chapel & bridge", Place: place, Skyline: ridge(),
		Day:    time.Date(2026, 9, 12, 12, 0, 0, 0, time.FixedZone("CEST", 2*3600)),
		Wanted: []draw.Sector{{From: 230 * unit.Degree, To: 275 * unit.Degree, Low: 6 * unit.Degree, High: 30 * unit.Degree, Label: "side light left"}},
	}
}

// The golden picture: a difference means that the drawing or the sky changed. Rewrite it with
// go test ./desk/draw -update and look at it.
func TestSkyStripGolden(t *testing.T) {
	var out bytes.Buffer
	if err := demo(t).SVG(&out); err != nil {
		t.Fatal(err)
	}
	const golden = "testdata/skystrip.svg"
	if *update {
		if err := os.WriteFile(golden, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(out.Bytes(), want) {
		t.Error("the picture differs from " + golden)
	}
}

// The picture must be well formed and inside its frame at any place and day, and say its title and
// description to a reader.
func TestSkyStripIsSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		place, err := sky.NewPlace(unit.Angle(rapid.Float64Range(-90, 90).Draw(t, "latitude"))*unit.Degree,
			unit.Angle(rapid.Float64Range(-180, 180).Draw(t, "longitude"))*unit.Degree, 0)
		if err != nil {
			t.Fatal(err)
		}
		s := draw.SkyStrip{
			ID: "a", Title: rapid.String().Draw(t, "title"), Place: place,
			Day:    time.Unix(rapid.Int64Range(-600000000, 4000000000).Draw(t, "day"), 0).UTC(),
			Wanted: []draw.Sector{{From: unit.Angle(rapid.Float64Range(0, 6.28).Draw(t, "from")), To: 1, High: 0.5, Label: "<&>"}},
		}
		if rapid.Bool().Draw(t, "terrain") {
			s.Skyline = ridge()
		}
		var out bytes.Buffer
		if err := s.SVG(&out); err != nil {
			t.Fatal(err)
		}
		if strings.Contains(out.String(), "NaN") || strings.Contains(out.String(), "Inf") {
			t.Fatal("a number in the picture is not finite")
		}
		seen := map[string]bool{}
		for in := xml.NewDecoder(&out); ; {
			token, err := in.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			if e, ok := token.(xml.StartElement); ok {
				seen[e.Name.Local] = true
			}
		}
		if !seen["title"] || !seen["desc"] || !seen["path"] {
			t.Fatalf("the picture lacks a title, a description or lines: %v", seen)
		}
	})
}

func TestSkyStripRefusesBadDays(t *testing.T) {
	s := demo(t)
	s.Day = time.Date(1700, 1, 1, 0, 0, 0, 0, time.UTC)
	if err := s.SVG(io.Discard); err == nil {
		t.Error("a day outside the years of the sky must be refused")
	}
}
