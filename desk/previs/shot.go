package previs

import (
	"fmt"
	"image"
	"math"
	"time"

	"fieldfare/model/lens"
	"fieldfare/plan/assess"
	"fieldfare/plan/move"
)

// Shot is one slate at one start, ready to be drawn at any time of the take.
type Shot struct {
	Scene   *Scene
	Camera  lens.Camera // with the pixels of the picture drawn
	Path    *move.Path
	Start   time.Time
	Slate   string
	Options Options // of every frame
	// SmearS is how long each frame is exposed, for smear; 0 draws sharp frames.
	SmearS float64
	// Labelled burns slate and timecode into each frame.
	Labelled bool

	assessor *assess.Assessor
	take     *assess.Take
	exposure float64
}

// NewShot makes a slate ready to be drawn in a picture widthPx wide, starting at an instant. All its frames get
// the exposure of the middle of the take. A slate with stop findings at that instant gets a band that says so.
func NewShot(s *Scene, a *assess.Assessor, slate string, start time.Time, widthPx int) (*Shot, error) {
	t := a.Take(slate)
	if t == nil {
		return nil, fmt.Errorf("no slate %q in this shoot", slate)
	}
	c, ok := t.Camera()
	if !ok {
		return nil, fmt.Errorf("slate %s: rig %s carries no camera, so there is nothing to draw", slate, t.Rig.Name)
	}
	if widthPx < 16 || widthPx > 16384 {
		return nil, fmt.Errorf("picture %d pixels wide: 16 to 16384 are expected", widthPx)
	}
	shot := &Shot{Scene: s, Camera: Sized(c, widthPx), Path: &t.Path, Start: start, Slate: slate, assessor: a, take: t}
	if len(t.Path.Samples) == 0 {
		return nil, fmt.Errorf("slate %s has no path to draw along", slate)
	}
	middle := t.Path.DurationS() / 2
	m, err := shot.moment(middle)
	if err != nil {
		return nil, err
	}
	small := Sized(c, 96)
	sample := poseAt(&t.Path, middle)
	p := newPainter(s, zoomed(small, sample), sample.Pose(), m)
	p.trace()
	p.expose(0)
	shot.exposure = float64(p.gain)
	p.release()
	stops := 0
	for _, f := range t.At(start).Findings {
		if f.Severity == assess.Stop {
			stops++
		}
	}
	switch {
	case t.Unsolved != nil:
		shot.Options.Band = slate + " has no path: held above its launch spot"
	case stops == 1:
		shot.Options.Band = slate + " not cleared: 1 stop finding"
	case stops > 1:
		shot.Options.Band = fmt.Sprintf("%s not cleared: %d stop findings", slate, stops)
	}
	return shot, nil
}

// Frames is how many frames the take has.
func (s *Shot) Frames() int { return int(math.Floor(s.Path.DurationS()*s.RateHz()+1e-6)) + 1 }

// RateHz is the frame rate in frames per second.
func (s *Shot) RateHz() float64 { return float64(s.take.Slate.Rate) }

func (s *Shot) moment(takeS float64) (Moment, error) {
	m, err := MomentOf(s.assessor, s.take, s.Start.Add(time.Duration(takeS*float64(time.Second))), takeS, false)
	m.Exposure = s.exposure
	return m, err
}

func zoomed(c lens.Camera, s move.Sample) lens.Camera {
	if s.FocalM > 0 {
		c.FocalM = s.FocalM
	}
	return c
}

// Frame draws the frame with a number from 0.
func (s *Shot) Frame(n int) (*image.RGBA, error) { return s.At(float64(n) / s.RateHz()) }

// At draws the frame at a time of the take in seconds. The exposure of a smeared frame is centred on it.
func (s *Shot) At(takeS float64) (*image.RGBA, error) {
	m, err := s.moment(takeS)
	if err != nil {
		return nil, err
	}
	o := s.Options
	sample := poseAt(s.Path, takeS)
	c := zoomed(s.Camera, sample)
	var out *image.RGBA
	if n := s.exposures(takeS); n > 1 {
		if out, err = s.smeared(takeS, n); err != nil {
			return nil, err
		}
	} else {
		out = draw(s.Scene, c, sample.Pose(), m, o)
	}
	if s.Labelled {
		b := s.label(takeS, c)
		o.Burn = &b
	}
	return out, overlay(out, s.Scene, c, sample.Pose(), m, o)
}

