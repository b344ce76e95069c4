package exposure

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

// Gear is what the camera, the lens and the bag offer.
type Gear struct {
	ShuttersS []float64 // the camera's list in seconds; empty: any time
	ISOs      []float64 // settings offered
	BaseISOs  []float64 // native ones, clean by design; empty: the lowest
	Apertures []float64 // engraved marks that the lens offers
	GoodFrom  float64   // the lens's good range, f-numbers; both 0: all of Apertures
	GoodTo    float64
	Filters   []Filter // those that fit (FitOn)
	MaxStack  int      // filters at once; 0: 2
}

// Wish is what the shot and the light ask for.
type Wish struct {
	EV100        float64
	FrameRate    float64 // frames per second
	ShutterAngle unit.Angle
	MainsHz      float64 // 50 or 60 when lamps are in the picture, else 0
	Polariser    bool    // the shot wants one
	Aperture     float64 // preferred f-number, 0: the middle of the good range
	Deepest      float64 // smallest f-number that keeps enough sharp, 0: any
	Keep         *Stack  // the stack that is mounted now: a change costs a landing; nil: none yet
}

// Setting is one way to expose.
type Setting struct {
	ShutterS   float64
	ISO        float64
	Aperture   float64 // engraved mark
	Stack      *Stack
	ErrorStops float64 // above 0 hot, below 0 dark
	Regret     float64 // what ranks it: 0 is perfect
}

// Acceptable error: right within a third of a stop, usable within one (common practice, no
// source).
const (
	RightStops  = 1.0 / 3
	UsableStops = 1.0
)

// Weights of a setting's regret, in stops of error that a crew would trade for it. They are
// ours; the order that they give is what the tests hold to.
const (
	regretError     = 1.0  // per stop off
	regretHot       = 0.3  // more per stop hot: highlights do not come back
	regretNotRight  = 2.0  // more per stop beyond RightStops
	regretAperture  = 0.15 // per stop from the preferred aperture, inside the good range
	regretOutside   = 1.5  // per stop outside the good range, plus regretStep
	regretStep      = 1.0
	regretISO       = 0.6 // per stop above a base sensitivity
	regretHigherISO = 0.2 // per stop of the base sensitivity above the lowest
	regretFilter    = 0.1 // per filter
	regretSecond    = 0.3 // per filter beyond the first
	regretCast      = 0.1 // a stack that colours the picture
	regretPolariser = 0.6 // a polariser that the shot does not want, or its want unmet
	regretShallow   = 1.0 // per stop short of the depth wanted, plus regretStep
	regretLanding   = 0.4 // another stack than the one mounted
)

// Chooser ranks settings of one gear. It is prepared once and safe for concurrent use.
type Chooser struct {
	gear   Gear
	stacks []Stack
	combos []combo   // by rising static regret
	closes []float64 // of the combinations, rising, each once
	good   [2]float64
}

type combo struct {
	closes   float64 // stops by which the setting darkens ISO 100 at f/1, 1 s
	av       float64 // aperture value
	regret   float64 // without the light
	iso      float64
	aperture float64
	stack    int32
	slot     int32 // stack and sensitivity: one alternative
}

