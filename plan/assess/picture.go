package assess

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"fieldfare/model/exposure"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
	"fieldfare/plan/shoot"
)

// defaults of a slate where its file is silent.
const (
	defaultAngle      = 180 * unit.Degree
	middleGrey        = 0.18
	deliveredCirclePx = 1.5 // circle of confusion in recorded pixels (common practice, no source)
	usableErrorStops  = 0.5 // a card that drifts farther than this during the slate is set anew (common practice, no source)
	defaultMainsHz    = 50.0
	whiteBalanceStepK = 100.0
	horizonM          = 3000.0 // stands for "to the horizon" in depth of field
	filtersAtMost     = 2
)

// outfit is the camera side of a take, fixed before the hour is known.
type outfit struct {
	camera  lens.Camera
	body    *shoot.Camera
	lens    *shoot.Lens
	format  *shoot.Recording
	gear    exposure.Gear
	chooser *exposure.Chooser
	circleM float64
	unfit   error             // filters that do not go on
	grads   []exposure.Filter // graduated filters that the slate asks for and that go on

	preferred float64 // aperture that serves depth and diffraction together, 0: the middle of the good range
	deepest   float64 // smallest f-number that keeps the wanted range sharp, 0: none does
}

func newOutfit(s *shoot.Shoot, slate *shoot.Slate, rig *shoot.Rig) (*outfit, error) {
	k := s.Kit()
	o := &outfit{body: k.Camera(rig.Camera), lens: k.Lens(slate.Lens)}
	o.format = o.body.Format(slate.Format)
	width, height := float64(o.body.SensorWidth), float64(o.body.SensorHeight)
	if o.format.CropWidth > 0 {
		width = float64(o.format.CropWidth)
	}
	if o.format.CropHeight > 0 {
		height = float64(o.format.CropHeight)
	}
	o.camera = lens.Camera{FocalM: float64(o.lens.Focal), SensorWidthM: width, SensorHeightM: height,
		PixelsW: o.format.Width, PixelsH: o.format.Height, Squeeze: max(1, o.lens.Squeeze)}
	if err := o.camera.Check(); err != nil {
		return nil, err
	}
	var err error
	if o.circleM, err = lens.CircleFromPitch(o.camera.PixelPitch(), deliveredCirclePx); err != nil {
		return nil, err
	}
	var filters []exposure.Filter
	var rings []lens.StepRing
	for _, name := range rig.Filters {
		f := k.Filter(name)
		kind := map[string]exposure.Kind{"nd": exposure.Neutral, "graduated": exposure.Graduated, "polariser": exposure.Polariser}[f.Kind]
		density := f.Density
		if kind == exposure.Polariser {
			density = 0 // its loss is the model's, with its spread
		}
		filters = append(filters, exposure.Filter{Name: f.Name, Kind: kind, Density: density, ThreadM: float64(f.Thread)})
		for _, from := range f.StepsFrom {
			rings = append(rings, lens.StepRing{LensSideM: float64(from), FilterSideM: float64(f.Thread)})
		}
	}
	fit, unfit := exposure.FitOn(float64(o.lens.Thread), filters, rings)
	o.unfit = unfit
	// A graduated filter is asked for by the slate, never chosen by exposure.
	for _, f := range fit {
		if f.Kind == exposure.Graduated && slices.Contains(slate.Filters, f.Name) {
			o.grads = append(o.grads, f)
		}
	}
	fit = slices.DeleteFunc(fit, func(f exposure.Filter) bool { return f.Kind == exposure.Graduated })
	if !slices.Contains(slate.Filters, polariserOf(fit)) {
		fit = slices.DeleteFunc(fit, func(f exposure.Filter) bool { return f.Kind == exposure.Polariser })
	}
	o.gear = exposure.Gear{Filters: fit, MaxStack: filtersAtMost, GoodFrom: float64(o.lens.GoodFrom), GoodTo: float64(o.lens.GoodTo)}
	for _, t := range o.body.Shutters {
		o.gear.ShuttersS = append(o.gear.ShuttersS, float64(t))
	}
	for _, i := range o.body.ISOs {
		o.gear.ISOs = append(o.gear.ISOs, float64(i))
	}
	for _, i := range o.body.BaseISOs {
		o.gear.BaseISOs = append(o.gear.BaseISOs, float64(i))
	}
	if o.gear.Apertures, err = lens.Stops(float64(o.lens.Widest), float64(o.lens.Smallest)); err != nil {
		return nil, err
	}
	o.chooser, err = exposure.NewChooser(o.gear)
	return o, err
}

