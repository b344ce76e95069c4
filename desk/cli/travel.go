package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"fieldfare/desk/travel"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

type travelCmd struct {
	Dir    string `arg:"" help:"Shoot folder." type:"path"`
	Output string `short:"o" help:"Also print them as a PDF." type:"path"`
	Letter bool   `help:"US Letter in place of A4."`
	Force  bool   `help:"Overwrite an existing file."`
}

// travelPapers reads the crew's notes beside the shoot file, where there are any.
func travelPapers(dir string, a *assess.Assessor) (*travel.Papers, error) {
	var notes travel.Notes
	src, err := os.ReadFile(filepath.Join(dir, travel.FileName))
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, err
	default:
		if notes, err = travel.Parse(src); err != nil {
			return nil, err
		}
	}
	return travel.Write(a, notes)
}

func (c *travelCmd) Run(s *Session) error {
	if c.Output != "" {
		if err := vacant(c.Output, c.Force); err != nil {
			return err
		}
	}
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	p, err := travelPapers(c.Dir, a)
	if err != nil {
		return err
	}
	if c.Output != "" {
		source, err := os.ReadFile(filepath.Join(c.Dir, shoot.FileName))
		if err != nil {
			return err
		}
		pdf, err := p.Print(a.Shoot, source, Version, c.Letter)
		if err != nil {
			return err
		}
		if err := shoot.Save(c.Output, pdf); err != nil {
			return err
		}
		fmt.Fprintln(s.Err, c.Output)
	}
	return s.emit(p, func(w io.Writer) { p.Text(w) })
}
