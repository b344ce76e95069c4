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

// CircleFromDelivery returns the circle of confusion in metres on a recorded width that
// shows as one line pair of the delivered picture: two delivered pixels.
func CircleFromDelivery(recordedWidthM float64, deliveredPixels int) (float64, error) {
	if err := errors.Join(unit.Within("recorded width", recordedWidthM, 1e-4, 0.5, "m"), unit.Within("delivered width", float64(deliveredPixels), 1, 1e5, "pixels")); err != nil {
		return 0, err
	}
	return 2 * recordedWidthM / float64(deliveredPixels), nil
}

// CircleFromScreen returns the circle of confusion in metres on a recorded width that
// subtends one arc minute (the limit of normal sight, 6/6 by definition) to somebody at
// viewingM from a screen of screenWidthM.
func CircleFromScreen(recordedWidthM, screenWidthM, viewingM float64) (float64, error) {
	err := errors.Join(unit.Within("recorded width", recordedWidthM, 1e-4, 0.5, "m"), unit.Within("screen width", screenWidthM, 0.01, 100, "m"),
		unit.Within("viewing distance", viewingM, 0.05, 500, "m"))
	if err != nil {
		return 0, err
	}
	const arcMinute = math.Pi / (180 * 60)
	return recordedWidthM * viewingM * arcMinute / screenWidthM, nil
}
