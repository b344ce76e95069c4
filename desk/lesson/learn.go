package lesson

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fieldfare/desk/logbook"
)

// MinCases is how many cases a lesson needs: with fewer, the interval of a mean is wider
// than four times its standard error and is no help.
const MinCases = 5

// ErrFew says that the log does not hold enough cases yet.
var ErrFew = errors.New("too few cases to learn from")

// Proposal is a number learnt, shown beside the one in use for a person to accept.
type Proposal struct {
	Quantity string   `json:"quantity"`
	Subject  string   `json:"subject"`
	Old      float64  `json:"old"`
	New      float64  `json:"new"`
	Low      float64  `json:"low"` // 95 % confidence interval
	High     float64  `json:"high"`
	PlanFor  float64  `json:"plan_for"` // what 9 cases of 10 do not exceed
	Plan     string   `json:"plan"`     // PlanFor, rounded up, as the shoot file writes it
	Cases    int      `json:"cases"`
	LeftOut  []string `json:"left_out,omitempty"` // cases not used, and why
	Changed  bool     `json:"changed"`            // the old value lies outside the interval
	Found    *float64 `json:"found,omitempty"`    // of a power factor: new over old, what was drawn over what is planned with the old one
	Spread   *float64 `json:"spread,omitempty"`   // of a power factor: standard deviation of one sortie about the new one
	Rigs     []string `json:"rigs,omitempty"`     // of a power factor: the rigs of the shoot that it is for
	Notes    []string `json:"notes,omitempty"`    // what was taken as given, and what to mind
}

// Lesson is the entry's body that records the proposal as accepted.
func (p Proposal) Lesson() *logbook.Lesson {
	return &logbook.Lesson{Quantity: p.Quantity, Subject: p.Subject, Old: p.Old, New: p.New, Low: p.Low, High: p.High, Cases: p.Cases}
}

// PowerFactor learns by what factor the energy used exceeds that of the model without a factor, from
// sorties of one aircraft that hold energy planned and used. held tells the factor that a sortie's planned
// energy was worked out with already, or why nobody knows; the planned energy is divided by it, so that
// sorties from before and after a change of the factor stand on one scale, and where all were planned with
// the old factor the new one is old times the slope k of used = k·planned. The slope is that through the
// origin (Draper and Smith, section 1.5). Cases more than 3 standardised residuals off are left out once
// and named.
func PowerFactor(aircraft string, old float64, sorties []*logbook.Sortie, held func(*logbook.Sortie) (factor float64, why string)) (Proposal, error) {
	p := Proposal{Quantity: "power_factor", Subject: aircraft, Old: old}
	var x [][]float64
	var y []float64
	var used []*logbook.Sortie
	for _, s := range sorties {
		if s.Aircraft != aircraft || s.EnergyPlannedWh == nil || s.EnergyUsedWh == nil || *s.EnergyPlannedWh <= 0 {
			continue
		}
		factor, why := held(s)
		if why != "" {
			p.LeftOut = append(p.LeftOut, fmt.Sprintf("sortie %s: %s", s.Sortie, why))
			continue
		}
		x, y, used = append(x, []float64{*s.EnergyPlannedWh / factor}), append(y, *s.EnergyUsedWh), append(used, s)
	}
	if len(y) < MinCases {
		err := fmt.Errorf("power factor of %s: %w: %d sorties with planned and used energy, %d are needed", aircraft, ErrFew, len(y), MinCases)
		if len(p.LeftOut) > 0 {
			err = fmt.Errorf("%w; left out: %s", err, strings.Join(p.LeftOut, "; "))
		}
		return p, err
	}
	f, err := Regress(x, y)
	if err != nil {
		return p, err
	}
	if i := outlier(f, x, y); i >= 0 && len(y) > MinCases {
		p.LeftOut = append(p.LeftOut, fmt.Sprintf("sortie %s: used %.1f Wh for %.1f Wh planned, far off the others", used[i].Sortie, y[i], *used[i].EnergyPlannedWh))
		x, y = slices.Delete(x, i, i+1), slices.Delete(y, i, i+1)
		if f, err = Regress(x, y); err != nil {
			return p, err
		}
	}
	p.New, p.Low, p.High, p.Cases = f.Coef[0], f.Low[0], f.High[0], len(y)
	var mean float64
	for _, row := range x {
		mean += row[0] / float64(len(x))
	}
	at, half := f.At([]float64{mean}, 0.8) // 80 % two-sided leaves 10 % above
	p.PlanFor = (at + half) / mean
	p.Plan = fmt.Sprintf("%.0f %%", upTo(p.PlanFor*100))
	found, spread := p.New/old, f.ResidualSD/mean
	p.Found, p.Spread = &found, &spread
	p.Changed = old < p.Low || old > p.High
	return p, nil
}

