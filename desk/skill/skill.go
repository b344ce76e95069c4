// Package skill says which class of shot a pilot has earned, what would earn the next,
// and scores practice flights.
//
// What it computes: sums of flown time by class, recency, and shares of time within a
// tolerance.
//
// Units: seconds, metres, metres per second, degrees, as in the names.
//
// Source: the crew's own rules; the figures of CommonRules are common practice, no
// source. They are a house ladder, not a licence, and replace no authority's.
//
// Validity: as complete as the logbook; a rung without a rule is unknown, never held.
//
// Not modelled: judgement, air-mindedness, and everything else an examiner looks at.
package skill

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"fieldfare/desk/logbook"
	"fieldfare/desk/review"
)

// Rung is what the crew asks before a class of shot is flown for the camera. A nil
// number is no demand; a class without a rung is unknown.
type Rung struct {
	Class      logbook.ShotClass `json:"class"`
	TotalS     *float64          `json:"total_s,omitempty"`     // flown in command, any class
	BelowS     *float64          `json:"below_s,omitempty"`     // flown on the class just below
	Passes     int               `json:"passes,omitempty"`      // practice moves of this class passed
	RecentS    *float64          `json:"recent_s,omitempty"`    // flown within RecentDays, any class
	RecentDays int               `json:"recent_days,omitempty"` //
	Grade      Grade             `json:"grade"`                 // how practice of this class is scored
	Moves      []string          `json:"moves,omitempty"`       // the practice session that earns it
}

// Grade is the tolerance within which practice must stay. A zero tolerance is not asked.
type Grade struct {
	DistanceM float64 `json:"distance_m"`
	SpeedMS   float64 `json:"speed_ms"`
	AimDeg    float64 `json:"aim_deg"`
	Pass      float64 `json:"pass"` // score from which it is passed, 0 to 100
}

// Rules is the crew's ladder.
type Rules struct {
	Rungs []Rung `json:"rungs"`
	Basis string `json:"basis"` // whose rule, and its date
}

// CommonRules is a ladder to begin with: common practice, no source.
func CommonRules() Rules {
	h := func(hours float64) *float64 { s := hours * 3600; return &s }
	rung := func(c logbook.ShotClass, total, below float64, passes int, distance float64, moves ...string) Rung {
		r := Rung{Class: c, TotalS: h(total), Passes: passes, RecentS: h(1), RecentDays: 90, Grade: Grade{DistanceM: distance, SpeedMS: 1, AimDeg: 5, Pass: 80}, Moves: moves}
		if below > 0 {
			r.BelowS = h(below)
		}
		return r
	}
	return Rules{Basis: "starting ladder, common practice, no source: replace it by the crew's own rule", Rungs: []Rung{
		{Class: logbook.Trainer, Grade: Grade{DistanceM: 5, SpeedMS: 1.5, Pass: 70}, Moves: []string{"static", "push in", "pull out", "truck"}},
		rung(logbook.WideOpen, 5, 0, 4, 4, "static", "push in", "pedestal", "arc"),
		rung(logbook.NearObjects, 20, 5, 6, 2, "arc", "boom", "reveal", "parallel track"),
		rung(logbook.Between, 50, 10, 8, 1.5, "fly-through", "parallel track", "boom"),
		rung(logbook.CloseMoving, 80, 15, 8, 2, "lead", "follow", "parallel track", "orbit"),
		rung(logbook.TwoOperator, 50, 0, 6, 2, "orbit", "reveal", "follow"),
	}}
}

// ReadRules reads a crew's ladder as JSON; unknown keys, classes and doubles are errors.
func ReadRules(r io.Reader) (Rules, error) {
	var rules Rules
	d := json.NewDecoder(io.LimitReader(r, 1<<20))
	d.DisallowUnknownFields()
	if err := d.Decode(&rules); err != nil {
		return rules, fmt.Errorf("ladder: %w", err)
	}
	seen := map[logbook.ShotClass]bool{}
	for _, g := range rules.Rungs {
		if !slices.Contains(logbook.ShotClasses, g.Class) {
			return rules, fmt.Errorf("ladder: class %q is not one of %q", g.Class, logbook.ShotClasses)
		}
		if seen[g.Class] {
			return rules, fmt.Errorf("ladder: class %q stands twice", g.Class)
		}
		seen[g.Class] = true
		if g.RecentS != nil && g.RecentDays <= 0 {
			return rules, fmt.Errorf("ladder: class %q asks recent_s but not within how many recent_days", g.Class)
		}
		if g.Grade.Pass < 0 || g.Grade.Pass > 100 {
			return rules, fmt.Errorf("ladder: class %q passes at %g: expected 0 to 100", g.Class, g.Grade.Pass)
		}
	}
	if strings.TrimSpace(rules.Basis) == "" {
		return rules, fmt.Errorf("ladder: basis is missing: say whose rule it is and from when")
	}
	return rules, nil
}

