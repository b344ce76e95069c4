package terrain

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// CRS is a coordinate system that files may use: WGS84 in degrees, UTM, or the Mercator of web maps. Its
// zero value is no system at all. Make one with EPSG or ParseCRS.
type CRS struct {
	code int
	tm   geo.TransverseMercator // unless geographic
}

// epsgWebMercator is the projection of web maps: the sphere's Mercator formulas applied to WGS84 latitudes
// (EPSG Guidance Note 7-2, method 1024).
const epsgWebMercator = 3857

// EPSG returns the system with an EPSG code: 4326 (or 4258, 4269), 3857 and
// the UTM zones 32601-32660, 32701-32760, 25828-25838, 26901-26923.
func EPSG(code int) (CRS, error) {
	zone, north := 0, true
	switch {
	case code == 4326 || code == 4258 || code == 4269 || code == epsgWebMercator:
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
		return CRS{}, fmt.Errorf("coordinate system EPSG:%d is not supported: expected EPSG:4326, EPSG:3857 or a UTM zone (EPSG:32601-32660, 32701-32760); "+
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
	if c.code == epsgWebMercator {
		return geo.SemiMajorM * float64(p.Lon.Signed()), geo.SemiMajorM * math.Asinh(math.Tan(float64(p.Lat)))
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
	if c.code == epsgWebMercator {
		return geo.LatLon{Lat: unit.Angle(math.Atan(math.Sinh(y / geo.SemiMajorM))), Lon: unit.Angle(x / geo.SemiMajorM).Signed()}
	}
	return c.tm.Inverse(x, y)
}
