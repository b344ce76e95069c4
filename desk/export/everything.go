package export

import (
	"bytes"
	"encoding/json"
	"fmt"

	"fieldfare/desk/paper"
	"fieldfare/plan/call"
	"fieldfare/plan/check"
)

type sampleJSON struct {
	TakeS      float64  `json:"take_s"`
	UTC        string   `json:"utc,omitempty"`
	LatDeg     float64  `json:"latitude_deg"`
	LonDeg     float64  `json:"longitude_deg"`
	HeightM    float64  `json:"height_above_sea_m"`
	GroundM    *float64 `json:"height_above_ground_m"`
	SpeedMS    float64  `json:"speed_m_s"`
	YawDeg     float64  `json:"yaw_deg"`
	PanDeg     float64  `json:"pan_deg"`
	TiltDeg    float64  `json:"tilt_deg"`
	RollDeg    float64  `json:"roll_deg"`
	AzimuthDeg float64  `json:"camera_azimuth_deg"`
	FocalMM    float64  `json:"focal_mm"`
	FocusM     float64  `json:"focus_m"`
}

type pathJSON struct {
	Slate   string       `json:"slate"`
	RateHz  float64      `json:"rate_hz"`
	Samples []sampleJSON `json:"samples"`
}

// everything is the check, the day, all paths and the site in one document.
func (c *Content) everything() ([]byte, error) {
	site, err := c.collect()
	if err != nil {
		return nil, err
	}
	out := struct {
		Title   string       `json:"title"`
		Creator string       `json:"creator"`
		Mark    string       `json:"shoot_file"`
		Caution string       `json:"caution"`
		Check   *check.Check `json:"check"`
		Sheet   *call.Sheet  `json:"day"`
		Paths   []pathJSON   `json:"paths"`
		Site    *collection  `json:"geojson"`
	}{c.Assessor.Shoot.Title, c.creator(), paper.Mark(c.Source), safety, c.Check, c.Sheet, []pathJSON{}, site}
	for _, w := range c.ways(0) {
		p := pathJSON{w.slate.Slate, w.take.Path.RateHz, make([]sampleJSON, len(w.points))}
		for k, q := range w.points {
			s := &w.take.Path.Samples[k]
			x := sampleJSON{round(s.T, 3), "", round(q.lat, 8), round(q.lon, 8), round(q.heightM, 3), q.aboveGroundM, round(q.speed, 3), round(s.Yaw.Deg(), 3),
				round(s.Pan.Deg(), 3), round(s.Tilt.Deg(), 3), round(s.Roll.Deg(), 3), round(q.azimuth, 3), round(1000*s.FocalM, 2), round(s.FocusM, 2)}
			if !q.at.IsZero() {
				x.UTC = stamp(q.at)
			}
			p.Samples[k] = x
		}
		out.Paths = append(out.Paths, p)
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(out); err != nil {
		return nil, fmt.Errorf("cannot write JSON: %w", err)
	}
	return b.Bytes(), nil
}
