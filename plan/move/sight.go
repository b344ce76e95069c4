package move

import (
	"math"

	"fieldfare/model/geo"
)

// Answer is yes, no or unknown: what is not known is never a yes.
type Answer string

// Answers.
const (
	Yes     Answer = "yes"
	No      Answer = "no"
	Unknown Answer = "unknown"
)

func answer(b bool) Answer {
	if b {
		return Yes
	}
	return No
}

// sight tells whether b is seen from a, and what is in between. Obstacles around b itself
// do not count: a house is seen though its middle is inside it.
func (h *hazards) sight(a, b geo.Vec3) (seen Answer, by string) {
	if name, _, hit := h.blockedExcept(a, b); hit {
		return No, name
	}
	switch h.overland(a, b) {
	case No:
		return No, "ground"
	case Unknown:
		return Unknown, ""
	}
	return Yes, ""
}

func (h *hazards) blockedExcept(a, b geo.Vec3) (string, float64, bool) {
	d := b.Sub(a)
	length := d.Norm()
	if length == 0 {
		return "", 0, false
	}
	for i := range h.all {
		o := &h.all[i]
		if !o.opaque || nearestOn(o.centre, a, b).Sub(o.centre).Norm() > o.radius {
			continue
		}
		if dist, _ := o.shape.Distance(b); dist < 0.5 {
			continue
		}
		if at, hit := o.met(a, d, length); hit {
			return o.name, at, true
		}
	}
	return "", 0, false
}

// met walks along a line in steps as long as the distance to the solid.
func (o *hazard) met(a, d geo.Vec3, length float64) (fraction float64, hit bool) {
	for s := 0.0; s < length; {
		dist, _ := o.shape.Distance(a.Add(d.Scale(s / length)))
		if dist < 1e-3 {
			return s / length, true
		}
		s += dist
	}
	return 0, false
}

// overland tells whether the ground leaves the line from a to b free, looking as often as
// the line's height over it allows. The last half metre before b may touch the ground.
func (h *hazards) overland(a, b geo.Vec3) Answer {
	if h.ground == nil {
		return Unknown
	}
	d := b.Sub(a)
	length := d.Norm()
	free := Yes
	for s := 0.0; s < length-0.5; {
		p := a.Add(d.Scale(s / length))
		z, ok := h.ground.HeightAt(p.X, p.Y)
		if !ok {
			free = Unknown
			s += 10
			continue
		}
		over := p.Z - z
		if over < 0 {
			return No
		}
		s += max(1, min(50, over/2))
	}
	return free
}

// overGroundM is the distance to the nearest ground, searched within the height above it.
func (h *hazards) overGroundM(p geo.Vec3) (heightM, distM float64, ok bool) {
	if h.ground == nil {
		return 0, 0, false
	}
	z, ok := h.ground.HeightAt(p.X, p.Y)
	if !ok {
		return 0, 0, false
	}
	heightM = p.Z - z
	distM = math.Abs(heightM)
	reach := distM
	for ring := 1; ring <= 4; ring++ {
		r := reach * float64(ring) / 4
		for i := range 12 {
			s, c := math.Sincos(float64(i) * math.Pi / 6)
			if z, ok := h.ground.HeightAt(p.X+r*s, p.Y+r*c); ok {
				up := max(0, p.Z-z)
				distM = min(distM, math.Hypot(r, up))
			}
		}
	}
	return heightM, distM, true
}
