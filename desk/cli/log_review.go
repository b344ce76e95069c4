package cli

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"fieldfare/desk/debrief"
	"fieldfare/desk/lesson"
	"fieldfare/desk/logbook"
	papers "fieldfare/desk/report"
	"fieldfare/desk/review"
	"fieldfare/desk/skill"
	"fieldfare/plan/shoot"
)

type logReviewCmd struct {
	Dir    string `arg:"" type:"existingdir" help:"Shoot folder."`
	Sortie string `arg:"" help:"The logged sortie."`
	PDF    string `name:"pdf" type:"path" placeholder:"FILE" help:"Print the review as a PDF as well."`
}

// reviewed reviews a logged sortie against the shoot in dir.
func reviewed(s *Session, l *logbook.Log, dir, ref string) (*review.Report, *logbook.Sortie, error) {
	a, err := open(s.Context, dir)
	if err != nil {
		return nil, nil, err
	}
	return debrief.Review(s.Context, l, a, ref, nil)
}

func (c *logReviewCmd) Run(s *Session, log *logCmd) error {
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	r, _, err := reviewed(s, l, c.Dir, c.Sortie)
	if err != nil {
		return err
	}
	if c.PDF != "" {
		if err := toFile(c.PDF, func(w io.Writer) error { return papers.ReviewPDF(w, r, r.To) }); err != nil {
			return err
		}
	}
	if err := s.emit(r, func(w io.Writer) { printReview(w, r) }); err != nil {
		return err
	}
	if slices.ContainsFunc(r.Findings, func(f review.Finding) bool { return f.Severity == "stop" }) {
		return exit(1)
	}
	return nil
}

func printReview(w io.Writer, r *review.Report) {
	number := func(v *float64, format string) string {
		if v == nil {
			return "unknown"
		}
		return fmt.Sprintf(format, *v)
	}
	fmt.Fprintf(w, "sortie %s, recorded %s to %s\n", r.Sortie, r.From.Format("2006-01-02 15:04:05Z"), r.To.Format("15:04:05Z"))
	fmt.Fprintf(w, "  fastest %.1f m/s; highest above ground %s; least clearance %s; nearest people %s\n", r.MaxSpeedMS, number(r.MaxAboveM, "%.1f m"), number(r.MinClearM, "%.1f m"), number(r.MinPeopleM, "%.1f m"))
	fmt.Fprintf(w, "  energy used %s, %s of the prediction\n", number(r.EnergyUsedWh, "%.1f Wh"), number(r.EnergyRatio, "%.2f"))
	if r.Wind != nil {
		fmt.Fprintf(w, "  wind from drift %.1f ± %.1f m/s from %03.0f deg; %s\n", r.Wind.SpeedMS, r.Wind.SE, r.Wind.FromDeg, r.Wind.Note)
	}
	for _, k := range r.Takes {
		fmt.Fprintf(w, "slate %s take %d, began %s\n", k.Slate, k.Take, k.Start.Format("15:04:05.0Z"))
		fmt.Fprintf(w, "  from the plan %.1f m r.m.s., worst %.1f m at %.1f s; across %+.1f m, along at most %+.1f m\n", k.DistanceM.RMS, k.DistanceM.Max, k.DistanceM.At, k.Across.Mean, k.Along.Max)
		up, aim := "unknown", "unknown"
		if k.Up != nil {
			up = fmt.Sprintf("%+.1f m", k.Up.Mean)
		}
		if k.AimDeg != nil {
			aim = fmt.Sprintf("%.1f deg r.m.s.", k.AimDeg.RMS)
		}
		fmt.Fprintf(w, "  height %s, speed %.1f m/s r.m.s. off, aim %s, light %s of the plan's\n", up, k.Speed.RMS, aim, number(k.LightRatio, "%.2f"))
	}
	for _, f := range r.Findings {
		fmt.Fprintf(w, "%s: %s", f.Severity, strings.TrimSpace(f.Slate+" "+f.What))
		for _, part := range [][2]string{{" ", f.Value}, {", limit ", f.Limit}, {" [", f.Basis}, {"; ", f.Mend}} {
			if part[1] != "" {
				fmt.Fprint(w, part[0]+part[1])
				if part[0] == " [" {
					fmt.Fprint(w, "]")
				}
			}
		}
		fmt.Fprintln(w)
	}
	for _, change := range r.Change {
		fmt.Fprintln(w, "change:", change)
	}
	fmt.Fprintln(w, r.Caution)
}

