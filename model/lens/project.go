package lens

import (
	"errors"
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Camera is a lens on a recorded area of a sensor: the inner orientation of a pinhole.
type Camera struct {
	FocalM        float64 // focal length, metres
	SensorWidthM  float64 // recorded area of the sensor, metres; a crop mode records less
	SensorHeightM float64
	PixelsW       int // the recorded picture
	PixelsH       int
	Squeeze       float64 // anamorphic: horizontal compression, 2 for a 2× lens; 0 or 1 for a spherical one
}

// Pose is where a camera is and how it looks.
type Pose struct {
	Pos     geo.Vec3   // entrance pupil, site frame
	Azimuth unit.Angle // of the lens axis, clockwise from true north
	Tilt    unit.Angle // of the lens axis above the horizontal, -90° looks straight down
	Roll    unit.Angle // about the lens axis, right side down positive
}

// Check returns an error when a dimension of the camera is missing or absurd.
func (c Camera) Check() error {
	if c.PixelsW < 1 || c.PixelsH < 1 || c.PixelsW > 100_000 || c.PixelsH > 100_000 {
		return fmt.Errorf("picture of %d × %d pixels: 1 to 100000 each way are expected", c.PixelsW, c.PixelsH)
	}
	if c.Squeeze != 0 && !(c.Squeeze >= 1 && c.Squeeze <= 3) {
		return fmt.Errorf("anamorphic squeeze %g: 1 (none) to 3 is expected", c.Squeeze)
	}
	return errors.Join(
		unit.Within("focal length", c.FocalM, 1e-3, 5, "m"),
		unit.Within("sensor width", c.SensorWidthM, 1e-4, 0.5, "m"),
		unit.Within("sensor height", c.SensorHeightM, 1e-4, 0.5, "m"))
}

func (c Camera) squeeze() float64 {
	if c.Squeeze == 0 {
		return 1
	}
	return c.Squeeze
}

// HFOV returns the horizontal angle of view, 2·atan(width·squeeze/2f), focus at infinity.
func (c Camera) HFOV() unit.Angle { return fieldOfView(c.SensorWidthM*c.squeeze(), c.FocalM) }

// VFOV returns the vertical angle of view, focus at infinity.
func (c Camera) VFOV() unit.Angle { return fieldOfView(c.SensorHeightM, c.FocalM) }

// DFOV returns the angle of view from corner to corner, focus at infinity.
func (c Camera) DFOV() unit.Angle {
	return fieldOfView(math.Hypot(c.SensorWidthM*c.squeeze(), c.SensorHeightM), c.FocalM)
}

func fieldOfView(side, focal float64) unit.Angle { return unit.Angle(2 * math.Atan(side/(2*focal))) }

// FocalPixels returns the focal length in pixels along x and y: what one radian about the
// centre of the picture measures.
func (c Camera) FocalPixels() (fx, fy float64) {
	return c.FocalM / (c.SensorWidthM * c.squeeze()) * float64(c.PixelsW),
		c.FocalM / c.SensorHeightM * float64(c.PixelsH)
}

// Inside reports whether a pixel position lies in the picture.
func (c Camera) Inside(px, py float64) bool {
	return px >= 0 && py >= 0 && px <= float64(c.PixelsW) && py <= float64(c.PixelsH)
}

// Axes returns the unit vectors of the picture: to the right, up, and forward along the
// lens axis, in the site frame.
func (p Pose) Axes() (right, up, forward geo.Vec3) {
	sa, ca := math.Sincos(float64(p.Azimuth))
	st, ct := math.Sincos(float64(p.Tilt))
	sr, cr := math.Sincos(float64(p.Roll))
	forward = geo.Vec3{X: sa * ct, Y: ca * ct, Z: st}
	level := geo.Vec3{X: ca, Y: -sa}
	upright := geo.Vec3{X: -sa * st, Y: -ca * st, Z: ct}
	right = level.Scale(cr).Sub(upright.Scale(sr))
	up = upright.Scale(cr).Add(level.Scale(sr))
	return right, up, forward
}

// View is a camera in a pose with its trigonometry done, for projecting many points.
type View struct {
	Pos                geo.Vec3
	Right, Up, Forward geo.Vec3
	FocalX, FocalY     float64 // focal length in pixels
	CentreX, CentreY   float64 // picture centre in pixels
}

// View fixes the camera in a pose.
func (c Camera) View(at Pose) View {
	v := View{Pos: at.Pos, CentreX: float64(c.PixelsW) / 2, CentreY: float64(c.PixelsH) / 2}
	v.Right, v.Up, v.Forward = at.Axes()
	v.FocalX, v.FocalY = c.FocalPixels()
	return v
}

// nearest is the smallest depth in metres that can be projected: nearer is behind the lens.
const nearest = 1e-6

// Project returns where the point lands and its depth along the lens axis in metres. Points
// outside the picture have pixels outside it; ok is false for a point beside or behind the
// camera, which lands nowhere.
func (v *View) Project(point geo.Vec3) (px, py, depthM float64, ok bool) {
	d := point.Sub(v.Pos)
	depthM = d.Dot(v.Forward)
	if !(depthM > nearest) {
		return 0, 0, depthM, false
	}
	px = v.CentreX + v.FocalX*d.Dot(v.Right)/depthM
	py = v.CentreY - v.FocalY*d.Dot(v.Up)/depthM
	return px, py, depthM, true
}

// Ray returns the unit vector from the camera through the pixel.
func (v *View) Ray(px, py float64) geo.Vec3 {
	x := (px - v.CentreX) / v.FocalX
	y := (v.CentreY - py) / v.FocalY
	return v.Forward.Add(v.Right.Scale(x)).Add(v.Up.Scale(y)).Unit()
}

// Project is View.Project for a single point.
func (c Camera) Project(at Pose, point geo.Vec3) (px, py, depthM float64, ok bool) {
	v := c.View(at)
	return v.Project(point)
}

// Ray is View.Ray for a single pixel: the exact inverse of Project up to distance.
func (c Camera) Ray(at Pose, px, py float64) geo.Vec3 {
	v := c.View(at)
	return v.Ray(px, py)
}

// HorizonRow returns the pixel row where the level horizon crosses the picture's centre
// column; the dip and any hills are left out. ok is false when it lies behind or the column
// runs along it.
func (v *View) HorizonRow() (py float64, ok bool) {
	if !(v.Up.Z > 1e-9) {
		return 0, false
	}
	return v.CentreY + v.FocalY*v.Forward.Z/v.Up.Z, true
}
