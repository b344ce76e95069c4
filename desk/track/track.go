// Package track reads what a flight recorder left behind: GPX 1.1, KML and KMZ,
// CSV, NMEA 0183 and FIT become one Track of timed positions, with every doubt
// about them listed and none mended in silence.
//
// Units, axes and signs: time is UTC in seconds since 1970-01-01; latitude and
// longitude are WGS 84 degrees, north and east positive; heights are metres, above
// sea level unless the finding list says that the file does not tell; course and yaw
// run clockwise from true north, pan clockwise seen from above, tilt up positive.
//
// Source: Topografix GPX 1.1 schema; OGC 12-007r2 (KML 2.3); NMEA 0183 as described
// in receiver makers' public manuals; FIT protocol as implemented by
// github.com/muktihari/fit; RFC 4180 for CSV.
//
// Validity and accuracy: numbers are kept as written (float64); a file that could
// mean two things is not read but answered with a Question. Hostile input is refused
// by size, depth and ratio before it can hurt.
//
// Not modelled: routes and way-points without a track, 3D models, receiver errors,
// raw satellite observations.
package track

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"fieldfare/model/unit"
)

// Format names a file format that Read understands.
type Format string

// The formats. Sniff finds which of them a file has.
const (
	GPX  Format = "gpx"
	KML  Format = "kml"
	KMZ  Format = "kmz"
	CSV  Format = "csv"
	NMEA Format = "nmea"
	FIT  Format = "fit"
)

// Fields says which values of a Point the file really held.
type Fields uint16

// One bit for each value of a Point that may be absent.
const (
	Timed Fields = 1 << iota
	Height
	AboveGround
	Speed
	Course
	Yaw
	Pan
	Tilt
	Voltage
	Current
	Charge
)

// Point is one recorded fix. A value whose bit is not set in Has is zero and
// unknown, never a measured zero.
type Point struct {
	UnixS          float64 // UTC seconds since 1970-01-01T00:00:00Z
	LatDeg, LonDeg float64 // WGS 84
	HeightM        float64 // above sea level, as far as the file says
	AboveGroundM   float64
	SpeedMS        float64 // over ground
	Course         unit.Angle
	Yaw, Pan, Tilt unit.Angle
	VoltageV       float64
	CurrentA       float64
	ChargeFraction float64 // 0 empty to 1 full
	Segment        int     // counts up at each declared break in recording
	Has            Fields
}

// Is reports whether every value named by f is present.
func (p *Point) Is(f Fields) bool { return p.Has&f == f }

// Time returns the fix's time, or the zero time when the file held none.
func (p *Point) Time() time.Time {
	if !p.Is(Timed) {
		return time.Time{}
	}
	s := math.Floor(p.UnixS)
	return time.Unix(int64(s), int64(math.Round((p.UnixS-s)*1e6))*1000).UTC()
}

// Finding is something about a track that its reader must know. Severity is
// "caution", "note" or "unknown".
type Finding struct {
	Severity string `json:"severity"`
	What     string `json:"what"`
	Count    int    `json:"count,omitempty"` // how often, when more than once
	At       string `json:"at,omitempty"`    // line, row or time of the first case
	Mend     string `json:"mend,omitempty"`
}

// Track is one recording.
type Track struct {
	Format   Format
	Name     string // as written in the file, may be empty
	Points   []Point
	Findings []Finding
	SHA256   string // of the original bytes, lower-case hex
	Bytes    int64  // size of the original
}

// Span returns the first and last time in the track; ok is false when no point is timed.
func (t *Track) Span() (from, to time.Time, ok bool) {
	for i := range t.Points {
		p := &t.Points[i]
		if !p.Is(Timed) {
			continue
		}
		at := p.Time()
		if !ok || at.Before(from) {
			from = at
		}
		if !ok || at.After(to) {
			to = at
		}
		ok = true
	}
	return from, to, ok
}

// find adds a finding, or counts it when the same one stands already.
func (t *Track) find(severity, what, at, mend string) {
	for i := range t.Findings {
		if f := &t.Findings[i]; f.What == what && f.Severity == severity {
			f.Count++
			return
		}
	}
	t.Findings = append(t.Findings, Finding{Severity: severity, What: what, Count: 1, At: at, Mend: mend})
}

// add appends a point after checking that its place is on the earth.
func (t *Track) add(p Point, at string) error {
	if !(math.Abs(p.LatDeg) <= 90) || !(math.Abs(p.LonDeg) <= 180) {
		t.find("caution", "positions off the globe were left out", at, "check the file's coordinates: latitude -90 to 90, longitude -180 to 180")
		return nil
	}
	if p.LatDeg == 0 && p.LonDeg == 0 {
		t.find("caution", "positions at exactly 0, 0 were left out: receivers write them before their first fix", at, "")
		return nil
	}
	for _, v := range [...]float64{p.UnixS, p.HeightM, p.AboveGroundM, p.SpeedMS, float64(p.Course), float64(p.Yaw), float64(p.Pan), float64(p.Tilt), p.VoltageV, p.CurrentA, p.ChargeFraction} {
		if math.IsNaN(v) || math.Abs(v) > 1e12 {
			t.find("caution", "points with impossible numbers were left out", at, "")
			return nil
		}
	}
	if len(t.Points) >= maxPoints {
		return fmt.Errorf("more than %d points: split the recording by sortie", maxPoints)
	}
	t.Points = append(t.Points, p)
	return nil
}

