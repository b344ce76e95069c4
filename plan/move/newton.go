package move

import (
	"math"

	"fieldfare/model/geo"
)

// block is a symmetric 3 × 3 matrix.
type block struct{ xx, xy, xz, yy, yz, zz float64 }

func (m *block) outer(k float64, v geo.Vec3) {
	m.xx += k * v.X * v.X
	m.xy += k * v.X * v.Y
	m.xz += k * v.X * v.Z
	m.yy += k * v.Y * v.Y
	m.yz += k * v.Y * v.Z
	m.zz += k * v.Z * v.Z
}

func (m *block) diagonal(k float64, v geo.Vec3) {
	m.xx += k * v.X
	m.yy += k * v.Y
	m.zz += k * v.Z
}

// assemble fills gradient and second derivative of the merit.
func (g *program) assemble() {
	copy(g.hessian.a, g.still)
	clear(g.gradient)
	p := g.curve.degree
	c := g.curve.ctrl
	for i := range c {
		d := c[i].Sub(g.origin)
		g.addGradient(i, g.linear[i])
		for j := 0; j <= p && i+j < len(c); j++ {
			x, e := g.quadratic[i][j], c[i+j].Sub(g.origin)
			g.addGradient(i, geo.Vec3{X: x.X * e.X, Y: x.Y * e.Y, Z: x.Z * e.Z})
			if j > 0 {
				g.addGradient(i+j, geo.Vec3{X: x.X * d.X, Y: x.Y * d.Y, Z: x.Z * d.Z})
			}
		}
	}
	g.each(func(k int, r *[3]geo.Vec3) {
		q := &g.points[k]
		var grad [3]geo.Vec3
		var hess [3]block
		var used [3]bool
		add := func(d int, c, lambda float64, dir, curv geo.Vec3) {
			m := lambda + g.rho*c
			if m <= 0 {
				return
			}
			used[d] = true
			grad[d] = grad[d].Add(dir.Scale(m))
			hess[d].outer(g.rho, dir)
			hess[d].diagonal(m, curv)
		}
		for i := range g.limits {
			l, lambda := &g.limits[i], g.multipliers[k*len(g.limits)+i]
			if lambda+g.rho*l.value(&r[l.derivative]) <= 0 {
				continue
			}
			v, dir, curv := l.inequality(r[l.derivative])
			add(l.derivative, v, lambda, dir, curv)
		}
		if g.hazards != nil {
			for i := g.nearFrom[k]; i < g.nearFrom[k+1]; i++ {
				n := &g.near[i]
				if n.clear(&r[0]) {
					continue
				}
				v, dir := g.contactValue(n.obstacle, r[0])
				add(0, v, n.lambda, dir, geo.Vec3{})
				if m := n.lambda + g.rho*v; m > 0 {
					g.bend(&hess[0], m, n.obstacle, r[0], dir)
				}
			}
			if g.low[k] {
				if v, dir, ok := g.groundValue(r[0]); ok {
					add(0, v, g.overGround[k], dir, geo.Vec3{})
				}
			}
		}
		for d := range grad {
			if used[d] {
				g.scatter(&q.b, d, grad[d], &hess[d])
			}
		}
	})
	for i := range g.shells {
		s := &g.shells[i]
		b := &g.points[s.point].b
		v, dir := s.value(g.curve.value(b, 0))
		if m := s.lambda + g.rho*v; m > 0 {
			var h block
			h.outer(g.rho, dir)
			// Its curvature is −(I − u·uᵀ)/(n·radius), as dir is −u/radius.
			if n := (1 - v) * s.radius; n > 0.1*s.radius {
				k := m / (n * s.radius)
				h.diagonal(-k, geo.Vec3{X: 1, Y: 1, Z: 1})
				h.outer(k*s.radius*s.radius, dir)
			}
			g.scatter(b, 0, dir.Scale(m), &h)
		}
	}
	for i := range g.pins {
		n := &g.pins[i]
		e := g.curve.value(&n.b, 0).Sub(n.at)
		g.scatter(&n.b, 0, n.lambda.Add(e.Scale(g.rho)), &block{xx: g.rho, yy: g.rho, zz: g.rho})
	}
}

// bend adds the curvature of a contact: how fast its direction turns along its two tangents.
func (g *program) bend(h *block, m float64, obstacle int, r, dir geo.Vec3) {
	n := dir.Unit()
	t1 := geo.Vec3{X: -n.Y, Y: n.X}
	if t1.Norm() < 0.1 {
		t1 = geo.Vec3{X: 1}
	}
	t1 = t1.Unit()
	const step = 0.05
	for _, t := range [2]geo.Vec3{t1, n.Cross(t1)} {
		_, turned := g.contactValue(obstacle, r.Add(t.Scale(step)))
		if k := turned.Sub(dir).Dot(t) / step; k < 0 {
			h.outer(max(k, -dir.Norm())*m, t) // corners turn at once: no sharper than a metre
		}
	}
}

