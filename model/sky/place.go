package sky

import (
	"fmt"
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Place is where the sky is seen from, and the air that bends its light.
type Place struct {
	Latitude     unit.Angle // geodetic, north positive
	Longitude    unit.Angle // east positive
	HeightM      float64    // above sea level, taken as above the ellipsoid
	PressurePa   float64    // at the place, not reduced to sea level; 0 means no refraction
	TemperatureK float64
}

// NewPlace returns a place with the pressure and temperature of the standard atmosphere
// (ISO 2533) at its height. Latitude within ±90°, longitude within ±180°, height -500 to 11,000 m.
func NewPlace(latitude, longitude unit.Angle, heightM float64) (Place, error) {
	temperature := 288.15 - 0.0065*heightM
	p := Place{latitude, longitude, heightM, 101325 * math.Pow(temperature/288.15, 5.25588), temperature}
	return p, p.Check()
}

// Check says what is wrong with the place's numbers, if anything is.
func (p Place) Check() error {
	switch {
	case !(math.Abs(p.Latitude.Deg()) <= 90+1e-12):
		return fmt.Errorf("latitude %g deg is outside -90 to 90: give north as positive", p.Latitude.Deg())
	case !(math.Abs(p.Longitude.Deg()) <= 180+1e-12):
		return fmt.Errorf("longitude %g deg is outside -180 to 180: give east as positive", p.Longitude.Deg())
	case !(p.HeightM >= -500 && p.HeightM <= 11000):
		return fmt.Errorf("height %g m is outside -500 to 11000 m", p.HeightM)
	case !(p.PressurePa >= 0 && p.PressurePa <= 110000):
		return fmt.Errorf("pressure %g hPa is outside 0 to 1100 hPa", p.PressurePa/100)
	case p.PressurePa > 0 && !(p.TemperatureK >= 173 && p.TemperatureK <= 333):
		return fmt.Errorf("air temperature %.2f C is outside -100 to 60 C", p.TemperatureK-273.15)
	}
	return nil
}

// Position is where a body stands in the sky of a place.
type Position struct {
	Altitude        unit.Angle // of the centre above the level horizon, refraction included
	AirlessAltitude unit.Angle // the same without refraction
	Azimuth         unit.Angle // from true north through east, [0, 2π)
	DistanceM       float64    // from the place
	Semidiameter    unit.Angle // angular radius of the disc
}

// Zenith returns the angle from the vertical, refraction included.
func (p Position) Zenith() unit.Angle { return math.Pi/2 - p.Altitude }

// Direction returns the unit vector toward the body in the site frame, refraction included.
func (p Position) Direction() geo.Vec3 {
	return direction(float64(p.Azimuth), float64(p.Altitude))
}

func direction(azimuth, altitude float64) geo.Vec3 {
	sinA, cosA := math.Sincos(azimuth)
	sinH, cosH := math.Sincos(altitude)
	return geo.Vec3{X: sinA * cosH, Y: cosA * cosH, Z: sinH}
}

// Surface returns the outward normal of a plane tilted by slope from level, 0 to 90° and
// more, facing azimuth.
func Surface(slope, azimuth unit.Angle) geo.Vec3 {
	return direction(float64(azimuth), math.Pi/2-float64(slope))
}

// Sun returns the topocentric position of the sun by the full algorithm
// (Reda and Andreas, NREL/TP-560-34302, 2008).
func (p Place) Sun(at Instant) Position {
	o := at.orientation()
	return newObserver(p).see(at.sun(o), o.sidereal).position(&p, sunRadius)
}

// Moon returns the topocentric position of the moon (Meeus, Astronomical Algorithms,
// chapters 22, 40 and 47).
func (p Place) Moon(at Instant) Position {
	o := at.orientation()
	return newObserver(p).see(at.moon(o), o.sidereal).position(&p, moonRadius)
}
