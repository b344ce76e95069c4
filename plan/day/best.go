package day

import (
	"cmp"
	"slices"
)

// before orders candidates, no two the same: the greater bound, then the greater
// gain, then the earlier landing first; then the last made, whose pack is charged.
func (m *model) before(a, b *candidate) int {
	switch {
	case a.bound != b.bound:
		return cmp.Compare(b.bound, a.bound)
	case a.gained != b.gained:
		return cmp.Compare(b.gained, a.gained)
	}
	if c := a.step.takeoff + m.flights[a.step.flight].steps - b.step.takeoff - m.flights[b.step.flight].steps; c != 0 {
		return int(c)
	}
	return int(b.order - a.order)
}

// best hands out candidates in order. A narrow beam asks for few of many, so they
// lie in a heap; where most are asked for they are sorted.
type best struct {
	m      *model
	list   []candidate
	sorted bool
}

func (m *model) bestOf(list []candidate, width int) best {
	b := best{m, list, len(list) < 4*width}
	if b.sorted {
		slices.SortFunc(list, func(x, y candidate) int { return m.before(&x, &y) })
		return b
	}
	for i := len(list)/2 - 1; i >= 0; i-- {
		b.sink(i)
	}
	return b
}

// next is the best candidate left, nil at the end; it stands until the next call.
func (b *best) next(last *candidate) *candidate {
	if len(b.list) == 0 {
		return nil
	}
	*last = b.list[0]
	if b.sorted {
		b.list = b.list[1:]
		return last
	}
	end := len(b.list) - 1
	b.list[0] = b.list[end]
	b.list = b.list[:end]
	b.sink(0)
	return last
}

// sink moves a candidate down the heap to its place.
func (b *best) sink(i int) {
	if i >= len(b.list) {
		return
	}
	c := b.list[i]
	for {
		k := 2*i + 1
		if k >= len(b.list) {
			break
		}
		if k+1 < len(b.list) && b.m.before(&b.list[k+1], &b.list[k]) < 0 {
			k++
		}
		if b.m.before(&c, &b.list[k]) <= 0 {
			break
		}
		b.list[i], i = b.list[k], k
	}
	b.list[i] = c
}
