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

	"fieldfare/desk/lesson"
	"fieldfare/desk/logbook"
	papers "fieldfare/desk/report"
	"fieldfare/desk/review"
	"fieldfare/desk/skill"
	"fieldfare/desk/track"
	"fieldfare/plan/shoot"
)

type logReviewCmd struct {
	Dir    string `arg:"" type:"existingdir" help:"Shoot folder."`
	Sortie string `arg:"" help:"The logged sortie."`
	PDF    string `name:"pdf" type:"path" placeholder:"FILE" help:"Print the review as a PDF as well."`
}

// reviewed reviews a logged sortie against the shoot in dir.
func reviewed(s *Session, l *logbook.Log, dir, ref string) (*review.Report, *logbook.Sortie, error) {
	sortie, takes, flown, err := findSortie(s, l, ref)
	if err != nil {
		return nil, nil, err
	}
	if flown == nil {
		return nil, nil, fmt.Errorf("no recording is tied to sortie %q: import it first with log import", ref)
	}
	o, err := l.Original(s.Context, flown.SHA256)
	if err != nil {
		return nil, nil, err
	}
	t, err := readFlown(s, o.Content, flown)
	if err != nil {
		return nil, nil, err
	}
	t.Raise(flown.RaiseM)
	a, err := open(s.Context, dir)
	if err != nil {
		return nil, nil, err
	}
	fixes := review.Fixes(t.Clean(track.Limits{}), a.Shoot.Frame(), flown.ClockOffsetS, a.Shoot.Ground())
	f, skipped := review.Of(a, sortie, takes, fixes)
	r, err := review.Review(f)
	if err != nil {
		return nil, nil, err
	}
	for _, why := range skipped {
		r.Findings = append(r.Findings, review.Finding{Severity: "unknown", What: why})
	}
	return r, sortie, nil
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
	Person string    `json:"person"`
	Class  string    `json:"class"`
	Marks  []oneMark `json:"marks"`
	Basis  string    `json:"basis"`
	Note   string    `json:"caution"`
}

type oneMark struct {
	Slate string `json:"slate"`
	Take  int    `json:"take"`
	skill.Mark
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
	i := slices.IndexFunc(rules.Rungs, func(g skill.Rung) bool { return g.Class == class })
	if i < 0 {
		return fmt.Errorf("the ladder has no grade for the class %q: give the class practised with --class", class)
	}
	out := scored{Person: sortie.Pilot, Class: string(class), Basis: rules.Basis, Note: SafetySentence, Marks: []oneMark{}}
	var entries []logbook.Entry
	for _, k := range r.Takes {
		m := skill.Score(k, rules.Rungs[i].Grade)
		out.Marks = append(out.Marks, oneMark{k.Slate, k.Take, m})
		if m.Passed == "unknown" {
			continue // nothing is earned by what was not recorded
		}
		e, err := log.entry(&logbook.Practice{Person: sortie.Pilot, ShotClass: class, Move: fmt.Sprintf("slate %s take %d", k.Slate, k.Take), Sortie: c.Sortie, Score: m.Score, Passed: m.Passed == "yes"}, k.Start)
		if err != nil {
			return err
		}
		e.ID = practiceID(c.Sortie, k.Slate, k.Take)
		if _, err := l.Get(s.Context, e.ID); err == nil {
			continue // marked before: a mark stands until corrected
		}
		entries = append(entries, e)
	}
	if _, err := l.Append(s.Context, entries...); err != nil {
		return err
	}
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

// practiceID is the same for the same take, so that scoring twice marks once.
func practiceID(sortie, slate string, take int) string {
	clean := strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' {
			return r
		}
		return '.'
	}, fmt.Sprintf("%s_%s_%d", sortie, slate, take))
	if len(clean) > 54 {
		clean = clean[:54]
	}
	return "practice-" + clean
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
	rules := lesson.CommonPackRules
	rules.MinCapacity, rules.MaxResistance = c.MinCapacity, c.MaxResistance
	var readings []lesson.Reading
	var names []string
	for _, e := range all {
		name := ""
		switch b := e.Fact.(type) {
		case *logbook.Pack:
			readings, name = append(readings, lesson.Reading{At: e.At, Pack: b}), b.Pack
		case *logbook.Sortie:
			name = b.Pack
		}
		if name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	out := struct {
		Packs   []lesson.Health `json:"packs"`
		Caution string          `json:"caution"`
	}{Packs: []lesson.Health{}, Caution: SafetySentence}
	worst := false
	for _, n := range names {
		h := lesson.PackHealth(n, readings, rules, time.Now())
		out.Packs, worst = append(out.Packs, h), worst || h.Severity == "stop"
	}
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
	Shoot  string   `type:"existingdir" placeholder:"DIR" help:"Shoot folder whose house values are the old ones where none was accepted yet."`
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
	old := map[string]float64{}
	var sorties []*logbook.Sortie
	var takes []*logbook.Take
	var aircraft []string
	for _, e := range all {
		switch b := e.Fact.(type) {
		case *logbook.Lesson:
			old[b.Quantity+":"+b.Subject] = b.New
		case *logbook.Sortie:
			sorties = append(sorties, b)
			if !slices.Contains(aircraft, b.Aircraft) {
				aircraft = append(aircraft, b.Aircraft)
			}
		case *logbook.Take:
			takes = append(takes, b)
		}
	}
	slices.Sort(aircraft)
	now := func(key string, otherwise float64) float64 {
		if v, ok := old[key]; ok {
			return v
		}
		return otherwise
	}
	var setup, gap float64
	if c.Shoot != "" {
		a, err := open(s.Context, c.Shoot)
		if err != nil {
			return err
		}
		setup, gap = float64(a.Shoot.House.SetupTime), float64(a.Shoot.House.TakeGap)
	}
	out := struct {
		Proposals []lesson.Proposal `json:"proposals"`
		TooFew    []string          `json:"too_few"`
		Accepted  []logbook.Receipt `json:"accepted"`
		Caution   string            `json:"caution"`
	}{Proposals: []lesson.Proposal{}, TooFew: []string{}, Accepted: []logbook.Receipt{}, Caution: SafetySentence}
	put := func(p lesson.Proposal, err error) {
		if err != nil {
			out.TooFew = append(out.TooFew, err.Error())
			return
		}
		out.Proposals = append(out.Proposals, p)
	}
	for _, a := range aircraft {
		put(lesson.PowerFactor(a, now("power_factor:"+a, 1), sorties))
	}
	put(lesson.Durations("setup_time_s", "crew", now("setup_time_s:crew", setup), lesson.Changeovers(sorties, 2*time.Hour)))
	put(lesson.Durations("take_gap_s", "crew", now("take_gap_s:crew", gap), lesson.Resets(takes)))
	var entries []logbook.Entry
	for _, want := range c.Accept {
		i := slices.IndexFunc(out.Proposals, func(p lesson.Proposal) bool { return p.Quantity+":"+p.Subject == want })
		if i < 0 {
			return fmt.Errorf("no proposal %q to accept", want)
		}
		e, err := log.entry(out.Proposals[i].Lesson(), time.Time{})
		if err != nil {
			return err
		}
		entries = append(entries, e)
	}
	if len(entries) > 0 {
		if out.Accepted, err = l.Append(s.Context, entries...); err != nil {
			return err
		}
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
