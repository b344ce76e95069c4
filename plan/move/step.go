package move

import (
	"fmt"
	"strings"

	"fieldfare/model/unit"
	"fieldfare/plan/frame"
)

// Kind is a move of the camera in the trade's words.
type Kind string

// The moves. Orbit is another word for arc.
const (
	Static     Kind = "static"
	PushIn     Kind = "push in"
	PullOut    Kind = "pull out"
	Truck      Kind = "truck"
	Pedestal   Kind = "pedestal"
	Boom       Kind = "boom"
	Pan        Kind = "pan"
	Tilt       Kind = "tilt"
	Arc        Kind = "arc"
	Orbit      Kind = "orbit"
	Reveal     Kind = "reveal"
	TopDown    Kind = "top-down"
	Flyover    Kind = "flyover"
	FlyThrough Kind = "fly-through"
	Lead       Kind = "lead"
	Follow     Kind = "follow"
	Parallel   Kind = "parallel track"
	KeyFrames  Kind = "key frames"
)

// Kinds lists every move in the order of the glossary.
var Kinds = []Kind{Static, PushIn, PullOut, Truck, Pedestal, Boom, Pan, Tilt, Arc, Orbit,
	Reveal, TopDown, Flyover, FlyThrough, Lead, Follow, Parallel, KeyFrames}

// UnmarshalText implements encoding.TextUnmarshaler.
func (k *Kind) UnmarshalText(text []byte) error {
	for _, known := range Kinds {
		if string(text) == string(known) {
			*k = known
			return nil
		}
	}
	return fmt.Errorf("%q is not a move: write one of %s", text, join(Kinds))
}

// Easing says where a step starts or ends softly.
type Easing string

// Easings. The zero value is EaseBoth.
const (
	EaseBoth Easing = "both"
	EaseIn   Easing = "in"   // starts from rest, ends at speed
	EaseOut  Easing = "out"  // starts at speed, ends at rest
	EaseNone Easing = "none" // at speed from end to end
)

var easings = []Easing{EaseBoth, EaseIn, EaseOut, EaseNone}

// UnmarshalText implements encoding.TextUnmarshaler.
func (e *Easing) UnmarshalText(text []byte) error {
	for _, known := range easings {
		if string(text) == string(known) {
			*e = known
			return nil
		}
	}
	return fmt.Errorf("%q is not an easing: write one of %s", text, join(easings))
}

// Side is left or right: of the camera for a truck, of the moving subject for a
// parallel track.
type Side string

// Sides.
const (
	Left  Side = "left"
	Right Side = "right"
)

// UnmarshalText implements encoding.TextUnmarshaler.
func (s *Side) UnmarshalText(text []byte) error {
	if *s = Side(text); *s != Left && *s != Right {
		return fmt.Errorf("%q is not a side: write left or right", text)
	}
	return nil
}

func join[S ~string](words []S) string {
	text := make([]string, len(words))
	for i, w := range words {
		text[i] = string(w)
	}
	return strings.Join(text, ", ")
}

