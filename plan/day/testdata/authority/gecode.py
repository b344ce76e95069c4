#!/usr/bin/env python3
"""The day as a constraint model for MiniZinc with Gecode: asks for a plan that
beats a score by a thousandth of a point (none: the score is the best there is),
or, from the empty plan on, for the best found in a time. Sorties that can be flown are listed by
certify.py; order, packs, charging, meals and rest are constraints of this model
alone. Usage: gecode.py prove|best seconds [names or name=score...]
prove adds to certified.json, under "gecode", the optima it confirms: the score
is reached and none beats it. A score given with a name is a claim to be tested;
confirmed, it is a certified value too. best only prints."""
import json, os, re, subprocess, sys, time
from certify import HERE, Day, ceil, mwh_down, mwh_up, quality, flown

def row(v): return "[" + ",".join(str(x) for x in v) + "]"

def text(t, least=None):
    p, F, step, base = t.p, t.F, t.step, t.base
    assert len(t.days) == 1 and len(p["chargers"]) == 1 and all(len(u["rigs"]) == 1 and len(u["breaks"][0]) <= 1 for u in t.units) and all(s.get("spot") for s in p["slates"])
    day, (_, H) = p["days"][0], t.days[0]
    n, w, packs, slates = len(F), p["weights"], t.packs, t.slates
    ch = p["chargers"][0]
    slots = ch["slots"] if not ch.get("supply_w") else min(ch["slots"], int(ch["supply_w"] / ch["slot_w"]))
    def leg(u, setup, spot, g):
        gap, paid, _ = t.leg(t.units[u], (g["rig"], (setup,), spot), g)
        return gap, paid * w["change_per_s"]
    legs = [[(0, 0)] * n for _ in range(n + 1)]
    for j, g in enumerate(F):
        u = g["u"]
        legs[0][j] = leg(u, t.rigs[g["rig"]]["setup"], t.units[u]["spot"], g)
        for i, f in enumerate(F):
            if f["u"] == g["u"]: legs[i + 1][j] = leg(u, f["setup"], f["spot"], g)
    out = ['include "alldifferent_except_0.mzn"; include "cumulative.mzn";', f"int: n={n}; int: H={H};"]
    say = out.append
    say("array[1..n] of var bool: use; array[1..n] of var -1..H: T; array[1..n] of var 0..10000000: val;")
    say("array[1..n] of var 0..n: pr; array[1..n] of var 0..n: pp; array[1..n] of var 0..%d: pk;" % len(packs))
    say("array[1..n] of var bool: c; array[1..n] of var 0..%d: cs; array[1..n] of var 0..%d: cd; array[1..n] of var 0..200000: e;" % (2 * H, 2 * H))
    say("array[1..n] of var bool: brk; array[1..n] of var 0..%d: fl; array[1..n] of var 0..%d: cost; array[1..n] of var 0..%d: gap;" % (H, 1000000, H))
    say("array[1..n] of int: len=%s; array[1..n] of int: need=%s;" % (row(f["len"] for f in F), row(f["need"] for f in F)))
    say("array[0..n] of var -1..%d: land; constraint land[0]=0;" % (2 * H))
    say("array[0..n,1..n] of int: G=array2d(0..n,1..n,%s);" % row(x[0] for r in legs for x in r))
    say("array[0..n,1..n] of int: C=array2d(0..n,1..n,%s);" % row(x[1] for r in legs for x in r))
    say("array[0..n] of var 0..%d: fl0; constraint fl0[0]=0; constraint forall(i in 1..n)(fl0[i]=fl[i]);" % H)
    for i, f in enumerate(F, 1):
        say(f"constraint T[{i}] in {{-1,{','.join(map(str, f['starts']))}}};")
        say(f"constraint val[{i}] = array1d(-1..H,{row([0] + [f['starts'].get(k, 0) for k in range(H + 1)])})[T[{i}]];")
        say(f"constraint pr[{i}] in {{0,{','.join(str(j) for j, g in enumerate(F, 1) if g['u'] == f['u'] and j != i)}}};" if n > 1 else f"constraint pr[{i}]=0;")
        fit = [k for k, x in enumerate(packs, 1) if f["rig"] in x["rigs"] and f["need"] <= mwh_down(x["capacity_wh"]) - mwh_up(x["reserve_wh"])]
        say(f"constraint pk[{i}] in {{0,{','.join(map(str, fit))}}};" if fit else f"constraint not use[{i}];")
    say("""constraint forall(i in 1..n)((use[i] <-> T[i]>=0) /\\ (use[i] <-> pk[i]>0) /\\ land[i]=T[i]+bool2int(use[i])*len[i]
      /\\ gap[i]=G[pr[i],i] /\\ cost[i]=bool2int(use[i])*C[pr[i],i] /\\ (not use[i] -> pr[i]=0 /\\ pp[i]=0 /\\ not c[i] /\\ not brk[i] /\\ fl[i]=0 /\\ e[i]=0)
      /\\ (not c[i] -> cs[i]=0 /\\ cd[i]=0)
      /\\ (pr[i]>0 -> use[pr[i]]) /\\ (pp[i]>0 -> use[pp[i]]));
    constraint alldifferent_except_0(pr); constraint alldifferent_except_0(pp);""")
    for s, x in slates.items():
        mine = [i for i, f in enumerate(F, 1) if s in dict(f["seq"])]
        if mine: say("constraint sum([bool2int(use[i]) | i in {%s}])<=1;" % ",".join(map(str, mine)))
        for a in x.get("after") or []:
            theirs = [(j, dict(g["seq"])[a] + flown(slates[a])) for j, g in enumerate(F, 1) if a in dict(g["seq"])]
            for i in mine:
                off = dict(F[i - 1]["seq"])[s]
                ways = [f"use[{j}]" if j == i else f"(use[{j}] /\\ T[{i}]*{step}+{off}>=T[{j}]*{step}+{end})" for j, end in theirs]
                say("constraint use[%d] -> (%s);" % (i, " \\/ ".join(ways) or "false"))
    spans = []
    for u, d in enumerate(t.units):
        mine = [i for i, f in enumerate(F, 1) if f["u"] == u]
        if not mine: continue
        d, S = dict(d, call=d["call"][0], brk=d["breaks"][0]), "{" + ",".join(map(str, mine)) + "}"
        say(f"constraint sum(i in {S})(bool2int(use[i] /\\ pr[i]=0))<=1; constraint sum(i in {S})(bool2int(brk[i]))<=1;")
        say(f"var 0..{H}: span{u}; constraint forall(i in {S})(use[i] -> span{u}>=land[i]-{d['call']});")
        spans.append(f"span{u}*{w['span_per_s'] * step}")
        say(f"constraint forall(i in {S})(use[i] /\\ not brk[i] -> T[i]>=(if pr[i]=0 then {d['call']} else land[pr[i]] endif)+gap[i]);")
        brk, D = d["brk"], 0
        if brk:
            E, B, D, _ = brk[0]
            say(f"var {E}..{B}: ms{u}; constraint forall(i in {S})(brk[i] -> ms{u}>=(if pr[i]=0 then {d['call']} else land[pr[i]] endif) /\\ T[i]>=ms{u}+{D}+gap[i]);")
            say(f"constraint forall(i in {S})(use[i] /\\ land[i]>{B} -> exists(j in {S})(brk[j] /\\ T[j]<=T[i]));")
        else:
            say(f"constraint forall(i in {S})(not brk[i]);")
        by_meal = "brk[i]" if brk and D >= d["rest"] else "false"
        say(f"constraint forall(i in {S})(use[i] -> fl[i]=len[i]+(if pr[i]=0 \\/ {by_meal} \\/ T[i]-land[pr[i]]>={d['rest']} then 0 else fl0[pr[i]] endif));")
        if d["fly"] is not None: say(f"constraint forall(i in {S})(fl[i]<={d['fly']});")
        # implied: one sortie and its ground time after another
        ground = min(t.leg(t.units[u], (g["rig"], (g["setup"],), g["spot"]), g)[0] for g in F if g["u"] == u)
        say(f"constraint cumulative([T[i]|i in {S}],[len[i]+{ground}|i in {S}],[bool2int(use[i])|i in {S}],1);")
    say("constraint forall(k in 1..%d)(cumulative(T,[len[i]+rest[k]|i in 1..n],[bool2int(pk[i]=k)|i in 1..n],1));" % len(packs))
    up = lambda f: row([0] + [f(x) for x in packs])
    K = len(packs)
    power = lambda x: mwh_down(min(ch["slot_w"], x.get("charge_w") or ch["slot_w"]))
    for name, f in (("cap", lambda x: mwh_down(x["capacity_wh"])), ("init", lambda x: mwh_down(x["charge_wh"])), ("keep", lambda x: mwh_up(x["reserve_wh"])),
                    ("cool", lambda x: ceil(x.get("cool_s", 0), step)), ("rest", lambda x: ceil(x.get("rest_s", 0), step)), ("rate", lambda x: power(x) * step // 100)):
        say(f"array[0..{K}] of int: {name}=array1d(0..{K},{up(f)});")
    say("""constraint forall(i,j in 1..n where i<j)(use[i] /\\ use[j] /\\ pp[i]=0 /\\ pp[j]=0 -> pk[i]!=pk[j]);
    array[0..n] of var 0..200000: e0; constraint e0[0]=0; constraint forall(i in 1..n)(e0[i]=e[i]);
    array[0..n] of var bool: c0; constraint not c0[0]; constraint forall(i in 1..n)(c0[i]=c[i]);
    array[0..n] of var int: full; constraint full[0]=0; constraint forall(i in 1..n)(full[i]=cs[i]+cd[i]);
    array[0..n] of var 0..%d: pk0; constraint pk0[0]=0; constraint forall(i in 1..n)(pk0[i]=pk[i]);
    constraint forall(i in 1..n)(use[i] -> e[i]>=keep[pk[i]]
      /\\ e[i]=(if pp[i]=0 then init[pk[i]] else if c0[pp[i]] then cap[pk[i]] else e0[pp[i]] endif endif)-need[i]);
    constraint forall(i in 1..n)(pp[i]>0 -> pk[i]=pk0[pp[i]] /\\ T[i]>=land[pp[i]]+rest[pk[i]] /\\ (c0[pp[i]] -> T[i]>=full[pp[i]]+rest[pk[i]]));
    constraint forall(i in 1..n)(c[i] -> cs[i]>=land[i]+cool[pk[i]] /\\ cd[i]*rate[pk[i]]>=(cap[pk[i]]-e[i])*36);
    constraint forall(i,j in 1..n where i!=j)(c[i] /\\ c[j] /\\ T[i]<T[j] -> cs[i]<=cs[j]);""" % K)
    say(f"constraint cumulative(cs,cd,[bool2int(c[i])|i in 1..n],{slots});")
    say("var int: score=sum(val)-sum(cost)-(%s);" % (" + ".join(spans) or "0"))
    branch = ":: seq_search([int_search(use,first_fail,indomain_max,complete),int_search(T,first_fail,indomain_median,complete),int_search(pr,first_fail,indomain_min,complete),int_search(pk,first_fail,indomain_max,complete),int_search(brk,first_fail,indomain_min,complete),int_search(pp,first_fail,indomain_min,complete),int_search(c,first_fail,indomain_min,complete),int_search(cs,smallest,indomain_min,complete),int_search(cd,smallest,indomain_min,complete)])"
    if least is not None:
        say(f"constraint score>={least}; solve {branch} satisfy;")
    else:
        # from the empty plan on, four sorties in five kept where they were while the rest is tried anew (Gecode's own restarts)
        out.insert(0, 'include "gecode.mzn";')
        branch = branch.replace("int_search(use,first_fail,indomain_max,complete),int_search(T,first_fail,indomain_median,complete)", "bool_search(use,input_order,indomain_min,complete),int_search(T,first_fail,indomain_min,complete)")
        say(f"solve {branch} :: restart_luby(200) :: relax_and_reconstruct(T,80) maximize score;")
    say('output ["score ",show(score)," ",show(use)," ",show(T)," ",show(pk)," ",show(c)," ",show(cs)," ",show(cd),"\\n"];')
    return "\n".join(out)

def plan(t, line):
    """an answer as the day package writes it"""
    score, *lists = re.findall(r"^score (\d+)|\[([^\]]*)\]", line)
    use, T, pk, c, cs, cd = ([json.loads(x) for x in l[1].split(", ")] for l in lists)
    packs = {i: pk[i] - 1 for i in range(len(use)) if use[i]}
    charges = [(0, T[i], cs[i], cs[i] + cd[i], pk[i] - 1) for i in range(len(use)) if c[i]]
    return t.write([(i, T[i], packs[i]) for i in packs], charges)

def run(p, seconds, least=None):
    """the last plan said, whether the search was exhausted, seconds"""
    t = Day(p)
    path = f"/tmp/gecode-{os.getpid()}.mzn"
    open(path, "w").write(text(t, least))
    start = time.time()
    r = subprocess.run(["minizinc", "--solver", "gecode", "--time-limit", str(round(seconds * 1000)), "-a" if least is None else "--no-output-comments", path], capture_output=True, text=True)
    took = time.time() - start
    os.remove(path)
    if r.returncode: print(r.stderr[-400:])
    said = [l for l in r.stdout.splitlines() if l.startswith("score")]
    return (plan(t, said[-1]) if said else None), least is not None and ("=UNSATISFIABLE=" in r.stdout or "==========" in r.stdout and "=UNKNOWN=" not in r.stdout), took

if __name__ == "__main__":
    what, seconds = sys.argv[1], int(sys.argv[2])
    path = HERE + "/certified.json"
    done = json.load(open(path))
    for name in sys.argv[3:] or sorted(done["values"]):
        if what == "best":
            p = json.load(open(f"{HERE}/{name}.json"))
            best, out, took = run(p, seconds)
            print(name, best and best["score"], "proved" if out else "not proved", f"{took:.1f} s", flush=True)
            continue
        name, _, claim = name.partition("=")
        p = json.load(open(f"{HERE}/{name}.json"))
        value = int(claim) if claim else done["values"][name]
        reached, _, t1 = run(p, seconds, value)
        better, out, t2 = run(p, seconds, value + 1)
        ok = reached is not None and reached["score"] == value and better is None and out
        print(name, value, "reached" if reached is not None else "not reached", "nothing better" if better is None and out else f"better {better and better['score']}, exhausted {out}", f"{t1:.1f} s {t2:.1f} s", flush=True)
        if ok:
            done = json.load(open(path))
            done.setdefault("gecode", {})[name] = value
            if claim:
                done["values"][name], done["seconds"][name], done["by"][name] = value, round(t1 + t2, 2), "MiniZinc 2.6.4 with Gecode 6.2.0, Debian minizinc"
            json.dump(done, open(path, "w"), indent=1, sort_keys=True)
