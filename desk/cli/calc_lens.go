package cli

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

type lensCmd struct {
	Sensor   sides         `required:"" help:"Sensor size, as in 17.3x13.0mm."`
	Pixels   raster        `required:"" help:"Recorded picture, as in 4096x2160."`
	Crop     float64       `default:"1" help:"Crop of the recording format: 1.3 records the middle 1/1.3 of the width."`
	Squeeze  float64       `default:"1" help:"Anamorphic squeeze, as in 1.5."`
	Focal    unit.Length   `required:"" help:"Focal length, as in 12mm."`
	Aperture unit.FNumber  `required:"" help:"Aperture, as in f/5.6."`
	Focus    unit.Length   `required:"" help:"Focus distance, as in 50m."`
	Coc      *unit.Length  `help:"Circle of confusion, as in 15um (two recorded pixels if left out)."`
	Lens     apertureRange `help:"All apertures of the lens, as in f/2.8..f/22 (not checked if left out)."`
	Good     apertureRange `default:"f/5.6..f/11" help:"The lens's good range; the default is common practice for a small sensor."`
	Near     *unit.Length  `help:"Nearest distance that must be sharp."`
	Far      *unit.Length  `help:"Farthest distance that must be sharp (infinity if left out and --near is given)."`
	Thread   *unit.Length  `help:"Filter thread of the lens, as in 46mm."`
	Filter   *unit.Length  `help:"Thread of the filter to mount, as in 58mm."`
	Rings    []stepRing    `help:"Step rings carried, lens side first, as in 46-58mm,58-77mm."`
	Stacked  int           `default:"0" help:"Number of filters in front of the lens, to judge the corners."`
}

type lensResult struct {
	HFOVDeg             float64      `json:"hfov_deg"`
	VFOVDeg             float64      `json:"vfov_deg"` // of the recorded picture
	DFOVDeg             float64      `json:"dfov_deg"`
	RecordedWidthMM     float64      `json:"recorded_width_mm"`
	RecordedHeightMM    float64      `json:"recorded_height_mm"`
	SensorVFOVDeg       float64      `json:"sensor_vfov_deg"` // of the whole height of the sensor
	PixelPitchUM        float64      `json:"pixel_pitch_um"`
	CircleUM            float64      `json:"coc_um"`
	HyperfocalM         float64      `json:"hyperfocal_m"`
	NearM               float64      `json:"near_m"`
	FarM                *float64     `json:"far_m"` // null: infinity
	AiryUM              float64      `json:"airy_um"`
	CutoffLPMM          float64      `json:"diffraction_cutoff_lp_mm"`
	DiffractionContrast float64      `json:"diffraction_contrast"` // at half the Nyquist frequency
	Sharpness           string       `json:"sharpness"`
	BestAperture        unit.FNumber `json:"best_aperture"`
	BestLimit           string       `json:"best_aperture_limit"`
	BestContrast        float64      `json:"best_aperture_contrast"`
	Breathing           string       `json:"focus_breathing"`

	FocusSetM  *float64 `json:"focus_set_m,omitempty"`
	FocusFromM *float64 `json:"focus_from_m,omitempty"`
	FocusToM   *float64 `json:"focus_to_m,omitempty"`
	FocusNote  string   `json:"focus_note,omitempty"`
	Mount      []string `json:"mount,omitempty"`
	Cautions   []string `json:"cautions"`
	Caution    string   `json:"caution"`
}

