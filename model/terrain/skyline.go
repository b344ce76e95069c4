package terrain

import (
	"fmt"
	"math"
	"runtime"

	"fieldfare/model/geo"
	"fieldfare/model/unit"
)

// Skyline is the terrain's outline against the sky as seen from a point, at
// evenly spaced azimuths from 0.
type Skyline struct {
	Eye    geo.Vec3
	Points []SkylinePoint
}

// SkylinePoint is the skyline in one direction.
type SkylinePoint struct {
	Elevation unit.Angle // of the terrain above the eye's horizontal; -90° if no ground is known that way
	DistanceM float64    // how far away the outline stands
	// KnownM is how far the ground is known without a gap; beyond it, at the edge of the grid or
	// of missing data, a higher ridge may stand.
	KnownM float64
}

// Skyline returns the outline seen from eye in n directions. Elevations are those
// of light bent with the refraction coefficient. They are exact for the bilinear ground in each direction.
func (g *Grid) Skyline(eye geo.Vec3, n int, refraction float64) (Skyline, error) {
	if n < 1 || n > 1<<20 {
		return Skyline{}, fmt.Errorf("skyline in %d directions: expected 1 to %d", n, 1<<20)
	}
	ground, ok := g.HeightAt(eye.X, eye.Y)
	if !ok {
		return Skyline{}, fmt.Errorf("skyline from x %.1f m, y %.1f m: the terrain has no data there", eye.X, eye.Y)
	}
	if !(eye.Z >= ground-0.01) {
		return Skyline{}, fmt.Errorf("skyline from height %.2f m: that is %.2f m below the ground", eye.Z, ground-eye.Z)
	}
	g.prepare()
	s := Skyline{eye, make([]SkylinePoint, n)}
	const batch = 16
	parallel((n+batch-1)/batch, runtime.GOMAXPROCS(0), func(_, k int) {
		for i := k * batch; i < min((k+1)*batch, n); i++ {
			s.Points[i] = g.outline(eye, unit.Angle(2*math.Pi*float64(i)/float64(n)), curvature(refraction))
		}
	})
	return s, nil
}

// At returns the elevation of the skyline at an azimuth, linear between the directions.
func (s Skyline) At(azimuth unit.Angle) unit.Angle {
	n := len(s.Points)
	if n == 0 {
		return -90 * unit.Degree
	}
	at := float64(azimuth.Wrapped()) / (2 * math.Pi) * float64(n)
	i := int(at) % n
	f := unit.Angle(at - math.Floor(at))
	a, b := s.Points[i].Elevation, s.Points[(i+1)%n].Elevation
	return a + f*(b-a)
}

// outline marches outward and keeps the steepest tangent to the ground.
func (g *Grid) outline(eye geo.Vec3, azimuth unit.Angle, c float64) SkylinePoint {
	out := SkylinePoint{Elevation: -90 * unit.Degree}
	sin, cos := math.Sincos(float64(azimuth))
	m, ok := g.start(eye.XY(), geo.Vec2{X: sin, Y: cos}, math.Inf(1))
	if !ok {
		return out
	}
	p := &g.pyramid
	best := math.Inf(-1) // tangent of elevation
	known := math.Inf(1)
	for level := 0; ; {
		if level > 0 {
			t1, i, j := m.exit(uint(2 * level))
			// No ground in the block can look steeper than its top at the near end (far end if below the eye).
			rise := p.top(level, m.i, m.j) - eye.Z
			bound := rise/m.t - c*m.t
			if rise < 0 {
				bound = rise/t1 - c*m.t
			}
			if bound <= best && (known <= m.t || !p.gap(level, m.i, m.j)) {
				if !m.inside(g, t1, i, j) {
					m.t = t1
					break
				}
				m.t, m.i, m.j = t1, i, j
				level = min(level+1, len(p.levels))
			} else {
				level--
			}
			continue
		}
		t1, i, j := m.exit(0)
		a, b, cc, ok := m.patch(g, m.t)
		if !ok {
			known = math.Min(known, m.t)
		} else {
			// Height over the eye along the cell as A + B·t + C·t²: its ratio to t.
			bb := b - 2*cc*m.t
			aa := a - m.t*(b-cc*m.t) - eye.Z
			try := func(t float64) {
				if t <= 0 {
					return
				}
				if tan := aa/t + bb + (cc-c)*t; tan > best {
					best, out.DistanceM = tan, t
				}
			}
			try(m.t)
			try(t1)
			if r := aa / (cc - c); r > m.t*m.t*(1-1e-12) && r < t1*t1*(1+1e-12) { // all but surely between the ends
				if t := math.Sqrt(r); t > m.t && t < t1 {
					try(t)
				}
			}
		}
		if !m.inside(g, t1, i, j) {
			m.t = t1
			break
		}
		leftBlock := i>>2 != m.i>>2 || j>>2 != m.j>>2
		m.t, m.i, m.j = t1, i, j
		if leftBlock {
			level = 1
		}
	}
	out.KnownM = math.Min(known, m.t)
	if !math.IsInf(best, -1) {
		out.Elevation = unit.Angle(math.Atan(best))
	}
	return out
}
