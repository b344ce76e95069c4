package exposure

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

// Severity words of a remark, the same as those of findings.
const (
	Stop    = "stop"
	Caution = "caution"
	Note    = "note"
	Unknown = "unknown"
)

// Remark is what a card says about itself beside a number.
type Remark struct {
	Severity string `json:"severity"`
	What     string `json:"what"`
	Value    string `json:"value"`
	Limit    string `json:"limit,omitempty"`
	Basis    string `json:"basis"`
	Mend     string `json:"mend,omitempty"`
}

const practice = "common practice, no source"

// Format is one recording format of a camera.
type Format struct {
	Name       string
	BitRate    float64 // bits per second, as written to the card; 0 is not known
	ClipLimitS float64 // longest clip in seconds, 0: none known
}

// Stabiliser is what is known of the lens's own stabiliser.
type Stabiliser struct {
	Fitted bool
	OnRig  string // "on" or "off": what the crew found best on this gimbal; "": not tried
}

// Shot is all that a card is made of.
type Shot struct {
	Scene, Slate string
	Format       Format
	FrameRate    float64 // frames per second
	Setting      Setting
	MainsHz      float64 // when lamps are in the picture, else 0

	LightK         float64   // colour temperature of the light, 0: not known
	SceneK         float64   // white balance that the scene was given already, 0: none yet
	WhiteBalancesK []float64 // the camera's settings; empty: every 100 K

	Camera      lens.Camera // as recorded
	CircleM     float64     // circle of confusion
	NearM, FarM float64     // what must be sharp, FarM +Inf allowed
	Breathing   lens.Breathing

	Stabiliser Stabiliser

	CardLeftBytes float64 // free on the memory card, 0: not known
	TakeS         float64 // length of a take, roll before and after included

	FromSun  *unit.Angle // between the lens axis and the sun, nil: not known
	Latitude Latitude
	Contrast Contrast
	Drift    *Change // of the light over one take, nil: not worked out
	Due      *Due    // when another filter is due, nil: not worked out

	Graduated *Filter // in front of the stack (Graduate), nil: none
}

// Card is what the camera operator sets on the ground. Every take of the slate is shot with
// it as it stands.
type Card struct {
	Scene           string   `json:"scene"`
	Slate           string   `json:"slate"`
	Format          string   `json:"format"`
	FrameRate       float64  `json:"frame_rate_fps"`
	ShutterS        float64  `json:"shutter_s"`
	ShutterAngleDeg float64  `json:"shutter_angle_deg"`
	ISO             float64  `json:"iso"`
	Aperture        float64  `json:"aperture_f"`
	Filters         []string `json:"filters"`
	Graduated       string   `json:"graduated,omitempty"` // its edge on the horizon
	AttenuationEV   float64  `json:"attenuation_stops"`
	ErrorStops      float64  `json:"error_stops"`
	WhiteBalanceK   float64  `json:"white_balance_k"` // 0: set on location
	FocusM          float64  `json:"focus_m"`
	FocusFromM      float64  `json:"focus_from_m"` // any setting from here
	FocusToM        *float64 `json:"focus_to_m"`   // to here keeps the wanted range sharp; nil: infinity
	FocusCheck      string   `json:"focus_check"`  // what to focus on, at a comparable distance
	SharpFromM      float64  `json:"sharp_from_m"`
	SharpToM        *float64 `json:"sharp_to_m"` // nil: infinity
	Stabiliser      string   `json:"stabiliser"` // "on", "off", "none"
	CardLeftS       *float64 `json:"card_left_s"`
	TakesLeft       *int     `json:"takes_left"`
	Remarks         []Remark `json:"remarks"`
}

