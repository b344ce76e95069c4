// Package air computes the state of the atmosphere at an aircraft and the wind
// that it meets: density, density altitude, wind with height, gusts, and the
// weather that is valid at a time.
//
// Units and axes: SI throughout; wind direction is where the wind comes from, a
// unit.Angle clockwise from true north; wind vectors point where the air goes, in
// the site frame (x east, y north, z up). Atmosphere heights are geopotential
// metres above mean sea level; wind heights are metres above ground.
//
// Source: ISO 2533:1975 and ICAO Doc 7488/3 (standard atmosphere); WMO-No. 8
// (vapour pressure, roughness classes); IEC 61400-1 (power law). Each function
// names its own.
//
// Valid from -1,000 m to 11,000 m and -80 °C to 60 °C; moist density within 0.08 % of
// CIPM-2007 between 0 °C and 40 °C at 600 hPa to 1,050 hPa. Wind profiles hold over
// level, uniform ground in the lowest 100 m to 150 m.
//
// Not modelled: the stratosphere, speed-up over ridges, channelling, eddies
// behind obstacles, thermals, icing.
package air

import (
	"fmt"
	"math"
)

// Constants of the standard atmosphere, ISO 2533:1975 table 1 and ICAO Doc 7488/3.
const (
	StandardTemperatureK = 288.15
	StandardPressurePa   = 101325.0
	StandardDensity      = 1.225     // kg/m³
	LapseRateKM          = 0.0065    // K/m, troposphere
	GravityMS2           = 9.80665   // standard acceleration of free fall
	GasConstantDry       = 287.05287 // J/(kg K)
	GasConstantVapour    = 461.495   // J/(kg K), water vapour
	earthRadiusM         = 6356766.0 // nominal, for geopotential height
	pressureExponent     = GravityMS2 / (GasConstantDry * LapseRateKM)
)

// Geopotential turns a geometric height into geopotential height, both in metres.
// The difference is 0.6 m at 2,000 m. Source: ISO 2533:1975, equation 8.
func Geopotential(geometricM float64) float64 {
	return earthRadiusM * geometricM / (earthRadiusM + geometricM)
}

// State is the air at one place.
type State struct {
	TemperatureK float64
	PressurePa   float64
	Humidity     float64 // relative, 0 to 1
}

// Standard returns the dry standard atmosphere at a geopotential height in the
// troposphere; heights outside [-1,000 m, 11,000 m] are held at the nearer end.
// Source: ISO 2533:1975.
func Standard(heightM float64) State {
	heightM = math.Max(-1000, math.Min(11000, heightM))
	t := StandardTemperatureK - LapseRateKM*heightM
	return State{TemperatureK: t, PressurePa: StandardPressurePa * math.Pow(t/StandardTemperatureK, pressureExponent)}
}

// Check reports the first value outside the range in which this package holds.
func (s State) Check() error {
	switch {
	case !(s.TemperatureK >= 193.15 && s.TemperatureK <= 333.15):
		return fmt.Errorf("air temperature %.4g C is outside -80 C to 60 C: check the number and its unit", s.TemperatureK-273.15)
	case !(s.PressurePa >= 20000 && s.PressurePa <= 110000):
		return fmt.Errorf("air pressure %.5g hPa is outside 200 hPa to 1100 hPa: check the number and its unit", s.PressurePa/100)
	case !(s.Humidity >= 0 && s.Humidity <= 1):
		return fmt.Errorf("relative humidity %.4g %% is outside 0 %% to 100 %%", s.Humidity*100)
	}
	return nil
}

// SaturationPressure returns the saturation vapour pressure over water in Pa by the
// Magnus form. Source: Sonntag 1990, as in WMO-No. 8 part I annex 4.B.
func SaturationPressure(temperatureK float64) float64 {
	t := temperatureK - 273.15
	return 611.2 * math.Exp(17.62*t/(243.12+t))
}

// Humidity returns relative humidity (0 to 1) from temperature and dew point.
func Humidity(temperatureK, dewPointK float64) float64 {
	return math.Min(1, SaturationPressure(dewPointK)/SaturationPressure(temperatureK))
}

// Density returns the density of moist air in kg/m³: dry air and vapour as ideal gases
// (Dalton's law).
func (s State) Density() float64 {
	e := math.Min(s.Humidity*SaturationPressure(s.TemperatureK), s.PressurePa)
	return (s.PressurePa-e)/(GasConstantDry*s.TemperatureK) + e/(GasConstantVapour*s.TemperatureK)
}

// DensityAltitude returns the height in metres at which the standard atmosphere has
// the given density in kg/m³. Source: ISO 2533 solved for height; for an aircraft this
// is the height at which its rotors feel they fly.
func DensityAltitude(density float64) float64 {
	return StandardTemperatureK / LapseRateKM * (1 - math.Pow(density/StandardDensity, 1/(pressureExponent-1)))
}

// PressureAltitude returns the height in metres at which the standard atmosphere has
// the given pressure.
func PressureAltitude(pressurePa float64) float64 {
	return StandardTemperatureK / LapseRateKM * (1 - math.Pow(pressurePa/StandardPressurePa, 1/pressureExponent))
}

// StationPressure returns the pressure at an elevation from the altimeter setting
// (QNH): the pressure at which an altimeter set to QNH shows the elevation. By that
// definition elevation goes straight into the standard atmosphere, without the
// geopotential correction. Source: ICAO Doc 7488/3; ICAO Annex 3, definition of QNH.
func StationPressure(qnhPa, elevationM float64) float64 {
	base := math.Pow(qnhPa/StandardPressurePa, 1/pressureExponent) - LapseRateKM*elevationM/StandardTemperatureK
	return StandardPressurePa * math.Pow(math.Max(0, base), pressureExponent)
}

// Day is the air over a site: what was measured or forecast at the site's elevation.
type Day struct {
	ElevationM float64 // above sea level, -500 m to 6,000 m
	Ground     State   // air at the elevation; pressure is the station's, not QNH
}

// NewDay builds a Day from what a report gives: temperature at the site and QNH.
func NewDay(elevationM, temperatureK, qnhPa, humidity float64) (Day, error) {
	if !(elevationM >= -500 && elevationM <= 6000) {
		return Day{}, fmt.Errorf("elevation %.6g m is outside -500 m to 6000 m", elevationM)
	}
	if !(qnhPa >= 85000 && qnhPa <= 110000) {
		return Day{}, fmt.Errorf("altimeter setting %.5g hPa is outside 850 hPa to 1100 hPa: give the pressure reduced to sea level (QNH), not the pressure at the site", qnhPa/100)
	}
	d := Day{elevationM, State{temperatureK, StationPressure(qnhPa, elevationM), humidity}}
	return d, d.Ground.Check()
}

// At returns the air at a height above sea level on this day: standard lapse rate from
// the ground's temperature, pressure in hydrostatic balance with it, and the ground's
// relative humidity.
func (d Day) At(heightM float64) State {
	t0 := d.Ground.TemperatureK
	t := math.Max(150, t0-LapseRateKM*(heightM-d.ElevationM))
	return State{t, d.Ground.PressurePa * math.Pow(t/t0, pressureExponent), d.Ground.Humidity}
}