func (g *program) free(i int) (int, bool) {
	return 3 * (i - g.fixed), i >= g.fixed && i < len(g.curve.ctrl)-g.fixedEnd
}

func (g *program) addGradient(i int, v geo.Vec3) {
	if at, ok := g.free(i); ok {
		g.gradient[at] += v.X
		g.gradient[at+1] += v.Y
		g.gradient[at+2] += v.Z
	}
}

// addBlock adds k·m between control points i ≥ j.
func (g *program) addBlock(i, j int, k float64, m *block) {
	r, okR := g.free(i)
	c, okC := g.free(j)
	if !okR || !okC {
		return
	}
	h := &g.hessian
	w := h.half + 1
	row0 := h.a[r*w+h.half-(r-c):]
	row1 := h.a[(r+1)*w+h.half-(r+1-c):]
	row2 := h.a[(r+2)*w+h.half-(r+2-c):]
	row0[0] += k * m.xx
	row1[0] += k * m.xy
	row1[1] += k * m.yy
	row2[0] += k * m.xz
	row2[1] += k * m.yz
	row2[2] += k * m.zz
	if i != j {
		row0[1] += k * m.xy
		row0[2] += k * m.xz
		row1[2] += k * m.yz
	}
}

func (g *program) scatter(b *basis, d int, grad geo.Vec3, hess *block) {
	row := &b.row[d]
	for i := 0; i <= g.curve.degree; i++ {
		if row[i] == 0 {
			continue
		}
		g.addGradient(b.first+i, grad.Scale(row[i]))
		for j := 0; j <= i; j++ {
			g.addBlock(b.first+i, b.first+j, row[i]*row[j], hess)
		}
	}
}

// prepare sizes the work space; multipliers are kept when the problem has the same shape.
func (g *program) prepare() {
	if g.derivative == 0 {
		g.derivative = 3
	}
	if g.fixed = g.derivative; g.looseStart {
		g.fixed = 0
	}
	if g.fixedEnd = g.derivative; g.looseEnd {
		g.fixedEnd = 0
	}
	if g.energy == nil {
		g.energy = g.curve.energy(g.derivative)
	}
	n := 3 * (len(g.curve.ctrl) - g.fixed - g.fixedEnd)
	half := 3*g.curve.degree + 2
	if g.hessian.n != n || g.hessian.half != half {
		g.hessian = newBanded(n, half)
		g.gradient = make([]float64, n)
		g.trial = make([]geo.Vec3, len(g.curve.ctrl))
	}
	if want := len(g.points) * len(g.limits); len(g.multipliers) != want {
		g.multipliers = make([]float64, want)
		g.warm = false
	}
	if len(g.overGround) != len(g.points) {
		g.overGround = make([]float64, len(g.points))
		g.low = make([]bool, len(g.points))
		g.nearFrom = make([]int, len(g.points)+1)
		g.near = g.near[:0]
		g.warm = false
	}
	if g.slack == 0 {
		g.slack = 6
	}
	if g.rounds == 0 {
		g.rounds = 24
	}
	if !g.warm {
		g.rho = 300
	}
	g.freeze()
}

// list finds the obstacles near each point, and keeps the multipliers of those it had.
func (g *program) list() {
	if g.hazards == nil {
		return
	}
	g.spare = append(g.spare[:0], g.near...)
	g.near = g.near[:0]
	last := 0
	for k := range g.points {
		r := g.curve.value(&g.points[k].b, 0)
		if g.low[k] = false; g.hazards.ground != nil {
			if over, ok := g.hazards.heightOver(r); ok {
				g.low[k] = over < g.slack
			}
		}
		had := g.spare[last:g.nearFrom[k+1]]
		last = g.nearFrom[k+1]
		from := len(g.near)
		g.nearFrom[k] = from
		for i := range g.hazards.all {
			h := &g.hazards.all[i]
			reach := h.need + g.slack
			d := r.Sub(h.centre)
			if far := reach + h.radius; d.Dot(d) > far*far {
				continue
			}
			dist, _ := h.shape.Distance(r)
			if dist > reach || len(g.near)-from == maxContacts {
				continue
			}
			c := contact{obstacle: i, from: r, spare: dist - h.need}
			for _, old := range had {
				if old.obstacle == i {
					c.lambda = old.lambda
				}
			}
			g.near = append(g.near, c)
		}
	}
	g.nearFrom[len(g.points)] = len(g.near)
}

// optimise solves the program from the control points as they stand. It returns the largest
// violation of a normalised constraint that is left and at which point.

