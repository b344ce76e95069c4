// Package day finds the order of a shooting day: which slates fly in which
// sortie, on which rig, in which build, from which pack, by which unit, when.
//
// It computes a Plan from a Problem: the plan with the most value times quality
// less the cost of changeovers and of long days, with a bound that no plan can
// exceed. The search is our own: a price is put on every slate so that the units
// fall apart into longest paths over time, which bound every plan from above
// (Lagrangian relaxation, solved by a bundle method); slates that must keep an
// order have prices of their own, by time; a beam of partial plans, layered by
// slates done and pruned by dominance and by that bound, widens until nothing was
// thrown away, which proves the plan; between the beams neighbourhoods of the best
// plan are searched by the same beam, some with a slate forced to a time at which
// it is worth more, and of what comes of that. Where slates are few, the same days
// are searched first with packs forgotten: far fewer states differ, the best of
// them bounds every plan, and often packs can be dealt out to it. Where calls may
// be chosen, each of a few combinations is planned for, and the best kept.
//
// Units: whole seconds of elapsed time since an epoch of the caller's choice,
// watt-hours, watts; quality in permille; score in thousandths of a point.
//
// Source: the relaxation and its use in dynamic programming follow Christofides,
// Mingozzi and Toth, State-space relaxation procedures for the computation of
// bounds to routing problems, Networks 11, 1981; the widening beam, Zhang,
// Complete anytime beam search, AAAI 1998; neighbourhoods, Shaw, Using constraint
// programming and local search methods to solve vehicle routing problems, CP 1998,
// of plans a little worse too, Dueck, Journal of Computational Physics 104, 1993
// (record-to-record travel; from memory) and, where packs decide nothing, sorties
// that change places with those near them, Balas and Simonetti, INFORMS Journal on
// Computing 13, 2001; paths that remember, Baldacci, Mingozzi and Roberti, same
// journal 24, 2012 (from memory); the sources of the bundle method and of the
// prices of an order stand beside them. The weights and default values are common
// practice, no source.
//
// Validity: up to 128 slates. All rules in the doc comments of Problem are
// kept exactly; take-offs lie on the grid. Accuracy is that of the numbers given.
//
// Not modelled: waiting in the air (shots of one sortie follow one another
// directly), charging to less than full, chargers other than first come first
// served, calls other than those to choose from, rigs carried between units' spots.
package day
