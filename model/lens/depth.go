package lens

import (
	"errors"
	"fmt"
	"math"

	"fieldfare/model/unit"
)

// Hyperfocal returns the nearest focus distance in metres at which infinity is still
// sharp, H = f²/(N·c) + f (Greenleaf 1950), for a focal length, an aperture N and a circle
// of confusion, lengths in metres.
func Hyperfocal(focalM, aperture, cocM float64) (float64, error) {
	if err := errors.Join(unit.Within("focal length", focalM, 1e-3, 5, "m"), unit.Within("aperture f/", aperture, 0.5, 64, ""),
		unit.Within("circle of confusion", cocM, 1e-7, 1e-3, "m")); err != nil {
		return 0, err
	}
	return hyperfocal(focalM, aperture, cocM), nil
}

func hyperfocal(f, n, c float64) float64 { return f*f/(n*c) + f }

// Depth is the range of distances from the lens that looks sharp.
type Depth struct {
	NearM    float64
	FarM     float64 // 0 when Infinite
	Infinite bool    // sharp to infinity
}

// Holds reports whether everything from nearM to farM looks sharp; farM may be +Inf.
func (d Depth) Holds(nearM, farM float64) bool {
	return d.NearM <= nearM && (d.Infinite || farM <= d.FarM)
}

// DepthOfField returns what is sharp when focused at focusM (from the lens, +Inf allowed):
// near = s(H-f)/(H+s-2f), far = s(H-f)/(H-s) for s < H (Greenleaf 1950).
func DepthOfField(focalM, aperture, cocM, focusM float64) (Depth, error) {
	h, err := Hyperfocal(focalM, aperture, cocM)
	if err != nil {
		return Depth{}, err
	}
	if !(focusM > focalM) {
		return Depth{}, fmt.Errorf("focus distance %g m: a lens of %g m focuses only beyond its focal length", focusM, focalM)
	}
	if math.IsInf(focusM, 1) {
		return Depth{NearM: h - focalM, Infinite: true}, nil
	}
	d := Depth{NearM: focusM * (h - focalM) / (h + focusM - 2*focalM)}
	if focusM >= h {
		d.Infinite = true
	} else if d.FarM = focusM * (h - focalM) / (h - focusM); math.IsInf(d.FarM, 0) {
		d.FarM, d.Infinite = 0, true
	}
	return d, nil
}

// Focus is a focus distance to set, and how wrong the setting may be.
type Focus struct {
	SetM     float64 // distance to set
	FromM    float64 // any setting from here
	ToM      float64 // to here still keeps the wanted range sharp; 0 when Beyond is true
	Beyond   bool    // any setting past FromM does, infinity too
	Aperture float64 // widest aperture that keeps the range sharp, as an f-number
}

// FocusFor returns the focus distance that keeps nearM to farM (+Inf allowed) sharp with
// the least stopping down: the harmonic mean of both, which follows from the thin-lens
// depth of field without approximation. An error says by how much the aperture is too
// wide for the range.
func FocusFor(focalM, aperture, cocM, nearM, farM float64) (Focus, error) {
	h, err := Hyperfocal(focalM, aperture, cocM)
	if err != nil {
		return Focus{}, err
	}
	if !(nearM > 2*focalM && farM >= nearM) || math.IsInf(nearM, 0) {
		return Focus{}, fmt.Errorf("range to keep sharp %g m to %g m: two distances in order, beyond twice the focal length, are expected", nearM, farM)
	}
	set := 2 / (1/nearM + 1/farM)
	needed := focalM * focalM * set * (1/nearM - 1/farM) / (2 * cocM * (set - focalM))
	if needed > aperture*(1+1e-12) {
		far := "infinity"
		if !math.IsInf(farM, 1) {
			far = fmt.Sprintf("%.4g m", farM)
		}
		return Focus{}, fmt.Errorf("f/%.3g keeps too little sharp: %.4g m to %s needs f/%.3g or a shorter lens", aperture, nearM, far, needed)
	}
	out := Focus{SetM: set, Aperture: needed}
	out.FromM = h // far limit at infinity
	if !math.IsInf(farM, 1) {
		out.FromM = farM * h / (h - focalM + farM)
	}
	if h-focalM > nearM {
		out.ToM = nearM * (h - 2*focalM) / (h - focalM - nearM)
	} else {
		out.Beyond = true
	}
	return out, nil
}

// Breathing is the crew's own measurement of focus breathing: the width of the picture
// focused at FocusM, as a ratio of its width focused at infinity. The zero value is not
// measured: lenses differ in sign and size, so nothing can be assumed.
type Breathing struct{ FocusM, Ratio float64 }

// At returns the ratio at another focus distance, linear in 1/distance as the lens's
// extension is; known is false without a usable measurement.
func (b Breathing) At(focusM float64) (ratio float64, known bool) {
	if !(b.FocusM > 0 && b.Ratio > 0 && focusM > 0) {
		return 0, false
	}
	return 1 + (b.Ratio-1)*b.FocusM/focusM, true
}
