package move

import (
	"math"

	"fieldfare/model/geo"
)

// program is the discretised problem: find the control points of a spline r(t) that make
//
//	∫ jerk·|r‴|² dt + Σₖ dtₖ·weightₖ·|r(tₖ) − refₖ|²
//
// smallest while every constraint holds at the times tₖ. The ends of the curve are fixed.
//
// It is solved by an augmented Lagrangian (J. Nocedal and S. Wright, "Numerical
// Optimization", 2nd ed. (2006), algorithm 17.4) whose inner problems are met by Newton
// steps: all terms reach over degree+1 neighbouring control points only, so the second
// derivative is banded and a step costs time in proportion to the length of the move.
type program struct {
	curve      spline
	derivative int  // whose square is minimised: 3 jerk, 4 snap
	looseStart bool // the start is free
	looseEnd   bool
	fixed      int // control points fixed at the start
	fixedEnd   int
	jerk       geo.Vec3
	energy     [][maxDegree + 1]float64
	points     []point
	limits     []limit // apply at every point
	pins       []pin
	shells     []shell
	hazards    *hazards

	multipliers []float64 // of limits, point by point
	near        []contact // obstacles near each point, with their multipliers
	nearFrom    []int     // near[nearFrom[k]:nearFrom[k+1]] belong to point k
	overGround  []float64 // multipliers of the ground
	low         []bool    // points near enough to the ground for it to matter
	rho         float64

	quadratic [][maxDegree + 1]geo.Vec3 // of the objective: row i holds columns i to i+degree
	linear    []geo.Vec3
	level     float64
	origin    geo.Vec3
	still     []float64 // second derivative of the objective alone
	undamped  []float64
	here      [3]geo.Vec3 // scratch of each
	damping   float64

	hessian  banded
	gradient []float64
	trial    []geo.Vec3
	before   []float64
	spare    []contact
	warm     bool
	resumed  bool       // it starts from the solution of another problem
	base     []geo.Vec3 // the reference at the time of each control point
	slack    float64    // how much nearer than its need an obstacle is listed
	rounds   int        // most changes of the multipliers; 0: 24
}

type point struct {
	t, dt  float64
	b      basis
	ref    geo.Vec3
	weight geo.Vec3
}

// limit keeps |along∘(r⁽ᵈ⁾ − centre)| ≤ most (round), or along·r⁽ᵈ⁾ within low to high.
type limit struct {
	name       string
	derivative int
	round      bool
	along      geo.Vec3
	centre     geo.Vec3
	low, high  float64
	most       float64
}

// stretch fits the curve to a path of T seconds, a span for each step of so many seconds within the bounds.
// A small change keeps the shape of the problem, and so its solution as a start; else the curve is fresh.
func (g *program) stretch(T, step, least, most float64) (fresh bool) {
	spans := int(max(least, min(most, math.Ceil(T/step))))
	if n := g.curve.spans; g.warm && math.Abs(float64(n-spans)) < 0.15*float64(spans) {
		spans = n
	}
	fresh = g.curve.spans != spans || len(g.curve.ctrl) == 0
	if fresh || math.Abs(g.curve.duration()-T) > 1e-9 {
		ctrl := g.curve.ctrl
		g.curve = newSpline(5, spans, T)
		if !fresh {
			copy(g.curve.ctrl, ctrl)
		}
		g.energy = nil
		g.points = g.points[:0]
	}
	if len(g.points) == 0 {
		g.spread(spans*pointsIn + 1)
	}
	return fresh
}

// spread sets n moments from end to end, weighed by the trapezoid rule.
func (g *program) spread(n int) {
	T := g.curve.duration()
	g.points = make([]point, n)
	for k := range g.points {
		q := &g.points[k]
		q.t = T * float64(k) / float64(n-1)
		q.dt = T / float64(n-1)
		if k == 0 || k == n-1 {
			q.dt /= 2
		}
		g.curve.at(q.t, 2, &q.b)
	}
}

// pin fixes the curve to a place at a time.
type pin struct {
	b      basis
	at     geo.Vec3
	lambda geo.Vec3
}

// shell keeps point k off a ball.
type shell struct {
	point  int
	centre geo.Vec3
	radius float64
	lambda float64
}

