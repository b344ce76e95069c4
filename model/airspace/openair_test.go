package airspace_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"fieldfare/model/airspace"
	"fieldfare/model/geo"
)

const sample = `* an invented sheet
AC CTR
AN Ostbrink * tower
AH 2500 ft AMSL
AL SFC
DP 47:00:00 N 011:00:00 E
DP 47:00:00 N 011:10:00 E
DP 47:06.5 N 011:10:00 E
DP 47.1 N 11.0 E

AC D
AN Weststiege
AH FL 95
AL 1000 ft AGL
V X=47:30:00 N 012:00:00 E
DC 3

AC R
AN Halbmond
AL GND
AH UNLIM
AA 2026-12-01T06:00Z/2026-12-01T18:00Z
V X=47:00:00 N 013:00:00 E
DA 5,270,90
AC Q
AN Bogen
AL 300 m
AH 900m MSL
V X=47:00:00 N 014:00:00 E
V D=-
DB 47:00:00 N 014:06:00 E, 47:00:00 N 013:54:00 E
`

func TestReadOpenAir(t *testing.T) {
	areas, err := airspace.ReadOpenAir("sheet.txt", []byte(sample))
	if err != nil {
		t.Fatal(err)
	}
	if len(areas) != 4 {
		t.Fatalf("%d areas", len(areas))
	}
	ctr, circle, half, arc := areas[0], areas[1], areas[2], areas[3]
	if ctr.Name != "Ostbrink * tower" || ctr.Floor != airspace.Ground || ctr.Ceil.HeightM != 762 || ctr.Status != airspace.NeedsPermission || len(ctr.Outer) != 4 || ctr.Source != "sheet.txt:2" {
		t.Errorf("control zone: %+v", ctr)
	}
	if got := ctr.Outer[2].Lat.Deg(); math.Abs(got-(47+6.5/60)) > 1e-12 {
		t.Errorf("decimal minutes: %v", got)
	}
	if circle.Floor.Reference != airspace.AboveGround || circle.Ceil.Reference != airspace.FlightLevel || math.Abs(circle.Ceil.HeightM-9500*0.3048) > 1e-9 {
		t.Errorf("levels: %v %v", circle.Floor, circle.Ceil)
	}
	for _, p := range circle.Outer {
		if d := geo.Distance(geo.Degrees(47.5, 12), p); math.Abs(d-3*1852) > 1e-3 {
			t.Fatalf("a corner of the circle is %g m from its centre", d)
		}
	}
	// Source: area of a circle and half circle (geometry); chords lie at most 1 m inside.
	f := geo.NewFrame(geo.Degrees(47.5, 12))
	z, err := circle.Place(f)
	if err != nil {
		t.Fatal(err)
	}
	full := math.Pi * 5556 * 5556
	if got := z.Polygon.Area(); got > full*1.0001 || got < full*0.9995 {
		t.Errorf("circle of %g m², want %g", got, full)
	}
	if !half.Ceil.Unlimited || half.Status != airspace.OutOfBounds || len(half.Valid) != 1 || !half.Active(time.Date(2026, 12, 1, 12, 0, 0, 0, time.UTC), time.Date(2026, 12, 1, 12, 0, 0, 0, time.UTC)) {
		t.Errorf("half moon: %+v", half.Valid)
	}
	z, err = half.Place(geo.NewFrame(geo.Degrees(47, 13)))
	if err != nil {
		t.Fatal(err)
	}
	if want, got := math.Pi*9260*9260/2, z.Polygon.Area(); math.Abs(got-want) > 1e-3*want {
		t.Errorf("half circle of %g m², want %g", got, want)
	}
	if !z.Polygon.Contains(geo.Vec2{Y: 9000}) || z.Polygon.Contains(geo.Vec2{Y: -100}) {
		t.Error("clockwise from west to east must run over north")
	}
	z, err = arc.Place(geo.NewFrame(geo.Degrees(47, 14)))
	if err != nil {
		t.Fatal(err)
	}
	if !z.Polygon.Contains(geo.Vec2{Y: 7000}) || z.Polygon.Contains(geo.Vec2{Y: -7000}) || arc.Floor.HeightM != 300 || arc.Ceil.HeightM != 900 {
		t.Error("anticlockwise from east to west must run over north")
	}
}

