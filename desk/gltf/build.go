package gltf

import (
	"math"
	"slices"

	"fieldfare/model/geo"
	"fieldfare/model/lens"
	"fieldfare/model/terrain"
	"fieldfare/plan/move"
	"fieldfare/plan/shoot"
)

// Materials, by number.
const (
	earth = iota
	wall
	leaf
	metal
	paint
	line
)

func (d *document) materials() {
	for _, m := range []struct {
		name   string
		colour [3]float64 // linear
		both   bool
	}{
		{"ground", [3]float64{0.42, 0.45, 0.27}, true}, {"building", [3]float64{0.78, 0.70, 0.56}, true}, {"tree", [3]float64{0.16, 0.24, 0.10}, true},
		{"mast and wire", [3]float64{0.3, 0.32, 0.34}, true}, {"subject", [3]float64{0.85, 0.82, 0.76}, true}, {"path", [3]float64{0.75, 0.18, 0.06}, true},
	} {
		var out material
		out.Name, out.DoubleSided = m.name, m.both
		out.Roughness.BaseColor = [4]float64{m.colour[0], m.colour[1], m.colour[2], 1}
		out.Roughness.Rough = 1
		d.Materials = append(d.Materials, out)
	}
}

// body is triangles or a line with their vertices.
type body struct {
	places, normals []float32
	index           []uint32
}

func (b *body) vertex(p, n geo.Vec3) uint32 {
	q, m := at(p), at(n)
	b.places = append(b.places, q[:]...)
	b.normals = append(b.normals, m[:]...)
	return uint32(len(b.places)/3 - 1)
}

// face adds a flat polygon of three or four corners, anticlockwise seen from outside.
func (b *body) face(n geo.Vec3, corners ...geo.Vec3) {
	first := b.vertex(corners[0], n)
	for _, c := range corners[1:] {
		b.vertex(c, n)
	}
	for i := 2; i < len(corners); i++ {
		b.index = append(b.index, first, first+uint32(i)-1, first+uint32(i))
	}
}

// solid stores a body as a mesh and returns its number; ok is false for an empty one.
func (d *document) solid(name string, b *body, made int) (number int, ok bool) {
	if len(b.index) == 0 {
		return 0, false
	}
	index := d.indices(b.index)
	d.Meshes = append(d.Meshes, mesh{name, []primitive{{Material: made, Mode: triangles, Indices: &index, Attributes: map[string]int{
		"POSITION": d.floats("VEC3", 3, b.places, true, vertexTarget), "NORMAL": d.floats("VEC3", 3, b.normals, false, vertexTarget)}}}})
	return len(d.Meshes) - 1, true
}

func (d *document) strip(name string, places []geo.Vec3, made int) {
	var v []float32
	for _, p := range places {
		q := at(p)
		v = append(v, q[:]...)
	}
	d.Meshes = append(d.Meshes, mesh{name, []primitive{{Material: made, Mode: lineStrip, Attributes: map[string]int{"POSITION": d.floats("VEC3", 3, v, true, vertexTarget)}}}})
	m := len(d.Meshes) - 1
	d.add(&node{Name: name, Mesh: &m})
}

// Lines of the ground's mesh stand at every node near the path, as long as there are no more than mostNear of
// them, and spread by spreadBy beyond.
const (
	nearM    = 150.0
	mostNear = 120
	spreadBy = 1.18
)

// lines chooses nodes of one axis: all indices rise, the first and last are the axis's own.
func lines(n int, from, to float64) []int {
	first, last := max(0, min(n-1, int(math.Floor(from)))), max(0, min(n-1, int(math.Ceil(to))))
	step := max(1, (last-first+mostNear-1)/mostNear)
	var out []int
	for i := first; i < last; i += step {
		out = append(out, i)
	}
	out = append(out, last)
	grow := func(at, dir, end int) {
		wide := float64(step)
		for at != end {
			wide *= spreadBy
			at += dir * int(math.Round(wide))
			if dir*(end-at) < int(wide)/2 {
				at = end
			}
			out = append(out, at)
		}
	}
	grow(first, -1, 0)
	grow(last, 1, n-1)
	slices.Sort(out)
	return slices.Compact(out)
}

