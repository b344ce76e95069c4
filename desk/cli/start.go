package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/ringsaturn/tzf"

	"fieldfare/plan/shoot"
)

type newCmd struct {
	Dir  string      `arg:"" help:"Folder to make." type:"path"`
	At   shoot.Place `help:"Middle of the site, as in '46.6 N, 10.3 E'." required:""`
	Date shoot.Date  `help:"First shooting date, as in 2026-09-22." required:""`
	Zone string      `help:"IANA time zone; looked up from the place where left out."`
}

func (c *newCmd) Run(s *Session) error {
	if c.Zone != "" {
		if _, err := time.LoadLocation(c.Zone); err != nil {
			return fmt.Errorf("--zone: %q is not a time zone: give an IANA name, as in Europe/Zurich", c.Zone)
		}
	} else {
		// The table of zones is large, so it is loaded only here.
		finder, err := tzf.NewDefaultFinder()
		if err != nil {
			return fmt.Errorf("cannot load the table of time zones: %w; give --zone", err)
		}
		c.Zone = finder.GetTimezoneName(c.At.Lon.Deg(), c.At.Lat.Deg())
	}
	if _, err := time.LoadLocation(c.Zone); err != nil || c.Zone == "" {
		return fmt.Errorf("no time zone known at %s (found %q); give --zone, as in --zone Europe/Zurich", c.At, c.Zone)
	}
	if err := shoot.Start(c.Dir, c.At, c.Date, c.Zone); err != nil {
		return err
	}
	result := struct {
		Dir  string `json:"dir"`
		Zone string `json:"zone"`
		Next string `json:"next"`
	}{c.Dir, c.Zone, "put an elevation grid at " + filepath.Join(c.Dir, "terrain.tif")}
	return s.emit(result, func(w io.Writer) {
		fmt.Fprintf(w, "started %s, time zone %s\n", c.Dir, c.Zone)
		fmt.Fprintf(w, "next: put an elevation grid (GeoTIFF) at %s\n", filepath.Join(c.Dir, "terrain.tif"))
		fmt.Fprintf(w, "then: edit %s and run fieldfare check %s\n", filepath.Join(c.Dir, shoot.FileName), c.Dir)
	})
}

type fmtCmd struct {
	Path  string `arg:"" help:"Shoot folder or a YAML file." type:"path"`
	Check bool   `help:"Only say whether it would change; exit 1 if so."`
}

func (c *fmtCmd) Run(s *Session) error {
	path := c.Path
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		path = filepath.Join(path, shoot.FileName)
	} else if ext := filepath.Ext(path); err == nil && ext != ".yaml" && ext != ".yml" {
		return fmt.Errorf("%s is not YAML by its name: fmt tidies shoot.yaml, kit/*.yaml and other .yaml files", path)
	}
	src, err := os.ReadFile(path)
	if err != nil {
		return fmt.Errorf("cannot read %s: %s", path, shoot.Why(err))
	}
	tidy, err := shoot.Format(src)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	changed := string(tidy) != string(src)
	if changed && !c.Check {
		if err := shoot.Save(path, tidy); err != nil {
			return err
		}
	}
	result := struct {
		File    string `json:"file"`
		Changed bool   `json:"changed"`
	}{path, changed}
	if err := s.emit(result, func(w io.Writer) {
		switch {
		case !changed:
			fmt.Fprintln(w, path, "is tidy")
		case c.Check:
			fmt.Fprintln(w, path, "would change")
		default:
			fmt.Fprintln(w, path, "tidied")
		}
	}); err != nil {
		return err
	}
	if changed && c.Check {
		return exit(1)
	}
	return nil
}

type schemaCmd struct {
	Kit bool `help:"Of a kit shelf in place of the shoot file."`
}

func (c *schemaCmd) Run(s *Session) error {
	text, err := shoot.Schema(c.Kit)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.Out, "%s\n", text)
	return err
}

type versionCmd struct{}

func (versionCmd) Run(s *Session) error {
	return s.emit(map[string]string{"version": Version}, func(w io.Writer) { fmt.Fprintln(w, "fieldfare", Version) })
}
