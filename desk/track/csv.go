package track

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// Column says that one column of a CSV file plays one role in one unit. Header is the
// header's text, or "#3" for the third column.
type Column struct {
	Role, Header, Unit string
}

// Columns is a column map, written "time=UTC:iso,lat=Latitude:deg,height=Alt:ft".
type Columns []Column

type roleSpec struct {
	role    string
	bit     Fields
	units   []string
	factors []float64
	guess   string // unit when neither header nor map names one; empty asks
	words   []string
}

// roles lists what a column can be, with the units it may have and their factor to
// the unit of Point. Foot and knot are exact (NIST SP 811, appendix B).
var roles = []roleSpec{
	{"time", Timed, []string{"iso", "s", "ms", "us", "elapsed-s", "elapsed-ms"}, nil, "", []string{"time", "timestamp", "datetime", "date time", "utc", "utc time", "gps time", "time utc", "zeit", "heure", "hora"}},
	{"date", Timed, []string{"iso"}, nil, "iso", []string{"date", "utc date", "datum", "fecha"}},
	{"lat", 0, []string{"deg", "1e-7deg"}, []float64{1, 1e-7}, "deg", []string{"lat", "latitude", "gps lat", "breite", "latitud"}},
	{"lon", 0, []string{"deg", "1e-7deg"}, []float64{1, 1e-7}, "deg", []string{"lon", "lng", "long", "longitude", "gps lon", "gps lng", "länge", "laenge", "longitud"}},
	{"height", Height, []string{"m", "ft", "mm"}, []float64{1, 0.3048, 0.001}, "", []string{"height", "alt", "altitude", "ele", "elevation", "altitude msl", "alt msl", "height msl", "gps alt", "höhe", "hoehe", "altura"}},
	{"above_ground", AboveGround, []string{"m", "ft", "mm"}, []float64{1, 0.3048, 0.001}, "", []string{"above ground", "agl", "height agl", "altitude agl", "alt agl", "height above ground"}},
	{"speed", Speed, []string{"m/s", "km/h", "kt", "mph"}, []float64{1, 1 / 3.6, 1852.0 / 3600, 0.44704}, "", []string{"speed", "ground speed", "groundspeed", "gs", "sog", "geschwindigkeit", "vitesse", "velocidad"}},
	{"course", Course, []string{"deg", "rad"}, []float64{math.Pi / 180, 1}, "deg", []string{"course", "track", "cog", "course over ground", "kurs"}},
	{"yaw", Yaw, []string{"deg", "rad"}, []float64{math.Pi / 180, 1}, "deg", []string{"yaw", "heading", "hdg"}},
	{"pan", Pan, []string{"deg", "rad"}, []float64{math.Pi / 180, 1}, "deg", []string{"pan", "camera pan", "gimbal pan"}},
	{"tilt", Tilt, []string{"deg", "rad"}, []float64{math.Pi / 180, 1}, "deg", []string{"tilt", "camera tilt", "gimbal tilt", "gimbal pitch", "camera pitch"}},
	{"voltage", Voltage, []string{"V", "mV"}, []float64{1, 1e-3}, "", []string{"voltage", "volt", "volts", "pack voltage", "battery voltage"}},
	{"current", Current, []string{"A", "mA"}, []float64{1, 1e-3}, "", []string{"current", "amps", "ampere", "pack current", "battery current"}},
	{"charge", Charge, []string{"%", "1"}, []float64{0.01, 1}, "", []string{"charge", "soc", "battery", "state of charge", "battery level", "battery percent"}},
}

func roleNames() string {
	var names []string
	for _, r := range roles {
		names = append(names, r.role)
	}
	return strings.Join(names, ", ")
}

// String writes the map in the form that ParseColumns reads.
func (c Columns) String() string {
	parts := make([]string, len(c))
	for i, col := range c {
		parts[i] = col.Role + "=" + col.Header
		if col.Unit != "" {
			parts[i] += ":" + col.Unit
		}
	}
	return strings.Join(parts, ",")
}

