package sky

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// observer is a place reduced to what the diurnal motion needs, worked out once.
type observer struct {
	sinLat, cosLat float64
	axis, equator  float64 // ρ sin φ', ρ cos φ': distance from the equator's plane and from the axis, Earth radii
	longitude      float64
}

// newObserver applies SPA eq. 34 to 36.
func newObserver(p Place) observer {
	sin, cos := math.Sincos(float64(p.Latitude))
	u := math.Atan2(flattening*sin, cos)
	h := p.HeightM / earthRadiusM
	return observer{sin, cos, flattening*math.Sin(u) + h*sin, math.Cos(u) + h*cos, float64(p.Longitude)}
}

// sight is the line from the place to a body's centre in Earth radii: east, north, up.
type sight struct{ east, north, up float64 }

// see subtracts the place from the body and turns the difference into the level frame.
// In vectors this is the rigorous parallax and the altitude and azimuth of
// SPA eq. 37 to 46.
func (o observer) see(b equatorial, sidereal float64) sight {
	sinH, cosH := math.Sincos(math.Mod(sidereal+o.longitude-b.ra, 2*math.Pi))
	sinD, cosD := math.Sincos(b.dec)
	r := b.distance * cosD
	return o.level(r*cosH, -r*sinH, b.distance*sinD)
}

// level takes a geocentric vector along the local meridian's equator point, the east
// and the pole.
func (o observer) level(meridian, east, pole float64) sight {
	meridian -= o.equator
	pole -= o.axis
	return sight{east, pole*o.cosLat - meridian*o.sinLat, meridian*o.cosLat + pole*o.sinLat}
}

func (s sight) distance() float64 {
	return math.Sqrt(s.east*s.east + s.north*s.north + s.up*s.up)
}

// direction returns the unit vector without refraction.
func (s sight) direction() geo.Vec3 {
	k := 1 / s.distance()
	return geo.Vec3{X: s.east * k, Y: s.north * k, Z: s.up * k}
}

// position adds refraction and the disc; radius is the body's in Earth radii.
func (s sight) position(p *Place, radius float64) Position {
	d := s.distance()
	altitude := math.Asin(max(-1, min(1, s.up/d)))
	azimuth := math.Atan2(s.east, s.north)
	if azimuth < 0 {
		azimuth += 2 * math.Pi
	}
	return Position{
		Altitude:        unit.Angle(altitude + refraction(altitude, p.PressurePa, p.TemperatureK)),
		AirlessAltitude: unit.Angle(altitude),
		Azimuth:         unit.Angle(azimuth),
		DistanceM:       d * earthRadiusM,
		Semidiameter:    unit.Angle(smallAsin(radius / d)),
	}
}

// smallAsin is the arcsine of a value under 0.01, to 1e-10 of it.
func smallAsin(x float64) float64 { return x + x*x*x/6 }

const (
	// lastRefracted is the airless altitude of the centre at sunrise, below which the SPA
	// paper applies no refraction (3.14.2).
	lastRefracted = -0.8333 * deg
	// unrefracted is where the fade below it ends.
	unrefracted = -6 * deg
)

// Refraction returns by how much the air lifts a body at an airless altitude (Sæmundsson,
// Sky & Telescope 72, 1986; SPA eq. 42), never negative. Good to about 0.1' above 5° and to
// several arcminutes at the horizon, where the real air varies as much. Below
// -0.8333°, where the paper drops it to nothing in one step, it fades to zero at -6°: no model
// holds there, and a track without a step is easier to search.
func Refraction(airless unit.Angle, pressurePa, temperatureK float64) unit.Angle {
	return unit.Angle(refraction(float64(airless), pressurePa, temperatureK))
}

func refraction(h, pressurePa, temperatureK float64) float64 {
	if pressurePa <= 0 || h <= unrefracted {
		return 0
	}
	fade := 1.0
	if h < lastRefracted {
		fade = (h - unrefracted) / (lastRefracted - unrefracted)
		h = lastRefracted
	}
	hd := h / deg
	r := 1.02 / 60 * deg / math.Tan((hd+10.3/(hd+5.11))*deg)
	// 273 + T with T in Celsius, as the paper writes it.
	return max(0, fade*r*(pressurePa/101000)*(283/(temperatureK-0.15)))
}
