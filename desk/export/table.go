package export

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"
)

// Columns of the CSV, with what they hold.
var Columns = [][2]string{
	{"slate", "slate"}, {"state", "planned; not in the day; or stop: not to be flown as planned"}, {"sample", "number of the sample, from 0"}, {"take_s", "seconds from the start of the take"}, {"utc", "RFC 3339; empty for a slate without a place in the day"},
	{"latitude_deg", "WGS 84, north positive"}, {"longitude_deg", "WGS 84, east positive"}, {"height_above_sea_m", "of the camera"}, {"height_above_ground_m", "empty where the terrain is not known"},
	{"east_m", "of the site's origin"}, {"north_m", "of the site's origin"}, {"speed_m_s", "over ground, climb included"}, {"climb_m_s", "upward positive"},
	{"yaw_deg", "heading of the airframe, clockwise from true north"}, {"pan_deg", "of the gimbal against the airframe, clockwise"}, {"tilt_deg", "upward positive"}, {"roll_deg", "right side down positive"},
	{"camera_azimuth_deg", "yaw and pan together"}, {"focal_mm", "focal length"}, {"focus_m", "distance of the plane of focus"}, {"caution", "what the numbers are not"},
}

// state is the column that keeps a barred path from being taken for a good one.
func (w *way) state() string {
	switch {
	case w.slate.Barred:
		return "stop: not to be flown as planned"
	case w.planned.IsZero():
		return "not in the day"
	}
	return "planned"
}

func (c *Content) csv() ([]byte, error) {
	ways := c.ways(0)
	if len(ways) == 0 {
		return nil, errNothing
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true // RFC 4180
	var head []string
	for _, col := range Columns {
		head = append(head, col[0])
	}
	w.Write(head)
	fixed := func(v float64, digits int) string { return strconv.FormatFloat(v+0, 'f', digits, 64) }
	for i := range ways {
		for k, p := range ways[i].points {
			s := &ways[i].take.Path.Samples[k]
			at, ground := "", ""
			if !p.at.IsZero() {
				at = stamp(p.at)
			}
			if p.aboveGroundM != nil {
				ground = fixed(*p.aboveGroundM, 2)
			}
			w.Write([]string{ways[i].slate.Slate, ways[i].state(), strconv.Itoa(k), fixed(s.T, 3), at, fixed(p.lat, 8), fixed(p.lon, 8), fixed(p.heightM, 3), ground,
				fixed(s.Pos.X, 3), fixed(s.Pos.Y, 3), fixed(p.speed, 3), fixed(s.Vel.Z, 3), fixed(s.Yaw.Deg(), 3), fixed(s.Pan.Deg(), 3), fixed(s.Tilt.Deg(), 3), fixed(s.Roll.Deg(), 3),
				fixed(p.azimuth, 3), fixed(1000*s.FocalM, 2), fixed(s.FocusM, 2), safety})
		}
	}
	w.Flush()
	if err := w.Error(); err != nil {
		return nil, fmt.Errorf("cannot write CSV: %w", err)
	}
	return b.Bytes(), nil
}