func TestOpenAirMistakesNameTheirLine(t *testing.T) {
	for _, c := range []struct{ what, old, new, want string }{
		{"no floor", "AL SFC\n", "", `sheet.txt:2: area "Ostbrink * tower": has no floor`},
		{"no ceiling", "AH FL 95\n", "", "has no ceiling"},
		{"ceiling below floor", "AH 900m MSL", "AH 100m MSL", "not above its floor"},
		{"arc without centre", "V X=47:30:00 N 012:00:00 E\n", "", "sheet.txt:15: area \"Weststiege\": DC comes before its centre"},
		{"negative radius", "DC 3", "DC -3", "radius"},
		{"radius NaN", "DC 3", "DC NaN", "radius"},
		{"huge radius", "DC 3", "DC 1e9", "radius"},
		{"circle joined to points", "DC 3", "DC 3\nDC 4", "whole circle"},
		{"arc without end", "DA 5,270,90", "DA 5,270", "2 values"},
		{"arc to infinity", "DA 5,270,90", "DA 5,270,Inf", "two angles"},
		{"arc that goes nowhere", "DA 5,270,90", "DA 5,270,270", "one direction"},
		{"arc of two radii", "47:00:00 N 013:54:00 E", "47:00:00 N 013:24:00 E", "from the centre"},
		{"arc on its centre", "DB 47:00:00 N 014:06:00 E", "DB 47:00:00 N 014:00:00 E", "lies on its centre"},
		{"arc with one end", ", 47:00:00 N 013:54:00 E", "", "one position"},
		{"self-crossing", "DP 47:06.5 N 011:10:00 E\nDP 47.1 N 11.0 E", "DP 47.1 N 11.0 E\nDP 47:06.5 N 011:10:00 E", "crosses itself"},
		{"two points", "DP 47:06.5 N 011:10:00 E\nDP 47.1 N 11.0 E", "", "2 points"},
		{"latitude", "47:06.5 N", "97:06.5 N", "beyond 90"},
		{"minutes", "47:06.5 N", "47:66.5 N", "not a number in range"},
		{"no hemisphere", "47:06.5 N 011:10:00 E", "47:06.5 011:10:00", "no N or S"},
		{"level", "FL 95", "about FL 95", "is not a level"},
		{"direction", "V D=-", "V D=left", "not + (clockwise)"},
		{"record", "AC Q", "XX what\nAC Q", `"XX" is not a record`},
		{"airway", "DC 3", "DY 5", "DY"},
		{"point before area", "AC CTR", "DP 47:00:00 N 011:00:00 E\nAC CTR", "before any AC"},
		{"times", "06:00Z/2026", "06:00Z-2026", "time of validity"},
		{"times swapped", "AA 2026-12-01T06:00Z/2026-12-01T18:00Z", "AA 2026-12-01T18:00Z/2026-12-01T06:00Z", "must come after"},
	} {
		if !strings.Contains(sample, c.old) {
			t.Fatalf("%s: the sample has no %q", c.what, c.old)
		}
		areas, err := airspace.ReadOpenAir("sheet.txt", []byte(strings.Replace(sample, c.old, c.new, 1)))
		if err == nil || areas != nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %d areas, %v, want %q", c.what, len(areas), err, c.want)
		}
	}
	// Every mistake is told, not only the first.
	_, err := airspace.ReadOpenAir("sheet.txt", []byte(strings.NewReplacer("AL SFC\n", "", "DC 3", "DC 0").Replace(sample)))
	if err == nil || strings.Count(err.Error(), "sheet.txt:") != 2 {
		t.Errorf("two mistakes: %v", err)
	}
}

func TestParseLevel(t *testing.T) {
	for text, want := range map[string]airspace.Level{
		"GND": airspace.Ground, "sfc": airspace.Ground, "UNL": airspace.Unlimited, "FL100": {HeightM: 3048, Reference: airspace.FlightLevel},
		"1000 ft": {HeightM: 304.8}, "1000": {HeightM: 304.8}, "500FT AGL": {HeightM: 152.4, Reference: airspace.AboveGround},
		"150 m AGL": {HeightM: 150, Reference: airspace.AboveGround}, "1000 MSL": {HeightM: 304.8}, "2000 F AMSL": {HeightM: 609.6},
	} {
		got, err := airspace.ParseLevel(text)
		if err != nil || got.Reference != want.Reference || got.Unlimited != want.Unlimited || math.Abs(got.HeightM-want.HeightM) > 1e-9 {
			t.Errorf("%q: %+v (%v), want %+v", text, got, err, want)
		}
	}
	for _, bad := range []string{"", "high", "FL", "FL -3", "FL NaN", "10 km", "-5 AGL", "1e400 ft", "12 ft AGL MSL"} {
		if l, err := airspace.ParseLevel(bad); err == nil {
			t.Errorf("%q was read as %v", bad, l)
		}
	}
}

func FuzzReadOpenAir(f *testing.F) {
	f.Add([]byte(sample))
	f.Add([]byte("AC D\nAL 0\nAH 1\nV X=89:59 N 0 E\nDA 60,0,359\n"))
	f.Add([]byte("AC D\nAL 0\nAH 1\nV X=0 N 180 E\nDC 10\n"))
	f.Add([]byte("AC D\nAN \xe4\nDB 0 N 0 E,0 N 0 E"))
	f.Fuzz(func(t *testing.T, data []byte) {
		areas, err := airspace.ReadOpenAir("fuzz.txt", data)
		if err != nil {
			if areas != nil {
				t.Fatal("areas beside an error")
			}
			return
		}
		begun := 0
		for _, line := range strings.Split(strings.ReplaceAll(string(data), "\r", ""), "\n") {
			code, _, _ := strings.Cut(strings.TrimSpace(strings.TrimPrefix(line, "\ufeff")), " ")
			if code == "AC" {
				begun++
			}
		}
		if len(areas) != begun {
			t.Fatalf("%d areas of %d", len(areas), begun)
		}
		for _, a := range areas {
			if err := a.Validate(); err != nil {
				t.Fatalf("an area was read that is not valid: %v", err)
			}
		}
	})
}