// toFile writes a file whole or not at all.
func toFile(path string, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	return shoot.Save(path, b.Bytes())
}

type logScoreCmd struct {
	Dir    string `arg:"" type:"existingdir" help:"Practice shoot folder."`
	Sortie string `arg:"" help:"The logged sortie."`
	Class  string `help:"Class of shot that was practised; the sortie's own unless given."`
	Rules  string `type:"existingfile" placeholder:"FILE" help:"The crew's ladder as JSON; a starting ladder unless given."`
}

type scored struct {
	Person string           `json:"person"`
	Class  string           `json:"class"`
	Marks  []debrief.Marked `json:"marks"`
	Basis  string           `json:"basis"`
	Note   string           `json:"caution"`
}

func (c *logScoreCmd) Run(s *Session, log *logCmd) error {
	rules, err := ladderRules(c.Rules)
	if err != nil {
		return err
	}
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	r, sortie, err := reviewed(s, l, c.Dir, c.Sortie)
	if err != nil {
		return err
	}
	class := sortie.ShotClass
	if c.Class != "" {
		class = logbook.ShotClass(c.Class)
	}
	marks, err := debrief.Score(s.Context, l, r, sortie, class, rules, log.entry)
	if err != nil {
		return err
	}
	out := scored{Person: sortie.Pilot, Class: string(class), Marks: marks, Basis: rules.Basis, Note: SafetySentence}
	return s.emit(out, func(w io.Writer) {
		fmt.Fprintf(w, "%s, %s\n", out.Person, out.Class)
		for _, m := range out.Marks {
			fmt.Fprintf(w, "  slate %s take %d: score %.1f, passed: %s", m.Slate, m.Take, m.Score, m.Passed)
			if m.Why != "" {
				fmt.Fprintf(w, " (%s)", m.Why)
			}
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "basis: %s\n%s\n", out.Basis, out.Note)
	})
}

func ladderRules(file string) (skill.Rules, error) {
	if file == "" {
		return skill.CommonRules(), nil
	}
	f, err := os.Open(file)
	if err != nil {
		return skill.Rules{}, err
	}
	defer f.Close()
	return skill.ReadRules(f)
}

type logLadderCmd struct {
	Person string    `arg:"" help:"The pilot, as the log names them."`
	Class  string    `help:"Answer for this class: nothing when held, else what is lacking and the practice that earns it."`
	Rules  string    `type:"existingfile" placeholder:"FILE" help:"The crew's ladder as JSON; a starting ladder unless given."`
	At     time.Time `format:"2006-01-02" help:"On this day; today unless given."`
}

func (c *logLadderCmd) Run(s *Session, log *logCmd) error {
	rules, err := ladderRules(c.Rules)
	if err != nil {
		return err
	}
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	all, err := l.Standing(s.Context, logbook.Filter{})
	if err != nil {
		return err
	}
	at := c.At
	if at.IsZero() {
		at = time.Now()
	}
	ladder := skill.Ladder(c.Person, all, rules, at)
	var need *review.Finding
	if c.Class != "" {
		need = skill.Need(c.Person, logbook.ShotClass(c.Class), "", ladder, rules)
	}
	out := struct {
		Person  string           `json:"person"`
		Ladder  []skill.Standing `json:"ladder"`
		Need    *review.Finding  `json:"need,omitempty"`
		Basis   string           `json:"basis"`
		Caution string           `json:"caution"`
	}{c.Person, ladder, need, rules.Basis, SafetySentence}
	if err := s.emit(out, func(w io.Writer) {
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		for _, x := range ladder {
			fmt.Fprintf(t, "%s\theld: %s\t%.1f h\t%s\n", x.Class, x.Held, x.FlownS/3600, strings.Join(x.Lacks, "; "))
		}
		t.Flush()
		if need != nil {
			fmt.Fprintf(w, "%s: %s; %s\n", need.Severity, need.What, need.Mend)
		}
		fmt.Fprintf(w, "basis: %s\n%s\n", rules.Basis, SafetySentence)
	}); err != nil {
		return err
	}
	if need != nil && need.Severity == "stop" {
		return exit(1)
	}
	return nil
}

type logPacksCmd struct {
	MinCapacity   float64 `default:"0.8" help:"Crew's rule: retire below this share of the rated capacity. The default is common practice, no source."`
	MaxResistance float64 `default:"2" help:"Crew's rule: retire when the resistance has grown this many times. The default is common practice, no source."`
}

