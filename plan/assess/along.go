package assess

import (
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
}

// Along looks along the take second by second. A take without a path gives nothing.
func (t *Take) Along() []Passing {
	if t.Unsolved != nil {
		return nil
	}
	problem := t.problem()
	pilot := t.pilot
	report := move.Inspect(&problem, &t.Path, move.Scene{Pilot: &pilot, Things: t.things()})
	r := smear.Recording{Camera: t.outfit.camera, FrameRate: float64(t.Slate.Rate), ShutterS: exposure.ShutterTime(float64(t.Slate.Rate), t.wish(0).ShutterAngle)}
	var out []Passing
	for _, x := range report.Seconds {
		p := Passing{AtS: x.T, SpeedMS: x.SpeedMS, ClimbMS: x.ClimbMS, Nearest: x.Nearest, Share: x.Share, Hiding: x.Hiding,
			PilotM: x.PilotM, PilotBlind: x.PilotSees == move.No, PilotBy: x.PilotBy, StopsFree: x.Stop, ClimbsFree: x.ClimbOut, Contents: x.Contents}
		if x.Ground == move.Yes {
			p.AboveM = known(x.HeightM)
		}
		if x.Nearest != "" {
			p.NearestM = known(x.NearestM)
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

// smearSample is the camera's motion at a second of the path.
func (t *Take) smearSample(s float64) *smear.Sample {
	i := max(1, min(len(t.Path.Samples)-1, int(s*t.Path.RateHz+0.5)))
	p, before := &t.Path.Samples[i], &t.Path.Samples[i-1]
	out := &smear.Sample{TimeS: p.T, Pose: p.Pose(), VelocityMS: p.Vel, TurnRadS: smear.TurnBetween(before.Pose(), p.Pose(), 1/t.Path.RateHz), FocalM: p.FocalM}
	out.GroundZM, out.HasGround = t.shoot.Ground().HeightAt(p.Pos.X, p.Pos.Y)
	if target := t.assessor.subjects[t.Slate.Subject]; target != nil {
		m, ok := target.At(p.T)
		out.Subject, out.HasSubject = smear.Point{At: m.Box.Centre(), VelocityMS: m.Vel}, ok
	}
	return out
}

// standing is how high a person or a parked thing stands (common practice, no source).
const standing = 1.8

// things are what a director would not want in the picture: crew, people, homes, launch spots.
func (t *Take) things() (all []frame.Thing) {
	for _, f := range t.shoot.Features() {
		switch f.Kind {
		case shoot.People, shoot.Home, shoot.Launch, shoot.Observer, shoot.Set:
		default:
			continue
		}
		foot := geo.Vec3{}
		for _, p := range f.Places {
			foot = foot.Add(p.Scale(1 / float64(len(f.Places))))
		}
		height := max(f.HeightM, standing)
		all = append(all, frame.Thing{Name: f.Name, Kind: f.Kind, Box: frame.Box{Foot: foot, WidthM: 1, DepthM: 1, HeightM: height}})
	}
	return all
}
