package track

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// sentence matches the start of an NMEA 0183 sentence, with an optional tag block.
var sentence = regexp.MustCompile(`(?m)^(\\[^\\\r\n]*\\)?\$[A-Z]{2}[A-Z]{3},`)

// Checksum returns the exclusive or of the characters between $ and *, as NMEA 0183
// puts it after the star in two hexadecimal digits.
func Checksum(body string) byte {
	var sum byte
	for i := range len(body) {
		sum ^= body[i]
	}
	return sum
}

// epoch gathers the sentences that share one time of day.
type epoch struct {
	p      Point
	timeS  float64 // seconds of the UTC day
	day    int64   // days since 1970, when known
	timed  bool
	dated  bool
	placed bool
	line   int
}

// readNMEA merges GGA (place, height above mean sea level), RMC (place, date, speed),
// VTG (speed) and ZDA (date) of one instant into one point. Sentences with a wrong
// checksum are left out and counted.
func (t *Track) readNMEA(ctx context.Context, data []byte, opt Options) error {
	type pending struct {
		index int
		timeS float64
	}
	var undated []pending
	var e epoch
	var lastDay int64
	var lastTime float64
	haveDay := false
	if !opt.Date.IsZero() {
		lastDay, haveDay = opt.Date.UTC().Unix()/86400, true
	}
	flush := func() error {
		defer func() { e = epoch{} }()
		if !e.placed {
			return nil
		}
		at := "line " + strconv.Itoa(e.line)
		if e.timed {
			switch {
			case e.dated:
				if !haveDay {
					for i := range undated {
						p := &t.Points[undated[i].index]
						day := e.day
						if undated[i].timeS > e.timeS+43200 {
							day--
						}
						p.UnixS = float64(day)*86400 + undated[i].timeS
						p.Has |= Timed
					}
					undated = nil
				}
				lastDay, haveDay = e.day, true
			case haveDay && e.timeS < lastTime-43200: // past midnight
				lastDay++
			}
			lastTime = e.timeS
			if haveDay {
				e.p.UnixS, e.p.Has = float64(lastDay)*86400+e.timeS, e.p.Has|Timed
			}
		}
		before := len(t.Points)
		if err := t.add(e.p, at); err != nil {
			return err
		}
		if len(t.Points) > before && e.timed && !haveDay {
			undated = append(undated, pending{before, e.timeS})
		}
		return nil
	}
	good, line := 0, 0
	for rest := data; len(rest) > 0; {
		var raw []byte
		raw, rest, _ = bytes.Cut(rest, []byte("\n"))
		line++
		if line&0xfff == 0 {
			if err := ctx.Err(); err != nil {
				return err
			}
			opt.Progress(int64(len(data)-len(rest)), int64(len(data)))
		}
		at := "line " + strconv.Itoa(line)
		raw = bytes.TrimRight(raw, "\r \x00")
		if len(raw) > maxLine {
			t.find("caution", "lines too long for a sentence were left out", at, "")
			continue
		}
		if len(raw) > 0 && raw[0] == '\\' {
			if i := bytes.IndexByte(raw[1:], '\\'); i >= 0 {
				raw = raw[i+2:]
			}
		}
		if len(raw) == 0 {
			continue
		}
		if raw[0] != '$' {
			if raw[0] != '!' && raw[0] != '#' {
				t.find("note", "lines that are not sentences were left out", at, "")
			}
			continue
		}
		body, sum, starred := strings.Cut(string(raw[1:]), "*")
		if starred {
			want, err := strconv.ParseUint(strings.TrimSpace(sum), 16, 8)
			if err != nil || byte(want) != Checksum(body) {
				t.find("caution", "sentences with a wrong checksum were left out", at, "")
				continue
			}
		} else {
			t.find("note", "sentences without a checksum were taken as they stand", at, "")
		}
		f := strings.Split(body, ",")
		if len(f[0]) != 5 || f[0][0] == 'P' {
			continue
		}
		if err := t.sentence(f, at, line, &e, flush); err != nil {
			return err
		}
		good++
	}
	if err := flush(); err != nil {
		return err
	}
	if good == 0 {
		return errors.New("no whole sentence with a right checksum")
	}
	if len(undated) > 0 {
		return &Question{Ask: AskStart, What: "no RMC or ZDA sentence gives the date: on which UTC day does the recording start?", Mend: "give the day with --start, for example --start 2026-06-21T00:00:00Z"}
	}
	return nil
}

