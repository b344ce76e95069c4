package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// FNumber is a lens aperture N = focal length / entrance pupil diameter, as engraved:
// f/5.6 is 5.6. Valid 0.5 to 64.
type FNumber float64

// Shutter is an exposure time in seconds.
type Shutter float64

// ISO is a sensitivity as set on the camera (ISO 12232), 100 for ISO 100.
type ISO float64

// FrameRate is in frames per second.
type FrameRate float64

// ParseFNumber reads "f/5.6".
func ParseFNumber(text string) (FNumber, error) {
	rest, ok := strings.CutPrefix(strings.TrimSpace(text), "f/")
	v, err := strconv.ParseFloat(strings.TrimSpace(rest), 64)
	if !ok || err != nil || !(v >= 0.5 && v <= 64) {
		return 0, fmt.Errorf("%q is not an aperture: write f/ and a number from 0.5 to 64, as in f/5.6", text)
	}
	return FNumber(v), nil
}

func (n FNumber) String() string { return "f/" + strconv.FormatFloat(float64(n), 'g', 3, 64) }

// MarshalText implements encoding.TextMarshaler.
func (n FNumber) MarshalText() ([]byte, error) { return []byte(n.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (n *FNumber) UnmarshalText(text []byte) (err error) {
	*n, err = ParseFNumber(string(text))
	return err
}

// ParseShutter reads "1/60 s" or "0.02 s".
func ParseShutter(text string) (Shutter, error) {
	v, err := duration.parse(text)
	if err != nil || !(v > 0) {
		return 0, fmt.Errorf("%q is not a shutter time: write it in seconds, as in 1/60 s", text)
	}
	return Shutter(v), nil
}

// String writes the nearest whole denominator, as cameras label it: "1/60 s".
func (t Shutter) String() string {
	if t > 0 && t < 0.4 {
		return fmt.Sprintf("1/%g s", math.Round(1/float64(t)))
	}
	return strconv.FormatFloat(float64(t), 'g', 3, 64) + " s"
}

// MarshalText implements encoding.TextMarshaler; it keeps the exact value.
func (t Shutter) MarshalText() ([]byte, error) {
	if label := t.String(); strings.HasPrefix(label, "1/") {
		if back, err := ParseShutter(label); err == nil && back == t {
			return []byte(label), nil
		}
	}
	return []byte(strconv.FormatFloat(float64(t), 'g', -1, 64) + " s"), nil
}

// UnmarshalText implements encoding.TextUnmarshaler.
func (t *Shutter) UnmarshalText(text []byte) (err error) {
	*t, err = ParseShutter(string(text))
	return err
}

// ParseISO reads "ISO 200".
func ParseISO(text string) (ISO, error) {
	rest, ok := strings.CutPrefix(strings.TrimSpace(text), "ISO")
	v, err := strconv.ParseFloat(strings.TrimSpace(rest), 64)
	if !ok || err != nil || !(v >= 1 && v <= 4e6) {
		return 0, fmt.Errorf("%q is not a sensitivity: write ISO and a number, as in ISO 200", text)
	}
	return ISO(v), nil
}

func (i ISO) String() string { return "ISO " + strconv.FormatFloat(float64(i), 'f', -1, 64) }

// MarshalText implements encoding.TextMarshaler.
func (i ISO) MarshalText() ([]byte, error) { return []byte(i.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (i *ISO) UnmarshalText(text []byte) (err error) {
	*i, err = ParseISO(string(text))
	return err
}

// ParseFrameRate reads "25 fps" or "24000/1001 fps".
func ParseFrameRate(text string) (FrameRate, error) {
	v, symbol, err := split(text)
	if err != nil || symbol != "fps" || !(v >= 1 && v <= 1000) {
		return 0, fmt.Errorf("%q is not a frame rate: write a number from 1 to 1000 and fps, as in 25 fps", text)
	}
	return FrameRate(v), nil
}

func (f FrameRate) String() string { return strconv.FormatFloat(float64(f), 'g', 6, 64) + " fps" }

// MarshalText implements encoding.TextMarshaler.
func (f FrameRate) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (f *FrameRate) UnmarshalText(text []byte) (err error) {
	*f, err = ParseFrameRate(string(text))
	return err
}
