// Package standin makes copies of the demo shoot for tests, cut and changed as a test needs them. Only tests import it.
//
// A change whose text is no longer in the demo fails the test, so that none goes on to prove nothing.
package standin

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

// Demo is the demo's folder as seen from any package of plan and desk.
const Demo = "../../examples/last-milk-run"

// Copy copies the demo into a fresh folder of the test.
func Copy(t testing.TB) (dir string) {
	t.Helper()
	dir = t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(Demo)); err != nil {
		t.Fatal(err)
	}
	return dir
}

// Put writes a file into a shoot folder, with the folders on the way to it.
func Put(t testing.TB, dir, name, text string) {
	t.Helper()
	path := filepath.Join(dir, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// Text returns a file of a shoot folder.
func Text(t testing.TB, dir, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// Edit replaces texts in a file of a shoot folder: pairs of old and new, in this order, each where it stands first.
func Edit(t testing.TB, dir, name string, pairs ...string) {
	t.Helper()
	text := Text(t, dir, name)
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(text, pairs[i]) {
			t.Fatalf("%s does not hold %q: the test is out of date", name, pairs[i])
		}
		text = strings.Replace(text, pairs[i], pairs[i+1], 1)
	}
	Put(t, dir, name, text)
}

var after = regexp.MustCompile(`(?m)^    after: .*\n`)

// Keep cuts the shoot file to some slates, freed of those that they follow, so that a test solves few paths.
func Keep(t testing.TB, dir string, slates ...string) {
	t.Helper()
	head, tail, _ := strings.Cut(Text(t, dir, shoot.FileName), "\nslates:\n")
	text, kept := head+"\nslates:\n", 0
	for _, one := range strings.Split("\n"+tail, "\n  - slate: ")[1:] {
		if name, _, _ := strings.Cut(one, "\n"); slices.Contains(slates, name) {
			text += "  - slate: " + after.ReplaceAllString(one+"\n", "")
			kept++
		}
	}
	if kept != len(slates) {
		t.Fatalf("the demo has %d of the slates %v: the test is out of date", kept, slates)
	}
	Put(t, dir, shoot.FileName, text)
}

// Assess loads a shoot folder and makes every slate ready.
func Assess(t testing.TB, dir string) *assess.Assessor {
	t.Helper()
	s, err := shoot.Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	a, err := assess.New(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	return a
}