func (g *program) optimise() (violation float64, worst int, steps int) {
	g.prepare()
	last, lastCost := math.Inf(1), math.Inf(1)
	inner, stalled := 1e-2, 0
	if g.warm {
		inner = 1e-3
		if g.rho = max(300, min(3000, g.rho)); g.resumed {
			g.rho, g.resumed = 300, false // another problem's: its multipliers need room to move
		}
	}
	for round := range g.rounds {
		g.list()
		steps += g.newton(inner)
		violation, worst = g.update()
		cost := g.cost()
		if violation < tolerance && math.Abs(cost-lastCost) < 5e-4*(1e-6+cost) && inner < 1e-3 {
			break
		}
		// Kinks of the ground and of corners can hold a point in place: no better is to be had.
		if math.Abs(violation-last) < 1e-3*violation {
			if stalled++; stalled == 2 {
				break
			}
		} else {
			stalled = 0
		}
		if round >= 4 && violation > 40*tolerance && violation > 0.5*last {
			break // there is no way, or none from here
		}
		if violation > max(tolerance, 0.3*last) && g.rho < 1e7 {
			g.rho *= 5
		}
		last, lastCost = violation, cost
		inner = max(1e-8, inner/5)
	}
	g.warm = true
	return violation, worst, steps
}

// newton minimises the merit for the multipliers as they stand, until a step promises less
// than a share tol of it. Where the matrix is indefinite or a step disappoints, it is damped
// (K. Levenberg 1944, D. Marquardt 1963).
func (g *program) newton(tol float64) (steps int) {
	merit := g.merit()
	scale := 0.0 // of the damping
	for i := range g.hessian.n {
		scale += g.still[i*(g.hessian.half+1)+g.hessian.half] / float64(g.hessian.n)
	}
	scale = max(scale, 1e-9)
	for steps < maxSteps {
		steps++
		g.assemble()
		g.undamped = append(g.undamped[:0], g.hessian.a...)
		g.before = append(g.before[:0], g.gradient...)
		copy(g.trial, g.curve.ctrl)
		for {
			if steps > 1 || g.damping > 0 {
				copy(g.hessian.a, g.undamped)
				for i := range g.hessian.n {
					g.hessian.add(i, i, g.damping*scale)
				}
			}
			slope, taken := 0.0, 0.0
			if g.hessian.factor() {
				step := g.gradient
				copy(step, g.before)
				g.hessian.solve(step)
				for i := range step {
					slope += step[i] * g.before[i]
				}
				if slope < tol*(1e-6+math.Abs(merit)) && g.damping < 1 {
					return steps
				}
				for length := 1.0; length > 0.2; length /= 2 {
					for i := g.fixed; i < len(g.curve.ctrl)-g.fixedEnd; i++ {
						at, _ := g.free(i)
						g.curve.ctrl[i] = g.trial[i].Sub(geo.Vec3{X: step[at], Y: step[at+1], Z: step[at+2]}.Scale(length))
					}
					if now := g.merit(); now <= merit-1e-4*length*slope {
						merit, taken = now, length
						break
					}
				}
			}
			if taken == 1 {
				if g.damping /= 5; g.damping < 1e-3 {
					g.damping = 0
				}
			}
			if taken > 0 {
				break
			}
			copy(g.curve.ctrl, g.trial)
			if g.damping = max(6*g.damping, 1e-2); g.damping > 1e7 {
				g.damping = 0
				return steps
			}
		}
	}
	return steps
}

// update moves the multipliers and returns the largest violation.
func (g *program) update() (violation float64, worst int) {
	note := func(k int, c float64, lambda *float64) {
		if c > violation {
			violation, worst = c, k
		}
		*lambda = max(0, *lambda+g.rho*c)
	}
	g.each(func(k int, r *[3]geo.Vec3) {
		for i := range g.limits {
			l := &g.limits[i]
			c := l.value(&r[l.derivative])
			note(k, c, &g.multipliers[k*len(g.limits)+i])
		}
		if g.hazards == nil {
			return
		}
		for i := g.nearFrom[k]; i < g.nearFrom[k+1]; i++ {
			c, _ := g.contactValue(g.near[i].obstacle, r[0])
			note(k, c, &g.near[i].lambda)
		}
		if g.low[k] {
			if over, ok := g.hazards.heightOver(r[0]); ok {
				note(k, -over/max(1, g.hazards.ball), &g.overGround[k])
			}
		}
	})
	for i := range g.shells {
		s := &g.shells[i]
		c, _ := s.value(g.curve.value(&g.points[s.point].b, 0))
		note(s.point, c, &s.lambda)
	}
	for i := range g.pins {
		n := &g.pins[i]
		e := g.curve.value(&n.b, 0).Sub(n.at)
		n.lambda = n.lambda.Add(e.Scale(g.rho))
		if v := e.Norm(); v > violation {
			violation = v
		}
	}
	return violation, worst
}
