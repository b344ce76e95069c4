package cli

import "fieldfare/desk/book"

type bundleCmd struct {
	Dir    string `arg:"" help:"Shoot folder." type:"path"`
	Output string `short:"o" help:"Zip to write." required:"" type:"path"`
	Letter bool   `help:"US Letter in place of A4."`
	Force  bool   `help:"Overwrite an existing file."`
}

func (c *bundleCmd) Run(s *Session) error {
	if err := vacant(c.Output, c.Force); err != nil {
		return err
	}
	p, err := planAll(s.Context, c.Dir)
	if err != nil {
		return err
	}
	data, err := book.Bundle(s.Context, p.book(c.Letter, nil), c.Dir)
	if err != nil {
		return err
	}
	return s.keepFile(c.Output, data)
}
