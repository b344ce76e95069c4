package day

import (
	"math"
	"slices"
)

// bundle lowers the root over the prices. Every path that was once a unit's best is
// a cut: what the unit's best path is worth lies above it, whatever the prices. The
// cuts together model the root from below; the next prices are the lowest of the
// model that are not far from the best so far (Lemaréchal's bundle method, with the
// distance as in Kiwiel, Proximity control in bundle methods for convex
// nondifferentiable minimization, Mathematical Programming 46, 1990; from memory).
type bundle struct {
	cuts   [][]cut // per unit, their weights sum to one
	centre []int64 // the best prices
	root   int64   // there
	reach  float64 // how far from the centre prices may go, per unit of slope
	least  float64 // reach at which a call begins at least
	streak int     // steps that have won, one after the other; below zero: in vain
	at     []float64
	slope  []float64 // of the model at at
}

// cut is the worth of a path as it runs with the prices: free + slope·price.
type cut struct {
	free   float64
	slope  []float64
	path   []int32
	weight float64
	worth  float64 // at the prices last looked at
}

// mostCuts is the most cuts kept for a unit.
const mostCuts = 40

// learn adds the present best paths to the cuts.
func (w *bundle) learn(b *bounds) {
	if w.cuts == nil {
		w.cuts = make([][]cut, len(b.m.units))
	}
	for u, list := range w.cuts {
		c := cut{free: float64(b.length[u]), slope: make([]float64, len(b.price)), path: slices.Clone(b.paths[u])}
		for i, g := range b.slopes[u] {
			c.slope[i] = float64(g)
			c.free -= float64(g) * float64(b.price[i])
		}
		if slices.ContainsFunc(list, func(o cut) bool { return o.free == c.free && slices.Equal(o.slope, c.slope) }) {
			continue
		}
		if len(list) == mostCuts {
			least := 0
			for i := range list {
				if o, l := &list[i], &list[least]; o.weight < l.weight || o.weight == l.weight && o.worth < l.worth {
					least = i
				}
			}
			list = slices.Delete(list, least, least+1)
		}
		w.cuts[u] = append(list, c)
		balance(w.cuts[u])
	}
}

// balance makes the weights of some cuts sum to one.
func balance(list []cut) {
	var sum float64
	for i := range list {
		sum += list[i].weight
	}
	for i := range list {
		if sum > 1e-6 {
			list[i].weight /= sum
		} else {
			list[i].weight = 0
		}
	}
	if sum <= 1e-6 && len(list) > 0 {
		list[0].weight = 1
	}
}

// forget drops the cuts of paths that the labels, having grown, no longer allow.
func (w *bundle) forget(b *bounds) {
	for u, list := range w.cuts {
		w.cuts[u] = slices.DeleteFunc(list, func(c cut) bool {
			l := b.first[b.m.units[u].start]
			for _, to := range c.path {
				have := b.labels[l].seen.union(b.m.configs[b.labels[l].config].mask)
				if have.meets(b.m.configs[to].mask) {
					return true
				}
				l = b.label(int(to), have)
			}
			return false
		})
		balance(w.cuts[u])
	}
}

