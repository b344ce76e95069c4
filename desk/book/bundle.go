package book

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"fieldfare/desk/export"
	"fieldfare/desk/travel"
	"fieldfare/plan/shoot"
)

// Bundle packs everything that an authority asks for into one zip: the book, its risk assessment by
// itself, the kit list, the papers that permissions name in the shoot folder, and what export.Bundle adds.
func Bundle(ctx context.Context, c Content, dir string) ([]byte, error) {
	s := c.Assessor.Shoot
	papers, err := permissionPapers(dir, s)
	if err != nil {
		return nil, err
	}
	c.Only, c.Plain = nil, false
	whole, err := Print(ctx, c)
	if err != nil {
		return nil, err
	}
	c.Only = []string{"site", "risk", "emergency", "checklists"}
	risks, err := Print(ctx, c)
	if err != nil {
		return nil, err
	}
	kit, err := travel.Of(dir, c.Assessor)
	if err != nil {
		return nil, err
	}
	list, err := kit.Print(s, c.Source, c.Version, c.Letter)
	if err != nil {
		return nil, err
	}
	return export.Bundle(ctx, &export.Content{Assessor: c.Assessor, Check: c.Check, Sheet: c.Sheet, Source: c.Source, Version: c.Version}, whole, risks, list, papers)
}

// largestPaper is the most that is read of one permission's paper.
const largestPaper = 64 << 20

// permissionPapers reads the documents that permissions name, never outside the folder.
func permissionPapers(dir string, s *shoot.Shoot) (all []export.Attachment, err error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	for _, x := range s.Permissions {
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
