#!/usr/bin/env python3
"""Certifies the best score of each dayNN.json here by a mixed-integer model of
the day, solved by CBC or HiGHS. Written from the doc comments of Problem alone;
shares no code with the search. Usage: certify.py cbc|highs seconds [names...]
Writes certified.json: values proved optimal, and the solver's time for each;
with --dry only prints."""
import json, math, subprocess, sys, time, os, re, glob

HERE = os.path.dirname(os.path.abspath(__file__))

def ceil(a, b): return -((-a) // b)

TOOLS = {"cbc": "CBC 2.10.8, Debian coinor-cbc", "highs": "HiGHS in SciPy, Debian python3-scipy"}

def merged(terms):
    total = {}
    for c, v in terms: total[v] = total.get(v, 0) + c
    return {v: c for v, c in total.items() if c}

def model(p, F=None):
    step = p["step_s"]; day = p["days"][0]
    base = day["start_s"] // step * step
    weights = p["weights"]
    setups = {s["name"]: s for s in p["setups"]}
    spots = {s["name"]: s.get("move_s") or {} for s in p["spots"]}
    packs = p["packs"]; slates = {s["name"]: s for s in p["slates"]}
    people = {x["name"]: x for x in p.get("people", [])}
    def move(a, b):
        if a == b: return 0
        return spots[a].get(b, spots[b].get(a, 0))
    def build(rig, a, b):
        a, b = setups[a], setups[b]; w = rig["swap"]
        return sum(w.get(k + "_s", 0) for k in ("lens", "filter", "balance", "card") if a.get(k) != b.get(k))
    def mwh(x): return math.ceil(x * 1000 - 1e-6)
    def quality(s, start):
        n = s["take_s"] * s["takes"]; full = s["take_s"] * (s["takes"] + s.get("reserve", 0))
        for w in s["windows"]:
            if w["from_s"] <= start and start + full <= w["to_s"]:
                k = w.get("quality") or []
                mid = start + n // 2
                if not k: return 1000
                if mid <= k[0]["at_s"]: return k[0]["quality"]
                for a, b in zip(k, k[1:]):
                    if mid <= b["at_s"]:
                        return a["quality"] + (b["quality"] - a["quality"]) * (mid - a["at_s"]) // (b["at_s"] - a["at_s"])
                return k[-1]["quality"]
        return None
    value = {n: s.get("value") or {"must": 1000, "should": 300, "nice": 100}[s["priority"]] for n, s in slates.items()}
    obj, cons, binary, integer, bounds = [], [], [], [], []
    def con(terms, op, rhs):
        row = merged(terms)
        if row: cons.append((row, op, rhs))
    F = [] if F is None else F
    for ui, u in enumerate(p["units"]):
        assert len(u["rigs"]) == 1
        rig = next(r for r in p["rigs"] if r["name"] == u["rigs"][0])
        call = max(day["start_s"], u["call_s"][0]) if u.get("call_s") else day["start_s"]
        wrap = day["end_s"]; fly, rest = None, 0
        for n in u["people"]:
            w = people[n]
            if w.get("duty_s"): wrap = min(wrap, call + w["duty_s"])
            if "pilot" in w["skills"] and w.get("fly_s"):
                fly = w["fly_s"] // step; rest = max(rest, ceil(w.get("rest_s", 0), step))
        u["_"] = dict(rig=rig, call=ceil(call - base, step), wrap=(wrap - base) // step, fly=fly, rest=rest)
        usable = max([math.floor(k["capacity_wh"] * 1000 + 1e-6) - mwh(k["reserve_wh"]) for k in packs if rig["name"] in k["rigs"]] or [0])
        def grow(seq, setup, spot, t, e):
            for n, s in slates.items():
                if n in [x for x, _ in seq]: continue
                if any(n in (slates[x].get("after") or []) for x, _ in seq): continue
                for o in s["options"]:
                    if o["rig"] != rig["name"] or (setup and o["setup"] != setup): continue
                    if spot and s["spot"] != spot: continue
                    t2 = t + (rig.get("reposition_s", 0) if seq else 0)
                    e2 = e + (mwh(rig.get("reposition_wh", 0)) if seq else 0) + mwh(o["take_wh"] * (s["takes"] + s.get("reserve", 0)))
                    full = s["take_s"] * (s["takes"] + s.get("reserve", 0))
                    if e2 > usable: continue
                    g = dict(u=ui, seq=seq + [(n, t2)], setup=o["setup"], spot=s["spot"], need=e2, len=ceil(t2 + full + rig.get("recover_s", 0), step))
                    starts = {}
                    for k in range(u["_"]["call"], u["_"]["wrap"] - g["len"] + 1):
                        if base + k * step < day["start_s"]: continue
                        v = 0
                        for m, off in g["seq"]:
                            q = quality(slates[m], base + k * step + off)
                            if q is None: v = None; break
                            v += q * value[m]
                        if v is not None: starts[k] = v
                    if not starts: continue
                    g["starts"] = starts
                    F.append(g)
                    if len(g["seq"]) < (rig.get("max_shots") or 3):
                        grow(g["seq"], o["setup"], s["spot"], t2 + full, e2)
        grow([], None, None, rig.get("launch_s", 0), mwh(rig.get("overhead_wh", 0)))
    BIG = (day["end_s"] - base) // step + 30
    for i, f in enumerate(F):
        for k, v in f["starts"].items():
            binary.append(f"x{i}_{k}"); obj.append((v, f"x{i}_{k}"))
        f["X"] = [(1, f"x{i}_{k}") for k in f["starts"]]
        f["T"] = [(k, f"x{i}_{k}") for k in f["starts"]]
    neg = lambda terms: [(-c, v) for c, v in terms]
    tim = lambda c, terms: [(c * a, v) for a, v in terms]
    for n, s in slates.items():
        mine = [f for f in F if n in [x for x, _ in f["seq"]]]
        con(sum((f["X"] for f in mine), []), "<=", 1)
        for a in s.get("after") or []:
            theirs = [g for g in F if a in [x for x, _ in g["seq"]]]
            con(sum((f["X"] for f in mine), []) + neg(sum((g["X"] for g in theirs), [])), "<=", 0)
            full = slates[a]["take_s"] * (slates[a]["takes"] + slates[a].get("reserve", 0))
            for f in mine:
                for g in theirs:
                    if f is g: continue
                    offi = dict(f["seq"])[n]; end = dict(g["seq"])[a] + full
                    M = BIG * step + end
                    # T_f step + offi >= T_g step + end - M (2 - X_f - X_g)
                    con(tim(step, f["T"]) + neg(tim(step, g["T"])) + neg(tim(M, f["X"])) + neg(tim(M, g["X"])), ">=", end - offi - 2 * M)
    def arcs(tag, nodes, present):
        """a path through the nodes that are present; returns arc names"""
        A = {}
        for i in nodes:
            A[None, i] = f"{tag}s_{i}"
            A[i, None] = f"{tag}_{i}_e"
            for j in nodes:
                if i != j and not set(n for n, _ in F[i]["seq"]) & set(n for n, _ in F[j]["seq"]) and min(F[i]["starts"]) + F[i]["len"] <= max(F[j]["starts"]):
                    A[i, j] = f"{tag}_{i}_{j}"
        binary.extend(A.values())
        for i in nodes:
            con([(1, v) for (a, b), v in A.items() if b == i] + neg(present(i)), "=", 0)
            con([(1, v) for (a, b), v in A.items() if a == i] + neg(present(i)), "=", 0)
        con([(1, v) for (a, b), v in A.items() if a is None], "<=", 1)
        return A
    for ui, u in enumerate(p["units"]):
        d = u["_"]; rig = d["rig"]; nodes = [i for i, f in enumerate(F) if f["u"] == ui]
        A = arcs(f"y{ui}", nodes, lambda i: F[i]["X"])
        brk = [b for b in u.get("breaks") or [] if day["start_s"] <= b["earliest_s"] < day["end_s"]]
        assert len(brk) <= 1
        m = {}
        if brk:
            E, B, D = ceil(brk[0]["earliest_s"] - base, step), (brk[0]["latest_s"] - base) // step, ceil(brk[0]["duration_s"], step)
            integer.append(f"ms{ui}"); bounds.append(f"{E} <= ms{ui} <= {B}")
            for (a, b), v in A.items():
                if b is not None: m[a, b] = "m" + v; binary.append("m" + v); con([(1, "m" + v), (-1, v)], "<=", 0)
            con([(1, v) for v in m.values()], "<=", 1)
        for i in nodes:
            f = F[i]
            binary.append(f"rs{i}"); bounds.append(f"0 <= fl{i} <= {d['fly'] if d['fly'] is not None else BIG * 10}")
            con([(1, f"fl{i}")] + neg(tim(f["len"], f["X"])), ">=", 0)
            if brk:
                binary.append(f"af{i}")
                con(f["T"] + tim(f["len"], f["X"]) + [(-BIG, f"af{i}")], "<=", B)
        for (a, b), v in A.items():
            if b is None: continue
            g = F[b]
            setup0, spot0 = (rig["setup"], u["spot"]) if a is None else (F[a]["setup"], F[a]["spot"])
            bs, mv = build(rig, setup0, g["setup"]), move(spot0, g["spot"])
            if u.get("technician"): gap = max(ceil(rig["ground_s"] + mv, step), ceil(rig["ground_s"] + bs, step))
            else: gap = ceil(rig["ground_s"] + mv + bs, step)
            obj.append((-(bs + mv) * weights["change_per_s"], v))
            land = [] if a is None else F[a]["T"] + tim(F[a]["len"], F[a]["X"])
            call = d["call"] if a is None else 0
            con(g["T"] + neg(land) + [(-BIG, v)], ">=", gap + call - BIG)
            if brk:
                w = m[a, b]
                con(g["T"] + [(-1, f"ms{ui}"), (-BIG, w)], ">=", D + gap - BIG)
                if a is not None: con([(1, f"ms{ui}")] + neg(land) + [(-BIG, w)], ">=", -BIG)
                else: con([(1, f"ms{ui}"), (-BIG, w)], ">=", call - BIG)
                prev = [] if a is None else [(-1, f"af{a}")]
                con([(1, f"af{b}"), (-1, w), (1, v)] + prev, "<=", 1)
            if a is not None:
                resets = [(BIG * 10, f"rs{b}")]
                if brk and D >= d["rest"]: resets.append((BIG * 10, m[a, b]))
                con([(1, f"fl{b}"), (-1, f"fl{a}")] + neg(tim(g["len"], [(1, v)])) + [(-BIG * 10, v)] + resets, ">=", -BIG * 10)
                con(g["T"] + neg(land) + [(-BIG, v), (-BIG, f"rs{b}")], ">=", d["rest"] - 2 * BIG)
        bounds.append(f"0 <= z{ui} <= {BIG}")
        obj.append((-weights["span_per_s"] * step, f"z{ui}"))
        for i in nodes:
            f = F[i]
            con([(1, f"z{ui}")] + [(-(k + f["len"] - d["call"]), f"x{i}_{k}") for k in f["starts"]], ">=", 0)
    ch = p["chargers"][0]; slots = ch["slots"]
    assert len(p["chargers"]) == 1
    if ch.get("supply_w"): slots = min(slots, int(ch["supply_w"] / ch["slot_w"]))
    for i, f in enumerate(F):
        fit = [k for k, pk in enumerate(packs) if p["units"][f["u"]]["rigs"][0] in pk["rigs"] and f["need"] <= math.floor(pk["capacity_wh"] * 1000 + 1e-6) - mwh(pk["reserve_wh"])]
        f["fit"] = fit
        for k in fit: binary.append(f"z{i}_{k}")
        con([(1, f"z{i}_{k}") for k in fit] + neg(f["X"]), "=", 0)
        binary.append(f"c{i}"); integer.extend([f"cs{i}", f"cd{i}"])
        bounds.append(f"0 <= cs{i} <= {BIG}"); bounds.append(f"0 <= cd{i} <= {BIG}")
        con([(1, f"c{i}")] + neg(f["X"]), "<=", 0)
        bounds.append(f"0 <= e{i} <= 1000000")
        for j in range(slots): binary.append(f"a{i}_{j}")
        con([(1, f"a{i}_{j}") for j in range(slots)] + [(-1, f"c{i}")], "=", 0)
    W = 200000
    for k, pk in enumerate(packs):
        nodes = [i for i, f in enumerate(F) if k in f["fit"]]
        cap, init, keep = math.floor(pk["capacity_wh"] * 1000 + 1e-6), math.floor(pk["charge_wh"] * 1000 + 1e-6), mwh(pk["reserve_wh"])
        power = ch["slot_w"] if not pk.get("charge_w") else min(ch["slot_w"], pk["charge_w"])
        A = arcs(f"p{k}", nodes, lambda i: [(1, f"z{i}_{k}")])
        cool, rest = ceil(pk.get("cool_s", 0), step), ceil(pk.get("rest_s", 0), step)
        rate = power * 1000 * step / 3600  # mWh per step
        for i in nodes:
            f = F[i]; z = f"z{i}_{k}"
            con([(1, f"e{i}"), (-keep, z)], ">=", 0)
            con([(1, f"cs{i}")] + neg(f["T"]) + neg(tim(f["len"], f["X"])) + [(-BIG, z)], ">=", cool - BIG)
            # cd >= (cap - e) / rate when charged
            con([(rate, f"cd{i}"), (1, f"e{i}"), (-W, z), (-W, f"c{i}")], ">=", cap - 2 * W)
        for (a, b), v in A.items():
            if b is None: continue
            n = F[b]["need"]
            if a is None:
                con([(1, f"e{b}"), (W, v)], "<=", init - n + W)
                continue
            con([(1, f"e{b}"), (W, v)], "<=", cap - n + W)
            con([(1, f"e{b}"), (-1, f"e{a}"), (W, v), (-W, f"c{a}")], "<=", W - n)
            con(F[b]["T"] + neg(F[a]["T"]) + neg(tim(F[a]["len"], F[a]["X"])) + [(-BIG, v)], ">=", rest - BIG)
            con(F[b]["T"] + [(-1, f"cs{a}"), (-1, f"cd{a}"), (-BIG, v), (-BIG, f"c{a}")], ">=", rest - 2 * BIG)
    for i, f in enumerate(F):
        for j, g in enumerate(F):
            if i == j or set(n for n, _ in f["seq"]) & set(n for n, _ in g["seq"]): continue
            o = f"o{i}_{j}"; binary.append(o)
            con(g["T"] + neg(f["T"]) + [(-BIG, o)] , ">=", -BIG)
            con([(1, f"cs{j}"), (-1, f"cs{i}"), (-BIG, o), (-BIG, f"c{i}"), (-BIG, f"c{j}")], ">=", -3 * BIG)
            if i < j: con([(1, o), (1, f"o{j}_{i}"), (-1, f"c{i}"), (-1, f"c{j}")], ">=", -1)
            for s in range(slots):
                con([(1, f"cs{j}"), (-1, f"cs{i}"), (-1, f"cd{i}"), (-BIG, o), (-BIG, f"a{i}_{s}"), (-BIG, f"a{j}_{s}")], ">=", -3 * BIG)
    return merged(obj), cons, set(binary), set(integer), bounds, len(F)

def lp(obj, cons, binary, integer, bounds):
    text = lambda row: " ".join(f"{'+' if c >= 0 else '-'} {abs(c)} {v}" for v, c in row.items())
    lines = ["Maximize", " obj: " + text(obj), "Subject To"]
    lines += [f" r{i}: {text(c)} {op} {rhs}" for i, (c, op, rhs) in enumerate(cons)]
    lines += ["Bounds"] + [" " + b for b in bounds]
    lines += ["Generals"] + [" " + v for v in sorted(integer)]
    lines += ["Binaries"] + [" " + v for v in sorted(binary)] + ["End"]
    return "\n".join(lines) + "\n"

def cbc(m, seconds, tag):
    path, sol = f"/tmp/certify-{os.getpid()}-{tag}.lp", f"/tmp/certify-{os.getpid()}-{tag}.sol"
    open(path, "w").write(lp(*m))
    start = time.time()
    subprocess.run(["cbc", path, "timeMode", "elapsed", "sec", str(seconds), "ratio", "0", "allow", "0.5", "increment", "0.9", "solve", "solu", sol], capture_output=True)
    took = time.time() - start
    os.remove(path)
    if not os.path.exists(sol): return None, False, took
    head = open(sol).readline(); os.remove(sol)
    v = re.search(r"objective value\s+(-?[\d.e+]+)", head)
    return (round(abs(float(v.group(1)))) if v else None), head.startswith("Optimal"), took

def highs(m, seconds, tag):
    import numpy as np
    from scipy.optimize import milp, LinearConstraint, Bounds
    from scipy.sparse import coo_matrix
    obj, cons, binary, integer, bounds = m
    names = list(dict.fromkeys(list(obj) + [v for row, _, _ in cons for v in row]))
    at = {v: i for i, v in enumerate(names)}
    lo, hi = np.zeros(len(names)), np.full(len(names), np.inf)
    kind = np.zeros(len(names))
    for v in binary:
        if v in at: hi[at[v]] = 1; kind[at[v]] = 1
    for v in integer:
        if v in at: kind[at[v]] = 1
    for b in bounds:
        l, _, v, _, h = b.split()
        if v in at: lo[at[v]], hi[at[v]] = float(l), float(h)
    R, C, V, L, H = [], [], [], [], []
    for i, (row, op, rhs) in enumerate(cons):
        for v, c in row.items(): R.append(i); C.append(at[v]); V.append(c)
        L.append(rhs if op in (">=", "=") else -np.inf); H.append(rhs if op in ("<=", "=") else np.inf)
    c = np.zeros(len(names))
    for v, k in obj.items(): c[at[v]] = -k
    start = time.time()
    r = milp(c, constraints=LinearConstraint(coo_matrix((V, (R, C)), shape=(len(cons), len(names))).tocsr(), L, H),
             integrality=kind, bounds=Bounds(lo, hi), options=dict(time_limit=seconds, mip_rel_gap=0))
    took = time.time() - start
    return (None if r.x is None else round(-r.fun)), r.status == 0, took

if __name__ == "__main__":
    dry = "--dry" in sys.argv and not sys.argv.remove("--dry")
    solver = {"cbc": cbc, "highs": highs}[sys.argv[1]]
    seconds = int(sys.argv[2])
    names = sys.argv[3:] or sorted(os.path.basename(f)[:-5] for f in glob.glob(HERE + "/day*.json"))
    path = HERE + "/certified.json"
    for n in names:
        done = json.load(open(path)) if os.path.exists(path) else {"tool": "see by", "values": {}, "seconds": {}, "by": {}}
        *m, flights = model(json.load(open(f"{HERE}/{n}.json")))
        value, proved, took = solver(m, seconds, n)
        print(n, flights, "flights", value, "proved" if proved else "not proved", f"{took:.1f} s", flush=True)
        if proved and not dry:
            done = json.load(open(path)) if os.path.exists(path) else done
            done["values"][n], done["seconds"][n], done["by"][n] = value, round(took, 2), TOOLS[sys.argv[1]]
            json.dump(done, open(path, "w"), indent=1, sort_keys=True)
