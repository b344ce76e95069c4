package cli

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"

	"fieldfare/desk/draw"
	"fieldfare/plan/assess"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

type pathCmd struct {
	Dir   string `arg:"" help:"Shoot folder." type:"path"`
	Slate string `arg:"" help:"Slate."`
	CSV   bool   `name:"csv" help:"Every sample as comma-separated values, units in the header."`
	SVG   string `name:"svg" help:"Also draw the path from above and from the side." type:"path"`
	Force bool   `help:"Overwrite an existing file."`
}

// pathSample is one moment of a path, in the units of its keys.
type pathSample struct {
	TimeS      float64  `json:"time_s"`
	LatDeg     float64  `json:"latitude_deg"`
	LonDeg     float64  `json:"longitude_deg"`
	HeightM    float64  `json:"height_above_sea_m"`
	GroundM    *float64 `json:"height_above_ground_m"` // null where the terrain is not known
	EastM      float64  `json:"east_m"`
	NorthM     float64  `json:"north_m"`
	SpeedMS    float64  `json:"speed_m_s"`
	ClimbMS    float64  `json:"climb_m_s"`
	YawDeg     float64  `json:"yaw_deg"`
	PanDeg     float64  `json:"pan_deg"`
	TiltDeg    float64  `json:"tilt_deg"`
	RollDeg    float64  `json:"roll_deg"`
	AzimuthDeg float64  `json:"camera_azimuth_deg"`
	FocalMM    float64  `json:"focal_mm"`
	FocusM     float64  `json:"focus_m"`
}

type pathSpan struct {
	Move    string  `json:"move"`
	FromS   float64 `json:"from_s"`
	ToS     float64 `json:"to_s"`
	LengthM float64 `json:"length_m"`
}

type pathResult struct {
	Slate    string             `json:"slate"`
	RateHz   float64            `json:"rate_hz"`
	Spans    []pathSpan         `json:"spans"`
	Numbers  assess.MoveNumbers `json:"numbers"`
	Bounds   []string           `json:"bounds"`
	Unsolved string             `json:"unsolved,omitempty"`
	Samples  []pathSample       `json:"samples"`
	Caution  string             `json:"caution"`
}

func (c *pathCmd) Run(s *Session) error {
	if c.SVG != "" {
		if err := vacant(c.SVG, c.Force); err != nil {
			return err
		}
	}
	a, err := open(s.Context, c.Dir)
	if err != nil {
		return err
	}
	t := a.Take(c.Slate)
	if t == nil {
		return fmt.Errorf("no slate %q in this shoot", c.Slate)
	}
	result := pathResult{Slate: c.Slate, RateHz: t.Path.RateHz, Numbers: t.MoveNumbers(), Bounds: []string{}, Samples: []pathSample{}, Caution: SafetySentence}
	for _, b := range t.Bounds {
		result.Bounds = append(result.Bounds, b.String())
	}
	if t.Unsolved != nil {
		result.Unsolved = t.Unsolved.Error()
	} else {
		for i := range t.Path.Samples {
			result.Samples = append(result.Samples, sampleOf(a, &t.Path.Samples[i]))
		}
		for _, span := range t.Path.Spans {
			result.Spans = append(result.Spans, pathSpan{string(span.Move), span.From, span.To, span.LengthM})
		}
	}
	if c.CSV {
		if err := writeSamples(s.Out, result.Samples); err != nil {
			return err
		}
	} else if err := s.emit(result, func(w io.Writer) { printPath(w, result) }); err != nil {
		return err
	}
	if t.Unsolved != nil {
		return exit(1) // and nothing to draw
	}
	if c.SVG == "" {
		return nil
	}
	var picture bytes.Buffer
	if err := draw.FlightSheet(&picture, a, c.Slate, SafetySentence); err != nil {
		return err
	}
	return shoot.Save(c.SVG, picture.Bytes())
}

func sampleOf(a *assess.Assessor, p *move.Sample) pathSample {
	at := a.Shoot.Frame().ToLatLon(p.Pos)
	out := pathSample{TimeS: p.T, LatDeg: at.Lat.Deg(), LonDeg: at.Lon.Deg(), HeightM: p.Pos.Z, EastM: p.Pos.X, NorthM: p.Pos.Y,
		SpeedMS: p.Vel.Norm(), ClimbMS: p.Vel.Z, YawDeg: p.Yaw.Deg(), PanDeg: p.Pan.Deg(), TiltDeg: p.Tilt.Deg(), RollDeg: p.Roll.Deg(),
		AzimuthDeg: p.Azimuth().Deg(), FocalMM: p.FocalM * 1000, FocusM: p.FocusM}
	if z, ok := a.Shoot.Ground().HeightAt(p.Pos.X, p.Pos.Y); ok {
		h := p.Pos.Z - z
		out.GroundM = &h
	}
	return out
}