// again copies a program so that the next solution can start from it.
func (g *program) again() program {
	next := *g
	next.resumed = true
	next.curve.ctrl = append([]geo.Vec3(nil), g.curve.ctrl...)
	next.base = append([]geo.Vec3(nil), g.base...)
	next.points = append([]point(nil), g.points...)
	next.multipliers = append([]float64(nil), g.multipliers...)
	next.overGround = append([]float64(nil), g.overGround...)
	next.low = append([]bool(nil), g.low...)
	next.near = append([]contact(nil), g.near...)
	next.nearFrom = append([]int(nil), g.nearFrom...)
	next.shells, next.pins, next.limits, next.spare = nil, nil, nil, nil
	next.hessian, next.gradient, next.trial = banded{}, nil, nil
	next.quadratic, next.linear, next.still, next.undamped, next.before = nil, nil, nil, nil, nil
	return next
}

type contact struct {
	obstacle int
	lambda   float64
	from     geo.Vec3 // where the point was when its obstacle was listed,
	spare    float64  // and by how much more than its need it was away then
}

// clear reports whether a contact that does not press can be passed over at a place: a distance changes by no more
// than one moves.
func (c *contact) clear(at *geo.Vec3) bool {
	if c.lambda != 0 || c.spare <= 0 {
		return false
	}
	x, y, z := at.X-c.from.X, at.Y-c.from.Y, at.Z-c.from.Z
	return x*x+y*y+z*z < c.spare*c.spare*(1-1e-9)
}

const (
	tolerance   = 5e-4 // of the normalised constraints
	maxContacts = 12   // obstacles weighed at one point
	maxSteps    = 12   // of Newton's method between two changes of the multipliers
)

// cost returns the objective.
func (g *program) cost() float64 {
	sum := g.level
	p := g.curve.degree
	c := g.curve.ctrl
	for i := range c {
		d := c[i].Sub(g.origin)
		row := &g.quadratic[i]
		half := geo.Vec3{X: row[0].X * d.X / 2, Y: row[0].Y * d.Y / 2, Z: row[0].Z * d.Z / 2}.Add(g.linear[i])
		for j := 1; j <= p && i+j < len(c); j++ {
			e := c[i+j].Sub(g.origin)
			half.X += row[j].X * e.X
			half.Y += row[j].Y * e.Y
			half.Z += row[j].Z * e.Z
		}
		sum += half.Dot(d)
	}
	return sum
}

// freeze works out the objective as a quadratic form of the control points about an origin.
func (g *program) freeze() {
	n := len(g.curve.ctrl)
	if len(g.quadratic) != n {
		g.quadratic, g.linear = make([][maxDegree + 1]geo.Vec3, n), make([]geo.Vec3, n)
	}
	g.origin = geo.Vec3{}
	if len(g.points) > 0 {
		g.origin = g.points[0].ref
	}
	g.level = 0
	for i := range g.quadratic {
		g.linear[i] = geo.Vec3{}
		for j := range g.quadratic[i] {
			g.quadratic[i][j] = g.jerk.Scale(2 * g.energy[i][j])
		}
	}
	for k := range g.points {
		q := &g.points[k]
		w := q.weight.Scale(2 * q.dt)
		ref := q.ref.Sub(g.origin)
		pull := geo.Vec3{X: w.X * ref.X, Y: w.Y * ref.Y, Z: w.Z * ref.Z}
		g.level += pull.Dot(ref) / 2
		for i := 0; i <= g.curve.degree; i++ {
			bi := q.b.row[0][i]
			g.linear[q.b.first+i] = g.linear[q.b.first+i].Sub(pull.Scale(bi))
			for j := i; j <= g.curve.degree; j++ {
				x := &g.quadratic[q.b.first+i][j-i]
				*x = x.Add(w.Scale(bi * q.b.row[0][j]))
			}
		}
	}
	g.hessian.clear()
	for i := range g.quadratic {
		for j := 0; j <= g.curve.degree && i+j < n; j++ {
			x := g.quadratic[i][j]
			g.addBlock(i+j, i, 1, &block{xx: x.X, yy: x.Y, zz: x.Z})
		}
	}
	g.still = append(g.still[:0], g.hessian.a...)
}

// value is inequality without the derivatives.
func (l *limit) value(r *geo.Vec3) (c float64) {
	a := &l.along
	if l.round {
		x, y, z := a.X*(r.X-l.centre.X), a.Y*(r.Y-l.centre.Y), a.Z*(r.Z-l.centre.Z)
		return (x*x+y*y+z*z)*(1/(l.most*l.most)) - 1
	}
	v := a.X*r.X + a.Y*r.Y + a.Z*r.Z
	mid, half := (l.low+l.high)/2, (l.high-l.low)/2
	if v >= mid {
		return (v-mid)/half - 1
	}
	return (mid-v)/half - 1
}

