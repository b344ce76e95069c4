package exposure

import (
	"errors"
	"math"

	"fieldfare/model/unit"
)

// Reading is what a meter on location says, one of the two.
type Reading struct {
	OffsetStops   float64 // measured less planned exposure value: +1 is twice the light
	IlluminanceLx float64 // 0: the offset counts
}

// EV100 returns the exposure value that a reading puts in place of the planned one.
func (r Reading) EV100(planned float64) (float64, error) {
	if err := unit.Within("planned EV100", planned, -12, 25, ""); err != nil {
		return 0, err
	}
	if r.IlluminanceLx != 0 {
		if r.OffsetStops != 0 {
			return 0, errors.New("a meter's reading is either an offset in stops or an illuminance, not both")
		}
		return EV100(r.IlluminanceLx)
	}
	if err := unit.Within("meter offset", r.OffsetStops, -10, 10, "stops"); err != nil {
		return 0, err
	}
	return planned + r.OffsetStops, nil
}

// Advice is one way on from the card that is set.
type Advice struct {
	Setting Setting
	Why     string // "close to f/11: right"
}

// Correct returns what the set card comes out as under the light that the meter found, and
// the ranked ways on: first those that leave the filters mounted, when they are as good.
// The wish carries the planned light.
func (c *Chooser) Correct(set Setting, wish Wish, reading Reading, limit int) (now Setting, ways []Advice, err error) {
	if set.Stack == nil {
		return Setting{}, nil, errors.New("no card is set: choose one first")
	}
	ev, err := reading.EV100(wish.EV100)
	if err != nil {
		return Setting{}, nil, err
	}
	now = set
	now.ErrorStops = ErrorStops(ev, set.ShutterS, set.ISO, set.Aperture, set.Stack.LossStops)
	wish.EV100, wish.Keep = ev, set.Stack
	ranked, err := c.Rank(wish, limit)
	for _, s := range ranked {
		ways = append(ways, Advice{s, c.WhyInstead(set, s)})
	}
	return now, ways, err
}

// NextStop says what to do about an exposure error by aperture alone or by filters alone,
// for the crew's ears: "one stop hot → close to f/11, or swap ND0.9 for ND1.2".
func (c *Chooser) NextStop(set Setting, wish Wish) (string, error) {
	now := set.ErrorStops
	if math.Abs(now) <= RightStops {
		return "right as it is", nil
	}
	ranked, err := c.Rank(wish, len(c.stacks)*len(c.gear.ISOs))
	if err != nil {
		return "", err
	}
	text := Off(now) + " → "
	sameFilters, sameAperture := "", ""
	for _, s := range ranked {
		if sameFilters == "" && sameStack(s.Stack, set.Stack) && s.ISO == set.ISO && math.Abs(s.ErrorStops) <= RightStops {
			sameFilters = c.WhyInstead(set, s)
		}
	}
	best := math.Abs(now)
	for i := range c.stacks {
		e := ErrorStops(wish.EV100, set.ShutterS, set.ISO, set.Aperture, c.stacks[i].LossStops)
		if off := math.Abs(e); off < best-1e-9 && c.stacks[i].Polarises == set.Stack.Polarises {
			best = off
			s := set
			s.Stack, s.ErrorStops = &c.stacks[i], e
			sameAperture = c.WhyInstead(set, s)
		}
	}
	switch {
	case sameFilters != "" && sameAperture != "":
		return text + sameFilters + "; or " + sameAperture, nil
	case sameFilters+sameAperture != "":
		return text + sameFilters + sameAperture, nil
	}
	return text + c.WhyInstead(set, ranked[0]), nil
}