func printPath(w io.Writer, r pathResult) {
	n := r.Numbers
	if r.Unsolved != "" {
		fmt.Fprintf(w, "stop    %s cannot be flown as asked: %s\n%s\n", r.Slate, r.Unsolved, r.Caution)
		return
	}
	fmt.Fprintf(w, "%s: %.1f s, %.0f m, fastest %.1f m/s, %.0f to %.0f m above ground\n", r.Slate, n.DurationS, n.LengthM, n.TopSpeedMS, n.LowestM, n.HighestM)
	fmt.Fprintf(w, "class: %s (%s); nearest %s %s; framed subject %s at least\n", n.Class, n.ClassWhy, or(n.NearestObstacle, "obstacle"), inMetres(n.ObstacleClearanceM), inMetres(n.LeastSubjectM))
	fmt.Fprintf(w, "subject's height in the frame: %s, %s, %s; horizon from the top: %s to %s\n", inPercent(n.SubjectStartPct), inPercent(n.SubjectMidPct), inPercent(n.SubjectEndPct), inPercent(n.HorizonStartPct), inPercent(n.HorizonEndPct))
	fmt.Fprintf(w, "hidden for %.0f s, out of the frame for %.0f s; a stop or climb-out is free for %s of it; %s\n", n.HiddenS, n.OutOfFrameS, inPercent(n.EscapeFreePct), sideOf(n.AxisSide))
	for _, x := range r.Spans {
		fmt.Fprintf(w, "%6.1f to %6.1f s  %s, %.0f m\n", x.FromS, x.ToS, x.Move, x.LengthM)
	}
	fmt.Fprintln(w, "  time   latitude    longitude   above sea  above ground  speed  azimuth   tilt   focus  (angles in degrees)")
	for i, p := range r.Samples {
		if i%max(1, int(r.RateHz)) != 0 && i != len(r.Samples)-1 {
			continue
		}
		ground := "unknown"
		if p.GroundM != nil {
			ground = fmt.Sprintf("%.1f m", *p.GroundM)
		}
		fmt.Fprintf(w, "%5.1f s  %.6f  %.6f  %7.1f m  %12s  %4.1f m/s  %5.1f  %5.1f  %4.0f m\n", p.TimeS, p.LatDeg, p.LonDeg, p.HeightM, ground, p.SpeedMS, p.AzimuthDeg, p.TiltDeg, p.FocusM)
	}
	for _, b := range r.Bounds {
		fmt.Fprintln(w, "caution", b)
	}
	fmt.Fprintln(w, r.Caution)
}

func writeSamples(w io.Writer, samples []pathSample) error {
	out := csv.NewWriter(w)
	out.Write([]string{"time_s", "latitude_deg", "longitude_deg", "height_above_sea_m", "height_above_ground_m", "speed_m_s", "climb_m_s", "yaw_deg", "pan_deg", "tilt_deg", "roll_deg", "focal_mm", "focus_m", "caution"})
	number := func(v float64, digits int) string {
		if math.Abs(v) < 0.5*math.Pow10(-digits) {
			v = 0 // never -0
		}
		return strconv.FormatFloat(v, 'f', digits, 64)
	}
	for _, p := range samples {
		ground := ""
		if p.GroundM != nil {
			ground = number(*p.GroundM, 2)
		}
		out.Write([]string{number(p.TimeS, 3), number(p.LatDeg, 7), number(p.LonDeg, 7), number(p.HeightM, 2), ground, number(p.SpeedMS, 3), number(p.ClimbMS, 3),
			number(p.YawDeg, 2), number(p.PanDeg, 2), number(p.TiltDeg, 2), number(p.RollDeg, 2), number(p.FocalMM, 1), number(p.FocusM, 1), SafetySentence})
	}
	out.Flush()
	return out.Error()
}

func inMetres(v *float64) string {
	if v == nil {
		return "unknown"
	}
	return fmt.Sprintf("%.1f m", *v)
}

func inPercent(v *float64) string {
	if v == nil {
		return "unknown"
	}
	return fmt.Sprintf("%.0f %%", *v)
}

func or(text, otherwise string) string {
	if text == "" {
		return otherwise
	}
	return text
}

func sideOf(side string) string {
	if side == "" {
		return "on no side of a line of action"
	}
	return "from the " + side + " of the line of action"
}
