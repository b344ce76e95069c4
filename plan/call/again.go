package call

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"sort"
	"time"

	"fieldfare/plan/assess"
	"fieldfare/plan/check"
	"fieldfare/plan/day"
)

// Planned is a sheet with the problem that it answers, so that the day can be planned again around it.
type Planned struct {
	Sheet *Sheet

	assessor *assess.Assessor
	checked  *check.Check
	problem  day.Problem
	plan     day.Plan
	left     []LeftOut
}

// Since says where the day stands when it is planned again.
type Since struct {
	From      time.Time // nothing flies before: now, or the end of a weather hold
	Done      []string  // slates that are got
	Committed []string  // slates that stay in place if they possibly can
	// Packs are states of charge as found, 0 to 1, by name; others are as the earlier plan foretells.
	Packs map[string]float64
	// Assessor and Check are the facts as they are now, where weather or folder changed; nil: as they were.
	Assessor *assess.Assessor
	Check    *check.Check
}

// Keep plans like Plan and keeps what Again needs.
func Keep(ctx context.Context, a *assess.Assessor, c *check.Check, o day.Options) (*Planned, error) {
	k := &Planned{assessor: a, checked: c}
	k.problem, k.left = Problem(a, c)
	if len(k.problem.Slates) == 0 {
		k.Sheet = k.empty()
		return k, nil
	}
	plan, err := day.Solve(ctx, &k.problem, o)
	if err != nil {
		return nil, err
	}
	k.plan, k.problem = plan, *k.problem.Called(&plan)
	k.Sheet = k.sheet(plan)
	return k, nil
}

func (k *Planned) sheet(plan day.Plan) *Sheet {
	s := k.blank()
	s.write(k.assessor, k.problem, plan)
	return s
}

// blank is a sheet before the search: what is left out, and what of charging is not known.
func (k *Planned) blank() *Sheet {
	shoot := k.assessor.Shoot
	s := &Sheet{Title: shoot.Title, Zone: shoot.Zone, LeftOut: k.left, Notes: []string{}, Cautions: k.checked.Cautions}
	for i := range shoot.Packs {
		if _, err := k.assessor.Charging(&shoot.Packs[i]); err != nil {
			s.Notes = append(s.Notes, "unknown: no charge on location is planned for pack "+shoot.Packs[i].Name+": "+err.Error())
		}
	}
	return s
}

// empty is the sheet of a shoot of which no slate can be placed.
func (k *Planned) empty() *Sheet {
	s := k.blank()
	s.Proved, s.Stopped = true, "proved"
	for _, d := range k.assessor.Shoot.Dates {
		noon := d.Midnight(k.assessor.Shoot.Location()).Add(12 * time.Hour)
		s.Days = append(s.Days, Day{Date: d.String(), Call: noon, Wrap: noon, Sorties: []Sortie{}, Breaks: []Break{}, Charges: []Charge{}})
	}
	s.Notes = append(s.Notes, "no slate can be placed: see what is left out")
	return s
}

// Again plans the rest from a moment on and says what became of every slate. Sorties with slates that are got
// stay on the sheet.
func (k *Planned) Again(ctx context.Context, since Since, o day.Options) (*Planned, []day.Move, error) {
	epoch := k.assessor.Shoot.Dates[0].Midnight(k.assessor.Shoot.Location())
	now := day.Now{NowS: int64(since.From.Sub(epoch) / time.Second), Done: since.Done, Committed: since.Committed}
	again := *k
	if since.Assessor != nil {
		again.assessor, again.checked = since.Assessor, since.Check
		again.problem, again.left = Problem(since.Assessor, since.Check)
		again.problem.Days, again.problem.Calls = k.problem.Days, nil // the crew has been told its calls
	}
	for _, name := range slices.Sorted(maps.Keys(since.Packs)) {
		i := slices.IndexFunc(again.problem.Packs, func(p day.Pack) bool { return p.Name == name })
		if i < 0 {
			return nil, nil, fmt.Errorf("no pack %q flies in this shoot", name)
		}
		now.Packs = append(now.Packs, day.PackState{Pack: name, ChargeWh: since.Packs[name] * again.problem.Packs[i].CapacityWh, ReadyS: now.NowS})
	}
	if len(again.problem.Slates) == 0 {
		again.plan, again.Sheet = day.Plan{}, again.empty()
		again.Sheet.remember(k.Sheet, since.Done)
		return &again, k.dropped(since.Done, again.left), nil
	}
	plan, moves, err := day.Replan(ctx, &again.problem, &k.plan, now, o)
	if err != nil {
		return nil, nil, err
	}
	again.plan = plan
	again.Sheet = again.sheet(plan)
	again.Sheet.remember(k.Sheet, since.Done)
	return &again, moves, nil
}