// outlier returns the case with the largest externally studentised residual beyond 3
// (Draper and Smith, section 8.1, after refitting without the case), or -1.
func outlier(f Fit, x [][]float64, y []float64) int {
	worst, at := 3.0, -1
	if f.DF < 3 || f.ResidualSD == 0 {
		return -1
	}
	for i := range y {
		var e, lev float64
		e = y[i]
		for j := range x[i] {
			e -= f.Coef[j] * x[i][j]
			for k := range x[i] {
				lev += x[i][j] * f.cov.At(j, k) * x[i][k]
			}
		}
		if lev >= 1 {
			continue
		}
		df := float64(f.DF)
		s2 := (df*f.ResidualSD*f.ResidualSD - e*e/(1-lev)) / (df - 1)
		if s2 <= 0 {
			continue
		}
		if r := math.Abs(e) / math.Sqrt(s2*(1-lev)); r > worst {
			worst, at = r, i
		}
	}
	return at
}

// Durations learns a typical duration from cases that are never negative and often
// skewed: the median, its 95 % interval, and what 9 of 10 do not exceed, all through the
// logarithm. Cases of zero or less are left out and counted.
func Durations(quantity, subject string, old float64, seconds []float64) (Proposal, error) {
	p := Proposal{Quantity: quantity, Subject: subject, Old: old}
	var logs []float64
	for _, s := range seconds {
		if s > 0 && finite(s) {
			logs = append(logs, math.Log(s))
		}
	}
	if n := len(seconds) - len(logs); n > 0 {
		p.LeftOut = append(p.LeftOut, fmt.Sprintf("%d cases without a positive duration", n))
	}
	if len(logs) < MinCases {
		return p, fmt.Errorf("%s of %s: %w: %d, and %d are needed", quantity, subject, ErrFew, len(logs), MinCases)
	}
	m, sd, low, high, err := Mean(logs)
	if err != nil {
		return p, err
	}
	n := float64(len(logs))
	p.New, p.Low, p.High, p.Cases = math.Exp(m), math.Exp(low), math.Exp(high), len(logs)
	p.PlanFor = math.Exp(m + student(0.9, len(logs)-1)*sd*math.Sqrt(1+1/n))
	p.Plan = fmt.Sprintf("%.0f s", upTo(p.PlanFor))
	p.Changed = old < p.Low || old > p.High
	return p, nil
}

// upTo rounds up, but not for a rounding error.
func upTo(v float64) float64 { return math.Ceil(v - 1e-9) }

// Changeovers returns the times on the ground in seconds between landings and the next
// take-off of the same aircraft with another pack on the same day, up to longest.
func Changeovers(sorties []*logbook.Sortie, longest time.Duration) []float64 {
	last := map[string]*logbook.Sortie{}
	var out []float64
	for _, s := range inOrder(sorties) {
		if b := last[s.Aircraft]; b != nil {
			d := s.TakeOff.Sub(b.Landing)
			if d > 0 && d <= longest && s.Pack != "" && s.Pack != b.Pack && s.TakeOff.YearDay() == b.Landing.YearDay() {
				out = append(out, d.Seconds())
			}
		}
		last[s.Aircraft] = s
	}
	return out
}

func inOrder(sorties []*logbook.Sortie) []*logbook.Sortie {
	s := slices.Clone(sorties)
	slices.SortStableFunc(s, func(a, b *logbook.Sortie) int { return a.TakeOff.Compare(b.TakeOff) })
	return s
}

// Resets returns the times in seconds between takes of one slate within one sortie.
func Resets(takes []*logbook.Take) []float64 {
	t := slices.Clone(takes)
	slices.SortStableFunc(t, func(a, b *logbook.Take) int { return a.From.Compare(b.From) })
	type shot struct{ sortie, slate string }
	last := map[shot]*logbook.Take{}
	var out []float64
	for _, k := range t {
		if k.From.IsZero() || k.To.IsZero() || k.Sortie == "" {
			continue
		}
		key := shot{k.Sortie, k.Slate}
		if b := last[key]; b != nil && k.From.After(b.To) {
			out = append(out, k.From.Sub(b.To).Seconds())
		}
		last[key] = k
	}
	return out
}

// PackRules say when a crew retires a pack. They are the crew's own.
type PackRules struct {
	MinCapacity   float64 `json:"min_capacity"`   // fraction of rated capacity
	MaxResistance float64 `json:"max_resistance"` // times the first resistance measured
	MinK, MaxK    float64 // measurements outside this temperature are left out
}

// CommonPackRules are the usual workshop rule: 80 % of capacity, twice the resistance,
// measured between 10 and 35 °C. Common practice, no source.
var CommonPackRules = PackRules{MinCapacity: 0.8, MaxResistance: 2, MinK: 283.15, MaxK: 308.15}

// Reading is one measurement of a pack with its time.
type Reading struct {
	At time.Time
	*logbook.Pack
}

