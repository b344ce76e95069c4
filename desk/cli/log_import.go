package cli

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"time"

	"fieldfare/desk/logbook"
	"fieldfare/desk/review"
	"fieldfare/desk/track"
	"fieldfare/model/geo"
	"fieldfare/model/unit"
	"fieldfare/plan/assess"
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

	level []track.Finding // what the heights at the start say
}

type imported struct {
	Receipt      logbook.Receipt `json:"receipt"`
	SHA256       string          `json:"sha256"`
	Format       track.Format    `json:"format"`
	Points       int             `json:"points"`
	From         time.Time       `json:"from"`
	To           time.Time       `json:"to"`
	LengthM      float64         `json:"length_m"`
	ClockOffsetS float64         `json:"clock_offset_s"`
	OffsetFrom   string          `json:"clock_offset_from"`
	Findings     []track.Finding `json:"findings"`
	Caution      string          `json:"caution"`
}

func (c *logImportCmd) Run(s *Session, log *logCmd) error {
	data, err := readAll(c.File)
	if err != nil {
		return err
	}
	flown := logbook.Flown{Sortie: c.Sortie, Name: filepath.Base(c.File), Zone: c.Zone, Start: c.Start, Columns: c.Columns, RaiseM: float64(c.Raise)}
	if c.Confirm && c.Columns == "" {
		guess, err := track.GuessColumns(data)
		if err != nil {
			return err
		}
		if open := guess.Unsettled(); len(open) > 0 {
			return fmt.Errorf("the suggestion cannot be confirmed as it is: units are missing for %s", open)
		}
		flown.Columns = guess.String()
	}
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	sortie, takes, _, err := findSortie(s, l, c.Sortie)
	if err != nil {
		return err
	}
	t, err := readFlown(s, data, &flown)
	if err != nil {
		return err
	}
	t.Raise(flown.RaiseM)
	clean := t.Clean(track.Limits{})
	out := imported{SHA256: t.SHA256, Format: t.Format, Points: len(clean.Points), LengthM: clean.LengthM(), Findings: clean.Findings, Caution: SafetySentence}
	if out.Findings == nil {
		out.Findings = []track.Finding{}
	}
	if out.ClockOffsetS, out.OffsetFrom, err = c.clock(s, clean, sortie, takes); err != nil {
		return err
	}
	out.Findings = append(out.Findings, c.level...)
	out.From, out.To, _ = clean.Span()
	shift := time.Duration(math.Round(out.ClockOffsetS*1000)) * time.Millisecond
	if !out.From.IsZero() {
		out.From, out.To = out.From.Add(shift), out.To.Add(shift)
	}
	flown.SHA256, flown.Format, flown.Points, flown.ClockOffsetS, flown.From, flown.To = t.SHA256, string(t.Format), len(clean.Points), out.ClockOffsetS, out.From, out.To
	for _, f := range clean.Findings {
		flown.Findings = append(flown.Findings, fmt.Sprintf("%s: %s (%d)", f.Severity, f.What, f.Count))
	}
	at := sortie.TakeOff
	e, err := log.entry(&flown, at)
	if err != nil {
		return err
	}
	// The same file for the same sortie is the same entry, however often it is sent.
	e.ID = "flown-" + t.SHA256[:40]
	if old, err := latest(s, l, e.ID); err == nil {
		before, err := old.Decode()
		if err != nil {
			return err
		}
		if f, ok := before.(*logbook.Flown); !ok || f.Sortie != c.Sortie {
			return fmt.Errorf("this recording is in the book already, tied to another sortie or struck; tie it with log correct %s sortie=%s", e.ID, c.Sortie)
		}
		out.Receipt = logbook.Receipt{ID: e.ID, Seq: old.Seq, Repeat: true}
	} else if out.Receipt, err = l.Import(s.Context, logbook.Original{SHA256: t.SHA256, Name: flown.Name, Content: data}, e); err != nil {
		return err
	}
	return s.emit(out, func(w io.Writer) {
		if out.Receipt.Repeat {
			fmt.Fprintf(w, "%s is in the book already, as number %d\n", flown.Name, out.Receipt.Seq)
		} else {
			fmt.Fprintf(w, "%s imported as number %d\n", flown.Name, out.Receipt.Seq)
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

// startLevel compares the first heights with the ground below: an aircraft that stands
// on it should read a metre or two.
func startLevel(t *track.Track, a *assess.Assessor) []track.Finding {
	p := &t.Points[0]
	if !p.Is(track.Height) {
		return nil
	}
	at := a.Shoot.Frame().ToSite(geo.Degrees(p.LatDeg, p.LonDeg), p.HeightM)
	ground, ok := a.Shoot.Ground().HeightAt(at.X, at.Y)
	if !ok || math.Abs(at.Z-ground) < 5 {
		return nil
	}
	return []track.Finding{{Severity: "caution", What: fmt.Sprintf("the recording begins %+.1f m from the ground of the site", at.Z-ground), Count: 1,
		Mend: fmt.Sprintf("if the aircraft stood on the ground then, import with --raise=%.1fm; else no change", ground-at.Z)}}
}

// clock settles what to add to the recorder's times.
func (c *logImportCmd) clock(s *Session, t *track.Track, sortie *logbook.Sortie, takes []*logbook.Take) (float64, string, error) {
	plan := track.Plan{From: sortie.TakeOff, To: sortie.Landing}
	var timed []review.Timed
	var a *assess.Assessor
	if c.Shoot != "" {
		var err error
		if a, err = open(s.Context, c.Shoot); err != nil {
			return 0, "", err
		}
		origin := a.Shoot.Frame().Origin()
		plan.LatDeg, plan.LonDeg = origin.Lat.Deg(), origin.Lon.Deg()
		timed = review.Timings(a, takes)
		c.level = startLevel(t, a)
	} else if sortie.LatDeg != nil {
		plan.LatDeg, plan.LonDeg = *sortie.LatDeg, *sortie.LonDeg
	}
	if c.Offset != nil {
		plan.From, plan.To = time.Time{}, time.Time{} // the day is the user's word
	}
	if c.Shoot != "" || sortie.LatDeg != nil {
		if err := t.Check(plan); err != nil {
			return 0, "", err
		}
	}
	if c.Offset != nil {
		return float64(*c.Offset), "given", nil
	}
	if len(timed) > 0 {
		fixes := review.Fixes(t, a.Shoot.Frame(), 0, a.Shoot.Ground())
		o, err := review.ClockOffset(timed, fixes)
		switch {
		case err == nil && o.Ambiguous:
			return 0, "", &track.Question{What: fmt.Sprintf("the recording fits the logged takes at a clock offset of %+.1f s and nearly as well at %+.1f s", o.S, o.NextS), Mend: "choose with --offset"}
		case err == nil:
			from := fmt.Sprintf("from overlap with %d logged takes, %.1f m left over", len(timed), o.RMSM)
			if o.Zone != "" {
				from += "; the recorder's clock looks to be in another zone, " + o.Zone
			}
			return o.S, from, nil
		case len(timed) > 0:
			return 0, "", &track.Question{What: err.Error(), Mend: "choose the sortie it belongs to, or give --offset"}
		}
	}
	from, to, ok := t.Span()
	if !ok {
		return 0, "none: the recording has no times", nil
	}
	if to.Before(sortie.TakeOff.Add(-time.Minute)) || from.After(sortie.Landing.Add(time.Minute)) {
		off := sortie.TakeOff.Sub(from)
		return 0, "", &track.Question{What: fmt.Sprintf("the recording runs %s to %s, the sortie was logged %s to %s", from.Format("2006-01-02 15:04:05Z"), to.Format("15:04:05Z"), sortie.TakeOff.UTC().Format("2006-01-02 15:04:05Z"), sortie.Landing.UTC().Format("15:04:05Z")),
			Mend: fmt.Sprintf("if it is the same flight, its clock needs about --offset=%.0fs; else choose the sortie it belongs to", off.Seconds())}
	}
	return 0, "none found: no logged take with a planned path to compare", nil
}

// findSortie returns a logged sortie, its takes and the recording tied to it, if any.
func findSortie(s *Session, l *logbook.Log, ref string) (*logbook.Sortie, []*logbook.Take, *logbook.Flown, error) {
	all, err := l.Standing(s.Context, logbook.Filter{Kinds: []logbook.Kind{logbook.KindSortie, logbook.KindTake, logbook.KindFlown}})
	if err != nil {
		return nil, nil, nil, err
	}
	var sortie *logbook.Sortie
	var takes []*logbook.Take
	var flown *logbook.Flown
	for _, e := range all {
		switch b := e.Fact.(type) {
		case *logbook.Sortie:
			if b.Sortie != ref {
				continue
			}
			if sortie != nil {
				return nil, nil, nil, fmt.Errorf("two sorties are logged as %q: correct or strike one", ref)
			}
			sortie = b
		case *logbook.Take:
			if b.Sortie == ref {
				takes = append(takes, b)
			}
		case *logbook.Flown:
			if b.Sortie == ref {
				flown = b
			}
		}
	}
	if sortie == nil {
		return nil, nil, nil, fmt.Errorf("no sortie %q in the logbook: write it first with log add sortie", ref)
	}
	return sortie, takes, flown, nil
}

// readFlown reads a recording the way its entry says.
func readFlown(s *Session, data []byte, f *logbook.Flown) (*track.Track, error) {
	opt := track.Options{Format: track.Format(f.Format), Date: f.Start}
	var err error
	if f.Columns != "" {
		if opt.Columns, err = track.ParseColumns(f.Columns); err != nil {
			return nil, err
		}
	}
	if f.Zone != "" {
		if opt.Zone, err = time.LoadLocation(f.Zone); err != nil {
			return nil, fmt.Errorf("zone %q is not known: expected one like Europe/Vienna or UTC", f.Zone)
		}
	}
	if errFile, ok := s.Err.(*os.File); ok && len(data) > 2<<20 {
		if info, err := errFile.Stat(); err == nil && info.Mode()&os.ModeCharDevice != 0 {
			opt.Progress = func(done, total int64) { fmt.Fprintf(s.Err, "\rreading %3d %%", 100*done/max(total, 1)) }
			defer fmt.Fprint(s.Err, "\r             \r")
		}
	}
	t, err := track.Read(s.Context, data, opt)
	var q *track.Question
	if errors.As(err, &q) {
		return nil, fmt.Errorf("%s: %w", f.Name, err)
	}
	return t, err
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
	f, err := os.OpenFile(c.To, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = f.Write(o.Content)
	return errors.Join(err, f.Close())
}
