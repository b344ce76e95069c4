package frame

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/unit"
)

// Aim returns the azimuth and tilt at which a level camera sees the target at the place.
//
// Where the target is so steeply above or below that it cannot sit off the middle line, ok
// is false and the nearest tilt is returned. For a target straight above or below, the
// azimuth is that of the hint.
func Aim(c lens.Camera, from, target geo.Vec3, place Place, hint unit.Angle) (azimuth, tilt unit.Angle, ok bool) {
	tx, ty := halfTangents(c)
	return aim(tx, ty, from, target, place, hint)
}

// The ray through the place is d = forward + X·right + Y·up. Its rise is
// sin(tilt) + Y·cos(tilt) = √(1+Y²)·sin(tilt + atan Y), its part ahead cos(tilt) − Y·sin(tilt),
// its part to the right X: three equations that give tilt, then azimuth.
func aim(tx, ty float64, from, target geo.Vec3, place Place, hint unit.Angle) (azimuth, tilt unit.Angle, ok bool) {
	d := target.Sub(from)
	level := d.Horizontal()
	dist := math.Hypot(level, d.Z)
	if dist == 0 {
		return hint, 0, false
	}
	x, y := (place.X-0.5)*2*tx, (0.5-place.Y)*2*ty
	s := d.Z / dist * math.Sqrt((1+x*x+y*y)/(1+y*y))
	ok = math.Abs(s) <= 1+1e-12
	t := math.Asin(max(-1, min(1, s))) - math.Atan(y)
	if math.Abs(t) > math.Pi/2 {
		t = math.Copysign(math.Pi/2, t)
		ok = false
	}
	azimuth = hint
	if level > 1e-9*dist {
		st, ct := math.Sincos(t)
		azimuth = unit.Angle(math.Atan2(d.X, d.Y) - math.Atan2(x, ct-y*st))
	}
	return azimuth, unit.Angle(t), ok
}

// HorizonTilt returns the tilt of a level camera that shows the horizon at the level.
func HorizonTilt(c lens.Camera, at Level) unit.Angle {
	_, ty := halfTangents(c)
	return unit.Angle(math.Atan((float64(at) - 0.5) * 2 * ty))
}

// elevation returns the angle above the level of the ray through the place, for a tilt,
// and its azimuth from the camera's.
func elevation(tx, ty float64, tilt unit.Angle, place Place) (up, aside float64) {
	x, y := (place.X-0.5)*2*tx, (0.5-place.Y)*2*ty
	st, ct := math.Sincos(float64(tilt))
	return math.Asin((st + y*ct) / math.Sqrt(1+x*x+y*y)), math.Atan2(x, ct-y*st)
}

// View of the subject that is wanted: where from, how large, where in the frame.
type Want struct {
	Bearing unit.Angle // true azimuth from the subject to the camera
	Size    float64    // height of the subject's box as a share of the frame height; 0: DistanceM counts
	Place   Place      // where Anchor lands
	Anchor  Anchor

	// One of these fixes how high the camera is, in this order of precedence.
	Horizon   *Level      // the horizon's place in the frame
	HeightM   *float64    // above the subject's foot
	Elevation *unit.Angle // of the camera seen from the subject's anchor

	DistanceM float64 // from the anchor to the camera, when Size is 0
}

// Anchor is the point of the subject that Place speaks of.
type Anchor int

// Anchors.
const (
	Middle Anchor = iota
	Head
)

func (a Anchor) of(b Box) geo.Vec3 {
	if a == Head {
		return b.Head()
	}
	return b.Centre()
}

// Error says why a framing has no pose, and what comes nearest.
type Error struct {
	What     string  // what cannot be had
	Nearest  string  // what can
	Largest  float64 // the largest size that can be framed, where that is the trouble
	NearestM float64 // the distance at which it is
}

func (e *Error) Error() string { return e.What + "; " + e.Nearest }

// farthest is the greatest distance in metres from which a subject is framed.
const farthest = 20e3

