package travel_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fieldfare/desk/travel"
	"fieldfare/plan/standin"
)

// papers of the demo, with a change to its shelf.
func papers(t *testing.T, notes string, change ...string) *travel.Papers {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../../examples/last-milk-run")); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(dir, "kit", "*.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(f, []byte(strings.NewReplacer(change...).Replace(string(data))), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	a := standin.Assess(t, dir)
	n, err := travel.Parse([]byte(notes))
	if err != nil {
		t.Fatal(err)
	}
	p, err := travel.Write(a, n)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Masses added by hand from the demo's shelf: 7.40 + 4.30 + 1.35 = 13.05 kg; packs 3 x 1.92 + 3 x 0.98 = 8.70 kg.
func TestMassesByHand(t *testing.T) {
	p := papers(t, "cases: [{name: long case, mass: 7.4 kg, holds: [Heron 8, Plumb 3]}]")
	found := 0
	for _, c := range p.Cases {
		switch {
		case c.Name == "long case":
			found++
			if math.Abs(c.KnownKg-13.05) > 1e-9 || !c.Whole {
				t.Errorf("long case: %v kg, whole %v", c.KnownKg, c.Whole)
			}
		case strings.HasPrefix(c.Name, "packs"):
			found++
			if math.Abs(c.KnownKg-8.70) > 1e-9 || c.Whole {
				t.Errorf("packs: %v kg, whole %v; their case has no mass", c.KnownKg, c.Whole)
			}
		}
	}
	if found != 2 {
		t.Errorf("cases: %+v", p.Cases)
	}
	seen := map[string]bool{}
	for _, x := range p.List {
		if seen[x.Kind+x.Name] {
			t.Errorf("%s stands twice in the general list", x.Name)
		}
		seen[x.Kind+x.Name] = true
	}
	if !strings.Contains(strings.Join(p.Unknown, ","), "Valley set") {
		t.Errorf("a radio without a mass is not named as unknown: %v", p.Unknown)
	}
}

// The watt-hour rule (IATA Dangerous Goods Regulations, table 2.3.A): up to 100 Wh in the cabin, up to
// 160 Wh with approval and two a person, more as cargo. 22.2 V x 6 Ah = 133.2 Wh; x 4 Ah = 88.8 Wh.
func TestWhoCarriesPacks(t *testing.T) {
	p := papers(t, "cases: []", "capacity: 16000 mAh", "capacity: 6000 mAh", "capacity: 8000 mAh", "capacity: 4000 mAh")
	for _, x := range p.Packs {
		held := map[string]int{}
		for _, who := range x.Who {
			held[who]++
		}
		switch x.Model {
		case "P22-16":
			if math.Abs(x.Wh-133.2) > 1e-6 || x.Class != "operator approval" || held["cargo"] != 0 {
				t.Errorf("%+v", x)
			}
			for who, n := range held {
				if n > 2 {
					t.Errorf("%s carries %d packs that need approval", who, n)
				}
			}
		case "P22-8":
			if math.Abs(x.Wh-88.8) > 1e-6 || x.Class != "cabin" || len(held) != 3 {
				t.Errorf("%+v", x)
			}
		}
	}
	for _, x := range papers(t, "cases: []").Packs {
		for _, who := range x.Who {
			if who != "cargo" {
				t.Errorf("%s of %.0f Wh is given to %s", x.Model, x.Wh, who)
			}
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte("cases: [{name: a, mass: 7 kg, holds: [b]}]"))
	f.Add([]byte("declare: [{item: a, value: 1 EUR}]"))
	f.Add([]byte("cases: 3"))
	f.Fuzz(func(t *testing.T, data []byte) { _, _ = travel.Parse(data) })
}