// Standing is where a pilot stands on one rung.
type Standing struct {
	Class     logbook.ShotClass `json:"class"`
	Held      string            `json:"held"` // yes, no or unknown
	FlownS    float64           `json:"flown_s"`
	LastFlown time.Time         `json:"last_flown,omitzero"`
	Passes    int               `json:"passes"`
	Lacks     []string          `json:"lacks,omitempty"`
}

// Ladder returns a pilot's standing on every class, lowest first, from the standing
// entries of the logbook at the moment now. A rung is held when its demands and those of
// all rungs below it are met; the two-operator class builds on near objects.
func Ladder(person string, log []logbook.Standing, rules Rules, now time.Time) []Standing {
	var total float64
	flown, last, passes := map[logbook.ShotClass]float64{}, map[logbook.ShotClass]time.Time{}, map[logbook.ShotClass]int{}
	type flight struct {
		at time.Time
		s  float64
	}
	var flights []flight
	for _, e := range log {
		switch b := e.Fact.(type) {
		case *logbook.Sortie:
			if b.Pilot != person || b.Landing.After(now) {
				continue
			}
			total += b.FlownS()
			flown[b.ShotClass] += b.FlownS()
			if b.Landing.After(last[b.ShotClass]) {
				last[b.ShotClass] = b.Landing
			}
			flights = append(flights, flight{b.Landing, b.FlownS()})
		case *logbook.Hours:
			if b.Person != person || b.Role != "pilot" {
				continue
			}
			total += b.FlownS
			flown[b.ShotClass] += b.FlownS
			if b.LastFlown.After(last[b.ShotClass]) {
				last[b.ShotClass] = b.LastFlown
			}
		case *logbook.Practice:
			if b.Person == person && b.Passed {
				passes[b.ShotClass]++
			}
		}
	}
	held := map[logbook.ShotClass]string{}
	var out []Standing
	for i, class := range logbook.ShotClasses {
		s := Standing{Class: class, Held: "yes", FlownS: flown[class], LastFlown: last[class], Passes: passes[class]}
		at := slices.IndexFunc(rules.Rungs, func(r Rung) bool { return r.Class == class })
		if at < 0 {
			s.Held, s.Lacks = "unknown", []string{"the crew's rules name no demands for this class"}
			held[class] = s.Held
			out = append(out, s)
			continue
		}
		r := rules.Rungs[at]
		lack := func(format string, args ...any) { s.Lacks = append(s.Lacks, fmt.Sprintf(format, args...)) }
		if r.TotalS != nil && total < *r.TotalS {
			lack("%.1f h more in all (%.1f of %.1f h)", (*r.TotalS-total)/3600, total/3600, *r.TotalS/3600)
		}
		var below logbook.ShotClass
		switch {
		case class == logbook.TwoOperator:
			below = logbook.NearObjects
		case i > 0:
			below = logbook.ShotClasses[i-1]
		}
		if r.BelowS != nil && below != "" && flown[below] < *r.BelowS {
			lack("%.1f h more on %q (%.1f of %.1f h)", (*r.BelowS-flown[below])/3600, below, flown[below]/3600, *r.BelowS/3600)
		}
		if passes[class] < r.Passes {
			lack("%d more practice moves of this class passed (%d of %d)", r.Passes-passes[class], passes[class], r.Passes)
		}
		if r.RecentS != nil {
			var recent float64
			since := now.AddDate(0, 0, -r.RecentDays)
			for _, f := range flights {
				if f.at.After(since) {
					recent += f.s
				}
			}
			if recent < *r.RecentS {
				lack("%.1f h more within the last %d days (%.1f of %.1f h)", (*r.RecentS-recent)/3600, r.RecentDays, recent/3600, *r.RecentS/3600)
			}
		}
		if len(s.Lacks) > 0 {
			s.Held = "no"
		}
		if below != "" && held[below] != "yes" {
			lack("%q is not held", below)
			if s.Held == "yes" {
				s.Held = held[below]
			}
		}
		held[class] = s.Held
		out = append(out, s)
	}
	return out
}

