package assess

import (
	"fieldfare/model/exposure"
	"fieldfare/model/lens"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

// Camera returns the slate's lens on the recorded area of its camera; ok is false for a rig
// that carries none. Where a zoom moves, each sample of the path has its own focal length.
func (t *Take) Camera() (c lens.Camera, ok bool) {
	if t.outfit == nil {
		return c, false
	}
	return t.outfit.camera, true
}

// ShutterS returns the time for which each frame is exposed by the slate's shutter angle, in
// seconds. The camera card of an hour may choose another.
func (t *Take) ShutterS() float64 {
	return exposure.ShutterTime(float64(t.Slate.Rate), t.wish(0).ShutterAngle)
}

// Airframe returns the aircraft that flies the slate.
func (t *Take) Airframe() *shoot.Airframe { return t.airframe }

// Subjects returns the site's subjects by name.
func (a *Assessor) Subjects() map[string]move.Subject { return a.subjects }
