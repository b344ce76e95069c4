package assess

import (
	"context"
	"fmt"
	"math"
	"sort"
	"time"

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
	Class    string   `json:"class"` // of shot that the path becomes with it

	MassKg         float64  `json:"takeoff_mass_kg"`
	MassMarginKg   float64  `json:"mass_margin_kg"`
	TakesPerPack   *int     `json:"takes_per_pack"`
	LeftWh         *float64 `json:"left_after_takes_wh"`
	ThrustRatio    *float64 `json:"thrust_to_weight"`
	NoiseDB        *float64 `json:"noise_at_subject_db"`
	Axes           int      `json:"gimbal_axes"`
	SingleOperator bool     `json:"single_operator"`
	DurationS      float64  `json:"duration_s"`
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
		frame := s.Kit().Airframe(rig.Airframe)
		if rig.Trainer || rig.Camera == "" {
			c.Why = append(c.Why, "carries no camera")
			c.Stops = 1
			items, _ := payload(s, rig, "", heaviestPack(s, rig))
			c.MassKg = total(items)
			c.MassMarginKg = float64(frame.MaxTakeoff) - c.MassKg
			all = append(all, c)
			continue
		}
		lens := nearestLens(s, rig, wanted)
		format := formatFor(s, rig, original)
		if format == "" {
			c.Why, c.Stops = append(c.Why, fmt.Sprintf("its camera does not record at %s", original.Rate)), 1
			all = append(all, c)
			continue
		}
		x := *original
		x.Rig, x.Lens, x.Format = rig.Name, lens.Name, format
		x.Filters = carried(original.Filters, rig)
		t, err := a.prepare(ctx, &x)
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
	target := t.assessor.subjects[t.Slate.Subject]
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
