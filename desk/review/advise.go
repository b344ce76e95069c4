package review

import (
	"fmt"
	"math"
)

// advise turns the numbers into what to change, plainest causes first. The thresholds
// are house figures: common practice, no source.
func (r *Report) advise() {
	say := func(format string, args ...any) { r.Change = append(r.Change, fmt.Sprintf(format, args...)) }
	// Each limit once, by the event that went farthest past it.
	most := map[string]*Event{}
	count := map[string]int{}
	for i := range r.Events {
		e := &r.Events[i]
		count[e.What]++
		if w := most[e.What]; w == nil || worse(e.Worst, w.Worst, e.least) {
			most[e.What] = e
		}
	}
	for i := range r.Events {
		if e := &r.Events[i]; most[e.What] == e {
			say("%s: %s at %s, past the limit of %s, %s: plan it with more margin or do not fly it", e.What, e.Text(), e.From.Format("15:04:05Z"), e.LimitText, times(count[e.What]))
		}
	}
	if r.EnergyRatio != nil && math.Abs(*r.EnergyRatio-1) > 0.1 {
		say("energy used was %.0f %% of the prediction: learn the rig's power factor again", *r.EnergyRatio*100)
	}
	for _, k := range r.Takes {
		name := fmt.Sprintf("slate %s take %d", k.Slate, k.Take)
		if k.Up != nil && math.Abs(k.Up.Mean) > 1 {
			say("%s: flown %.1f m %s the plan on the whole: check what its heights are measured from", name, math.Abs(k.Up.Mean), pick(k.Up.Mean > 0, "above", "below"))
		}
		if math.Abs(k.Across.Mean) > 1 {
			say("%s: flown %.1f m to the %s on the whole: check the launch point's position, or allow for wind", name, math.Abs(k.Across.Mean), pick(k.Across.Mean > 0, "right", "left"))
		}
		if math.Abs(k.Along.Max) > 2 {
			say("%s: %.1f m %s the plan at %.1f s: %s", name, math.Abs(k.Along.Max), pick(k.Along.Max < 0, "behind", "ahead of"), k.Along.At, pick(k.Along.Max < 0, "plan a gentler start or a lower speed", "cue the subject earlier or hold the speed down"))
		}
		if k.AimDeg != nil && k.AimDeg.RMS > 3 {
			say("%s: the aim was %.1f° off on the whole, worst %.1f° at %.1f s: rehearse the camera moves or slow them", name, k.AimDeg.RMS, k.AimDeg.Max, k.AimDeg.At)
		}
		if k.Size != nil && math.Abs(k.Size.Max) > 0.15 {
			say("%s: the subject was %.0f %% %s in the frame than planned at %.1f s", name, math.Abs(k.Size.Max)*100, pick(k.Size.Max > 0, "larger", "smaller"), k.Size.At)
		}
		if k.LightRatio != nil && math.Abs(math.Log2(*k.LightRatio)) > 0.5 {
			say("%s: the light was %+.1f stops from the plan by the clock: keep to the window or plan the exposure anew", name, math.Log2(*k.LightRatio))
		}
	}
}

// Text is the worst of the event as a person reads it.
func (e *Event) Text() string {
	if e.Value != "" {
		return e.Value
	}
	return fmt.Sprintf("%.1f %s", e.Worst, e.Unit)
}

func pick(yes bool, a, b string) string {
	if yes {
		return a
	}
	return b
}
