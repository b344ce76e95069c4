package frame

import (
	"fmt"
	"math"
	"strings"

	"fieldfare/model/unit"
)

// Framing says how a picture is composed. Fields left out are free: the solver chooses
// them, and a step of a move keeps what the step before had.
type Framing struct {
	// Size is the height of the subject's box as a share of the frame height.
	Size unit.Ratio `yaml:"size,omitempty" json:"size,omitempty" doc:"height of the subject as a share of the frame height"`
	// Place is where the middle of the subject sits.
	Place *Place `yaml:"place,omitempty" json:"place,omitempty" doc:"where the middle of the subject sits: thirds, or shares from the left and the top"`
	// Horizon is where the level line of sight crosses the frame.
	Horizon *Level `yaml:"horizon,omitempty" json:"horizon,omitempty" doc:"where the horizon crosses the frame"`
	// Headroom is the free share of the frame height above the subject's head. It takes
	// the vertical part of Place.
	Headroom *unit.Ratio `yaml:"headroom,omitempty" json:"headroom,omitempty" doc:"free share of the frame above the head"`
	// LeadRoom is the free share of the frame width ahead of a moving subject. It takes
	// the lateral part of Place.
	LeadRoom *unit.Ratio `yaml:"lead_room,omitempty" json:"lead_room,omitempty" doc:"free share of the frame ahead of a moving subject"`
}

// Place is a point of the picture: X from the left edge (0) to the right (1), Y from the
// top edge (0) to the bottom (1).
type Place struct{ X, Y float64 }

// Level is a height in the picture, from the top edge (0) to the bottom (1); values
// outside lie beyond the edge.
type Level float64

var (
	across = map[string]float64{"left third": 1.0 / 3, "centre": 0.5, "right third": 2.0 / 3}
	down   = map[string]float64{"upper third": 1.0 / 3, "middle": 0.5, "lower third": 2.0 / 3}
)

// ParsePlace reads "centre", "left third", "right third, upper third" or "40 %, 55 %"
// (from the left, from the top). A part left out is in the middle.
func ParsePlace(text string) (Place, error) {
	p := Place{0.5, 0.5}
	parts := strings.Split(text, ",")
	bad := func() (Place, error) {
		return Place{}, fmt.Errorf("%q is not a place in the frame: write thirds (left third, upper third), centre, or two shares from the left and the top, as in 40 %%, 55 %%", text)
	}
	if len(parts) > 2 {
		return bad()
	}
	var setX, setY bool
	for i, part := range parts {
		part = strings.TrimSpace(part)
		if x, ok := across[part]; ok && !setX {
			p.X, setX = x, true
			continue
		}
		if y, ok := down[part]; ok && !setY {
			p.Y, setY = y, true
			continue
		}
		v, err := unit.ParseRatio(part)
		if err != nil || !strings.HasSuffix(part, "%") || len(parts) != 2 || v < -1 || v > 2 {
			return bad()
		}
		if i == 0 && !setX {
			p.X, setX = float64(v), true
		} else if i == 1 && !setY {
			p.Y, setY = float64(v), true
		} else {
			return bad()
		}
	}
	return p, nil
}

func share(v float64) string { return unit.Ratio(math.Round(v*1e4) / 1e4).String() }

func named(v float64, names map[string]float64, order ...string) string {
	for _, n := range order {
		if math.Abs(names[n]-v) < 1e-9 {
			return n
		}
	}
	return ""
}

// String writes thirds by name and anything else in percent.
func (p Place) String() string {
	x := named(p.X, across, "left third", "centre", "right third")
	y := named(p.Y, down, "upper third", "middle", "lower third")
	switch {
	case x != "" && y == "middle":
		return x
	case x == "centre" && y != "":
		return y
	case x != "" && y != "":
		return x + ", " + y
	}
	return share(p.X) + ", " + share(p.Y)
}

// MarshalText implements encoding.TextMarshaler.
func (p Place) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (p *Place) UnmarshalText(text []byte) (err error) {
	*p, err = ParsePlace(string(text))
	return err
}

// ParseLevel reads "upper third", "middle", "lower third" or a share from the top ("35 %").
func ParseLevel(text string) (Level, error) {
	text = strings.TrimSpace(text)
	if y, ok := down[text]; ok {
		return Level(y), nil
	}
	v, err := unit.ParseRatio(text)
	if err != nil || !strings.HasSuffix(text, "%") || v < -20 || v > 20 {
		return 0, fmt.Errorf("%q is not a level in the frame: write upper third, middle, lower third, or a share from the top, as in 35 %%", text)
	}
	return Level(v), nil
}

func (l Level) String() string {
	if y := named(float64(l), down, "upper third", "middle", "lower third"); y != "" {
		return y
	}
	return share(float64(l))
}

// MarshalText implements encoding.TextMarshaler.
func (l Level) MarshalText() ([]byte, error) { return []byte(l.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (l *Level) UnmarshalText(text []byte) (err error) {
	*l, err = ParseLevel(string(text))
	return err
}

// Validate lists what cannot be composed. The path is put before each message.
func (f *Framing) Validate(path string) []error {
	var errs []error
	fail := func(field, format string, args ...any) {
		errs = append(errs, fmt.Errorf("%s.%s: %s", path, field, fmt.Sprintf(format, args...)))
	}
	finite := func(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
	if f.Size < 0 || f.Size > 3 || !finite(float64(f.Size)) {
		fail("size", "%s of the frame height cannot be framed: give more than 0 %% and at most 300 %%", f.Size)
	}
	if p := f.Place; p != nil && !(p.X >= -1 && p.X <= 2 && p.Y >= -1 && p.Y <= 2) {
		fail("place", "%s lies too far outside the frame: keep within -100 %% to 200 %%", p)
	}
	if h := f.Horizon; h != nil && !(*h >= -20 && *h <= 20) {
		fail("horizon", "%s lies too far outside the frame: leave the horizon out and let the place decide", h)
	}
	if h := f.Headroom; h != nil && !(*h >= -1 && *h < 1) {
		fail("headroom", "%s is no share of the frame height: give 0 %% to 99 %%", h)
	}
	if l := f.LeadRoom; l != nil && !(*l >= 0 && *l <= 1) {
		fail("lead_room", "%s is no share of the frame width: give 0 %% to 100 %%", l)
	}
	return errs
}