// Compose returns the pose of a level camera that shows the subject as wanted: the exact
// inverse of Look and Extent.
func Compose(c lens.Camera, subject Box, w Want) (lens.Pose, error) {
	if err := c.Check(); err != nil {
		return lens.Pose{}, err
	}
	if !(w.Size >= 0) || w.Size == 0 && !(w.DistanceM > 0) {
		return lens.Pose{}, &Error{What: "neither size nor distance is given", Nearest: "give one of them"}
	}
	if w.Size > 0 && subject.HeightM <= 0 && subject.WidthM <= 0 {
		return lens.Pose{}, &Error{What: "a point fills no share of the frame", Nearest: "give the subject a height, or a distance in place of the size"}
	}
	tx, ty := halfTangents(c)
	anchor := w.Anchor.of(subject)
	at := func(d float64) (lens.Pose, bool) { return w.pose(tx, ty, anchor, subject.Foot.Z, d) }
	if w.Size == 0 {
		p, ok := at(w.DistanceM)
		if !ok {
			return p, w.unplaced(p)
		}
		return p, nil
	}
	// The size falls with distance; walk in from afar to the first distance at which it is
	// met, then close in.
	size := func(d float64) float64 {
		p, _ := at(d)
		v := Look(c, p)
		e, ok := v.Extent(subject)
		if !ok {
			return math.Inf(1)
		}
		return e.Height()
	}
	const pace = 0.9
	far := farthest
	largest, largestAt := 0.0, far
	near := far
	for {
		s := size(near)
		if s >= w.Size {
			break
		}
		if s > largest {
			largest, largestAt = s, near
		}
		far = near
		near *= pace
		if near < 0.05 {
			return lens.Pose{}, &Error{
				What:     fmt.Sprintf("the subject cannot fill %.3g %% of the frame from there", w.Size*100),
				Nearest:  fmt.Sprintf("at most %.3g %%, from %.3g m: come lower, or take a longer lens", largest*100, largestAt),
				Largest:  largest,
				NearestM: largestAt,
			}
		}
	}
	if far == near {
		return lens.Pose{}, &Error{What: fmt.Sprintf("the subject fills %.3g %% of the frame even from %g m", w.Size*100, near), Nearest: "give the subject its true size"}
	}
	for range 200 {
		mid := (near + far) / 2
		if mid <= near || mid >= far || far-near < 1e-13*far {
			break
		}
		if size(mid) >= w.Size {
			near = mid
		} else {
			far = mid
		}
	}
	p, ok := at(near)
	if !ok {
		return p, w.unplaced(p)
	}
	v := Look(c, p)
	if e, seen := v.Extent(subject); !seen || math.Abs(e.Height()-w.Size) > 1e-6 {
		return p, &Error{What: fmt.Sprintf("the subject cannot fill %.3g %% of the frame without touching the camera", w.Size*100),
			Nearest: "take a smaller size"}
	}
	return p, nil
}

func (w Want) unplaced(p lens.Pose) error {
	return &Error{What: fmt.Sprintf("the subject is too steep below or above the camera (tilt %.1f deg) to sit at %s", p.Tilt.Deg(), w.Place),
		Nearest: "put it on the middle line, or move the camera away"}
}

// pose places the camera at distance d (level distance when the height is given).
func (w Want) pose(tx, ty float64, anchor geo.Vec3, footZ, d float64) (lens.Pose, bool) {
	sb, cb := math.Sincos(float64(w.Bearing))
	toward := unit.Angle(float64(w.Bearing) + math.Pi)
	switch {
	case w.Horizon != nil:
		tilt := unit.Angle(math.Atan((float64(*w.Horizon) - 0.5) * 2 * ty))
		up, aside := elevation(tx, ty, tilt, w.Place)
		s, c := math.Sincos(up)
		return lens.Pose{Pos: anchor.Add(geo.Vec3{X: sb * c * d, Y: cb * c * d, Z: -s * d}),
			Azimuth: (toward - unit.Angle(aside)).Wrapped(), Tilt: tilt}, true
	case w.HeightM != nil:
		z := footZ + *w.HeightM
		level := d
		if w.Size == 0 { // d is the true distance
			level = math.Sqrt(max(0, d*d-(z-anchor.Z)*(z-anchor.Z)))
		}
		pos := geo.Vec3{X: anchor.X + sb*level, Y: anchor.Y + cb*level, Z: z}
		az, tilt, ok := aim(tx, ty, pos, anchor, w.Place, toward)
		return lens.Pose{Pos: pos, Azimuth: az.Wrapped(), Tilt: tilt}, ok
	default:
		var el float64
		if w.Elevation != nil {
			el = float64(*w.Elevation)
		}
		s, c := math.Sincos(el)
		pos := anchor.Add(geo.Vec3{X: sb * c * d, Y: cb * c * d, Z: s * d})
		az, tilt, ok := aim(tx, ty, pos, anchor, w.Place, toward)
		return lens.Pose{Pos: pos, Azimuth: az.Wrapped(), Tilt: tilt}, ok
	}
}