// ground is the elevation grid, thinned away from the path. Cells with unknown corners are left open.
func (d *document) ground(g *terrain.Grid, p *move.Path) {
	low, high := p.Samples[0].Pos, p.Samples[0].Pos
	for i := range p.Samples {
		q := p.Samples[i].Pos
		low.X, low.Y, high.X, high.Y = min(low.X, q.X), min(low.Y, q.Y), max(high.X, q.X), max(high.Y, q.Y)
	}
	across := lines(g.NX, (low.X-nearM-g.X0)/g.CellM, (high.X+nearM-g.X0)/g.CellM)
	along := lines(g.NY, (low.Y-nearM-g.Y0)/g.CellM, (high.Y+nearM-g.Y0)/g.CellM)
	var b body
	number := make([]int64, len(across)*len(along))
	for j, v := range along {
		for i, u := range across {
			k := j*len(across) + i
			number[k] = -1
			if q, ok := g.Node(u, v); ok {
				n, ok := g.Normal(q.X, q.Y)
				if !ok {
					n = geo.Vec3{Z: 1}
				}
				number[k] = int64(b.vertex(q, n))
			}
		}
	}
	for j := 1; j < len(along); j++ {
		for i := 1; i < len(across); i++ {
			k := j*len(across) + i
			sw, se, nw, ne := number[k-len(across)-1], number[k-len(across)], number[k-1], number[k]
			for _, t := range [2][3]int64{{sw, se, ne}, {sw, ne, nw}} {
				if t[0] >= 0 && t[1] >= 0 && t[2] >= 0 {
					b.index = append(b.index, uint32(t[0]), uint32(t[1]), uint32(t[2]))
				}
			}
		}
	}
	if m, ok := d.solid("ground", &b, earth); ok {
		d.add(&node{Name: "ground", Mesh: &m})
	}
}

// sides is how many walls a cylinder gets.
const sides = 20

func (d *document) obstacle(o move.Obstacle) {
	name := o.Name
	if name == "" {
		name = o.Kind
	}
	var b body
	made := map[string]int{shoot.Tree: leaf, shoot.Mast: metal}[o.Kind]
	if made == 0 {
		made = wall
	}
	switch s := o.Shape.(type) {
	case move.Prism:
		b.prism(s)
	case move.Cylinder:
		ring := make(geo.Ring, sides)
		for i := range ring {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / sides)
			ring[i] = geo.Vec2{X: s.Base.X + s.RadiusM*cos, Y: s.Base.Y + s.RadiusM*sin}
		}
		b.prism(move.Prism{Ring: ring, BottomM: s.Base.Z, TopM: s.Base.Z + s.HeightM})
	case move.Wire:
		var hang []geo.Vec3
		for i := range 33 {
			f := float64(i) / 32
			p := s.A.Lerp(s.B, f)
			p.Z -= 4 * s.SagM * f * (1 - f)
			hang = append(hang, p)
		}
		d.strip(name, hang, metal)
		return
	}
	if m, ok := d.solid(name, &b, made); ok {
		d.add(&node{Name: name, Mesh: &m})
	}
}

func (b *body) prism(p move.Prism) {
	ring := p.Ring
	if ring.Area() < 0 {
		ring = slices.Clone(ring)
		slices.Reverse(ring)
	}
	for i, from := range ring {
		to := ring[(i+1)%len(ring)]
		e := to.Sub(from)
		if e.Norm() < 1e-6 {
			continue
		}
		n := geo.Vec3{X: e.Y / e.Norm(), Y: -e.X / e.Norm()}
		b.face(n, from.At(p.BottomM), to.At(p.BottomM), to.At(p.TopM), from.At(p.TopM))
	}
	for _, t := range ears(ring) {
		b.face(geo.Vec3{Z: 1}, ring[t[0]].At(p.TopM), ring[t[1]].At(p.TopM), ring[t[2]].At(p.TopM))
		b.face(geo.Vec3{Z: -1}, ring[t[2]].At(p.BottomM), ring[t[1]].At(p.BottomM), ring[t[0]].At(p.BottomM))
	}
}

// ears cuts a simple anticlockwise ring into triangles (G. H. Meisters, "Polygons have ears", 1975).
func ears(ring geo.Ring) (out [][3]int) {
	left := make([]int, len(ring))
	for i := range left {
		left[i] = i
	}
	turn := func(a, b, c int) float64 { return ring[b].Sub(ring[a]).Cross(ring[c].Sub(ring[b])) }
	for len(left) > 2 {
		cut := -1
		for i := range left {
			a, b, c := left[(i+len(left)-1)%len(left)], left[i], left[(i+1)%len(left)]
			if turn(a, b, c) <= 0 {
				continue
			}
			clear := true
			for _, k := range left {
				if k != a && k != b && k != c && turn(a, b, k) >= 0 && turn(b, c, k) >= 0 && turn(c, a, k) >= 0 {
					clear = false
					break
				}
			}
			if clear {
				cut = i
				out = append(out, [3]int{a, b, c})
				break
			}
		}
		if cut < 0 { // what is left has no area
			return out
		}
		left = slices.Delete(left, cut, cut+1)
	}
	return out
}

