package exposure

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

// Kind is what a filter does.
type Kind string

const (
	Neutral   Kind = "neutral density"
	Graduated Kind = "graduated density" // dark over one half of the picture only
	Polariser Kind = "polariser"
)

// A polariser takes one to two stops as it turns; makers' factors of 2.3 to 2.8 put the
// middle at 1.2 to 1.5 (published filter factors).
const (
	PolariserLow    = 1.0
	PolariserMiddle = 1.4
	PolariserHigh   = 2.0
)

// Filter is one filter of the crew's bag.
type Filter struct {
	Name    string
	Kind    Kind
	Density float64 // ISO 5 density; 0 for a polariser
	ThreadM float64 // thread diameter, 0 when it is not known or needs none
}

// ParseFilter reads "ND0.9" (neutral, by density), "GND0.6" (graduated) or "POL".
func ParseFilter(text string) (Filter, error) {
	name := strings.TrimSpace(text)
	upper := strings.ToUpper(name)
	f := Filter{Name: name, Kind: Neutral}
	digits, ok := strings.CutPrefix(upper, "ND")
	switch {
	case upper == "POL":
		f.Kind = Polariser
		return f, nil
	case strings.HasPrefix(upper, "GND"):
		f.Kind, digits, ok = Graduated, upper[len("GND"):], true
	}
	if !ok {
		return Filter{}, fmt.Errorf("%q is not a filter: write ND or GND with a density, or POL, as in ND0.9", text)
	}
	d, err := strconv.ParseFloat(strings.TrimSpace(digits), 64)
	if err != nil || !(d > 0 && d <= maxDensity) {
		return Filter{}, fmt.Errorf("%q: the density is a number above 0 and up to %g, 0.3 for each stop; a filter labelled by its factor, ×8, has density 0.9", text, maxDensity)
	}
	f.Density = d
	return f, nil
}

const maxDensity = 4.0

func (f Filter) check() error {
	switch f.Kind {
	case Polariser:
		return nil
	case Neutral, Graduated:
		return unit.Within("density of "+f.Name, f.Density, 0.01, maxDensity, "")
	}
	return fmt.Errorf("filter %s is of no known kind %q: %s, %s or %s is expected", f.Name, f.Kind, Neutral, Graduated, Polariser)
}

// Loss returns the light that the filter takes from the whole picture, in stops: at least,
// usually, at most. A graduated filter takes none from the ground.
func (f Filter) Loss() (low, usual, high float64) {
	switch f.Kind {
	case Polariser:
		return PolariserLow, PolariserMiddle, PolariserHigh
	case Graduated:
		return 0, 0, 0
	}
	s := StopsFromDensity(f.Density)
	return s, s, s
}

// Stack is filters screwed together in front of the lens.
type Stack struct {
	Filters   []Filter
	LossStops float64 // usual
	LowStops  float64 // least, with a polariser turned one way
	HighStops float64 // most
	Density   float64 // sum of the neutral densities
	Polarises bool
}

// NewStack adds filters up: densities add (ISO 5).
func NewStack(filters ...Filter) (Stack, error) {
	s := Stack{Filters: filters}
	for _, f := range filters {
		if err := f.check(); err != nil {
			return Stack{}, err
		}
		low, usual, high := f.Loss()
		s.LowStops += low
		s.LossStops += usual
		s.HighStops += high
		if f.Kind == Neutral {
			s.Density += f.Density
		}
		s.Polarises = s.Polarises || f.Kind == Polariser
	}
	return s, nil
}

// Names lists the filters' labels, an empty list for none.
func (s Stack) Names() []string {
	names := make([]string, len(s.Filters))
	for i, f := range s.Filters {
		names[i] = f.Name
	}
	return names
}

func (s Stack) String() string {
	if len(s.Filters) == 0 {
		return "no filter"
	}
	return strings.Join(s.Names(), " + ")
}

// castDensity is the density from which neutral filters tend to colour the picture, the
// more so by infrared leak (common practice, no source).
const castDensity = 1.8

// CastsColour reports whether the stack is dense enough to colour the picture, so that
// white balance should be set through it.
func (s Stack) CastsColour() bool { return s.Density >= castDensity-1e-9 }

// stacks lists every combination of up to limit filters, no two polarisers together.
func stacks(filters []Filter, limit int) ([]Stack, error) {
	var usable []Filter
	for _, f := range filters {
		if err := f.check(); err != nil {
			return nil, err
		}
		if f.Kind != Graduated {
			usable = append(usable, f)
		}
	}
	if len(usable) > 16 {
		return nil, fmt.Errorf("%d filters to combine: at most 16 are expected", len(usable))
	}
	all := []Stack{{}}
	for mask := 1; mask < 1<<len(usable); mask++ {
		var members []Filter
		polarisers := 0
		for i, f := range usable {
			if mask>>i&1 == 1 {
				members = append(members, f)
				if f.Kind == Polariser {
					polarisers++
				}
			}
		}
		if len(members) > limit || polarisers > 1 {
			continue
		}
		s, err := NewStack(members...)
		if err != nil {
			return nil, err
		}
		all = append(all, s)
	}
	return all, nil
}

// FitOn returns the filters that go on a lens with the rings carried, and for each of the
// others an error that says which ring is missing. A filter without a known thread is an
// error too: whether it fits is unknown. A lens thread of 0 means that nothing is screwed
// on (a matte box or drop-in tray takes every filter).
func FitOn(lensThreadM float64, filters []Filter, rings []lens.StepRing) (fit []Filter, unfit error) {
	if lensThreadM == 0 {
		return filters, nil
	}
	for _, f := range filters {
		if f.ThreadM == 0 {
			unfit = errors.Join(unfit, fmt.Errorf("%s: its thread is not stated, so whether it fits is unknown", f.Name))
			continue
		}
		if _, err := lens.FitFilter(lensThreadM, f.ThreadM, rings); err != nil {
			unfit = errors.Join(unfit, fmt.Errorf("%s: %w", f.Name, err))
			continue
		}
		fit = append(fit, f)
	}
	return fit, unfit
}

// Graduate picks the graduated filter that brings a sky brighter than the ground by
// skyStops nearest to it without turning it darker than the ground. A graduated filter
// serves only while the horizon holds still: span is the part of the picture's height (0 to
// 1) that the horizon travels during the take, and past steadyHorizon none is offered.
func Graduate(filters []Filter, skyStops, span float64) (Filter, error) {
	if err := errors.Join(unit.Within("sky above ground", skyStops, 0, 15, "stops"), unit.Within("travel of the horizon", span, 0, 1e9, "of the picture height")); err != nil {
		return Filter{}, err
	}
	if span > steadyHorizon {
		return Filter{}, fmt.Errorf("the horizon travels %.0f %% of the picture height, more than %.0f %%: a graduated filter's edge would show; expose for the ground or split the move", 100*span, 100*steadyHorizon)
	}
	best, left := Filter{}, math.Inf(1)
	for _, f := range filters {
		if rest := skyStops - StopsFromDensity(f.Density); f.Kind == Graduated && rest >= -0.1 && rest < left {
			best, left = f, rest
		}
	}
	if best.Name == "" {
		return Filter{}, fmt.Errorf("no graduated filter carried suits a sky %.1f stops over the ground", skyStops)
	}
	return best, nil
}

// steadyHorizon is the part of the picture's height that the horizon may travel under a
// graduated filter (common practice, no source).
const steadyHorizon = 0.05
