package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"fieldfare/desk/travel"
	"fieldfare/plan/shoot"
)

type travelCmd struct {
	Dir    string `arg:"" help:"Shoot folder." type:"path"`
	Output string `short:"o" help:"Also print them as a PDF." type:"path"`
	Letter bool   `help:"US Letter in place of A4."`
	Force  bool   `help:"Overwrite an existing file."`
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
	p, err := travel.Of(c.Dir, a)
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
