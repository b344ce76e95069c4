package skill_test

import (
	"context"
	"encoding/binary"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fieldfare/desk/skill"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

// Every rung's practice shoot loads, and every move of it has a path that the checker
// counts as a trainer's.
func TestPracticeShootsSolve(t *testing.T) {
	grid := make([]byte, 0, 1201*1201*2)
	for range 1201 * 1201 {
		grid = binary.BigEndian.AppendUint16(grid, 600)
	}
	terrain := filepath.Join(t.TempDir(), "N46E010.hgt")
	if err := os.WriteFile(terrain, grid, 0o600); err != nil {
		t.Fatal(err)
	}
	var c skill.Course
	if err := c.Place.UnmarshalText([]byte("46.6 N, 10.3 E")); err != nil {
		t.Fatal(err)
	}
	if err := c.Date.UnmarshalText([]byte("2026-09-22")); err != nil {
		t.Fatal(err)
	}
	c.Zone, c.Pilot, c.Terrain = "Europe/Zurich", "A. Pilot: \"ace\"", terrain
	for _, rung := range skill.CommonRules().Rungs {
		t.Run(string(rung.Class), func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "practice")
			c.Class = rung.Class
			if err := skill.WritePractice(dir, c, rung); err != nil {
				t.Fatal(err)
			}
			if err := skill.WritePractice(dir, c, rung); err == nil {
				t.Error("an existing shoot was overwritten")
			}
			s, err := shoot.Load(dir)
			if err != nil {
				text, _ := os.ReadFile(filepath.Join(dir, shoot.FileName))
				t.Fatalf("%v\n%s", err, text)
			}
			a, err := assess.New(context.Background(), s)
			if err != nil {
				t.Fatal(err)
			}
			if len(a.Takes()) != len(rung.Moves) {
				t.Error(len(a.Takes()))
			}
			for _, k := range a.Takes() {
				if k.Unsolved != nil || len(k.Path.Samples) < 20 || k.MoveNumbers().Class != "trainer" {
					t.Errorf("%s (%s): %v, class %s", k.Slate.Slate, k.Slate.Title, k.Unsolved, k.MoveNumbers().Class)
				}
			}
		})
	}
	rung := skill.CommonRules().Rungs[1]
	rung.Moves = []string{"loop"}
	if err := skill.WritePractice(t.TempDir(), c, rung); err == nil || !strings.Contains(err.Error(), `no drill for the move "loop"`) {
		t.Error(err)
	}
}
