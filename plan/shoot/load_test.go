package shoot_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fieldfare/plan/shoot"
)

const demo = "../../examples/last-milk-run"

// changed copies the demo's folder with one text replaced in one file and loads it.
func changed(t testing.TB, file, from, to string) error {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(demo)); err != nil {
		t.Fatal(err)
	}
	if file != "" {
		path := filepath.Join(dir, file)
		src, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(src), from) {
			t.Fatalf("%s does not hold %q: the test is out of date", file, from)
		}
		if err := os.WriteFile(path, []byte(strings.Replace(string(src), from, to, 1)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	_, err := shoot.Load(dir)
	return err
}

func TestDemoLoads(t *testing.T) {
	if err := changed(t, "", "", ""); err != nil {
		t.Fatal(err)
	}
}

// Every kind of mistake has its own error, with the place in the file and how to mend it.
func TestMistakes(t *testing.T) {
	tests := []struct{ name, file, from, to, want string }{
		{"unknown key", "shoot.yaml", "title: The last", "titel: The last", `unknown key "titel"`},
		{"suggestion", "shoot.yaml", "title: The last", "titel: The last", `did you mean "title"?`},
		{"missing key", "shoot.yaml", "title: The last milk run", "# no title", `"title" is missing`},
		{"bare number", "shoot.yaml", "reaction_time: 1.5 s", "reaction_time: 1.5", "the unit is missing"},
		{"wrong unit", "shoot.yaml", "reaction_time: 1.5 s", "reaction_time: 1.5 kg", `unknown unit "kg"`},
		{"lens not on the shelf", "shoot.yaml", "lenses: [Tern 12, Tern 25, Tern 45]", "lenses: [Tern 12, Tern 25, Tern 54]", `no lens on the shelf is called "Tern 54"`},
		{"lens not in the rig", "shoot.yaml", "lens: Tern 45\n    launch: chapel meadow", "lens: Tern 99\n    launch: chapel meadow", `is called "Tern 99"`},
		{"cycle", "shoot.yaml", "light: [long shadows, no sun in frame]\n    moves:\n      - {move: static", "after: [1B]\n    light: [daylight]\n    moves:\n      - {move: static", "slates wait for each other"},
		{"duplicate slate", "shoot.yaml", "- slate: 1B", "- slate: 1A", `slate "1A" stands twice`},
		{"clock change", "shoot.yaml", `what: meal, at: "12:30"`, `what: meal, date: 2026-03-29, at: "02:30"`, "does not exist on 2026-03-29"},
		{"end before start", "shoot.yaml", "ends: 2026-09-23 21:00", "ends: 2026-09-21 21:00", "it ends before it starts"},
		{"fixed off the dates", "shoot.yaml", "title: First light on the chapel", "fixed: 2026-10-01 10:00\n    title: First light on the chapel", "is not on a shooting date"},
		{"place without letters", "shoot.yaml", "origin: 46.6 N, 10.3 E", "origin: 46.6, 10.3", "write latitude then longitude with letters"},
		{"latitude over 90", "shoot.yaml", "origin: 46.6 N, 10.3 E", "origin: 100.3 N, 46.6 E", "look swapped"},
		{"subject off the terrain", "shoot.yaml", `at: "46.601889 N, 10.291908 E"`, `at: "10.291908 N, 46.601889 E"`, "lies outside the terrain"},
		{"feature swapped", "site.geojson", `{"coordinates":[10.`, `{"coordinates":[46.6,10.3],"was":[10.`, "with its numbers swapped"},
		{"unknown zone", "shoot.yaml", "zone: Europe/Zurich", "zone: Europe/Nowhere", "not a time zone"},
		{"unknown rule profile", "shoot.yaml", "rules: [house-strict]", "rules: [house-lax]", `no rule profile "house-lax"`},
		{"format not of the camera", "shoot.yaml", "format: C4K", "format: 8K", "no recording format of Cassia C4"},
		{"rate not of the format", "shoot.yaml", "rate: 25 fps", "rate: 50 fps", "does not record C4K at 50 fps"},
		{"pack that cannot be", "kit/shelf.yaml", "capacity: 16000 mAh", "capacity: 160000 mAh", "more than any lithium pack holds"},
		{"no rotors", "kit/shelf.yaml", "rotors: 8", "rotors: 0", "must be more than zero"},
		{"negative mass", "kit/shelf.yaml", "mass: 4.3 kg ", "mass: -4.3 kg ", "must be more than zero"},
		{"unknown light", "shoot.yaml", "light: [soft]", "light: [sofft]", `did you mean "soft"?`},
		{"not YAML", "shoot.yaml", "title: The last milk run", "title: [The last milk run", "not YAML"},
		{"missing terrain", "shoot.yaml", "terrain: terrain.tif", "terrain: other.tif", "no such file"},
		{"terrain outside the folder", "shoot.yaml", "terrain: terrain.tif", "terrain: ../../etc/terrain.tif", "leads out of the shoot folder"},
		{"missing map", "shoot.yaml", "map: sheet.png", "map: other.png", "there is no such file"},
		{"map outside the folder", "shoot.yaml", "map: sheet.png", "map: ../../etc/sheet.png", "leads out of the shoot folder"},
		{"map by an absolute path", "shoot.yaml", "map: sheet.png", "map: /etc/passwd", "leads out of the shoot folder"},
		{"map in metres of nobody knows what", "shoot.yaml", "  map_crs: EPSG:32632\n", "", "state it with map_crs"},
		{"map of another zone", "shoot.yaml", "map_crs: EPSG:32632", "map_crs: EPSG:32633", "not the site at 46.6"},
		{"map in an unknown system", "shoot.yaml", "map_crs: EPSG:32632", "map_crs: Lambert", `coordinate system "Lambert"`},
		{"credit of no map", "shoot.yaml", "  map: sheet.png        # drawn beneath the plan\n  map_crs: EPSG:32632\n", "", "there is no map whose it could be"},
		{"system of no map", "shoot.yaml", "  map: sheet.png        # drawn beneath the plan\n", "", "there is no map that could be in it"},
		{"map that is none", "shoot.yaml", "map: sheet.png", "map: terrain.tif", "cannot be read as a picture"},
		{"map with a broken world file", "sheet.pgw", "4\n0", "4\nx", "line 2"},
		{"move without what it needs", "shoot.yaml", "sweep: 150 deg, speed: 4 m/s", "speed: 4 m/s", "sweep"},
		{"self-crossing area", "site.geojson", `"kind":"people","name":"hamlet"`, `"kind":"nobody","name":"hamlet"`, `"nobody" is not a kind of feature`},
		{"track that runs back", "tracks/truck.csv", "\n7.", "\n-7.", "is not later than the one before"},
		{"slate on a rig that cannot film", "shoot.yaml", "rig: heron\n    lens: Tern 25", "rig: sparrow\n    lens: Tern 25", "rig sparrow carries no camera"},
		{"negative filter mass", "kit/shelf.yaml", "density: 0.3, mass: 12 g", "density: 0.3, mass: -12 g", "filters[0].mass: no such gear"},
		{"density of a brick", "kit/shelf.yaml", "density: 0.3, mass", "density: 30, mass", "0.3 is one stop"},
		{"two rotors", "kit/shelf.yaml", "rotors: 8", "rotors: 2", "count driven rotors"},
		{"good range off the lens", "kit/shelf.yaml", "good_from: f/4", "good_from: f/40", "within the lens's apertures"},
		{"tilt upside down", "kit/shelf.yaml", "tilt_from: -120 deg", "tilt_from: 120 deg", "from the lower to the higher"},
		{"cold table out of order", "kit/shelf.yaml", "{at: -10 C, share: 72 %}, {at: 0 C", "{at: 5 C, share: 72 %}, {at: 0 C", "from cold to warm"},
		{"charger that makes energy", "kit/shelf.yaml", "efficiency: 88 %", "efficiency: 300 %", "chargers[0].efficiency"},
		{"crop beyond the sensor", "kit/shelf.yaml", "crop_width: 17.3 mm", "crop_width: 36 mm", "at most the whole sensor"},
		{"reserve beyond the pack", "shoot.yaml", "reserve: 25 %", "reserve: 125 %", "a share of the pack"},
		{"extra of less than nothing", "shoot.yaml", "mark: FF-H801", "extras: [{name: lamp, mass: -3 kg}]\n    mark: FF-H801", "rigs[0].extras[0].mass"},
		{"no number", "kit/shelf.yaml", "drag_area_m2: 0.16", "drag_area_m2: .nan", "expected a number"},
		{"mains of no country", "shoot.yaml", "  people: 12/km2", "  people: 12/km2\n  mains: 400 Hz", "50 Hz or 60 Hz"},
		{"pilot who is none", "shoot.yaml", "roles: [pilot, lead]", "roles: [lead]", "has no pilot's role"},
	}
	for _, tc := range tests {
		t.Run(tc.name, func(t *testing.T) {
			err := changed(t, tc.file, tc.from, tc.to)
			if err == nil {
				t.Fatal("no error")
			}
			if !strings.Contains(err.Error(), tc.want) {
				t.Fatalf("got\n%v\nwant it to say %q", err, tc.want)
			}
			var mistakes shoot.Mistakes
			if !errors.As(err, &mistakes) {
				t.Fatalf("%T is not a list of mistakes", err)
			}
			for _, m := range mistakes {
				if m.File == "" || m.Line == 0 && m.File == "shoot.yaml" && tc.name != "missing key" {
					t.Errorf("%+v has no place", m)
				}
			}
		})
	}
}

func TestAllMistakesAtOnce(t *testing.T) {
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(demo)); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "shoot.yaml")
	src, _ := os.ReadFile(path)
	text := strings.NewReplacer("title: The last", "titel: The last", "reaction_time: 1.5 s", "reaction_time: 1.5", "- slate: 1B", "- slate: 1A").Replace(string(src))
	os.WriteFile(path, []byte(text), 0o644)
	_, err := shoot.Load(dir)
	var mistakes shoot.Mistakes
	if !errors.As(err, &mistakes) || len(mistakes) < 4 {
		t.Fatalf("want the unknown key, the missing key, the bare number and the double slate, got\n%v", err)
	}
	for i := 1; i < len(mistakes); i++ {
		if mistakes[i].File == mistakes[i-1].File && mistakes[i].Line < mistakes[i-1].Line {
			t.Errorf("mistakes are not in file order:\n%v", err)
		}
	}
	if !strings.Contains(err.Error(), "reaction_time: 1.5\n") {
		t.Errorf("the offending line is not shown:\n%v", err)
	}
}

