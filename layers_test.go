// Package fieldfare_test holds the rules of the whole tree.
package fieldfare_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// storeys from the ground up: a package may import its own storey and those below it.
var storeys = []string{"model", "plan", "desk", "cmd"}

func storey(path string) int {
	for i, s := range storeys {
		if path == s || strings.HasPrefix(path, s+"/") {
			return i
		}
	}
	return -1
}

func TestImportsPointDown(t *testing.T) {
	seen := 0
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "node_modules" || strings.HasPrefix(d.Name(), ".") && path != ".") {
			return filepath.SkipDir
		}
		from := storey(filepath.ToSlash(path))
		if from < 0 || !strings.HasSuffix(path, ".go") {
			return nil
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, spec := range file.Imports {
			imported, _ := strconv.Unquote(spec.Path.Value)
			own, inside := strings.CutPrefix(imported, "fieldfare/")
			if !inside {
				if from == 0 && (strings.HasPrefix(imported, "net/") || imported == "net") && !strings.HasSuffix(path, "_test.go") {
					t.Errorf("%s imports %s: model touches no network", path, imported)
				}
				continue
			}
			seen++
			if to := storey(own); to > from {
				t.Errorf("%s imports %s: imports point down, and %s is above %s", path, imported, storeys[to], storeys[from])
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen == 0 {
		t.Fatal("no import of our own packages was seen: the walk is broken")
	}
}

func TestPackageNamesAreNouns(t *testing.T) {
	banned := map[string]bool{"util": true, "utils": true, "common": true, "helpers": true, "helper": true, "misc": true, "base": true, "lib": true}
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "node_modules" || d.Name() == ".git"):
			return filepath.SkipDir
		case strings.HasSuffix(path, ".go") && banned[filepath.Base(filepath.Dir(path))]:
			t.Errorf("%s: name the package after what it holds", path)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
