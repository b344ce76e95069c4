package move

import (
	"fmt"
	"math"
	"sort"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

// Path is a solved shot: the aircraft and the camera, sampled in time.
type Path struct {
	RateHz  float64
	Samples []Sample
	Spans   []Span    // which step is flown when
	Keys    []KeyPose // starts and ends of steps
}

// Sample is one moment of a path.
type Sample struct {
	T    float64
	Pos  geo.Vec3 // of the camera, site frame
	Vel  geo.Vec3
	Acc  geo.Vec3
	Jerk geo.Vec3
	Yaw  unit.Angle // heading of the airframe, [0, 2π)
	// Pan, Tilt and Roll are of the gimbal relative to the level airframe heading.
	Pan, Tilt, Roll unit.Angle
	FocalM          float64
	FocusM          float64 // distance of the plane of focus; +Inf is never given: 10 km at most
}

// Azimuth is the camera's true azimuth.
func (s *Sample) Azimuth() unit.Angle { return (s.Yaw + s.Pan).Wrapped() }

// Pose is the camera's pose.
func (s *Sample) Pose() lens.Pose {
	return lens.Pose{Pos: s.Pos, Azimuth: s.Azimuth(), Tilt: s.Tilt, Roll: s.Roll}
}

// Span is the time of one step.
type Span struct {
	Step     int // from 0
	Move     Kind
	From, To float64 // seconds
	LengthM  float64
	CruiseMS float64 // 0 where the camera only turns or holds
}

// KeyPose is a pose worth a mark on a drawing and a storyboard frame.
type KeyPose struct {
	T     float64
	Label string
	Pose  lens.Pose
}

// DurationS is the time from the first sample to the last.
func (p *Path) DurationS() float64 {
	if len(p.Samples) == 0 {
		return 0
	}
	return p.Samples[len(p.Samples)-1].T
}

// LengthM is the way flown.
func (p *Path) LengthM() float64 {
	sum := 0.0
	for i := 1; i < len(p.Samples); i++ {
		sum += p.Samples[i].Pos.Sub(p.Samples[i-1].Pos).Norm()
	}
	return sum
}

// At returns the sample nearest to a time.
func (p *Path) At(t float64) *Sample {
	i := int(math.Round(t * p.RateHz))
	return &p.Samples[max(0, min(len(p.Samples)-1, i))]
}

// Limit names what can bind.
type Limit string

// The limits that a bound names.
const (
	LimitSpeed      Limit = "level speed"
	LimitClimb      Limit = "climb speed"
	LimitDescent    Limit = "descent speed"
	LimitAccel      Limit = "acceleration"
	LimitYaw        Limit = "yaw rate"
	LimitPanRate    Limit = "pan rate"
	LimitPanTravel  Limit = "pan travel"
	LimitTiltRate   Limit = "tilt rate"
	LimitTiltTravel Limit = "tilt travel"
	LimitCrossing   Limit = "crossing time"
	LimitSmear      Limit = "smear"
	LimitGround     Limit = "clearance from ground"
	LimitObstacle   Limit = "clearance from obstacle"
	LimitStandOff   Limit = "stand-off from subject"
	LimitFraming    Limit = "framing"
	LimitTrack      Limit = "subject track"
	LimitWorkload   Limit = "single operator's workload"
	LimitTerrain    Limit = "terrain data"
	LimitStart      Limit = "run-up"
	LimitEnd        Limit = "run-out"
)

// Bound is a limit that a move ran into.
type Bound struct {
	Limit Limit
	Step  int     // from 0
	T     float64 // seconds into the shot
	// Asked is what the move asked of the quantity, Allowed the limit, both in Unit.
	Asked, Allowed float64
	Unit           string
	About          string // obstacle or subject
	// Kept is true when the path keeps the limit and the wish gave way; false when the
	// path still breaks it.
	Kept    bool
	Nearest Nearest

	end bool // of where the step ends: T follows once its pace is known
}

// Nearest is the nearest move that the limit lets pass. Zero fields are as asked.
type Nearest struct {
	SpeedMS   float64
	DurationS float64
	FocalM    float64 // the same framing with this focal length ...
	DistanceM float64 // ... from this distance
	HeightM   float64 // camera above sea
	RaiseM    float64
	Words     string // any other way
}

// Over is by how much the wish passed the limit, as a share of the limit.
func (b Bound) Over() float64 {
	if b.Allowed == 0 {
		return math.Abs(b.Asked)
	}
	return math.Abs(b.Asked-b.Allowed) / math.Abs(b.Allowed)
}

// String says what binds, when, by how much, and what can be had.
func (b Bound) String() string {
	about := ""
	if b.About != "" {
		about = " (" + b.About + ")"
	}
	text := fmt.Sprintf("t = %.1f s: %s%s", b.T, b.Limit, about)
	if b.Unit != "" {
		text += fmt.Sprintf(": %.3g %s asked, %.3g %s allowed", b.Asked, b.Unit, b.Allowed, b.Unit)
	}
	if n := b.Nearest.String(); n != "" {
		text += "; " + n
	}
	return text
}

func (n Nearest) String() string {
	switch {
	case n.FocalM > 0 && n.DistanceM > 0:
		return fmt.Sprintf("same framing with %.0f mm from %.0f m", n.FocalM*1000, n.DistanceM)
	case n.SpeedMS > 0:
		return fmt.Sprintf("same framing at %.1f m/s", n.SpeedMS)
	case n.DurationS > 0:
		return fmt.Sprintf("same framing in %.1f s", n.DurationS)
	case n.RaiseM > 0:
		return fmt.Sprintf("raise the camera by %.1f m", n.RaiseM)
	case n.HeightM != 0:
		return fmt.Sprintf("camera at %.1f m above sea", n.HeightM)
	case n.DistanceM > 0:
		return fmt.Sprintf("from %.1f m", n.DistanceM)
	}
	return n.Words
}

func sortBounds(b []Bound) {
	sort.SliceStable(b, func(i, j int) bool {
		if b[i].Kept != b[j].Kept {
			return !b[i].Kept
		}
		return b[i].T < b[j].T
	})
}

// Unsolved says why a shot has no path: never a path through rock.
type Unsolved struct {
	Step int     // from 0
	T    float64 // seconds into the shot
	What string
	Mend string
}

func (e *Unsolved) Error() string {
	return fmt.Sprintf("moves[%d]: t = %.1f s: %s; %s", e.Step, e.T, e.What, e.Mend)
}