// ParseColumns reads a column map. A role or unit it does not know is an error that
// lists those it knows.
func ParseColumns(text string) (Columns, error) {
	var c Columns
	for _, part := range strings.Split(text, ",") {
		role, header, ok := strings.Cut(strings.TrimSpace(part), "=")
		if !ok {
			return nil, fmt.Errorf("column map entry %q: expected ROLE=HEADER:UNIT, for example height=Alt:ft", part)
		}
		col := Column{Role: strings.TrimSpace(role), Header: strings.TrimSpace(header)}
		i := slices.IndexFunc(roles, func(r roleSpec) bool {
			return r.role == col.Role
		})
		if i < 0 {
			return nil, fmt.Errorf("column role %q is not one of %s", col.Role, roleNames())
		}
		if at := strings.LastIndex(col.Header, ":"); at >= 0 && slices.Contains(roles[i].units, strings.TrimSpace(col.Header[at+1:])) {
			col.Header, col.Unit = strings.TrimSpace(col.Header[:at]), strings.TrimSpace(col.Header[at+1:])
		} else if roles[i].guess != "" {
			col.Unit = roles[i].guess
		} else {
			return nil, fmt.Errorf("column %s=%s needs its unit: one of %s, for example %s=%s:%s", col.Role, col.Header, strings.Join(roles[i].units, ", "), col.Role, col.Header, roles[i].units[0])
		}
		if slices.ContainsFunc(c, func(o Column) bool { return o.Role == col.Role }) {
			return nil, fmt.Errorf("column role %q is given twice", col.Role)
		}
		c = append(c, col)
	}
	return c, nil
}

// sheet is a CSV file ready to be read row by row.
type sheet struct {
	r      *csv.Reader
	header []string
	row    int
}

