package sky

import (
	"math"

	"fieldfare/model/unit"
)

// TrackPoint is one point of a body's way over the sky.
type TrackPoint struct {
	AfterS            float64 // seconds after the start
	Altitude, Azimuth unit.Angle
}

// SunTrack returns the sun's way from from for seconds, every stepS seconds and at the end.
func (a *Almanac) SunTrack(from Instant, seconds, stepS float64) []TrackPoint {
	return way(a.Sun, from, seconds, stepS)
}

// MoonTrack returns the moon's way.
func (a *Almanac) MoonTrack(from Instant, seconds, stepS float64) []TrackPoint {
	return way(a.Moon, from, seconds, stepS)
}

func way(look func(Instant) Position, from Instant, seconds, stepS float64) (points []TrackPoint) {
	if !(seconds >= 0 && stepS > 0) {
		return nil
	}
	n := int(math.Ceil(seconds / stepS))
	for i := range n + 1 {
		t := min(float64(i)*stepS, seconds)
		p := look(from.Add(t))
		points = append(points, TrackPoint{t, p.Altitude, p.Azimuth})
	}
	return points
}

// Skyline is the elevation of the terrain's edge by azimuth, evenly spaced clockwise from north;
// empty means a level horizon.
type Skyline []unit.Angle

// At returns the elevation at an azimuth, interpolated.
func (s Skyline) At(azimuth unit.Angle) unit.Angle {
	if len(s) == 0 {
		return 0
	}
	x := float64(azimuth.Wrapped()) / (2 * math.Pi) * float64(len(s))
	i := int(x)
	f := unit.Angle(x - float64(i))
	return s[i%len(s)]*(1-f) + s[(i+1)%len(s)]*f
}

// SunOver returns how far the sun's centre stands above the skyline at an instant, refraction
// included; half a degree of disc is neglected. Its zeros are when direct light comes and goes:
// search them with Crossings.
func (a *Almanac) SunOver(s Skyline, at Instant) unit.Angle {
	p := a.Sun(at)
	return p.Altitude - s.At(p.Azimuth)
}
