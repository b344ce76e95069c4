package move

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/plan/frame"
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
func (h *hazards) sight(a, b geo.Vec3) (seen Answer, by string) { return h.sightOf(a, b, nil) }

// sightOf is sight to a point of a box; what is part of it does not hide it: the
// tower of a church, the houses of a hamlet.
func (h *hazards) sightOf(a, b geo.Vec3, of *frame.Box) (seen Answer, by string) {
	if name, _, hit := h.blockedExcept(a, b, of); hit {
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

func (h *hazards) blockedExcept(a, b geo.Vec3, of *frame.Box) (string, float64, bool) {
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
		if dist, _ := o.shape.Distance(b); dist < 0.5 || of != nil && o.partOf(of) {
			continue
		}
		if at, hit := o.met(a, d, length); hit {
			return o.name, at, true
		}
	}
	return "", 0, false
}

// partOf tells whether a solid belongs to a box: it stands on the box's ground plan or, as a
// building, touches it.
func (o *hazard) partOf(b *frame.Box) bool {
	s, c := math.Sincos(float64(b.Facing))
	d := o.centre.Sub(b.Foot)
	across, along := d.X*c-d.Y*s, d.X*s+d.Y*c
	w, l := max(-b.WidthM/2, min(b.WidthM/2, across)), max(-b.DepthM/2, min(b.DepthM/2, along))
	if w == across && l == along {
		return true
	}
	if o.kind != "building" && o.kind != "bridge" {
		return false
	}
	dist, _ := o.shape.Distance(geo.Vec3{X: b.Foot.X + w*c + l*s, Y: b.Foot.Y - w*s + l*c, Z: o.centre.Z})
	return dist < 0.5
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
