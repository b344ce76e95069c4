package airspace

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// ParseLevel reads a level as airspace files write them: GND or SFC, UNL or UNLIM, FL 95,
// 2500 ft AMSL, 1000 ft AGL, 300 m MSL. A number without unit is feet, and without
// reference above sea level, as the format has it.
func ParseLevel(text string) (Level, error) {
	bad := func(why string) (Level, error) {
		return Level{}, fmt.Errorf("%q is not a level: %s; write GND, UNLIM, FL 95, 2500 ft AMSL or 1000 ft AGL", text, why)
	}
	t := strings.ToUpper(strings.Join(strings.Fields(text), " "))
	switch t {
	case "GND", "SFC", "GROUND", "SURFACE", "0 AGL", "0 GND", "0 SFC":
		return Ground, nil
	case "UNL", "UNLIM", "UNLIMITED", "UNLTD":
		return Unlimited, nil
	case "":
		return bad("it is empty")
	}
	if rest, ok := strings.CutPrefix(t, "FL"); ok {
		v, err := strconv.ParseFloat(strings.TrimSpace(rest), 64)
		if err != nil || !(v >= 0 && v <= 999) {
			return bad("a flight level is a number from 0 to 999")
		}
		return Level{HeightM: v * 100 * feet, Reference: FlightLevel}, nil
	}
	end := strings.IndexFunc(t, func(r rune) bool { return !strings.ContainsRune("+-.0123456789", r) })
	if end < 0 {
		end = len(t)
	}
	v, err := strconv.ParseFloat(t[:end], 64)
	if err != nil {
		return bad("it begins with no number")
	}
	rest := strings.TrimSpace(t[end:])
	factor := feet
	for _, u := range []struct {
		symbol string
		factor float64
	}{{"FT", feet}, {"F", feet}, {"M", 1}} {
		after, ok := strings.CutPrefix(rest, u.symbol)
		// "M" is metres, "MSL" a reference.
		if ok && (after == "" || after[0] == ' ' || u.symbol == "FT") {
			factor, rest = u.factor, strings.TrimSpace(after)
			break
		}
	}
	l := Level{HeightM: v * factor}
	switch rest {
	case "", "AMSL", "MSL", "ALT", "A":
	case "AGL", "GND", "SFC", "ASFC", "AGND":
		l.Reference = AboveGround
	default:
		return bad(fmt.Sprintf("%q is neither a unit nor AMSL or AGL", rest))
	}
	if !(math.Abs(l.HeightM) <= 1e5) || l.Reference == AboveGround && v < 0 {
		return bad("the number is out of range")
	}
	return l, nil
}

// parsePosition reads "39:06:36 N 119:46:36 W", "39:06.6N 119:46.6W" or decimal degrees.
func parsePosition(text string) (geo.LatLon, error) {
	t := strings.ToUpper(strings.TrimSpace(text))
	split := strings.IndexAny(t, "NS")
	if split < 0 {
		return geo.LatLon{}, fmt.Errorf("%q is not a position: it has no N or S; write 52:13:48 N 013:02:00 E", text)
	}
	lat, errLat := parseAngle(t[:split+1], "N", "S", 90)
	lon, errLon := parseAngle(t[split+1:], "E", "W", 180)
	if errLat != nil {
		return geo.LatLon{}, fmt.Errorf("%q is not a position: latitude %w", text, errLat)
	}
	if errLon != nil {
		return geo.LatLon{}, fmt.Errorf("%q is not a position: longitude %w", text, errLon)
	}
	return geo.LatLon{Lat: lat, Lon: lon}, nil
}

func parseAngle(text, positive, negative string, limit float64) (unit.Angle, error) {
	t := strings.TrimSpace(text)
	sign := 1.0
	rest, ok := strings.CutSuffix(t, positive)
	if !ok {
		if rest, ok = strings.CutSuffix(t, negative); !ok {
			return 0, fmt.Errorf("ends in neither %s nor %s", positive, negative)
		}
		sign = -1
	}
	parts := strings.Split(strings.TrimSpace(rest), ":")
	if len(parts) > 3 {
		return 0, fmt.Errorf("has %d parts; expected degrees:minutes:seconds", len(parts))
	}
	degrees := 0.0
	for i, p := range parts {
		v, err := strconv.ParseFloat(strings.TrimSpace(p), 64)
		if err != nil || !(v >= 0) || i > 0 && v >= 60 || v > 180 {
			return 0, fmt.Errorf("part %q is not a number in range", p)
		}
		if i < len(parts)-1 && v != math.Trunc(v) {
			return 0, fmt.Errorf("part %q has a fraction before the last part", p)
		}
		degrees += v / math.Pow(60, float64(i))
	}
	if degrees > limit {
		return 0, fmt.Errorf("of %g° is beyond %g°", degrees, limit)
	}
	return unit.Angle(sign*degrees) * unit.Degree, nil
}
