package assess

import (
	"slices"

	"fieldfare/model/exposure"
	"fieldfare/model/geo"
	"fieldfare/model/smear"
	"fieldfare/plan/frame"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

// Passing is what a take passes, sees and smears at one second. A null is not known or not in the
// picture.
type Passing struct {
	AtS        float64       `json:"at_s"`
	SpeedMS    float64       `json:"speed_m_s"`
	ClimbMS    float64       `json:"climb_m_s"`
	AboveM     *float64      `json:"above_ground_m"`
	NearestM   *float64      `json:"nearest_m"`
	Nearest    string        `json:"nearest"`
	Subject    *frame.Extent `json:"subject_extent"`
	Share      float64       `json:"subject_in_frame_share"`
	Hiding     string        `json:"hidden_by"` // empty: nothing hides the subject
	SubjectPx  *float64      `json:"subject_px_per_frame"`
	FastestPx  *float64      `json:"fastest_px_per_frame"`
	BlurPx     *float64      `json:"blur_px"` // of the fastest
	PilotM     float64       `json:"pilot_m"`
	PilotBlind bool          `json:"pilot_blind"` // known not to see the aircraft
	PilotBy    string        `json:"pilot_blind_by"`
	StopsFree  move.Answer   `json:"stops_free"`
	ClimbsFree move.Answer   `json:"climbs_out_free"`
	Contents   []frame.Seen  `json:"contents"`
	HorizonL   *float64      `json:"horizon_left_share"` // where the horizon meets the frame's edges, from its top
	HorizonR   *float64      `json:"horizon_right_share"`
	MovingM    *float64      `json:"moving_subject_m"` // to the nearest moving subject
	ClosingMS  *float64      `json:"closing_m_s"`      // above 0: it comes nearer
	NeededM    *float64      `json:"stand_off_m"`      // asked at that closing speed
	Side       move.Side     `json:"axis_side"`        // of the line of action; empty: none, or on it
}

// Along looks along the take second by second. A take without a path gives nothing.
func (t *Take) Along() []Passing {
	if t.Unsolved != nil {
		return nil
	}
	r := smear.Recording{Camera: t.outfit.camera, FrameRate: float64(t.Slate.Rate), ShutterS: exposure.ShutterTime(float64(t.Slate.Rate), t.wish(0).ShutterAngle)}
	var out []Passing
	for _, x := range t.report.Seconds {
		p := Passing{AtS: x.T, SpeedMS: x.SpeedMS, ClimbMS: x.ClimbMS, Nearest: x.Nearest, Share: x.Share, Hiding: x.Hiding,
			PilotM: x.PilotM, PilotBlind: x.PilotSees == move.No, PilotBy: x.PilotBy, StopsFree: x.Stop, ClimbsFree: x.ClimbOut, Contents: x.Contents, Side: x.Side}
		if x.Ground == move.Yes {
			p.AboveM = known(x.HeightM)
		}
		if x.Nearest != "" {
			p.NearestM = known(x.NearestM)
		}
		if x.HorizonKnown {
			p.HorizonL, p.HorizonR = known(float64(x.HorizonLeft)), known(float64(x.HorizonRight))
		}
		if x.Subject != "" {
			p.MovingM, p.ClosingMS, p.NeededM = known(x.SubjectM), known(x.ClosingMS), known(x.NeededM)
		}
		if x.InFrame != (frame.Extent{}) {
			extent := x.InFrame
			p.Subject = &extent
		}
		if r.Check() == nil {
			look := r.Look(t.smearSample(x.T))
			if look.Subject.Seen {
				p.SubjectPx = known(look.Subject.PxFrame())
			}
			if look.Fastest.Seen {
				p.FastestPx, p.BlurPx = known(look.Fastest.PxFrame()), known(look.Fastest.BlurPx)
			}
		}
		out = append(out, p)
	}
	return out
}

// Report returns what the path passes, sees and is seen by; it is empty for a take without a path.
func (t *Take) Report() *move.Report { return &t.report }

// smearSample is the camera's motion at a second of the path.
func (t *Take) smearSample(s float64) *smear.Sample {
	i := max(1, min(len(t.Path.Samples)-1, int(s*t.Path.RateHz+0.5)))
	p, before := &t.Path.Samples[i], &t.Path.Samples[i-1]
	out := &smear.Sample{TimeS: p.T, Pose: p.Pose(), VelocityMS: p.Vel, TurnRadS: smear.TurnBetween(before.Pose(), p.Pose(), 1/t.Path.RateHz), FocalM: p.FocalM}
	out.GroundZM, out.HasGround = t.shoot.Ground().HeightAt(p.Pos.X, p.Pos.Y)
	if target := t.around.subjects[t.Slate.Subject]; target != nil {
		m, ok := target.At(p.T)
		out.Subject, out.HasSubject = smear.Point{At: m.Box.Centre(), VelocityMS: m.Vel}, ok
	}
	return out
}

// standing is how high a person or a parked thing stands (common practice, no source).
const standing = 1.8

// things are what a director would not want in the picture: the pilot and others of the crew, people
// outside it and their homes.
func (t *Take) things() []frame.Thing {
	all := []frame.Thing{{Name: "pilot", Kind: "crew", Box: frame.Box{Foot: t.pilot.Sub(geo.Vec3{Z: eyeM}), WidthM: 0.5, DepthM: 0.5, HeightM: standing}}}
	features := t.shoot.Features()
	for i := range features {
		f := &features[i]
		switch f.Kind {
		case shoot.People, shoot.Home, shoot.Set:
		case shoot.Observer:
			if !slices.Contains(t.Slate.Spotters, f.Name) {
				continue
			}
		default:
			continue
		}
		all = append(all, frame.Thing{Name: describe(f), Kind: f.Kind, Box: stands(f, features)})
	}
	return all
}

// stands is the box of a feature, of a home that of the building around it.
func stands(f *shoot.Feature, features []shoot.Feature) frame.Box {
	height := f.HeightM
	if f.Kind == shoot.Home && f.Shape == shoot.Point {
		for i := range features {
			if b := &features[i]; b.Kind == shoot.Building && b.Contains(f.Places[0]) {
				f, height = b, b.HeightM
				break
			}
		}
	}
	low, high := f.Places[0], f.Places[0]
	for _, p := range f.Places {
		low = geo.Vec3{X: min(low.X, p.X), Y: min(low.Y, p.Y), Z: min(low.Z, p.Z)}
		high = geo.Vec3{X: max(high.X, p.X), Y: max(high.Y, p.Y)}
	}
	return frame.Box{Foot: geo.Vec3{X: (low.X + high.X) / 2, Y: (low.Y + high.Y) / 2, Z: low.Z},
		WidthM: max(0.5, high.X-low.X), DepthM: max(0.5, high.Y-low.Y), HeightM: max(height, standing)}
}