// Health is what the readings say of a pack's future.
type Health struct {
	Pack             string    `json:"pack"`
	Cycles           int       `json:"cycles"`
	CapacityFraction *float64  `json:"capacity_fraction,omitempty"` // last measured
	ResistanceRatio  *float64  `json:"resistance_ratio,omitempty"`
	FadePerCycle     *float64  `json:"fade_per_cycle,omitempty"` // of rated capacity, positive when falling
	FadeLow          *float64  `json:"fade_low,omitempty"`
	FadeHigh         *float64  `json:"fade_high,omitempty"`
	RetireAtCycles   *int      `json:"retire_at_cycles,omitempty"` // cautious: when 1 pack in 20 would be below the rule
	RetireBy         time.Time `json:"retire_by,omitzero"`         // at the recent rate of use
	Severity         string    `json:"severity"`                   // stop, caution, note or unknown
	Why              string    `json:"why"`
	LeftOut          []string  `json:"left_out,omitempty"`
}

// PackHealth forecasts when a pack should retire: capacity and resistance are each
// fitted as a straight line in cycles, and the pack retires where the 95 % one-sided
// prediction bound of either crosses the crew's rule. A pack past the rule is a stop; a
// forecast within 20 cycles or 60 days of now is a caution; too little knowledge is
// unknown, never healthy.
func PackHealth(pack string, readings []Reading, rules PackRules, now time.Time) Health {
	h := Health{Pack: pack, Severity: "unknown", Why: "no measurement"}
	var rs []Reading
	for _, r := range readings {
		if r.Pack.Pack != pack {
			continue
		}
		h.Cycles = max(h.Cycles, r.Cycles)
		if r.TemperatureK != nil && (*r.TemperatureK < rules.MinK || *r.TemperatureK > rules.MaxK) {
			h.LeftOut = append(h.LeftOut, fmt.Sprintf("%s: measured at %.0f °C", r.At.Format(time.DateOnly), *r.TemperatureK-273.15))
			continue
		}
		rs = append(rs, r)
	}
	slices.SortStableFunc(rs, func(a, b Reading) int { return a.At.Compare(b.At) })
	var capX, resX [][]float64
	var capY, resY []float64
	var firstRes float64
	for _, r := range rs {
		row := []float64{1, float64(r.Cycles)}
		if r.CapacityAh != nil && r.RatedAh != nil {
			v := *r.CapacityAh / *r.RatedAh
			capX, capY, h.CapacityFraction = append(capX, row), append(capY, v), &v
		}
		if r.ResistanceOhm != nil {
			if firstRes == 0 {
				firstRes = *r.ResistanceOhm
			}
			v := *r.ResistanceOhm / firstRes
			resX, resY, h.ResistanceRatio = append(resX, row), append(resY, v), &v
		}
	}
	switch {
	case h.CapacityFraction != nil && *h.CapacityFraction < rules.MinCapacity:
		h.Severity, h.Why = "stop", fmt.Sprintf("capacity %.0f %% is below the crew's rule of %.0f %%", *h.CapacityFraction*100, rules.MinCapacity*100)
		return h
	case h.ResistanceRatio != nil && *h.ResistanceRatio > rules.MaxResistance:
		h.Severity, h.Why = "stop", fmt.Sprintf("resistance has grown %.1f times, over the crew's rule of %.1f", *h.ResistanceRatio, rules.MaxResistance)
		return h
	}
	retire := func(f Fit, limit, sign float64) (int, bool) { // first cycle whose bound is past the limit
		for n := h.Cycles; n < h.Cycles+5000; n++ {
			y, half := f.At([]float64{1, float64(n)}, 0.9) // 90 % two-sided leaves 5 % beyond
			if sign*(y+sign*half-limit) > 0 {
				return n, true
			}
		}
		return 0, false
	}
	var at []int
	fitted := false
	if f, err := Regress(capX, capY); err == nil && len(capY) >= MinCases {
		fade, low, high := -f.Coef[1], -f.High[1], -f.Low[1]
		h.FadePerCycle, h.FadeLow, h.FadeHigh, fitted = &fade, &low, &high, true
		if n, ok := retire(f, rules.MinCapacity, -1); ok {
			at = append(at, n)
		}
	}
	if f, err := Regress(resX, resY); err == nil && len(resY) >= MinCases {
		fitted = true
		if n, ok := retire(f, rules.MaxResistance, 1); ok {
			at = append(at, n)
		}
	}
	if !fitted {
		h.Why = fmt.Sprintf("%d capacity and %d resistance measurements at differing cycles: %d of either are needed for a forecast", len(capY), len(resY), MinCases)
		return h
	}
	h.Severity, h.Why = "note", "no retirement in sight within 5000 cycles"
	if len(at) == 0 {
		return h
	}
	n := slices.Min(at)
	h.RetireAtCycles = &n
	first, last := rs[0], rs[len(rs)-1]
	if days := last.At.Sub(first.At).Hours() / 24; days > 0 && last.Cycles > first.Cycles {
		perDay := float64(last.Cycles-first.Cycles) / days
		ahead := float64(n-last.Cycles) / perDay
		if ahead < 36500 {
			h.RetireBy = last.At.Add(time.Duration(ahead * 24 * float64(time.Hour)))
		}
	}
	h.Why = fmt.Sprintf("cautious forecast: past the crew's rule from cycle %d", n)
	if n-h.Cycles <= 20 || !h.RetireBy.IsZero() && h.RetireBy.Before(now.AddDate(0, 0, 60)) {
		h.Severity = "caution"
	}
	return h
}
