// Package frame composes pictures: it finds the camera pose that puts a subject at
// an asked size and place, and says what a pose shows.
//
// Units, axes, signs: site frame x east, y north, z up, metres; azimuths clockwise from
// true north, tilt up positive; shares of the frame count from the left and from the top.
//
// Source: pinhole camera as in R. Hartley and A. Zisserman, "Multiple View Geometry in
// Computer Vision", 2nd ed. (2004), section 6.1; the inverses are derived from it here.
//
// Validity: the inverse of place and horizon is exact, the inverse of size is solved to
// 1e-12 of the distance. The horizon is the level line of sight, for a level camera.
// Not modelled: lens distortion, dip of the sea horizon (0.03° from 1 m up, 0.3° from 100 m, from
// memory), terrain that hides the horizon.
package frame

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

// Box is a subject or another thing that stands on its foot: upright, turned by Facing.
// A point is a Box without sizes.
type Box struct {
	Foot    geo.Vec3   // middle of the underside
	WidthM  float64    // across its facing
	DepthM  float64    // along its facing
	HeightM float64    // above the foot
	Facing  unit.Angle // azimuth its front looks to
}

// Centre returns the middle of the box.
func (b Box) Centre() geo.Vec3 { return b.Foot.Add(geo.Vec3{Z: b.HeightM / 2}) }

// Head returns the middle of the top.
func (b Box) Head() geo.Vec3 { return b.Foot.Add(geo.Vec3{Z: b.HeightM}) }

// RadiusM is half the space diagonal.
func (b Box) RadiusM() float64 {
	return math.Sqrt(b.WidthM*b.WidthM+b.DepthM*b.DepthM+b.HeightM*b.HeightM) / 2
}

// DistanceM is the distance from a point to the nearest point of the box, 0 inside.
func (b Box) DistanceM(p geo.Vec3) float64 {
	d := p.Sub(b.Foot)
	sin, cos := math.Sincos(float64(b.Facing))
	across := math.Abs(d.X*cos-d.Y*sin) - b.WidthM/2
	along := math.Abs(d.X*sin+d.Y*cos) - b.DepthM/2
	up := max(-d.Z, d.Z-b.HeightM)
	return geo.Vec3{X: max(0, across), Y: max(0, along), Z: max(0, up)}.Norm()
}

// Corners returns the eight corners.
func (b Box) Corners() [8]geo.Vec3 {
	s, c := math.Sincos(float64(b.Facing))
	along := geo.Vec3{X: s * b.DepthM / 2, Y: c * b.DepthM / 2}
	across := geo.Vec3{X: c * b.WidthM / 2, Y: -s * b.WidthM / 2}
	var out [8]geo.Vec3
	for i := range out {
		p := b.Foot
		p = p.Add(along.Scale(float64(i&1)*2 - 1))
		p = p.Add(across.Scale(float64(i>>1&1)*2 - 1))
		p.Z += b.HeightM * float64(i>>2&1)
		out[i] = p
	}
	return out
}

// Extent is the upright rectangle around a thing in the picture, in shares of the frame
// from the left and from the top; values outside 0 to 1 lie beyond the edge.
type Extent struct {
	Left   float64 `json:"left"`
	Top    float64 `json:"top"`
	Right  float64 `json:"right"`
	Bottom float64 `json:"bottom"`
}

// Width is the share of the frame width.
func (e Extent) Width() float64 { return e.Right - e.Left }

// Height is the share of the frame height.
func (e Extent) Height() float64 { return e.Bottom - e.Top }

// Inside returns the share of the extent's area that lies in the frame; of an extent
// without area, 1 where its middle is in the frame.
func (e Extent) Inside() float64 {
	share := func(low, high float64) float64 {
		if high-low < 1e-12 {
			if low >= 0 && low <= 1 {
				return 1
			}
			return 0
		}
		return max(0, min(high, 1)-max(low, 0)) / (high - low)
	}
	return share(e.Left, e.Right) * share(e.Top, e.Bottom)
}

// View is a camera in a pose, ready to project into shares of the frame.
type View struct {
	pos, right, up, forward geo.Vec3
	tanX, tanY              float64 // half the frame over the focal length
}

// halfTangents returns half the frame's width and height over the focal length.
func halfTangents(c lens.Camera) (x, y float64) {
	fx, fy := c.FocalPixels()
	return float64(c.PixelsW) / 2 / fx, float64(c.PixelsH) / 2 / fy
}

// Look fixes a camera in a pose.
func Look(c lens.Camera, at lens.Pose) View {
	v := View{pos: at.Pos}
	v.right, v.up, v.forward = at.Axes()
	v.tanX, v.tanY = halfTangents(c)
	return v
}

// nearest is the smallest depth in metres in front of the camera.
const nearest = 1e-6

// Point returns where a point lands, and its depth; ok is false beside or behind the camera.
func (v *View) Point(p geo.Vec3) (place Place, depthM float64, ok bool) {
	return v.Direction(p.Sub(v.pos))
}

// Direction is Point for something very far away, such as the sun.
func (v *View) Direction(d geo.Vec3) (place Place, depth float64, ok bool) {
	depth = d.Dot(v.forward)
	if !(depth > nearest) {
		return Place{}, depth, false
	}
	return Place{0.5 + d.Dot(v.right)/(2*v.tanX*depth), 0.5 - d.Dot(v.up)/(2*v.tanY*depth)}, depth, true
}

// Extent returns the rectangle around the box; ok is false when a corner is beside or
// behind the camera.
func (v *View) Extent(b Box) (e Extent, ok bool) {
	if b.WidthM == 0 && b.DepthM == 0 && b.HeightM == 0 {
		p, _, ok := v.Point(b.Foot)
		return Extent{p.X, p.Y, p.X, p.Y}, ok
	}
	e = Extent{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, corner := range b.Corners() {
		p, _, ok := v.Point(corner)
		if !ok {
			return Extent{}, false
		}
		e.Left, e.Right = min(e.Left, p.X), max(e.Right, p.X)
		e.Top, e.Bottom = min(e.Top, p.Y), max(e.Bottom, p.Y)
	}
	return e, true
}

// Horizon returns where the level line of sight crosses the left and right edges of the
// frame, as shares from the top; ok is false when the camera looks straight up or down, or
// the line runs upright.
func (v *View) Horizon() (left, right Level, ok bool) {
	// A direction forward + X·right + Y·up is level where its z is 0.
	if math.Abs(v.up.Z) < 1e-9 {
		return 0, 0, false
	}
	at := func(x float64) Level {
		y := -(v.forward.Z + x*v.right.Z) / v.up.Z
		return Level(0.5 - y/(2*v.tanY))
	}
	return at(-v.tanX), at(v.tanX), true
}
