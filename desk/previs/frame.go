package previs

import (
	"math"

	"fieldfare/model/lens"
)

// Sized returns the camera with square pixels in a picture of the given width; a squeezed picture is
// drawn as it is shown. The height is the nearest even number.
func Sized(c lens.Camera, width int) lens.Camera {
	squeeze := math.Max(1, c.Squeeze)
	c.PixelsW = width
	c.PixelsH = max(2, 2*int(math.Round(float64(width)*c.SensorHeightM/(c.SensorWidthM*squeeze)/2)))
	return c
}