func polariserOf(filters []exposure.Filter) string {
	for _, f := range filters {
		if f.Kind == exposure.Polariser {
			return f.Name
		}
	}
	return ""
}

// scene is the slate's number without its letter: "4" of "4B".
func scene(slate string) string { return strings.TrimRightFunc(slate, unicode.IsLetter) }

// wish is what the slate asks of the exposure.
func (t *Take) wish(ev100 float64) exposure.Wish {
	w := exposure.Wish{EV100: ev100, FrameRate: float64(t.Slate.Rate), ShutterAngle: t.Slate.Angle}
	if w.ShutterAngle == 0 {
		w.ShutterAngle = defaultAngle
	}
	w.MainsHz = t.mainsHz()
	w.Aperture, w.Deepest = t.outfit.preferred, t.outfit.deepest
	w.Polariser = slices.Contains(t.Slate.Filters, polariserOf(t.outfit.gear.Filters)) && polariserOf(t.outfit.gear.Filters) != ""
	return w
}

// mainsHz is 0 where no lamps are in the picture.
func (t *Take) mainsHz() float64 {
	switch {
	case !t.Slate.Lamps:
		return 0
	case t.shoot.Site.Mains > 0:
		return float64(t.shoot.Site.Mains)
	}
	return defaultMainsHz
}

// reflects is the share of light that the subject gives back.
func (t *Take) reflects() float64 {
	if t.subject != nil && t.subject.Reflects > 0 {
		return float64(t.subject.Reflects)
	}
	return middleGrey
}

// ev is the exposure value that the subject asks for under an illuminance.
func (t *Take) ev(illuminanceLx float64) (float64, error) {
	return exposure.EV100Reflected(illuminanceLx, t.reflects())
}

// card composes what the operator sets, for the light and colour of the moment.
func (t *Take) card(m *moment) (*exposure.Card, error) {
	lx, ok := m.subjectLx()
	if !ok {
		return nil, errors.New("the light on the subject is unknown")
	}
	ev, err := t.ev(lx)
	if err != nil {
		return nil, err
	}
	setting, err := t.outfit.chooser.Best(t.wish(ev))
	if err != nil {
		return nil, err
	}
	return t.cardWith(m, setting)
}

// cardWith writes a setting down as the card of the moment.
func (t *Take) cardWith(m *moment, setting exposure.Setting) (*exposure.Card, error) {
	shot := exposure.Shot{
		Scene: scene(t.Slate.Slate), Slate: t.Slate.Slate,
		Format:    exposure.Format{Name: t.outfit.format.Name, BitRate: float64(t.outfit.format.BitRate)},
		FrameRate: float64(t.Slate.Rate), Setting: setting, WhiteBalancesK: t.whiteBalances(),
		Camera: t.outfit.camera, CircleM: t.outfit.circleM, NearM: t.nearM, FarM: t.farM,
		Stabiliser: exposure.Stabiliser{Fitted: t.outfit.lens.Stabiliser, OnRig: t.outfit.lens.StabiliserOn}, CardLeftBytes: float64(t.outfit.body.CardSize),
		TakeS: t.Path.DurationS() + rollS, Latitude: exposure.Latitude{OverStops: t.outfit.body.StopsOver, UnderStops: t.outfit.body.StopsUnder},
	}
	if k, ok := m.colour(); ok {
		shot.LightK = k
	}
	if m.sunUp {
		from := t.fromSunAt(m, t.Path.DurationS()/2)
		shot.FromSun = &from
	}
	if shot.SceneK = t.sceneK; t.Slate.White > 0 {
		shot.SceneK = float64(t.Slate.White)
	}
	shot.MainsHz, shot.Breathing = t.mainsHz(), t.breathing()
	if len(t.outfit.grads) > 0 {
		if f, err := exposure.Graduate(t.outfit.grads[:1], exposure.StopsFromDensity(t.outfit.grads[0].Density), t.horizonSpan); err == nil && t.horizonSeen {
			shot.Graduated = &f
		}
	}
	shot.Contrast = contrast(m)
	if drift, err := t.driftOver(m, t.Path.DurationS()); err == nil {
		shot.Drift = &drift
	}
	card, err := exposure.Compose(shot)
	if err != nil {
		return nil, err
	}
	t.focusOn(&card)
	return &card, nil
}

