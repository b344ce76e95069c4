// Package unit holds the physical quantities that cross a border of the
// program: a shoot file, a flag, a printed page. Each is a float64 in its SI
// base or derived unit, so arithmetic needs no conversion; the unit appears only
// where a person reads or types.
//
// Parsing wants a unit: "35 mm" is a length, "35" is an error. Accepted spellings
// are the unit's symbol, with or without a space between number and symbol.
// Conversion factors: the international foot, pound, nautical mile and statute mile are
// exact by definition (NIST SP 811, appendix B).
package unit

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"
)

// Angle is a plane angle in radians.
type Angle float64

// Length is a distance in metres.
type Length float64

// Speed is in metres per second.
type Speed float64

// Acceleration is in metres per second squared.
type Acceleration float64

// AngularRate is in radians per second.
type AngularRate float64

// Mass is in kilograms.
type Mass float64

// Temperature is thermodynamic temperature in kelvin.
type Temperature float64

// Pressure is in pascal.
type Pressure float64

// Power is in watts.
type Power float64

// Energy is in joules.
type Energy float64

// Charge is electric charge in coulombs (1 Ah = 3600 C).
type Charge float64

// Voltage is in volts.
type Voltage float64

// Resistance is in ohms.
type Resistance float64

// Torque is in newton metres.
type Torque float64

// Frequency is in hertz.
type Frequency float64

// Duration is in seconds, fractions allowed.
type Duration float64

// Illuminance is in lux.
type Illuminance float64

// Gain is a power ratio in decibels (dB or, for antennas, dBi).
type Gain float64

// Density is mass density in kilograms per cubic metre.
type Density float64

// Ratio is a pure number; "30 %" is 0.3.
type Ratio float64

// BitRate is in bits per second.
type BitRate float64

// DataSize is in bytes (decimal multiples: 1 GB = 1e9 bytes).
type DataSize float64

// ColorTemperature is a correlated colour temperature in kelvin.
type ColorTemperature float64

// PeopleDensity is in people per square metre; "300/km2" is 3e-4.
type PeopleDensity float64

// Degree is one degree of arc, exact to the last bit of a float64.
const Degree Angle = math.Pi / 180

// Deg returns a in degrees.
func (a Angle) Deg() float64 { return float64(a) * (180 / math.Pi) }

// Wrapped returns the angle in [0, 2π).
func (a Angle) Wrapped() Angle {
	w := math.Mod(float64(a), 2*math.Pi)
	if w < 0 {
		w += 2 * math.Pi
	}
	if w >= 2*math.Pi {
		w = 0
	}
	return Angle(w)
}

// Signed returns the angle in [-π, π).
func (a Angle) Signed() Angle {
	return Angle(math.Pi) - (Angle(math.Pi) - a).Wrapped()
}

// Celsius returns t in degrees Celsius.
func (t Temperature) Celsius() float64 { return float64(t) - 273.15 }

// Hectopascals returns p in hPa.
func (p Pressure) Hectopascals() float64 { return float64(p) / 100 }

// WattHours returns e in Wh.
func (e Energy) WattHours() float64 { return float64(e) / 3600 }

// Grams returns m in grams.
func (m Mass) Grams() float64 { return float64(m) * 1000 }

// Millimetres returns l in millimetres.
func (l Length) Millimetres() float64 { return float64(l) * 1000 }

// Error says which text could not be read as which quantity, and what would do.
type Error struct {
	Quantity string   // "length"
	Text     string   // what was typed
	Reason   string   // what is wrong with it
	Units    []string // accepted symbols, sorted
}

func (e *Error) Error() string {
	article := "a"
	if strings.IndexAny(e.Quantity, "aeiou") == 0 {
		article = "an"
	}
	return fmt.Sprintf("%q is not %s %s: %s; write a number and one of %s",
		e.Text, article, e.Quantity, e.Reason, strings.Join(e.Units, ", "))
}

// dimension is the table of symbols for one quantity: value_SI = number*factor + offset.
type dimension struct {
	name  string
	units map[string]scale
}

type scale struct{ factor, offset float64 }

func by(factor float64) scale { return scale{factor: factor} }

const (
	foot         = 0.3048
	inch         = 0.0254
	mile         = 1609.344
	nauticalMile = 1852
	pound        = 0.45359237
	gravity      = 9.80665
)

