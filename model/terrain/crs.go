package terrain

import (
	"fmt"
	"strconv"
	"strings"

	"fieldfare/model/geo"
)

// CRS is a coordinate system that elevation files may use: WGS84 in degrees or UTM. Its
// zero value is no system at all. Make one with EPSG or ParseCRS.
type CRS struct {
	code int
	tm   geo.TransverseMercator // unless geographic
}

// EPSG returns the system with an EPSG code: 4326 (or 4258, 4269) and
// the UTM zones 32601-32660, 32701-32760, 25828-25838, 26901-26923.
func EPSG(code int) (CRS, error) {
	zone, north := 0, true
	switch {
	case code == 4326 || code == 4258 || code == 4269:
		return CRS{code: code}, nil
	case code > 32600 && code <= 32660:
		zone = code - 32600
	case code > 32700 && code <= 32760:
		zone, north = code-32700, false
	case code >= 25828 && code <= 25838:
		zone = code - 25800
	case code >= 26901 && code <= 26923:
		zone = code - 26900
	default:
		return CRS{}, fmt.Errorf("coordinate system EPSG:%d is not supported: expected EPSG:4326 or a UTM zone (EPSG:32601-32660, 32701-32760); "+
			"convert the file, for example with gdalwarp -t_srs EPSG:4326 -r bilinear", code)
	}
	tm, err := geo.UTMProjection(zone, north)
	return CRS{code, tm}, err
}

// ParseCRS reads "EPSG:32632".
func ParseCRS(text string) (CRS, error) {
	digits, found := strings.CutPrefix(strings.ToUpper(strings.TrimSpace(text)), "EPSG:")
	code, err := strconv.Atoi(digits)
	if !found || err != nil {
		return CRS{}, fmt.Errorf("coordinate system %q: expected EPSG: and a number, for example EPSG:32632", text)
	}
	return EPSG(code)
}

// String returns the EPSG code.
func (c CRS) String() string {
	if c.code == 0 {
		return "no coordinate system"
	}
	return "EPSG:" + strconv.Itoa(c.code)
}

// Code returns the EPSG code, 0 for none.
func (c CRS) Code() int { return c.code }

// Geographic reports whether coordinates are longitude and latitude in degrees.
func (c CRS) Geographic() bool { return c.code == 4326 || c.code == 4258 || c.code == 4269 }

// Forward returns the coordinates of p: degrees east and north, or metres.
func (c CRS) Forward(p geo.LatLon) (x, y float64) {
	if c.Geographic() {
		return p.Lon.Deg(), p.Lat.Deg()
	}
	return c.tm.Forward(p)
}

// Inverse returns the position of a coordinate pair.
func (c CRS) Inverse(x, y float64) geo.LatLon {
	if c.Geographic() {
		p := geo.Degrees(y, x)
		p.Lon = p.Lon.Signed()
		return p
	}
	return c.tm.Inverse(x, y)
}
