package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"fieldfare/desk/intake"
	"fieldfare/desk/track"
	"fieldfare/plan/shoot"
)

type bringCmd struct {
	File    string `arg:"" help:"GeoJSON, KML, KMZ or GPX." type:"path"`
	Dir     string `arg:"" help:"Shoot folder." type:"path"`
	Kind    string `help:"Kind of features that do not say theirs, as building, wire, people, area, launch."`
	Height  string `help:"Height of features that do not say theirs, as in 12 m."`
	Status  string `help:"Status of areas that do not say theirs: permitted, needs permission, out of bounds."`
	Ceiling string `help:"Ceiling of areas that do not say theirs, as in 120 m."`
	Replace bool   `help:"Replace features of the same kind and name."`
	Track   string `help:"Write the file's recorded track as this subject's timed track instead."`
	Force   bool   `help:"Overwrite an existing track."`
}

type bringResult struct {
	File    string   `json:"file"`
	Added   []string `json:"added"`
	LeftOut []string `json:"left_out"`
	Next    string   `json:"next,omitempty"`
	Caution string   `json:"caution"`
}

func (c *bringCmd) Run(s *Session) error {
	data, err := os.ReadFile(c.File)
	if err != nil {
		return err
	}
	var r bringResult
	if c.Track != "" {
		r, err = c.track(s, data)
	} else {
		r, err = c.features(data)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(c.File), err)
	}
	r.Caution = SafetySentence
	return s.emit(r, func(w io.Writer) {
		fmt.Fprintf(w, "%s: %d added\n", r.File, len(r.Added))
		for _, a := range r.Added {
			fmt.Fprintf(w, "  %s\n", a)
		}
		for _, l := range r.LeftOut {
			fmt.Fprintf(w, "left out  %s\n", l)
		}
		if r.Next != "" {
			fmt.Fprintln(w, r.Next)
		}
		fmt.Fprintln(w, r.Caution)
	})
}

// features merges, reads the result as the shoot will, and only then writes it.
func (c *bringCmd) features(data []byte) (r bringResult, err error) {
	sh, err := shoot.Load(c.Dir)
	if err != nil {
		return r, err
	}
	content, err := intake.Read(data)
	if err != nil {
		return r, err
	}
	name := sh.Site.Features
	if name == "" {
		return r, errors.New("the shoot names no feature file: under site: add features: site.geojson")
	}
	r.File = filepath.Join(c.Dir, filepath.FromSlash(name))
	old, err := os.ReadFile(r.File)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return r, err
	}
	merged, added, left, err := intake.Merge(old, content, intake.Given{"kind": c.Kind, "height": c.Height, "status": c.Status, "ceiling": c.Ceiling}, c.Replace)
	if err != nil {
		return r, err
	}
	if len(added) == 0 {
		return r, fmt.Errorf("no feature of the site is in it; left out: %s", strings.Join(left, "; "))
	}
	if _, err := sh.ReadFeatures(name, merged); err != nil {
		return r, fmt.Errorf("the site would not hold with it, nothing was written: %w", err)
	}
	if err := shoot.Save(r.File, merged); err != nil {
		return r, err
	}
	r.Added, r.LeftOut = added, left
	return r, nil
}

func (c *bringCmd) track(s *Session, data []byte) (r bringResult, err error) {
	if c.Track != filepath.Base(c.Track) || strings.ContainsAny(c.Track, `/\`) || c.Track == ".." || c.Track == "." {
		return r, fmt.Errorf("--track %q: give the subject's name", c.Track)
	}
	t, err := track.Read(s.Context, data, track.Options{})
	if err != nil {
		return r, err
	}
	way, err := intake.Way(t)
	if err != nil {
		return r, err
	}
	name := path.Join("tracks", c.Track+".csv")
	r.File = filepath.Join(c.Dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(r.File), 0o755); err != nil {
		return r, err
	}
	if err := vacant(r.File, c.Force); err != nil {
		return r, err
	}
	if err := shoot.Save(r.File, way); err != nil {
		return r, err
	}
	r.Added = []string{fmt.Sprintf("track of %s, %d positions", c.Track, len(t.Points))}
	for _, f := range t.Findings {
		r.LeftOut = append(r.LeftOut, f.Severity+": "+f.What)
	}
	r.Next = fmt.Sprintf("name it in shoot.yaml: under the subject %s, track: %s", c.Track, name)
	return r, nil
}