// inequality gives c ≤ 0 of a limit with value r of the derivative: its value, gradient, and
// the diagonal of its second derivative.
func (l *limit) inequality(r geo.Vec3) (c float64, grad, curv geo.Vec3) {
	if l.round {
		d := geo.Vec3{X: l.along.X * (r.X - l.centre.X), Y: l.along.Y * (r.Y - l.centre.Y), Z: l.along.Z * (r.Z - l.centre.Z)}
		k := 1 / (l.most * l.most)
		a := l.along
		return d.Dot(d)*k - 1, geo.Vec3{X: 2 * k * a.X * d.X, Y: 2 * k * a.Y * d.Y, Z: 2 * k * a.Z * d.Z},
			geo.Vec3{X: 2 * k * a.X * a.X, Y: 2 * k * a.Y * a.Y, Z: 2 * k * a.Z * a.Z}
	}
	v := l.along.Dot(r)
	mid, half := (l.low+l.high)/2, (l.high-l.low)/2
	if v >= mid {
		return (v-mid)/half - 1, l.along.Scale(1 / half), geo.Vec3{}
	}
	return (mid-v)/half - 1, l.along.Scale(-1 / half), geo.Vec3{}
}

// contactValue gives c ≤ 0 of the clearance from an obstacle, in tens of metres or in units
// of the clearance asked.
func (g *program) contactValue(obstacle int, r geo.Vec3) (c float64, grad geo.Vec3) {
	h := &g.hazards.all[obstacle]
	d, away := h.shape.Distance(r)
	scale := 1 / max(1, h.need)
	return (h.need - d) * scale, away.Scale(-scale)
}

func (g *program) groundValue(r geo.Vec3) (c float64, grad geo.Vec3, ok bool) {
	over, grad, ok := g.hazards.overGround(r)
	scale := 1 / max(1, g.hazards.ball)
	return -over * scale, grad.Scale(-scale), ok
}

func (s *shell) value(r geo.Vec3) (c float64, grad geo.Vec3) {
	d := r.Sub(s.centre)
	n := d.Norm()
	if n < 1e-9 {
		return 1, geo.Vec3{Z: -1 / s.radius}
	}
	return 1 - n/s.radius, d.Scale(-1 / (n * s.radius))
}

// merit is the augmented Lagrangian.
func (g *program) merit() float64 {
	sum := g.cost()
	add := func(c, lambda float64) {
		if m := lambda + g.rho*c; m > 0 {
			sum += (m*m - lambda*lambda) / (2 * g.rho)
		} else {
			sum -= lambda * lambda / (2 * g.rho)
		}
	}
	g.each(func(k int, r *[3]geo.Vec3) {
		for i := range g.limits {
			l := &g.limits[i]
			add(l.value(&r[l.derivative]), g.multipliers[k*len(g.limits)+i])
		}
		if g.hazards == nil {
			return
		}
		for i := g.nearFrom[k]; i < g.nearFrom[k+1]; i++ {
			if n := &g.near[i]; !n.clear(&r[0]) {
				c, _ := g.contactValue(n.obstacle, r[0])
				add(c, n.lambda)
			}
		}
		if g.low[k] {
			if over, ok := g.hazards.heightOver(r[0]); ok {
				add(-over/max(1, g.hazards.ball), g.overGround[k])
			}
		}
	})
	for i := range g.shells {
		s := &g.shells[i]
		c, _ := s.value(g.curve.value(&g.points[s.point].b, 0))
		add(c, s.lambda)
	}
	for i := range g.pins {
		n := &g.pins[i]
		e := g.curve.value(&n.b, 0).Sub(n.at)
		sum += n.lambda.Dot(e) + g.rho/2*e.Dot(e)
	}
	return sum
}

// each visits the points with position, velocity and acceleration there.
func (g *program) each(visit func(k int, r *[3]geo.Vec3)) {
	c := g.curve.ctrl
	n := g.curve.degree + 1
	for k := range g.points {
		b := &g.points[k].b
		ctrl := c[b.first : b.first+n]
		w0, w1, w2 := b.row[0][:len(ctrl)], b.row[1][:len(ctrl)], b.row[2][:len(ctrl)]
		var r0, r1, r2 geo.Vec3
		for j := range ctrl {
			p, u, v, w := &ctrl[j], w0[j], w1[j], w2[j]
			r0.X, r0.Y, r0.Z = r0.X+u*p.X, r0.Y+u*p.Y, r0.Z+u*p.Z
			r1.X, r1.Y, r1.Z = r1.X+v*p.X, r1.Y+v*p.Y, r1.Z+v*p.Z
			r2.X, r2.Y, r2.Z = r2.X+w*p.X, r2.Y+w*p.Y, r2.Z+w*p.Z
		}
		g.here = [3]geo.Vec3{r0, r1, r2}
		visit(k, &g.here)
	}
}