func (s *Shot) label(takeS float64, c lens.Camera) Burn {
	at := s.Start.Add(time.Duration(takeS * float64(time.Second))).In(s.take.Zone())
	return Burn{Slate: s.Slate, Title: s.take.Slate.Title,
		Timecode: Timecode(int(math.Round(takeS*s.RateHz())), s.RateHz()),
		Note:     fmt.Sprintf("%s   %.0f mm   %s   planning aid only, drawn from the plan", at.Format("2 Jan 2006 15:04:05 MST"), c.FocalM*1000, s.take.Slate.Rate)}
}

// Smear is drawn by adding up exposures no further apart than smearStepPx at the frame's edges.
const (
	smearStepPx  = 1.5
	smearAtMost  = 32
	smearAtLeast = 3
)

// exposures is how many sharp pictures make a smeared one.
func (s *Shot) exposures(takeS float64) int {
	if s.SmearS <= 0 {
		return 1
	}
	a, b := poseAt(s.Path, takeS-s.SmearS/2), poseAt(s.Path, takeS+s.SmearS/2)
	ca, cb := zoomed(s.Camera, a), zoomed(s.Camera, b)
	va, vb := ca.View(a.Pose()), cb.View(b.Pose())
	// Points that the frame's corners and centre see, at the nearest depth that matters.
	far := 0.0
	depth := max(3, min(a.FocusM, 60))
	for _, k := range [5][2]float64{{0, 0}, {1, 0}, {0, 1}, {1, 1}, {0.5, 0.5}} {
		x, y := k[0]*float64(ca.PixelsW), k[1]*float64(ca.PixelsH)
		p := va.Pos.Add(va.Ray(x, y).Scale(depth))
		if bx, by, _, ok := vb.Project(p); ok {
			far = max(far, math.Hypot(bx-x, by-y))
		}
	}
	return max(smearAtLeast, min(smearAtMost, int(math.Ceil(far/smearStepPx))+1))
}

func (s *Shot) smeared(takeS float64, n int) (*image.RGBA, error) {
	var sum []uint32
	var out *image.RGBA
	for i := range n {
		t := takeS + s.SmearS*((float64(i)+0.5)/float64(n)-0.5)
		m, err := s.moment(max(0, t))
		if err != nil {
			return nil, err
		}
		sample := poseAt(s.Path, t)
		out = draw(s.Scene, zoomed(s.Camera, sample), sample.Pose(), m, s.Options)
		if sum == nil {
			sum = make([]uint32, len(out.Pix))
		}
		for k, v := range out.Pix {
			sum[k] += intensity[v]
		}
	}
	for k := range out.Pix {
		if k%4 != 3 {
			out.Pix[k] = encode(float32(sum[k]) / float32(n) / 65535)
		}
	}
	return out, nil
}

// intensity undoes the display curve, 65535 for white.
var intensity = func() (t [256]uint32) {
	for i := range t {
		t[i] = uint32(math.Round(65535 * linear(float64(i)/255)))
	}
	return t
}()

// Storyboard draws the first, middle and last frame of a slate in pictures widthPx wide, for paper.
func (s *Scene) Storyboard(a *assess.Assessor, slate string, at time.Time, widthPx int) (start, middle, end image.Image, err error) {
	shot, err := NewShot(s, a, slate, at, widthPx)
	if err != nil {
		return nil, nil, nil, err
	}
	last := float64(shot.Frames()-1) / shot.RateHz()
	var out [3]image.Image
	for i := range out {
		if out[i], err = shot.At(last * float64(i) / 2); err != nil {
			return nil, nil, nil, err
		}
	}
	return out[0], out[1], out[2], nil
}
