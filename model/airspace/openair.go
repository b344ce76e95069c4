package airspace

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Error is a mistake at a line of an airspace file.
type Error struct {
	File    string
	Line    int
	Area    string // name of the area, if known
	Problem string
}

func (e *Error) Error() string {
	area := ""
	if e.Area != "" {
		area = fmt.Sprintf("area %q: ", e.Area)
	}
	return fmt.Sprintf("%s:%d: %s%s", e.File, e.Line, area, e.Problem)
}

const (
	maxFileBytes = 64 << 20
	maxMistakes  = 50
	chordErrorM  = 1.0 // greatest distance of a chord from its arc
)

// ReadOpenAir reads areas from OpenAir text. Any mistake is an error that names its line;
// all mistakes are gathered, and no areas are returned beside them, so that none can be
// dropped unseen. Records about drawing, labels and radio frequencies are skipped.
//
// Records read: AC class, AN name, AL floor, AH ceiling, AA times of validity, V X= and
// V D= centre and sense, DP point, DA and DB arcs, DC circle. Status follows the class and
// is a first guess that the crew confirms: see StatusOfClass.
func ReadOpenAir(file string, data []byte) ([]Area, error) {
	if len(data) > maxFileBytes {
		return nil, &Error{File: file, Line: 1, Problem: fmt.Sprintf("%d bytes; an airspace file has at most %d", len(data), maxFileBytes)}
	}
	r := reader{file: file}
	lines := bufio.NewScanner(bytes.NewReader(data))
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		r.line++
		r.record(decode(lines.Bytes()))
		if len(r.mistakes) >= maxMistakes {
			r.mistakes = append(r.mistakes, &Error{File: file, Line: r.line, Problem: "too many mistakes; the rest was not read"})
			return nil, errors.Join(r.mistakes...)
		}
	}
	if err := lines.Err(); err != nil {
		r.fail("%v", err)
	}
	r.finish()
	if len(r.mistakes) > 0 {
		return nil, errors.Join(r.mistakes...)
	}
	return r.areas, nil
}

// decode reads UTF-8, or else Latin-1, in which many such files are written.
func decode(line []byte) string {
	if utf8.Valid(line) {
		return strings.TrimPrefix(string(line), "\ufeff")
	}
	runes := make([]rune, len(line))
	for i, b := range line {
		runes[i] = rune(b)
	}
	return string(runes)
}

type reader struct {
	file     string
	line     int
	areas    []Area
	mistakes []error

	open        bool // an area is being read
	begun       int  // its first line
	area        Area
	floor, ceil bool
	broken      bool // a mistake was found in it already
	centre      *geo.LatLon
	anticlock   bool
}

func (r *reader) fail(format string, args ...any) {
	r.broken = true
	r.mistakes = append(r.mistakes, &Error{File: r.file, Line: r.line, Area: r.area.Name, Problem: fmt.Sprintf(format, args...)})
}

func (r *reader) record(line string) {
	line = strings.TrimSpace(line)
	if line == "" || line[0] == '*' {
		return
	}
	code, rest, _ := strings.Cut(line, " ")
	if code != "AN" { // a name may hold a star, elsewhere it begins a comment
		rest, _, _ = strings.Cut(rest, "*")
	}
	rest = strings.TrimSpace(rest)
	if code == "AC" {
		r.finish()
		r.begin(rest)
		return
	}
	switch code {
	case "AN", "AL", "AH", "AA", "DP", "DA", "DB", "DC", "DY":
		if !r.open {
			r.fail("%s comes before any AC; an area begins with AC and its class", code)
			return
		}
	}
	switch code {
	case "AN":
		r.area.Name = rest
	case "AL":
		r.area.Floor, r.floor = r.level(rest), true
	case "AH":
		r.area.Ceil, r.ceil = r.level(rest), true
	case "AA":
		r.validity(rest)
	case "V":
		r.variable(rest)
	case "DP":
		if p, err := parsePosition(rest); err != nil {
			r.fail("%v", err)
		} else {
			r.add(p)
		}
	case "DA":
		r.arcByAngles(rest)
	case "DB":
		r.arcByEnds(rest)
	case "DC":
		r.circle(rest)
	case "DY":
		r.fail("DY (an airway by its width) is not read; draw its border with DP")
	case "AY", "AF", "AG", "AX", "AI", "AT", "SP", "SB", "TO", "TC":
	default:
		r.fail("%q is not a record of an airspace file; expected AC, AN, AL, AH, V, DP, DA, DB or DC", code)
	}
}

