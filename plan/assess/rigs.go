package assess

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

// Candidate is one rig looked at for a slate.
type Candidate struct {
	Rig      string   `json:"rig"`
	Airframe string   `json:"airframe"`
	Lens     string   `json:"lens"`
	Format   string   `json:"format"`
	Can      bool     `json:"can"`
	Why      []string `json:"why"` // what bars it, or what speaks for it
	Stops    int      `json:"stops"`
	Unknowns int      `json:"unknowns"`
	Cautions int      `json:"cautions"`
	Tests    []Test   `json:"tests"` // what was looked at, each with its number
	Class    string   `json:"class"` // of shot that the path becomes with it

	MassKg         float64     `json:"takeoff_mass_kg"`
	MassMarginKg   float64     `json:"mass_margin_kg"`
	TakesPerPack   *int        `json:"takes_per_pack"`
	LeftWh         *float64    `json:"left_after_takes_wh"`
	ThrustRatio    *float64    `json:"thrust_to_weight"`
	NoiseDB        *float64    `json:"noise_at_subject_db"`
	Axes           int         `json:"gimbal_axes"`
	SingleOperator bool        `json:"single_operator"`
	Fit            *FitNumbers `json:"fit"` // hovers that the power rests on
	DurationS      float64     `json:"duration_s"`
}

// Test is one question that a rig must answer for a slate.
type Test struct {
	About string `json:"about"` // mass, axes, single operator, endurance, noise, class and so on
	Value string `json:"value"`
	Limit string `json:"limit"`
	Basis string `json:"basis"`
	Met   *bool  `json:"met"` // null: not known, which is not met
}

func (c *Candidate) test(about, value, limit, basis string, met bool) {
	c.Tests = append(c.Tests, Test{about, value, limit, basis, &met})
}

func (c *Candidate) unsure(about, value, limit, basis string) {
	c.Tests = append(c.Tests, Test{About: about, Value: value, Limit: limit, Basis: basis})
}

// Rigs looks at every rig of the shoot for a slate at an instant, those that can do it first and the
// best of them first of all: fewer unknowns and cautions, then more energy left.
func (a *Assessor) Rigs(ctx context.Context, slate string, at time.Time) ([]Candidate, error) {
	s := a.Shoot
	original := s.Slate(slate)
	if original == nil {
		return nil, fmt.Errorf("no slate %q in this shoot", slate)
	}
	wanted := s.Kit().Lens(original.Lens)
	var all []Candidate
	for i := range s.Rigs {
		rig := &s.Rigs[i]
		c := Candidate{Rig: rig.Name, Airframe: rig.Airframe, SingleOperator: rig.Operator == ""}
		if rig.Trainer || rig.Camera == "" {
			c.empty(s, rig, original)
			all = append(all, c)
			continue
		}
		lens := nearestLens(s, rig, wanted)
		format := formatFor(s, rig, original)
		if format == "" {
			c.Why, c.Stops = append(c.Why, fmt.Sprintf("its camera does not record at %s", original.Rate)), 1
			c.test("camera", "no format at "+original.Rate.String(), original.Rate.String(), "shelf", false)
			all = append(all, c)
			continue
		}
		x := *original
		x.Rig, x.Lens, x.Format = rig.Name, lens.Name, format
		x.Filters = carried(original.Filters, rig)
		t, err := a.prepare(ctx, &x, nil)
		if err != nil {
			return nil, err
		}
		c.fill(t, at, lens, wanted)
		all = append(all, c)
	}
	sort.SliceStable(all, func(i, j int) bool {
		p, q := all[i], all[j]
		switch {
		case p.Can != q.Can:
			return p.Can
		case p.Stops != q.Stops:
			return p.Stops < q.Stops
		case p.Unknowns != q.Unknowns:
			return p.Unknowns < q.Unknowns
		case p.Cautions != q.Cautions:
			return p.Cautions < q.Cautions
		}
		return p.LeftWh != nil && (q.LeftWh == nil || *p.LeftWh > *q.LeftWh)
	})
	return all, nil
}

