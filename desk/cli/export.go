package cli

import (
	"fmt"
	"slices"
	"strings"

	"fieldfare/desk/export"
)

type exportCmd struct {
	Dir    string `arg:"" help:"Shoot folder." type:"path"`
	As     string `help:"geojson, kml, kmz, gpx, csv, ics or json." required:""`
	Output string `short:"o" help:"File to write." required:"" type:"path"`
	Force  bool   `help:"Overwrite an existing file."`
}

func (p *planned) export() *export.Content {
	return &export.Content{Assessor: p.assessor, Check: p.check, Sheet: p.sheet, Source: p.source, Version: Version}
}

func (c *exportCmd) Run(s *Session) error {
	if !slices.Contains(export.Formats, c.As) {
		return fmt.Errorf("%q is not a format of export: use %s", c.As, strings.Join(export.Formats, ", "))
	}
	if err := vacant(c.Output, c.Force); err != nil {
		return err
	}
	p, err := planAll(s.Context, c.Dir)
	if err != nil {
		return err
	}
	data, err := export.Write(p.export(), c.As)
	if err != nil {
		return err
	}
	return s.keepFile(c.Output, data)
}
