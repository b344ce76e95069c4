package shoot_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"fieldfare/plan/shoot"
	"fieldfare/plan/standin"
)

// A limit of less than nothing would let every distance pass: it is a mistake with its line, as an empty name is.
func TestLimitsOfLessThanNothing(t *testing.T) {
	for _, c := range []struct{ from, to, want string }{
		{"people_distance: 30 m", "people_distance: -30 m", "house.people_distance: no such gear or limit: -30"},
		{"clearance: 5 m", "clearance: -5 m", "house.clearance"},
		{"wire_clearance: 20 m", "wire_clearance: -20 m", "house.wire_clearance"},
		{"subject_distance: 10 m", "subject_distance: 900 km", "house.subject_distance"},
		{"visibility: 3 km", "visibility: -3 km", "house.visibility"},
		{"link_margin: 10 dB", "link_margin: -10 dB", "house.link_margin"},
		{"lens_change: 9 min", "lens_change: -9 min", "house.lens_change"},
		{"duty: 11 h", "duty: -1 h", "crew[0].duty"},
		{"duty: 11 h", "duty: 110 h", "crew[0].duty"},
		{"rest: 11 h", "rest: -1 h", "crew[0].rest"},
		{"slate: 1B", `slate: ""`, "slates[1].slate: the name is empty"},
	} {
		err := changed(t, "shoot.yaml", c.from, c.to)
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "shoot.yaml:") {
			t.Errorf("%s: got %v, want a mistake that says %q", c.to, err, c.want)
		}
	}
}

// What is wrong with a file is told in words, with the file, and never in those of the language or the system's calls.
func TestFilesInWords(t *testing.T) {
	calls := regexp.MustCompile(`openat|unmarshal|Go value|EOF|syscall|strconv|goroutine|e\+0`)
	for name, c := range map[string]struct {
		spoil func(dir string) error
		want  string
	}{
		"no terrain":          {func(d string) error { return os.Remove(d + "/terrain.tif") }, "site.terrain: there is no such file or folder; put an elevation file there"},
		"terrain elsewhere":   {func(d string) error { return relink(d, "terrain.tif", "/etc/passwd") }, "leads out of the shoot folder"},
		"terrain in a circle": {func(d string) error { return relink(d, "terrain.tif", "terrain.tif") }, "its links lead in a circle"},
		"terrain far off":     {func(d string) error { return replace(d, "origin: 46.6 N", "origin: 46.6 S") }, "km from the site at 46.6 S"},
		"features of no kind": {func(d string) error { return os.WriteFile(d+"/site.geojson", []byte("[]"), 0o644) }, "the file holds an array where an object is expected"},
		"features cut off":    {func(d string) error { return os.WriteFile(d+"/site.geojson", []byte(`{"type":`), 0o644) }, "cut off"},
		"not UTF-8":           {func(d string) error { return replace(d, "Alder Lane", "Alder\xe9 Lane") }, "shoot.yaml:4:1: a character here is not UTF-8; save the file as UTF-8 text"},
		"a folder":            {func(d string) error { return refolder(d, "shoot.yaml") }, "it is a folder where a file is expected"},
		"forecast":            {func(d string) error { return os.Remove(d + "/forecast.csv") }, "forecast: cannot be read: there is no such file or folder; put the file beside shoot.yaml"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := standin.Copy(t)
			if err := c.spoil(dir); err != nil {
				t.Fatal(err)
			}
			_, err := shoot.Load(dir)
			if err == nil || !strings.Contains(err.Error(), c.want) || calls.MatchString(err.Error()) {
				t.Errorf("got %v, want it to say %q", err, c.want)
			}
		})
	}
}

// A mark before the text, as some editors put there, and a grid whose system the shoot file names, are read.
func TestMarkBeforeTextAndGridOfAStatedSystem(t *testing.T) {
	dir := standin.Copy(t)
	grid := "ncols 400\nnrows 400\nxllcorner 10.25\nyllcorner 46.55\ncellsize 0.00025\n" + strings.Repeat(strings.Repeat("1200 ", 400)+"\n", 400)
	if err := os.WriteFile(filepath.Join(dir, "terrain.asc"), []byte(grid), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := replace(dir, "terrain: terrain.tif", "terrain: terrain.asc"); err != nil {
		t.Fatal(err)
	}
	if _, err := shoot.Load(dir); err == nil || !strings.Contains(err.Error(), "as in terrain_crs: EPSG:32632") {
		t.Fatalf("a grid of no system: %v", err)
	}
	if err := replace(dir, "terrain: terrain.asc", "terrain: terrain.asc\n  terrain_crs: EPSG:4326"); err != nil {
		t.Fatal(err)
	}
	if err := replace(dir, "# The demo shoot", "\ufeff# The demo shoot"); err != nil {
		t.Fatal(err)
	}
	s, err := shoot.Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	if z, ok := s.Ground().HeightAt(0, 0); !ok || z != 1200 {
		t.Errorf("ground at the origin is %v, %v; want 1200 m", z, ok)
	}
}

func replace(dir, from, to string) error {
	file := filepath.Join(dir, shoot.FileName)
	text, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	return os.WriteFile(file, []byte(strings.Replace(string(text), from, to, 1)), 0o644)
}

func relink(dir, name, to string) error {
	if err := os.Remove(filepath.Join(dir, name)); err != nil {
		return err
	}
	return os.Symlink(to, filepath.Join(dir, name))
}

func refolder(dir, name string) error {
	if err := os.Remove(filepath.Join(dir, name)); err != nil {
		return err
	}
	return os.Mkdir(filepath.Join(dir, name), 0o755)
}
