package assess

import (
	"errors"
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
	usableErrorStops  = 0.5 // a card farther off than this does not serve (common practice, no source)
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
	unfit   error // filters that do not go on
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
	if t.Slate.Lamps {
		w.MainsHz = defaultMainsHz
	}
	w.Polariser = slices.Contains(t.Slate.Filters, polariserOf(t.outfit.gear.Filters)) && polariserOf(t.outfit.gear.Filters) != ""
	return w
}

// ev is the exposure value that the subject asks for under an illuminance.
func (t *Take) ev(illuminanceLx float64) (float64, error) {
	reflects := middleGrey
	if t.subject != nil && t.subject.Reflects > 0 {
		reflects = float64(t.subject.Reflects)
	}
	return exposure.EV100Reflected(illuminanceLx, reflects)
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
		Format:    exposure.Format{Name: t.outfit.format.Name, BitRate: float64(t.outfit.format.BitRate), ClipLimitS: float64(t.outfit.body.LongestClip)},
		FrameRate: float64(t.Slate.Rate), Setting: setting, WhiteBalancesK: t.whiteBalances(),
		Camera: t.outfit.camera, CircleM: t.outfit.circleM, NearM: t.nearM, FarM: t.farM,
		Stabiliser: exposure.Stabiliser{Fitted: t.outfit.lens.Stabiliser}, CardLeftBytes: float64(t.outfit.body.CardSize),
		TakeS: t.Path.DurationS() + rollS, Latitude: exposure.Latitude{OverStops: t.outfit.body.StopsOver, UnderStops: t.outfit.body.StopsUnder},
	}
	if c := m.daylight.Colour(m.light); c.Mix.Known {
		shot.LightK = float64(c.Mix.Mid)
	}
	if m.sunUp {
		from := unit.Angle(m.fromAxis)
		shot.FromSun = &from
	}
	if t.Slate.Lamps {
		shot.MainsHz = defaultMainsHz
	}
	card, err := exposure.Compose(shot)
	if err != nil {
		return nil, err
	}
	return &card, nil
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
	target := t.assessor.subjects[t.Slate.Subject]
	for i := range t.looks {
		if target != nil {
			m, _ := target.At(t.looks[i].t)
			nearest = math.Min(nearest, t.looks[i].pos.Sub(m.Box.Centre()).Norm()-m.Box.RadiusM())
		}
	}
	if math.IsInf(nearest, 1) {
		nearest = 10
	}
	t.nearM, t.farM = t.depths(nearest)
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