// contrast of a scene from dark leaves and roofs to white walls, with the shade that the sun leaves (common
// practice, no source).
func contrast(m *moment) exposure.Contrast {
	shade := 0.0
	if rest := m.light.TotalLx() - m.light.DirectLx; m.light.DirectLx > 0 && rest > 0 {
		shade = math.Log2(m.light.TotalLx() / rest)
	}
	c, err := exposure.ContrastOf(darkestReflectance, brightestReflectance, shade)
	if err != nil {
		return exposure.Contrast{}
	}
	return c
}

const (
	darkestReflectance   = 0.05
	brightestReflectance = 0.85
)

// breathing is the crew's measurement of the lens, if any.
func (t *Take) breathing() lens.Breathing {
	l := t.outfit.lens
	if l.Breathing == nil {
		return lens.Breathing{}
	}
	at := l.BreathingAt
	if at == 0 {
		at = l.NearFocus
	}
	return lens.Breathing{FocusM: float64(at), Ratio: float64(*l.Breathing)}
}

// fromSunAt is the angle between lens axis and sun at a moment of the take.
func (t *Take) fromSunAt(m *moment, s float64) unit.Angle {
	nearest := &t.looks[0]
	for i := range t.looks {
		if math.Abs(t.looks[i].t-s) < math.Abs(nearest.t-s) {
			nearest = &t.looks[i]
		}
	}
	return unit.Angle(math.Acos(math.Max(-1, math.Min(1, nearest.axis.Dot(m.sun.Direction())))))
}

// rollS is the roll before and after a take (common practice, no source).
const rollS = 10.0

func (t *Take) whiteBalances() []float64 {
	step := float64(t.shoot.House.WhiteBalanceStep)
	if step <= 0 {
		step = whiteBalanceStepK
	}
	var all []float64
	for k := 2500.0; k <= 10000; k += step {
		all = append(all, k)
	}
	return all
}

// depths are the nearest and farthest things that must be sharp.
func (t *Take) depths(nearestSubjectM float64) (near, far float64) {
	near = float64(t.Slate.Near)
	if near == 0 {
		near = math.Max(1, nearestSubjectM*0.8)
	}
	far = math.Inf(1)
	if t.Slate.Far != nil {
		far = float64(*t.Slate.Far)
	}
	return near, far
}

// tellCard turns the card's own remarks into findings, and its absence.
func (t *Take) tellCard(m *moment, card *exposure.Card, failed error, a *Assessment) {
	if card == nil {
		var none *exposure.NoSetting
		switch _, lit := m.subjectLx(); {
		case !lit:
			a.add(t.timely(Unknown, TopicPicture, "exposure", "unknown", "", "no light model holds here", "meter on location"))
		case errors.As(failed, &none): // the gate has said so
		default:
			a.add(t.timely(Stop, TopicPicture, "camera card", failed.Error(), "", "ISO 2720", "change the lens, format or filters"))
		}
		return
	}
	for _, r := range card.Remarks {
		a.add(t.timely(Severity(r.Severity), TopicPicture, r.What, r.Value, r.Limit, r.Basis, r.Mend))
	}
}

// picture fills the numbers of the picture that no hour changes, and its findings.
func (t *Take) picture() {
	n := &t.numbers.Picture
	n.HFOVDeg, n.VFOVDeg = t.outfit.camera.HFOV().Deg(), t.outfit.camera.VFOV().Deg()
	nearest := math.Inf(1)
	target := t.around.subjects[t.Slate.Subject]
	for i := range t.looks {
		if target != nil {
			m, _ := target.At(t.looks[i].t)
			nearest = math.Min(nearest, m.Box.DistanceM(t.looks[i].pos))
		}
	}
	if math.IsInf(nearest, 1) {
		nearest = 10
	}
	t.nearestSubjectM = math.Max(1, nearest)
	t.nearM, t.farM = t.depths(nearest)
	if clip := float64(t.outfit.body.LongestClip); clip > 0 {
		n.LongestClipS = known(clip)
	}
	if limit, take := float64(t.outfit.body.LongestClip), t.Path.DurationS()+rollS; limit > 0 && take > limit {
		t.find(Stop, TopicPicture, "take against the camera's longest clip", seconds(take), seconds(limit), "maker's limit", "roll later or change the format")
	}
	t.aperture()
	t.horizon()
	t.askedFilters()
	if t.Slate.Lamps && t.shoot.Site.Mains == 0 {
		t.find(Unknown, TopicPicture, "frequency of the mains behind the lamps", "unknown; 50 Hz assumed", "", "shoot file", "enter mains: for the site")
	}
	if t.outfit.unfit != nil {
		t.find(Note, TopicPicture, "filters that do not fit this lens", strings.ReplaceAll(t.outfit.unfit.Error(), "\n", "; "), "", "thread sizes on the shelf", "pack the step ring")
	}
}

