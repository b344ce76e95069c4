package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"fieldfare/desk/book"
	"fieldfare/desk/export"
)

type bundleCmd struct {
	Dir    string `arg:"" help:"Shoot folder." type:"path"`
	Output string `short:"o" help:"Zip to write." required:"" type:"path"`
	Letter bool   `help:"US Letter in place of A4."`
	Force  bool   `help:"Overwrite an existing file."`
}

// largestPaper is the most that is read of one permission's paper.
const largestPaper = 64 << 20

func (c *bundleCmd) Run(s *Session) error {
	if err := vacant(c.Output, c.Force); err != nil {
		return err
	}
	p, err := planAll(s.Context, c.Dir)
	if err != nil {
		return err
	}
	papers, err := permissionPapers(c.Dir, p)
	if err != nil {
		return err
	}
	whole, err := book.Print(s.Context, p.book(c.Letter, nil))
	if err != nil {
		return err
	}
	risks, err := book.Print(s.Context, p.book(c.Letter, []string{"site", "risk", "emergency", "checklists"}))
	if err != nil {
		return err
	}
	kit, err := travelPapers(c.Dir, p.assessor)
	if err != nil {
		return err
	}
	list, err := kit.Print(p.assessor.Shoot, p.source, Version, c.Letter)
	if err != nil {
		return err
	}
	data, err := export.Bundle(s.Context, p.export(), whole, risks, list, papers)
	if err != nil {
		return err
	}
	return s.keepFile(c.Output, data)
}

// permissionPapers reads the documents that permissions name, never outside the folder.
func permissionPapers(dir string, p *planned) (all []export.Attachment, err error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	for _, x := range p.assessor.Shoot.Permissions {
		if x.Document == "" {
			continue
		}
		f, err := root.Open(filepath.FromSlash(x.Document))
		if err != nil {
			return nil, fmt.Errorf("permission %q names the paper %s, which cannot be read: %w", x.What, x.Document, err)
		}
		data, err := io.ReadAll(io.LimitReader(f, largestPaper+1))
		_ = f.Close() // only read
		if err != nil {
			return nil, fmt.Errorf("permission %q, paper %s: %w", x.What, x.Document, err)
		}
		if len(data) > largestPaper {
			return nil, fmt.Errorf("permission %q, paper %s: larger than %d MB", x.What, x.Document, largestPaper>>20)
		}
		all = append(all, export.Attachment{Name: strings.ReplaceAll(filepath.ToSlash(filepath.Clean(x.Document)), "/", "-"), Data: data})
	}
	return all, nil
}
