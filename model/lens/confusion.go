package lens

import (
	"errors"
	"math"

	"fieldfare/model/unit"
)

// PixelPitch returns the size on the sensor of one recorded pixel, in metres.
func (c Camera) PixelPitch() float64 { return c.SensorWidthM / float64(c.PixelsW) }

// Recorded returns the area of the sensor that a recording format uses: the largest
// centred area with the shape of the picture and square pixels, divided by the format's
// crop (1 for none, 1.3 when the camera records the middle 1/1.3 of the width).
func Recorded(sensorWidthM, sensorHeightM float64, pixelsW, pixelsH int, crop float64) (widthM, heightM float64, err error) {
	c := Camera{FocalM: 1, SensorWidthM: sensorWidthM, SensorHeightM: sensorHeightM, PixelsW: pixelsW, PixelsH: pixelsH}
	if err := errors.Join(c.Check(), unit.Within("crop", crop, 1, 20, "×")); err != nil {
		return 0, 0, err
	}
	shape := float64(pixelsW) / float64(pixelsH)
	widthM = math.Min(sensorWidthM, sensorHeightM*shape)
	return widthM / crop, widthM / shape / crop, nil
}

// CircleFromPitch returns the circle of confusion in metres that spreads over the given
// number of recorded pixels; two is the finest detail that a Bayer sensor resolves (common
// practice, no source).
func CircleFromPitch(pitchM, pixels float64) (float64, error) {
	return pitchM * pixels, errors.Join(unit.Within("pixel pitch", pitchM, 1e-7, 1e-3, "m"), unit.Within("circle of confusion", pixels, 0.1, 100, "pixels"))
}
