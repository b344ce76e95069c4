package server

import (
	"context"

	"fieldfare/model/lens"
	"fieldfare/plan/assess"
)

// TakePath is a slate's solved path with the camera along it: lists of equal length, one value a
// sample.
type TakePath struct {
	Version int64  `json:"version"`
	Slate   string `json:"slate"`
	Solved  bool   `json:"solved" doc:"false: the move cannot be flown as asked and the aircraft hangs above its launch spot"`
	Why     string `json:"why_not"`

	TS         []float64    `json:"t_s" nullable:"false"`
	XYZ        [][3]float64 `json:"xyz" nullable:"false"`
	LonLat     [][2]float64 `json:"lon_lat" nullable:"false"`
	GroundM    []*float64   `json:"ground_m" nullable:"false" doc:"terrain beneath"`
	YawDeg     []float64    `json:"yaw_deg" nullable:"false" doc:"of the airframe"`
	AzimuthDeg []float64    `json:"azimuth_deg" nullable:"false" doc:"of the camera"`
	TiltDeg    []float64    `json:"tilt_deg" nullable:"false"`
	RollDeg    []float64    `json:"roll_deg" nullable:"false"`
	VFOVDeg    []float64    `json:"vfov_deg" nullable:"false"`
	SpeedMS    []float64    `json:"speed_m_s" nullable:"false"`
	AccelMS2   []float64    `json:"acceleration_m_s2" nullable:"false"`
	Aspect     float64      `json:"aspect"`

	Steps   []PathStep       `json:"steps" nullable:"false"`
	Keys    []PathKey        `json:"keys" nullable:"false"`
	Seconds []assess.Passing `json:"seconds" nullable:"false"`
	Limits  []PathLimit      `json:"limits" nullable:"false"`

	Launch   [3]float64 `json:"launch_xyz"`
	LaunchAt [2]float64 `json:"launch_lon_lat"`
	// How far the outer border of each volume lies from the path.
	BufferM *float64 `json:"ground_risk_buffer_m"`
	Volume  *float64 `json:"contingency_m"`
}

// PathStep is when a move is flown.
type PathStep struct {
	Move  string  `json:"move"`
	FromS float64 `json:"from_s"`
	ToS   float64 `json:"to_s"`
}

// PathKey is a moment worth a mark.
type PathKey struct {
	AtS   float64 `json:"at_s"`
	Label string  `json:"label"`
}

type slateOnly struct {
	Slate string `path:"slate"`
}

func (s *Server) path(_ context.Context, in *slateOnly) (*answer[TakePath], error) {
	state, take, err := s.take(in.Slate)
	if err != nil {
		return nil, err
	}
	return with(pathOf(state, take)), nil
}

// pathRateHz is how densely a path is sent: enough to draw it smoothly.
const pathRateHz = 12.5

func pathOf(state *State, t *assess.Take) TakePath {
	s := state.Assessor.Shoot
	f, g := s.Frame(), s.Ground()
	launch := s.Launch(t.Slate.Launch).Places[0]
	p := TakePath{Version: state.Version, Slate: t.Slate.Slate, Solved: t.Unsolved == nil, Steps: []PathStep{}, Keys: []PathKey{}, Seconds: t.Along(), Limits: pathLimits(s, t),
		Launch: xyz(launch), LaunchAt: lonLat(f, launch), Aspect: 16.0 / 9}
	if t.Unsolved != nil {
		p.Why = t.Unsolved.Error()
	}
	if p.Seconds == nil {
		p.Seconds = []assess.Passing{}
	}
	camera, filmed := t.Camera()
	if filmed {
		p.Aspect = float64(camera.PixelsW) / float64(camera.PixelsH)
	}
	n := len(t.Path.Samples)
	stride := max(1, int(t.Path.RateHz/pathRateHz))
	for i := 0; i < n; i += stride {
		if i+stride >= n {
			i = n - 1 // the end is always sent
		}
		x := &t.Path.Samples[i]
		p.TS = append(p.TS, x.T)
		p.XYZ, p.LonLat = append(p.XYZ, xyz(x.Pos)), append(p.LonLat, lonLat(f, x.Pos))
		var ground *float64
		if z, ok := g.HeightAt(x.Pos.X, x.Pos.Y); ok {
			ground = &z
		}
		p.GroundM = append(p.GroundM, ground)
		p.YawDeg, p.AzimuthDeg = append(p.YawDeg, x.Yaw.Deg()), append(p.AzimuthDeg, x.Azimuth().Deg())
		p.TiltDeg, p.RollDeg = append(p.TiltDeg, x.Tilt.Deg()), append(p.RollDeg, x.Roll.Deg())
		p.VFOVDeg, p.SpeedMS = append(p.VFOVDeg, vfov(camera, filmed, x.FocalM)), append(p.SpeedMS, x.Vel.Norm())
		p.AccelMS2 = append(p.AccelMS2, x.Acc.Norm())
	}
	for _, x := range t.Path.Spans {
		p.Steps = append(p.Steps, PathStep{string(x.Move), x.From, x.To})
	}
	for _, x := range t.Path.Keys {
		p.Keys = append(p.Keys, PathKey{x.T, x.Label})
	}
	if v, ok := t.Volumes(); ok {
		volume, buffer := v.GeographyM+v.ContingencyM, v.GeographyM+v.ContingencyM+v.BufferM
		p.Volume, p.BufferM = &volume, &buffer
	}
	return p
}

func vfov(c lens.Camera, filmed bool, focalM float64) float64 {
	if !filmed {
		return 40 // a trainer carries no camera: any view will do
	}
	if focalM > 0 {
		c.FocalM = focalM
	}
	return c.VFOV().Deg()
}