func (c *Candidate) fill(t *Take, at time.Time, lens, wanted *shoot.Lens) {
	assessed := t.At(at)
	n := assessed.Numbers
	c.Lens, c.Format, c.Class = lens.Name, t.Slate.Format, n.Move.Class
	c.MassKg, c.MassMarginKg = n.Flight.TakeoffMassKg, n.Flight.MassMarginKg
	c.TakesPerPack, c.ThrustRatio, c.DurationS = n.Flight.TakesPerPack, n.Flight.ThrustRatio, n.Move.DurationS
	if m := t.flownIn(t.moment(at).weather); m.packErr == nil && m.err == nil {
		c.LeftWh = known(m.leftJ / 3600)
	}
	if g := t.shoot.Kit().Gimbal(t.Rig.Gimbal); g != nil {
		c.Axes = g.Axes
	}
	c.NoiseDB = t.noise()
	c.Fit = n.Flight.Fit
	c.ask(t, &n)
	for _, f := range assessed.Findings {
		switch f.Severity {
		case Stop:
			c.Stops++
			text := f.What + " " + f.Value
			if f.Limit != "" {
				text += " (limit " + f.Limit + ")"
			}
			c.Why = append(c.Why, text)
		case Unknown:
			c.Unknowns++
		case Caution:
			c.Cautions++
		}
	}
	if c.Can = c.Stops == 0; c.Can {
		c.Why = append(c.Why, fmt.Sprintf("%d unknown, %d caution", c.Unknowns, c.Cautions))
	}
	if wanted != nil && lens.Name != wanted.Name {
		c.Why = append(c.Why, fmt.Sprintf("%s is the nearest it carries to %s: the framing's distance changes with it", lens.Name, wanted.Name))
	}
}

// empty says of a rig without a camera what the slate's own would make of it.
func (c *Candidate) empty(s *shoot.Shoot, r *shoot.Rig, slate *shoot.Slate) {
	k := s.Kit()
	frame := k.Airframe(r.Airframe)
	items, _ := payload(s, r, "", heaviestPack(s, r))
	c.MassKg = total(items)
	c.MassMarginKg = float64(frame.MaxTakeoff) - c.MassKg
	c.Stops = 1
	c.Why = append(c.Why, "carries no camera")
	c.test("camera", "none", "one", "shoot file", false)
	other := s.Rig(slate.Rig)
	g, body, l := k.Gimbal(other.Gimbal), k.Camera(other.Camera), k.Lens(slate.Lens)
	if g == nil || body == nil || l == nil {
		return
	}
	with := c.MassKg + float64(g.Mass+body.Mass+l.Mass)
	c.test("mass", kg(with)+" with the slate's gimbal, camera and lens", kg(float64(frame.MaxTakeoff)), "maker's limit", with <= float64(frame.MaxTakeoff))
	c.Why = append(c.Why, fmt.Sprintf("the slate's gimbal, camera and lens would make it %s of %s", kg(with), kg(float64(frame.MaxTakeoff))))
}

// controlsAlone is how many controls one person may move at once (common practice, no source).
const controlsAlone = 4

