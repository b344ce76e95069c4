// Package smear computes how far the picture of a moving camera runs during a frame and
// during the shutter, whether that looks natural, and how long a lens holds still.
//
// Units, axes and signs: motion in pixels of the recorded picture, x to the right, y down;
// times in seconds; positions, velocities and angular velocities in the site frame (x east,
// y north, z up, right-handed).
//
// Source: the time derivative of the pinhole projection; blur = v·t·f/(d·pitch) is its
// simplest case. What counts as natural is the rule that an object takes at least seven
// seconds to cross the picture at 24 frames per second (common practice, no source).
//
// Validity and accuracy: exact for the instant; over a shutter it takes the motion as even.
//
// Not modelled: rolling shutter, zooming during the shutter, the eye's tracking, and motion
// blur that a director wants.
package smear

import (
	"errors"
	"fmt"
	"math"

	"fieldfare/model/exposure"
	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

// Recording is a camera at work.
type Recording struct {
	Camera    lens.Camera
	FrameRate float64 // frames per second
	ShutterS  float64
}

// Check returns an error when a part of the recording is missing or absurd.
func (r Recording) Check() error {
	err := errors.Join(r.Camera.Check(), unit.Within("frame rate", r.FrameRate, 1, 1000, "fps"), unit.Within("shutter", r.ShutterS, 1e-6, 1, "s"))
	if err == nil && r.ShutterS*r.FrameRate > 1+1e-6 {
		err = fmt.Errorf("shutter %s is longer than a frame at %g fps", unit.Shutter(r.ShutterS), r.FrameRate)
	}
	return err
}

// Point is something seen, with its own velocity.
type Point struct{ At, VelocityMS geo.Vec3 }

// Sample is the camera's state at one moment of a path.
type Sample struct {
	TimeS      float64
	Pose       lens.Pose
	VelocityMS geo.Vec3
	TurnRadS   geo.Vec3 // angular velocity of the camera (Turn)
	FocalM     float64  // 0: the recording's own
	Subject    Point
	HasSubject bool
	GroundZM   float64 // height of the ground that is seen, taken as level
	HasGround  bool
}

// Turn returns the angular velocity in rad/s of a camera in a pose whose azimuth, tilt and
// roll change at the given rates. Yaw of the airframe and pan of the gimbal both change the
// azimuth.
func Turn(pose lens.Pose, azimuth, tilt, roll unit.AngularRate) geo.Vec3 {
	sin, cos := math.Sincos(float64(pose.Azimuth))
	_, _, forward := pose.Axes()
	return geo.Vec3{X: cos, Y: -sin}.Scale(float64(tilt)).
		Add(geo.Vec3{Z: -float64(azimuth)}).Add(forward.Scale(float64(roll)))
}

// TurnBetween returns the mean angular velocity in rad/s from one pose to another, dt seconds
// later, by the short way round.
func TurnBetween(a, b lens.Pose, dtS float64) geo.Vec3 {
	if !(dtS > 0) {
		return geo.Vec3{}
	}
	rate := func(x, y unit.Angle) unit.AngularRate { return unit.AngularRate(float64((y - x).Signed()) / dtS) }
	middle := lens.Pose{
		Azimuth: a.Azimuth + (b.Azimuth-a.Azimuth).Signed()/2,
		Tilt:    a.Tilt + (b.Tilt-a.Tilt).Signed()/2,
		Roll:    a.Roll + (b.Roll-a.Roll).Signed()/2,
	}
	return Turn(middle, rate(a.Azimuth, b.Azimuth), rate(a.Tilt, b.Tilt), rate(a.Roll, b.Roll))
}

// Motion is the movement of one thing in the picture.
type Motion struct {
	Seen     bool    // false: not in front of the camera, or not known
	XPxFrame float64 // pixels per frame to the right
	YPxFrame float64 // pixels per frame down
	BlurPx   float64 // length of the streak during the shutter
}

// PxFrame returns the movement in pixels per frame, whichever way.
func (m Motion) PxFrame() float64 { return math.Hypot(m.XPxFrame, m.YPxFrame) }

// CrossingS returns how long a thing in this motion takes to cross the width of the
// picture; moves is false when it would take more than a day.
func (r Recording) CrossingS(m Motion) (s float64, moves bool) {
	s = float64(r.Camera.PixelsW) / (m.PxFrame() * r.FrameRate)
	if !m.Seen || !(s < 86400) {
		return 0, false
	}
	return s, true
}

// view fixes the recording's camera in a sample.
func (r *Recording) view(s *Sample) lens.View {
	c := r.Camera
	if s.FocalM != 0 {
		c.FocalM = s.FocalM
	}
	return c.View(s.Pose)
}

// motion differentiates the projection of an offset that changes at a rate, both in the
// site frame and seen from the camera.
func (r *Recording) motion(v *lens.View, offset, rate, turn geo.Vec3) Motion {
	z := offset.Dot(v.Forward)
	if !(z > 1e-6) {
		return Motion{}
	}
	rate = rate.Sub(turn.Cross(offset)) // in the turning frame of the camera
	x, y := offset.Dot(v.Right), offset.Dot(v.Up)
	dx, dy, dz := rate.Dot(v.Right), rate.Dot(v.Up), rate.Dot(v.Forward)
	m := Motion{
		Seen:     true,
		XPxFrame: v.FocalX * (dx*z - x*dz) / (z * z) / r.FrameRate,
		YPxFrame: -v.FocalY * (dy*z - y*dz) / (z * z) / r.FrameRate,
	}
	m.BlurPx = m.PxFrame() * r.FrameRate * r.ShutterS
	return m
}

// Of returns the motion of a point seen from a sample.
func (r Recording) Of(s *Sample, p Point) Motion {
	v := r.view(s)
	return r.motion(&v, p.At.Sub(s.Pose.Pos), p.VelocityMS.Sub(s.VelocityMS), s.TurnRadS)
}

// OfDirection returns the motion of something infinitely far away in a direction: the
// horizon, the sun. Only turning moves it.
func (r Recording) OfDirection(s *Sample, direction geo.Vec3) Motion {
	v := r.view(s)
	return r.motion(&v, direction, geo.Vec3{}, s.TurnRadS)
}

// Look is the motion of the things that a viewer watches.
type Look struct {
	Ground  Motion // in the middle of the ground that the picture's centre column shows
	Fastest Motion // the fastest ground among the picture's edges, corners and middle
	Subject Motion
	Horizon Motion // where it crosses the picture's centre column
}

// Look returns the motion of ground, subject and horizon at a sample.
func (r Recording) Look(s *Sample) Look {
	var look Look
	v := r.view(s)
	if s.HasSubject {
		look.Subject = r.motion(&v, s.Subject.At.Sub(s.Pose.Pos), s.Subject.VelocityMS.Sub(s.VelocityMS), s.TurnRadS)
	}
	width, height := 2*v.CentreX, 2*v.CentreY
	top := 0.0
	if row, ok := v.HorizonRow(); ok && row < height {
		top = math.Max(0, row)
		if row >= 0 {
			look.Horizon = r.motion(&v, v.Ray(v.CentreX, row), geo.Vec3{}, s.TurnRadS)
		}
	}
	if !s.HasGround {
		return look
	}
	look.Ground = r.ground(&v, s, v.CentreX, (top+height)/2)
	for i := range 3 {
		for j := range 3 {
			if m := r.ground(&v, s, width*float64(i)/2, height*float64(j)/2); m.Seen && m.PxFrame() >= look.Fastest.PxFrame() {
				look.Fastest = m
			}
		}
	}
	return look
}

// ground returns the motion of the level ground behind a pixel.
func (r *Recording) ground(v *lens.View, s *Sample, px, py float64) Motion {
	ray := v.Ray(px, py)
	reach := (s.GroundZM - s.Pose.Pos.Z) / ray.Z
	if !(reach > 0) || math.IsInf(reach, 0) {
		return Motion{}
	}
	return r.motion(v, ray.Scale(reach), s.VelocityMS.Scale(-1), s.TurnRadS)
}

// Peak is the fastest motion along a path and when it happens.
type Peak struct {
	Motion Motion
	TimeS  float64
	Sample int
}

// Peaks are the fastest motions along a path.
type Peaks struct{ Ground, Fastest, Subject, Horizon Peak }

// Along returns the fastest motion of each thing over a path's samples.
func (r Recording) Along(samples []Sample) (Peaks, error) {
	if err := r.Check(); err != nil {
		return Peaks{}, err
	}
	if len(samples) == 0 {
		return Peaks{}, errors.New("the path has no samples")
	}
	var p Peaks
	for i := range samples {
		s := &samples[i]
		look := r.Look(s)
		for _, x := range [...]struct {
			peak *Peak
			m    Motion
		}{{&p.Ground, look.Ground}, {&p.Fastest, look.Fastest}, {&p.Subject, look.Subject}, {&p.Horizon, look.Horizon}} {
			speed := x.m.PxFrame()
			if math.IsNaN(speed) || math.IsInf(speed, 0) {
				return Peaks{}, fmt.Errorf("the path is not finite at t = %.2f s", s.TimeS)
			}
			if x.m.Seen && (!x.peak.Motion.Seen || speed > x.peak.Motion.PxFrame()) {
				*x.peak = Peak{x.m, s.TimeS, i}
			}
		}
	}
	return p, nil
}

// naturalFrames is how many frames a thing should take to cross the picture: seven seconds
// at 24 frames per second. The rule in frames carries over to other rates, as pan tables of
// cinematography handbooks do (twice the rate, half the time).
const naturalFrames = 7 * 24

// Basis is where the limit of natural motion comes from.
const Basis = "seven seconds to cross the picture at 24 fps, fewer at higher rates in proportion: common practice, no source"

// NaturalCrossing returns the shortest time in seconds in which a thing may cross the
// picture and still move naturally.
func NaturalCrossing(frameRate float64) float64 { return naturalFrames / frameRate }

// Verdict says whether a motion looks natural.
type Verdict struct {
	Natural bool
	Why     string
	Slower  float64 // factor on speed and rates that makes it natural, 1 when it is
	LimitS  float64 // shortest natural crossing time
	Basis   string
}

// still is the motion in pixels per frame below which nothing seems to move at all.
const still = 0.5

// Judge says whether a motion looks natural: slow enough in crossing the picture, and
// blurred enough by the shutter.
func (r Recording) Judge(m Motion) Verdict {
	v := Verdict{Natural: true, Slower: 1, LimitS: NaturalCrossing(r.FrameRate), Basis: Basis}
	s, moves := r.CrossingS(m)
	switch {
	case !m.Seen:
		v.Why = "not in the picture"
		return v
	case !moves || m.PxFrame() < still:
		v.Why = "hardly moves"
		return v
	case s < v.LimitS*(1-1e-9):
		v.Natural = false
		v.Slower = s / v.LimitS
		v.Why = fmt.Sprintf("crosses the picture in %.1f s, faster than the natural %.1f s: it strobes", s, v.LimitS)
	default:
		v.Why = fmt.Sprintf("crosses the picture in %.1f s, no faster than the natural %.1f s", s, v.LimitS)
	}
	if look := exposure.MotionOf(exposure.ShutterAngle(r.FrameRate, r.ShutterS)); look != exposure.Natural {
		v.Natural = false
		v.Why += fmt.Sprintf("; a shutter of %s at %g fps looks %s", unit.Shutter(r.ShutterS), r.FrameRate, look)
	}
	return v
}

// FastestSpeed returns the speed in m/s square to the view at which something at a distance
// crosses the picture in the shortest natural time.
func (r Recording) FastestSpeed(distanceM float64) (float64, error) {
	if err := errors.Join(r.Check(), unit.Within("distance", distanceM, 0.01, 1e6, "m")); err != nil {
		return 0, err
	}
	fx, _ := r.Camera.FocalPixels()
	return float64(r.Camera.PixelsW) / fx * distanceM / NaturalCrossing(r.FrameRate), nil
}

// FastestTurn returns the pan or yaw rate at which the middle of the picture crosses its
// width in the shortest natural time; the edges of a wide picture run faster.
func (r Recording) FastestTurn() (unit.AngularRate, error) {
	if err := r.Check(); err != nil {
		return 0, err
	}
	fx, _ := r.Camera.FocalPixels()
	return unit.AngularRate(float64(r.Camera.PixelsW) / fx / NaturalCrossing(r.FrameRate)), nil
}

// SmoothRate returns the frame rate in hertz from which sampled motion cannot be told from
// smooth motion: w_l + r·u_l (Watson & Ahumada, A look at motion in the frequency domain,
// NASA TM-84352, 1983), for a velocity at the eye and the eye's limits in time and space;
// about 30 Hz and 6 cycles per degree in their experiments (from memory).
func SmoothRate(velocity unit.AngularRate, temporalLimitHz, spatialLimitPerDegree float64) float64 {
	return temporalLimitHz + math.Abs(unit.Angle(velocity).Deg())*spatialLimitPerDegree
}
