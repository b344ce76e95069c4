package assess

import (
	"math"
	"sync"
	"time"

	"fieldfare/model/air"
	"fieldfare/model/geo"
	"fieldfare/model/sky"
	"fieldfare/model/unit"
	"fieldfare/plan/rule"
)

// moment is everything about a take that changes with the hour, worked out once and looked
// at by every gate and finding.
type moment struct {
	at      time.Time
	instant sky.Instant

	sun          sky.Position
	sunUp        bool       // upper limb above the level horizon
	skyline      unit.Angle // the terrain's horizon toward the sun, the highest that the subject meets
	skylineKnown bool
	shaded       bool    // terrain hides the sun from the subject at some moment, or it is down
	wholly       bool    // and at every moment
	fromCamera   float64 // rad, sun's azimuth less the camera's at mid take, right positive
	least, most  float64 // rad, the smallest and largest of its size over the take
	left, right  bool    // whether the sun is ever left, or right, of the camera's axis
	inFrame      bool    // the sun's disc enters the frame
	shadowAt     float64 // s, when the aircraft's own shadow enters the frame; NaN never

	weather air.Weather
	covered bool
	flown   *flown

	class      sky.Class
	classKnown bool
	daylight   sky.Daylight
	light      sky.Illuminance // on the subject

	facts rule.Facts // room for those that a search holds rules against
}

// subjectLx is the light on the subject; ok is false where no model holds.
func (m *moment) subjectLx() (lx float64, ok bool) {
	return m.light.TotalLx(), m.daylight.Unknown == "" && m.light.TotalLx() > 0
}

func (t *Take) moment(at time.Time) *moment {
	m := new(moment)
	t.fill(m, at)
	return m
}

// moments lends moments to searches, which look at one for no longer than a line.
var moments = sync.Pool{New: func() any { return new(moment) }}

// fill makes the moment that of an instant.
func (t *Take) fill(m *moment, at time.Time) {
	t.sky(m, at)
	m.weather, m.covered = t.around.weatherAt(at)
	m.flown = t.flownIn(m.weather)
	m.class, m.classKnown = classOf(m.weather)
	t.aim(m)
	t.lightOn(m)
}

// sky is the part of a moment that needs no weather: sun, terrain toward it, and the camera.
func (t *Take) sky(m *moment, at time.Time) {
	*m = moment{at: at, shadowAt: math.NaN(), class: sky.Clear, facts: m.facts}
	m.instant, m.sun = t.around.sunAt(at)
	m.sunUp = m.sun.Altitude+m.sun.Semidiameter > 0
	m.skylineKnown = len(t.skylines) > 0
	m.skyline, m.wholly = -math.Pi/2, true
	for i := range t.skylines {
		h := t.skylines[i].At(m.sun.Azimuth)
		m.skyline = max(m.skyline, h)
		m.wholly = m.wholly && m.sun.Altitude < h
	}
	m.wholly = !m.sunUp || m.skylineKnown && m.wholly
	m.shaded = !m.sunUp || m.skylineKnown && m.sun.Altitude < m.skyline
	m.fromCamera = float64((m.sun.Azimuth - t.midAzimuth).Signed())
	m.least, m.most = math.Pi, 0
	for _, azimuth := range t.azimuths {
		off := float64((m.sun.Azimuth - azimuth).Signed())
		m.least, m.most = min(m.least, math.Abs(off)), max(m.most, math.Abs(off))
		m.left, m.right = m.left || off < 0, m.right || off > 0
	}
}

// look is the camera at one of the moments at which the sun is compared with it.
type look struct {
	t    float64
	pos  geo.Vec3
	axis geo.Vec3
	view viewer
}

// aim looks whether sun or own shadow enter the picture anywhere on the path.
func (t *Take) aim(m *moment) {
	if !m.sunUp {
		return
	}
	dir := m.sun.Direction()
	sun := float64(m.sun.Semidiameter) / float64(t.outfit.camera.HFOV())
	for i := range t.looks {
		l := &t.looks[i]
		if place, _, ok := l.view.Direction(dir); ok && inside(place, sun) {
			m.inFrame = true
		}
		// The camera rides on the aircraft, so its shadow always lies straight away from the sun.
		if place, _, ok := l.view.Direction(dir.Scale(-1)); ok && math.IsNaN(m.shadowAt) && dir.Z > 0 && inside(place, 0) {
			m.shadowAt = l.t
		}
	}
}

// fromAxis is the least angle in radians between lens axis and sun over the take.
func (t *Take) fromAxis(m *moment) float64 {
	dir, least := m.sun.Direction(), math.Pi
	for i := range t.looks {
		least = math.Min(least, math.Acos(math.Max(-1, math.Min(1, t.looks[i].axis.Dot(dir)))))
	}
	return least
}

// groundReflectance of grass (common practice, no source).
const groundReflectance = 0.2

// lightOn works out what falls on the subject's upright face toward the camera; for a camera
// that looks steeply down, on level ground.
func (t *Take) lightOn(m *moment) {
	if !m.classKnown {
		if t.Slate.Sky == "partly cloudy" || t.Slate.Sky == "overcast" {
			m.class = sky.Class(t.Slate.Sky)
		}
	}
	m.daylight = m.instant.Daylight(m.sun, m.class)
	m.light = m.daylight.On(t.face, m.shaded, groundReflectance)
}

func classOf(w air.Weather) (sky.Class, bool) {
	if !w.CloudOktas.Known {
		return sky.Clear, false
	}
	return sky.ClassOfCover(w.CloudOktas.Value / 8), true
}