// Need answers whether a pilot may be planned for a class of shot: nil when held, else a
// finding that names the practice session which would earn it.
func Need(person string, class logbook.ShotClass, slate string, ladder []Standing, rules Rules) *review.Finding {
	i := slices.IndexFunc(ladder, func(s Standing) bool { return s.Class == class })
	if i < 0 {
		return &review.Finding{Severity: "unknown", Slate: slate, What: "class of the shot", Value: string(class), Limit: "a class of the ladder", Basis: rules.Basis, Mend: "give the shot's class"}
	}
	s := ladder[i]
	if s.Held == "yes" {
		return nil
	}
	f := &review.Finding{Severity: "stop", Slate: slate, What: fmt.Sprintf("%s has not earned %q", person, class), Value: strings.Join(s.Lacks, "; "), Limit: string(class), Basis: rules.Basis}
	if s.Held == "unknown" {
		f.Severity, f.What = "unknown", fmt.Sprintf("whether %s has earned %q", person, class)
	}
	f.Mend = "fly it with another pilot, or ease the shot"
	if p, ok := Session(ladder, rules); ok {
		f.Mend = fmt.Sprintf("practise %q first: %s on open ground away from people, with cones and a trainer aircraft, each to a score of %.0f; until then another pilot, or an easier shot", p.Class, strings.Join(p.Moves, ", "), p.Grade.Pass)
	}
	return f
}

// Session returns the rung to practise next: the lowest that is not held.
func Session(ladder []Standing, rules Rules) (Rung, bool) {
	for _, s := range ladder {
		if s.Held == "yes" {
			continue
		}
		for _, r := range rules.Rungs {
			if r.Class == s.Class && len(r.Moves) > 0 {
				return r, true
			}
		}
	}
	return Rung{}, false
}

// Mark is the score of one practice move.
type Mark struct {
	Score    float64 `json:"score"`         // 0 to 100: mean of the shares below, in per cent
	Distance float64 `json:"distance"`      // share of the time within the distance
	Speed    float64 `json:"speed"`         // within the speed
	Aim      float64 `json:"aim,omitempty"` // within the aim
	Passed   string  `json:"passed"`        // yes, no or unknown
	Why      string  `json:"why,omitempty"`
}

// Score marks a reviewed take against a grade. It is unknown when a tenth of the move or
// more was not recorded, or when the grade asks for the aim and it was not.
func Score(k review.TakeReport, g Grade) Mark {
	m := Mark{Passed: "unknown"}
	n := len(k.Rows)
	if n == 0 || k.Missing*10 >= n+k.Missing {
		m.Why = "too much of the move was not recorded"
		return m
	}
	share := func(within func(r *review.Row) (bool, bool)) (float64, bool) {
		in, known := 0, 0
		for i := range k.Rows {
			if yes, ok := within(&k.Rows[i]); ok {
				known++
				if yes {
					in++
				}
			}
		}
		return float64(in) / float64(max(known, 1)), known*10 > n*9
	}
	var sum, parts float64
	unknown := false
	part := func(to *float64, asked float64, what string, within func(r *review.Row) (bool, bool)) {
		if asked <= 0 {
			return
		}
		v, ok := share(within)
		if !ok {
			unknown, m.Why = true, what+" was not recorded"
			return
		}
		*to = v
		sum, parts = sum+v, parts+1
	}
	part(&m.Distance, g.DistanceM, "height", func(r *review.Row) (bool, bool) {
		if r.UpM == nil {
			return false, false
		}
		return math.Hypot(math.Hypot(r.AlongM, r.AcrossM), *r.UpM) <= g.DistanceM, true
	})
	part(&m.Speed, g.SpeedMS, "speed", func(r *review.Row) (bool, bool) { return math.Abs(r.SpeedMS-r.PlannedSpeedMS) <= g.SpeedMS, true })
	part(&m.Aim, g.AimDeg, "the camera's aim", func(r *review.Row) (bool, bool) {
		if r.AimErrorDeg == nil {
			return false, false
		}
		return *r.AimErrorDeg <= g.AimDeg, true
	})
	if parts == 0 {
		m.Why = "nothing that the grade asks for was recorded"
		return m
	}
	m.Score = math.Round(1000*sum/parts) / 10
	switch {
	case m.Score < g.Pass:
		m.Passed = "no"
	case !unknown:
		m.Passed = "yes"
	}
	return m
}
