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

// Golden and Blue are the photographers' hours by the airless altitude of the sun's centre: common
// practice, no source.
var (
	Golden = Hour{-4 * unit.Degree, 6 * unit.Degree}
	Blue   = Hour{-8 * unit.Degree, -4 * unit.Degree}
)

// Spans returns when, in seconds after from, the airless altitude of the sun lies within the hour.
func (h Hour) Spans(a *Almanac, from Instant, seconds float64) []Span {
	return Spans(func(t float64) float64 {
		altitude := a.sunSight(from.Add(t)).altitude()
		return float64(min(altitude-h.Low, h.High-altitude))
	}, 0, seconds, 120, 0.1)
}

// Ground tells the height of the terrain in the site frame; ok is false outside what is known.
type Ground interface {
	HeightAt(x, y float64) (z float64, ok bool)
}

// CastShadow follows the line from the point away from the sun to the ground and returns where the
// shadow falls. It looks every stepM metres and closes in to a centimetre; a ridge thinner than a
// step can be missed. Nothing is found when the sun is not above the level, the line leaves the
// known ground, or after reachM metres; from under the ground it falls at once.
func CastShadow(from, toSun geo.Vec3, ground Ground, stepM, reachM float64) (geo.Vec3, bool) {
	if toSun.Z <= 0 || !(stepM > 0) {
		return geo.Vec3{}, false
	}
	away := toSun.Unit().Scale(-1)
	above := func(s float64) (float64, bool) {
		p := from.Add(away.Scale(s))
		z, ok := ground.HeightAt(p.X, p.Y)
		return p.Z - z, ok
	}
	last := 0.0
	for i := 0; ; i++ {
		s := math.Min(float64(i)*stepM, reachM)
		h, ok := above(s)
		if !ok {
			return geo.Vec3{}, false
		}
		if h <= 0 {
			for s-last > 0.01 {
				m := (s + last) / 2
				if h, ok := above(m); ok && h > 0 {
					last = m
				} else {
					s = m
				}
			}
			return from.Add(away.Scale(s)), true
		}
		if s >= reachM {
			return geo.Vec3{}, false
		}
		last = s
	}
}

// UmbraM returns how far behind a thing of the given width its full shadow reaches before the
// sun's disc shows on both sides; farther off only a pale blur is left.
func (p Position) UmbraM(widthM float64) float64 {
	return widthM / (2 * math.Tan(float64(p.Semidiameter)))
}
