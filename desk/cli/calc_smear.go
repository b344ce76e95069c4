package cli

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/smear"
	"fieldfare/model/unit"
)

type smearCmd struct {
	Speed     unit.Speed        `default:"0m/s" help:"Speed square to the view, as in 12m/s."`
	Distance  unit.Length       `required:"" help:"Distance of what is seen, as in 40m."`
	Turn      unit.AngularRate  `default:"0deg/s" help:"Pan or yaw rate, as in 5deg/s; taken to add to the speed's motion."`
	Focal     unit.Length       `required:"" help:"Focal length, as in 25mm."`
	Pitch     unit.Length       `required:"" help:"Pixel pitch, as in 4.2um."`
	Shutter   unit.Shutter      `required:"" help:"Shutter, as in 1/60s."`
	Fps       float64           `required:"" help:"Frame rate in frames per second."`
	Width     pixels            `required:"" help:"Width of the picture, as in 4096px."`
	Residual  *unit.AngularRate `help:"Vibration that the gimbal leaves in today's wind, as in 0.05deg/s."`
	Frequency unit.Frequency    `default:"0Hz" help:"Frequency of that vibration, if known."`
	ViewWidth *unit.Angle       `help:"Angle that the picture fills at the viewer's eye, to add the frame rate that would look smooth."`
}

type smearResult struct {
	BlurPx       float64  `json:"blur_px"`
	Motion       float64  `json:"motion_px_per_frame"`
	CrossingS    *float64 `json:"crossing_s"` // null: hardly moves
	Verdict      string   `json:"verdict"`
	Why          string   `json:"why"`
	NaturalS     float64  `json:"natural_crossing_s"`
	FastestMS    float64  `json:"fastest_speed_m_s"`
	FastestDegS  float64  `json:"fastest_turn_deg_s"`
	Basis        string   `json:"basis"`
	Vibration    string   `json:"vibration"` // "holds", "caution", "stop", "unknown"
	VibrationPx  *float64 `json:"vibration_blur_px"`
	LongestMM    *float64 `json:"longest_focal_mm"`
	VibrationHow string   `json:"vibration_basis"`
	SmoothHz     *float64 `json:"smooth_frame_rate_hz,omitempty"`
	Caution      string   `json:"caution"`
}

// Run prints how far the picture runs and whether that looks natural.
func (c smearCmd) Run(s *Session) error {
	width := float64(c.Pitch) * float64(c.Width)
	r := smear.Recording{FrameRate: c.Fps, ShutterS: float64(c.Shutter),
		Camera: lens.Camera{FocalM: float64(c.Focal), SensorWidthM: width, SensorHeightM: width, PixelsW: int(c.Width), PixelsH: int(c.Width)}}
	if err := r.Check(); err != nil {
		return err
	}
	if !(math.Abs(float64(c.Speed)) <= 200) {
		return fmt.Errorf("speed %s: up to 200 m/s is expected", c.Speed)
	}
	if !(math.Abs(float64(c.Turn)) <= 20) {
		return fmt.Errorf("turn %s: up to 1000 deg/s is expected", c.Turn)
	}
	fastest, err := r.FastestSpeed(float64(c.Distance))
	if err != nil {
		return err
	}
	turn, err := r.FastestTurn()
	if err != nil {
		return err
	}
	sample := smear.Sample{
		VelocityMS: geo.Vec3{X: math.Abs(float64(c.Speed))},
		TurnRadS:   smear.Turn(lens.Pose{}, unit.AngularRate(math.Abs(float64(c.Turn))), 0, 0),
	}
	m := r.Of(&sample, smear.Point{At: geo.Vec3{Y: float64(c.Distance)}})
	v := r.Judge(m)
	out := smearResult{
		BlurPx: m.BlurPx, Motion: m.PxFrame(), Verdict: "natural", Why: v.Why, NaturalS: v.LimitS,
		FastestMS: fastest, FastestDegS: unit.Angle(turn).Deg(), Basis: v.Basis,
		Vibration: "unknown", VibrationHow: "give the gimbal's residual rate in today's wind (--residual)", Caution: SafetySentence,
	}
	if !v.Natural {
		out.Verdict = "caution"
	}
	if crossing, moves := r.CrossingS(m); moves {
		out.CrossingS = &crossing
	}
	if c.Residual != nil {
		if !(*c.Residual >= 0 && *c.Residual < 10) || !(c.Frequency >= 0) {
			return fmt.Errorf("residual rate %s at %s: numbers from zero up are expected", *c.Residual, c.Frequency)
		}
		hold, err := r.Hold(smear.Gimbal{{Rate: *c.Residual, FrequencyHz: float64(c.Frequency)}}, 0)
		if err != nil {
			return err
		}
		out.Vibration, out.VibrationHow = hold.Severity, hold.Basis
		if hold.Severity == "" {
			out.Vibration = "holds"
		}
		out.VibrationPx = &hold.BlurPx
		if hold.LongestFocalM > 0 {
			mm := hold.LongestFocalM * 1000
			out.LongestMM = &mm
		}
	}
	if c.ViewWidth != nil {
		if !(*c.ViewWidth > 0 && *c.ViewWidth < 180*unit.Degree) {
			return fmt.Errorf("view width %s: more than 0 and less than 180 deg is expected", *c.ViewWidth)
		}
		perSecond := m.PxFrame() * c.Fps / float64(c.Width) * float64(*c.ViewWidth)
		hz := smear.SmoothRate(unit.AngularRate(perSecond), 30, 6)
		out.SmoothHz = &hz
	}
	return s.emit(out, out.print)
}

func (r *smearResult) print(w io.Writer) {
	crossing := "hardly moves"
	if r.CrossingS != nil {
		crossing = fmt.Sprintf("%.1f s to cross the picture", *r.CrossingS)
	}
	fmt.Fprintf(w, "Motion: %.1f px a frame, blur %.1f px, %s\n", r.Motion, r.BlurPx, crossing)
	fmt.Fprintf(w, "Verdict: %s: %s\n", r.Verdict, r.Why)
	fmt.Fprintf(w, "Natural up to %.1f m/s at this distance, or %.1f deg/s of pan alone (%s)\n", r.FastestMS, r.FastestDegS, r.Basis)
	if r.VibrationPx == nil {
		fmt.Fprintf(w, "Vibration: unknown: %s\n", r.VibrationHow)
	} else {
		longest := "any lens holds"
		if r.LongestMM != nil {
			longest = fmt.Sprintf("up to %.0f mm holds", *r.LongestMM)
		}
		fmt.Fprintf(w, "Vibration: %s: %.1f px, %s (%s)\n", r.Vibration, *r.VibrationPx, longest, r.VibrationHow)
	}
	if r.SmoothHz != nil {
		fmt.Fprintf(w, "Indistinguishable from smooth motion from %.0f fps (Watson & Ahumada, NASA TM-84352; the eye's limits from memory)\n", *r.SmoothHz)
	}
	fmt.Fprintln(w, SafetySentence)
}

// pixels is a count of pixels, "4096px".
type pixels int

// UnmarshalText implements encoding.TextUnmarshaler.
func (p *pixels) UnmarshalText(text []byte) error {
	digits, ok := strings.CutSuffix(string(text), "px")
	n, err := strconv.Atoi(strings.TrimSpace(digits))
	if !ok || err != nil || n < 1 || n > 100_000 {
		return fmt.Errorf("%q is not a picture width: write a number of pixels, as in 4096px", text)
	}
	*p = pixels(n)
	return nil
}