// sentence adds one sentence's fields to the epoch, closing it first when the time moved on.
func (t *Track) sentence(f []string, at string, line int, e *epoch, flush func() error) error {
	get := func(i int) string {
		if i < len(f) {
			return f[i]
		}
		return ""
	}
	clock := func(text string) (ok bool, err error) {
		s, ok := timeOfDay(text)
		if !ok {
			return false, nil
		}
		if e.timed && math.Abs(s-e.timeS) > 1e-4 {
			if err := flush(); err != nil {
				return false, err
			}
		}
		e.timeS, e.timed, e.line = s, true, line
		return true, nil
	}
	switch f[0][2:] {
	case "GGA":
		if q := get(6); q == "0" || q == "" {
			t.find("note", "fixes marked invalid were left out", at, "")
			return nil
		}
		if get(6) == "8" {
			t.find("caution", "fixes are marked as simulated", at, "")
		}
		if _, err := clock(get(1)); err != nil {
			return err
		}
		e.place(get(2), get(3), get(4), get(5), t, at)
		if u := get(10); u == "" || u == "M" {
			e.p.set(Height, &e.p.HeightM, get(9), 1)
		}
	case "RMC":
		if get(2) != "A" {
			t.find("note", "fixes marked invalid were left out", at, "")
			return nil
		}
		if _, err := clock(get(1)); err != nil {
			return err
		}
		e.place(get(3), get(4), get(5), get(6), t, at)
		e.p.set(Speed, &e.p.SpeedMS, get(7), 1852.0/3600)
		e.p.set(Course, (*float64)(&e.p.Course), get(8), math.Pi/180)
		if d := get(9); len(d) == 6 {
			yy, err1 := strconv.Atoi(d[4:])
			mm, err2 := strconv.Atoi(d[2:4])
			dd, err3 := strconv.Atoi(d[:2])
			if err1 == nil && err2 == nil && err3 == nil {
				year := 2000 + yy
				if yy >= 80 { // the system began in 1980
					year = 1900 + yy
				}
				e.date(year, mm, dd, t, at)
			}
		}
	case "VTG":
		if get(9) == "N" {
			return nil
		}
		e.p.set(Course, (*float64)(&e.p.Course), get(1), math.Pi/180)
		if !e.p.set(Speed, &e.p.SpeedMS, get(5), 1852.0/3600) {
			e.p.set(Speed, &e.p.SpeedMS, get(7), 1/3.6)
		}
	case "ZDA":
		if ok, err := clock(get(1)); err != nil || !ok {
			return err
		}
		dd, err1 := strconv.Atoi(get(2))
		mm, err2 := strconv.Atoi(get(3))
		yy, err3 := strconv.Atoi(get(4))
		if err1 == nil && err2 == nil && err3 == nil {
			e.date(yy, mm, dd, t, at)
		}
	}
	return nil
}

func (e *epoch) date(y, m, d int, t *Track, at string) {
	day := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	if day.Month() != time.Month(m) || day.Day() != d || y < 1980 || y > 2200 {
		t.find("caution", "dates that do not exist were left out", at, "")
		return
	}
	e.day, e.dated = day.Unix()/86400, true
}

func (e *epoch) place(lat, ns, lon, ew string, t *Track, at string) {
	la, ok1 := ddmm(lat, 2)
	lo, ok2 := ddmm(lon, 3)
	if !ok1 || !ok2 || (ns != "N" && ns != "S") || (ew != "E" && ew != "W") {
		t.find("caution", "sentences without a readable position were left out", at, "")
		return
	}
	if ns == "S" {
		la = -la
	}
	if ew == "W" {
		lo = -lo
	}
	e.p.LatDeg, e.p.LonDeg, e.placed = la, lo, true
}

// ddmm reads degrees and decimal minutes run together, "4807.038" being 48° 07.038'.
func ddmm(text string, degreeDigits int) (float64, bool) {
	dot := strings.IndexByte(text, '.')
	if dot < 0 {
		dot = len(text)
	}
	if dot != degreeDigits+2 {
		return 0, false
	}
	d, err := strconv.ParseUint(text[:degreeDigits], 10, 16)
	m, ok := number(text[degreeDigits:])
	if err != nil || !ok || m < 0 || m >= 60 {
		return 0, false
	}
	return float64(d) + m/60, true
}

// timeOfDay reads hhmmss with decimals as seconds of the day; 60 s is a leap second.
func timeOfDay(text string) (float64, bool) {
	if len(text) < 6 {
		return 0, false
	}
	h, err1 := strconv.ParseUint(text[:2], 10, 8)
	m, err2 := strconv.ParseUint(text[2:4], 10, 8)
	s, ok := number(text[4:])
	if err1 != nil || err2 != nil || !ok || h > 23 || m > 59 || s < 0 || s >= 61 {
		return 0, false
	}
	return float64(h*3600+m*60) + s, true
}

// WriteSentence frames a sentence body with $, star, checksum and line end.
func WriteSentence(body string) string {
	return fmt.Sprintf("$%s*%02X\r\n", body, Checksum(body))
}