func openSheet(data []byte) (*sheet, error) {
	if len(data) > 1 && (data[0] == 0xff && data[1] == 0xfe || data[0] == 0xfe && data[1] == 0xff) {
		utf8data, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Bytes(data)
		if err != nil {
			return nil, fmt.Errorf("the UTF-16 text is broken: %w", err)
		}
		data = utf8data
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if bytes.IndexByte(data, 0) >= 0 {
		return nil, errors.New("the file holds zero bytes and is not text: save it as UTF-8")
	}
	if !utf8.Valid(data) {
		data, _ = charmap.Windows1252.NewDecoder().Bytes(data) // only header words can be affected
	}
	head := string(data[:min(len(data), 4096)])
	comma, best := ',', 0
	for _, c := range ";\t," {
		if n := strings.Count(head, string(c)); n > best && (c != ',' || best == 0) {
			comma, best = c, n
		}
	}
	s := &sheet{r: csv.NewReader(bytes.NewReader(data))}
	s.r.Comma, s.r.FieldsPerRecord, s.r.LazyQuotes, s.r.ReuseRecord, s.r.TrimLeadingSpace = comma, -1, true, true, true
	for range 30 { // some recorders write a few lines of their own before the header
		rec, err := s.next()
		if err != nil {
			break
		}
		var lat, lon bool
		for _, cell := range rec {
			switch role, _ := guess(cell); role {
			case "lat":
				lat = true
			case "lon":
				lon = true
			}
		}
		if s.header == nil || lat && lon {
			s.header = slices.Clone(rec)
		}
		if lat && lon {
			return s, nil
		}
	}
	if s.header == nil {
		return nil, errors.New("no header row")
	}
	return openAfter(s, data, comma)
}

// openAfter starts again just below the first row, for headers in words not known here.
func openAfter(s *sheet, data []byte, comma rune) (*sheet, error) {
	again := &sheet{r: csv.NewReader(bytes.NewReader(data)), header: s.header}
	again.r.Comma, again.r.FieldsPerRecord, again.r.LazyQuotes, again.r.ReuseRecord, again.r.TrimLeadingSpace = comma, -1, true, true, true
	_, err := again.next()
	return again, err
}

func (s *sheet) next() ([]string, error) {
	s.row++
	return s.r.Read()
}

// guess finds the role and unit that a header's words suggest.
func guess(header string) (role, unit string) {
	h := strings.ToLower(strings.TrimSpace(header))
	for _, pair := range []string{"()", "[]", "<>"} {
		if i := strings.IndexByte(h, pair[0]); i > 0 && strings.HasSuffix(h, pair[1:]) {
			unit, h = strings.TrimSpace(h[i+1:len(h)-1]), strings.TrimSpace(h[:i])
		}
	}
	h = strings.Join(strings.FieldsFunc(h, func(r rune) bool { return r == '_' || r == ' ' || r == '-' || r == '.' || r == '/' && unit != "" }), " ")
	spell := map[string]string{"deg": "deg", "°": "deg", "degrees": "deg", "rad": "rad", "m": "m", "meters": "m", "metres": "m", "ft": "ft", "feet": "ft", "mm": "mm", "m/s": "m/s", "ms": "ms", "mps": "m/s", "km/h": "km/h", "kmh": "km/h", "kph": "km/h", "kt": "kt", "kts": "kt", "knots": "kt", "mph": "mph", "v": "V", "mv": "mV", "a": "A", "ma": "mA", "%": "%", "percent": "%", "s": "s", "sec": "s", "us": "us", "utc": "iso", "iso": "iso"}
	try := func(words, unit string) (string, string) {
		for _, r := range roles {
			if slices.Contains(r.words, words) {
				u := spell[unit]
				if !slices.Contains(r.units, u) {
					u = ""
				}
				return r.role, u
			}
		}
		return "", ""
	}
	if role, u := try(h, unit); role != "" {
		return role, u
	}
	if i := strings.LastIndexByte(h, ' '); i > 0 && spell[h[i+1:]] != "" {
		return try(h[:i], h[i+1:])
	}
	return "", ""
}

// GuessColumns suggests a column map from a CSV file's header and first rows. Units
// that the header does not state stay empty: they are to be asked.
func GuessColumns(data []byte) (Columns, error) {
	s, err := openSheet(data)
	if err != nil {
		return nil, err
	}
	var c Columns
	at := map[string]int{}
	for i, h := range s.header {
		role, unit := guess(h)
		if role == "" {
			continue
		}
		if _, twice := at[role]; twice {
			continue
		}
		at[role] = i
		name := strings.TrimSpace(h)
		if strings.ContainsAny(name, ",=") || name == "" {
			name = "#" + strconv.Itoa(i+1)
		}
		for _, r := range roles {
			if r.role == role && unit == "" {
				unit = r.guess
			}
		}
		c = append(c, Column{role, name, unit})
	}
	row, err := s.next()
	if err != nil {
		return c, nil
	}
	for i := range c {
		j := at[c[i].Role]
		if c[i].Role != "time" || j >= len(row) {
			continue
		}
		if c[i].Unit == "" || c[i].Unit == "iso" {
			c[i].Unit = guessTime(row[j])
		}
	}
	return c, nil
}

// Role is what a column can hold, and the units in which it may be written.
type Role struct {
	Name  string   `json:"name"`
	Units []string `json:"units"`
}

// Roles lists what a column can be.
func Roles() []Role {
	out := make([]Role, len(roles))
	for i, r := range roles {
		out[i] = Role{r.role, slices.Clone(r.units)}
	}
	return out
}

// Preview returns a CSV file's header and its first rows, at most n, for a person who settles
// the column map.
func Preview(data []byte, n int) (header []string, rows [][]string, err error) {
	s, err := openSheet(data)
	if err != nil {
		return nil, nil, err
	}
	for len(rows) < n {
		rec, err := s.next()
		if err != nil {
			break // a broken row is told when the file is read
		}
		rows = append(rows, slices.Clone(rec))
	}
	return s.header, rows, nil
}

// guessTime tells clock text from epoch counts by their size: seconds pass 1e9 in
// 2001, milliseconds 1e12, microseconds 1e15.
func guessTime(cell string) string {
	v, ok := number(strings.ReplaceAll(cell, ",", "."))
	switch {
	case !ok:
		return "iso"
	case v >= 1e15:
		return "us"
	case v >= 1e12:
		return "ms"
	case v >= 1e9:
		return "s"
	}
	return "" // elapsed, in a unit that must be asked
}

// Unsettled returns the columns whose unit is still to be asked.
func (c Columns) Unsettled() Columns {
	var open Columns
	for _, col := range c {
		if col.Unit == "" {
			open = append(open, col)
		}
	}
	return open
}

func (t *Track) askColumns(data []byte) error {
	c, err := GuessColumns(data)
	if err != nil {
		return err
	}
	q := &Question{Ask: AskColumns, What: "which column holds what?", Mend: "give the column map with --columns, with a unit for each of " + roleNames()}
	if len(c) > 0 {
		q.Choices = []string{c.String()}
	}
	if open := c.Unsettled(); len(open) > 0 {
		q.What = "which column holds what? units are missing for " + open.String()
	}
	return q
}

func (t *Track) readCSV(ctx context.Context, data []byte, opt Options) error {
	if len(opt.Columns) == 0 {
		return t.askColumns(data)
	}
	s, err := openSheet(data)
	if err != nil {
		return err
	}
	type reader struct {
		role   string
		bit    Fields
		factor float64
		unit   string
		at     int
	}
	var read []reader
	var lat, lon bool
	for _, col := range opt.Columns {
		var at int
		if n, err := strconv.Atoi(strings.TrimPrefix(col.Header, "#")); err == nil && strings.HasPrefix(col.Header, "#") {
			at = n - 1
		} else {
			at = slices.IndexFunc(s.header, func(h string) bool { return strings.TrimSpace(h) == col.Header })
		}
		if at < 0 || at >= len(s.header) {
			return fmt.Errorf("no column %q; the header has %q", col.Header, s.header)
		}
		if col.Unit == "" {
			return t.askColumns(data)
		}
		for _, r := range roles {
			if r.role != col.Role {
				continue
			}
			u := slices.Index(r.units, col.Unit)
			if u < 0 {
				return fmt.Errorf("column %s: unit %q is not one of %s", col.Role, col.Unit, strings.Join(r.units, ", "))
			}
			x := reader{role: r.role, bit: r.bit, factor: 1, unit: col.Unit, at: at}
			if r.factors != nil {
				x.factor = r.factors[u]
			}
			read = append(read, x)
		}
		lat, lon = lat || col.Role == "lat", lon || col.Role == "lon"
	}
	if !lat || !lon {
		return errors.New("the column map needs lat and lon")
	}
	var commas decimals
	for {
		rec, err := s.next()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fmt.Errorf("row %d: %w", s.row, err)
		}
		if s.row&0xfff == 0 {
			if err := ctx.Err(); err != nil {
				return err
			}
			opt.Progress(s.r.InputOffset(), int64(len(data)))
		}
		at := "row " + strconv.Itoa(s.row)
		var p Point
		var date, clock, timeUnit string
		placed := 0
		for _, x := range read {
			if x.at >= len(rec) {
				continue
			}
			cell := strings.TrimSpace(rec[x.at])
			switch {
			case x.role == "date":
				date = cell
				continue
			case x.role == "time":
				clock, timeUnit = cell, x.unit
				continue
			case cell == "":
				continue
			}
			v, err := commas.number(cell, s.row, x.role)
			if err != nil {
				return err
			}
			if math.IsNaN(v) {
				t.find("caution", "cells in the "+x.role+" column that are not numbers", at, "")
				continue
			}
			v *= x.factor
			if x.role == "lat" || x.role == "lon" {
				placed++
			}
			p.store(x.role, x.bit, v)
		}
		if placed < 2 {
			t.find("caution", "rows without a position were left out", at, "")
			continue
		}
		if clock != "" || date != "" {
			if err := t.csvTime(&p, date, clock, timeUnit, at, opt, &commas, s.row); err != nil {
				return err
			}
		}
		if err := t.add(p, at); err != nil {
			return err
		}
	}
}

