package debrief

import (
	"context"
	"fmt"
	"math"
	"time"

	"fieldfare/desk/logbook"
	"fieldfare/desk/review"
	"fieldfare/desk/track"
	"fieldfare/model/geo"
	"fieldfare/plan/assess"
	"fieldfare/plan/check"
)

// Answers is what a person says of a recording that the file does not. Zero values are not said.
type Answers struct {
	Columns string    // CSV: the column map
	Confirm bool      // CSV: take the suggested column map as it is
	Zone    string    // of times written without one
	Start   time.Time // when the recording began, if it holds no date
	OffsetS *float64  // to add to the recorder's clock; found from the logged takes unless given
	RaiseM  float64   // to add to the recorder's heights
}

// Brought says what became of a recording.
type Brought struct {
	Receipt      logbook.Receipt `json:"receipt"`
	SHA256       string          `json:"sha256"`
	Format       track.Format    `json:"format"`
	Points       int             `json:"points"`
	From         time.Time       `json:"from"`
	To           time.Time       `json:"to"`
	LengthM      float64         `json:"length_m"`
	ClockOffsetS float64         `json:"clock_offset_s"`
	OffsetFrom   string          `json:"clock_offset_from"`
	Findings     []track.Finding `json:"findings" nullable:"false"`
	Caution      string          `json:"caution"`
}

// Bring ties a recording to a logged sortie and keeps the file byte for byte. The shoot, where one
// is given, checks the place and the heights and finds the clock offset. The error is a
// *track.Question where an answer would settle it. The same file for the same sortie is the same
// entry, however often it is sent.
func Bring(ctx context.Context, l *logbook.Log, a *assess.Assessor, ref, name string, data []byte, say Answers, author Author, progress func(done, total int64)) (out Brought, err error) {
	flown := logbook.Flown{Sortie: ref, Name: name, Zone: say.Zone, Start: say.Start, Columns: say.Columns, RaiseM: say.RaiseM}
	if say.Confirm && say.Columns == "" {
		guess, err := track.GuessColumns(data)
		if err != nil {
			return out, err
		}
		if open := guess.Unsettled(); len(open) > 0 {
			return out, fmt.Errorf("the suggestion cannot be confirmed as it is: units are missing for %s", open)
		}
		flown.Columns = guess.String()
	}
	sortie, err := Find(ctx, l, ref)
	if err != nil {
		return out, err
	}
	t, err := read(ctx, data, &flown, progress)
	if err != nil {
		return out, err
	}
	t.Raise(flown.RaiseM)
	clean := t.Clean(track.Limits{})
	out = Brought{SHA256: t.SHA256, Format: t.Format, Points: len(clean.Points), LengthM: clean.LengthM(), Findings: clean.Findings, Caution: check.Safety}
	if out.Findings == nil {
		out.Findings = []track.Finding{}
	}
	if out.ClockOffsetS, out.OffsetFrom, err = clock(clean, a, sortie, say.OffsetS); err != nil {
		return out, err
	}
	if a != nil {
		out.Findings = append(out.Findings, startLevel(clean, a)...)
	}
	out.From, out.To, _ = clean.Span()
	shift := time.Duration(math.Round(out.ClockOffsetS*1000)) * time.Millisecond
	if !out.From.IsZero() {
		out.From, out.To = out.From.Add(shift), out.To.Add(shift)
	}
	flown.SHA256, flown.Format, flown.Points, flown.ClockOffsetS, flown.From, flown.To = t.SHA256, string(t.Format), len(clean.Points), out.ClockOffsetS, out.From, out.To
	for _, f := range clean.Findings {
		flown.Findings = append(flown.Findings, fmt.Sprintf("%s: %s (%d)", f.Severity, f.What, f.Count))
	}
	e, err := author(&flown, sortie.Logged.TakeOff)
	if err != nil {
		return out, err
	}
	e.ID = "flown-" + t.SHA256[:40]
	if old, err := latest(ctx, l, e.ID); err == nil {
		before, err := old.Decode()
		if err != nil {
			return out, err
		}
		if f, ok := before.(*logbook.Flown); !ok || f.Sortie != ref {
			return out, fmt.Errorf("this recording is in the book already, tied to another sortie or struck; tie it with log correct %s sortie=%s", e.ID, ref)
		}
		out.Receipt = logbook.Receipt{ID: e.ID, Seq: old.Seq, Repeat: true}
		return out, nil
	}
	out.Receipt, err = l.Import(ctx, logbook.Original{SHA256: t.SHA256, Name: name, Content: data}, e)
	return out, err
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
func clock(t *track.Track, a *assess.Assessor, s *Sortie, given *float64) (offsetS float64, from string, err error) {
	sortie := s.Logged
	plan := track.Plan{From: sortie.TakeOff, To: sortie.Landing}
	var timed []review.Timed
	switch {
	case a != nil:
		origin := a.Shoot.Frame().Origin()
		plan.LatDeg, plan.LonDeg = origin.Lat.Deg(), origin.Lon.Deg()
		timed = review.Timings(a, s.Takes)
	case sortie.LatDeg != nil:
		plan.LatDeg, plan.LonDeg = *sortie.LatDeg, *sortie.LonDeg
	}
	if given != nil {
		plan.From, plan.To = time.Time{}, time.Time{} // the day is the user's word
	}
	if a != nil || sortie.LatDeg != nil {
		if err := t.Check(plan); err != nil {
			return 0, "", err
		}
	}
	if given != nil {
		return *given, "given", nil
	}
	if len(timed) > 0 {
		o, err := review.ClockOffset(timed, review.Fixes(t, a.Shoot.Frame(), 0, a.Shoot.Ground()))
		switch {
		case err != nil:
			return 0, "", &track.Question{Ask: track.AskOffset, What: err.Error(), Mend: "choose the sortie it belongs to, or give --offset"}
		case o.Ambiguous:
			return 0, "", &track.Question{Ask: track.AskOffset, What: fmt.Sprintf("the recording fits the logged takes at a clock offset of %+.1f s and nearly as well at %+.1f s", o.S, o.NextS),
				Choices: []string{seconds(o.S), seconds(o.NextS)}, Mend: "choose with --offset"}
		}
		from := fmt.Sprintf("from overlap with %d logged takes, %.1f m left over", len(timed), o.RMSM)
		if o.Zone != "" {
			from += "; the recorder's clock looks to be in another zone, " + o.Zone
		}
		return o.S, from, nil
	}
	first, last, ok := t.Span()
	if !ok {
		return 0, "none: the recording has no times", nil
	}
	if last.Before(sortie.TakeOff.Add(-time.Minute)) || first.After(sortie.Landing.Add(time.Minute)) {
		off := sortie.TakeOff.Sub(first).Seconds()
		return 0, "", &track.Question{Ask: track.AskOffset, Choices: []string{seconds(math.Round(off))},
			What: fmt.Sprintf("the recording runs %s to %s, the sortie was logged %s to %s", first.Format("2006-01-02 15:04:05Z"), last.Format("15:04:05Z"), sortie.TakeOff.UTC().Format("2006-01-02 15:04:05Z"), sortie.Landing.UTC().Format("15:04:05Z")),
			Mend: fmt.Sprintf("if it is the same flight, its clock needs about --offset=%.0fs; else choose the sortie it belongs to", off)}
	}
	return 0, "none found: no logged take with a planned path to compare", nil
}

// seconds is an offset as it is typed.
func seconds(s float64) string { return fmt.Sprintf("%.1f s", s) }
