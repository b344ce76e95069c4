package intake

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"fieldfare/desk/track"
	"fieldfare/plan/shoot"
)

// Brought says what was put into a shoot folder.
type Brought struct {
	File    string   `json:"file"`
	Added   []string `json:"added" nullable:"false"`
	LeftOut []string `json:"left_out" nullable:"false"`
	Next    string   `json:"next,omitempty"`
	Caution string   `json:"caution"`
}

// Features merges a file's features into the site of the shoot in dir. The site is read as a whole with them
// before anything is written.
func Features(dir string, data []byte, given Given, replace bool) (b Brought, err error) {
	sh, err := shoot.Load(dir)
	if err != nil {
		return b, err
	}
	content, err := Read(data)
	if err != nil {
		return b, err
	}
	name := sh.Site.Features
	if name == "" {
		return b, errors.New("the shoot names no feature file: under site: add features: site.geojson")
	}
	b.File = filepath.Join(dir, filepath.FromSlash(name))
	old, err := os.ReadFile(b.File)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return b, err
	}
	merged, added, left, err := Merge(old, content, given, replace)
	if err != nil {
		return b, err
	}
	if len(added) == 0 {
		return b, fmt.Errorf("no feature of the site is in it; left out: %s", strings.Join(left, "; "))
	}
	if _, err := sh.ReadFeatures(name, merged); err != nil {
		return b, fmt.Errorf("the site would not hold with it, nothing was written: %w", err)
	}
	if err := shoot.Save(b.File, merged); err != nil {
		return b, err
	}
	b.Added, b.LeftOut = added, left
	return b, nil
}

// Track writes a file's recorded track as the timed track of a subject in dir, over an existing one only
// with force.
func Track(ctx context.Context, dir, subject string, data []byte, force bool) (b Brought, err error) {
	if subject == "" || subject != filepath.Base(subject) || strings.ContainsAny(subject, `/\`) || subject == ".." || subject == "." {
		return b, fmt.Errorf("track %q: give the subject's name", subject)
	}
	t, err := track.Read(ctx, data, track.Options{})
	if err != nil {
		return b, err
	}
	way, err := Way(t)
	if err != nil {
		return b, err
	}
	name := path.Join("tracks", subject+".csv")
	b.File = filepath.Join(dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(b.File), 0o755); err != nil {
		return b, err
	}
	if _, err := os.Stat(b.File); err == nil && !force {
		return b, fmt.Errorf("%s exists: %w", b.File, fs.ErrExist)
	}
	if err := shoot.Save(b.File, way); err != nil {
		return b, err
	}
	b.Added = []string{fmt.Sprintf("track of %s, %d positions", subject, len(t.Points))}
	for _, f := range t.Findings {
		b.LeftOut = append(b.LeftOut, f.Severity+": "+f.What)
	}
	b.Next = fmt.Sprintf("name it in shoot.yaml: under the subject %s, track: %s", subject, name)
	return b, nil
}
