// Package airspace holds areas of airspace as volumes, a polygon with a floor and a
// ceiling, and finds where a path, a volume or a buffer crosses them.
//
// Units and axes: positions of areas are geographic (WGS84); an area placed in a site
// becomes a Zone in the site frame, metres, x east, y north, z up above sea level.
// Floors and ceilings are above ground, above sea level, or a flight level; 1 ft is
// 0.3048 m and a flight level is 100 ft of pressure altitude.
//
// Sources: RFC 7946 for what a polygon is; the OpenAir text format as commonly written
// (open format, no standards body); ISO 2533 for flight levels from the altimeter
// setting.
//
// Validity and accuracy: areas up to 1500 km across. Arcs become chords that lie at most
// 1 m inside the arc. Crossings are exact against floors and ceilings above sea level;
// above ground they take the ground as straight between samples. What is not known
// (ground, altimeter setting) makes a crossing possible, and possible crossings are
// reported, never dropped.
//
// Not modelled: the effect of temperature on flight levels (4 % for each 10 °C off the
// standard atmosphere), the bend of long borders drawn as rhumb lines or great circles,
// changes of ground height across the width of a buffer, and notices that no file holds.
package airspace

import (
	"fmt"
	"math"
	"strings"
	"time"

	"fieldfare/model/air"
	"fieldfare/model/geo"
)

// Reference says from where a level is measured.
type Reference int

// The references.
const (
	AboveSea    Reference = iota // above mean sea level
	AboveGround                  // above the ground below
	FlightLevel                  // pressure altitude
)

// Level is a floor or a ceiling.
type Level struct {
	HeightM   float64
	Reference Reference
	Unlimited bool // no ceiling; HeightM is then 0
}

// Ground is the surface as a floor.
var Ground = Level{Reference: AboveGround}

// Unlimited is the ceiling of an area that has none.
var Unlimited = Level{Unlimited: true}

// String writes the level as charts do.
func (l Level) String() string {
	switch {
	case l.Unlimited:
		return "unlimited"
	case l == Ground:
		return "ground"
	case l.Reference == FlightLevel:
		return fmt.Sprintf("FL %.0f", l.HeightM/feet/100)
	case l.Reference == AboveGround:
		return fmt.Sprintf("%.0f m above ground", l.HeightM)
	}
	return fmt.Sprintf("%.0f m above sea level", l.HeightM)
}

const feet = 0.3048

// Status says what a crew may do in an area.
type Status int

// The statuses. The zero value is the careful one.
const (
	NeedsPermission Status = iota
	OutOfBounds
	Permitted
)

func (s Status) String() string {
	return [...]string{"needs permission", "out of bounds", "permitted"}[s]
}

// ParseStatus reads what String writes.
func ParseStatus(text string) (Status, error) {
	for s := NeedsPermission; s <= Permitted; s++ {
		if text == s.String() {
			return s, nil
		}
	}
	return 0, fmt.Errorf("%q is not the status of an area: write needs permission, out of bounds or permitted", text)
}

// Period is a time of validity, From included and To not.
type Period struct{ From, To time.Time }

// Area is a volume of airspace as published or drawn.
type Area struct {
	Name   string
	Class  string // as in the source: "D", "CTR", "R"
	Status Status
	Floor  Level
	Ceil   Level
	Outer  []geo.LatLon // the last point joins the first and need not repeat it
	Holes  [][]geo.LatLon
	Valid  []Period // none: always
	Source string   // file and line, or who drew it
}

// Active says whether the area is valid at some time from start to end.
func (a *Area) Active(start, end time.Time) bool {
	for _, p := range a.Valid {
		if !p.To.After(start) || p.From.After(end) {
			continue
		}
		return true
	}
	return len(a.Valid) == 0
}

// widestM bounds an area so that one plane can hold it.
const widestM = 1.5e6

// Zone is an area in a site's frame.
type Zone struct {
	*Area
	Polygon geo.Polygon
	bounds  geo.Bounds
}

// Validate says what is wrong with the area: a bad position, a self-crossing, a hole that is
// not inside, a ceiling at or below its floor, a period that ends before it begins.
// Areas across the 180th meridian are good as long as no edge spans half the Earth: an
// edge runs the short way.
func (a *Area) Validate() error {
	if len(a.Outer) == 0 {
		return a.errorf("has no points; give at least three")
	}
	if err := a.Outer[0].Validate(); err != nil {
		return a.errorf("point 1: %v", err)
	}
	_, err := a.Place(geo.NewFrame(a.Outer[0]))
	return err
}

func (a *Area) errorf(format string, args ...any) error {
	name := a.Name
	if name == "" {
		name = "unnamed"
	}
	place := ""
	if a.Source != "" {
		place = a.Source + ": "
	}
	return fmt.Errorf("%sarea %q "+format, append([]any{place, name}, args...)...)
}