// NewChooser checks the gear and prepares every combination of filters, sensitivity and
// aperture.
func NewChooser(gear Gear) (*Chooser, error) {
	if len(gear.ISOs) == 0 {
		return nil, errors.New("no sensitivity to choose from: list the camera's ISO settings")
	}
	if len(gear.Apertures) == 0 {
		return nil, errors.New("no aperture to choose from: list the lens's apertures")
	}
	var err error
	for _, n := range gear.Apertures {
		err = errors.Join(err, unit.Within("aperture f/", n, 0.5, 64, ""))
	}
	for _, v := range append(slices.Clone(gear.ISOs), gear.BaseISOs...) {
		err = errors.Join(err, unit.Within("ISO", v, 1, 4e6, ""))
	}
	for _, t := range gear.ShuttersS {
		err = errors.Join(err, unit.Within("shutter", t, 1e-6, 3600, "s"))
	}
	if err != nil {
		return nil, err
	}
	if gear.MaxStack == 0 {
		gear.MaxStack = 2
	}
	c := &Chooser{gear: gear}
	if c.stacks, err = stacks(gear.Filters, gear.MaxStack); err != nil {
		return nil, err
	}
	from, to := gear.GoodFrom, gear.GoodTo
	if from == 0 && to == 0 {
		from, to = slices.Min(gear.Apertures), slices.Max(gear.Apertures)
	}
	if err := errors.Join(unit.Within("good range from f/", from, 0.5, 64, ""), unit.Within("good range to f/", to, from, 64, "")); err != nil {
		return nil, err
	}
	c.good = [2]float64{lens.ApertureValue(from), lens.ApertureValue(to)}
	bases := slices.Clone(gear.BaseISOs)
	lowest := slices.Min(gear.ISOs)
	if len(bases) == 0 {
		bases = []float64{lowest}
	}
	for s, stack := range c.stacks {
		filters := float64(len(stack.Filters))
		perStack := regretFilter*filters + regretSecond*math.Max(0, filters-1)
		if stack.CastsColour() {
			perStack += regretCast
		}
		for i, iso := range gear.ISOs {
			perISO := isoRegret(iso, lowest, bases)
			for _, n := range gear.Apertures {
				av := lens.ApertureValue(n)
				regret := perStack + perISO
				if out := math.Max(c.good[0]-av, av-c.good[1]); out > 1e-9 {
					regret += regretStep + regretOutside*out
				}
				c.combos = append(c.combos, combo{
					closes: av + stack.LossStops - math.Log2(iso/100), av: av, regret: regret,
					iso: iso, aperture: n, stack: int32(s), slot: int32(s*len(gear.ISOs) + i),
				})
			}
		}
	}
	slices.SortStableFunc(c.combos, func(a, b combo) int { return cmp.Compare(a.regret, b.regret) })
	for _, k := range c.combos {
		c.closes = append(c.closes, k.closes)
	}
	slices.Sort(c.closes)
	c.closes = slices.Compact(c.closes)
	return c, nil
}

// isoRegret charges gain above the nearest base below, and a little for a higher base. A
// sensitivity below every base loses highlights and is charged alike.
func isoRegret(iso, lowest float64, bases []float64) float64 {
	least := math.Inf(1)
	for _, b := range bases {
		gain := math.Log2(iso / b)
		if gain < 0 {
			gain *= -1.5
		}
		least = math.Min(least, regretISO*gain+regretHigherISO*math.Max(0, math.Log2(b/lowest)))
	}
	return least
}

// light is a wish made ready for the search.
type light struct {
	level     float64 // EV100 + log2 t
	preferred float64 // aperture value
	deepest   float64
	polariser bool
	keep      *Stack
}

func (c *Chooser) prepare(w Wish) (light, Shutter, error) {
	if err := unit.Within("EV100", w.EV100, -12, 25, ""); err != nil {
		return light{}, Shutter{}, err
	}
	s, err := ChooseShutter(w.FrameRate, w.ShutterAngle, c.gear.ShuttersS, w.MainsHz)
	if err != nil {
		return light{}, Shutter{}, err
	}
	l := light{level: w.EV100 + math.Log2(s.TimeS), preferred: (c.good[0] + c.good[1]) / 2, deepest: math.Inf(-1), polariser: w.Polariser, keep: w.Keep}
	if w.Aperture != 0 {
		if err := unit.Within("preferred aperture f/", w.Aperture, 0.5, 64, ""); err != nil {
			return light{}, Shutter{}, err
		}
		l.preferred = lens.ApertureValue(w.Aperture)
	}
	if w.Deepest != 0 {
		if err := unit.Within("aperture for depth f/", w.Deepest, 0.01, 1000, ""); err != nil {
			return light{}, Shutter{}, err
		}
		l.deepest = lens.ApertureValue(w.Deepest)
	}
	return l, s, nil
}