// Run prints what a lens sees, what is sharp and which aperture serves best.
func (c lensCmd) Run(s *Session) error {
	width, height, err := lens.Recorded(c.Sensor.width, c.Sensor.height, c.Pixels.w, c.Pixels.h, c.Crop)
	if err != nil {
		return err
	}
	camera := lens.Camera{FocalM: float64(c.Focal), SensorWidthM: width, SensorHeightM: height, PixelsW: c.Pixels.w, PixelsH: c.Pixels.h, Squeeze: c.Squeeze}
	if err := camera.Check(); err != nil {
		return err
	}
	n := float64(c.Aperture)
	if c.Lens.set() && (n < c.Lens.from-1e-9 || n > c.Lens.to+1e-9) {
		return fmt.Errorf("aperture %s: the lens offers %s", c.Aperture, c.Lens)
	}
	circle := 2 * camera.PixelPitch()
	if c.Coc != nil {
		circle = float64(*c.Coc)
	}
	hyperfocal, err := lens.Hyperfocal(camera.FocalM, n, circle)
	if err != nil {
		return err
	}
	depth, err := lens.DepthOfField(camera.FocalM, n, circle, float64(c.Focus))
	if err != nil {
		return err
	}
	r := lensResult{
		HFOVDeg: camera.HFOV().Deg(), VFOVDeg: camera.VFOV().Deg(), DFOVDeg: camera.DFOV().Deg(),
		RecordedWidthMM: width * 1e3, RecordedHeightMM: height * 1e3, PixelPitchUM: camera.PixelPitch() * 1e6, CircleUM: circle * 1e6,
		HyperfocalM: hyperfocal, NearM: depth.NearM,
		AiryUM: lens.AiryDiameter(n, lens.Wavelength) * 1e6, CutoffLPMM: lens.DiffractionCutoff(n, lens.Wavelength) / 1e3,
		Breathing: "unknown", Cautions: []string{}, Caution: SafetySentence,
	}
	whole := camera
	whole.SensorHeightM = c.Sensor.height
	r.SensorVFOVDeg = whole.VFOV().Deg()
	if !depth.Infinite {
		r.FarM = &depth.FarM
	}
	contrast, grade := lens.DiffractionGrade(n, camera.PixelPitch())
	r.DiffractionContrast, r.Sharpness = contrast, string(grade)
	if grade == lens.Soft {
		r.Cautions = append(r.Cautions, fmt.Sprintf("%s is soft by diffraction on a pitch of %.1f um", c.Aperture, r.PixelPitchUM))
	}
	if err := c.best(&r, camera, circle); err != nil {
		return err
	}
	if err := c.mount(&r, camera); err != nil {
		return err
	}
	return s.emit(r, r.print)
}

func (c lensCmd) best(r *lensResult, camera lens.Camera, circle float64) error {
	good, err := lens.Stops(c.Good.from, c.Good.to)
	if err != nil {
		return err
	}
	need := lens.Need{FocalM: camera.FocalM, PitchM: camera.PixelPitch(), FocusM: float64(c.Focus)}
	if c.Far != nil && c.Near == nil {
		return fmt.Errorf("--far %s stands alone: give --near too", *c.Far)
	}
	if c.Near != nil {
		need.NearM, need.FarM = float64(*c.Near), math.Inf(1)
		if c.Far != nil {
			need.FarM = float64(*c.Far)
		}
		focus, err := lens.FocusFor(camera.FocalM, float64(c.Aperture), circle, need.NearM, need.FarM)
		if err != nil {
			r.FocusNote = err.Error()
			r.Cautions = append(r.Cautions, r.FocusNote)
		} else {
			r.FocusSetM, r.FocusFromM = &focus.SetM, &focus.FromM
			if !focus.Beyond {
				r.FocusToM = &focus.ToM
			}
			r.FocusNote = "focus on a real object in that range, not on the ring's infinity mark"
		}
	}
	choice, err := lens.BestAperture(good, need)
	if err != nil {
		return err
	}
	r.BestAperture, r.BestLimit, r.BestContrast = unit.FNumber(choice.Aperture), choice.Limit, choice.Contrast
	return nil
}

func (c lensCmd) mount(r *lensResult, camera lens.Camera) error {
	filters := c.Stacked
	if (c.Thread == nil) != (c.Filter == nil) {
		return fmt.Errorf("--thread and --filter belong together: give both")
	}
	if c.Thread != nil {
		rings := make([]lens.StepRing, len(c.Rings))
		for i, ring := range c.Rings {
			rings[i] = lens.StepRing(ring)
		}
		fit, err := lens.FitFilter(float64(*c.Thread), float64(*c.Filter), rings)
		if err != nil {
			return err
		}
		r.Mount = []string{}
		for _, ring := range fit.Rings {
			r.Mount = append(r.Mount, ring.Name)
		}
		if fit.StepDown {
			r.Cautions = append(r.Cautions, "a step ring narrower than the lens's thread may darken the corners")
		}
		filters = max(filters, 1)
	}
	if limit, caution := lens.Vignettes(camera.DFOV(), filters); caution {
		r.Cautions = append(r.Cautions, fmt.Sprintf("%d filter(s) on a view of %.0f deg from corner to corner, past %.0f deg: look at the corners; a polariser darkens the sky unevenly",
			filters, r.DFOVDeg, limit.Deg()))
	}
	return nil
}