// Step is one move. A shot is a list of steps flown without a break: the first says where
// it starts (a position, or a framing and a bearing), each later one starts where the one
// before ended.
type Step struct {
	Move Kind `yaml:"move" json:"move"`
	// Subject is the name of what the frame is about.
	Subject string `yaml:"subject,omitempty" json:"subject,omitempty"`
	// ToSubject is the subject on which a pan or tilt ends.
	ToSubject string `yaml:"to_subject,omitempty" json:"to_subject,omitempty"`

	// Start and End are the framings. Start belongs to the first step only.
	Start *frame.Framing `yaml:"start,omitempty" json:"start,omitempty"`
	End   *frame.Framing `yaml:"end,omitempty" json:"end,omitempty"`

	// From and To are camera positions. From belongs to the first step only.
	From *Position `yaml:"from,omitempty" json:"from,omitempty"`
	To   *Position `yaml:"to,omitempty" json:"to,omitempty"`
	// Through are the gaps a fly-through passes, in order.
	Through []Position `yaml:"through,omitempty" json:"through,omitempty"`

	// Bearing is the true azimuth from the subject to the camera at the start.
	Bearing *unit.Angle `yaml:"bearing,omitempty" json:"bearing,omitempty"`
	// Distance is from the subject's middle to the camera; for lead, follow and parallel
	// track it is the level distance kept.
	Distance    unit.Length `yaml:"distance,omitempty" json:"distance,omitempty"`
	EndDistance unit.Length `yaml:"end_distance,omitempty" json:"end_distance,omitempty"`
	// Height is of the camera above the subject's foot.
	Height    *unit.Length `yaml:"height,omitempty" json:"height,omitempty"`
	EndHeight *unit.Length `yaml:"end_height,omitempty" json:"end_height,omitempty"`
	// Radius is the level radius of an arc, EndRadius where a spiral ends.
	Radius    unit.Length `yaml:"radius,omitempty" json:"radius,omitempty"`
	EndRadius unit.Length `yaml:"end_radius,omitempty" json:"end_radius,omitempty"`
	// Sweep is the angle of an arc or pan (clockwise seen from above is positive), of a
	// tilt (up is positive), or by which a top-down turns.
	Sweep unit.Angle `yaml:"sweep,omitempty" json:"sweep,omitempty"`
	// Travel is the level way of a truck, flyover, reveal or top-down.
	Travel unit.Length `yaml:"travel,omitempty" json:"travel,omitempty"`
	// Rise is the climb (negative: sink) of a pedestal, boom, reveal or top-down.
	Rise unit.Length `yaml:"rise,omitempty" json:"rise,omitempty"`
	// Side is the way a truck goes, or the flank of the subject that a parallel track keeps.
	Side Side `yaml:"side,omitempty" json:"side,omitempty"`
	// Direction is the true azimuth of travel of a flyover, reveal or top-down.
	Direction *unit.Angle `yaml:"direction,omitempty" json:"direction,omitempty"`
	// Look points the camera where no subject does.
	Look *Look `yaml:"look,omitempty" json:"look,omitempty"`

	// Speed is the cruising speed along the path, Duration the time from end to end; at
	// most one is given, and neither leaves it to the solver.
	Speed    unit.Speed    `yaml:"speed,omitempty" json:"speed,omitempty"`
	Duration unit.Duration `yaml:"duration,omitempty" json:"duration,omitempty"`
	Easing   Easing        `yaml:"easing,omitempty" json:"easing,omitempty"`

	// Keys are the poses or framings of a free move.
	Keys []Key `yaml:"keys,omitempty" json:"keys,omitempty"`
}

// Look is a direction of the camera: true azimuth, and tilt (up is positive).
type Look struct {
	Azimuth *unit.Angle `yaml:"azimuth,omitempty" json:"azimuth,omitempty"`
	Tilt    *unit.Angle `yaml:"tilt,omitempty" json:"tilt,omitempty"`
}

// Position is a place for the camera: a named point of the site, or coordinates, and a
// height above the ground there or above sea level.
type Position struct {
	// Point is a named point of the site; East and North then count from it.
	Point string `yaml:"point,omitempty" json:"point,omitempty"`
	// East and North are metres in the site frame.
	East  unit.Length `yaml:"east,omitempty" json:"east,omitempty"`
	North unit.Length `yaml:"north,omitempty" json:"north,omitempty"`
	// Lat and Lon (WGS 84) may stand in place of East and North.
	Lat *unit.Angle `yaml:"lat,omitempty" json:"lat,omitempty"`
	Lon *unit.Angle `yaml:"lon,omitempty" json:"lon,omitempty"`
	// AboveGround or AboveSea is the height; exactly one, unless a named point has its own.
	AboveGround *unit.Length `yaml:"above_ground,omitempty" json:"above_ground,omitempty"`
	AboveSea    *unit.Length `yaml:"above_sea,omitempty" json:"above_sea,omitempty"`
}

// Key is a camera pose at a time: where it is (At, or a framing of Subject seen from
// Bearing) and where it points (Subject with Framing's place, or Look).
type Key struct {
	Time    unit.Duration  `yaml:"time" json:"time"`
	At      *Position      `yaml:"at,omitempty" json:"at,omitempty"`
	Subject string         `yaml:"subject,omitempty" json:"subject,omitempty"`
	Framing *frame.Framing `yaml:"framing,omitempty" json:"framing,omitempty"`
	Bearing *unit.Angle    `yaml:"bearing,omitempty" json:"bearing,omitempty"`
	Height  *unit.Length   `yaml:"height,omitempty" json:"height,omitempty"`
	Look    *Look          `yaml:"look,omitempty" json:"look,omitempty"`
}
