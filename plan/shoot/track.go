package shoot

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"fieldfare/model/geo"
)

// Waypoint is where a moving subject is at a time after its cue.
type Waypoint struct {
	TimeS float64
	Pos   geo.Vec3 // on the ground, unless the track gives a height
}

// Track reads the timed track of a moving subject: CSV with columns time [s],
// latitude [deg], longitude [deg] and, if wanted, height [m] above sea; or GPX 1.1 with times.
func (s *Shoot) track(x *Subject) ([]Waypoint, error) {
	src, err := s.folder.read(x.Track)
	if err != nil {
		return nil, err
	}
	var way []Waypoint
	if strings.HasSuffix(strings.ToLower(x.Track), ".gpx") {
		way, err = s.gpx(src)
	} else {
		way, err = s.csvTrack(src)
	}
	if err != nil {
		return nil, err
	}
	if len(way) < 2 {
		return nil, errors.New("a track needs at least two timed positions")
	}
	for i := 1; i < len(way); i++ {
		if !(way[i].TimeS > way[i-1].TimeS) {
			return nil, fmt.Errorf("position %d at %g s is not later than the one before", i+1, way[i].TimeS)
		}
	}
	return way, nil
}

func (s *Shoot) csvTrack(src []byte) ([]Waypoint, error) {
	r := csv.NewReader(bytes.NewReader(src))
	r.Comment, r.TrimLeadingSpace = '#', true
	head, err := r.Read()
	if err != nil {
		return nil, fmt.Errorf("no header row: %w", err)
	}
	column := map[string]int{}
	for i, h := range head {
		column[strings.TrimSpace(h)] = i
	}
	for _, need := range []string{"time [s]", "latitude [deg]", "longitude [deg]"} {
		if _, ok := column[need]; !ok {
			return nil, fmt.Errorf("no column %q; the header is time [s],latitude [deg],longitude [deg] and, if known, height [m]", need)
		}
	}
	var way []Waypoint
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			return way, nil
		}
		if err != nil {
			return nil, err
		}
		line, _ := r.FieldPos(0)
		number := func(name string) float64 {
			v, parse := strconv.ParseFloat(strings.TrimSpace(row[column[name]]), 64)
			if parse != nil || math.IsNaN(v) || math.IsInf(v, 0) {
				err = fmt.Errorf("line %d, %s: %q is not a number", line, name, row[column[name]])
			}
			return v
		}
		t, lat, lon := number("time [s]"), number("latitude [deg]"), number("longitude [deg]")
		height, known := 0.0, false
		if i, ok := column["height [m]"]; ok && strings.TrimSpace(row[i]) != "" {
			height, known = number("height [m]"), true
		}
		if err != nil {
			return nil, err
		}
		pos, err := s.stand(lat, lon, height, known)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", line, err)
		}
		way = append(way, Waypoint{t, pos})
	}
}

// stand puts a position into the site frame, on the ground where its height is not known.
func (s *Shoot) stand(lat, lon, height float64, known bool) (geo.Vec3, error) {
	at := geo.Degrees(lat, lon)
	if err := at.Validate(); err != nil {
		return geo.Vec3{}, err
	}
	p := s.frame.ToSite(at, height)
	if known {
		return p, nil
	}
	z, ok := s.ground.HeightAt(p.X, p.Y)
	if !ok {
		return p, fmt.Errorf("position %.6f, %.6f lies outside the terrain or where it has no data", lat, lon)
	}
	p.Z = z
	return p, nil
}

func (s *Shoot) gpx(src []byte) ([]Waypoint, error) {
	var doc struct {
		Points []struct {
			Lat  float64 `xml:"lat,attr"`
			Lon  float64 `xml:"lon,attr"`
			Time string  `xml:"time"`
		} `xml:"trk>trkseg>trkpt"`
	}
	if err := xml.Unmarshal(src, &doc); err != nil {
		return nil, fmt.Errorf("not GPX 1.1: %w", err)
	}
	var way []Waypoint
	var start time.Time
	for i, p := range doc.Points {
		at, err := time.Parse(time.RFC3339, p.Time)
		if err != nil {
			return nil, fmt.Errorf("track point %d has no time: %w", i+1, err)
		}
		if i == 0 {
			start = at
		}
		pos, err := s.stand(p.Lat, p.Lon, 0, false)
		if err != nil {
			return nil, fmt.Errorf("track point %d: %w", i+1, err)
		}
		way = append(way, Waypoint{at.Sub(start).Seconds(), pos})
	}
	return way, nil
}

// Way returns the timed track of a moving subject, nil for a still one.
func (s *Shoot) Way(subject string) []Waypoint { return s.ways[subject] }

// Foot returns where a still subject stands: the middle of its base.
func (s *Shoot) Foot(x *Subject) (geo.Vec3, bool) {
	if x.At == nil {
		return geo.Vec3{}, false
	}
	p := s.frame.ToSite(geo.LatLon(*x.At), 0)
	z, ok := s.ground.HeightAt(p.X, p.Y)
	if x.Elevation != nil {
		z, ok = float64(*x.Elevation), true
	}
	p.Z = z + float64(x.Lift)
	return p, ok
}
