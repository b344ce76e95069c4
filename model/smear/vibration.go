package smear

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"fieldfare/model/unit"
)

// Residual is what a gimbal leaves of vibration in a wind: the crew's own measurement.
type Residual struct {
	WindMS      float64
	Rate        unit.AngularRate // peak angular rate that stays in the picture
	FrequencyHz float64          // of that vibration, 0 when not known
}

// Gimbal is measured residual rates by wind.
type Gimbal []Residual

// In returns the residual at a wind speed, straight between measurements; below the calmest
// measurement it is that one. Beyond the windiest one it is unknown.
func (g Gimbal) In(windMS float64) (r Residual, known bool) {
	sorted := append(Gimbal(nil), g...)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].WindMS < sorted[j].WindMS })
	for i, m := range sorted {
		if !(m.Rate >= 0) || math.IsInf(float64(m.Rate), 0) || !(m.WindMS >= 0) || !(m.FrequencyHz >= 0) {
			return Residual{}, false
		}
		if !(windMS >= 0 && windMS <= m.WindMS) {
			continue
		}
		r = m
		if i > 0 {
			below := sorted[i-1]
			if span := m.WindMS - below.WindMS; span > 0 {
				k := (windMS - below.WindMS) / span
				r.Rate = below.Rate + unit.AngularRate(k)*(m.Rate-below.Rate)
				r.FrequencyHz = math.Min(below.FrequencyHz, m.FrequencyHz) // the slower one blurs more
			}
		}
		r.WindMS = windMS
		return r, true
	}
	return Residual{}, false
}

// swing is the angle in radians that the vibration sweeps during a shutter: at most
// rate·t, and never more than from peak to peak, rate/(π·frequency).
func (r Residual) swing(shutterS float64) float64 {
	rate := float64(r.Rate)
	if x := r.FrequencyHz * shutterS; x > 0 {
		if x >= 0.5 {
			return rate / (math.Pi * r.FrequencyHz)
		}
		return rate / (math.Pi * r.FrequencyHz) * math.Sin(math.Pi*x)
	}
	return rate * shutterS
}

// Limits of blur by vibration in recorded pixels: past one pixel sharpness suffers, past
// three nobody would call the picture sharp (common practice, no source; crews that deliver
// a smaller picture than they record may allow more).
const (
	CautionPx = 1.0
	StopPx    = 3.0
)

// Hold says whether a lens holds still enough.
type Hold struct {
	BlurPx        float64
	Severity      string  // "", "caution", "stop" or "unknown"
	LongestFocalM float64 // longest focal length within CautionPx, 0 when unknown or unlimited
	Value, Limit  string
	Basis         string
	Mend          string
}

const vibrationBasis = "the gimbal's residual rate as measured by the crew; limit in pixels common practice, no source"

// Hold judges the recording's lens in a wind. A gimbal without a measurement for that wind
// gives unknown, never a pass.
func (r Recording) Hold(g Gimbal, windMS float64) (Hold, error) {
	if err := errors.Join(r.Check(), unit.Within("wind", windMS, 0, 100, "m/s")); err != nil {
		return Hold{}, err
	}
	residual, known := g.In(windMS)
	if !known {
		return Hold{
			Severity: "unknown", Value: fmt.Sprintf("no residual rate for %.1f m/s of wind", windMS), Limit: fmt.Sprintf("%g px", CautionPx),
			Basis: vibrationBasis, Mend: "measure the gimbal's residual rate in that wind, or use a short lens in calm air",
		}, nil
	}
	swing := residual.swing(r.ShutterS)
	h := Hold{BlurPx: r.Camera.FocalM * swing / r.Camera.PixelPitch(), Basis: vibrationBasis, Limit: fmt.Sprintf("%g px", CautionPx)}
	h.Value = fmt.Sprintf("%.1f px in %.1f m/s of wind", h.BlurPx, windMS)
	if swing > 0 {
		h.LongestFocalM = CautionPx * r.Camera.PixelPitch() / swing
	}
	switch {
	case h.BlurPx > StopPx:
		h.Severity, h.Limit = "stop", fmt.Sprintf("%g px", StopPx)
	case h.BlurPx > CautionPx:
		h.Severity = "caution"
	default:
		return h, nil
	}
	h.Mend = fmt.Sprintf("use a lens of %.0f mm or shorter, a shorter shutter, or wait for less wind", math.Floor(h.LongestFocalM*1000))
	return h, nil
}