func (c *logPacksCmd) Run(s *Session, log *logCmd) error {
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	all, err := l.Standing(s.Context, logbook.Filter{Kinds: []logbook.Kind{logbook.KindPack, logbook.KindSortie}})
	if err != nil {
		return err
	}
	if c.MinCapacity < 0.1 || c.MinCapacity > 1 {
		return fmt.Errorf("--min-capacity %g: expected a share of the rated capacity from 0.1 to 1, as in 0.8", c.MinCapacity)
	}
	if c.MaxResistance < 1 || c.MaxResistance > 10 {
		return fmt.Errorf("--max-resistance %g: expected how many times the resistance may have grown, from 1 to 10, as in 2", c.MaxResistance)
	}
	rules := lesson.CommonPackRules
	rules.MinCapacity, rules.MaxResistance = c.MinCapacity, c.MaxResistance
	out := struct {
		Packs   []lesson.Health `json:"packs"`
		Caution string          `json:"caution"`
	}{debrief.Packs(all, rules, time.Now()), SafetySentence}
	worst := slices.ContainsFunc(out.Packs, func(h lesson.Health) bool { return h.Severity == "stop" })
	if err := s.emit(out, func(w io.Writer) {
		if len(out.Packs) == 0 {
			fmt.Fprintln(w, "no pack in the log")
		}
		for _, h := range out.Packs {
			fmt.Fprintf(w, "%s: pack %s, %d cycles: %s", h.Severity, h.Pack, h.Cycles, h.Why)
			if !h.RetireBy.IsZero() {
				fmt.Fprintf(w, ", about %s at the recent rate", h.RetireBy.Format(time.DateOnly))
			}
			fmt.Fprintln(w)
		}
		fmt.Fprintln(w, SafetySentence)
	}); err != nil {
		return err
	}
	if worst {
		return exit(1)
	}
	return nil
}

type logLearnCmd struct {
	Accept []string `placeholder:"QUANTITY:SUBJECT" help:"Accept this lesson; it is written down with your name."`
	Shoot  string   `type:"existingdir" placeholder:"DIR" help:"Shoot folder whose rigs' power factors, and house values where none was accepted yet, are the old ones."`
}

func (c *logLearnCmd) Run(s *Session, log *logCmd) error {
	l, err := log.existing(s)
	if err != nil {
		return err
	}
	defer l.Close()
	all, err := l.Standing(s.Context, logbook.Filter{})
	if err != nil {
		return err
	}
	var planned *shoot.Shoot
	if c.Shoot != "" {
		a, err := open(s.Context, c.Shoot)
		if err != nil {
			return err
		}
		planned = a.Shoot
	}
	out := struct {
		debrief.Lessons
		Accepted []logbook.Receipt `json:"accepted"`
		Caution  string            `json:"caution"`
	}{Lessons: debrief.Learn(all, planned), Caution: SafetySentence}
	if out.Accepted, err = out.Accept(s.Context, l, c.Accept, log.entry); err != nil {
		return err
	}
	return s.emit(out, func(w io.Writer) {
		for _, p := range out.Proposals {
			was := fmt.Sprintf("%.4g", p.Old)
			if p.Old == 0 {
				was = "none"
			}
			verdict := "the old value stands within the interval"
			if p.Changed {
				verdict = "the old value lies outside the interval"
			}
			fmt.Fprintf(w, "%s of %s: old %s, new %.4g (95 %% %.4g to %.4g, %d cases); plan for %.4g; %s\n", p.Quantity, p.Subject, was, p.New, p.Low, p.High, p.Cases, p.PlanFor, verdict)
			if p.Found != nil && p.Spread != nil {
				fmt.Fprintf(w, "  %d sorties drew %.4g times the energy planned with the old factor: %.4g x %.4g = %.4g; spread of a sortie %.2g (one standard deviation)\n", p.Cases, *p.Found, p.Old, *p.Found, p.New, *p.Spread)
			}
			if len(p.Rigs) > 0 {
				fmt.Fprintf(w, "  to plan with it: accept it, so that the book knows when it changed, then power_factor: %s for %s\n", p.Plan, strings.Join(p.Rigs, ", "))
			}
			for _, x := range p.Notes {
				fmt.Fprintln(w, "  mind:", x)
			}
			for _, x := range p.LeftOut {
				fmt.Fprintln(w, "  left out:", x)
			}
		}
		for _, x := range out.TooFew {
			fmt.Fprintln(w, x)
		}
		for _, r := range out.Accepted {
			fmt.Fprintf(w, "accepted, entry %s\n", r.ID)
		}
		fmt.Fprintln(w, SafetySentence)
	})
}