func (p *Point) store(role string, bit Fields, v float64) {
	p.Has |= bit
	switch role {
	case "lat":
		p.LatDeg = v
	case "lon":
		p.LonDeg = v
	case "height":
		p.HeightM = v
	case "above_ground":
		p.AboveGroundM = v
	case "speed":
		p.SpeedMS = v
	case "course":
		p.Course = degrees(v * 180 / math.Pi)
	case "yaw":
		p.Yaw = degrees(v * 180 / math.Pi)
	case "pan":
		p.Pan = degrees(v * 180 / math.Pi)
	case "tilt":
		p.Tilt = degrees(v * 180 / math.Pi)
	case "voltage":
		p.VoltageV = v
	case "current":
		p.CurrentA = v
	case "charge":
		p.ChargeFraction = v
	}
}

func (t *Track) csvTime(p *Point, date, clock, unit, at string, opt Options, commas *decimals, row int) error {
	if unit != "" && unit != "iso" {
		v, err := commas.number(clock, row, "time")
		if err != nil {
			return err
		}
		if math.IsNaN(v) {
			t.find("caution", "times that could not be read", at, "")
			return nil
		}
		switch unit {
		case "ms", "elapsed-ms":
			v /= 1e3
		case "us":
			v /= 1e6
		}
		if strings.HasPrefix(unit, "elapsed") {
			if opt.Date.IsZero() {
				return &Question{Ask: AskStart, What: "the times count from the start: when did the recording start?", Mend: "give the start in UTC with --start, for example --start 2026-06-21T10:00:00Z"}
			}
			v += unixS(opt.Date)
		}
		p.UnixS, p.Has = v, p.Has|Timed
		return nil
	}
	text := strings.TrimSpace(date + " " + clock)
	if len(text) >= 3 && len(text) <= 15 && text[2] == ':' {
		if opt.Date.IsZero() {
			return &Question{Ask: AskStart, What: "the times carry no date: on which day was this flown?", Mend: "give the day with --start, for example --start 2026-06-21T00:00:00Z"}
		}
		text = opt.Date.Format(time.DateOnly) + " " + text
	}
	if slash := strings.IndexAny(text, "/."); slash > 0 && slash < 5 && !strings.HasPrefix(text[slash:], ".0") && strings.ContainsAny(text[:slash+1], "/.") && !strings.Contains(text[:slash], "-") && !strings.Contains(text[:slash], ":") {
		return &Question{Ask: AskFile, What: fmt.Sprintf("%s: the date %q could be read day first or month first", at, text), Mend: "write dates as 2026-06-21 in the file, or give a column with epoch seconds"}
	}
	return t.setTime(p, strings.Replace(text, ",", ".", 1), func() string { return at }, opt.Zone)
}

