package frame

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
)

// Thing is something that may be in the picture beside the subject.
type Thing struct {
	Name string
	Kind string // "crew", "home", "launch", "own shadow", "sun", ...
	Box  Box
	Far  bool // Box.Foot is a direction, for the sun
}

// Seen is a thing in the picture.
type Seen struct {
	Name   string  `json:"name"`
	Kind   string  `json:"kind"`
	Extent Extent  `json:"extent"`
	Share  float64 `json:"share"` // share of it that lies in the frame
	DistM  float64 `json:"distance_m"`
	Hidden bool    `json:"hidden"` // behind ground or an obstacle
}

// Contents appends to dst the things that lie at least partly in the frame. Whether
// something hides them is not looked at.
func Contents(dst []Seen, c lens.Camera, at lens.Pose, things []Thing) []Seen {
	v := Look(c, at)
	for i := range things {
		t := &things[i]
		var e Extent
		var ok bool
		dist := 0.0
		if t.Far {
			var p Place
			p, _, ok = v.Direction(t.Box.Foot)
			e = Extent{p.X, p.Y, p.X, p.Y}
		} else {
			dist = t.Box.Centre().Sub(at.Pos).Norm()
			e, ok = v.Extent(t.Box)
		}
		if !ok {
			continue
		}
		if e.Right < 0 || e.Left > 1 || e.Bottom < 0 || e.Top > 1 {
			continue
		}
		dst = append(dst, Seen{Name: t.Name, Kind: t.Kind, Extent: e, Share: e.Inside(), DistM: dist})
	}
	return dst
}

// Ground is a terrain surface in the site frame; ok is false where it has no data.
type Ground interface {
	HeightAt(x, y float64) (z float64, ok bool)
}

// Shadow returns where the shadow of a point falls on the ground, for the unit vector
// toward the sun; ok is false when the sun is down, or no ground is met within 5 km.
func Shadow(of, sun geo.Vec3, ground Ground) (geo.Vec3, bool) {
	if ground == nil || !(sun.Z > 1e-3) {
		return geo.Vec3{}, false
	}
	back := sun.Scale(-1)
	above := func(d float64) (float64, bool) {
		p := of.Add(back.Scale(d))
		z, ok := ground.HeightAt(p.X, p.Y)
		return p.Z - z, ok
	}
	const reach = 5e3
	d := 0.0
	for d < reach {
		h, ok := above(d)
		if !ok {
			return geo.Vec3{}, false
		}
		if h <= 0 {
			break
		}
		last := d
		d += max(0.25, min(25, h/2))
		if h, ok = above(d); ok && h <= 0 {
			low, high := last, d
			for range 50 {
				mid := (low + high) / 2
				if h, _ := above(mid); h > 0 {
					low = mid
				} else {
					high = mid
				}
			}
			d = high
			break
		}
	}
	if d >= reach || math.IsNaN(d) {
		return geo.Vec3{}, false
	}
	return of.Add(back.Scale(d)), true
}