func (r *reader) begin(class string) {
	r.open, r.begun, r.floor, r.ceil, r.broken, r.anticlock = true, r.line, false, false, false, false
	r.area = Area{Class: class, Status: StatusOfClass(class), Source: fmt.Sprintf("%s:%d", r.file, r.line)}
	if class == "" {
		r.fail("AC gives no class; write for example AC D")
	}
}

// finish closes the area being read and checks it as a whole.
func (r *reader) finish() {
	if !r.open {
		return
	}
	r.open = false
	at := r.line
	r.line = r.begun
	defer func() { r.line = at }()
	if r.area.Name == "" {
		r.area.Name = fmt.Sprintf("unnamed, line %d", r.begun)
	}
	if r.broken {
		return
	}
	if !r.floor {
		r.fail("has no floor; add AL, for example AL GND")
	}
	if !r.ceil {
		r.fail("has no ceiling; add AH, for example AH 2500 ft AMSL")
	}
	if r.broken {
		return
	}
	if n := len(r.area.Outer); n > 1 && near(r.area.Outer[0], r.area.Outer[n-1]) {
		r.area.Outer = r.area.Outer[:n-1]
	}
	bare := r.area
	bare.Name, bare.Source = "", ""
	if err := bare.Validate(); err != nil {
		r.fail("%s", strings.TrimPrefix(err.Error(), `area "unnamed" `))
		return
	}
	r.areas = append(r.areas, r.area)
}

// add appends a corner; one within half a metre of the last is the same corner, as where
// an arc ends on the next point.
func (r *reader) add(p geo.LatLon) {
	if n := len(r.area.Outer); n > 0 && near(r.area.Outer[n-1], p) {
		return
	}
	r.area.Outer = append(r.area.Outer, p)
}

func near(a, b geo.LatLon) bool { return haversine(a, b) < 0.5 }

func (r *reader) level(text string) Level {
	l, err := ParseLevel(text)
	if err != nil {
		r.fail("%v", err)
	}
	return l
}

// validity reads "2026-12-01T06:00Z/2026-12-01T18:00Z"; NONE is always.
func (r *reader) validity(text string) {
	if text == "" || strings.EqualFold(text, "NONE") {
		return
	}
	from, to, ok := strings.Cut(text, "/")
	start, errF := parseTime(from)
	end, errT := parseTime(to)
	if !ok || errF != nil || errT != nil {
		r.fail("%q is not a time of validity; write 2026-12-01T06:00Z/2026-12-01T18:00Z or NONE", text)
		return
	}
	r.area.Valid = append(r.area.Valid, Period{start, end})
}

func parseTime(text string) (time.Time, error) {
	text = strings.TrimSpace(text)
	if t, err := time.Parse("2006-01-02T15:04Z07:00", text); err == nil {
		return t, nil
	}
	return time.Parse(time.RFC3339, text)
}

func (r *reader) variable(text string) {
	name, value, ok := strings.Cut(text, "=")
	name, value = strings.ToUpper(strings.TrimSpace(name)), strings.TrimSpace(value)
	if !ok {
		r.fail("V %s sets nothing; write for example V D=+", text)
		return
	}
	switch name {
	case "X":
		p, err := parsePosition(value)
		if err != nil {
			r.centre = nil
			r.fail("centre: %v", err)
			return
		}
		r.centre = &p
	case "D":
		if value != "+" && value != "-" {
			r.fail("direction %q is not + (clockwise) or -", value)
			return
		}
		r.anticlock = value == "-"
	case "W", "Z", "T":
	default:
		r.fail("variable %q is not one of X, D, W, Z", name)
	}
}

// hub returns the centre of an arc.
func (r *reader) hub(code string) (geo.LatLon, bool) {
	if r.centre == nil {
		r.fail("%s comes before its centre; write V X= and a position first", code)
		return geo.LatLon{}, false
	}
	return *r.centre, true
}

// maxRadiusM is wider than any arc of a published area that one plane can hold.
const maxRadiusM = widestM / 2

func (r *reader) radius(text string) (float64, bool) {
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	v *= 1852
	if err != nil || !(v > 0 && v <= maxRadiusM) {
		r.fail("radius %q is not a number of nautical miles above 0, up to %.0f", text, maxRadiusM/1852)
		return 0, false
	}
	return v, true
}