// Place validates the area and projects it into the site frame. An area farther than
// 1500 km from the site, or wider than that, is an error.
func (a *Area) Place(frame geo.Frame) (Zone, error) {
	if err := a.levels(); err != nil {
		return Zone{}, err
	}
	for _, p := range a.Valid {
		if !p.To.After(p.From) {
			return Zone{}, a.errorf("is valid from %s to %s; the end must come after the beginning", p.From.Format(time.RFC3339), p.To.Format(time.RFC3339))
		}
	}
	z := Zone{Area: a}
	var err error
	if z.Polygon.Outer, err = a.project(frame, a.Outer, "outer ring"); err != nil {
		return Zone{}, err
	}
	for i, h := range a.Holes {
		ring, err := a.project(frame, h, fmt.Sprintf("hole %d", i+1))
		if err != nil {
			return Zone{}, err
		}
		z.Polygon.Holes = append(z.Polygon.Holes, ring)
	}
	if err := z.Polygon.Validate(); err != nil {
		return Zone{}, a.errorf("%v", err)
	}
	z.bounds = z.Polygon.Bounds()
	return z, nil
}

func (a *Area) project(frame geo.Frame, points []geo.LatLon, ring string) (geo.Ring, error) {
	if n := len(points); n > 1 && points[0] == points[n-1] {
		points = points[:n-1]
	}
	if len(points) < 3 {
		return nil, a.errorf("has a %s of %d points; expected at least 3", ring, len(points))
	}
	out := make(geo.Ring, len(points))
	for i, p := range points {
		if err := p.Validate(); err != nil {
			return nil, a.errorf("%s, point %d: %v", ring, i+1, err)
		}
		if d := haversine(frame.Origin(), p); d > widestM {
			return nil, a.errorf("%s, point %d (%s) lies %.0f km away; areas reach at most %.0f km, so split it or check latitude and longitude",
				ring, i+1, p, d/1000, widestM/1000)
		}
		out[i] = frame.ToSite(p, 0).XY()
	}
	return out, nil
}

// haversine is the distance on a sphere, good enough to bound an area.
func haversine(a, b geo.LatLon) float64 {
	s, t := math.Sin(float64(b.Lat-a.Lat)/2), math.Sin(float64(b.Lon-a.Lon)/2)
	h := s*s + math.Cos(float64(a.Lat))*math.Cos(float64(b.Lat))*t*t
	return 2 * geo.MeanRadiusM * math.Asin(math.Min(1, math.Sqrt(h)))
}

// levels refuses a ceiling at or below the floor wherever that can be told.
func (a *Area) levels() error {
	f, c := a.Floor, a.Ceil
	for _, l := range []Level{f, c} {
		if math.IsNaN(l.HeightM) || l.HeightM < -1000 || l.HeightM > 1e5 || l.Reference == AboveGround && l.HeightM < 0 {
			return a.errorf("has a level of %g m, %s; expected -1000 to 100000 m", l.HeightM, l)
		}
	}
	if f.Unlimited {
		return a.errorf("has no floor: unlimited is for ceilings; write ground for the surface")
	}
	if c.Unlimited {
		return nil
	}
	if c.Reference == AboveGround && c.HeightM == 0 {
		return a.errorf("has its ceiling on the ground; floor and ceiling may be swapped")
	}
	if f.Reference == c.Reference && c.HeightM <= f.HeightM {
		return a.errorf("has its ceiling (%s) not above its floor (%s); they may be swapped", c, f)
	}
	return nil
}

// String names the area with its levels and status.
func (a *Area) String() string {
	return strings.TrimSpace(fmt.Sprintf("%s %s", a.Class, a.Name)) + fmt.Sprintf(", %s to %s, %s", a.Floor, a.Ceil, a.Status)
}

// Surface gives the height of the ground, in metres above sea level, at a place in the
// site frame; ok is false where it is not known.
type Surface interface {
	HeightAt(x, y float64) (z float64, ok bool)
}

// Setting is what levels other than above sea level depend on.
type Setting struct {
	Ground Surface // nil: not known
	QNHPa  float64 // altimeter setting; 0: not known
	StepM  float64 // sampling of the ground along a path, 0.1 m and more; 0 means 10
}

// height returns the level in metres above sea level at a place. ok is false when it
// depends on something not known.
func (l Level) height(p geo.Vec2, s *Setting) (z float64, ok bool) {
	switch {
	case l.Unlimited:
		return math.MaxFloat64, true
	case l.Reference == AboveSea:
		return l.HeightM, true
	case l.Reference == FlightLevel:
		if !(s.QNHPa >= 80000 && s.QNHPa <= 110000) {
			return 0, false
		}
		return l.HeightM - air.PressureAltitude(s.QNHPa), true
	}
	if s.Ground == nil {
		return 0, false
	}
	z, ok = s.Ground.HeightAt(p.X, p.Y)
	return z + l.HeightM, ok
}
