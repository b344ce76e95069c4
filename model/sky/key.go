package sky

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Key is where the sun's light comes from, as a camera sees its subject.
type Key struct {
	Side     unit.Angle // 0 from behind the camera, positive from camera right, ±180° toward the lens
	Height   unit.Angle // altitude of the sun
	FromAxis unit.Angle // between the lens axis and the sun, 0 when the lens looks into it
}

// Key returns the direction of the body's light for a lens that looks along axis (any length). If
// the lens looks straight up or down, top-down as in a map shot, Side is measured from up, the
// direction of the picture's upper edge in the level plane (zero up means north).
func (p Position) Key(axis, up geo.Vec3) Key {
	sun := p.Direction()
	look := axis
	if axis.Horizontal() < 1e-6*axis.Norm() {
		look = up
		if up.Horizontal() == 0 {
			look = geo.Vec3{Y: 1}
		}
	}
	back := unit.Angle(math.Atan2(-look.X, -look.Y)) // azimuth from the subject to the camera
	return Key{
		// Camera right is clockwise from the lens axis, so anticlockwise from its back.
		Side:     (back - p.Azimuth).Signed(),
		Height:   p.Altitude,
		FromAxis: unit.Angle(math.Atan2(axis.Cross(sun).Norm(), axis.Dot(sun))),
	}
}

// Light is the director's word for a direction of light.
type Light string

// The words and where they hold: common practice, no source; the limits are 30° about front and
// back, side light from 60° to 120°, top light above 60°.
const (
	FrontLight        Light = "front"
	ThreeQuarterLeft  Light = "three-quarter left"
	ThreeQuarterRight Light = "three-quarter right"
	SideLeft          Light = "side left"
	SideRight         Light = "side right"
	BackThreeQuarterL Light = "three-quarter back left"
	BackThreeQuarterR Light = "three-quarter back right"
	BackLight         Light = "back"
	TopLight          Light = "top"
	NoSun             Light = "no sun"
)

// Light returns the word for the key.
func (k Key) Light() Light {
	side := k.Side.Deg()
	right := side >= 0
	either := func(l, r Light) Light {
		if right {
			return r
		}
		return l
	}
	switch a := math.Abs(side); {
	case k.Height <= 0:
		return NoSun
	case k.Height > 60*unit.Degree:
		return TopLight
	case a <= 30:
		return FrontLight
	case a < 60:
		return either(ThreeQuarterLeft, ThreeQuarterRight)
	case a <= 120:
		return either(SideLeft, SideRight)
	case a < 150:
		return either(BackThreeQuarterL, BackThreeQuarterR)
	}
	return BackLight
}

// Hour is a stretch of the day named by the sun's altitude.
type Hour struct{ Low, High unit.Angle }

// Golden and Blue are the photographers' hours by the altitude of the sun's centre: common
// practice, no source.
var (
	Golden = Hour{-4 * unit.Degree, 6 * unit.Degree}
	Blue   = Hour{-6 * unit.Degree, -4 * unit.Degree}
)

// Spans returns when, in seconds after from, the airless altitude of the sun lies within the hour.
func (h Hour) Spans(a *Almanac, from Instant, seconds float64) []Span {
	return Spans(func(t float64) float64 {
		altitude := a.sunSight(from.Add(t)).altitude()
		return float64(min(altitude-h.Low, h.High-altitude))
	}, 0, seconds, 120, 0.1)
}

// UmbraM returns how far behind a thing of the given width its full shadow reaches before the
// sun's disc shows on both sides; farther off only a pale blur is left.
func (p Position) UmbraM(widthM float64) float64 {
	return widthM / (2 * math.Tan(float64(p.Semidiameter)))
}
