package assess

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"fieldfare/plan/frame"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

const (
	basisSeen    = "line of sight over terrain and obstacles"
	basisEscape  = "reaction time, braking, position error and drift; climb-out of 30 m: common practice, no source"
	basisPixels  = "pixels per metre after IEC 62676-4 (from memory: 25 detect, 62.5 observe, 125 recognise, 250 identify a person)"
	basisPrivacy = "local privacy rules; " + basisPixels
)

// From how many pixels per metre a person is made out: IEC 62676-4, from memory.
var made = []struct {
	density float64
	word    string
}{{250, "identified"}, {125, "recognised"}, {62.5, "observed"}, {25, "made out"}}

// inspect looks along the path once. Whether the pilot sees the aircraft is what sight says, here and in
// the safety case alike.
func (t *Take) inspect() {
	problem, pilot := t.problem(), t.pilot
	t.report = move.Inspect(&problem, &t.Path, move.Scene{Pilot: &pilot, Things: t.things(), Axis: t.axis()})
	r := &t.report
	r.PilotBlindS = 0
	for i := range r.Seconds {
		c := &r.Seconds[i]
		switch clear, known := t.sees(t.pilot, t.spotAt(c.T)); {
		case clear && known:
			c.PilotSees, c.PilotBy = move.Yes, ""
		case !known:
			c.PilotSees, c.PilotBy = move.Unknown, ""
		default:
			if c.PilotBy == "" {
				c.PilotBy = "ground"
			}
			c.PilotSees = move.No
			r.PilotBlindS++
		}
	}
	t.composition(&problem)
}

// blinding names what stands between the pilot and the aircraft at about a time.
func (t *Take) blinding(s float64) string {
	for i := range t.report.Seconds {
		if c := &t.report.Seconds[i]; c.PilotSees == move.No && math.Abs(c.T-s) <= 1 {
			return c.PilotBy
		}
	}
	return "terrain or an obstacle"
}

// composition puts what the frame holds, and what the crew looks at, into numbers.
func (t *Take) composition(problem *move.Problem) {
	n, r := &t.numbers.Move, &t.report
	n.Class, n.ClassWhy = string(r.Rung), r.RungWhy
	if t.Rig.Trainer {
		n.Class, n.ClassWhy = "trainer", "flown on a trainer"
	}
	n.HiddenS, n.OutOfFrameS, n.AxisSide = r.HiddenS, r.OutOfFrameS, string(r.Side)
	if t.driftKnown {
		n.DriftM = known(t.driftM)
	}
	if r.LeastSubject != "" {
		n.ClosingMS = known(r.MaxClosingMS)
	}
	if target := t.around.subjects[t.Slate.Subject]; target != nil {
		least := math.Inf(1)
		for i := range t.Path.Samples {
			m, _ := target.At(t.Path.Samples[i].T)
			solid := move.NewBox(m.Box.Foot, m.Box.WidthM, m.Box.DepthM, m.Box.HeightM, float64(m.Box.Facing))
			d, _ := solid.Distance(t.Path.Samples[i].Pos)
			least = math.Min(least, d)
		}
		n.LeastSubjectM = known(math.Max(0, least))
	}
	end := t.Path.DurationS()
	n.SubjectStartPct, n.HorizonStartPct = t.framing(problem, 0)
	n.SubjectMidPct, _ = t.framing(problem, end/2)
	n.SubjectEndPct, n.HorizonEndPct = t.framing(problem, end)
	free, sure := 0, true
	for i := range r.Seconds {
		c := &r.Seconds[i]
		switch {
		case c.Stop == move.Yes || c.ClimbOut == move.Yes:
			free++
		case c.Stop == move.Unknown || c.ClimbOut == move.Unknown:
			sure = false
		}
		if i > 0 {
			a, b := t.Path.At(c.T-1/t.Path.RateHz), t.Path.At(c.T)
			n.MostControls = max(n.MostControls, move.Controls(a, b, problem.Rig.TwoAxis))
		}
	}
	if sure && len(r.Seconds) > 0 {
		n.EscapeFreePct = known(100 * float64(free) / float64(len(r.Seconds)))
	}
}

// framing is the height of what the frame is about, and the horizon in the middle of the picture, in percent
// of the frame's height; nil where there is none.
func (t *Take) framing(problem *move.Problem, s float64) (subject, horizon *float64) {
	at := t.Path.At(s)
	camera := problem.Camera
	camera.FocalM = at.FocalM
	view := frame.Look(camera, at.Pose())
	if target := t.around.subjects[t.aimed(s)]; target != nil {
		m, _ := target.At(s)
		if e, ok := view.Extent(m.Box); ok {
			subject = known(100 * e.Height())
		}
	}
	if left, right, ok := view.Horizon(); ok {
		horizon = known(100 * float64(left+right) / 2)
	}
	return subject, horizon
}

