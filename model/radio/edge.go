package radio

import (
	"cmp"
	"errors"
	"math"
)

// EdgeParameter returns the diffraction parameter v of a knife edge that rises heightM
// above the straight line (negative: below), d1 from one end and d2 from the other:
// h·√((2/λ)(1/d1 + 1/d2)). Distances above 0. Source: BasisKnifeEdge.
func EdgeParameter(frequencyHz, heightM, d1M, d2M float64) float64 {
	return heightM * math.Sqrt(2*frequencyHz/SpeedOfLightMS*(1/d1M+1/d2M))
}

// EdgeLoss returns the loss J(v) in dB of one knife edge:
// 6.9 + 20·log10(√((v−0.1)²+1) + v − 0.1) above v = −0.78, else 0.
// Source: BasisKnifeEdge.
func EdgeLoss(v float64) float64 {
	if !(v > -0.78) {
		return 0
	}
	return 6.9 + 20*math.Log10(math.Sqrt((v-0.1)*(v-0.1)+1)+v-0.1)
}

// EarthRadiusFactor is the usual ratio of effective to true earth radius, 4/3, by which
// refraction of the standard atmosphere is allowed for.
const EarthRadiusFactor = 4.0 / 3

const earthRadiusM = 6371000

// Profile is the ground between two antennas, in a vertical plane. The first and last
// points are the antennas themselves.
type Profile struct {
	DistanceM []float64 // from the first antenna, strictly rising from 0
	HeightM   []float64 // above sea level: antenna, ground…, antenna
}

var errProfile = errors.New("a terrain profile needs two antennas and rising distances from 0, with finite heights")

// Validate says whether the profile can be used.
func (p Profile) Validate() error {
	n := len(p.DistanceM)
	if n < 2 || len(p.HeightM) != n || p.DistanceM[0] != 0 {
		return errProfile
	}
	for i, h := range p.HeightM {
		if math.IsNaN(h) || math.Abs(h) > 1e5 || i > 0 && !(p.DistanceM[i] > p.DistanceM[i-1]) || p.DistanceM[i] > 1e7 {
			return errProfile
		}
	}
	return nil
}

// bulge is how far the curved earth rises above the chord, between the antennas.
func (p Profile) bulge(i int) float64 {
	d := p.DistanceM[len(p.DistanceM)-1]
	x := p.DistanceM[i]
	return x * (d - x) / (2 * EarthRadiusFactor * earthRadiusM)
}

// above returns how far the point i rises above the straight line from a to b.
func (p Profile) above(a, i, b int) float64 {
	share := (p.DistanceM[i] - p.DistanceM[a]) / (p.DistanceM[b] - p.DistanceM[a])
	ha, hb := p.HeightM[a]+p.bulge(a), p.HeightM[b]+p.bulge(b)
	return p.HeightM[i] + p.bulge(i) - (ha + (hb-ha)*share)
}

// worst returns the point between a and b with the greatest diffraction parameter.
func (p Profile) worst(frequencyHz float64, a, b int) (at int, v float64) {
	at, v = -1, math.Inf(-1)
	for i := a + 1; i < b; i++ {
		vi := EdgeParameter(frequencyHz, p.above(a, i, b), p.DistanceM[i]-p.DistanceM[a], p.DistanceM[b]-p.DistanceM[i])
		if vi > v {
			at, v = i, vi
		}
	}
	return at, v
}

// FresnelClearance returns the least clearance over the profile as a share of the first
// Fresnel radius: 1 is a clear first zone, 0 grazing, negative blocked. A share of 0.6 is
// usually asked for (common practice; from memory). ok is false for a profile without
// ground points. The effective earth radius is 4/3 of the true one.
func (p Profile) FresnelClearance(frequencyHz float64) (share, atM float64, ok bool) {
	at, v := p.worst(frequencyHz, 0, len(p.DistanceM)-1)
	if at < 0 {
		return 0, 0, false
	}
	// h = -share·R1 and v = h·√2/R1.
	return -v / math.Sqrt2, p.DistanceM[at], true
}

// Bullington returns the diffraction loss in dB over the profile by the Bullington
// construction: one equivalent edge where the two horizons cross, with the empirical
// correction (1 − e^(−J/6))(10 + 0.02·d_km), which makes it cautious on short paths.
// Frequencies from 30 MHz. Source: BasisBullington.
func (p Profile) Bullington(frequencyHz float64) (float64, error) {
	if err := cmp.Or(checkFrequency(frequencyHz), p.Validate()); err != nil {
		return 0, err
	}
	j := EdgeLoss(p.bullingtonEdge(frequencyHz))
	km := p.DistanceM[len(p.DistanceM)-1] / 1000
	return j + (1-math.Exp(-j/6))*(10+0.02*km), nil
}

// bullingtonEdge returns v of the equivalent edge, or of the worst point when the path is
// clear.
func (p Profile) bullingtonEdge(frequencyHz float64) float64 {
	last := len(p.DistanceM) - 1
	d, ht, hr := p.DistanceM[last], p.HeightM[0], p.HeightM[last]
	fromT, fromR := math.Inf(-1), math.Inf(-1)
	for i := 1; i < last; i++ {
		h := p.HeightM[i] + p.bulge(i)
		fromT = math.Max(fromT, (h-ht)/p.DistanceM[i])
		fromR = math.Max(fromR, (h-hr)/(d-p.DistanceM[i]))
	}
	if last == 1 || fromT < (hr-ht)/d {
		_, v := p.worst(frequencyHz, 0, last)
		return v
	}
	x := (hr - ht + fromR*d) / (fromT + fromR)
	if !(x > 0 && x < d) { // both horizons on the line itself
		x = math.Min(math.Max(x, d*1e-6), d*(1-1e-6))
		if math.IsNaN(x) {
			x = d / 2
		}
	}
	h := ht + fromT*x - (ht*(d-x)+hr*x)/d
	return EdgeParameter(frequencyHz, h, x, d-x)
}

// Deygout returns the diffraction loss in dB over the profile by Deygout's construction
// with three edges: the main edge plus the worst on either side of it, losses added. It
// overstates the loss of edges that stand close together. Source: BasisDeygout.
func (p Profile) Deygout(frequencyHz float64) (float64, error) {
	if err := cmp.Or(checkFrequency(frequencyHz), p.Validate()); err != nil {
		return 0, err
	}
	last := len(p.DistanceM) - 1
	main, v := p.worst(frequencyHz, 0, last)
	loss := EdgeLoss(v)
	if main < 0 || loss == 0 {
		return 0, nil
	}
	if _, v := p.worst(frequencyHz, 0, main); v > 0 {
		loss += EdgeLoss(v)
	}
	if _, v := p.worst(frequencyHz, main, last); v > 0 {
		loss += EdgeLoss(v)
	}
	return loss, nil
}
