#!/usr/bin/env python3
"""Certifies the best score of each dayNN.json here by a mixed-integer model of
the day, solved by CBC or HiGHS. Written from the doc comments of Problem alone;
shares no code with the search.

Each unit is a flow through time: a node is what it flew last, how its rigs are
built, where it stands, the breaks taken and the hour; sorties, waiting, breaks
and the night are arcs. Packs and outlets are ordered by who follows whom. Every
answer's plan is written too, for TestPeerPlans to go over.

Usage: certify.py [--dry] [--plans DIR] cbc|highs|npm seconds [names...]
Adds to certified.json: values proved optimal, and the solver's time for each;
with --dry only prints."""
import glob, json, math, os, re, subprocess, sys, time
from collections import defaultdict

HERE = os.path.dirname(os.path.abspath(__file__))
PEERS = HERE + "/../../../../bench/peers"
TOOLS = {"cbc": "CBC 2.10.8, Debian coinor-cbc", "highs": "HiGHS in SciPy, Debian python3-scipy", "npm": "HiGHS, npm highs 1.15.3"}

def ceil(a, b): return -((-a) // b)
def mwh_up(x): return math.ceil(x * 1000 - 1e-6)
def mwh_down(x): return math.floor(x * 1000 + 1e-6)
def takes(s): return s["takes"] + s.get("reserve", 0)
def flown(s): return s["take_s"] * takes(s)

def quality(s, start):
    for w in s["windows"]:
        if w["from_s"] <= start and start + flown(s) <= w["to_s"]:
            k = w.get("quality") or []
            mid = start + s["take_s"] * s["takes"] // 2
            if not k: return 1000
            if mid <= k[0]["at_s"]: return k[0]["quality"]
            for a, b in zip(k, k[1:]):
                if mid <= b["at_s"]:
                    return a["quality"] + (b["quality"] - a["quality"]) * (mid - a["at_s"]) // (b["at_s"] - a["at_s"])
            return k[-1]["quality"]
    return None

class Day:
    """the problem's names and times made ready; every sortie that can be flown in F"""
    def __init__(self, p):
        self.p = p
        self.step = step = p["step_s"]
        self.base = base = p["days"][0]["start_s"] // step * step
        self.days = [(ceil(d["start_s"] - base, step), (d["end_s"] - base) // step) for d in p["days"]]
        self.setups = {s["name"]: s for s in p["setups"]}
        self.spots = {s["name"]: s.get("move_s") or {} for s in p.get("spots") or []}
        self.rigs = {r["name"]: r for r in p["rigs"]}
        self.packs = p.get("packs") or []
        self.slates = {s["name"]: s for s in p["slates"]}
        self.people = {x["name"]: x for x in p.get("people") or []}
        self.value = {n: s.get("value") or {"must": 1000, "should": 300, "nice": 100}[s["priority"]] for n, s in self.slates.items()}
        assert not p.get("keep") and not any(r.get("wrap_setup") or r.get("change_s") or r.get("free_s") or r.get("mains") or not r.get("setup") for r in p["rigs"])
        assert not any(s.get("skills") or s.get("people") for s in p["slates"])
        assert sum(len(u["rigs"]) for u in p["units"]) == len({r for u in p["units"] for r in u["rigs"]}), "a rig in two units"
        self.units = [self.unit(u) for u in p["units"]]
        self.F = []
        for u in range(len(self.units)): self.sorties(u)

    def unit(self, u):
        p, step, base = self.p, self.step, self.base
        x = dict(name=u["name"], rigs=u["rigs"], spot=u.get("spot", ""), tech=u.get("technician", False), handover=u.get("handover_s", 0),
                 call=[], wrap=[], breaks=[], fly=None, rest=0)
        assert len(u["rigs"]) == 1 or not x["tech"], "a technician with several rigs"
        assert not u.get("free_s") and not u.get("flown_s") and u["people"]
        calls = u.get("call_s") or [d["start_s"] for d in p["days"]]
        for n in u["people"]:
            w = self.people[n]
            if "pilot" in w["skills"] and w.get("fly_s"):
                x["fly"] = max(1, min(w["fly_s"] // step, x["fly"] or 1 << 30)); x["rest"] = max(x["rest"], ceil(w.get("rest_s", 0), step))
        for d, day in enumerate(p["days"]):
            wrap = day["end_s"]
            for n in u["people"]:
                w = self.people[n]
                if w.get("duty_s"): wrap = min(wrap, calls[d] + w["duty_s"])
                if w.get("turnaround_s") and d + 1 < len(p["days"]):
                    wrap = min(wrap, max(p["days"][d + 1]["start_s"], calls[d + 1]) - w["turnaround_s"])
            x["call"].append(ceil(max(day["start_s"], calls[d]) - base, step)); x["wrap"].append((wrap - base) // step)
            x["breaks"].append(sorted((ceil(b["earliest_s"] - base, step), (b["latest_s"] - base) // step, ceil(b["duration_s"], step), b["what"])
                                      for b in u.get("breaks") or [] if day["start_s"] <= b["earliest_s"] < day["end_s"]))
        return x

    def move(self, a, b): return 0 if a == b or not a or not b else self.spots[a].get(b, self.spots[b].get(a, 0))
    def build(self, rig, a, b):
        a, b = self.setups[a], self.setups[b]
        return sum(self.rigs[rig]["swap"].get(k + "_s", 0) for k in ("lens", "filter", "balance", "card") if a.get(k, "") != b.get(k, ""))
    def starts(self, u, length, seq):
        """value by take-off of slates at their offsets"""
        out = {}
        for d in range(len(self.days)):
            for k in range(u["call"][d], u["wrap"][d] - length + 1):
                v = 0
                for n, off in seq:
                    q = quality(self.slates[n], self.base + k * self.step + off)
                    if q is None: v = None; break
                    v += q * self.value[n]
                if v is not None: out[k] = v
        return out

    def sorties(self, ui):
        u = self.units[ui]
        for name in u["rigs"]:
            rig = self.rigs[name]
            usable = max([mwh_down(k["capacity_wh"]) - mwh_up(k["reserve_wh"]) for k in self.packs if name in k["rigs"]] or [-1])
            def grow(seq, setup, spot, t, e):
                for n, s in self.slates.items():
                    if n in [x for x, _ in seq] or any(n in (self.slates[x].get("after") or []) for x, _ in seq): continue
                    for o in s["options"]:
                        if o["rig"] != name or setup and o["setup"] != setup or spot and s.get("spot") and s["spot"] != spot: continue
                        t2 = t + (rig.get("reposition_s", 0) if seq else 0)
                        e2 = e + (mwh_up(rig.get("reposition_wh", 0)) if seq else 0) + mwh_up(o["take_wh"] * takes(s))
                        end = t2 + flown(s)
                        if e2 > usable: continue
                        g = dict(u=ui, rig=name, seq=seq + [(n, t2)], setup=o["setup"], spot=spot or s.get("spot", ""), need=e2,
                                 len=ceil(end + rig.get("recover_s", 0), self.step))
                        g["starts"] = self.starts(u, g["len"], g["seq"])
                        if not g["starts"]: continue
                        self.F.append(g)
                        if len(g["seq"]) < (rig.get("max_shots") or 3): grow(g["seq"], o["setup"], g["spot"], end, e2)
                        break
            grow([], None, "", rig.get("launch_s", 0), mwh_up(rig.get("overhead_wh", 0)))

    def leg(self, u, state, f):
        """what changes before sortie f from a state (rig, builds, spot): steps to the take-off, seconds paid, state after"""
        rig, builds, spot = state
        at = u["rigs"].index(f["rig"])
        b, m = self.build(f["rig"], builds[at], f["setup"]), self.move(spot, f["spot"])
        h = u["handover"] if rig and rig != f["rig"] else 0
        ground = self.rigs[f["rig"]].get("ground_s", 0)
        if u["tech"]: gap = max(ceil(ground + m + h, self.step), ceil(ground + b, self.step))
        else: gap = ceil(ground + b + m + h, self.step)
        return gap, b + m + h, (f["rig"], builds[:at] + (f["setup"],) + builds[at + 1:], f["spot"] or spot)

    def write(self, used, charges):
        """sorties (flight, take-off, pack) and charges (charger, take-off, start, end, pack) as a plan in the words of the day package"""
        day, F, step, base = self, self.F, self.step, self.base
        at = lambda t: base + t * step
        days = [dict(name=d["name"], start_s=d["start_s"], end_s=d["end_s"], sorties=[], breaks=[], charges=[]) for d in day.p["days"]]
        on = lambda t: next(d for d, (a, b) in enumerate(day.days) if a <= t <= b)
        charged = {(p, k): (s, e, c) for c, k, s, e, p in charges}
        done, value, changes, spans = set(), 0, 0, 0
        energy = {p: (0, mwh_down(pk["charge_wh"])) for p, pk in enumerate(day.packs)}
        used = sorted(used, key=lambda x: x[1])
        left = {}
        for i, k, p in used:
            d, have = energy[p]
            if on(k) != d: have = mwh_down(day.packs[p]["capacity_wh"])
            left[i, k] = have - F[i]["need"]
            energy[p] = (on(k), mwh_down(day.packs[p]["capacity_wh"]) if (p, k) in charged else left[i, k])
        for ui, u in enumerate(day.units):
            state = (None, tuple(day.rigs[r]["setup"] for r in u["rigs"]), u["spot"])
            today, free, b = -1, 0, 0
            mine = [x for x in used if F[x[0]]["u"] == ui]
            for n, (i, k, p) in enumerate(mine):
                f, d = F[i], on(k)
                if d != today: today, free, b, start = d, u["call"][d], 0, u["call"][d]
                gap, paid, state = day.leg(u, state, f)
                later = [x for x in mine[n:] if on(x[1]) == d]
                while b < len(u["breaks"][d]):
                    E, B, D, what = u["breaks"][d][b]
                    t = max(free, E)
                    must = any(x[1] + F[x[0]]["len"] > B for x in later)
                    if not must or t > B or t + D + gap > k: break
                    days[d]["breaks"].append(dict(unit=u["name"], what=what, start_s=at(t), end_s=at(t + D)))
                    free, b = t + D, b + 1
                changes += paid
                if later[-1] == mine[n]: spans += (k + f["len"] - start) * step
                shots = []
                for s, off in f["seq"]:
                    x = day.slates[s]; t = at(k) + off; q = quality(x, t)
                    shots.append(dict(slate=s, start_s=t, end_s=t + x["take_s"] * x["takes"], reserve_end_s=t + flown(x), quality=q))
                    done.add(s); value += q * day.value[s]
                days[d]["sorties"].append(dict(unit=u["name"], rig=f["rig"], pack=day.packs[p]["name"], setup=f["setup"], spot=state[2], start_s=at(k), end_s=at(k + f["len"]),
                    shots=shots, energy_wh=f["need"] / 1000, left_wh=left[i, k] / 1000))
                if (p, k) in charged:
                    s, e, c = charged[p, k]
                    days[d]["charges"].append(dict(pack=day.packs[p]["name"], charger=day.p["chargers"][c]["name"], start_s=at(s), end_s=at(e),
                        from_wh=left[i, k] / 1000, to_wh=day.packs[p]["capacity_wh"]))
                free = k + f["len"]
        w = day.p["weights"]
        score = value - changes * w.get("change_per_s", 0) - spans * w.get("span_per_s", 0)
        for d in days:
            d["sorties"].sort(key=lambda s: s["start_s"]); d["charges"].sort(key=lambda c: c["start_s"])
        return dict(days=days, score=score, bound=score, value=value,
            left_out=[dict(slate=n, priority=s["priority"], reason="not in the peer's plan") for n, s in day.slates.items() if n not in done])

class Model:
    """maximize obj over rows; keeps of equal sorties only one that is as good at every take-off"""
    def __init__(self, p):
        self.day = day = Day(p)
        self.obj, self.rows, self.whole, self.integer, self.bounds = defaultdict(float), [], set(), set(), {}
        self.F = self.undominated(day.F)
        for i, f in enumerate(self.F):
            for k, v in f["starts"].items():
                self.whole.add(f"x{i}_{k}"); self.obj[f"x{i}_{k}"] += v
        self.slates(); self.units(); self.packs()

    def row(self, terms, op, rhs):
        total = defaultdict(float)
        for c, v in terms: total[v] += c
        total = {v: c for v, c in total.items() if c}
        if total: self.rows.append((total, op, rhs))

    def undominated(self, F):
        """drops a sortie if another of the same slates and build is as short, as thrifty and worth as much at every take-off; not where order between slates matters"""
        s = self.day.slates
        ordered = {n for n in s if s[n].get("after")} | {a for n in s for a in s[n].get("after") or []}
        out = []
        for f in F:
            names = sorted(n for n, _ in f["seq"])
            covers = lambda g, f: g["u"] == f["u"] and g["rig"] == f["rig"] and g["setup"] == f["setup"] and g["spot"] == f["spot"] and sorted(n for n, _ in g["seq"]) == names \
                and g["len"] <= f["len"] and g["need"] <= f["need"] and all(g["starts"].get(k, -1) >= v for k, v in f["starts"].items())
            if ordered & set(names): out.append(f); continue
            if any(covers(g, f) for g in out): continue
            out = [g for g in out if sorted(n for n, _ in g["seq"]) != names or ordered & set(names) or not (g["u"] == f["u"] and covers(f, g))]
            out.append(f)
        return out

    def x(self, i, k): return f"x{i}_{k}"

    def slates(self):
        day = self.day
        for n, s in day.slates.items():
            mine = [(i, k, dict(f["seq"])[n]) for i, f in enumerate(self.F) if n in dict(f["seq"]) for k in f["starts"]]
            self.row([(1, self.x(i, k)) for i, k, _ in mine], "<=", 1)
            for a in s.get("after") or []:
                theirs = [(day.step * k + dict(f["seq"])[a] + flown(day.slates[a]), self.x(i, k)) for i, f in enumerate(self.F) if a in dict(f["seq"]) for k in f["starts"]]
                own = [(day.step * k + off, self.x(i, k)) for i, k, off in mine]
                for t in sorted({t for t, _ in own}): # begun by t, so ended by t
                    self.row([(1, v) for at, v in own if at <= t] + [(-1, v) for end, v in theirs if end <= t], "<=", 0)

    def units(self):
        day, w = self.day, self.day.p["weights"]
        self.flow = {}
        for ui, u in enumerate(day.units):
            mine = [i for i, f in enumerate(self.F) if f["u"] == ui]
            flow, used = defaultdict(list), defaultdict(list) # node -> terms that must sum to 0
            names = {}
            def name(state): return names.setdefault(state, len(names))
            start = (None, tuple(day.rigs[r]["setup"] for r in u["rigs"]), u["spot"])
            for d, (_, end) in enumerate(day.days):
                call, wrap, breaks = u["call"][d], u["wrap"][d], u["breaks"][d]
                if d == 0: frontier = {(start, 0): call}
                else: frontier = {(s, 0): call for s in overnight}
                # earliest hour in each (state, breaks)
                earliest, todo = dict(frontier), list(frontier)
                fly = [(i, sorted(k for k in self.F[i]["starts"] if day.days[d][0] <= k <= end)) for i in mine]
                fly = [(i, ks) for i, ks in fly if ks]
                until = lambda b: min(wrap, breaks[b][1]) if b < len(breaks) else wrap
                while todo:
                    at = todo.pop(); (state, b), t = at, earliest[at]
                    nexts = []
                    if b < len(breaks):
                        E, B, D, _ = breaks[b]
                        if max(t, E) <= B: nexts.append(((state, b + 1), max(t, E) + D))
                    for i, ks in fly:
                        gap, _, to = day.leg(u, state, self.F[i])
                        ks = [k for k in ks if k >= t + gap and k + self.F[i]["len"] <= until(b)]
                        if ks: nexts.append(((to, b), ks[0] + self.F[i]["len"]))
                    for node, t in nexts:
                        if t < earliest.get(node, 1 << 30): earliest[node] = t; todo.append(node)
                nodes = {(s, b, t) for (s, b), t0 in earliest.items() for t in range(t0, end + 1)}
                overnight = {s for s, b in earliest}
                for s, b, t in sorted(nodes, key=lambda n: (name(n[0]), n[1], n[2])):
                    here, tag = (d, s, b, t), f"{ui}_{name(s)}_{b}_{t}"
                    if (s, b, t + 1) in nodes:
                        flow[here].append((-1, "w" + tag)); flow[d, s, b, t + 1].append((1, "w" + tag))
                    if b < len(breaks):
                        E, B, D, _ = breaks[b]
                        if E <= t <= B and (s, b + 1, t + D) in nodes:
                            flow[here].append((-1, "b" + tag)); flow[d, s, b + 1, t + D].append((1, "b" + tag))
                    # stops for the day
                    flow[here].append((-1, "e" + tag))
                    self.obj["e" + tag] -= w.get("span_per_s", 0) * day.step * (t - call)
                    flow[d + 1, s, 0, u["call"][d + 1] if d + 1 < len(day.days) else 0].append((1, "e" + tag))
                for (s, b), t0 in earliest.items():
                    for i, ks in fly:
                        f = self.F[i]
                        gap, paid, to = day.leg(u, s, f)
                        for k in ks:
                            if k - gap < t0 or k + f["len"] > until(b): continue
                            y = f"y{i}_{k}_{name(s)}_{b}"
                            flow[d, s, b, k - gap].append((-1, y)); flow[d, to, b, k + f["len"]].append((1, y))
                            used[i, k].append((1, y)); self.obj[y] -= paid * w.get("change_per_s", 0)
                if u["fly"] is not None: self.fly(ui, d, [(i, k) for i, ks in fly for k in ks])
            flow[0, start, 0, u["call"][0]].append((1, None))
            for node, terms in flow.items():
                if node[0] == len(day.days): continue # the end of all
                self.row([t for t in terms if t[1]], "=", -sum(c for c, v in terms if v is None))
            for i in mine:
                for k in self.F[i]["starts"]: self.row([(1, self.x(i, k))] + [(-1, v) for _, v in used[i, k]], "=", 0)

    def fly(self, ui, d, cols):
        """flying since the last rest, by take-off; a rest is a stretch in which nothing of the unit is in the air"""
        u = self.day.units[ui]
        hours = sorted({k for _, k in cols})
        for n, t in enumerate(hours):
            now = [(-self.F[i]["len"], self.x(i, k)) for i, k in cols if k == t]
            self.bounds[f"f{ui}_{t}"] = (0, u["fly"])
            self.row([(1, f"f{ui}_{t}")] + now, ">=", 0)
            if n == 0: continue
            self.whole.add(f"r{ui}_{t}")
            self.row([(1, f"f{ui}_{t}"), (-1, f"f{ui}_{hours[n-1]}"), (u["fly"], f"r{ui}_{t}")] + now, ">=", 0)
            for a in range(t - u["rest"], t):
                air = [(1, self.x(i, k)) for i, k in cols if k <= a < k + self.F[i]["len"]]
                if air: self.row([(1, f"r{ui}_{t}")] + air, "<=", 1)

    def packs(self):
        """packs and outlets by the order of sorties: who follows whom on a pack, on a charger, and what is left in it"""
        day, step, F = self.day, self.day.step, self.F
        assert len(day.p.get("chargers") or []) == 1
        ch = day.p["chargers"][0]
        slots = ch["slots"] if not ch.get("supply_w") else min(ch["slots"], int(ch["supply_w"] / ch["slot_w"] + 1e-9))
        neg = lambda terms: [(-c, v) for c, v in terms]
        apart = lambda i, j: not {n for n, _ in F[i]["seq"]} & {n for n, _ in F[j]["seq"]}
        self.on, self.charge = [], {} # (column, flight, day, pack); by (flight, day)
        for d, (first, end) in enumerate(day.days):
            X, T, fit = {}, {}, {}
            for i, f in enumerate(F):
                ks = [k for k in f["starts"] if first <= k <= end]
                if not ks: continue
                X[i], T[i] = [(1, self.x(i, k)) for k in ks], [(k - first, self.x(i, k)) for k in ks]
                fit[i] = [p for p, pk in enumerate(day.packs) if f["rig"] in pk["rigs"] and f["need"] <= mwh_down(pk["capacity_wh"]) - mwh_up(pk["reserve_wh"])]
            land = lambda i: T[i] + [(F[i]["len"] * c, v) for c, v in X[i]]
            H = end - first
            dmax = 0
            for p, pk in enumerate(day.packs):
                cap, init, keep = mwh_down(pk["capacity_wh"]) / 1000, mwh_down(pk["charge_wh"]) / 1000, mwh_up(pk["reserve_wh"]) / 1000
                if d: init = cap
                cool, rest = ceil(pk.get("cool_s", 0), step), ceil(pk.get("rest_s", 0), step)
                rate = mwh_down(min(ch["slot_w"], pk.get("charge_w") or ch["slot_w"])) / 1000 * step / 3600 if slots and (ch.get("packs") is None or pk["name"] in ch["packs"]) else 0
                if rate: dmax = max(dmax, math.ceil((cap - keep) / rate - 1e-9))
                M, W = 2 * H + cool + rest + dmax, 2 * max(k["capacity_wh"] for k in day.packs)
                nodes = [i for i in X if p in fit[i]]
                z = {i: f"z{i}_{d}_{p}" for i in nodes}
                self.on += [(z[i], i, d, p) for i in nodes]
                A = {(None, i): f"p{p}_{d}s_{i}" for i in nodes} | {(i, j): f"p{p}_{d}_{i}_{j}" for i in nodes for j in nodes if i != j and apart(i, j) and T[i][0][0] + F[i]["len"] <= T[j][-1][0]}
                self.whole.update(z.values(), A.values())
                for i in nodes:
                    self.row([(1, v) for (a, b), v in A.items() if b == i] + [(-1, z[i])], "=", 0)
                    self.row([(1, v) for (a, b), v in A.items() if a == i] + [(-1, z[i])], "<=", 0)
                    self.row([(1, f"e{i}_{d}"), (-keep, z[i])], ">=", 0)
                    if not rate: self.row([(1, z[i]), (1, f"c{i}_{d}")], "<=", 1); continue
                    self.row([(1, f"cs{i}_{d}")] + neg(land(i)) + [(-M, z[i])], ">=", cool - M)
                    self.row([(rate, f"cd{i}_{d}"), (1, f"e{i}_{d}"), (-W, z[i]), (-W, f"c{i}_{d}")], ">=", cap - 2 * W)
                self.row([(1, v) for (a, b), v in A.items() if a is None], "<=", 1)
                for (a, b), v in A.items():
                    n = F[b]["need"] / 1000
                    if a is None:
                        self.row([(1, f"e{b}_{d}"), (W, v)], "<=", init - n + W)
                        if pk.get("ready_s"): self.row(T[b] + [(-M, v)], ">=", min(M, ceil(pk["ready_s"] - day.base, step) - first) - M)
                        continue
                    self.row([(1, f"e{b}_{d}"), (W, v)], "<=", cap - n + W)
                    self.row([(1, f"e{b}_{d}"), (-1, f"e{a}_{d}"), (W, v), (-W, f"c{a}_{d}")], "<=", W - n)
                    self.row(T[b] + neg(land(a)) + [(-M, v)], ">=", rest - M)
                    self.row(T[b] + [(-1, f"cs{a}_{d}"), (-1, f"cd{a}_{d}"), (-M, v), (-M, f"c{a}_{d}")], ">=", rest - 2 * M)
            M = 2 * H + dmax
            for i in X:
                c, cs, cd = f"c{i}_{d}", f"cs{i}_{d}", f"cd{i}_{d}"
                self.charge[i, d] = c, cs, cd
                self.row([(1, f"z{i}_{d}_{p}") for p in fit[i]] + neg(X[i]), "=", 0)
                self.row([(1, c)] + neg(X[i]), "<=", 0)
                self.bounds |= {cs: (0, H), cd: (0, dmax), f"e{i}_{d}": (0, max(k["capacity_wh"] for k in day.packs))}
                self.integer |= {cs, cd}; self.whole.add(c)
                outlets = [f"a{i}_{d}_{o}" for o in range(slots)]
                self.whole.update(outlets)
                self.row([(1, a) for a in outlets] + [(-1, c)], "=", 0)
                for j in X:
                    if i == j or not apart(i, j): continue
                    o = f"o{i}_{j}_{d}" # i goes on before j: not if j took off earlier
                    self.whole.add(o)
                    self.row(T[j] + neg(T[i]) + [(-M, o)], ">=", -M)
                    self.row([(1, f"cs{j}_{d}"), (-1, cs), (-M, o), (-M, c), (-M, f"c{j}_{d}")], ">=", -3 * M)
                    if i < j: self.row([(1, o), (1, f"o{j}_{i}_{d}"), (-1, c), (-1, f"c{j}_{d}")], ">=", -1)
                    for s in range(slots):
                        self.row([(1, f"cs{j}_{d}"), (-1, cs), (-1, cd), (-M, o), (-M, f"a{i}_{d}_{s}"), (-M, f"a{j}_{d}_{s}")], ">=", -3 * M)

    def plan(self, sol):
        """the answer's plan"""
        self.day.F = self.F
        used, charges = [], []
        for z, i, d, p in self.on:
            if sol.get(z, 0) < 0.5: continue
            first, end = self.day.days[d]
            k = next(k for k in self.F[i]["starts"] if first <= k <= end and sol.get(self.x(i, k), 0) > 0.5)
            used.append((i, k, p))
            c, cs, cd = self.charge[i, d]
            if sol.get(c, 0) > 0.5: charges.append((0, k, first + round(sol.get(cs, 0)), first + round(sol.get(cs, 0)) + round(sol.get(cd, 0)), p))
        return self.day.write(used, charges)

def lp(m):
    text = lambda row: " ".join(f"{'+' if c >= 0 else '-'} {abs(c):.12g} {v}" for v, c in row.items())
    seen = {v for row, _, _ in m.rows for v in row}
    lines = ["Maximize", " obj: " + text({v: c for v, c in m.obj.items() if c and v in seen}), "Subject To"]
    lines += [f" c{i}: {text(c)} {op} {rhs:.12g}" for i, (c, op, rhs) in enumerate(m.rows)]
    lines += ["Bounds"] + [f" {a:.12g} <= {v} <= {b:.12g}" for v, (a, b) in m.bounds.items() if v in seen]
    lines += ["Generals"] + [" " + v for v in sorted(m.integer) if v in seen]
    lines += ["Binaries"] + [" " + v for v in sorted(m.whole) if v in seen] + ["End"]
    return "\n".join(lines) + "\n"

def cbc(m, seconds):
    """values (None: no plan), whether proved optimal"""
    path, sol = f"/tmp/certify-{os.getpid()}.lp", f"/tmp/certify-{os.getpid()}.sol"
    open(path, "w").write(lp(m))
    try:
        subprocess.run(["cbc", path, "timeMode", "elapsed", "sec", str(seconds), "ratio", "0", "allow", "0.5", "increment", "0.9", "solve", "solu", sol], capture_output=True, timeout=seconds + 60)
    except subprocess.TimeoutExpired: # it looks at its limit too seldom
        return None, False
    finally:
        os.remove(path)
    if not os.path.exists(sol): return None, False
    head, *rows = open(sol).read().splitlines(); os.remove(sol)
    # at a limit without a plan it prints the relaxation's value and its fractions
    if "no integer solution" in head or not head.startswith(("Optimal", "Stopped")): return None, False
    return {r.split()[-3]: float(r.split()[-2]) for r in rows}, head.startswith("Optimal")

def highs(m, seconds):
    import numpy as np
    from scipy.optimize import milp, LinearConstraint, Bounds
    from scipy.sparse import coo_matrix
    at = {v: i for i, v in enumerate(dict.fromkeys([v for row, _, _ in m.rows for v in row]))}
    lo, hi, kind, c = np.zeros(len(at)), np.full(len(at), np.inf), np.zeros(len(at)), np.zeros(len(at))
    for v in m.whole:
        if v in at: hi[at[v]] = kind[at[v]] = 1
    for v in m.integer:
        if v in at: kind[at[v]] = 1
    for v, (a, b) in m.bounds.items():
        if v in at: lo[at[v]], hi[at[v]] = a, b
    R, C, V, L, H = [], [], [], [], []
    for i, (row, op, rhs) in enumerate(m.rows):
        for v, a in row.items(): R.append(i); C.append(at[v]); V.append(a)
        L.append(rhs if op in (">=", "=") else -np.inf); H.append(rhs if op in ("<=", "=") else np.inf)
    for v, k in m.obj.items():
        if v in at: c[at[v]] = -k
    r = milp(c, constraints=LinearConstraint(coo_matrix((V, (R, C)), shape=(len(m.rows), len(at))).tocsr(), L, H),
             integrality=kind, bounds=Bounds(lo, hi), options=dict(time_limit=seconds, mip_rel_gap=0))
    return (None if r.x is None else dict(zip(at, r.x))), r.status == 0

def npm(m, seconds):
    path = f"/tmp/certify-{os.getpid()}.lp"
    open(path, "w").write(lp(m))
    try:
        r = subprocess.run(["node", PEERS + "/highs.mjs", path, str(seconds)], capture_output=True, text=True, timeout=seconds + 60)
    except subprocess.TimeoutExpired: # it looks at its limit too seldom
        return None, False
    finally:
        os.remove(path)
    if r.returncode: print(r.stderr[-400:], file=sys.stderr)
    head, *rows = r.stdout.splitlines() or [""]
    if not rows: return None, False
    return {v: float(x) for v, x in map(str.split, rows)}, head == "Optimal"

def solve(p, solver, seconds):
    """the best plan (None if none) as the day package writes it, whether it is proved the best, seconds without making the model"""
    m = Model(p)
    start = time.time()
    sol, proved = solver(m, seconds)
    took = time.time() - start
    return sol and m.plan(sol), proved, took

if __name__ == "__main__":
    args = sys.argv[1:]
    dry = "--dry" in args and not args.remove("--dry")
    plans = None
    if "--plans" in args:
        plans = args[args.index("--plans") + 1]; args = [a for a in args if a not in ("--plans", plans)]
    solver, seconds = {"cbc": cbc, "highs": highs, "npm": npm}[args[0]], float(args[1])
    path = HERE + "/certified.json"
    for n in args[2:] or sorted(os.path.basename(f)[:-5] for f in glob.glob(HERE + "/day*.json")):
        p = json.load(open(f"{HERE}/{n}.json"))
        plan, proved, took = solve(p, solver, seconds)
        print(n, len(p["slates"]), "slates", plan and plan["score"], "proved" if proved else "not proved", f"{took:.1f} s", flush=True)
        if plan and plans: json.dump(dict(problem=p, plan=plan), open(f"{plans}/{n}-{args[0]}.peer", "w"))
        if proved and not dry:
            done = json.load(open(path)) if os.path.exists(path) else {"tool": "see by", "values": {}, "seconds": {}, "by": {}}
            done["values"][n], done["seconds"][n], done["by"][n] = plan["score"], round(took, 2), TOOLS[args[0]]
            json.dump(done, open(path, "w"), indent=1, sort_keys=True)