// dropped says of every slate on an earlier sheet what became of it where none can be placed any more.
func (k *Planned) dropped(done []string, left []LeftOut) []day.Move {
	moves := []day.Move{}
	for _, d := range k.Sheet.Days {
		for _, x := range d.Sorties {
			for _, shot := range x.Slates {
				if has(done, shot.Slate) {
					moves = append(moves, day.Move{Slate: shot.Slate, Kind: "done", Sentence: shot.Slate + " is done"})
					continue
				}
				m := day.Move{Slate: shot.Slate, Kind: "dropped", Sentence: fmt.Sprintf("%s, planned for %s on %s, drops out", shot.Slate, shot.Start.Format("15:04"), d.Date)}
				if i := slices.IndexFunc(left, func(l LeftOut) bool { return l.Slate == shot.Slate }); i >= 0 {
					m.Sentence += ": " + left[i].Reason
				}
				moves = append(moves, m)
			}
		}
	}
	return moves
}

// remember puts the flown sorties of an earlier sheet before those that are still to come.
func (s *Sheet) remember(was *Sheet, done []string) {
	for _, d := range was.Days {
		var flown []Sortie
		for _, x := range d.Sorties {
			var shots []Shot
			for _, shot := range x.Slates {
				if has(done, shot.Slate) {
					shots = append(shots, shot)
				}
			}
			if len(shots) > 0 {
				x.Slates = shots
				flown = append(flown, x)
			}
		}
		if len(flown) == 0 {
			continue
		}
		i := slices.IndexFunc(s.Days, func(x Day) bool { return x.Date == d.Date })
		if i < 0 {
			s.Days = append([]Day{{Date: d.Date, Call: d.Call, Wrap: flown[len(flown)-1].End, Sorties: []Sortie{}, Breaks: []Break{}, Charges: []Charge{}}}, s.Days...)
			i = 0
		}
		s.Days[i].Call = d.Call
		s.Days[i].Sorties = append(flown, s.Days[i].Sorties...)
	}
	sort.SliceStable(s.Days, func(i, j int) bool { return s.Days[i].Date < s.Days[j].Date })
}

// Odds samples what goes wrong on a day and says how likely each slate is got.
func (k *Planned) Odds(ctx context.Context, samples int, o day.Options) (*Odds, error) {
	if len(k.problem.Slates) == 0 {
		return nil, fmt.Errorf("no slate is on the day, so there is nothing to weigh")
	}
	r, err := day.Robust(ctx, &k.problem, &k.plan, day.DefaultDelays, samples, o)
	if err != nil {
		return nil, err
	}
	out := &Odds{Samples: r.Samples, Delays: r.Delays, AllMusts: r.AllMusts, Expected: r.Expected, Slates: k.chances(r.Slates)}
	if r.Alternative != nil {
		out.Calmer = &Calmer{Sentence: r.Alternative.Sentence, AllMusts: r.Alternative.AllMusts, Expected: r.Alternative.Expected,
			Slates: k.chances(r.Alternative.Slates), Sheet: k.sheet(r.Alternative.Plan), plan: r.Alternative.Plan}
	}
	return out, nil
}

// Calm puts the calmer day that Odds found in place of the planned one.
func (k *Planned) Calm(c *Calmer) *Planned {
	calm := *k
	calm.plan, calm.Sheet = c.plan, c.Sheet
	return &calm
}

// Odds are the chances of a day under delay and weather, sampled with a seed.
type Odds struct {
	Samples  int        `json:"samples"`
	Delays   day.Delays `json:"delays"` // what is drawn: a guess, no source
	AllMusts float64    `json:"all_musts"`
	Expected float64    `json:"expected_points"`
	Slates   []Chance   `json:"slates"`
	Calmer   *Calmer    `json:"calmer,omitempty"`
}

// Chance is one slate's.
type Chance struct {
	Slate    string    `json:"slate"`
	Priority string    `json:"priority"`
	Chance   float64   `json:"chance"`
	SlackS   int64     `json:"slack_s"`
	Latest   time.Time `json:"latest_start"`
}

// Calmer is a day that gives up a little value for more chance.
type Calmer struct {
	Sentence string   `json:"sentence"`
	AllMusts float64  `json:"all_musts"`
	Expected float64  `json:"expected_points"`
	Slates   []Chance `json:"slates"`
	Sheet    *Sheet   `json:"sheet"`

	plan day.Plan
}

func (k *Planned) chances(all []day.Chance) []Chance {
	zone := k.assessor.Shoot.Location()
	epoch := k.assessor.Shoot.Dates[0].Midnight(zone)
	out := make([]Chance, len(all))
	for i, c := range all {
		out[i] = Chance{c.Slate, string(c.Priority), c.Chance, c.SlackS, epoch.Add(time.Duration(c.LatestS) * time.Second).In(zone)}
	}
	return out
}