func (r *reader) circle(text string) {
	c, ok := r.hub("DC")
	radius, good := r.radius(text)
	if !ok || !good {
		return
	}
	if len(r.area.Outer) > 0 {
		r.fail("DC draws a whole circle and cannot be joined to other points; use DA or DB")
		return
	}
	n := chords(radius, 2*math.Pi)
	for i := range n {
		p, _ := geo.Direct(c, unit.Angle(2*math.Pi*float64(i)/float64(n)), radius)
		r.add(p)
	}
}

// chords is how many chords keep an arc within chordErrorM: sagitta R(1 − cos(step/2)).
func chords(radiusM, sweep float64) int {
	step := 2 * math.Acos(max(0, 1-chordErrorM/radiusM))
	return min(2000, max(int(math.Ceil(sweep/step)), int(math.Ceil(sweep/(math.Pi/12)))))
}

// arcByAngles reads "radius, start, end": nautical miles and degrees from true north.
func (r *reader) arcByAngles(text string) {
	c, ok := r.hub("DA")
	parts := strings.Split(text, ",")
	if len(parts) != 3 {
		r.fail("DA has %d values; expected radius, start and end angle", len(parts))
		return
	}
	radius, good := r.radius(parts[0])
	start, errS := strconv.ParseFloat(strings.TrimSpace(parts[1]), 64)
	end, errE := strconv.ParseFloat(strings.TrimSpace(parts[2]), 64)
	if errS != nil || errE != nil || !(math.Abs(start) <= 720) || !(math.Abs(end) <= 720) {
		r.fail("arc from %s to %s is not between two angles in degrees", strings.TrimSpace(parts[1]), strings.TrimSpace(parts[2]))
		return
	}
	if ok && good {
		r.arc(c, radius, radius, unit.Angle(start)*unit.Degree, unit.Angle(end)*unit.Degree)
	}
}

// radiusTolerance is how far the radii at the two ends of an arc may differ.
const radiusTolerance = 0.05

// arcByEnds reads two positions on the arc.
func (r *reader) arcByEnds(text string) {
	c, ok := r.hub("DB")
	first, second, two := strings.Cut(text, ",")
	if !two {
		r.fail("DB has one position; expected two, with a comma between")
		return
	}
	a, errA := parsePosition(first)
	b, errB := parsePosition(second)
	if err := errors.Join(errA, errB); err != nil {
		r.fail("%v", err)
		return
	}
	if !ok {
		return
	}
	if haversine(c, a) > maxRadiusM || haversine(c, b) > maxRadiusM {
		r.fail("arc lies more than %.0f km from its centre; check both", maxRadiusM/1000)
		return
	}
	ga, gb := geo.Inverse(c, a), geo.Inverse(c, b)
	if ga.DistanceM < 1 || gb.DistanceM < 1 {
		r.fail("an end of the arc lies on its centre")
		return
	}
	if math.Abs(ga.DistanceM-gb.DistanceM) > radiusTolerance*max(ga.DistanceM, gb.DistanceM)+100 {
		r.fail("bad arc: its ends lie %.0f m and %.0f m from the centre", ga.DistanceM, gb.DistanceM)
		return
	}
	r.arc(c, ga.DistanceM, gb.DistanceM, ga.AzimuthStart, gb.AzimuthStart)
}

// arc adds chords from one azimuth to another, the radius going evenly from ra to rb.
func (r *reader) arc(c geo.LatLon, ra, rb float64, from, to unit.Angle) {
	sweep := float64((to - from).Wrapped())
	if r.anticlock {
		sweep = -float64((from - to).Wrapped())
	}
	if math.Abs(sweep) < 1e-9 {
		r.fail("bad arc: it begins and ends in one direction; write DC for a whole circle")
		return
	}
	n := chords(max(ra, rb), math.Abs(sweep))
	for i := range n + 1 {
		s := float64(i) / float64(n)
		p, _ := geo.Direct(c, from+unit.Angle(sweep*s), ra+(rb-ra)*s)
		r.add(p)
	}
}

// StatusOfClass guesses what an airspace class means for a drone crew: prohibited and
// restricted areas are out of bounds until permitted, G, F and gliding sectors are
// permitted, everything else needs permission. Common practice, no source: the crew
// confirms each area.
func StatusOfClass(class string) Status {
	switch strings.ToUpper(strings.TrimSpace(class)) {
	case "P", "R", "GP":
		return OutOfBounds
	case "F", "G", "W":
		return Permitted
	}
	return NeedsPermission
}
