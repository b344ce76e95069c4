// Package rig rolls up what an aircraft carries: take-off mass against its limits,
// centre of mass, and what to leave behind when it is too heavy.
//
// Units and axes: SI; positions in the airframe's frame, x right, y forward, z up, in
// metres.
//
// Source: statics. Limits come from the maker and from the rule class that the crew
// flies under; both are the caller's.
//
// Valid for any number of items; the choice of what to leave is exact for up to 20
// items that may be left and greedy above.
//
// Not modelled: fuel or packs that grow lighter, loads that swing.
package rig

import (
	"fmt"
	"math/bits"
	"sort"

	"fieldfare/model/geo"
)

// Item is one thing aboard.
type Item struct {
	Name   string
	MassKg float64
	At     geo.Vec3
	// Spare is whether the aircraft can fly the shot without it. Worth ranks spare
	// items against one another: the higher, the more is lost without it.
	Spare bool
	Worth int
}

// Load is the roll-up.
type Load struct {
	MassKg float64
	Centre geo.Vec3
}

// Limit is a greatest take-off mass and whose it is. A MaxKg of 0 is not known.
type Limit struct {
	Basis string // "maker", "rule class A3"
	MaxKg float64
}

// Excess is a load against a limit.
type Excess struct {
	Limit
	Known  bool
	OverKg float64 // above 0 is too heavy
}

// Roll sums the items.
func Roll(items []Item) (Load, error) {
	if len(items) == 0 {
		return Load{}, fmt.Errorf("nothing to roll up: give at least the airframe's mass")
	}
	var l Load
	var first geo.Vec3
	for _, i := range items {
		if !(i.MassKg > 0 && i.MassKg <= 1000) {
			return Load{}, fmt.Errorf("item %q has a mass of %.4g kg: expected above 0 kg to 1000 kg", i.Name, i.MassKg)
		}
		if !(i.At.Norm() <= 20) {
			return Load{}, fmt.Errorf("item %q is %.4g m from the airframe's origin: expected up to 20 m", i.Name, i.At.Norm())
		}
		l.MassKg += i.MassKg
		first = first.Add(i.At.Scale(i.MassKg))
	}
	l.Centre = first.Scale(1 / l.MassKg)
	return l, nil
}

// Against compares the load with each limit, in the order given.
func (l Load) Against(limits []Limit) []Excess {
	all := make([]Excess, len(limits))
	for i, m := range limits {
		all[i] = Excess{Limit: m, Known: m.MaxKg > 0, OverKg: l.MassKg - m.MaxKg}
		if !all[i].Known {
			all[i].OverKg = 0
		}
	}
	return all
}

// Leave is one way to bring a load under a limit: the items to leave behind.
type Leave struct {
	Names  []string
	MassKg float64
	Worth  int
}

// LeaveBehind ranks ways to shed at least overKg from the spare items: least worth
// first, then least mass, then fewest items. Only sets in which every item is needed to
// get under are listed, at most most of them. None means that it cannot be done.
func LeaveBehind(items []Item, overKg float64, most int) []Leave {
	if !(overKg > 0) {
		return nil
	}
	var spare []Item
	for _, i := range items {
		if i.Spare && i.MassKg > 0 {
			spare = append(spare, i)
		}
	}
	const exact = 20
	if len(spare) > exact {
		// Keep those that shed the most for their worth.
		sort.SliceStable(spare, func(i, j int) bool {
			return float64(spare[i].Worth+1)*spare[j].MassKg < float64(spare[j].Worth+1)*spare[i].MassKg
		})
		spare = spare[:exact]
	}
	type set struct {
		mask  uint32
		kg    float64
		worth int
	}
	var sets []set
	for mask := uint32(1); mask < 1<<len(spare); mask++ {
		s := set{mask: mask}
		least := spare[bits.TrailingZeros32(mask)].MassKg
		for rest := mask; rest != 0; rest &= rest - 1 {
			i := spare[bits.TrailingZeros32(rest)]
			s.kg += i.MassKg
			s.worth += i.Worth
			least = min(least, i.MassKg)
		}
		const rounding = 1e-9
		if s.kg >= overKg-rounding && s.kg-least < overKg-rounding {
			sets = append(sets, s)
		}
	}
	sort.Slice(sets, func(i, j int) bool {
		a, b := sets[i], sets[j]
		switch {
		case a.worth != b.worth:
			return a.worth < b.worth
		case a.kg != b.kg:
			return a.kg < b.kg
		case bits.OnesCount32(a.mask) != bits.OnesCount32(b.mask):
			return bits.OnesCount32(a.mask) < bits.OnesCount32(b.mask)
		}
		return a.mask < b.mask
	})
	var all []Leave
	for _, s := range sets[:min(most, len(sets))] {
		l := Leave{MassKg: s.kg, Worth: s.worth}
		for rest := s.mask; rest != 0; rest &= rest - 1 {
			l.Names = append(l.Names, spare[bits.TrailingZeros32(rest)].Name)
		}
		all = append(all, l)
	}
	return all
}