func filtersOf(card *exposure.Card) []string {
	if card == nil {
		return nil
	}
	return card.Filters
}

// aperture chooses what serves depth, diffraction and the lens's good range together: the middle of the good
// range, unless depth needs a smaller one.
func (t *Take) aperture() {
	o, n := t.outfit, &t.numbers.Picture
	var good []float64
	for _, a := range o.gear.Apertures {
		if (o.gear.GoodFrom == 0 || a >= o.gear.GoodFrom) && (o.gear.GoodTo == 0 || a <= o.gear.GoodTo) {
			good = append(good, a)
		}
	}
	if o.gear.GoodFrom == 0 || o.gear.GoodTo == 0 {
		t.find(Unknown, TopicPicture, "good range of the lens", "unknown; its whole range is taken", "", "shelf", "enter good_from: and good_to: for "+o.lens.Name)
	}
	focus := 2 / (1/t.nearM + 1/t.farM)
	best, err := lens.BestAperture(good, lens.Need{FocalM: o.camera.FocalM, PitchM: o.camera.PixelPitch(), FocusM: focus, NearM: t.nearM, FarM: t.farM})
	if err != nil {
		t.find(Unknown, TopicPicture, "best aperture", "unknown", "", "diffraction MTF times defocus MTF", err.Error())
		return
	}
	n.BestAperture, n.BestLimit, n.Sharpness = known(best.Aperture), best.Limit, string(best.Grade)
	middle := math.Sqrt(good[0] * good[len(good)-1])
	if best.Limit == "depth of field" && best.Aperture > middle {
		o.preferred = best.Aperture
	}
	widest, err := lens.FocusFor(o.camera.FocalM, o.gear.Apertures[len(o.gear.Apertures)-1], o.circleM, t.nearM, t.farM)
	if err != nil {
		return // the card says what is not sharp
	}
	n.DepthNeeds = known(widest.Aperture)
	if widest.Aperture <= good[len(good)-1] {
		o.deepest = math.Max(widest.Aperture, o.gear.Apertures[0])
	}
}

// horizon measures how far the level horizon travels in the picture.
func (t *Take) horizon() {
	low, high := math.Inf(1), math.Inf(-1)
	height := float64(t.outfit.camera.PixelsH)
	last := len(t.Path.Samples) - 1
	for i := 0; ; i = min(last, i+max(1, last/(looksPerTake-1))) {
		p := &t.Path.Samples[i]
		camera := t.outfit.camera
		camera.FocalM = p.FocalM
		view := camera.View(p.Pose())
		if row, ok := view.HorizonRow(); ok {
			low, high = math.Min(low, row), math.Max(high, row)
			t.horizonSeen = t.horizonSeen || row > 0 && row < height
		}
		if i == last {
			break
		}
	}
	if t.horizonSeen {
		t.horizonSpan = (high - low) / height
		t.numbers.Picture.HorizonPct = known(100 * t.horizonSpan)
	}
}