// Compose makes a shot's card. Missing or absurd input is an error; what is only unknown
// (card space, latitude, breathing) is said so in a remark, and what crews would frown at
// is a caution.
func Compose(s Shot) (Card, error) {
	if s.Setting.Stack == nil {
		return Card{}, errors.New("no exposure is chosen for the card")
	}
	err := errors.Join(
		unit.Within("frame rate", s.FrameRate, 1, 1000, "fps"), unit.Within("shutter", s.Setting.ShutterS, 1e-6, 1, "s"),
		unit.Within("ISO", s.Setting.ISO, 1, 4e6, ""), unit.Within("aperture f/", s.Setting.Aperture, 0.5, 64, ""),
		unit.Within("exposure error", s.Setting.ErrorStops, -30, 30, "stops"), checkMains(s.MainsHz), s.Camera.Check())
	if s.Setting.ShutterS > 1/s.FrameRate*(1+1e-6) {
		err = errors.Join(err, fmt.Errorf("shutter %s is longer than a frame at %g fps", unit.Shutter(s.Setting.ShutterS), s.FrameRate))
	}
	if err != nil {
		return Card{}, err
	}
	c := Card{
		Scene: s.Scene, Slate: s.Slate, Format: s.Format.Name, FrameRate: s.FrameRate,
		ShutterS: s.Setting.ShutterS, ShutterAngleDeg: ShutterAngle(s.FrameRate, s.Setting.ShutterS).Deg(),
		ISO: s.Setting.ISO, Aperture: s.Setting.Aperture, Filters: s.Setting.Stack.Names(),
		AttenuationEV: s.Setting.Stack.LossStops, ErrorStops: s.Setting.ErrorStops,
	}
	c.exposureRemarks(s)
	if err := c.focus(s); err != nil {
		return Card{}, err
	}
	if err := c.whiteBalance(s); err != nil {
		return Card{}, err
	}
	c.filterRemarks(s)
	c.stabiliser(s.Stabiliser)
	return c, c.media(s)
}

func (c *Card) remark(r Remark) { c.Remarks = append(c.Remarks, r) }

func (c *Card) exposureRemarks(s Shot) {
	shutter := describeShutter(s.FrameRate, s.Setting.ShutterS, s.MainsHz)
	label := fmt.Sprintf("%s, %.0f°", unit.Shutter(shutter.TimeS), shutter.Angle.Deg())
	if shutter.Motion != Natural {
		c.remark(Remark{Caution, "movement looks " + string(shutter.Motion), label, "about twice the frame rate", practice, "set " + unit.Shutter(1/(2*s.FrameRate)).String() + " or near it"})
	}
	if shutter.Flicker > steadyLamp {
		c.remark(Remark{Caution, fmt.Sprintf("lamps on %g Hz flicker or band", s.MainsHz), fmt.Sprintf("%s, depth %.0f %%", label, 100*shutter.Flicker),
			"whole pulses of the lamp", "integral of a pulsing lamp over the shutter", "set one of " + shutterList(FlickerSafe(s.FrameRate, s.MainsHz))})
	}
	if e := s.Setting.ErrorStops; math.Abs(e) > RightStops {
		severity := Caution
		if math.Abs(e) > UsableStops {
			severity = Stop
		}
		c.remark(Remark{severity, "exposure is off", Off(e), fmt.Sprintf("%.2f stop", RightStops), practice, "take the next setting of the ranking"})
	}
	m := s.Latitude.Margins(s.Contrast, s.Setting.ErrorStops)
	switch {
	case !m.Known:
		c.remark(Remark{Unknown, "margin to burnt highlights and blocked shadows", "not known", "", "the camera's stops above and below middle grey are not given", "test the camera on a step chart"})
	case m.OverStops < 0:
		c.remark(Remark{Caution, "highlights burn out", fmt.Sprintf("%.1f stops past the camera", -m.OverStops), fmt.Sprintf("%.1f stops over middle grey", s.Latitude.OverStops), "camera and scene as given", "expose darker or wait for softer light"})
	}
	if m.Known && m.UnderStops < 0 {
		c.remark(Remark{Caution, "shadows block up", fmt.Sprintf("%.1f stops past the camera", -m.UnderStops), fmt.Sprintf("%.1f stops under middle grey", s.Latitude.UnderStops), "camera and scene as given", "expose brighter or wait for softer light"})
	}
	if d := s.Drift; d != nil && (d.Spread > RightStops || d.GoesOut) {
		c.remark(Remark{Caution, "the light changes during a take", fmt.Sprintf("%.1f stops", d.Spread), fmt.Sprintf("%.2f stop", RightStops), practice, "shorten the take, or expose for its end"})
	}
	if s.Due != nil && !s.Due.Within {
		c.remark(Remark{Note, "another filter is due", fmt.Sprintf("at %.0f s, %.1f stops off", s.Due.AtS, s.Due.Stops), "", "light as forecast", "land and change before that moment"})
	}
}

