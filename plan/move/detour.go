package move

import (
	"math"

	"fieldfare/model/geo"
)

// detour shifts the path sideways or up for a while, to start the optimiser on a side from
// which it can improve instead of inside an obstacle.
type detour struct {
	from, to, soft float64 // seconds: full shift between from and to, none beyond soft
	by             geo.Vec3
}

func (d *detour) at(t float64) geo.Vec3 {
	switch {
	case t < d.from:
		return d.by.Scale(smooth(1 - (d.from-t)/d.soft))
	case t > d.to:
		return d.by.Scale(smooth(1 - (t-d.to)/d.soft))
	}
	return d.by
}

// detours finds, for each stretch of the reference that is too near something, the smallest
// shift left, right or up that clears it. upOnly looks up alone.
func (s *solver) detours(points []point, upOnly bool) []detour {
	var out []detour
	shifted := func(q *point, extra *detour) geo.Vec3 {
		p := q.ref
		for i := range out {
			p = p.Add(out[i].at(q.t))
		}
		if extra != nil {
			p = p.Add(extra.at(q.t))
		}
		return p
	}
	blocked := func(q *point, extra *detour) bool {
		return s.near(q.t, shifted(q, extra), -0.05) // what only grazes is left to the optimiser
	}
	total := points[len(points)-1].t
	gap := max(1.5, 2.5*total/float64(len(points)))
	for k := 0; k < len(points); k++ {
		if !blocked(&points[k], nil) {
			continue
		}
		last := k
		for m := k + 1; m < len(points) && points[m].t-points[last].t < gap; m++ {
			if blocked(&points[m], nil) {
				last = m
			}
		}
		from, to := points[k].t, points[last].t
		mid := &points[(k+last)/2]
		way := points[min(len(points)-1, last+1)].ref.Sub(points[max(0, k-1)].ref)
		tries := []geo.Vec3{{Z: 1}}
		if h := way.Horizontal(); h > 0.1 && !upOnly {
			tries = append(tries, geo.Vec3{X: -way.Y / h, Y: way.X / h}, geo.Vec3{X: way.Y / h, Y: -way.X / h})
		}
		var ways []detour
		least := math.Inf(1)
		accel := s.p.Rig.accel()
		for _, dir := range tries {
			for by := 2.0; by < min(120, 3*least); by *= 1.3 {
				d := detour{from: from, to: to, soft: max(1.5, 3*math.Sqrt(by/accel)), by: dir.Scale(by)}
				// The ends of the shot stay where they are.
				d.soft = max(0.8, min(d.soft, max(from, 0.8), max(total-to, 0.8)))
				clear := true
				for i := range points {
					if q := &points[i]; q.t > from-d.soft && q.t < to+d.soft && blocked(q, &d) && !(q.t < 0.6 || q.t > total-0.6) {
						// Before and after, only what the shift itself brought counts.
						if q.t >= from && q.t <= to || !blocked(q, nil) {
							clear = false
							break
						}
					}
				}
				if clear {
					ways, least = append(ways, d), min(least, by)
					break
				}
			}
		}
		var best detour
		switch len(ways) {
		case 0: // nothing clears it: straight up is the best start
			by, _ := s.inside(mid.t, mid.ref)
			best = detour{from: from, to: to, soft: 3, by: geo.Vec3{Z: by + 2}}
		case 1:
			best = ways[0]
		default:
			soft := 0.0
			for i := range ways {
				soft = max(soft, ways[i].soft)
			}
			cheapest := math.Inf(1)
			for i := range ways {
				if cost := s.tryout(points, out, &ways[i], soft); cost < cheapest || i == 0 {
					best, cheapest = ways[i], cost
				}
			}
		}
		out = append(out, best)
		k = last
	}
	return out
}

// tryout is what a way round costs when the optimiser has smoothed it, for the part of the
// shot around it alone.
func (s *solver) tryout(points []point, before []detour, d *detour, soft float64) float64 {
	g := &s.route
	total := points[len(points)-1].t
	from, to := max(0, d.from-soft-0.5), min(total, d.to+soft+0.5)
	shifted := func(t float64) geo.Vec3 {
		p := s.at(t).place(t)
		for i := range before {
			p = p.Add(before[i].at(t))
		}
		return p
	}
	speed := func(t float64) geo.Vec3 {
		a, b := max(0, t-0.1), min(total, t+0.1)
		return shifted(b).Sub(shifted(a)).Scale(1 / (b - a))
	}
	q := program{curve: newSpline(5, int(max(8, math.Ceil((to-from)/0.6))), to-from), jerk: g.jerk, limits: g.limits, hazards: g.hazards, rounds: 4}
	q.spread(2*q.curve.spans + 1)
	for k := range q.points {
		x := &q.points[k]
		x.ref = shifted(from + x.t)
		x.weight = points[min(len(points)-1, int((from+x.t)/total*float64(len(points))))].weight
	}
	for i := range q.curve.ctrl {
		t := from + q.curve.greville(i)
		q.curve.ctrl[i] = shifted(t).Add(d.at(t))
	}
	q.curve.clampStart(3, shifted(from), speed(from))
	q.curve.clampEnd(3, shifted(to), speed(to))
	violation, _, steps := q.optimise()
	s.steps += steps
	// A way that is only partly clear counts by how far it is from it.
	return q.cost() * (1 + 100*max(0, violation-8*tolerance))
}

// near tells whether a place is less clear than asked by more than the grace (negative
// numbers allow more).
func (s *solver) near(t float64, pos geo.Vec3, grace float64) bool {
	if s.hazards.ground != nil {
		if over, ok := s.hazards.heightOver(pos); ok && over < grace {
			return true
		}
	}
	for i := range s.hazards.all {
		h := &s.hazards.all[i]
		d := pos.Sub(h.centre)
		if far := h.need + h.radius; d.Dot(d) > far*far {
			continue
		}
		if dist, _ := h.shape.Distance(pos); dist-h.need < grace {
			return true
		}
	}
	for _, name := range s.moving {
		m, _ := s.p.Subjects[name].At(t)
		if pos.Sub(m.Box.Centre()).Norm()-s.standOff(m) < grace {
			return true
		}
	}
	return false
}
