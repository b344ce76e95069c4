package assess

import (
	"fmt"

	"fieldfare/model/exposure"
	"fieldfare/model/smear"
	"fieldfare/model/unit"
)

// smearMoments is at how many moments of the path the picture's motion is looked at.
const smearMoments = 120

// streak works out how fast ground, subject and horizon run through the picture along the path.
func (t *Take) streak() {
	if t.Unsolved != nil || len(t.Path.Samples) < 3 {
		return
	}
	r := smear.Recording{Camera: t.outfit.camera, FrameRate: float64(t.Slate.Rate), ShutterS: exposure.ShutterTime(float64(t.Slate.Rate), t.wish(0).ShutterAngle)}
	target := t.around.subjects[t.Slate.Subject]
	var samples []smear.Sample
	step := max(1, len(t.Path.Samples)/smearMoments)
	dt := 1 / t.Path.RateHz
	for i := step; i < len(t.Path.Samples); i += step {
		p, before := &t.Path.Samples[i], &t.Path.Samples[i-1]
		s := smear.Sample{TimeS: p.T, Pose: p.Pose(), VelocityMS: p.Vel, TurnRadS: smear.TurnBetween(before.Pose(), p.Pose(), dt), FocalM: p.FocalM}
		if z, ok := t.shoot.Ground().HeightAt(p.Pos.X, p.Pos.Y); ok {
			s.GroundZM, s.HasGround = z, true
		}
		if target != nil {
			m, ok := target.At(p.T)
			s.Subject, s.HasSubject = smear.Point{At: m.Box.Centre(), VelocityMS: m.Vel}, ok
		}
		samples = append(samples, s)
	}
	peaks, err := r.Along(samples)
	if err != nil {
		t.find(Unknown, TopicPicture, "motion in the picture", "unknown", "", "projection", err.Error())
		return
	}
	n := &t.numbers.Picture
	worst := peaks.Fastest
	what := "fastest ground in the picture"
	if !worst.Motion.Seen || peaks.Horizon.Motion.PxFrame() > worst.Motion.PxFrame() {
		worst, what = peaks.Horizon, "horizon"
	}
	n.MotionPx, n.BlurPx = known(worst.Motion.PxFrame()), known(worst.Motion.BlurPx)
	if peaks.Subject.Motion.Seen {
		n.SubjectBlurPx = known(peaks.Subject.Motion.BlurPx)
	}
	if s, moves := r.CrossingS(worst.Motion); moves {
		n.CrossingS = known(s)
	}
	if g := peaks.Ground.Motion; g.Seen {
		n.GroundPx = known(g.PxFrame())
	}
	if h := peaks.Horizon.Motion; h.Seen {
		n.HorizonPx = known(h.PxFrame())
	}
	if x := peaks.Subject.Motion; x.Seen {
		n.SubjectPx = known(x.PxFrame())
	}
	n.NaturalS = known(smear.NaturalCrossing(r.FrameRate))
	if v, err := r.FastestSpeed(t.nearestSubjectM); err == nil {
		n.NaturalMS = known(v)
	}
	if v, err := r.FastestTurn(); err == nil {
		n.NaturalDegS = known(float64(v) / float64(unit.Degree))
	}
	if peaks.Subject.Motion.Seen {
		t.judge(r, "subject", peaks.Subject)
	}
	t.judge(r, what, worst)
}

func (t *Take) judge(r smear.Recording, what string, p smear.Peak) {
	v := r.Judge(p.Motion)
	if v.Natural {
		return
	}
	crossing, _ := r.CrossingS(p.Motion)
	mend := v.Why
	if v.Slower < 1 && v.Slower > 0 {
		mend = fmt.Sprintf("%s; natural at %.0f %% of this speed", v.Why, 100*v.Slower)
	}
	t.findAt(p.TimeS, Caution, TopicPicture, "crossing time of the "+what, seconds(crossing), seconds(v.LimitS), v.Basis, mend)
}

// steady judges the lens against what the gimbal leaves in a wind.
func (t *Take) steady(f *flown, shutterS float64) (smear.Hold, error) {
	g := t.shoot.Kit().Gimbal(t.Rig.Gimbal)
	var measured smear.Gimbal
	if g.Residual > 0 {
		measured = append(measured, smear.Residual{WindMS: 0, Rate: g.Residual})
		if g.ResidualPerWind > 0 && t.airframe.Wind > 0 {
			w := float64(t.airframe.Wind)
			measured = append(measured, smear.Residual{WindMS: w, Rate: g.Residual + g.ResidualPerWind*unit.AngularRate(w)})
		}
	}
	return smear.Recording{Camera: t.outfit.camera, FrameRate: float64(t.Slate.Rate), ShutterS: shutterS}.Hold(measured, f.windMS)
}

const shakeWhat = "shake left by the gimbal in this wind"

// shake adds what the gimbal leaves in the hour's wind, with the card's shutter.
func (t *Take) shake(m *moment, card *exposure.Card, a *Assessment) {
	if t.shoot.Kit().Gimbal(t.Rig.Gimbal) == nil {
		return
	}
	if !m.flown.windKnown { // unknown wind is never calm
		a.add(t.timely(Unknown, TopicPicture, shakeWhat, "unknown", "", "residual rate × focal length", supplyWind))
		return
	}
	hold, err := t.steady(m.flown, card.ShutterS)
	if err != nil {
		a.add(t.timely(Unknown, TopicPicture, shakeWhat, "unknown", "", "residual rate × focal length", err.Error()))
		return
	}
	n := &a.Numbers.Picture
	if hold.Severity != "unknown" {
		n.ShakePx = known(hold.BlurPx)
		if hold.LongestFocalM > 0 {
			n.LongestHoldM = known(hold.LongestFocalM)
		}
	}
	if hold.Severity != "" {
		a.add(t.timely(Severity(hold.Severity), TopicPicture, shakeWhat, hold.Value, hold.Limit, hold.Basis, hold.Mend))
	}
}