// ask puts the questions to a rig that films, each with its number.
func (c *Candidate) ask(t *Take, n *Numbers) {
	var lowest *MassLimit
	for i := range n.Flight.Load.Limits {
		if l := &n.Flight.Load.Limits[i]; lowest == nil || l.MaxKg < lowest.MaxKg {
			lowest = l
		}
	}
	if lowest != nil {
		c.test("mass", kg(c.MassKg), kg(lowest.MaxKg), lowest.Basis, c.MassKg <= lowest.MaxKg)
	} else {
		c.unsure("mass", kg(c.MassKg), "unknown", "shelf")
	}
	c.askMount(t, n)
	c.alone(t)
	if c.TakesPerPack == nil {
		c.unsure("endurance", "unknown", "1 take a pack", "momentum theory; house rule for the reserve")
	} else {
		c.test("endurance", fmt.Sprintf("%d takes a pack", max(0, *c.TakesPerPack)), "1 take a pack", "momentum theory; house rule for the reserve", *c.TakesPerPack >= 1)
	}
	margin := float64(t.shoot.House.ThrustMargin)
	switch {
	case c.ThrustRatio == nil:
		c.unsure("thrust to weight", "unknown", fmt.Sprintf("%.2f", 1+margin), "shelf")
	case margin == 0:
		c.unsure("thrust to weight", fmt.Sprintf("%.2f", *c.ThrustRatio), "unknown", "house rule")
	default:
		c.test("thrust to weight", fmt.Sprintf("%.2f", *c.ThrustRatio), fmt.Sprintf("%.2f", 1+margin), "house rule", *c.ThrustRatio >= 1+margin)
	}
	loud := fmt.Sprintf("%.0f dB(A)", quietDB)
	switch {
	case c.NoiseDB == nil:
		c.unsure("noise at the subject", "unknown", loud, practice)
	case t.Slate.Silent:
		c.test("noise at the subject", fmt.Sprintf("%.0f dB(A)", *c.NoiseDB), loud, practice+"; live sound is recorded", *c.NoiseDB <= quietDB)
	default:
		c.test("noise at the subject", fmt.Sprintf("%.0f dB(A)", *c.NoiseDB), "none: no live sound", "ISO 9613-2 divergence", true)
	}
	if pilot := t.shoot.Person(t.Rig.Pilot); pilot != nil && c.Class != "" {
		need, has := slices.Index(Rungs, c.Class), slices.Index(Rungs, pilot.Rung)
		if pilot.Rung == "" {
			c.unsure("class of shot", c.Class, "rung of "+pilot.Name+" unknown", "house rule")
		} else {
			c.test("class of shot", c.Class, pilot.Name+" holds "+pilot.Rung, "house rule", has >= need)
		}
	}
	if t.airframe.Class == "" {
		c.unsure("class label", "none entered", "the rules", "shelf")
	} else {
		c.test("class label", t.airframe.Class, "the rules", "shelf", true)
	}
}

// turning are the limits of a path that tell against a mount's axes.
var turning = []move.Limit{move.LimitYaw, move.LimitPanRate, move.LimitPanTravel, move.LimitTiltRate, move.LimitTiltTravel}

func (c *Candidate) askMount(t *Take, n *Numbers) {
	g := t.shoot.Kit().Gimbal(t.Rig.Gimbal)
	if g == nil || n.Balance.PayloadKg == nil {
		return
	}
	if g.Payload > 0 {
		c.test("gimbal payload", kg(*n.Balance.PayloadKg), kg(float64(g.Payload)), "maker's limit", *n.Balance.PayloadKg <= float64(g.Payload))
	} else {
		c.unsure("gimbal payload", kg(*n.Balance.PayloadKg), "unknown", "shelf")
	}
	value, limit := fmt.Sprintf("3, turned up to %.0f deg/s", n.Move.TopGimbalRateDegS), "pan "+g.PanRate.String()+", tilt "+g.TiltRate.String()
	if g.Axes == 2 {
		value, limit = fmt.Sprintf("2, the aircraft yaws up to %.0f deg/s to frame", n.Move.TopYawRateDegS), "yaw "+t.airframe.YawRate.String()+", tilt "+g.TiltRate.String()
	}
	c.test("axes", value, limit, "maker's limit", t.Unsolved == nil && !t.ranInto(turning...))
}

// ranInto reports whether the path ran into one of the limits.
func (t *Take) ranInto(limits ...move.Limit) bool {
	return slices.ContainsFunc(t.Bounds, func(b move.Bound) bool { return slices.Contains(limits, b.Limit) })
}

