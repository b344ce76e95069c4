package previs

import (
	"math"

	"fieldfare/model/geo"
	"fieldfare/plan/shoot"
)

// marks are the roads, rails and waters that lie on the ground.
type marks struct {
	x0, y0 float64
	cell   float64
	nx, ny int
	at     [][]int32 // strips near a plan cell
	strips []strip
	waters []water
}

// strip is one straight piece of a road or rail.
type strip struct {
	a, b geo.Vec2
	half float64 // m
	rail bool
}

type water struct {
	outline geo.Polygon
	bounds  geo.Bounds
}

const (
	markCellM    = 20.0
	defaultRoadM = 3.0
	markReachM   = 4.0 // how far beyond its edge a strip is drawn, for one seen small
)

func newMarks(f *field, features []shoot.Feature) *marks {
	m := &marks{x0: f.x0, y0: f.y0, cell: markCellM}
	w, h := float64(f.nx-1)*f.cell, float64(f.ny-1)*f.cell
	for w*h/(m.cell*m.cell) > 1e6 {
		m.cell *= 2
	}
	m.nx, m.ny = int(w/m.cell)+1, int(h/m.cell)+1
	m.at = make([][]int32, m.nx*m.ny)
	for i := range features {
		x := &features[i]
		switch {
		case x.Kind == shoot.Water && x.Shape == shoot.Polygon:
			m.waters = append(m.waters, water{x.Outline, x.Outline.Bounds()})
		case (x.Kind == shoot.Road || x.Kind == shoot.Rail) && x.Shape == shoot.Line:
			width := x.WidthM
			if width == 0 {
				width = defaultRoadM
			}
			for j := 1; j < len(x.Places); j++ {
				m.lay(strip{x.Places[j-1].XY(), x.Places[j].XY(), width / 2, x.Kind == shoot.Rail})
			}
		}
	}
	if len(m.strips) == 0 && len(m.waters) == 0 {
		return nil
	}
	return m
}

// lay notes a strip in every plan cell that it comes near.
func (m *marks) lay(s strip) {
	k := int32(len(m.strips))
	m.strips = append(m.strips, s)
	reach := s.half + markReachM + m.cell*math.Sqrt2/2
	low := func(v, o float64) int { return max(0, int((v-reach-o)/m.cell)) }
	for j := low(min(s.a.Y, s.b.Y), m.y0); j <= min(m.ny-1, int((max(s.a.Y, s.b.Y)+reach-m.y0)/m.cell)); j++ {
		for i := low(min(s.a.X, s.b.X), m.x0); i <= min(m.nx-1, int((max(s.a.X, s.b.X)+reach-m.x0)/m.cell)); i++ {
			middle := geo.Vec2{X: m.x0 + (float64(i)+0.5)*m.cell, Y: m.y0 + (float64(j)+0.5)*m.cell}
			if d, _ := geo.PointSegment2(middle, s.a, s.b); d <= reach {
				c := j*m.nx + i
				m.at[c] = append(m.at[c], k)
			}
		}
	}
}

// cover returns the share of a patch of ground, footM across, that road or rail and water cover.
func (m *marks) cover(x, y, footM float64) (road, rail, wet float32) {
	for i := range m.waters {
		w := &m.waters[i]
		if x >= w.bounds.MinX && x <= w.bounds.MaxX && y >= w.bounds.MinY && y <= w.bounds.MaxY && w.outline.Contains(geo.Vec2{X: x, Y: y}) {
			wet = 1
		}
	}
	if len(m.strips) == 0 {
		return 0, 0, wet
	}
	i, j := int((x-m.x0)/m.cell), int((y-m.y0)/m.cell)
	if uint(i) >= uint(m.nx) || uint(j) >= uint(m.ny) {
		return 0, 0, wet
	}
	foot := max(0.3, min(footM, 2*markReachM))
	for _, k := range m.at[j*m.nx+i] {
		s := &m.strips[k]
		ex, ey, px, py := s.b.X-s.a.X, s.b.Y-s.a.Y, x-s.a.X, y-s.a.Y
		f := clamp01((px*ex + py*ey) / (ex*ex + ey*ey))
		px, py = px-f*ex, py-f*ey
		if reach := s.half + foot/2; px*px+py*py > reach*reach {
			continue
		}
		d := math.Sqrt(px*px + py*py)
		share := float32(clamp01((s.half-d)/foot+0.5) * min(1, 2*s.half/foot))
		if s.rail {
			rail = max(rail, share)
		} else {
			road = max(road, share)
		}
	}
	return road, rail, wet
}
