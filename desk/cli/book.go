package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"fieldfare/desk/book"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
	"fieldfare/plan/shoot"
)

type bookCmd struct {
	Dir    string `arg:"" help:"Shoot folder." type:"path"`
	Output string `short:"o" help:"PDF to write." required:"" type:"path"`
	Letter bool   `help:"US Letter in place of A4."`
	Force  bool   `help:"Overwrite an existing file."`
}

func (c *bookCmd) Run(s *Session) error {
	if _, err := os.Stat(c.Output); err == nil && !c.Force {
		return fmt.Errorf("%s exists; choose another name or add --force", c.Output)
	}
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	checked, err := check.Run(s.Context, a)
	if err != nil {
		return err
	}
	sheet, err := call.Plan(s.Context, a, checked, day.Options{})
	if err != nil {
		return err
	}
	source, err := os.ReadFile(filepath.Join(c.Dir, shoot.FileName))
	if err != nil {
		return err
	}
	pdf, err := book.Print(book.Content{Shoot: a.Shoot, Check: checked, Sheet: sheet, Source: source, Version: Version, Letter: c.Letter})
	if err != nil {
		return err
	}
	if err := shoot.Save(c.Output, pdf); err != nil {
		return err
	}
	result := struct {
		File    string `json:"file"`
		Bytes   int    `json:"bytes"`
		Caution string `json:"caution"`
	}{c.Output, len(pdf), SafetySentence}
	return s.emit(result, func(w io.Writer) { fmt.Fprintf(w, "%s, %d kB\n%s\n", c.Output, len(pdf)/1000, SafetySentence) })
}