// Focal returns the focal length in metres at which the subject, seen from there and held
// at the place, fills the share of the frame height. It is how the same framing is had from
// farther away.
func Focal(c lens.Camera, from geo.Vec3, subject Box, place Place, size float64) (float64, error) {
	if !(size > 0) {
		return 0, &Error{What: "no size is given", Nearest: "give the share of the frame height"}
	}
	at := func(f float64) float64 {
		c.FocalM = f
		az, tilt, _ := Aim(c, from, subject.Centre(), place, 0)
		v := Look(c, lens.Pose{Pos: from, Azimuth: az, Tilt: tilt})
		e, ok := v.Extent(subject)
		if !ok {
			return math.Inf(1)
		}
		return e.Height()
	}
	// Below some focal length a subject off the middle is stretched at the edge of the picture:
	// come down from the longest to the first that shows it smaller than asked.
	low, high := 5.0, 5.0
	for at(low) >= size && low > 1e-3 {
		low, high = 0.9*low, low
	}
	if low == high || low <= 1e-3 {
		return 0, &Error{What: fmt.Sprintf("no lens shows the subject at %.3g %% of the frame from %.3g m", size*100, subject.Centre().Sub(from).Norm()),
			Nearest: "change the distance"}
	}
	for range 200 {
		mid := (low + high) / 2
		if mid <= low || mid >= high {
			break
		}
		if at(mid) < size {
			low = mid
		} else {
			high = mid
		}
	}
	return high, nil
}

// Overhead returns the pose of a camera that looks straight down, the top of its picture
// toward the azimuth, with the subject's middle at the place and either the size (share of
// the frame height) or, when size is 0, the height of the camera above the subject's foot.
func Overhead(c lens.Camera, subject Box, azimuth unit.Angle, place Place, size, heightM float64) (lens.Pose, error) {
	tx, ty := halfTangents(c)
	pose := lens.Pose{Azimuth: azimuth.Wrapped(), Tilt: -math.Pi / 2}
	right, up, forward := pose.Axes()
	ray := forward.Add(right.Scale((place.X - 0.5) * 2 * tx)).Add(up.Scale((0.5 - place.Y) * 2 * ty))
	at := func(depth float64) lens.Pose {
		pose.Pos = subject.Centre().Sub(ray.Scale(depth))
		return pose
	}
	if size == 0 {
		depth := heightM - subject.HeightM/2
		if !(depth > subject.HeightM/2) {
			return at(subject.HeightM), &Error{What: fmt.Sprintf("%.3g m above its foot is inside the subject of %.3g m", heightM, subject.HeightM),
				Nearest: "go higher"}
		}
		return at(depth), nil
	}
	low, high := subject.HeightM/2, farthest
	filled := func(depth float64) float64 {
		v := Look(c, at(depth))
		e, ok := v.Extent(subject)
		if !ok {
			return math.Inf(1)
		}
		return e.Height()
	}
	if filled(low+1e-3) < size {
		return at(high), &Error{What: fmt.Sprintf("a subject of no breadth cannot fill %.3g %% of the frame from above", size*100),
			Nearest: "give it width and depth, or a height for the camera"}
	}
	for range 200 {
		mid := (low + high) / 2
		if mid <= low || mid >= high {
			break
		}
		if filled(mid) > size {
			low = mid
		} else {
			high = mid
		}
	}
	return at(high), nil
}