// judge adds to a combination's regret what the light and the shot make of it.
func (c *Chooser) judge(k *combo, l *light) (regret, errorStops float64) {
	errorStops = l.level - k.closes
	off := math.Abs(errorStops)
	regret = k.regret + regretError*off + regretAperture*math.Abs(k.av-l.preferred)
	if errorStops > 0 {
		regret += regretHot * errorStops
	}
	if off > RightStops {
		regret += regretNotRight * (off - RightStops)
	}
	stack := &c.stacks[k.stack]
	if stack.Polarises != l.polariser {
		regret += regretPolariser
	}
	if short := l.deepest - k.av; short > 1e-9 {
		regret += regretStep + regretShallow*short
	}
	if l.keep != nil && !sameStack(l.keep, stack) {
		regret += regretLanding
	}
	return regret, errorStops
}

func sameStack(a, b *Stack) bool {
	if a == b {
		return true
	}
	if len(a.Filters) != len(b.Filters) {
		return false
	}
	for i := range a.Filters {
		if a.Filters[i].Name != b.Filters[i].Name {
			return false
		}
	}
	return true
}

// Best returns the setting of least regret. It allocates nothing unless it fails; an error
// of type *NoSetting says how far the nearest is off.
func (c *Chooser) Best(w Wish) (Setting, error) {
	l, s, err := c.prepare(w)
	if err != nil {
		return Setting{}, err
	}
	best := Setting{Regret: math.Inf(1)}
	for i := range c.combos {
		k := &c.combos[i]
		if k.regret >= best.Regret {
			break
		}
		if regret, e := c.judge(k, &l); regret < best.Regret && math.Abs(e) <= UsableStops {
			best = Setting{s.TimeS, k.iso, k.aperture, &c.stacks[k.stack], e, regret}
		}
	}
	if best.Stack == nil {
		return Setting{}, c.noSetting(&l, s)
	}
	return best, nil
}

// Reach tells in which light a shot has a usable setting, for searches that ask at every minute.
type Reach struct {
	closes []float64
	timeTV float64 // log2 of the shutter time
}

// Reach returns that of a wish, whatever its light. It fails where Best fails in every light.
func (c *Chooser) Reach(w Wish) (Reach, error) {
	w.EV100 = 0
	_, s, err := c.prepare(w)
	return Reach{c.closes, math.Log2(s.TimeS)}, err
}

// Serves reports whether Best finds a setting at an exposure value.
func (r Reach) Serves(ev100 float64) bool {
	if unit.Within("EV100", ev100, -12, 25, "") != nil {
		return false
	}
	level := ev100 + r.timeTV
	i, _ := slices.BinarySearch(r.closes, level)
	return i < len(r.closes) && math.Abs(level-r.closes[i]) <= UsableStops || i > 0 && math.Abs(level-r.closes[i-1]) <= UsableStops
}

// Rank returns the best setting of every filter stack and sensitivity that is usable,
// the best first and at most limit of them.
func (c *Chooser) Rank(w Wish, limit int) ([]Setting, error) {
	l, s, err := c.prepare(w)
	if err != nil {
		return nil, err
	}
	slots := make([]Setting, len(c.stacks)*len(c.gear.ISOs))
	for i := range c.combos {
		k := &c.combos[i]
		regret, e := c.judge(k, &l)
		if at := &slots[k.slot]; math.Abs(e) <= UsableStops && (at.Stack == nil || regret < at.Regret) {
			*at = Setting{s.TimeS, k.iso, k.aperture, &c.stacks[k.stack], e, regret}
		}
	}
	ranked := slots[:0]
	for _, at := range slots {
		if at.Stack != nil {
			ranked = append(ranked, at)
		}
	}
	if len(ranked) == 0 {
		return nil, c.noSetting(&l, s)
	}
	slices.SortStableFunc(ranked, func(a, b Setting) int { return cmp.Compare(a.Regret, b.Regret) })
	return ranked[:min(limit, len(ranked))], nil
}