// decimals notices whether a file writes decimal points or commas, and refuses both.
type decimals struct{ point, comma int }

func (d *decimals) number(cell string, row int, role string) (float64, error) {
	sign := 1.0
	if n := len(cell); (role == "lat" || role == "lon") && n > 1 {
		switch cell[n-1] {
		case 'S', 'W':
			sign = -1
			fallthrough
		case 'N', 'E':
			cell = strings.TrimSpace(cell[:n-1])
		}
	}
	hasComma, hasPoint := strings.Contains(cell, ","), strings.Contains(cell, ".")
	switch {
	case hasComma && hasPoint, strings.Count(cell, ",") > 1:
		return 0, fmt.Errorf("row %d, %s %q: thousands marks cannot be told from decimals: write plain numbers", row, role, cell)
	case hasComma:
		if d.comma == 0 {
			d.comma = row
		}
		cell = strings.Replace(cell, ",", ".", 1)
	case hasPoint && d.point == 0:
		d.point = row
	}
	if d.comma > 0 && d.point > 0 {
		return 0, fmt.Errorf("row %d writes a decimal comma and row %d a decimal point: make them alike", d.comma, d.point)
	}
	v, ok := number(cell)
	if !ok {
		return math.NaN(), nil
	}
	return sign * v, nil
}
