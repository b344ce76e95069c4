package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"fieldfare/desk/intake"
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

func (c *bringCmd) Run(s *Session) error {
	data, err := os.ReadFile(c.File)
	if err != nil {
		return fmt.Errorf("cannot read %s: %s", c.File, shoot.Why(err))
	}
	var r intake.Brought
	if c.Track != "" {
		r, err = intake.Track(s.Context, c.Dir, c.Track, data, c.Force)
	} else {
		r, err = intake.Features(c.Dir, data, intake.Given{"kind": c.Kind, "height": c.Height, "status": c.Status, "ceiling": c.Ceiling}, c.Replace)
	}
	if errors.Is(err, fs.ErrExist) {
		err = fmt.Errorf("%w; add --force to write over it", err)
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