// NoSetting reports that nothing carried exposes the scene within UsableStops.
type NoSetting struct {
	Nearest Setting // the least wrong one
}

func (e *NoSetting) Error() string {
	n := e.Nearest
	off := math.Abs(n.ErrorStops)
	mend := fmt.Sprintf("carry %.1f of density more, or wait for less light", math.Ceil(off)*0.3)
	if n.ErrorStops < 0 {
		mend = "allow a higher ISO or a wider aperture, add light, or slow the frame rate"
	}
	return fmt.Sprintf("no setting works: the nearest, %s at %s and ISO %g with %s, is %s; %s",
		unit.FNumber(n.Aperture), unit.Shutter(n.ShutterS), n.ISO, n.Stack, Off(n.ErrorStops), mend)
}

func (c *Chooser) noSetting(l *light, s Shutter) error {
	nearest, off := Setting{}, math.Inf(1)
	for i := range c.combos {
		k := &c.combos[i]
		if e := l.level - k.closes; math.Abs(e) < off {
			nearest, off = Setting{s.TimeS, k.iso, k.aperture, &c.stacks[k.stack], e, 0}, math.Abs(e)
		}
	}
	return &NoSetting{nearest}
}

// Judge works out a setting that the crew made up itself, by the names of its filters. An
// aperture that the lens, a sensitivity or shutter that the camera, or a filter that the
// bag does not have is an error.
func (c *Chooser) Judge(ev100, shutterS, iso, aperture float64, filters ...string) (Setting, error) {
	err := unit.Within("EV100", ev100, -12, 25, "")
	has := func(list []float64, v float64) bool {
		return slices.ContainsFunc(list, func(x float64) bool { return math.Abs(x/v-1) < 1e-3 })
	}
	if !has(c.gear.Apertures, aperture) {
		err = errors.Join(err, fmt.Errorf("aperture f/%g: the lens offers f/%g to f/%g", aperture, slices.Min(c.gear.Apertures), slices.Max(c.gear.Apertures)))
	}
	if !has(c.gear.ISOs, iso) {
		err = errors.Join(err, fmt.Errorf("ISO %g: the camera offers %v", iso, c.gear.ISOs))
	}
	if !(shutterS > 0) || len(c.gear.ShuttersS) > 0 && !has(c.gear.ShuttersS, shutterS) {
		err = errors.Join(err, fmt.Errorf("shutter %g s: the camera lacks it; it offers %s", shutterS, shutterList(c.gear.ShuttersS)))
	}
	var mounted []Filter
	for _, name := range filters {
		i := slices.IndexFunc(c.gear.Filters, func(f Filter) bool { return f.Name == name })
		if i < 0 {
			err = errors.Join(err, fmt.Errorf("filter %s: not among those that the crew carries and that fit: %s", name, Stack{Filters: c.gear.Filters}))
			continue
		}
		mounted = append(mounted, c.gear.Filters[i])
	}
	if err != nil {
		return Setting{}, err
	}
	stack, err := NewStack(mounted...)
	if err != nil {
		return Setting{}, err
	}
	return Setting{ShutterS: shutterS, ISO: iso, Aperture: aperture, Stack: &stack,
		ErrorStops: ErrorStops(ev100, shutterS, iso, aperture, stack.LossStops)}, nil
}

func shutterList(list []float64) string {
	if len(list) == 0 {
		return "any time above zero"
	}
	text := make([]string, len(list))
	for i, t := range list {
		text[i] = unit.Shutter(t).String()
	}
	return strings.Join(text, ", ")
}

// Off says an exposure error in words: "right", "1.1 stops hot", "0.5 stop dark".
func Off(errorStops float64) string {
	off := math.Abs(errorStops)
	if off <= RightStops {
		return "right"
	}
	side := "hot"
	if errorStops < 0 {
		side = "dark"
	}
	noun := "stop"
	if off >= 1.05 {
		noun = "stops"
	}
	return fmt.Sprintf("%.1f %s %s", off, noun, side)
}