func TestStartIsAShoot(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new")
	var at shoot.Place
	if err := at.UnmarshalText([]byte("46.6 N, 10.3 E")); err != nil {
		t.Fatal(err)
	}
	if err := shoot.Start(dir, at, shoot.Date{Year: 2026, Month: 9, Day: 22}, "Europe/Zurich"); err != nil {
		t.Fatal(err)
	}
	grid, err := os.ReadFile(filepath.Join(demo, "terrain.tif"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "terrain.tif"), grid, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := shoot.Load(dir); err != nil {
		t.Fatalf("a fresh shoot has mistakes:\n%v", err)
	}
	if err := shoot.Start(dir, at, shoot.Date{Year: 2026, Month: 9, Day: 22}, "Europe/Zurich"); err == nil {
		t.Fatal("Start wrote over a shoot")
	}
}

func TestFormatKeepsMeaning(t *testing.T) {
	src, err := os.ReadFile(filepath.Join(demo, "shoot.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	untidy := strings.ReplaceAll(string(src), "\n\n", "\n\n\n  \n")
	tidy, err := shoot.Format([]byte(untidy))
	if err != nil {
		t.Fatal(err)
	}
	again, err := shoot.Format(tidy)
	if err != nil || string(again) != string(tidy) {
		t.Fatalf("tidying twice changes more: %v", err)
	}
	if strings.Count(string(tidy), "#") != strings.Count(untidy, "#") {
		t.Fatal("a comment was lost")
	}
}

func FuzzParse(f *testing.F) {
	src, err := os.ReadFile(filepath.Join(demo, "shoot.yaml"))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(src)
	f.Add([]byte("fieldfare: 1\nslates: [{slate: 1A}]\n"))
	f.Add([]byte("a: &a [*a]\n"))
	f.Add([]byte("site: {origin: 46 N, 10 E}"))
	f.Fuzz(func(t *testing.T, src []byte) {
		done := make(chan struct{})
		go func() {
			defer close(done)
			shoot.Decode("shoot.yaml", src) // must return, with mistakes or without
		}()
		select {
		case <-done:
		case <-time.After(20 * time.Second):
			t.Fatalf("reading %d bytes has not ended", len(src))
		}
	})
}