func (c *Card) focus(s Shot) error {
	focus, err := lens.FocusFor(s.Camera.FocalM, s.Setting.Aperture, s.CircleM, s.NearM, s.FarM)
	if err != nil {
		// Either the input is bad, which DepthOfField below says again, or the depth is too
		// small: then the middle of the range is set and the loss is said.
		set := 2 / (1/s.NearM + 1/s.FarM)
		focus = lens.Focus{SetM: set, FromM: set, ToM: set}
	}
	depth, bad := lens.DepthOfField(s.Camera.FocalM, s.Setting.Aperture, s.CircleM, focus.SetM)
	if bad != nil || !(s.FarM >= s.NearM) {
		return errors.Join(bad, err)
	}
	if err != nil {
		c.remark(Remark{Caution, "not everything wanted is sharp", rangeText(depth.NearM, depth.FarM, depth.Infinite),
			rangeText(s.NearM, s.FarM, math.IsInf(s.FarM, 1)), "thin-lens depth of field (Greenleaf 1950)", err.Error()})
	}
	c.FocusM, c.SharpFromM, c.FocusFromM = focus.SetM, depth.NearM, focus.FromM
	if !focus.Beyond {
		to := focus.ToM
		c.FocusToM = &to
	}
	if !depth.Infinite {
		far := depth.FarM
		c.SharpToM = &far
	}
	const ring = ", by eye at full magnification, not by the ring's infinity mark"
	switch {
	case err != nil:
		c.FocusCheck = fmt.Sprintf("a real object %s away%s", metres(focus.SetM), ring)
	case focus.Beyond:
		c.FocusCheck = fmt.Sprintf("a real object %s away or farther%s", metres(focus.FromM), ring)
	default:
		c.FocusCheck = fmt.Sprintf("a real object %s to %s away%s", metres(focus.FromM), metres(focus.ToM), ring)
	}
	if _, known := s.Breathing.At(focus.SetM); !known {
		c.remark(Remark{Unknown, "focus breathing", "not measured", "", "lenses differ in sign and size", "measure the picture's width at two focus distances if focus is pulled"})
	}
	return nil
}

func metres(v float64) string {
	if v < 10 {
		return fmt.Sprintf("%.1f m", v)
	}
	return fmt.Sprintf("%.0f m", v)
}

func rangeText(near, far float64, infinite bool) string {
	if infinite {
		return metres(near) + " to infinity"
	}
	return metres(near) + " to " + metres(far)
}

func (c *Card) whiteBalance(s Shot) error {
	want := s.LightK
	if s.SceneK != 0 {
		want = s.SceneK
	}
	if want == 0 {
		c.remark(Remark{Unknown, "white balance", "not known", "", "the light's colour is not given", "set it on a grey card on location and keep it for the scene"})
		return nil
	}
	err := unit.Within("colour temperature", want, 1500, 25000, "K")
	for _, k := range s.WhiteBalancesK {
		err = errors.Join(err, unit.Within("white balance of the camera's list", k, 1500, 25000, "K"))
	}
	if err != nil {
		return err
	}
	// Equal steps in reciprocal temperature look equal (mired).
	c.WhiteBalanceK = math.Round(want/100) * 100
	if len(s.WhiteBalancesK) > 0 {
		c.WhiteBalanceK = slices.MinFunc(s.WhiteBalancesK, func(a, b float64) int {
			da, db := math.Abs(1/a-1/want), math.Abs(1/b-1/want)
			switch {
			case da < db:
				return -1
			case da > db:
				return 1
			}
			return 0
		})
	}
	if s.SceneK != 0 && s.LightK != 0 {
		if mired := 1e6 * math.Abs(1/s.SceneK-1/s.LightK); mired > 30 {
			c.remark(Remark{Note, "the light is another colour than the scene's white balance", fmt.Sprintf("%.0f K, %.0f mired off", s.LightK, mired), "30 mired", practice, "keep the scene's setting and correct in grading, or shoot when the light matches"})
		}
	}
	return nil
}

