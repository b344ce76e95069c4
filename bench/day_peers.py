#!/usr/bin/env python3
"""Days of 20, 30 and 40 slates, and shoots of 40 in two days, before HiGHS, CBC and
Gecode (days alone), one row a day and peer. A peer has ten times our whole search or
fifty times our time to the plan we end with, whichever is more, but two minutes at
most. Its score counts only where TEST, the built test of plan/day, finds that its
plan keeps every rule.
Usage: day_peers.py DIR TEST, with the days and ours.json of TestLarge in DIR."""
import json, os, re, subprocess, sys
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "../plan/day/testdata/authority"))
import certify, gecode

where, test = sys.argv[1], os.path.abspath(sys.argv[2])
ours = json.load(open(f"{where}/ours.json"))
rows = []
for name, us in sorted(ours.items()):
    p = json.load(open(f"{where}/{name}.json"))
    best = next(w["Seconds"] for w in us["Way"] if w["Score"] == us["Score"])
    limit = min(120, max(10 * us["Seconds"], 51 * best))
    for peer, solve in (("HiGHS", lambda: certify.solve(p, certify.npm, limit)), ("CBC", lambda: certify.solve(p, certify.cbc, limit)), ("Gecode", lambda: gecode.run(p, limit))):
        if peer == "Gecode" and len(p["days"]) > 1: continue # its model has one day, and one rig to a unit
        plan, proved, took = solve()
        rows.append((name, peer, plan, proved, took))
        print(name, peer, f"{took:.0f} s", file=sys.stderr, flush=True)
        if plan: json.dump(dict(problem=p, plan=plan), open(f"{where}/{name}-{peer}.peer", "w"))
said = subprocess.run([test, "-test.run", "TestPeerPlans", "-peers", where], capture_output=True, text=True, cwd=os.path.join(os.path.dirname(certify.HERE), "..")).stdout
print(f"{'day':9}{'ours':>10}{'bound':>10}{'gap':>7}{'found':>8}{'ended':>8}  {'peer':7}{'its plan':>10}{'of ours':>9}{'time':>8}  equal quality")
for name, peer, plan, proved, took in rows:
    us = ours[name]
    best = next(w["Seconds"] for w in us["Way"] if w["Score"] == us["Score"])
    if plan and not re.search(rf"^{name}-{peer}.peer stands$", said, re.M):
        result = f"{plan['score']:>10}   breaks the rules, does not count"
    elif not plan:
        result = f"{'no plan':>10}{'':>9}{took:7.1f}s  not after {took / best:.0f} times our time"
    else:
        early = next((w["Seconds"] for w in us["Way"] if w["Score"] >= plan["score"]), None)
        result = f"{plan['score']:>10}{100 * plan['score'] / us['Score']:8.1f}%{took:7.1f}s  "
        if early is None: result += f"better than ours{', proved' if proved else ''}"
        elif plan["score"] == us["Score"]: result += f"{took / best:.0f} times our time{', proved' if proved else ''}"
        else: result += f"not after {took / best:.0f} times our time; ours was past it after {early:.2f} s, {took / early:.0f} times"
    gap = 100 * (us["Bound"] - us["Score"]) / us["Bound"]
    print(f"{name:9}{us['Score']:>10}{us['Bound']:>10}{gap:6.2f}%{best:7.2f}s{us['Seconds']:7.2f}s  {peer:7}{result}", flush=True)
