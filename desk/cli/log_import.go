package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"fieldfare/desk/debrief"
	"fieldfare/model/unit"
	"fieldfare/plan/assess"
	"fieldfare/plan/shoot"
)

type logImportCmd struct {
	File    string         `arg:"" type:"path" help:"The recording."`
	Sortie  string         `required:"" help:"The logged sortie it belongs to."`
	Columns string         `placeholder:"MAP" help:"CSV: which column holds what, as the question suggests it."`
	Confirm bool           `help:"CSV: take the suggested column map as it is."`
	Zone    string         `placeholder:"AREA/PLACE" help:"Zone of times written without one."`
	Start   time.Time      `format:"2006-01-02T15:04:05Z07:00" help:"When the recording began, if it holds no date."`
	Offset  *unit.Duration `help:"Seconds to add to the recorder's clock; found from the logged takes unless given."`
	Raise   unit.Length    `help:"Length to add to the recorder's heights, as -47m for heights above the ellipsoid."`
	Shoot   string         `type:"existingdir" placeholder:"DIR" help:"Shoot folder, to check the place and the heights and to find the clock offset."`
}

func (c *logImportCmd) Run(s *Session, log *logCmd) error {
	data, err := readAll(c.File)
	if err != nil {
		return err
	}
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	var a *assess.Assessor
	if c.Shoot != "" {
		if a, err = open(s.Context, c.Shoot); err != nil {
			return err
		}
	}
	say := debrief.Answers{Columns: c.Columns, Confirm: c.Confirm, Zone: c.Zone, Start: c.Start, RaiseM: float64(c.Raise)}
	if c.Offset != nil {
		offset := float64(*c.Offset)
		say.OffsetS = &offset
	}
	name := filepath.Base(c.File)
	progress, done := s.reading(len(data))
	out, err := debrief.Bring(s.Context, l, a, c.Sortie, name, data, say, log.entry, progress)
	done()
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return s.emit(out, func(w io.Writer) {
		if out.Receipt.Repeat {
			fmt.Fprintf(w, "%s is in the book already, as number %d\n", name, out.Receipt.Seq)
		} else {
			fmt.Fprintf(w, "%s imported as number %d\n", name, out.Receipt.Seq)
		}
		fmt.Fprintf(w, "  %s, %d points, %.0f m, %s to %s\n", out.Format, out.Points, out.LengthM, out.From.Format("2006-01-02 15:04:05Z"), out.To.Format("15:04:05Z"))
		fmt.Fprintf(w, "  clock offset %+.1f s (%s)\n  original kept under SHA-256 %s\n", out.ClockOffsetS, out.OffsetFrom, out.SHA256)
		for _, f := range out.Findings {
			fmt.Fprintf(w, "  %s: %s", f.Severity, f.What)
			if f.Count > 1 {
				fmt.Fprintf(w, ", %d times", f.Count)
			}
			if f.At != "" {
				fmt.Fprintf(w, ", first at %s", f.At)
			}
			if f.Mend != "" {
				fmt.Fprintf(w, "; %s", f.Mend)
			}
			fmt.Fprintln(w)
		}
		fmt.Fprintln(w, SafetySentence)
	})
}

// reading tells on a terminal how far a large file is read; done clears the line.
func (s *Session) reading(size int) (progress func(done, total int64), done func()) {
	f, ok := s.Err.(*os.File)
	if !ok || size <= 2<<20 {
		return nil, func() {}
	}
	if info, err := f.Stat(); err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return nil, func() {}
	}
	return func(done, total int64) { fmt.Fprintf(f, "\rreading %3d %%", 100*done/max(total, 1)) }, func() { fmt.Fprint(f, "\r             \r") }
}

type logFetchCmd struct {
	SHA256 string `arg:"" name:"sha256" help:"Hash of the original, as the import reported it."`
	To     string `type:"path" placeholder:"FILE" help:"Where to put it; standard output unless given."`
}

func (c *logFetchCmd) Run(s *Session, log *logCmd) error {
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	o, err := l.Original(s.Context, c.SHA256)
	if err != nil {
		return err
	}
	if c.To == "" {
		_, err = s.Out.Write(o.Content)
		return err
	}
	if _, err := os.Lstat(c.To); err == nil {
		return fmt.Errorf("%s exists; choose another name", c.To)
	}
	return shoot.Save(c.To, o.Content)
}
