package previs

import (
	"fmt"
	"image"
	"math"
	"time"

	"fieldfare/model/lens"
	"fieldfare/plan/assess"
)

// Sized returns the camera with square pixels in a picture of the given width; a squeezed picture is
// drawn as it is shown. The height is the nearest even number.
func Sized(c lens.Camera, width int) lens.Camera {
	squeeze := math.Max(1, c.Squeeze)
	c.PixelsW = width
	c.PixelsH = max(2, 2*int(math.Round(float64(width)*c.SensorHeightM/(c.SensorWidthM*squeeze)/2)))
	return c
}

// Frame draws a slate at an instant, takeS seconds into the take.
func Frame(s *Scene, a *assess.Assessor, t *assess.Take, at time.Time, takeS float64, width int) (*image.RGBA, error) {
	c, ok := t.Camera()
	if !ok {
		return nil, fmt.Errorf("slate %s: rig %s carries no camera; nothing can be drawn", t.Slate.Slate, t.Rig.Name)
	}
	m, err := MomentOf(a, t, at, takeS, false)
	if err != nil {
		return nil, err
	}
	c = Sized(c, width)
	sample := poseAt(&t.Path, takeS)
	if sample.FocalM > 0 {
		c.FocalM = sample.FocalM
	}
	return Render(s, c, sample.Pose(), m, Options{}), nil
}
