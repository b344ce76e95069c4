package cli

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"fieldfare/desk/export"
	"fieldfare/desk/gltf"
)

type exportCmd struct {
	Dir    string `arg:"" help:"Shoot folder." type:"path"`
	As     string `help:"geojson, kml, kmz, gpx, csv, ics, gltf or json." required:""`
	Slate  string `help:"The slate that glTF holds; it holds one."`
	Output string `short:"o" help:"File to write." required:"" type:"path"`
	Force  bool   `help:"Overwrite an existing file."`
}

func (p *planned) export() *export.Content {
	return &export.Content{Assessor: p.assessor, Check: p.check, Sheet: p.sheet, Source: p.source, Version: Version}
}

func (c *exportCmd) Run(s *Session) error {
	if c.As != "gltf" && !slices.Contains(export.Formats, c.As) {
		return fmt.Errorf("%q is not a format of export: use %s or gltf", c.As, strings.Join(export.Formats, ", "))
	}
	if err := vacant(c.Output, c.Force); err != nil {
		return err
	}
	if c.As == "gltf" {
		return c.scene(s)
	}
	if c.Slate != "" {
		return fmt.Errorf("--slate goes with --as gltf; %s holds every slate", c.As)
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

// scene writes one slate for 3D programs.
func (c *exportCmd) scene(s *Session) error {
	if c.Slate == "" {
		return errors.New("glTF holds one slate: name it with --slate 4B")
	}
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := gltf.Write(&b, a, c.Slate); err != nil {
		return err
	}
	return s.keepFile(c.Output, b.Bytes())
}