// aimed names what the frame is about at a time: the subject of the step, after its middle the next one.
func (t *Take) aimed(s float64) string {
	name := t.Slate.Subject
	for _, span := range t.Path.Spans {
		if s < span.From-1e-9 {
			continue
		}
		step := &t.Slate.Moves[span.Step]
		if name = step.Subject; step.ToSubject != "" && s > (span.From+span.To)/2 {
			name = step.ToSubject
		}
	}
	return name
}

// stretch is a run of seconds.
type stretch struct {
	from, to float64
	seconds  int
}

// stretches gathers the seconds of which a thing is true.
func (t *Take) stretches(is func(*move.Second) bool) (all []stretch) {
	last := -2
	for i := range t.report.Seconds {
		c := &t.report.Seconds[i]
		if !is(c) {
			continue
		}
		if last != i-1 {
			all = append(all, stretch{from: c.T})
		}
		last = i
		x := &all[len(all)-1]
		x.to, x.seconds = c.T, x.seconds+1
	}
	return all
}

// during tells for how long, and when.
func during(all []stretch) string {
	var parts []string
	for _, x := range all {
		parts = append(parts, "from t = "+seconds(x.from)+" to "+seconds(x.to))
	}
	if len(parts) > 3 {
		parts = append(parts[:3], fmt.Sprintf("and %d times more", len(parts)-3))
	}
	return strings.Join(parts, ", ")
}

// step is the move flown at a time.
func (t *Take) step(s float64) move.Kind {
	kind := move.Kind("")
	for _, span := range t.Path.Spans {
		if s >= span.From-1e-9 {
			kind = span.Move
		}
	}
	return kind
}

// bound tells whether the solver ran into a limit.
func (t *Take) bound(l move.Limit) bool {
	return slices.ContainsFunc(t.Bounds, func(b move.Bound) bool { return b.Limit == l })
}

// passes turns what the path passes, sees and is seen by into findings.
func (t *Take) passes() {
	t.hidden()
	t.reveals()
	t.lostFrame()
	t.escape()
	t.closing()
	t.crossing()
	t.pictured()
	if !t.driftKnown {
		t.find(Unknown, TopicMove, "drift in gusts", "unknown; no margin kept for it", "", "forecast; house rule", "enter wind in the forecast, or gust: in house:")
	}
}

func (t *Take) hidden() {
	hides := func(c *move.Second) bool { return c.Seen == move.No && t.step(c.T) != move.Reveal }
	if all := t.stretches(hides); len(all) > 0 {
		by := ""
		for i := range t.report.Seconds {
			if c := &t.report.Seconds[i]; c.T == all[0].from {
				by = c.Hiding
			}
		}
		t.findAt(all[0].from, Caution, TopicMove, t.aimed(all[0].from)+" hidden", "behind "+by+", "+during(all), "seen throughout", basisSeen, "raise the camera, move it aside, or look from another bearing")
	}
	if all := t.stretches(func(c *move.Second) bool { return c.Seen == move.Unknown }); len(all) > 0 {
		t.findAt(all[0].from, Unknown, TopicMove, "sight of "+t.aimed(all[0].from), "unknown, "+during(all), "seen throughout", "elevation grid", "extend the grid between camera and subject")
	}
}

// reveals holds each reveal to its name: something is hidden or out of the frame first, and seen at the end.
func (t *Take) reveals() {
	for _, span := range t.Path.Spans {
		if span.Move != move.Reveal {
			continue
		}
		var first, last *move.Second
		for i := range t.report.Seconds {
			if c := &t.report.Seconds[i]; c.Seen != "" && c.T >= span.From-1e-9 && c.T <= span.To+1e-9 {
				if first == nil {
					first = c
				}
				last = c
			}
		}
		if first == nil {
			continue
		}
		name := t.aimed(span.To)
		if last.Seen == move.No || !last.Framed() {
			t.findAt(last.T, Caution, TopicMove, "reveal of "+name, "not in sight at its end", "in sight", basisSeen, "rise or travel farther")
		} else if first.Seen == move.Yes && first.Visible > 0.99 && first.Framed() {
			t.findAt(first.T, Caution, TopicMove, "reveal of "+name, "in full sight from the start", "hidden or out of the frame first", basisSeen, "start lower, behind something, or with the frame off "+name)
		}
	}
}

// lostFrame finds a subject that leaves the frame in moves that are meant to hold it.
func (t *Take) lostFrame() {
	lost := func(c *move.Second) bool {
		switch t.step(c.T) {
		case move.Reveal, move.Flyover, move.FlyThrough, move.Pan, move.Tilt:
			return false
		}
		return c.Seen != "" && !c.Framed()
	}
	if all := t.stretches(lost); len(all) > 0 && !t.bound(move.LimitFraming) {
		t.findAt(all[0].from, Caution, TopicMove, t.aimed(all[0].from)+" out of the frame", "less than half in it "+during(all), "half at least", "projection of the subject's box", "aim at it, shorten the move, or take a wider lens")
	}
}

