#!/usr/bin/env python3
"""Days of 20 and 30 slates before HiGHS, CBC and Gecode at ten times our time.
Usage: day_peers.py DIR, with the days and ours.json of TestLarge. Writes nothing there."""
import json, os, sys
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "../plan/day/testdata/authority"))
import certify, gecode

days = sys.argv[1]
ours = json.load(open(f"{days}/ours.json"))
for name in ("large20", "large30"):
    us = ours[name]
    limit = max(1, min(10, round(10 * us["Seconds"])))
    print(f"{name}: ours {us['Score']} (bound {us['Bound']}) in {us['Seconds']:.2f} s, found after {us['Best']:.2f} s; peers have {limit} s", flush=True)
    p = lambda: json.load(open(f"{days}/{name}.json"))
    *m, sorties = certify.model(p())
    for peer, solve in (("HiGHS", lambda: certify.highs(m, limit, name)), ("CBC", lambda: certify.cbc(m, limit, name)), ("Gecode", lambda: gecode.run(p(), limit))):
        score, proved, took = solve()
        share = "no plan" if not score or score < 0 else f"{score} = {100 * score / us['Score']:.1f} % of ours"
        # the least that can be said of the time to equal quality
        ratio = f"{took / us['Best']:.0f} times our time" if score and score >= us["Score"] else f"not equal after {took / us['Best']:.0f} times our time"
        print(f"  {peer:7}{share}, {took:.1f} s{', proved' if proved else ''}: {ratio}", flush=True)
