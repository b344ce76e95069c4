package previs

import (
	"image"

	"fieldfare/model/lens"
)

// Kinds of what a pixel shows, as the authority's pictures number them.
const (
	Sky = iota
	Shadow
	Sunlit
)

// Survey classifies each pixel of a frame as it is drawn, and returns depths.
func Survey(s *Scene, c lens.Camera, pose lens.Pose, m Moment) (kind []uint8, depthM []float64) {
	p := newPainter(s, c, pose, m)
	defer p.release()
	p.trace()
	kind, depthM = make([]uint8, p.w*p.h), make([]float64, p.w*p.h)
	for k := range kind {
		what := p.buffers.what[k]
		if what&^shadedBit < groundSeen {
			continue
		}
		depthM[k] = 1 / float64(p.buffers.near[k])
		kind[k] = Shadow
		look := make([]spot, 1)
		p.aim(&look[0].gaze, float64(k%p.w)+0.5, float64(k/p.w)+0.5)
		p.look(look, nil)
		if s := &look[0]; s.ground && s.normal.Dot(p.light.sun) > 0 && s.sun > 0.5 {
			kind[k] = Sunlit
		}
	}
	return kind, depthM
}

// Rational and NewAnimation are for tests of the files.
var (
	Rational     = rational
	NewAnimation = newAnimation
)

// Add and End write an animation.
func (a *animated) Add(f *image.RGBA) error { return a.add(f) }
func (a *animated) End() error              { return a.end() }

// Depths returns the depth of each pixel as it is drawn, and as a ray alone finds it that starts at the eye; 0 for no ground.
func Depths(s *Scene, c lens.Camera, pose lens.Pose, m Moment) (drawn, alone []float64) {
	p := newPainter(s, c, pose, m)
	defer p.release()
	p.trace()
	for k, near := range p.buffers.near {
		look := make([]spot, 1)
		p.aim(&look[0].gaze, float64(k%p.w)+0.5, float64(k/p.w)+0.5)
		p.look(look, nil)
		depth := func(near float32) float64 {
			if near == 0 {
				return 0
			}
			return 1 / float64(near)
		}
		drawn, alone = append(drawn, depth(near)), append(alone, depth(look[0].near))
	}
	return drawn, alone
}