// track draws the way flown as a line.
func (d *document) track(p *move.Path) {
	var way []geo.Vec3
	for i := range p.Samples {
		if n := len(way); n == 0 || way[n-1].Sub(p.Samples[i].Pos).Norm() > 0.25 {
			way = append(way, p.Samples[i].Pos)
		}
	}
	if len(way) > 1 {
		d.strip("path", way, line)
	}
}

// zNearM and zFarM bound what other programs draw.
const (
	zNearM = 0.1
	zFarM  = 40000
)

// flight is the aircraft, which moves and turns, and on it the gimbal with the camera, which pans, tilts and rolls.
func (d *document) flight(p *move.Path, c lens.Camera) {
	first := &p.Samples[0]
	if first.FocalM > 0 {
		c.FocalM = first.FocalM
	}
	squeeze := max(1, c.Squeeze)
	view := cam{Name: "camera", Type: "perspective", Perspective: perspective{
		AspectRatio: c.SensorWidthM * squeeze / c.SensorHeightM, YFOV: float64(c.VFOV()), ZNear: zNearM, ZFar: zFarM},
		Extras: map[string]any{"focal_m": c.FocalM, "sensor_width_m": c.SensorWidthM, "sensor_height_m": c.SensorHeightM, "squeeze": squeeze, "rate_hz": p.RateHz}}
	var times, places, yaws, aims []float32
	var before [2]turn
	for i := range p.Samples {
		s := &p.Samples[i]
		times = append(times, float32(s.T))
		q := at(s.Pos)
		places = append(places, q[:]...)
		turns := [2]turn{heading(s), aim(s)}
		for k := range turns {
			// q and -q are the same turn; the nearer one keeps the short way round.
			if t, o := turns[k], before[k]; i > 0 && t[0]*o[0]+t[1]*o[1]+t[2]*o[2]+t[3]*o[3] < 0 {
				turns[k] = turn{-t[0], -t[1], -t[2], -t[3]}
			}
		}
		before = turns
		for k := range 4 {
			yaws, aims = append(yaws, float32(turns[0][k])), append(aims, float32(turns[1][k]))
		}
	}
	d.Cameras = append(d.Cameras, view)
	number, spot := 0, at(first.Pos)
	gimbal := d.child(&node{Name: "gimbal", Camera: &number, Rotation: rounded(aim(first))})
	craft := d.add(&node{Name: "aircraft", Children: []int{gimbal}, Translation: &spot, Rotation: rounded(heading(first))})
	clock := d.floats("SCALAR", 1, times, true, 0)
	d.animate(clock, craft, "translation", d.floats("VEC3", 3, places, false, 0))
	d.animate(clock, craft, "rotation", d.floats("VEC4", 4, yaws, false, 0))
	d.animate(clock, gimbal, "rotation", d.floats("VEC4", 4, aims, false, 0))
}

func rounded(q turn) *[4]float32 {
	return &[4]float32{float32(q[0]), float32(q[1]), float32(q[2]), float32(q[3])}
}

// animate adds a channel to the one animation of the shot.
func (d *document) animate(clock, moved int, path string, values int) {
	if len(d.Animations) == 0 {
		d.Animations = []animation{{Name: "take"}}
	}
	a := &d.Animations[0]
	a.Samplers = append(a.Samplers, sampler{clock, values, "LINEAR"})
	a.Channels = append(a.Channels, channel{len(a.Samplers) - 1, target{moved, path}})
}

// mover is a subject on its track: a box that stands on its node's origin and looks north at rest.
func (d *document) mover(name string, s move.Subject, p *move.Path) {
	m, _ := s.At(0)
	box := m.Box
	if box.WidthM <= 0 || box.DepthM <= 0 || box.HeightM <= 0 {
		return
	}
	var b body
	b.prism(move.NewBox(geo.Vec3{}, box.WidthM, box.DepthM, box.HeightM, 0))
	number, ok := d.solid(name, &b, paint)
	if !ok {
		return
	}
	foot := at(box.Foot)
	n := d.add(&node{Name: name, Mesh: &number, Translation: &foot, Rotation: rounded(about(1, -float64(box.Facing)))})
	var times, places, turns []float32
	var before turn
	for i := range p.Samples {
		t := p.Samples[i].T
		m, _ := s.At(t)
		q, r := at(m.Box.Foot), about(1, -float64(m.Box.Facing))
		if i > 0 && r[1]*before[1]+r[3]*before[3] < 0 {
			r = turn{-r[0], -r[1], -r[2], -r[3]}
		}
		before = r
		times = append(times, float32(t))
		places = append(places, q[:]...)
		for k := range r {
			turns = append(turns, float32(r[k]))
		}
	}
	clock := d.floats("SCALAR", 1, times, true, 0)
	d.animate(clock, n, "translation", d.floats("VEC3", 3, places, false, 0))
	d.animate(clock, n, "rotation", d.floats("VEC4", 4, turns, false, 0))
}
