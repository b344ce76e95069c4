package move

import (
	"fmt"
	"slices"
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

// Easings. The zero value starts and ends the shot at rest and lets its steps flow into each other.
const (
	EaseBoth Easing = "both"
	EaseIn   Easing = "in"   // starts from rest, ends at speed
	EaseOut  Easing = "out"  // starts at speed, ends at rest
	EaseNone Easing = "none" // at speed from end to end
)

var easings = []Easing{EaseBoth, EaseIn, EaseOut, EaseNone}

func (e Easing) among(words ...Easing) bool { return slices.Contains(words, e) }

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
	Move Kind `yaml:"move" json:"move" doc:"the move, in the word of the trade" need:"yes"`
	// Subject is the name of what the frame is about.
	Subject string `yaml:"subject,omitempty" json:"subject,omitempty" doc:"what the frame is about, by name"`
	// ToSubject is the subject on which a pan or tilt ends.
	ToSubject string `yaml:"to_subject,omitempty" json:"to_subject,omitempty" doc:"subject on which a pan or tilt ends"`

	// Start and End are the framings. Start belongs to the first step only.
	Start *frame.Framing `yaml:"start,omitempty" json:"start,omitempty" doc:"framing at the start; first step only"`
	End   *frame.Framing `yaml:"end,omitempty" json:"end,omitempty" doc:"framing at the end"`

	// From and To are camera positions. From belongs to the first step only.
	From *Position `yaml:"from,omitempty" json:"from,omitempty" doc:"camera position at the start; first step only"`
	To   *Position `yaml:"to,omitempty" json:"to,omitempty" doc:"camera position at the end"`
	// Through are the gaps a fly-through passes, in order.
	Through []Position `yaml:"through,omitempty" json:"through,omitempty" doc:"gaps that a fly-through passes, in order"`

	// Bearing is the true azimuth from the subject to the camera at the start.
	Bearing *unit.Angle `yaml:"bearing,omitempty" json:"bearing,omitempty" doc:"true azimuth from the subject to the camera at the start"`
	// Distance is from the subject's middle to the camera; for lead, follow and parallel
	// track it is the level distance kept.
	Distance    unit.Length `yaml:"distance,omitempty" json:"distance,omitempty" doc:"from the subject to the camera"`
	EndDistance unit.Length `yaml:"end_distance,omitempty" json:"end_distance,omitempty" doc:"distance at the end"`
	// Height is of the camera above the subject's foot.
	Height    *unit.Length `yaml:"height,omitempty" json:"height,omitempty" doc:"of the camera above the foot of the subject"`
	EndHeight *unit.Length `yaml:"end_height,omitempty" json:"end_height,omitempty" doc:"height at the end"`
	// Radius is the level radius of an arc, EndRadius where a spiral ends.
	Radius    unit.Length `yaml:"radius,omitempty" json:"radius,omitempty" doc:"level radius of an arc"`
	EndRadius unit.Length `yaml:"end_radius,omitempty" json:"end_radius,omitempty" doc:"radius at the end of a spiral"`
	// Sweep is the angle of an arc or pan (clockwise seen from above is positive), of a
	// tilt (up is positive), or by which a top-down turns.
	Sweep unit.Angle `yaml:"sweep,omitempty" json:"sweep,omitempty" doc:"angle of an arc or pan, clockwise positive; of a tilt, up positive"`
	// Travel is the level way of a truck, flyover, reveal or top-down.
	Travel unit.Length `yaml:"travel,omitempty" json:"travel,omitempty" doc:"level way of a truck, flyover, reveal or top-down"`
	// Rise is the climb (negative: sink) of a pedestal, boom, reveal or top-down.
	Rise unit.Length `yaml:"rise,omitempty" json:"rise,omitempty" doc:"climb of a pedestal, boom, reveal or top-down; negative sinks"`
	// Side is the way a truck goes, or the flank of the subject that a parallel track keeps.
	Side Side `yaml:"side,omitempty" json:"side,omitempty" doc:"way of a truck, or flank of the subject for a parallel track"`
	// Direction is the true azimuth of travel of a flyover, reveal or top-down.
	Direction *unit.Angle `yaml:"direction,omitempty" json:"direction,omitempty" doc:"true azimuth of travel"`
	// Look points the camera where no subject does.
	Look *Look `yaml:"look,omitempty" json:"look,omitempty" doc:"where the camera points if no subject holds it; in the first step at the start, later at the end"`

	// Speed is the cruising speed along the path, Duration the time from end to end; at
	// most one is given, and neither leaves it to the solver.
	Speed    unit.Speed    `yaml:"speed,omitempty" json:"speed,omitempty" doc:"cruising speed; give speed or duration or neither"`
	Duration unit.Duration `yaml:"duration,omitempty" json:"duration,omitempty" doc:"from end to end of the step"`
	Easing   Easing        `yaml:"easing,omitempty" json:"easing,omitempty" doc:"where the step starts or ends softly: both, in, out or none"`

	// Keys are the poses or framings of a free move.
	Keys []Key `yaml:"keys,omitempty" json:"keys,omitempty" doc:"poses or framings of a free move"`
}

// Look is a direction of the camera: true azimuth, and tilt (up is positive).
type Look struct {
	Azimuth *unit.Angle `yaml:"azimuth,omitempty" json:"azimuth,omitempty" doc:"true azimuth"`
	Tilt    *unit.Angle `yaml:"tilt,omitempty" json:"tilt,omitempty" doc:"up is positive"`
}

// Position is a place for the camera: a named point of the site, or coordinates, and a
// height above the ground there or above sea level.
type Position struct {
	// Point is a named point of the site; East and North then count from it.
	Point string `yaml:"point,omitempty" json:"point,omitempty" doc:"named point of the site; east and north count from it"`
	// East and North are metres in the site frame.
	East  unit.Length `yaml:"east,omitempty" json:"east,omitempty" doc:"metres east in the site frame"`
	North unit.Length `yaml:"north,omitempty" json:"north,omitempty" doc:"metres north in the site frame"`
	// Lat and Lon (WGS 84) may stand in place of East and North.
	Lat *unit.Angle `yaml:"lat,omitempty" json:"lat,omitempty" doc:"latitude in place of north"`
	Lon *unit.Angle `yaml:"lon,omitempty" json:"lon,omitempty" doc:"longitude in place of east"`
	// AboveGround or AboveSea is the height; exactly one, unless a named point has its own.
	AboveGround *unit.Length `yaml:"above_ground,omitempty" json:"above_ground,omitempty" doc:"height above the ground there"`
	AboveSea    *unit.Length `yaml:"above_sea,omitempty" json:"above_sea,omitempty" doc:"height above sea level"`
}

// Key is a camera pose at a time: where it is (At, or a framing of Subject seen from
// Bearing) and where it points (Subject with Framing's place, or Look). A key that names
// no subject has the step's, unless it has both At and Look.
type Key struct {
	Time    unit.Duration  `yaml:"time" json:"time" doc:"from the start of the step" need:"yes"`
	At      *Position      `yaml:"at,omitempty" json:"at,omitempty" doc:"where the camera is"`
	Subject string         `yaml:"subject,omitempty" json:"subject,omitempty"`
	Framing *frame.Framing `yaml:"framing,omitempty" json:"framing,omitempty" doc:"size and place of the subject"`
	Bearing *unit.Angle    `yaml:"bearing,omitempty" json:"bearing,omitempty"`
	Height  *unit.Length   `yaml:"height,omitempty" json:"height,omitempty"`
	Look    *Look          `yaml:"look,omitempty" json:"look,omitempty"`
}