var (
	angles = dimension{"angle", map[string]scale{"deg": by(float64(Degree)), "°": by(float64(Degree)), "rad": by(1)}}
	length = dimension{"length", map[string]scale{"m": by(1), "km": by(1000), "cm": by(0.01), "mm": by(1e-3), "um": by(1e-6), "µm": by(1e-6),
		"ft": by(foot), "in": by(inch), "NM": by(nauticalMile), "mi": by(mile)}}
	speed = dimension{"speed", map[string]scale{"m/s": by(1), "km/h": by(1 / 3.6), "kt": by(nauticalMile / 3600.0), "mph": by(mile / 3600), "ft/min": by(foot / 60)}}
	accel = dimension{"acceleration", map[string]scale{"m/s2": by(1), "m/s²": by(1)}}
	rate  = dimension{"angular rate", map[string]scale{"deg/s": by(float64(Degree)), "°/s": by(float64(Degree)), "rad/s": by(1)}}
	mass  = dimension{"mass", map[string]scale{"kg": by(1), "g": by(1e-3), "lb": by(pound), "oz": by(pound / 16)}}
	temp  = dimension{"temperature", map[string]scale{"C": {1, 273.15}, "°C": {1, 273.15}, "K": by(1),
		"F": {5.0 / 9, 273.15 - 32*5.0/9}, "°F": {5.0 / 9, 273.15 - 32*5.0/9}}}
	pressure   = dimension{"pressure", map[string]scale{"hPa": by(100), "Pa": by(1), "kPa": by(1000), "mbar": by(100), "inHg": by(3386.389)}}
	power      = dimension{"power", map[string]scale{"W": by(1), "mW": by(1e-3), "kW": by(1000)}}
	energy     = dimension{"energy", map[string]scale{"Wh": by(3600), "kWh": by(3.6e6), "J": by(1), "kJ": by(1000)}}
	charge     = dimension{"charge", map[string]scale{"Ah": by(3600), "mAh": by(3.6)}}
	voltage    = dimension{"voltage", map[string]scale{"V": by(1), "mV": by(1e-3)}}
	resistance = dimension{"resistance", map[string]scale{"ohm": by(1), "Ω": by(1), "mohm": by(1e-3), "mΩ": by(1e-3)}}
	torque     = dimension{"torque", map[string]scale{"N m": by(1), "Nm": by(1), "N mm": by(1e-3), "Nmm": by(1e-3), "g cm": by(gravity * 1e-5)}}
	frequency  = dimension{"frequency", map[string]scale{"Hz": by(1), "kHz": by(1e3), "MHz": by(1e6), "GHz": by(1e9), "fps": by(1)}}
	duration   = dimension{"duration", map[string]scale{"s": by(1), "ms": by(1e-3), "min": by(60), "h": by(3600)}}
	illum      = dimension{"illuminance", map[string]scale{"lx": by(1), "klx": by(1000), "fc": by(1 / (foot * foot))}}
	gain       = dimension{"gain", map[string]scale{"dB": by(1), "dBi": by(1)}}
	density    = dimension{"density", map[string]scale{"kg/m3": by(1), "kg/m³": by(1)}}
	ratio      = dimension{"ratio", map[string]scale{"%": by(0.01), "": by(1)}}
	bitRate    = dimension{"bit rate", map[string]scale{"Mbit/s": by(1e6), "kbit/s": by(1e3), "Gbit/s": by(1e9)}}
	dataSize   = dimension{"data size", map[string]scale{"GB": by(1e9), "MB": by(1e6), "TB": by(1e12)}}
	colorTemp  = dimension{"colour temperature", map[string]scale{"K": by(1)}}
	people     = dimension{"density of people", map[string]scale{"/km2": by(1e-6), "/km²": by(1e-6), "people/km2": by(1e-6), "people/km²": by(1e-6)}}
)

func (d dimension) symbols() []string {
	s := make([]string, 0, len(d.units))
	for u := range d.units {
		if u == "" {
			u = "no unit"
		}
		s = append(s, u)
	}
	sort.Strings(s)
	return s
}

var errNumber = errors.New("no number found")

// split separates "35 mm" into 35 and "mm"; a fraction "1/60 s" is a number too.
func split(s string) (float64, string, error) {
	s = strings.TrimSpace(s)
	end := 0
	for end < len(s) && (s[end] >= '0' && s[end] <= '9' || strings.IndexByte("+-.", s[end]) >= 0 ||
		(s[end] == 'e' || s[end] == 'E') && end > 0 && end+1 < len(s) && (s[end+1] >= '0' && s[end+1] <= '9' || s[end+1] == '-' || s[end+1] == '+')) {
		end++
	}
	if end == 0 {
		return 0, "", errNumber
	}
	value, err := strconv.ParseFloat(s[:end], 64)
	if err != nil {
		return 0, "", errNumber
	}
	rest := s[end:]
	if strings.HasPrefix(rest, "/") {
		stop := 1
		for stop < len(rest) && (rest[stop] >= '0' && rest[stop] <= '9' || rest[stop] == '.') {
			stop++
		}
		if stop > 1 {
			divisor, err := strconv.ParseFloat(rest[1:stop], 64)
			if err != nil || divisor == 0 {
				return 0, "", errNumber
			}
			value /= divisor
			rest = rest[stop:]
		}
	}
	return value, strings.TrimSpace(rest), nil
}

func (d dimension) parse(text string) (float64, error) {
	value, symbol, err := split(text)
	if err != nil {
		return 0, &Error{d.name, text, err.Error(), d.symbols()}
	}
	s, ok := d.units[symbol]
	if !ok {
		reason := fmt.Sprintf("unknown unit %q", symbol)
		if symbol == "" {
			reason = "the unit is missing"
		}
		return 0, &Error{d.name, text, reason, d.symbols()}
	}
	value = value*s.factor + s.offset
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return 0, &Error{d.name, text, "the number is out of range", d.symbols()}
	}
	return value, nil
}

// format writes a value (SI) in the named unit with the shortest exact-looking digits,
// at most six significant. It panics on a symbol that the quantity does not have:
// symbols are chosen in code, never by a user.
func (d dimension) format(si float64, symbol string) string {
	s, ok := d.units[symbol]
	if !ok {
		panic("unit: no symbol " + symbol + " for " + d.name)
	}
	text := strconv.FormatFloat((si-s.offset)/s.factor, 'g', 6, 64)
	if strings.ContainsAny(text, "e") {
		text = strconv.FormatFloat((si-s.offset)/s.factor, 'f', -1, 64)
	}
	return strings.TrimSpace(text + " " + symbol)
}
