package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"fieldfare/desk/book"
	"fieldfare/plan/assess"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
	"fieldfare/plan/shoot"
)

type bookCmd struct {
	Dir    string   `arg:"" help:"Shoot folder." type:"path"`
	Output string   `short:"o" help:"PDF to write." required:"" type:"path"`
	Letter bool     `help:"US Letter in place of A4."`
	Only   []string `help:"Only these parts or slates, as in day,slates,4B. Parts: cover, day, site, slates, packs, radio, permissions, risk, emergency, checklists, survey, forms."`
	Plain  bool     `help:"Without storyboard: smaller and quicker."`
	Force  bool     `help:"Overwrite an existing file."`
}

// planned is a shoot with everything that its papers are made of.
type planned struct {
	assessor *assess.Assessor
	check    *check.Check
	sheet    *call.Sheet
	source   []byte
}

// planAll loads, checks and plans a shoot.
func planAll(ctx context.Context, dir string) (*planned, error) {
	a, err := open(ctx, dir)
	if err != nil {
		return nil, err
	}
	return planOf(ctx, dir, a)
}

// planOf checks and plans a shoot that is open.
func planOf(ctx context.Context, dir string, a *assess.Assessor) (p *planned, err error) {
	p = &planned{assessor: a}
	if p.check, err = check.Run(ctx, a); err != nil {
		return nil, err
	}
	if p.sheet, err = call.Plan(ctx, a, p.check, day.Options{}); err != nil {
		return nil, err
	}
	p.source, err = os.ReadFile(filepath.Join(dir, shoot.FileName))
	return p, err
}

// vacant refuses a file that exists, or that has no folder to go to, before any work is done for it.
func vacant(file string, force bool) error {
	if _, err := os.Stat(filepath.Dir(file)); err != nil {
		return fmt.Errorf("%s has no folder to go to: %s; make it first", file, shoot.Why(err))
	}
	info, err := os.Stat(file)
	switch {
	case err == nil && info.IsDir():
		return fmt.Errorf("%s is a folder; give a file name", file)
	case err == nil && !force:
		return fmt.Errorf("%s exists; choose another name or add --force", file)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s: %s", file, shoot.Why(err))
	}
	return nil
}

// written is the answer of commands that write a file.
type written struct {
	File    string `json:"file"`
	Bytes   int    `json:"bytes"`
	Caution string `json:"caution"`
}

// keepFile writes the file whole or not at all, and says so.
func (s *Session) keepFile(file string, data []byte) error {
	if err := shoot.Save(file, data); err != nil {
		return err
	}
	return s.emit(written{file, len(data), SafetySentence}, func(w io.Writer) {
		fmt.Fprintf(w, "%s, %d kB\n%s\n", file, (len(data)+999)/1000, SafetySentence)
	})
}

func (p *planned) book(letter bool, only []string) book.Content {
	return book.Content{Assessor: p.assessor, Check: p.check, Sheet: p.sheet, Source: p.source, Version: Version, Letter: letter, Only: only}
}

func (c *bookCmd) Run(s *Session) error {
	if err := vacant(c.Output, c.Force); err != nil {
		return err
	}
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	if err := book.Check(a.Shoot, c.Only); err != nil {
		return err
	}
	p, err := planOf(s.Context, c.Dir, a)
	if err != nil {
		return err
	}
	content := p.book(c.Letter, c.Only)
	content.Plain = c.Plain
	pdf, err := book.Print(s.Context, content)
	if err != nil {
		return err
	}
	return s.keepFile(c.Output, pdf)
}