// escape finds seconds from which neither a straight stop nor a climb-out is free, and those that leave one.
func (t *Take) escape() {
	if t.shoot.House.ReactionTime == 0 {
		t.find(Unknown, TopicMove, "way to stop or climb out", "unknown without a reaction time", "free at each second", "house rule", "add reaction_time: to house:")
		return
	}
	const mend = "fly slower, or keep farther from what stands ahead and above"
	tell := func(severity Severity, what, value string, is func(*move.Second) bool) {
		if all := t.stretches(is); len(all) > 0 {
			t.findAt(all[0].from, severity, TopicMove, what, value+" "+during(all), "free at each second", basisEscape, mend)
		}
	}
	tell(Stop, "escape", "neither a straight stop nor a climb-out is free", func(c *move.Second) bool { return c.Stop == move.No && c.ClimbOut == move.No })
	tell(Caution, "straight stop", "not free, a climb-out is", func(c *move.Second) bool { return c.Stop == move.No && c.ClimbOut == move.Yes })
	tell(Caution, "climb-out", "not free, a straight stop is", func(c *move.Second) bool { return c.ClimbOut == move.No && c.Stop == move.Yes })
	tell(Unknown, "escape", "unknown: the ground there is not known", func(c *move.Second) bool {
		return c.Stop != move.Yes && c.ClimbOut != move.Yes && (c.Stop == move.Unknown || c.ClimbOut == move.Unknown)
	})
}

// closing holds the distance from each moving subject, at every sample, against the stand-off that its closing
// speed asks.
func (t *Take) closing() {
	problem := t.problem()
	var names []string
	for name, s := range t.around.subjects {
		if s.Moves() {
			names = append(names, name)
		}
	}
	sort.Strings(names)
	for _, name := range names {
		short, at, distM, closingMS, neededM := 0.05, 0.0, 0.0, 0.0, 0.0
		for i := range t.Path.Samples {
			q := &t.Path.Samples[i]
			m, ok := t.around.subjects[name].At(q.T)
			if !ok {
				continue
			}
			if d, v, need := problem.StandOff(q, m); v > 0 && need-d > short {
				short, at, distM, closingMS, neededM = need-d, q.T, d, v, need
			}
		}
		if neededM == 0 {
			continue
		}
		t.findAt(at, Stop, TopicMove, "stand-off from "+name+", closing at "+speed(closingMS), metres(distM), metres(neededM), "house rule with reaction time and braking", "keep farther from its way, or let the distance shrink more slowly")
	}
}

// pictured finds crew in the picture, and neighbours whose privacy it touches.
func (t *Take) pictured() {
	var neighbours, far, crew []string
	first, firstCrew := math.Inf(1), math.Inf(1)
	most := 0.0
	for _, p := range t.report.Pictured {
		density := t.density(p.NearestM)
		when := fmt.Sprintf("%s from t = %s to %s", p.Name, seconds(p.FromS), seconds(p.ToS))
		people := density >= made[len(made)-1].density
		switch {
		case p.Kind != shoot.Home && p.Kind != shoot.People:
			if people {
				crew, firstCrew = append(crew, when), math.Min(firstCrew, p.FromS)
			}
		case people:
			neighbours, first, most = append(neighbours, fmt.Sprintf("%s (%.0f px/m)", when, density)), math.Min(first, p.FromS), math.Max(most, density)
		default:
			far = append(far, p.Name)
		}
	}
	if len(crew) > 0 {
		t.findAt(firstCrew, Caution, TopicPicture, "crew in the picture", strings.Join(crew, "; "), "out of it", "projection; "+basisPixels, "hide them, move them (pilot_at:), or turn the shot")
	}
	if len(neighbours) > 0 {
		word := made[len(made)-1].word
		for i := len(made) - 1; i >= 0; i-- {
			if most >= made[i].density {
				word = made[i].word
			}
		}
		t.findAt(first, Caution, TopicPicture, "privacy of neighbours", "people can be "+word+": "+strings.Join(neighbours, "; "), "consent, or nobody to be made out (below 25 px/m)", basisPrivacy, "ask them first, or keep them out of the frame or farther away")
	}
	if len(far) > 0 {
		t.find(Note, TopicPicture, "neighbours in the picture, too small to make people out", strings.Join(far, ", "), "", basisPrivacy, "tell them of the flight")
	}
}

// density is how many pixels a metre takes at a distance along the lens axis.
func (t *Take) density(distM float64) float64 {
	if distM <= 0 {
		return 0
	}
	_, fy := t.outfit.camera.FocalPixels()
	return fy / distM
}