// askedFilters looks at what the slate asks for by name.
func (t *Take) askedFilters() {
	for _, name := range t.Slate.Filters {
		f := t.shoot.Kit().Filter(name)
		goes := slices.ContainsFunc(t.outfit.gear.Filters, func(x exposure.Filter) bool { return x.Name == name }) || slices.ContainsFunc(t.outfit.grads, func(x exposure.Filter) bool { return x.Name == name })
		switch {
		case !goes:
			t.find(Stop, TopicPicture, "filter "+name+" on "+t.outfit.lens.Name, "does not fit", "thread "+t.outfit.lens.Thread.String(), "thread sizes on the shelf", "pack the step ring, or choose another lens")
		case f.Kind == "graduated" && !t.horizonSeen:
			t.find(Caution, TopicPicture, "graduated filter "+name, "no horizon in the picture", "horizon still in the picture", practice, "leave it off: its edge has nothing to lie on")
		case f.Kind == "graduated":
			if _, err := exposure.Graduate(t.outfit.grads[:1], exposure.StopsFromDensity(f.Density), t.horizonSpan); err != nil {
				t.find(Caution, TopicPicture, "graduated filter "+name, fmt.Sprintf("the horizon travels %.0f %% of the picture's height", 100*t.horizonSpan), "horizon still", practice, "leave it off: its edge would show; expose for the ground or split the move")
			}
		}
	}
	for _, f := range t.outfit.gear.Filters {
		var rings []lens.StepRing
		for _, from := range t.shoot.Kit().Filter(f.Name).StepsFrom {
			rings = append(rings, lens.StepRing{LensSideM: float64(from), FilterSideM: f.ThreadM})
		}
		if fit, err := lens.FitFilter(float64(t.outfit.lens.Thread), f.ThreadM, rings); err == nil && fit.StepDown {
			t.find(Caution, TopicPicture, "filter "+f.Name+" on "+t.outfit.lens.Name, "narrower than the lens's thread", "no step down", practice, "look at the corners against an even sky")
		}
	}
}

// tellGlass adds what the hour makes of aperture and polariser.
func (t *Take) tellGlass(m *moment, card *exposure.Card, a *Assessment) {
	n := &a.Numbers.Picture
	good := [2]float64{t.outfit.gear.GoodFrom, t.outfit.gear.GoodTo}
	if good[0] > 0 && good[1] > 0 && (card.Aperture < good[0]-1e-6 || card.Aperture > good[1]+1e-6) {
		a.add(t.timely(Caution, TopicPicture, "aperture", unit.FNumber(card.Aperture).String(), unit.FNumber(good[0]).String()+" to "+unit.FNumber(good[1]).String(), "the lens's good range on the shelf", "pack other filters, or shoot in other light"))
	}
	if contrast, grade := lens.DiffractionGrade(card.Aperture, t.outfit.camera.PixelPitch()); grade == lens.Soft {
		a.add(t.timely(Caution, TopicPicture, "diffraction at "+unit.FNumber(card.Aperture).String(), percent(contrast)+" contrast left in fine detail", "50 %", "diffraction MTF; grades are "+practice, "open the aperture and add a filter"))
	}
	margin := exposure.Latitude{OverStops: t.outfit.body.StopsOver, UnderStops: t.outfit.body.StopsUnder}.Margins(contrast(m), card.ErrorStops)
	if margin.Known {
		n.OverStops, n.UnderStops = known(margin.OverStops), known(margin.UnderStops)
	}
	if !m.sunUp || m.shaded || !slices.Contains(card.Filters, polariserOf(t.outfit.gear.Filters)) {
		return
	}
	least, most := math.Inf(1), math.Inf(-1)
	for i := range t.looks {
		p, err := exposure.PolariserOnSky(t.fromSunAt(m, t.looks[i].t), t.outfit.camera.HFOV())
		if err == nil {
			least, most = math.Min(least, p.DarkenStops), math.Max(most, p.DarkenStops)
		}
	}
	if most-least > polariserTravel {
		a.add(t.timely(Caution, TopicPicture, "the polariser's sky changes over the take", fmt.Sprintf("%.1f stops", most-least), fmt.Sprintf("%.1f stop", polariserTravel), "Rayleigh's law of sky polarisation", "take it off, or split the move"))
	}
}

// polariserTravel is how far the sky may change under a polariser while the camera turns (common practice, no source).
const polariserTravel = 0.5

// alternatives are the best settings in rank, the card's first, each with why.
func (t *Take) alternatives(m *moment) []Alternative {
	lx, ok := m.subjectLx()
	if !ok {
		return nil
	}
	ev, err := t.ev(lx)
	if err != nil {
		return nil
	}
	ranked, err := t.outfit.chooser.Rank(t.wish(ev), alternativesAtMost)
	if err != nil {
		return nil
	}
	var all []Alternative
	for i, s := range ranked {
		x := Alternative{ShutterS: s.ShutterS, ISO: s.ISO, Aperture: s.Aperture, Filters: s.Stack.Names(), AttenuationEV: s.Stack.LossStops, ErrorStops: s.ErrorStops}
		if i == 0 {
			x.Why = t.outfit.chooser.Why(s)
		} else {
			x.Why = t.outfit.chooser.WhyInstead(ranked[0], s)
		}
		all = append(all, x)
	}
	return all
}

const alternativesAtMost = 4