func (r *lensResult) print(w io.Writer) {
	fmt.Fprintf(w, "View: %.1f deg wide, %.1f deg high, %.1f deg from corner to corner\n", r.HFOVDeg, r.VFOVDeg, r.DFOVDeg)
	fmt.Fprintf(w, "Recorded: %.2f x %.2f mm of the sensor, pitch %.2f um (the sensor's whole height would be %.1f deg)\n",
		r.RecordedWidthMM, r.RecordedHeightMM, r.PixelPitchUM, r.SensorVFOVDeg)
	far := "infinity"
	if r.FarM != nil {
		far = fmt.Sprintf("%.2f m", *r.FarM)
	}
	fmt.Fprintf(w, "Sharp: %.2f m to %s for a circle of %.1f um; hyperfocal %.2f m\n", r.NearM, far, r.CircleUM, r.HyperfocalM)
	if r.FocusSetM != nil {
		to := "or farther"
		if r.FocusToM != nil {
			to = fmt.Sprintf("to %.1f m", *r.FocusToM)
		}
		fmt.Fprintf(w, "Focus: set %.1f m, anything from %.1f m %s will do: %s\n", *r.FocusSetM, *r.FocusFromM, to, r.FocusNote)
	}
	fmt.Fprintf(w, "Diffraction: Airy disc %.1f um, cutoff %.0f lp/mm, %.0f %% contrast left at half of Nyquist: %s\n", r.AiryUM, r.CutoffLPMM, 100*r.DiffractionContrast, r.Sharpness)
	fmt.Fprintf(w, "Best aperture: %s, limited by %s (good range and grades: common practice, no source)\n", r.BestAperture, r.BestLimit)
	fmt.Fprintln(w, "Focus breathing: unknown unless measured")
	for _, ring := range r.Mount {
		fmt.Fprintf(w, "Ring: %s\n", ring)
	}
	for _, c := range r.Cautions {
		fmt.Fprintf(w, "caution: %s\n", c)
	}
	fmt.Fprintln(w, SafetySentence)
}

// sides is a sensor's size, "17.3x13.0mm".
type sides struct{ width, height float64 }

// UnmarshalText implements encoding.TextUnmarshaler.
func (s *sides) UnmarshalText(text []byte) error {
	a, b, ok := cut(string(text), "x×")
	if ok {
		if !strings.ContainsFunc(a, func(r rune) bool { return r >= 'a' && r <= 'z' }) {
			a += strings.TrimLeft(b, "0123456789. ")
		}
		w, errW := unit.ParseLength(a)
		h, errH := unit.ParseLength(b)
		if errW == nil && errH == nil && w > 0 && h > 0 {
			s.width, s.height = float64(w), float64(h)
			return nil
		}
	}
	return fmt.Errorf("%q is not a sensor size: write width x height with a unit, as in 17.3x13.0mm", text)
}

// raster is a picture's size, "4096x2160".
type raster struct{ w, h int }

// UnmarshalText implements encoding.TextUnmarshaler.
func (p *raster) UnmarshalText(text []byte) error {
	a, b, ok := cut(strings.TrimSuffix(string(text), "px"), "x×")
	w, errW := strconv.Atoi(a)
	h, errH := strconv.Atoi(b)
	if !ok || errW != nil || errH != nil || w < 1 || h < 1 {
		return fmt.Errorf("%q is not a picture size: write width x height in pixels, as in 4096x2160", text)
	}
	p.w, p.h = w, h
	return nil
}

// cut splits text at the first of the separators.
func cut(text, separators string) (before, after string, ok bool) {
	i := strings.IndexAny(text, separators)
	if i < 0 {
		return "", "", false
	}
	_, rest, _ := strings.Cut(text[i:], string([]rune(text[i:])[0]))
	return strings.TrimSpace(text[:i]), strings.TrimSpace(rest), true
}

// apertureRange is "f/5.6..f/11", or one aperture.
type apertureRange struct{ from, to float64 }

func (r apertureRange) set() bool { return r.from != 0 }

func (r apertureRange) String() string {
	return unit.FNumber(r.from).String() + " to " + unit.FNumber(r.to).String()
}

// UnmarshalText implements encoding.TextUnmarshaler.
func (r *apertureRange) UnmarshalText(text []byte) error {
	a, b, ok := strings.Cut(string(text), "..")
	if !ok {
		b = a
	}
	from, err := unit.ParseFNumber(a)
	if err != nil {
		return err
	}
	to, err := unit.ParseFNumber(b)
	if err != nil {
		return err
	}
	if from > to {
		return fmt.Errorf("apertures %s: write the wide one, with the small number, first, as in f/5.6..f/11", text)
	}
	r.from, r.to = float64(from), float64(to)
	return nil
}

// stepRing is "46-58mm": 46 mm on the lens side, 58 mm for the filter.
type stepRing lens.StepRing

// UnmarshalText implements encoding.TextUnmarshaler.
func (r *stepRing) UnmarshalText(text []byte) error {
	a, b, ok := strings.Cut(strings.TrimSuffix(string(text), "mm"), "-")
	from, errA := strconv.ParseFloat(a, 64)
	to, errB := strconv.ParseFloat(b, 64)
	if !ok || errA != nil || errB != nil || !(from > 0 && to > 0) {
		return fmt.Errorf("%q is not a step ring: write the lens side and the filter side, as in 46-58mm", text)
	}
	*r = stepRing{Name: string(text), LensSideM: from / 1000, FilterSideM: to / 1000}
	return nil
}