func (c *Card) filterRemarks(s Shot) {
	stack := s.Setting.Stack
	glass := len(stack.Filters)
	if s.Graduated != nil {
		glass++
		c.Graduated = s.Graduated.Name
		c.remark(Remark{Note, "graduated filter", s.Graduated.Name, "horizon still", practice, "put its edge on the horizon and hold the tilt"})
	}
	if limit, caution := lens.Vignettes(s.Camera.DFOV(), glass); caution {
		c.remark(Remark{Caution, "filters may darken the corners", fmt.Sprintf("%d on %.0f° corner to corner", glass, s.Camera.DFOV().Deg()), fmt.Sprintf("%.0f°", limit.Deg()), practice, "look at the corners against an even sky, or use one denser filter"})
	}
	if stack.CastsColour() {
		c.remark(Remark{Caution, "dense filters may colour the picture", fmt.Sprintf("density %.1f", stack.Density), fmt.Sprintf("%.1f", castDensity), practice, "set white balance through the filter"})
	}
	if !stack.Polarises {
		return
	}
	if s.FromSun == nil {
		c.remark(Remark{Unknown, "what the polariser does to the sky", "not known", "", "the angle from the sun is not given", "turn it on location and look"})
		return
	}
	p, err := PolariserOnSky(*s.FromSun, s.Camera.HFOV())
	value := fmt.Sprintf("%.0f° from the sun", s.FromSun.Deg())
	const rayleigh = "Rayleigh's law of sky polarisation"
	switch {
	case err != nil:
		c.remark(Remark{Unknown, "what the polariser does to the sky", "not known", "", err.Error(), "turn it on location and look"})
	case !p.Useful:
		c.remark(Remark{Caution, "the polariser hardly darkens the sky", fmt.Sprintf("%s, %.1f stop", value, p.DarkenStops), fmt.Sprintf("%.1f stop", worthStops), rayleigh, "take it off unless it is there for water or leaves"})
	case p.Uneven:
		c.remark(Remark{Caution, "the polariser darkens the sky unevenly", fmt.Sprintf("%s, %.1f stops across the picture", value, p.UnevenStops), fmt.Sprintf("%.1f stop", patchStops), rayleigh, "use a longer lens, keep the sky out, or take it off"})
	}
}

func (c *Card) stabiliser(s Stabiliser) {
	switch {
	case !s.Fitted:
		c.Stabiliser = "none"
	case s.OnRig == "on" || s.OnRig == "off":
		c.Stabiliser = s.OnRig
	default:
		c.Stabiliser = "off"
		c.remark(Remark{Note, "the lens's stabiliser was not tried on this gimbal", "off", "", "common practice, no source: it may fight the gimbal", "compare both on a test flight"})
	}
}

func (c *Card) media(s Shot) error {
	if s.TakeS != 0 {
		if err := unit.Within("length of a take", s.TakeS, 0.1, 86400, "s"); err != nil {
			return err
		}
		if s.Format.ClipLimitS > 0 && s.TakeS > s.Format.ClipLimitS {
			c.remark(Remark{Stop, "the take is longer than the camera's longest clip", fmt.Sprintf("%.0f s", s.TakeS), fmt.Sprintf("%.0f s", s.Format.ClipLimitS), "the camera's format as given", "roll later or change the format"})
		}
	}
	if s.Format.BitRate == 0 || s.CardLeftBytes == 0 {
		c.remark(Remark{Unknown, "time left on the memory card", "not known", "", "bit rate or free space is not given", "read it off the camera before take-off"})
		return nil
	}
	if err := errors.Join(unit.Within("bit rate", s.Format.BitRate, 1e5, 1e11, "bit/s"), unit.Within("free space on the card", s.CardLeftBytes, 1, 1e15, "bytes")); err != nil {
		return err
	}
	left := s.CardLeftBytes * 8 / s.Format.BitRate
	c.CardLeftS = &left
	if s.TakeS == 0 {
		return nil
	}
	takes := int(left / s.TakeS)
	c.TakesLeft = &takes
	if takes == 0 {
		c.remark(Remark{Stop, "the memory card holds no whole take", fmt.Sprintf("%.0f s left", left), fmt.Sprintf("%.0f s", s.TakeS), "bit rate and free space as given", "change the card"})
	} else if takes < 2 {
		c.remark(Remark{Caution, "the memory card holds one take", fmt.Sprintf("%.0f s left", left), fmt.Sprintf("%.0f s a take", s.TakeS), "bit rate and free space as given", "change the card"})
	}
	return nil
}