// Limits that stop hostile or broken files; a 2 h recording at 10 Hz is 72 000 points
// and about 15 MB.
const (
	maxPoints   = 4_000_000
	MaxBytes    = 256 << 20 // largest file, and largest content of a KMZ
	maxLine     = 4096      // longest NMEA line
	maxDepth    = 64        // XML nesting; GPX needs 8, KML about 12
	maxZipRatio = 400       // content to compressed size; real KML packs about 10 to 40 times
)

// Question is the error of a file that could be read in more than one way: what is
// asked, the answers that fit, and how to give one.
type Question struct {
	Ask     Ask // which answer is missing
	What    string
	Choices []string
	Mend    string
}

func (q *Question) Error() string {
	text := q.What
	if len(q.Choices) > 0 {
		text += " (" + strings.Join(q.Choices, ", ") + ")"
	}
	if q.Mend != "" {
		text += "; " + q.Mend
	}
	return text
}

// Ask names an answer that a Question waits for.
type Ask string

// What can be asked. File and sortie questions are answered by choosing another.
const (
	AskColumns Ask = "columns"
	AskZone    Ask = "zone"
	AskStart   Ask = "start"
	AskOffset  Ask = "offset"
	AskFile    Ask = "file"
)

// Options tell Read what the file does not.
type Options struct {
	Format   Format         // empty: found from the content
	Columns  Columns        // CSV: which column holds what; empty asks by returning a Question
	Zone     *time.Location // for times written without a zone; nil asks
	Date     time.Time      // NMEA without RMC or ZDA, CSV with time of day only: the UTC date of the first fix
	Progress func(done, total int64)
}

// Read reads one recording. The returned track carries the hash of data; keep data
// itself with it. The error is a *Question when an answer in opt would make the file
// readable.
func Read(ctx context.Context, data []byte, opt Options) (t *Track, err error) {
	if len(data) == 0 {
		return nil, errors.New("the file is empty")
	}
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("the file has %d MB, more than the %d MB allowed: split the recording by sortie", len(data)>>20, MaxBytes>>20)
	}
	if opt.Format == "" {
		if opt.Format, err = Sniff(data); err != nil {
			return nil, err
		}
	}
	if opt.Progress == nil {
		opt.Progress = func(int64, int64) {}
	}
	sum := sha256.Sum256(data)
	t = &Track{Format: opt.Format, SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(data))}
	switch opt.Format {
	case GPX:
		err = t.readGPX(ctx, data, opt)
	case KML:
		err = t.readKML(ctx, data, opt)
	case KMZ:
		err = t.readKMZ(ctx, data, opt)
	case CSV:
		err = t.readCSV(ctx, data, opt)
	case NMEA:
		err = t.readNMEA(ctx, data, opt)
	case FIT:
		err = t.readFIT(ctx, data, opt)
	default:
		err = fmt.Errorf("format %q is not one of gpx, kml, kmz, csv, nmea, fit", opt.Format)
	}
	var q *Question
	switch {
	case errors.As(err, &q):
		return nil, err
	case err != nil:
		return nil, fmt.Errorf("%s: %w", opt.Format, err)
	case len(t.Points) == 0:
		return nil, fmt.Errorf("%s: no usable position found%s", opt.Format, t.why())
	}
	if opt.Format == GPX || opt.Format == CSV || opt.Format == FIT {
		for i := range t.Points {
			if t.Points[i].Is(Height) {
				t.find("unknown", "the format does not say what heights are measured from; taken as above sea level", "", "compare the height recorded on the ground with the terrain")
				break
			}
		}
	}
	opt.Progress(t.Bytes, t.Bytes)
	return t, nil
}

// why repeats the findings when they explain that nothing was left.
func (t *Track) why() string {
	var b strings.Builder
	for _, f := range t.Findings {
		fmt.Fprintf(&b, "; %s (%d)", f.What, f.Count)
	}
	return b.String()
}

// Sniff tells a file's format from its first bytes, never from its name.
func Sniff(data []byte) (Format, error) {
	head := data[:min(len(data), 4096)]
	switch {
	case bytes.HasPrefix(head, []byte("PK\x03\x04")):
		return KMZ, nil
	case len(head) >= 12 && string(head[8:12]) == ".FIT":
		return FIT, nil
	}
	text := strings.TrimLeft(plain(head), " \t\r\n\ufeff")
	lower := strings.ToLower(text)
	switch {
	case strings.HasPrefix(text, "<") && strings.Contains(lower, "<gpx"):
		return GPX, nil
	case strings.HasPrefix(text, "<") && strings.Contains(lower, "<kml"):
		return KML, nil
	case strings.HasPrefix(text, "<"):
		return "", errors.New("the file is XML, but neither GPX nor KML")
	case sentence.MatchString(text):
		return NMEA, nil
	case strings.ContainsRune(text, 0):
		return "", errors.New("the file is binary and of no format known here: expected GPX, KML, KMZ, CSV, NMEA 0183 or FIT")
	case strings.ContainsAny(firstLine(text), ",;\t"):
		return CSV, nil
	}
	return "", errors.New("the file's format is not known here: expected GPX, KML, KMZ, CSV, NMEA 0183 or FIT")
}

// plain shows UTF-16 text as its low bytes, which is enough to see a tag name.
func plain(head []byte) string {
	if len(head) > 3 && (head[0] == 0 || head[1] == 0 || head[0] == 0xff || head[0] == 0xfe) {
		return strings.TrimPrefix(strings.TrimPrefix(strings.ReplaceAll(string(head), "\x00", ""), "\xff\xfe"), "\xfe\xff")
	}
	return string(head)
}

func firstLine(text string) string {
	line, _, _ := strings.Cut(text, "\n")
	return line
}
