package previs

import (
	"math"
	"slices"
)

// shade is the underside of sunlight over the ground: at each node, the height above which the
// sun's centre is seen past all other ground. Its own ground does not count.
type shade struct {
	f     *field
	key   [2]int // direction of the sun, in shadeSteps
	users int    // frames that draw with it; of Scene.mu
	top   []float32
}

// nowhere stands for no shadow at all.
const nowhere = -1e6

// shadeStep is the grid of sun directions for which shades are worked out: 0.01°, which
// is 2 s of the sun's way and moves a shadow 1 km long by 0.2 m across.
const shadeStep = math.Pi / 18000

// shadesKept bounds the memory of a long take; frames drawn at once may hold more.
const shadesKept = 3

// shadeOf returns the terrain's shade for the sun; nil when it is down.
func (s *Scene) shadeOf(m *Moment) *shade {
	if float64(m.Sun.Altitude+m.Sun.Semidiameter) <= 0 || m.Daylight.DirectNormalLx <= 0 {
		return nil
	}
	key := [2]int{int(math.Round(float64(m.Sun.Azimuth) / shadeStep)), int(math.Round(float64(m.Sun.Altitude) / shadeStep))}
	s.mu.Lock()
	defer s.mu.Unlock()
	spare := -1
	for i, got := range s.shades {
		if got.key == key {
			got.users++
			return got
		}
		if spare < 0 && got.users == 0 {
			spare = i // the oldest
		}
	}
	made := &shade{f: s.ground, key: key, users: 1}
	if spare >= 0 && len(s.shades) >= shadesKept {
		made.top = s.shades[spare].top
		s.shades = slices.Delete(s.shades, spare, spare+1)
	} else {
		made.top = make([]float32, len(s.ground.z))
	}
	s.shades = append(s.shades, made)
	made.sweep(float64(key[0])*shadeStep, float64(key[1])*shadeStep)
	return made
}

// release ends a frame's use of a shade.
func (s *Scene) release(used *shade) {
	if used != nil {
		s.mu.Lock()
		used.users--
		s.mu.Unlock()
	}
}

// sweep follows lines parallel to the light over the grid, away from the sun. Along
// the major axis a line takes whole steps; across, it shifts by a fraction of a cell. Nodes between
// two lines take the height between theirs.
func (s *shade) sweep(azimuth, altitude float64) {
	f := s.f
	sin, cos := math.Sincos(azimuth)
	w := sweep{f: f, out: s.top, tan: math.Tan(max(altitude, 1e-4))}
	along, across := -sin, -cos
	w.major, w.minor, w.steps, w.wide = 1, f.nx, f.nx, f.ny
	if math.Abs(cos) >= math.Abs(sin) {
		along, across = -cos, -sin
		w.major, w.minor, w.steps, w.wide = f.nx, 1, f.ny, f.nx
	}
	w.shift = across / math.Abs(along)
	w.drop = float32(f.cell / math.Abs(along) * w.tan)
	if along < 0 {
		w.origin, w.major = (w.steps-1)*w.major, -w.major
	}
	reach := w.shift * float64(w.steps-1)
	first := int(math.Floor(math.Min(0, -reach))) - 1
	last := int(math.Ceil(float64(w.wide-1)+math.Max(0, -reach))) + 1
	const batch = 128
	parallel((last-first+batch-1)/batch, func(k int) {
		w.lines(first+k*batch, min(first+(k+1)*batch, last))
	})
}

type sweep struct {
	f            *field
	out          []float32
	tan, shift   float64
	drop         float32
	origin       int
	major, minor int
	steps, wide  int
}

// lines settles the nodes owned by the lines from k0 to k1, all lines together step by step, so that
// memory is read in order. Line k stands k + shift·r cells across at step r.
func (w *sweep) lines(k0, k1 int) {
	h := make([]float32, k1-k0+1) // height of the shadow on each line
	for k := range h {
		h[k] = nowhere
	}
	z := w.f.z
	for r := range w.steps {
		at := w.shift * float64(r)
		whole := int(math.Floor(at))
		fr := float32(at - float64(whole))
		row, i0 := w.origin+r*w.major, whole+k0
		for k := range h {
			h[k] -= w.drop
		}
		// Node i0+k+1 lies between lines k and k+1.
		from, to := max(0, -1-i0), min(len(h)-1, w.wide-1-i0)
		for k, n := from, row+(i0+from+1)*w.minor; k < to; k, n = k+1, n+w.minor {
			w.out[n] = h[k] + (1-fr)*(h[k+1]-h[k])
		}
		// The ground under line k lies between nodes i0+k and i0+k+1.
		from, to = max(0, -i0), min(len(h), w.wide-1-i0)
		for k, n := from, row+(i0+from)*w.minor; k < to; k, n = k+1, n+w.minor {
			if g := z[n] + fr*(z[n+w.minor]-z[n]); g > h[k] {
				h[k] = g
			}
		}
	}
}

// under returns how deep a point over the hit cell lies in the terrain's shadow, in metres; negative in
// the light.
func (s *shade) under(h *hit, z float64) float64 {
	return bilinear(s.top, s.f.nx, h.i, h.j, h.fu, h.fv) - z
}

// underAt is under for any place; lit outside the grid.
func (s *shade) underAt(x, y, z float64) float64 {
	f := s.f
	u, v := (x-f.x0)/f.cell, (y-f.y0)/f.cell
	if !(u >= 0 && v >= 0 && u <= float64(f.nx-1) && v <= float64(f.ny-1)) {
		return nowhere
	}
	i, j := min(int(u), f.nx-2), min(int(v), f.ny-2)
	return bilinear(s.top, f.nx, i, j, u-float64(i), v-float64(j)) - z
}
