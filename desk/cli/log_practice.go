package cli

import (
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/ringsaturn/tzf"

	"fieldfare/desk/logbook"
	"fieldfare/desk/skill"
	"fieldfare/plan/shoot"
)

type practiceCmd struct {
	Dir     string      `arg:"" help:"Folder to make." type:"path"`
	At      shoot.Place `required:"" help:"Middle of open, level ground away from people, as in '46.6 N, 10.3 E'."`
	Date    shoot.Date  `required:"" help:"Day of practice, as in 2026-09-22."`
	Terrain string      `required:"" type:"existingfile" help:"Elevation file of the ground (GeoTIFF, HGT or ESRI ASCII); it is copied into the folder."`
	Pilot   string      `required:"" help:"Who practises."`
	Class   string      `help:"Class of shot to practise; with --log the lowest that the pilot has not earned."`
	Log     string      `env:"FIELDFARE_LOG" placeholder:"FILE|URL" help:"The logbook that knows what the pilot has flown."`
	Rules   string      `type:"existingfile" placeholder:"FILE" help:"The crew's ladder as JSON; a starting ladder unless given."`
	Zone    string      `help:"IANA time zone; looked up from the place where left out."`
}

func (c *practiceCmd) Run(s *Session) error {
	rules, err := ladderRules(c.Rules)
	if err != nil {
		return err
	}
	rung, err := c.rung(s, rules)
	if err != nil {
		return err
	}
	if c.Zone == "" {
		finder, err := tzf.NewDefaultFinder()
		if err != nil {
			return fmt.Errorf("cannot load the table of time zones: %w; give --zone", err)
		}
		c.Zone = finder.GetTimezoneName(c.At.Lon.Deg(), c.At.Lat.Deg())
	}
	if _, err := time.LoadLocation(c.Zone); err != nil || c.Zone == "" {
		return fmt.Errorf("no time zone known at %s (found %q); give --zone, as in --zone Europe/Zurich", c.At, c.Zone)
	}
	course := skill.Course{Class: rung.Class, Pilot: c.Pilot, Place: c.At, Date: c.Date, Zone: c.Zone, Terrain: c.Terrain}
	if err := skill.WritePractice(c.Dir, course, rung); err != nil {
		return err
	}
	result := struct {
		Dir     string      `json:"dir"`
		Class   string      `json:"class"`
		Moves   []string    `json:"moves"`
		Grade   skill.Grade `json:"grade"`
		Basis   string      `json:"basis"`
		Caution string      `json:"caution"`
	}{c.Dir, string(rung.Class), rung.Moves, rung.Grade, rules.Basis, SafetySentence}
	return s.emit(result, func(w io.Writer) {
		fmt.Fprintf(w, "practice for %q in %s: %s\n", rung.Class, c.Dir, strings.Join(rung.Moves, ", "))
		fmt.Fprintf(w, "next: mark where people may be in %s, put in the trainer's own figures, and run fieldfare check %s\n", filepath.Join(c.Dir, "site.geojson"), c.Dir)
		fmt.Fprintf(w, "after: fieldfare log import, then fieldfare log score %s SORTIE --class %q\nbasis: %s\n%s\n", c.Dir, rung.Class, rules.Basis, SafetySentence)
	})
}

// rung is the one asked for, else the lowest not yet earned by the log.
func (c *practiceCmd) rung(s *Session, rules skill.Rules) (skill.Rung, error) {
	if c.Class != "" {
		i := slices.IndexFunc(rules.Rungs, func(r skill.Rung) bool { return string(r.Class) == c.Class })
		if i < 0 {
			return skill.Rung{}, fmt.Errorf("class %q is not on the ladder: expected one of %q", c.Class, logbook.ShotClasses)
		}
		return rules.Rungs[i], nil
	}
	if c.Log == "" {
		return skill.Rung{}, fmt.Errorf("practise what? give --class, or --log to find what the pilot has not yet earned")
	}
	l, err := (&logCmd{Log: c.Log}).existing(s)
	if err != nil {
		return skill.Rung{}, err
	}
	defer l.Close()
	all, err := l.Standing(s.Context, logbook.Filter{})
	if err != nil {
		return skill.Rung{}, err
	}
	rung, ok := skill.Session(skill.Ladder(c.Pilot, all, rules, time.Now()), rules)
	if !ok {
		return rung, fmt.Errorf("%s has earned every class of the ladder; give --class to practise one again", c.Pilot)
	}
	return rung, nil
}
