package assess_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"fieldfare/model/terrain"
	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/shoot"
	"fieldfare/plan/standin"
)

// copied returns a copy of the demo with its shoot file changed.
func copied(t *testing.T, change func(string) string) *shoot.Shoot {
	t.Helper()
	dir := standin.Copy(t)
	standin.Put(t, dir, shoot.FileName, change(standin.Text(t, dir, shoot.FileName)))
	s, err := shoot.Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A tweak of the demo's folder that can be made and taken back.
type tweak struct{ name, file, was, is string }

var editsOfAll = []tweak{
	{"radius", "", "radius: 60 m", "radius: 70 m"},
	{"lens", "", "lens: Tern 25 # 2A", "lens: Tern 45 # 2A"},
	{"speed", "", "end_distance: 45 m, speed: 3 m/s", "end_distance: 45 m, speed: 2.5 m/s"},
	{"light", "", "light: [front light, subject lit]", "light: [front light, no aircraft shadow in frame]"},
	{"rung", "", "rung: near objects", "rung: wide and open"},
	{"wind limit", "", "wind: 8 m/s", "wind: 3.5 m/s"},
	{"clearance", "", "  clearance: 5 m", "  clearance: 9 m"},
	{"date", "", "dates: [2026-09-22]", "dates: [2026-09-23]"},
	{"zone", "", "zone: Europe/Zurich", "zone: Europe/London"},
	{"origin", "", "origin: 46.6 N, 10.3 E", "origin: 46.6001 N, 10.3 E"},
	{"cell", "", "  terrain: terrain.tif", "  terrain: terrain.tif\n  cell: 15 m"},
	{"refraction", "", "  ground_cover: roughly open", "  ground_cover: roughly open\n  refraction: 0.2"},
	{"cover", "", "ground_cover: roughly open", "ground_cover: rough"},
	{"rules", "", "rules: [house-strict]", "rules: [house-strict, eu-specific]"},
	{"permission", "", "status: granted", "status: asked"},
	{"pack", "", "model: P22-16, cycles: 42", "model: P22-16, cycles: 300"},
	{"subject", "", "height: 10 m, facing: 188 deg", "height: 14 m, facing: 188 deg"},
	{"no slate 5D", "", "  - slate: 5D", "  - slate: 6D"},
	{"tower", "site.geojson", `"height":"17 m"`, `"height":"31 m"`},
	{"area", "site.geojson", `"ceiling":"300 m"`, `"ceiling":"20 m"`},
	{"permitted height", "site.geojson", `"ceiling":"120 m"`, `"ceiling":"25 m"`},
	{"rig's mass", "kit/shelf.yaml", "mass: 4.3 kg", "mass: 4.9 kg"},
	{"lens's focal length", "kit/shelf.yaml", "focal: 25 mm", "focal: 28 mm"},
	{"wind at noon", "forecast.csv", "2026-09-22T12:00:00+02:00,3.5,4.9", "2026-09-22T12:00:00+02:00,7.5,12.9"},
	{"cloud at noon", "forecast.csv", "250,25,17.5,9.0,1019,12,none", "250,25,17.5,9.0,1019,100,none"},
	{"terrain", "terrain.tif", "", ""},
}

// few is the demo with three slates of two scenes and one date.
func few(t *testing.T) (dir string) {
	t.Helper()
	dir = standin.Copy(t)
	standin.Keep(t, dir, "2A", "2B", "5D")
	standin.Edit(t, dir, shoot.FileName, "dates: [2026-09-22, 2026-09-23]", "dates: [2026-09-22]", "lens: Tern 25", "lens: Tern 25 # 2A")
	return dir
}

// make makes the edit in a folder or takes it back.
func (e tweak) make(t *testing.T, dir string, back bool) {
	t.Helper()
	if e.file == "" {
		e.file = shoot.FileName
	}
	path := filepath.Join(dir, e.file)
	was, is := e.was, e.is
	if back {
		was, is = is, was
	}
	if e.name == "terrain" { // one height, at the middle
		raise(t, path, back)
		return
	}
	standin.Edit(t, dir, e.file, was, is)
}

// raise writes the demo's terrain, or the same with its origin in the file moved by a cell, which leaves the file as long as
// it was.
func raise(t *testing.T, path string, back bool) {
	t.Helper()
	src, err := os.ReadFile("../../examples/last-milk-run/terrain.tif")
	if err != nil {
		t.Fatal(err)
	}
	if !back {
		r, err := terrain.Open(path, terrain.Options{})
		if err != nil {
			t.Fatal(err)
		}
		was, is := make([]byte, 8), make([]byte, 8)
		west, moved := r.OriginX-r.StepX/2, src
		r.Close()
		for _, edge := range []float64{west, r.OriginX} { // the file ties the corner or the middle of its first cell
			binary.LittleEndian.PutUint64(was, math.Float64bits(edge))
			binary.LittleEndian.PutUint64(is, math.Float64bits(edge+r.StepX))
			moved = bytes.Replace(moved, was, is, 1)
		}
		if bytes.Equal(moved, src) {
			t.Fatal("the terrain's origin is not where it was: the test is out of date")
		}
		src = moved
	}
	if err := os.WriteFile(path, src, 0o644); err != nil {
		t.Fatal(err)
	}
}

// TestRenew: whatever is edited, in whatever order, what is taken over from the version before is what a fresh start gives.
func TestRenew(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	dir := few(t)
	made := map[string]bool{}
	var a *assess.Assessor
	var c *check.Check
	renew := func(of string) {
		t.Helper()
		var before *shoot.Shoot
		if a != nil {
			before = a.Shoot
		}
		s, err := shoot.Reload(dir, before)
		if err != nil {
			t.Fatalf("%s: %v", of, err)
		}
		var kept map[string]bool
		if a, kept, err = assess.Renew(ctx, s, a); err != nil {
			t.Fatalf("%s: %v", of, err)
		}
		if c, err = check.Renew(ctx, a, c, kept); err != nil {
			t.Fatalf("%s: %v", of, err)
		}
	}
	same := func(of string) {
		t.Helper()
		s, err := shoot.Load(dir)
		if err != nil {
			t.Fatal(err)
		}
		fresh, err := assess.New(ctx, s)
		if err != nil {
			t.Fatal(err)
		}
		want, err := check.Run(ctx, fresh)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(text(t, want), text(t, c)); diff != "" {
			t.Fatalf("after %s, made %v: %s", of, made, diff)
		}
		at := s.Dates[0].Midnight(s.Location()).Add(15 * time.Hour)
		for _, x := range s.Slates {
			p, q := fresh.Take(x.Slate), a.Take(x.Slate)
			if !reflect.DeepEqual(p.Path, q.Path) || text(t, p.At(at)) != text(t, q.At(at)) || text(t, p.Along()) != text(t, q.Along()) || !reflect.DeepEqual(p.Facts(at), q.Facts(at)) {
				t.Fatalf("after %s, made %v: slate %s differs from a fresh one", of, made, x.Slate)
			}
		}
	}
	toggle := func(e tweak) {
		t.Helper()
		e.make(t, dir, made[e.name])
		made[e.name] = !made[e.name]
		renew(e.name)
	}
	renew("nothing")
	for _, e := range editsOfAll { // each alone, in place of the one before
		toggle(e)
		same(e.name)
		e.make(t, dir, true)
		made[e.name] = false
	}
	renew("all taken back")
	same("all taken back")
	for seed := range 4 { // and in every order
		for _, i := range rapid.SliceOfN(rapid.IntRange(0, len(editsOfAll)-1), 3, 7).Example(seed) {
			toggle(editsOfAll[i])
		}
		same("a row of edits")
	}
}

func text(t *testing.T, v any) string {
	t.Helper()
	b, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// TestRenewKeeps: an edit of one scene leaves the others as they are, and an edit of the house none.
func TestRenewKeeps(t *testing.T) {
	ctx := context.Background()
	was, err := assess.New(ctx, copied(t, func(s string) string { return s }))
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		name, from, to string
		kept           int
	}{{"a slate of scene 2", "radius: 60 m", "radius: 70 m", 14}, {"the house's wind", "wind: 8 m/s", "wind: 7 m/s", 0}} {
		_, kept, err := assess.Renew(ctx, copied(t, func(s string) string { return strings.Replace(s, x.from, x.to, 1) }), was)
		if err != nil {
			t.Fatal(err)
		}
		if len(kept) != x.kept {
			t.Errorf("%s: %d slates taken over, want %d: %v", x.name, len(kept), x.kept, kept)
		}
	}
}

func TestMet(t *testing.T) {
	a, err := assess.New(context.Background(), copied(t, func(s string) string { return s }))
	if err != nil {
		t.Fatal(err)
	}
	take := a.Take("2C")
	at := time.Date(2026, 9, 22, 9, 0, 0, 0, time.UTC)
	calm, storm, cold := 1.0, 20.0, 268.15
	if !take.AtIn(at, assess.Met{WindMS: &calm}).Clear() {
		t.Error("2C is barred in 1 m/s of wind")
	}
	if take.AtIn(at, assess.Met{WindMS: &storm}).Clear() || take.ShutIn(at, assess.Met{WindMS: &storm}) == 0 {
		t.Error("2C is clear in 20 m/s of wind")
	}
	warm := *take.At(at).Numbers.Flight.UsableEnergyWh
	if got := *take.AtIn(at, assess.Met{TemperatureK: &cold}).Numbers.Flight.UsableEnergyWh; got >= warm {
		t.Errorf("a pack gives %.0f Wh at -5 °C, %.0f Wh in the forecast's warmth", got, warm)
	}
	if !reflect.DeepEqual(take.AtIn(at, assess.Met{}), take.At(at)) {
		t.Error("nothing met differs from the forecast")
	}
	if (assess.Met{WindMS: &cold}).Check() == nil {
		t.Error("a wind of 268 m/s is believed")
	}
}

// TestCorrect: one stop more light asks for one stop less exposure (definition of the stop).
func TestCorrect(t *testing.T) {
	a, err := assess.New(context.Background(), copied(t, func(s string) string { return s }))
	if err != nil {
		t.Fatal(err)
	}
	take := a.Take("2C")
	at := time.Date(2026, 9, 22, 9, 0, 0, 0, time.UTC)
	before := take.At(at).Numbers.Picture.Card
	c, err := take.Correct(at, 1)
	if err != nil {
		t.Fatal(err)
	}
	if off := c.Now - before.ErrorStops; off < 0.999 || off > 1.001 {
		t.Errorf("the set card comes out %+.3f stops against the plan, want +1", off)
	}
	if len(c.Ways) == 0 || c.Ways[0].Card.ErrorStops > 1.0/3 || c.Ways[0].Card.ErrorStops < -1.0/3 {
		t.Errorf("no way back to a right exposure: %+v", c.Ways)
	}
}