// aim moves at to the lowest of the model near the centre, and gives the model's
// root there and the work. The weights of two cuts of a unit are evened out at a
// time, until what is left to gain by it is a small part of the fall.
func (w *bundle) aim(b *bounds) (root float64, work int64) {
	slates, n, cuts := len(b.m.slates), len(b.price), 0
	clear(w.slope)
	for s := range slates {
		w.slope[s] = 1
	}
	for _, list := range w.cuts {
		cuts += len(list)
		for k := range list {
			if c := &list[k]; c.weight > 0 {
				for i, g := range c.slope {
					w.slope[i] += c.weight * g
				}
			}
		}
	}
	for round := 0; ; round++ {
		for i := range w.at {
			w.at[i] = max(0, float64(w.centre[i])-w.reach*w.slope[i])
		}
		root = 0
		for _, price := range w.at[:slates] {
			root += price
		}
		held := root
		var up, down *cut
		var most float64
		for _, list := range w.cuts {
			var high, low *cut
			for k := range list {
				c := &list[k]
				c.worth = c.free
				for i, g := range c.slope {
					c.worth += g * w.at[i]
				}
				held += c.weight * c.worth
				if high == nil || c.worth > high.worth {
					high = c
				}
				if c.weight > 0 && (low == nil || c.worth < low.worth) {
					low = c
				}
			}
			root += high.worth
			if gain := high.worth - low.worth; gain > most {
				most, up, down = gain, high, low
			}
		}
		work += int64(cuts*n) / 20
		if up == nil || root-held <= 0.15*(float64(w.root)-root) || round == 300 {
			return root, work
		}
		var norm float64
		for i := range up.slope {
			g := up.slope[i] - down.slope[i]
			norm += g * g
		}
		step := down.weight
		if norm > 0 {
			step = min(step, most/(w.reach*norm))
		}
		up.weight += step
		if down.weight -= step; down.weight < 1e-9 {
			down.weight = 0
		}
		for i := range up.slope {
			w.slope[i] += step * (up.slope[i] - down.slope[i])
		}
	}
}

// lower lowers the root bound until a score that is known to be reached, its prices
// have settled or the work is done, and leaves the charts of the best prices. Slates
// on the cycles of paths are remembered, up to so many labels.
func (b *bounds) lower(target int64, most int, work int64, settled float64, spend func(work int64) bool) {
	w := &b.bundle
	if w.centre == nil {
		b.startPrices()
		b.solve()
		b.trace()
		w.centre, w.root = slices.Clone(b.price), b.root
		w.at, w.slope = make([]float64, len(b.price)), make([]float64, len(b.price))
		w.learn(b)
		var norm float64
		for i, g := range b.slope {
			if b.price[i] > 0 || g < 0 {
				norm += float64(g) * float64(g)
			}
		}
		w.reach = float64(w.root-target) / 4 / max(norm, 1)
		w.least = w.reach / 16
	}
	w.reach = max(w.reach, w.least)
	mark := w.root // at the last look
	for round := 1; work > 0 && w.root > target; round++ {
		if round%25 == 0 {
			if float64(mark-w.root) < settled*float64(mark-target) {
				break
			}
			mark = w.root
		}
		foretold, used := w.aim(b)
		fall := float64(w.root) - foretold
		if fall < 0.5 {
			break
		}
		for i, price := range w.at {
			b.price[i] = int64(math.Round(price))
		}
		b.solve()
		work -= b.work + used
		if spend(b.work + used) {
			break
		}
		b.trace()
		// room for so many labels that there may be thirty more steps
		room := int(min(int64(most), int64(len(b.labels))*work/(30*b.work+1)))
		grown := slices.Min(b.slope[:len(b.m.slates)]) < -1 && b.grow(room)
		if grown {
			w.forget(b)
			b.solve()
			b.trace()
		}
		w.learn(b)
		got := float64(w.root - b.root)
		bend := 2 * (1 - got/fall)
		switch {
		case got >= 0.1*fall:
			w.root = b.root
			copy(w.centre, b.price)
			if w.streak = max(w.streak+1, 1); got >= 0.5*fall && w.streak > 1 {
				w.reach *= min(10, max(1, 1/max(bend, 0.1)))
			} else if w.streak > 4 {
				w.reach *= 2
			}
			continue
		case got < -fall || w.streak < -3:
			w.reach *= max(0.1, min(1, 1/bend))
		}
		w.streak = min(w.streak-1, -1)
		if grown { // the centre is worth less by now
			copy(b.price, w.centre)
			b.solve()
			b.trace()
			w.learn(b)
			w.root = b.root
		}
	}
	copy(b.price, w.centre)
	b.solve()
}