// alone asks how much one person would have to do at once.
func (c *Candidate) alone(t *Take) {
	g := t.shoot.Kit().Gimbal(t.Rig.Gimbal)
	if g == nil || t.Unsolved != nil {
		return
	}
	most := 0
	for i := 1; i < len(t.Path.Samples); i++ {
		most = max(most, move.Controls(&t.Path.Samples[i-1], &t.Path.Samples[i], g.Axes == 2))
	}
	value := fmt.Sprintf("%d controls at once", most)
	if c.SingleOperator {
		c.test("single operator", value, fmt.Sprintf("%d for longer than a second", controlsAlone), practice, !t.ranInto(move.LimitWorkload))
	} else {
		c.test("single operator", value+", shared by two people", "two people", "shoot file", true)
	}
}

func heaviestPack(s *shoot.Shoot, rig *shoot.Rig) (heaviest *shoot.PackType) {
	for _, p := range rigPacks(s, rig) {
		if m := s.Kit().Pack(p.Model); heaviest == nil || m.Mass > heaviest.Mass {
			heaviest = m
		}
	}
	return heaviest
}

// nearestLens is the rig's lens whose focal length is nearest in stops of scale.
func nearestLens(s *shoot.Shoot, rig *shoot.Rig, wanted *shoot.Lens) *shoot.Lens {
	var best *shoot.Lens
	for _, name := range rig.Lenses {
		l := s.Kit().Lens(name)
		if wanted == nil || l.Name == wanted.Name {
			return l
		}
		if best == nil || math.Abs(math.Log(float64(l.Focal/wanted.Focal))) < math.Abs(math.Log(float64(best.Focal/wanted.Focal))) {
			best = l
		}
	}
	return best
}

// formatFor is the slate's format where the rig's camera has it at the slate's rate, else its first
// with that rate.
func formatFor(s *shoot.Shoot, rig *shoot.Rig, slate *shoot.Slate) (name string) {
	for _, f := range s.Kit().Camera(rig.Camera).Formats {
		for _, r := range f.Rates {
			if r == slate.Rate && (name == "" || f.Name == slate.Format) {
				name = f.Name
			}
		}
	}
	return name
}

func carried(filters []string, rig *shoot.Rig) (all []string) {
	for _, f := range filters {
		for _, has := range rig.Filters {
			if has == f {
				all = append(all, f)
			}
		}
	}
	return all
}

// noise is the sound pressure level at the subject at the nearest moment, falling 6 dB with each
// doubling of distance from the level at 10 m (ISO 9613-2 divergence); wind and echoes left out.
func (t *Take) noise() *float64 {
	if t.airframe.Noise == 0 {
		return nil
	}
	target := t.around.subjects[t.Slate.Subject]
	if target == nil {
		return nil
	}
	nearest := math.Inf(1)
	for i := range t.looks {
		m, _ := target.At(t.looks[i].t)
		nearest = math.Min(nearest, t.looks[i].pos.Sub(m.Box.Centre()).Norm())
	}
	return known(t.airframe.Noise - 20*math.Log10(math.Max(1, nearest)/10))
}

// quietDB is what live sound bears at the subject (common practice, no source).
const quietDB = 45.0

// sound warns where live sound is recorded.
func (t *Take) sound() {
	if !t.Slate.Silent {
		return
	}
	level := t.noise()
	switch {
	case level == nil:
		t.find(Unknown, TopicCrew, "noise at the subject", "unknown", fmt.Sprintf("%.0f dB(A)", quietDB), practice, "enter noise_db_10m: for the airframe")
	case *level > quietDB:
		t.find(Caution, TopicCrew, "noise at the subject", fmt.Sprintf("%.0f dB(A)", *level), fmt.Sprintf("%.0f dB(A)", quietDB), practice+"; divergence by ISO 9613-2", "record the sound wild, or film from farther with a longer lens")
	}
}
